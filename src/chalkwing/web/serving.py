"""Listening: a socket, the application behind it, and a browser on it where asked for."""

from __future__ import annotations

import socket
import webbrowser
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from urllib.parse import urlsplit

import uvicorn

from chalkwing.book import open_book
from chalkwing.errors import RefusedRequest
from chalkwing.web.app import create_app
from chalkwing.web.settings import School, Settings
from chalkwing.web.shelf import Shelf, StoredFile, shown_name


def run(
    settings: Settings,
    *,
    host: str,
    port: int,
    show: bool,
    say: Callable[[str], None],
    path: str = "/",
) -> None:
    """Serve until interrupted; tells the address through ``say``.

    Ctrl+C is how it is told to be ended, so ending so is no failure.
    """
    listening = _socket(host, port)
    named = f"[{host}]" if ":" in host else host
    if named not in settings.hosts:
        settings = replace(settings, hosts=(*settings.hosts, named))
    address = f"http://{named}:{listening.getsockname()[1]}{path}"
    config = uvicorn.Config(
        create_app(settings),
        log_level="warning",
        server_header=False,
        timeout_graceful_shutdown=3,
        # A proxy on this machine says from where a request comes; without one nobody else may say it.
        proxy_headers=settings.school is not None and settings.school.address is not None,
        forwarded_allow_ips="127.0.0.1",
    )
    server = _Announcing(config, lambda: _announce(address, show=show, say=say))
    with suppress(KeyboardInterrupt):
        server.run(sockets=[listening])


def in_a_school(settings: Settings, address: str | None) -> Settings:
    """The settings of a server with accounts, which browsers reach at ``address``."""
    if address is None:
        return replace(settings, school=School())
    parts = urlsplit(address)
    if parts.scheme not in ("http", "https") or not parts.hostname or parts.path not in ("", "/"):
        raise RefusedRequest(
            "this is no address of a server.",
            where=address,
            next_step="Write it as browsers open it, such as https://record.hollin-field.example.",
        )
    host = f"[{parts.hostname}]" if ":" in parts.hostname else parts.hostname
    return replace(
        settings,
        school=School(address=f"{parts.scheme}://{parts.netloc}"),
        hosts=(*settings.hosts, host),
    )


def opened(
    settings: Settings,
    files: Sequence[Path],
    *,
    airplane: str | None,
    standard: str,
    zone: str | None,
    overlay: Path | None = None,
    column_map: str | None = None,
) -> str:
    """Take files in as a lesson; the path of its page. ``column_map`` is the text of one."""
    shelf = Shelf(settings.folder, open_book(settings.book_place, files=settings.book_files).vault)
    stored = []
    for path in files:
        kept = shelf.vault.take(path)
        stored.append(StoredFile(kept.sha256, shown_name(path.name), kept.size))
    lesson = shelf.put(
        stored,
        airplane=_findable(airplane),
        standard=_findable(standard) or standard,
        overlay=None if overlay is None else str(overlay.resolve()),
        zone=zone,
        column_map=column_map,
    )
    return f"/lesson/{lesson.id}"


def _findable(name: str | None) -> str | None:
    """A built-in name as it is; a file by its whole path, as it is read elsewhere and later."""
    if name is None or not (name.endswith(".toml") or "/" in name or "\\" in name):
        return name
    return str(Path(name).resolve())


class _Announcing(uvicorn.Server):
    """Says that it is up once it is."""

    def __init__(self, config: uvicorn.Config, up: Callable[[], None]) -> None:
        super().__init__(config)
        self._up = up

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Start, then say so."""
        await super().startup(sockets)
        self._up()


def _announce(address: str, *, show: bool, say: Callable[[str], None]) -> None:
    say(f"chalkwing is at {address} (stop it with Ctrl+C)")
    if show:
        webbrowser.open(address)


def _socket(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    listening = socket.socket(family, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
    except OSError as error:
        listening.close()
        raise RefusedRequest(
            f"nothing can listen there ({(error.strerror or str(error)).lower()}).",
            where=f"{host}:{port}",
            next_step="Give another --port, or stop what uses this one.",
        ) from error
    return listening
