"""Sides of midnight on which a program may start, by the windows of its zones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from scheduler.calendar import DAY_MIN, DAYS_IN_YEAR, WEEK, weekday_bits, weekday_rows
from scheduler.inputs.site import Window
from scheduler.plan.card.needs import CardNeeds
from scheduler.plan.times.patterns import AlikePatterns, Pattern
from scheduler.plan.times.windows import clock_minutes, crosses_midnight

MIDDAY_MIN = 10 * 60, 18 * 60
"""Nothing runs between them where other hours have room: heat and wind take too much,
and people are about (common practice)."""


@dataclass(frozen=True, slots=True)
class Side:
    """Time in which all starts of a program lie: minutes from midnight of its dates.

    A run may end after midnight (`closes_min` over 1440) where the next date is
    permitted; `last_start_min` keeps the starts themselves on one side of midnight.
    """

    opens_min: int
    closes_min: int
    last_start_min: int

    @property
    def calm(self) -> bool:
        """Whether it holds nothing of midday, of its own date or the next."""
        begin, end = MIDDAY_MIN
        after = DAY_MIN if self.opens_min >= end else 0
        return self.closes_min <= begin + after

    def begun_calm(self) -> Side:
        """The same, its starts before midday or after it; runs may reach into it."""
        begin, end = MIDDAY_MIN
        if self.opens_min < begin:
            return replace(self, last_start_min=min(self.last_start_min, begin - 1))
        return replace(self, opens_min=max(self.opens_min, end))


Sides = tuple[Side, ...]
"""Sides that the starts of one program share out between them, in their order."""
Choices = tuple[tuple[Pattern, tuple[Sides, ...]], ...]

NO_SIDE = Side(0, 0, -1)

Use = frozenset[tuple[int, int, int]]
"""Windows that zones are under: month, row of its window, row in the month after."""


def use_of(
    needs: CardNeeds, zones: Sequence[int] | np.ndarray, months: Sequence[int]
) -> Use:
    """Windows that zones are under in some months."""
    return frozenset(
        (month, row, after)
        for month in months
        for row, after in set(
            zip(
                needs.window[zones, month].tolist(),
                needs.window[zones, (month + 1) % 12].tolist(),
                strict=True,
            )
        )
    )


def sides_of(needs: CardNeeds, pattern: Pattern, use: Use) -> tuple[Side, ...]:
    """Sides on which a program may water on a pattern's dates.

    After midnight comes first: it is calm then, and leaves dry soonest. A program that
    runs daily may have starts on both sides of midnight; the whole night comes last.
    """
    key = pattern, use
    if key not in needs.sides_known:
        found: tuple[Side, ...] | None = None
        for row in sorted({row for _, row, _ in use}):
            mine = _sides_of_window(needs, pattern, row, use)
            found = mine if found is None else _both(found, mine)
        calm = (_but_midday(side) for side in found or ())
        sides = (side for side in (*calm, *(found or ()))
                 if side.closes_min > side.opens_min)  # fmt: skip
        needs.sides_known[key] = tuple(dict.fromkeys(sides))
    return needs.sides_known[key]


def _sides_of_window(
    needs: CardNeeds, pattern: Pattern, row: int, use: Use
) -> tuple[Side, ...]:
    """Small hours, evening and the whole night, in this order; empty ones too."""
    if row < 0 or not pattern.permitted(needs.windows[row]):
        return (NO_SIDE,) * 3
    window = needs.windows[row]
    opens = clock_minutes(window.opens)
    months = [month for month, own, _ in use if own == row]
    closes = needs.closes_min[row].tolist()
    nexts = [(month + 1) % 12 for month in months]
    by_day = [closes[m] for m in months if not crosses_midnight(window, closes[m])]
    if by_day:
        # Where the sun is up before a morning window opens, it has no hours. With a
        # time zone far from the sun's, sunrise may pass the opening within the year.
        closes = max(opens, min(by_day))
        day = Side(opens, closes, DAY_MIN - 1)
        return day, Side(max(opens, MIDDAY_MIN[1]), closes, DAY_MIN - 1), day
    first_close = min(closes[month] for month in months)
    small = Side(0, first_close, first_close)
    evening = Side(opens, DAY_MIN, DAY_MIN - 1)
    # The last night of a month ends in the next.
    same_after = all(after == row for _, own, after in use if own == row)
    over_midnight = all(crosses_midnight(window, closes[month]) for month in nexts)
    if not (same_after and over_midnight and _next_permitted(window, pattern)):
        return small, evening, NO_SIDE
    over = DAY_MIN + min(first_close, *(closes[month] for month in nexts))
    night = Side(opens, over, over) if pattern.daily else NO_SIDE
    return small, Side(opens, over, DAY_MIN - 1), night


def _but_midday(side: Side) -> Side:
    """A side cut short where midday begins, or from where it ends."""
    if side.opens_min < MIDDAY_MIN[0]:
        closes = min(side.closes_min, MIDDAY_MIN[0])
        return replace(side, closes_min=closes)
    return replace(side, opens_min=max(side.opens_min, MIDDAY_MIN[1]))


def _next_permitted(window: Window, pattern: Pattern) -> bool:
    """Whether the date after each of the pattern's is permitted by a window."""
    after = {(row + 1) % WEEK for row in weekday_rows(pattern.weekdays)}
    permitted = set(weekday_rows(weekday_bits(window.weekdays)))
    return not window.parity and after <= permitted


def _both(some: tuple[Side, ...], others: tuple[Side, ...]) -> tuple[Side, ...]:
    return tuple(
        Side(
            max(a.opens_min, b.opens_min),
            min(a.closes_min, b.closes_min),
            min(a.last_start_min, b.last_start_min),
        )
        for a in some
        for b in others
    )


def choices_of(needs: CardNeeds, days: AlikePatterns, use: Use) -> Choices:
    """Patterns of the same days, each with the sides that a program may water on.

    Where none of them holds all its starts, small hours and evening share them.
    """
    found = ((pattern, sides_of(needs, pattern, use)) for pattern in days.alike)
    return tuple((pattern, _ways(sides)) for pattern, sides in found if sides)


def open_min(needs: CardNeeds) -> np.ndarray:
    """Permitted minutes of a mean month, (window, month)."""
    found = np.zeros(needs.closes_min.shape)
    for row, window in enumerate(needs.windows):
        opens = clock_minutes(window.opens)
        for month, closes in enumerate(needs.closes_min[row].tolist()):
            over = DAY_MIN if crosses_midnight(window, closes) else 0
            found[row, month] = max(closes + over - opens, 0)
        days = DAYS_IN_YEAR / 12 * len(window.weekdays) / WEEK
        found[row] *= days / 2 if window.parity else days
    return found


def longest_min(needs: CardNeeds, pattern: Pattern, use: Use, starts: int) -> int:
    """Most minutes from a zone's first start to its last end, soak included.

    More starts than one may share small hours and evening.
    """
    found = 0
    for way in _ways(sides_of(needs, pattern, use)):
        lengths = [side.closes_min - side.opens_min for side in way]
        if len(lengths) == 1:
            found = max(found, *lengths)
        elif starts >= len(lengths):
            # A start stands on one side; with one on each the shorter side binds.
            both = starts == len(lengths)
            found = max(found, starts * min(lengths) if both else sum(lengths))
    return found


def _ways(sides: tuple[Side, ...]) -> tuple[Sides, ...]:
    """Each side alone, then two that follow one another on a date."""
    pairs = [
        (one, other)
        for one in sides
        for other in sides
        if one.closes_min <= other.opens_min
    ]
    return tuple((side,) for side in sides) + tuple(pairs)
