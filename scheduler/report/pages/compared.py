"""Before and after on the owner's page: the site's year, and the largest changes."""

from __future__ import annotations

import numpy as np

from scheduler.budget.compare import Compared, Side
from scheduler.report.shown import money
from scheduler.report.words.pages import compared as words

ZONES_TOLD = 3
LEAST_SHARE = 0.01
"""A zone whose water changes by less than this share of the site's is not told."""

_SAME_WEATHER = 0.005


def before_and_after(found: Compared, units: str) -> list[str]:
    """A site beside what it was, a sentence each: the year, zones, what to mind."""
    before, now = found.before, found.now
    largest = found.largest_changes(ZONES_TOLD, LEAST_SHARE)
    told = [_year(before, now, units)]
    told += [_zone(found, pair, units) for pair in largest] or [words.NO_CHANGE]
    for side, rows in ((before, found.only_before), (now, found.only_now)):
        if rows:
            names, water = side.plan.site.zones.name, side.year.volume_l.sum(axis=1)
            of_zones = [(names[row], float(water[row])) for row in rows]
            told.append(words.only(of_zones, side is now, units))
    if (before.plan.settings is None) != (now.plan.settings is None):
        told.append(words.OTHER_METHOD)
    if not _same_weather(before, now):
        told.append(words.OTHER_CLIMATE)
    return told


def _year(before: Side, now: Side, units: str) -> str:
    """Of what both know; money only in one currency."""
    more = float(now.year.volume_l.sum() - before.year.volume_l.sum())
    dearer, costs_more, currency = "", False, now.plan.site.water.currency
    same = currency == before.plan.site.water.currency
    if before.cost is not None and now.cost is not None and same:
        change = now.cost - before.cost
        dearer = money(abs(change), currency) if change else ""
        costs_more = change > 0
    days, was, then = None, before.year.mean_dry_days, now.year.mean_dry_days
    if was is not None and then is not None:
        days = (round(was), round(then))
    return words.year(more, dearer, costs_more, days, units)


def _zone(found: Compared, pair: tuple[int, int], units: str) -> str:
    before, now = found.before, found.now
    was, name = before.plan.site.zones.name[pair[0]], now.plan.site.zones.name[pair[1]]
    more = float(found.more_l[found.pairs.index(pair)])
    days = None
    if before.year.dry_days is not None and now.year.dry_days is not None:
        days = (round(float(before.year.dry_days[pair[0]])),
                round(float(now.year.dry_days[pair[1]])))  # fmt: skip
    return words.zone(name, was if was != name else "", more, days, units)


def _same_weather(before: Side, now: Side) -> bool:
    a, b = before.plan.months, now.plan.months
    pairs = ((a.et0_mm_day, b.et0_mm_day), (a.rain_mm, b.rain_mm))
    return all(
        np.allclose(x, y, rtol=_SAME_WEATHER, atol=_SAME_WEATHER, equal_nan=True)
        for x, y in pairs
    )
