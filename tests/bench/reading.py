"""Where reading and planning a site goes, against csv alone: run tests/bench/reading.py

Times are told as ratios to reading the same files with the csv module and nothing
else, taken in turns in the same run, so that a busy computer does not change them.
"""

from __future__ import annotations

import csv
import statistics
import tempfile
import time
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from startup import copied_by_months

from scheduler.inputs.folder import read_site
from scheduler.plan.site import plan_site

ROUNDS = 30


def bare(folder: Path) -> None:
    """The files of the site, cells unlooked at."""
    for path in sorted(folder.glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as stream:
            list(csv.reader(stream))


def document(folder: Path) -> None:
    """The settings of the site, keys unlooked at."""
    tomllib.loads((folder / "site.toml").read_text(encoding="utf-8"))


def main() -> None:
    """Print the first call, the median of each step, and its ratio to csv alone."""
    with tempfile.TemporaryDirectory() as folder:
        measure(copied_by_months("business_park", Path(folder)))


def measure(folder: Path) -> None:
    """Print what reading and planning a site folder takes."""
    start = time.perf_counter()
    site = read_site(folder)
    plan_site(site)
    print(f"{(time.perf_counter() - start) * 1000:7.2f} ms  both, the first time")
    steps: dict[str, Callable[[], Any]] = {
        "csv alone": lambda: bare(folder),
        "toml alone": lambda: document(folder),
        "reading": lambda: read_site(folder),
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
