"""Catch-can tests as blocks, a table, and data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from scheduler.rates.cans import CanTests
from scheduler.report.blocks import Block, Heading, Paragraph, sections
from scheduler.report.frames import Table
from scheduler.report.shown import number
from scheduler.report.words import sentences
from scheduler.report.words.heads import cans as words
from scheduler.report.words.sentences import as_data


def to_table(tests: CanTests) -> Table:
    """A row for each zone that was tested."""
    rows = _tested(tests)

    def of(values: np.ndarray) -> list[Any]:
        return values[rows].tolist()

    column = words.COLUMNS.column
    return Table(
        (
            column("zone", [tests.zone[row] for row in rows]),
            column("cans", of(tests.cans)),
            column("rate", of(tests.rate_mm_h), "rate"),
            column("uniformity_lq", of(tests.uniformity), text="{:.2f}".format),
            column("uniformity_lh", of(tests.uniformity_lh), text="{:.2f}".format),
            column("christiansen_percent", of(tests.christiansen_percent), text=number),
            column(
                "run_time_multiplier",
                of(tests.run_time_multiplier),
                text="{:.2f}".format,
            ),
            column("driest", [" ".join(tests.driest[row]) for row in rows]),
        )
    )


def blocks(tests: CanTests, units: str) -> list[Block]:
    """Results by zone, how the quarter was taken, and what the cans say to do."""
    return [
        Heading(words.TITLE, 1, runs_on=True),
        to_table(tests),
        Paragraph([words.quarters(tests.cans[_tested(tests)].tolist())]),
        *sections([(sentences.CAUTIONS, sentences.grouped(tests.cautions, units))]),
        Paragraph([words.USE]),
    ]


def to_data(tests: CanTests, units: str) -> dict[str, Any]:
    """Results for programs."""
    return {
        "zones": [
            {
                "zone": tests.zone[row],
                "cans": tests.cans[row],
                "rate_mm_h": tests.rate_mm_h[row],
                "uniformity_lq": tests.uniformity[row],
                "uniformity_lh": tests.uniformity_lh[row],
                "christiansen_percent": tests.christiansen_percent[row],
                "run_time_multiplier": tests.run_time_multiplier[row],
            }
            for row in _tested(tests)
        ],
        "cautions": as_data(tests.cautions, units),
    }


def _tested(tests: CanTests) -> Sequence[int]:
    return np.flatnonzero(tests.cans).tolist()
