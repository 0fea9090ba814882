"""Finding: where in a Motion each maneuver begins, turns and ends."""

from chalkwing.find.finder import can_find, find
from chalkwing.find.occurrence import Occurrence, Part

__all__ = ["Occurrence", "Part", "can_find", "find"]
