"""What no card can go below: each zone alone, in programs of its own."""

from __future__ import annotations

import numpy as np

from scheduler.plan.card.prices import Prices
from scheduler.plan.card.programs import StretchSearch
from scheduler.plan.card.stretches import STRETCHES, YEAR, cheapest_splits


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
