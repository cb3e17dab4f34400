"""Tables of a water budget, each defined once."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

import numpy as np

from scheduler.budget.cost import Bill
from scheduler.budget.goes import LOSSES, Goes
from scheduler.budget.savings import Budget, beside_today
from scheduler.report import shown
from scheduler.report.blocks import WIDTH
from scheduler.report.frames import Column, Headings, Table
from scheduler.report.words import budget as words
from scheduler.units import L_PER_GAL, L_PER_M3

_SCALES = {
    "us": (
        ("gal", L_PER_GAL),
        ("1000 gal", 1e3 * L_PER_GAL),
        ("Mgal", 1e6 * L_PER_GAL),
    ),
    "metric": (("L", 1.0), ("m³", L_PER_M3), ("1000 m³", 1e3 * L_PER_M3)),
}
_MOST_IN_SCALE = 1000
"""Largest volume of a month that is shown in a scale; the next takes more."""


def the_year(budget: Budget, *, compared: bool = False) -> Table:
    """Plan, allowance, estimated use and today, with their cost.

    `compared` adds what the plan takes less than today, after a rain shut-off.
    """
    year = budget.year
    rows: list[tuple[str, float, Decimal | None]] = [
        (words.THIS_PLAN, float(year.volume_l.sum()), budget.cost),
        (words.ALLOWANCE, year.allowance_l, None),
        (words.ESTIMATED_USE, float(year.estimated_use_l.sum()), None),
    ]
    if year.today_l is not None:
        rows.append((words.TODAY, float(year.today_l.sum()), budget.today_cost))
    beside = beside_today(budget) if compared else None
    if beside is not None:
        if beside.shut_off:
            rows += [
                (words.AFTER_SHUT_OFF.format(words.THIS_PLAN), *beside.plan),
                (words.AFTER_SHUT_OFF.format(words.TODAY), *beside.today),
            ]
        less = words.LESS_THAN_TODAY
        if beside.shut_off:
            less = words.AFTER_SHUT_OFF.format(less)
        rows.append((less, beside.less_l, beside.saves))
    names, volumes, costs = zip(*rows, strict=True)
    column = words.OF_SITE.column
    columns = [column("what", names), column("volume", volumes, "volume")]
    if budget.bills:
        columns.append(_money_column(budget, words.OF_SITE, "cost", costs))
    of_allowance = [
        volume / year.allowance_l if year.allowance_l else np.nan for volume in volumes
    ]
    return Table((*columns, column("of_allowance", of_allowance, text=shown.share)))


def _money_column(
    budget: Budget, headings: Headings, name: str, amounts: Sequence[Decimal | None]
) -> Column:
    """Amounts without the currency, which stands in the title."""
    currency = shown.cut(budget.plan.site.water.currency, 8)
    return headings.column(name, amounts, text=_money_text, unit=currency)


def _money_text(amount: Decimal | None) -> str:
    return "" if amount is None else f"{amount:,.2f}"


def zone_months(budget: Budget, units: str) -> tuple[str, Table]:
    """Scale of the volumes, and a row for each zone."""
    largest = float(budget.year.volume_l.sum(axis=0).max())
    scales = _SCALES[units]
    name, factor = next(
        (s for s in scales if largest < _MOST_IN_SCALE * s[1]), scales[-1]
    )
    table = _zone_months_in(budget, factor, 1)
    letters = [
        max(len(cell) for cell in (column.label, *column.cells(units)))
        for column in table.columns
    ]
    if sum(letters) + 2 * (len(letters) - 1) > WIDTH:
        table = _zone_months_in(budget, factor, 0)
    return name, table


def _zone_months_in(budget: Budget, factor: float, digits: int) -> Table:
    volume = budget.year.volume_l / factor
    labels = shown.zone_labels(budget.plan.site.zones, 18)
    amounts = np.vstack([volume, volume.sum(axis=0)])
    sums = [*amounts.T, amounts.sum(axis=1)]
    cells = [[_scaled(value, digits) for value in month.tolist()] for month in sums]
    cells.insert(0, [*labels, words.ALL_ZONES])
    column = words.BY_MONTH.column
    return Table(tuple(map(column, words.BY_MONTH.labels, cells)))


def _scaled(value: float, digits: int) -> str:
    return f"{value:.{digits}f}" if value else "-"


def by_bill(budget: Budget) -> Table:
    """A row for each bill, or for each month where there is no price."""
    year = budget.year
    months = [list(bill.months) for bill in budget.bills]
    months = months or [[month] for month in range(1, 13)]
    column = words.OF_SITE.column
    columns = [
        column("months", [*map(shown.months_text, months), words.YEAR]),
        column("volume", _sums(year.volume_l, months), "volume"),
    ]
    if budget.bills:
        columns += _bill_columns(budget, budget.bills, "", budget.cost)
    if year.today_l is not None:
        columns.append(column("today", _sums(year.today_l, months), "volume"))
        if budget.today_bills:
            columns += _bill_columns(
                budget, budget.today_bills, "today_", budget.today_cost
            )
    return Table(tuple(columns), totals=(-1,))


def _sums(volume_l: np.ndarray, months: Sequence[Sequence[int]]) -> list[float]:
    """Site's water of each stretch of months, and of the year."""
    by_month = volume_l.sum(axis=0)
    parts = [float(sum(by_month[m - 1] for m in stretch)) for stretch in months]
    return [*parts, float(by_month.sum())]


def _bill_columns(
    budget: Budget, bills: Sequence[Bill], whose: str, cost: Decimal | None
) -> list[Column]:
    unit = {"ccf": "ccf", "kgal": "kgal", "m3": "m³"}[
        budget.plan.site.water.billing_unit
    ]
    taken = [bill.units for bill in bills]
    costs = [*(bill.cost for bill in bills), cost]
    return [
        words.OF_SITE.column(
            f"{whose}units", [*taken, sum(taken, Decimal(0))],
            text="{:,.1f}".format, unit=unit,
        ),
        _money_column(budget, words.OF_SITE, f"{whose}cost", costs),
    ]  # fmt: skip


def by_zone(budget: Budget) -> Table:
    """A row for each zone with its year, and the fixed charges."""
    year = budget.year
    fixed = sum((bill.fixed_charge for bill in budget.bills), Decimal(0))
    extra = [*([words.FIXED_CHARGES] if fixed else []), words.ALL_ZONES]

    def with_sum(values: np.ndarray) -> list[float]:
        blank = [np.nan] * (len(extra) - 1)
        return [*values.tolist(), *blank, float(values.sum())]

    column = words.OF_ZONES.column
    columns = [
        column("zone", [*shown.zone_labels(budget.plan.site.zones, 27), *extra]),
        column("area", with_sum(year.area_m2), "area"),
        column("volume", with_sum(year.volume_l.sum(axis=1)), "volume"),
    ]
    if budget.bills:
        costs = [sum(row, Decimal(0)) for row in budget.charges]
        costs += [fixed] if fixed else []
        columns.append(
            _money_column(budget, words.OF_ZONES, "cost", [*costs, budget.cost])
        )
    columns.append(column("estimated_use", with_sum(year.estimated_use_l), "volume"))
    if year.today_l is not None:
        today = year.today_l.sum(axis=1)
        more = today - year.volume_l.sum(axis=1)
        columns += [
            column("today", with_sum(today), "volume"),
            column("today_less_plan", with_sum(more), "volume"),
        ]
    return Table(tuple(columns), totals=tuple(range(-len(extra), 0)))


def savings(budget: Budget) -> Table:
    """A row for each step that would save, the largest first."""
    found, column = budget.savings, words.OF_SAVINGS.column
    told = [words.saving_text(budget, one).partition(": ") for one in found]
    columns = [
        column("zone", [place.removeprefix("zone ") for place, _, _ in told]),
        column("step", [step for _, _, step in told]),
        column("saves", [one.saves_l for one in found], "volume"),
    ]
    if budget.bills:
        costs = [one.saves_cost for one in found]
        columns.append(_money_column(budget, words.OF_SAVINGS, "saves_cost", costs))
    return Table(tuple(columns))


def differences(budget: Budget) -> Table:
    """What leads from the estimated use to the plan, in order."""
    year = budget.year
    by_days = budget.plan.settings is not None
    adds = [
        (words.cause(d.code, by_days), float(d.adds_l.sum())) for d in year.differences
    ]
    rows = [
        (words.ESTIMATED_USE, float(year.estimated_use_l.sum())),
        *((text, volume) for text, volume in adds if abs(volume) >= 0.5),
        (words.THIS_PLAN, float(year.volume_l.sum())),
    ]
    names, volumes = zip(*rows, strict=True)
    column = words.OF_SITE.column
    return Table((column("what", names), column("volume", volumes, "volume")))


def where_it_goes(found: Goes, budget: Budget) -> Table:
    """A row a zone, and one of them all: what plants took, and each loss."""
    names = shown.zone_labels(budget.plan.site.zones)
    column = words.OF_GOES.column

    def volumes(of_zone: np.ndarray) -> list[float]:
        return [*of_zone.tolist(), float(of_zone.sum())]

    return Table(
        (
            column("zone", [*names, words.ALL_ZONES]),
            column("water", volumes(found.water_l), "volume"),
            column("plants", volumes(found.plants_l), "volume"),
            *(column(loss, volumes(found.lost_l[LOSSES.index(loss)]), "volume")
              for loss in found.known),
        ),
        totals=(-1,),
    )  # fmt: skip
