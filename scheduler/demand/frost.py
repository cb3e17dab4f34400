"""Nights that freeze in the twelve months, and dates of the last and first of them."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
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
HALF, MOST = 0.5, 0.9
"""Shares of years by which dates of frost are told."""
_HALF_SEASON_DAYS = 182
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
    """Between which dates lines are to be empty of water.

    They hold for nine years of ten where they are `by_days`; else they begin the first
    month, and end the last, that has a night at freezing or a mean minimum below.
    """

    drain_before: Date
    start_after: Date
    by_days: bool


def season_from(season: FrostSeason, year: int) -> tuple[datetime.date, datetime.date]:
    """Days from which and to which lines are to be empty, of the frost of a year on.

    By months it ends with the last day of one, in leap years 29 February.

    >>> season = FrostSeason((11, 1), (4, 30), by_days=False)
    >>> print(*season_from(season, 2026))
    2026-11-01 2027-04-30
    """
    begins, ends = (
        # A leap day has its place in years without one.
        datetime.date(year, month, min(day, int(DAYS_IN_MONTH[month - 1])))
        for month, day in (season.drain_before, season.start_after)
    )
    if ends <= begins:
        ends = ends.replace(year=year + 1)
    if not season.by_days:
        ends = datetime.date(ends.year + ends.month // 12, ends.month % 12 + 1, 1)
        ends -= ONE_DAY
    return begins, ends


def season_on(
    season: FrostSeason, today: datetime.date
) -> tuple[datetime.date, datetime.date]:
    """The frost in which a day lies, or else the next one.

    >>> season = FrostSeason((11, 1), (4, 30), by_days=False)
    >>> print(*season_on(season, datetime.date(2027, 4, 30)))
    2026-11-01 2027-04-30
    """
    both = (season_from(season, year) for year in range(today.year - 1, today.year + 2))
    return next((begins, ends) for begins, ends in both if ends >= today)


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
    share = np.array([_share(mean) for mean in tmin_c.tolist()])
    return np.asarray(share * DAYS_IN_MONTH)


def _share(mean_c: float) -> float:
    if np.isnan(mean_c):
        return mean_c
    return NormalDist(mean_c, max(5.2 - 0.13 * mean_c, 0.5)).cdf(FREEZING_C)


def last_frosts(
    date: np.ndarray, tmin_c: np.ndarray, south: bool, typical_year: bool = False
) -> FrostDates:
    """Last frosts before summer; days as for `first_frosts`.

    A season counts whose half before summer has 80 % of its days. A last frost before
    that half is found where the record reaches back to it, else there is none.
    """
    return _frost_dates(date, tmin_c, south, typical_year, last=True)


def first_frosts(
    date: np.ndarray, tmin_c: np.ndarray, south: bool, typical_year: bool = False
) -> FrostDates:
    """First frosts after summer of days in order of date, datetime64[D].

    A cold season runs from July to June, south of the equator from January to December;
    a typical year is one that follows itself. A season counts whose half after summer
    has 80 % of its days.
    """
    return _frost_dates(date, tmin_c, south, typical_year, last=False)


def _frost_dates(
    date: np.ndarray, tmin_c: np.ndarray, south: bool, typical_year: bool, last: bool
) -> FrostDates:
    there = np.isfinite(tmin_c)
    date, frost = date[there], freezes(tmin_c[there]) > 0
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


def frost_season(
    nights: np.ndarray,
    frost: np.ndarray,
    south: bool,
    last: FrostDates | None = None,
    first: FrostDates | None = None,
) -> FrostSeason | None:
    """When lines are to be empty; None where hardly any night freezes.

    `nights` and `frost` are (month,); dates are None where no days are known.
    """
    cold = frost | (nights >= FEWEST_NIGHTS)
    if last is not None and first is not None:
        start, drain = last.most or last.farthest, first.most or first.farthest
        frosty = bool(cold.any()) or last.most or first.most
        if start is not None and drain is not None and frosty:
            return FrostSeason(drain, start, by_days=True)
    if not cold.any():
        return None
    begins = 0 if south else _MONTHS_OF_HALF
    months = (np.arange(12) + begins) % 12
    rows = months[cold[months]].tolist()
    start = rows[-1] + 1, int(DAYS_IN_MONTH[rows[-1]])
    return FrostSeason((rows[0] + 1, 1), start, by_days=False)
