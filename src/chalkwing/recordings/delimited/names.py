"""A column's name taken apart: its words, the unit written in it, and what it says about a reference."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache

from chalkwing.recordings.delimited import lexicon
from chalkwing.unit_text import Unit, read_unit

_BRACKETED = re.compile(r"[(\[{<]([^)\]}>]*)[)\]}>]")
_CAMEL = re.compile(r"(?<=[a-z\d])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])")
_ELISION = re.compile(r"(?i)\b[dl]['’](?=[^\W\d_])")
_ENGINE_NUMBER = re.compile(r"e\d|eng\d")
_LOADED = frozenset(("accel", "normal", "vertical", "lateral", "longitudinal", "latitude", "g"))
_NO_SUFFIX = frozenset(
    [
        "a",
        "v",
        "h",
        "l",
        "t",
        "u",
        "w",
        "in",
        "tr",
        "min",
        "1",
        "d",
        "tour",
        "tours",
        "ground",
        "gs",
        "std",
        "mi",
        "n",
        "e",
        "x",
        "y",
        "z",
        "p",
        "q",
        "r",
        "hp",
    ]
)
"""Unit words that end names too often as something else."""
_REFERENCES = frozenset(
    [
        "msl",
        "amsl",
        "asl",
        "agl",
        "gnd",
        "wgs",
        "wgs84",
        "hae",
        "ellipsoid",
        "baro",
        "gps",
        "gnss",
        "true",
        "t",
        "mag",
        "magnetic",
        "m",
        "ias",
        "tas",
        "cas",
        "std",
        "pressure",
        "indicated",
        "calibrated",
    ]
)


@dataclass(frozen=True)
class Name:
    """A column name as written, its concepts, the words nobody knows, and its unit."""

    written: str
    words: tuple[str, ...]
    concepts: frozenset[str]
    unknown: int
    unit: Unit | None
    unit_text: str


@lru_cache(maxsize=4096)
def read_name(written: str, unit_cell: str = "") -> Name:
    """Take a header cell apart, with the cell of the units row that belongs to it.

    >>> sorted(read_name("GndSpd (kt)").concepts)
    ['ground', 'speed']
    >>> read_name("pitch_deg").unit.kind
    'angle'
    """
    text = _ELISION.sub("", written).replace("*F", "°F").replace("*C", "°C").replace("V/S", "VS")
    unit, unit_text = _cell_unit(unit_cell)
    extra: list[str] = _reference_words(unit_cell)
    for inside in _BRACKETED.findall(text):
        found = read_unit(inside) if inside.strip() else None
        if found is not None and unit is None:
            unit, unit_text = found, inside
        extra += _reference_words(inside) if found is not None else tokens_of(inside)
    bare = _BRACKETED.sub(" ", text)
    bare, after = _after_mark(bare)
    if after and unit is None:
        unit, unit_text = read_unit(after), after
    tokens = [token for token in tokens_of(bare) if not _ENGINE_NUMBER.fullmatch(token)]
    if "%" in tokens:
        tokens.remove("%")
        unit, unit_text = (unit, unit_text) if unit else (read_unit("%"), "%")
    tokens, suffix, suffix_text, reference = _suffix(tokens)
    if suffix is not None:
        extra += reference
        if unit is None:
            unit, unit_text = suffix, suffix_text
    concepts, unknown = _concepts(tuple(tokens), tuple(extra))
    return Name(written, (*tokens, *extra), concepts, unknown, unit, unit_text)


def _cell_unit(cell: str) -> tuple[Unit | None, str]:
    cleaned = cell.strip().strip("#").replace("*F", "°F").replace("*C", "°C")
    return (read_unit(cleaned), cleaned) if cleaned else (None, "")


def _reference_words(text: str) -> list[str]:
    found = [word for word in tokens_of(text) if word in _REFERENCES]
    joined = plain(text).replace(" ", "")
    found += {"degm": ["mag"], "degt": ["true"], "°m": ["mag"], "°t": ["true"], "ftmsl": ["msl"]}.get(
        joined, []
    )
    angular = read_unit(text) is not None and getattr(read_unit(text), "kind", "") == "angle"
    # A bare m or t beside degrees is a reference; beside anything else it is a unit.
    expanded = {"m": "magnetic", "t": "true"} if angular else {}
    return [expanded.get(word, word) for word in found if word not in {"m", "t"} or angular]


def _after_mark(text: str) -> tuple[str, str]:
    """Split a unit off that follows a semicolon, comma, slash or spaced dash: ``MP;InHg``, ``IAS - kt``."""
    for mark in (";", ",", " - ", ":"):
        head, found, tail = text.rpartition(mark)
        if found and len(head.strip()) > 1 and read_unit(tail) is not None:
            return head, tail
    return text, ""


def plain(text: str) -> str:
    """Lower case without accents."""
    return "".join(
        c for c in unicodedata.normalize("NFKD", text.replace("ß", "ss")) if not unicodedata.combining(c)
    ).lower()


def tokens_of(text: str) -> list[str]:
    """The words of a text in lower case, cut at blanks, marks and changes of case."""
    spaced = _CAMEL.sub(" ", text.replace("ß", "ss"))
    return re.findall(r"[a-z]+\d*|\d+|%|°", plain(spaced))


def _suffix(tokens: list[str]) -> tuple[list[str], Unit | None, str, list[str]]:
    """Split a unit off the end of the tokens: ``vn_ms``, ``roll_rate_deg_s``, ``track_deg_true``."""
    for count in (3, 2, 1):
        if len(tokens) <= count:
            continue
        tail = tokens[-count:]
        for text in ["/".join(tail), " ".join(tail)] if count > 1 else tail:
            unit = read_unit(text) if not (count == 1 and text in _NO_SUFFIX) else None
            if text in {"g", "gs"} and lexicon.words().get(tokens[-2]) not in _LOADED:
                continue
            if unit is not None and not (count > 1 and tail[0] in _NO_SUFFIX | {"g"}):
                reference = [word for word in tail[1:] if word in _REFERENCES]
                keep = ["g"] if text in {"g", "gs"} else ["rpm"] if text == "rpm" else []
                return tokens[:-count] + keep, unit, text, reference
    return tokens, None, "", []


def _concepts(tokens: tuple[str, ...], extra: tuple[str, ...]) -> tuple[frozenset[str], int]:
    """The concepts of a name and how many of its words are unknown."""
    whole = _whole(tokens)
    known = lexicon.words()
    if whole is not None:
        return frozenset(whole) | {known[word] for word in extra if word in known}, 0
    concepts: set[str] = set()
    unknown = 0
    for token in (*tokens, *extra):
        for word in lexicon.pieces(token.rstrip("0123456789") or token):
            if word in known:
                concepts.add(known[word])
            elif word not in lexicon.NEUTRAL and not word.isdigit():
                unknown += 1
    return frozenset(concepts), unknown


def _whole(tokens: tuple[str, ...]) -> tuple[str, ...] | None:
    """The meaning of an abbreviation that is the whole name, leaving a sensor's name before it aside."""
    joined = "".join(tokens)
    if joined in lexicon.WHOLE_NAMES:
        return lexicon.WHOLE_NAMES[joined]
    core = "".join(token for token in tokens if token not in lexicon.NEUTRAL)
    return lexicon.WHOLE_NAMES.get(core)
