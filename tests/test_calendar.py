"""Months, weekdays, odd and even dates against Python's own calendar."""

import calendar
import datetime

import numpy as np
import pytest

from scheduler.calendar import (
    ALL_DATES,
    ALL_WEEK,
    DATES_OF_PARITY,
    DAYS_IN_MONTH,
    DAYS_IN_YEAR,
    EVEN,
    FULL_MONTHS,
    FULL_WEEKDAYS,
    MONTHS,
    ODD,
    PARITIES,
    TWELVE_MONTHS,
    WEEKDAYS,
    Days,
    date_of,
    dates_of_month,
    day_number,
    first_on,
    mean_dates_in_months,
    month_bits,
    of_parity,
    weekday_bits,
    weekday_names,
    weekday_rows,
)


# Python's calendar has the names in English, January at 1 and Monday at 0.
def test_names_and_lengths_are_those_of_the_standard_library():
    assert [*FULL_MONTHS] == [name.lower() for name in calendar.month_name[1:]]
    assert [*FULL_WEEKDAYS] == [name.lower() for name in calendar.day_name]
    assert [*MONTHS] == [name[:3] for name in FULL_MONTHS]
    assert [*WEEKDAYS] == [name[:3] for name in FULL_WEEKDAYS]
    lengths = [calendar.monthrange(2027, month)[1] for month in range(1, 13)]
    assert DAYS_IN_MONTH.tolist() == lengths == TWELVE_MONTHS.days.tolist()
    assert lengths == DATES_OF_PARITY[0].tolist()
    assert sum(lengths) == DAYS_IN_YEAR


# Counted date by date in a year of 365 days.
@pytest.mark.parametrize("parity", ["odd", "even"])
def test_odd_and_even_dates_are_counted_from_the_calendar(parity):
    counted = [0] * 12
    for month in range(1, 13):
        for day in range(1, calendar.monthrange(2027, month)[1] + 1):
            counted[month - 1] += day % 2 == (parity == "odd")

    assert DATES_OF_PARITY[PARITIES.index(parity)].tolist() == counted


# Each date of two years, one of them a leap year, over a century's turn that has none.
@pytest.mark.parametrize("first", [datetime.date(2027, 12, 30),
                                   datetime.date(1899, 11, 2),
                                   datetime.date(2099, 12, 1)])  # fmt: skip
def test_days_of_the_calendar_are_pythons(first):
    days = Days.of_calendar(first, 731)
    dates = [first + datetime.timedelta(day) for day in range(731)]

    assert len(days) == 731
    assert days.month.tolist() == [date.month - 1 for date in dates]
    assert days.weekday.tolist() == [date.weekday() for date in dates]
    assert days.of_month.tolist() == [date.day for date in dates]
    assert [date_of(number) for number in days.number] == dates
    assert [day_number(date) for date in dates] == days.number.tolist()


# 2018 and 2029 are the same calendar: 365 days, 1 January a Monday.
def test_days_of_common_years_follow_a_year_that_begins_on_a_monday():
    days = Days.of_common_years(2)
    dates = [datetime.date(2018, 1, 1) + datetime.timedelta(day) for day in range(365)]

    assert datetime.date(2018, 1, 1).weekday() == 0
    assert days.number.tolist() == [*range(730)]
    assert days.month.tolist() == [date.month - 1 for date in dates] * 2
    assert days.of_month.tolist() == [date.day for date in dates] * 2
    assert days.weekday.tolist() == [day % 7 for day in range(730)]


@pytest.mark.parametrize(("year", "month"), [(2028, 2), (2027, 2), (2026, 12)])
def test_dates_of_a_month_are_all_of_them(year, month):
    dates = dates_of_month(year, month)

    assert [date.day for date in dates] == [
        *range(1, calendar.monthrange(year, month)[1] + 1)
    ]
    assert {(date.year, date.month) for date in dates} == {(year, month)}


@pytest.mark.parametrize("weekdays", range(1, ALL_WEEK + 1))
def test_first_on_is_the_first_date_of_some_weekdays(weekdays):
    names = {WEEKDAYS[row] for row in range(7) if weekdays & 2**row}
    for day in range(7):
        date = after = datetime.date(2026, 12, 28) + datetime.timedelta(day)
        while calendar.day_abbr[after.weekday()].lower() not in names:
            after += datetime.timedelta(1)

        assert first_on(weekdays, date) == after


def test_bits_go_there_and_back():
    for bits in range(ALL_WEEK + 1):
        assert weekday_bits(weekday_names(bits)) == bits
        assert sum(2**row for row in weekday_rows(bits)) == bits
    # January is 1, December 2048.
    assert month_bits([1, 12]) == 1 + 2048


# Definition: 1, 3, 5, … are odd, 2, 4, 6, … even.
def test_of_parity_tells_odd_dates_from_even_ones():
    dates = np.arange(1, 6)

    assert of_parity(dates, ODD).tolist() == [True, False, True, False, True]
    assert of_parity(dates, EVEN).tolist() == [False, True, False, True, False]
    assert of_parity(dates, ALL_DATES).all()
    assert of_parity(dates, np.array([[ALL_DATES], [EVEN]])).shape == (2, 5)
    assert (PARITIES[ODD], PARITIES[EVEN]) == ("odd", "even")


# Counted over the 400 years of the calendar, 29 February left out. A date of a month
# falls on each weekday 56 to 58 times in them, a seventh being 57.14: within 2 %.
@pytest.mark.parametrize("parity", PARITIES)
def test_mean_dates_in_months_are_those_of_400_years(parity):
    weekdays = weekday_bits(["mon", "thu", "sun"])
    days = Days.of_calendar(datetime.date(2000, 1, 1), 146_097)
    counts = np.isin(days.weekday, [0, 3, 6])
    if parity:
        counts &= days.of_month % 2 == (parity == "odd")
    counts &= ~((days.month == 1) & (days.of_month == 29))
    counted = np.bincount(days.month[counts], minlength=12) / 400

    found = mean_dates_in_months(weekdays, PARITIES.index(parity), 3.0)
    assert found.shape == (12,)
    assert found == pytest.approx(counted, rel=0.02)
    assert found.sum() == pytest.approx(counted.sum(), rel=0.002)


# Exact: at an interval of 14 days every month has a fourteenth of its days.
def test_mean_dates_of_an_interval_are_its_share_of_the_days():
    found = mean_dates_in_months([1, 127], [0, 0], [0.5, 7 / 10])

    assert found[0] == pytest.approx(DAYS_IN_MONTH / 14)
    assert found[1] == pytest.approx(DAYS_IN_MONTH / 10)
