"""The pages inside the controller door: one a visit, to be keyed in and read there."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from scheduler.budget.rain_rules import HandRule
from scheduler.demand.frost import FEWEST_NIGHTS
from scheduler.plan.card.plan import Card
from scheduler.plan.card.settings import Program, Visit, first_of
from scheduler.plan.site import SitePlan
from scheduler.plan.times.windows import clock_text
from scheduler.report import shown
from scheduler.report.frames import Table
from scheduler.report.views import card as card_report
from scheduler.report.views.plantings import card as plantings
from scheduler.report.views.plantings import held
from scheduler.report.words import plantings as young
from scheduler.report.words.controller import card as card_words
from scheduler.report.words.pages import door as words

MANY_ZONES = 10
"""More zones than these stand closer together."""
_MOST_LIMITS, _FEW_LIMITS = 5, 3
"""Lines on limits that a page has room for."""


@dataclass(frozen=True, slots=True)
class DoorProgram:
    """One program as it is keyed in, with the run times of its zones."""

    title: str
    days: str
    starts: str
    minutes: int
    splits: bool
    run_times: Table


@dataclass(frozen=True, slots=True)
class DoorPlanting:
    """Steps of zones planted alike, as they are keyed in, and what is told of them."""

    title: str
    told: tuple[str, ...]
    steps: Table | None


@dataclass(frozen=True, slots=True)
class DoorPage:
    """One visit: its programs, the percents of its months, and when the next one is.

    `decide` is what is to be decided before it is keyed in, "" if nothing is; `how_to`
    are the steps of the visit.
    `percents` has a row for each program, or one for the whole controller; a percent of
    0 is "off". It is empty where the controller has no percents, or nothing runs.
    `changes` tell of a percent, marked in its cell, that another follows within the
    month. `plantings` are the steps of new plantings, each program's by itself;
    `limits` are what table and card do not keep in its months.
    """

    title: str
    decide: str
    how_to: tuple[str, ...]
    programs: tuple[DoorProgram, ...]
    months: tuple[str, ...]
    percents: tuple[tuple[str, tuple[str, ...]], ...]
    changes: tuple[str, ...]
    plantings: tuple[DoorPlanting, ...]
    notes: tuple[str, ...]
    by_hand: tuple[str, ...]
    limits: tuple[str, ...]
    until: str


def door_pages(
    plan: SitePlan,
    card: Card,
    units: str,
    rule: HandRule | None = None,
    asked: Sequence[str] = (),
) -> list[DoorPage]:
    """A page for each visit; `rule` is for rain, `asked` what is told before all."""
    return [
        DoorPage(
            card_report.visit_title(plan, card, row),
            _decide(plan, card, row, units),
            (
                *asked,
                *card_report.how_to(plan, card, [visit]),
                *when_it_rains(plan, rule, units, visit.date if row else card.today),
            ),
            tuple(_program(plan, card, visit, program) for program in visit.programs),
            tuple(shown.MONTH_LABELS[month - 1] for month in visit.months),
            tuple(_percents(plan, card, visit)),
            (
                *(
                    card_words.holds(*change)
                    for change in held.ends(held.percents(plan, card, visit))
                ),
                *_waits(plan, card, visit),
            ),
            tuple(_plantings(plan, card, visit.date if row else card.today)),
            tuple(card_report.visit_lines(plan, card, visit)),
            tuple(card_report.hand_lines(plan, card, visit.months, visit.date)),
            tuple(_limits(plan, card_report.limits_of(plan, card, visit, units))),
            _until(card, row),
        )
        for row, visit in enumerate(card.visits)
    ]


def _decide(plan: SitePlan, card: Card, row: int, units: str) -> str:
    """What is to be done about frost, on pages of months with nights of it.

    Before it, on the first, that the next visit is due.
    """
    cold = {*card_report.frost_waters(plan)}
    if plan.site.lines_can_freeze:
        nights = plan.months.frost_nights >= FEWEST_NIGHTS
        cold = {*(np.flatnonzero(nights) + 1).tolist()}
    told = [] if row else card_report.soon(card)
    if not cold.isdisjoint(card.visits[row].months):
        date = card.visits[row].date if row else None
        told += card_report.decision(plan, card, units, date)
    return " ".join(told)


def _waits(plan: SitePlan, card: Card, visit: Visit) -> Iterator[str]:
    """Months whose percents wait until their fillings are over, as the page tells."""
    for month, date in card_report.ready(plan, card, visit).items():
        yield words.waits(month, date)


def _until(card: Card, row: int) -> str:
    """When to take the next page; "" where one visit holds all year."""
    if len(card.visits) == 1:
        return ""
    if row + 1 < len(card.visits):
        return words.next_page(shown.date_text(card.visits[row + 1].date), row + 2)
    again = first_of(card.visits[0].months[0], card.visits[row].date)
    return words.next_year(shown.date_text(again))


def _limits(plan: SitePlan, lines: Sequence[str]) -> list[str]:
    """The worst limits that are not kept, and how many more there are.

    The door page of a large site has room for few.
    """
    most = _FEW_LIMITS if len(plan.site.zones) > MANY_ZONES else _MOST_LIMITS
    if len(lines) <= most:
        return list(lines)
    told = list(lines[: most - 1])
    return [*told, words.more_limits(len(lines) - len(told))]


def _plantings(
    plan: SitePlan, card: Card, since: datetime.date
) -> Iterator[DoorPlanting]:
    """New plantings that something is done for on a day or after it."""
    for group in plantings.programs(plan, card):
        if plantings.still_new(group, since):
            steps = any(step.last >= since for step in group.plantings[0].steps)
            yield DoorPlanting(
                plantings.title(plan, group),
                group.told,
                plantings.steps_on_door(plan, group, since) if steps else None,
            )


def _program(plan: SitePlan, card: Card, visit: Visit, program: Program) -> DoorProgram:
    return DoorProgram(
        card_report.program_title(plan, card, program),
        card_report.days(plan, card, visit, program),
        ", ".join(clock_text(start) for start in program.starts_min),
        program.minutes,
        any(program.cycle_min),
        _run_times(plan, card, program),
    )


def _run_times(plan: SitePlan, card: Card, program: Program) -> Table:
    """Run times without the zones' own numbers, where these are the stations'."""
    table = card_report.run_times(plan, card, program)
    same = plan.site.zones.zone == tuple(map(str, plan.site.zones.station.astype(int)))
    return Table(tuple(c for c in table.columns if c.name != "zone" or not same))


def _percents(
    plan: SitePlan, card: Card, visit: Visit
) -> list[tuple[str, tuple[str, ...]]]:
    return [
        (name or words.ALL_PROGRAMS, tuple(_percent(one) for one in row.values()))
        for name, row in held.percents(plan, card, visit).items()
    ]


def _percent(one: held.Percent) -> str:
    if not one.percent:
        return words.OFF
    return f"{one.percent:g}{words.CHANGES * (one.until is not None)}"


def when_it_rains(
    plan: SitePlan,
    rule: HandRule | None,
    units: str,
    since: datetime.date | None = None,
) -> Iterator[str]:
    """What to do after rain from a day on, where no rain shut-off does it."""
    if rule is not None and plan.site.controller.rain_shutoff_mm is None:
        yield words.after_rain(
            rule.rain_mm, rule.days_off, units, young.grown_in_by(plan, since)
        )


def who_to_ask(plan: SitePlan) -> list[str]:
    """The site's own lines on whom to call, for pages that hang elsewhere too."""
    return [
        words.contact(key, text)
        for key, text in plan.site.door
        if any(word in key.casefold() for word in words.CONTACT_WORDS)
        and not words.says_who_drains(key)
    ]


def who_drains(plan: SitePlan) -> list[str]:
    """The site's own lines on winter, for the page that says when lines are empty."""
    return [
        words.contact(key, text)
        for key, text in plan.site.door
        if words.says_who_drains(key)
    ]


def door_lines(plan: SitePlan) -> list[tuple[str, str]]:
    """What the site's own lines say: key in words, and text."""
    return [(words.key(key), text) for key, text in plan.site.door]
