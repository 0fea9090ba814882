"""ISO 8601 time stamps to seconds since 1970-01-01 UTC."""

from __future__ import annotations

import re
from datetime import UTC, datetime

_LONG_FRACTION = re.compile(r"([.,]\d{6})\d+")
_BARE_ZONE = re.compile(r"(T.*[+-]\d{2})$")


def utc_seconds(stamp: str) -> tuple[float, bool]:
    """Seconds since 1970-01-01 UTC of an ISO 8601 stamp (``nan`` if it is none); whether it named its zone.

    A stamp without a zone is taken as UTC, which is what GPX and KML prescribe.

    >>> utc_seconds("1970-01-02T01:00:00.5+01:00")
    (86400.5, True)
    """
    try:
        moment = datetime.fromisoformat(stamp)
    except ValueError:
        moment_or_none = _patiently(stamp)
        if moment_or_none is None:
            return float("nan"), True
        moment = moment_or_none
    zoned = moment.tzinfo is not None
    if not zoned:
        moment = moment.replace(tzinfo=UTC)
    try:
        return moment.timestamp(), zoned
    except (OverflowError, ValueError):
        return float("nan"), True


def _patiently(stamp: str) -> datetime | None:
    """Stamps that are nearly ISO 8601: slashes, blanks, a lower-case t or z, too many decimals."""
    tidy = stamp.strip().upper().replace("/", "-").replace(",", ".").replace(" UTC", "Z").replace(" Z", "Z")
    tidy = _BARE_ZONE.sub(r"\1:00", _LONG_FRACTION.sub(r"\1", tidy))
    try:
        return datetime.fromisoformat(tidy)
    except ValueError:
        return None
