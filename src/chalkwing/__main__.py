"""``python -m chalkwing``: the same command, where its script is not on the path."""

from __future__ import annotations

from chalkwing.cli import main

if __name__ == "__main__":
    main(prog_name="chalkwing")
