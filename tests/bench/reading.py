"""Where reading and planning a site goes, against csv alone: run tests/bench/reading.py

Times are told as ratios to reading the same files with the csv module and nothing
else, taken in turns in the same run, so that a busy computer does not change them.
"""

from __future__ import annotations

import csv
import statistics
import time
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from scheduler.inputs.folder import read_site
from scheduler.plan.site import plan_site

SITE = Path(__file__).parents[2] / "examples" / "business_park"
ROUNDS = 30


def bare() -> None:
    """The files of the site, cells unlooked at."""
    for path in sorted(SITE.glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as stream:
            list(csv.reader(stream))


def document() -> None:
    """The settings of the site, keys unlooked at."""
    tomllib.loads((SITE / "site.toml").read_text(encoding="utf-8"))


def main() -> None:
    """Print the median of each step, and its ratio to csv alone."""
    site = read_site(SITE)
    steps: dict[str, Callable[[], Any]] = {
        "csv alone": bare,
        "toml alone": document,
        "reading": lambda: read_site(SITE),
        "planning": lambda: plan_site(site),
    }
    seconds: dict[str, list[float]] = {name: [] for name in steps}
    for _ in range(ROUNDS):
        for name, step in steps.items():
            start = time.perf_counter()
            step()
            seconds[name].append(time.perf_counter() - start)
    medians = {name: statistics.median(times) for name, times in seconds.items()}
    for name, median in medians.items():
        ratio = median / medians["csv alone"]
        print(f"{median * 1000:7.2f} ms  {ratio:6.1f} x csv alone  {name}")
    print(f"{(medians['reading'] + medians['planning']) * 1000:7.2f} ms  both")


if __name__ == "__main__":
    main()
