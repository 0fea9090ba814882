"""A person's word on how a lesson's logs are read, kept with its judging so that they are read so again."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from chalkwing.book.ledger import digest
from chalkwing.errors import BookTrouble, Fault, FaultyColumnMap
from chalkwing.toml_files import parse_toml, read_text

LONGEST_MAP = 16_000
"""Letters of a column map: some hundred columns."""
LONGEST_ZONE = 64


@dataclass(frozen=True)
class LogSettings:
    """``column_map``: what the columns hold, as TOML, to the letter; ``zone``: where local times are kept.

    None where the file's own word is taken.
    """

    column_map: str | None = None
    zone: str | None = None

    def over(self, kept: LogSettings) -> LogSettings:
        """These, and those kept before wherever these say nothing."""
        return LogSettings(
            kept.column_map if self.column_map is None else self.column_map,
            kept.zone if self.zone is None else self.zone,
        )

    def map_in(self, folder: Path) -> Path | None:
        """The column map as a file in ``folder``, as a reader takes it; None where there is none."""
        if self.column_map is None:
            return None
        path = folder / "columns.toml"
        path.write_text(self.column_map, encoding="utf-8")
        return path

    @property
    def told(self) -> dict[str, str]:
        """What of them was said, for the ledger: of a column map its digest."""
        told = {"column_map": self.column_map and digest(self.column_map), "zone": self.zone}
        return {name: value for name, value in told.items() if value is not None}

    @property
    def said(self) -> str:
        """In words; nothing where nothing was said.

        >>> LogSettings("[columns]", "+02:00").said, LogSettings().said
        ('read with a column map, and local times as those of zone +02:00', '')
        """
        parts = [
            "with a column map" if self.column_map is not None else "",
            f"local times as those of zone {self.zone}" if self.zone is not None else "",
        ]
        said = ", and ".join(part for part in parts if part)
        return f"read {said}" if said else ""


AS_WRITTEN = LogSettings()
"""Nothing said: the files' own word is taken."""


def log_settings(*, column_map: Path | None, zone: str | None) -> LogSettings:
    """What a person gave: a column map as a file, and a zone.

    Raises `FaultyColumnMap` and `BookTrouble` as :func:`column_map_text` and :func:`known_zone`. Whether the
    log has the columns that a map names is known once it is read.
    """
    text = None
    if column_map is not None:
        text = column_map_text(read_text(column_map, FaultyColumnMap), where=column_map.name)
    return LogSettings(text, None if zone is None else known_zone(zone))


def column_map_text(text: str, *, where: str) -> str:
    """The text of a column map, once it is known that it can be kept and is TOML; ``where`` names it.

    Raises `FaultyColumnMap` otherwise.
    """
    text = text.removeprefix("\ufeff")
    if len(text) > LONGEST_MAP:
        fault = f"has {len(text)} letters; at most {LONGEST_MAP} are taken"
        raise FaultyColumnMap(where=where, faults=[Fault("file", fault)])
    try:
        text.encode()
    except UnicodeEncodeError as error:
        fault = f"holds a letter that no file can hold (letter {error.start + 1})"
        raise FaultyColumnMap(where=where, faults=[Fault("file", fault)]) from None
    parse_toml(text, FaultyColumnMap, where=where)
    return text


def known_zone(text: str) -> str:
    """The zone as given; refuses what is none with `BookTrouble`."""
    from chalkwing.recordings.delimited.column_map import zone_rule

    if len(text) > LONGEST_ZONE or zone_rule(text) is None:
        raise BookTrouble(
            f"{text[:LONGEST_ZONE]!r} is no zone.",
            where="zone",
            next_step="Write UTC, +02:00 or a zone's name such as Atlantic/Azores.",
        )
    return text
