"""What is printed: the kneeboard card and the debrief, on paper and as a file to hand out."""

from __future__ import annotations

from chalkwing.paper.card import SIZES, card_pdf
from chalkwing.paper.debrief import SHEETS, debrief_pdf
from chalkwing.paper.handout import debrief_html
from chalkwing.paper.page import maneuver_body

__all__ = ["SHEETS", "SIZES", "card_pdf", "debrief_html", "debrief_pdf", "maneuver_body"]
