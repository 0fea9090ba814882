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
_HEIGHTS = ("pressure_altitude", "altimeter_altitude", "geometric_altitude")
_STANDARD_AIR, _STANDARD_LAPSE = 288.15, 0.0065
"""Sea-level temperature [K] and its fall with height [K/m] in the standard atmosphere (ISO 2533)."""
_DAY_TO_DAY, _LAPSE_TO_LAPSE = 12.0, 0.0025
"""Usual spread of a day's temperature [K] and of its fall with height [K/m] about the standard's."""
_TALL_ENOUGH = 300.0
"""Heights [m] a recording must span before the fall with height says anything."""
_UNUSUAL_UNIT = 3.0
"""Log odds against an outside air temperature that is written in anything but degrees Celsius."""
FULL_FLAPS = 40.0
"""Degrees taken for 100 % flaps: common practice for light airplanes, no source."""


def check_airspeeds(scene: Scene, notes: Notebook) -> None:
    """Airspeeds against the ground speed: turns take the wind out; without them only gross slips show."""
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
        _compare_units(draft, north[flying], east[flying], recorded[flying], notes)


def _compare_units(draft: Draft, north: Floats, east: Floats, recorded: Floats, notes: Notebook) -> None:
    """Take the unit under which some steady wind best explains the ground velocity, if clearly better."""
    ratio = float(np.median(np.hypot(north, east) / recorded))
    thin = max(len(recorded) // 800, 1)
    north, east, recorded = north[::thin], east[::thin], recorded[::thin]
    if not _turns_about(north, east):
        # One direction leaves wind and scale inseparable: only a factor that no wind makes is believed.
        unit = min(_SPEEDS, key=lambda name: abs(np.log(_SPEEDS[name] / (ratio * draft.scale))))
        if abs(np.log(ratio)) > 0.45 and unit != draft.said:
            _adopt(draft, unit, ratio, notes)
        return
    misses = {
        name: _unexplained(north, east, recorded * (scale / draft.scale)) for name, scale in _SPEEDS.items()
    }
    unit = min(misses, key=lambda name: misses[name])
    present = _unexplained(north, east, recorded)
    if unit != draft.said and misses[unit] < 0.6 * present:
        _adopt(draft, unit, _SPEEDS[unit] / draft.scale, notes)


def _turns_about(north: Floats, east: Floats) -> bool:
    """Whether the flight goes in enough directions to part the wind from the scale of the airspeed."""
    return len(north) > 60 and bool(abs(np.exp(1j * np.arctan2(east, north)).mean()) < 0.6)


def _unexplained(north: Floats, east: Floats, airspeed: Floats) -> float:
    """Root mean square of ``|V - W| - A`` [m/s] for the best steady wind W (Gauss-Newton)."""
    wind = np.zeros(2)
    miss = np.zeros(1)
    for _ in range(6):
        through = np.stack([north - wind[0], east - wind[1]])
        speed = np.maximum(np.hypot(*through), 1.0)
        miss = speed - airspeed
        slope = -(through / speed).T
        step = np.linalg.lstsq(slope, -miss, rcond=None)[0]
        wind = wind + step * min(1.0, 20.0 / max(float(np.hypot(*step)), 1e-9))
    return float(np.sqrt(np.mean(miss**2)))


def _density_factor(scene: Scene) -> Floats | float:
    """True over indicated airspeed in the standard atmosphere at the recorded altitude."""
    for name in _HEIGHTS:
        if name in scene:
            height = np.clip(scene.si(name), 0.0, 11000.0)
            return np.asarray((1.0 - 2.25577e-5 * height) ** -2.128)
    return 1.0


def _adopt(draft: Draft, unit: str, factor: float, notes: Notebook) -> None:
    if draft.stated:
        draft.sure = False
        notes.say(
            f"{draft.written!r} is labeled {draft.said} but fits the ground speed only {factor:.2f} "
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
            f"{draft.written!r} is labeled {draft.said} but its values are {unit}; read so.",
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
    options = {unit: unit_named(unit) for unit in CANDIDATES["temperature"]}
    height = next((scene.si(name) for name in _HEIGHTS if name in scene), np.full(len(scene.grid), 500.0))
    reading = scene.sampled(draft.raw)
    unit = min(
        options,
        key=lambda name: (
            _unlikely_air(options[name].scale * reading + options[name].offset, height)
            + (0.0 if name == "°C" else _UNUSUAL_UNIT)
        ),
    )
    if unit != draft.said:
        middle = float(np.nanmedian(draft.raw))
        word = f"is labeled {draft.said} but reads" if draft.stated else "writes no unit and reads"
        notes.say(f"{draft.written!r} {word} {middle:.0f}: taken as {unit}.", channel=draft.channel)
        set_unit(draft, unit)


def _unlikely_air(temperature: Floats, height: Floats) -> float:
    """How unlikely air of this temperature [K] is at these heights [m]: half a sum of squares.

    Both how far it is from the standard atmosphere and how it falls with height speak: degrees Fahrenheit
    read as Celsius fall nearly twice as fast. The spreads of both are common practice, no source: a hot day
    is 20 K above standard; between a morning's inversion and a stirred afternoon air loses 4 to 10 K per km.
    """
    both = np.isfinite(temperature) & np.isfinite(height)
    if not both.any():
        return 0.0
    temperature, height = temperature[both], height[both]
    off = float(np.median(temperature - _STANDARD_AIR + _STANDARD_LAPSE * height)) / _DAY_TO_DAY
    if np.ptp(height) < _TALL_ENOUGH:
        return 0.5 * off**2
    fall = -float(np.polyfit(height - height.mean(), temperature, 1)[0])
    return 0.5 * (off**2 + ((fall - _STANDARD_LAPSE) / _LAPSE_TO_LAPSE) ** 2)


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
