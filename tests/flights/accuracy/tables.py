"""Results as Markdown tables, and their place between markers in a document."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

import numpy as np
from scipy.stats import chi2
from tests.flights.accuracy import statistics as of
from tests.flights.accuracy.recorders import RECORDERS
from tests.flights.accuracy.requirements import COVERED, MEASURES, Measure
from tests.flights.accuracy.statistics import Result

Rows = Iterable[Sequence[str]]
ELEMENTS = (
    ("altitude_at_180", "lazy eight: altitude at 180°", " ft", 0),
    ("airspeed_at_180", "lazy eight: airspeed at 180°", " kt", 1),
    ("heading_at_180", "lazy eight, chandelle: heading at 180°", "°", 1),
    ("altitude", "steep turn: altitude held", " ft", 0),
    ("airspeed", "steep turn: airspeed held", " kt", 1),
    ("bank", "steep turn: bank held", "°", 1),
    ("rollout_heading", "steep turn: rollout heading", "°", 1),
)


def table(head: Sequence[str], rows: Rows) -> str:
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def _good(results: Sequence[Result]) -> list[Result]:
    return [result for result in results if "error" not in result]


def scope(results: Sequence[Result]) -> str:
    """What the figures rest on, and what failed."""
    good = _good(results)
    failed = [f"{each['flight']}: {each['error']}" for each in results if "error" in each]
    said = (
        f"{len(good)} lessons, {sum(each['hours'] for each in good):.1f} h, "
        f"{sum(each['maneuvers'] for each in good)} maneuvers, "
        f"{sum(len(each['verdicts']) for each in good)} elements judged."
    )
    return said + (" Failed: " + "; ".join(failed) + "." if failed else "")


def requirement_table(recorder: str, results: Sequence[Result]) -> str:
    column = "track+sheet" if recorder == "track+sheet" else RECORDERS[recorder].column
    rows = []
    for measure in MEASURES:
        figure = measure.of.figure(_good(results))
        bound = measure.bounds.get(column)
        target = bound.told(measure.unit) if bound else "–"
        rows.append(
            [
                measure.title,
                target,
                measure.told(figure),
                measure.interval(figure),
                measure.outcome(figure, bound),
            ]
        )
    return table(["measure", "target", "measured", "95 % interval", "outcome"], rows)


def misses(recorder: str, results: Sequence[Result]) -> list[str]:
    """Every bound that is missed, in words."""
    column = "track+sheet" if recorder == "track+sheet" else RECORDERS[recorder].column
    found = []
    for measure in MEASURES:
        bound = measure.bounds.get(column)
        figure = measure.of.figure(_good(results))
        if bound and "missed" in (outcome := measure.outcome(figure, bound)):
            told = f"{measure.told(figure)}, {outcome.strip('*')} (target {bound.told(measure.unit)})"
            found.append(f"{measure.title}: {told}")
    return found


def element_table(results: Sequence[Result]) -> str:
    """Each element: error of its value, coverage of its interval, contradictions and doubt."""
    rows = []
    for name, title, unit, digits in ELEMENTS:
        chosen = [each for result in _good(results) for each in result["verdicts"] if each["id"] == name]
        if not chosen:
            continue
        wrong = sum(map(of.contradicts, chosen))
        decided = sum(each["verdict"] != "cannot_tell" for each in chosen)
        met = sum(each["met"] for each in chosen)
        rows.append(
            [
                title,
                f"{len(chosen)} ({met} met)",
                f"{of.element_error(name).figure(_good(results)).value:.{digits}f}{unit}",
                f"{of.element_coverage(name).figure(_good(results)).value:.0f} %",
                f"{wrong} of {decided}",
                str(sum(of.contradicts(each) and of.by_reading_alone(each) for each in chosen)),
                f"{100 * (1 - decided / len(chosen)):.0f} %",
            ]
        )
    head = [
        "element",
        "judged",
        "RMS error of value",
        "95 % interval holds",
        "contradicts",
        "by reading alone",
        "cannot tell",
    ]
    return table(head, rows)


def why_table(results: Sequence[Result]) -> str:
    """What lies behind contradictions and doubts, as counts."""
    records = [each for result in _good(results) for each in result["verdicts"]]
    wrong = Counter(of.why_contradicted(each) for each in records if of.contradicts(each))
    doubted = Counter(of.why_undecided(each) for each in records if each["verdict"] == "cannot_tell")
    rows = [
        [f"{what}: {cause}", str(count), f"{100 * count / len(records):.1f} %"]
        for what, causes in (("contradicts", wrong), ("cannot tell", doubted))
        for cause, count in causes.most_common()
    ]
    return table(["verdict and why", "elements", "of all judged"], rows)


OTHER: tuple[tuple[str, of.OfSums | of.OfValues, int], ...] = (
    ("bank °", of.rms("bank"), 2),
    ("pitch °", of.rms("pitch"), 2),
    ("CAS kt", of.rms("calibrated_airspeed"), 2),
    ("wind kt", of.rms("wind vector"), 2),
    ("bank held %", of.coverage("bank"), 0),
    ("CAS held %", of.coverage("calibrated_airspeed"), 0),
    ("eight: altitude ft", of.eight_change("altitude"), 0),
    ("F1", of.f1(), 3),
    ("contradicts %", of.contradictions(), 1),
    ("cannot tell %", of.undecided(), 0),
)


def others_table(by_recorder: Mapping[str, Sequence[Result]]) -> str:
    """The main figures of each recorder in one line."""
    rows = []
    for recorder, results in by_recorder.items():
        good = _good(results)
        told = [f"{measured.figure(good).value:.{digits}f}" for _, measured, digits in OTHER]
        rows.append([RECORDERS[recorder].title, str(len(good)), *told])
    return table(["recorder", "lessons", *(title for title, _, _ in OTHER)], rows)


def gap_table(results: Sequence[Result]) -> str:
    """Coverage within gaps, where nothing else is asked."""
    rows = []
    for name in ("bank", "pitch", "calibrated_airspeed", "heading_true"):
        hidden = f"{name} in gaps"
        held = of.coverage(hidden).figure(_good(results))
        error, sharp = (each(hidden).figure(_good(results)) for each in (of.rms, of.sharpness))
        unit = " kt" if "airspeed" in name else "°"
        share = f"{held.value:.0f} % [{held.low:.0f} to {held.high:.0f}]"
        rows.append([COVERED[name], str(held.count), share, f"{error.value:.1f}{unit}", f"{sharp.value:.2f}"])
    head = [
        "quantity in gaps > 3 s within maneuvers",
        "samples",
        "95 % interval holds",
        "RMS",
        "mean sd / RMS",
    ]
    return table(head, rows)


GROUPED: tuple[tuple[str, of.OfSums | of.OfValues, int], ...] = (
    ("bank °", of.rms("bank"), 2),
    ("pitch °", of.rms("pitch"), 2),
    ("CAS kt", of.rms("calibrated_airspeed"), 2),
    ("wind kt", of.rms("wind vector"), 2),
    ("coverage of bank %", of.coverage("bank"), 0),
    ("F1", of.f1(), 3),
    ("contradicts %", of.contradictions(), 1),
    ("cannot tell %", of.undecided(), 0),
)


def group_table(results: Sequence[Result], key: str) -> str:
    """The main figures apart for each airplane, or each controller."""
    good = _good(results)
    rows = []
    for group in sorted({str(each[key]) for each in good}):
        part = [each for each in good if each[key] == group]
        told = [f"{measured.figure(part).value:.{digits}f}" for _, measured, digits in GROUPED]
        rows.append([group, str(len(part)), *told])
    return table([key, "lessons", *(title for title, _, _ in GROUPED)], rows)


def ordinary_table(by_recorder: Mapping[str, Sequence[Result]]) -> str:
    """False maneuvers, with the rate that 95 % confidence leaves (Poisson; Garwood 1936)."""
    rows = []
    for recorder, results in by_recorder.items():
        good = _good(results)
        hours, false = sum(each["hours"] for each in good), sum(len(each["false"]) for each in good)
        most = chi2.ppf(0.95, 2 * (false + 1)) / 2 / hours
        rows.append(
            [RECORDERS[recorder].title, str(len(good)), f"{hours:.1f} h", str(false), f"{most:.3f} per hour"]
        )
    head = ["recorder", "flights", "hours", "false maneuvers", "rate is below, with 95 % confidence"]
    return table(head, rows)


def prior_table(by_factor: Mapping[str, Mapping[float, Sequence[Result]]]) -> str:
    """Wind and airspeed as the prior on thrust minus drag is loosened."""
    rows = []
    for recorder, factors in by_factor.items():
        for factor, results in sorted(factors.items()):
            good = _good(results)
            told = [
                f"{of.rms(name).figure(good).value:.2f}{unit} "
                f"[{of.rms(name).figure(good).low:.2f} to {of.rms(name).figure(good).high:.2f}]"
                for name, unit in (("wind vector", " kt"), ("calibrated_airspeed", " kt"), ("bank", "°"))
            ]
            held = of.coverage("wind components").figure(good)
            rows.append(
                [RECORDERS[recorder].title, f"{factor:g}×", str(len(good)), *told, f"{held.value:.0f} %"]
            )
    head = [
        "recorder",
        "prior's sd",
        "lessons",
        "wind vector RMS",
        "CAS RMS",
        "bank RMS",
        "wind interval holds",
    ]
    return table(head, rows)


def faults(results: Sequence[Result]) -> str:
    """Every maneuver missed or made up, and every verdict that contradicts the truth."""
    lines = []
    for result in _good(results):
        lines += [f"- {result['flight']}: {fault}" for fault in result["finding"]["faults"]]
        for each in filter(of.contradicts, result["verdicts"]):
            low, high = each["limit"]
            lines.append(
                f"- {result['flight']}: {each['kind']} at {each['start']:.0f} s, {each['id']}"
                f"{'' if each['half'] is None else ' half ' + str(each['half'])}: said {each['verdict']} "
                f"({each['value']:.1f} ± {each['sd']:.1f}), true {each['true_value']:.1f}, "
                f"by the judge {each['ruled_value']:.1f}, limit {low} to {high}; {each['reason']}"
            )
    return "\n".join(lines) or "None."


def per_flight(results: Sequence[Result], measures: Sequence[Measure] = MEASURES[:4]) -> str:
    """The plain figures of each lesson, worst first by the first of them."""
    good = _good(results)
    rows = [(each, [measure.of.figure([each]).value for measure in measures]) for each in good]
    rows.sort(key=lambda row: -np.nan_to_num(row[1][0]))
    return table(
        ["lesson", *(measure.title for measure in measures)],
        [[each["flight"], *(f"{value:.2f}" for value in values)] for each, values in rows],
    )


def placed(document: str, name: str, content: str) -> str:
    """``document`` with ``content`` between the markers called ``name``."""
    begin, end = f"<!-- measured: {name} -->", f"<!-- end: {name} -->"
    pattern = re.compile(re.escape(begin) + ".*?" + re.escape(end), re.DOTALL)
    if not pattern.search(document):
        raise SystemExit(f"The document has no markers for {name!r}: {begin} … {end}")
    return pattern.sub(lambda _: f"{begin}\n{content}\n{end}", document)


def write(path: Path, sections: dict[str, str]) -> None:
    """Put every section whose markers the document holds in its place; all or none."""
    document = path.read_text()
    for name, content in sections.items():
        document = placed(document, name, content)
    path.write_text(document)
