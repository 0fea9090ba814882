"""Recordings: files of any known form read, joined and split, in canonical channels and SI units."""

from __future__ import annotations

from chalkwing.recordings.channels import KINDS, ChannelKind, Datum
from chalkwing.recordings.opening import read
from chalkwing.recordings.recording import Channel, Gap, Note, Recording
from chalkwing.recordings.splitting import Flight, flights

__all__ = [
    "KINDS",
    "Channel",
    "ChannelKind",
    "Datum",
    "Flight",
    "Gap",
    "Note",
    "Recording",
    "flights",
    "read",
]
