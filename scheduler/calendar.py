"""Months, weekdays, odd and even dates: their names, lengths and order."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun",
          "jul", "aug", "sep", "oct", "nov", "dec")  # fmt: skip
FULL_MONTHS = ("january", "february", "march", "april", "may", "june", "july",
               "august", "september", "october", "november", "december")  # fmt: skip
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
FULL_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday",
                 "saturday", "sunday")  # fmt: skip
ALL_DATES, ODD, EVEN = range(3)
"""Dates of the month that count: all of them, odd ones, even ones. Their parity."""
PARITIES = ("", "odd", "even")
"""How people write each parity, by its number."""

DAYS_IN_MONTH = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
"""Days of the months, January first; a year of 365 days."""
DATES_OF_PARITY = np.array([
    DAYS_IN_MONTH,
    [16, 14, 16, 15, 16, 15, 16, 16, 15, 16, 15, 16],
    [15, 14, 15, 15, 15, 15, 15, 15, 15, 15, 15, 15],
])  # fmt: skip
"""Dates of each parity in the months, (parity, month); February of 28 days."""
DAYS_IN_YEAR = 365
WEEK = 7
ALL_WEEK = 0b111_1111
"""Every weekday, as bits."""
ALL_YEAR = 0b1111_1111_1111
"""Every month, as bits."""
DAY_MIN = 1440
S_PER_MIN = 60
ONE_DAY = datetime.timedelta(days=1)
_EPOCH = datetime.date(1970, 1, 1).toordinal()
_EPOCH_WEEKDAY = 3
"""1 January 1970 was a Thursday; Monday is 0."""


@dataclass(frozen=True, slots=True, eq=False)
class Periods:
    """Stretches of a year that are planned one after another, (period,).

    `days` counts the days of each, `month` is the row of the month that it lies in.
    Twelve months are one case of it.
    """

    days: np.ndarray
    month: np.ndarray

    def __len__(self) -> int:
        return len(self.days)


TWELVE_MONTHS = Periods(DAYS_IN_MONTH, np.arange(12))


@dataclass(frozen=True, slots=True, eq=False)
class Days:
    """Days in a row, (day,): what a rule of watering days has to know of each.

    `number` counts days (of the calendar: since 1 January 1970), `month` and `weekday`
    are rows (January 0, Monday 0), `of_month` is the date's number in its month.
    """

    number: np.ndarray
    month: np.ndarray
    weekday: np.ndarray
    of_month: np.ndarray

    def __len__(self) -> int:
        return len(self.number)

    @classmethod
    def of_calendar(cls, first: datetime.date, count: int) -> Self:
        """So many days of the calendar from a date on."""
        date = np.datetime64(first, "D") + np.arange(count)
        month = date.astype("datetime64[M]")
        number = date.astype(np.int64)
        return cls(
            number,
            month.astype(np.int64) % 12,
            (number + _EPOCH_WEEKDAY) % WEEK,
            (date - month).astype(np.int64) + 1,
        )

    @classmethod
    def of_common_years(cls, count: int) -> Self:
        """Years of 365 days, one after another; the first begins on a Monday."""
        number = np.arange(count * DAYS_IN_YEAR)
        first = np.cumsum(DAYS_IN_MONTH) - DAYS_IN_MONTH
        month = np.repeat(np.arange(12), DAYS_IN_MONTH)
        of_month = np.arange(DAYS_IN_YEAR) - first[month] + 1
        return cls(
            number, np.tile(month, count), number % WEEK, np.tile(of_month, count)
        )


def day_number(date: datetime.date) -> int:
    """Days of a date since 1 January 1970."""
    return date.toordinal() - _EPOCH


def date_of(number: int) -> datetime.date:
    """Date of a number of days since 1 January 1970."""
    return datetime.date.fromordinal(int(number) + _EPOCH)


def dates_of_month(year: int, month: int) -> tuple[datetime.date, ...]:
    """All dates of a month, 1 to 12."""
    first = datetime.date(year, month, 1)
    after = datetime.date(year + month // 12, month % 12 + 1, 1)
    return tuple(first + ONE_DAY * day for day in range((after - first).days))


def first_on(weekdays: int, date: datetime.date) -> datetime.date:
    """First date on or after another that falls on one of the weekdays, as bits."""
    ahead = [(row - date.weekday()) % WEEK for row in weekday_rows(weekdays)]
    return date + ONE_DAY * min(ahead)


def of_parity(of_month: ArrayLike, parity: ArrayLike) -> NDArray[np.bool_]:
    """Whether the dates of a month, by number, are of a parity."""
    dates, among = np.asarray(of_month), np.asarray(parity)
    return np.asarray((among == ALL_DATES) | (dates % 2 == among % 2))


def mean_dates_in_months(
    weekdays: ArrayLike, parity: ArrayLike, days_per_week: ArrayLike
) -> NDArray[np.float64]:
    """Dates of each month on some weekdays, mean of the calendar, (row, month).

    `weekdays` are bits, `parity` as above, both (row,). Where all dates count,
    `days_per_week` tells how many; of odd or even ones every weekday has its
    seventh.
    """
    among = np.asarray(parity, dtype=np.int64)
    count = np.bitwise_count(np.asarray(weekdays, dtype=np.int64))
    share = np.where(among != ALL_DATES, count, days_per_week) / WEEK
    return np.asarray(DATES_OF_PARITY[among] * share[..., None])


def weekday_bits(days: Iterable[str]) -> int:
    """Weekdays as bits of a whole number, Monday 1."""
    return sum(1 << WEEKDAYS.index(day) for day in days)


def weekday_rows(bits: int) -> tuple[int, ...]:
    """Rows of the weekdays in a whole number, Monday 0."""
    return tuple(row for row in range(WEEK) if bits >> row & 1)


def weekday_names(bits: int) -> tuple[str, ...]:
    """Names of the weekdays in a whole number."""
    return tuple(WEEKDAYS[row] for row in weekday_rows(bits))


def month_bits(months: Iterable[int]) -> int:
    """Months 1 to 12 as bits of a whole number, January 1."""
    return sum(1 << (month - 1) for month in months)
