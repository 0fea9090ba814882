"""Attempts beside each other: two lie over each other in the two chalks, more stand as small pictures.

Two chalks are what can be told apart; a third attempt would need a color that means nothing else. So more
than two are drawn one beside the other at one scale, and the eye goes from one to the next.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

from chalkwing.drawing.maneuver import has_nose_path, main_quantities, panels_of, reach
from chalkwing.drawing.nose_path import nose_path
from chalkwing.drawing.palette import Style
from chalkwing.drawing.plan_view import Frame, plan_view
from chalkwing.drawing.profiles import Panel, profiles
from chalkwing.views import Trace
from chalkwing.views.comparing import Attempt, laid_over

Size = tuple[float, float]


@dataclass(frozen=True)
class Compared:
    """The attempts' traces, what they are drawn against, and the panels that all of them can fill."""

    attempts: tuple[Attempt, ...]
    traces: tuple[tuple[Trace, ...], ...]
    panels: tuple[Panel, ...]
    reach: tuple[float, float]

    @classmethod
    def of(cls, attempts: Sequence[Attempt]) -> Compared:
        """Attempts at one kind of maneuver, two or more."""
        views = [attempt.view for attempt in attempts]
        known = [set(view.quantities) for view in views]
        names = [name for name in main_quantities(views[0]) if all(name in each for each in known)]
        panels = [_without_entry(panel) for panel in panels_of(views[0], names)]
        speeds = list(dict.fromkeys(view.speed_name for view in views))
        ends = [reach(view) for view in views]
        return cls(
            tuple(attempts),
            tuple(tuple(traces) for traces in laid_over(attempts)),
            tuple(_named(panel, speeds) for panel in panels),
            (min(low for low, _ in ends), max(high for _, high in ends)),
        )

    @property
    def span_deg(self) -> float:
        """How far one part should turn [deg]."""
        return max(attempt.view.span_deg for attempt in self.attempts)

    @property
    def turns(self) -> bool:
        """Whether the maneuver has a nose path."""
        return all(has_nose_path(attempt.view) for attempt in self.attempts)

    @property
    def all_traces(self) -> list[Trace]:
        """Every part of every attempt, the first one last: it runs inside the second's double line."""
        return list(itertools.chain.from_iterable(reversed(self.traces)))

    def nose(self, size: Size, style: Style, *, only: int | None = None) -> str:
        """The nose paths over each other, or that of one attempt at the scale of all."""
        return nose_path(
            self._shown(only),
            size=size,
            style=_told_apart(style),
            span_deg=self.span_deg,
            reach=self.reach,
            scaled_to=self.all_traces,
        )

    def profiles(self, size: Size, style: Style, *, only: int | None = None) -> str:
        """The profiles, likewise."""
        return profiles(
            self._shown(only),
            self.panels,
            size=size,
            style=_told_apart(style),
            span_deg=self.span_deg,
            against="heading" if self.turns else "time",
            reach=self.reach,
            scaled_to=self.all_traces,
        )

    def plan(self, size: Size, style: Style, *, frame: Frame) -> str:
        """The paths from one entry, turned to one entry heading."""
        return plan_view(
            self.all_traces,
            size=size,
            style=_told_apart(style),
            up_deg_true=None,
            wind=None,
            frame=frame,
            says=lambda mark: mark.said if mark.told else "",
        )

    def _shown(self, only: int | None) -> list[Trace]:
        """Alone, an attempt's halves take a chalk each as everywhere."""
        if only is None:
            return self.all_traces
        return [replace(trace, chalk=0, name="") for trace in self.traces[only]]


def _without_entry(panel: Panel) -> Panel:
    """No line at an entry speed: each attempt has its own."""
    return replace(panel, level=None, level_name="") if panel.quantity == "airspeed_kt" else panel


def _named(panel: Panel, speeds: Sequence[str]) -> Panel:
    return (
        replace(panel, title=f"Airspeed, {' and '.join(speeds)}")
        if panel.quantity == "airspeed_kt"
        else panel
    )


def _told_apart(style: Style) -> Style:
    """The second attempt is a double line too, where no color is seen; two values are to be read."""
    return replace(style, doubled=True, reading=1.3 * style.reading)
