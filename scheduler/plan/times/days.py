"""Watering days: the fewest that keep the root zone from running dry.

The choice hangs on four small whole numbers: the permitted weekdays, odd or even
dates, the most days a week and the gap limit. So it is made once for each and kept
in a table, which ten thousand zones then look up.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Self

import numpy as np

from scheduler.calendar import WEEK, weekday_bits
from scheduler.inputs.site import Window
from scheduler.lines import COMMON_PRACTICE, HOUSE_RULE, Line
from scheduler.plan.times.patterns import LONGEST_GAP, Pattern, patterns
from scheduler.rounding import TOLERANCE, ceil_, floor_
from scheduler.soil.storage import STORE_LET_PASS

LIGHT_EVENT_MM = 2.5
"""Less than this wets leaves, not roots (common practice)."""

EVENT_NEED_DAY = Line(
    "event_need_day", "event_need / days_in_month", "length of the month"
)
GAP_LIMIT = Line(
    "store_gap", "max(1, floor(min(store_lasts, longest_gap)))", HOUSE_RULE
)
GAP_LIMIT_SHORTEST = Line(
    "store_gap", "floor(min(max(store_lasts, shortest_gap), longest_gap))", HOUSE_RULE
)
LIGHT_GAP = Line("light_gap", "ceil(light_event / event_need_day)", COMMON_PRACTICE)
LIGHT_GAP_WEEKS = Line("whole_weeks", "ceil(light_gap / 7) * 7", HOUSE_RULE)
RAISED_GAP = Line(
    "raised_gap", "max(store_gap, min(whole_weeks, depletion_gap, 28))", HOUSE_RULE
)
DEPLETION_GAP = Line(
    "depletion_gap", "floor(allowed_depletion / event_need_day)", HOUSE_RULE
)
DAYS_PER_WEEK = Line("days_per_week", "7 / every_days", "calendar")


@dataclass(frozen=True, slots=True)
class DayRule:
    """What a window permits: weekdays as bits (Monday 1), parity, most days a week."""

    weekdays: int
    parity: int
    most_days: int

    @classmethod
    def of_window(cls, window: Window) -> Self:
        """The rule of a window."""
        bits = weekday_bits(window.weekdays)
        return cls(bits, window.parity, window.most_days_a_week)


@dataclass(frozen=True, slots=True)
class DayChoice:
    """Days chosen: weekdays as bits, or one weekday every so many days (0: weekly).

    `enough` says whether the longest gap is within the limit.
    """

    weekdays: int
    every_days: int
    days_per_week: float
    enough: bool


@dataclass(frozen=True, slots=True, eq=False)
class DayTable:
    """Choices by (rule, gap limit in days), as arrays; `parity` is (rule,)."""

    parity: np.ndarray
    weekdays: np.ndarray
    every_days: np.ndarray
    days_per_week: np.ndarray
    enough: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class LightGap:
    """A gap in days, and how it was come to.

    `too_light`: no gap makes a watering worth it. `lighter`: waterings at the gap that
    was given are too light. `in_weeks`: what would do is over 7 days, so whole weeks.
    `raised`: the gap is longer than the one that was given.
    """

    gap_days: np.ndarray
    too_light: np.ndarray
    lighter: np.ndarray
    in_weeks: np.ndarray
    raised: np.ndarray


@cache
def best_set(rule: DayRule, size: int) -> Pattern | None:
    """Most even permitted set of so many weekdays; None where none is permitted."""
    sets = [
        days
        for days in patterns(rule.parity, False)
        if days.size == size and days.within(rule.weekdays, rule.most_days)
    ]
    return min(sets, key=Pattern.order, default=None)


def choose_days(rule: DayRule, gap_limit_days: int, intervals: bool) -> DayChoice:
    """Fewest permitted days whose longest gap is within the limit.

    Among equals the smallest largest gap, then the smallest sum of squared gaps, then
    the earliest in the week. On odd or even dates days a week are counted on the
    calendar; they differ between sets of as many weekdays only in the fourth digit,
    and such sets count as equals. The most days a week hold in the busiest week of the
    calendar, not on the mean. Where even the most days are too few, they are
    taken, with `enough` false.
    """
    if gap_limit_days >= 14 and intervals and not rule.parity and rule.weekdays:
        every = min(gap_limit_days // 7 * 7, LONGEST_GAP)
        first = rule.weekdays & -rule.weekdays
        return DayChoice(first, every, 7 / every, True)
    best = [best_set(rule, size) for size in range(1, WEEK + 1)]
    sets = [days for days in best if days is not None]
    if not sets:
        return DayChoice(0, 0, 0.0, False)
    within = [days for days in sets if days.longest_gap <= gap_limit_days]
    chosen = within[0] if within else sets[-1]
    return DayChoice(chosen.weekdays, 0, chosen.days_per_week, bool(within))


@cache
def _choices(rule: DayRule, intervals: bool) -> tuple[DayChoice, ...]:
    return tuple(
        choose_days(rule, limit, intervals) for limit in range(LONGEST_GAP + 1)
    )


@cache
def day_table(rules: tuple[DayRule, ...], intervals: tuple[bool, ...]) -> DayTable:
    """Choices for each rule (with its controller's intervals) and gap limit."""
    rows = [_choices(rule, own) for rule, own in zip(rules, intervals, strict=True)]
    return DayTable(
        np.array([rule.parity for rule in rules], dtype=np.uint8),
        np.array([[c.weekdays for c in row] for row in rows], dtype=np.uint8),
        np.array([[c.every_days for c in row] for row in rows], dtype=np.uint8),
        np.array([[c.days_per_week for c in row] for row in rows]),
        np.array([[c.enough for c in row] for row in rows], dtype=bool),
    )


def gap_limit(
    allowed_depletion_mm: np.ndarray,
    plant_need_day_mm: np.ndarray,
    longest_gap_days: np.ndarray,
    shortest_gap_days: np.ndarray | float = 1.0,
) -> np.ndarray:
    """Days from one watering to the next that the store and the plant stand.

    A plant's shortest gap holds whatever the store lasts; its longest comes first.
    """
    with np.errstate(divide="ignore"):
        lasts = floor_(STORE_LET_PASS * allowed_depletion_mm / plant_need_day_mm)
    lasts = np.maximum(lasts, np.maximum(shortest_gap_days, 1.0))
    return np.asarray(np.minimum(lasts, longest_gap_days))


def light_event_gap(
    gap_days: np.ndarray,
    allowed_depletion_mm: np.ndarray,
    event_need_day_mm: np.ndarray,
) -> LightGap:
    """Gap raised so that a watering is no lighter than 2.5 mm, and where it cannot be.

    It goes in whole weeks above 7 days, and no further than 28 days or the allowed
    depletion let it. Where nothing is needed the gap stays.
    """
    with np.errstate(divide="ignore"):
        wanted = ceil_(LIGHT_EVENT_MM / event_need_day_mm)
        most = floor_(allowed_depletion_mm / event_need_day_mm)
    in_weeks = wanted > WEEK
    lighter = wanted > gap_days
    # Whole weeks above one week; masks are slow here and 0 times infinity is none.
    wanted = np.minimum(wanted, WEEK) + (ceil_(wanted / WEEK) * WEEK - WEEK)
    reached = np.minimum(np.minimum(wanted, most), LONGEST_GAP)
    too_light = event_need_day_mm * LONGEST_GAP < LIGHT_EVENT_MM - TOLERANCE
    longer = np.maximum(gap_days, reached * ~too_light)
    return LightGap(
        gap_days=longer,
        too_light=too_light,
        lighter=lighter,
        in_weeks=in_weeks,
        raised=longer > gap_days,
    )
