"""Airspeeds, temperatures, pressures and engine values."""

from __future__ import annotations

import numpy as np

from chalkwing.recordings.channels import KINDS
from chalkwing.recordings.delimited.drafts import (
    CANDIDATES,
    Draft,
    dimension_of,
    set_unit,
    share_inside,
    unit_by_range,
    unit_named,
)
from chalkwing.recordings.delimited.scene import MOVING, Scene
from chalkwing.recordings.notebook import Notebook
from chalkwing.units import Floats

AIRSPEEDS = ("true_airspeed", "calibrated_airspeed", "indicated_airspeed")
_SPEEDS = {name: unit_named(name).scale for name in ("kt", "km/h", "m/s", "mph")}
FULL_FLAPS = 40.0
"""Degrees taken for 100 % flaps: common practice for light airplanes, no source."""


def check_airspeeds(scene: Scene, notes: Notebook) -> None:
    """Airspeeds against the ground speed: turns take the wind out, and without turns only gross slips show."""
    north, east = scene.ground_velocity()
    ground = np.hypot(north, east)
    for channel in AIRSPEEDS:
        draft = scene.drafts.get(channel)
        if draft is None or draft.fixed:
            continue
        recorded = scene.si(channel) * (1.0 if channel == "true_airspeed" else _density_factor(scene))
        flying = (ground > MOVING * 1.5) & np.isfinite(recorded) & (recorded > 0)
        if flying.sum() < 20:
            continue
        factor, close = _factor(north[flying], east[flying], recorded[flying])
        wanted = np.log(factor * draft.scale)
        unit = min(_SPEEDS, key=lambda name: abs(np.log(_SPEEDS[name]) - wanted))
        better = abs(np.log(_SPEEDS[unit]) - wanted) < 0.6 * abs(np.log(factor))
        if unit != draft.said and better and abs(np.log(factor)) > close:
            _adopt(draft, unit, factor, notes)


def _density_factor(scene: Scene) -> Floats | float:
    """True over indicated airspeed in the standard atmosphere at the recorded altitude."""
    for name in ("pressure_altitude", "altimeter_altitude", "geometric_altitude"):
        if name in scene:
            height = np.clip(scene.si(name), 0.0, 11000.0)
            return np.asarray((1.0 - 2.25577e-5 * height) ** -2.128)
    return 1.0


def _factor(north: Floats, east: Floats, recorded: Floats) -> tuple[float, float]:
    """What the airspeed must be multiplied by, and how far off it may be unproven (natural log).

    |V|^2 = 2 V.W - |W|^2 + k^2 A^2 is linear in the wind W, its square and k^2, so turning flight gives k
    whatever the wind; flight in one direction gives only the ratio of the speeds.
    """
    speed = np.hypot(north, east)
    direction = np.exp(1j * np.arctan2(east, north))
    if abs(direction.mean()) < 0.6 and len(speed) > 60:
        table = np.column_stack([2 * north, 2 * east, -np.ones_like(north), recorded**2])
        scale = np.abs(table).max(axis=0)
        solved = np.linalg.lstsq(table / scale, speed**2, rcond=None)[0] / scale
        ratio = float(np.median(speed / recorded))
        wind = float(np.hypot(solved[0], solved[1]))
        if solved[3] > 0 and wind < 0.7 * float(np.median(speed)):
            solved_factor = float(np.sqrt(solved[3]))
            if abs(np.log(solved_factor / ratio)) < 0.35:
                # A constant airspeed leaves k to the constant term; the wind then still cancels in the mean.
                steady = np.std(recorded) < 0.03 * np.mean(recorded)
                return (ratio if steady else solved_factor), 0.11
        return ratio, 0.45
    return float(np.median(speed / recorded)), 0.45


def _adopt(draft: Draft, unit: str, factor: float, notes: Notebook) -> None:
    if draft.stated:
        draft.sure = False
        notes.say(
            f"{draft.written!r} is labelled {draft.said} but fits the ground speed only {factor:.2f} "
            f"times as large: read as {unit}.",
            channel=draft.channel,
        )
    else:
        notes.say(
            f"{draft.written!r} writes no unit; read as {unit}, which fits the ground speed.",
            channel=draft.channel,
        )
    set_unit(draft, unit)


def settle_by_range(scene: Scene, notes: Notebook) -> None:
    """Units of temperatures and pressures, by what can be believed and what the altitude leads to expect."""
    for draft in list(scene.drafts.values()):
        if draft.fixed or draft.channel not in KINDS:
            continue
        if dimension_of(draft.channel) == "pressure":
            _settle_pressure(draft, notes)
        elif dimension_of(draft.channel) == "temperature":
            _settle_temperature(scene, draft, notes)
        elif (
            draft.channel in {"power", "throttle"}
            and not draft.stated
            and np.nanmax(draft.raw, initial=0.0) > 1.6
        ):
            draft.scale, draft.said = 0.01, "%"
        elif draft.channel == "flaps":
            _settle_flaps(draft, notes)
        elif draft.channel == "pressure_altitude" and "flightlevel" in draft.concepts and not draft.stated:
            draft.scale, draft.said = 30.48, "hundreds of feet"


def _settle_pressure(draft: Draft, notes: Notebook) -> None:
    if draft.stated and share_inside(draft) > 0.7:
        return
    unit = _pressure_by_range(draft)
    if unit is None:
        return
    if draft.stated:
        notes.say(
            f"{draft.written!r} is labelled {draft.said} but its values are {unit}; read so.",
            channel=draft.channel,
        )
    set_unit(draft, unit)


def _pressure_by_range(draft: Draft) -> str | None:
    """Manifold pressures overlap in their ranges; the size of the largest value tells."""
    if draft.channel != "manifold_pressure":
        return unit_by_range(draft)
    top = float(np.nanmax(draft.raw, initial=0.0))
    return "inHg" if top < 70 else "kPa" if top < 200 else "hPa" if top < 2500 else "Pa"


def _settle_temperature(scene: Scene, draft: Draft, notes: Notebook) -> None:
    if draft.stated and share_inside(draft) > 0.7:
        return
    middle = float(np.nanmedian(draft.raw))
    height = next(
        (
            np.nanmedian(scene.si(n))
            for n in ("pressure_altitude", "altimeter_altitude", "geometric_altitude")
            if n in scene
        ),
        500.0,
    )
    standard = 288.15 - 0.0065 * float(height)
    options = {unit: unit_named(unit) for unit in CANDIDATES["temperature"]}
    # Celsius is the habit; another unit must fit the standard atmosphere clearly better.
    unit = min(
        options,
        key=lambda u: (
            abs(options[u].scale * middle + options[u].offset - standard) + (0.0 if u == "°C" else 12.0)
        ),
    )
    if unit != draft.said:
        word = f"is labelled {draft.said} but reads" if draft.stated else "writes no unit and reads"
        notes.say(f"{draft.written!r} {word} {middle:.0f}: taken as {unit}.", channel=draft.channel)
        set_unit(draft, unit)


def _settle_flaps(draft: Draft, notes: Notebook) -> None:
    """Flaps in percent or in notches become degrees on an assumed full travel."""
    good = draft.raw[np.isfinite(draft.raw)]
    percent = draft.said == "%" or (not draft.stated and len(good) > 0 and good.max() > 60)
    if percent:
        draft.scale, draft.sure = np.radians(FULL_FLAPS) / 100.0, False
        notes.say(
            f"{draft.written!r} is in percent; full travel taken as {FULL_FLAPS:.0f} degrees.",
            channel="flaps",
        )
    elif not draft.stated and len(good) and 0 < good.max() <= 4 and (good == np.round(good)).all():
        draft.scale, draft.sure = np.radians(10.0), False
        notes.say(f"{draft.written!r} counts notches; one notch taken as 10 degrees.", channel="flaps")
