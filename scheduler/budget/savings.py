"""What one step would save in a year, each found by planning with it."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

import numpy as np

from scheduler.budget.cost import Bill, bills_of_year, charges_of_zones, cost_of_year
from scheduler.budget.water import YearOfWater, year_of_water
from scheduler.calendar import WEEKDAYS
from scheduler.inputs.library import head_kinds
from scheduler.inputs.site import Site
from scheduler.plan.by_months import PlanInput, plan_zones
from scheduler.plan.site import SitePlan, plan_site
from scheduler.rates.uniformity import run_time_multiplier

SEASON_SHARE = 0.90
SEASON_MONTHS = 3
"""A season's percent: a tenth less in the three months that take the most."""

LEAST_SAVED_L = 0.5
"""A step that saves less in a year is none."""

NO_FROST, FROST = 0, 1
THRIFTIER = {
    "cool-season turf": ("warm-season turf", "ornamental grasses"),
    "cool-season turf california": ("warm-season turf california",) * 2,
    "cool-season turf fao56": ("warm-season turf fao56", "ornamental grasses"),
    "warm-season turf": ("groundcover low water",) * 2,
    "warm-season turf california": ("groundcover low water",) * 2,
    "warm-season turf fao56": ("groundcover low water",) * 2,
    "annual flowers": ("perennials moderate water",) * 2,
    "perennials high water": ("perennials moderate water",) * 2,
    "perennials moderate water": ("perennials low water",) * 2,
    "groundcover high water": ("groundcover moderate water",) * 2,
    "groundcover moderate water": ("groundcover low water",) * 2,
    "shrubs high water": ("shrubs moderate water",) * 2,
    "shrubs moderate water": ("shrubs low water",) * 2,
    "mixed shrubs and perennials": ("shrubs low water",) * 2,
    "hedges": ("shrubs low water",) * 2,
    "roses": ("shrubs moderate water",) * 2,
}
"""A plant of less need in place of another, without and with months of frost; no
tree, and nothing that is grown to be eaten (common practice)."""


@dataclass(frozen=True, slots=True, eq=False)
class Saving:
    """One step, the water and money it saves a year, and the months after it.

    `zone` is a row of zones, None for the site; `saves_cost` is None without a price.
    """

    code: str
    zone: int | None
    saves_l: float
    month_l: np.ndarray
    saves_cost: Decimal | None
    values: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, eq=False)
class Budget:
    """A site's water budget.

    `bills` and `today_bills` are empty without a price, `charges` (zone, month) too;
    `today_bills` without a current.csv as well. `savings` begin with the largest.
    """

    plan: SitePlan
    year: YearOfWater
    bills: tuple[Bill, ...]
    charges: tuple[tuple[Decimal, ...], ...]
    today_bills: tuple[Bill, ...]
    savings: tuple[Saving, ...]

    @property
    def cost(self) -> Decimal | None:
        """What the plan's water costs in a year; None without a price."""
        return _total(self.bills)

    @property
    def today_cost(self) -> Decimal | None:
        """What today's water costs in a year; None without a price or today."""
        return _total(self.today_bills)


def _total(bills: tuple[Bill, ...]) -> Decimal | None:
    return sum((bill.cost for bill in bills), Decimal(0)) if bills else None


def budget_site(plan: SitePlan) -> Budget:
    """Water budget of a planned site."""
    year, water = year_of_water(plan), plan.site.water
    bills = bills_of_year(year.volume_l.sum(axis=0), water)
    today: tuple[Bill, ...] = ()
    if year.today_l is not None:
        today = bills_of_year(year.today_l.sum(axis=0), water)
    charges = charges_of_zones(year.volume_l, bills) if bills else ()
    return Budget(plan, year, bills, charges, today, find_savings(plan))


def find_savings(plan: SitePlan) -> tuple[Saving, ...]:
    """Steps that save water, the largest saving first."""
    found = (
        *_uniformity(plan),
        *_matched_heads(plan),
        *_plants(plan),
        *_season(plan),
        *_days(plan),
    )
    return tuple(sorted(found, key=lambda saving: -saving.saves_l))


def _saving(
    plan: SitePlan, code: str, zone: int | None, after_l: np.ndarray, **values: Any
) -> Iterator[Saving]:
    """A step whose re-planned water is (zone, month); nothing where it saves none."""
    now_l = plan.plan.volume_l
    if zone is not None:
        kept = now_l.copy()
        kept[zone] = after_l[zone]
        after_l = kept
    month_l = after_l.sum(axis=0)
    saves_l = float((now_l - after_l).sum())
    if saves_l < LEAST_SAVED_L:
        return
    water = plan.site.water
    now = cost_of_year(now_l.sum(axis=0), water)
    after = cost_of_year(month_l, water)
    saves_cost = None if now is None or after is None else now - after
    yield Saving(code, zone, saves_l, month_l, saves_cost, values)


def _volume_with(inputs: PlanInput, **changes: Any) -> np.ndarray:
    return plan_zones(dataclasses.replace(inputs, **changes)).volume_l


def _uniformity(plan: SitePlan) -> Iterator[Saving]:
    """Each zone in good order; one whose heads are not matched comes first to that."""
    now = plan.rates.uniformity
    usual = head_kinds().reachable_uniformity[plan.site.zones.head_kind]
    then = np.maximum(now, np.fmin(usual, plan.rates.held_uniformity))
    after = _volume_with(plan.inputs, run_time_multiplier=run_time_multiplier(then))
    for row, source in enumerate(plan.rates.uniformity_source):
        if then[row] > now[row] and source != "head imbalance":
            yield from _saving(plan, "uniformity", row, after,
                               now=float(now[row]), then=float(then[row]))  # fmt: skip


def _matched_heads(plan: SitePlan) -> Iterator[Saving]:
    now, then = plan.rates.uniformity, plan.rates.usual_uniformity
    after = _volume_with(plan.inputs, run_time_multiplier=run_time_multiplier(then))
    for row, source in enumerate(plan.rates.uniformity_source):
        if source == "head imbalance":
            yield from _saving(plan, "matched-heads", row, after,
                               now=float(now[row]), then=float(then[row]))  # fmt: skip


def _plants(plan: SitePlan) -> Iterator[Saving]:
    site = plan.site
    names = site.plants.names
    climate = FROST if plan.months.frost.any() else NO_FROST
    plant = site.zones.plant.copy()
    for row, now in enumerate(site.zones.plant.tolist()):
        other = THRIFTIER.get(names[now], ("", ""))[climate]
        if other in names and np.isnan(site.zones.plant_factor[row]):
            plant[row] = names.index(other)
    zones = dataclasses.replace(site.zones, plant=plant)
    after = _planned(site, zones=zones)
    for row in np.flatnonzero(plant != site.zones.plant).tolist():
        yield from _saving(plan, "plant", row, after,
                           now=names[site.zones.plant[row]],
                           then=names[plant[row]])  # fmt: skip


def _season(plan: SitePlan) -> Iterator[Saving]:
    """A tenth less in the three months in a row that take the most."""
    now = plan.plan.volume_l
    by_month = now.sum(axis=0)
    of_three = sum(np.roll(by_month, -k) for k in range(SEASON_MONTHS))
    season = (int(np.argmax(of_three)) + np.arange(SEASON_MONTHS)) % 12
    multiplier = plan.inputs.run_time_multiplier * SEASON_SHARE
    after = now.copy()
    less = _volume_with(plan.inputs, run_time_multiplier=multiplier)
    after[:, season] = less[:, season]
    months = [month + 1 for month in season.tolist()]
    yield from _saving(plan, "season", None, after, months=months)


def _days(plan: SitePlan) -> Iterator[Saving]:
    """The same hours on any day of the week."""
    site = plan.site
    windows = tuple(
        dataclasses.replace(
            window, weekdays=WEEKDAYS, parity="", most_days_a_week=len(WEEKDAYS)
        )
        for window in site.windows
    )
    if windows != site.windows:
        yield from _saving(plan, "days", None, _planned(site, windows=windows))


def _planned(site: Site, **changes: Any) -> np.ndarray:
    return plan_site(dataclasses.replace(site, **changes)).plan.volume_l
