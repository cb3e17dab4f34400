"""Planning by days, on one core: python tests/bench/days.py

Quarter-days a second of lanes, against a plain loop and one pass of arrays over the
same work; and seconds a plan of so many unlike zones takes, with the most memory held.
"""

from __future__ import annotations

import os

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import dataclasses
import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from planning import random_input

from scheduler.balance.day import WETTER
from scheduler.balance.lanes import Lanes, Month, Trials, Waterings
from scheduler.balance.years import invented_years
from scheduler.plan.by_days import plan_by_days, season_of
from scheduler.plan.inputs import PlanInput

ET0_MM_DAY = np.array([1.0, 1.6, 2.6, 3.8, 5.0, 6.0, 6.6, 5.8, 4.4, 2.8, 1.5, 0.9])
RAIN_MM = np.array([70.0, 60, 55, 50, 45, 40, 35, 40, 50, 60, 70, 75])
JULY = 6


def of_one_climate(zones: int) -> PlanInput:
    """Unlike zones under thirty invented years of one climate."""
    inputs = random_input(zones)
    years = invented_years(ET0_MM_DAY, RAIN_MM, RAIN_MM / 7)
    return dataclasses.replace(
        inputs,
        et0_mm_day=np.tile(ET0_MM_DAY, (zones, 1)),
        rain_mm=np.tile(RAIN_MM, (zones, 1)),
        frost=np.zeros((zones, 12), dtype=bool),
        dormant=np.zeros((zones, 12), dtype=bool),
        years=(years,),
    )


def july(zones: int) -> tuple[Lanes, Trials]:
    """A July of zones, each watered Mondays, Wednesdays and Fridays."""
    season = season_of(of_one_climate(zones))
    years, valve = len(season.years), np.arange(zones)
    start = np.zeros((zones, years, 4))
    month = season.month(JULY, start, np.zeros((zones, years), dtype=np.int64))
    waters = (0b0010101 >> month.days.weekday & 1).astype(bool)
    waterings = Waterings(
        np.broadcast_to(waters, (zones, 1, *waters.shape)),
        np.zeros((zones, *waters.shape)),
        np.zeros(1, dtype=bool),
    )
    return Lanes(month, waterings), Trials(valve, np.zeros_like(valve), valve % 9 + 6.0)


def plainly(month: Month, depth_mm: np.ndarray) -> int:
    """The same days in plain Python, numbers one by one; how many end dry."""
    dry = 0
    limit = month.limit_mm
    for zone, depth in enumerate(depth_mm.tolist()):
        total, allowed = float(month.total_mm[zone]), float(month.allowed_mm[zone])
        for share in month.shares[zone, WETTER].tolist():
            for year in range(len(month.rain_mm[0])):
                now = 0.0
                for day in range(month.rain_mm.shape[2]):
                    waters = 0b0010101 >> int(month.days.weekday[year, day]) & 1
                    now -= waters * depth * share + float(month.rain_mm[0, year, day])
                    now = max(now, 0.0)
                    need = float(month.need_mm[zone, year, day])
                    dry += now + need > float(limit[zone, year, day])
                    stress = min((total - now) / (total - allowed), 1.0)
                    now = min(now + need * stress, total)
    return dry


def in_one_pass(month: Month, depth_mm: np.ndarray) -> int:
    """The same days with arrays of everything at once, made anew in every step."""
    waters = (0b0010101 >> month.days.weekday & 1)[None, :, None]
    depth = (depth_mm[:, None] * month.shares[:, WETTER])[:, None, :, None]
    laid = waters * depth + month.rain_mm[:, :, None]
    need, limit = month.need_mm[:, :, None], month.limit_mm[:, :, None]
    total = month.total_mm[:, None, None]
    spare = total - month.allowed_mm[:, None, None]
    now = np.zeros(laid.shape[:-1])
    dry = 0
    for day in range(laid.shape[-1]):
        now = np.maximum(now - laid[..., day], 0.0)
        dry += int((now + need[..., day] > limit[..., day]).sum())
        stress = np.minimum((total - now) / spare, 1.0)
        now = np.minimum(now + need[..., day] * stress, total)
    return dry


def a_second(work: float, run: Callable[[], object]) -> float:
    """Millions of units of work a second, the best of three."""
    best = np.inf
    for _ in range(3):
        start = time.perf_counter()
        run()
        best = min(best, time.perf_counter() - start)
    return work / best / 1e6


def speeds(zones: int) -> str:
    """Quarter-days a second of so many zones, ours beside the two baselines."""
    lanes, trials = july(zones)
    month, few = lanes.month, slice(0, 6)
    small = dataclasses.replace(
        month, valve=month.valve[few], need_mm=month.need_mm[few],
        total_mm=month.total_mm[few], allowed_mm=month.allowed_mm[few],
        shares=month.shares[few], start_mm=month.start_mm[few],
    )  # fmt: skip
    work, little = month.need_mm.size * 3, small.need_mm.size * 3
    ours = a_second(work, lambda: lanes.outcome(trials))
    passed = a_second(work, lambda: in_one_pass(month, trials.depth_mm))
    plain = a_second(little, lambda: plainly(small, trials.depth_mm[few]))
    return (
        f"{zones:6,} zones: {ours:6.1f} million quarter-days a second, "
        f"{ours / passed:4.1f} x one pass, {ours / plain:5.0f} x a plain loop"
    )


def planned(zones: int) -> str:
    """Seconds that a plan of so many unlike zones takes."""
    inputs = of_one_climate(zones)
    start = time.perf_counter()
    plan_by_days(inputs)
    seconds = time.perf_counter() - start
    held = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return (
        f"{zones:6,} zones planned in {seconds:6.2f} s, "
        f"{seconds / zones * 1000:4.0f} ms a zone, {held:4.0f} MB held at most"
    )


def main() -> None:
    """Print speeds of playing and times of planning."""
    for zones in (6, 2_000):
        print(speeds(zones))
    for zones in (6, 24, 1_000):
        print(planned(zones))


if __name__ == "__main__":
    main()
