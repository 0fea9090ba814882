"""The sweep changes what it says, one thing at a time, and leaves nothing changed behind."""

from __future__ import annotations

import pytest
from tests.flights.accuracy.sweep import CONSTANTS, TUNED, Change, Counts, changed

from chalkwing.find.tuning import DEFAULT


@pytest.mark.parametrize("name", TUNED)
def test_a_scalar_of_the_tuning_is_changed_alone(name: str) -> None:
    with changed(Change(name, 1.5)) as tuning:
        differing = [each for each in TUNED if getattr(tuning, each) != getattr(DEFAULT, each)]
    assert differing == [name]
    assert getattr(tuning, name) == pytest.approx(1.5 * getattr(DEFAULT, name))


@pytest.mark.parametrize("name", CONSTANTS)
def test_a_constant_is_changed_where_it_stands_and_only_meanwhile(name: str) -> None:
    before = getattr(CONSTANTS[name], name)
    with changed(Change(name, 0.5)) as tuning:
        assert getattr(CONSTANTS[name], name) == pytest.approx(0.5 * before)
        assert tuning == DEFAULT
    assert getattr(CONSTANTS[name], name) == before


def test_counts_add_up_and_tell_f1() -> None:
    both = Counts(found=8, missed=2, false=1) + Counts(in_baits=3)
    assert both.told() == "0.842 (1, 3)"  # 2 x 8 of 19
