"""Time to find operating points, one core: python tests/bench/points.py"""

from __future__ import annotations

import os

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import time

import numpy as np

from scheduler import units
from scheduler.inputs.library import backflow_devices, meters, pipe_materials
from scheduler.inputs.site import Supply
from scheduler.rates.curve import SupplyCurve, curve_of
from scheduler.rates.point import Demand, demand_flow, pressure_at

MOST_S = 1.0
"""10,000 zones are to take less."""


def supply_curve() -> SupplyCurve:
    """A house's supply with all that can be on the way."""
    found = curve_of(
        Supply(
            None, None, None, static_pressure_kpa=450.0, meter=meters()[1],
            pipe=pipe_materials()[0], pipe_diameter_mm=26.0, pipe_length_m=30.0,
            rise_to_heads_m=2.0, backflow=backflow_devices()[3],
        )
    )  # fmt: skip
    assert found is not None
    return found


def demands(count: int) -> Demand:
    """Zones of 2 to 40 gpm at 45 psi, a third of them regulated."""
    draw = np.random.default_rng(1)
    flow = draw.uniform(2, 40, count) * units.L_PER_GAL
    held = draw.random(count) < 1 / 3
    chart = np.full(count, 45 * units.KPA_PER_PSI)
    return Demand(
        np.where(held, 0.0, flow / np.sqrt(chart)), np.where(held, flow, 0.0),
        np.full(count, np.nan), np.full(count, 25 * units.KPA_PER_PSI), chart,
    )  # fmt: skip


def main() -> None:
    """Print a line for each number of zones."""
    curve = supply_curve()
    for count in (100, 1_000, 10_000, 100_000):
        demand, times = demands(count), []
        for _ in range(3):
            start = time.perf_counter()
            pressure = pressure_at(demand, curve)
            times.append(time.perf_counter() - start)
        flow = demand_flow(demand, pressure)
        told = "" if count != 10_000 else f" (to be under {MOST_S:g} s)"
        print(f"{count:8,} zones: {min(times):7.3f} s{told}, mean {flow.mean():.1f} "
              f"L/min at {pressure.mean():.0f} kPa")  # fmt: skip


if __name__ == "__main__":
    main()
