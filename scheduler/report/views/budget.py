"""The water budget: blocks, a table for CSV, and data for programs."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

import numpy as np

from scheduler.budget.savings import Budget, Saving
from scheduler.budget.water import (
    DRIP_EFFICIENCY,
    ORDINANCE_CONVERSION,
    OVERHEAD_EFFICIENCY,
)
from scheduler.errors import HARD_LIMITS
from scheduler.report import shown
from scheduler.report.blocks import Block, Heading, Paragraph, sections
from scheduler.report.frames import Column, Table
from scheduler.report.views import budget_tables
from scheduler.report.words import sentences

MOST_STEPS = 12
"""Steps that people are shown; programs get all of them."""


def blocks(budget: Budget, units: str) -> list[Block]:
    """The year against allowance and today, by zone and month, and what would save."""
    scale, by_month = budget_tables.zone_months(budget, units)
    hard = [c for c in budget.plan.cautions if c.code in HARD_LIMITS]
    name = budget.plan.site.name
    return [
        Heading(f"Water budget: {name}", 1, [_facts(budget, units)]),
        Heading("The year", 3),
        budget_tables.the_year(budget),
        *sections([("What that says", _said(budget, units))]),
        Heading(f"Water by zone and month, {scale}", 3),
        by_month,
        Heading("By bill" if budget.bills else "By month", 3),
        budget_tables.by_bill(budget),
        Heading("By zone, a year", 3),
        budget_tables.by_zone(budget),
        Heading("From the estimated use to the plan", 3),
        budget_tables.differences(budget),
        *sections(
            [
                ("What one step would save", _steps(budget, units)),
                ("Cautions", sentences.grouped(hard, units)),
                ("How it is reckoned", _notes(budget)),
            ]
        ),
        Paragraph(sentences.WORK_SAFELY),
        Paragraph(sentences.WATCH),
    ]


def to_data(budget: Budget) -> dict[str, Any]:
    """Water budget for programs; cost and today are null where not known."""
    year = budget.year
    return {
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
        "steps": [
            {"text": saving_text(budget, saving), "saves_l": saving.saves_l}
            for saving in budget.savings
        ],
    }


def _number(amount: Decimal | None) -> float | None:
    return None if amount is None else float(amount)


def to_table(budget: Budget) -> Table:
    """A row for each zone and month, for CSV.

    `cost` is the zone's share of the charge for water on its bill; fixed charges are
    of no zone.
    """
    year, zones = budget.year, budget.plan.site.zones
    count = len(zones)

    def of_zone(values: Sequence[Any]) -> list[Any]:
        return [value for value in values for _ in range(12)]

    columns = [
        Column("zone", "zone", of_zone(zones.zone)),
        Column("station", "station", of_zone(zones.station.tolist())),
        Column("name", "name", of_zone(zones.name)),
        Column("month", "month", [m for _ in range(count) for m in range(1, 13)]),
        Column("volume", "volume", year.volume_l.reshape(-1).tolist(), "volume"),
    ]
    if budget.charges:
        columns.append(
            Column("cost", f"cost {budget.plan.site.water.currency}".rstrip(),
                   [cell for row in budget.charges for cell in row],
                   text="{:.2f}".format)
        )  # fmt: skip
    if year.today_l is not None:
        today = year.today_l.reshape(-1).tolist()
        columns.append(Column("today", "today", today, "volume"))
    return Table(tuple(columns))


def money(amount: Decimal, currency: str) -> str:
    """Amount with its sign before it, or its code or word after it."""
    number = f"{abs(amount):,.2f}"
    minus = "-" if amount < 0 else ""
    if any(unicodedata.category(letter) == "Sc" for letter in currency):
        return f"{minus}{currency}{number}"
    return f"{minus}{number} {currency}".rstrip()


def saving_text(budget: Budget, saving: Saving) -> str:
    """One step in words, without what it saves."""
    values = saving.values
    if saving.code == "season":
        months = shown.months_text(values["months"])
        return (
            f"all zones: set 90 % of the plan's minutes in {months}; plants then get "
            "a tenth less than they need"
        )
    if saving.code == "days":
        return "all zones: water on any day of the week, if the local rule changes"
    zones = budget.plan.site.zones
    row = saving.zone if saving.zone is not None else 0
    place = _zone_name(zones.zone[row], zones.name[row])
    if saving.code == "plant":
        return f"{place}: {values['then']} in place of {values['now']}"
    uniformity = f"uniformity from {values['now']:.2f} to {values['then']:.2f}"
    if saving.code == "matched-heads":
        return f"{place}: matched nozzles, {uniformity}"
    return (
        f"{place}: {uniformity} (clean nozzles, straight heads, right pressure and "
        "spacing)"
    )


def _zone_name(zone: str, name: str) -> str:
    return f"zone {shown.zone_label(zone, name)}"


def _facts(budget: Budget, units: str) -> str:
    plan, year = budget.plan, budget.year
    area, total = float(year.area_m2.sum()), float(year.volume_l.sum())
    digits = 1 if units == "us" else 0
    et0 = shown.quantity(year.et0_mm, "depth", units, digits)
    deep = shown.quantity(total / area, "depth", units, digits)
    text = (
        f"Climate {plan.months.source}: ET0 {et0} a year. {len(year.area_m2)} "
        f"zone{'s' * (len(year.area_m2) != 1)} on "
        f"{shown.quantity(area, 'area', units)} take "
        f"{shown.quantity(total, 'volume', units)} a year, {deep} deep over that ground"
    )
    if budget.cost is None:
        return f"{text}."
    return f"{text}; it costs {_money(budget, budget.cost)}."


def _money(budget: Budget, amount: Decimal) -> str:
    return money(amount, budget.plan.site.water.currency)


def _said(budget: Budget, units: str) -> list[str]:
    """Plan against allowance and against today, in words."""
    year, names = budget.year, budget.plan.site.names
    tiers = names.told_table("water.tiers", "[water] tiers in site.toml")
    total = float(year.volume_l.sum())
    lines = []
    over = total - year.allowance_l
    if over > 0:
        lines.append(
            f"The plan is {shown.quantity(over, 'volume', units)} over the allowance."
        )
    else:
        lines.append(
            f"The plan is {shown.quantity(-over, 'volume', units)} under the allowance."
        )
    if year.today_l is not None:
        lines.append(_against_today(budget, units))
    if year.not_run_today:
        zones = shown.listed(list(year.not_run_today))
        lines.append(
            f"{names.told('current.csv')} has no row for "
            f"zone{'s' * (len(year.not_run_today) > 1)} {zones}: counted as not run "
            "today."
        )
    if budget.cost is None:
        lines.append(f"No cost is shown: {tiers} would give the water's price.")
    return lines


def _against_today(budget: Budget, units: str) -> str:
    year = budget.year
    assert year.today_l is not None
    less = float(year.today_l.sum() - year.volume_l.sum())
    word = "less" if less >= 0 else "more"
    text = f"It takes {shown.quantity(abs(less), 'volume', units)} {word} than today"
    if budget.cost is None or budget.today_cost is None:
        return f"{text}."
    saved = budget.today_cost - budget.cost
    word = "less" if saved >= 0 else "more"
    return f"{text}, and costs {_money(budget, abs(saved))} {word}."


def _steps(budget: Budget, units: str) -> list[str]:
    """Steps with what they save, the largest first."""
    lines = []
    for number, saving in enumerate(budget.savings[:MOST_STEPS], 1):
        saved = f"{shown.quantity(saving.saves_l, 'volume', units)} a year"
        if saving.saves_cost is not None:
            saved += f", {_money(budget, saving.saves_cost)}"
        lines.append(f"{number}. {saving_text(budget, saving)}: {saved}.")
    left = len(budget.savings) - MOST_STEPS
    if left > 0:
        lines.append(f"{left} more save less than these; --format json has them all.")
    return lines


def _notes(budget: Budget) -> list[str]:
    site, year = budget.plan.site, budget.year
    factor = site.water.allowance_factor
    lines = [
        f"Allowance: ET0 × [{factor:g} × ground + {1 - factor:.3g} × special area], by "
        "the model landscape ordinance; the factor is the local rule's. Units are "
        f"exact here; the ordinance rounds 0.6234 gal to {ORDINANCE_CONVERSION:g}.",
        "Estimated use: ET0 × plant factor / efficiency × ground, by the same "
        f"ordinance; efficiency {OVERHEAD_EFFICIENCY:g} overhead, "
        f"{DRIP_EFFICIENCY:g} drip and bubblers. Special area counts with a factor "
        f"of 1.",
    ]
    special = np.flatnonzero(year.special_area_m2 > 0).tolist()
    if special:
        zones = shown.listed([site.zones.zone[row] for row in special])
        lines.append(
            f"The special area is taken to be zone{'s' * (len(special) > 1)} {zones}, "
            "where plants need the most water."
        )
    if budget.bills:
        lines.append(
            "Bills are for this water alone: where the house is on the same meter, its "
            "use fills the lower tiers, and the same water costs more. Tiers are those "
            "of one bill; a fixed charge comes with every bill."
        )
    if budget.savings:
        lines.append(
            "Each step is planned by itself, with all else as it is: savings do not "
            "add up. Ask whether a plant suits the climate before you change it."
        )
    return lines
