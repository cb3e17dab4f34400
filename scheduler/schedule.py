"""The one record of what runs when."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

import numpy as np

from scheduler.calendar import WEEK, Days, month_bits

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

NO_DAY = np.iinfo(np.int64).min
"""In `Schedule.first_day`: the rule has no first day, for it waters by weekday."""
NO_START = -1
"""In `Schedule.starts_min`: no start."""


@dataclass(frozen=True, slots=True, eq=False)
class Schedule:
    """Rules of what runs when, a row a rule: table, card, night and today's settings.

    All arrays have one shape, (row,) or, for a table, (zone, month); `starts_min` has
    one axis more, NO_START where there is none. `zone` is a row of zones; `months` are
    bits, January 1; `weekdays` bits, Monday 1; `parity` a row of calendar.PARITIES.
    `every_days` is 0, or an interval that counts from `first_day` (days since 1 January
    1970). `days_per_week` is the mean of the calendar. A rule that is off has no
    weekdays and no cycles. `soak_min` is the pause between two cycles.
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
            starts_min=np.empty((*shape, 0), dtype=np.int64),
            cycles=cycles,
            cycle_min=cycle_min,
            soak_min=soak_min,
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
            starts_min=np.empty((count, 0), dtype=np.int64),
            cycles=starts,
            cycle_min=minutes,
            soak_min=np.zeros(count),
        )

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
        parity = self.parity.ravel()[:, None]
        of_parity = (parity == 0) | (days.of_month % 2 == parity % 2)
        return np.asarray(
            (in_month & on_weekday & of_parity).astype(bool) & self._in_turn(days)
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
        day_min = self.minutes_per_day.ravel()
        found = np.zeros((zones, len(days)))
        np.add.at(found, self.zone.ravel(), self.waters(days) * day_min[:, None])
        return found


def _even_weekdays(days_per_week: np.ndarray) -> np.ndarray:
    """So many days of the week as bits, spread as evenly as it goes from Monday on."""
    found = np.zeros(len(days_per_week), dtype=np.uint8)
    for row, days in enumerate(np.ceil(days_per_week).astype(int).tolist()):
        rows = {turn * WEEK // days for turn in range(min(days, WEEK))}
        found[row] = sum(1 << weekday for weekday in rows)
    return found
