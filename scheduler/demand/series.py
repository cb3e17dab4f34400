"""Years of daily ET0 and rain into twelve months: means, the dry year, frost."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.calendar import DAYS_IN_MONTH
from scheduler.demand.days import ReferenceDays
from scheduler.demand.frost import FrostDates, first_frosts, freezes, last_frosts
from scheduler.inputs.weather.daily import WholeMonths, useful_days, whole_months

MEAN_PERCENTILE = 50.0
SHOWN_DRY_PERCENTILE = 80.0
"""Dry year that is shown where the site plans for the mean: four years in five need
less (common practice)."""


WET_DAY_MM = 1.0
"""A day of rain has this much or more, as climate tables count them."""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A month of a year with too few days: those that are there, and its length."""

    year: int
    month: int
    days: int
    length: int


@dataclass(frozen=True, slots=True, eq=False)
class Series:
    """What years of days tell of the twelve months; NaN for what is not known.

    Means are over the days of the months that count, rain the mean total, `rain_days`
    its days of 1 mm or more where the days tell rain. `dry_` is
    the year of the month that `dry_percentile` of the years need no more than, by ET0 -
    rain. `frost_share` is the share of years whose mean minimum is below freezing.
    `frost_nights` are the nights at freezing or below in a mean month; `last_frosts`
    and `first_frosts` their dates on either side of summer.
    """

    years: tuple[int, ...]
    typical_year: bool
    days: np.ndarray
    years_that_count: np.ndarray
    tmin_c: np.ndarray
    tmax_c: np.ndarray
    et0_mm_day: np.ndarray
    rain_mm: np.ndarray
    rain_days: np.ndarray
    dry_percentile: float
    dry_year: np.ndarray
    dry_et0_mm_day: np.ndarray
    dry_rain_mm: np.ndarray
    frost_share: np.ndarray
    frost_nights: np.ndarray
    last_frosts: FrostDates
    first_frosts: FrostDates
    left_out: tuple[LeftOut, ...]


def series_of_days(days: ReferenceDays, percentile: float, south: bool) -> Series:
    """Months of daily years; `percentile` says which year is the dry one."""
    weather = days.weather
    useful = useful_days(weather) & np.isfinite(days.et0_mm)
    whole = whole_months(weather, useful)
    counted = useful & whole.counts.reshape(-1)[whole.cell]
    et0 = _means(whole, days.et0_mm, counted)
    rain = _rain_of_years(whole, weather.rain_mm, weather.rain_of_months_mm, counted)
    tmin = _means(whole, weather.tmin_c, counted)
    row = _ranked_rows(whole, et0, rain, percentile)
    twelve = np.arange(12)
    nights = (weather.date, weather.tmin_c, south, weather.typical_year)
    frost = np.where(np.isfinite(tmin), (tmin < 0).astype(float), np.nan)
    return Series(
        years=() if weather.typical_year else tuple(whole.years.tolist()),
        typical_year=weather.typical_year,
        days=np.where(whole.counts, whole.days, 0).sum(axis=0),
        years_that_count=whole.counts.sum(axis=0),
        tmin_c=_mean_over_days(whole, weather.tmin_c, counted),
        tmax_c=_mean_over_days(whole, weather.tmax_c, counted),
        et0_mm_day=_mean_over_days(whole, days.et0_mm, counted),
        rain_mm=_mean_rain(whole, weather.rain_mm, weather.rain_of_months_mm, counted),
        rain_days=_mean_over_days(whole, _is_wet(weather.rain_mm), counted)
        * DAYS_IN_MONTH,
        dry_percentile=percentile,
        dry_year=whole.years[row],
        dry_et0_mm_day=et0[row, twelve],
        dry_rain_mm=rain[row, twelve],
        frost_share=_column_means(frost),
        frost_nights=_mean_over_days(whole, freezes(weather.tmin_c), counted)
        * DAYS_IN_MONTH,
        last_frosts=last_frosts(*nights),
        first_frosts=first_frosts(*nights),
        left_out=_left_out(whole),
    )


def _means(whole: WholeMonths, values: np.ndarray, counted: np.ndarray) -> np.ndarray:
    """Mean of each (year, month) that counts; NaN elsewhere."""
    there = counted & np.isfinite(values)
    mean = _means_by(whole.cell[there], values[there], whole.counts.size)
    return mean.reshape(whole.counts.shape)


def _mean_over_days(
    whole: WholeMonths, values: np.ndarray, counted: np.ndarray
) -> np.ndarray:
    """Mean of each month over the days of all years that count."""
    there = counted & np.isfinite(values)
    return _means_by(whole.cell[there] % 12, values[there], 12)


def _means_by(group: np.ndarray, values: np.ndarray, groups: int) -> np.ndarray:
    """Mean of the values of each group, (group,); NaN for one without a value."""
    count = np.bincount(group, minlength=groups)
    total = np.bincount(group, values, groups)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def _is_wet(rain_mm: np.ndarray) -> np.ndarray:
    """1 on a day of rain, 0 on a day without, NaN where that is not known."""
    return np.where(np.isfinite(rain_mm), rain_mm >= WET_DAY_MM, np.nan)


def _rain_of_years(
    whole: WholeMonths, rain: np.ndarray, of_months: np.ndarray, counted: np.ndarray
) -> np.ndarray:
    """Rain of each (year, month): its daily mean over the days of a common year."""
    if np.isfinite(of_months).all():
        return np.where(whole.counts, of_months, np.nan)
    return _means(whole, rain, counted) * DAYS_IN_MONTH


def _mean_rain(
    whole: WholeMonths, rain: np.ndarray, of_months: np.ndarray, counted: np.ndarray
) -> np.ndarray:
    """Rain of each month: the mean over the days of all years, times its days."""
    if np.isfinite(of_months).all():
        return of_months
    return _mean_over_days(whole, rain, counted) * DAYS_IN_MONTH


def _column_means(values: np.ndarray) -> np.ndarray:
    there = np.isfinite(values)
    count = there.sum(axis=0)
    total = np.where(there, values, 0.0).sum(axis=0)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def _ranked_rows(
    whole: WholeMonths, et0: np.ndarray, rain: np.ndarray, percentile: float
) -> np.ndarray:
    """Row of the year of each month, by nearest rank of ET0 - rain from below."""
    deficit = et0 * DAYS_IN_MONTH - np.where(np.isfinite(rain), rain, 0.0)
    deficit = np.where(whole.counts, deficit, np.inf)
    order = np.argsort(deficit, axis=0, kind="stable")
    count = whole.counts.sum(axis=0)
    rank = np.ceil(percentile / 100.0 * count - 1e-9).astype(np.intp)
    rank = np.clip(rank, 1, np.maximum(count, 1)) - 1
    return order[rank, np.arange(12)]


def _left_out(whole: WholeMonths) -> tuple[LeftOut, ...]:
    """Months of the series with too few days."""
    begun = np.zeros(whole.counts.size, dtype=bool)
    begun[whole.cell.min() : whole.cell.max() + 1] = True
    rows = np.argwhere(begun.reshape(whole.counts.shape) & ~whole.counts)
    return tuple(
        LeftOut(
            int(whole.years[year]),
            month + 1,
            int(whole.days[year, month]),
            int(whole.length[year, month]),
        )
        for year, month in rows.tolist()
    )
