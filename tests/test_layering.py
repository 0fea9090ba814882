"""Each room imports only from rooms below its own, as the table of docs/decisions/0001 says."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

SOURCE = Path(__file__).parent.parent / "src" / "chalkwing"

FLOORS: tuple[tuple[str, ...], ...] = (
    ("errors", "units", "unit_text", "compiled", "ahead", "files", "toml_files", "nearest"),
    ("air", "earth"),
    ("conditions",),
    ("dynamics",),
    ("airplane",),
    ("maneuvers",),
    ("recordings",),
    ("motion",),
    ("refly",),
    ("reference",),
    ("find",),
    ("judge",),
    ("explain",),
    ("yardstick",),
    ("debriefs",),
    ("words",),
    ("trunk", "briefing"),
    ("views",),
    ("book",),
    ("drawing",),
    ("paper",),
    ("web", "archive"),
    ("cli",),
    ("__main__",),
)
"""From the ground up. Rooms on one floor are the same room's parts or strangers to each other."""

FLOOR = {room: floor for floor, rooms in enumerate(FLOORS) for room in rooms}
GROUND = set(FLOORS[0])


def room_of(path: Path) -> str:
    part = path.relative_to(SOURCE).parts[0]
    return part.removesuffix(".py")


def imported_rooms(tree: ast.AST) -> list[tuple[int, str]]:
    """Line and room of every import of chalkwing, inside functions and TYPE_CHECKING blocks as well."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"line {node.lineno}: imports in chalkwing are absolute"
            names = [f"{node.module}.{alias.name}" for alias in node.names]
        else:
            continue
        for name in names:
            parts = name.split(".")
            if parts[0] == "chalkwing" and len(parts) > 1 and parts[1] != "__version__":
                found.append((node.lineno, parts[1]))
    return found


def upward_imports(path: Path, source: str) -> list[str]:
    own = room_of(path)
    wrong = []
    for line, other in imported_rooms(ast.parse(source)):
        if other == own or (own in GROUND and other in GROUND):
            continue
        if FLOOR[other] >= FLOOR[own]:
            wrong.append(f"{path.relative_to(SOURCE)}:{line}: {own} imports {other}")
    return wrong


MODULES = sorted(path for path in SOURCE.rglob("*.py") if path != SOURCE / "__init__.py")


def test_every_room_has_a_floor():
    assert {room_of(path) for path in MODULES} <= set(FLOOR)


def test_rooms_import_only_from_below():
    assert len(MODULES) > 40
    wrong = [line for path in MODULES for line in upward_imports(path, path.read_text(encoding="utf-8"))]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize(
    "source",
    [
        "import chalkwing.judge",
        "from chalkwing import trunk",
        "def later():\n    from chalkwing.cli import main",
        "from chalkwing.find.finder import find",
    ],
)
def test_an_upward_import_is_caught(source):
    assert upward_imports(SOURCE / "motion" / "somewhere.py", source)
