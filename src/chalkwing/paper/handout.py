"""The debrief as one HTML file: the interactive pictures, with no server and no network behind them."""

from __future__ import annotations

import base64
import hashlib

from markupsafe import Markup

from chalkwing import words
from chalkwing.drawing.palette import ON_PAGE
from chalkwing.drawing.story import story_strip
from chalkwing.paper.bundle import bundle_folder
from chalkwing.paper.debrief import wind_said
from chalkwing.paper.page import NARROW, Pictures, environment, maneuver_body
from chalkwing.trunk import Debriefed
from chalkwing.views import views_of
from chalkwing.views.stall_speed import stall_speeds_said
from chalkwing.views.story import Story, story_of
from chalkwing.views.table import table_of

_STRIP = 980.0


def debrief_html(found: Debriefed) -> bytes:
    """The whole lesson as one document in UTF-8.

    Script, styles and fonts stand in the file; its own policy names their digests and allows nothing else, so
    that opening it can reach no network.

    Raises
    ------
    UnfinishedWork
        The scripts were not built.
    """
    folder, story = bundle_folder(), story_of(found)
    script = (folder / "handout.js").read_text(encoding="utf-8").replace("</script", "<\\/script")
    style = (folder / "handout.css").read_text(encoding="utf-8")
    debrief = found.debrief
    text = (
        environment()
        .get_template("handout.html")
        .render(
            policy=_policy(script, style),
            script=Markup(script),
            style=Markup(style),
            debrief=debrief,
            when="; ".join(
                f"{each.source}{f', {each.start_utc[:10]}' if each.start_utc else ''}, "
                f"{words.lasting(each.duration_s)}"
                for each in debrief.recordings
            ),
            strip=_strip(story),
            maneuvers=[
                {"title": each.title, "clock": story.clock(each.start_s), "table": table_of(each)}
                for each in debrief.maneuvers
            ],
            story=story,
            stall_speeds=list(stall_speeds_said(debrief)),
            wind=[wind_said(row, story) for row in debrief.wind],
            bodies=[
                maneuver_body(view, number=number, story=story, marks=True)
                for number, view in enumerate(views_of(found), start=1)
            ],
        )
    )
    return text.encode()


def _policy(script: str, style: str) -> str:
    """Only the script and the style that stand in this file; fonts from within it."""
    return (
        f"default-src 'none'; script-src '{_digest(script)}'; style-src '{_digest(style)}'; "
        "font-src data:; base-uri 'none'; form-action 'none'"
    )


def _digest(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _strip(story: Story) -> Pictures:
    return Pictures(
        Markup(story_strip(story, size=(_STRIP, 220.0), style=ON_PAGE)),
        Markup(story_strip(story, size=(NARROW, 200.0), style=ON_PAGE)),
    )
