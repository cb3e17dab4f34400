"""Catch-can tests as blocks, a table, and data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from scheduler.rates.cans import CanTests
from scheduler.rates.uniformity import nearest_part
from scheduler.report.blocks import Block, Heading, Paragraph, sections
from scheduler.report.frames import Column, Table
from scheduler.report.shown import listed, number
from scheduler.report.words import sentences
from scheduler.report.words.sentences import as_data


def to_table(tests: CanTests) -> Table:
    """A row for each zone that was tested."""
    rows = _tested(tests)

    def of(values: np.ndarray) -> list[Any]:
        return values[rows].tolist()

    return Table(
        (
            Column("zone", "zone", [tests.zone[row] for row in rows]),
            Column("cans", "cans", of(tests.cans)),
            Column("rate", "rate", of(tests.rate_mm_h), "rate"),
            Column("uniformity_lq", "lower\nquarter", of(tests.uniformity),
                   text="{:.2f}".format),
            Column("uniformity_lh", "lower\nhalf", of(tests.uniformity_lh),
                   text="{:.2f}".format),
            Column("christiansen_percent", "Christi-\nansen %",
                   of(tests.christiansen_percent), text=number),
            Column("run_time_multiplier", "run-time\nmultiplier",
                   of(tests.run_time_multiplier), text="{:.2f}".format),
            Column("driest", "driest quarter",
                   [" ".join(tests.driest[row]) for row in rows]),
        )
    )  # fmt: skip


def blocks(tests: CanTests, units: str) -> list[Block]:
    """Results by zone, how the quarter was taken, and what the cans say to do."""
    return [
        Heading("Catch-can test", 1, runs_on=True),
        to_table(tests),
        Paragraph([_quarters(tests)]),
        *sections([("Cautions", sentences.grouped(tests.cautions, units))]),
        Paragraph([_USE]),
    ]


_USE = (
    "To plan with it, save the file as cans.csv in the site's folder: the zone's "
    "minutes then go by the rate that the cans caught, its run-time multiplier by "
    "their lower quarter, and its water by the flow as before. Test on a still day "
    "(wind under 5 mph, 8 km/h), and go to the driest cans first: a tilted or sunken "
    "head, a worn nozzle or a wide gap is likely near them."
)


def _quarters(tests: CanTests) -> str:
    """How many cans the lower quarter is, for each number of cans."""
    counts = sorted(set(tests.cans[_tested(tests)].tolist()))
    taken = listed([f"{nearest_part(n, 4)} of {n} cans" for n in counts])
    return (
        "Uniformity of the lower quarter is the mean of the driest quarter over the "
        f"mean of all: {taken}, a quarter to the nearest whole number, a half up."
    )


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
