"""Many people at once on the pages of a book: errors, and how long pages take.

Run: python -m benchmarks.book_load [--database postgresql --users 50] [--seconds 60] [--lessons 2000]. The
server is `chalkwing serve` in a process of its own. Every user asks for one page after another and reads each
for 1 to 3 s; one visit in ten writes a note on a record. The page of a student whose chance is being worked
out asks for it as its script does. Asked: 10 users on SQLite and 50 on PostgreSQL without an error.
"""

from __future__ import annotations

import argparse
import asyncio
import random
import re
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Coroutine
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx2 as httpx
from sqlalchemy import select

from benchmarks.full_book import IN_TRAINING, fill, fresh_book
from chalkwing.book.tables import Person

READS = (1.0, 3.0)
WRITES = 0.1


@dataclass
class Told:
    """Times [ms] by page, and what went wrong."""

    taken: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    wrong: Counter[str] = field(default_factory=Counter)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--database", choices=["sqlite", "postgresql"], default="sqlite")
    asked.add_argument("--users", type=int, default=10)
    asked.add_argument("--seconds", type=float, default=60.0)
    asked.add_argument("--lessons", type=int, default=2000)
    told = asked.parse_args()
    with tempfile.TemporaryDirectory() as room, fresh_book(told.database, Path(room)) as (where, files, book):
        fill(book, lessons=told.lessons, each=40)
        with book.reading() as session:
            chosen = select(Person.id).where(Person.student, Person.left.is_(None)).limit(IN_TRAINING)
            students = list(session.scalars(chosen))
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        command = [sys.executable, "-c", "from chalkwing.cli import main; main()", "serve"]
        command += ["--port", str(port), "--folder", f"{room}/desk", "--book", where, "--files", str(files)]
        server = subprocess.Popen(command, stderr=subprocess.DEVNULL)
        try:
            found = asyncio.run(
                load(f"http://127.0.0.1:{port}", told.users, told.seconds, told.lessons, students)
            )
        finally:
            server.terminate()
            server.wait(20.0)
    tell(found, told)


async def load(address: str, users: int, seconds: float, lessons: int, students: list[int]) -> Told:
    """All users at once, once the server answers."""
    told = Told()
    async with httpx.AsyncClient(base_url=address, timeout=60.0) as first:
        while True:
            try:
                await first.get("/book")
                break
            except httpx.TransportError:
                await asyncio.sleep(0.3)
    end = time.monotonic() + seconds
    await asyncio.gather(*(user(address, number, end, lessons, students, told) for number in range(users)))
    return told


async def user(address: str, number: int, end: float, lessons: int, students: list[int], told: Told) -> None:
    """One person, who reads pages and now and then writes a note."""
    chance = random.Random(number)
    async with httpx.AsyncClient(base_url=address, timeout=60.0) as client:
        await asyncio.sleep(chance.uniform(0.0, READS[1]))
        while time.monotonic() < end:
            record = f"/record/{chance.randrange(1, lessons)}"
            student = f"/student/{chance.choice(students)}"
            name, url = chance.choice(
                [("school", "/book"), ("lessons", "/book/lessons"), ("student", student), ("record", record)]
            )
            answer = await timed(told, name, client.get(url))
            if answer is not None and name == "record" and chance.random() < 4.0 * WRITES:
                await write(client, record, answer.text, number, told)
            reading = asyncio.sleep(chance.uniform(*READS))
            if answer is not None and "data-awaits" in answer.text:
                await wait_for_chance(client, student, told, reading)
            else:
                await reading


async def wait_for_chance(
    client: httpx.AsyncClient, student: str, told: Told, reading: Coroutine[Any, Any, None]
) -> None:
    """What the script of a student's page does while somebody reads it: asks, and takes the page again."""
    done, pause = asyncio.ensure_future(reading), 0.7
    while not done.done():
        await asyncio.wait([done], timeout=pause)
        pause = min(2.0 * pause, 5.0)
        answer = await timed(told, "chance", client.get(f"{student}/chance"))
        if answer is not None and answer.json()["current"]:
            await timed(told, "student again", client.get(student))
            break
    await done


async def write(client: httpx.AsyncClient, record: str, page: str, number: int, told: Told) -> None:
    token = re.search(r'chalkwing-token" content="([0-9a-f]+)', page)
    assert token
    sent = {"by": f"Instructor {number % 10}", "text": "more right rudder over the top"}
    headers = {"x-chalkwing-token": token[1]}
    await timed(told, "note", client.post(f"{record}/notes", json=sent, headers=headers))


async def timed(told: Told, name: str, asking: object) -> httpx.Response | None:
    """The answer, its time noted; None and what went wrong where there was none."""
    start = time.perf_counter()
    try:
        answer: httpx.Response = await asking  # type: ignore[misc]
    except httpx.HTTPError as error:
        told.wrong[f"{name}: {type(error).__name__}"] += 1
        return None
    told.taken[name].append(1000.0 * (time.perf_counter() - start))
    if answer.status_code >= 400:
        told.wrong[f"{name}: {answer.status_code} {answer.text[:120]}"] += 1
        return None
    return answer


def tell(found: Told, told: argparse.Namespace) -> None:
    everything = [each for taken in found.taken.values() for each in taken]
    print(
        f"{told.database}, {told.users} users, {told.seconds:.0f} s, {told.lessons} lessons: "
        f"{len(everything)} answers, {sum(found.wrong.values())} errors"
    )
    for name, taken in [*sorted(found.taken.items()), ("all", everything)]:
        parts = statistics.quantiles(taken, n=20) if len(taken) > 1 else taken * 19
        print(
            f"  {name}: {len(taken)}, p50 {parts[9]:.0f} ms, p95 {parts[18]:.0f} ms, "
            f"longest {max(taken):.0f} ms"
        )
    for what, count in found.wrong.most_common():
        print(f"  wrong {count} times: {what}")


if __name__ == "__main__":
    main()
