"""The closed vocabulary in which maneuvers are defined: every word a definition file may use.

At the edges (the TOML files) each quantity's name carries its unit, ``bank_into_turn_deg``; inside, values
are SI and radians. A `Quantity` ties the two together.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from chalkwing.units import DEGREE, FOOT, FOOT_PER_MINUTE, KNOT

Progress = Literal["heading_change", "time", "line"]
Event = Literal[
    "turn_starts",
    "rolled_in",
    "established",
    "settled",
    "rollout_starts",
    "turn_stops",
    "next_turn_starts",
    "downwind",
    "upwind",
    "crosses_line",
    "slowed",
    "throttle_closed",
    "throttle_opened",
    "breaks",
    "unloads",
    "wings_level",
    "lowest",
    "climbs",
    "recovers",
    "descent_starts",
    "descent_settled",
    "leveling",
    "levels_off",
    "ends",
]
Trending = Literal["rising", "falling", "steady"]
Side = Literal["highest", "lowest"]
Functional = Literal[
    "at",
    "worst",
    "mean",
    "rate",
    "extremum",
    "where",
    "dwell",
    "reversal",
    "spread",
    "swing",
    "change",
    "loss",
    "departure",
    "regained",
    "duration",
    "fitted",
    "count",
    "seen",
    "moved",
]
Against = Literal["none", "entry", "previous", "first_entry", "target", "assigned", "own"]
Each = Literal["part", "whole", "last", "step", "left_minus_right"]
Repeats = Literal["single", "chain"]
Directions = Literal["alternating", "same", "any"]
SolverFamily = Literal["air_path", "ground_path", "glide", "none"]
GroundKind = Literal["none", "point", "pylons", "line", "field", "runway"]
Need = Literal["terrain", "sheet", "ball", "power", "ground"]
Outside = Literal["no", "before", "after"]
During = Literal["any", "level", "straight", "turning"]
Engines = Literal["any", "one", "several"]
Change = Literal[
    "entry_speed",
    "throttle",
    "nose_up",
    "nose_down",
    "nose_late",
    "nose_behind",
    "nose_creep",
    "steepest_bank",
    "bank_held",
    "bank_creep",
    "roll_in",
    "roll_out",
    "roll_late",
]

EVENTS: dict[Event, str] = {
    "turn_starts": "where the turn of this part begins: the wings leave level",
    "rolled_in": "where the roll into the turn has ended, whatever bank it came to",
    "established": "where the bank first comes within the tolerance of its target",
    "settled": "where the bank is established and the roll into the turn has ended",
    "rollout_starts": "where the roll back to level begins",
    "turn_stops": "where the turn of this part stops: the wings pass level; after the last part, the rollout",
    "next_turn_starts": "where the turn of the part after this one begins; the last part has none",
    "downwind": "where the part is flown most nearly straight down the wind",
    "upwind": "where the part is flown most nearly straight into the wind",
    "crosses_line": "where the path crosses the line on the ground about the end of this part",
    "slowed": "where the airspeed has come down to what is then held",
    "throttle_closed": "where the power comes off",
    "throttle_opened": "where the power comes on",
    "breaks": "where the wing lets go or the recovery begins: load and nose fall, slowest or nearly so",
    "unloads": "where the lift coefficient has come down by a seventh from its highest about the break",
    "wings_level": "from where the bank stays within 10° after the break",
    "lowest": "the lowest altitude after the break",
    "climbs": "from where the airplane climbs again after the lowest point",
    "recovers": "where the wing is unloaded, the wings are level and the sinking has stopped",
    "descent_starts": "where the descent begins",
    "descent_settled": "where the descent has come near its own typical rate",
    "leveling": "where the leveling off begins: the sink comes off its typical rate",
    "levels_off": "where the descent has ended",
    "ends": "where the spell ends",
}
"""Places in a part that are found from the flying itself, not from how far it has turned."""

BORDERS: tuple[Event, ...] = (
    "turn_starts",
    "throttle_closed",
    "throttle_opened",
    "slowed",
    "breaks",
    "unloads",
    "lowest",
    "descent_starts",
    "levels_off",
    "ends",
)
"""Events at which a maneuver that goes by time may begin, and its legs may end: the finder looks for them."""

BEFORE_TURNS: tuple[Event, ...] = ("turn_starts", "throttle_closed")
"""Where a maneuver of turns may begin."""
AFTER_TURNS: tuple[Event, ...] = ("turn_stops", "ends")
"""Where a maneuver of turns may end: with its last turn, or where the descent after it is over."""

GROUND_KINDS: dict[GroundKind, str] = {
    "none": "nothing on the ground matters",
    "point": "one point that every turn goes round",
    "pylons": "a pylon for each side, held by the line of sight along the wing",
    "line": "a straight line that is crossed between the turns",
    "field": "a rectangle whose sides are flown along between the turns",
    "runway": "the line flown along after the last turn",
}
"""What on the ground a maneuver is flown by; it is estimated from the flight or given by the user."""

EACH: dict[Each, str] = {
    "part": "of every part",
    "whole": "of all parts together, from the first start to the last stop",
    "last": "of the last part only",
    "step": "of every part, less that of the part before it",
    "left_minus_right": "the mean of the left turns less the mean of the right turns",
}
"""Of what a measure is taken."""

AGAINST: dict[Against, str] = {
    "none": "against nothing: the value itself",
    "entry": "against what was assigned, else the value at entry",
    "previous": "against the value where the part begins",
    "first_entry": "against the first entry of the chain",
    "target": "against what was assigned, else the standard's figure",
    "assigned": "against what was assigned; where nothing was, whether one value could lie within the band",
    "own": "against what was assigned where the stretch lies near it, else the stretch's own settled value; "
    "in turns, its mean over the window",
}
"""What a measure is held against."""

DURING: dict[During, str] = {
    "any": "all the time",
    "level": "while altitude was meant to be held",
    "straight": "while heading was meant to be held",
    "turning": "while turning",
}
"""Of which stretches of its window a held measure is taken, where a spell holds several."""

FUNCTIONALS: dict[Functional, str] = {
    "at": "the value at a point",
    "worst": "the largest deviation over the window, judged as a held limit",
    "mean": "the mean over the window",
    "rate": "the mean rate of change over the window, per second",
    "extremum": "the highest or lowest value over the window",
    "where": "how far the part had progressed when the highest or lowest value came",
    "dwell": "the longest time over the window in which the quantity hardly changed",
    "reversal": "the largest move against the expected trend over the window",
    "spread": "the standard deviation within the window",
    "swing": "the highest less the lowest value over the window",
    "change": "the value at the end of the window less that at its start",
    "loss": "how far the value came down from the start of the window to its end",
    "departure": "the largest departure over the window from the value at its start, with its sign",
    "regained": "the time after the break until the altitude assigned, or that of entry, was regained",
    "duration": "the time from one point to another",
    "fitted": "a figure that is fitted to the part's path over the ground as a whole",
    "count": "how many whole turns were flown",
    "seen": "whether something was done: clearing turns, power added, a second stall, a stall warning",
    "moved": "how far the throttle (or what stands for it) moved over the window",
}
"""What may be computed of a quantity."""

UNITS: dict[str, float] = {
    "deg": DEGREE,
    "deg_per_s": DEGREE,
    "ft": FOOT,
    "ft_per_s": FOOT,
    "ft_per_min": FOOT_PER_MINUTE,
    "kt": KNOT,
    "kt_per_s": KNOT,
    "g": 1.0,
    "g_per_s": 1.0,
    "s": 1.0,
    "count": 1.0,
    "seen": 1.0,
    "percent": 0.01,
}
"""SI per pilot unit, by the suffix that names carry."""


@dataclass(frozen=True)
class Quantity:
    """One quantity that definitions speak of.

    ``key`` is its name at the edges, ``name`` the bare name inside, ``unit`` the pilot unit and ``scale`` its
    SI value. ``turned`` is True when the sign counts toward the turn of the part instead of to the right.
    ``needs`` names what must be given or recorded for it to exist.
    """

    key: str
    name: str
    unit: str
    turned: bool = False
    needs: Need | None = None

    @property
    def scale(self) -> float:
        """SI value of one pilot unit."""
        return UNITS[self.unit]


QUANTITIES: dict[str, Quantity] = {
    quantity.key: quantity
    for quantity in (
        Quantity("altitude_ft", "altitude", "ft"),
        Quantity("altitude_change_ft", "altitude_change", "ft"),
        Quantity("airspeed_kt", "airspeed", "kt"),
        Quantity("airspeed_change_kt", "airspeed_change", "kt"),
        Quantity("true_airspeed_kt", "true_airspeed", "kt"),
        Quantity("heading_deg", "heading", "deg", turned=True),
        Quantity("heading_change_deg", "heading_change", "deg", turned=True),
        Quantity("bank_into_turn_deg", "bank_into_turn", "deg", turned=True),
        Quantity("bank_deg", "bank", "deg"),
        Quantity("pitch_deg", "pitch", "deg"),
        Quantity("path_angle_deg", "path_angle", "deg"),
        Quantity("turn_rate_into_turn_deg_per_s", "turn_rate_into_turn", "deg_per_s", turned=True),
        Quantity("roll_rate_into_turn_deg_per_s", "roll_rate_into_turn", "deg_per_s", turned=True),
        Quantity("pitch_rate_deg_per_s", "pitch_rate", "deg_per_s"),
        Quantity("vertical_speed_ft_per_min", "vertical_speed", "ft_per_min"),
        Quantity("climb_or_sink_ft_per_min", "climb_or_sink", "ft_per_min"),
        Quantity("load_factor_g", "load_factor", "g"),
        Quantity("lateral_load_g", "lateral_load", "g", needs="ball"),
        Quantity("specific_energy_ft", "specific_energy", "ft"),
        Quantity("specific_energy_rate_ft_per_min", "specific_energy_rate", "ft_per_min"),
        Quantity("energy_angle_deg", "energy_angle", "deg"),
        Quantity("airspeed_over_slow_percent", "airspeed_over_slow", "percent"),
        Quantity("airspeed_over_cruise_percent", "airspeed_over_cruise", "percent"),
        Quantity("power_setting_percent", "power_setting", "percent", needs="power"),
        Quantity("height_above_own_ground_ft", "height_above_own_ground", "ft"),
        Quantity("height_above_ground_ft", "height_above_ground", "ft", needs="terrain"),
        Quantity("margin_over_stall_kt", "margin_over_stall", "kt", needs="sheet"),
        Quantity("margin_over_accelerated_stall_kt", "margin_over_accelerated_stall", "kt", needs="sheet"),
        Quantity("stall_speed_1g_kt", "stall_speed_1g", "kt"),
        Quantity("stall_speed_over_sheet_kt", "stall_speed_over_sheet", "kt", needs="sheet"),
        Quantity("over_maneuvering_speed_kt", "over_maneuvering_speed", "kt", needs="sheet"),
        Quantity("power_percent", "power", "percent", needs="power"),
        Quantity("over_climb_speed_kt", "over_climb_speed", "kt", needs="sheet"),
        Quantity("wing_drop_deg", "wing_drop", "deg"),
        Quantity("power_added_seen", "power_added", "seen"),
        Quantity("second_stall_seen", "second_stall", "seen"),
        Quantity("stall_warning_seen", "stall_warning", "seen"),
        Quantity("time_s", "time", "s"),
        Quantity("turns_flown_count", "turns_flown", "count"),
        Quantity("ground_speed_kt", "ground_speed", "kt"),
        Quantity("tailwind_kt", "tailwind", "kt"),
        Quantity("wind_correction_deg", "wind_correction", "deg"),
        Quantity("radius_ft", "radius", "ft", needs="ground"),
        Quantity("circle_radius_ft", "circle_radius", "ft", needs="ground"),
        Quantity("circle_bank_deg", "circle_bank", "deg", turned=True, needs="ground"),
        Quantity("center_drift_ft", "center_drift", "ft", needs="ground"),
        Quantity("center_drift_across_ft", "center_drift_across", "ft", needs="ground"),
        Quantity("wind_corrected_percent", "wind_corrected", "percent", needs="ground"),
        Quantity("line_distance_ft", "line_distance", "ft", needs="ground"),
        Quantity("crossing_angle_deg", "crossing_angle", "deg", needs="ground"),
        Quantity("track_off_line_deg", "track_off_line", "deg", needs="ground"),
        Quantity("sight_line_deg", "sight_line", "deg", needs="ground"),
        Quantity("sight_ahead_deg", "sight_ahead", "deg", needs="ground"),
        Quantity("sight_above_deg", "sight_above", "deg", needs="ground"),
        Quantity("height_above_pylon_ft", "height_above_pylon", "ft", needs="ground"),
        Quantity("pivotal_height_ft", "pivotal_height", "ft", needs="ground"),
        Quantity("pivotal_rule_ft", "pivotal_rule", "ft", needs="ground"),
        Quantity("height_over_pivotal_ft", "height_over_pivotal", "ft", needs="ground"),
        Quantity("touchdown_beyond_point_ft", "touchdown_beyond_point", "ft", needs="ground"),
        Quantity("clearing_turns_seen", "clearing_turns", "seen"),
        Quantity("throttle_percent", "throttle", "percent", needs="power"),
    )
}
"""Every quantity a definition may name. ``altitude_change`` and ``airspeed_change`` count from entry.

For finding: ``airspeed_over_slow`` is the airspeed over the root of the load factor, in parts of the slowest
speed at which this airplane flies, ``airspeed_over_cruise`` the airspeed in parts of its cruise, both
estimated from the flight itself; ``height_above_own_ground`` counts from this flight's own runway;
``climb_or_sink`` is the vertical speed without its sign: of a stretch, how far from level it was flown;
``energy_angle`` is the angle at which energy height is gained along the path through the air, that of the
climb at a steady speed: it tells power from idle in fast and slow airplanes alike, whatever the speed does;
``power_setting`` goes from idle to this flight's most, by whatever channel shows power.

``stall_speed_1g`` is the calibrated airspeed over the root of the load factor: at a break, the speed at
which it would have come in level flight; ``stall_speed_over_sheet`` is that less the sheet's at the day's
mass. ``wing_drop`` is the bank beyond the range from level to that at the break, right positive.

Over the ground: ``tailwind`` along the heading; ``wind_correction`` heading less track, right positive;
``radius`` the distance from the part's pylon, point or own center; ``circle_radius``, ``center_drift`` (each
revolution, down the wind positive) and ``wind_corrected`` (the share of the wind that did not carry the
center along) of a circle fitted to the part; ``circle_bank`` the bank that would hold the radius there;
``line_distance`` from the line, positive on this part's side of it, outside the field, or on the side of the
runway where the turn is; ``crossing_angle`` less than 90° where less was turned than makes it square;
``track_off_line`` right positive. ``sight_line`` is the whole angle from the wing line to the pylon,
``sight_ahead`` and ``sight_above`` its parts, seen along the wing (see ``judge/sight.py``).
"""

WHOLE: dict[str, Quantity] = {
    quantity.key: quantity
    for quantity in (
        Quantity("turned_deg", "turned", "deg"),
        Quantity("altitude_change_ft", "altitude_change", "ft"),
        Quantity("altitude_change_per_turn_ft", "altitude_change_per_turn", "ft"),
        Quantity("altitude_swing_ft", "altitude_swing", "ft"),
        Quantity("glide_angle_deg", "glide_angle", "deg"),
        Quantity("glide_evenness_percent", "glide_evenness", "percent"),
        Quantity("engine_over_idle_percent", "engine_over_idle", "percent"),
        Quantity("engine_evenness_percent", "engine_evenness", "percent"),
        Quantity("lowest_above_own_ground_ft", "lowest_above_own_ground", "ft"),
        Quantity("highest_above_own_ground_ft", "highest_above_own_ground", "ft"),
        Quantity("end_above_own_ground_ft", "end_above_own_ground", "ft"),
        Quantity("wind_corrected_percent", "wind_corrected", "percent"),
        Quantity("center_spread_percent", "center_spread", "percent"),
        Quantity("line_spread_percent", "line_spread", "percent"),
        Quantity("rectangle_misfit_percent", "rectangle_misfit", "percent"),
        Quantity("follows_pivotal_percent", "follows_pivotal", "percent"),
        Quantity("height_off_pivotal_ft", "height_off_pivotal", "ft"),
        Quantity("entry_off_downwind_deg", "entry_off_downwind", "deg"),
    )
}
"""Quantities of a whole stretch that the finder knows, for ``[[whole]]``.

``turned`` adds up the turns whichever way; ``altitude_change`` is from the first start to the last stop,
``per_turn`` for each 360 degrees; ``altitude_swing`` is the highest less the lowest. ``glide_angle`` is the
angle at which energy height was lost along the path through the air: idling, that of the glide.
``glide_evenness`` is the flattest 15 s of it over the steepest: near 100 where no power was added on the way.
``engine_over_idle`` is the median engine speed over the slowest of this flight in the air,
``engine_evenness`` its tenth over its ninetieth percentile. Heights above
``own_ground`` count from where this flight took off or landed, and are unknown where it did neither.

Over the ground: ``wind_corrected`` is the share of the wind that did not carry a revolution along: 100 where
it came back to where it began, 0 where it went with the air. ``center_spread`` is how far the turns' centers
lie from the middle of those on the same side, ``line_spread`` how far the places where turns meet lie from a
straight line, both in parts of the radius; ``rectangle_misfit`` how far four corners are from a
parallelogram and each fifth corner from the first, in parts of its side. ``follows_pivotal`` is how much of
the change of pivotal altitude the altitude went along with, ``height_off_pivotal`` how far above the pivotal
altitude, counted from ``own_ground``, it was flown in the mean. ``entry_off_downwind`` is the heading at the
first start less the direction that the wind blows to, right positive.
"""

CHANGES: dict[str, tuple[Change, float]] = {
    "entry_speed_kt": ("entry_speed", KNOT),
    "throttle_percent": ("throttle", 0.01),
    "nose_up_deg": ("nose_up", DEGREE),
    "nose_down_times": ("nose_down", 1.0),
    "nose_late_s": ("nose_late", 1.0),
    "nose_behind_s": ("nose_behind", 1.0),
    "nose_creep_deg": ("nose_creep", DEGREE),
    "steepest_bank_deg": ("steepest_bank", DEGREE),
    "bank_held_s": ("bank_held", 1.0),
    "bank_creep_deg": ("bank_creep", DEGREE),
    "roll_in_times": ("roll_in", 1.0),
    "roll_out_times": ("roll_out", 1.0),
    "roll_late_s": ("roll_late", 1.0),
}
"""What a common error changes of the planned bank, nose or power, where a point mass can fly it.

More (or less) entry speed, throttle, highest nose, nose-down (so many times the plan's) or steepest bank; the
nose lowered, or all of it, so much later; the bank held so much longer, or the roll begun so much later; nose
or bank creeping on by so much while it should be held; rolling in or out so many times as fast.
"""
