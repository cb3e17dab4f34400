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
    # At -1 °C no pipe freezes, at -5 °C one does: in one year of ten all the same.
    for colder in (tmin, np.where(tmin < 0, -5.0, tmin)):
        assert frost.season_of_days(date, colder, south=False) is None


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


# 28 °F is -20/9 °C: one night of it counts, a hair above does not (National Weather
# Service: hard freeze). Ten seasons, the same dates as of frosts above.
def test_the_season_of_empty_lines_goes_by_hard_freezes():
    spring = [f"{year}-04-{day:02d}" for year, day in zip(range(2001, 2011),
              (7, 3, 10, 2, 5, 9, 4, 8, 6, 11), strict=True)]  # fmt: skip
    autumn = [f"{year}-10-{day:02d}" for year, day in zip(range(2001, 2011),
              (7, 3, 10, 2, 5, 9, 4, 8, 6, 11), strict=True)]  # fmt: skip
    date, tmin = record("2000-07-01", "2011-06-30", *spring, *autumn)
    hard = np.where(tmin < 0, -20 / 9, tmin)

    # By nearest rank of eleven seasons: that of 2000 has its first in April, the latest
    # of all; that of 2010 its last in October, the earliest. Half of eleven is with the
    # sixth, nine of ten with the tenth: 2 to 11 without those give 6 and 10 April, from
    # the other side 7 and 3 October.
    assert frost.season_of_days(date, tmin, south=False) is None
    assert frost.season_of_days(date, hard + 1e-6, south=False) is None
    found = frost.season_of_days(date, hard, south=False)
    assert found == FrostSeason((10, 3), (10, 7), (4, 6), (4, 10), by_days=True)


# Twenty thousand drawn years: means in straight lines between the middles of months,
# nights by scipy's normal law of the same spread, each by itself.
@pytest.mark.parametrize("south", [False, True])
def test_dates_reckoned_from_means_are_those_of_drawn_years(south):
    tmin_c = np.array([-5.0, -4, -1, 2, 6, 10, 13, 12, 8, 3, -1, -4])
    tmin_c = np.roll(tmin_c, 6) if south else tmin_c
    days = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    middle = np.cumsum(days) - days / 2
    at = np.arange(365) + 0.5
    mean = np.interp(
        at, [middle[-1] - 365, *middle, middle[0] + 365],
        [tmin_c[-1], *tmin_c, tmin_c[0]],
    )  # fmt: skip
    share = stats.norm.cdf(-20 / 9, mean, np.maximum(5.2 - 0.13 * mean, 0.5))
    begin = 0 if south else 182
    cold = np.random.default_rng(5).random((20_000, 365)) < np.roll(share, -begin)
    assert cold.any(axis=1).all()
    first = cold.argmax(axis=1)
    last = 364 - cold[:, ::-1].argmax(axis=1)
    theirs = [np.quantile(first, 0.1), np.median(first), np.median(last),
              np.quantile(last, 0.9)]  # fmt: skip

    found = frost.season_of_means(tmin_c, south)

    assert found is not None
    assert not found.by_days
    ours = [
        ((datetime.date(2026, *day) - datetime.date(2026, 1, 1)).days - begin) % 365
        for day in (found.may_begin, found.begins, found.ends, found.past)
    ]
    assert ours == pytest.approx(theirs, abs=1)


def test_where_nights_hardly_freeze_there_is_no_season():
    assert frost.season_of_means(np.full(12, 12.0), south=False) is None
    assert frost.season_of_means(np.full(12, np.nan), south=False) is None
    # Phoenix: some winters have a hard freeze, some none. Means of its airport, from
    # memory; first frost about 12 December, risk until mid-February (Mesa, read): at
    # 28 °F it begins no earlier and ends no later than at 32 °F in nine years of ten.
    phoenix = np.array(
        [7.6, 9.3, 12.2, 15.9, 21, 25.5, 29, 28.6, 25.6, 18.9, 11.9, 7.1]
    )
    found = frost.season_of_means(phoenix, south=False)
    assert found is None or not found.usual


SEASON = FrostSeason((10, 1), (10, 20), (4, 10), (4, 30), by_days=True)


# By hand: from 20 October to 10 April October has 12 of 31 days, November to March all,
# April 10 of 30. Without halves a forecast decides, so no month is off.
def test_months_of_empty_lines_are_those_of_more_than_half_their_days():
    assert (np.flatnonzero(frost.mostly_empty(SEASON)) + 1).tolist() == [
        1,
        2,
        3,
        11,
        12,
    ]
    longer = FrostSeason((9, 1), (10, 16), (4, 16), (5, 1), by_days=True)
    assert (np.flatnonzero(frost.mostly_empty(longer)) + 1).tolist() == [
        1, 2, 3, 4, 10, 11, 12
    ]  # fmt: skip
    rare = FrostSeason((10, 1), None, None, (4, 30), by_days=True)
    assert not frost.mostly_empty(rare).any()
    assert not frost.mostly_empty(None).any()


@pytest.mark.parametrize(
    ("date", "filled"),
    [((2027, 4, 1), (2027, 4, 11)), ((2027, 4, 10), (2027, 4, 11)),
     ((2027, 4, 11), (2027, 4, 11)), ((2027, 3, 1), (2027, 3, 1)),
     ((2027, 5, 1), (2027, 5, 1)), ((2027, 10, 1), (2027, 10, 1))],
)  # fmt: skip
def test_a_month_begins_when_its_lines_are_filled(date, filled):
    assert frost.filled_on(SEASON, datetime.date(*date)) == datetime.date(*filled)
    assert frost.filled_on(None, datetime.date(*date)) == datetime.date(*date)


# The Gregorian calendar: February has 29 days in 2028, 28 in 2027.
def test_a_season_to_29_february_ends_a_day_sooner_in_other_years():
    season = FrostSeason((12, 1), (12, 1), (2, 29), (2, 29), by_days=True)

    assert frost.season_from(season, 2026)[1] == datetime.date(2027, 2, 28)
    assert frost.season_from(season, 2027)[1] == datetime.date(2028, 2, 29)


@pytest.mark.parametrize(
    ("today", "ends"),
    [((2026, 11, 27), (2027, 4, 10)), ((2027, 4, 10), (2027, 4, 10)),
     ((2027, 4, 11), (2028, 4, 10)), ((2027, 10, 20), (2028, 4, 10))],
)  # fmt: skip
def test_a_day_lies_in_a_season_or_before_the_next(today, ends):
    assert frost.season_on(SEASON, datetime.date(*today))[1] == datetime.date(*ends)
