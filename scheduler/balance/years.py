"""Years of days: those of a weather file, or thirty invented from twelve months."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from scheduler.calendar import DAYS_IN_MONTH, DAYS_IN_YEAR, Days
from scheduler.demand.series import WET_DAY_MM
from scheduler.inputs.library import package_table

LEAST_YEARS = 8
"""Whole years of days that a plan may stand on (rule of this program)."""
INVENTED_YEARS = 30
LEAST_SHARE_OF_DAYS = 0.8
"""Share of the days of each month that a year needs to count (rule of this program)."""
RAIN_A_WET_DAY_MM = 7.0
"""Where days of rain are not told (set on open daily records, as what follows)."""
MOST_WET = 0.8
"""Most days of a month that are wet, as a share."""
WET_AFTER_DRY = 0.75
"""Share of the mean chance of rain that a dry day leaves (GENG86)."""
MOST_WET_AFTER_WET = 0.98
LEAST_RAIN_MM = 1.0
"""A wet day has this much at least, where its mean is over `LIGHT_RAIN_MM`."""
LIGHT_RAIN_MM = 1.5
WETNESS_OF_DAYS, WETNESS_OF_DEPTH = 0.7, 0.3
"""Powers of a month's wetness that its wet days and its depths go with. It differs from
year to year as a gamma of mean 1 and shape 4, a spread of 0.5."""
ET0_SPREAD = 0.10
"""Spread of a month's ET0 from year to year."""
ET0_OF_WET = 0.3
"""By how much of the mean a dry day's ET0 stands over a wet one's."""
ET0_NOISE, ET0_MEMORY = 0.2, 0.5
"""Stationary deviation of a day's ET0, and the share that the next day keeps."""
LEAST_ET0 = 0.1
"""Share of the mean that every day's ET0 has."""
_SEED = 20
_MONTH = Days.of_common_years(1).month


@dataclass(frozen=True, slots=True, eq=False)
class Years:
    """Years of days of one climate, (year, day) of 365 days.

    `first` and `last` are calendar years, None where the years are invented from twelve
    months. `rain_days` (month,) are those invented with, None for years of a file;
    `rain_days_given` says whether the climate told them.
    """

    et0_mm: np.ndarray
    rain_mm: np.ndarray
    first: int | None = None
    last: int | None = None
    rain_days: np.ndarray | None = None
    rain_days_given: bool = False
    numbers: tuple[int, ...] = ()
    """Calendar years of a file, in order: not all that lie between need count."""
    filled_days: int = 0
    """Days of those years that the file lacks: mean ET0 of their month, no rain."""

    def __len__(self) -> int:
        return len(self.et0_mm)

    @property
    def invented(self) -> bool:
        """Whether the years are invented."""
        return self.first is None


@dataclass(frozen=True, slots=True, eq=False)
class PlayedMonths:
    """Means of the twelve months over years of days, (month,).

    A day of rain has 1 mm or more. `dry_spell_days` is the longest dry spell within the
    month in the median year; `usual_dry_spell_days` and `longest_dry_spell_days` are
    those of a year, spells that began in the year before included, a year at most.
    """

    rain_days: np.ndarray
    rain_mm: np.ndarray
    et0_mm_day: np.ndarray
    dry_spell_days: np.ndarray
    usual_dry_spell_days: float
    longest_dry_spell_days: int


def whole_years(
    date: np.ndarray, et0_mm: np.ndarray, rain_mm: np.ndarray
) -> Years | None:
    """Whole years of a daily series; None where there are under eight.

    `date` is datetime64[D] in order, the rest (day,) with NaN where not known. A year
    counts when each of its months has 80 % of its days, with rain where the series has
    rain. A day that is missing has the mean ET0 of its month over all years, and no
    rain; what fell on 29 February goes to the 28th.
    """
    found = every_whole_year(date, et0_mm, rain_mm)
    return found if found is not None and len(found) >= LEAST_YEARS else None


def every_whole_year(
    date: np.ndarray, et0_mm: np.ndarray, rain_mm: np.ndarray
) -> Years | None:
    """Whole years of a daily series, however few; None where there is none."""
    year = date.astype("datetime64[Y]").astype(np.int64) + 1970
    of_year = (date - date.astype("datetime64[Y]").astype("datetime64[D]")).astype(int)
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    leap_day = leap & (of_year == DAYS_IN_MONTH[:2].sum())
    place = of_year - (leap & (of_year >= DAYS_IN_MONTH[:2].sum()))
    row = year - year[0]
    shape = (int(row[-1]) + 1, DAYS_IN_YEAR)
    et0, rain = (np.full(shape, np.nan) for _ in range(2))
    common = ~leap_day
    for into, values in ((et0, et0_mm), (rain, rain_mm)):
        into[row[common], place[common]] = values[common]
    late = np.nan_to_num(rain_mm[leap_day])
    rain[row[leap_day], place[leap_day]] = (
        np.nan_to_num(rain[row[leap_day], place[leap_day]]) + late
    )
    there = np.isfinite(et0)
    if np.isfinite(rain_mm).any():
        there &= np.isfinite(rain)
    days = np.stack([there[:, month == _MONTH].sum(axis=1) for month in range(12)])
    counts = (days >= LEAST_SHARE_OF_DAYS * DAYS_IN_MONTH[:, None]).all(axis=0)
    if not counts.any():
        return None
    et0, rain = et0[counts], rain[counts]
    numbers = (np.arange(shape[0]) + year[0])[counts]
    means = [np.nanmean(et0[:, month == _MONTH]) for month in range(12)]
    return Years(
        np.where(np.isfinite(et0), et0, np.array(means)[_MONTH]),
        np.nan_to_num(rain),
        int(numbers[0]),
        int(numbers[-1]),
        numbers=tuple(numbers.tolist()),
        filled_days=int(np.count_nonzero(~there[counts])),
    )


def invented_years(
    et0_mm_day: np.ndarray,
    rain_mm: np.ndarray,
    rain_days: np.ndarray | None = None,
    count: int = INVENTED_YEARS,
) -> Years:
    """Years invented from twelve months: always the same, and with their means.

    Parameters
    ----------
    et0_mm_day : ndarray
        Mean ET0 of the months, (12,). [mm/day]
    rain_mm : ndarray
        Mean rain of the months, (12,). [mm]
    rain_days : ndarray, optional
        Days of a millimeter or more in a month; where left out, a wet day has 7 mm.
    count : int
        Years to invent.

    Notes
    -----
    Wet days are a chain of two states, p(wet after dry) = 0.75 f and p(wet after
    wet) = 0.25 + 0.75 f, with f the share of wet days; depths a gamma of shape 0.6
    above 1 mm. Each month of each year has a wetness and an ET0 of its own, and days a
    noise that remembers. Then each month is brought back to its means.

    References
    ----------
    GENG86 for the chain; the other constants are ours, set on open daily records.
    """
    given = rain_days is not None
    wet_days = rain_mm / RAIN_A_WET_DAY_MM if rain_days is None else rain_days
    wet_days = np.minimum(wet_days, MOST_WET * DAYS_IN_MONTH)
    share = wet_days / DAYS_IN_MONTH
    draws = _draws(count)
    wet = _wet_days(share, draws)
    rain = _rain(rain_mm, wet_days, wet, draws)
    et0 = _et0(et0_mm_day, share, wet, draws)
    return Years(et0, rain, rain_days=wet_days, rain_days_given=given)


@dataclass(frozen=True, slots=True, eq=False)
class _Draws:
    """Numbers that the years are invented with, the same for every climate.

    By (year, day): `chance` of rain, `depth` of mean 1, `noise` of ET0 with its memory;
    by (year, month): `wetness` of mean 1 and `et0`, a factor of mean 1.
    """

    chance: np.ndarray
    depth: np.ndarray
    noise: np.ndarray
    wetness: np.ndarray
    et0: np.ndarray


@cache
def _draws(count: int) -> _Draws:
    table = package_table("quantiles")
    grid = {name: np.array([float(row[name]) for row in table]) for name in table[0]}

    def quantiles(name: str, shape: tuple[int, ...]) -> np.ndarray:
        return np.interp(_uniform(stream, shape), grid["probability"], grid[name])

    stream = np.random.PCG64(_SEED)
    days, months = (count, DAYS_IN_YEAR), (count, 12)
    chance = _uniform(stream, days)
    depth = quantiles("gamma_of_shape_0_6", days)
    fresh = quantiles("normal", days).ravel() * np.sqrt(1 - ET0_MEMORY**2)
    wetness = quantiles("gamma_of_shape_4", months)
    et0 = 1 + ET0_SPREAD * quantiles("normal", months)
    # Memory over so many days that what is left of it is nothing.
    reach = 40
    kept = np.convolve(np.r_[fresh[-reach:], fresh], ET0_MEMORY ** np.arange(reach))
    noise = ET0_NOISE * kept[reach : reach + fresh.size].reshape(days)
    return _Draws(chance, depth, noise, wetness, et0)


def _uniform(stream: np.random.PCG64, shape: tuple[int, ...]) -> np.ndarray:
    """Numbers over 0 and under 1 from the raw stream, which no version changes."""
    raw = np.asarray(stream.random_raw(int(np.prod(shape))), dtype=np.uint64)
    return ((raw >> np.uint64(11)) + 0.5).reshape(shape) * 2.0**-53


def _wet_days(share: np.ndarray, draws: _Draws) -> np.ndarray:
    """Wet days, (year, day): a chain whose January follows the December before."""
    by_year = np.minimum(share * draws.wetness**WETNESS_OF_DAYS, MOST_WET)[:, _MONTH]
    after_dry = WET_AFTER_DRY * by_year
    after_wet = np.minimum(1 - WET_AFTER_DRY + after_dry, MOST_WET_AFTER_WET)
    after_wet = np.where(by_year > 0, after_wet, 0.0)
    # What a day is, for either kind of day before it; then the days in a row.
    if_dry = (draws.chance < after_dry).ravel()
    if_wet = (draws.chance < after_wet).ravel()
    wet, days = bool(if_dry[-1]), []
    for dry_leads, wet_leads in zip(if_dry.tolist(), if_wet.tolist(), strict=True):
        wet = wet_leads if wet else dry_leads
        days.append(wet)
    found = np.array(days).reshape(draws.chance.shape)
    for month in np.flatnonzero((share > 0) & ~_any_in_month(found)).tolist():
        # A month so dry that no year of these rained: its likeliest day does.
        of_month = np.where(month == _MONTH, draws.chance, np.inf)
        found.ravel()[np.argmin(of_month)] = True
    return found


def _any_in_month(found: np.ndarray) -> np.ndarray:
    return np.array([found[:, month == _MONTH].any() for month in range(12)])


def _rain(
    rain_mm: np.ndarray, wet_days: np.ndarray, wet: np.ndarray, draws: _Draws
) -> np.ndarray:
    """Rain of the days, each month's mean that of the twelve."""
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = np.where(wet_days > 0, rain_mm / wet_days, 0.0)
    least = np.where(mean < LIGHT_RAIN_MM, 0.0, LEAST_RAIN_MM)
    depth = least[_MONTH] + draws.depth * (mean - least)[_MONTH]
    depth = depth * (draws.wetness**WETNESS_OF_DEPTH)[:, _MONTH] * wet
    return _brought_back(depth, rain_mm)


def _et0(
    et0_mm_day: np.ndarray, share: np.ndarray, wet: np.ndarray, draws: _Draws
) -> np.ndarray:
    """ET0 of the days, each month's mean that of the twelve."""
    of_sky = np.where(
        wet, -ET0_OF_WET * (1 - share[_MONTH]), ET0_OF_WET * share[_MONTH]
    )
    factor = draws.et0[:, _MONTH] + of_sky + draws.noise
    days = et0_mm_day[_MONTH] * np.maximum(factor, LEAST_ET0)
    return _brought_back(days, et0_mm_day * DAYS_IN_MONTH)


def played_months(years: Years) -> PlayedMonths:
    """Months of years of days: what is played, and how long it stays dry."""
    wet = years.rain_mm >= WET_DAY_MM
    in_month = _days_since_rain(wet, Days.of_common_years(1).of_month == 1)
    follows = np.ones(len(years), dtype=bool)
    follows[1:] = np.diff(years.numbers or range(len(years))) == 1
    # A spell does not go on over a year that is left out of a record.
    begins = np.zeros(wet.shape, dtype=bool)
    begins[:, 0] = ~follows
    in_row = _days_since_rain(wet.reshape(1, -1), begins.ravel())
    by_year = np.minimum(in_row.reshape(wet.shape).max(axis=1), DAYS_IN_YEAR)
    of_month = [month == _MONTH for month in range(12)]
    return PlayedMonths(
        np.array([wet[:, days].sum(axis=1).mean() for days in of_month]),
        np.array([years.rain_mm[:, days].sum(axis=1).mean() for days in of_month]),
        np.array([years.et0_mm[:, days].mean() for days in of_month]),
        np.array([np.median(in_month[:, days].max(axis=1)) for days in of_month]),
        float(np.median(by_year)),
        int(by_year.max()),
    )


def _days_since_rain(wet: np.ndarray, begins: np.ndarray) -> np.ndarray:
    """Dry days in a row up to each of (row, day), counted anew where `begins`."""
    place = np.arange(wet.shape[1])
    last = np.where(wet, place, np.where(begins, place - 1, -1))
    return np.asarray(place - np.maximum.accumulate(last, axis=1))


def _brought_back(days: np.ndarray, total: np.ndarray) -> np.ndarray:
    """Days scaled so that the mean total of each month is the one given."""
    found = np.array([days[:, month == _MONTH].sum() for month in range(12)])
    with np.errstate(divide="ignore", invalid="ignore"):
        scale = np.where(found > 0, total * len(days) / found, 0.0)
    return np.asarray(days * scale[_MONTH])
