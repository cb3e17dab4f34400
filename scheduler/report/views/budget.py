"""The water budget: blocks, a table for CSV, and data for programs."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from scheduler.budget.goes import LOSSES, Goes
from scheduler.budget.savings import Budget
from scheduler.budget.water import growing_in
from scheduler.cautions import HARD_LIMITS
from scheduler.report.blocks import Block, Heading, Paragraph, sections
from scheduler.report.frames import Table
from scheduler.report.views import budget_tables
from scheduler.report.views.months import in_a_year
from scheduler.report.words import budget as words
from scheduler.report.words import sentences


def blocks(budget: Budget, units: str, goes: Goes | None = None) -> list[Block]:
    """The year against allowance and today, by zone and month, and what would save.

    `goes` adds where the water goes.
    """
    lost: list[Block] = []
    if goes is not None:
        lost = [
            Heading(words.GOES_TO[goes.of], 3),
            budget_tables.where_it_goes(goes, budget),
            Paragraph(words.goes(goes, budget, units)),
        ]
    scale, by_month = budget_tables.zone_months(budget, units)
    hard = [c for c in budget.plan.cautions if c.code in HARD_LIMITS]
    title = words.title(budget.plan.site.name)
    return [
        Heading(title, 1, [words.facts(budget, units)]),
        Heading(words.THE_YEAR, 3),
        budget_tables.the_year(budget),
        *sections([(sentences.WHAT_THAT_SAYS, words.said(budget, units))]),
        Heading(words.by_zone_and_month(scale), 3),
        by_month,
        Heading(words.by_bill(budget), 3),
        budget_tables.by_bill(budget),
        Heading(words.BY_ZONE, 3),
        budget_tables.by_zone(budget),
        *lost,
        Heading(words.DIFFERENCE, 3),
        budget_tables.differences(budget),
        *sections(
            [
                (words.ONE_STEP, words.steps(budget, units)),
                (sentences.CAUTIONS, sentences.grouped(hard, units)),
                (sentences.HOW_RECKONED, words.notes(budget, units)),
            ]
        ),
        Paragraph(sentences.WORK_SAFELY),
        Paragraph(sentences.WATCH),
    ]


def to_data(budget: Budget, goes: Goes | None = None) -> dict[str, Any]:
    """Water budget for programs; cost and today are null where not known."""
    year = budget.year
    return {
        **({} if goes is None else {"goes": _goes_data(budget, goes)}),
        "zones": [
            {
                "zone": zone,
                "months": [
                    {"month": month + 1, "volume_l": year.volume_l[row, month]}
                    for month in range(12)
                ],
                "year_l": year.volume_l[row].sum(),
            }
            for row, zone in enumerate(budget.plan.site.zones.zone)
        ],
        "site": {
            "year_l": year.volume_l.sum(),
            "cost": _number(budget.cost),
            "allowance_l": year.allowance_l,
            "estimated_use_l": year.estimated_use_l.sum(),
            "today_l": None if year.today_l is None else year.today_l.sum(),
            "today_cost": _number(budget.today_cost),
        },
        **_growing_data(budget),
        "steps": [
            {"text": words.saving_text(budget, saving), "saves_l": saving.saves_l}
            for saving in budget.savings
        ],
    }


def _growing_data(budget: Budget) -> dict[str, Any]:
    """Water of steps of new plantings; nothing where none are to come."""
    found = [
        {
            "zone": one.zone,
            "from": one.first.isoformat(),
            "to": one.last.isoformat(),
            "steps_l": one.steps_l,
            "table_l": one.table_l,
        }
        for one in growing_in(budget.plan)
    ]
    return {"new_plantings": found} if found else {}


def _goes_data(budget: Budget, goes: Goes) -> dict[str, Any]:
    """Where the water goes, zones in file order."""
    keys = [f"{loss.replace('-', '_')}_l" for loss in LOSSES]
    return {
        "of": goes.of,
        "zones": [
            {
                "zone": zone,
                "water_l": goes.water_l[row],
                "plants_l": goes.plants_l[row],
                **dict(zip(keys, goes.lost_l[:, row].tolist(), strict=True)),
            }
            for row, zone in enumerate(budget.plan.site.zones.zone)
        ],
    }


def _number(amount: Decimal | None) -> float | None:
    return None if amount is None else float(amount)


def sheets(budget: Budget, goes: Goes | None = None) -> list[tuple[str, Table]]:
    """First sheets of a workbook: the tables of the text."""
    zones, volume_l = budget.plan.site.zones, budget.year.volume_l
    return [
        (words.THE_YEAR, budget_tables.the_year(budget, compared=True)),
        (words.WATER_SHEET, in_a_year(zones, volume_l, "volume")),
        (words.BILLS_SHEET, budget_tables.by_bill(budget)),
        (words.ZONES_SHEET, budget_tables.by_zone(budget)),
        (words.SAVINGS_SHEET, budget_tables.savings(budget)),
        *(
            [(words.GOES_SHEET, budget_tables.where_it_goes(goes, budget))]
            if goes is not None
            else []
        ),
    ]


def to_table(budget: Budget) -> Table:
    """A row for each zone and month, for CSV.

    `cost` is the zone's share of the charge for water on its bill; fixed charges are
    of no zone.
    """
    year, zones = budget.year, budget.plan.site.zones
    count, column = len(zones), words.ROWS.column

    def of_zone(values: Sequence[Any]) -> list[Any]:
        return [value for value in values for _ in range(12)]

    columns = [
        column("zone", of_zone(zones.zone)),
        column("station", of_zone(zones.station.tolist())),
        column("name", of_zone(zones.name)),
        column("month", [m for _ in range(count) for m in range(1, 13)]),
        column("volume", year.volume_l.reshape(-1).tolist(), "volume"),
    ]
    if budget.charges:
        charges = [cell for row in budget.charges for cell in row]
        currency = budget.plan.site.water.currency
        columns.append(column("cost", charges, text="{:.2f}".format, unit=currency))
    if year.today_l is not None:
        today = year.today_l.reshape(-1).tolist()
        columns.append(column("today", today, "volume"))
    return Table(tuple(columns))
