"""Taking recordings in: streamed to disk, bounded in size, kept under the digest of their content."""

from __future__ import annotations

import tempfile
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

from anyio import to_thread
from sqlalchemy import select
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse

from chalkwing.airplane import sheet_names
from chalkwing.book.accounts.entry import Viewer
from chalkwing.book.accounts.tables import Upload
from chalkwing.book.log_settings import column_map_text, known_zone
from chalkwing.errors import RefusedRequest
from chalkwing.web.desk import Desk
from chalkwing.web.own_limits import held_to
from chalkwing.web.records import OF_THE_BOOK
from chalkwing.web.settings import MEGABYTE, Settings
from chalkwing.web.shelf import Shelf, StoredFile, shown_name
from chalkwing.web.viewing import viewer_of


async def take_file(request: Request) -> JSONResponse:
    """``PUT /uploads?name=``: one recording as the body."""
    desk: Desk = request.app.state.desk
    name = shown_name(request.query_params.get("name", ""))
    try:
        stored = await _kept(request.stream(), name, desk.shelf, desk.settings)
    except ClientDisconnect:
        raise RefusedRequest("the upload broke off.", where=name, next_step="Send it again.") from None
    one = viewer_of(request)
    if one is not None:
        await to_thread.run_sync(_note_upload, desk, one, stored.sha256)
    return JSONResponse({"sha256": stored.sha256, "name": stored.name, "size": stored.size}, status_code=201)


async def _kept(body: AsyncIterator[bytes], name: str, shelf: Shelf, settings: Settings) -> StoredFile:
    room = settings.kept_bytes - await to_thread.run_sync(shelf.kept_bytes)
    with tempfile.TemporaryDirectory(dir=shelf.folder, prefix="upload-") as folder:
        path = Path(folder) / "body"
        size = 0
        with path.open("wb") as file:
            async for chunk in body:
                size += len(chunk)
                _refuse_large(size, room, name, settings)
                await to_thread.run_sync(file.write, chunk)
        if size == 0:
            raise RefusedRequest("the file is empty.", where=name, next_step="Choose the recording itself.")
        kept = await to_thread.run_sync(shelf.vault.take, path)
    return StoredFile(kept.sha256, name, kept.size)


def _refuse_large(size: int, room: int, name: str, settings: Settings) -> None:
    if size > settings.file_bytes:
        raise RefusedRequest(
            f"the file is larger than the {settings.file_bytes // MEGABYTE} MB that are taken.",
            status=413,
            where=name,
            next_step="Send a part of it.",
        )
    if size > room:
        raise RefusedRequest(
            "there is no room left for it here.",
            status=507,
            where=name,
            next_step="Remove lessons that are no longer needed.",
        )


async def open_lesson(request: Request) -> JSONResponse:
    """``POST /lessons``: recordings taken in before become a lesson."""
    desk: Desk = request.app.state.desk
    asked = await _asked(request, desk.settings)
    one = viewer_of(request)
    if one is not None:
        digests = {file.sha256 for file in asked["files"]}
        await to_thread.run_sync(_refuse_what_others_sent, desk, one, digests)
        asked["by"] = one.person
    lesson = desk.shelf.put(**asked)
    desk.begin(lesson)
    return JSONResponse({"id": lesson.id, "url": f"/lesson/{lesson.id}"}, status_code=201)


def _note_upload(desk: Desk, one: Viewer, sha256: str) -> None:
    """Keep who sent a recording."""
    with desk.book.writing() as session:
        if session.get(Upload, (one.person, sha256)) is None:
            session.add(Upload(person_id=one.person, sha256=sha256))


def _refuse_what_others_sent(desk: Desk, one: Viewer, digests: set[str]) -> None:
    """A digest is no key: whoever learns one does not come to see the recording by it."""
    with desk.book.reading() as session:
        sent = select(Upload.sha256).where(Upload.person_id == one.person, Upload.sha256.in_(digests))
        if set(session.scalars(sent)) != digests:
            raise RefusedRequest(
                "this recording was not sent by you.", where="files", next_step="Upload it again."
            )


async def _asked(request: Request, settings: Settings) -> dict[str, Any]:
    plain = await plain_body(request)
    airplane = plain.get("airplane") or None
    if airplane is not None:
        airplane = await to_thread.run_sync(_sheet, request.app.state.desk, airplane)
    limits = await to_thread.run_sync(held_to, request.app.state.desk.limits, plain)
    return {
        "files": _files(plain.get("files"), settings),
        "airplane": airplane,
        "zone": _zone(plain.get("zone")),
        "column_map": _column_map(plain.get("columns")),
        **limits,
    }


def _zone(given: Any) -> str | None:
    if given is None or given == "":
        return None
    if not isinstance(given, str):
        raise RefusedRequest("a time zone is a short name or an offset such as +02:00.", where="zone")
    return known_zone(given.strip())


def _column_map(given: Any) -> str | None:
    """The text of a column map, sent with the name of its file or, where it was typed, without one."""
    if given is None:
        return None
    if not isinstance(given, dict) or not isinstance(given.get("text"), str):
        raise RefusedRequest("a column map is sent with its text.", where="columns")
    name = given.get("name")
    return column_map_text(given["text"], where=shown_name(str(name)) if name else "the column map")


def _sheet(desk: Desk, chosen: Any) -> str:
    """A built-in sheet's name as it is; an airplane of the book's by its registration: its sheet."""
    known = {name: name for name in sheet_names()} | {
        f"{OF_THE_BOOK}{registration}": sheet for registration, sheet in desk.records.airplanes().items()
    }
    if not isinstance(chosen, str) or chosen not in known:
        raise RefusedRequest("no airplane sheet has that name.", where="airplane")
    return known[chosen]


def _files(given: Any, settings: Settings) -> list[StoredFile]:
    if not isinstance(given, list) or not 1 <= len(given) <= settings.files:
        raise RefusedRequest(f"a lesson is made of 1 to {settings.files} recordings.", where="files")
    found = []
    for each in given:
        if not isinstance(each, dict) or not isinstance(each.get("sha256"), str):
            raise RefusedRequest("a recording is named by its digest.", where="files")
        size = each.get("size")
        name = shown_name(str(each.get("name", "")))
        found.append(StoredFile(each["sha256"], name, size if isinstance(size, int) else 0))
    return found


async def plain_body(request: Request) -> dict[str, Any]:
    """The JSON object that a script sent; where somebody is signed in, it is by them, whatever it says."""
    try:
        plain = await request.json()
    except ValueError:
        raise RefusedRequest("what was sent is not JSON.") from None
    if not isinstance(plain, dict):
        raise RefusedRequest("what was sent is not a JSON object.")
    one = viewer_of(request)
    return plain if one is None else {**plain, "by": one.name}
