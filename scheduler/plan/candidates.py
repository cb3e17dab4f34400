"""Settings that could be keyed in: patterns of days, and minutes of a watering day."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from scheduler.calendar import ALL_WEEK, WEEK
from scheduler.lines import HOUSE_RULE, Line
from scheduler.plan.times.days import LIGHT_EVENT_MM, DayRule, best_set
from scheduler.plan.times.patterns import LONGEST_GAP
from scheduler.rounding import TOLERANCE
from scheduler.units import MIN_PER_H

INTERVALS = (5, 6, 8, 9, 10, 12, 14, 16, 18, 21, 24, 28)
"""Days from one watering to the next, of plants that stand more than a week (rule of
this program: any number of days is within an eighth of one of them)."""
PATTERNS = WEEK + len(INTERVALS)
"""Patterns of a rule: seven days a week down to one, then the intervals."""
LIGHT_WATERING_MM = LIGHT_EVENT_MM
"""Least depth of a watering by heads that are not drip, as in the plan by months."""
LEAST_OF_STORE = 0.5
"""Share of the allowed depletion that a watering refills at least, so that watering
stays seldom and deep (rule of this program)."""
MOST_OVER_NEED = 1.6
"""Most minutes tried, over those that the need alone asks for."""
GAP_NEED = Line(
    "gap_need", "need_of_years * widest_gap / run_time_multiplier", HOUSE_RULE
)
LEAST_USEFUL = Line(
    "least_useful",
    "max(light_event, min(0.5 * allowed_depletion, gap_need))",
    HOUSE_RULE,
)
LEAST_MINUTES = Line(
    "least_minutes",
    "60 * least_useful * run_time_multiplier / rate",
    "definition of the rate",
)
NEED_MINUTES = Line(
    "need_minutes",
    "60 * need_of_years * 7 / days_per_week * run_time_multiplier / rate",
    "calendar and definition of the rate",
)
FULL_MINUTES = Line(
    "full_minutes",
    "60 * total_available_water * run_time_multiplier / rate",
    "the root zone holds no more",
)
MOST_MINUTES = Line(
    "most_minutes",
    "max(least_minutes, min(1.6 * need_minutes, full_minutes))",
    HOUSE_RULE,
)
MOST_MINUTES_HELD = Line(
    "most_minutes",
    "min(night_minutes, max(least_minutes, min(1.6 * need_minutes, full_minutes)))",
    HOUSE_RULE,
)
COOL_NEED_MM_DAY = 1.5
"""Where less than this a day is lacking, for it is cool or rains, plants stand twice
their gap (rule of this program)."""


@dataclass(frozen=True, slots=True, eq=False)
class Patterns:
    """Patterns of each valve in one period, (valve, pattern).

    `weekdays` are bits, `parity` one of the calendar's, `every_days` 0 or an
    interval. `usable` says which the rule, the controller and the plants allow;
    `too_few` (valve,) where the densest permitted one leaves too long a gap;
    `too_close` where all that is within the longest gap is closer than the shortest.
    """

    weekdays: np.ndarray
    parity: np.ndarray
    every_days: np.ndarray
    days_per_week: np.ndarray
    longest_gap: np.ndarray
    usable: np.ndarray
    too_few: np.ndarray
    too_close: np.ndarray

    @property
    def widest_gap(self) -> np.ndarray:
        """Longest gap of the sparsest usable pattern, in days; (valve,)."""
        return np.asarray(np.where(self.usable, self.longest_gap, 0.0).max(axis=1))


@dataclass(frozen=True, slots=True, eq=False)
class Minutes:
    """Minutes of a watering day that a valve can be set to, (valve, row), rising.

    A row that is none of a valve's holds infinity. `cycles` and `cycle_min` make the
    minutes; `count` (valve,) is how many rows are filled.
    """

    minutes: np.ndarray
    cycles: np.ndarray
    cycle_min: np.ndarray
    count: np.ndarray

    def first_from(self, minutes: np.ndarray) -> np.ndarray:
        """Row of the first setting of so many minutes or more, (valve, …).

        The last one where none is long enough.
        """
        found = self._placed(minutes * (1 - TOLERANCE), "left")
        return np.minimum(found, self._last(minutes))

    def last_to(self, minutes: np.ndarray) -> np.ndarray:
        """Row of the last setting of so many minutes or fewer, the first at least."""
        found = self._placed(minutes * (1 + TOLERANCE), "right") - 1
        return np.clip(found, 0, self._last(minutes))

    def _last(self, minutes: np.ndarray) -> np.ndarray:
        last: np.ndarray = self.count.reshape(-1, *[1] * (minutes.ndim - 1)) - 1
        return last

    def _placed(
        self, minutes: np.ndarray, side: Literal["left", "right"]
    ) -> np.ndarray:
        flat = minutes.reshape(len(self.count), -1)
        rows = [mine.searchsorted(wanted, side)
                for mine, wanted in zip(self.minutes, flat, strict=True)]  # fmt: skip
        return np.array(rows, dtype=np.intp).reshape(minutes.shape)


@cache
def patterns_of_rule(rule: DayRule, intervals: bool) -> np.ndarray:
    """Patterns of a rule, (pattern, 6).

    Columns are weekdays, parity, interval, days a week, longest and shortest gap. A
    pattern that the rule does not permit has no weekdays. Whole weeks keep to the first
    weekday permitted, so that a table says on which day they fall.
    """
    found = np.zeros((PATTERNS, 6))
    for row, size in enumerate(range(WEEK, 0, -1)):
        best = best_set(rule, size)
        if best is not None:
            found[row] = (best.weekdays, best.parity, 0, best.days_per_week,
                          best.longest_gap, best.shortest_gap)  # fmt: skip
    if intervals and rule.weekdays and not rule.parity:
        for row, every in enumerate(INTERVALS, WEEK):
            if every % WEEK == 0:
                first = rule.weekdays & -rule.weekdays
                found[row] = first, rule.parity, every, WEEK / every, every, every
            elif rule.weekdays == ALL_WEEK and -(-WEEK // every) <= rule.most_days:
                found[row] = ALL_WEEK, rule.parity, every, WEEK / every, every, every
    return found


def patterns_of_period(
    rules: tuple[DayRule, ...],
    rule_intervals: tuple[bool, ...],
    rule: np.ndarray,
    longest_gap_days: np.ndarray,
    shortest_gap_days: np.ndarray,
    lacks_mm_day: np.ndarray,
) -> Patterns:
    """Patterns of valves in one period; arrays are (valve,).

    None is longer apart than the plant stands, twice that while it needs little or rain
    brings most of it: `lacks_mm_day` is the mean need less the mean rain. Where no
    permitted pattern is within that, the densest is taken. None is closer than its
    shortest gap, which yields: where no pattern within the longest gap keeps to it,
    those that water least often are taken. Plants that stand no more than a week keep
    to weekdays.
    """
    pairs = zip(rules, rule_intervals, strict=True)
    of_rule = np.stack([patterns_of_rule(*pair) for pair in pairs])
    weekdays, parity, every, days, gap, closest = np.moveaxis(of_rule[rule], -1, 0)
    stands = stands_days(longest_gap_days, lacks_mm_day)
    permitted = weekdays > 0
    usable = permitted & (gap <= np.minimum(stands, LONGEST_GAP)[:, None])
    too_few = permitted.any(axis=1) & ~usable.any(axis=1)
    densest = np.argmax(np.where(permitted, days, 0.0), axis=1)
    usable[too_few, densest[too_few]] = True
    of_weeks = (every == 0) | (every > WEEK) | (longest_gap_days > WEEK)[:, None]
    usable &= of_weeks
    far = usable & (closest >= shortest_gap_days[:, None])
    too_close = usable.any(axis=1) & ~far.any(axis=1)
    seldom = np.where(usable, closest, 0.0)
    seldom = usable & (seldom == seldom.max(axis=1, keepdims=True))
    usable = np.where(too_close[:, None], seldom, far)
    return Patterns(
        weekdays.astype(np.int64),
        parity.astype(np.int64),
        every.astype(np.int64),
        days,
        gap,
        usable,
        too_few,
        too_close & ~too_few,
    )


def stands_days(longest_gap_days: np.ndarray, need_mm_day: np.ndarray) -> np.ndarray:
    """Days that plants let pass between waterings, doubled while they need little."""
    return np.where(need_mm_day < COOL_NEED_MM_DAY, 2.0, 1.0) * longest_gap_days


def settable_minutes(
    longest_cycle_min: np.ndarray,
    minute_step: np.ndarray,
    least_cycle_min: np.ndarray,
    most_min: np.ndarray,
) -> Minutes:
    """Every n · c up to some minutes, n = ⌈t / L⌉ cycles of c ≤ L whole steps.

    Arguments are (valve,); `most_min` is passed by no more than one setting. A cycle is
    no shorter than its least, unless L is.
    """
    lists = [
        _settable(*(float(value) for value in row))
        for row in zip(longest_cycle_min, minute_step, least_cycle_min, most_min,
                       strict=True)
    ]  # fmt: skip
    count = np.array([len(found) for found in lists])
    shape = (len(lists), int(count.max(initial=1)))
    minutes, cycles, cycle = np.full(shape, np.inf), np.zeros(shape), np.zeros(shape)
    for row, found in enumerate(lists):
        minutes[row, : len(found)] = found[:, 0] * found[:, 1]
        cycles[row, : len(found)], cycle[row, : len(found)] = found.T
    return Minutes(minutes, cycles, cycle, count)


@cache
def _settable(longest: float, step: float, least: float, most: float) -> np.ndarray:
    """Cycles and cycle minutes, (row, 2), by rising minutes of the day."""
    steps = max(math.floor(longest / step + TOLERANCE), 1)
    fewest = min(max(math.ceil(least / step - TOLERANCE), 1), steps)
    found: list[tuple[int, float]] = []
    cycles = 1
    while True:
        first = max((cycles - 1) * steps // cycles + 1, fewest)
        for cycle in range(first, steps + 1):
            found.append((cycles, cycle * step))
            if cycles * cycle * step >= most:
                return np.array(found, dtype=float)
        cycles += 1


def least_useful_mm(
    allowed_depletion_mm: np.ndarray, gap_need_mm: ArrayLike, drip: np.ndarray
) -> np.ndarray:
    """Net depth of the lightest watering: half the store, and no mere sprinkling.

    It is no more than lays down, in all, what plants need in the widest gap that they
    stand, `gap_need_mm`: a large store is not to be filled faster than it is used.
    """
    light = np.where(drip, 0.0, LIGHT_WATERING_MM)
    of_store = LEAST_OF_STORE * allowed_depletion_mm
    return np.maximum(light, np.minimum(of_store, gap_need_mm))


def minutes_for(
    net_mm: np.ndarray, run_time_multiplier: np.ndarray, rate_mm_h: np.ndarray
) -> np.ndarray:
    """Minutes that lay down a net depth."""
    return np.asarray(net_mm * run_time_multiplier * MIN_PER_H / rate_mm_h)
