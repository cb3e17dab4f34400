"""What weekly adjusting saves: python tests/bench/adjusting.py

Plays settings of the examples, in the climates of the samples, through years with a
percent for each week beside the same settings left alone. Water and dry days of all
zones, dry days weighted by ground. Two of the samples are ten invented years of days,
for the others thirty are invented from their months.
"""

from __future__ import annotations

import os
import time
from dataclasses import replace
from pathlib import Path

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import numpy as np

from scheduler.budget.replay import (
    Replayed,
    Stage,
    held_back,
    played_way,
    set_stage,
    table_waterings,
)
from scheduler.budget.weekly import take_of, weekly_waterings
from scheduler.inputs.folder import read_site
from scheduler.inputs.weather.climates import read_climate
from scheduler.plan.site import plan_site

ROOT = Path(__file__).parents[2]
SITES = ("home", "southern_garden")


def main() -> None:
    """Print a line for each site and climate."""
    print("site, climate: water and dry days, left alone -> adjusted")
    for name in SITES:
        site = replace(read_site(ROOT / "examples" / name), plan_by="days")
        told("own climate", name, site)
        for path in sorted((ROOT / "climate_samples").glob("*.csv")):
            climate = read_climate(path, path.name, [])
            told(path.stem, name, replace(site, climate=climate))


def told(climate: str, name: str, site: object) -> None:
    """One line: what a percent for each zone and one for all of them come to."""
    plan = plan_site(site)
    stage = set_stage(plan)
    laid = table_waterings(stage)
    alone = played_way(stage, "table", held_back(stage, laid))
    parts = [f"{name}, {climate}: {text(stage, alone)}"]
    for by in ("none", "program", "controller"):
        controller = replace(site.controller, percent_by=by)
        of = replace(
            stage, plan=replace(plan, site=replace(site, controller=controller))
        )
        take = take_of(of, plan.plan.schedule)
        start = time.perf_counter()
        found = weekly_waterings(of, laid, take).waterings
        seconds = time.perf_counter() - start
        way = played_way(of, "weekly", held_back(of, found))
        change = 100 * (way.volume_l_year.sum() / alone.volume_l_year.sum() - 1)
        parts.append(
            f"  by {by}: {text(stage, way)} ({change:+.1f} %), {seconds:.1f} s"
        )
    print("\n".join(parts), flush=True)


def text(stage: Stage, way: Replayed) -> str:
    """Water of a year and dry days of a hundred."""
    dry = 100 * np.average(way.dry_share, weights=stage.plan.rates.area_m2)
    worst = 100 * np.nanmax(way.dry_by_month)
    water = way.volume_l_year.sum() / 1000
    return f"{water:.0f} m³, {dry:.1f} dry (worst month {worst:.0f})"


if __name__ == "__main__":
    main()
