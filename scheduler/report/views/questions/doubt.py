"""What to doubt: blocks, a table for CSV, and data for programs."""

from __future__ import annotations

import math
from typing import Any

from scheduler.findings.doubt import Doubted, Doubts
from scheduler.report.blocks import Block, Heading, Paragraph, sections
from scheduler.report.frames import Table
from scheduler.report.words import sentences
from scheduler.report.words.questions import doubt as words

MOST_ROWS = 24
"""Rows that people are shown; CSV and JSON have all."""


def blocks(found: Doubts, units: str) -> list[Block]:
    """What the answer hangs on, what to measure, and what that says."""
    return [
        Heading(words.title(found.plan.site.name), 1, words.facts()),
        *sections([(sentences.WHAT_THAT_SAYS, words.said(found))]),
        Heading(words.WHAT_IT_HANGS_ON, 3),
        _rows(found, units),
        Heading(words.WHAT_TO_MEASURE, 3),
        _measures(found),
        *sections([(sentences.HOW_RECKONED, words.notes(found))]),
        Paragraph(sentences.WATCH),
    ]


def _rows(found: Doubts, units: str) -> Table:
    column, rows = words.OF_ROWS.column, found.rows[:MOST_ROWS]

    def ends(name: str) -> list[str]:
        return [words.value_text(row.field, getattr(row, name), units) for row in rows]

    return Table(
        (
            column("zone", [words.zone_of(row, found) for row in rows]),
            column("what", [words.NAMES[row.field] for row in rows]),
            *(column(name, ends(name)) for name in ("low", "value", "high")),
            column("water_low", [row.water_low_l for row in rows], "volume"),
            column("water_high", [row.water_high_l for row in rows], "volume"),
            column("dry_low", [100 * r.dry_low for r in rows], text="{:.0f}".format),
            column("dry_high", [100 * r.dry_high for r in rows], text="{:.0f}".format),
        )
    )


def _measures(found: Doubts) -> Table:
    column, rows = words.OF_MEASURES.column, found.measurements[:MOST_ROWS]
    return Table(
        (
            column("what", [words.MEASURES[row.what] for row in rows]),
            column("zone", [words.zone_of(row, found) for row in rows]),
            column("takes", [words.takes(row) for row in rows]),
            column("wrong", [row.wrong_l for row in rows], "volume"),
            column("dry", [100 * row.dry for row in rows], text="{:.0f}".format),
            column("worth", [words.verdict(row) for row in rows]),
        )
    )


def sheets(found: Doubts, units: str) -> list[tuple[str, Table]]:
    """First sheets of a workbook: what the answer hangs on in the reader's units."""
    return [
        (words.HANGS_SHEET, _rows(found, units)),
        (words.WHAT_TO_MEASURE, _measures(found)),
    ]


def to_data(found: Doubts) -> dict[str, Any]:
    """The answer for programs, what most hangs on first."""
    zones = found.plan.site.zones.zone

    def zone(row: int | None) -> str | None:
        return None if row is None else zones[row]

    def number(value: float) -> float | None:
        return value if math.isfinite(value) else None

    return {
        "inputs": [
            {
                "field": row.field,
                "zone": zone(row.zone),
                "low": number(row.low),
                "value": number(row.value),
                "high": number(row.high),
                "water_low_l_year": row.water_low_l,
                "water_high_l_year": row.water_high_l,
                "minutes_low_week": row.minutes_low_week,
                "minutes_high_week": row.minutes_high_week,
                "dry_low_percent": 100 * row.dry_low,
                "dry_high_percent": 100 * row.dry_high,
                "wrong_l_year": row.wrong_l,
                "measure": row.measure,
            }
            for row in found.rows
        ],
        "measurements": [
            {
                "measure": one.what,
                "zone": zone(one.zone),
                "fields": list(one.fields),
                "takes_min": one.takes_min,
                "wrong_l_year": one.wrong_l,
                "worth": one.worth,
            }
            for one in found.measurements
        ],
    }


def to_table(found: Doubts) -> Table:
    """A row for each input in doubt, for CSV; low, plan and high are SI."""
    column, rows = words.ROWS.column, found.rows

    def numbers(name: str, factor: float = 1.0) -> list[float]:
        return [factor * getattr(row, name) for row in rows]

    def texts(row: Doubted) -> str:
        return words.SOURCES[row.source]

    whole = "{:.0f}".format
    return Table(
        (
            column("zone", [words.zone_of(row, found) for row in rows]),
            column("field", [row.field for row in rows]),
            *(column(name, numbers(name)) for name in ("low", "value", "high")),
            column("water_low_year", numbers("water_low_l"), "volume"),
            column("water_high_year", numbers("water_high_l"), "volume"),
            column("minutes_low_week", numbers("minutes_low_week"), text=whole),
            column("minutes_high_week", numbers("minutes_high_week"), text=whole),
            column("dry_low_percent", numbers("dry_low", 100), text=whole),
            column("dry_high_percent", numbers("dry_high", 100), text=whole),
            column("wrong_year", numbers("wrong_l"), "volume"),
            column("measure", [words.MEASURES[row.measure] for row in rows]),
            column("source", [texts(row) for row in rows]),
        )
    )
