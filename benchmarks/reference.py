"""How long References take. Run: python -m benchmarks.reference.

Targets: one lazy eight at most 80 ms cold (another case, solver built) and 30 ms warm (from a solution
nearby), the what-if table at most 0.5 s, 1,000 References (mass x altitude x bank) at most 30 s on two cores.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from multiprocessing import get_context

from chalkwing.airplane import load_sheet
from chalkwing.errors import OutsideModel
from chalkwing.reference import solve
from chalkwing.reference.what_if import what_if
from chalkwing.units import DEGREE, FOOT

AIRPLANE = "four-seat-160"
MASSES = [0.80 + 0.02 * k for k in range(10)]
ALTITUDES = [1000.0 * FOOT * k for k in range(10)]
BANKS = [(20.0 + 2.5 * k) * DEGREE for k in range(10)]


def seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def one(share: float, altitude: float, bank: float) -> bool:
    """Whether this case could be solved; an impossible one costs its explanation too."""
    sheet = load_sheet(AIRPLANE)
    try:
        solve("lazy_eight", sheet=sheet, mass=share * sheet.mass, entry_altitude=altitude, maximum_bank=bank)
    except OutsideModel:
        return False
    return True


def case(number: int) -> bool:
    return one(MASSES[number // 100], ALTITUDES[number // 10 % 10], BANKS[number % 10])


def main() -> None:
    sheet = load_sheet(AIRPLANE)
    first = seconds(lambda: one(1.0, 0.0, 30 * DEGREE))
    cold = [seconds(partial(one, 1.0, 300.0 * k, (25 + k) * DEGREE)) for k in range(1, 10)]
    base = solve("lazy_eight", sheet=sheet)
    nearby = partial(solve, "lazy_eight", sheet=sheet, start_from=base)
    warm = [seconds(partial(nearby, entry_altitude=700.0 + 10.0 * k)) for k in range(10)]
    table = statistics.median(seconds(lambda: what_if(base)) for _ in range(3))
    print(f"first in this process {1000 * first:.0f} ms (the solver is built or loaded)")
    print(
        f"lazy eight cold {1000 * statistics.median(cold):.0f} ms, at most {1000 * max(cold):.0f} (target 80)"
    )
    print(f"lazy eight warm {1000 * statistics.median(warm):.0f} ms (target 30)")
    print(f"what-if table {table:.2f} s (target 0.5)")
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        list(pool.map(case, range(4)))  # build once in each
        start = time.perf_counter()
        solved = sum(pool.map(case, range(1000), chunksize=25))
        print(f"1,000 References, {solved} of them possible: {time.perf_counter() - start:.0f} s (target 30)")


if __name__ == "__main__":
    main()
