"""The ``chalkwing`` command: its subcommands, and what a user sees when something goes wrong."""

from __future__ import annotations

import click

from chalkwing import __version__
from chalkwing.cli.airplanes import airplanes
from chalkwing.cli.book import book
from chalkwing.cli.brief import brief
from chalkwing.cli.compare import compare
from chalkwing.cli.debrief import debrief
from chalkwing.cli.demo import demo
from chalkwing.cli.maneuvers import maneuvers
from chalkwing.cli.motion import motion
from chalkwing.cli.refusal import Refused
from chalkwing.cli.serve import serve
from chalkwing.cli.technique import technique
from chalkwing.errors import ChalkwingError


class _Commands(click.Group):
    """The group that turns every exception into a message; a developer may ask for the traceback."""

    def invoke(self, ctx: click.Context) -> object:
        try:
            return super().invoke(ctx)
        except ChalkwingError as error:
            if ctx.params["traceback"]:
                raise
            raise Refused(error) from error
        except (click.ClickException, click.exceptions.Exit, click.Abort, BrokenPipeError):
            raise
        except OSError as error:
            if ctx.params["traceback"]:
                raise
            raise Refused(_file_trouble(error)) from error
        except Exception as error:
            # An instructor at a desk cannot use a traceback; whoever mends the fault can ask for one.
            if ctx.params["traceback"]:
                raise
            raise Refused(_unexpected(error)) from error


def _file_trouble(error: OSError) -> str:
    reason = (error.strerror or type(error).__name__).lower()
    return f"{error.filename}: {reason}." if error.filename else f"{reason}."


def _unexpected(error: Exception) -> str:
    return (
        f"something went wrong inside chalkwing ({type(error).__name__}: {error}). This is a fault of the "
        "program, not of your file. Please report it with the output of the same command with --traceback "
        "right after 'chalkwing'."
    )


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="chalkwing")
@click.option(
    "--traceback",
    is_flag=True,
    envvar="CHALKWING_TRACEBACK",
    help="For developers: show where an error arose.",
)
def main(traceback: bool) -> None:
    """From a recorded flight to a judged maneuver, with its uncertainty.

    A training aid for flight instructors. The airplane's flight manual, local rules and the licensed
    instructor prevail.
    """


main.add_command(airplanes)
main.add_command(book)
main.add_command(brief)
main.add_command(compare)
main.add_command(debrief)
main.add_command(demo)
main.add_command(maneuvers)
main.add_command(motion)
main.add_command(serve)
main.add_command(technique)
