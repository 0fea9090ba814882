"""From a Recording to a Motion: one statistically honest estimate over the whole flight."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from chalkwing.earth import variation_along
from chalkwing.errors import UndecidedRecording
from chalkwing.motion import initial, noise, wander
from chalkwing.motion import layout as at
from chalkwing.motion.motion import Motion, Origin
from chalkwing.motion.observations import Observations, Samples, observe
from chalkwing.motion.posterior import FlightPosterior
from chalkwing.motion.priors import Priors, priors_for
from chalkwing.motion.solve import FINE, ROUGH, Problem, Workspace, factored, settle, solve
from chalkwing.motion.view import View
from chalkwing.recordings.recording import Recording
from chalkwing.recordings.splitting import Flight
from chalkwing.units import Floats

if TYPE_CHECKING:
    from chalkwing.airplane import AirplaneSheet

INTERVAL = 0.25
"""Spacing of a Motion's grid [s]."""
REFITS = 1
"""How often noise levels are refitted; a second time changes no result by as much as a tenth of its sd."""
SHORTEST = 15.0
"""Flights shorter than this [s] hold too little to reconstruct."""
EARTH_RADIUS = 6_371_000.0
UNSETTLED = 1.5
"""Cost for each row from which a solution hangs together no more: sound recordings, real and simulated, leave
0.02 to 0.3, tracks whose times or directions jump from 2.6 upward."""
ROUGH_NOTE = (
    "what was recorded does not hang together as one motion (times, places or directions jump): "
    "what is told of it is rough"
)
LATEST = 1.5
"""Positions are not believed to be later than this [s] against attitude."""
DEFAULT_YEAR = 2026.0
"""Year for magnetic variation when the recording has no date; a note says so."""

Progress = Callable[[str, float], None]
"""Called with what is being done and the fraction done."""


def reconstruct(
    recording: Recording,
    *,
    flight: Flight | None = None,
    sheet: AirplaneSheet | None = None,
    loosen: float = 1.0,
    progress: Progress | None = None,
) -> Motion:
    """Reconstruct one flight of a recording.

    Parameters
    ----------
    recording : Recording
        With position and some altitude at least; everything else recorded is used as far as it goes.
    flight : Flight, optional
        The airborne stretch; the whole recording without it.
    sheet : AirplaneSheet, optional
        The airplane; a broad light airplane stands in without it.
    loosen : float
        Multiplies the sd of what ties thrust to drag, to show what wind accuracy owes to it.

    Returns
    -------
    Motion
        On a uniform 4 Hz grid inside the flight.

    Raises
    ------
    UndecidedRecording
        No position, no altitude, or an airborne stretch too short to say anything.
    """
    tell = progress or (lambda what, fraction: None)
    tell("reading the air", 0.0)
    flight = flight or Flight(float(recording.time[0]), float(recording.time[-1]))
    start, end = flight.start, flight.end
    if end - start < SHORTEST:
        raise UndecidedRecording(
            f"the airborne stretch lasts {end - start:.0f} s.",
            next_step=f"At least {SHORTEST:.0f} s are needed.",
        )
    variation, notes = _variation(recording)
    seen = observe(recording.between(start - 2.0, end + 2.0), variation=variation)
    start, end = _covered(seen, start, end)
    begun = _begin(recording, seen, start=start, end=end)
    seen, notes = begun.seen, notes + begun.notes
    problem, priors, states, statics = _problem(begun, sheet=sheet, loosen=loosen)
    work = Workspace(problem, priors)
    solution = settle(problem, priors, states, statics, work)
    work.strain_near_stall(problem, solution.best)
    for step in range(REFITS):
        tell("fitting the flight", (step + 1) / (REFITS + 2))
        priors = noise.refit(priors, solution, factored(problem, priors, solution, work), work)
        last = step == REFITS - 1
        solution = solve(
            problem, priors, solution.best.states, solution.best.statics, work,
            most=5 if last else 2, enough=FINE if last else ROUGH,
        )  # fmt: skip
    if solution.best.cost > UNSETTLED * solution.rows.count:
        notes += (ROUGH_NOTE,)
    system = factored(problem, priors, solution, work)
    spread = noise.covariance(system, pairs=False)
    tell("drawing up the motion", (REFITS + 1) / (REFITS + 2))
    late = _lateness(seen, solution.best.statics)
    problem = replace(problem, knots=problem.knots - late)
    end -= late
    if late >= 0.1:
        notes += (f"positions come {late:.1f} s later than attitude: times are those of the attitude",)
    grid = np.arange(np.ceil(start / INTERVAL), np.floor(end / INTERVAL) + 1) * INTERVAL
    view = View(
        grid=grid,
        variation=np.full(len(grid), variation),
        indicated_recorded=at.SEES_INDICATED in seen,
        airspeed_recorded=at.SEES_INDICATED in seen or at.SEES_TRUE in seen,
        pressure_recorded=at.SEES_PRESSURE in seen,
        ball_recorded=at.SEES_SIDE in seen,
        sheet=sheet,
    )
    slow = wander.wanders(airspeed_recorded=view.airspeed_recorded, pitch_recorded=at.SEES_PITCH in seen)
    clock = wander.CLOCK_WITH_ATTITUDE if at.SEES_BANK in seen else wander.CLOCK_ALONE
    posterior = FlightPosterior(problem, priors, solution.best, system, spread, grid, view, slow, clock)
    return _motion(posterior, seen, recording, notes)


def _lateness(seen: Observations, statics: Floats) -> float:
    """How late [s] the positions are, whose clock the estimate kept: attitude cannot be earlier than the
    truth.

    No channel shows what has not happened yet, so the earliest of them is nearest to the true time. Only bank
    tells: a compass that errs in step with the bank looks early or late by as much as it is wrong.
    """
    if at.SEES_BANK not in seen:
        return 0.0
    return float(np.clip(-statics[at.LAG_OF[at.SEES_BANK]], 0.0, LATEST))


def _variation(recording: Recording) -> tuple[float, tuple[str, ...]]:
    """Magnetic variation [rad] in the middle of the recording: recorded, else by the World Magnetic Model."""
    if "magnetic_variation" in recording:
        return float(np.median(recording.samples("magnetic_variation")[1])), ()
    if "latitude" not in recording or "longitude" not in recording:
        return 0.0, ()
    latitude, longitude = recording.samples("latitude")[1], recording.samples("longitude")[1]
    if not (len(latitude) and len(longitude)):
        return 0.0, ()
    date = recording.start_utc.date() if recording.start_utc else DEFAULT_YEAR
    note = (
        ()
        if recording.start_utc
        else (f"no date is recorded: magnetic variation is that of {DEFAULT_YEAR:.0f}",)
    )
    middle = np.array([np.median(latitude)]), np.array([np.median(longitude)])
    found, _ = variation_along(latitude=middle[0], longitude=middle[1], date=date)
    return float(found[0]), note


def _covered(seen: Observations, start: float, end: float) -> tuple[float, float]:
    """The part of the stretch that positions cover."""
    times = seen.samples[at.SEES_NORTH].time
    return max(start, float(times[0])), min(end, float(times[-1]))


@dataclass(frozen=True)
class _Begun:
    """The rough path that the estimator starts from, and the observations that are believed."""

    seen: Observations
    path: initial.FirstPath
    wind: tuple[float, float]
    temperature_known: bool
    notes: tuple[str, ...]


def _begin(recording: Recording, seen: Observations, *, start: float, end: float) -> _Begun:
    outside = recording.samples("outside_air_temperature")
    temperature = Samples(*outside) if len(outside[0]) >= 3 else None
    path = initial.first_path(seen, start=start, end=end, temperature=temperature)
    wind = initial.wind_from_instruments(path, seen) or initial.first_wind(path)
    path = initial.bridged(path, seen, wind)
    notes: tuple[str, ...] = ()
    if not initial.attitude_believable(path, seen, wind):
        seen = seen.without(at.SEES_BANK, at.SEES_PITCH)
        notes = ("recorded bank does not follow the turns of the path: recorded attitude was left out",)
    return _Begun(seen, path, wind, temperature is not None, notes)


def _problem(
    begun: _Begun, *, sheet: AirplaneSheet | None, loosen: float
) -> tuple[Problem, Priors, Floats, Floats]:
    """The least-squares problem of one flight with its starting point."""
    seen, path, wind = begun.seen, begun.path, begun.wind
    start, end = float(path.time[0]), float(path.time[-1])
    knots = initial.knot_times(path)
    air, density = initial.air_table(path, knots, seen.origin_height)
    through = np.hypot(path.u_north - wind[0], path.u_east - wind[1])
    typical = float(np.median(through)) * float(np.sqrt(np.median(density)))
    priors = priors_for(
        present=set(seen.samples),
        resolution=seen.resolution,
        sheet=sheet,
        typical_airspeed=typical,
        lasted=end - start,
        temperature_known=begun.temperature_known,
        loosen=loosen,
    )
    states = initial.first_states(path, knots, wind, density, priors)
    slow = np.array([at.BANK_WANDER, at.PITCH_WANDER, at.HEADING_WANDER])
    if states.shape[1] == at.CORE_STATES:
        slow[:] = -1
    first, last = np.searchsorted(seen.time, (start - 1e-6, end + 1e-6))
    problem = Problem(
        knots=knots,
        seen=seen,
        window=slice(int(first), int(last)),
        air=air,
        density=density,
        plane=priors.plane.vector(typical),
        wander=slow,
        first=states[0].copy(),
        origin=seen.origin_height,
    )
    for kind in (at.SEES_BANK, at.SEES_PITCH, at.SEES_HEADING):  # as a rule from one instrument
        priors.static_mean[at.LAG_OF[kind]] = initial.first_lag(path, seen, wind)
    return problem, priors, states, priors.static_mean.copy()


_MEASURED_BY: dict[str, tuple[int, ...]] = {
    "bank": (at.SEES_BANK,),
    "pitch": (at.SEES_PITCH,),
    "heading_true": (at.SEES_HEADING,),
    "heading_magnetic": (at.SEES_HEADING,),
    "indicated_airspeed": (at.SEES_INDICATED,),
    "calibrated_airspeed": (at.SEES_INDICATED,),
    "true_airspeed": (at.SEES_TRUE, at.SEES_INDICATED),
    "airspeed": (at.SEES_INDICATED,),
    "pressure_altitude": (at.SEES_PRESSURE,),
    "geometric_altitude": (at.SEES_HEIGHT,),
    "altitude": (at.SEES_HEIGHT, at.SEES_PRESSURE),
    "load_factor": (at.SEES_LOAD,),
    "lateral_load": (at.SEES_SIDE,),
    "ground_speed": (at.SEES_U_NORTH, at.SEES_SPEED),
    "track": (at.SEES_U_NORTH,),
    "position_north": (at.SEES_NORTH,),
    "position_east": (at.SEES_EAST,),
    "latitude": (at.SEES_NORTH,),
    "longitude": (at.SEES_EAST,),
    "velocity_north": (at.SEES_U_NORTH,),
    "velocity_east": (at.SEES_U_EAST,),
    "vertical_speed": (at.SEES_CLIMB,),
    "power": (),
}


def _motion(
    posterior: FlightPosterior, seen: Observations, recording: Recording, notes: tuple[str, ...]
) -> Motion:
    grid, view = posterior.grid, posterior.view
    columns = posterior.values()
    sds = dict(view.named_sds(posterior.sds(columns)))
    values = dict(view.named(columns, grid))
    values["latitude"], values["longitude"] = (
        np.asarray(part) for part in seen.frame.to_earth(values["position_north"], values["position_east"])
    )
    for place, along, shrink in (("latitude", "position_north", 1.0), ("longitude", "position_east", None)):
        parallel = np.cos(values["latitude"]) if shrink is None else shrink
        sds[place] = np.hypot(sds[along], wander.PLACE) / (EARTH_RADIUS * parallel)
    if "power" in recording:
        time, power = recording.samples("power")
        values["power"] = np.interp(grid, time, power)
        sds["power"] = np.full(len(grid), max(recording.channels["power"].resolution, 0.01))
    origins: dict[str, Origin] = {
        name: "measured" if any(kind in seen for kind in _MEASURED_BY.get(name, ())) else "derived"
        for name in values
    }
    if "power" in values:
        origins["power"] = "measured"
    return Motion(
        time=grid,
        values=values,
        sds=sds,
        origins=origins,
        airspeed_kind=view.airspeed_kind,
        altitude_kind=view.altitude_kind,
        in_gap=_far_from(seen.samples[at.SEES_NORTH].time, grid),
        recording=recording,
        posterior=posterior,
        notes=notes,
        channel_sds=_channel_sds(posterior.priors.levels, recording, seen, values["ground_speed"]),
    )


_NOISE_OF: dict[int, tuple[str, ...]] = {
    at.SEES_HEIGHT: ("geometric_altitude",),
    at.SEES_PRESSURE: ("pressure_altitude", "altimeter_altitude"),
    at.SEES_U_NORTH: ("velocity_north", "velocity_east", "ground_speed"),
    at.SEES_SPEED: ("ground_speed",),
    at.SEES_CLIMB: ("vertical_speed",),
    at.SEES_INDICATED: ("indicated_airspeed", "calibrated_airspeed"),
    at.SEES_TRUE: ("true_airspeed",),
    at.SEES_BANK: ("bank",),
    at.SEES_PITCH: ("pitch",),
    at.SEES_HEADING: ("heading_true", "heading_magnetic"),
    at.SEES_LOAD: ("load_factor",),
    at.SEES_SIDE: ("lateral_load",),
}
"""Channels whose noise is that of a kind of observation. Places are left out: their noise is in meters."""


def _channel_sds(
    levels: Floats, recording: Recording, seen: Observations, ground_speed: Floats
) -> dict[str, float]:
    """The fitted noise of each recorded channel that was used [SI]."""
    sds = {
        name: float(levels[kind])
        for kind, names in _NOISE_OF.items()
        if kind in seen
        for name in names
        if name in recording
    }
    if "track" in recording and at.SEES_U_NORTH in seen and "ground_speed" in sds:
        sds["track"] = sds["ground_speed"] / max(float(np.median(ground_speed)), 1.0)
    return sds


def _far_from(times: Floats, grid: Floats, reach: float = 1.5) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """True where no recorded time lies within ``reach`` [s]."""
    after = np.searchsorted(times, grid)
    before = np.abs(grid - times[np.clip(after - 1, 0, len(times) - 1)])
    behind = np.abs(times[np.clip(after, 0, len(times) - 1)] - grid)
    return np.minimum(before, behind) > reach
