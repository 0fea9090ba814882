"""On the wheels: takeoff run, rolling out. Both pilots do it alike: a line ahead and pedals to keep it."""

from __future__ import annotations

import math

from tests.flights.simulate import TICK, DepartedError, Simulator

from chalkwing.units import DEGREE

ON_WHEELS = ("c172p", "c172r", "j3cub")
"""The models that stand, roll and take off as they should. The c182's nose wheel swings round, the engines
of the c310 do not catch at rest: lessons in those two begin just after lift-off and end in a go-around."""
TOUCHES = ("c172p", "c172r")
"""Those that also touch down and go: the taildragger swings round too often at that speed."""
AIRBORNE = 9.0  # height of the center of gravity at which the hand takes over [m]


class Wheels:
    """Steers one airplane along a heading on the ground."""

    def __init__(self, simulator: Simulator) -> None:
        self.sim = simulator
        self.weight_on_wheels = simulator.fdm.get_property_manager().get_node("gear/wow")
        self.brakes = [
            simulator.fdm.get_property_manager().get_node(f"fcs/{side}-brake-cmd-norm")
            for side in ("left", "right")
        ]

    @property
    def down(self) -> bool:
        return bool(self.weight_on_wheels.get_double_value() > 0.5)

    def stand(self, seconds: float, heading: float) -> None:
        """Wait with the brakes on."""
        for _ in range(int(seconds / TICK)):
            self._step(heading, pitch=None, throttle=0.1, brake=1.0)

    def take_off(self, heading: float) -> None:
        """Full power, rotate, and a first climb until the hand takes over."""
        s, stall = self.sim.state, self.sim.airplane.stall_speed
        until = s.time + 90
        while s.geometric_altitude - (self.sim.terrain or 0.0) < AIRBORNE:
            if s.time > until:
                raise DepartedError(f"{self.sim.airplane.name} did not get off the ground")
            fast = s.calibrated_airspeed > 1.08 * stall
            tail_up = self.sim.airplane.name == "j3cub" and s.calibrated_airspeed > 0.5 * stall
            pitch = 7 * DEGREE if fast else 2 * DEGREE if tail_up else None
            throttle = min(self.sim.controls.throttle + 0.4 * TICK, 1.0)
            self._step(heading, pitch=pitch, throttle=throttle, brake=0.0)

    def roll_out(self, heading: float, *, to_speed: float, seconds: float = 90.0) -> None:
        """Slow down after touchdown."""
        s, until = self.sim.state, self.sim.state.time + seconds
        while math.hypot(s.velocity_north, s.velocity_east) > to_speed and s.time < until:
            # The nose wheel is held off while fast; pressing it on makes the airplane swerve.
            fast = s.calibrated_airspeed > 0.6 * self.sim.airplane.stall_speed
            brake = 0.0 if fast else 0.25
            self._step(heading, pitch=3 * DEGREE if fast else None, throttle=0.0, brake=brake)
        for brake in self.brakes:
            brake.set_double_value(0.0)

    def _step(self, heading: float, *, pitch: float | None, throttle: float, brake: float) -> None:
        s, controls = self.sim.state, self.sim.controls
        for node in self.brakes:
            node.set_double_value(brake)
        # The rudder command is nose right; a taildragger wants its nose caught early.
        firm = min(25.0 / max(s.true_airspeed, 12.0), 1.0)
        controls.rudder = firm * (-3.0 * (s.heading - heading) - 2.0 * s.yaw_rate)
        controls.aileron = -2.0 * s.bank - s.roll_rate
        raising = 0.0 if pitch is None else 3.0 * (pitch - s.pitch) - s.pitch_rate
        tail_down = pitch is None and self.sim.airplane.name == "j3cub"
        controls.elevator = 0.6 if tail_down else raising
        controls.throttle = throttle
        controls.flaps = max(controls.flaps - 0.3 * TICK, 0.0) if throttle > 0.5 else controls.flaps
        self.sim.step()
