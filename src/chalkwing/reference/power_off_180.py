"""The power-off 180: from abeam the touchdown point, idle, around to it; where the key positions lie.

The base leg is placed so that the height is used up at the aiming point, and the turn to final so that it
ends on the centerline. Clean, at one airspeed; flaps or a slip steepen the end and are held in hand.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from chalkwing.dynamics import glide
from chalkwing.errors import OutsideModel
from chalkwing.reference.air_path import AirPath, Phase, fly_phases, joined
from chalkwing.reference.assembling import Mark, legs_between, reference_of, side_of
from chalkwing.reference.ground_path import SteadyWind
from chalkwing.reference.heights import height_at, indicated_at
from chalkwing.reference.law_numbers import AirState, Banking, Ending, Linear, air_at, heading_for
from chalkwing.reference.laws import (
    SpeedLaw,
    after,
    easing,
    following,
    held,
    level_law,
    ramp,
    until,
    until_bank_is,
    until_lead_to,
)
from chalkwing.reference.reference import Direction, Fact, Reference
from chalkwing.reference.registry import solves
from chalkwing.reference.situation import Situation
from chalkwing.reference.steep_spiral import glide_angle
from chalkwing.units import (
    DEGREE,
    NAUTICAL_MILE,
    ft_to_m,
    m_to_ft,
    require_within,
    wrap_compass,
)

HEIGHT = ft_to_m(1000.0)
"""Above the runway, abeam the point [m]: not normally above 1,000 ft, [AFH] 2004 ed. p. 8-21."""
WINDOW = ft_to_m(200.0)
"""How far beyond the point a touchdown may lie [m]: [ACS-7B] CA.IV.M; short of it is outside."""
FLOAT = ft_to_m(300.0)
"""Ground covered between the aiming point and the touchdown [m]. Common practice, no source."""
ROLL_RATE = 15.0 * DEGREE
"""[rad/s]. Own choice."""
_HEADING_LAG, _GENTLE = 2.0, 10.0 * DEGREE
"""How quickly, and with how much bank at most, a straight leg follows its heading. Own choice."""
_CALM = 0.5
_STEP, _NEAR = 0.25, 0.2
"""Step [s] of the flight; how near the aiming point [m] the glide is to end."""


@dataclass(frozen=True)
class _Pattern:
    """``final`` direction [rad]; ``side`` of the turns; distances [m] as in the solver."""

    final: float
    side: float
    bank: float
    airspeed: float
    downwind_speed: float
    abeam: float
    aim: float
    field: float
    """Height of the field from the start [m], negative."""

    def along_final(self, state: AirState) -> float:
        """Distance past the touchdown point in the direction of landing [m]; the start is abeam it."""
        return state.north * math.cos(self.final) + state.east * math.sin(self.final)

    def beside_final(self, state: AirState) -> float:
        """Distance from the centerline [m], positive on the downwind leg's side."""
        across = state.east * math.cos(self.final) - state.north * math.sin(self.final)
        return self.abeam + self.side * across

    def until_beside(self, distance: float) -> Ending:
        """Over when :meth:`beside_final` has come down to a distance [m]."""
        return until(
            Linear(
                constant=distance - self.abeam,
                north=self.side * math.sin(self.final),
                east=-self.side * math.cos(self.final),
            )
        )


@solves("power_off_180")
def power_off_180(
    situation: Situation,
    *,
    direction: Direction = "left",
    runway: float | None = None,
    height: float = HEIGHT,
    abeam: float = 0.5 * NAUTICAL_MILE,
    bank: float = 30.0 * DEGREE,
    airspeed: float | None = None,
    downwind_speed: float | None = None,
    float_distance: float = FLOAT,
) -> Reference:
    """Throttle closed abeam the touchdown point; base and final placed so that it comes out in the window.

    Parameters
    ----------
    direction : "left" or "right"
        Of the pattern's turns.
    runway : float, optional
        Direction of landing [rad, true]; straight into the wind at that height unless given, and where it is
        calm opposite to the entry heading.
    height : float
        Above the field at the start [m]; an entry altitude, where given, says it instead.
    abeam : float
        Of the downwind leg from the runway [m].
    bank : float
        Of both turns [rad].
    airspeed : float, optional
        Calibrated, of the glide [m/s]; best glide at this mass unless given.
    downwind_speed : float, optional
        Calibrated, at the start [m/s]; 1.15 times the glide's unless given (own choice).
    float_distance : float
        From the aiming point, where the glide would meet the ground, to the touchdown [m].

    Raises
    ------
    OutsideModel
        The height does not carry around, or the downwind leg is too near the runway for two turns.
    """
    _refuse_settings(height, abeam, bank, float_distance)
    conditions = situation.conditions
    if situation.altitude_given:
        height = situation.entry_altitude - conditions.elevation
    else:
        situation = replace(situation, entry_altitude=indicated_at(conditions, conditions.elevation + height))
    sheet, mass = situation.sheet, situation.mass
    airspeed = sheet.best_glide_speed_at(mass) if airspeed is None else airspeed
    faster = 1.15 * airspeed if downwind_speed is None else max(downwind_speed, airspeed)
    pattern = _Pattern(
        final=_final(situation) if runway is None else runway,
        side=side_of(direction),
        bank=bank,
        airspeed=airspeed,
        downwind_speed=faster,
        abeam=abeam,
        aim=0.5 * WINDOW - float_distance,
        field=conditions.elevation - height_at(conditions, situation.entry_altitude),
    )
    path = _solved(situation, pattern)
    settings = {
        "runway": pattern.final,
        "height": height,
        "abeam": abeam,
        "bank": bank,
        "airspeed": airspeed,
        "downwind_speed": faster,
        "float_distance": float_distance,
    }
    to_base, to_final = (("roll-in", name, "roll-out") for name in ("turn to base", "turn to final"))
    names = ("slow down", "downwind", *to_base, "base", *to_final, "final")
    at = path.ends
    marks = [
        Mark(1, "abeam", 0.0),
        Mark(1, "glide", at[0]),
        Mark(1, "turn_to_base", at[1]),
        Mark(1, "base_key", 0.5 * (at[4] + at[5])),
        Mark(1, "turn_to_final", at[5]),
        Mark(1, "final", at[8]),
        Mark(1, "aiming_point", at[9]),
    ]
    return reference_of(
        "power_off_180",
        direction,
        situation,
        path,
        settings=settings,
        marks=marks,
        legs=legs_between(names, at),
        facts=_facts(situation, pattern, path),
        notes=[
            "Clean, one airspeed to the ground: flaps and a slip only steepen it; use them when sure.",
            "The float from the aiming point to the touchdown is an assumption; watch your own.",
            "Key positions move with the wind: aim at the point, not at landmarks.",
        ],
    )


def _refuse_settings(height: float, abeam: float, bank: float, float_distance: float) -> None:
    require_within("height", height, 60.0, 1_000.0, "m", hint="Was it in feet?")
    require_within("distance abeam", abeam, 100.0, 5_000.0, "m", hint="Was it in miles?")
    require_within("bank", bank, 10.0 * DEGREE, 45.0 * DEGREE, "rad", hint="Was it in degrees?")
    require_within("float distance", float_distance, 0.0, 1_000.0, "m", hint="Was it in feet?")


def _final(situation: Situation) -> float:
    north, east = (float(part) for part in situation.wind())
    if math.hypot(north, east) < _CALM:
        return situation.entry_heading + math.pi
    return math.atan2(-east, -north)


class _Glide:
    """The legs as phases: an idle glide at one airspeed, headings corrected for the wind at each height."""

    def __init__(self, situation: Situation, pattern: _Pattern) -> None:
        self.situation, self.pattern = situation, pattern
        self.law = SpeedLaw(situation, pattern.airspeed)

    def straight(self, start: AirState, name: str, course: float, until: Ending) -> AirPath:
        """A leg along a course."""
        return self._flown(start, [Phase(name, self.law.along(_on(course)), until)])

    def turn(self, start: AirState, course: float) -> AirPath:
        """From ``start`` a turn at the pattern's bank to the heading that makes good ``course``."""
        side = self.pattern.side
        bank = side * self.pattern.bank
        rolling = self.law.along(ramp(bank, ROLL_RATE))
        coming_out = until_lead_to(course, bank=bank, rate=ROLL_RATE)
        into = [
            Phase("the roll-in", rolling, after(self.pattern.bank / ROLL_RATE)),
            Phase("the turn", self.law.along(held(bank)), coming_out),
        ]
        before = self._flown(start, into)
        there = before.last
        air = air_at(self.situation.windy_column, there.height)
        left = float(wrap_compass(side * (heading_for(course, there, air) - there.air_heading)))
        out = easing(bank, heading=there.air_heading + side * left, angle=left)
        level = until_bank_is(Linear(constant=0.5 * DEGREE), out)
        return joined(before, self._flown(there, [Phase("the roll-out", self.law.along(out), level)]))

    def _flown(self, start: AirState, phases: list[Phase]) -> AirPath:
        return fly_phases(self.situation, start, phases, step=_STEP)


def _on(course: float) -> Banking:
    return following(course, most=_GENTLE, lag=_HEADING_LAG)


def _solved(situation: Situation, pattern: _Pattern) -> AirPath:
    """The path whose base leg uses up the height at the aiming point: a secant on the downwind run."""
    glide = _Glide(situation, pattern)
    slowed = _slowed(situation, pattern)
    least = -pattern.along_final(slowed.last) + 1.0

    def miss(run: float) -> tuple[float, AirPath]:
        path = _around(glide, slowed, run)
        return pattern.along_final(path.last) - pattern.aim, path

    low, high = (least, *miss(least)), (least + 300.0, *miss(least + 300.0))
    _refuse_short(situation, pattern, *low[:2])
    for _ in range(20):
        run = max(high[0] - high[1] * (high[0] - low[0]) / (high[1] - low[1]), least)
        low, high = high, (run, *miss(run))
        if abs(high[1]) < _NEAR:
            break
    return high[2]


def _slowed(situation: Situation, pattern: _Pattern) -> AirPath:
    """Abeam the point the throttle is closed and the altitude held until the glide speed is come to."""
    course = pattern.final + math.pi
    fast, slow = (
        float(situation.true_from_calibrated(v)) for v in (pattern.downwind_speed, pattern.airspeed)
    )
    north, east = (float(part) for part in situation.wind())
    start = AirState(0.0, 0.0, 0.0, fast, 0.0, SteadyWind(fast, north, east).heading(course))
    law = level_law(situation.airplane, _on(course), 0.0)
    reached = until(Linear(constant=slow + 1e-6, true_airspeed=-1.0))
    return fly_phases(situation, start, [Phase("slowing down", law, reached)], step=_STEP)


def _around(glide: _Glide, slowed: AirPath, run: float) -> AirPath:
    """Downwind for ``run`` [m] past abeam, base, and a turn to final that ends on the centerline."""
    situation, pattern = glide.situation, glide.pattern
    downwind, side = pattern.final + math.pi, pattern.side
    base, final = downwind + side * math.pi / 2.0, downwind + side * math.pi
    past = until(Linear(constant=-run, north=-math.cos(pattern.final), east=-math.sin(pattern.final)))
    path = joined(slowed, glide.straight(slowed.last, "downwind", downwind, past))
    path = joined(path, glide.turn(path.last, base))
    # A turn to final from here would end this far beyond the centerline: so much base leg is left to fly.
    # The wind lower down moves it a little, which the second round takes up.
    onto_base, spare = path, 0.0
    for _ in range(3):
        spare += pattern.beside_final(glide.turn(path.last, final).last)
        _refuse_narrow(situation, pattern, spare)
        inside = pattern.beside_final(onto_base.last) - spare
        leg = glide.straight(onto_base.last, "base", base, pattern.until_beside(inside))
        path = joined(onto_base, leg)
    path = joined(path, glide.turn(path.last, final))
    down = until(Linear(constant=pattern.field, height=-1.0))
    return joined(path, glide.straight(path.last, "final", final, down))


def _refuse_narrow(situation: Situation, pattern: _Pattern, spare: float) -> None:
    if spare > 1.0:
        return
    wider = pattern.abeam - spare
    raise OutsideModel(
        f"a downwind leg {m_to_ft(pattern.abeam):.0f} ft from the runway leaves no room for two turns at "
        f"{pattern.bank / DEGREE:.0f}° of bank.",
        next_step=f"Fly it {50 * math.ceil(m_to_ft(wider) / 50.0 + 1.0)} ft off or more, or bank more.",
    )


def _refuse_short(situation: Situation, pattern: _Pattern, least: float, miss: float) -> None:
    if miss >= 0.0:
        return
    higher = -miss * abs(math.tan(glide_angle(situation, pattern.airspeed)))
    raise OutsideModel(
        "the height does not carry around: with base begun as soon as the glide speed is come to, the ground "
        f"is met {m_to_ft(-miss):.0f} ft before the aiming point.",
        next_step=f"Start {50 * math.ceil(1.1 * m_to_ft(higher) / 50.0)} ft higher, or closer to the runway.",
    )


def _facts(situation: Situation, pattern: _Pattern, path: AirPath) -> list[Fact]:
    at = path.ends
    over_field = -pattern.field

    def height(when: float) -> float:
        return over_field + float(np.interp(when, path.time, path.column("height")))

    def state(when: float) -> AirState:
        return AirState(*(float(np.interp(when, path.time, path.column(name))) for name in AirState._fields))

    speed = float(situation.true_from_calibrated(pattern.airspeed))
    angle = glide_angle(situation, pattern.airspeed)
    ratio = 1.0 / math.tan(-angle)
    wind = math.hypot(*(float(part) for part in situation.wind()))
    reach = {
        name: float(
            glide.glide_distance(
                height=over_field, glide_ratio=ratio, true_airspeed=speed * math.cos(angle), headwind=against
            )
        )
        for name, against in (("upwind", wind), ("downwind", -wind))
    }
    key = state(0.5 * (at[4] + at[5]))
    touchdown = pattern.along_final(path.last) + 0.5 * WINDOW - pattern.aim
    facts = [
        Fact(
            "base_turn_past_abeam", -pattern.along_final(state(at[1])), "m", "past abeam, where to turn base"
        ),
        Fact("base_turn_time", at[1], "s", "time from abeam to the turn to base"),
        Fact("height_at_base_turn", height(at[1]), "m", "above the field at the turn to base"),
        Fact("base_key_height", height(0.5 * (at[4] + at[5])), "m", "above the field in the middle of base"),
        Fact("base_key_distance", -pattern.along_final(key), "m", "before the point in the middle of base"),
        Fact("height_at_final", height(at[8]), "m", "above the field, wings level on final"),
        Fact(
            "final_length", -pattern.along_final(state(at[8])), "m", "before the point, wings level on final"
        ),
        Fact("aiming_point", pattern.aim, "m", "where the glide meets the ground, from the point"),
        Fact("touchdown", touchdown, "m", "where the touchdown is planned, beyond the point"),
        Fact("window", WINDOW, "m", "farthest beyond the point that the standard takes"),
        Fact("glide_ratio", ratio, "1", "glide ratio at that airspeed, idle"),
        Fact("glide_range_upwind", reach["upwind"], "m", "straight glide from the start into the wind"),
        Fact("glide_range_downwind", reach["downwind"], "m", "straight glide from the start down the wind"),
        Fact("time", at[-1], "s", "time from abeam to the ground"),
    ]
    if situation.sheet.stall_speed_landing is not None:
        landing = float(situation.sheet.stall_speed_at(mass=situation.mass, configuration="landing"))
        facts.append(Fact("final_speed", 1.3 * landing, "m/s", "1.3 VSO, calibrated, with landing flaps"))
    return facts
