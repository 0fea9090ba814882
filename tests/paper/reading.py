"""Printed pages read back by an independent library."""

from __future__ import annotations

import io

from pypdf import PdfReader


def read_pdf(content: bytes) -> PdfReader:
    """The pages of a PDF."""
    return PdfReader(io.BytesIO(content))
