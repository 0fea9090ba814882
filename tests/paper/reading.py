"""Printed pages read back by an independent library."""

from __future__ import annotations

import io

from pypdf import PdfReader


def read_pdf(content: bytes) -> PdfReader:
    """The pages of a PDF."""
    return PdfReader(io.BytesIO(content))


def text_of(content: bytes) -> str:
    """All words of a PDF, page after page."""
    return "\n".join(page.extract_text() for page in read_pdf(content).pages)
