"""Whole lessons and baits as tables: kinds found, edges, elements' intervals, groups left out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

import numpy as np
from scipy.stats import chi2
from tests.flights.accuracy import statistics as of
from tests.flights.accuracy.course import KINDS, THREE, target
from tests.flights.accuracy.recorders import RECORDERS
from tests.flights.accuracy.statistics import Result
from tests.flights.accuracy.tables import table

EDGE = {"avionics": (2.0, 6.0), "track": (3.0, 10.0)}
"""Median and p90 asked for of edges [s], by column."""


def good(results: Sequence[Result]) -> list[Result]:
    return [each for each in results if "error" not in each]


def scope(results: Sequence[Result]) -> str:
    """What the figures rest on, and what failed."""
    fine = good(results)
    failed = [f"{each['flight']}: {each['error']}" for each in results if "error" in each]
    unknown = [kind for kind in KINDS if any(kind not in each["findable"] for each in fine)]
    said = (
        f"{len(fine)} lessons, {sum(each['hours'] for each in fine):.1f} h, "
        f"{sum(each['maneuvers'] for each in fine)} maneuvers."
    )
    said += f" No way of finding yet: {', '.join(unknown)}." if unknown else ""
    return said + (" Failed: " + "; ".join(failed) + "." if failed else "")


def kind_table(recorder: str, results: Sequence[Result]) -> str:
    """F1 and edges of each kind, beside what is asked for; F1 once more without what lies in gaps."""
    column = RECORDERS[recorder].column
    rows = []
    for kind in (*KINDS, None):
        fine = good(results)
        figure = of.f1(kind).figure(fine)
        hits, missed, false = (_count(fine, kind, word) for word in ("hits", "missed", "false"))
        hidden = sum(n for each in fine for name, n in each["hidden"].items() if kind in (None, name))
        asked = target(kind, column) if kind else None
        edges = [edge for each in fine for edge in each["finding"]["edges"] if kind in (None, edge[0])]
        rows.append(
            [
                (kind or "all").replace("_", " "),
                str(hits),
                f"{missed} ({hidden} in gaps)" if hidden else str(missed),
                str(false),
                f"{figure.value:.3f} [{figure.low:.3f} to {figure.high:.3f}]" if figure.count else "–",
                "–" if asked is None else f"≥ {asked:.2f}",
                _outcome(figure.value, asked) if figure.count else "none flown",
                f"{of.f1_of(hits, missed - hidden, false):.3f}" if hits else "–",
                *(_quantiles([edge[k] for edge in edges]) for k in (1, 2)),
            ]
        )
    median, most = EDGE[column]
    head = [
        "kind", "found", "missed", "false", "F1 [95 %]", "target", "outcome", "F1 without gaps",
        f"start: median, p90 (≤ {median:g}, {most:g} s)", "end: median, p90",
    ]  # fmt: skip
    return table(head, rows)


def _count(results: Sequence[Result], kind: str | None, word: str) -> int:
    return sum(
        counts[word]
        for each in results
        for name, counts in each["finding"]["counts"].items()
        if kind in (None, name)
    )


def _outcome(value: float, asked: float | None) -> str:
    if asked is None:
        return "–"
    miss = asked - round(value, 3)
    return "met" if miss <= 0 else f"**missed by {miss:.3f}**"


def _quantiles(errors: Sequence[float]) -> str:
    if not errors:
        return "–"
    sizes = np.abs(errors)
    return f"{np.median(sizes):.1f}, {np.quantile(sizes, 0.9):.1f} s"


def group_table(results: Sequence[Result]) -> str:
    """F1 by kind where one airplane or one pilot is all there is: nothing is fitted to any."""
    fine = good(results)
    rows = []
    for key in ("airplane", "controller"):
        for group in sorted({str(each[key]) for each in fine}):
            only = [each for each in fine if each[key] == group]
            rest = [each for each in fine if each[key] != group]
            figures = [of.f1(kind).figure(only) for kind in (None, *KINDS)]
            told = [f"{each.value:.2f}" if each.count else "–" for each in figures]
            left = f"{of.f1().figure(rest).value:.3f}" if rest else "–"
            rows.append([f"{key} {group}", str(len(only)), left, *told])
    short = [kind.replace("_", " ") for kind in KINDS]
    return table(["group", "lessons", "all others' F1", "its F1", *short], rows)


def interval_table(results: Sequence[Result]) -> str:
    """Whether 95 % intervals hold the truth, kind by kind: as judged on the perfect flight, and apart."""
    records = [record for each in good(results) for record in each["values"]]
    rows = []
    for kind in (*(kind for kind in KINDS if kind not in THREE), None):
        chosen = [each for each in records if kind in (None, each["kind"])]
        if not chosen:
            continue
        limited = [each for each in chosen if each["limited"]]
        apart = [each for each in chosen if each["independent"] is not None]
        decided = [
            each for each in limited if each["verdict"] in ("met", "not_met") and each["met"] is not None
        ]
        wrong = sum((each["verdict"] == "met") != each["met"] for each in decided)
        rows.append(
            [
                (kind or "all").replace("_", " "),
                _held(chosen, "true_value"),
                _held(limited, "true_value"),
                _held(apart, "independent"),
                f"{wrong} of {len(decided)}",
            ]
        )
    head = [
        "kind", "all numbers", "elements with a limit", "against the generator's own measure",
        "verdicts that contradict",
    ]  # fmt: skip
    return table(head, rows)


def _held(records: Sequence[Result], against: str) -> str:
    if not records:
        return "–"
    held = [abs(each["value"] - each[against]) <= 1.96 * each["sd"] for each in records]
    return f"{100 * np.mean(held):.0f} % of {len(held)}"


def worst_intervals(results: Sequence[Result], least: int = 8) -> str:
    """Numbers whose intervals hold the truth least often, where there are enough of them to say."""
    groups: dict[tuple[str, str], list[bool]] = {}
    for each in good(results):
        for one in each["values"]:
            held = abs(one["value"] - one["true_value"]) <= 1.96 * one["sd"]
            groups.setdefault((one["kind"], one["id"]), []).append(held)
    shares = {key: float(np.mean(held)) for key, held in groups.items() if len(held) >= least}
    chosen = sorted(shares, key=lambda key: shares[key])[:15]
    rows = [
        [kind.replace("_", " "), name, f"{100 * shares[kind, name]:.0f} %", str(len(groups[kind, name]))]
        for kind, name in chosen
    ]
    return table(["kind", "number", "95 % interval holds", "of"], rows)


def bait_table(by_recorder: Mapping[str, Sequence[Result]]) -> str:
    """False maneuvers by bait, and the rate that 95 % confidence leaves (Poisson; Garwood 1936).

    What was flown without being meant (landings without power, stalls in a go-around) stands apart.
    """
    rows = []
    for recorder, results in by_recorder.items():
        fine = good(results)
        hours = sum(each["hours"] for each in fine)
        found = [one for each in fine for one in each["false"]]
        false = Counter((one["bait"], one["kind"]) for one in found if not one["unmeant"])
        right = Counter(one["bait"] for one in found if one["unmeant"])
        labels = sorted({label for each in fine for label in each["flown_seconds"]})
        for label in labels:
            spent = sum(each["flown_seconds"].get(label, 0.0) for each in fine) / 3600
            taken = {kind: count for (where, kind), count in sorted(false.items()) if where == label}
            said = ", ".join(f"{count} {kind.replace('_', ' ')}" for kind, count in taken.items()) or "none"
            wrong, unmeant = str(sum(taken.values())), str(right[label])
            rows.append([recorder, label.replace("_", " "), f"{spent:.1f} h", wrong, said, unmeant])
        total = sum(false.values())
        most = chi2.ppf(0.95, 2 * (total + 1)) / 2 / max(hours, 1e-9)
        rate = f"below {most:.2f} per hour"
        rows.append([recorder, "**all**", f"{hours:.1f} h", str(total), rate, str(sum(right.values()))])
    return table(["recorder", "bait", "flown", "false", "taken for", "flown without being meant"], rows)


def faults(results: Sequence[Result]) -> str:
    """Every maneuver missed or made up."""
    lines = [f"- {each['flight']}: {fault}" for each in good(results) for fault in each["finding"]["faults"]]
    return "\n".join(lines) or "None."
