"""Climates that can hardly be meant: a wrong unit, a wrong column, a wrong sign."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from scheduler.calendar import DAYS_IN_MONTH
from scheduler.cautions import Caution
from scheduler.demand.months import ReferenceMonths

# Wider than any place where a lawn is watered (common practice): beyond them a unit
# or a column was mixed up.
MOST_RAIN_MM = 4000.0
LEAST_ET0_MM, MOST_ET0_MM = 250.0, 3500.0
LEAST_WARM_C = 10.0
TROPICS_DEG = 15.0
SEASONS_APART_C = 3.0


def climate_doubts(months: ReferenceMonths, latitude_deg: float) -> Iterator[Caution]:
    """Cautions about a climate that does not look like one."""
    rain = float(months.rain_mm.sum())
    if rain > MOST_RAIN_MM:
        yield _doubt("rain", rain_mm=rain)
    et0 = float((months.et0_mm_day * DAYS_IN_MONTH).sum())
    if not LEAST_ET0_MM <= et0 <= MOST_ET0_MM:
        yield _doubt("et0", et0_mm=et0)
    if np.isfinite(months.tmax_c).all():
        warmest = float(months.tmax_c.max())
        if warmest < LEAST_WARM_C:
            yield _doubt("cold", tmax_c=warmest)
        summer = months.tmax_c[3:9].mean() - months.tmax_c[[0, 1, 2, 9, 10, 11]].mean()
        toward_pole = summer if latitude_deg > 0 else -summer
        if abs(latitude_deg) > TROPICS_DEG and toward_pole < -SEASONS_APART_C:
            yield _doubt("seasons", latitude_deg=latitude_deg)


def _doubt(what: str, **values: float) -> Caution:
    return Caution("climate-doubtful", None, None, {"what": what, **values})
