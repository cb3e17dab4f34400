"""With less water: blocks, a table for CSV, and data for programs."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from scheduler.budget.cost import cost_of_year
from scheduler.budget.less.less import Less, Rung, mean_dry
from scheduler.budget.less.on_card import OnCard
from scheduler.cautions import HARD_LIMITS
from scheduler.report.blocks import Block, Heading, Paragraph, sections
from scheduler.report.frames import Table
from scheduler.report.views import months
from scheduler.report.views.questions.asked import Wanted, days_of, to_key_in, told
from scheduler.report.words import sentences
from scheduler.report.words.questions import less as words
from scheduler.report.words.questions.reckoned import notes


def blocks(
    found: Less, wanted: Wanted, folder: Path, rungs: tuple[Rung, ...], units: str
) -> list[Block]:
    """What is reached, who gives up what, the curve if any, and what to run then."""
    facts = words.facts(found, told(wanted, found.before.site), units)
    facts.append(words.beside_today(found, wanted.percent, units))
    parts: list[Block] = [
        Heading(words.title(found), 1, facts),
        Heading(words.WHO_GIVES, 3),
        _zones(found),
        *sections([(sentences.WHAT_THAT_SAYS, words.said(found, units))]),
    ]
    if rungs:
        parts += [
            Heading(words.THE_CURVE, 3),
            _curve(rungs),
            Paragraph([words.curve_said(rungs)]),
        ]
    parts += [Heading(words.TO_KEY_IN, 3), months.overview(found.after)]
    hard = [c for c in found.after.cautions if c.code in HARD_LIMITS]
    parts += sections(
        [
            (sentences.CAUTIONS, sentences.grouped(hard, units)),
            (
                sentences.HOW_RECKONED,
                notes(
                    found, to_key_in(wanted, found, folder), bool(wanted.days), units
                ),
            ),
        ]
    )
    return [*parts, Paragraph(sentences.WATCH)]


def _zones(found: Less) -> Table:
    zones, column = found.before.site.zones, words.OF_ZONES.column
    plants = found.before.site.plants.names
    before, after = found.before_l.sum(axis=1), found.after_l.sum(axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        less = np.where(before > 0, np.round(1 - after / before, 2) + 0.0, np.nan)
    dry = [(100 * share).tolist() for share in (found.dry_before, found.dry_after)]
    kept = [column("keep", [word or "" for word in zones.keep])] * any(zones.keep)
    return Table(
        (
            column("zone", zones.zone),
            column("name", zones.name),
            column("plant", [plants[row] for row in zones.plant]),
            *kept,
            column("before", before.tolist(), "volume"),
            column("after", after.tolist(), "volume"),
            column("less", less.tolist(), text=words.less_or_more),
            column(
                "dry_before", (100 * found.dry_before).tolist(), text="{:.0f}".format
            ),
            column("dry_after", dry[1], text="{:.0f}".format),
        )
    )


def _curve(rungs: tuple[Rung, ...]) -> Table:
    column = words.OF_CURVE.column
    return Table(
        (
            column("saved", [rung.saved for rung in rungs], text=words.less_or_more),
            column("water", [rung.water_l for rung in rungs], "volume"),
            column(
                "dry", [100 * rung.dry_share for rung in rungs], text="{:.0f}".format
            ),
            column(
                "off", [rung.turned_off for rung in rungs], text=lambda n: str(n or "-")
            ),
        )
    )


def to_data(
    found: Less, rungs: tuple[Rung, ...], wanted: Wanted | None = None
) -> dict[str, Any]:
    """The answer for programs, zones in file order."""
    zones = found.before.site.zones
    before, after = found.before_l.sum(axis=1), found.after_l.sum(axis=1)
    data: dict[str, Any] = {
        **({} if wanted is None else asked_data(wanted)),
        "target_l_year": found.target_l,
        "reached_l_year": after.sum(),
        "reached": found.reached,
        "least_l_year": found.least_l,
        "gap_percent": found.gap_percent,
        "zones": [
            {
                "zone": zone,
                "before_l_year": before[row],
                "after_l_year": after[row],
                "dry_days_percent_before": 100 * found.dry_before[row],
                "dry_days_percent_after": 100 * found.dry_after[row],
                "turned_off": row in found.turned_off,
            }
            for row, zone in enumerate(zones.zone)
        ],
    }
    if rungs:
        data["curve"] = [
            {
                "less_percent": 100 * rung.saved,
                "water_l_year": rung.water_l,
                "dry_days_percent": 100 * rung.dry_share,
                "turned_off": rung.turned_off,
            }
            for rung in rungs
        ]
    return data


def to_table(found: Less) -> Table:
    """A row for each zone, for CSV."""
    zones, column = found.before.site.zones, words.ROWS.column
    plants = found.before.site.plants.names
    before, after = found.before_l.sum(axis=1), found.after_l.sum(axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        less = np.where(before > 0, 1 - after / before, np.nan)
    return Table(
        (
            column("zone", zones.zone),
            column("name", zones.name),
            column("plant", [plants[row] for row in zones.plant]),
            column("before_year", found.before_l.sum(axis=1).tolist(), "volume"),
            column("after_year", found.after_l.sum(axis=1).tolist(), "volume"),
            column("less_percent", (100 * less).tolist()),
            column("dry_days_percent_before", (100 * found.dry_before).tolist()),
            column("dry_days_percent_after", (100 * found.dry_after).tolist()),
            column(
                "turned_off",
                ["yes" if row in found.turned_off else "" for row in range(len(zones))],
            ),
        )
    )


def sheets(found: Less) -> list[tuple[str, Table]]:
    """The year by the table and with less, and minutes a week, for a workbook."""
    column, water = words.TOTALS.column, found.before.site.water
    litres = [found.before_l, found.after_l]
    total = [float(of_zone.sum()) for of_zone in litres]
    less = [100 * (1 - of_year / total[0]) if total[0] else 0.0 for of_year in total]
    costs = [cost_of_year(of_zone.sum(axis=0), water) for of_zone in litres]
    dry = [
        100 * mean_dry(found.before, found.dry_before),
        100 * mean_dry(found.after, found.dry_after),
    ]
    priced = [column("cost", costs, unit=water.currency)] if None not in costs else []
    year = Table(
        (
            column("what", words.OF_TOTALS),
            column("water", total, "volume"),
            column("less", less, text="{:.0f}".format),
            *priced,
            column("dry", dry, text="{:.0f}".format),
        )
    )
    return [
        (words.TOTALS_SHEET, year),
        (words.MINUTES_SHEET, months.weekly_sheet(found.after)),
    ]


def asked_data(wanted: Wanted) -> dict[str, Any]:
    """What was asked for, for programs."""
    days = days_of(wanted)
    return {
        "stage": wanted.stage,
        "asked_percent": wanted.percent,
        "most_days_a_week": None if days is None else days[1],
    }


def card_lines(card: OnCard, wanted: Wanted, units: str) -> Sequence[str]:
    """What a card takes of the water that was asked for."""
    asked = told(wanted, card.found.before.site)
    return words.on_card(asked, card, units, bool(wanted.days))


def card_data(card: OnCard, wanted: Wanted) -> dict[str, Any]:
    """The same for programs."""
    return {
        **asked_data(wanted),
        "table_l_year": card.table_l,
        "card_l_year": card.water_l,
        "less_percent": 100 * card.less,
        "reached": card.reached,
    }
