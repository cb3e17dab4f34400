"""The working of one zone and month of a table by days: minutes, and the ladder."""

from __future__ import annotations

from typing import Any

from scheduler.balance.years import Years
from scheduler.calendar import PARITIES, weekday_names
from scheduler.lines import COMMON_PRACTICE, HOUSE_RULE
from scheduler.plan import candidates
from scheduler.plan.ladder import Ladder, Rung, ladder_of
from scheduler.plan.site import SitePlan
from scheduler.plan.times import cycles, days
from scheduler.report import frames, shown
from scheduler.report.blocks import Block, Heading, Paragraph
from scheduler.report.frames import Column, Table
from scheduler.report.views.workings.steps import Working
from scheduler.report.words.ladder import days_of_rung, legend, reason

KEPT = "Setting kept"
"""Section of the working before which the ladder stands."""


def ladder(
    plan: SitePlan, row: int, month: int, *, whole: bool = False
) -> Ladder | None:
    """The ladder of a zone and month, rows from 0; None for a table by months."""
    if plan.settings is None:
        return None
    return ladder_of(plan.inputs, plan.settings, row, month, whole=whole)


def range_of_minutes(w: Working, plan: SitePlan, row: int, month: int) -> None:
    """Steps to the least and most minutes of a watering day."""
    found = ladder(plan, row, month)
    if found is None or found.kept is None:
        return
    w.section = "Least and most minutes"
    light = 0.0 if plan.inputs.valve.drip[row] else candidates.LIGHT_WATERING_MM
    w.given("light_event", light, COMMON_PRACTICE)
    w.line(candidates.LEAST_USEFUL)
    w.line(candidates.LEAST_MINUTES)
    w.line(candidates.FULL_MINUTES)
    if found.kept.minutes:
        w.given("need_of_years", found.need_mm_day, "the years that are played")
        _days_per_week(w, found.kept)
        w.line(candidates.NEED_MINUTES)
        w.line(candidates.MOST_MINUTES)


def _days_per_week(w: Working, kept: Rung) -> None:
    w.given_text("days", days_of_rung(kept), "the pattern kept")
    if kept.every_days:
        w.given("every_days", kept.every_days, "the pattern kept")
        w.line(days.DAYS_PER_WEEK)
    else:
        w.given("days_per_week", kept.days_per_week, "calendar")


def kept(w: Working, plan: SitePlan, row: int, month: int) -> bool:
    """Steps to the minutes of a watering day; False where the month is off."""
    w.section = KEPT
    schedule = plan.plan.schedule
    if not schedule.cycles[row, month]:
        w.given_text("month", frames.off_reason(plan, row, month), HOUSE_RULE)
        return False
    w.given("cycles", schedule.cycles[row, month], "the rung kept")
    w.given("cycle_minutes", schedule.cycle_min[row, month], "the rung kept")
    w.line(cycles.DAY_MINUTES, schedule.minutes_per_day[row, month])
    return True


def ladder_blocks(found: Ladder, years: Years, units: str) -> list[Block]:
    """The ladder as a table, and why its marked rung was kept."""
    if not found.rungs:
        return []
    why = Paragraph([reason(found, units), *legend(found, years)])
    return [Heading("The ladder", 2), ladder_table(found), why]


def ladder_table(found: Ladder) -> Table:
    """Rungs: setting, water of the month, and how dry it leaves the ground."""
    rungs = found.rungs
    return Table(
        (
            Column("kept", "", ["kept" if r.kept else "" for r in rungs]),
            Column("days", "watering days", [days_of_rung(r) for r in rungs]),
            Column("minutes", "min\na day", [r.minutes for r in rungs],
                   text=_or_blank),
            Column("cycles", "cycles", [_cycles(r) for r in rungs]),
            Column("water", "water\na month", [r.water_mm for r in rungs], "depth"),
            Column("dry_days_percent", "dry of\n100 d", [100 * r.dry for r in rungs],
                   text=_tenths),
            Column("left_dry_percent", "left dry\nof 100",
                   [100 * r.left_dry for r in rungs], text=_tenths),
            Column("suffices", "within\nlimits",
                   ["yes" if r.suffices else "no" for r in rungs]),
        )
    )  # fmt: skip


def _or_blank(value: float) -> str:
    return shown.minutes(value) if value else ""


def _tenths(value: float) -> str:
    return f"{value:.1f}"


def _cycles(rung: Rung) -> str:
    return f"{rung.cycles} x {shown.minutes(rung.cycle_min)}" if rung.cycles else ""


def ladder_data(found: Ladder, units: str) -> dict[str, Any]:
    """The ladder for programs."""
    return {
        "reason": found.reason,
        "text": reason(found, units),
        "rungs": [
            {
                "days": weekday_names(r.weekdays),
                "parity": PARITIES[r.parity] or None,
                "every_days": r.every_days or None,
                "minutes_per_day": r.minutes,
                "cycles": r.cycles,
                "cycle_minutes": r.cycle_min,
                "water_mm": r.water_mm,
                "dry_days_percent": 100 * r.dry,
                "left_dry_percent": 100 * r.left_dry,
                "suffices": r.suffices,
                "kept": r.kept,
            }
            for r in found.rungs
        ],
    }
