"""Writes scheduler/tables/quantiles.csv: inverse distribution functions on a grid.

Invented years are drawn by them, so that every machine draws the same without
importing scipy. The grid is even in the logit of the probability; between its points
the program goes in straight lines.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from scipy import special

PLACE = Path(__file__).parents[1] / "scheduler" / "tables" / "quantiles.csv"
LOGIT_MOST, POINTS = 14.0, 561
WET_SHAPE, MONTH_SHAPE = 0.6, 4.0


def text() -> str:
    """The table, as it stands in the package."""
    probability = special.expit(np.linspace(-LOGIT_MOST, LOGIT_MOST, POINTS))
    columns = (
        probability,
        special.ndtri(probability),
        special.gammaincinv(WET_SHAPE, probability) / WET_SHAPE,
        special.gammaincinv(MONTH_SHAPE, probability) / MONTH_SHAPE,
    )
    lines = ["probability,normal,gamma_of_shape_0_6,gamma_of_shape_4"]
    for row in zip(*columns, strict=True):
        lines.append(",".join(f"{value:.12g}" for value in row))
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    sys.stdout.write(f"{PLACE.name}\n")
    PLACE.write_text(text(), encoding="utf-8")
