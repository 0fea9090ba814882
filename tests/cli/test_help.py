"""Every command explains itself, the reference page is up to date, and help loads nothing heavy."""

from __future__ import annotations

import subprocess
import sys

import pytest
from click.testing import CliRunner
from tests.cli.cli_reference import PAGE, commands, reference

from chalkwing import __version__
from chalkwing.cli import main


@pytest.mark.parametrize(("name", "command"), commands().items())
def test_every_command_and_option_has_help(name, command):
    assert command.help
    for parameter in command.params:
        if parameter.param_type_name == "option":
            assert parameter.help, f"{name} {parameter.opts}"


def test_the_reference_page_is_up_to_date():
    assert PAGE.read_text(encoding="utf-8") == reference(), "run: python -m tests.cli.cli_reference"


def test_version():
    assert CliRunner().invoke(main, ["--version"]).output == f"chalkwing, version {__version__}\n"


def test_help_loads_nothing_heavy():
    # What costs tenths of a second must wait until a command needs it (docs/decisions/0002).
    heavy = {"numba", "numpy", "polars", "pyproj", "rich", "scipy"}
    script = (
        "import sys\nfrom chalkwing.cli import main\n"
        "try:\n    main(['debrief', '--help'])\nexcept SystemExit:\n    pass\n"
        "print(sorted(sys.modules), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert "Usage" in done.stdout
    assert not heavy.intersection(eval(done.stderr))
