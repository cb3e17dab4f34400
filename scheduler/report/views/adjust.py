"""This week's percent: blocks, a table for CSV, and data for programs."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import Any

import numpy as np

from scheduler.budget.adjust import Adjusted
from scheduler.calendar import ONE_DAY, WEEK
from scheduler.cautions import HARD_LIMITS
from scheduler.report import shown
from scheduler.report.blocks import Block, Heading, Notes, Paragraph, sections
from scheduler.report.frames import Column, Table
from scheduler.report.words import adjust as words
from scheduler.report.words import sentences

_MOST_WEEKS = 8


def blocks(found: Adjusted, working_of: Sequence[int], units: str) -> list[Block]:
    """What to set, what goes with it, and the working of some zones."""
    plan = found.stage.plan
    hard = [c for c in plan.cautions if c.code in HARD_LIMITS and found.of != "today"]
    parts: list[Block] = [
        Heading(words.title(plan.site.name), 1, words.facts(found, units)),
        _zones(found),
        *sections([(words.WHAT_GOES_WITH_IT, words.said(found, units))]),
    ]
    for row in working_of:
        zones = plan.site.zones
        title = shown.zone_title(zones.zone[row], zones.name[row])
        parts += [
            Heading(title, 2),
            _weeks(found, row),
            Notes(words.working(found, row, units)),
        ]
    parts += sections(
        [
            (words.WEATHER, words.weather_notes(found)),
            (sentences.CAUTIONS, sentences.grouped(hard, units)),
            (sentences.HOW_RECKONED, words.notes(found)),
        ]
    )
    return [*parts, Paragraph(sentences.WATCH)]


def _zones(found: Adjusted) -> Table:
    column, zones = words.OF_ZONES.column, found.stage.plan.site.zones
    percents = found.percent.tolist()
    columns = [
        column("zone", list(zones.zone)),
        column("name", list(map(shown.own_name, zones.zone, zones.name))),
        column("percent", percents, text=words.percent_text),
    ]
    by = found.stage.plan.site.controller.percent_by
    if by == "none":
        cycles, minutes = found.cycles.tolist(), found.cycle_min.tolist()
        runs = list(map(words.run_text, percents, cycles, minutes))
        columns.append(column("runs", runs))
    elif found.of == "card":
        keyed = found.key_percent.tolist()
        columns.append(column("key_percent", keyed, text=words.percent_text))
    skip = [_date(day) for day in found.skip_until]
    return Table((*columns, column("skip_until", skip), *_depths(found)))


def _depths(found: Adjusted) -> list[Column]:
    """What each zone lacks, what is usual, and what it may; of its first part."""
    first = _first_parts(found)
    day = np.datetime64(found.date).astype("datetime64[M]").astype(int) % 12
    allowed = found.stage.plan.inputs.ground.allowed_depletion_mm
    allowed = np.broadcast_to(allowed, (len(allowed), 12))[:, day]
    column = words.OF_ZONES.column
    return [
        column("deficit", found.ground.deficit_mm[first].tolist(), "depth"),
        column("usual", found.usual_mm[first].tolist(), "depth"),
        column("allowed", allowed[first].tolist(), "depth"),
    ]


def _first_parts(found: Adjusted) -> list[int]:
    """The part of each valve that lacks most beyond the usual."""
    valve = found.stage.plan.inputs.ground.valve
    beyond = found.ground.deficit_mm - found.usual_mm
    rows = range(len(found.percent))
    return [int(np.argmax(np.where(valve == row, beyond, -np.inf))) for row in rows]


def _date(date: datetime.date | None) -> str:
    return "" if date is None else words.date_text(date)


def _weeks(found: Adjusted, row: int) -> Table:
    """The ground of a zone week by week to the date: what came, what went."""
    part, lately, ground = _first_parts(found)[row], found.lately, found.ground
    count = len(lately.days)
    ends = list(range(count, 0, -WEEK))[:_MOST_WEEKS][::-1]
    spans = [(max(end - WEEK, 0), end) for end in ends]
    depletion = ground.depletion_mm[part].mean(axis=1)

    def sums(values: np.ndarray) -> list[float]:
        return [float(values[first:end].sum()) for first, end in spans]

    column = words.OF_WEEKS.column
    dates = [words.date_text(lately.first + ONE_DAY * first) for first, _ in spans]
    lacking = [float(depletion[end - 1]) for _, end in spans]
    return Table(
        (
            column("from", dates),
            column("et0", sums(lately.et0_mm), "depth"),
            column("need", sums(ground.need_mm[part]), "depth"),
            column("taken", sums(ground.et_mm[part].mean(axis=1)), "depth"),
            column("rain", sums(ground.rain_mm[part]), "depth"),
            column("watered", sums(ground.water_mm[part]), "depth"),
            column("drained", sums(ground.drained_mm[part].mean(axis=1)), "depth"),
            column("lacking", lacking, "depth"),
        )
    )


def to_data(found: Adjusted) -> dict[str, Any]:
    """This week's settings for programs, zones in file order."""
    zones, first = found.stage.plan.site.zones, _first_parts(found)
    return {
        "zones": [
            {
                "zone": zones.zone[row],
                "percent": float(found.percent[row]),
                "skip_until": None if date is None else date.isoformat(),
                "deficit_mm": float(found.ground.deficit_mm[first[row]]),
            }
            for row, date in enumerate(found.skip_until)
        ]
    }


def to_table(found: Adjusted) -> Table:
    """A row for each zone, for CSV."""
    column, zones = words.OF_ZONES.column, found.stage.plan.site.zones

    def dates(values: Sequence[datetime.date | None]) -> list[str]:
        return ["" if date is None else date.isoformat() for date in values]

    return Table(
        (
            column("zone", list(zones.zone)),
            column("name", list(zones.name)),
            column("date", [found.date.isoformat()] * len(zones)),
            column("percent", found.percent.tolist()),
            column("key_percent", found.key_percent.tolist()),
            column("cycles", found.cycles.astype(int).tolist()),
            column("cycle_minutes", found.cycle_min.tolist()),
            column("skip_until", dates(found.skip_until)),
            column("dry_from", dates(found.dry_from)),
            *_depths(found),
        )
    )
