"""Noise levels fitted by likelihood, and the slow errors that are added afterwards."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from tests.motion.known import LevelFlight, lesson_truth
from tests.motion.recorder import NOISE, PANEL, TRACK, record

from chalkwing.motion import estimate, noise, reconstruct, wander
from chalkwing.motion import layout as at
from chalkwing.motion.observations import observe
from chalkwing.motion.priors import Priors
from chalkwing.motion.solve import FINE, Workspace, factored, settle, solve
from chalkwing.units import Floats

CHANNEL: dict[int, str] = {
    at.SEES_HEIGHT: "geometric_altitude",
    at.SEES_PRESSURE: "pressure_altitude",
    at.SEES_U_NORTH: "velocity_north",
    at.SEES_INDICATED: "indicated_airspeed",
    at.SEES_BANK: "bank",
    at.SEES_PITCH: "pitch",
    at.SEES_HEADING: "heading_true",
    at.SEES_LOAD: "load_factor",
}
TWICE = 2.0


@dataclass(frozen=True)
class Fitted:
    """Priors before the first refit, after it, and after a few more."""

    before: Priors
    once: Priors
    settled: Priors


@pytest.fixture(scope="module")
def fitted() -> Fitted:
    """The demo's lesson (889 rows) with twice the usual noise, so that no level lies at a bound."""
    recording = record(lesson_truth(), PANEL, noise=TWICE)
    seen = observe(recording, variation=0.0)
    begun = estimate._begin(recording, seen, start=0.0, end=float(recording.time[-1]))
    problem, priors, states, statics = estimate._problem(begun, sheet=None, loosen=1.0)
    work = Workspace(problem, priors)
    solution = settle(problem, priors, states, statics, work)
    found = [priors]
    for _ in range(5):
        found.append(noise.refit(found[-1], solution, factored(problem, found[-1], solution, work), work))
        best = solution.best
        solution = solve(problem, found[-1], best.states, best.statics, work, most=5, enough=FINE)
    return Fitted(found[0], found[1], found[-1])


@pytest.mark.parametrize("kind", CHANNEL)
def test_repeated_refits_find_the_noise_that_was_put_in(fitted: Fitted, kind: int) -> None:
    # 889 rows give an sd to 1/sqrt(2 x 889) = 2.4 %: 7 % for three of them. Starting values weigh 5 to 20
    # rows, which for attitude starting at three to seven times the truth is up to 4 %, and Huber's bend at
    # 2.5 sd takes about 2 % from the tails. 15 % covers their sum.
    level = fitted.settled.levels[kind] / (TWICE * NOISE[CHANNEL[kind]])
    assert level == pytest.approx(1.0, abs=0.15)


@pytest.mark.parametrize("kind", CHANNEL)
def test_each_refit_goes_toward_the_truth(fitted: Fitted, kind: int) -> None:
    truth = TWICE * NOISE[CHANNEL[kind]]
    before, once, settled = (
        abs(np.log(priors.levels[kind] / truth)) for priors in (fitted.before, fitted.once, fitted.settled)
    )
    assert once < before or before < 0.15
    assert settled <= once + 0.05


def test_noise_is_told_apart_by_a_factor() -> None:
    # Half a reconstruction's worth: the one refit that it makes must see three times the noise as about that.
    # It goes part of the way from its starting value, so between two and three.
    truth = LevelFlight().truth()
    quiet, loud = (reconstruct(record(truth, TRACK, noise=times)).channel_sds for times in (2.0, 6.0))
    for name in ("geometric_altitude", "velocity_north"):
        assert 2.0 < loud[name] / quiet[name] < 3.5


def test_more_noise_makes_wider_bands() -> None:
    truth = LevelFlight().truth()
    bank = [np.mean(reconstruct(record(truth, TRACK, noise=times)).sds["bank"]) for times in (1.0, 3.0, 9.0)]
    assert bank[0] < bank[1] < bank[2]


# --- slow errors -------------------------------------------------------------------------------------------


def correlation(walked: Floats, steps: int) -> float:
    return float(np.mean(walked[:, steps:] * walked[:, :-steps]) / np.mean(walked**2))


def test_a_wander_is_stationary_with_its_own_sd_and_time() -> None:
    # 4,000 walks: an sd to 1/sqrt(2 x 4,000) = 1.1 % at any one time, a correlation to 1.6 %; four times
    # each.
    slow = wander.Wander(("bank",), sd=2.0, time=20.0)
    times = np.arange(0.0, 120.0, 0.25)
    walked = wander.walk(4000, times, slow, np.random.default_rng(0))
    at_nodes = walked[:, ::8]  # interpolated between nodes 2 s apart, where the sd dips by a few percent
    assert at_nodes.std(axis=0) == pytest.approx(np.full(at_nodes.shape[1], 2.0), rel=0.05)
    assert abs(walked.mean()) < 4 * 2.0 / np.sqrt(4000 * 120 / 40)
    for lag in (10.0, 20.0, 40.0):
        assert correlation(at_nodes, int(lag / 2)) == pytest.approx(np.exp(-lag / 20.0), abs=0.03)
    between = walked[:, 4::8].std(axis=0)
    assert np.all(between > 0.93 * 2.0)


def test_a_window_too_short_to_wander_in_is_shifted_as_a_whole() -> None:
    slow = wander.Wander(("bank",), sd=2.0, time=300.0)
    walked = wander.walk(2000, np.arange(0.0, 3.0, 0.25), slow, np.random.default_rng(0))
    assert walked.std() == pytest.approx(2.0, rel=0.07)
    # Over 3 s of a process of 300 s: sd x sqrt(2 x 3 / 300) = 0.28 at most, less when interpolated.
    assert np.std(walked[:, -1] - walked[:, 0]) < 0.3


def test_bands_contain_the_wanders_that_draws_walk() -> None:
    motion = reconstruct(record(LevelFlight().truth(), PANEL))
    for slow in wander.wanders(airspeed_recorded=True, pitch_recorded=True):
        for name in slow.quantities:
            assert np.all(motion.sds[name] >= slow.sd)
            drawn = motion.draws(start=10.0, end=40.0, count=300, names=[name])[name].std(axis=0)
            assert np.all(drawn > 0.85 * slow.sd)  # 300 draws: an sd to 4 %; interpolation takes a little too


@pytest.mark.parametrize("seconds", [15.0, 30.0, 60.0])
def test_a_place_that_drifts_is_a_speed_that_is_not_flown(seconds: float) -> None:
    # The mean speed over T of a place that wanders with sd s and time t: s sqrt(2 (1 - exp(-T / t))) / T.
    drift = wander.PLACE * np.sqrt(2.0 * (1.0 - np.exp(-seconds / 60.0))) / seconds
    times = np.arange(0.0, seconds, 0.25)
    (slow,) = (
        one
        for one in wander.wanders(airspeed_recorded=True, pitch_recorded=True)
        if one.quantities == ("ground_speed",)
    )
    told = wander.walk(4000, times, slow, np.random.default_rng(0)).mean(axis=1).std()
    assert told == pytest.approx(drift, rel=0.35)
