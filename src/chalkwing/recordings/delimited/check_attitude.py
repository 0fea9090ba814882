"""Bank, pitch, heading, body rates and loads, held against the motion."""

from __future__ import annotations

import numpy as np

from chalkwing.recordings.delimited.drafts import Draft
from chalkwing.recordings.delimited.scene import Scene, fit
from chalkwing.recordings.notebook import Notebook
from chalkwing.units import DEGREE, STANDARD_GRAVITY, Floats, wrap_angle

_FULL = 2 * np.pi


def check_turning(scene: Scene, notes: Notebook) -> None:
    """Settle degrees or radians for the angles and the sign of bank, which the turns flown tell."""
    _unwrap_signed(scene, notes)
    _settle_angle_units(scene, notes)
    _check_bank(scene, notes)


def check_climbing(scene: Scene, notes: Notebook) -> None:
    """Settle the sign of pitch, which the climbs flown tell, then the body rates."""
    _check_pitch(scene, notes)
    _check_rates(scene, notes)


def _angles(scene: Scene) -> list[Draft]:
    return [
        scene.drafts[name]
        for name in ("bank", "pitch", "heading_magnetic", "heading_true", "angle_of_attack", "sideslip")
        if name in scene
    ]


def _unwrap_signed(scene: Scene, notes: Notebook) -> None:
    """Bank or pitch written from 0 to 360 degrees."""
    for name in ("bank", "pitch"):
        draft = scene.drafts.get(name)
        if draft is None:
            continue
        turn = _FULL / abs(draft.scale)
        good = draft.raw[np.isfinite(draft.raw)]
        if len(good) and good.min() >= 0 and good.max() <= turn and (good > 0.5 * turn).any():
            draft.raw = np.where(draft.raw > 0.5 * turn, draft.raw - turn, draft.raw)
            notes.say(
                f"{draft.written!r} runs from 0 to 360 degrees; values above 180 were taken as negative.",
                channel=name,
            )


def _settle_angle_units(scene: Scene, notes: Notebook) -> None:
    """Angles that write no unit: radians when none of them exceeds what radians allow and the turn agrees."""
    silent = [draft for draft in _angles(scene) if not (draft.stated or draft.fixed)]
    if not silent:
        return
    limits = {"bank": np.pi, "pitch": np.pi / 2, "angle_of_attack": np.pi / 2, "sideslip": np.pi / 2}
    small = all(np.nanmax(np.abs(d.raw), initial=0.0) <= limits.get(d.channel, _FULL) + 0.01 for d in silent)
    if not small:
        return
    headings = [d for d in silent if d.channel.startswith("heading")]
    spans = [np.ptp(d.raw[np.isfinite(d.raw)]) for d in headings if np.isfinite(d.raw).any()]
    turned = _bank_slope(scene)
    radians = (turned is not None and turned > 8.0) or (
        turned is None and any(span > 3.0 for span in spans) and len(silent) > 1
    )
    if not radians:
        return
    for draft in silent:
        draft.scale, draft.said = 1.0, "rad"
    notes.say(
        f"{', '.join(repr(d.written) for d in silent)}: no unit is written; read as radians, which agrees "
        "with the turns flown."
    )


def _coordinated_bank(scene: Scene) -> Floats:
    """The bank that a coordinated turn at this speed and rate asks for [rad], on the grid."""
    return np.arctan(scene.speed() * scene.turn_rate() / STANDARD_GRAVITY)


def _bank_slope(scene: Scene) -> float | None:
    """Size of the coordinated bank relative to the recorded one; None where the turns do not tell."""
    if "bank" not in scene:
        return None
    found = fit(scene.si("bank"), _coordinated_bank(scene))
    if found is None or abs(found.r) < 0.6 or not np.nanstd(_coordinated_bank(scene)) > 3.0 * DEGREE:
        return None
    return abs(found.slope)


def _check_bank(scene: Scene, notes: Notebook) -> None:
    draft = scene.drafts.get("bank")
    if draft is None or draft.fixed:
        return
    expected = _coordinated_bank(scene)
    found = fit(scene.si("bank"), expected)
    if found is None or abs(found.r) < 0.5 or np.nanstd(expected) < 3.0 * DEGREE:
        if found is None or np.nanstd(expected) < 3.0 * DEGREE:
            notes.say(
                f"too little turning to confirm the sign and unit of {draft.written!r}; right bank taken "
                "as positive.",
                channel="bank",
            )
        return
    size = abs(found.slope)
    if abs(found.r) > 0.7 and not 1 / 6 < size < 6:
        radians = size > 6
        draft.scale = 1.0 if radians else DEGREE
        word = "radians" if radians else "degrees"
        told = f"is labeled {draft.said} but is in {word}" if draft.stated else f"is in {word}"
        notes.say(f"{draft.written!r} {told}: only so does it agree with the turns flown.", channel="bank")
    if found.slope < 0:
        draft.scale = -draft.scale
        notes.say(
            f"{draft.written!r} is positive to the left: it runs against the turns flown (correlation "
            f"{found.r:.2f}); its sign was turned.",
            channel="bank",
        )


def _check_pitch(scene: Scene, notes: Notebook) -> None:
    draft = scene.drafts.get("pitch")
    climb = _climb(scene)
    if draft is None or draft.fixed or climb is None:
        return
    speed = scene.speed()
    path = np.arcsin(np.clip(climb / np.maximum(speed, 5.0), -0.9, 0.9))
    path = np.where(speed > 12.0, path, np.nan)
    found = _pitch_follows(scene.si("pitch"), path, speed)
    if found is None:
        return
    slope, r = found
    if abs(r) < 0.5:
        return
    if not draft.stated and draft.scale == DEGREE and slope > 12.0:
        draft.scale = 1.0
        notes.say(
            f"{draft.written!r} is in radians: only so does it agree with the climbs flown.", channel="pitch"
        )
    if slope < 0:
        draft.scale = -draft.scale
        notes.say(
            f"{draft.written!r} is positive nose down: it runs against the climbs flown (correlation "
            f"{r:.2f}); its sign was turned.",
            channel="pitch",
        )


def _pitch_follows(pitch: Floats, path: Floats, speed: Floats) -> tuple[float, float] | None:
    """How the path angle follows pitch once the angle of attack, larger at low speed, is taken off."""
    good = np.isfinite(pitch) & np.isfinite(path) & np.isfinite(speed)
    if good.sum() < 30 or np.std(path[good]) < 0.8 * DEGREE:
        return None
    slow = 1.0 / np.maximum(speed[good], 12.0) ** 2
    slow = slow - slow.mean()
    x, y = pitch[good] - pitch[good].mean(), path[good] - path[good].mean()
    if slow.std() > 0.05 * (1.0 / np.maximum(speed[good], 12.0) ** 2).mean():
        x, y = (v - slow * float(np.dot(v, slow) / np.dot(slow, slow)) for v in (x, y))
    found = fit(x, y)
    return None if found is None else (found.slope, found.r)


def _climb(scene: Scene) -> Floats | None:
    """Rate of climb [m/s] on the grid: recorded, else from an altitude."""
    if "vertical_speed" in scene:
        return scene.si("vertical_speed")
    for name in ("pressure_altitude", "altimeter_altitude", "geometric_altitude"):
        if name in scene:
            return scene.rate(scene.si(name))
    return None


def _check_rates(scene: Scene, notes: Notebook) -> None:
    """Body rates against the change of the angles they make."""
    parents = {
        "roll_rate": ("bank",),
        "pitch_rate": ("pitch",),
        "yaw_rate": ("heading_true", "heading_magnetic", "track"),
    }
    for name, angles in parents.items():
        draft = scene.drafts.get(name)
        angle = next((a for a in angles if a in scene), None)
        if draft is None or draft.fixed:
            continue
        if not draft.stated and np.nanmax(np.abs(draft.raw), initial=0.0) > 7.0:
            draft.scale, draft.said = DEGREE, "deg/s"
            continue
        found = None if angle is None else fit(scene.si(name), scene.rate(scene.si(angle)))
        if found is None or abs(found.r) < 0.7:
            draft.sure = draft.sure and draft.stated
            continue
        if not draft.stated and draft.scale != 1.0 and abs(found.slope) > 8.0:
            draft.scale, draft.said = 1.0, "rad/s"
            notes.say(
                f"{draft.written!r} is in rad/s: so it agrees with the change of "
                f"{scene.drafts[angle or ''].written!r}.",
                channel=name,
            )
        if found.slope < 0 and name != "pitch_rate" and abs(found.r) > 0.8:
            draft.scale = -draft.scale
            notes.say(
                f"{draft.written!r} runs against the change of {scene.drafts[angle or ''].written!r}; its "
                "sign was turned.",
                channel=name,
            )


def check_load(scene: Scene, notes: Notebook) -> None:
    """Normal load factor: in g or m/s2, 1 or 0 in level flight, upward positive."""
    draft = scene.drafts.get("load_factor")
    if draft is None or draft.fixed:
        return
    good = draft.raw[np.isfinite(draft.raw)]
    level = float(np.median(good)) * draft.scale
    if not draft.stated and 6.0 < abs(float(np.median(good))) < 14.0 and abs(level) > 6.0:
        draft.scale, draft.said = 1.0 / STANDARD_GRAVITY, "m/s2"
        level = float(np.median(good)) * draft.scale
        notes.say(
            f"{draft.written!r} rests at {float(np.median(good)):.2f}: in m/s2, converted.",
            channel="load_factor",
        )
    if level < -0.5:
        draft.scale = -draft.scale
        notes.say(
            f"{draft.written!r} is negative in level flight; its sign was turned.", channel="load_factor"
        )
    elif abs(level) < 0.5:
        _incremental(scene, draft, notes)


def _incremental(scene: Scene, draft: Draft, notes: Notebook) -> None:
    """A load that rests at 0 is the excess over 1; whether it is up positive the turns tell."""
    bank = scene.si("bank") if "bank" in scene else _coordinated_bank(scene)
    expected = 1.0 / np.maximum(np.cos(wrap_angle(bank)), 0.2)
    found = fit(scene.si("load_factor"), expected)
    told = found is not None and abs(found.r) > 0.4
    if found is not None and told:
        if found.slope < 0:
            draft.scale = -draft.scale
        # An unlabeled excess in m/s2 swings about ten times as far as one in g.
        if not draft.stated and abs(found.slope) < 0.25:
            draft.scale, draft.said = draft.scale / STANDARD_GRAVITY, "m/s2"
    draft.offset = 1.0
    draft.sure = draft.sure and told
    turned = " and its sign turned" if told and found is not None and found.slope < 0 else ""
    notes.say(f"{draft.written!r} is 0 in level flight: 1 was added{turned}.", channel="load_factor")


def settle_headings(scene: Scene, notes: Notebook) -> None:
    """A heading that does not say its reference: true beside inertial velocities, else magnetic."""
    draft = scene.drafts.get("heading_magnetic")
    if draft is None or draft.fixed or "magnetic" in draft.concepts:
        return
    draft.sure = False
    if (
        "velocity_north" in scene
        and "magnetic_variation" not in scene
        and "heading_true" not in scene
        and draft.written.lower().endswith("yaw")
    ):
        del scene.drafts["heading_magnetic"]
        draft.channel = "heading_true"
        scene.drafts["heading_true"] = draft
        notes.say(
            f"{draft.written!r} stands beside velocities toward true north; taken as true heading.",
            channel="heading_true",
        )
        return
    notes.say(
        f"{draft.written!r} does not say its reference; taken as magnetic heading.",
        channel="heading_magnetic",
    )


__all__ = ["check_climbing", "check_load", "check_turning", "settle_headings"]
