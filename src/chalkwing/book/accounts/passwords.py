"""Passwords: what is asked of one, and argon2id hashes of it.

Fifteen letters at least and no rule about their kind: [NIST-63B] 3.1.1.2, for a password that stands alone.
The cost is the second recommended option of RFC 9106 (64 MiB, three passes, four lanes).
"""

from __future__ import annotations

import secrets
import threading
import unicodedata
from dataclasses import dataclass

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from chalkwing.errors import BookTrouble

LEAST, MOST = 15, 256
_FEWEST_LETTERS = 5
"""Different letters: `aaaaaaaaaaaaaaa` is long and no password."""
_AT_ONCE = threading.BoundedSemaphore(2)
"""Each hash takes its memory: a crowd at the door waits instead of filling the machine."""


@dataclass(frozen=True)
class Cost:
    """What one hash costs: passes, memory [KiB], lanes."""

    passes: int = 3
    memory: int = 65536
    lanes: int = 4


class Hasher:
    """Makes and checks hashes of one cost."""

    def __init__(self, cost: Cost) -> None:
        self._argon2 = PasswordHasher(time_cost=cost.passes, memory_cost=cost.memory, parallelism=cost.lanes)
        # A hash that no password is known of: an unknown name takes as long as a wrong password. Made now, as
        # the first to be refused would else wait for it.
        self._nobodys = self._argon2.hash(secrets.token_hex(32))

    def hash(self, password: str) -> str:
        """The hash of a password, with a salt of its own."""
        with _AT_ONCE:
            return self._argon2.hash(_normal(password))

    def fits(self, hashed: str | None, password: str) -> bool:
        """Whether a password is the one that was hashed; without a hash just as long, and never."""
        try:
            with _AT_ONCE:
                self._argon2.verify(hashed or self._nobodys, _normal(password))
        except (VerificationError, InvalidHashError):
            return False
        return hashed is not None

    def is_old(self, hashed: str) -> bool:
        """Whether a hash was made at another cost than today's."""
        return self._argon2.check_needs_rehash(hashed)


def _normal(password: str) -> str:
    """One spelling of letters that can be typed in several ways; over-long ones are cut off by the check."""
    return unicodedata.normalize("NFKC", password)


def refuse_weak(password: str, *, name: str) -> None:
    """Refuse a password that is too short, too long, or hardly more than the person's name."""
    plain = _normal(password)
    if not LEAST <= len(plain) <= MOST:
        raise BookTrouble(
            f"a password has {LEAST} to {MOST} letters; this has {len(plain)}.",
            where="password",
            next_step="Four words that do not belong together are easy to keep in mind.",
        )
    folded = "".join(plain.casefold().split())
    rest = folded
    for word in (*name.casefold().split(), "chalkwing", "password"):
        rest = rest.replace(word, "")
    if len(set(folded)) < _FEWEST_LETTERS or len(rest) < LEAST // 2:
        raise BookTrouble(
            "this password would be guessed soon.",
            where="password",
            next_step="Leave out names, and do not repeat one letter: take four words at random.",
        )
