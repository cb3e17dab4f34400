"""Splits of the year into stretches of months between two visits to the controller."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from scheduler.plan.card.prices import Prices
from scheduler.plan.card.programs import StretchSearch

YEAR = 12


def _arc(first: int, length: int) -> tuple[int, ...]:
    return tuple((first + step) % YEAR for step in range(length))


ALL_YEAR = _arc(0, YEAR)
STRETCHES = (
    *(_arc(first, length) for length in range(1, YEAR) for first in range(YEAR)),
    ALL_YEAR,
)
"""The 133 stretches of the circular year, as rows of months (January 0): 12 of each
length from 1 to 11 months, and the whole year."""


def cheapest_splits(
    cost: Mapping[tuple[int, ...], float],
) -> tuple[tuple[tuple[int, ...], ...] | None, ...]:
    """Cheapest split of the year into 1, 2, … 12 stretches; None where there is none.

    `cost` holds the stretches that are possible. A split is exact: for each month
    that a first stretch may begin with, the year is laid out from there and the best
    ends follow by dynamic programming. Among equals the earliest first month, then
    the shortest last stretch.
    """
    best: list[tuple[float, tuple[tuple[int, ...], ...]] | None] = [None] * (YEAR + 1)
    if ALL_YEAR in cost:
        best[1] = cost[ALL_YEAR], (ALL_YEAR,)
    for first in range(YEAR):
        for count, found in enumerate(_splits_from(first, cost)):
            known = best[count]
            if (
                count > 1
                and found
                and (known is None or found[0] < known[0] - 1e-9 * abs(known[0]))
            ):
                best[count] = found
    return tuple(None if found is None else found[1] for found in best[1:])


def without_idle_visits(
    split: Sequence[tuple[int, ...]], cost: Mapping[tuple[int, ...], float]
) -> tuple[tuple[int, ...], ...]:
    """A split with months in which nothing runs joined to the stretch before them.

    So nobody comes by only to switch off, nor to key in what is off at first, where the
    stretches cost no more for it.
    """
    kept = list(split)
    for row in range(len(kept)):
        while len(kept) > 1 and len(kept[row]) > 1:
            first, rest = kept[row][:1], kept[row][1:]
            longer = kept[row - 1] + first
            before = cost[kept[row]] + cost[kept[row - 1]]
            if cost[first] or cost[rest] + cost[longer] > before * (1 + 1e-9):
                break
            kept[row], kept[row - 1] = rest, longer
    row = 0
    while len(kept) > 1 and row < len(kept):
        after = (row + 1) % len(kept)
        joined = kept[row] + kept[after]
        one, other = cost[kept[row]], cost[kept[after]]
        idle = min(one, other) == 0
        if idle and cost.get(joined, math.inf) <= max(one, other) * (1 + 1e-9):
            kept[row] = joined
            del kept[after]
            row = 0
        else:
            row += 1
    return tuple(kept)


def _splits_from(
    first: int, cost: Mapping[tuple[int, ...], float]
) -> list[tuple[float, tuple[tuple[int, ...], ...]] | None]:
    """Cheapest split by number of stretches, one of which begins with `first`."""
    ends: list[list[tuple[float, tuple[tuple[int, ...], ...]] | None]]
    ends = [[None] * (YEAR + 1) for _ in range(YEAR + 1)]
    ends[0][0] = 0.0, ()
    for end in range(1, YEAR + 1):
        for begin in range(end - 1, -1, -1):
            months = _arc((first + begin) % YEAR, end - begin)
            if months not in cost:
                continue
            for count in range(YEAR):
                before = ends[begin][count]
                if before is None:
                    continue
                total = before[0] + cost[months]
                known = ends[end][count + 1]
                if known is None or total < known[0]:
                    ends[end][count + 1] = total, (*before[1], months)
    return ends[YEAR]


def least_costs(prices: Prices) -> tuple[float, ...]:
    """Least cost of a year with 1, 2, … 12 visits, in liters.

    Through a stretch each zone keeps to one number of starts and one set of days, and
    runs best in every month of it, as if it had percents of its own; the stretches are
    split by dynamic programming for each zone apart. Left out is what programs, hours
    and coarse percents cost; so a card above the bound may still be the best.
    """
    stretches = {months: _of_stretch(prices, months) for months in STRETCHES}
    total = np.zeros(YEAR)
    for zone in range(len(prices.needs.zones)):
        cost = {months: float(least[zone]) for months, least in stretches.items()}
        least = np.inf
        for count, split in enumerate(cheapest_splits(cost)):
            if split is not None:
                least = min(least, sum(cost[months] for months in split))
            total[count] += least
    return tuple(total.tolist())


def _of_stretch(prices: Prices, months: tuple[int, ...]) -> np.ndarray:
    """Least cost of each zone in a stretch, (zone,)."""
    free = prices.least[:, :, list(months)].sum(axis=2).min(axis=1, initial=np.inf)
    return np.minimum(free, StretchSearch(prices, months).no_program)
