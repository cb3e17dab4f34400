"""Years of days into months: means over days, the dry year, frost, gaps.

Every number here is arithmetic that the comments show.
"""

import dataclasses

import numpy as np
import pytest

from scheduler.demand.days import ReferenceDays
from scheduler.demand.et0.assumptions import Assumption
from scheduler.demand.months import reference_months
from scheduler.demand.series import LeftOut, series_of_days
from scheduler.inputs.weather.daily import QUANTITIES, DailyWeather

DAYS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


def weather_of(first, last, **columns):
    """Days from a date to another; columns are functions of the dates."""
    date = np.arange(np.datetime64(first), np.datetime64(last) + 1)
    values = {name: np.full(len(date), np.nan) for name in QUANTITIES}
    for name, make in columns.items():
        values[name] = np.broadcast_to(make(date), len(date)).astype(float)
    return DailyWeather(
        "days.csv", date, **values, rain_of_months_mm=np.full(12, np.nan)
    )


def year_of(date):
    return date.astype("datetime64[Y]").astype(int) + 1970


def month_of(date):
    return date.astype("datetime64[M]").astype(int) % 12 + 1


def series(weather, percentile=80.0, south=False):
    days = ReferenceDays(weather, weather.et0_mm, "given", ())
    return series_of_days(days, percentile, south)


# Five years, ET0 of 1 to 5 mm/day: the mean is 3. Rain 1 mm a day, 31 mm in January.
FIVE = weather_of(
    "2011-01-01", "2015-12-31",
    et0_mm=lambda d: year_of(d) - 2010.0, rain_mm=lambda d: 1.0,
)  # fmt: skip


def test_months_are_means_over_the_days_of_all_years():
    found = series(FIVE)

    assert found.years == (2011, 2012, 2013, 2014, 2015)
    # February: 28 days each of ET0 1, 3, 4, 5 and 29 of 2 (2012 is a leap year).
    expected = np.full(12, 3.0)
    expected[1] = (28 * (1 + 3 + 4 + 5) + 29 * 2) / (4 * 28 + 29)
    assert found.et0_mm_day == pytest.approx(expected, rel=1e-12)
    assert found.rain_mm == pytest.approx(DAYS, rel=1e-12)
    assert found.days.tolist() == (5 * DAYS + (np.arange(12) == 1)).tolist()
    assert found.left_out == ()


# Nearest rank of five years: up to 20 % the first, over 20 up to 40 % the second, …
@pytest.mark.parametrize(
    ("percentile", "year"),
    [(0, 2011), (20, 2011), (21, 2012), (40, 2012), (60, 2013), (80, 2014),
     (81, 2015), (100, 2015)],
)  # fmt: skip
def test_dry_year_is_the_nearest_rank(percentile, year):
    found = series(FIVE, percentile)

    assert found.dry_year.tolist() == [year] * 12
    assert found.dry_et0_mm_day == pytest.approx([year - 2010.0] * 12, rel=1e-12)


def test_years_are_ranked_month_by_month_and_by_what_rain_leaves():
    # January: ET0 rises with the years; July: it is 5 in all, and rain rises.
    weather = weather_of(
        "2011-01-01", "2015-12-31",
        et0_mm=lambda d: np.where(month_of(d) == 7, 5.0, year_of(d) - 2010.0),
        rain_mm=lambda d: np.where(month_of(d) == 7, year_of(d) - 2010.0, 1.0),
    )  # fmt: skip
    found = series(weather, 100)

    assert (found.dry_year[0], found.dry_year[6]) == (2015, 2011)
    # The pair is of one year: 5 mm/day with the 1 mm a day of 2011.
    assert (found.dry_et0_mm_day[6], found.dry_rain_mm[6]) == (5, 31)


def test_the_pair_of_the_chosen_year_is_planned_with():
    found = reference_months(FIVE, 40.0, 0.0, 2.0, 80.0)

    assert found.et0_mm_day == pytest.approx([4.0] * 12, rel=1e-12)
    assert found.assumptions[0] == Assumption(
        "dry-year", {"percentile": 80.0, "years": 5}
    )


def test_percentile_50_is_the_mean_and_not_the_median_year():
    weather = weather_of(
        "2011-01-01", "2013-12-31",
        et0_mm=lambda d: np.where(year_of(d) == 2013, 7.0, 1.0), rain_mm=lambda d: 0.0,
    )  # fmt: skip

    # (1 + 1 + 7) / 3 in January; the year in the middle has 1.
    assert reference_months(weather, 40, 0, 2).et0_mm_day[0] == pytest.approx(3)


def test_a_month_with_too_few_days_is_left_out_and_told():
    date = FIVE.date
    gap = (date >= np.datetime64("2015-07-01")) & (date < np.datetime64("2015-07-08"))
    weather = dataclasses.replace(FIVE, et0_mm=np.where(gap, np.nan, FIVE.et0_mm))
    found = reference_months(weather, 40, 0, 2)

    # July 2015 has 24 of 31 days, under 80 %; the four years left mean 2.5.
    assert found.series.left_out == (LeftOut(2015, 7, 24, 31),)
    assert found.et0_mm_day[6] == pytest.approx(2.5)
    assert found.series.days[6] == 4 * 31
    assert found.assumptions == (
        Assumption("months-left-out", {"months": found.series.left_out}),
        Assumption("no-minimum"),
    )


def test_rain_of_a_month_with_gaps_stands_for_the_whole_month():
    date = FIVE.date
    gap = (date >= np.datetime64("2015-07-01")) & (date < np.datetime64("2015-07-05"))
    weather = dataclasses.replace(FIVE, rain_mm=np.where(gap, np.nan, FIVE.rain_mm))

    # 27 days of 1 mm stand for 31 mm, as in the other years.
    assert series(weather).rain_mm[6] == pytest.approx(31)


def test_a_series_from_the_middle_of_a_year_leaves_nothing_out_before_it():
    weather = weather_of(
        "2011-07-01", "2013-06-30", et0_mm=lambda d: 3.0, rain_mm=lambda d: 1.0
    )
    found = series(weather)

    assert found.left_out == ()
    assert found.years_that_count.tolist() == [2] * 12


# A minimum that is under 0 °C from day 340 to day 60 of each year.
def cold(date):
    first = date.astype("datetime64[Y]").astype("datetime64[D]")
    day = (date - first).astype(int) + 1
    return np.where((day <= 60) | (day >= 340), -2.0, 8.0)


FROSTY = weather_of(
    "2011-01-01", "2014-12-31", et0_mm=lambda d: 1.0, rain_mm=lambda d: 0.0,
    tmin_c=cold, tmax_c=lambda d: cold(d) + 10,
)  # fmt: skip


def test_frost_dates_stand_on_either_side_of_summer():
    found = series(FROSTY)

    # Day 60 is 1 March, 29 February in the leap year; day 340 6 or 5 December.
    assert found.last_frosts.dates == (
        "2011-03-01", "2012-02-29", "2013-03-01", "2014-03-01")  # fmt: skip
    assert found.first_frosts.dates == (
        "2011-12-06", "2012-12-05", "2013-12-06", "2014-12-06")  # fmt: skip
    assert (found.last_frosts.seasons, found.first_frosts.seasons) == (4, 4)


# Day 60 is 1 March, of a leap year 29 February: nights of January, February and, three
# years of four, one of March; from day 340 on 26 of December, 27 of the leap year.
def test_nights_of_frost_are_counted_where_days_are_known():
    nights = series(FROSTY).frost_nights

    assert nights[[0, 1]] == pytest.approx([31, 28])
    assert nights[2] == pytest.approx(3 / 4)
    assert nights[11] == pytest.approx((26 * 3 + 27) / 4)
    assert not nights[3:11].any()


def test_frost_dates_south_of_the_equator_turn_about():
    # The same weather half a year on: frosts from about 6 June to 30 August.
    shifted = dataclasses.replace(FROSTY, date=FROSTY.date + 182)
    found = series(shifted, south=True)

    assert all(date[5:7] in ("08", "09") for date in found.last_frosts.dates)
    assert all(date[5:7] in ("05", "06") for date in found.first_frosts.dates)


def test_frost_share_counts_years_and_frost_follows_the_mean():
    # January's minimum is -1 °C in one year of four and +1 in the others: mean 0.5.
    weather = weather_of(
        "2011-01-01", "2014-12-31", et0_mm=lambda d: 1.0, rain_mm=lambda d: 0.0,
        tmin_c=lambda d: np.where(year_of(d) == 2012, -1.0, 1.0), tmax_c=lambda d: 9.0,
    )  # fmt: skip
    found = reference_months(weather, 40, 0, 2)

    assert found.series.frost_share == pytest.approx([0.25] * 12)
    assert not found.frost.any()


def test_a_typical_year_has_no_years_and_no_dry_one():
    one = weather_of("2001-01-01", "2001-12-31", et0_mm=lambda d: 2.0,
                     rain_mm=lambda d: 1.0)  # fmt: skip
    typical = dataclasses.replace(one, typical_year=True)
    found = reference_months(typical, 40, 0, 2, 80)

    assert found.series.years == ()
    assert found.et0_mm_day == pytest.approx([2.0] * 12)
    assert found.assumptions[0] == Assumption("one-year", {"typical_year": True})


# Every third day of the month from the 1st has 1 mm, the others 0.9: of 31 days eleven,
# of 30 and 28 ten. A day of rain has 1 mm or more; monthly rain has no days to count.
def test_days_of_rain_are_those_of_the_days():
    def rain(date):
        of_month = (date - date.astype("datetime64[M]")).astype(int)
        return np.where(of_month % 3 == 0, 1.0, 0.9)

    wet = weather_of("2013-01-01", "2015-12-31", et0_mm=lambda d: 3.0, rain_mm=rain)
    expected = np.where(DAYS == 31, 11.0, 10.0)

    assert series(wet).rain_days == pytest.approx(expected, rel=1e-12)
    of = (40, 0, 2)
    assert reference_months(wet, *of).rain_days == pytest.approx(expected, rel=1e-12)
    beside = dataclasses.replace(
        wet, rain_mm=np.full(len(wet), np.nan), rain_of_months_mm=np.full(12, 30.0)
    )
    assert reference_months(beside, *of).rain_days is None
    told = dataclasses.replace(beside, rain_days_of_months=np.full(12, 4.0))
    assert reference_months(told, *of).rain_days.tolist() == [4.0] * 12
