"""Throw against spacing: how far apart heads may stand, by wind."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler import units
from scheduler.cautions import Caution
from scheduler.domain import numbers_from, numbers_over
from scheduler.inputs.library import package_table
from scheduler.inputs.site import Heads, Zones
from scheduler.lines import Line
from scheduler.rates.soundness import mixed_throws

WINDY_M_S = 7 * units.M_S_PER_MPH
"""Above this a standard trajectory drifts: low-angle nozzles hold (common practice)."""

LONGEST_SPACING = Line(
    "longest_spacing", "2 * radius * spacing_share", "IA-SPACING (from memory)"
)


@dataclass(frozen=True, slots=True, eq=False)
class SpacingTable:
    """Share of the diameter by class of wind; the last class has no upper limit."""

    wind_to_m_s: np.ndarray
    square: np.ndarray
    triangular: np.ndarray


@cache
def spacing_table() -> SpacingTable:
    """Published shares of the diameter by wind."""
    rows = package_table("spacing")
    limits = [float(row["wind_to_mph"]) * units.M_S_PER_MPH for row in rows[:-1]]
    return SpacingTable(
        np.array(limits),
        np.array([float(row["square_percent"]) / 100 for row in rows]),
        np.array([float(row["triangular_percent"]) / 100 for row in rows]),
    )


def longest_spacing(
    radius_m: ArrayLike, wind_m_s: ArrayLike, triangular: ArrayLike
) -> NDArray[np.float64]:
    """How far apart heads may stand.

    Parameters
    ----------
    radius_m : array_like
        Throw radius. [m]
    wind_m_s : array_like
        Typical wind while watering; NaN where it is not known. [m/s]
    triangular : array_like
        Whether rows stand staggered. [-]

    Returns
    -------
    ndarray
        Longest spacing; NaN where the radius is NaN. [m]

    Raises
    ------
    ValueError
        If a radius is not over 0, or a wind is negative.

    Notes
    -----
    A share of the diameter of throw, less in wind. Where the wind is not known, half
    of it: head to head. Whole miles an hour stand in the table; a wind between two
    classes goes with the windier.

    References
    ----------
    IA-SPACING (from memory).

    Examples
    --------
    Heads that throw 9 m, in a wind not known:

    >>> print(f"{longest_spacing(9.0, float('nan'), False):.1f} m")
    9.0 m
    """
    radius = numbers_over("radius_m", radius_m, 0)
    wind = numbers_from("wind_m_s", wind_m_s, 0)
    table = spacing_table()
    row = np.searchsorted(table.wind_to_m_s, np.nan_to_num(wind), side="left")
    share = np.where(triangular, table.triangular[row], table.square[row])
    return np.asarray(2 * radius * np.where(np.isnan(wind), 0.5, share))


def spacing_cautions(
    zones: Zones, heads: Heads, wind_m_s: float | None
) -> list[Caution]:
    """Heads that stand too far apart, drift in wind, or do not belong together."""
    wind = np.nan if wind_m_s is None else wind_m_s
    most = longest_spacing(heads.radius_m, wind, heads.triangular)
    widest = np.fmax(heads.spacing_m, heads.row_spacing_m)
    cautions = []
    for zone, name in enumerate(zones.zone):
        mine = heads.zone == zone
        wide = mine & (widest > most * (1 + 1e-9))
        if wide.any():
            worst = int(np.argmax(np.where(wide, widest / most, 0)))
            values = {
                "heads": [heads.head[i] for i in np.flatnonzero(wide)],
                "spacing_m": float(widest[worst]),
                "longest_spacing_m": float(most[worst]),
                "radius_m": float(heads.radius_m[worst]),
                "wind_m_s": wind_m_s,
            }
            cautions.append(Caution("spacing-too-wide", name, None, values))
        standard = mine & ~heads.low_angle & np.isfinite(heads.radius_m)
        if wind > WINDY_M_S * (1 + 1e-9) and standard.any():
            values = {"wind_m_s": wind_m_s}
            cautions.append(Caution("wind-standard-angle", name, None, values))
        mixed = mixed_throws(heads, np.flatnonzero(mine))
        if mixed is not None:
            values = {"least_m": mixed[0], "most_m": mixed[1]}
            cautions.append(Caution("mixed-heads", name, None, values))
    return cautions
