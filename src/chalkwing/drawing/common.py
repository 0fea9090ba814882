"""The pictures of a maneuver of a common set: what was seen in the airplane, nothing that was computed."""

from __future__ import annotations

from chalkwing.drawing.maneuver import (
    Size,
    has_nose_path,
    horizon_figure,
    main_quantities,
    nose_figure,
    plan_figure,
    profile_figure,
)
from chalkwing.drawing.palette import Style
from chalkwing.views import ManeuverView

FELT = ("load_factor_g", "lateral_load_g", "power_percent")
"""What the seat, the ball and the ear told: folded under the rest."""
_PANEL, _AXIS = 6.0, 1.6
"""Heights of a profile and of their axis, in the size of the text."""


def common_nose(view: ManeuverView, size: Size, style: Style) -> str | None:
    """The nose path; None for a maneuver that does not turn one way."""
    return nose_figure(view, size, style) if has_nose_path(view) else None


def common_profiles(view: ManeuverView, width: float, style: Style) -> str:
    """Bank, airspeed and altitude (pitch where there is no nose path), without limits."""
    names = [name for name in main_quantities(view) if view.shows(name)]
    return profile_figure(view, names, (width, _tall(len(names), style)), style)


def common_felt(view: ManeuverView, width: float, style: Style) -> str | None:
    """Load, ball and power; None where none of them is known."""
    names = [name for name in FELT if view.shows(name)]
    return profile_figure(view, names, (width, _tall(len(names), style)), style) if names else None


def common_plan(view: ManeuverView, size: Size, style: Style) -> str:
    """The path over the ground, entry heading up, without a compass."""
    return plan_figure(view, size, style, north=False)


def common_horizon(view: ManeuverView, size: Size, style: Style) -> str | None:
    """The nose against the horizon at each point."""
    return horizon_figure(view, size, style)


def _tall(count: int, style: Style) -> float:
    return (_PANEL * count + _AXIS) * style.text
