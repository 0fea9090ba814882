"""Delimited logs of any maker: columns matched by meaning and confirmed by the motion they describe."""

from __future__ import annotations

from chalkwing.recordings.delimited.read import DelimitedReader

READER = DelimitedReader()

__all__ = ["READER", "DelimitedReader"]
