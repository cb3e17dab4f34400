"""The page for the water agency: parameters, schedule, water budget, signatures."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.budget.savings import Budget
from scheduler.budget.water import SPECIAL_FACTOR
from scheduler.calendar import DAYS_IN_MONTH, WEEKDAYS
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.site import Window
from scheduler.plan.card.plan import Card
from scheduler.plan.site import SitePlan
from scheduler.plan.zones import is_drip
from scheduler.report import shown
from scheduler.report.frames import Table
from scheduler.report.views.heads.field import standing
from scheduler.report.words import budget as budget_words
from scheduler.report.words import sentences
from scheduler.report.words import table as table_words
from scheduler.report.words.climate import method_words
from scheduler.report.words.heads.rates import uniformity_from
from scheduler.report.words.pages import agency as words

_NAME = 30


@dataclass(frozen=True, slots=True)
class Months:
    """One thing through the year: a label, twelve cells, and the year's."""

    label: str
    cells: tuple[str, ...]
    year: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """A zone in the schedule, and its rows."""

    title: str
    rows: tuple[Months, ...]


@dataclass(frozen=True, slots=True)
class AgencyPage:
    """What the agency is shown, in the order that it reads in."""

    facts: list[tuple[str, str]]
    assumed: list[str]
    parameters: Table
    schedule: list[Group]
    schedule_notes: list[str]
    formulas: list[str]
    use: Table
    year: Table
    notes: list[str]


def agency_page(budget: Budget, card: Card, source: str, units: str) -> AgencyPage:
    """What was planned with, and what comes of it; `source` names the weather."""
    plan = budget.plan
    return AgencyPage(
        _facts(budget, source, units),
        sentences.assumptions(plan.cautions, len(plan.site.zones), units),
        _parameters(plan, units),
        [_weather(budget, units), *_schedule(plan, units), _all_zones(plan, units)],
        [words.SCHEDULE_KEY, *_fillings(plan),
         *[words.NEW_PLANTINGS] * bool(plan.plantings)],
        [
            _verdict(budget, card, units),
            _allowance(budget, units),
            words.factor(plan.site.water.allowance_factor),
            words.estimate(units),
            words.UNROUNDED,
        ],
        _use(budget),
        _year(budget, card),
        [f"{line} {words.AREA_APART}" for line in budget_words.special_area(budget)],
    )  # fmt: skip


def _facts(budget: Budget, source: str, units: str) -> list[tuple[str, str]]:
    """Labels and texts; "" for what is left to a pen."""
    plan, site = budget.plan, budget.plan.site
    source = source or plan.months.source
    way = table_words.by_months(site)
    if plan.settings is not None:
        way = table_words.planned_by_days(plan.years)
    weather = words.weather(
        source, method_words(plan.months.method), budget.year.et0_mm, units
    )
    asked = [
        (label, next((text for key, text in site.door if word in key.casefold()), ""))
        for label, word in words.ASKED
    ]
    return [
        *asked,
        (
            words.PLACE,
            words.place(site.latitude, site.longitude, site.elevation_m, units),
        ),
        (words.CLIMATE, weather),
        (words.WATER, words.source(site.supply.source)),
        (words.PERMITTED, "; ".join(map(_window, site.windows))),
        (words.PLANNED, f"{standing(plan)} {way[:1].upper()}{way[1:]}."),
    ]


def _window(window: Window) -> str:
    """Months, kinds of head, days and hours that a window permits."""
    days = sum(1 << WEEKDAYS.index(day) for day in window.weekdays)
    return words.window(
        window.months,
        window.head_kinds if set(window.head_kinds) != set(HEAD_KINDS) else (),
        shown.days_text(days, window.parity, 0),
        (window.opens, window.closes),
        window.most_days_a_week
        if window.most_days_a_week < len(window.weekdays)
        else 0,
    )


def _verdict(budget: Budget, card: Card, units: str) -> str:
    """The water that is keyed in beside the allowance, and why the estimate differs."""
    year = budget.year
    estimate = float(year.estimated_use_l.sum())
    return words.verdict(
        float(card.judged.water_l.sum()), year.allowance_l, estimate, units
    )


def _parameters(plan: SitePlan, units: str) -> Table:
    """A row a zone, or a part of one that differs."""
    site, rates, stands_on = plan.site, plan.rates, plan.stands_on
    rows, ground, column = stands_on.rows, stands_on.ground, words.OF_ZONES.column
    zone, coefficient = ground.valve, ground.landscape_coefficient
    labels = [
        ", ".join(filter(None, (label, part)))
        for label, part in zip(
            [_labels(plan)[row] for row in zone.tolist()], stands_on.name, strict=True
        )
    ]
    uniformity = [
        f"{rates.uniformity[row]:.2f} ({uniformity_from(rates.uniformity_source[row])})"
        for row in zone.tolist()
    ]
    spans = [words.span(float(row.min()), float(row.max())) for row in coefficient]
    return Table(
        (
            column("zone", labels),
            column("plant", [site.plants.names[row] for row in rows.plant]),
            column("soil", [site.soils.names[row] for row in rows.soil]),
            column("slope", rows.slope_percent.tolist(), text="{:g}".format),
            column("area", (ground.share * rates.area_m2[zone]).tolist(), "area"),
            column(
                "head_kind",
                [HEAD_KINDS[site.zones.head_kind[row]] for row in zone.tolist()],
            ),
            column("flow", rates.flow_l_min[zone].tolist(), "flow"),
            column(
                "rate", (ground.rate_share * rates.rate_mm_h[zone]).tolist(), "rate"
            ),
            column("uniformity", uniformity),
            column("coefficient", spans),
            column(
                "root_depth",
                [
                    shown.amount(deep, "depth", units, int(units == "us"))
                    for deep in stands_on.roots.root_depth_mm
                ],
                unit=shown.symbol("depth", units),
            ),
        )
    )


def _labels(plan: SitePlan) -> list[str]:
    zones = plan.site.zones
    return [
        shown.cut(shown.zone_label(zone, name), _NAME)
        for zone, name in zip(zones.zone, zones.name, strict=True)
    ]


def _weather(budget: Budget, units: str) -> Group:
    et0_mm = (budget.plan.months.et0_mm_day * np.array(DAYS_IN_MONTH)).tolist()
    row = Months(
        shown.symbol("depth", units),
        tuple(shown.amount(value, "depth", units) for value in et0_mm),
        shown.amount(budget.year.et0_mm, "depth", units),
    )
    return Group(words.ET0, (row,))


def _schedule(plan: SitePlan, units: str) -> list[Group]:
    """Each zone's days, minutes and water, month by month."""
    schedule, volume_l = plan.plan.schedule, plan.plan.volume_l
    groups = []
    for row, title in enumerate(_labels(plan)):
        cells = list(zip(*(values[row].tolist() for values in (
            schedule.weekdays, schedule.parity, schedule.every_days,
            schedule.cycles, schedule.cycle_min,
        )), strict=True))  # fmt: skip
        days = [shown.days_text(*cell[:3]) if cell[3] else words.OFF for cell in cells]
        minutes = [
            f"{n} x {shown.minutes(c)}" if n > 1 else shown.minutes_or_blank(n * c)
            for *_, n, c in cells
        ]
        water = [shown.amount(v, "volume", units) if v else "" for v in volume_l[row]]
        year = shown.amount(float(volume_l[row].sum()), "volume", units)
        groups.append(
            Group(
                title,
                (
                    Months(words.DAYS, tuple(days)),
                    Months(words.MINUTES, tuple(minutes)),
                    *_soak(schedule.soak_min[row].tolist()),
                    Months(shown.symbol("volume", units), tuple(water), year),
                ),
            )
        )
    return groups


def _all_zones(plan: SitePlan, units: str) -> Group:
    """Water of all zones together, month by month."""
    months = plan.plan.volume_l.sum(axis=0).tolist()
    cells = tuple(shown.amount(v, "volume", units) if v else "" for v in months)
    year = shown.amount(sum(months), "volume", units)
    row = Months(shown.symbol("volume", units), cells, year)
    return Group(words.ALL_ZONES, (row,))


def _soak(soak_min: list[float]) -> list[Months]:
    """Minutes between cycles, where there are any."""
    told = tuple(map(shown.minutes_or_blank, soak_min))
    return [Months(words.SOAK, told)] if any(told) else []


def _fillings(plan: SitePlan) -> list[str]:
    """What fills dry ground first, in one sentence for all zones."""
    p = plan.plan
    told = [
        words.filling(label, month + 1, float(p.fill_min[row, month]),
                      int(p.fill_days[row, month]))
        for row, label in enumerate(_labels(plan))
        for month in np.flatnonzero(p.fill_min[row] > 0).tolist()
    ]  # fmt: skip
    return [words.fillings(told)] if told else []


def _allowance(budget: Budget, units: str) -> str:
    year, water = budget.year, budget.plan.site.water
    return words.allowance(
        year.et0_mm,
        float(year.area_m2.sum()),
        float(year.special_area_m2.sum()),
        water.allowance_factor,
        year.allowance_l,
        units,
    )


def _use(budget: Budget) -> Table:
    """The estimate line by line: hydrozones, special area, and their sum."""
    plan, year = budget.plan, budget.year
    zones, drip = plan.site.zones, is_drip(plan.site).tolist()
    special_m2, area = year.special_area_m2, year.area_m2 - year.special_area_m2
    special_l = SPECIAL_FACTOR * year.et0_mm * special_m2
    ends: list[tuple[str, float, float]] = []
    if special_m2.any():
        ends.append(
            (words.SPECIAL_AREA, float(special_m2.sum()), float(special_l.sum()))
        )
    whole = float(year.estimated_use_l.sum())
    ends.append((words.ALL_ZONES, float(year.area_m2.sum()), whole))
    factor = year.plant_factor / year.efficiency
    blank, column = [""] * len(ends), words.OF_USE.column
    plants = [plan.site.plants.names[row] for row in zones.plant]

    def numbers(values: np.ndarray, digits: int) -> list[str]:
        return [*(f"{value:.{digits}f}" for value in values.tolist()), *blank]

    return Table(
        (
            column("zone", [*_labels(plan), *(name for name, *_ in ends)]),
            column("plant", [*plants, *blank]),
            column("method", [*(words.METHODS[own] for own in drip), *blank]),
            column("plant_factor", numbers(year.plant_factor, 3)),
            column("efficiency", numbers(year.efficiency, 2)),
            column("et_factor", numbers(factor, 3)),
            column("area", [*area.tolist(), *(m2 for _, m2, _ in ends)], "area"),
            column(
                "estimated_use",
                [
                    *(year.estimated_use_l - special_l).tolist(),
                    *(volume for *_, volume in ends),
                ],
                "volume",
            ),
        )
    )


def _year(budget: Budget, card: Card) -> Table:
    """Allowance, estimate, plan and what is keyed in, side by side."""
    year, column = budget.year, words.OF_YEAR.column
    rows = {
        words.ALLOWANCE: year.allowance_l,
        words.ESTIMATED_USE: float(year.estimated_use_l.sum()),
        words.THIS_PLAN: float(year.volume_l.sum()),
        words.KEYED_IN: float(card.judged.water_l.sum()),
    }
    of_allowance = [
        volume / year.allowance_l if year.allowance_l else np.nan
        for volume in rows.values()
    ]
    return Table(
        (
            column("what", [*rows]),
            column("water", [*rows.values()], "volume"),
            column("of_allowance", of_allowance, text=shown.share),
        )
    )
