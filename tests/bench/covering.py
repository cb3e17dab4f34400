"""Time to lay the water of 60 heads, one core: python tests/bench/covering.py"""

from __future__ import annotations

import os

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import dataclasses
import time
from pathlib import Path

import numpy as np

from scheduler.inputs.folder import read_site
from scheduler.inputs.site import Site
from scheduler.rates.coverage.grid import cover_site

EXAMPLE = Path(__file__).parents[2] / "examples" / "home"
SPACING_M, RADIUS_M = 9.0, 9.3


def lattice(columns: int, rows: int, degrees: float) -> Site:
    """An example with its heads put on a lattice that is turned against the grid."""
    site = read_site(EXAMPLE)
    column, row = (place.ravel() for place in np.meshgrid(range(columns), range(rows)))
    inward_x = (column == 0) * 1.0 - (column == columns - 1)
    inward_y = (row == 0) * 1.0 - (row == rows - 1)
    arc = 360 / 2 ** (np.abs(inward_x) + np.abs(inward_y))
    count, turn = len(column), np.radians(degrees)
    x, y = column * SPACING_M, row * SPACING_M
    unknown = np.full(count, np.nan)
    heads = dataclasses.replace(
        site.heads,
        zone=np.zeros(count, int), head=tuple(map(str, range(count))),
        nozzle=("",) * count, count=np.ones(count), arc_deg=arc,
        radius_m=np.full(count, RADIUS_M), flow_l_min=20 * arc / 360,
        pressure_kpa=unknown, spacing_m=unknown, row_spacing_m=unknown,
        triangular=np.zeros(count, bool), low_angle=np.zeros(count, bool),
        x_m=np.cos(turn) * x + np.sin(turn) * y,
        y_m=np.cos(turn) * y - np.sin(turn) * x,
        facing_deg=np.degrees(np.arctan2(inward_x, inward_y)) + degrees,
    )  # fmt: skip
    outlines = tuple(np.zeros((0, 2)) for _ in site.outlines)
    return dataclasses.replace(site, heads=heads, outlines=outlines)


def main() -> None:
    """Print a line for each layout."""
    for columns, rows, degrees in ((4, 4, 0), (10, 6, 0), (10, 6, 30), (20, 12, 30)):
        site = lattice(columns, rows, degrees)
        times = []
        for _ in range(5):
            start = time.perf_counter()
            zone = cover_site(site).zones[0]
            times.append(time.perf_counter() - start)
        cells = zone.grid.rows * zone.grid.columns
        print(f"{columns * rows:4} heads, turned by {degrees:2}°: {cells:9,} cells "
              f"{min(times):6.3f} s, DU {zone.uniformity_lq:.3f}")  # fmt: skip


if __name__ == "__main__":
    main()
