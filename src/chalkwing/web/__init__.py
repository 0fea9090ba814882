"""The pages: a server for one desk, that takes recordings in and shows lessons."""

from __future__ import annotations

from chalkwing.web.app import create_app
from chalkwing.web.settings import Settings

__all__ = ["Settings", "create_app"]
