"""First pilot's control laws for aims: cascaded loops with integrals, twenty times a second."""

from __future__ import annotations

import math

from tests.flights.course.aims import Aim, Circle, Line, Seen
from tests.flights.course.procedures import Procedure
from tests.flights.course.sight import Sight
from tests.flights.schedule_hand import ScheduleHand
from tests.flights.schedule_loops import G, clip
from tests.flights.simulate import TICK, Simulator

from chalkwing.units import DEGREE

CIRCLE_FREQUENCY = 0.13  # of the loop that keeps the distance to a point [rad/s]


class ScheduleCourse(ScheduleHand):
    """Flies procedures as well as goals."""

    def __init__(self, simulator: Simulator, *, seed: int, roughness: float) -> None:
        super().__init__(simulator, seed=seed, roughness=roughness)
        self.sight = Sight(simulator)
        self.rising = 0.0
        self.last_airspeed = self.state.calibrated_airspeed

    def follow(self, procedure: Procedure) -> None:
        """Fly until the procedure has nothing more to ask for."""
        self.level_pitch = self.state.pitch
        aims = procedure.aims
        aim = next(aims)
        while True:
            self._fly(aim, self.sight.seen())
            try:
                aim = aims.send(self.sight.seen())
            except StopIteration:
                self.sim.stall_warning = True
                return

    def _fly(self, aim: Aim, seen: Seen) -> None:
        self.sim.stall_warning = aim.pitch is None and aim.heed_horn
        speed = seen.airspeed
        self.rising += 0.5 * TICK * ((speed - self.last_airspeed) / TICK - self.rising)
        self.last_airspeed = speed
        self.flaps = aim.flaps
        pitch = self._pitch(aim, seen)
        self._power(aim)
        self.hold(self._bank(aim, seen), pitch, roll_limit=aim.roll_rate)
        # The stick has a stop: what lies beyond it must not be there to be taken back in a recovery.
        stop = 1.1 * self.airplane.pitch_power / max((self.airplane.entry_speed / max(speed, 15.0)) ** 2, 0.5)
        self.elevator_integral = clip(self.elevator_integral, stop)

    def _power(self, aim: Aim) -> None:
        if aim.throttle is None:
            error = aim.airspeed - self.state.calibrated_airspeed
            self.airspeed_integral = clip(self.airspeed_integral + 0.006 * error * TICK, 0.7)
            self.throttle = min(max(0.5 + self.airspeed_integral + 0.05 * error, 0.08), 1.0)
        else:
            self.throttle += clip(aim.throttle - self.throttle, 0.5 * TICK)

    # Lateral ---------------------------------------------------------------------------------------------

    def _bank(self, aim: Aim, seen: Seen) -> float:
        if aim.circle is not None:
            return self._on_circle(aim.circle, seen, aim.bank_limit)
        if aim.line is not None:
            return self._on_line(aim.line, seen, aim.bank_limit)
        if aim.heading is not None:
            return clip(0.9 * (aim.heading - seen.heading), aim.bank_limit)
        return aim.bank or 0.0

    @staticmethod
    def _on_circle(circle: Circle, seen: Seen, most: float) -> float:
        """Acceleration toward the center: the circle's own, a spring and a damper."""
        needed = seen.ground_speed**2 / circle.radius
        spring = CIRCLE_FREQUENCY**2 * circle.outside(seen) + 1.6 * CIRCLE_FREQUENCY * circle.opening(seen)
        ignorant = seen.true_airspeed**2 / circle.radius
        wanted = circle.skill * (needed + clip(spring, 0.5 * needed)) + (1 - circle.skill) * ignorant
        crab = math.remainder(seen.track - seen.heading, 2 * math.pi)
        bank = math.atan2(wanted, G * max(math.cos(crab), 0.7))
        return circle.side * min(max(bank, 0.0), most)

    def _on_line(self, line: Line, seen: Seen, most: float) -> float:
        """Track toward the line, the steeper the farther; the track over the ground holds the wind off."""
        reach = 9.0 * max(seen.ground_speed, 15.0)
        wanted = line.track - clip(math.atan2(line.right_of(seen), reach), 40 * DEGREE)
        return clip(0.9 * math.remainder(wanted - seen.track, 2 * math.pi), most)

    # Vertical --------------------------------------------------------------------------------------------

    def _pitch(self, aim: Aim, seen: Seen) -> float:
        speed = max(seen.true_airspeed, 15.0)
        if aim.pitch is not None:
            self.level_pitch += clip(aim.pitch - self.level_pitch, aim.pitch_rate * TICK)
            return self.level_pitch
        if aim.climb is not None or aim.altitude is not None:
            climb = aim.climb
            if climb is None:
                climb = clip(0.12 * ((aim.altitude or 0.0) - seen.altitude), 4.0)
            error = climb - seen.climb
            self.level_pitch += 0.35 * error / speed * TICK
            self.level_pitch = min(max(self.level_pitch, -15 * DEGREE), 28 * DEGREE)
            # A first guess of the angle of attack that the load asks for; the integral corrects it.
            extra = 3.5 * DEGREE * (1 / max(math.cos(seen.bank), 0.4) - 1)
            return self.level_pitch + 1.0 * error / speed + extra
        fast = seen.airspeed - aim.airspeed
        self.level_pitch += (0.004 * clip(fast, 8.0) + 0.012 * self.rising) * TICK
        self.level_pitch = min(max(self.level_pitch, -22 * DEGREE), 14 * DEGREE)
        return self.level_pitch + 0.010 * clip(fast, 8.0) + 0.03 * self.rising
