"""Catch-can tests: what a zone lays down, and how evenly."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler import units
from scheduler.cautions import Caution
from scheduler.domain import numbers_from, numbers_over
from scheduler.inputs.site import Cans, Zones
from scheduler.rates.uniformity import (
    christiansen_coefficient,
    lower_half_of_cans,
    lower_quarter_of_cans,
    nearest_part,
    run_time_multiplier,
)

ENOUGH_CANS = 24
"""Cans that an audit guideline asks for in a zone (from memory)."""


@dataclass(frozen=True, slots=True, eq=False)
class CanTests:
    """Result by zone, (zone,); NaN and 0 cans where a zone has no test.

    `uniformity` is that of the lower quarter; `driest` names the cans in it, and
    `wettest_mm_h` is the rate in the wettest can.
    """

    zone: tuple[str, ...]
    cans: np.ndarray
    rate_mm_h: np.ndarray
    wettest_mm_h: np.ndarray
    uniformity: np.ndarray
    uniformity_lh: np.ndarray
    christiansen_percent: np.ndarray
    run_time_multiplier: np.ndarray
    driest: tuple[tuple[str, ...], ...]
    cautions: tuple[Caution, ...]


def catch_depth(catch_ml: ArrayLike, can_area_mm2: ArrayLike) -> NDArray[np.float64]:
    """Depth of water that a can caught.

    Parameters
    ----------
    catch_ml : array_like
        Water in the can. [mL]
    can_area_mm2 : array_like
        Opening of the can, inside its rim. [mm²]

    Returns
    -------
    ndarray
        Depth over the opening; NaN where either argument is NaN. [mm]

    Raises
    ------
    ValueError
        If a catch is negative, or an area is not over 0.

    Notes
    -----
    d = 1000 V / A. The can's walls need not be upright: only its opening counts.

    References
    ----------
    None: follows from the definition of the milliliter.

    Examples
    --------
    50 mL in a can of 100 cm²:

    >>> print(f"{catch_depth(50, 10_000):.1f} mm")
    5.0 mm
    """
    catch = numbers_from("catch_ml", catch_ml, 0)
    return np.asarray(
        units.MM3_PER_ML * catch / numbers_over("can_area_mm2", can_area_mm2, 0)
    )


def catch_rate(catch_mm: ArrayLike, run_min: ArrayLike) -> NDArray[np.float64]:
    """Precipitation rate that a depth caught in so many minutes makes.

    Parameters
    ----------
    catch_mm : array_like
        Depth caught. [mm]
    run_min : array_like
        How long the zone ran. [min]

    Returns
    -------
    ndarray
        Rate; NaN where either argument is NaN. [mm/h]

    Raises
    ------
    ValueError
        If a depth is negative, or a time is not over 0.

    Notes
    -----
    P = 60 d / t. In US units of mL and in² it is P = 3.66 V / (t A) in/h.

    References
    ----------
    None: follows from the definition of the hour.

    Examples
    --------
    A quarter of an inch in half an hour:

    >>> print(f"{catch_rate(6.35, 30):.1f} mm/h")
    12.7 mm/h
    """
    catch = numbers_from("catch_mm", catch_mm, 0)
    return np.asarray(units.MIN_PER_H * catch / numbers_over("run_min", run_min, 0))


def can_tests(cans: Cans) -> CanTests:
    """Rate and uniformity of each zone that has a test."""
    depth = np.where(
        np.isnan(cans.catch_ml),
        cans.catch_mm,
        catch_depth(cans.catch_ml, cans.can_area_mm2),
    )
    rate = catch_rate(depth, cans.minutes)
    count = len(cans.zones)
    mean, wettest, quarter, half, percent = np.full((5, count), np.nan)
    number = np.zeros(count, dtype=np.intp)
    driest: list[tuple[str, ...]] = [()] * count
    cautions: list[Caution] = []
    for row in sorted({*cans.zone.tolist()}):
        mine = np.flatnonzero(cans.zone == row)
        number[row], mean[row] = mine.size, rate[mine].mean()
        wettest[row] = rate[mine].max()
        quarter[row] = lower_quarter_of_cans(rate[mine])
        half[row] = lower_half_of_cans(rate[mine])
        percent[row] = christiansen_coefficient(rate[mine])
        dry = mine[np.argsort(rate[mine], kind="stable")[: nearest_part(mine.size, 4)]]
        driest[row] = tuple(cans.can[i] for i in sorted(dry.tolist()) if cans.can[i])
        cautions += _cautions(cans.zones[row], mine.size, quarter[row])
    return CanTests(
        zone=cans.zones,
        cans=number,
        rate_mm_h=mean,
        wettest_mm_h=wettest,
        uniformity=quarter,
        uniformity_lh=half,
        christiansen_percent=percent,
        run_time_multiplier=run_time_multiplier(quarter),
        driest=tuple(driest),
        cautions=tuple(cautions),
    )


def without_tests(cans: Cans, zones: Sequence[int]) -> Cans:
    """Cans less those of some zones, whose tests no longer hold."""
    kept = ~np.isin(cans.zone, zones)
    rows = np.flatnonzero(kept).tolist()
    return dataclasses.replace(
        cans,
        zone=cans.zone[kept],
        can=tuple(cans.can[row] for row in rows),
        catch_ml=cans.catch_ml[kept],
        can_area_mm2=cans.can_area_mm2[kept],
        catch_mm=cans.catch_mm[kept],
        minutes=cans.minutes[kept],
    )


def cautions_over_given(tests: CanTests, zones: Zones) -> list[Caution]:
    """Zones whose test stands in place of a rate or a uniformity of zones.csv."""
    found = []
    for row in np.flatnonzero(tests.cans).tolist():
        rate, uniformity = float(zones.rate_mm_h[row]), float(zones.uniformity[row])
        if not (math.isnan(rate) and math.isnan(uniformity)):
            values = {
                "rate_mm_h": None if math.isnan(rate) else rate,
                "uniformity": None if math.isnan(uniformity) else uniformity,
                "tested_rate_mm_h": float(tests.rate_mm_h[row]),
                "tested_uniformity": float(tests.uniformity[row]),
            }
            found.append(Caution("cans-over-given", zones.zone[row], None, values))
    return found


def _cautions(zone: str, cans: int, uniformity: float) -> list[Caution]:
    found = []
    if cans < ENOUGH_CANS:
        values = {"cans": cans, "enough": ENOUGH_CANS}
        found.append(Caution("cans-too-few", zone, None, values))
    if uniformity == 0:
        values = {"cans": nearest_part(cans, 4)}
        found.append(Caution("driest-quarter-dry", zone, None, values))
    return found
