"""Tables of a water budget, each defined once."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

import numpy as np

from scheduler.budget.cost import Bill
from scheduler.budget.savings import Budget
from scheduler.budget.water import DIFFERENCES
from scheduler.report import shown
from scheduler.report.blocks import WIDTH
from scheduler.report.frames import Column, Table
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

_CAUSES = dict(
    zip(
        DIFFERENCES,
        (
            "special area by what grows there, not by a factor of 1",
            "microclimate and density of the planting",
            "months off for frost",
            "rain",
            "uniformity of each zone in place of one efficiency",
            "water that carries salt below the roots",
            "months that rain and soil carry, or in which nothing may run",
            "more than the root zone can hold",
            "minutes in whole steps and cycles",
            "measured rates other than flow over area",
        ),
        strict=True,
    )
)

_CAUSES_BY_DAYS = {
    **_CAUSES,
    "rain": "rain, and dry days that are let pass",
    "months-off": "more than a month needs, to last through dry weeks",
    "rate": "filling where a season begins, and measured rates",
}


def the_year(budget: Budget) -> Table:
    """Plan, allowance, estimated use and today, with their cost."""
    year = budget.year
    rows: list[tuple[str, float, Decimal | None]] = [
        ("this plan", float(year.volume_l.sum()), budget.cost),
        ("allowance", year.allowance_l, None),
        ("estimated use", float(year.estimated_use_l.sum()), None),
    ]
    if year.today_l is not None:
        rows.append(("today", float(year.today_l.sum()), budget.today_cost))
    names, volumes, costs = zip(*rows, strict=True)
    columns = [Column("what", "", names), Column("volume", "water", volumes, "volume")]
    if budget.bills:
        columns.append(_money_column(budget, "cost", "cost", costs))
    of_allowance = [
        volume / year.allowance_l if year.allowance_l else None for volume in volumes
    ]
    columns.append(
        Column("of_allowance", "of the\nallowance", of_allowance, text=_percent)
    )
    return Table(tuple(columns))


def _percent(share: float | None) -> str:
    return "" if share is None else f"{100 * share:.0f} %"


def _money_column(
    budget: Budget, name: str, label: str, amounts: Sequence[Decimal | None]
) -> Column:
    """Amounts without the currency, which stands in the title."""
    currency = shown.cut(budget.plan.site.water.currency, 8)
    title = f"{label}\n{currency}".rstrip()
    return Column(
        name, title, amounts,
        text=lambda amount: "" if amount is None else f"{amount:,.2f}",
    )  # fmt: skip


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
    volume, labels = budget.year.volume_l / factor, _zone_labels(budget, 18)
    amounts = np.vstack([volume, volume.sum(axis=0)])
    columns = [Column("zone", "zone", [*labels, "all zones"])]
    for label, values in (
        *zip(shown.MONTH_LABELS, amounts.T, strict=True),
        ("year", amounts.sum(axis=1)),
    ):
        cells = [_scaled(value, digits) for value in values.tolist()]
        columns.append(Column(label.lower(), label, cells))
    return Table(tuple(columns))


def _zone_labels(budget: Budget, most_letters: int) -> list[str]:
    """Zones with their names, where these say more."""
    zones = budget.plan.site.zones
    return [
        shown.cut(shown.zone_label(zone, name), most_letters)
        for zone, name in zip(zones.zone, zones.name, strict=True)
    ]


def _scaled(value: float, digits: int) -> str:
    return f"{value:.{digits}f}" if value else "-"


def by_bill(budget: Budget) -> Table:
    """A row for each bill, or for each month where there is no price."""
    year = budget.year
    months = [list(bill.months) for bill in budget.bills]
    months = months or [[month] for month in range(1, 13)]
    columns = [
        Column("months", "months", [*map(shown.months_text, months), "year"]),
        Column("volume", "water", _sums(year.volume_l, months), "volume"),
    ]
    if budget.bills:
        columns += _bill_columns(budget, budget.bills, "", budget.cost)
    if year.today_l is not None:
        columns.append(Column("today", "today", _sums(year.today_l, months), "volume"))
        if budget.today_bills:
            columns += _bill_columns(
                budget, budget.today_bills, "today's ", budget.today_cost
            )
    return Table(tuple(columns))


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
        Column("units", f"{whose}units\n{unit}", [*taken, sum(taken, Decimal(0))],
               text=lambda amount: f"{amount:,.1f}"),
        _money_column(budget, "cost", f"{whose}cost", costs),
    ]  # fmt: skip


def by_zone(budget: Budget) -> Table:
    """A row for each zone with its year, and the fixed charges."""
    year = budget.year
    fixed = sum((bill.fixed_charge for bill in budget.bills), Decimal(0))
    extra = [*(["fixed charges"] if fixed else []), "all zones"]

    def with_sum(values: np.ndarray) -> list[float]:
        blank = [np.nan] * (len(extra) - 1)
        return [*values.tolist(), *blank, float(values.sum())]

    columns = [
        Column("zone", "zone", [*_zone_labels(budget, 27), *extra]),
        Column("area", "ground", with_sum(year.area_m2), "area"),
        Column("volume", "plan", with_sum(year.volume_l.sum(axis=1)), "volume"),
    ]
    if budget.bills:
        costs = [sum(row, Decimal(0)) for row in budget.charges]
        costs += [fixed] if fixed else []
        columns.append(_money_column(budget, "cost", "cost", [*costs, budget.cost]))
    columns.append(
        Column("estimated_use", "estimated\nuse", with_sum(year.estimated_use_l),
               "volume")
    )  # fmt: skip
    if year.today_l is not None:
        today = year.today_l.sum(axis=1)
        more = today - year.volume_l.sum(axis=1)
        columns += [
            Column("today", "today", with_sum(today), "volume"),
            Column("today_less_plan", "today\nless plan", with_sum(more), "volume"),
        ]
    return Table(tuple(columns))


def differences(budget: Budget) -> Table:
    """What leads from the estimated use to the plan, in order."""
    year = budget.year
    causes = _CAUSES if budget.plan.settings is None else _CAUSES_BY_DAYS
    adds = [(causes[d.code], float(d.adds_l.sum())) for d in year.differences]
    rows = [
        ("estimated use", float(year.estimated_use_l.sum())),
        *((text, volume) for text, volume in adds if abs(volume) >= 0.5),
        ("this plan", float(year.volume_l.sum())),
    ]
    names, volumes = zip(*rows, strict=True)
    return Table(
        (Column("cause", "", names), Column("volume", "water", volumes, "volume"))
    )
