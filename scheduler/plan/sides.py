"""Sides of midnight on which a program may start, by the windows of its zones."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from scheduler.plan.needs import CardNeeds
from scheduler.plan.patterns import Days, Pattern
from scheduler.plan.starts import Side
from scheduler.plan.windows import DAY_MIN, clock_minutes

NO_SIDE = Side(0, 0, -1)


def sides_of(
    needs: CardNeeds, pattern: Pattern, zones: Sequence[int], months: Sequence[int]
) -> tuple[Side, ...]:
    """Sides on which zones may water on a pattern's dates, in all the months.

    After midnight comes first: it is calm then, and leaves dry soonest. A program that
    runs daily may have starts on both sides; one side of them comes last.
    """
    found: tuple[Side, ...] | None = None
    for window in sorted({int(w) for w in needs.window[np.ix_(zones, months)].flat}):
        mine = _sides_of_window(needs, pattern, window, zones, months)
        found = mine if found is None else _both(found, mine)
    return tuple(side for side in found or () if side.closes_min > side.opens_min)


def _sides_of_window(
    needs: CardNeeds,
    pattern: Pattern,
    row: int,
    zones: Sequence[int],
    months: Sequence[int],
) -> tuple[Side, ...]:
    """Small hours, evening and the whole night, in this order; empty ones too."""
    if row < 0 or not pattern.permitted(needs.windows[row]):
        return (NO_SIDE,) * 3
    window = needs.windows[row]
    here = [m for m in months if np.any(needs.window[list(zones), m] == row)]
    opens = clock_minutes(window.opens)
    closes = int(needs.closes_min[row, here].min())
    if window.closes != "sunrise" and opens < closes or closes >= opens:
        day = Side(opens, closes, DAY_MIN - 1)
        return day, day, day
    small = Side(0, closes, closes)
    evening = Side(opens, DAY_MIN, DAY_MIN - 1)
    if not _runs_on(needs, pattern, row, zones, here):
        return small, evening, NO_SIDE
    over = DAY_MIN + closes
    night = Side(opens, over, over) if pattern.daily else NO_SIDE
    return small, Side(opens, over, DAY_MIN - 1), night


def _runs_on(
    needs: CardNeeds,
    pattern: Pattern,
    row: int,
    zones: Sequence[int],
    months: Sequence[int],
) -> bool:
    """Whether the date after each of the pattern's is permitted by the same window."""
    window = needs.windows[row]
    if window.parity:
        return False
    permitted = {day for day in range(7)
                 if Pattern(1 << day, "", 0, 1.0, 7, 1).permitted(window)}  # fmt: skip
    after = {(day + 1) % 7 for day in range(7) if pattern.weekdays >> day & 1}
    if not after <= permitted:
        return False
    for month in months:
        for zone in zones:
            if needs.window[zone, month] == row != needs.window[zone, (month + 1) % 12]:
                return False
    return True


def _both(some: tuple[Side, ...], others: tuple[Side, ...]) -> tuple[Side, ...]:
    return tuple(
        Side(
            max(a.opens_min, b.opens_min),
            min(a.closes_min, b.closes_min),
            min(a.last_start_min, b.last_start_min),
        )
        for a in some
        for b in dict.fromkeys(others)
    )


def choices_of(
    needs: CardNeeds, days: Days, zones: Sequence[int], months: Sequence[int]
) -> tuple[tuple[Pattern, tuple[Side, ...]], ...]:
    """Patterns of the same days, each with the sides that zones may water on."""
    found = []
    for pattern in days.alike:
        sides = tuple(dict.fromkeys(sides_of(needs, pattern, zones, months)))
        if sides:
            found.append((pattern, sides))
    return tuple(found)


def longest_side_min(
    needs: CardNeeds, days: Days, zone: int, months: Sequence[int]
) -> int:
    """Most minutes that a zone may take from the first start to the last end."""
    sides = sides_of(needs, days.first, (zone,), months)
    return max((side.closes_min - side.opens_min for side in sides), default=0)
