"""Zones spread over the permitted nights of a month, where one night is too short."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from scheduler.calendar import (
    WEEK,
    Days,
    date_of,
    dates_of_month,
    day_number,
    first_on,
    weekday_rows,
)
from scheduler.plan.night.earliest_end import Span, joined
from scheduler.plan.night.month import Night, NightPlanner
from scheduler.plan.site import SitePlan
from scheduler.plan.times.patterns import patterns
from scheduler.schedule import NO_DAY, Schedule

ROUNDS = 4
"""Times that days are chosen anew, with less room on nights that did not fit."""


@dataclass(frozen=True, slots=True, eq=False)
class MonthNights:
    """The nights of a month, and the rules of it, a row for each zone."""

    schedule: Schedule
    nights: tuple[Night, ...]

    @property
    def too_short(self) -> tuple[Night, ...]:
        """Nights that do not fit their hours."""
        return tuple(night for night in self.nights if not night.fits)

    def rank(self) -> tuple[int, int]:
        """How far it is from fitting: nights that do not, and by how much."""
        return len(self.too_short), sum(night.over_s for night in self.too_short)


def month_nights(
    planner: NightPlanner, year: int, month: int, schedule: Schedule
) -> MonthNights:
    """Every night of a month by its rules."""
    nights = [planner.night(d, schedule, False) for d in dates_of_month(year, month)]
    return MonthNights(schedule, tuple(nights))


def spread_month(planner: NightPlanner, year: int, month: int) -> MonthNights:
    """Nights of a month with zones moved to other days, as few as it takes.

    Each zone keeps its number of days, and no gap passes its limit. Where no choice
    found lets every night fit, it is the one that comes nearest to it.
    """
    table = planner.schedule(datetime.date(year, month, 1))
    best = month_nights(planner, year, month, table)
    if not best.too_short or not _may_help(planner, best):
        return best
    choice = _Choice(planner, year, month, table)
    seen = {tuple(choice.at)}
    for _ in range(ROUNDS):
        choice.settle()
        if tuple(choice.at) not in seen:
            seen.add(tuple(choice.at))
            found = month_nights(planner, year, month, choice.schedule())
            best = min(best, found, key=MonthNights.rank)
            if not found.too_short:
                break
            choice.tighten(found)
        elif not choice.tighten(best):
            break
    return best


def _may_help(planner: NightPlanner, month: MonthNights) -> bool:
    """Whether zones that share a night that is too short could part."""
    return any(len(night.hours) > 1 for night in month.too_short)


class _Choice:
    """Days of all zones, chosen by the sum of their work against the hours.

    `loads` has the controller's time and the supply's; a class is zones that may run
    in the same hours, the last class is all of them. `at` is the option of each zone
    that waters, 0 the table's.
    """

    def __init__(
        self,
        planner: NightPlanner,
        year: int,
        month: int,
        table: Schedule,
    ) -> None:
        self.dates = dates_of_month(year, month)
        self.rows = np.flatnonzero(table.weekdays).tolist()
        self.table = table
        self.options = [
            days_as_good(planner.plan, row, month, table) for row in self.rows
        ]
        days = Days.of_calendar(self.dates[0], len(self.dates))
        self.waters = [options.waters(days) for options in self.options]
        self.work_s = np.array([self._work(planner, row) for row in self.rows])
        self.classes, self.room_s = self._classes(planner)
        self.at = [0] * len(self.rows)

    def _work(self, planner: NightPlanner, row: int) -> float:
        job, limits = planner.job(row, self.dates[0]), planner.limits
        time = job.cycles * (job.cycle_s + limits.gap_s)
        flow = min(job.flow_l_min / limits.design_flow_l_min, 1.0)
        return time * (max(flow, 1 / limits.at_once) if limits.at_once > 1 else 1.0)

    def _classes(self, planner: NightPlanner) -> tuple[np.ndarray, np.ndarray]:
        """Zones of each class, and the room of each class on each date."""
        hours = [
            tuple(planner.spans(row, date, True) for date in self.dates)
            for row in self.rows
        ]
        kinds = list(dict.fromkeys(hours))
        members = [[own == kind for own in hours] for kind in kinds]
        room = [[_length(spans) for spans in kind] for kind in kinds]
        members.append([True] * len(hours))
        room.append([_length([s for own in day for s in own])
                     for day in zip(*kinds, strict=True)])  # fmt: skip
        return np.array(members), np.array(room, dtype=float)

    def settle(self) -> None:
        """Move zones while that makes the nights lighter where they are too full."""
        while True:
            now = self._load()
            best, move = self._cost(now, self.at), None
            if best[0] <= 0:
                break
            for place in range(len(self.rows)):
                for option in range(len(self.waters[place])):
                    if option == self.at[place]:
                        continue
                    at = [*self.at[:place], option, *self.at[place + 1 :]]
                    cost = self._cost(self._shifted(now, place, option), at)
                    if cost < best:
                        best, move = cost, at
            if move is None:
                break
            self.at = move

    def schedule(self) -> Schedule:
        """The month's rules, each zone on the days chosen for it."""
        weekdays, first_day = self.table.weekdays.copy(), self.table.first_day.copy()
        for row, options, option in zip(self.rows, self.options, self.at, strict=True):
            weekdays[row] = options.weekdays[option]
            first_day[row] = options.first_day[option]
        return replace(self.table, weekdays=weekdays, first_day=first_day)

    def _load(self) -> np.ndarray:
        """Work of each class on each date."""
        waters = np.array([w[a] for w, a in zip(self.waters, self.at, strict=True)])
        return np.asarray(self.classes @ (waters * self.work_s[:, None]))

    def _shifted(self, load: np.ndarray, place: int, option: int) -> np.ndarray:
        waters = self.waters[place]
        change = waters[option].astype(float) - waters[self.at[place]]
        return np.asarray(
            load + np.outer(self.classes[:, place], change * self.work_s[place])
        )

    def _cost(self, load: np.ndarray, at: Sequence[int]) -> tuple[float, int, float]:
        """Work over the room, zones moved, and how uneven the nights are."""
        over = np.maximum(load - self.room_s, 0).sum()
        moved = sum(option > 0 for option in at)
        return round(float(over), 3), moved, round(float((load[-1] ** 2).sum()), 3)

    def tighten(self, month: MonthNights) -> bool:
        """Leave less room on nights that did not fit; whether any had room."""
        load, tightened = self._load(), False
        for place, night in enumerate(month.nights):
            if not night.fits and len(night.hours) > 1:
                least = np.minimum(load[:, place], self.room_s[:, place])
                self.room_s[:, place] = np.maximum(least - night.over_s, 0)
                tightened = True
        return tightened


def _length(spans: Sequence[Span]) -> float:
    return float(sum(closes - opens for opens, closes in joined(spans)))


def days_as_good(plan: SitePlan, row: int, month: int, table: Schedule) -> Schedule:
    """Rules by which a zone may water instead: as many days, no gap over its limit.

    A row for each; that of the table comes first. Where the table already has to leave
    longer gaps than the limit, the others leave none longer than it does.
    """
    now = int(table.weekdays[row]), int(table.first_day[row])
    others = _intervals(plan, row, month, table)
    if not table.every_days[row]:
        others = _weekly(plan, row, month, table)
    found = np.array([*dict.fromkeys((now, *others))])
    alike = table[np.full(len(found), row)]
    return replace(alike, weekdays=found[:, 0], first_day=found[:, 1])


def _weekly(
    plan: SitePlan, row: int, month: int, table: Schedule
) -> Iterator[tuple[int, int]]:
    """Weekdays as bits that a zone may water on; they have no first day."""
    rule = plan.inputs.rules[int(plan.inputs.valve.day_rule[row, month - 1])]
    limit = int(plan.plan.gap_limit_days[row, month - 1])
    now = int(table.weekdays[row])
    of_parity = patterns(int(table.parity[row]), False)
    longest = next(p.longest_gap for p in of_parity if p.weekdays == now)
    for pattern in of_parity:
        if (
            not pattern.weekdays & ~rule.weekdays
            and len(weekday_rows(pattern.weekdays)) == len(weekday_rows(now))
            and pattern.most_in_week <= rule.most_days
            and pattern.longest_gap <= max(limit, longest)
        ):
            yield pattern.weekdays, NO_DAY


def _intervals(
    plan: SitePlan, row: int, month: int, table: Schedule
) -> Iterator[tuple[int, int]]:
    """Weekday as bits and first day of the same interval, shifted by whole weeks."""
    rule = plan.inputs.rules[int(plan.inputs.valve.day_rule[row, month - 1])]
    first = date_of(int(table.first_day[row]))
    for weekday in weekday_rows(rule.weekdays):
        day = day_number(first_on(1 << weekday, first))
        for week in range(int(table.every_days[row]) // WEEK):
            yield 1 << weekday, day + week * WEEK
