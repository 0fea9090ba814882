"""How long the server works for a page when all is worked out, how soon a change is judged, page weights.

Run: python -m benchmarks.page_speed. Targets for a 1.5 h log: lesson page 150 ms, each page at most 1.5 MB
compressed with everything it loads. In headless Chromium: lesson page of use within 1 s of the click, 50
frames a second at the median while dragging along, 150 ms from a ground lesson's slider to its pictures.
"""

from __future__ import annotations

import gzip
import re
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from starlette.testclient import TestClient
from tests.web.browser import served

from benchmarks.long_log import write_log
from benchmarks.page_browser import browsing, measure_ground_lesson, measure_lesson
from chalkwing.web.app import create_app
from chalkwing.web.assets import built_assets
from chalkwing.web.serving import opened
from chalkwing.web.settings import Settings

HOURS, RUNS = 1.5, 15


def milliseconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return 1000.0 * (time.perf_counter() - start)


def weight(html: str) -> int:
    """Bytes of a page and of every built file that it may load, compressed where that helps [bytes]."""
    folder = built_assets().folder
    names = {path.name for path in folder.iterdir()}
    wanted = set(re.findall(r"/assets/([\w.-]+)", html))
    while True:
        texts = [
            (folder / name).read_text(encoding="utf-8") for name in wanted if name.endswith((".js", ".css"))
        ]
        more = {name for name in names if any(name in text for text in texts)} | wanted
        if more == wanted:
            break
        wanted = more
    files = [(folder / name).read_bytes() for name in wanted]
    return sum(min(len(each), len(gzip.compress(each))) for each in [html.encode(), *files])


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "long.csv"
        write_log(path, hours=HOURS)
        settings = Settings(folder=Path(folder) / "desk")
        with TestClient(create_app(settings), base_url="http://127.0.0.1:8765") as client:
            url = opened(settings, [path], airplane=None, standard="commercial", zone=None)
            start = time.perf_counter()
            client.get(url)
            while client.get(f"{url}/progress").json()["state"] == "working":
                time.sleep(0.1)
            print(f"from file to page, nothing known: {time.perf_counter() - start:.1f} s")
            longest = measure(client, url)
        with served(settings.folder) as address, browsing() as browser:
            measure_lesson(browser, address, url, longest)
            measure_ground_lesson(browser, address)


def measure(client: TestClient, url: str) -> int:
    """Prints what the server takes; the number of the longest maneuver."""
    found = client.get(f"{url}/debrief.json").json()["maneuvers"]
    print(f"{len(found)} maneuvers")
    longest = max(range(len(found)), key=lambda k: found[k]["end_s"] - found[k]["start_s"]) + 1
    for name, page in (
        ("lesson", url),
        ("maneuver", f"{url}/maneuver/{longest}"),
        ("ground lesson", "/ground-lesson"),
    ):
        html = client.get(page).text
        taken = [milliseconds(lambda page=page: client.get(page)) for _ in range(RUNS)]  # type: ignore[misc]
        print(
            f"{name} page: median {statistics.median(taken):.0f} ms, longest {max(taken):.0f} ms; "
            f"{weight(html) / 1e6:.2f} MB compressed with all it loads"
        )
    token = re.search(r'chalkwing-token" content="([0-9a-f]+)', client.get("/").text)
    assert token
    turn = found[0]
    label = {"act": "label", "kind": turn["kind"], "at_s": turn["start_s"], "by": "Tomas Vell"}

    def change(who: str) -> None:
        sent = {**label, "flown_by": who}
        answer = client.post(f"{url}/changes", json=sent, headers={"x-chalkwing-token": token[1]})
        assert answer.status_code == 201, answer.text

    print(f"first change {milliseconds(lambda: change('student')):.0f} ms", end="; ")
    print(f"next change {milliseconds(lambda: change('shared')):.0f} ms")
    client.get(f"{url}/debrief.pdf")
    return longest


if __name__ == "__main__":
    main()
