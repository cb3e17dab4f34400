"""The card as a calendar of reminders: percents each month, settings each visit."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from scheduler.calendar import ALL_WEEK, DAYS_IN_MONTH, ONE_DAY, weekday_names
from scheduler.plan.card.plan import Card, Program, Visit
from scheduler.plan.site import SitePlan
from scheduler.plan.times.windows import clock_text
from scheduler.report.views.card import (
    frost_lines,
    hand_lines,
    off_zones,
)
from scheduler.report.views.plantings import card as plantings
from scheduler.report.words import frost
from scheduler.report.words import plantings as young
from scheduler.report.words.controller import card as card_words
from scheduler.report.words.pages import reminders as words

if TYPE_CHECKING:
    from icalendar import Event

PRODUCT = "-//scheduler//controller card//EN"
DRAIN_LEAD_DAYS = 7
"""Days before the date by which lines are to be drained (our choice)."""
_NAMESPACE = uuid.uuid5(uuid.NAMESPACE_URL, "scheduler:controller-card")


def to_calendar(plan: SitePlan, card: Card, units: str = "us") -> str:
    """Calendar by RFC 5545: all-day reminders that come back each year.

    Today's visit does not: in the years to come it is due as its months begin. No
    reminder begins before the day on which the card is keyed in.
    A day without a clock time is the same day in every time zone, so it is the site's.
    Identifiers and stamps come from the site and the date alone: the same card gives
    the same bytes, and a calendar that holds it already takes it as a change.
    """
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    today = card.visits[0].date
    for reminder in _reminders(plan, card, units, today):
        calendar.add_component(_event(plan, reminder, today))
    return calendar.to_ical().decode("utf-8")


@dataclass(frozen=True, slots=True)
class _Reminder:
    """What to do on a day, and whether every year."""

    key: str
    title: str
    text: str
    date: datetime.date
    yearly: bool = True


def _reminders(
    plan: SitePlan, card: Card, units: str, today: datetime.date
) -> Iterator[_Reminder]:
    visits = len(card.visits)
    for row, visit in enumerate(card.visits):
        title = words.visit(row + 1, visits, visit.months)
        due = visit.date if row else _to_come(visit.months[0], 1, today)
        yield _Reminder(f"visit-{row + 1}", title, _settings(plan, card, visit), due)
        if due != visit.date:
            text = _settings(plan, card, visit, dated=True)
            yield _Reminder("today", title, text, today, yearly=False)
    for month in range(1, 13):
        first = _to_come(month, 1, today)
        if plan.site.controller.percent_by != "none":
            visit = next(v for v in card.visits if month in v.months)
            yield _Reminder(f"percents-{month:02d}", words.percents_for(month),
                            _percents(visit, month), first)  # fmt: skip
        if told := hand_lines(plan, card, [month]):
            yield _Reminder(f"by-hand-{month:02d}", words.by_hand_in(month),
                            "\n".join(told), first)  # fmt: skip
    yield from _plantings(plan, card, today)
    for key, title, date in _frost(plan, today):
        yield _Reminder(key, title, "\n".join(frost_lines(plan, units)), date)


def _plantings(plan: SitePlan, card: Card, today: datetime.date) -> Iterator[_Reminder]:
    """The day of each step of a new planting, and that on which it has grown in."""
    for group in plantings.programs(plan, card):
        for new in group.plantings:
            zone = plan.site.zones.zone[new.zone]
            key = f"planting-{zone}-{new.planted.date}"
            for step in new.steps:
                lines = [young.in_short(plan, new), young.step_line(step, zone)]
                yield _Reminder(
                    f"{key}-{step.first}", young.new_step(plan, new),
                    "\n".join([*lines, *group.told]), max(step.first, today),
                    yearly=False,
                )  # fmt: skip
            if new.steps:
                text = young.clear_on(group.name, new.grown_in)
                yield _Reminder(f"{key}-grown-in", young.has_grown_in(plan, new), text,
                                new.grown_in, yearly=False)  # fmt: skip


def _frost(
    plan: SitePlan, today: datetime.date
) -> Iterator[tuple[str, str, datetime.date]]:
    """Key, title and date of the reminders to drain and to start."""
    season = plan.months.frost_season
    if season is None:
        if frost_lines(plan, "us"):
            month = 7 if plan.site.latitude >= 0 else 1
            yield "frost", frost.SELDOM, _to_come(month, 1, today)
        return
    lead = DRAIN_LEAD_DAYS if season.by_days else 0
    drain, start = (
        # A leap day has its place in years without one, to come back in every year.
        datetime.date(2001, month, min(day, int(DAYS_IN_MONTH[month - 1])))
        for month, day in (season.drain_before, season.start_after)
    )
    drain, start = drain - lead * ONE_DAY, start + ONE_DAY
    yield (
        "frost-drain",
        frost.drain_title(season),
        _to_come(drain.month, drain.day, today),
    )
    yield (
        "frost-start",
        frost.start_title(season),
        _to_come(start.month, start.day, today),
    )


def _to_come(month: int, day: int, today: datetime.date) -> datetime.date:
    """A day of the year, today or the next time that it comes."""
    past = (month, day) < (today.month, today.day)
    return datetime.date(today.year + past, month, day)


def _event(plan: SitePlan, reminder: _Reminder, today: datetime.date) -> Event:
    from icalendar import Event

    site = plan.site
    name = f"{site.name}/{site.latitude!r}/{site.longitude!r}/{reminder.key}"
    event = Event()
    event.add("uid", f"{uuid.uuid5(_NAMESPACE, name)}@scheduler")
    stamp = datetime.datetime(today.year, today.month, today.day, tzinfo=datetime.UTC)
    event.add("dtstamp", stamp)
    event.add("dtstart", reminder.date)
    event.add("dtend", reminder.date + ONE_DAY)
    if reminder.yearly:
        event.add("rrule", {"freq": "yearly"})
    event.add("summary", words.title(site.name, reminder.title))
    event.add("description", reminder.text)
    event.add("transp", "TRANSPARENT")
    return event


def _settings(plan: SitePlan, card: Card, visit: Visit, dated: bool = False) -> str:
    """What to key in at a visit, a line for each program and zone.

    First dates of intervals are `dated`, or told in words that hold in every year.
    """
    if not visit.programs:
        return words.OFF_UNTIL_VISIT
    zones = plan.site.zones
    lines = [words.KEY_IN]
    for program in visit.programs:
        starts = [clock_text(start) for start in program.starts_min]
        days = card_words.days(program) if dated else _days(visit, program)
        lines.append(words.program(program.name, days, starts))
        for row, base, cycle, soak in zip(
            program.zones, program.base_min, program.cycle_min, program.soak_min,
            strict=True,
        ):  # fmt: skip
            lines.append(
                words.run_time(int(zones.station[row]), zones.zone[row],
                               zones.name[row], base, cycle, soak)
            )  # fmt: skip
    since = visit.date if dated else None
    told = [
        *(plantings.lines(plan, card) if dated else ()),
        *hand_lines(plan, card, visit.months, since),
        *off_zones(plan, card, visit),
    ]
    return "\n".join([*lines, *told])


def _days(visit: Visit, program: Program) -> str:
    """Watering days in words that hold in every year that the reminder comes back in.

    An interval starts on the first date that its weekdays allow, of the first month in
    which the program runs.
    """
    pattern = program.pattern
    if program.first_date is None:
        return card_words.days(program)
    runs = (month for month in visit.months if program.percent[month])
    first = next(runs, visit.months[0])
    every_day = pattern.weekdays == ALL_WEEK
    days = () if every_day else weekday_names(pattern.weekdays)
    return words.every_days(pattern.every_days, days, first)


def _percents(visit: Visit, month: int) -> str:
    lines = [
        words.percent(program.name, program.percent[month])
        for program in visit.programs
    ]
    return "\n".join(lines) or words.STAYS_OFF
