"""What is printed: the kneeboard card and the debrief."""

from __future__ import annotations

from chalkwing.paper.card import SIZES, card_pdf
from chalkwing.paper.debrief import SHEETS, debrief_pdf

__all__ = ["SHEETS", "SIZES", "card_pdf", "debrief_pdf"]
