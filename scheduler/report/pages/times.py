"""When it waters and who comes: the card in a few lines for the owner."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from scheduler.calendar import DAY_MIN
from scheduler.plan.card.plan import Card
from scheduler.plan.card.settings import Program
from scheduler.plan.plantings.steps import Planting
from scheduler.plan.site import SitePlan
from scheduler.plan.times.windows import clock_text
from scheduler.report import shown
from scheduler.report.words import plantings as young
from scheduler.report.words.pages import times as words

_PAUSE_MIN = 120
"""A longer pause between two runs is told."""


def times_story(plan: SitePlan, card: Card) -> list[str]:
    """Days and hours of each visit's months, then who comes when; none if it is off."""
    told = []
    for visit in card.visits:
        months = [month for month in visit.months if visit.runs(month)]
        by_days: dict[str, list[Program]] = {}
        for program in visit.programs:
            pattern = program.pattern
            days = shown.days_text(pattern.weekdays, pattern.parity, pattern.every_days)
            by_days.setdefault(days, []).append(program)
        if months:
            runs = [(days, _spans(alike)) for days, alike in by_days.items()]
            told.append(words.hours(months, runs))
    new = [planting for planting in plan.plantings if planting.steps]
    told += [young.hours(plan, planting) for planting in new]
    if not told:
        return []
    first, *later = (words.date_text(visit.date) for visit in card.visits)
    comes = words.visits(first, later) if later else words.once(first)
    if plan.site.controller.percent_by != "none":
        comes = f"{comes} {words.PERCENTS}"
    if new:
        comes = f"{comes} {young.keyed_on(_changes(card, new))}"
    return [*told, comes]


def _changes(card: Card, new: Sequence[Planting]) -> list[datetime.date]:
    """Days after the card's own on which a step begins, or the last one has ended."""
    firsts = {step.first for planting in new for step in planting.steps}
    ends = {planting.grown_in for planting in new}
    return sorted(date for date in firsts | ends if date > card.visits[0].date)


def _spans(programs: Sequence[Program]) -> list[str]:
    """Hours in which programs run at their largest percents, short pauses with them."""
    runs = sorted(
        (start, start + program.minutes)
        for program in programs
        for start in program.starts_min
    )
    spans: list[tuple[int, int]] = []
    for start, end in runs:
        if spans and start <= spans[-1][1] + _PAUSE_MIN:
            spans[-1] = spans[-1][0], max(end, spans[-1][1])
        else:
            spans.append((start, end))
    return [words.span(clock_text(start), clock_text(end % DAY_MIN))
            for start, end in spans]  # fmt: skip
