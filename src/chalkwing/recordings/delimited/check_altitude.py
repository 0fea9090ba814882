"""Altitudes and vertical speed: which are feet and which meters, and what an unqualified altitude is."""

from __future__ import annotations

from itertools import product

import numpy as np

from chalkwing.recordings.delimited.drafts import Draft, Drafts, set_unit
from chalkwing.recordings.delimited.rules import UNSURE, VELOCITY_DOWN
from chalkwing.recordings.delimited.scene import Scene, fit
from chalkwing.recordings.notebook import Notebook
from chalkwing.units import FOOT, FOOT_PER_MINUTE, KNOT, Floats

ALTITUDES = ("pressure_altitude", "altimeter_altitude", "geometric_altitude", "height_above_ground")
_FACTORS = {
    "length": {"ft": FOOT, "m": 1.0},
    "vertical": {"fpm": FOOT_PER_MINUTE, "m/s": 1.0, "kt": KNOT, "fps": FOOT},
}
_WORDS = {"ft": "feet", "m": "meters", "fpm": "ft/min", "m/s": "m/s", "kt": "knots", "fps": "ft/s"}
_RELABEL, _UNLABELLED = 2.0, 0.4
"""Costs of contradicting a written unit and the customary one, in units of squared standard deviations."""
_RARE = {"fps": 1.0, "kt": 0.6}
_CAP = 9.0
_TIGHT, _LOOSE = 0.12, 0.35
"""Spread of the logarithm of a true ratio: two altimeters; a climb told by pitch and speed."""


def check_vertical(scene: Scene, notes: Notebook) -> None:
    """Choose the units of altitudes and vertical speed that explain one another at least contradiction."""
    _join_down(scene, notes)
    names = [name for name in (*ALTITUDES, "vertical_speed") if name in scene]
    if not names:
        return
    _follow_habit(scene, names, notes)
    evidence = _evidence(scene, names)
    choices = [_options(scene.drafts[name]) for name in names]
    best = min(product(*choices), key=lambda chosen: _cost(scene, names, chosen, evidence))
    for name, unit in zip(names, best, strict=True):
        draft = scene.drafts[name]
        if unit and unit != draft.said:
            _say(scene, draft, unit, evidence, notes)
            sign = np.sign(draft.scale)
            set_unit(draft, unit)
            draft.scale *= float(sign)
    _check_sign(scene, notes)


def _follow_habit(scene: Scene, names: list[str], notes: Notebook) -> None:
    """A log of metric speeds most likely has metric altitudes; what follows may decide otherwise."""
    speeds = {
        scene.drafts[n].said for n in ("ground_speed", "velocity_north", "indicated_airspeed") if n in scene
    }
    if not speeds or not speeds <= {"m/s", "km/h", "cm/s", "mm/s"}:
        return
    for name in names:
        draft = scene.drafts[name]
        unit = "m/s" if name == "vertical_speed" else "m"
        if not (draft.stated or draft.fixed) and draft.said != unit:
            set_unit(draft, unit)
            notes.say(
                f"{draft.written!r} writes no unit; read as {_WORDS[unit]}, as the speeds are metric.",
                channel=name,
            )


def _join_down(scene: Scene, notes: Notebook) -> None:
    """A velocity down becomes the vertical speed where none is recorded."""
    down = scene.drafts.pop(VELOCITY_DOWN, None)
    if down is not None and "vertical_speed" not in scene:
        down.scale, down.channel = -down.scale, "vertical_speed"
        scene.drafts["vertical_speed"] = down
        notes.say(f"{down.written!r} is a velocity downward; its sign was turned.", channel="vertical_speed")


def _options(draft: Draft) -> tuple[str, ...]:
    if draft.fixed:
        return ("",)
    units = tuple(_FACTORS["vertical" if draft.channel == "vertical_speed" else "length"])
    return units if draft.said in units else ("", *units)


def _factor(draft: Draft, unit: str) -> float:
    """What the present SI values are multiplied by when the draft is read in another unit."""
    table = _FACTORS["vertical" if draft.channel == "vertical_speed" else "length"]
    return table[unit] / abs(draft.scale) if unit else 1.0


Evidence = list[tuple[str, str, float, float]]
"""Pairs of channels (the second may be a fixed reference), the ratio of first to second, its spread."""


def _evidence(scene: Scene, names: list[str]) -> Evidence:
    pairs: Evidence = []
    rates = {
        name: scene.si(name) if name == "vertical_speed" else scene.rate(scene.si(name)) for name in names
    }
    levels = {name: scene.si(name) for name in names if name != "vertical_speed"}
    references = _references(scene)
    for i, one in enumerate(names):
        for other in names[i + 1 :]:
            if other == "vertical_speed":
                _add(pairs, one, other, rates[one], rates[other], _TIGHT, least=0.6)
            elif "height_above_ground" not in {one, other}:
                _add(pairs, one, other, levels[one], levels[other], _TIGHT, least=0.95)
        for label, (level, rate, spread) in references.items():
            if level is not None and one in levels and one != "height_above_ground":
                _add(pairs, one, label, levels[one], level, spread, least=0.95)
            elif rate is not None:
                _add(pairs, one, label, rates[one], rate, spread, least=0.7)
    return pairs


def _add(pairs: Evidence, one: str, other: str, x: Floats, y: Floats, spread: float, *, least: float) -> None:
    both = np.isfinite(x) & np.isfinite(y)
    if both.sum() < 30:
        return
    found = fit(y, x)
    if found is not None and abs(found.r) >= least:
        pairs.append((one, other, abs(found.slope), spread))


def _references(scene: Scene) -> dict[str, tuple[Floats | None, Floats | None, float]]:
    """Quantities whose unit is beyond doubt: pressure of the air, and the climb that pitch and speed make."""
    found: dict[str, tuple[Floats | None, Floats | None, float]] = {}
    if "static_pressure" in scene:
        ratio = scene.si("static_pressure") / 101325.0
        # ICAO Doc 7488: h = 44330.77 m (1 - (p/p0)^0.190263) below 11 km.
        found["static pressure"] = (44330.77 * (1.0 - np.clip(ratio, 0.01, 2.0) ** 0.190263), None, _TIGHT)
    if "pitch" in scene:
        pitch = scene.si("pitch")
        rate = scene.speed() * np.sin(pitch - np.nanmedian(pitch)) if np.isfinite(pitch).any() else pitch
        found["pitch and speed"] = (None, rate, _LOOSE)
    return found


def _cost(scene: Scene, names: list[str], chosen: tuple[str, ...], evidence: Evidence) -> float:
    factors = {name: _factor(scene.drafts[name], unit) for name, unit in zip(names, chosen, strict=True)}
    cost = 0.0
    for name, unit in zip(names, chosen, strict=True):
        draft = scene.drafts[name]
        if unit and unit != draft.said:
            cost += _RELABEL if draft.stated else _UNLABELLED
            cost += _RARE.get(unit, 0.0)
    for one, other, ratio, spread in evidence:
        mismatch = np.log(ratio * factors[one] / factors.get(other, 1.0)) / spread
        cost += min(float(mismatch**2), _CAP if spread == _TIGHT else 4.0)
    return cost


def _say(scene: Scene, draft: Draft, unit: str, evidence: Evidence, notes: Notebook) -> None:
    partners = [
        other if one == draft.channel else one
        for one, other, _, _ in evidence
        if draft.channel in {one, other}
    ]
    spoken = " and the ".join(scene.drafts[p].written if p in scene else p for p in partners) or "range"
    if draft.stated:
        draft.sure = False
        notes.say(
            f"{draft.written!r} is labeled {_WORDS.get(draft.said, draft.said)} but agrees with the "
            f"{spoken} only in "
            f"{_WORDS[unit]}: read as {_WORDS[unit]}.",
            channel=draft.channel,
        )
    else:
        notes.say(
            f"{draft.written!r} writes no unit; read as {_WORDS[unit]}, which agrees with the {spoken}.",
            channel=draft.channel,
        )


def _check_sign(scene: Scene, notes: Notebook) -> None:
    draft = scene.drafts.get("vertical_speed")
    level = next((name for name in ALTITUDES if name in scene), None)
    if draft is None or level is None or draft.fixed:
        return
    found = fit(scene.si("vertical_speed"), scene.rate(scene.si(level)))
    if found is not None and found.r < -0.7:
        draft.scale = -draft.scale
        notes.say(
            f"{draft.written!r} is positive in descent: it runs against {scene.drafts[level].written!r}; "
            "its sign was turned.",
            channel="vertical_speed",
        )


def name_encoder_altitude(drafts: Drafts, notes: Notebook) -> None:
    """A transponder sends pressure altitude, and height above the ellipsoid beside it."""
    satellite = drafts.get("geometric_altitude")
    if satellite is not None and satellite.score < UNSURE and "pressure_altitude" not in drafts:
        _rename(drafts, satellite, "pressure_altitude", notes)
    elif satellite is not None:
        satellite.datum = "ellipsoid"
    barometric = drafts.get("altimeter_altitude")
    if barometric is not None and "pressure_altitude" not in drafts and not barometric.fixed:
        _rename(drafts, barometric, "pressure_altitude", notes)


def _rename(drafts: Drafts, draft: Draft, channel: str, notes: Notebook) -> None:
    del drafts[draft.channel]
    draft.channel, draft.score = channel, 1.0
    drafts[channel] = draft
    notes.say(f"{draft.written!r} comes from a transponder: {channel.replace('_', ' ')}.", channel=channel)


def name_bare_altitude(scene: Scene, notes: Notebook) -> None:
    """Decide what an altitude is that the log calls nothing but altitude."""
    draft = scene.drafts.get("geometric_altitude")
    if draft is None or draft.fixed or draft.score >= UNSURE:
        return
    draft.sure = False
    kind, why = "geometric_altitude", "the log holds satellite data and no pressure instruments"
    if "pressure_altitude" not in scene and _transponder_steps(scene, draft):
        kind, why = "pressure_altitude", "it moves in the steps of a transponder's encoder"
    elif (
        "altimeter_altitude" not in scene
        and draft.stated
        and draft.said == "m"
        and not scene.drafts.keys() & {"altimeter_setting"}
    ):
        why = "it is in meters and the log names no other"
    elif "altimeter_altitude" not in scene and scene.drafts.keys() & {
        "indicated_airspeed",
        "calibrated_airspeed",
        "altimeter_setting",
    }:
        kind, why = "altimeter_altitude", "the log holds cockpit instruments"
    notes.say(
        f"{draft.written!r} does not say which altitude it is; taken as {kind.replace('_', ' ')}: {why}.",
        channel=kind,
    )
    if kind != draft.channel:
        del scene.drafts["geometric_altitude"]
        draft.channel = kind
        scene.drafts[kind] = draft


def _transponder_steps(scene: Scene, draft: Draft) -> bool:
    """Altitudes mostly in steps of 25 or 100 ft, or vertical speeds in the 64 ft/min steps of Mode S."""
    feet = draft.raw[np.isfinite(draft.raw)]
    stepped = np.mod(feet, 25.0) == 0
    levels = np.unique(feet)
    if (
        draft.said == "ft"
        and len(levels) > 5
        and stepped.mean() > 0.4
        and (np.mod(levels, 25.0) == 0).mean() > 0.2
    ):
        return True
    speed = scene.drafts.get("vertical_speed")
    if speed is None:
        return False
    rates = speed.raw[np.isfinite(speed.raw)]
    return bool(len(np.unique(rates)) > 5 and (np.mod(rates, 64.0) == 0).mean() > 0.9)
