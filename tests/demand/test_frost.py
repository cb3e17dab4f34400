"""Nights of frost and their dates: by the normal law, and by hand on written days.

On real records see test_real_days.py.
"""

import datetime

import numpy as np
import pytest
from scipy import stats

from scheduler.demand import frost
from scheduler.demand.frost import FrostDates, FrostSeason


# Spread rule of a weather generator (second-hand); the normal law is scipy's.
def test_nights_of_months_follow_the_normal_law():
    tmin_c = np.array([-10.0, -4, 0, 2, 5, 8, 12, 14, 9, 5, 1, np.nan])
    days = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    spread_c = np.maximum(5.2 - 0.13 * tmin_c, 0.5)

    nights = frost.freezing_nights(tmin_c)

    assert nights == pytest.approx(
        stats.norm.cdf(0, tmin_c, spread_c) * days, rel=1e-9, nan_ok=True
    )


# Frost statistics count 32 °F or less (NOAA; second-hand).
def test_a_night_of_just_freezing_freezes():
    found = frost.freezes(np.array([-0.1, 0.0, 0.1, np.nan]))

    assert found == pytest.approx([1, 1, 0, np.nan], nan_ok=True)


def record(first, last, *frosts):
    """Days from a date to another of 5 °C, but these of -1 °C."""
    date = np.arange(np.datetime64(first), np.datetime64(last) + 1)
    return date, np.where(np.isin(date, np.array(frosts, "datetime64[D]")), -1.0, 5.0)


# Ten seasons. Last frosts by day: one year none, then 2 to 10 April, in no order: by
# nearest rank half of ten are past with the fifth, none among them: 5 April; nine with
# the ninth, 9 April. First frosts: one year none, the others 2 to 10 October, none the
# latest: half of ten have none before the fifth from the end, 7 October; nine of ten
# none before the ninth from the end, 3 October.
def test_dates_are_nearest_ranks_of_all_years_those_without_frost_among_them():
    days = [7, 3, 10, 2, 5, 9, 4, 8, 6]
    spring = [f"{2001 + k}-04-{day:02d}" for k, day in enumerate(days)]
    autumn = [f"{2001 + k}-10-{day:02d}" for k, day in enumerate(days)]
    date, tmin = record("2001-01-01", "2010-12-31", *spring, *autumn)

    last = frost.last_frosts(date, tmin, south=False)
    first = frost.first_frosts(date, tmin, south=False)

    # The season from July 2009 on has its frost in October 2009 as the last one too: in
    # spring 2010 none, and it is past long before.
    assert last.seasons == first.seasons == 10
    assert last.dates == (*spring, autumn[-1])
    assert (last.half, last.most, last.farthest) == ((4, 5), (4, 9), (4, 10))
    assert first.dates == tuple(autumn)
    assert (first.half, first.most, first.farthest) == ((10, 7), (10, 3), (10, 2))


# A first frost in January belongs to the season that began in July, and comes after
# those of November and December; the last of 2001's record is in a season of its own.
def test_a_first_frost_after_new_year_comes_after_those_before_it():
    date, tmin = record("2001-07-01", "2004-06-30", "2001-11-20", "2003-01-05",
                        "2003-01-09", "2003-12-24", "2004-02-28")  # fmt: skip
    first = frost.first_frosts(date, tmin, south=False)

    assert first.dates == ("2001-11-20", "2003-01-05", "2003-12-24")
    # Of three seasons from the latest on: the second for half, the third for nine of
    # ten.
    assert (first.half, first.most) == ((12, 24), (11, 20))
    # The last frost of the first season is its only one, in November.
    assert frost.last_frosts(date, tmin, south=False) == FrostDates(
        ("2001-11-20", "2003-01-09", "2004-02-28"), 3, (1, 9), (2, 28), (2, 28)
    )


# South of the equator a cold season is a calendar year: autumn to June, spring from
# July on.
def test_south_of_the_equator_spring_follows_july():
    date, tmin = record("2001-01-01", "2002-12-31", "2001-05-30", "2001-09-02",
                        "2002-06-30", "2002-07-01")  # fmt: skip

    last = frost.last_frosts(date, tmin, south=True)
    first = frost.first_frosts(date, tmin, south=True)

    assert last == FrostDates(("2001-09-02", "2002-07-01"), 2, (7, 1), (9, 2), (9, 2))
    assert first == FrostDates(
        ("2001-05-30", "2002-06-30"), 2, (6, 30), (5, 30), (5, 30)
    )


# Of ten years one has a frost: nine of ten have none, so that no date is due.
def test_a_frost_in_one_year_of_ten_gives_no_date_but_the_farthest():
    date, tmin = record("2001-01-01", "2010-12-31", "2004-03-09")
    last = frost.last_frosts(date, tmin, south=False)

    assert last == FrostDates(("2004-03-09",), 10, None, None, (3, 9))
    assert frost.frost_season(
        np.zeros(12), np.zeros(12, bool), False, last,
        frost.first_frosts(date, tmin, south=False),
    ) is None  # fmt: skip


# Four fifths of half a year of 182 days are 145.6: 146 days are enough, 145 are not.
def test_a_season_counts_with_four_fifths_of_its_half():
    date, tmin = record("2001-01-01", "2001-12-31", "2001-12-30")
    few, enough = tmin.copy(), tmin.copy()
    few[181 : 181 + 184 - 145] = np.nan
    enough[181 : 181 + 184 - 146] = np.nan
    few[-2], enough[-2] = -1, -1

    assert frost.first_frosts(date, few, south=False).seasons == 0
    assert frost.first_frosts(date, enough, south=False).dates == ("2001-12-30",)


# One year of hours follows itself: July to December, then January to June.
def test_a_typical_year_follows_itself():
    date, tmin = record("2001-01-01", "2001-12-31", "2001-01-10", "2001-02-20")
    year = {"south": False, "typical_year": True}

    assert frost.first_frosts(date, tmin, **year).dates == ("2001-01-10",)
    assert frost.last_frosts(date, tmin, **year).dates == ("2001-02-20",)


def test_lines_are_empty_between_the_dates_that_nine_years_of_ten_keep():
    last = FrostDates(("2001-04-20",), 1, (4, 20), (4, 20), (4, 20))
    first = FrostDates(("2001-10-03",), 1, (10, 3), (10, 3), (10, 3))
    found = frost.frost_season(np.zeros(12), np.zeros(12, bool), False, last, first)

    assert found == FrostSeason((10, 3), (4, 20), by_days=True)


# From months alone: the first month with a night, counted from July, or from January
# south of the equator, to the last; a frosty mean counts without a count of nights.
@pytest.mark.parametrize(
    ("south", "cold", "season"),
    [(False, [10, 11, 0, 1, 2], FrostSeason((11, 1), (3, 31), by_days=False)),
     (True, [4, 5, 6, 7, 8], FrostSeason((5, 1), (9, 30), by_days=False)),
     (False, [1], FrostSeason((2, 1), (2, 28), by_days=False)),
     (False, [], None)],
)  # fmt: skip
def test_months_alone_tell_the_months_of_frost(south, cold, season):
    nights = np.zeros(12)
    nights[cold] = 0.6

    assert frost.frost_season(nights, np.zeros(12, bool), south) == season
    assert frost.frost_season(np.full(12, np.nan), nights > 0, south) == season


# The Gregorian calendar: February has 29 days in 2028, 28 in 2027.
@pytest.mark.parametrize(
    ("today", "ends"),
    [((2027, 6, 15), (2028, 2, 29)), ((2026, 11, 27), (2027, 2, 28)),
     ((2028, 2, 29), (2028, 2, 29))],
)  # fmt: skip
def test_frost_by_months_ends_with_the_last_day_of_february(today, ends):
    season = FrostSeason((12, 1), (2, 28), by_days=False)
    _, last = frost.season_on(season, datetime.date(*today))

    assert last == datetime.date(*ends)
