"""The pictures of the pages, drawn by the code that draws for paper, in the page's colors."""

from __future__ import annotations

from collections.abc import Mapping

from markupsafe import Markup

from chalkwing.drawing.maneuver import has_nose_path, main_quantities, nose_figure, profile_figure
from chalkwing.drawing.palette import ON_PAGE
from chalkwing.drawing.story import story_strip
from chalkwing.views import ManeuverView
from chalkwing.views.story import Story

_STRIP = (1000.0, 220.0)
_NOSE = (900.0, 360.0)
_PROFILES = (900.0, 560.0)


def strip_of(story: Story) -> Markup:
    """The flight's story on one strip."""
    return Markup(story_strip(story, size=_STRIP, style=ON_PAGE))


def pictures_of(view: ManeuverView) -> Mapping[str, Markup]:
    """The pictures of one maneuver, by name."""
    found = {"profiles": profile_figure(view, main_quantities(view), _PROFILES, ON_PAGE)}
    if has_nose_path(view):
        found["nose"] = nose_figure(view, _NOSE, ON_PAGE)
    return {name: Markup(svg) for name, svg in found.items()}
