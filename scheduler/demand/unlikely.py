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
OUT_OF_LINE = 2.5
"""A month's ET0 over the mean of its two neighbours, or that over the month's: seasons
do not leap so (rule of this program; the steepest month of our samples is 1.5)."""
WARM_ET0_MM_DAY = 2.0
"""ET0 a day, of the larger of the two, from which a leap is looked at."""


DRY_PLACE = 0.15
"""Rain of a year over its ET0 in deserts (common practice: under 0.05 to 0.2)."""
DRIEST_PLACE = 0.015
"""The same where hardly anybody gardens: under it a day's mean was likely typed for a
month's total, a thirtieth of it (rule of this program; the driest of our samples has
0.03)."""
EVEN_RAIN = 0.25
"""Least month's rain over the mean of the months that a desert does not have: its dry
months are dry (rule of this program; the deserts of our samples have 0)."""
AMERICAS_DEG = (66.0, 125.0)
"""Longitudes between which the mainland states that write US units lie, all west."""


def place_doubts(longitude_deg: float, units: str, zone: str) -> Iterator[Caution]:
    """Cautions about a longitude that hardly has the right sign.

    Where a time zone is given the two have been held against each other already.
    """
    low, high = AMERICAS_DEG
    if units == "us" and not zone and low <= longitude_deg <= high:
        yield Caution("place-doubtful", None, None, {"longitude_deg": longitude_deg})


def climate_doubts(months: ReferenceMonths, latitude_deg: float) -> Iterator[Caution]:
    """Cautions about a climate that does not look like one."""
    # Rounded: units must not decide what lies just at a limit, or between months alike.
    et0_mm_day, rain_mm = np.round([months.et0_mm_day, months.rain_mm], 9)
    rain = float(rain_mm.sum())
    if rain > MOST_RAIN_MM:
        yield _doubt("rain", rain_mm=rain)
    et0 = float((et0_mm_day * DAYS_IN_MONTH).sum())
    if not LEAST_ET0_MM <= et0 <= MOST_ET0_MM:
        yield _doubt("et0", et0_mm=et0)
    even = rain_mm.min() > EVEN_RAIN * rain / 12
    if even and rain < DRY_PLACE * min(et0, MOST_ET0_MM):
        yield _doubt("rain-even", rain_mm=rain)
    elif 0 < rain < DRIEST_PLACE * min(et0, MOST_ET0_MM):
        yield _doubt("rain-little", rain_mm=rain)
    beside = (np.roll(et0_mm_day, 1) + np.roll(et0_mm_day, -1)) / 2
    less, more = np.sort([et0_mm_day, beside], axis=0)
    leaps = (more >= WARM_ET0_MM_DAY) & (more > OUT_OF_LINE * less)
    # Of a month and those beside it the one that stands out most.
    if leaps.any():
        apart = np.where(leaps, more / np.maximum(less, 1e-9), 0.0).round(9)
        month = int(np.argmax(apart))
        values = {
            "et0_mm_day": float(et0_mm_day[month]),
            "beside_mm_day": float(beside[month]),
        }
        yield Caution("climate-doubtful", None, month + 1, {"what": "leap", **values})
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
