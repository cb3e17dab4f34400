"""Time and proof of a night's order, on one core: python tests/bench/nights.py"""

from __future__ import annotations

import os

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import random
import time
from pathlib import Path

from scheduler.inputs.folder import read_site
from scheduler.plan.night.earliest_end import Job, Limits
from scheduler.plan.night.plan import plan_night
from scheduler.plan.night.sequence import soonest
from scheduler.plan.site import plan_site

ROOT = Path(__file__).parents[2]
NIGHTS = 20


def random_jobs(draw: random.Random, zones: int, pieces: bool) -> list[Job]:
    """Zones of 1 to 3 cycles; two pieces of the date, or one long night."""
    hours = ((0, 7 * 3600), (20 * 3600, 48 * 3600)) if pieces else ((0, 48 * 3600),)
    return [
        Job(
            draw.randint(1, 3),
            60 * draw.randint(4, 30),
            60 * draw.choice([30, 35, 40, 60]),
            draw.choice([20.0, 30.0, 50.0, 60.0]),
            hours,
        )
        for _ in range(zones)
    ]


def main() -> None:
    """Print a line for each kind of night, then one for each example's summer."""
    for zones, at_once, pieces in (
        (4, 1, False), (8, 1, False), (8, 1, True), (24, 1, False), (24, 1, True),
        (48, 1, False), (8, 2, False), (24, 2, False),
    ):  # fmt: skip
        draw = random.Random(1)
        longest, proven, gap = 0.0, 0, 0.0
        for _ in range(NIGHTS):
            jobs = random_jobs(draw, zones, pieces)
            start = time.perf_counter()
            order = soonest(jobs, Limits(at_once, 10, 90.0))
            longest = max(longest, time.perf_counter() - start)
            proven += order.exact
            gap = max(gap, (order.late_s - order.bound_s) / 60)
        print(
            f"{zones:3} zones, {at_once} at once, {1 + pieces} pieces: at most "
            f"{longest:6.2f} s, {proven} of {NIGHTS} proven, within {gap:5.1f} min"
        )
    for folder in sorted((ROOT / "examples").iterdir()):
        plan = plan_site(read_site(folder))
        month = 1 if plan.site.latitude < 0 else 7
        start = time.perf_counter()
        found = plan_night(plan, 2026, month)
        took = time.perf_counter() - start
        over = (found.night.ends_s - found.night.least_end_s) / 60
        print(f"{folder.name:16} {len(found.night.runs):3} runs, month of "
              f"{len(found.month.nights)} nights {took:6.2f} s, fits "
              f"{found.night.fits}, {over:.1f} min over the bound")  # fmt: skip


if __name__ == "__main__":
    main()
