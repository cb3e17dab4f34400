"""Water that no card can go below: each zone alone in programs of its own."""

from __future__ import annotations

import numpy as np

from scheduler.plan.card.needs import CardNeeds
from scheduler.plan.card.programs import StretchSearch
from scheduler.plan.card.stretches import ALL_YEAR, STRETCHES, YEAR, cheapest_splits
from scheduler.rounding import ceil_


def least_water_l(needs: CardNeeds) -> tuple[float, ...]:
    """Least water a year with 1, 2, … 12 visits, in liters.

    A zone gets all its need over the year. And it gets no less than its share of each
    month, in whole steps of run time, with one number of starts and one set of days
    through a stretch, which are split by dynamic programming for each zone apart. The
    larger of the two bounds a zone, their sum the site. Left out is what programs,
    hours and coarse percents cost; so a card above the bound may still be the best.
    """
    need = needs.need_steps.sum(axis=1)
    stretches = _by_stretch(needs)
    total = np.zeros(YEAR)
    for zone in np.nonzero(need > 0)[0].tolist():
        cost = {months: float(steps[zone]) for months, steps in stretches.items()
                if np.isfinite(steps[zone])}  # fmt: skip
        if cost.get(ALL_YEAR, np.inf) <= need[zone]:
            total += need[zone] * needs.step_l[zone]
            continue
        splits = cheapest_splits(cost)
        least = np.inf
        for count, split in enumerate(splits):
            if split is not None:
                least = min(least, sum(cost[months] for months in split))
            bound = max(least, need[zone]) if np.isfinite(least) else need[zone]
            total[count] += bound * needs.step_l[zone]
    return tuple(total.tolist())


def _by_stretch(needs: CardNeeds) -> dict[tuple[int, ...], np.ndarray]:
    """Least steps of run time of each zone in each stretch; inf where impossible."""
    known: dict[tuple[int, ...], np.ndarray] = {}
    found = {}
    wanted = np.any(needs.need_steps > 0, axis=0).tolist()
    percents = needs.controller.percent_by != "none"
    for months in STRETCHES:
        own = tuple(m for m in months if wanted[m]) if percents else months
        key = tuple(sorted(own))
        if key not in known:
            known[key] = _of_stretch(needs, key)
        found[months] = known[key]
    return found


def _of_stretch(needs: CardNeeds, months: tuple[int, ...]) -> np.ndarray:
    search = StretchSearch(needs, months)
    least = np.zeros(len(needs.zones))
    if not search.active.size:
        return least
    options = search.options(int(needs.controller.starts * needs.controller.programs))
    share = 1 - needs.controller.shortfall_percent / 100
    need = search.need[:, None, :]
    starts = options.starts_in_month[None]
    runs = ceil_(share * need / starts)
    if needs.controller.percent_by == "none":
        runs = np.broadcast_to(runs.max(axis=2, keepdims=True), runs.shape)
        clash = search.never.any(axis=1)[:, None]
    else:
        clash = np.zeros((1, 1), dtype=bool)
    steps = np.where(options.allowed & ~clash, (runs * starts).sum(axis=2), np.inf)
    least[search.active] = steps.min(axis=1, initial=np.inf)
    return least
