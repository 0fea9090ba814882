"""``--set`` of ``brief``: pilots' units where none is written, and nothing that cannot be meant."""

from __future__ import annotations

import inspect
import re

import pytest
from click.testing import CliRunner

from chalkwing.cli import main
from chalkwing.cli.brief_settings import OPTIONS, SETTINGS, read_setting
from chalkwing.reference import registry, solvable
from chalkwing.units import DEGREE, FOOT, KNOT

_UNITS = {"angle": r"\[rad", "speed": r"\[m/s\]", "length": r"\[m\]"}
_FOR_PROGRAMS = {"start_from"}
"""What no command line can give."""


def test_every_setting_that_a_solver_takes_is_known() -> None:
    taken = {name for kind in solvable() for name in registry.settings_of(kind)}
    assert taken - _FOR_PROGRAMS == set(SETTINGS) | set(OPTIONS)


def test_each_is_of_the_unit_that_its_solvers_say() -> None:
    measured = {name for name, kind in SETTINGS.items() if kind in _UNITS}
    seen = set()
    for kind in solvable():
        said = inspect.getdoc(registry._solver(kind)) or ""
        for name in measured & set(registry.settings_of(kind)):
            # Names may share a line ("length, width"); what is "as in" another solver is told there.
            told = re.search(rf"^(?:\w+, )*{name}(?:, \w+)* : .*\n((?: {{4}}.*\n?)+)", said, re.MULTILINE)
            if told is not None:
                assert re.search(_UNITS[SETTINGS[name]], told[1]), (kind, name, told[1])
                seen.add(name)
    assert seen == measured


@pytest.mark.parametrize(
    ("name", "written", "value"),
    [
        ("bank", "80", 80 * DEGREE),
        ("bank", "45deg", 45 * DEGREE),
        ("bank", "45 °", 45 * DEGREE),
        ("bank", "0.5rad", 0.5),
        ("turn", "720", 720 * DEGREE),
        ("radius", "900", 900 * FOOT),
        ("radius", "300m", 300.0),
        ("spacing", "0.5nm", 926.0),
        ("airspeed", "95", 95 * KNOT),
        ("least_margin", "7,5 kt", 7.5 * KNOT),
        ("straight", "4", 4.0),
        ("runway", "270deg", 270 * DEGREE),
        ("throttle", "60%", 0.6),
        ("throttle", "1", 1.0),
        ("power", "hold_speed", "hold_speed"),
        ("turns", "3", 3),
        ("recovery", "impending", "impending"),
        ("rough_air", "Yes", True),
    ],
)
def test_a_bare_number_is_in_the_pilots_unit(name: str, written: str, value: object) -> None:
    found = read_setting(name, written)
    assert type(found) is type(value)
    assert found == (pytest.approx(value) if isinstance(value, float) else value)


@pytest.mark.parametrize(
    ("name", "written", "phrase"),
    [
        ("bank", "80ft", "no unit of an angle; write bank=45deg"),
        ("bank", "steep", "write bank=45deg"),
        ("radius", "900kt", "no unit of a length"),
        ("airspeed", "95stones", "no unit of a speed"),
        ("runway", "27", "true direction with the unit, 270deg"),
        ("throttle", "60", "60% or 0.6"),
        ("throttle", "0.6kt", "60% or 0.6"),
        ("turns", "3.5", "whole number"),
        ("turns", "3deg", "whole number"),
        ("recovery", "3", "write recovery=full"),
        ("rough_air", "a bit", "yes or no"),
        ("entry_speed", "95", "an option of its own, --entry-speed"),
        ("maximum_bank", "30deg", "--max-bank"),
        ("maximum_bang", "30deg", "Known: abeam"),
        ("radios", "900ft", "did you mean radius"),
        ("start_from", "3", "no maneuver has such a setting"),
        ("line", "3", "no maneuver has such a setting"),
    ],
)
def test_what_cannot_be_meant_is_refused_with_what_to_write(name: str, written: str, phrase: str) -> None:
    with pytest.raises(ValueError, match=re.escape(phrase)):
        read_setting(name, written)


def test_eighty_degrees_of_bank_are_refused_as_degrees() -> None:
    plain = ("brief", "chandelle", "--airplane", "four-seat-160")
    done = CliRunner().invoke(main, [*plain, "--set", "bank=80"])
    assert done.exit_code == 2, done.output
    assert "80°" in done.stderr
    assert "rad" not in done.stderr
    for said in ("entry_speed=95", "kind=x", "mass=3", "bank=80lb"):
        done = CliRunner().invoke(main, [*plain, "--set", said])
        assert done.exit_code == 2, done.output
        assert "inside chalkwing" not in done.stderr
