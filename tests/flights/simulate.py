"""One airplane in one sky: JSBSim stepped tick by tick, with every tick kept as truth."""

from __future__ import annotations

import math
import os
from dataclasses import dataclass

import jsbsim
import numpy as np
import polars as pl
from tests.flights.airplanes import Airplane
from tests.flights.weather import Air, Weather

from chalkwing.units import FOOT, KNOT, POUND, STANDARD_GRAVITY

os.environ.setdefault("JSBSIM_DEBUG", "0")  # the engine greets on stdout otherwise

TICK = 0.05
# Angles of attack at which the pilots hear the warning, and at which it stops: some of the models' wings keep
# a stall until well below the angle that began it.
STALL_WARNING, WARNING_ENDS = math.radians(14.5), math.radians(9.5)
SUBSTEPS = 5
RETRACTABLE = ("c310",)
PASCAL_PER_PSF = POUND * STANDARD_GRAVITY / FOOT**2
KELVIN_PER_RANKINE = 5.0 / 9.0

# What is read back each tick: our name, JSBSim's property, factor to SI.
READINGS: tuple[tuple[str, str, float], ...] = (
    ("time", "simulation/sim-time-sec", 1.0),
    ("latitude", "position/lat-geod-rad", 1.0),
    ("longitude", "position/long-gc-rad", 1.0),
    ("geometric_altitude", "position/geod-alt-ft", FOOT),
    ("jsbsim_pressure_altitude", "atmosphere/pressure-altitude", FOOT),
    ("velocity_north", "velocities/v-north-fps", FOOT),
    ("velocity_east", "velocities/v-east-fps", FOOT),
    ("velocity_down", "velocities/v-down-fps", FOOT),
    ("wind_north", "atmosphere/total-wind-north-fps", FOOT),
    ("wind_east", "atmosphere/total-wind-east-fps", FOOT),
    ("wind_down", "atmosphere/total-wind-down-fps", FOOT),
    ("true_airspeed", "velocities/vt-fps", FOOT),
    ("calibrated_airspeed", "velocities/vc-kts", KNOT),
    ("bank", "attitude/phi-rad", 1.0),
    ("pitch", "attitude/theta-rad", 1.0),
    ("heading_true", "attitude/psi-rad", 1.0),
    ("angle_of_attack", "aero/alpha-rad", 1.0),
    ("sideslip", "aero/beta-rad", 1.0),
    ("roll_rate", "velocities/p-rad_sec", 1.0),
    ("pitch_rate", "velocities/q-rad_sec", 1.0),
    ("yaw_rate", "velocities/r-rad_sec", 1.0),
    ("load_factor", "accelerations/Nz", 1.0),
    ("lateral_load", "accelerations/Ny", 1.0),
    ("engine_speed", "propulsion/engine/propeller-rpm", 2 * math.pi / 60),
    ("engine_power", "propulsion/engine/power-hp", 550 * FOOT * POUND * STANDARD_GRAVITY),
    ("static_pressure", "atmosphere/P-psf", PASCAL_PER_PSF),
    ("outside_air_temperature", "atmosphere/T-R", KELVIN_PER_RANKINE),
    ("density", "atmosphere/rho-slugs_ft3", 515.3788184),
    ("mass", "inertia/weight-lbs", POUND),
)
NAMES = tuple(name for name, _, _ in READINGS)


class DepartedError(Exception):
    """The airplane left controlled flight; the lesson is to be reported and flown again with another seed."""


class State:
    """The latest tick, one attribute a reading; ``heading`` is continuous, ``altimeter`` as set."""

    __slots__ = (*NAMES, "heading", "altimeter", "vertical_speed", "tick", "warning")


@dataclass
class Controls:
    """Stick, pedals and levers, -1 to 1 (levers 0 to 1): nose up, right roll, nose right positive."""

    elevator: float = 0.0
    aileron: float = 0.0
    rudder: float = 0.0
    throttle: float = 0.7
    flaps: float = 0.0


@dataclass(frozen=True)
class Start:
    """Where and how the flight begins, in the air."""

    latitude: float
    longitude: float
    altitude: float
    heading: float
    airspeed: float
    load: float
    fuel: float


class Simulator:
    """Steps the engine and keeps the truth. Air start, engine running, controls neutral."""

    def __init__(
        self,
        airplane: Airplane,
        weather: Weather,
        start: Start,
        *,
        stall_warning: bool = True,
        terrain: float | None = None,
    ) -> None:
        """``terrain`` [m] is the height of flat ground to fly low over; None keeps flights well above."""
        self.stall_warning = stall_warning
        self.terrain = terrain
        self.airplane, self.weather = airplane, weather
        self.air = Air(weather, interval=TICK, airspeed=airplane.entry_speed)
        self.fdm = _load(airplane, weather, start, terrain)
        manager = self.fdm.get_property_manager()
        self._nodes = [manager.get_node(path) for _, path, _ in READINGS]
        self._factors = [factor for _, _, factor in READINGS]
        self.engines = self.fdm.get_propulsion().get_num_engines()
        node = manager.get_node
        self._surfaces = [node(f"fcs/{name}-cmd-norm") for name in ("elevator", "aileron", "rudder", "flap")]
        self._throttles = [node(f"fcs/throttle-cmd-norm[{k}]") for k in range(self.engines)]
        self._winds = [node(f"atmosphere/wind-{axis}-fps") for axis in ("north", "east", "down")]
        self.controls = Controls()
        self.rows: list[tuple[float, ...]] = []
        self.state = State()
        self.state.tick = 0
        self.state.warning = False
        self.state.heading = start.heading
        self.step()

    def step(self) -> State:
        """Apply the controls for one tick, keep the row, return the new state."""
        tick = self.state.tick
        now = tick * TICK
        altitude = self.fdm["position/geod-alt-ft"] * FOOT
        mean_north, mean_east = self.air.mean(now, altitude)
        gust_north, gust_east, gust_down = self.air.gust(tick)
        for node, value in zip(
            self._winds, (mean_north + gust_north, mean_east + gust_east, gust_down), strict=True
        ):
            node.set_double_value(value / FOOT)
        self._move_controls()
        for _ in range(SUBSTEPS):
            self.fdm.run()
        values = [n.get_double_value() * f for n, f in zip(self._nodes, self._factors, strict=True)]
        self._update(values)
        c = self.controls
        self.rows.append(
            (
                *values,
                self.state.heading,
                mean_north,
                mean_east,
                c.throttle,
                c.flaps,
                c.elevator,
                c.aileron,
                c.rudder,
            )
        )
        self._refuse_departure()
        return self.state

    def _move_controls(self) -> None:
        c = self.controls
        # JSBSim's elevator and rudder are positive trailing edge down and left.
        positions = (-_unit(c.elevator), _unit(c.aileron), -_unit(c.rudder), min(max(c.flaps, 0.0), 1.0))
        for node, value in zip(self._surfaces, positions, strict=True):
            node.set_double_value(value)
        for node in self._throttles:
            node.set_double_value(min(max(c.throttle, 0.0), 1.0))

    def _update(self, values: list[float]) -> None:
        s = self.state
        for name, value in zip(NAMES, values, strict=True):
            setattr(s, name, value)
        s.heading += math.remainder(s.heading_true - s.heading, 2 * math.pi)
        # 8.3 m of height per hPa near the ground; the exact figure is worked out for the table.
        s.altimeter = s.jsbsim_pressure_altitude + altimeter_correction(self.weather.sea_level_pressure)
        s.vertical_speed = -s.velocity_down
        s.warning = self.stall_warning and s.angle_of_attack > (WARNING_ENDS if s.warning else STALL_WARNING)
        s.tick += 1

    def _refuse_departure(self) -> None:
        s = self.state
        if s.tick < 40:
            return
        low = self.terrain is not None
        if low and s.geometric_altitude - self.terrain < 8.0 and s.true_airspeed < 25.0:  # type: ignore[operator]
            return  # on its wheels: angles of the air mean nothing
        most = 38.0 if low else 24.0  # stalls are flown on purpose there
        stalled = s.angle_of_attack > math.radians(most) or abs(s.sideslip) > math.radians(min(most - 4, 28))
        beyond = stalled or abs(s.bank) > math.radians(80) or abs(s.pitch) > math.radians(40)
        floor = 200.0 if self.terrain is None else self.terrain - 2.0
        if beyond or s.geometric_altitude < floor or not math.isfinite(s.pitch):
            raise DepartedError(
                f"{self.airplane.name} at {s.time:.0f} s: bank {math.degrees(s.bank):.0f}, "
                f"pitch {math.degrees(s.pitch):.0f}, altitude {s.geometric_altitude:.0f} m, "
                f"angle of attack {math.degrees(s.angle_of_attack):.0f}, "
                f"sideslip {math.degrees(s.sideslip):.0f}"
            )

    def table(self) -> pl.DataFrame:
        """Every tick as a row: SI and radians, ``heading_true`` continuous, wind as velocity of the air."""
        names = [
            *NAMES,
            "heading",
            "wind_mean_north",
            "wind_mean_east",
            "throttle",
            "flaps",
            "elevator",
            "aileron",
            "rudder",
        ]
        columns = dict(zip(names, np.array(self.rows).T, strict=True))
        columns["heading_true"] = columns.pop("heading")
        del columns["jsbsim_pressure_altitude"]
        columns["time"] = np.arange(len(self.rows)) * TICK
        for name in ("wind_mean_north", "wind_mean_east"):
            columns[name] = _moving_average(columns[name], int(30 / TICK))
        columns["pressure_altitude"] = pressure_altitude(columns["static_pressure"])
        columns["altimeter_altitude"] = columns["pressure_altitude"] + altimeter_correction(
            self.weather.sea_level_pressure
        )
        maximum = self.facts()["maximum_power"]
        columns["power"] = np.maximum(columns.pop("engine_power") * self.engines / maximum, 0.0)
        return pl.DataFrame(columns)

    def facts(self) -> dict[str, float | str]:
        """What the model says of its airplane, SI."""
        return {
            "airplane": self.airplane.name,
            "mass": float(np.mean([self.rows[0][NAMES.index("mass")], self.rows[-1][NAMES.index("mass")]])),
            "wing_area": self.fdm["metrics/Sw-sqft"] * FOOT**2,
            "span": self.fdm["metrics/bw-ft"] * FOOT,
            "stall_speed": self.airplane.stall_speed,
            "maximum_power": MAXIMUM_POWER[self.airplane.name] * self.engines,
        }


HORSEPOWER = 745.69987
MAXIMUM_POWER = {
    "c172p": 160 * HORSEPOWER,
    "c172r": 180 * HORSEPOWER,
    "c182": 235 * HORSEPOWER,
    "c310": 260 * HORSEPOWER,
    "j3cub": 65 * HORSEPOWER,
}


def pressure_altitude(pressure: np.ndarray) -> np.ndarray:
    """Height in the standard atmosphere below 11 km [m] from pressure [Pa]: ICAO Doc 7488."""
    return 288.15 / 0.0065 * (1 - (pressure / 101325.0) ** (287.05287 * 0.0065 / STANDARD_GRAVITY))


def altimeter_correction(setting: float) -> float:
    """What an altimeter set to ``setting`` [Pa] shows above pressure altitude [m]."""
    return -float(pressure_altitude(np.asarray(setting)))


def _unit(value: float) -> float:
    return min(max(value, -1.0), 1.0)


def _moving_average(values: np.ndarray, width: int) -> np.ndarray:
    """Centered, with the ends repeated."""
    before, after = width // 2, width - width // 2
    total = np.cumsum(np.pad(values, (before + 1, after), mode="edge"))
    return (total[width:] - total[:-width])[: len(values)] / width


def _load(airplane: Airplane, weather: Weather, start: Start, terrain: float | None) -> jsbsim.FGFDMExec:
    fdm = jsbsim.FGFDMExec(jsbsim.get_default_root_dir())
    fdm.set_debug_level(0)
    fdm.load_model(airplane.model)
    fdm.set_dt(TICK / SUBSTEPS)
    fdm["atmosphere/delta-T"] = weather.isa_deviation / KELVIN_PER_RANKINE
    fdm["atmosphere/P-sl-psf"] = weather.sea_level_pressure / PASCAL_PER_PSF
    fdm["inertia/pointmass-weight-lbs[0]"] = start.load / POUND
    for tank in range(4):
        path = f"propulsion/tank[{tank}]/contents-lbs"
        if f"propulsion/tank[{tank}]/contents-lbs (RW)" in fdm.query_property_catalog("tank"):
            fdm[path] = fdm[path] * start.fuel
    if terrain is not None:
        fdm["ic/terrain-elevation-ft"] = terrain / FOOT
    fdm["ic/lat-geod-deg"] = math.degrees(start.latitude)
    fdm["ic/long-gc-deg"] = math.degrees(start.longitude)
    fdm["ic/h-sl-ft"] = start.altitude / FOOT
    fdm["ic/psi-true-deg"] = math.degrees(start.heading)
    fdm["ic/vc-kts"] = start.airspeed / KNOT
    fdm.run_ic()
    for engine in range(fdm.get_propulsion().get_num_engines()):
        fdm[f"fcs/mixture-cmd-norm[{engine}]"] = 0.95
        fdm[f"fcs/throttle-cmd-norm[{engine}]"] = 0.7
        fdm[f"fcs/advance-cmd-norm[{engine}]"] = 1.0
    wheels_down = terrain is not None and airplane.name not in RETRACTABLE
    fdm["gear/gear-cmd-norm"] = fdm["gear/gear-pos-norm"] = float(wheels_down)
    fdm["propulsion/magneto_cmd"] = 3
    _start_engines(fdm)
    return fdm


def _start_engines(fdm: jsbsim.FGFDMExec) -> None:
    """A windmilling constant-speed engine does not always catch at the first request."""
    for _ in range(10):
        fdm["propulsion/set-running"] = -1
        for _ in range(10):
            fdm.run()
        if fdm["propulsion/engine/power-hp"] > 5:
            return
    raise DepartedError("the engine does not start")
