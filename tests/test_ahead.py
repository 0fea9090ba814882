"""Kernels compiled ahead: the list names kernels that are there, and what is wrong in it does no harm."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from concurrent.futures import Future
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from numba.core.sigutils import normalize_signature

from chalkwing import ahead, compiled
from chalkwing.ahead import Kernel, compile_ahead, kernels

AGAIN = "write it anew: python -m benchmarks.kernels_ahead --write"


@pytest.mark.parametrize("each", kernels(), ids=lambda each: f"{each.module}.{each.name}")
def test_every_listed_kernel_is_there_and_takes_as_many_arguments(each: Kernel) -> None:
    kernel = getattr(import_module(each.module), each.name, None)
    assert kernel is not None, AGAIN
    arguments, _ = normalize_signature(each.signature)
    code = kernel.py_func.__code__
    least = code.co_argcount - len(kernel.py_func.__defaults__ or ())
    assert least <= len(arguments) <= code.co_argcount, AGAIN


def test_what_is_wrong_in_the_list_is_passed_over() -> None:
    one = kernels()[-1]
    for wrong in (
        Kernel("chalkwing.nowhere", "at_all", one.signature, 1.0),
        Kernel(one.module, "at_all", one.signature, 1.0),
        Kernel(one.module, one.name, "(float64,", 1.0),
        Kernel(one.module, one.name, "(nothing,)", 1.0),
        Kernel(one.module, one.name, "(boolean[:, :, :, :], boolean[:, :, :, :], float64,)", 1.0),
    ):
        assert not wrong.compile()


class Pool:
    """Stands for the processes: notes what they are given."""

    def __init__(self) -> None:
        self.given: list[Kernel] = []

    def submit(self, work: Any, kernel: Kernel) -> Future[bool]:
        assert work == Kernel.compile
        self.given.append(kernel)
        return Future()


def test_they_are_compiled_ahead_once_on_a_machine_longest_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(compiled.numba.config, "CACHE_DIR", str(tmp_path / "kernels"))
    first, second = Pool(), Pool()
    assert len(compile_ahead(first)) == len(kernels())  # type: ignore[arg-type]
    assert [each.seconds for each in first.given] == sorted([e.seconds for e in kernels()], reverse=True)
    assert compile_ahead(second) == []  # type: ignore[arg-type]


def test_without_a_list_nothing_is_compiled_ahead(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ahead, "LIST", tmp_path / "none.json")
    kernels.cache_clear()
    try:
        assert kernels() == ()
    finally:
        kernels.cache_clear()


@pytest.mark.accuracy
def test_after_them_a_debrief_compiles_nothing_but_how_lessons_are_flown(tmp_path: Path) -> None:
    script = (
        "import json\n"
        "from chalkwing.ahead import kernels\n"
        "assert all(each.compile() for each in kernels())\n"
        "from benchmarks.kernels_ahead import compiled_here\n"
        "print(json.dumps(compiled_here()))\n"
    )
    environment = {**os.environ, "NUMBA_CACHE_DIR": str(tmp_path)}
    run = subprocess.run([sys.executable, "-c", script], env=environment, check=True, stdout=subprocess.PIPE)
    left = {each["name"] for each in json.loads(run.stdout)}
    assert left <= {"fly_rows"}, f"{left}: {AGAIN}"
