"""When it waters and who comes: the card in a small table for the owner."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from scheduler.calendar import ALL_WEEK, DAY_MIN
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.plan.card.after.fillings import fillings
from scheduler.plan.card.plan import Card
from scheduler.plan.card.settings import Program, first_of
from scheduler.plan.plantings.steps import Planting
from scheduler.plan.site import SitePlan
from scheduler.plan.times.windows import clock_text, windows_in_force
from scheduler.report import shown
from scheduler.report.counting import listed
from scheduler.report.pages.door import MANY_ZONES, who_drains
from scheduler.report.views.card import off_until, ready
from scheduler.report.views.plantings import card as plantings
from scheduler.report.words import plantings as young
from scheduler.report.words.controller import card as card_words
from scheduler.report.words.pages import door as door_words
from scheduler.report.words.pages import owner as owner_words
from scheduler.report.words.pages import times as words

_NAME_LETTERS, _MOST_NAMED = 24, 3
"""Letters of a zone's name, and zones of one row that are named."""
_PAUSE_MIN = 120
"""A longer pause between two runs is told."""


@dataclass(frozen=True, slots=True)
class Watering:
    """Programs that run on the same days: names, days, hours at the most, zones."""

    programs: str
    days: str
    hours: tuple[str, ...]
    whose: str


def timetable(plan: SitePlan, card: Card) -> list[tuple[str, list[Watering]]]:
    """Months of each visit in which something runs, with what runs then."""
    told = []
    for visit in card.visits:
        months = [month for month in visit.months if visit.runs(month)]
        by_days: dict[tuple[str, tuple[int, ...]], list[Program]] = {}
        for program in visit.programs:
            days = _days(program)
            off = tuple(month for month in months if not program.percent[month])
            by_days.setdefault((days, off), []).append(program)
        if months:
            runs = [
                Watering(
                    ", ".join(program.name for program in alike),
                    days,
                    tuple(_spans(alike)),
                    words.whose(_whose(plan, alike), off),
                )
                for (days, off), alike in by_days.items()
                if len(off) < len(months)
            ]
            told.append((words.when(months), runs))
    return told


def times_story(plan: SitePlan, card: Card) -> list[str]:
    """New plantings, permitted hours, and who comes when; none if it is off."""
    new = [planting for planting in plan.plantings if planting.steps]
    by_hand = {
        one.zone
        for group in plantings.programs(plan, card)
        if not group.name
        for one in group.plantings
    }
    told = [young.hours(plan, one, one.zone in by_hand) for one in new]
    if not (told or any(visit.runs(m) for visit in card.visits for m in visit.months)):
        return []
    first, *later = (words.date_text(visit.date) for visit in card.visits)
    until = off_until(card)
    if until is not None:
        comes = words.nothing_until(first, later)
    else:
        again = first_of(card.visits[0].months[0], card.visits[-1].date)
        comes = words.once(first)
        if later:
            comes = words.visits(first, later, words.date_text(again))
    if new:
        comes = f"{comes} {young.keyed_on(_changes(card, new))}"
    hands = list(_by_hand(plan, card))
    told += [*_permitted(plan), comes, *_percents(plan, card), *hands]
    who = any(door_words.says_who_starts(key) for key, _ in plan.site.door)
    return [*told, *_who(plan), *([words.WHO_STARTS] if hands and not who else [])]


def _days(program: Program) -> str:
    """Days of a program; of an interval without its dates, which the door has."""
    every = program.pattern.every_days
    return shown.days_text(ALL_WEEK, 0, every) if every else card_words.days(program)


def _percents(plan: SitePlan, card: Card) -> Iterator[str]:
    """Months whose first day changes percents, but for those of a visit.

    And days on which percents are set that wait until dry ground is filled.
    """
    months: list[int] = []
    filled: dict[int, datetime.date] = {}
    for visit in card.visits:
        to_come = list(visit.months)
        if visit.date.month in to_come:
            at = to_come.index(visit.date.month)
            to_come = [*to_come[at:], *(to_come[:at] if len(to_come) == 12 else ())]
        months += [
            month
            for before, month in itertools.pairwise(to_come)
            if any(p.percent[before] != p.percent[month] for p in visit.programs)
        ]
        filled |= ready(plan, card, visit)
    months = [month for month in months if month not in filled]
    runs = {m for visit in card.visits for m in visit.months if visit.runs(m)}
    off = [month for month in months if month not in runs]
    months = [month for month in months if month in runs]
    if months or filled or off:
        yield words.percents(months, sorted({*filled.values()}), off)


def _by_hand(plan: SitePlan, card: Card) -> Iterator[str]:
    """When something is started by hand, and what."""
    filled: set[datetime.date] = set()
    for visit in card.visits:
        mine = [fill for fill in card.judged.filled if fill.month in visit.months]
        found, _ = fillings(plan, visit, mine, visit.months, visit.date)
        filled |= {one.date for one in found}
    months: dict[int, list[int]] = {}
    for hand in card.by_hand:
        months.setdefault(hand.zone, []).append(hand.month)
    zones: dict[tuple[int, ...], list[int]] = {}
    for zone, own in months.items():
        zones.setdefault(tuple(own), []).append(zone)
    runs = [(_named(plan, rows), own) for own, rows in zones.items()]
    if filled or runs:
        yield words.by_hand(sorted(filled), runs)


def _permitted(plan: SitePlan) -> Iterator[str]:
    """The windows that hold for zones of the site, for starts by hand."""
    zones, hold = plan.site.zones, plan.site.windows
    kinds = [HEAD_KINDS[kind] for kind in zones.head_kind.tolist()]
    told = []
    for window in windows_in_force(hold, kinds):
        own = [row for row, kind in enumerate(kinds)
               if window in windows_in_force(hold, [kind])]  # fmt: skip
        told.append((window, "" if len(own) == len(zones) else _stations(plan, own)))
    if told:
        yield words.permitted(told)


def _stations(plan: SitePlan, rows: Iterable[int]) -> str:
    numbers = plan.site.zones.station
    return owner_words.stations(sorted(int(numbers[row]) for row in rows))


def _who(plan: SitePlan) -> Iterator[str]:
    """Who comes and who sets the percents, by the site's own lines or to be filled in.

    The site's lines follow; what they do not say has a blank.
    """
    keys = [key for key, _ in plan.site.door if door_words.says_who(key)]
    of_percents = [key for key in keys if door_words.says_who_sets(key)]
    starts = [key for key in keys if door_words.says_who_starts(key)]
    if len(keys) == len({*of_percents, *starts}):
        yield words.WHO_KEYS_IN
    if plan.site.controller.percent_by != "none" and not of_percents:
        yield words.WHO_SETS
    drains = plan.site.lines_can_freeze is not False and plan.frost_season is not None
    if drains and not who_drains(plan):
        yield words.WHO_DRAINS


def _changes(card: Card, new: Sequence[Planting]) -> list[datetime.date]:
    """Days after the card's own on which a step begins, or the last one has ended."""
    firsts = {step.first for planting in new for step in planting.steps}
    ends = {planting.grown_in for planting in new}
    return sorted(date for date in firsts | ends if date > card.today)


def _whose(plan: SitePlan, programs: Sequence[Program]) -> str:
    """Zones of programs."""
    return _named(plan, sorted({row for p in programs for row in p.zones}))


def _named(plan: SitePlan, rows: Sequence[int]) -> str:
    """Zones by their names, or stations where these are too many."""
    zones = plan.site.zones
    if len(rows) == len(zones):
        return words.ALL_ZONES
    most = _MOST_NAMED if len(zones) <= MANY_ZONES else 1
    if len(rows) > most:
        return _stations(plan, rows)
    return listed([shown.cut(zones.name[row], _NAME_LETTERS) for row in rows])


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
