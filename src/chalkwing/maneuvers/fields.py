"""Reading a TOML table key by key, noting every fault with its path instead of stopping at the first."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Mapping
from typing import TypeVar, cast

from chalkwing.errors import Fault
from chalkwing.nearest import did_you_mean

T = TypeVar("T")
Name = TypeVar("Name", bound=str)
_FEW = 12
"""So many words stand in a line with each fault."""


class Fields:
    """One table of a file. Each read takes a key out; `close` notes the keys that nobody asked for.

    A read that finds a fault notes it in ``faults`` and returns a harmless stand-in, so that the rest of the
    file is still checked; whoever opened the file refuses it when any fault was noted.
    """

    def __init__(self, table: object, *, path: str, faults: list[Fault]) -> None:
        self.path = path
        self.faults = faults
        if not isinstance(table, Mapping):
            self.fault(None, "must be a table")
            table = {}
        self._left: dict[str, object] = dict(table)

    def fault(self, key: str | None, message: str) -> None:
        """Note a fault of ``key``, or of the table itself."""
        self.faults.append(Fault(self._at(key), message))

    def _at(self, key: str | None) -> str:
        return ".".join(part for part in (self.path, key) if part) or "file"

    def has(self, key: str) -> bool:
        """Whether ``key`` is present and not yet read."""
        return key in self._left

    def has_list(self, key: str) -> bool:
        """Whether ``key`` is present and holds a list."""
        return isinstance(self._left.get(key), list)

    def names(self) -> list[str]:
        """The keys not yet read, for tables whose keys are names."""
        return list(self._left)

    def take(self, key: str) -> object | None:
        """The raw value of ``key``, or None."""
        return self._left.pop(key, None)

    def text(self, key: str, *, default: str | None = None) -> str:
        """A text that is not empty; required unless a default is given."""
        value = self._required(key, default)
        if isinstance(value, str) and value.strip():
            return value
        if value is not None and value != default:
            self.fault(key, f"must be a text that is not empty, not {value!r}")
        return default or ""

    def choice(self, key: str, known: Iterable[Name], *, default: Name | None = None) -> Name:
        """One of the ``known`` words."""
        words = list(known)
        value = self._required(key, default)
        if value in words:
            return value
        if value is not None:
            self.unknown(key, value, words)
        return words[0]

    def unknown(self, key: str, value: object, known: Iterable[str]) -> None:
        """Note that ``value`` is none of the ``known`` words: the nearest of them; a long list only once."""
        words = list(known)
        listed = ", ".join(words)
        if len(words) <= _FEW:
            self.fault(key, f"{value!r} is not one of {listed}")
            return
        near = did_you_mean(str(value).lower(), words)
        said = f"{value!r} is not known here"
        if near:
            said += f"; {near}"
        # A file with one slip in every line would else fill screens with the same list.
        if not any(listed in fault.message for fault in self.faults):
            said += f"{'' if near else '.'} Known: {listed}"
        self.fault(key, said)

    def number(self, key: str, *, default: float | None = None, least: float = -math.inf) -> float:
        """A finite number, at least ``least``."""
        value = self._required(key, default)
        if value is None:
            return 0.0
        if not _is_number(value):
            self.fault(key, f"must be a number, not {value!r}")
            return 0.0
        number = float(cast("float", value))
        if number < least:
            self.fault(key, f"must be at least {least:g}, not {number:g}")
        return number

    def whole(self, key: str, *, default: int | None = None, least: int = 1) -> int:
        """A whole number, at least ``least``."""
        number = self.number(key, default=default, least=least)
        if number != int(number):
            self.fault(key, f"must be a whole number, not {number:g}")
        return int(number)

    def numbers(self, key: str, count: int, *, rising: bool = True) -> tuple[float, ...]:
        """A list of ``count`` numbers, each at least as large as the one before it."""
        value = self._required(key, None)
        if value is None:
            return (0.0,) * count
        if not isinstance(value, list) or len(value) != count or not all(map(_is_number, value)):
            self.fault(key, f"must be a list of {count} numbers, not {value!r}")
            return (0.0,) * count
        if rising and any(later < earlier for earlier, later in itertools.pairwise(value)):
            self.fault(key, f"must not fall from one number to the next: {value!r}")
        return tuple(float(number) for number in value)

    def flag(self, key: str, *, default: bool) -> bool:
        """True or false."""
        value = self._left.pop(key, default)
        if not isinstance(value, bool):
            self.fault(key, f"must be true or false, not {value!r}")
            return default
        return value

    def texts(self, key: str, *, required: bool = False) -> tuple[str, ...]:
        """A list of texts."""
        value = self._required(key, None if required else [])
        if value is None:
            return ()
        if not isinstance(value, list) or not all(isinstance(word, str) and word for word in value):
            self.fault(key, f"must be a list of texts, not {value!r}")
            return ()
        return tuple(value)

    def table(self, key: str) -> Fields:
        """A table inside this one; an absent one is noted and reads as empty."""
        if key not in self._left:
            self.fault(key, "is missing")
        return Fields(self._left.pop(key, {}), path=self._at(key), faults=self.faults)

    def each(self, key: str, read: Callable[[Fields], T], *, required: bool = False) -> tuple[T, ...]:
        """Read every table of a list of tables with ``read``, closing each."""
        value = self._required(key, None if required else [])
        if value is None:
            return ()
        if not isinstance(value, list):
            self.fault(key, "must be a list of tables, written [[...]]")
            return ()
        return tuple(self._one(f"{key}[{index}]", item, read) for index, item in enumerate(value))

    def _one(self, key: str, item: object, read: Callable[[Fields], T]) -> T:
        fields = Fields(item, path=self._at(key), faults=self.faults)
        made = read(fields)
        fields.close()
        return made

    def close(self) -> None:
        """Note every key that was not read: a misspelled key must not be ignored in silence."""
        for key in self._left:
            self.fault(key, "is not a key known here")

    def _required(self, key: str, default: object | None) -> object | None:
        if key in self._left:
            return self._left.pop(key)
        if default is None:
            self.fault(key, "is missing")
        return default


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
