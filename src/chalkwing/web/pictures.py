"""The picture of the lesson page, drawn by the code that draws for paper, in the page's colors."""

from __future__ import annotations

from markupsafe import Markup

from chalkwing.drawing.palette import ON_PAGE
from chalkwing.drawing.story import story_strip
from chalkwing.views.story import Story

_STRIP = (1000.0, 196.0)


def strip_of(story: Story) -> Markup:
    """The flight's story on one strip."""
    return Markup(story_strip(story, size=_STRIP, style=ON_PAGE))
