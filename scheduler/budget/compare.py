"""A site beside what it was before: zone by zone, what a year takes."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np

from scheduler.budget.cost import cost_of_year
from scheduler.budget.water import YearOfWater, as_keyed_in, year_of_water
from scheduler.inputs.site import Zones
from scheduler.plan.card.plan import Card
from scheduler.plan.site import SitePlan


@dataclass(frozen=True, slots=True, eq=False)
class Side:
    """A planned site and its year; `cost` is None without a price."""

    plan: SitePlan
    year: YearOfWater
    cost: Decimal | None


@dataclass(frozen=True, slots=True, eq=False)
class Compared:
    """Two sites; `pairs` are rows of zones, before and now, in the order of now.

    `only_before` and `only_now` are rows of zones that have no other.
    """

    before: Side
    now: Side
    pairs: tuple[tuple[int, int], ...]
    only_before: tuple[int, ...]
    only_now: tuple[int, ...]

    @property
    def more_l(self) -> np.ndarray:
        """Water of a year that each pair takes more now, (pair,)."""
        was, now = (side.year.volume_l.sum(axis=1) for side in (self.before, self.now))
        return np.array([now[b] - was[a] for a, b in self.pairs])

    def largest_changes(self, count: int, least_share: float) -> list[tuple[int, int]]:
        """Pairs whose water changes most, each by a share of the site's before."""
        more = np.abs(self.more_l)
        least = least_share * float(self.before.year.volume_l.sum())
        order = np.argsort(-more, kind="stable")[:count]
        return [self.pairs[row] for row in order.tolist() if more[row] > least]


def compare_sites(before: SitePlan, now: SitePlan) -> Compared:
    """What changed from one site to another, zones matched by name, then number."""
    pairs = matched_zones(before.site.zones, now.site.zones)
    old, new = {a for a, _ in pairs}, {b for _, b in pairs}
    return Compared(
        _side(before),
        _side(now),
        pairs,
        tuple(row for row in range(len(before.site.zones)) if row not in old),
        tuple(row for row in range(len(now.site.zones)) if row not in new),
    )


def compared_as_keyed_in(found: Compared, before: Card, now: Card) -> Compared:
    """Two sites by what their cards water, in place of their tables."""
    return replace(
        found,
        before=_side_as_keyed_in(found.before, before),
        now=_side_as_keyed_in(found.now, now),
    )


def _side_as_keyed_in(side: Side, card: Card) -> Side:
    year = as_keyed_in(side.year, side.plan, card)
    cost = cost_of_year(year.volume_l.sum(axis=0), side.plan.site.water)
    return Side(side.plan, year, cost)


def matched_zones(before: Zones, now: Zones) -> tuple[tuple[int, int], ...]:
    """Rows of zones that are one, before and now.

    Where a name stands once on either side it finds its zone, whatever its number;
    of the others the number does.
    """
    names = [[" ".join(name.lower().split()) for name in zones.name]
             for zones in (before, now)]  # fmt: skip
    counts = [Counter(own) for own in names]
    once = {name for name in names[0] if all(count[name] == 1 for count in counts)}
    found = {names[1].index(name): names[0].index(name) for name in once}
    taken = set(found.values())
    for row, zone in enumerate(now.zone):
        if row not in found and zone in before.zone:
            other = before.zone.index(zone)
            if other not in taken:
                found[row] = other
    return tuple((found[row], row) for row in sorted(found))


def _side(plan: SitePlan) -> Side:
    year = year_of_water(plan)
    return Side(plan, year, cost_of_year(year.volume_l.sum(axis=0), plan.site.water))
