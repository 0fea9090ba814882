"""Latitude and longitude: which way of writing, which hemisphere, and rows without a fix."""

from __future__ import annotations

import numpy as np

from chalkwing.recordings.delimited.drafts import Draft, Drafts
from chalkwing.recordings.delimited.scene import MOVING, Scene, fit
from chalkwing.recordings.notebook import Notebook
from chalkwing.units import DEGREE, Floats

_SCALES: tuple[tuple[str, float], ...] = (
    ("degrees", 1.0),
    ("minutes of arc", 1.0 / 60.0),
    ("seconds of arc", 1.0 / 3600.0),
    ("hundred-thousandths of a minute", 1e-5 / 60.0),
    ("ten-thousandths of a minute", 1e-4 / 60.0),
    ("1e-7 degrees", 1e-7),
    ("1e-6 degrees", 1e-6),
    ("semicircles of 2^31", 180.0 / 2.0**31),
)
_TOLERANCE = 0.2


def settle_positions(drafts: Drafts, time: Floats, notes: Notebook) -> None:
    """Bring both coordinates to degrees as written, before anything is compared with anything."""
    latitude, longitude = drafts.get("latitude"), drafts.get("longitude")
    if latitude is None or longitude is None:
        return
    _without_origin(drafts, latitude, longitude, notes)
    if not (latitude.fixed or longitude.fixed):
        _decode(drafts, latitude, longitude, time, notes)
    for draft, limit in ((latitude, np.pi / 2), (longitude, 2 * np.pi)):
        wild = np.abs(draft.si) > limit
        if wild.any():
            draft.raw = np.where(wild, np.nan, draft.raw)
            notes.say(
                f"{int(wild.sum())} values of {draft.written!r} are no {draft.channel}; left out.",
                channel=draft.channel,
            )
    longitude.raw = _wrapped(longitude)


def _wrapped(longitude: Draft) -> Floats:
    """Longitudes written from 0 to 360 degrees to -180 to 180."""
    turn = 2 * np.pi / longitude.scale
    return np.where(longitude.si > np.pi, longitude.raw - turn, longitude.raw)


def _without_origin(drafts: Drafts, latitude: Draft, longitude: Draft, notes: Notebook) -> None:
    """Rows at 0, 0 have no fix, whatever else a receiver writes beside them."""
    zero = (latitude.raw == 0.0) & (longitude.raw == 0.0)
    if zero.any():
        for draft in (latitude, longitude):
            draft.raw = np.where(zero, np.nan, draft.raw)
        notes.say(
            f"{int(zero.sum())} rows at latitude 0, longitude 0 have no position fix.", channel="latitude"
        )
    no_fix = ~np.isfinite(latitude.raw) | ~np.isfinite(longitude.raw)
    if no_fix.all() or not no_fix.any():
        return
    for name in ("ground_speed", "track", "velocity_north", "velocity_east", "geometric_altitude"):
        filled_in = drafts.get(name)
        if filled_in is not None:
            filled = no_fix & (filled_in.raw == 0.0)
            if filled.any():
                filled_in.raw = np.where(filled, np.nan, filled_in.raw)
                notes.say(
                    f"{filled_in.written!r} is filled with zeros in {int(filled.sum())} rows without a fix; "
                    "left out.",
                    channel=name,
                )


def _decode(drafts: Drafts, latitude: Draft, longitude: Draft, time: Floats, notes: Notebook) -> None:
    if (
        _degrees_minutes(latitude.raw, 90.0)
        and _degrees_minutes(longitude.raw, 180.0)
        and (np.nanmax(np.abs(latitude.raw)) > 90.0 or np.nanmax(np.abs(longitude.raw)) > 180.0)
    ):
        for draft in (latitude, longitude):
            size = np.abs(draft.raw)
            draft.raw = np.sign(draft.raw) * (np.floor(size / 100.0) + np.mod(size, 100.0) / 60.0)
            draft.scale, draft.said, draft.stated = DEGREE, "deg", True
        notes.say(
            "positions are written as degrees and minutes run together (ddmm.mmm); read so.",
            channel="latitude",
        )
        return
    speed = _recorded_speed(drafts)
    name, scale = _scale(latitude.raw, longitude.raw, time, speed)
    if scale == 1.0 and not _radians(latitude, longitude, time, speed):
        latitude.scale = longitude.scale = DEGREE
        return
    if scale == 1.0:
        latitude.scale = longitude.scale = 1.0
        name = "radians"
    else:
        latitude.scale = longitude.scale = scale * DEGREE
    latitude.said = longitude.said = name
    notes.say(
        f"positions are written in {name}, judged by their size and the distance covered.", channel="latitude"
    )


def _degrees_minutes(raw: Floats, limit: float) -> bool:
    size = np.abs(raw[np.isfinite(raw)])
    return bool(len(size) and size.max() < limit * 100.0 and (np.mod(size, 100.0) < 60.0).all())


def _recorded_speed(drafts: Drafts) -> float | None:
    """Usual speed in flight [m/s] as the log records it, or None."""
    north, east = drafts.get("velocity_north"), drafts.get("velocity_east")
    single = next(
        (drafts[n] for n in ("ground_speed", "true_airspeed", "indicated_airspeed") if n in drafts), None
    )
    if single is not None:
        speed = single.si
    elif north is not None and east is not None:
        speed = np.hypot(north.si, east.si)
    else:
        return None
    fast = speed[speed > MOVING]
    return float(np.median(fast)) if len(fast) > 10 else None


def _scale(latitude: Floats, longitude: Floats, time: Floats, speed: float | None) -> tuple[str, float]:
    """The scale to degrees: believable by size and, where several are, by the speed that it implies."""
    top = (float(np.nanmax(np.abs(latitude))), float(np.nanmax(np.abs(longitude))))
    fitting = [(name, s) for name, s in _SCALES if top[0] * s <= 90.0 and top[1] * s <= 360.0]
    if not fitting or fitting[0][1] == 1.0:
        return "degrees", 1.0
    implied = {name: _implied_speed(latitude * s, longitude * s, time) for name, s in fitting}
    told = {name: value for name, value in implied.items() if value}
    if not told:
        return fitting[0]
    if speed is None:
        # Any scale gives some speed; the first, most usual one that gives an airplane's is taken.
        return next((item for item in fitting if 12.0 < told.get(item[0], 0.0) < 150.0), fitting[0])
    return min(
        (item for item in fitting if item[0] in told), key=lambda item: abs(np.log(told[item[0]] / speed))
    )


def _implied_speed(latitude: Floats, longitude: Floats, time: Floats) -> float | None:
    """Median speed [m/s] at which positions in degrees move, while they move like an airplane; else None."""
    good = np.isfinite(latitude) & np.isfinite(longitude)
    if good.sum() < 10:
        return None
    t, y, x = time[good], latitude[good], longitude[good] * np.cos(np.radians(latitude[good]))
    moved = np.hypot(np.diff(y), np.diff(x)) * 111195.0 / np.maximum(np.diff(t), 1e-3)
    fast = moved[moved > MOVING]
    if len(fast) > 10:
        return float(np.median(fast))
    return float(np.median(moved[moved > 0])) if (moved > 0).any() else None


def _radians(latitude: Draft, longitude: Draft, time: Floats, speed: float | None) -> bool:
    """Whether numbers small enough for radians are: the log says so, or degrees would hardly move."""
    if np.nanmax(np.abs(latitude.raw)) > np.pi / 2 or np.nanmax(np.abs(longitude.raw)) > 2 * np.pi:
        return False
    if latitude.stated:
        return latitude.scale == 1.0
    implied = _implied_speed(latitude.raw, longitude.raw, time)
    if implied is None:
        return False
    return implied < (4.0 if speed is None else 0.15 * speed)


def check_hemispheres(scene: Scene, notes: Notebook) -> None:
    """Turn a longitude that counts west positive, or a latitude that counts south positive."""
    if "latitude" not in scene or "longitude" not in scene:
        return
    north, east = scene.position_velocity()
    if "velocity_north" in scene and "velocity_east" in scene:
        told = (scene.si("velocity_north"), scene.si("velocity_east"))
    elif "ground_speed" in scene and "track" in scene:
        speed, track = scene.si("ground_speed"), scene.si("track")
        told = (speed * np.cos(track), speed * np.sin(track))
    else:
        return
    fits = (fit(north, told[0]), fit(east, told[1]))
    if fits[0] is None or fits[1] is None or min(abs(fits[0].r), abs(fits[1].r)) < 0.8:
        return
    for one, other, name, side in (
        (fits[0], fits[1], "latitude", "south"),
        (fits[1], fits[0], "longitude", "west"),
    ):
        draft = scene.drafts[name]
        if one.slope < 0 < other.slope and not draft.fixed:
            draft.scale = -draft.scale
            notes.say(
                f"{draft.written!r} counts {side} positive: it runs against the recorded direction of "
                "motion; its sign was turned.",
                channel=name,
            )
