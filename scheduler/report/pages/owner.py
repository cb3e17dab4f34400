"""The owner's page in plain words: what each zone needs through the year, and why."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from scheduler.budget.rain_rules import HandRule
from scheduler.budget.savings import Budget
from scheduler.calendar import DAYS_IN_MONTH
from scheduler.plan.card.plan import Card
from scheduler.plan.site import SitePlan
from scheduler.plan.table import Off, why_off
from scheduler.plan.zones import is_drip
from scheduler.report.counting import listed
from scheduler.report.pages.bill import in_money
from scheduler.report.pages.door import who_drains
from scheduler.report.views.card import FROST_CODES, frost_waters
from scheduler.report.words import frost
from scheduler.report.words import plantings as young
from scheduler.report.words.pages import owner as words
from scheduler.report.words.pages import spoken

DAYS_A_WEEK = 7

_MOST_NAMED, _MOST_LETTERS = 5, 90
_UNEVEN_SHARE = 0.22
_SOON_DAYS, _LATE_DAYS = 3, 8
_SELDOM_DAYS = 3.5
"""Days between waterings from which on they are seldom: twice a week, or less."""
_HOT, _SHADED = 1.15, 0.85


@dataclass(frozen=True, slots=True)
class ZoneStory:
    """One zone for its owner.

    `month_shares` are its water by month over that of its thirstiest month, and
    `months_told` the same in words.
    """

    name: str
    station: int
    water: str
    cost: str
    month_shares: tuple[float, ...]
    months_told: str
    text: str


@dataclass(frozen=True, slots=True)
class Reason:
    """Why zones take as much water as they do, or run as they do."""

    heading: str
    zones: str
    text: str


def year_story(budget: Budget, units: str) -> list[str]:
    """The site's year in a few sentences: how much water, what it costs, and why."""
    year = budget.year
    total, area = float(year.volume_l.sum()), float(year.area_m2.sum())
    told = [words.year(total, area, units)]
    if budget.cost is not None:
        fixed = sum((bill.fixed_charge for bill in budget.bills), Decimal(0))
        told.append(
            words.cost(
                in_money(budget, budget.cost), in_money(budget, fixed) * bool(fixed)
            )
        )
    by_month = year.volume_l.sum(axis=0)
    new = {date.month - 1 for planting in budget.plan.plantings
           for step in planting.steps for date in step.dates}  # fmt: skip
    off = np.flatnonzero(by_month == 0).tolist()
    only_new = [month for month in off if month in new]
    off = [month for month in off if month not in new]
    if total > 0:
        most = int(np.argmax(by_month))
        told += [
            _balance(budget, units),
            words.thirstiest(most + 1, float(by_month[most]), units),
        ]
    shut_off = budget.plan.site.controller.rain_shutoff_mm is not None
    if year.held_back_l is None and shut_off and total > 0:
        told.append(words.rain_comes_off())
    if year.held_back_l is not None:
        told.append(words.held_back(float(year.held_back_l.sum()), units))
    if off:
        why = _why_off(budget.plan, off)
        ever = total > 0 or bool(new)
        told.append(words.nothing_runs(_numbers(off), ever, why))
    if only_new:
        told.append(young.only_new(spoken.months(_numbers(only_new))))
    return told


def _balance(budget: Budget, units: str) -> str:
    """What plants drink, what rain gives, and what is added, while zones run.

    The parts are reckoned from one another as they are shown, so that they add up.
    """
    plan, area = budget.plan.plan, budget.year.area_m2
    runs = budget.year.volume_l > 0

    def deep(depth_mm: np.ndarray) -> float:
        over = (np.where(runs, depth_mm, 0.0).sum(axis=1) * area).sum()
        return spoken.rounded(float(over / area.sum()), "depth", units)

    need, rain = deep(plan.plant_need_mm), deep(plan.effective_rain_mm)
    given = float(budget.year.volume_l.sum() / area.sum())
    if budget.plan.settings is not None:
        more = spoken.rounded(given, "depth", units) >= need
        return words.drinks_and_gets(need, more, units)
    added = spoken.rounded(given, "depth", units) - (need - rain)
    counted = budget.plan.site.rain_rule.method != "none"
    return words.balance(need, rain if counted else None, added, units)


def _numbers(rows: Sequence[int]) -> list[int]:
    """Months 1 to 12 of rows 0 to 11."""
    return [row + 1 for row in rows]


def _why_off(plan: SitePlan, months: list[int]) -> str:
    """Why no zone runs in months (0 to 11)."""
    found = {why_off(flags) for flags in plan.plan.flags[:, months].ravel().tolist()}
    if found == {Off.FROST}:
        return words.OFF_FOR_FROST
    if Off.NOT_PERMITTED in found:
        return words.OFF_WITHOUT_HOURS
    if Off.FROST in found:
        return words.OFF_FOR_FROST_OR_RAIN
    return words.OFF_FOR_RAIN


def zone_stories(budget: Budget, units: str) -> list[ZoneStory]:
    """Every zone: its water through the year, and what its plants drink."""
    zones = budget.plan.site.zones
    stories = []
    for row in range(len(zones)):
        volume = budget.year.volume_l[row]
        cost = ""
        if budget.charges:
            cost = in_money(budget, sum(budget.charges[row], Decimal(0)))
        stories.append(
            ZoneStory(
                zones.name[row],
                int(zones.station[row]),
                spoken.quantity(float(volume.sum()), "volume", units),
                cost,
                tuple((volume / (volume.max() or 1.0)).tolist()),
                months_told(volume, units),
                " ".join(
                    [
                        _what(budget.plan, row, units),
                        _need(budget, row, units),
                        *_each_plant(budget, row, units),
                        *_shares_valve(budget, row),
                        *_goes_short(budget, row),
                        *_planted(budget.plan, row, units),
                    ]
                ),
            )
        )
    return stories


def months_told(volume_l: np.ndarray, units: str) -> str:
    """Water (12,) of the months that run, for those who do not see the bars."""
    running = np.flatnonzero(volume_l > 0).tolist()
    if not running:
        return words.NO_WATER
    volumes_l = {month + 1: float(volume_l[month]) for month in running}
    return words.by_months(volumes_l, units)


def _what(plan: SitePlan, row: int, units: str) -> str:
    zones = plan.site.zones
    plant = plan.site.plants.names[zones.plant[row]]
    soil = plan.site.soils.names[zones.soil[row]]
    return words.zone(plant, soil, float(plan.rates.area_m2[row]), units)


def _need(budget: Budget, row: int, units: str) -> str:
    plan, p = budget.plan, budget.plan.plan
    month = _thirstiest(budget, row)
    if month is None:
        found = {why_off(flags) for flags in p.flags[row].tolist()}
        return words.NO_HOURS if Off.NOT_PERMITTED in found else words.ENOUGH
    need = float(p.plant_need_mm[row, month])
    week = need / int(DAYS_IN_MONTH[month]) * DAYS_A_WEEK
    rain = None
    counted = plan.settings is None and plan.site.rain_rule.method != "none"
    if counted and need > 0:
        rain = float(p.effective_rain_mm[row, month]) / need
    return words.drinks(month + 1, week, rain, units)


def _each_plant(budget: Budget, row: int, units: str) -> Iterator[str]:
    """What each plant gets in a week of that month, where they are counted."""
    month = _thirstiest(budget, row)
    count = budget.plan.site.zones.plants[row]
    if np.isfinite(count) and month is not None:
        month_l = float(budget.year.volume_l[row, month])
        week_l = month_l / int(DAYS_IN_MONTH[month]) * DAYS_A_WEEK / float(count)
        yield words.each_plant(int(count), week_l, units)


def _shares_valve(budget: Budget, row: int) -> Iterator[str]:
    """What grows apart on one valve, and how much of its water that spends."""
    plan = budget.plan
    names, parts = plan.stands_on.name, plan.parts(row).tolist()
    if len(parts) > 1:
        lead = int(plan.leads[row])
        own = [s for s in budget.savings if (s.code, s.zone) == ("own-valve", row)]
        spent = sum(s.saves_l for s in own) / float(plan.plan.volume_l[row].sum())
        others = [names[part] for part in parts if part != lead]
        yield words.shares_valve(names[lead], others, spent)


def _goes_short(budget: Budget, row: int) -> Iterator[str]:
    """Days of a usual year on which a zone goes short, where the table is by days."""
    if budget.year.dry_days is not None:
        yield words.goes_short(round(float(budget.year.dry_days[row])))


def _planted(plan: SitePlan, row: int, units: str) -> Iterator[str]:
    """That a zone is new, and till when it is watered as such; or grown in by now."""
    zone = plan.site.zones.zone[row]
    for caution in plan.cautions:
        if caution.code == "grown-in" and caution.zone == zone:
            yield young.has_grown(caution.values["planted"])
    for planting in plan.plantings:
        if planting.zone == row:
            yield young.for_owner(planting)
            yield from young.rooting(plan, planting, units)


def _thirstiest(budget: Budget, row: int) -> int | None:
    """Month (0 to 11) in which plants drink most of those that run; None without."""
    runs = budget.year.volume_l[row] > 0
    a_day_mm = budget.plan.plan.plant_need_mm[row] / DAYS_IN_MONTH
    return int(np.argmax(np.where(runs, a_day_mm, -1.0))) if runs.any() else None


def _busiest(volume_l: np.ndarray) -> int | None:
    """Month (0 to 11) of the most water, (month,); None of a zone that never runs."""
    return int(np.argmax(volume_l)) if volume_l.any() else None


def reasons(plan: SitePlan, card: Card) -> list[Reason]:
    """What makes zones thirsty, or run often or in turns, and which zones."""
    busiest = enumerate(map(_busiest, plan.plan.volume_l))
    running = [(row, month) for row, month in busiest if month is not None]
    return [*_uneven(plan, running), *_in_turns(plan, running),
            *_sun_and_shade(plan, running),
            *_stores(plan, card, running)]  # fmt: skip


Running = Sequence[tuple[int, int]]
"""Rows of zones that run, each with its busiest month (0 to 11)."""


def _uneven(plan: SitePlan, running: Running) -> Iterator[Reason]:
    extra = 1 - 1 / plan.rates.run_time_multiplier
    by_share: dict[str, list[int]] = {}
    for row, _ in running:
        if extra[row] >= _UNEVEN_SHARE:
            by_share.setdefault(spoken.share(float(extra[row])), []).append(row)
    for share, rows in by_share.items():
        yield _reason(plan, rows, *words.uneven(share))


def _in_turns(plan: SitePlan, running: Running) -> Iterator[Reason]:
    schedule = plan.plan.schedule
    rows = [
        row
        for row, month in running
        if schedule.cycles[row, month] > 1 and schedule.soak_min[row, month] > 0
    ]
    if rows:
        yield _reason(plan, rows, *words.IN_TURNS)


def _sun_and_shade(plan: SitePlan, running: Running) -> Iterator[Reason]:
    factor = plan.site.zones.microclimate_factor
    hot = [row for row, _ in running if factor[row] >= _HOT]
    if hot:
        yield _reason(plan, hot, *words.HOT)
    shaded = [row for row, _ in running if factor[row] <= _SHADED]
    if shaded:
        yield _reason(plan, shaded, *words.SHADED)


def _stores(plan: SitePlan, card: Card, running: Running) -> Iterator[Reason]:
    """Zones whose soil is soon dry, and those whose soil holds water for long.

    Only where the card waters them so: as often, or as seldom.
    """
    lasts, gap_days = {}, {}
    for row, month in running:
        gap_days[row] = _days_between(card, row, month)
        a_day = float(plan.plan.plant_need_mm[row, month]) / int(DAYS_IN_MONTH[month])
        part = plan.decides[row, month]
        days = float(plan.stands_on.roots.allowed_depletion_mm[part]) / a_day
        lasts[row] = max(round(days), 1)
    soon = [row for row, days in lasts.items()
            if days <= _SOON_DAYS and gap_days[row] < _SELDOM_DAYS]  # fmt: skip
    late = [row for row, days in lasts.items()
            if days >= _LATE_DAYS and gap_days[row] >= _SELDOM_DAYS]  # fmt: skip
    for heading, rows in ((words.OFTEN, soon), (words.SELDOM, late)):
        if rows:
            least, most = (f(lasts[row] for row in rows) for f in (min, max))
            yield _reason(plan, rows, heading, words.store(least, most))


def _days_between(card: Card, row: int, month: int) -> float:
    """Days from one watering of the card to the next in a month (0 to 11), on average.

    Filling leaves them a little too few; without end where the card leaves it off.
    """
    judged = card.judged
    a_day_l = float(judged.depth_mm[row, month] * judged.area_m2[row])
    if a_day_l <= 0:
        return math.inf
    return int(DAYS_IN_MONTH[month]) * a_day_l / float(judged.water_l[row, month])


def _reason(plan: SitePlan, rows: Sequence[int], heading: str, text: str) -> Reason:
    zones = plan.site.zones
    if len(rows) == len(zones) > 1:
        whose = words.ALL_ZONES
    else:
        whose = listed([zones.name[row] for row in rows])
        if len(rows) > 1 and (len(rows) > _MOST_NAMED or len(whose) > _MOST_LETTERS):
            whose = words.stations(sorted(int(zones.station[row]) for row in rows))
    return Reason(heading, whose, text)


def watch_for(
    budget: Budget,
    rule: HandRule | None,
    units: str,
    *,
    decide: str = "",
    given_up: bool = False,
    intervals: bool = False,
    by_hand: bool = False,
) -> list[str]:
    """What an owner can see, and what to do about it; `rule` is for rain.

    `decide` is what the page begins with, and is not told twice; `given_up`: the ground
    is kept drier than by the table; `intervals`: a program waters every so many days;
    `by_hand`: something is started by hand.
    """
    plan = budget.plan
    told = list(words.WATCH_FOR)
    drips = is_drip(plan.site)
    if drips.all():
        told[0] = words.DRY_DRIP
    if plan.site.controller.rain_shutoff_mm is None:
        drier = words.KEPT_DRIER if given_up and rule is not None else ""
        told.append(_when_it_rains(budget, rule, units) + drier)
    else:
        told.append(words.SHUT_OFF_WORKS)
    season, known = plan.frost_season, plan.site.lines_can_freeze
    waters = bool(frost_waters(plan))
    if budget.year.volume_l.any():
        sets = plan.site.controller.percent_by != "none"
        shut_off = plan.site.controller.rain_shutoff_mm is not None
        hours = words.IN_HOURS if plan.site.windows else ""
        told += [
            words.HEAT.format(hours),
            words.away(sets, by_hand, not shut_off, waters),
        ]
    at_top = season is not None and frost.span(season, units) in decide
    if waters or (season is not None and not at_top):
        told.append(words.frost(season, known, waters, units))
    if season is not None and known is not False:
        told += who_drains(plan)
        told.append(words.SPRING)
    if intervals:
        told.append(words.AFTER_OFF)
    return [*told, words.NEW_PLANTS]


def _when_it_rains(budget: Budget, rule: HandRule | None, units: str) -> str:
    """What to do in a wet week, and what a rain shut-off would save."""
    saving = next((s for s in budget.savings if s.code == "rain-shutoff"), None)
    saves = ""
    if saving is not None:
        cost = saving.saves_cost
        money_told = "" if cost is None else in_money(budget, cost)
        saves = words.saved(saving.saves_l, money_told, units)
    if rule is None:
        return words.no_rain_shutoff(saves)
    until = young.grown_in_by(budget.plan)
    return words.rain_rule(rule.rain_mm, rule.days_off, saves, units, until)


def frost_told(plan: SitePlan, units: str) -> list[str]:
    """Frost for small print: months off, months at risk, nights, dates."""
    months: dict[str, list[int]] = {code: [] for code in FROST_CODES}
    for caution in plan.cautions:
        if caution.code in months and caution.month is not None:
            months[caution.code].append(caution.month)
    off, at_risk = months.values()
    known = plan.site.lines_can_freeze
    return frost.in_short(plan.months, plan.frost_season, known, off, at_risk, units)
