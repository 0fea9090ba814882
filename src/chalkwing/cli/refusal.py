"""A refusal as the user reads it."""

from __future__ import annotations

import click


class Refused(click.ClickException):
    """What was wrong, where, and what to do next, on standard error. Exit code 2."""

    exit_code = 2

    def __init__(self, said: Exception | str) -> None:
        super().__init__(str(said))
