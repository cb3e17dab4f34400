"""Zone-months a second of planning, on one core: python tests/bench/planning.py"""

from __future__ import annotations

import os

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import time

import numpy as np

from scheduler.balance.ground import Ground, Valve
from scheduler.calendar import ALL_DATES, ODD, TWELVE_MONTHS
from scheduler.plan.inputs import PlanInput
from scheduler.plan.planning import plan_zones
from scheduler.plan.times.days import DayRule

RULES = (
    DayRule(127, ALL_DATES, 7), DayRule(0b0010101, ALL_DATES, 3), DayRule(127, ODD, 7)
)  # fmt: skip


def random_input(zones: int, seed: int = 1) -> PlanInput:
    """Zones of every kind, each with a climate of its own."""
    draw = np.random.default_rng(seed)

    def one(low: float, high: float) -> np.ndarray:
        return draw.uniform(low, high, zones)

    season = 1 - np.cos(2 * np.pi * (np.arange(12) + 0.5) / 12)
    rate = one(5, 60)
    total = one(10, 120)
    drip = draw.random(zones) < 0.2
    return PlanInput(
        periods=TWELVE_MONTHS,
        et0_mm_day=0.5 + one(0.5, 4)[:, None] * season,
        rain_mm=draw.uniform(0, 150, (zones, 12)),
        frost=(frost := draw.random((zones, 12)) < 0.1),
        dormant=frost,
        rain_method=draw.integers(0, 3, zones),
        rain_share=one(0.2, 0.8),
        ground=Ground(
            valve=np.arange(zones),
            share=np.ones(zones),
            landscape_coefficient=draw.uniform(0.2, 1.0, (zones, 12)),
            total_available_water_mm=total[:, None],
            allowed_depletion_mm=(total * one(0.3, 0.6))[:, None],
            wetted_share=np.ones(zones),
            longest_gap_days=draw.choice([4.0, 7.0, 14.0, 28.0], zones),
            shortest_gap_days=draw.choice([1.0, 1.0, 7.0], zones),
            leaching_requirement=np.zeros(zones),
            intake_mm_h=one(2.5, 15),
            accumulation_mm=one(2.5, 10),
            rate_share=np.ones(zones),
        ),
        valve=Valve(
            rate_mm_h=rate,
            peak_rate_mm_h=rate * one(1, 1.2),
            flow_l_min=one(5, 80),
            uniformity=np.full(zones, 0.7),
            run_time_multiplier=one(1, 1.5),
            drip=drip,
            runs_off=~drip,
            day_rule=np.repeat(draw.integers(0, 3, zones), 12).reshape(zones, 12),
            longest_run_min=np.full(zones, 240.0),
            minute_step=np.ones(zones),
            shortest_soak_min=np.full(zones, 30.0),
            starts=np.full(zones, 4.0),
            soak_built_in=np.zeros(zones, dtype=bool),
            climate=np.zeros(zones, dtype=np.intp),
            least_cycle_min=np.full(zones, 2.0),
            night_min=np.full((zones, 1), 540.0),
            longest_day_min=np.full(zones, np.inf),
            most_dry=np.full(zones, 0.1),
            rain_shutoff_mm=np.full(zones, np.inf),
        ),
        rules=RULES,
        rule_intervals=(True,) * 3,
    )


def main() -> None:
    """Print a line for each size, with growth against linear from the size before."""
    before = None
    for zones in (10, 1_000, 100_000, 1_000_000):
        inputs = random_input(zones)
        repeats = max(3, min(200, 300_000 // zones))
        times = []
        for _ in range(repeats):
            start = time.perf_counter()
            plan_zones(inputs)
            times.append(time.perf_counter() - start)
        best = min(times)
        growth = "" if before is None else f"{best / zones / before:6.2f} x linear"
        print(f"{zones:9,} zones {best:9.4f} s {12 * zones / best / 1e6:7.2f} "
              f"million zone-months a second {growth}")  # fmt: skip
        before = best / zones


if __name__ == "__main__":
    main()
