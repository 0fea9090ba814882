"""Serving on a socket: how it ends."""

from __future__ import annotations

import socket
from pathlib import Path

import pytest

from chalkwing.web import serving
from chalkwing.web.settings import Settings


def test_stopping_it_with_the_keyboard_is_no_failure(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    begun = []

    def interrupted(server: object, sockets: list[socket.socket]) -> None:
        begun.append(len(sockets))
        for one in sockets:
            one.close()
        raise KeyboardInterrupt

    monkeypatch.setattr(serving.uvicorn.Server, "run", interrupted)
    settings = Settings(folder=tmp_path / "lessons")
    serving.run(settings, host="127.0.0.1", port=0, show=False, say=print)
    assert begun == [1]
