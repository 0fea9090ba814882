"""chalkwing: from a recorded flight to a judged maneuver, with its uncertainty.

A training aid. The airplane's flight manual, local rules and the licensed instructor prevail.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from chalkwing.briefing import brief
    from chalkwing.errors import ChalkwingError
    from chalkwing.motion import reconstruct
    from chalkwing.recordings import read
    from chalkwing.trunk import debrief

__version__ = "0.1.0"
__all__ = ["ChalkwingError", "__version__", "brief", "debrief", "read", "reconstruct"]

_HOMES = {
    "ChalkwingError": "chalkwing.errors",
    "brief": "chalkwing.briefing",
    "debrief": "chalkwing.trunk",
    "read": "chalkwing.recordings",
    "reconstruct": "chalkwing.motion",
}


def __getattr__(name: str) -> object:
    """Load a public name from its room when it is first used, so that ``--help`` stays quick."""
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
