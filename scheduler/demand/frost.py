"""Nights that freeze in the twelve months, and dates of the last and first of them."""

from __future__ import annotations

import datetime
from calendar import monthrange
from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np

from scheduler.calendar import DAYS_IN_MONTH, ONE_DAY

FREEZING_C = 0.0
"""A night freezes whose minimum is this or less: 32 °F, as frost statistics count it
(second-hand)."""
LEAST_SHARE_OF_SEASON = 0.8
"""Share of the days of half a cold season that a date needs (rule of this program)."""
FEWEST_NIGHTS = 0.5
"""Nights at freezing of a mean month from which on they are told: one, as they are
shown (our choice)."""
HARD_FREEZE_C = -20 / 9
"""A night freezes pipes that is this cold or colder: a hard freeze, 28 °F (National
Weather Service; that lines are emptied by it is common practice)."""
HALF, MOST = 0.5, 0.9
"""Shares of years by which dates of frost are told."""
FEWEST_SEASONS = 8
"""Fewer seasons of days do not tell dates of nine years in ten (our choice)."""
_HALF_SEASON_DAYS = 182
_COMMON_YEAR = 2026
_MONTHS_OF_HALF = 6


Date = tuple[int, int]
"""Month and day."""


@dataclass(frozen=True, slots=True)
class FrostDates:
    """Last frosts before summer, or first ones after it, of cold seasons.

    `dates` are those of the seasons that have one, as ISO text; `seasons` counts all
    that were looked through. `half` and `most` are months and days: by this date the
    last frost is past in half of the seasons, in nine of ten; before it no first frost
    has come in as many. A season without frost counts as past from its beginning, and
    as free to its end; None where that holds for so many seasons, or none was looked
    through. `farthest` is the latest last frost, the earliest first one.
    """

    dates: tuple[str, ...]
    seasons: int
    half: Date | None
    most: Date | None
    farthest: Date | None


@dataclass(frozen=True, slots=True)
class FrostSeason:
    """Dates about which nights of hard freeze begin and end, for lines to be empty.

    The first such night is not before `may_begin` in nine years of ten, nor before
    `begins` in half of them; the last is past by `ends` in half, by `past` in nine.
    The halves are None where one year in ten and more have none. `by_days`: counted in
    years of days, else reckoned from the means of months.
    """

    may_begin: Date
    begins: Date | None
    ends: Date | None
    past: Date
    by_days: bool

    @property
    def empty_from(self) -> Date:
        """Day by which lines are to be empty, whatever the forecast."""
        return self.begins or self.may_begin

    @property
    def empty_to(self) -> Date:
        """Last day of it: after it the forecast tells whether they may be filled."""
        return self.ends or self.past

    @property
    def usual(self) -> bool:
        """Whether hard freezes come about every year: lines are emptied by dates."""
        return self.begins is not None and self.ends is not None


def season_from(season: FrostSeason, year: int) -> tuple[datetime.date, datetime.date]:
    """First and last day of empty lines, of the frost that begins in a year.

    >>> season = FrostSeason((10, 1), (11, 1), (4, 10), (4, 30), by_days=True)
    >>> print(*season_from(season, 2026))
    2026-11-01 2027-04-10
    """
    begins, ends = _on(season.empty_from, year), _on(season.empty_to, year)
    return begins, ends if ends > begins else _on(season.empty_to, year + 1)


def _on(date: Date, year: int) -> datetime.date:
    """A day of a year; a leap day has its place in years without one."""
    month, day = date
    return datetime.date(year, month, min(day, monthrange(year, month)[1]))


def season_on(
    season: FrostSeason, today: datetime.date
) -> tuple[datetime.date, datetime.date]:
    """The days of empty lines in which a day lies, or else the next ones.

    >>> season = FrostSeason((10, 1), (11, 1), (4, 10), (4, 30), by_days=True)
    >>> print(*season_on(season, datetime.date(2027, 4, 10)))
    2026-11-01 2027-04-10
    """
    both = (season_from(season, year) for year in range(today.year - 1, today.year + 2))
    return next((begins, ends) for begins, ends in both if ends >= today)


def mostly_empty(season: FrostSeason | None) -> np.ndarray:
    """Months, (12,), of which lines that can freeze are empty for more than half.

    >>> season = FrostSeason((10, 1), (10, 20), (4, 10), (4, 30), by_days=True)
    >>> print(np.flatnonzero(mostly_empty(season)) + 1)
    [ 1  2  3 11 12]
    """
    if season is None or not season.usual:
        return np.zeros(12, dtype=bool)
    begins, ends = season_from(season, _COMMON_YEAR)
    days = np.arange(np.datetime64(begins), np.datetime64(ends + ONE_DAY))
    months = days.astype("datetime64[M]").astype(np.int64) % 12
    return np.asarray(np.bincount(months, minlength=12) > DAYS_IN_MONTH / 2)


def kept_to(season: FrostSeason | None, drained: Date, filled: Date) -> FrostSeason:
    """A season with lines drained and filled again on days that are known.

    >>> season = FrostSeason((9, 23), (10, 5), (5, 7), (5, 22), by_days=False)
    >>> print(kept_to(season, (11, 1), (4, 1)).empty_to)
    (3, 31)
    """
    last = _on(filled, _COMMON_YEAR) - ONE_DAY
    ends = last.month, last.day
    if season is None:
        return FrostSeason(drained, drained, ends, ends, by_days=True)
    return replace(season, begins=drained, ends=ends)


def filled_on(season: FrostSeason | None, date: datetime.date) -> datetime.date:
    """The first of a month, or the day in it on which lines are filled after frost."""
    if season is None or not season.usual:
        return date
    begins, ends = season_on(season, date)
    after = ends + ONE_DAY
    same_month = (after.year, after.month) == (date.year, date.month)
    return after if begins <= date and same_month else date


def freezes(tmin_c: np.ndarray) -> np.ndarray:
    """Whether nights freeze, 1 or 0.

    Parameters
    ----------
    tmin_c : ndarray
        Minimum of the day, of any shape. [°C]

    Returns
    -------
    ndarray
        1 where it is at freezing or below, else 0; NaN where it is not known. [night]

    Raises
    ------
    ValueError
        Never: any temperature is taken.

    Notes
    -----
    Air at the height of a shelter; a lawn under a clear sky is colder.

    References
    ----------
    None: the threshold of frost statistics (second-hand).

    Examples
    --------
    A night of just 0 °C:

    >>> print(f"{freezes(np.array([0.0]))[0]:.0f} night")
    1 night
    """
    return np.where(np.isfinite(tmin_c), (tmin_c <= FREEZING_C) * 1.0, np.nan)


def freezing_nights(tmin_c: np.ndarray) -> np.ndarray:
    """Nights that freeze in each month of a mean year, where days are not known.

    Parameters
    ----------
    tmin_c : ndarray
        Mean daily minimum of the months, (12,). [°C]

    Returns
    -------
    ndarray
        Nights of the months, (12,); NaN where minima are not known. [nights]

    Raises
    ------
    ValueError
        Never: any temperature is taken.

    Notes
    -----
    Nights are spread about the month's mean by a normal law of deviation
    max(5.2 - 0.13 T, 0.5).

    References
    ----------
    None: the spread is a weather generator's rule (second-hand).

    Examples
    --------
    A month whose mean minimum is at freezing has frost every second night:

    >>> print(f"{freezing_nights(np.zeros(12))[0]:.1f} nights in January")
    15.5 nights in January
    """
    return np.asarray(_shares(tmin_c, FREEZING_C) * DAYS_IN_MONTH)


def _shares(mean_c: np.ndarray, most_c: float) -> np.ndarray:
    """Share of nights of some mean minima that are so cold or colder."""
    return np.array(
        [
            mean
            if np.isnan(mean)
            else NormalDist(mean, max(5.2 - 0.13 * mean, 0.5)).cdf(most_c)
            for mean in mean_c.tolist()
        ]
    )


def last_frosts(
    date: np.ndarray,
    tmin_c: np.ndarray,
    south: bool,
    typical_year: bool = False,
    most_c: float = FREEZING_C,
) -> FrostDates:
    """Last nights before summer at `most_c` or below; days as for `first_frosts`.

    A season counts whose half before summer has 80 % of its days. A last frost before
    that half is found where the record reaches back to it, else there is none.
    """
    there = np.isfinite(tmin_c)
    cold = tmin_c[there] <= most_c
    return _frost_dates(date[there], cold, south, typical_year, last=True)


def first_frosts(
    date: np.ndarray,
    tmin_c: np.ndarray,
    south: bool,
    typical_year: bool = False,
    most_c: float = FREEZING_C,
) -> FrostDates:
    """First nights after summer at `most_c` or below; days by date, datetime64[D].

    A cold season runs from July to June, south of the equator from January to December;
    a typical year is one that follows itself. A season counts whose half after summer
    has 80 % of its days.
    """
    there = np.isfinite(tmin_c)
    cold = tmin_c[there] <= most_c
    return _frost_dates(date[there], cold, south, typical_year, last=False)


def _frost_dates(
    date: np.ndarray, frost: np.ndarray, south: bool, typical_year: bool, last: bool
) -> FrostDates:
    month = date.astype("datetime64[M]").astype(np.int64)
    season, of_season = np.divmod(month - (0 if south else _MONTHS_OF_HALF), 12)
    if typical_year:
        season = np.zeros_like(season)
        order = np.argsort(of_season, kind="stable")
        date, frost, of_season = date[order], frost[order], of_season[order]
    in_half = (of_season >= _MONTHS_OF_HALF) == last
    found: list[tuple[int, str]] = []
    seasons = 0
    for number in np.unique(season[in_half]).tolist():
        days = season == number
        enough = LEAST_SHARE_OF_SEASON * _HALF_SEASON_DAYS
        if np.count_nonzero(days & in_half) < enough:
            continue
        seasons += 1
        frosts = np.flatnonzero(days & frost)
        if len(frosts):
            row = frosts[-1 if last else 0]
            found.append((int(of_season[row]), str(date[row])))
    # From the side on which seasons without frost stand.
    ranked = sorted(((of, text[5:]) for of, text in found), reverse=not last)
    return FrostDates(
        tuple(text for _, text in found),
        seasons,
        _reached(ranked, seasons, HALF),
        _reached(ranked, seasons, MOST),
        _reached(ranked, seasons, 1.0),
    )


def _reached(ranked: list[tuple[int, str]], seasons: int, share: float) -> Date | None:
    """Nearest rank among all seasons, those without frost first."""
    rank = int(np.ceil(share * seasons - 1e-9)) - (seasons - len(ranked))
    if rank < 1:
        return None
    month, day = ranked[rank - 1][1].split("-")
    return int(month), int(day)


def season_of_days(
    date: np.ndarray, tmin_c: np.ndarray, south: bool
) -> FrostSeason | None:
    """Season of hard freeze of years of days.

    None where too few years have such a night to tell when it comes.
    """
    last = last_frosts(date, tmin_c, south, most_c=HARD_FREEZE_C)
    first = first_frosts(date, tmin_c, south, most_c=HARD_FREEZE_C)
    if first.most is None or last.most is None:
        return None
    usual = min(len(first.dates), len(last.dates)) > MOST * last.seasons
    halves = (first.half, last.half) if usual else (None, None)
    found = FrostSeason(first.most, *halves, last.most, by_days=True)
    return found if _in_order(found, south) else None


def season_of_means(tmin_c: np.ndarray, south: bool) -> FrostSeason | None:
    """Season of hard freeze reckoned from mean daily minima of the months, (12,).

    Between the middles of months means go in straight lines; nights are spread about
    them as in `freezing_nights`, each by itself. In truth cold nights come together,
    and near the sea they are less spread: the dates lie on the careful side, there by
    some weeks. None where too few years have such a
    night to tell when it comes, or a mean is not known.
    """
    if np.isnan(tmin_c).any():
        return None
    days = int(DAYS_IN_MONTH.sum())
    middle = np.cumsum(DAYS_IN_MONTH) - DAYS_IN_MONTH / 2
    mean_c = np.interp(np.arange(days) + 0.5, middle, tmin_c, period=days)
    from_summer = 0 if south else days // 2
    share = np.roll(_shares(mean_c, HARD_FREEZE_C), -from_summer)
    # Share of years that have had such a night by a day, or have one on it or later.
    by_then = 1 - np.cumprod(1 - share)
    to_come = 1 - np.cumprod(1 - share[::-1])[::-1]

    def date(row: int) -> Date:
        day = datetime.date(_COMMON_YEAR, 1, 1) + (from_summer + row) % days * ONE_DAY
        return day.month, day.day

    def first(years: float) -> Date | None:
        return date(int(np.argmax(by_then > years))) if by_then[-1] > years else None

    def last(years: float) -> Date | None:
        rows = np.flatnonzero(to_come > years)
        return date(int(rows[-1])) if len(rows) else None

    may_begin, past = first(1 - MOST), last(1 - MOST)
    if may_begin is None or past is None:
        return None
    halves = (first(HALF), last(HALF)) if by_then[-1] > MOST else (None, None)
    found = FrostSeason(may_begin, *halves, past, by_days=False)
    return found if _in_order(found, south) else None


def _in_order(season: FrostSeason, south: bool) -> bool:
    """Whether a season ends after it begins: of rare freezes the first may come late,
    the last early."""
    begins, ends = (
        (month - 1 if south else (month - 1 + _MONTHS_OF_HALF) % 12, day)
        for month, day in (season.may_begin, season.past)
    )
    return begins < ends
