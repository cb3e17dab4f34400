"""The working of one zone and month of a table by days: minutes, and the ladder."""

from __future__ import annotations

import math
from typing import Any

from scheduler.balance.years import Years
from scheduler.calendar import PARITIES, weekday_names
from scheduler.lines import COMMON_PRACTICE, HOUSE_RULE
from scheduler.plan import candidates
from scheduler.plan.ladder import Ladder, Rung, ladder_of
from scheduler.plan.site import SitePlan
from scheduler.plan.times import cycles, days
from scheduler.report import shown
from scheduler.report.blocks import Block, Heading, Paragraph
from scheduler.report.frames import Table
from scheduler.report.views.workings.steps import Working, why_not
from scheduler.report.words import ladder as ladder_words
from scheduler.report.words import workings as words


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
    w.section = words.RANGE_OF_MINUTES
    light = 0.0 if plan.inputs.valve.drip[row] else candidates.LIGHT_WATERING_MM
    w.given("light_event", light, COMMON_PRACTICE)
    w.given("need_of_years", found.need_mm_day, words.YEARS_PLAYED)
    w.given("widest_gap", found.widest_gap_days, words.SPARSEST_PATTERN)
    w.line(candidates.GAP_NEED)
    _stores_of_parts(w, plan, row, month)
    w.line(candidates.LEAST_USEFUL)
    w.line(candidates.LEAST_MINUTES)
    w.line(candidates.FULL_MINUTES)
    if found.kept.minutes:
        _days_per_week(w, found.kept)
        w.line(candidates.NEED_MINUTES)
        if math.isfinite(found.night_min):
            w.given("night_minutes", found.night_min, words.NIGHT_HOLDS)
            w.line(candidates.MOST_MINUTES_HELD)
        else:
            w.line(candidates.MOST_MINUTES)


def _stores_of_parts(w: Working, plan: SitePlan, row: int, month: int) -> None:
    """Stores that bound the minutes where parts of a zone hold more and less.

    By the rate of the part that is worked out.
    """
    parts, roots = plan.parts(row), plan.stands_on.roots
    rate_share = plan.inputs.ground.rate_share
    own = rate_share[parts] / rate_share[plan.decides[row, month]]
    least = (roots.allowed_depletion_mm[parts] / own).min()
    most = (roots.total_available_water_mm[parts] / own).max()
    for name, value, source in (
        ("allowed_depletion", least, words.LEAST_OF_PARTS),
        ("total_available_water", most, words.MOST_OF_PARTS),
    ):
        if w.values[name] != w.shown(name, float(value)):
            w.given(name, value, source)


def _days_per_week(w: Working, kept: Rung) -> None:
    w.given_text(words.DAYS, ladder_words.days_of_rung(kept), words.PATTERN_KEPT)
    if kept.every_days:
        w.given("every_days", kept.every_days, words.PATTERN_KEPT)
        w.line(days.DAYS_PER_WEEK)
    else:
        w.given("days_per_week", kept.days_per_week, words.CALENDAR)


def kept(w: Working, plan: SitePlan, row: int, month: int) -> bool:
    """Steps to the minutes of a watering day; False where the month is off."""
    w.section = words.SETTING_KEPT
    schedule = plan.plan.schedule
    if not schedule.cycles[row, month]:
        w.given_text(words.MONTH, why_not(plan, row, month), HOUSE_RULE)
        return False
    w.given("cycles", schedule.cycles[row, month], words.RUNG_KEPT)
    w.given("cycle_minutes", schedule.cycle_min[row, month], words.RUNG_KEPT)
    w.line(cycles.DAY_MINUTES, schedule.minutes_per_day[row, month])
    return True


def ladder_blocks(found: Ladder, years: Years, units: str) -> list[Block]:
    """The ladder as a table, and why its marked rung was kept."""
    if not found.rungs:
        return []
    why = Paragraph(
        [
            ladder_words.reason(found, units),
            *ladder_words.too_seldom(found, units),
            *ladder_words.legend(found, years),
        ]
    )
    return [Heading(ladder_words.TITLE, 2), ladder_table(found), why]


def ladder_table(found: Ladder) -> Table:
    """Rungs: setting, water of the month, and how dry it leaves the ground."""
    rungs, column = found.rungs, ladder_words.COLUMNS.column
    return Table(
        (
            column("kept", [ladder_words.KEPT if r.kept else "" for r in rungs]),
            column("days", [ladder_words.days_of_rung(r) for r in rungs]),
            column("minutes", [r.minutes for r in rungs], text=shown.minutes_or_blank),
            column("cycles", [_cycles(r) for r in rungs]),
            column("water", [r.water_mm for r in rungs], "depth"),
            column("dry_days_percent", [100 * r.dry for r in rungs], text=_tenths),
            column("left_dry_percent", [100 * r.left_dry for r in rungs], text=_tenths),
            column("suffices", [r.suffices for r in rungs], text=shown.value_text),
        )
    )


def _tenths(value: float) -> str:
    return f"{value:.1f}"


def _cycles(rung: Rung) -> str:
    return f"{rung.cycles} x {shown.minutes(rung.cycle_min)}" if rung.cycles else ""


def ladder_data(found: Ladder, units: str) -> dict[str, Any]:
    """The ladder for programs."""
    return {
        "reason": found.reason,
        "text": ladder_words.reason(found, units),
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
