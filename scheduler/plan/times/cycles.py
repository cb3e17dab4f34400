"""Minutes of a watering day, split into cycles with soak between them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.lines import HOUSE_RULE, Line
from scheduler.rounding import TOLERANCE, ceil_, floor_

LEAST_SHARE, NEAR_SHARE, MOST_SHARE = 0.95, 0.98, 1.05
SHORTEST_CYCLE_MIN = 2.0
SOAK_STEP_MIN = 5.0

EVENT_NET = Line(
    "event_net", "event_need * 7 / days_in_month / days_per_week", "calendar"
)
EVENT_CUT = Line(
    "event_cut", "min(event_net, total_available_water)", "the root zone holds no more"
)
EVENT_GROSS = Line(
    "event_gross", "event_cut * gross_need / event_need", "definition of gross need"
)
MINUTES = Line("event_minutes", "60 * event_gross / rate", "definition of the rate")
LONGEST_CYCLE = Line(
    "longest_cycle",
    "floor(min(runoff_limit, longest_run) / minute_step) * minute_step",
    HOUSE_RULE,
)
LEAST_CYCLES = Line(
    "least_cycles", "ceil(0.95 * event_minutes / longest_cycle)", HOUSE_RULE
)
DAY_MINUTES = Line("minutes_per_day", "cycles * cycle_minutes", HOUSE_RULE)
SOAK_ROUNDED = Line(
    "soak_minutes", "max(ceil(soak_to_go_in / 5) * 5, shortest_soak)", HOUSE_RULE
)
WEEK_MINUTES = Line("minutes_per_week", "minutes_per_day * days_per_week", "calendar")
MONTH_MINUTES = Line(
    "minutes_per_month", "minutes_per_week * days_in_month / 7", "calendar"
)
APPLIED = Line("applied", "minutes_per_month * rate / 60", "definition of the rate")
RAIN_AND_SOIL = Line(
    "rain_and_soil", "max(0, plants_take - watering_gives)", "water balance"
)
"""By days: what plants have beside the water."""
VOLUME = Line("volume", "minutes_per_month * flow", "definition of flow")
VOLUME_FILLED = Line(
    "volume", "(minutes_per_month + fill_minutes) * flow", "definition of flow"
)


@dataclass(frozen=True, slots=True, eq=False)
class Cycles:
    """Cycles of a watering day, and the minutes of each."""

    cycles: np.ndarray
    cycle_min: np.ndarray


def longest_cycle(
    runoff_limit_min: np.ndarray, longest_run_min: np.ndarray, minute_step: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Longest cycle in whole steps, and whether the runoff limit is too short for one.

    A limit under two minutes or under a step cannot be kept: the cycle is then the
    larger of the two all the same.
    """
    least = np.maximum(SHORTEST_CYCLE_MIN, minute_step)
    too_short = runoff_limit_min < least - TOLERANCE
    limit = np.minimum(runoff_limit_min, longest_run_min)
    steps = floor_(limit / minute_step) * minute_step
    least_steps = floor_(least / minute_step) * minute_step
    longest_run = floor_(longest_run_min / minute_step) * minute_step
    return np.where(too_short, np.minimum(least_steps, longest_run), steps), too_short


def least_cycles(minutes: np.ndarray, longest_min: np.ndarray) -> np.ndarray:
    """Cycles that the longest one forces, before any are added to fit the minutes."""
    return np.maximum(ceil_(LEAST_SHARE * minutes / longest_min), 1.0)


def split_minutes(
    minutes: np.ndarray, longest_min: np.ndarray, minute_step: np.ndarray
) -> Cycles:
    """Cycles and whole-step cycle minutes that come near to the minutes wanted.

    Of the least number of cycles and the next two, the first whose day lies between
    0.98 and 1.05 of the minutes; else the nearest day, ties to fewer cycles. The
    longest cycle and the step broadcast against the minutes; all are over 0, and the
    longest cycle is of whole steps.
    """
    cycles = least_cycles(minutes, longest_min)
    cycle_min = _nearest_cycle(minutes, cycles, longest_min, minute_step)
    again = np.nonzero(~_near_enough(cycles * cycle_min, minutes))
    if again[0].size:
        longest = np.broadcast_to(longest_min, minutes.shape)[again]
        step = np.broadcast_to(minute_step, minutes.shape)[again]
        first = Cycles(cycles[again], cycle_min[again])
        better = _try_more_cycles(first, minutes[again], longest, step)
        cycles[again], cycle_min[again] = better.cycles, better.cycle_min
    return Cycles(cycles, cycle_min)


def _try_more_cycles(
    first: Cycles, minutes: np.ndarray, longest_min: np.ndarray, minute_step: np.ndarray
) -> Cycles:
    """The first, or one or two cycles more if that comes nearer."""
    cycles, cycle_min = first.cycles, first.cycle_min
    off = np.abs(cycles * cycle_min - minutes)
    settled = np.zeros(minutes.shape, dtype=bool)
    for more in (1.0, 2.0):
        tried = first.cycles + more
        length = _nearest_cycle(minutes, tried, longest_min, minute_step)
        day = tried * length
        tried_off = np.abs(day - minutes)
        good = _near_enough(day, minutes)
        nearer = tried_off < off - TOLERANCE * minutes
        better = ~settled & (good | nearer)
        cycles = np.where(better, tried, cycles)
        cycle_min = np.where(better, length, cycle_min)
        off = np.where(better, tried_off, off)
        settled |= good
    return Cycles(cycles, cycle_min)


def _near_enough(day_min: np.ndarray, minutes: np.ndarray) -> np.ndarray:
    return np.asarray(
        (day_min >= (NEAR_SHARE - TOLERANCE) * minutes)
        & (day_min <= (MOST_SHARE + TOLERANCE) * minutes)
    )


def _nearest_cycle(
    minutes: np.ndarray,
    cycles: np.ndarray,
    longest_min: np.ndarray,
    minute_step: np.ndarray,
) -> np.ndarray:
    """Whole-step cycle nearest to its share, not under 0.95 of it, nor too long."""
    steps = minutes / (cycles * minute_step)
    whole = np.floor(steps + 0.5)
    whole = np.maximum(whole, ceil_(LEAST_SHARE * steps))
    whole = np.minimum(whole, floor_(longest_min / minute_step))
    return np.asarray(whole * minute_step)


def soak_minutes(soak_to_go_in_min: np.ndarray, shortest_min: np.ndarray) -> np.ndarray:
    """Soak as it is keyed: whole fives, and at least the shortest."""
    fives = ceil_(soak_to_go_in_min / SOAK_STEP_MIN) * SOAK_STEP_MIN
    return np.maximum(fives, shortest_min)
