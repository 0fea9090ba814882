"""The trunk: one function from recordings to a debrief.

    recording --read--> Recording --reconstruct--> Motion
        --find--> Occurrences --judge--> Judgements --> Debrief

The command line, the pages and the archive all call :func:`debrief`, or a part of it.
"""

from __future__ import annotations

from chalkwing.trunk.attempts import Attempt
from chalkwing.trunk.debriefing import Debriefed, debrief, debriefed, debriefed_from
from chalkwing.trunk.reconstructing import Reconstructed, Reconstructions, reconstructions

__all__ = [
    "Attempt",
    "Debriefed",
    "Reconstructed",
    "Reconstructions",
    "debrief",
    "debriefed",
    "debriefed_from",
    "reconstructions",
]
