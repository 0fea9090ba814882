"""How near a plan comes to what it must not: stall, VA, VNE, limit load, ceiling and cloud, bank and pitch.

Every caution is a value, the limit it comes near to, and where that limit stands. None says that a rule is
broken: local rules, the flight manual and the instructor prevail.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from chalkwing.reference.cloud import CloudRoom, cloud_room
from chalkwing.reference.floor import Floor, FloorPlan, floor_plan, standard_floor
from chalkwing.reference.heights import height_at, indicated_at
from chalkwing.reference.reference import Fact, Reference
from chalkwing.units import DEGREE, KNOT, MILE, POUND, Floats, ft_to_m, m_to_ft, mps_to_kt, rad_to_deg

PREVAIL = "Local rules, the flight manual and the instructor prevail."
PARACHUTE_BANK, PARACHUTE_PITCH = 60.0 * DEGREE, 30.0 * DEGREE
_PARACHUTE = "14 CFR 91.307(c)"
_CATEGORY = {
    "normal": "normal category: 60° of bank (14 CFR 23.3 before 2017, from memory)",
    "utility": "utility category: 90° of bank (14 CFR 23.3 before 2017, from memory)",
    "acrobatic": "acrobatic category: no bank named for the category",
    "light_sport": "light-sport category: as its operating instructions say",
}
NEAR_BANK, NEAR_PITCH = 5.0 * DEGREE, 5.0 * DEGREE
NEAR_STALL, NEAR_SPEED = 5.0 * KNOT, 5.0 * KNOT
NEAR_VNE = 10.0 * KNOT
NEAR_LOAD = 0.5
NEAR_CEILING = ft_to_m(100.0)
_HAIR = 0.5
SURFACE, NEAR_SURFACE = ft_to_m(500.0), ft_to_m(100.0)
"""14 CFR 91.119(c): 500 ft above the surface elsewhere than over congested areas."""
_STALLS = frozenset({"power_off_stall", "power_on_stall", "accelerated_stall"})
_TASK_BANK = {
    "eights_on_pylons": (40.0 * DEGREE, "FAA-S-ACS-7B, CA.V.E"),
    "steep_spiral": (60.0 * DEGREE, "FAA-S-ACS-7B, CA.V.B"),
}


@dataclass(frozen=True)
class Caution:
    """A value [SI] that comes near a limit; ``text`` says both in pilot units, and ``source`` who sets it."""

    name: str
    value: float
    limit: float
    unit: str
    source: str
    text: str


@dataclass(frozen=True)
class Margins:
    """All margins of a plan; ``floor`` and ``cloud`` are None where there is no floor, no ceiling known."""

    floor: FloorPlan | None
    cloud: CloudRoom | None
    facts: tuple[Fact, ...]
    cautions: tuple[Caution, ...]

    def fact(self, name: str) -> float:
        """The value [SI] of the fact of that name; KeyError where this plan has none."""
        return {fact.name: fact.value for fact in self.facts}[name]


def margins(
    reference: Reference,
    *,
    floor: Floor | float | None = None,
    allowance: float | None = None,
    airspace: str = "E",
    night: bool = False,
) -> Margins:
    """What room the plan leaves.

    Parameters
    ----------
    reference : Reference
    floor : Floor or float, optional
        The school's floor, a height above the highest terrain [m]; the standard's where not given.
    allowance : float, optional
        Height to allow for a recovery [m]; see ``floor.floor_plan``.
    airspace : str
        Class of airspace for the distances from cloud, "B" to "G".
    night : bool

    Raises
    ------
    UnknownName
        An airspace that is none.
    OutsideModel
        A floor or an allowance that can only be in feet.
    """
    asked = floor if isinstance(floor, Floor) or floor is None else Floor(float(floor), "the school's floor")
    asked = standard_floor(reference.kind, engines=reference.sheet.engines) if asked is None else asked
    plan = None if asked is None else floor_plan(reference, asked, allowance=allowance)
    cloud = cloud_room(reference, airspace=airspace, night=night)
    cautions = [
        *_attitude_cautions(reference),
        *_task_cautions(reference),
        *_stall_cautions(reference),
        *_speed_cautions(reference),
        *_load_cautions(reference),
        *_mass_cautions(reference),
        *_height_cautions(reference, plan),
        *_cloud_cautions(cloud),
    ]
    facts = (*_height_facts(reference, plan, cloud), *_air_facts(reference))
    return Margins(plan, cloud, facts, tuple(cautions))


def stall_speeds(reference: Reference) -> tuple[Floats, Floats]:
    """Calibrated stall and stall-warning speeds [m/s] at the load factor carried, along the path (n,)."""
    load = np.maximum(reference["load_factor"], 0.0)
    stall: Floats = reference.sheet.stall_speed_at(mass=reference.mass, load_factor=load)
    warning: Floats = reference.sheet.stall_warning_speed_at(mass=reference.mass, load_factor=load)
    return stall, warning


def _height_facts(reference: Reference, plan: FloorPlan | None, cloud: CloudRoom | None) -> list[Fact]:
    entry = height_at(reference.conditions, reference.entry_altitude)
    top = entry + float(np.max(reference["height_change"]))
    highest = indicated_at(reference.conditions, top)
    facts = [Fact("highest_altitude", highest, "m", "highest point, on the altimeter")]
    if plan is not None:
        facts += [
            Fact("lowest_altitude", plan.lowest_altitude, "m", "lowest point, on the altimeter"),
            Fact("lowest_height", plan.lowest_height, "m", "lowest point, above the highest terrain"),
            Fact("floor", plan.floor.height, "m", f"floor above the highest terrain ({plan.floor.source})"),
            Fact("room_above_floor", plan.room, "m", "room above the floor, altimeter's error kept in hand"),
            Fact("least_entry_altitude", plan.entry_altitude, "m", "lowest entry, on the altimeter"),
            Fact("least_entry_height", plan.entry_height, "m", "lowest entry, above the highest terrain"),
        ]
        if plan.allowance > 0.0:
            facts.append(Fact("recovery_allowance", plan.allowance, "m", "height allowed for the recovery"))
    else:
        lowest = entry + float(np.min(reference["height_change"]))
        above = lowest - reference.conditions.highest_terrain
        facts += [
            Fact(
                "lowest_altitude", indicated_at(reference.conditions, lowest), "m", "lowest point, altimeter"
            ),
            Fact("lowest_height", above, "m", "lowest point, above the highest terrain"),
        ]
    if cloud is not None and cloud.ceiling is not None:
        facts += [
            Fact("room_to_ceiling", cloud.room, "m", "from the highest point to the ceiling"),
            Fact("cloud_distance", cloud.below, "m", f"distance to keep below cloud ({cloud.source})"),
        ]
    return facts


def _air_facts(reference: Reference) -> list[Fact]:
    sheet, mass = reference.sheet, reference.mass
    speed, load = reference["calibrated_airspeed"], reference["load_factor"]
    stall, warning = stall_speeds(reference)
    fastest = float(np.max(speed))
    facts = [
        Fact("least_over_stall", float(np.min(speed - stall)), "m/s", "least margin over the stall"),
        Fact("least_over_warning", float(np.min(speed - warning)), "m/s", "least margin over the warning"),
        Fact(
            "room_to_maneuvering_speed", sheet.maneuvering_speed_at(mass) - fastest, "m/s", "below VA or VO"
        ),
        Fact(
            "room_to_limit_load", sheet.limit_load_positive - float(np.max(load)), "1", "below the limit load"
        ),
        Fact("least_load_factor", float(np.min(load)), "1", "least load factor"),
        Fact("steepest_bank", float(np.max(np.abs(reference["bank_into_turn"]))), "rad", "steepest bank"),
        Fact("highest_pitch", float(np.max(reference["pitch"])), "rad", "highest nose-up pitch"),
        Fact("lowest_pitch", float(np.min(reference["pitch"])), "rad", "lowest pitch, nose-down negative"),
    ]
    if sheet.never_exceed_speed is not None:
        room = sheet.never_exceed_speed - fastest
        facts.append(Fact("room_to_never_exceed_speed", room, "m/s", "below VNE"))
    return facts


def _attitude_cautions(reference: Reference) -> list[Caution]:
    bank = float(np.max(np.abs(reference["bank_into_turn"])))
    pitch = reference["pitch"]
    steepest = float(pitch[int(np.argmax(np.abs(pitch)))])
    category = _CATEGORY.get(reference.sheet.category, f"{reference.sheet.category} category")
    found = []
    if bank > PARACHUTE_BANK - NEAR_BANK:
        text = (
            f"Steepest bank {rad_to_deg(bank):.0f}° beside the 60° of {_PARACHUTE} (parachutes, with "
            f"others than crew aboard); {category}. "
        )
        if abs(bank - PARACHUTE_BANK) < 1.0 * DEGREE:
            text += "A plan to 60° leaves no room for an overshoot: plan less. "
        found.append(Caution("bank", bank, PARACHUTE_BANK, "rad", _PARACHUTE, text + PREVAIL))
    if abs(steepest) > PARACHUTE_PITCH - NEAR_PITCH:
        way = "up" if steepest > 0 else "down"
        text = (
            f"Nose {rad_to_deg(abs(steepest)):.0f}° {way} beside the 30° of {_PARACHUTE} (parachutes, "
            f"with others than crew aboard). {PREVAIL}"
        )
        limit = math.copysign(PARACHUTE_PITCH, steepest)
        found.append(Caution("pitch", steepest, limit, "rad", _PARACHUTE, text))
    return found


def _task_cautions(reference: Reference) -> list[Caution]:
    if reference.kind not in _TASK_BANK:
        return []
    limit, source = _TASK_BANK[reference.kind]
    bank = float(np.max(np.abs(reference["bank_into_turn"])))
    if bank < limit - 3.0 * DEGREE:
        return []
    text = f"Steepest bank {rad_to_deg(bank):.0f}° beside the task's {rad_to_deg(limit):.0f}° ({source})."
    return [Caution("task_bank", bank, limit, "rad", source, text)]


def _stall_cautions(reference: Reference) -> list[Caution]:
    if reference.kind in _STALLS:
        return []
    speed, load = reference["calibrated_airspeed"], reference["load_factor"]
    stall, warning = stall_speeds(reference)
    found = []
    k = int(np.argmin(speed - stall))
    over = float(speed[k] - stall[k])
    if over < NEAR_STALL:
        text = (
            f"{mps_to_kt(over):.1f} kt over the stall at {load[k]:.2f} g, {reference.time[k]:.0f} s in "
            f"({mps_to_kt(float(speed[k])):.0f} KCAS, stall {mps_to_kt(float(stall[k])):.0f})."
        )
        found.append(
            Caution("stall", float(speed[k]), float(stall[k]), "m/s", _manual(reference, "stall_speed"), text)
        )
    sounding = np.flatnonzero(speed < warning - 1e-6)
    if len(sounding):
        first = int(sounding[0])
        text = (
            f"The stall warning will sound from {reference.time[first]:.0f} s after entry, "
            f"{mps_to_kt(float(warning[first])):.0f} KCAS at {load[first]:.2f} g."
        )
        values = float(speed[first]), float(warning[first])
        source = _manual(reference, "stall_warning_speed")
        found.append(Caution("stall_warning", *values, "m/s", source, text))
    return found


def _speed_cautions(reference: Reference) -> list[Caution]:
    sheet, fastest = reference.sheet, float(np.max(reference["calibrated_airspeed"]))
    maneuvering = sheet.maneuvering_speed_at(reference.mass)
    limits = (
        ("maneuvering_speed", "VA", maneuvering, -0.5 * KNOT),
        ("normal_operating_speed", "VNO", sheet.normal_operating_speed, NEAR_SPEED),
        ("never_exceed_speed", "VNE", sheet.never_exceed_speed, NEAR_VNE),
    )
    found = []
    for name, short, limit, near in limits:
        if limit is None or fastest <= limit - near + 1e-6:
            continue
        source = _manual(reference, name)
        text = f"{mps_to_kt(fastest):.0f} KCAS beside {short} of {mps_to_kt(limit):.0f} KCAS ({source})."
        found.append(Caution(name, fastest, limit, "m/s", source, text))
    return found


def _load_cautions(reference: Reference) -> list[Caution]:
    most, least = float(np.max(reference["load_factor"])), float(np.min(reference["load_factor"]))
    found = []
    for value, limit in (
        (most, reference.sheet.limit_load_positive),
        (least, reference.sheet.limit_load_negative),
    ):
        if abs(limit - value) > NEAR_LOAD and (limit - value) * limit > 0.0:
            continue
        source = _manual(reference, "limit_load_positive" if limit > 0 else "limit_load_negative")
        text = f"{value:.2f} g beside the limit load of {limit:.2f} g ({source})."
        found.append(Caution("load_factor", value, limit, "1", source, text))
    return found


def _mass_cautions(reference: Reference) -> list[Caution]:
    limit = reference.sheet.maximum_mass
    if reference.mass <= limit + 0.5:
        return []
    source = _manual(reference, "maximum_mass")
    pounds, most = reference.mass / POUND, limit / POUND
    text = f"{pounds:,.0f} lb beside the largest mass of {most:,.0f} lb ({source})."
    return [Caution("mass", reference.mass, limit, "kg", source, text)]


def _height_cautions(reference: Reference, plan: FloorPlan | None) -> list[Caution]:
    if plan is None:
        lowest = (
            height_at(reference.conditions, reference.entry_altitude) - reference.conditions.highest_terrain
        )
        lowest += float(np.min(reference["height_change"]))
        if lowest > SURFACE + NEAR_SURFACE or reference.kind == "power_off_180":
            return []
        text = (
            f"Lowest {_down(lowest, 10)} ft above the highest terrain beside the 500 ft of 14 CFR 91.119(c); "
            f"1,000 ft above obstacles over congested areas (91.119(b)). {PREVAIL}"
        )
        return [Caution("surface", lowest, SURFACE, "m", "14 CFR 91.119(c)", text)]
    # The altimeter's error is in hand already: a plan that just keeps the floor needs no caution.
    if plan.room >= -_HAIR:
        return []
    text = (
        f"Lowest {_down(plan.lowest_height, 10)} ft above the highest terrain beside a floor of "
        f"{m_to_ft(plan.floor.height):,.0f} ft ({plan.floor.source})"
    )
    if plan.allowance > 0.0:
        text += f", with {m_to_ft(plan.allowance):.0f} ft allowed for the recovery"
    text += f": enter at {10 * math.ceil(m_to_ft(plan.entry_altitude) / 10.0):,} ft or higher"
    return [Caution("floor", plan.lowest_height, plan.floor.height, "m", plan.floor.source, f"{text}.")]


def _down(height: float, step: int) -> str:
    return f"{step * math.floor(m_to_ft(height) / step):,}"


def _cloud_cautions(cloud: CloudRoom | None) -> list[Caution]:
    if cloud is None:
        return []
    found = []
    if cloud.ceiling is not None and cloud.room < cloud.below + NEAR_CEILING:
        side = "below" if cloud.room >= 0.0 else "above"
        text = (
            f"Highest point {_down(abs(cloud.room), 10)} ft {side} the ceiling beside "
            f"{m_to_ft(cloud.below):.0f} ft from cloud ({cloud.source}). {PREVAIL}"
        )
        found.append(Caution("ceiling", cloud.room, cloud.below, "m", cloud.source, text))
    if cloud.visibility is not None and cloud.visibility < cloud.needed_visibility:
        text = (
            f"Visibility {cloud.visibility / MILE:.1f} SM beside "
            f"{cloud.needed_visibility / MILE:.0f} SM ({cloud.source}). {PREVAIL}"
        )
        values = cloud.visibility, cloud.needed_visibility
        found.append(Caution("visibility", *values, "m", cloud.source, text))
    return found


def _manual(reference: Reference, name: str) -> str:
    """Where the sheet has a number from."""
    return reference.sheet.sources.get(name, f"airplane sheet {reference.sheet.name}")
