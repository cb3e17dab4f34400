"""Seconds to choose nozzles for one zone, one core: python tests/bench/choosing.py"""

from __future__ import annotations

import os

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import time

import numpy as np

from scheduler.rates.choice.offers import ZoneOffer
from scheduler.rates.choice.zone import choose

ROWS, NOZZLES = 40, 30
SUPPLIES = (0.15, 0.3, 0.6, 0.9)


def random_offer(kind: str, seed: int = 1) -> ZoneOffer:
    """Forty rows, thirty nozzles: of three arcs, of any, or flows in steps of 0.1 gpm.

    With few nozzles no set matches.
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
    every = np.ones((ROWS, len(flow)), dtype=bool)
    return ZoneOffer(
        0, np.arange(ROWS), draw.integers(1, 4, ROWS), arc / 360 * 100.0,
        np.full(ROWS, 10.0), False, 310.0, "site", flow, np.full(len(flow), 11.0),
        ~every[0], every, every, every, every, every + 0.0, every[0], every[0],
        draw.integers(0, len(flow), ROWS),
    )  # fmt: skip


def main() -> None:
    """Print the time of each kind of zone and supply, with and without the ground."""
    print(f"{ROWS} rows x {NOZZLES} nozzles")
    for kind in ("three arcs", "any arcs", "even steps", "few nozzles"):
        offer = random_offer(kind)
        most = float(offer.flow_l_min.max() * offer.count.sum()) / 2
        cycles = np.ceil(offer.rate_mm_h / 8)
        for share in SUPPLIES:
            start = time.perf_counter()
            choice = choose(offer, share * most, cycles)
            seconds = time.perf_counter() - start
            print(f"{kind:12} supply {share * most:6.0f} L/min "
                  f"{'fits' if choice.fits else ','.join(choice.limits):6} "
                  f"{len(choice.valves)} valves {seconds:7.3f} s")  # fmt: skip


if __name__ == "__main__":
    main()
