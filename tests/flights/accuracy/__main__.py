"""Measure the trunk on simulated lessons, and write the tables.

    python -m tests.flights.accuracy lessons  --flights flights/test
    python -m tests.flights.accuracy others   --flights flights/test
    python -m tests.flights.accuracy ordinary --flights flights/ordinary
    python -m tests.flights.accuracy prior    --flights flights/tune --only 00000,00001,00003
    python -m tests.flights.accuracy whole    --flights flights/whole
    python -m tests.flights.accuracy baits    --flights flights/baits
    python -m tests.flights.accuracy sweep    --flights flights/tuned --baits flights/tuned_baits
    python -m tests.flights.accuracy real     --data ../shared/data

Results are kept below --results and not measured again while neither code nor recording has changed. With
--write docs/accuracy.md the tables go between that document's markers.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from tests.flights.accuracy import sweep, tables, whole_tables
from tests.flights.accuracy.recorders import MAIN, RECORDERS
from tests.flights.accuracy.running import Job, run

FACTORS = (1.0, 10.0)
PRINTED_ONLY = (" by lesson", " faults")
"""Sections of --full that are too long for the document."""


def main(arguments: Sequence[str] | None = None) -> None:
    options = _parser().parse_args(arguments)
    sections = {
        "lessons": _lessons,
        "others": _others,
        "ordinary": _ordinary,
        "prior": _prior,
        "whole": _whole,
        "baits": _baits,
        "sweep": _sweep,
        "real": _real,
    }[options.what](options)
    sys.stdout.write("\n\n".join(f"### {name}\n\n{content}" for name, content in sections.items()) + "\n")
    if options.write:
        kept = {name: told for name, told in sections.items() if not name.endswith(PRINTED_ONLY)}
        tables.write(options.write, kept)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    kinds = ("lessons", "others", "ordinary", "prior", "whole", "baits", "sweep", "real")
    parser.add_argument("what", choices=kinds)
    parser.add_argument("--flights", type=Path, default=Path("flights/test"), help="folder of lessons")
    parser.add_argument("--baits", type=Path, default=Path("flights/tuned_baits"), help="for sweep")
    parser.add_argument("--data", type=Path, default=Path("../shared/data"), help="real recordings")
    parser.add_argument("--results", type=Path, default=Path(".cache/accuracy"))
    parser.add_argument("--recorders", default=",".join(MAIN), help=f"of {', '.join(RECORDERS)}")
    parser.add_argument("--only", default="", help="lessons whose names begin so, comma between")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--write", type=Path, help="document with markers to put the tables into")
    parser.add_argument("--full", action="store_true", help="also figures per lesson and every fault")
    return parser


def _folders(options: argparse.Namespace, flights: Path | None = None) -> list[Path]:
    begins = tuple(part for part in options.only.split(",") if part) or ("",)
    found = sorted(path.parent for path in (flights or options.flights).glob("*/done"))
    chosen = [folder for folder in found if folder.name.startswith(begins)]
    if not chosen:
        raise SystemExit(
            f"No lessons in {options.flights}. Make them first: "
            f"python -m tests.flights.make --seeds 1000:1050 --out {options.flights}"
        )
    return chosen


def _results(
    options: argparse.Namespace, what: str, recorder: str, factor: float = 1.0
) -> list[dict[str, Any]]:
    jobs = [Job(what, folder, recorder, options.results, factor) for folder in _folders(options)]
    return run(jobs, processes=options.processes)


def _lessons(options: argparse.Namespace) -> dict[str, str]:
    sections, missed, everything = {}, [], {}
    for recorder in options.recorders.split(","):
        results = _results(options, "lesson", recorder)
        everything[recorder] = results
        title = RECORDERS[recorder].title
        parts = [tables.scope(results), tables.requirement_table(recorder, results)]
        sections[recorder] = "\n\n".join(parts)
        sections[f"{recorder} by element"] = tables.element_table(results)
        sections[f"{recorder} why"] = tables.why_table(results)
        sections[f"{recorder} in gaps"] = tables.gap_table(results)
        sections[f"{recorder} by group"] = "\n\n".join(
            tables.group_table(results, key) for key in ("airplane", "controller")
        )
        if options.full:
            sections[f"{recorder} by lesson"] = tables.per_flight(results)
            sections[f"{recorder} faults"] = tables.faults(results)
        missed += [f"- {title}: {told}" for told in tables.misses(recorder, results)]
    sections["misses"] = "\n".join(missed) or "None: every bound is met."
    sections["date"] = f"Measured {datetime.now(UTC):%Y-%m-%d} on {options.flights.name}."
    (options.results / "lessons.json").write_text(json.dumps(everything))
    return sections


def _others(options: argparse.Namespace) -> dict[str, str]:
    chosen = [name for name in RECORDERS if name not in MAIN]
    return {"others": tables.others_table({name: _results(options, "lesson", name) for name in chosen})}


def _ordinary(options: argparse.Namespace) -> dict[str, str]:
    by_recorder = {
        recorder: _results(options, "ordinary", recorder) for recorder in options.recorders.split(",")
    }
    found = [
        f"- {recorder}, {each['flight']}: {', '.join(each.get('false') or [each.get('error', '')])}"
        for recorder, results in by_recorder.items()
        for each in results
        if each.get("false") or "error" in each
    ]
    content = tables.ordinary_table(by_recorder) + ("\n\n" + "\n".join(found) if found else "")
    return {"ordinary": content}


def _prior(options: argparse.Namespace) -> dict[str, str]:
    return {
        "prior": tables.prior_table(
            {
                recorder: {factor: _results(options, "prior", recorder, factor) for factor in FACTORS}
                for recorder in options.recorders.split(",")
            }
        )
    }


def _course_recorders(options: argparse.Namespace) -> list[str]:
    """Panel and track; the sheet changes nothing in finding."""
    return [name for name in options.recorders.split(",") if not name.endswith("+sheet")]


def _whole(options: argparse.Namespace) -> dict[str, str]:
    sections = {}
    for recorder in _course_recorders(options):
        results = _results(options, "whole", recorder)
        parts = [whole_tables.scope(results), whole_tables.kind_table(recorder, results)]
        sections[f"whole {recorder}"] = "\n\n".join(parts)
        sections[f"whole {recorder} left out"] = whole_tables.group_table(results)
        intervals = [whole_tables.interval_table(results), whole_tables.worst_intervals(results)]
        sections[f"whole {recorder} intervals"] = "\n\n".join(intervals)
        if options.full:
            sections[f"whole {recorder} faults"] = whole_tables.faults(results)
    sections["whole date"] = f"Measured {datetime.now(UTC):%Y-%m-%d} on {options.flights.name}."
    return sections


def _baits(options: argparse.Namespace) -> dict[str, str]:
    by_recorder = {name: _results(options, "baits", name) for name in _course_recorders(options)}
    found = [
        f"- {recorder}, {each['flight']}: {one['told']} in {one['bait']}"
        for recorder, results in by_recorder.items()
        for each in whole_tables.good(results)
        for one in each["false"]
    ]
    sections = {"baits": whole_tables.bait_table(by_recorder)}
    return sections | ({"baits faults": "\n".join(found)} if options.full and found else {})


def _sweep(options: argparse.Namespace) -> dict[str, str]:
    content = sweep.table(
        _folders(options),
        _folders(options, options.baits),
        _course_recorders(options),
        kept=options.results / "motions",
        processes=options.processes,
    )
    return {"sweep": content}


def _real(options: argparse.Namespace) -> dict[str, str]:
    from tests.real.agreement import sections

    if not options.data.is_dir():
        raise SystemExit(f"No real recordings in {options.data}.")
    found: dict[str, str] = sections(options.data)
    return found


if __name__ == "__main__":
    main()
