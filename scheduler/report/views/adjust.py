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
        Heading(f"Adjust: {plan.site.name}", 1, words.facts(found, units)),
        _zones(found),
        *sections([("What goes with it", words.said(found, units))]),
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
            ("The weather", words.weather_notes(found)),
            ("Cautions", sentences.grouped(hard, units)),
            ("How it is reckoned", words.notes(found)),
        ]
    )
    return [*parts, Paragraph(sentences.WATCH)]


def _zones(found: Adjusted) -> Table:
    zones = found.stage.plan.site.zones
    columns = [
        Column("zone", "zone", list(zones.zone)),
        Column("name", "name", list(map(shown.own_name, zones.zone, zones.name))),
        Column("percent", "percent", found.percent.tolist(), text=_percent_text),
    ]
    by = found.stage.plan.site.controller.percent_by
    if by == "none":
        columns.append(Column("runs", "key in", _runs_texts(found)))
    elif found.of == "card":
        columns.append(
            Column("key", "key in", found.key_percent.tolist(), text=_percent_text)
        )
    return Table(
        (
            *columns,
            Column("skip", "skip until", [_date(d) for d in found.skip_until]),
            *_depths(found),
        )
    )


def _depths(found: Adjusted) -> list[Column]:
    """What each zone lacks, what is usual, and what it may; of its first part."""
    first = _first_parts(found)
    day = np.datetime64(found.date).astype("datetime64[M]").astype(int) % 12
    allowed = found.stage.plan.inputs.ground.allowed_depletion_mm
    allowed = np.broadcast_to(allowed, (len(allowed), 12))[:, day]
    return [
        Column("deficit", "lacking", found.ground.deficit_mm[first].tolist(), "depth"),
        Column("usual", "usual\nthen", found.usual_mm[first].tolist(), "depth"),
        Column("allowed", "may\nlack", allowed[first].tolist(), "depth"),
    ]


def _first_parts(found: Adjusted) -> list[int]:
    """The part of each valve that lacks most beyond the usual."""
    valve = found.stage.plan.inputs.ground.valve
    beyond = found.ground.deficit_mm - found.usual_mm
    rows = range(len(found.percent))
    return [int(np.argmax(np.where(valve == row, beyond, -np.inf))) for row in rows]


def _percent_text(percent: float) -> str:
    if np.isnan(percent):
        return "-"
    return "off" if percent == 0 else f"{percent:.0f} %"


def _runs_texts(found: Adjusted) -> list[str]:
    texts = []
    for percent, cycles, minutes in zip(
        found.percent.tolist(), found.cycles.tolist(), found.cycle_min.tolist(),
        strict=True,
    ):  # fmt: skip
        run = f"{shown.minutes(minutes)} min"
        many = run if cycles == 1 else f"{cycles:.0f} × {run}"
        texts.append(many if percent > 0 else _percent_text(percent))
    return texts


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

    return Table(
        (
            Column("from", "from",
                   [words.date_text(lately.first + ONE_DAY * f) for f, _ in spans]),
            Column("et0", "ET0", sums(lately.et0_mm), "depth"),
            Column("need", "need", sums(ground.need_mm[part]), "depth"),
            Column("taken", "taken\nup", sums(ground.et_mm[part].mean(axis=1)),
                   "depth"),
            Column("rain", "rain", sums(lately.rain_mm), "depth"),
            Column("watered", "watered", sums(ground.water_mm[part]), "depth"),
            Column("drained", "drained", sums(ground.drained_mm[part].mean(axis=1)),
                   "depth"),
            Column("lacking", "lacking\nat the end",
                   [float(depletion[end - 1]) for _, end in spans], "depth"),
        )
    )  # fmt: skip


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
    zones = found.stage.plan.site.zones

    def dates(values: Sequence[datetime.date | None]) -> list[str]:
        return ["" if date is None else date.isoformat() for date in values]

    return Table(
        (
            Column("zone", "zone", list(zones.zone)),
            Column("name", "name", list(zones.name)),
            Column("date", "week from", [found.date.isoformat()] * len(zones)),
            Column("percent", "percent", found.percent.tolist()),
            Column("key_percent", "key in", found.key_percent.tolist()),
            Column("cycles", "cycles", found.cycles.astype(int).tolist()),
            Column("cycle_minutes", "cycle minutes", found.cycle_min.tolist()),
            Column("skip_until", "skip until", dates(found.skip_until)),
            Column("dry_from", "dry from", dates(found.dry_from)),
            *_depths(found),
        )
    )
