"""The card as a calendar of reminders: percents each month, settings each visit."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Iterator

from scheduler.calendar import ALL_WEEK, DAYS_IN_MONTH, weekday_names
from scheduler.plan.card.plan import Card, Program, Visit
from scheduler.plan.site import SitePlan
from scheduler.plan.times.windows import clock_text
from scheduler.report.views.card import (
    frost_lines,
    hand_lines,
    off_zones,
    visit_title,
)
from scheduler.report.words import frost
from scheduler.report.words.controller import card as card_words
from scheduler.report.words.pages import reminders as words

PRODUCT = "-//scheduler//controller card//EN"
DRAIN_LEAD_DAYS = 7
"""Days before the date by which lines are to be drained (our choice)."""
_NAMESPACE = uuid.uuid5(uuid.NAMESPACE_URL, "scheduler:controller-card")


def to_calendar(plan: SitePlan, card: Card, year: int, units: str = "us") -> str:
    """Calendar by RFC 5545: all-day reminders that come back each year.

    A day without a clock time is the same day in every time zone, so it is the site's.
    Identifiers and stamps come from the site and the date alone: the same card gives
    the same bytes, and a calendar that holds it already takes it as a change.
    """
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    for row, visit in enumerate(card.visits):
        title = words.title(plan.site.name, visit_title(card, row))
        _add(calendar, plan, f"visit-{row + 1}", title, _settings(plan, card, visit),
             visit.date)  # fmt: skip
    if plan.site.controller.percent_by != "none":
        for month in range(1, 13):
            visit = next(v for v in card.visits if month in v.months)
            title = words.title(plan.site.name, words.percents_for(month))
            _add(calendar, plan, f"percents-{month:02d}", title,
                 _percents(visit, month), datetime.date(year, month, 1))  # fmt: skip
    for month in range(1, 13):
        if told := hand_lines(plan, card, [month]):
            title = words.title(plan.site.name, words.by_hand_in(month))
            _add(calendar, plan, f"by-hand-{month:02d}", title, "\n".join(told),
                 datetime.date(year, month, 1))  # fmt: skip
    for key, title, date in _frost(plan, year):
        text = "\n".join(frost_lines(plan, units))
        _add(calendar, plan, key, words.title(plan.site.name, title), text, date)
    return calendar.to_ical().decode("utf-8")


def _frost(plan: SitePlan, year: int) -> Iterator[tuple[str, str, datetime.date]]:
    """Key, title and date of the reminders to drain and to start."""
    season = plan.months.frost_season
    if season is None:
        if frost_lines(plan, "us"):
            month = 7 if plan.site.latitude >= 0 else 1
            yield "frost", frost.SELDOM, datetime.date(year, month, 1)
        return
    lead = DRAIN_LEAD_DAYS if season.by_days else 0
    drain, start = (
        # A leap day has its place in years without one, to come back in every year.
        datetime.date(year, month, min(day, int(DAYS_IN_MONTH[month - 1])))
        for month, day in (season.drain_before, season.start_after)
    )
    days = datetime.timedelta(days=1)
    yield "frost-drain", frost.drain_title(season), drain - lead * days
    after = datetime.date(2001, start.month, start.day) + days
    yield "frost-start", frost.start_title(season), after.replace(year=year)


def _add(
    calendar: object,
    plan: SitePlan,
    key: str,
    title: str,
    text: str,
    date: datetime.date,
) -> None:
    from icalendar import Calendar, Event

    assert isinstance(calendar, Calendar)
    site = plan.site
    name = f"{site.name}/{site.latitude!r}/{site.longitude!r}/{key}"
    event = Event()
    event.add("uid", f"{uuid.uuid5(_NAMESPACE, name)}@scheduler")
    stamp = datetime.datetime(date.year, 1, 1, tzinfo=datetime.UTC)
    event.add("dtstamp", stamp)
    event.add("dtstart", date)
    event.add("dtend", date + datetime.timedelta(days=1))
    event.add("rrule", {"freq": "yearly"})
    event.add("summary", title)
    event.add("description", text)
    event.add("transp", "TRANSPARENT")
    calendar.add_component(event)


def _settings(plan: SitePlan, card: Card, visit: Visit) -> str:
    """What to key in at a visit, a line for each program and zone."""
    if not visit.programs:
        return words.OFF_UNTIL_VISIT
    zones = plan.site.zones
    lines = [words.KEY_IN]
    for program in visit.programs:
        starts = [clock_text(start) for start in program.starts_min]
        lines.append(words.program(program.name, _days(program), starts))
        for row, base, cycle, soak in zip(
            program.zones, program.base_min, program.cycle_min, program.soak_min,
            strict=True,
        ):  # fmt: skip
            lines.append(
                words.run_time(int(zones.station[row]), zones.zone[row],
                               zones.name[row], base, cycle, soak)
            )  # fmt: skip
    told = [*hand_lines(plan, card, visit.months), *off_zones(plan, card, visit)]
    return "\n".join([*lines, *told])


def _days(program: Program) -> str:
    """Watering days in words that hold in every year that the reminder comes back in.

    An interval starts on the first date of its month that its weekdays allow.
    """
    first, pattern = program.first_date, program.pattern
    if first is None:
        return card_words.days(program)
    every_day = pattern.weekdays == ALL_WEEK
    days = () if every_day else weekday_names(pattern.weekdays)
    return words.every_days(pattern.every_days, days, first.month)


def _percents(visit: Visit, month: int) -> str:
    lines = [
        words.percent(program.name, program.percent[month])
        for program in visit.programs
    ]
    return "\n".join(lines) or words.STAYS_OFF
