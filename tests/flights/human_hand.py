"""Second pilot: a sampled human who looks now and then, reacts late, corrects what bothers, is never still.

Nothing is looked up against attitude: bank is steered by the roll rate that meets the next reference point,
height by flight path and load factor toward an exchange of speed for height.
"""

from __future__ import annotations

import math
from dataclasses import asdict

from tests.flights.goals import Chandelle, Goal, LazyEight, Leg, SteepTurn
from tests.flights.human_body import G, Glimpse, HumanBody, Wish, clip
from tests.flights.truth import Flown

from chalkwing.units import DEGREE, KNOT


class HumanHand(HumanBody):
    """Flies goals one after the other."""

    name = "human"

    def fly(self, goal: Goal) -> list[Flown]:
        if isinstance(goal, Leg):
            self._leg(goal)
            return []
        if isinstance(goal, LazyEight):
            return [self._lazy_eight(goal)]
        if isinstance(goal, Chandelle):
            return [self._chandelle(goal)]
        return self._steep_turn(goal)

    def _leg(self, leg: Leg) -> None:
        began = self.sim.state.time
        held = self.sim.state.heading + leg.turn
        sign = math.copysign(1.0, leg.turn)

        def decide(seen: Glimpse) -> Wish | None:
            to_go = held - seen.heading
            spent = seen.time - began
            if leg.turn:
                if sign * to_go < 2 * DEGREE or spent > 400:
                    return None
                # Lead the roll-out by a third of the bank.
                bank = sign * leg.bank if sign * to_go > 0.35 * abs(seen.bank) else sign * 2 * DEGREE
            else:
                bank = clip(0.8 * to_go, 12 * DEGREE)
                steady = not leg.until_steady or self._steady(leg, seen)
                if (spent > leg.duration and steady) or spent > max(4 * leg.duration, 240):
                    return None
            path, throttle, reached = self._vertical(leg, seen)
            if reached and not leg.turn:
                return None
            return Wish(self.roll_to(bank, seen), self.path_to(path, seen), throttle, leg.flaps)

        while self.live(decide):
            pass

    def _steady(self, leg: Leg, seen: Glimpse) -> bool:
        return (
            abs(seen.airspeed - leg.airspeed) < 2.5 * KNOT
            and abs(seen.altitude - leg.altitude) < 13
            and abs(seen.climb) < 1.2
        )

    def _vertical(self, leg: Leg, seen: Glimpse) -> tuple[float, float, bool]:
        up = leg.vertical == "climb"
        to_go = (leg.altitude - seen.altitude) * (1 if up else -1)
        if leg.vertical == "hold" or to_go < 14:
            return (
                self.level_at(leg.altitude, seen),
                self.power_for(leg.airspeed, seen),
                leg.vertical != "hold",
            )
        if up:
            fast = seen.airspeed - leg.airspeed
            self.climb_path = min(max(self.climb_path + 0.0006 * fast * self.look_every, -0.03), 0.15)
            if seen.airspeed < 1.15 * self.airplane.stall_speed:
                return -0.02, 1.0, False
            return self.climb_path + min(0.008 * fast, 0.05), 1.0, False
        return -2.6 / max(seen.true_airspeed, 15.0), self.power_for(leg.airspeed, seen), False

    def _lazy_eight(self, goal: LazyEight) -> Flown:
        s = self.sim.state
        entry = (s.heading, s.altimeter, s.true_airspeed)
        if not goal.chained:
            self.eight_throttle = self.wish.throttle
        wanted = entry[2] + goal.airspeed_error
        energy = goal.altitude_errors[1] + (wanted**2 - entry[2] ** 2) / (2 * G)
        time = 2.1 * entry[2]  # a heavier, faster airplane takes longer
        change = (
            self.power_feel
            * (energy - 0.7 * self.last_energy_miss)
            / time
            / self.airplane.excess_per_throttle
        )
        throttle = min(max(self.eight_throttle + change, 0.1), 1.0)
        starts, directions, status = [s.time], (goal.direction, -goal.direction), "complete"
        before = s.altimeter + s.true_airspeed**2 / (2 * G)
        for half, sign in enumerate(directions):
            if not self._loop(goal, half, sign, entry, throttle):
                status, directions = "broken_off", directions[: half + 1]
                break
            if half == 0:
                starts.append(self.sim.state.time)
        s = self.sim.state
        if status == "complete":
            self.last_energy_miss += s.altimeter + s.true_airspeed**2 / (2 * G) - before - energy
            self.last_energy_miss = clip(self.last_energy_miss, 60.0)
        return Flown(
            "lazy_eight",
            directions,
            tuple(starts),
            s.time,
            status,
            goal.chained,
            goal.chain_goes_on and status == "complete",
            math.pi,
            asdict(goal),
        )

    def _loop(
        self, goal: LazyEight, half: int, sign: int, entry: tuple[float, float, float], throttle: float
    ) -> bool:
        """One half; False if broken off."""
        begin, began = self.sim.state.heading, self.sim.state.time
        opposite = entry[0] + goal.direction * math.pi * (1 - half)
        whole = sign * (opposite - begin) + goal.heading_errors[half]
        start_altitude, end_altitude = self.sim.state.altimeter, entry[1] + goal.altitude_errors[half]
        # Speed wanted at the top, and the height it buys; more nose-up means a slower top.
        top_speed = self.airplane.stall_speed * (1.45 - 0.025 * goal.pitch_up / DEGREE)
        speed = self.sim.state.calibrated_airspeed
        gain = max(1.1 * (speed**2 - top_speed**2) / (2 * G), 25.0)
        marks = ((0.25, 0.55 * goal.bank), (0.5, goal.bank), (0.75, 0.62 * goal.bank), (1.0, 0.0))
        passes = half == 0 or goal.chain_goes_on
        broken = False

        def decide(seen: Glimpse) -> Wish | None:
            nonlocal broken
            turned = sign * (seen.heading - begin)
            bank = sign * seen.bank
            share = turned / whole
            lost = seen.time - began > 160
            if lost or (goal.break_off is not None and turned + half * math.pi > goal.break_off):
                broken = True
                return None
            if (share > 0.85 and bank < (0.0 if passes else 1.0 * DEGREE)) or share > 1.25:
                return None
            roll = self._roll_to_mark(share, whole, bank, marks, seen)
            turn_rate = max(sign * seen.turn_rate, 0.6 * DEGREE)
            altitude, slope = _exchange(share, start_altitude, end_altitude, gain)
            climb = slope * turn_rate / whole + 0.22 * (altitude - seen.altitude)
            slow = seen.airspeed < 1.08 * self.airplane.stall_speed * math.sqrt(
                max(self.sim.state.load_factor, 0.9)
            )
            path = min(climb / max(seen.true_airspeed, 15.0), 0.21)
            if slow:
                path = min(path, seen.path_angle - 0.05)
            return Wish(sign * roll, self.path_to(max(path, -0.2), seen, time=1.6), throttle)

        while self.live(decide):
            pass
        return not broken

    def _roll_to_mark(
        self, share: float, whole: float, bank: float, marks: tuple[tuple[float, float], ...], seen: Glimpse
    ) -> float:
        """Roll rate into the turn that meets the next mark's bank as the nose comes to it."""
        place, wanted = next(((p, b) for p, b in marks if share < p - 0.01), (1.0, 0.0))
        to_go = max((place - share) * whole, 0.0)
        mean = max(0.5 * (max(bank, 0.0) + wanted), 4 * DEGREE)
        time = to_go / (G * math.tan(mean) / max(seen.true_airspeed, 15.0))
        rate = (wanted - bank) / max(time, 0.8)
        if share < 0.12 and bank < 6 * DEGREE:
            rate = max(rate, 1.2 * DEGREE)  # slow, but a beginning
        if place == 1.0 and time < 1.5:
            rate = min(rate, -2.5 * DEGREE)
        elif place == 1.0 and to_go > 0.15 and bank < 5 * DEGREE:
            rate = 2 * DEGREE  # rolled out short: a little more bank brings the nose round
        return clip(rate, 7 * DEGREE)

    def _chandelle(self, goal: Chandelle) -> Flown:
        s = self.sim.state
        begin, start, sign = s.heading, s.time, goal.direction
        whole = math.pi + goal.heading_error
        stall = self.airplane.stall_speed
        status, held_pitch = "complete", None

        def decide(seen: Glimpse) -> Wish | None:
            nonlocal status, held_pitch
            turned, bank = sign * (seen.heading - begin), sign * seen.bank
            if goal.break_off is not None and turned > goal.break_off:
                status = "broken_off"
                return None
            if (turned > 0.85 * whole and bank < 1.0 * DEGREE) or turned > whole + 0.5:
                return None
            if turned < math.pi / 2:
                ready = bank > 0.8 * goal.bank
                path = (0.02 + 0.62 * goal.pitch_up * min(turned / 1.4, 1.0)) if ready else 0.0
                return Wish(
                    self.roll_to(sign * goal.bank, seen),
                    self.path_to(path, seen, time=1.3),
                    1.0 if ready else self.wish.throttle,
                )
            if held_pitch is None:
                held_pitch = seen.pitch
            half_bank = max(0.5 * bank, 1.5 * DEGREE)
            time = max(whole - turned, 0.0) / (G * math.tan(half_bank) / max(seen.true_airspeed, 15.0))
            roll = -max(bank, 1.5 * DEGREE) / max(time, 0.8)
            if whole - turned > 0.15 and bank < 5 * DEGREE:
                roll = 2 * DEGREE
            pitch_rate = 0.7 * (held_pitch - seen.pitch)
            if seen.airspeed < 1.03 * stall:
                pitch_rate = -2 * DEGREE
            return Wish(sign * clip(roll, 7 * DEGREE), pitch_rate, 1.0)

        while self.live(decide):
            pass
        stop = self.sim.state.time
        self._recover(2.0 if status == "complete" else 0.0)
        return Flown("chandelle", (sign,), (start,), stop, status, False, False, math.pi, asdict(goal))

    def _recover(self, hold: float) -> None:
        """Hold a moment, then lower the nose and let speed come."""
        began, heading = self.sim.state.time, self.sim.state.heading

        def decide(seen: Glimpse) -> Wish | None:
            spent = seen.time - began
            if spent > 14 or (spent > hold + 2 and seen.airspeed > 1.3 * self.airplane.stall_speed):
                return None
            roll = self.roll_to(clip(0.8 * (heading - seen.heading), 8 * DEGREE), seen)
            path = 0.04 if spent < hold else 0.0
            return Wish(roll, self.path_to(path, seen, time=2.0), 1.0)

        while self.live(decide):
            pass

    def _steep_turn(self, goal: SteepTurn) -> list[Flown]:
        s = self.sim.state
        begin, start, entry = s.heading, s.time, (s.altimeter, s.calibrated_airspeed)
        whole, sign = 2 * math.pi * goal.turns, goal.direction
        level_throttle = self.wish.throttle
        status, marks = "complete", []
        # Where the excursions are at their worst, as shares of the turn: a tent each, not a wave.
        peaks = self.rng.uniform(0.25, 0.8, size=3)
        lead = (0.5 + 0.15 * self.rng.normal() * self.roughness) * goal.bank

        def tent(share: float, peak: float) -> float:
            return max(0.0, 1 - abs(share - peak) / 0.30)

        def decide(seen: Glimpse) -> Wish | None:
            nonlocal status
            turned, bank = sign * (seen.heading - begin), sign * seen.bank
            share = turned / whole
            if goal.break_off is not None and turned > goal.break_off:
                status = "broken_off"
                return None
            if turned > 2 * math.pi * (len(marks) + 1) and len(marks) + 1 < goal.turns:
                marks.append(seen.time)
            if (turned > 0.85 * whole and bank < 1.0 * DEGREE) or turned > whole + 1.0:
                return None
            to_go = whole + goal.heading_error - turned
            out = to_go < lead
            if out:
                half_bank = max(0.5 * bank, 2 * DEGREE)
                time = max(to_go, 0.0) / (G * math.tan(half_bank) / max(seen.true_airspeed, 15.0))
                roll = -max(bank, 2 * DEGREE) / max(time, 0.7)
            else:
                wanted = goal.bank + goal.bank_excursion * tent(share, peaks[0])
                if seen.airspeed < 1.13 * self.airplane.stall_speed / math.sqrt(max(math.cos(bank), 0.3)):
                    wanted = min(wanted, bank - 4 * DEGREE)
                roll = sign * self.roll_to(sign * wanted, seen, quick=goal.roll_in_rate)
            altitude = entry[0] + goal.altitude_excursion * tent(share, peaks[1])
            path = self.level_at(altitude, seen, most=4.5)
            throttle = level_throttle
            if not out and bank > 0.5 * goal.bank:
                asked = entry[1] + goal.airspeed_excursion * tent(share, peaks[2])
                throttle += (0.12 if goal.add_power else 0.0) + 0.04 * (asked - seen.airspeed) * (
                    1.0 if goal.add_power else 0.3
                )
            return Wish(
                clip(sign * roll, 0.3), self.path_to(path, seen, time=1.1), min(max(throttle, 0.1), 1.0)
            )

        while self.live(decide):
            pass
        stop = self.sim.state.time
        if status == "broken_off":
            self._recover(0.0)
        times = [start, *marks]
        return [
            Flown(
                "steep_turn",
                (sign,),
                (t,),
                stop if k + 1 == len(times) else times[k + 1],
                status if k + 1 == len(times) else "complete",
                k > 0,
                False,
                2 * math.pi,
                {**asdict(goal), "of_turns": len(times), "turn": k + 1},
            )
            for k, t in enumerate(times)
        ]


def _exchange(share: float, start: float, end: float, gain: float) -> tuple[float, float]:
    """Altitude wanted at a share of the turn, and its slope: up by ``gain``, then down to ``end``."""
    share = min(max(share, 0.0), 1.0)
    if share < 0.5:
        # Nose before bank: height comes sooner than heading does.
        x = max(share / 0.5, 0.02) ** 0.62
        return start + gain * math.sin(0.5 * math.pi * x) ** 2, (
            gain * math.sin(math.pi * x) * 0.5 * math.pi * 0.62 * x / max(share, 0.01)
        )
    y = (share - 0.5) / 0.5
    drop = start + gain - end
    return start + gain - drop * math.sin(0.5 * math.pi * y) ** 2, -drop * math.sin(math.pi * y) * math.pi
