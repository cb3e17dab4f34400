"""Watering days as a program of a controller holds them."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import cache

import numpy as np

from scheduler.calendar import (
    ALL_DATES,
    ALL_WEEK,
    PARITIES,
    WEEK,
    mean_dates_in_months,
    weekday_bits,
    weekday_rows,
)
from scheduler.inputs.library import package_table
from scheduler.inputs.site import Window

LONGEST_GAP = 28
WEEKS_IN_GREGORIAN_CYCLE = 20_871
"""146,097 days of 400 years over 7, exact."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """Days of a program: weekdays as bits, all dates of them or some, or an interval.

    `every_days` is 0, or an interval in days, which counts from a first date; then
    `weekdays` is the one weekday it falls on, or all of them where it wanders.
    `most_in_week` is the most watering days that any seven days hold. Gaps are those
    of a week, of an interval, or with a parity of all the calendar.
    """

    weekdays: int
    parity: int
    every_days: int
    days_per_week: float
    longest_gap: int
    squared_gaps: int
    most_in_week: int

    @property
    def size(self) -> int:
        """Number of weekdays."""
        return self.weekdays.bit_count()

    @property
    def shortest_gap(self) -> int:
        """Least days from one watering to the next; of a parity no more than that."""
        if self.every_days:
            return self.every_days
        rows = weekday_rows(self.weekdays)
        nexts = (*rows[1:], rows[0] + WEEK)
        return min(after - row for row, after in zip(rows, nexts, strict=True))

    @property
    def daily(self) -> bool:
        """Whether every date is a watering day."""
        return self.weekdays == ALL_WEEK and not self.parity and not self.every_days

    @property
    def some_dates(self) -> bool:
        """Whether it is the odd or even dates of some weekdays alone."""
        return self.parity > 0 and self.weekdays != ALL_WEEK

    def order(self) -> tuple[int, int, tuple[int, ...]]:
        """Smallest largest gap, smallest sum of squares, earliest in the week."""
        return self.longest_gap, self.squared_gaps, weekday_rows(self.weekdays)

    def dates_in_months(self) -> np.ndarray:
        """Watering dates of each month, mean of the calendar, January first."""
        return _dates_in_months(self.weekdays, self.parity, self.days_per_week)

    def shares_dates(self, other: Pattern, days_later: int = 0) -> bool:
        """Whether a date of this pattern, so many days later, may be one of another.

        Intervals count as every date on which they might fall.
        """
        bits = self.weekdays
        for _ in range(days_later):
            bits = (bits << 1 | bits >> (WEEK - 1)) & ALL_WEEK
        if not bits & other.weekdays:
            return False
        apart = self.parity > 0 and other.parity > 0 and self.parity != other.parity
        return not (days_later == 0 and apart)

    def permitted(self, window: Window) -> bool:
        """Whether every date falls on a permitted date of a window."""
        if window.parity not in (ALL_DATES, self.parity):
            return False
        return self.within(weekday_bits(window.weekdays), window.most_days_a_week)

    def within(self, weekdays: int, most_days: int) -> bool:
        """Whether it keeps to some weekdays, as bits, and to most days in a week."""
        return not self.weekdays & ~weekdays and self.most_in_week <= most_days


@cache
def _dates_in_months(weekdays: int, parity: int, days_per_week: float) -> np.ndarray:
    """A search asks for those of the same few patterns again and again."""
    return mean_dates_in_months(weekdays, parity, days_per_week)


@cache
def patterns(parity: int, intervals: bool) -> tuple[Pattern, ...]:
    """Patterns that a program can be set to on all dates, or on those of a parity."""
    if parity:
        return tuple(
            _parity_pattern(row)
            for row in package_table("parity_days")
            if row["parity"] == PARITIES[parity]
        )
    found = [_weekly(bits) for bits in range(1, ALL_WEEK + 1)]
    if intervals:
        for every in range(2, LONGEST_GAP + 1):
            if every % WEEK:
                if every < 2 * WEEK:
                    found.append(_interval(ALL_WEEK, every))
            elif every > WEEK:
                found.extend(_interval(1 << row, every) for row in range(WEEK))
    return tuple(found)


def _weekly(bits: int) -> Pattern:
    rows = weekday_rows(bits)
    nexts = (*rows[1:], rows[0] + WEEK)
    gaps = [after - row for row, after in zip(rows, nexts, strict=True)]
    squares = sum(gap * gap for gap in gaps)
    size = len(rows)
    return Pattern(bits, ALL_DATES, 0, float(size), max(gaps), squares, size)


def _interval(weekdays: int, every: int) -> Pattern:
    most = -(-WEEK // every)
    return Pattern(weekdays, ALL_DATES, every, WEEK / every, every, every * every, most)


def _parity_pattern(row: dict[str, str]) -> Pattern:
    """Counted on the Gregorian calendar once, and kept with the package's tables."""
    return Pattern(
        weekday_bits(row["weekdays"].split()),
        PARITIES.index(row["parity"]),
        0,
        int(row["dates"]) / WEEKS_IN_GREGORIAN_CYCLE,
        int(row["longest_gap_days"]),
        int(row["squared_gaps"]),
        int(row["most_in_week"]),
    )


@dataclass(frozen=True, slots=True)
class AlikePatterns:
    """Patterns that water as many dates with as long a gap: a program may take any.

    All of them are permitted by the same windows of the site.
    """

    alike: tuple[Pattern, ...]

    @property
    def first(self) -> Pattern:
        """The pattern to take where nothing speaks for another."""
        return self.alike[0]


@cache
def days_to_choose(
    windows: tuple[Window, ...], intervals: bool, some_dates: bool = True
) -> tuple[AlikePatterns, ...]:
    """Watering days that at least one of the windows permits, alike ones together.

    Without `some_dates` the odd or even dates of some weekdays are left out, where a
    window permits anything else.

    Of as many days a week only those of the shortest longest gap that a window leaves,
    or two windows together (one in summer, one in winter), are kept; they stand in the
    order of `choose_days`, the most even first.
    """
    kept: dict[tuple[object, ...], list[Pattern]] = {}
    for one, other in itertools.combinations_with_replacement(windows, 2):
        allowed = [
            pattern
            for pattern in patterns(one.parity or other.parity, intervals)
            if pattern.permitted(one) and pattern.permitted(other)
        ]
        if not some_dates:
            allowed = [one for one in allowed if not one.some_dates] or allowed
        shortest: dict[tuple[int, int, int], int] = {}
        for pattern in allowed:
            kind = _kind(pattern)
            gap = min(shortest.get(kind, 99), pattern.longest_gap)
            shortest[kind] = gap
        for pattern in allowed:
            kind = _kind(pattern)
            if pattern.longest_gap == shortest[kind]:
                where = tuple(pattern.permitted(window) for window in windows)
                group = kept.setdefault((kind, pattern.longest_gap, where), [])
                if pattern not in group:
                    group.append(pattern)
    return tuple(
        AlikePatterns(tuple(sorted(group, key=Pattern.order)))
        for group in kept.values()
    )


def _kind(pattern: Pattern) -> tuple[int, int, int]:
    return pattern.parity, pattern.every_days, pattern.size
