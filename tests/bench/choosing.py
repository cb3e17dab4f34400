"""Seconds to choose nozzles for one zone, one core: python tests/bench/choosing.py"""

from __future__ import annotations

import os

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import time

import numpy as np

from scheduler.inputs.chart import Chart
from scheduler.rates.choice.offers import ZoneOffer
from scheduler.rates.choice.standing import Standing, on_curve
from scheduler.rates.choice.zone import choose
from scheduler.rates.curve import SupplyCurve

ROWS, NOZZLES = 40, 30
SUPPLIES = (0.15, 0.3, 0.6, 0.9)
CHART_KPA, STATIC_KPA, SPACING_M = 310.0, 420.0, 10.0


def random_zone(kind: str, share: float, seed: int = 1) -> Standing:
    """Forty rows, thirty nozzles: of three arcs, of any, or flows in steps of 0.1 gpm.

    With few nozzles no set matches. The supply loses a quarter of its pressure at the
    share of what the largest nozzles draw; throws grow with the pressure, so that some
    reach from where they stand alone.
    """
    draw = np.random.default_rng(seed)
    arc = draw.choice([90.0, 180.0, 360.0], ROWS)
    flow = np.geomspace(1.0, 40.0, NOZZLES)
    if kind != "three arcs":
        arc = draw.uniform(60, 360, ROWS)
    if kind == "few nozzles":
        flow = flow[::6]
    if kind == "even steps":
        flow = np.unique(np.round(flow / 0.3785411784, 0)) * 0.3785411784
    count, now = draw.integers(1, 4, ROWS), draw.integers(0, len(flow), ROWS)
    throw = draw.uniform(0.95, 1.15, len(flow)) * SPACING_M
    every = np.ones((ROWS, len(flow)), dtype=bool)
    of_nozzle = every[0]
    chart = Chart(
        "drawn.csv", tuple(f"{q:.2f}" for q in flow), np.full(len(flow), np.nan),
        ~of_nozzle, np.full(len(flow), -1), (np.array([CHART_KPA]),) * len(flow),
        tuple(np.array([q]) for q in flow), tuple(np.array([r]) for r in throw),
    )  # fmt: skip

    def offer_at(pressure_kpa: float) -> ZoneOffer:
        radius = throw * (pressure_kpa / CHART_KPA) ** 0.3
        reaches = every & (radius >= SPACING_M)
        return ZoneOffer(
            0, np.arange(ROWS), count, arc / 360 * SPACING_M**2,
            np.full(ROWS, SPACING_M), False, pressure_kpa, "site",
            flow * np.sqrt(pressure_kpa / CHART_KPA), radius, ~of_nozzle, every,
            reaches, reaches, every, np.where(reaches, 1.0, 0.95), of_nozzle, of_nozzle,
            now,
        )  # fmt: skip

    most = share * float(flow.max() * count.sum()) / 2
    curve = SupplyCurve("reading", STATIC_KPA, 0.0, 0.0,
                        reading_kpa=STATIC_KPA / 4, reading_l_min=most)  # fmt: skip
    standing = on_curve(offer_at, chart, curve, most, 200.0)
    assert standing is not None
    return standing


def main() -> None:
    """Print the time of each kind of zone and supply."""
    print(f"{ROWS} rows x {NOZZLES} nozzles, each set at its own pressure")
    for kind in ("three arcs", "any arcs", "even steps", "few nozzles"):
        for share in SUPPLIES:
            standing = random_zone(kind, share)
            start = time.perf_counter()
            choice = choose(standing, lambda offer: np.ceil(offer.rate_mm_h / 8))
            seconds = time.perf_counter() - start
            print(f"{kind:12} supply {standing.most_flow_l_min:6.0f} L/min "
                  f"{'fits' if choice.fits else ','.join(choice.limits):12} "
                  f"at {choice.chosen.offer.pressure_kpa:4.0f} kPa "
                  f"{len(choice.valves)} valves {seconds:7.3f} s")  # fmt: skip


if __name__ == "__main__":
    main()
