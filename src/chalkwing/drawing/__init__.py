"""Every picture, as SVG, made once for page and paper; the grammar is that of chalk on a slate."""

from __future__ import annotations

from chalkwing.drawing.nose_path import nose_path
from chalkwing.drawing.palette import ON_PAPER, PAPER, PRINT, SLATE, Palette, Style
from chalkwing.drawing.plan_view import Wind, plan_view
from chalkwing.drawing.profiles import BANK, LOAD, PITCH, Panel, airspeed, altitude, profiles
from chalkwing.views.traces import Against, Mark, Trace

__all__ = [
    "BANK",
    "LOAD",
    "ON_PAPER",
    "PAPER",
    "PITCH",
    "PRINT",
    "SLATE",
    "Against",
    "Mark",
    "Palette",
    "Panel",
    "Style",
    "Trace",
    "Wind",
    "airspeed",
    "altitude",
    "nose_path",
    "plan_view",
    "profiles",
]
