"""The card as a calendar: what to key in or set on which day, for 18 months."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from scheduler.calendar import ONE_DAY
from scheduler.demand.frost import filled_on, season_from
from scheduler.plan.card.after.fillings import goes_on
from scheduler.plan.card.plan import Card
from scheduler.plan.card.settings import Program, Visit, dated
from scheduler.plan.site import SitePlan
from scheduler.plan.times.windows import clock_text
from scheduler.report.shown import minutes
from scheduler.report.views.card import (
    decision,
    frost_lines,
    frost_waters,
    hand_lines,
    nothing_runs,
    off_until,
    off_zones,
    program_title,
)
from scheduler.report.views.plantings import card as plantings
from scheduler.report.views.plantings import held
from scheduler.report.words import frost
from scheduler.report.words import plantings as young
from scheduler.report.words.controller import card as card_words
from scheduler.report.words.controller import notes
from scheduler.report.words.pages import reminders as words

if TYPE_CHECKING:
    from icalendar import Event

PRODUCT = "-//scheduler//controller card//EN"
MONTHS_AHEAD = 18
"""Months to come that hold a reminder; dates further off will have been replanned."""
DRAIN_LEAD_DAYS = 7
"""Days before the date by which lines are to be drained (our choice)."""
ALARM_BEFORE = datetime.timedelta(hours=6)
"""From the alarm to the day itself: six in the evening of the day before."""
_NAMESPACE = uuid.uuid5(uuid.NAMESPACE_URL, "scheduler:controller-card")
_EPOCH = datetime.datetime(2020, 1, 1, tzinfo=datetime.UTC)
"""Sequence numbers count the minutes from here: a later calendar has larger ones."""


def to_calendar(
    plan: SitePlan,
    card: Card,
    units: str = "us",
    made: datetime.datetime | None = None,
) -> str:
    """Calendar by RFC 5545: all-day reminders of the coming 18 months.

    The card is keyed in on the day of its first visit; no reminder is before it. Each
    month has one identifier, whatever the card asks of it: a calendar that holds an
    earlier card's takes the new one as its change, and what a month no longer asks for
    is cancelled. A day without a clock time is the same day in every time zone, so it
    is the site's. `made`, in UTC, stamps the events, else the day does.
    """
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    today = card.today
    stamp = made or datetime.datetime(
        today.year, today.month, today.day, tzinfo=datetime.UTC
    )
    for reminder in _reminders(plan, card, units, today):
        calendar.add_component(_event(plan, reminder, today, stamp))
    return calendar.to_ical().decode("utf-8")


@dataclass(frozen=True, slots=True)
class _Reminder:
    """What to do on a day; `cancelled` takes back what an earlier calendar asked.

    `decides` is what is to be done where no line can freeze, if it asks that first;
    `drains` is whether it has lines drained.
    """

    key: str
    title: str
    text: str
    date: datetime.date
    cancelled: bool = False
    decides: str = ""
    drains: bool = False


def _reminders(
    plan: SitePlan, card: Card, units: str, today: datetime.date
) -> Iterator[_Reminder]:
    firsts = _firsts(plan, today)
    lines = frost_lines(plan, units, coded=False)
    frosts = [
        one for one in _frost(plan, lines, today) if today <= one.date < firsts[-1]
    ]
    asked = [
        _today(plan, card, units, today),
        *(_month(plan, card, units, date) for date in firsts[:-1]),
    ]
    # One order a day: who decides whether to drain has the dates of frost beside it.
    drains = {one.date for one in frosts if one.drains}
    decided = {one.date for one in asked if one.decides}
    for one in asked:
        if one.decides and one.date in drains:
            title = frost.decide_title(one.decides, drains=True)
            one = replace(one, title=title, text="\n".join([one.text, *lines]))
        yield one
    for one in frosts:
        yield replace(one, cancelled=one.drains and one.date in decided)
    for date in (today, *firsts[:-1]):
        yield _filled(plan, card, units, date)
    yield _Reminder(_key(firsts[-1]), words.MAKE_ANEW, words.MADE_UP_TO, firsts[-1])
    yield from _plantings(plan, card, units, today)


def _plantings(
    plan: SitePlan, card: Card, units: str, today: datetime.date
) -> Iterator[_Reminder]:
    """The day of each step of a new planting, and that on which it has grown in."""
    for group in plantings.programs(plan, card):
        for new in group.plantings:
            zone = plan.site.zones.zone[new.zone]
            key = f"planting-{zone}-{new.planted.date}"
            for step in new.steps:
                lines = [young.in_short(plan, new), young.step_line(step, zone, today)]
                yield _Reminder(
                    f"{key}-{step.first}", young.new_step(plan, new),
                    "\n".join([*lines, *group.told]), max(step.first, today),
                )  # fmt: skip
            if new.steps:
                text = "\n".join(
                    [
                        young.clear_on(group.name, new.grown_in),
                        *_percents_after(plan, card, new.grown_in),
                        *young.rooting(plan, new, units),
                    ]
                )
                yield _Reminder(f"{key}-grown-in", young.has_grown_in(plan, new), text,
                                new.grown_in)  # fmt: skip
            stands = new.established
            if stands is not None and stands > max(today, new.grown_in):
                title = young.has_rooted(plan, new)
                yield _Reminder(f"{key}-rooted", title, title, stands)


def _percents_after(plan: SitePlan, card: Card, date: datetime.date) -> Iterator[str]:
    """Percents that are set on a date, as the steps in their programs end."""
    visit = next(v for v in card.visits if date.month in v.months)
    for name, one in held.ends(held.percents(plan, card, visit, date)):
        if one.until == date:
            yield words.percent(name or words.ALL_PROGRAMS, one.then)


def _firsts(plan: SitePlan, today: datetime.date) -> list[datetime.date]:
    """Firsts of the months to come, or the days on which lines are filled in them."""
    months = range(today.month, today.month + MONTHS_AHEAD)
    firsts = [datetime.date(today.year + m // 12, m % 12 + 1, 1) for m in months]
    return [filled_on(plan.lines_empty, first) for first in firsts]


def _key(date: datetime.date) -> str:
    return f"{date.year}-{date.month:02d}"


def _today(plan: SitePlan, card: Card, units: str, today: datetime.date) -> _Reminder:
    """What to do on the day of the card."""
    until = off_until(card)
    if until is None:
        return _visit_on(plan, card, units, 0, today)
    title = words.nothing_until(until)
    hands = hand_lines(plan, card, [today.month], today)
    told = [*decision(plan, card, units), title, *hands]
    return _Reminder(_key(today), title, "\n".join(told), today)


def _month(plan: SitePlan, card: Card, units: str, date: datetime.date) -> _Reminder:
    """What is to be done as a month begins: the visit, percents, or starts by hand."""
    row = next(r for r, v in enumerate(card.visits) if date.month in v.months)
    visit = card.visits[row]
    due = visit.date.month if row else visit.months[0]
    late = row == 0 and date == off_until(card)
    if late or (due == date.month and len(card.visits) > 1):
        return _visit_on(plan, card, units, row, date)
    by_hand = hand_lines(plan, card, [date.month], date)
    place = visit.months.index(date.month)
    keyed = place > visit.months.index(due) or len(card.visits) == 1
    # A visit of all year comes round to its own last month.
    percents = _percents(plan, card, visit, date)
    month = visit.months[place - 1]
    before = datetime.date(date.year - (month > date.month), month, 1)
    if keyed and percents != _percents(plan, card, visit, before):
        title = words.percents_for(date.month, percents)
        if _ready(plan, card, date) is not None:
            title = words.FILL
        told = [
            *_percents_told(plan, card, date, percents, by_hand),
            *notes.resumes(_keyed(visit, date), date.month),
        ]
        return _decided(plan, card, units, date, title, told)
    if by_hand:
        title = words.by_hand_in(date.month)
        return _Reminder(_key(date), title, "\n".join(by_hand), date)
    nothing = words.nothing_for(date.month)
    return _Reminder(_key(date), nothing, nothing, date, cancelled=True)


def _keyed(visit: Visit, date: datetime.date) -> list[Program]:
    """Programs as they are keyed in at the last coming of a visit before a date."""
    month = visit.months[0]
    since = datetime.date(date.year - (month > date.month), month, 1)
    if since <= visit.date:
        return list(visit.programs)
    return [dated(program, visit.months, since) for program in visit.programs]


def _ready(plan: SitePlan, card: Card, date: datetime.date) -> datetime.date | None:
    """Day on which programs go on that wait for fillings of a date's month, if any."""
    visit = next(v for v in card.visits if date.month in v.months)
    found = goes_on(plan, visit, card.judged.filled, [date.month], date)
    return found.get(date.month)


def _filled(plan: SitePlan, card: Card, units: str, date: datetime.date) -> _Reminder:
    """The percents of a date's month, on the day on which its fillings are over."""
    key, ready = f"{_key(date)}-filled", _ready(plan, card, date)
    visit = next(v for v in card.visits if date.month in v.months)
    percents = _percents(plan, card, visit, date)
    if ready is None or not any(percents.values()):
        nothing = words.nothing_for(date.month)
        return _Reminder(key, nothing, nothing, date, cancelled=True)
    told = [words.FILLED, *(words.percent(*each) for each in percents.items())]
    title = words.percents_for(date.month, percents)
    return replace(_decided(plan, card, units, ready, title, told), key=key)


def _visit_on(
    plan: SitePlan, card: Card, units: str, row: int, date: datetime.date
) -> _Reminder:
    """A visit that is due on a date, with the percents of its month."""
    visit = card.visits[row]
    if not visit.programs:
        hands = hand_lines(plan, card, [date.month], date)
        percents = _percents(plan, card, visit, date)
        told = words.OFF_UNTIL_VISIT
        if any(percents.values()):
            told = nothing_runs(plan, card, [date.month])
        asked = [words.percent(*each) for each in percents.items()]
        text = "\n".join([told, *asked, *hands])
        title = words.TURN_OFF
        if any(percents.values()):
            title = words.percents_for(date.month, percents)
        return _Reminder(_key(date), title, text, date)
    title = words.visit(row + 1, len(card.visits), visit.months)
    if _ready(plan, card, date) is not None:
        title = words.filling(title)
    settings = _settings(plan, card, visit, date)
    return _decided(plan, card, units, date, title, settings)


def _percents(
    plan: SitePlan, card: Card, visit: Visit, date: datetime.date
) -> dict[str, float]:
    """Percents of a date's month by program, or the one of the whole controller.

    A program that carries steps holds 100 % until they end.
    """
    return {
        name or words.ALL_PROGRAMS: row[date.month].percent
        for name, row in held.percents(plan, card, visit, date).items()
    }


def _frost(
    plan: SitePlan, lines: Sequence[str], today: datetime.date
) -> Iterator[_Reminder]:
    """Reminders to drain and to start, of the years about a day; past ones too.

    Lines that are not drained by today are to be drained today.
    """

    def on(key: str, title: str, told: Sequence[str], date: datetime.date) -> _Reminder:
        return _Reminder(f"{key}-{date.year}", title, "\n".join(told), date)

    years = range(today.year - 1, today.year + 3)
    season, known = plan.frost_season, plan.site.lines_can_freeze
    if known is False:
        return
    if season is None:
        month = 7 if plan.site.latitude >= 0 else 1
        for year in years if lines else ():
            yield on("frost", frost.SELDOM, lines, datetime.date(year, month, 1))
        return
    again = [frost.KEY_IN_THEN] if frost_waters(plan) and not known else []
    for year in years:
        begins, ends = season_from(season, year)
        begins, ends = begins - DRAIN_LEAD_DAYS * ONE_DAY, ends + ONE_DAY
        begun = begins < today < ends and (season.usual or not known)
        title = frost.drain_title(season, begun, bool(known))
        drained = on("frost-drain", title, lines, begins)
        yield replace(drained, date=today if begun else begins, drains=True)
        yield on("frost-start", frost.start_title(season), [*again, *lines], ends)


def _decided(
    plan: SitePlan,
    card: Card,
    units: str,
    date: datetime.date,
    title: str,
    told: Sequence[str],
) -> _Reminder:
    """A setting; where nights of its month may freeze, that is to be decided first.

    Not where the site says whether its lines can freeze, or the climate hardly lets
    them.
    """
    known = plan.site.lines_can_freeze is not None or plan.frost_season is None
    if known or date.month not in frost_waters(plan):
        return _Reminder(_key(date), title, "\n".join(told), date)
    text = "\n".join([*decision(plan, card, units, date), *told])
    return _Reminder(_key(date), frost.decide_title(title), text, date, decides=title)


def _event(
    plan: SitePlan,
    reminder: _Reminder,
    today: datetime.date,
    stamp: datetime.datetime,
) -> Event:
    from icalendar import Alarm, Event

    site = plan.site
    name = f"{site.name}/{site.latitude!r}/{site.longitude!r}/{reminder.key}"
    event = Event()
    event.add("uid", f"{uuid.uuid5(_NAMESPACE, name)}@scheduler")
    event.add("dtstamp", stamp)
    minutes = int((stamp - _EPOCH).total_seconds() // 60)
    event.add("sequence", max(minutes, 0))
    event.add("dtstart", reminder.date)
    event.add("dtend", reminder.date + ONE_DAY)
    title = words.title(site.name, reminder.title)
    event.add("summary", title)
    event.add("description", reminder.text)
    event.add("transp", "TRANSPARENT")
    if reminder.cancelled:
        event.add("status", "CANCELLED")
    elif reminder.date > today:
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", title)
        alarm.add("trigger", -ALARM_BEFORE)
        event.add_component(alarm)
    return event


def _settings(
    plan: SitePlan, card: Card, visit: Visit, date: datetime.date
) -> list[str]:
    """What to key in on a date, a line for each program and zone, and the percents."""
    zones, ready = plan.site.zones, _ready(plan, card, date)
    lines = [words.KEY_IN]
    for program in visit.programs:
        starts = [clock_text(start) for start in program.starts_min]
        own = dated(program, visit.months, ready or date)
        days = card_words.days(own)
        days += card_words.first_days(own, visit.months, ready or date)
        lines.append(
            words.program(program_title(plan, card, program, date), days, starts)
        )
        waits = held.waiting(plan, card, program, date)
        for row, base, cycle, soak in zip(
            program.zones, program.base_min, program.cycle_min, program.soak_min,
            strict=True,
        ):  # fmt: skip
            lines.append(
                words.run_time(int(zones.station[row]), zones.zone[row],
                               zones.name[row],
                               card_words.not_before(base, waits[row])
                               if row in waits else minutes(base), cycle, soak)
            )  # fmt: skip
    by_hand = hand_lines(plan, card, [date.month], date)
    percents = _percents(plan, card, visit, date)
    return [
        *lines,
        *_percents_told(plan, card, date, percents, by_hand),
        *(plantings.lines(plan, card) if date == card.today else ()),
        *notes.never_above(visit),
        *off_zones(plan, card, visit),
    ]


def _percents_told(
    plan: SitePlan,
    card: Card,
    date: datetime.date,
    percents: Mapping[str, float],
    by_hand: Sequence[str],
) -> list[str]:
    """Percents of a date's month and what is started by hand, in the order of doing."""
    told = [words.percent(*each) for each in percents.items()]
    ready = _ready(plan, card, date)
    if ready is None:
        return [*([words.PERCENTS] if told else ()), *told, *by_hand]
    return [*by_hand, *([words.percents_from(ready)] if told else ()), *told]
