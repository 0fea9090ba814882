"""Corrections laid over what was found: read, check, lay, write back; the last one can be undone.

read_corrections(path) --lay_over(...)--> Overlaid
corrections.and_then(correction), corrections.undone() --corrections_text--> a file again
"""

from chalkwing.find.corrections.model import (
    Add,
    Address,
    Asked,
    Assign,
    Correction,
    Corrections,
    Drop,
    Ground,
    Label,
    Mark,
    Rename,
    Stretch,
    Trim,
)
from chalkwing.find.corrections.moments import Clock, Moment
from chalkwing.find.corrections.overlay import lay_over
from chalkwing.find.corrections.reading import corrections_from, read_corrections
from chalkwing.find.corrections.results import Entry, FoundFlight, Outcome, Overlaid
from chalkwing.find.corrections.writing import correction_table, corrections_tables, corrections_text

__all__ = [
    "Add",
    "Address",
    "Asked",
    "Assign",
    "Clock",
    "Correction",
    "Corrections",
    "Drop",
    "Entry",
    "FoundFlight",
    "Ground",
    "Label",
    "Mark",
    "Moment",
    "Outcome",
    "Overlaid",
    "Rename",
    "Stretch",
    "Trim",
    "correction_table",
    "corrections_from",
    "corrections_tables",
    "corrections_text",
    "lay_over",
    "read_corrections",
]
