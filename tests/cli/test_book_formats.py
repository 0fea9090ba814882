"""Every command of the book that answers can answer in JSON."""

from __future__ import annotations

import json
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from tests.book.school import INSTRUCTOR, STUDENT, add_lesson, enroll_all

from chalkwing.book import open_book
from chalkwing.cli.book import book


def commands(group: click.Group, before: tuple[str, ...] = ()) -> list[tuple[tuple[str, ...], click.Command]]:
    found: list[tuple[tuple[str, ...], click.Command]] = []
    for name, each in group.commands.items():
        inner = isinstance(each, click.Group)
        found += commands(each, (*before, name)) if inner else [((*before, name), each)]
    return found


@pytest.mark.parametrize(
    ("name", "command"), [pytest.param(*each, id=" ".join(each[0])) for each in commands(book)]
)
def test_every_command_has_the_option(name: tuple[str, ...], command: click.Command) -> None:
    assert any("--format" in option.opts for option in command.params), " ".join(name)


@pytest.mark.parametrize(
    "said",
    [
        ["person", "Ada Holm", "--student"],
        ["airplane", "X-HOLM", "--sheet", "four-seat-160"],
        ["label", "1", "1", "--flown-by", "student"],
        ["note", "1", "less rudder", "--at", "2"],
        ["mark", "1", "1", "alone", "--instructor", INSTRUCTOR],
        ["sign", "1", "--instructor", INSTRUCTOR],
        ["show"], ["show", "1"], ["student", STUDENT], ["progress", STUDENT], ["handover", STUDENT],
        ["people"], ["course"], ["verify"], ["due"], ["marks"], ["readings"], ["common", "show"],
    ],
    ids=" ".join,
)  # fmt: skip
def test_the_answer_is_json_and_nothing_else(tmp_path: Path, said: list[str]) -> None:
    place = tmp_path / "book"
    opened = open_book(place)
    enroll_all(opened)
    add_lesson(opened, tmp_path)
    opened.close()
    answer = CliRunner().invoke(book, [*said, "--book", str(place), "--format", "json"])
    assert answer.exit_code == 0, answer.output
    json.loads(answer.stdout)


def test_backup_restore_export_and_erase_answer_in_json(tmp_path: Path) -> None:
    place = tmp_path / "book"
    opened = open_book(place)
    enroll_all(opened)
    add_lesson(opened, tmp_path)
    (digest,) = opened.vault.everything()
    opened.close()
    copy, ours, form = str(tmp_path / "copy.zip"), ["--book", str(place)], ["--format", "json"]

    def told(*said: str) -> dict[str, object]:
        answer = CliRunner().invoke(book, [*said, *form])
        assert answer.exit_code == 0, answer.output
        plain: dict[str, object] = json.loads(answer.stdout)
        return plain

    assert told("backup", copy, *ours)["file"] == copy
    assert told("restore", copy, "--book", str(tmp_path / "restored"))["faults"] == 0
    assert "people.csv" in str(told("export", str(tmp_path / "out"), *ours)["files"])
    assert told("erase", digest, "--why", "asked for", *ours)["sha256"] == digest
