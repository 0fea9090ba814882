"""Ground speed, velocities and track, held against the positions."""

from __future__ import annotations

import numpy as np

from chalkwing.recordings.delimited.drafts import CANDIDATES, Draft, set_unit, unit_named
from chalkwing.recordings.delimited.rules import UNSURE
from chalkwing.recordings.delimited.scene import MOVING, Scene, fit, nearest
from chalkwing.recordings.notebook import Notebook
from chalkwing.units import DEGREE, Floats, rad_to_deg, wrap_angle

_SPEED_SCALES = {name: unit_named(name).scale for name in CANDIDATES["speed"]}
_CLOSE = 0.06
"""Units are told apart by ratios; knots and miles per hour differ by 0.14 in the logarithm."""


def check_ground(scene: Scene, notes: Notebook) -> None:
    """Settle units of ground speed and velocities, and the reference of the track."""
    if "latitude" not in scene or "longitude" not in scene:
        _settle_without_positions(scene)
        return
    north, east = scene.position_velocity()
    over_ground = np.hypot(north, east)
    _check_speed(scene, over_ground, notes)
    for channel, axis in (("velocity_north", north), ("velocity_east", east)):
        _check_velocity(scene, channel, axis, notes)
    _check_track(scene, north, east, notes)


def _settle_without_positions(scene: Scene) -> None:
    track = scene.drafts.get("track")
    if track is not None and not track.stated and np.nanmax(np.abs(track.raw)) <= 2 * np.pi + 0.01 < 6.5:
        track.scale = 1.0 if np.nanstd(track.raw) > 0.3 else DEGREE


def _check_speed(scene: Scene, over_ground: Floats, notes: Notebook) -> None:
    draft = scene.drafts.get("ground_speed")
    if draft is None:
        return
    # Between rows seconds apart a circling path is longer than its chord: only straight flight counts.
    turn = np.abs(scene.turn_rate())
    moving = (over_ground > MOVING) & ~(turn > 3.0 * DEGREE)
    recorded = scene.si("ground_speed")
    both = moving & np.isfinite(recorded) & (recorded > 0)
    if both.sum() < 20:
        return
    ratios = over_ground[both] / recorded[both]
    ratio, scatter = float(np.median(ratios)), float(np.median(np.abs(ratios / np.median(ratios) - 1.0)))
    if draft.score < UNSURE and scatter > 0.06 and not draft.fixed:
        _to_airspeed(scene, draft, notes)
        return
    if abs(np.log(ratio)) < _CLOSE and scatter < _CLOSE:
        draft.sure = True
    if abs(np.log(ratio)) < _CLOSE or draft.fixed or scatter > 0.2:
        return
    unit, miss = nearest(draft, _SPEED_SCALES, ratio)
    if miss < _CLOSE + 0.02 and (abs(np.log(ratio)) > 0.3 or (scatter < 0.03 and miss < 0.04)):
        _adopt(draft, unit, "the positions move at that speed", notes)
    elif abs(np.log(ratio)) > 0.2:
        draft.sure = False
        notes.say(
            f"{draft.written!r} is {1 / ratio:.2f} times the speed at which the positions move; kept as "
            f"{draft.said}.",
            channel=draft.channel,
        )


def _adopt(draft: Draft, unit: str, because: str, notes: Notebook) -> None:
    """Take another unit than the one believed so far, and say why."""
    if draft.stated:
        notes.say(
            f"{draft.written!r} is labeled {draft.said} but is in {unit}: {because}. Read as {unit}.",
            channel=draft.channel,
        )
        draft.sure = False
    else:
        draft.sure = True
        notes.say(f"{draft.written!r} writes no unit; read as {unit}: {because}.", channel=draft.channel)
    set_unit(draft, unit)


def _to_airspeed(scene: Scene, draft: Draft, notes: Notebook) -> None:
    """A bare "speed" that does not follow the positions is the speed through the air."""
    del scene.drafts["ground_speed"]
    if "indicated_airspeed" not in scene:
        draft.channel, draft.sure = "indicated_airspeed", False
        scene.drafts["indicated_airspeed"] = draft
        notes.say(
            f"{draft.written!r} does not follow the speed of the positions; taken as indicated airspeed.",
            channel=draft.channel,
        )


def _check_velocity(scene: Scene, channel: str, axis: Floats, notes: Notebook) -> None:
    draft = scene.drafts.get(channel)
    if draft is None or draft.fixed:
        return
    found = fit(scene.si(channel), axis)
    if found is None or abs(found.r) < 0.9:
        return
    if found.slope < 0:
        draft.scale = -draft.scale
        notes.say(f"{draft.written!r} runs against the positions; its sign was turned.", channel=channel)
    if abs(np.log(abs(found.slope))) > _CLOSE:
        sign = np.sign(draft.scale)
        draft.scale = abs(draft.scale)
        unit, miss = nearest(draft, _SPEED_SCALES, abs(found.slope))
        if miss < _CLOSE + 0.04:
            _adopt(draft, unit, "the positions move at that speed", notes)
        draft.scale *= float(sign)


def _check_track(scene: Scene, north: Floats, east: Floats, notes: Notebook) -> None:
    draft = scene.drafts.get("track")
    fast = np.hypot(north, east) > MOVING
    if fast.sum() < 20:
        return
    bearing = np.where(fast, np.arctan2(east, north), np.nan)
    if draft is None:
        _track_among_headings(scene, bearing, notes)
        return
    if draft.fixed:
        return
    offset, scatter = _against(scene, draft, bearing)
    if scatter > 25.0 * DEGREE:
        other = 1.0 if draft.scale != 1.0 else DEGREE
        keep, draft.scale = draft.scale, other
        again, less = _against(scene, draft, bearing)
        if less < 10.0 * DEGREE:
            offset, scatter = again, less
            draft.said = "rad" if other == 1.0 else "deg"
            notes.say(
                f"{draft.written!r} is in {'radians' if other == 1.0 else 'degrees'}: so it follows the "
                "positions.",
                channel="track",
            )
        else:
            draft.scale = keep
    astray = scatter > 25.0 * DEGREE or abs(offset) > 40.0 * DEGREE
    if astray and _unfold_byte(scene, draft, bearing, notes):
        offset, scatter = _against(scene, draft, bearing)
    if scatter > 25.0 * DEGREE:
        del scene.drafts["track"]
        notes.say(
            f"{draft.written!r} does not follow the direction in which the positions move; left out.",
            channel="track",
        )
        return
    if (
        draft.score < UNSURE
        and scatter > 3.0 * DEGREE
        and not scene.drafts.keys() & {"heading_magnetic", "heading_true"}
    ):
        del scene.drafts["track"]
        draft.channel, draft.sure = "heading_magnetic", False
        scene.drafts["heading_magnetic"] = draft
        notes.say(
            f"{draft.written!r} leads the positions by a drift angle; taken as the magnetic heading.",
            channel="heading_magnetic",
        )
        return
    draft.sure = draft.sure or scatter < 3.0 * DEGREE
    _to_true(scene, draft, *_against(scene, draft, _unturning(bearing)), notes)
    _drop_strays(scene, draft, bearing, notes)


def _unturning(bearing: Floats) -> Floats:
    """The bearing where it hardly turns: a late track trails it in a turn, and circling looks magnetic."""
    turn = np.abs(wrap_angle(np.gradient(np.unwrap(np.nan_to_num(bearing)))))
    return np.where(turn < 1.0 * DEGREE, bearing, np.nan)


def _drop_strays(scene: Scene, draft: Draft, bearing: Floats, notes: Notebook) -> None:
    """Leave out single tracks far from steady motion: 359 and 1 averaged to 180 by some resampling."""
    steady = np.abs(wrap_angle(np.diff(bearing, prepend=bearing[:1]))) < 15.0 * DEGREE
    steady &= np.roll(steady, -1)
    toward = scene.on_rows(np.where(steady, bearing, np.nan))
    astray = np.abs(wrap_angle(draft.si - toward)) > 60.0 * DEGREE
    if astray.any() and astray.sum() < 0.2 * np.isfinite(draft.raw).sum():
        draft.raw = np.where(astray, np.nan, draft.raw)
        notes.say(
            f"{draft.written!r}: {int(astray.sum())} values point far from the steady motion of the "
            "positions; left out.",
            channel="track",
        )


def _unfold_byte(scene: Scene, draft: Draft, bearing: Floats, notes: Notebook) -> bool:
    """Undo a track that was squeezed into a signed byte: 200 degrees are written as -56, 300 as 44.

    The lost multiple of 256 is the one that brings the track closest to the direction of the positions.
    """
    degrees = np.round(draft.raw[np.isfinite(draft.raw)] * draft.scale / DEGREE, 6)
    if not len(degrees) or degrees.min() < -128 or degrees.max() > 127 or degrees.min() >= 0:
        return False
    toward = scene.on_rows(bearing)
    choices = np.stack([draft.si, draft.si + 256.0 * DEGREE])
    allowed = (choices >= 0) & (choices < 2 * np.pi)
    miss = np.where(allowed, np.abs(wrap_angle(choices - toward)), np.inf)
    miss = np.where(np.isfinite(toward), miss, np.nan)
    best = np.where(miss[1] < miss[0], choices[1], choices[0])
    close = np.nanmin(np.where(np.isfinite(miss), miss, np.nan), axis=0, initial=np.inf)
    if not np.nanmedian(close[np.isfinite(close)]) < 12.0 * DEGREE:
        return False
    # Where the positions cannot tell, an ambiguous value is no measurement.
    draft.raw = np.where(np.isfinite(toward) & (close < 60.0 * DEGREE), best, np.nan) / draft.scale
    draft.sure = False
    notes.say(
        f"{draft.written!r} was squeezed into a signed byte; unfolded by the direction in which the "
        "positions move.",
        channel="track",
    )
    return True


def _against(scene: Scene, draft: Draft, bearing: Floats) -> tuple[float, float]:
    """Median difference of a direction from the bearing of the positions, and its median scatter [rad]."""
    difference = wrap_angle(scene.sampled(draft.si, circular=True) - bearing)
    difference = difference[np.isfinite(difference)]
    if len(difference) < 20:
        return 0.0, 0.0
    center = float(np.angle(np.mean(np.exp(1j * difference))))
    spread = wrap_angle(difference - center)
    center = float(wrap_angle(np.asarray(center + np.median(spread))))
    return center, float(np.median(np.abs(wrap_angle(difference - center))))


def _to_true(scene: Scene, draft: Draft, offset: float, scatter: float, notes: Notebook) -> None:
    """Turn a magnetic track to true: by the recorded variation, else by the positions themselves."""
    if abs(offset) < 1.2 * DEGREE or abs(offset) > 40.0 * DEGREE or scatter > min(4.0 * DEGREE, abs(offset)):
        if "magnetic" in draft.concepts:
            notes.say(
                f"{draft.written!r} is named magnetic but agrees with the positions' true direction; kept "
                "as true.",
                channel="track",
            )
        return
    variation = scene.drafts.get("magnetic_variation")
    shift = -offset
    by = "the positions themselves"
    if variation is not None:
        recorded = float(np.nanmedian(variation.si))
        for sign in (1.0, -1.0):
            if abs(sign * recorded - shift) < 2.5 * DEGREE:
                shift, by = sign * recorded, f"the recorded variation ({variation.written!r})"
                if sign < 0 and not variation.fixed:
                    variation.scale = -variation.scale
                    notes.say(
                        f"{variation.written!r} counts west positive; its sign was turned.",
                        channel="magnetic_variation",
                    )
                break
    draft.offset += shift
    draft.sure = "magnetic" in draft.concepts
    notes.say(
        f"{draft.written!r} differs from the positions' direction by {rad_to_deg(offset):+.1f} degrees "
        "all along: "
        f"magnetic, turned to true by {by}.",
        channel="track",
    )


def _track_among_headings(scene: Scene, bearing: Floats, notes: Notebook) -> None:
    """A "heading" that points exactly where the positions go is a satellite receiver's course."""
    for channel in ("heading_magnetic", "heading_true"):
        draft = scene.drafts.get(channel)
        if draft is None or draft.fixed or draft.concepts & {"magnetic"}:
            continue
        offset, scatter = _against(scene, draft, bearing)
        if (
            abs(offset) < 1.0 * DEGREE
            and scatter < 1.2 * DEGREE
            and np.nanstd(scene.si(channel)) > 10 * DEGREE
        ):
            del scene.drafts[channel]
            draft.channel = "track"
            scene.drafts["track"] = draft
            notes.say(
                f"{draft.written!r} points exactly where the positions go: it is the track, not the heading.",
                channel="track",
            )
            return
