"""Fillings of dry ground: on which dates, from when on, one after another."""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from scheduler.calendar import DAY_MIN, ONE_DAY
from scheduler.demand.frost import filled_on
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.site import Site, Window
from scheduler.plan.card.needs import Fill, Hand
from scheduler.plan.card.settings import (
    NOON_MIN,
    Visit,
    counted_from,
    dated,
    days_on,
    rounds_min,
)
from scheduler.plan.site import SitePlan
from scheduler.plan.times.windows import (
    clock_minutes,
    closes_min_of,
    crosses_midnight,
    earliest_sunrise_min,
    is_permitted,
    local_timezone,
    window_of,
)

Spans = tuple[tuple[int, int], ...]
"""Hours of a day: from one minute after midnight to another."""

_GAP_MIN = 1.0
"""From one zone to the next, by hand."""
_SAME_MIN = 1e-6
_MORNING_MIN = 360
"""From six in the morning on people are up (our choice)."""
_WHOLE_MIN = 5
"""Minutes to which a start by hand is told."""


@dataclass(frozen=True, slots=True)
class Filling:
    """What is filled on one date from a minute on, zone after zone.

    Cycles of one zone stand in the soaks of others; all of it lies in `hours`, one of
    the spans of minutes in which all of the zones may be watered.
    """

    date: datetime.date
    start_min: int
    hours: Spans
    fills: tuple[Fill, ...]

    @property
    def end_min(self) -> int:
        """Minute of the date, whole, at which the last run is over."""
        took = rounds_min(
            [fill.cycles * fill.cycle_min for fill in self.fills],
            [fill.cycle_min for fill in self.fills],
            [fill.soak_min for fill in self.fills],
            _GAP_MIN,
        )
        return self.start_min + math.ceil(took - _GAP_MIN - _SAME_MIN)


def fillings(
    plan: SitePlan,
    visit: Visit,
    filled: Sequence[Fill],
    months: Sequence[int],
    since: datetime.date,
) -> tuple[list[Filling], bool]:
    """Fillings of a visit from a day on, in their order, and if programs wait then.

    Programs wait where they leave no room for them, or water what is filled on the same
    dates.
    """
    alone = _fillings(plan, None, filled, months, since)
    beside = _fillings(plan, visit, filled, months, since)
    twice = any(
        program.waters(filling.date) and fill.zone in program.zones
        for filling in alone
        for fill in filling.fills
        for program in visit.programs
    )
    return alone, twice or alone != beside


def dates_of_fills(
    filled: Sequence[Fill], found: Sequence[Filling]
) -> dict[Fill, list[datetime.date]]:
    """Dates on which each is filled; fewer than it needs where no more have room."""
    return {fill: [one.date for one in found if fill in one.fills] for fill in filled}


def after_fills(
    plan: SitePlan, visits: Sequence[Visit], filled: Sequence[Fill]
) -> tuple[Visit, ...]:
    """Visits whose intervals begin once what they wait for is filled."""
    return tuple(_after_fills(plan, visit, filled) for visit in visits)


def _after_fills(plan: SitePlan, visit: Visit, filled: Sequence[Fill]) -> Visit:
    ready = goes_on(plan, visit, filled, visit.months, visit.date)
    programs = []
    for program in visit.programs:
        first = program.first_date
        then = None if first is None else ready.get(first.month)
        if first is not None and then is not None and first < then:
            program = dated(program, visit.months, then)
            program = counted_from(program, visit.date)
        programs.append(program)
    return replace(visit, programs=tuple(programs))


def goes_on(
    plan: SitePlan,
    visit: Visit,
    filled: Sequence[Fill],
    months: Sequence[int],
    since: datetime.date,
) -> dict[int, datetime.date]:
    """Day on which programs go on that wait for fillings, by month (1 to 12)."""
    ready = {}
    for month in months:
        mine = [fill for fill in filled if fill.month == month]
        found, wait = fillings(plan, visit, mine, months, since)
        if wait and found:
            ready[month] = found[-1].date + ONE_DAY
    return ready


def fill_hours(plan: SitePlan, fill: Fill, year: int) -> Spans:
    """Permitted hours of a filling on its dates: from one minute to another."""
    kind = HEAD_KINDS[plan.site.zones.head_kind[fill.zone]]
    window = window_of(plan.site.windows, kind, fill.month)
    if window is None:
        return ()
    return _spans(_permitted_minutes(plan.site, window, year, fill.month))


def _spans(minutes: np.ndarray) -> Spans:
    """Minutes of a date that are set, (minute,), as spans."""
    edges = np.flatnonzero(np.diff(minutes, prepend=False, append=False)).tolist()
    return tuple(zip(edges[::2], edges[1::2], strict=True))


def _fillings(
    plan: SitePlan,
    visit: Visit | None,
    filled: Sequence[Fill],
    months: Sequence[int],
    since: datetime.date,
) -> list[Filling]:
    """Fillings beside the programs of a visit, or of none.

    On the day itself, and on that on which lines are filled, from noon on.
    """
    found: dict[datetime.date, list[Filling]] = {}
    for fill in filled:
        kind = HEAD_KINDS[plan.site.zones.head_kind[fill.zone]]
        window = window_of(plan.site.windows, kind, fill.month)
        if window is None:
            continue
        permitted = _permitted_minutes(plan.site, window, since.year, fill.month)
        left = fill.days
        for day in days_on(months, since):
            if not left:
                break
            if day.month != fill.month or not is_permitted(window, day):
                continue
            opened = filled_on(plan.lines_empty, day.replace(day=1))
            if day < opened:
                continue
            free = permitted & (True if visit is None else ~_running(visit, day))
            if day in (since, opened):
                free[:NOON_MIN] = False
            left -= _find_room(found.setdefault(day, []), day, _spans(free), fill)
    return sorted(
        (one for of_day in found.values() for one in of_day),
        key=lambda one: (one.date, one.start_min),
    )


def _find_room(
    of_day: list[Filling], day: datetime.date, hours: Spans, fill: Fill
) -> bool:
    """Put what is filled into a day, if there is room: with its like, else after all.

    Only what may run in the same hours runs in each other's soaks.
    """
    for row, one in enumerate(of_day):
        longer = replace(one, fills=(*one.fills, fill))
        others = [*of_day[:row], *of_day[row + 1 :]]
        if one.hours == hours and _has_room(longer, others):
            of_day[row] = longer
            return True
    starts = sorted({*(a for a, _ in hours), *(_whole(one.end_min) for one in of_day)})
    for start in starts:
        alone = Filling(day, start, hours, (fill,))
        if _has_room(alone, of_day):
            of_day.append(alone)
            return True
    return False


def _has_room(one: Filling, others: Sequence[Filling]) -> bool:
    """Whether it lies within its hours and in no other's time."""
    within = any(a <= one.start_min and one.end_min <= b for a, b in one.hours)
    return within and all(
        one.end_min <= other.start_min or other.end_min <= one.start_min
        for other in others
    )


def _whole(minute: int) -> int:
    """Minute of a day at which the next start by hand is told."""
    return math.ceil(minute / _WHOLE_MIN) * _WHOLE_MIN


def starts_by_hand(
    plan: SitePlan, visit: Visit, hands: Sequence[Hand], since: datetime.date
) -> dict[Hand, int | None]:
    """Minute of its dates from which each start by hand has room.

    In permitted hours, while no program of the visit runs, and one after another; None
    where there is no such minute.
    """
    found: dict[Hand, int | None] = {}
    for hand in hands:
        busy = np.zeros(DAY_MIN, dtype=bool)
        for other, start in found.items():
            if start is not None and other.month == hand.month:
                busy[start : start + math.ceil(_takes_min(other))] = True
        found[hand] = _start_by_hand(plan, visit, hand, since, busy)
    return found


def _takes_min(hand: Hand) -> float:
    """Minutes of a start by hand, soaks with them."""
    return hand.cycles * hand.cycle_min + (hand.cycles - 1) * hand.soak_min


def _start_by_hand(
    plan: SitePlan,
    visit: Visit,
    hand: Hand,
    since: datetime.date,
    busy: np.ndarray,
) -> int | None:
    """The first minute of a morning, else of the day, that is free on all dates."""
    kind = HEAD_KINDS[plan.site.zones.head_kind[hand.zone]]
    window = window_of(plan.site.windows, kind, hand.month)
    if window is None:
        return None
    free = _permitted_minutes(plan.site, window, since.year, hand.month) & ~busy
    for day in days_on(visit.months, since):
        if day.month == hand.month and hand.weekdays >> day.weekday() & 1:
            free = free & ~_running(visit, day)
    takes = _takes_min(hand)
    found = [
        start
        for begin, end in _spans(free)
        for start in (_whole(begin), max(_whole(begin), _MORNING_MIN))
        if start + takes <= end
    ]
    return min(found, key=lambda start: (start < _MORNING_MIN, start), default=None)


def _permitted_minutes(site: Site, window: Window, year: int, month: int) -> np.ndarray:
    """Minutes of a permitted date that lie in a window's hours, (minute,)."""
    rise = None
    if window.closes == "sunrise":
        zone = local_timezone(site.timezone, site.longitude)
        rise = earliest_sunrise_min(site.latitude, site.longitude, zone, year, month)
    minute, opens = np.arange(DAY_MIN), clock_minutes(window.opens)
    closes = closes_min_of(window, rise)
    if crosses_midnight(window, closes):
        return np.asarray((minute >= opens) | (minute < closes))
    return np.asarray((minute >= opens) & (minute < closes))


def _running(visit: Visit, date: datetime.date) -> np.ndarray:
    """Minutes of a date in which a program runs, (minute,)."""
    found = np.zeros(DAY_MIN, dtype=bool)
    for program in visit.programs:
        for before in (0, 1):
            if program.waters(date - before * ONE_DAY):
                for start in program.starts_min:
                    first = start - before * DAY_MIN
                    found[max(first, 0) : max(first + program.minutes, 0)] = True
    return found
