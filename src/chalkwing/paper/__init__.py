"""What is printed: the kneeboard card."""

from __future__ import annotations

from chalkwing.paper.card import SIZES, card_pdf

__all__ = ["SIZES", "card_pdf"]
