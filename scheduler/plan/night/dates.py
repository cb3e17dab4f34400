"""Dates on which zones water, and other days that would do as well."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass, replace

from scheduler.calendar import PARITIES, WEEK, weekday_rows
from scheduler.plan.patterns import patterns
from scheduler.plan.site import SitePlan


@dataclass(frozen=True, slots=True)
class ZoneDays:
    """Watering days of a zone in a month: weekdays as bits, of all dates or a parity.

    At an interval of `every_days` it waters on `first` and every so many days from it;
    else `every_days` is 0. Without weekdays it does not water.
    """

    weekdays: int
    parity: str = ""
    every_days: int = 0
    first: datetime.date | None = None

    def waters(self, date: datetime.date) -> bool:
        """Whether the zone waters on a date."""
        if not self.weekdays >> date.weekday() & 1:
            return False
        if self.parity and (date.day % 2 == 1) != (self.parity == "odd"):
            return False
        if self.first is None:
            return True
        return (date - self.first).days % self.every_days == 0


def table_days(
    plan: SitePlan, month: int, counted_from: datetime.date
) -> tuple[ZoneDays, ...]:
    """Days of each zone by the table; intervals count from a date.

    They start on the first of their weekday on or after it.
    """
    schedule = plan.plan.schedule
    days = []
    for row in range(len(plan.site.zones)):
        weekdays = int(schedule.weekdays[row, month - 1])
        every = int(schedule.every_days[row, month - 1])
        parity = PARITIES[int(schedule.parity[row, month - 1])]
        first = first_on(weekdays, counted_from) if every else None
        days.append(ZoneDays(weekdays, parity, every, first))
    return tuple(days)


def first_on(weekdays: int, counted_from: datetime.date) -> datetime.date:
    """First date on or after another that falls on one of the weekdays."""
    ahead = [(row - counted_from.weekday()) % WEEK for row in weekday_rows(weekdays)]
    return counted_from + datetime.timedelta(days=min(ahead))


def days_as_good(
    plan: SitePlan, row: int, month: int, now: ZoneDays
) -> tuple[ZoneDays, ...]:
    """Days that a zone may water on instead: as many, and no gap over its limit.

    Those of the table come first. Where the table already has to leave longer gaps
    than the limit, the others leave none longer than it does.
    """
    return (now, *(days for days in _others(plan, row, month, now) if days != now))


def _others(plan: SitePlan, row: int, month: int, now: ZoneDays) -> Iterator[ZoneDays]:
    rule = plan.inputs.rules[int(plan.inputs.valve.day_rule[row, month - 1])]
    limit = int(plan.plan.gap_limit_days[row, month - 1])
    found = [
        pattern
        for pattern in patterns(now.parity, bool(now.every_days))
        if pattern.every_days == now.every_days
        and not pattern.weekdays & ~rule.weekdays
        and len(weekday_rows(pattern.weekdays)) == len(weekday_rows(now.weekdays))
    ]
    if now.first is not None:
        for pattern in found:
            first = first_on(pattern.weekdays, now.first)
            for weeks in range(now.every_days // WEEK):
                later = datetime.timedelta(weeks=weeks)
                yield replace(now, weekdays=pattern.weekdays, first=first + later)
        return
    longest = next(p.longest_gap for p in found if p.weekdays == now.weekdays)
    for pattern in found:
        if pattern.most_in_week <= rule.most_days and pattern.longest_gap <= max(
            limit, longest
        ):
            yield ZoneDays(pattern.weekdays, now.parity)
