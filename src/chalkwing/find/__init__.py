"""Finding: where in a Motion each maneuver begins, turns and ends."""

from chalkwing.find.finder import can_find, find, find_together
from chalkwing.find.occurrence import Occurrence, Part
from chalkwing.find.phases import Phase, phases

__all__ = ["Occurrence", "Part", "Phase", "can_find", "find", "find_together", "phases"]
