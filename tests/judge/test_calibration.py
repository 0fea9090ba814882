"""Does the stated probability come true as often as it says? Over many flights whose truth is known.

The values of a flight are its truth plus a sample of the error that its posterior states, or, for the worst
value, an exact Gaussian posterior of an altitude that wanders at random and is recorded once a second.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest
from tests.judge.synthetic import ENTRY_ALTITUDE, INTERVAL, Error, Flight, fly, half_eight, steep_turn

from chalkwing.judge import Judgement, judge
from chalkwing.maneuvers import definition, standard
from chalkwing.units import DEGREE, FOOT, KNOT, Floats

BARE = {kind: replace(definition(kind), facts=()) for kind in ("lazy_eight", "steep_turn")}
"""The definitions without their facts, which take most of the time and are not asked here."""


def bare(flight: Flight, *, seed: int, draws: int = 200) -> Judgement:
    kind = flight.occurrence.kind
    return judge(flight.motion, flight.occurrence, BARE[kind], standard("commercial"), seed=seed, draws=draws)


def surprise(stated: Floats, came_true: Floats) -> float:
    """How many standard deviations the number met lies from the sum of the stated probabilities."""
    return float((came_true.sum() - stated.sum()) / np.sqrt(np.sum(stated * (1.0 - stated))))


def test_probabilities_at_the_180_point_come_true_as_often_as_they_say() -> None:
    errors = {
        "altitude": Error(15.0, 4.0, 5.0),
        "airspeed": Error(2.0 * KNOT, 1.0 * KNOT, 5.0),
        "heading_true": Error(3.0 * DEGREE, 1.5 * DEGREE, 5.0),
    }
    rng = np.random.default_rng(20)
    stated, truly, verdicts = [], [], []
    for seed in range(150):
        # Far enough to either side of the limits that their edges do not cut the posterior.
        by_ft, by_kt, by_deg = rng.uniform(20, 180), rng.uniform(2, 18), rng.uniform(0, 20)
        first = half_eight(degrees=180.0 + by_deg, end_ft=by_ft, end_kt=by_kt)
        second = half_eight(begin_ft=by_ft, begin_kt=by_kt)
        flight = fly([first, second], kind="lazy_eight", errors=errors, seed=seed)
        found = bare(flight, seed=seed)
        for id_, truth in (
            ("altitude_at_180", by_ft <= 100.0),
            ("airspeed_at_180", by_kt <= 10.0),
            ("heading_at_180", by_deg <= 10.0),
        ):
            element = found.element(id_, 1)
            stated.append(element.probability_met)
            truly.append(truth)
            verdicts.append(element.verdict)
    probability, met, verdict = np.array(stated, float), np.array(truly, float), np.array(verdicts)
    assert abs(surprise(probability, met)) < 3.0
    middling = (probability > 0.2) & (probability < 0.8)
    assert middling.sum() > 40  # else this test would show nothing
    assert abs(surprise(probability[middling], met[middling])) < 3.0
    # A verdict may be wrong one time in twenty at the very edge of certainty, much less on the whole.
    assert np.mean(met[verdict == "met"] == 0.0) < 0.03
    assert np.mean(met[verdict == "not_met"] == 1.0) < 0.03


@dataclass(frozen=True)
class Conditioned:
    """An exact posterior of the altitude on the whole grid; everything else is known."""

    values: Mapping[str, Floats]
    mean: Floats
    root: Floats

    def draw(self, first: int, last: int, *, count: int, seed: int) -> Mapping[str, Floats]:
        rng = np.random.default_rng(seed)
        shape = (count, last + 1 - first)
        drawn = {
            name: np.broadcast_to(values[first : last + 1], shape) for name, values in self.values.items()
        }
        scatter = rng.normal(size=(count, self.root.shape[1])) @ self.root[first : last + 1].T
        return {**drawn, "altitude": self.mean[first : last + 1] + scatter}


WANDER, SECONDS, NOISE = 60.0 * FOOT, 6.0, 25.0 * FOOT


@cache
def wandering(times: int) -> tuple[Floats, Floats, Floats, Floats]:
    """Root of the prior, gain, and root of the posterior covariance of a Matern-3/2 altitude seen at 1 Hz."""
    t = np.arange(times) * INTERVAL
    lag = np.sqrt(3.0) * np.abs(t[:, None] - t[None, :]) / SECONDS
    prior = WANDER**2 * (1.0 + lag) * np.exp(-lag)
    rows = np.arange(0, times, round(1.0 / INTERVAL))
    seen = prior[np.ix_(rows, rows)] + NOISE**2 * np.eye(len(rows))
    gain = np.linalg.solve(seen, prior[rows]).T
    posterior = prior - gain @ prior[rows]
    jitter = 1e-6 * np.eye(times)
    return np.linalg.cholesky(prior + jitter), gain, np.linalg.cholesky(posterior + jitter), rows


@cache
def still_turn() -> Flight:
    """A steep turn at exactly its entry altitude."""
    return fly([steep_turn()], kind="steep_turn")


def wandering_turn(seed: int) -> tuple[Flight, Flight]:
    """A steep turn whose altitude wanders at random: as truth, and as estimated from noisy rows."""
    flight = still_turn()
    times = len(flight.motion.time)
    root, gain, posterior_root, rows = wandering(times)
    rng = np.random.default_rng([seed, 99])
    truth = root @ rng.normal(size=times)
    mean = gain @ (truth[rows] + NOISE * rng.normal(size=len(rows)))
    altitudes = (ENTRY_ALTITUDE + truth, ENTRY_ALTITUDE + mean)
    exact, estimated = ({**flight.motion.values, "altitude": altitude} for altitude in altitudes)
    known = Conditioned(exact, altitudes[0], np.zeros_like(root))
    doubted = Conditioned(estimated, altitudes[1], posterior_root)
    return (
        replace(flight, motion=replace(flight.motion, values=exact, posterior=known)),
        replace(flight, motion=replace(flight.motion, values=estimated, posterior=doubted)),
    )


@pytest.fixture(scope="module")
def turns() -> list[tuple[Judgement, Judgement, Judgement]]:
    """Judged from the truth, from the draws, and from the best estimate taken for the truth."""
    judged = []
    for seed in range(140):
        true, estimated = wandering_turn(seed)
        posterior = estimated.motion.posterior
        assert isinstance(posterior, Conditioned)
        certain = replace(posterior, root=np.zeros_like(posterior.root))
        plain = replace(estimated, motion=replace(estimated.motion, posterior=certain))
        judged.append(
            (bare(true, seed=seed, draws=2), bare(estimated, seed=seed), bare(plain, seed=seed, draws=2))
        )
    return judged


def test_probabilities_of_a_held_limit_come_true_as_often_as_they_say(
    turns: list[tuple[Judgement, Judgement, Judgement]],
) -> None:
    stated = np.array([found.element("altitude", 1).probability_met for _, found, _ in turns], float)
    met = np.array([true.element("altitude", 1).verdict == "met" for true, _, _ in turns], float)
    assert 0.2 < met.mean() < 0.8  # both happen
    assert abs(surprise(stated, met)) < 3.0
    middling = (stated > 0.1) & (stated < 0.9)
    assert middling.sum() > 25
    assert abs(surprise(stated[middling], met[middling])) < 3.0


def test_the_worst_value_from_draws_is_unbiased_where_that_of_the_best_estimate_is_not(
    turns: list[tuple[Judgement, Judgement, Judgement]],
) -> None:
    def size(index: int) -> Floats:
        return np.abs(np.array([row[index].element("altitude", 1).value for row in turns], float))

    truth, drawn, plain = size(0), size(1), size(2)
    sd = np.array([found.element("altitude", 1).sd for _, found, _ in turns], float)
    error = drawn - truth
    noise = error.std() / np.sqrt(len(error))
    # The side comes from the draws' means, which miss the truth's worst side now and then: a little low.
    assert abs(np.median(error)) < 3.0 * noise
    assert np.mean(plain - truth) < -3.0 * noise
    # A few turns have their worst on the other side than the draws say; they fall out of the interval.
    assert 0.88 < np.mean(np.abs(error) < 1.96 * sd) < 0.99
