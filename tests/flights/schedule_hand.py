"""First pilot: attitude schedules against heading change, flown by cascaded loops twenty times a second.

Bank and pitch attitude are looked up against how far the nose has turned; inner loops fly the attitude.
"""

from __future__ import annotations

import math
from dataclasses import asdict

from tests.flights.goals import Chandelle, Goal, LazyEight, Leg, SteepTurn
from tests.flights.schedule_loops import AttitudeLoops, G, clip
from tests.flights.simulate import TICK, State
from tests.flights.truth import Flown

from chalkwing.units import DEGREE

ROLL_OUT_DONE = 1.0 * DEGREE
ROLL_OUT_SHORT = 0.14  # how far short the roll-out of an eight stops without an allowance [rad]


class ScheduleHand(AttitudeLoops):
    """Flies goals one after the other."""

    name = "schedule"

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
        start, entry_heading = self.state.time, self.state.heading
        held_heading = entry_heading + leg.turn
        self.flaps = leg.flaps
        reached = False
        while True:
            s = self.state
            to_go = held_heading - s.heading
            if leg.turn:
                sign = math.copysign(1.0, leg.turn)
                bank = sign * min(leg.bank, max(0.9 * sign * to_go, -0.1))
                if sign * to_go < 1.5 * DEGREE:
                    return
            else:
                bank = clip(0.9 * to_go, 15 * DEGREE)
                if (s.time - start > leg.duration and self._steady(leg)) or reached:
                    return
            pitch, reached = self._vertical(leg)
            self.hold(bank, pitch, roll_limit=0.12)
            if s.time - start > max(4 * leg.duration, 240):
                return

    def _steady(self, leg: Leg) -> bool:
        s = self.state
        return not leg.until_steady or (
            abs(s.calibrated_airspeed - leg.airspeed) < 1.5
            and abs(s.altimeter - leg.altitude) < 12
            and abs(s.vertical_speed) < 1.0
        )

    def _vertical(self, leg: Leg) -> tuple[float, bool]:
        s = self.state
        to_go = leg.altitude - s.altimeter
        holding = (
            leg.vertical == "hold" or abs(to_go) < 12 or to_go * (1 if leg.vertical == "climb" else -1) < 0
        )
        if holding:
            if leg.power is None:
                self.throttle_for_airspeed(leg.airspeed)
            return self.pitch_for_altitude(leg.altitude), leg.vertical != "hold"
        if leg.vertical == "climb":
            self.throttle += clip(1.0 - self.throttle, 0.4 * TICK)
            error = s.calibrated_airspeed - leg.airspeed
            self.level_pitch = min(max(self.level_pitch + 0.006 * error * TICK, -4 * DEGREE), 13 * DEGREE)
            if s.calibrated_airspeed < 1.1 * self.airplane.stall_speed:
                return self.level_pitch + 0.012 * error - 4 * DEGREE, False
            return min(self.level_pitch + 0.012 * error, 14 * DEGREE), False
        self.throttle_for_airspeed(leg.airspeed)
        error = -2.5 - s.vertical_speed
        self.level_pitch += 0.25 * error / max(s.true_airspeed, 20.0) * TICK
        return self.level_pitch + 0.9 * error / max(s.true_airspeed, 20.0), False

    # Lazy eight ------------------------------------------------------------------------------------------

    def _lazy_eight(self, goal: LazyEight) -> Flown:
        s = self.state
        entry_altitude, entry_speed, entry_heading = s.altimeter, s.true_airspeed, s.heading
        if not goal.chained:
            self.eight_pitch, self.eight_altitude, self.eight_throttle = s.pitch, s.altimeter, self.throttle
            self.eight_speed = s.true_airspeed
        wanted_speed = entry_speed + goal.airspeed_error
        energy_error = goal.altitude_errors[1] + (wanted_speed**2 - entry_speed**2) / (2 * G)
        rate = energy_error / self.eight_duration + self.eight_loss
        self.throttle = min(max(self.eight_throttle + rate / self.airplane.excess_per_throttle, 0.1), 1.0)
        energy_before = s.altimeter + s.true_airspeed**2 / (2 * G)
        starts = [s.time]
        directions = (goal.direction, -goal.direction)
        status, done = "complete", 0.0
        for half, sign in enumerate(directions):
            stop_at = None if goal.break_off is None else goal.break_off - done
            last = half == 1 and not goal.chain_goes_on
            broken = self._half_eight(
                goal, half, sign, entry_heading, entry_altitude, last=last, stop_at=stop_at
            )
            done += math.pi
            if broken:
                status, directions = "broken_off", directions[: half + 1]
                break
            if half == 0:
                starts.append(self.state.time)
        s = self.state
        if status == "complete":
            mean_rate = (s.altimeter + s.true_airspeed**2 / (2 * G) - energy_before) / (s.time - starts[0])
            self.eight_duration = s.time - starts[0]
            self.eight_loss += 0.6 * (energy_error / (s.time - starts[0]) - mean_rate)
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

    def _half_eight(
        self,
        goal: LazyEight,
        half: int,
        sign: int,
        entry_heading: float,
        entry_altitude: float,
        *,
        last: bool,
        stop_at: float | None,
    ) -> bool:
        error = goal.heading_errors[half]
        begin = self.state.heading
        to_turn = (
            sign * ((entry_heading + goal.direction * math.pi * (1 - half)) - begin) + error + ROLL_OUT_SHORT
        )
        level = self.eight_pitch
        target = entry_altitude + goal.altitude_errors[half]
        top = None
        bank = 0.0
        while True:
            s = self.state
            turned = sign * (s.heading - begin)
            share = turned / to_turn * math.pi
            if stop_at is not None and turned > stop_at:
                return True
            bank = self._eight_bank(share, bank, goal.bank, to_turn - turned, s, last=last)
            if share < math.pi / 2:
                pitch = level + goal.pitch_up * math.sin(min(2 * max(share, 0.0), math.pi)) ** 0.8
                if share > 0.25 * math.pi:
                    # A wing at the top needs more angle of attack: level nose there, not level path.
                    pitch = max(pitch, level)
            else:
                if top is None:
                    top = s.altimeter
                down = min((share - math.pi / 2) / (math.pi / 2), 1.0)
                wanted = target + (top - target) * 0.5 * (1 + math.cos(math.pi * down))
                slope = -(top - target) * 0.5 * math.sin(math.pi * down) * 2 * self._turn_rate(s)
                miss = wanted - s.altimeter
                sink = slope + clip(0.25 * miss, 5.0) - s.vertical_speed
                pitch = s.pitch + clip(0.8 * sink / max(s.true_airspeed, 20), 8 * DEGREE)
                pitch = min(max(pitch, level - 14 * DEGREE), level + 6 * DEGREE)
            if s.calibrated_airspeed < 1.08 * self.airplane.stall_speed * math.sqrt(max(s.load_factor, 0.8)):
                pitch = min(pitch, s.pitch - 0.01)
            self.hold(sign * bank, pitch, roll_limit=0.15)
            if (
                turned > 0.8 * to_turn and sign * s.bank < (ROLL_OUT_DONE if last else 0.0)
            ) or turned > to_turn + 0.7:
                return False

    @staticmethod
    def _turn_rate(s: State) -> float:
        return abs(G * math.tan(s.bank) / max(s.true_airspeed, 20.0))

    def _eight_bank(
        self, share: float, bank: float, most: float, to_go: float, s: State, *, last: bool
    ) -> float:
        """Bank into the turn: slow to start, steepest at the middle, level again when turned."""
        if share < math.pi / 2:
            wanted = most * (0.12 + 0.88 * math.sin(max(share, 0.0)) ** 1.15)
            return bank + clip(wanted - bank, 3.0 * DEGREE * TICK * (1.0 if share < 0.3 else 2.0))
        wanted = most * math.sin(min(share, math.pi)) ** 0.9
        # Near the end heading runs out with the square of the time left: roll level in that time.
        time_left = 2 * max(to_go, 0.0) / max(self._turn_rate(s), 0.5 * DEGREE)
        if time_left < 6.0 or share > 0.93 * math.pi:
            rate = max(abs(s.bank) / max(time_left, 0.5), 1.5 * DEGREE)
            return max(bank - min(rate, 8 * DEGREE) * TICK, -4 * DEGREE)
        return bank + clip(wanted - bank, 6.0 * DEGREE * TICK)

    # Chandelle -------------------------------------------------------------------------------------------

    def _chandelle(self, goal: Chandelle) -> Flown:
        s = self.state
        begin, start, level = s.heading, s.time, s.pitch
        to_turn = math.pi + goal.heading_error
        sign, bank, status, pitch = goal.direction, 0.0, "complete", level
        while True:
            s = self.state
            turned = sign * (s.heading - begin)
            if goal.break_off is not None and turned > goal.break_off:
                status = "broken_off"
                break
            if turned < math.pi / 2:
                bank += clip(goal.bank - bank, 8 * DEGREE * TICK)
                if bank > 0.9 * goal.bank:
                    self.throttle += clip(1.0 - self.throttle, 0.25 * TICK)
                    rise = min(max(turned, 0.0) / (math.pi / 2), 1.0) ** 0.8
                    pitch += clip(level + goal.pitch_up * rise - pitch, 2.5 * DEGREE * TICK)
            else:
                time_left = 2 * max(to_turn - turned, 0.0) / max(self._turn_rate(s), 0.7 * DEGREE)
                bank -= min(max(abs(s.bank), 1.5 * DEGREE) / max(time_left, 0.6), 8 * DEGREE) * TICK
                bank = max(bank, -1.5 * DEGREE)
                if s.calibrated_airspeed < 1.03 * self.airplane.stall_speed:
                    pitch -= 2.0 * DEGREE * TICK
            self.hold(sign * bank, pitch, roll_limit=0.2)
            if turned > 0.7 * to_turn and sign * self.state.bank < ROLL_OUT_DONE:
                break
        stop, held = self.state.time, self.state.heading
        for _ in range(int(2.0 / TICK) if status == "complete" else 0):
            self.hold(clip(0.8 * (held - self.state.heading), 5 * DEGREE), pitch)
        self._recover(level)
        return Flown("chandelle", (sign,), (start,), stop, status, False, False, math.pi, asdict(goal))

    def _recover(self, level: float) -> None:
        """Wings level, nose to about level, wait for speed."""
        heading = self.state.heading
        for _ in range(int(12 / TICK)):
            s = self.state
            pitch = s.pitch + clip(level + 3 * DEGREE - s.pitch, 2.5 * DEGREE)
            self.hold(clip(0.8 * (heading - s.heading), 10 * DEGREE), pitch, roll_limit=0.15)
            if s.calibrated_airspeed > 1.35 * self.airplane.stall_speed:
                break
        self.level_pitch = self.state.pitch

    # Steep turn ------------------------------------------------------------------------------------------

    def _steep_turn(self, goal: SteepTurn) -> list[Flown]:
        s = self.state
        begin, start, entry_altitude, entry_speed = s.heading, s.time, s.altimeter, s.calibrated_airspeed
        total = 2 * math.pi * goal.turns
        sign, bank, status, marks = goal.direction, 0.0, "complete", []
        throttle = self.throttle + (0.18 if goal.add_power else 0.03)
        while True:
            s = self.state
            turned = sign * (s.heading - begin)
            if goal.break_off is not None and turned > goal.break_off:
                status = "broken_off"
                break
            if turned > 2 * math.pi * (len(marks) + 1) and len(marks) + 1 < goal.turns:
                marks.append(s.time)
            swing = math.sin(turned / total * 2 * math.pi * 1.3 + goal.phase)
            fade = min(turned / 1.0, 1.0) * min((total - turned) / 1.0, 1.0) if 0 < turned < total else 0.0
            to_go = total + goal.heading_error - turned
            if to_go < 0.5 * goal.bank:
                time_left = 2 * max(to_go, 0.0) / max(self._turn_rate(s), DEGREE)
                bank -= min(max(abs(s.bank), 2 * DEGREE) / max(time_left, 0.5), 15 * DEGREE) * TICK
                bank = max(bank, -2 * DEGREE)
            else:
                bank += clip(goal.bank + fade * goal.bank_excursion * swing - bank, goal.roll_in_rate * TICK)
            margin = s.calibrated_airspeed / (self.airplane.stall_speed * math.sqrt(max(s.load_factor, 0.8)))
            if margin < 1.15:
                bank = max(bank - 8 * DEGREE * TICK, 30 * DEGREE) if to_go > 0.5 * goal.bank else bank
            altitude = entry_altitude + fade * goal.altitude_excursion * math.sin(
                turned / total * 2 * math.pi + goal.phase
            )
            wanted = entry_speed + fade * goal.airspeed_excursion
            if bank > 30 * DEGREE:
                error = wanted - s.calibrated_airspeed if goal.add_power else goal.airspeed_excursion * 0.6
                self.throttle += clip(throttle + 0.05 * error - self.throttle, 0.2 * TICK)
                self.throttle = min(max(self.throttle, 0.1), 1.0)
            self.hold(sign * bank, self._steep_pitch(altitude), roll_limit=0.35)
            if turned > 0.9 * total and sign * self.state.bank < ROLL_OUT_DONE:
                break
        times = [start, *marks]
        stop = self.state.time
        if status == "broken_off":
            self._recover(self.level_pitch)
        goal_as = asdict(goal)
        flown = []
        for k, begin_time in enumerate(times):
            ends = times[k + 1] if k + 1 < len(times) else stop
            flown.append(
                Flown(
                    "steep_turn",
                    (sign,),
                    (begin_time,),
                    ends,
                    status if ends == stop else "complete",
                    k > 0,
                    False,
                    2 * math.pi,
                    {**goal_as, "of_turns": len(times), "turn": k + 1},
                )
            )
        return flown

    def _steep_pitch(self, altitude: float) -> float:
        s = self.state
        wanted = clip(0.15 * (altitude - s.altimeter), 4.0)
        error = wanted - s.vertical_speed
        self.level_pitch += 0.5 * error / max(s.true_airspeed, 20.0) * TICK
        # More angle of attack for the load: a first guess that the integral then corrects.
        self.level_pitch = min(max(self.level_pitch, -8 * DEGREE), 14 * DEGREE)
        extra = 3.5 * DEGREE * (1 / max(math.cos(s.bank), 0.4) - 1)
        return self.level_pitch + 1.1 * error / max(s.true_airspeed, 20.0) + extra
