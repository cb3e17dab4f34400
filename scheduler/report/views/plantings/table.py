"""Steps of a new planting: a table for people, and data for programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from scheduler.plan.plantings.steps import Planting
from scheduler.plan.site import SitePlan
from scheduler.plan.times.windows import clock_text
from scheduler.report import shown
from scheduler.report.frames import Column, Table
from scheduler.report.words import plantings as words


def steps_sheets(plan: SitePlan) -> list[tuple[str, Table]]:
    """Steps of new plantings, a sheet of a workbook for each."""
    new = [planting for planting in plan.plantings if planting.steps]
    sheets = []
    for number, planting in enumerate(new, 1):
        columns = planting_steps(planting).columns
        zone = [plan.site.zones.zone[planting.zone]] * len(columns[0].values)
        table = Table((words.COLUMNS.column("zone", zone), *columns))
        sheets.append((words.sheet(number, len(new)), table))
    return sheets


def planting_steps(planting: Planting) -> Table:
    """Steps to come of a new planting, and the table after them."""
    steps, column = planting.steps, words.COLUMNS.column
    blank = [""]

    def numbers(values: Sequence[float], dimension: str, name: str) -> Column:
        return column(name, [*values, np.nan], dimension)

    return Table(
        (
            column("from", [shown.date_text(s.first) for s in steps]
                   + [shown.date_text(planting.grown_in)]),
            column("to", [shown.date_text(s.last) for s in steps] + blank),
            column("days", [words.days(s) for s in steps] + [words.AS_THE_TABLE]),
            column("starts", [words.starts(s) for s in steps] + blank),
            column("minutes", [s.minutes * bool(s.starts_min) for s in steps] + [0],
                   text=shown.minutes_or_blank),
            column("minutes_per_day", [s.minutes_per_day for s in steps] + [0],
                   text=shown.minutes_or_blank),
            numbers([s.depth_mm or np.nan for s in steps], "catch", "apply_per_day"),
            numbers([s.root_depth_mm for s in steps], "depth", "root_depth"),
        )
    )  # fmt: skip


def planting_data(planting: Planting) -> dict[str, Any]:
    """A new planting for programs; dates of a step are all on which it waters."""
    stands = planting.established
    return {
        "planted": planting.planted.date.isoformat(),
        "stage": planting.planted.stage,
        "grown_in": planting.grown_in.isoformat(),
        "established": None if stands is None else stands.isoformat(),
        "steps": [
            {
                "first": step.first.isoformat(),
                "last": step.last.isoformat(),
                "dates": [date.isoformat() for date in step.dates],
                "every_days": step.every_days,
                "starts": [clock_text(start) for start in step.starts_min],
                "minutes": step.minutes,
                "minutes_per_day": step.minutes_per_day,
                "applied_mm_day": step.depth_mm,
                "root_depth_mm": step.root_depth_mm,
                "source": step.leaflet.source,
                "status": step.leaflet.status,
            }
            for step in planting.steps
        ],
    }
