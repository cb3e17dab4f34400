"""One watering night: blocks, a table for CSV, and data for programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from scheduler.calendar import S_PER_MIN
from scheduler.plan.night.month import NightRun
from scheduler.plan.night.plan import NightPlan
from scheduler.plan.times.windows import clock_text
from scheduler.report import shown
from scheduler.report.blocks import Block, Heading, Paragraph, sections
from scheduler.report.frames import Table
from scheduler.report.words import plantings as young
from scheduler.report.words import sentences
from scheduler.report.words.controller import night as words

_LONGEST_NAME = 30


def blocks(found: NightPlan, units: str) -> list[Block]:
    """The night as it runs: what it takes, its hours, every run on the clock."""
    return [
        Heading(words.title(found), 1, words.facts(found)),
        *([runs_table(found)] if found.night.runs else []),
        *sections([(young.TITLE, _plantings(found))]),
        *sections(words.notes(found, units)),
        Paragraph(sentences.WATCH),
    ]


def _plantings(found: NightPlan) -> list[str]:
    """What new plantings get on the night's date, in place of a run by night."""
    date, zones = found.night.date, found.plan.site.zones.zone
    steps = [(new, new.step_on(date)) for new in found.plan.plantings]
    return [young.on_date(zones[new.zone], step, date) for new, step in steps if step]


def runs_table(found: NightPlan) -> Table:
    """Every run, in the order of its start."""
    zones, night = found.plan.site.zones, found.night
    runs = sorted(night.runs, key=lambda run: (run.start_s, zones.station[run.zone]))
    cycles = {row: sum(run.zone == row for run in runs) for row in night.hours}
    column, stamp = words.COLUMNS.column, words.stamps(found)
    columns = [
        column("start", [stamp(run.start_s) for run in runs]),
        column("end", [stamp(run.end_s) for run in runs]),
        column("minutes", [_minutes(run) for run in runs], text=shown.minutes),
        column("station", [int(zones.station[run.zone]) for run in runs]),
        column("zone", [zones.zone[run.zone] for run in runs]),
        column("name", [_name(found, run.zone) for run in runs]),
        column("cycle", [words.cycle_of(run.cycle, cycles[run.zone]) for run in runs]),
        column("flow", [found.planner.flow_l_min[r.zone] for r in runs], "flow"),
    ]
    if not night.fits:
        late = [words.AFTER_CLOSING if run.over_s else "" for run in runs]
        columns.append(column("over", late))
    return Table(tuple(columns))


def _minutes(run: NightRun) -> float:
    return (run.end_s - run.start_s) / S_PER_MIN


def _name(found: NightPlan, row: int) -> str:
    """What people call a zone, where that says more than its number."""
    zones = found.plan.site.zones
    return shown.cut(shown.own_name(zones.zone[row], zones.name[row]), _LONGEST_NAME)


def to_table(found: NightPlan) -> Table:
    """A row for each run, for CSV."""
    zones, night = found.plan.site.zones, found.night
    column, runs = words.COLUMNS.column, night.runs
    return Table(
        (
            column("date", [night.date for _ in runs]),
            column("start", [_iso(found, run.start_s) for run in runs]),
            column("end", [_iso(found, run.end_s) for run in runs]),
            column("minutes", [_minutes(run) for run in runs], text=shown.minutes),
            column("station", [int(zones.station[r.zone]) for r in runs]),
            column("zone", [zones.zone[run.zone] for run in runs]),
            column("name", [zones.name[run.zone] for run in runs]),
            column("cycle", [run.cycle for run in runs]),
            column(
                "minutes_over",
                [r.over_s / S_PER_MIN for r in runs],
                text=shown.minutes,
            ),
            column("flow", [found.planner.flow_l_min[r.zone] for r in runs], "flow"),
        )
    )


def to_data(found: NightPlan) -> dict[str, Any]:
    """The night for programs: times with their distance from UTC."""
    night, zones = found.night, found.plan.site.zones
    runs: Sequence[NightRun] = night.runs
    return {
        "date": night.date.isoformat(),
        "pieces": [
            {"opens": _iso(found, opens), "closes": _iso(found, closes)}
            for opens, closes in night.pieces
        ],
        "runs": [
            {
                "zone": zones.zone[run.zone],
                "cycle": run.cycle,
                "start": _iso(found, run.start_s),
                "end": _iso(found, run.end_s),
            }
            for run in runs
        ],
        "ends": _iso(found, night.ends_s) if runs else None,
        "fits": night.fits,
        "minutes_over": night.over_s / S_PER_MIN,
        "least_possible_end": _iso(found, night.least_end_s) if runs else None,
        **_plantings_data(found),
    }


def _plantings_data(found: NightPlan) -> dict[str, Any]:
    """Starts of new plantings on the date, by the site's clock."""
    date, zones = found.night.date, found.plan.site.zones.zone
    new = [
        {
            "zone": zones[planting.zone],
            "starts": [clock_text(s) for s in step.starts_min if date in step.dates],
            "minutes": step.minutes,
        }
        for planting in found.plan.plantings
        if (step := planting.step_on(date))
    ]
    return {"new_plantings": new} if new else {}


def _iso(found: NightPlan, seconds: int) -> str:
    return found.planner.hours.clock(seconds).isoformat()
