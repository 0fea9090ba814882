"""The group of the book's commands."""

from __future__ import annotations

import click

from chalkwing.cli.book.accounts import account, accounts, assign, log
from chalkwing.cli.book.common import common
from chalkwing.cli.book.course import course, handover, mark
from chalkwing.cli.book.entering import add, airplane, person
from chalkwing.cli.book.keeping import backup, due, erase, export, restore, verify
from chalkwing.cli.book.reading import people, progress, show, student
from chalkwing.cli.book.recording import judge_again, label, note, sign
from chalkwing.cli.book.standard import marks, readings


@click.group(short_help="The training record: lessons, students, signatures.")
def book() -> None:
    """Keep the training record.

    A lesson is entered with its recordings and what was judged of them. A signature seals it: a later change
    needs a reason and makes a new version, and `chalkwing book verify` shows whether anything was changed
    behind the book's back.

    \b
    Example: chalkwing book person "Mina Orlo" --student
             chalkwing book person "Per Askell" --instructor --certificate 0000000
             chalkwing book airplane X-HOLL --sheet four-seat-160
             chalkwing book add lesson.csv --student "Mina Orlo" --instructor "Per Askell" --airplane X-HOLL
             chalkwing book sign 1 --instructor "Per Askell"
    """


for command in (
    add, show, student, progress, handover, label, mark, note, sign, judge_again, course, common,
    marks, readings, person, people, airplane, verify, backup, restore, export, erase, due,
    account, accounts, assign, log,
):  # fmt: skip
    book.add_command(command)
