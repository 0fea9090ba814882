"""Second pilot's control laws for aims: looks now and then, compares with what it should look like, corrects.

A circle is kept by the angle at which the track crosses it, a line by a drift angle that is remembered, speed
by moving the path a little and waiting. Distances over the ground are judged by eye, each pilot with a bias.
"""

from __future__ import annotations

import math
from dataclasses import replace

from tests.flights.course.aims import Aim, Circle, Line, Seen
from tests.flights.course.procedures import Procedure
from tests.flights.course.sight import Sight
from tests.flights.human_body import G, Glimpse, Wish, clip
from tests.flights.human_hand import HumanHand
from tests.flights.simulate import Simulator

from chalkwing.units import DEGREE


class HumanCourse(HumanHand):
    """Flies procedures as well as goals."""

    def __init__(self, simulator: Simulator, *, seed: int, roughness: float) -> None:
        super().__init__(simulator, seed=seed, roughness=roughness)
        self.sight = Sight(simulator)
        self.eye = 1 + 0.06 * roughness * float(self.rng.normal())
        self.drift_angle = 0.0
        self.glide_path = -0.08
        self.held_power = self.usual_power = 0.6
        self.power_is_set = False
        self.line: Line | None = None

    def follow(self, procedure: Procedure) -> None:
        """Fly until the procedure has nothing more to ask for."""
        aims = procedure.aims
        aim = next(aims)
        self.held_power = self.usual_power = max(self.wish.throttle, 0.45)
        self.power_is_set = False
        self.glide_path = self.look().path_angle

        def decide(glimpse: Glimpse) -> Wish | None:
            nonlocal aim
            seen = self._taken_in(glimpse)
            try:
                aim = aims.send(seen)
            except StopIteration:
                return None
            self.sim.stall_warning = aim.pitch is None and aim.heed_horn
            return self._wish(aim, seen, glimpse)

        while self.live(decide):
            pass
        self.sim.stall_warning = True
        self.cruise_throttle = self.wish.throttle

    def _taken_in(self, glimpse: Glimpse) -> Seen:
        """The view outside and the instruments as this pilot takes them in."""
        return replace(
            self.sight.seen(),
            bank=glimpse.bank,
            pitch=glimpse.pitch,
            heading=glimpse.heading,
            altitude=glimpse.altitude,
            airspeed=glimpse.airspeed,
            climb=glimpse.climb,
        )

    def _wish(self, aim: Aim, seen: Seen, glimpse: Glimpse) -> Wish:
        roll = self.roll_to(self._bank(aim, seen), glimpse, quick=aim.roll_rate)
        return Wish(roll, self._path_rate(aim, seen, glimpse), self._throttle(aim, seen), aim.flaps)

    def _throttle(self, aim: Aim, seen: Seen) -> float:
        if aim.throttle is not None:
            self.power_is_set = True
            return aim.throttle
        if self.power_is_set:
            self.held_power, self.power_is_set = self.usual_power, False
        if seen.buffet:
            return 1.0
        slow = aim.airspeed - seen.airspeed
        self.held_power = min(max(self.held_power + 0.004 * slow * self.look_every, 0.1), 1.0)
        return min(max(self.held_power + 0.035 * slow, 0.03), 1.0)

    # Lateral ---------------------------------------------------------------------------------------------

    def _bank(self, aim: Aim, seen: Seen) -> float:
        if aim.circle is not None:
            return self._round(aim.circle, seen, aim.bank_limit)
        if aim.line is not None:
            return self._along(aim.line, seen, aim.bank_limit)
        if aim.heading is not None:
            to_go = aim.heading - seen.heading
            return clip(0.7 * to_go if abs(to_go) > 1.5 * DEGREE else 0.0, aim.bank_limit)
        return aim.bank or 0.0

    def _round(self, circle: Circle, seen: Seen, most: float) -> float:
        """Bank as remembered for this speed over the ground, more of it where the track points outward."""
        far = (circle.outside(seen) + circle.radius) * self.eye
        far += float(self.rng.normal()) * 0.02 * self.roughness * circle.radius
        closing = clip(1.4 * (far - circle.radius) / circle.radius, 30 * DEGREE)
        wanted = circle.tangent(seen) + circle.side * closing
        outward = circle.side * math.remainder(wanted - seen.track, 2 * math.pi)
        pace = seen.true_airspeed + circle.skill * (seen.ground_speed - seen.true_airspeed)
        steady = math.atan(pace**2 / (G * circle.radius))
        return circle.side * min(max(steady + circle.skill * 0.9 * outward, 4 * DEGREE), most)

    def _along(self, line: Line, seen: Seen, most: float) -> float:
        """Hold a heading into the wind that was found to work; correct it when the line slides away."""
        if line is not self.line:
            self.line, self.drift_angle = line, 0.0
        off = line.right_of(seen)
        # The drift angle is learned from the way the ground goes by, a third of it in each few seconds.
        crab = math.remainder(seen.heading - seen.track, 2 * math.pi)
        self.drift_angle += 0.25 * self.look_every * (crab - self.drift_angle)
        back = clip(off / (12.0 * max(seen.ground_speed, 15.0)), 30 * DEGREE)
        wanted = line.track + self.drift_angle - back
        return clip(0.8 * math.remainder(wanted - seen.heading, 2 * math.pi), most)

    # Vertical --------------------------------------------------------------------------------------------

    def _path_rate(self, aim: Aim, seen: Seen, glimpse: Glimpse) -> float:
        speed = max(seen.true_airspeed, 15.0)
        if aim.pitch is not None:
            return clip(0.8 * (aim.pitch - seen.pitch), aim.pitch_rate)
        if aim.climb is not None:
            return self.path_to(clip(aim.climb / speed, 0.3), glimpse, time=1.2)
        if aim.altitude is not None:
            climb = clip(0.1 * (aim.altitude - seen.altitude), 3.5)
            climb = min(climb, -2.5) if seen.buffet else climb
            return self.path_to(climb / speed, glimpse, time=1.3)
        fast = seen.airspeed - aim.airspeed
        self.glide_path = min(max(self.glide_path + 0.0014 * fast * self.look_every, -0.33), 0.14)
        wanted = self.glide_path + clip(0.010 * fast, 0.10)
        return self.path_to(wanted, glimpse, time=2.2)
