"""Start times: blocks of runs laid on the clock so that no two overlap."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scheduler.plan.patterns import Pattern
from scheduler.plan.windows import DAY_MIN

CLOCK_STEPS = (5, 1)
"""Start times fall on whole fives where that fits, else on any minute."""
_MOST_TRIES = 400


@dataclass(frozen=True, slots=True)
class Side:
    """Time in which all starts of a program lie: minutes from midnight of its dates.

    A run may end after midnight (`closes_min` over 1440) where the next date is
    permitted; `last_start_min` keeps the starts themselves on one side of midnight.
    """

    opens_min: int
    closes_min: int
    last_start_min: int


@dataclass(frozen=True, slots=True)
class Blocks:
    """A program to place: so many starts, each a block of runs on end.

    `apart_min` is the least time from start to start, `choices` the patterns it may
    take, each with the sides that it may water on.
    """

    starts: int
    minutes: int
    apart_min: int
    choices: tuple[tuple[Pattern, tuple[Side, ...]], ...]


@dataclass(frozen=True, slots=True)
class Placed:
    """Days and start times of a program, in minutes from midnight of its dates."""

    pattern: Pattern
    starts_min: tuple[int, ...]
    minutes: int


def place(programs: Sequence[Blocks]) -> tuple[Placed, ...] | None:
    """Days and start times of all programs; None where no place was found.

    Programs are placed one after another, each start as early as the ones before
    leave it; other orders, days and sides of midnight are tried in turn, up to a
    limit, so a place that exists may be missed but none that is found is wrong.
    """
    for clock_step in CLOCK_STEPS:
        for order in _orders(programs):
            tries = itertools.count()
            placed = _place_next(programs, order, {}, clock_step, tries)
            if placed is not None:
                return tuple(placed[row] for row in range(len(programs)))
    return None


def _orders(programs: Sequence[Blocks]) -> Iterator[tuple[int, ...]]:
    rows = range(len(programs))

    def span(row: int) -> int:
        program = programs[row]
        return (program.starts - 1) * program.apart_min + program.minutes

    seen = set()
    for key in (
        span,
        lambda row: programs[row].starts * programs[row].minutes,
        lambda row: len(programs[row].choices),
        lambda row: -span(row),
    ):
        order = tuple(sorted(rows, key=key, reverse=True))
        if order not in seen:
            seen.add(order)
            yield order


def _place_next(
    programs: Sequence[Blocks],
    order: Sequence[int],
    placed: dict[int, Placed],
    clock_step: int,
    tries: itertools.count[int],
) -> dict[int, Placed] | None:
    if len(placed) == len(order):
        return placed
    row = order[len(placed)]
    program = programs[row]
    for pattern, sides in program.choices:
        for side in sides:
            if next(tries) > _MOST_TRIES:
                return None
            busy = _busy(pattern, placed.values())
            starts = _earliest(program, side, busy, clock_step)
            if starts is None:
                continue
            here = {**placed, row: Placed(pattern, starts, program.minutes)}
            found = _place_next(programs, order, here, clock_step, tries)
            if found is not None:
                return found
    return None


def _busy(pattern: Pattern, placed: Iterator[Placed] | object) -> list[tuple[int, int]]:
    """Times of a pattern's dates at which other programs may be running."""
    busy = []
    for other in placed:  # type: ignore[attr-defined]
        for days in (-1, 0, 1):
            # The other program's date is so many days after the pattern's own.
            meets = (
                other.pattern.shares_dates(pattern, 1)
                if days == -1
                else pattern.shares_dates(other.pattern, days)
            )
            if meets:
                for start in other.starts_min:
                    begin = start + days * DAY_MIN
                    busy.append((begin, begin + other.minutes))
    return sorted(busy)


def _earliest(
    program: Blocks, side: Side, busy: Sequence[tuple[int, int]], clock_step: int
) -> tuple[int, ...] | None:
    """Earliest start times on a side that keep clear of what is busy."""
    starts: list[int] = []
    after = side.opens_min
    for _ in range(program.starts):
        start = _free_from(after, program.minutes, busy, clock_step)
        if start + program.minutes > side.closes_min or start > side.last_start_min:
            return None
        starts.append(start)
        after = start + program.apart_min
    return tuple(starts)


def _free_from(
    after: int, minutes: int, busy: Sequence[tuple[int, int]], clock_step: int
) -> int:
    start = math.ceil(after / clock_step) * clock_step
    for begin, end in busy:
        if begin < start + minutes and start < end:
            start = math.ceil(end / clock_step) * clock_step
    return start
