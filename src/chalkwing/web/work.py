"""What a worker process does for the pages: reconstruct a lesson's flights, and judge them."""

from __future__ import annotations

import pickle
import shutil
import tempfile
from collections import OrderedDict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from chalkwing.errors import ChalkwingError

if TYPE_CHECKING:
    from chalkwing.book.log_settings import LogSettings
    from chalkwing.debriefs import Debrief
    from chalkwing.maneuvers import Standard
    from chalkwing.trunk import Debriefed, Reconstructions
    from chalkwing.views import ManeuverView
    from chalkwing.views.story import Story

Tell = Callable[[str, float], None]
MOTION = "motion.pickle"
TOLD = "told.pickle"
JSON = "debrief.json"
_HELD = 2
"""Reconstructed lessons kept in memory, so that a correction is judged at once."""

_FAULTS = ("gone", "overlap", "outside", "unknown", "empty")
"""Everything for which a correction may not fit."""


@dataclass(frozen=True)
class Reading:
    """Recordings (where they lie, what they are called) to reconstruct into the folder ``into``."""

    files: tuple[tuple[Path, str], ...]
    airplane: str | None
    log: LogSettings
    into: Path


@dataclass(frozen=True)
class Judging:
    """A reconstructed lesson to find and judge into the folder ``into``."""

    motion: Path
    names: tuple[tuple[str, str], ...]
    standard: str
    corrections: tuple[dict[str, Any], ...]
    into: Path
    overlay: str | None = None
    unit: str | None = None
    course: str | None = None
    """The course outline, to the letter, whose limits for the lesson ``unit`` are laid over the standard."""


@dataclass(frozen=True)
class Told:
    """Everything the pages of a lesson show of it."""

    debrief: Debrief
    views: tuple[ManeuverView, ...]
    story: Story


def reconstruct_lesson(order: Reading, *, tell: Tell) -> None:
    """Read and reconstruct; what is refused is told by the names that the files came with."""
    from chalkwing.trunk import reconstructions

    # The whole path first: it holds the digest too.
    names = tuple((str(path), name) for path, name in order.files)
    names += tuple((path.name, name) for path, name in order.files)
    try:
        with tempfile.TemporaryDirectory(prefix="chalkwing-") as beside:
            found = reconstructions(
                *(path for path, _ in order.files),
                airplane=order.airplane,
                column_map=order.log.map_in(Path(beside)),
                zone=order.log.zone,
                progress=tell,
            )
    except ChalkwingError as error:
        raise ChalkwingError(
            _named(error.what, names),
            where=_named(error.where or "", names) or None,
            next_step=error.next_step,
        ) from error
    with _whole(order.into) as folder:
        _write(folder / MOTION, found)


def judge_lesson(order: Judging, *, tell: Tell) -> None:
    """Find and judge, and write what the pages show."""
    from chalkwing.views import views_of
    from chalkwing.views.story import story_of

    done = _debriefed(order, tell)
    told = Told(_renamed(done.debrief, order.names), tuple(views_of(done)), story_of(done))
    with _whole(order.into) as folder:
        _write(folder / TOLD, told)
        (folder / JSON).write_text(told.debrief.to_json(), encoding="utf-8")


def print_lesson(order: Judging, form: str, *, tell: Tell) -> None:
    """Write the debrief to take along, beside the rest: ``html``, or a PDF on ``a4`` or ``letter``."""
    from chalkwing.paper.debrief import debrief_pdf
    from chalkwing.paper.handout import debrief_html

    done = _debriefed(order, tell)
    done = replace(done, debrief=_renamed(done.debrief, order.names))
    made = debrief_html(done) if form == "html" else debrief_pdf(done, paper=form)
    part = order.into / f"{form}.part"
    part.write_bytes(made)
    part.replace(order.into / printed_name(form))


def printed_name(form: str) -> str:
    """The file that :func:`print_lesson` writes."""
    return "debrief.html" if form == "html" else f"debrief-{form}.pdf"


def _debriefed(order: Judging, tell: Tell) -> Debriefed:
    from chalkwing.find.corrections import corrections_from
    from chalkwing.trunk import debriefed_from

    # Without a zone, whatever the log's own clock keeps: the pages tell, and ask for, times in UTC.
    tables = {"schema": 1, "correction": list(order.corrections)}
    return debriefed_from(
        _motion(order.motion),
        standard=_standard(order),
        corrections=corrections_from(tables, where="the corrections of this lesson"),
        # A correction that does not fit any more is told beside the others; a new one is refused elsewhere.
        bear=_FAULTS,
        progress=tell,
    )


def _standard(order: Judging) -> Standard:
    from chalkwing.book.course import course_from
    from chalkwing.maneuvers import standard

    published = standard(order.standard, school=Path(order.overlay) if order.overlay else None)
    if order.unit is None or order.course is None:
        return published
    return course_from(order.course, where="the course outline").standard_at(order.unit, published)


def warmed(*, tell: Tell) -> None:
    """Load what the first task would otherwise wait for."""
    import chalkwing.trunk
    import chalkwing.views.story
    import chalkwing.yardstick  # noqa: F401


_motions: OrderedDict[Path, Reconstructions] = OrderedDict()


def _motion(path: Path) -> Reconstructions:
    """A reconstructed lesson, from memory if it was used lately."""
    if path not in _motions:
        with path.open("rb") as file:
            _motions[path] = pickle.load(file)
    _motions.move_to_end(path)
    while len(_motions) > _HELD:
        _motions.popitem(last=False)
    return _motions[path]


def _renamed(debrief: Debrief, names: tuple[tuple[str, str], ...]) -> Debrief:
    """The debrief with recordings called by the names they came with."""
    recordings = tuple(
        replace(
            each,
            source=_named(each.source, names),
            notes=tuple(_named(note, names) for note in each.notes),
        )
        for each in debrief.recordings
    )
    return replace(debrief, recordings=recordings, notes=tuple(_named(note, names) for note in debrief.notes))


def _named(text: str, names: tuple[tuple[str, str], ...]) -> str:
    for digest, name in names:
        text = text.replace(digest, name)
    return text


def _write(path: Path, thing: Any) -> None:
    with path.open("wb") as file:
        pickle.dump(thing, file, protocol=5)


@contextmanager
def _whole(folder: Path) -> Iterator[Path]:
    """A folder that takes its name only when all that belongs in it is written."""
    part = Path(tempfile.mkdtemp(prefix=f"{folder.name}-", suffix=".part", dir=folder.parent))
    try:
        yield part
        if not folder.exists():
            part.replace(folder)
    finally:
        shutil.rmtree(part, ignore_errors=True)
