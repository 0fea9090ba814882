"""Views: one maneuver as pictures, tables and the page's script take it, in pilot units."""

from __future__ import annotations

from chalkwing.views.making import view_of, views_of
from chalkwing.views.quantities import SHOWN
from chalkwing.views.traces import Against, Mark, Samples, Trace
from chalkwing.views.view import LimitMark, ManeuverView, WindThen

__all__ = [
    "SHOWN",
    "Against",
    "LimitMark",
    "ManeuverView",
    "Mark",
    "Samples",
    "Trace",
    "WindThen",
    "view_of",
    "views_of",
]
