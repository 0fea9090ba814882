"""Which maneuvers an airplane may not be asked to fly here, and why."""

from __future__ import annotations

from chalkwing.airplane.sheet import AirplaneSheet
from chalkwing.errors import UnfitAirplane

SINGLE_ENGINE_MANEUVERS = {
    "lazy_eight": "a lazy eight",
    "chandelle": "a chandelle",
    "steep_spiral": "a steep spiral",
    "eights_on_pylons": "eights on pylons",
    "power_off_180": "a power-off 180",
}
"""Maneuvers that the commercial course teaches and tests in the single-engine class. Common practice, no
source."""


def unfit_reason(kind: str, sheet: AirplaneSheet) -> str | None:
    """Why this airplane is not flown in a maneuver of this kind; None where nothing speaks against it."""
    if kind not in SINGLE_ENGINE_MANEUVERS or sheet.engines == 1:
        return None
    return (
        f"{SINGLE_ENGINE_MANEUVERS[kind]} belongs to the single-engine class, and {sheet.name} has "
        f"{sheet.engines} engines: it is neither taught nor tested in a multiengine airplane (common "
        "practice, no source)."
    )


def refuse_unfit(kind: str, sheet: AirplaneSheet) -> None:
    """Refuse a maneuver of the single-engine class for an airplane with more engines.

    Raises
    ------
    UnfitAirplane
        With the reason.
    """
    reason = unfit_reason(kind, sheet)
    if reason is not None:
        raise UnfitAirplane(
            reason, next_step="Choose a single-engine airplane sheet; `chalkwing airplanes` lists them."
        )
