"""docs/cli.md from the commands' own help: ``python -m tests.cli.cli_reference`` writes it anew."""

from __future__ import annotations

from pathlib import Path

import click
from click.testing import CliRunner

from chalkwing.cli import main

PAGE = Path(__file__).parent.parent.parent / "docs" / "cli.md"
HEAD = """# The command line

Generated from `--help` by `python -m tests.cli.cli_reference`; a test holds it up to date.

Data goes to standard output, everything else to standard error. Exit code 0 is success, 2 a refusal with its
reason; nothing is half-written.
"""


def commands() -> dict[str, click.Command]:
    return {"": main, **main.commands}


def help_of(name: str) -> str:
    arguments = [name, "--help"] if name else ["--help"]
    return CliRunner().invoke(main, arguments, prog_name="chalkwing", terminal_width=80).output


def reference() -> str:
    sections = [
        f"\n## `{f'chalkwing {name}'.strip()}`\n\n```\n{help_of(name).rstrip()}\n```\n" for name in commands()
    ]
    return HEAD + "".join(sections)


if __name__ == "__main__":
    PAGE.write_text(reference(), encoding="utf-8")
