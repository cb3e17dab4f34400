"""What one step would save in a year, each found by planning with it."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

import numpy as np

from scheduler.budget.cost import (
    Bill,
    bills_of_year,
    charges_of_zones,
    cost_of_year,
    total_cost,
)
from scheduler.budget.parts import shared_valves
from scheduler.budget.rain_rules import USUAL_SETTING_MM, planned_saving_l
from scheduler.budget.water import (
    YearOfWater,
    as_keyed_in,
    days_a_year,
    year_of_water,
)
from scheduler.calendar import ALL_DATES, WEEKDAYS
from scheduler.inputs.library import head_kinds
from scheduler.inputs.site import Water
from scheduler.plan.card.plan import Card
from scheduler.plan.inputs import PlanInput, of_valves, stack
from scheduler.plan.planning import plan_valves
from scheduler.plan.site import SitePlan
from scheduler.plan.zones import day_rules, ground_of, with_uniformity
from scheduler.rates.uniformity import held_uniformity

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
        return total_cost(self.bills)

    @property
    def today_cost(self) -> Decimal | None:
        """What today's water costs in a year; None without a price or today."""
        return total_cost(self.today_bills)


@dataclass(frozen=True, slots=True)
class BesideToday:
    """Water and cost of a year by the plan and today; no cost without a price.

    `shut_off` is whether what a rain shut-off holds back of either is left out.
    """

    plan: tuple[float, Decimal | None]
    today: tuple[float, Decimal | None]
    shut_off: bool

    @property
    def less_l(self) -> float:
        """How much less the plan takes."""
        return self.today[0] - self.plan[0]

    @property
    def saves(self) -> Decimal | None:
        """How much less the plan costs; None without a price."""
        (_, today), (_, plan) = self.today, self.plan
        return None if today is None or plan is None else today - plan


def beside_today(budget: Budget) -> BesideToday | None:
    """The plan beside what the controller runs today; None where nobody says."""
    year, water = budget.year, budget.plan.site.water
    if year.today_l is None:
        return None
    plan_l, today_l = year.volume_l, year.today_l
    shut_off = year.held_back_l is not None and year.today_held_back_l is not None
    if year.held_back_l is not None and year.today_held_back_l is not None:
        plan_l, today_l = plan_l - year.held_back_l, today_l - year.today_held_back_l
    plan, today = (
        (float(liters.sum()), cost_of_year(liters.sum(axis=0), water))
        for liters in (plan_l, today_l)
    )
    return BesideToday(plan, today, shut_off)


def budget_site(plan: SitePlan) -> Budget:
    """Water budget of a planned site."""
    year, water = year_of_water(plan), plan.site.water
    today: tuple[Bill, ...] = ()
    if year.today_l is not None:
        today = bills_of_year(year.today_l.sum(axis=0), water)
    bills, charges = _billed(year, water)
    return Budget(plan, year, bills, charges, today, find_savings(plan))


def budget_as_keyed_in(budget: Budget, card: Card) -> Budget:
    """A budget with water, bills and dry days of a card; savings stay as planned."""
    year = as_keyed_in(budget.year, budget.plan, card)
    bills, charges = _billed(year, budget.plan.site.water)
    return dataclasses.replace(budget, year=year, bills=bills, charges=charges)


def _billed(
    year: YearOfWater, water: Water
) -> tuple[tuple[Bill, ...], tuple[tuple[Decimal, ...], ...]]:
    """Bills of a year, and their charges shared over (zone, month)."""
    bills = bills_of_year(year.volume_l.sum(axis=0), water)
    return bills, charges_of_zones(year.volume_l, bills) if bills else ()


@dataclass(frozen=True, slots=True, eq=False)
class _Step:
    """A kind of step: the planning with it taken, and what it says.

    `zones` are what it says of each zone that it is for, `site` of all together.
    """

    code: str
    inputs: PlanInput
    zones: Mapping[int, Mapping[str, Any]] = field(default_factory=dict)
    site: Mapping[str, Any] | None = None

    @property
    def rows(self) -> np.ndarray:
        """Zones that it changes."""
        every = range(len(self.inputs.valve))
        return np.array(every if self.site is not None else list(self.zones), np.intp)


def find_savings(plan: SitePlan) -> tuple[Saving, ...]:
    """Steps that save water, the largest saving first."""
    tried = (_uniformity(plan), _matched_heads(plan), _plants(plan), _days(plan))
    steps = [step for step in tried if step.rows.size]
    found = [*_season(plan), *_rain_shutoff(plan), *_shared_valves(plan)]
    if steps:
        planned = plan_valves(
            stack([of_valves(step.inputs, step.rows) for step in steps])
        )
        ends = np.cumsum([step.rows.size for step in steps])
        volumes = np.split(planned.volume_l, ends[:-1])
        for step, volume_l in zip(steps, volumes, strict=True):
            after_l = plan.plan.volume_l.copy()
            after_l[step.rows] = volume_l
            found += _savings_of(plan, step, after_l)
    return tuple(sorted(found, key=lambda saving: -saving.saves_l))


def _savings_of(plan: SitePlan, step: _Step, after_l: np.ndarray) -> Iterator[Saving]:
    for row, values in step.zones.items():
        yield from _saving(plan, step.code, row, after_l, values)
    if step.site is not None:
        yield from _saving(plan, step.code, None, after_l, step.site)


def _saving(
    plan: SitePlan,
    code: str,
    zone: int | None,
    after_l: np.ndarray,
    values: Mapping[str, Any],
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


def reachable_uniformity(plan: SitePlan) -> np.ndarray:
    """Uniformity of each zone in good order, as far as its heads let it, (zone,)."""
    zones, rates = plan.site.zones, plan.rates
    usual = head_kinds().reachable_uniformity[zones.head_kind]
    held = held_uniformity(zones, usual, rates.imbalance, rates.modelled_uniformity)
    return np.asarray(np.maximum(rates.uniformity, held))


def _uniformity(plan: SitePlan) -> _Step:
    """Each zone in good order, as far as the imbalance of its heads lets it."""
    then = reachable_uniformity(plan)
    rows = np.flatnonzero(then > plan.rates.uniformity).tolist()
    return _with_uniformity(plan, "uniformity", then, rows)


def _matched_heads(plan: SitePlan) -> _Step:
    sources = enumerate(plan.rates.uniformity_source)
    rows = [row for row, source in sources if source == "head imbalance"]
    return _with_uniformity(plan, "matched-heads", plan.rates.usual_uniformity, rows)


def _with_uniformity(
    plan: SitePlan, code: str, then: np.ndarray, rows: Sequence[int]
) -> _Step:
    now = plan.rates.uniformity
    return _Step(
        code,
        with_uniformity(plan.inputs, then),
        {row: {"now": float(now[row]), "then": float(then[row])} for row in rows},
    )


def _plants(plan: SitePlan) -> _Step:
    site, names = plan.site, plan.site.plants.names
    climate = FROST if plan.months.frost.any() else NO_FROST
    plant = site.zones.plant.copy()
    for row, now in enumerate(site.zones.plant.tolist()):
        other = THRIFTIER.get(names[now], ("", ""))[climate]
        if other in names and np.isnan(site.zones.plant_factor[row]):
            plant[row] = names.index(other)
    zones = dataclasses.replace(site.zones, plant=plant)
    other_site = dataclasses.replace(site, zones=zones)
    ground = ground_of(other_site, plan.inputs.periods).ground
    changed = np.flatnonzero(plant != site.zones.plant).tolist()
    return _Step(
        "plant",
        dataclasses.replace(plan.inputs, ground=ground),
        {
            row: {"now": names[site.zones.plant[row]], "then": names[plant[row]]}
            for row in changed
        },
    )


def _season(plan: SitePlan) -> Iterator[Saving]:
    """A tenth less in the three months in a row that take the most."""
    by_month = plan.plan.volume_l.sum(axis=0)
    of_three = sum(np.roll(by_month, -k) for k in range(SEASON_MONTHS))
    first = int(np.argmax(of_three))
    season = (first + np.arange(SEASON_MONTHS)) % len(by_month)
    after_l = plan.plan.volume_l.copy()
    after_l[:, season] *= SEASON_SHARE
    values: dict[str, Any] = {"months": [month + 1 for month in season.tolist()]}
    if plan.settings is not None and plan.season is not None:
        days, area_m2 = plan.inputs.periods.days, plan.rates.area_m2
        share = np.where(np.isin(np.arange(len(by_month)), season), SEASON_SHARE, 1.0)
        less = plan.settings.water_mm * np.repeat(share, days)
        of_part = plan.season.dry_shares(plan.season.play(less))
        begins = np.searchsorted(plan.inputs.ground.valve, np.arange(len(area_m2)))
        then = np.maximum.reduceat(of_part, begins, axis=0)
        values |= {
            name: float(np.average(days_a_year(dry, days), weights=area_m2))
            for name, dry in (("dry_now", plan.plan.dry_share), ("dry_then", then))
        }
    yield from _saving(plan, "season", None, after_l, values)


def _rain_shutoff(plan: SitePlan) -> Iterator[Saving]:
    """A rain shut-off where there is none, the table planned with it."""
    saves_l = planned_saving_l(plan)
    if saves_l is not None:
        values = {"rain_shutoff_mm": USUAL_SETTING_MM}
        after_l = plan.plan.volume_l - saves_l
        yield from _saving(plan, "rain-shutoff", None, after_l, values)


def _shared_valves(plan: SitePlan) -> Iterator[Saving]:
    """Valves of their own for parts that share one, or other heads on the least dry."""
    names = plan.stands_on.name
    for one in shared_valves(plan):
        part = int(one.parts[one.most])
        values = {"part": names[part], "decides": names[one.decides]}
        for code, month_l in (("own-valve", one.apart_l), ("part-heads", one.heads_l)):
            if month_l is not None:
                after_l = plan.plan.volume_l.copy()
                after_l[one.zone] = month_l
                yield from _saving(plan, code, one.zone, after_l, values)


def _days(plan: SitePlan) -> _Step:
    """The same hours on any day of the week."""
    return _Step("days", on_any_day(plan), site={})


def on_any_day(plan: SitePlan) -> PlanInput:
    """A site's planning with the same hours on any day of the week."""
    site, inputs = plan.site, plan.inputs
    windows = tuple(
        dataclasses.replace(
            window,
            weekdays=WEEKDAYS,
            parity=ALL_DATES,
            most_days_a_week=len(WEEKDAYS),
        )
        for window in site.windows
    )
    rules, rule_of = day_rules(
        dataclasses.replace(site, windows=windows), inputs.periods
    )
    return dataclasses.replace(
        inputs,
        valve=dataclasses.replace(inputs.valve, day_rule=rule_of),
        rules=rules,
        rule_intervals=(site.controller.intervals,) * len(rules),
    )
