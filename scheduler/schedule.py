"""The one record of what runs when."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields, replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Self

import numpy as np

from scheduler.calendar import (
    WEEK,
    Days,
    day_number,
    first_on,
    mean_dates_in_months,
    month_bits,
    of_parity,
    weekday_rows,
)

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

NO_DAY = np.iinfo(np.int64).min
"""In `Schedule.first_day`: the rule has no first day, for it waters by weekday."""
NO_START = -1
"""In `Schedule.starts_min`: no start."""


@dataclass(frozen=True, slots=True)
class CardRule:
    """A zone in a program of a card, in the months (1 to 12) of one percent.

    `cycles` of `cycle_min`, with `soak_min` between them, make up the run of one start;
    `starts_min` are the zone's own, not the program's. `first_date` is None but for an
    interval.
    """

    zone: int
    months: tuple[int, ...]
    weekdays: int
    parity: int
    every_days: int
    first_date: datetime.date | None
    days_per_week: float
    starts_min: tuple[float, ...]
    cycles: int
    cycle_min: float
    soak_min: float

    @property
    def first_day(self) -> int:
        """First date as a number of days, NO_DAY without one."""
        return NO_DAY if self.first_date is None else day_number(self.first_date)

    @property
    def pause_min(self) -> float:
        """Least pause between two cycles of a day."""
        run = self.cycles * self.cycle_min + (self.cycles - 1) * self.soak_min
        pauses = [after - start - run for start, after in pairwise(self.starts_min)]
        if self.cycles > 1:
            pauses.append(self.soak_min)
        return min(pauses, default=0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Schedule:
    """Rules of what runs when, a row a rule: table, card, night and today's settings.

    All arrays have one shape, (row,) or, for a table, (zone, month); `starts_min` has
    one axis more, NO_START where there is none. `zone` is a row of zones; `months` are
    bits, January 1; `weekdays` bits, Monday 1; `parity` one of the calendar's.
    `every_days` is 0, or an interval that counts from `first_day` (days since 1 January
    1970). `days_per_week` is the mean of the calendar. A rule that is off has no
    weekdays and no cycles. `starts_min` are minutes after midnight of the date,
    `cycles` those of a day, `soak_min` is the pause between two of them.
    """

    zone: np.ndarray
    months: np.ndarray
    weekdays: np.ndarray
    parity: np.ndarray
    every_days: np.ndarray
    first_day: np.ndarray
    days_per_week: np.ndarray
    starts_min: np.ndarray
    cycles: np.ndarray
    cycle_min: np.ndarray
    soak_min: np.ndarray

    @classmethod
    def from_table(
        cls,
        weekdays: np.ndarray,
        parity: np.ndarray,
        every_days: np.ndarray,
        days_per_week: np.ndarray,
        cycles: np.ndarray,
        cycle_min: np.ndarray,
        soak_min: np.ndarray,
        month: ArrayLike,
        first_day: ArrayLike = NO_DAY,
    ) -> Self:
        """Rules of a table, (zone, period); `month` is the row of each period's."""
        shape = cycles.shape
        bits = np.left_shift(1, np.asarray(month, dtype=np.int64))
        return cls(
            zone=np.broadcast_to(np.arange(shape[0])[:, None], shape),
            months=np.broadcast_to(bits, shape),
            weekdays=weekdays,
            parity=parity,
            every_days=every_days,
            first_day=np.broadcast_to(np.asarray(first_day, dtype=np.int64), shape),
            days_per_week=days_per_week,
            starts_min=np.empty((*shape, 0)),
            cycles=cycles,
            cycle_min=cycle_min,
            soak_min=soak_min,
        )

    @classmethod
    def from_card(cls, rules: Sequence[CardRule]) -> Self:
        """Rules of a card, one for each program, zone and percent.

        Every start counts as a cycle, or as several where the controller splits its
        runs; between starts the pause is the least there is.
        """
        most = max((len(rule.starts_min) for rule in rules), default=0)
        starts = np.full((len(rules), most), float(NO_START))
        for row, rule in enumerate(rules):
            starts[row, : len(rule.starts_min)] = rule.starts_min

        def column(name: str, kind: type = int) -> np.ndarray:
            return np.array([getattr(rule, name) for rule in rules], dtype=kind)

        return cls(
            zone=column("zone"),
            months=np.array([month_bits(rule.months) for rule in rules], dtype=int),
            weekdays=column("weekdays"),
            parity=column("parity"),
            every_days=column("every_days"),
            first_day=column("first_day"),
            days_per_week=column("days_per_week", float),
            starts_min=starts,
            cycles=np.array([len(r.starts_min) * r.cycles for r in rules], dtype=int),
            cycle_min=column("cycle_min", float),
            soak_min=column("pause_min", float),
        )

    @classmethod
    def from_current(
        cls,
        zone: np.ndarray,
        minutes: np.ndarray,
        starts: np.ndarray,
        days_per_week: np.ndarray,
        months: Iterable[Iterable[int]],
    ) -> Self:
        """Rules of today's settings: so many days a week, spread over it evenly.

        `current.csv` does not say which weekdays: the fewest whole number of days that
        holds them, from Monday on as evenly as the week lets it.
        """
        count = len(zone)
        return cls(
            zone=zone,
            months=np.array([month_bits(row) for row in months], dtype=np.int64),
            weekdays=_even_weekdays(days_per_week),
            parity=np.zeros(count, dtype=np.uint8),
            every_days=np.zeros(count, dtype=np.uint8),
            first_day=np.full(count, NO_DAY),
            days_per_week=days_per_week,
            starts_min=np.empty((count, 0)),
            cycles=starts,
            cycle_min=minutes,
            soak_min=np.zeros(count),
        )

    def __getitem__(self, rows: Any) -> Self:
        """The rules of some rows, as NumPy takes them of an array."""
        return type(self)(*(getattr(self, own.name)[rows] for own in fields(self)))

    def counted_from(self, date: datetime.date) -> Self:
        """The same rules, intervals on the first of their weekdays from a date on."""
        first_day = np.full(self.every_days.shape, NO_DAY)
        for row in zip(*np.nonzero(self.every_days), strict=True):
            first_day[row] = day_number(first_on(int(self.weekdays[row]), date))
        return replace(self, first_day=first_day)

    def from_first_week(self) -> Self:
        """The same rules in years of 365 days, which begin on a Monday.

        Intervals count from the first of their weekdays.
        """
        first_day = np.full(self.every_days.shape, NO_DAY)
        for row in zip(*np.nonzero(self.every_days), strict=True):
            first_day[row] = weekday_rows(int(self.weekdays[row]))[0]
        return replace(self, first_day=first_day)

    @property
    def told_weekdays(self) -> np.ndarray:
        """Weekdays as they are told: of an interval the first that is permitted."""
        first = self.weekdays & -self.weekdays
        return np.where(self.every_days > 0, first, self.weekdays)

    @property
    def minutes_per_day(self) -> np.ndarray:
        """Minutes of a watering day, all cycles together."""
        return self.cycles * self.cycle_min

    @property
    def minutes_per_week(self) -> np.ndarray:
        """Minutes of an average week."""
        return self.minutes_per_day * self.days_per_week

    def waters(self, days: Days) -> np.ndarray:
        """Whether a rule waters on a day, (row, day): rows as `ravel` has them."""
        in_month = self.months.ravel()[:, None] >> days.month & 1
        on_weekday = self.weekdays.ravel()[:, None] >> days.weekday & 1
        counts = of_parity(days.of_month, self.parity.ravel()[:, None])
        return np.asarray(
            (in_month & on_weekday).astype(bool) & counts & self._in_turn(days)
        )

    def _in_turn(self, days: Days) -> np.ndarray:
        """Whether an interval falls on a day, (row, day); True for rows without one."""
        every = self.every_days.ravel()[:, None].astype(np.int64)
        first = self.first_day.ravel()[:, None]
        counts = (every > 0) & (first != NO_DAY)
        since = days.number - np.where(counts, first, 0)
        return ~counts | (since % np.where(counts, every, 1) == 0)

    def minutes(self, days: Days, zones: int) -> np.ndarray:
        """Minutes of each zone on each day, (zone, day)."""
        names = ("months", "weekdays", "parity", "every_days", "first_day")
        when = np.stack([getattr(self, name).ravel() for name in names])
        # Many rules share their days, as the zones of a program do.
        _, row, like = np.unique(when, axis=1, return_index=True, return_inverse=True)
        on = self[np.unravel_index(row, self.zone.shape)].waters(days)
        found = np.zeros((zones, len(days)))
        for zone, own, day_min in zip(
            self.zone.ravel(), like.ravel(), self.minutes_per_day.ravel(), strict=True
        ):
            found[zone] += on[own] * day_min
        return found

    def minutes_in_months(self, zones: int) -> np.ndarray:
        """Minutes of each zone in each month, mean of the calendar, (zone, month)."""
        months = self.months.ravel()[:, None] >> np.arange(12) & 1
        dates = months * mean_dates_in_months(
            self.weekdays.ravel(), self.parity.ravel(), self.days_per_week.ravel()
        )
        minutes = self.cycle_min.ravel()[:, None] * (
            dates * self.cycles.ravel()[:, None]
        )
        found = np.zeros((zones, 12))
        np.add.at(found, self.zone.ravel(), minutes)
        return found


def _even_weekdays(days_per_week: np.ndarray) -> np.ndarray:
    """So many days of the week as bits, spread as evenly as it goes from Monday on."""
    found = np.zeros(len(days_per_week), dtype=np.uint8)
    for row, days in enumerate(np.ceil(days_per_week).astype(int).tolist()):
        rows = {turn * WEEK // days for turn in range(min(days, WEEK))}
        found[row] = sum(1 << weekday for weekday in rows)
    return found
