"""What separates the fields of a log, and which lines hold values."""

from __future__ import annotations

import csv
import re
from collections import Counter
from dataclasses import dataclass
from functools import lru_cache

_SAMPLE = 40
_NUMBER = r"[-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d+)?\s?(?:°?[^\W\d_]{0,4}|[°%º*])"
_CLOCK = r"\d{1,2}:\d{1,2}(?::\d{1,2})?(?:[.,]\d+)?\s?(?:[AaPp]\.?[Mm]\.?)?"
_ZONE = r"\s?(?:Z|UTC|GMT|[+-]\d{1,2}:?\d{2})?"
_DAY = r"(?:\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}\.?|\d{1,2}[-/. ][A-Za-zäéû]{3,9}\.?[-/., ]+\d{2,4})"
_VALUE = re.compile(
    rf"{_NUMBER}|[NSEWO]\s?\d[\d\s.,:°º'′\"″]*|\d[\d\s.,:°º'′\"″]*[NSEWO]?|{_CLOCK}{_ZONE}"
    rf"|{_DAY}(?:[T ]+{_CLOCK})?{_ZONE}|\d{{8}}T\d{{6}}(?:\.\d+)?{_ZONE}|[+-]\d{{2}}:?\d{{2}}|0x[0-9a-fA-F]+"
)
ABSENT = frozenset(
    (
        "",
        "-",
        "--",
        "---",
        "----",
        "-----",
        "nan",
        "null",
        "none",
        "n/a",
        "na",
        "#n/a",
        "inf",
        "-inf",
        "***",
        "*",
        "**",
        "?",
        "x",
        "xxx",
        "invalid",
        "-nan",
        "nil",
        "_",
        "___",
        ".",
        "missing",
        "void",
    )
)
"""What is written where there is no value, in lower case."""
_FLAGS = frozenset(
    (
        "n",
        "s",
        "e",
        "w",
        "o",
        "a",
        "v",
        "am",
        "pm",
        "true",
        "false",
        "on",
        "off",
        "yes",
        "no",
        "up",
        "t",
        "f",
        "m",
        "z",
        "utc",
    )
)


@lru_cache(maxsize=20000)
def is_value(cell: str) -> bool:
    """Whether a cell reads as a number, a time, a date or a position.

    >>> [is_value(c) for c in ("12,5", "N31 10.5", "2024-03-01T10:00:00Z", "Roll", "GPS1")]
    [True, True, True, False, False]
    """
    return _VALUE.fullmatch(cell.strip().strip('"').strip()) is not None


def value_share(fields: list[str]) -> float:
    """Share of the non-empty fields that hold values; 0 when all are empty."""
    told = [field for field in (f.strip() for f in fields) if field.strip('"').lower() not in ABSENT]
    if not told:
        return 0.0
    return sum(is_value(field) or field.lower() in _FLAGS for field in told) / len(told)


def is_text_line(fields: list[str]) -> bool:
    """Whether no field holds a number at all."""
    return not any(any(c.isdigit() for c in field) and is_value(field) for field in fields)


@dataclass(frozen=True)
class Separator:
    """How lines are cut: by one character, or by runs of blanks (``pattern``)."""

    mark: str
    width: int
    quoted: bool = False
    pattern: str | None = None

    @property
    def characters(self) -> str:
        """The characters of an otherwise empty line."""
        return self.mark + " \t"

    @property
    def cut(self) -> str:
        """The single character between fields once ``normalized``."""
        return "\t" if self.pattern else self.mark

    def count(self, line: str) -> int:
        """A quick count of fields that is right where nothing is quoted."""
        return line.count(self.mark) + 1 if self.pattern is None else len(line.split())

    def split(self, line: str) -> list[str]:
        """The fields of one line."""
        if self.pattern:
            return re.split(self.pattern, line.strip())
        if '"' in line and self.quoted:
            return next(csv.reader([line], delimiter=self.mark), [])
        return line.split(self.mark)

    def normalized(self, rows: list[str]) -> list[str]:
        """Rows whose fields are separated by ``cut`` alone."""
        if not self.pattern:
            return rows
        return (
            re.sub(r"[ \t]*\n[ \t]*", "\n", re.sub(self.pattern, "\t", "\n".join(rows))).strip().split("\n")
        )


def find_separator(lines: list[str]) -> Separator | None:
    """The separator that cuts the body of a file into equally many fields that hold values."""
    sample = _sample(lines)
    quoted = sum('"' in line for line in sample) > 0.2 * len(sample) and not any(
        "°" in line for line in sample
    )
    best: tuple[float, Separator] | None = None
    for mark, pattern in (
        (",", None),
        (";", None),
        ("\t", None),
        ("|", None),
        (" ", r"[ \t]{2,}"),
        (" ", r"[ \t]+"),
    ):
        counts = Counter[int]()
        share = 0.0
        trial = Separator(mark, 0, quoted, pattern)
        for line in sample:
            fields = trial.split(line)
            counts[len(fields)] += 1
            share += value_share(fields)
        if not counts:
            return None
        width, times = max(counts.items(), key=lambda item: (item[1], item[0]))
        if width < 2:
            continue
        score = (
            (times / len(sample)) ** 0.5
            * (share / len(sample))
            * (1.0 - 0.5 / width)
            * (0.93 if pattern else 1.0)
        )
        if score > 0.3 and (best is None or score > best[0]):
            best = (score, Separator(mark, width, quoted, pattern))
    return best[1] if best else None


def _sample(lines: list[str]) -> list[str]:
    """Lines from the body of the file, where a preamble and a footer are not."""
    filled = [line for line in lines if line]
    start, stop = int(0.35 * len(filled)), max(int(0.97 * len(filled)), 1)
    body = filled[start:stop] or filled
    return body[:: max(len(body) // _SAMPLE, 1)]
