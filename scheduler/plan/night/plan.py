"""One watering night on the clock, and what would help where it does not fit."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from scheduler.calendar import S_PER_MIN, Days, dates_of_month
from scheduler.cautions import HARD_LIMITS, Caution
from scheduler.plan.night.month import Night, NightPlanner
from scheduler.plan.night.spread import MonthNights, spread_month
from scheduler.plan.night.ways_out import WayOut, ways_out
from scheduler.plan.site import SitePlan
from scheduler.schedule import Schedule


@dataclass(frozen=True, slots=True, eq=False)
class NightPlan:
    """A night of a month, with all that it stands on.

    `table` has the month's rules, a row for each zone, as the watering table does;
    `moved` are rows of zones that water on other days by the rules of `month`.
    `sunrise_min` is the earliest of the month by the site's clock, None where no sun
    rises; it counts only where `to_sunrise`. `counted_from` is when intervals start,
    None where no zone of the night has one, or where they go on from month to month.
    `fullest`: on no other date of the month do more minutes run.
    """

    plan: SitePlan
    planner: NightPlanner
    month: MonthNights
    night: Night
    table: Schedule
    moved: tuple[int, ...]
    ways_out: tuple[WayOut, ...]
    sunrise_min: int | None
    to_sunrise: bool
    counted_from: datetime.date | None
    cautions: tuple[Caution, ...]
    fullest: bool


def plan_night(
    plan: SitePlan,
    year: int,
    month: int,
    date: datetime.date | None = None,
    counted_from: datetime.date | None = None,
) -> NightPlan:
    """A night of a month: of a date, or of the first on which most minutes run.

    Where a night of the month is too short, zones are spread over other permitted
    nights; so the night shown is one of a month that can be watered as a whole.
    """
    if date is not None:
        plan = _without(plan, date)
    planner = NightPlanner(plan, counted_from)
    nights = spread_month(planner, year, month)
    fullest = date is None
    if date is None:
        date = _fullest(nights, year, month)
        if any(new.step_on(date) for new in plan.plantings):
            return plan_night(plan, year, month, date, counted_from)
    night = _best(planner, nights, date)
    table, schedule = planner.schedule(date), nights.schedule
    moved = (table.weekdays != schedule.weekdays) | (
        table.first_day != schedule.first_day
    )
    windows = [planner.hours.window(planner.kinds[row], date) for row in night.hours]
    to_sunrise = any(w is not None and w.closes == "sunrise" for w in windows)
    counts = any(schedule.every_days[row] for row in night.hours)
    start = counted_from or datetime.date(year, 1, 1)
    helping = ways_out(plan, nights, year, month, counted_from)
    return NightPlan(
        plan,
        planner,
        nights,
        night,
        table,
        tuple(np.flatnonzero(moved).tolist()),
        helping,
        planner.hours.sunrise_min(year, month) if to_sunrise else None,
        to_sunrise,
        start if counts and not planner.goes_on else None,
        (
            *_of_plan(plan, night),
            *_too_short(plan, planner, nights),
            *_under_least(plan, planner, night),
        ),
        fullest,
    )


def _without(plan: SitePlan, date: datetime.date) -> SitePlan:
    """A plan whose zones in a step of new plantings on a date are off in its month."""
    new = [p.zone for p in plan.plantings if p.step_on(date)]
    schedule = plan.plan.schedule
    cycles, weekdays = schedule.cycles.copy(), schedule.weekdays.copy()
    cycles[new, date.month - 1] = weekdays[new, date.month - 1] = 0
    off = replace(schedule, cycles=cycles, weekdays=weekdays)
    return replace(plan, plan=replace(plan.plan, schedule=off)) if new else plan


def _fullest(nights: MonthNights, year: int, month: int) -> datetime.date:
    """Date on which most minutes run, the earliest of equals."""
    dates, schedule = dates_of_month(year, month), nights.schedule
    days = Days.of_calendar(dates[0], len(dates))
    minutes = schedule.minutes(days, len(schedule.zone)).sum(axis=0)
    # What a sum of floats is off in its last digits makes no date the fuller one.
    return dates[int(minutes.round(6).argmax())]


def _best(planner: NightPlanner, nights: MonthNights, date: datetime.date) -> Night:
    """The night of a date that ends soonest, if it fits as the first one found did."""
    first = nights.nights[date.day - 1]
    best = planner.night(date, nights.schedule)
    return first if first.fits and not best.fits else best


def _of_plan(plan: SitePlan, night: Night) -> Iterator[Caution]:
    """Hard limits of the table that the night's zones do not meet in its month."""
    zones = {plan.site.zones.zone[row] for row in night.hours}
    for caution in plan.cautions:
        here = caution.zone in zones and caution.month in (None, night.date.month)
        if here and caution.code in HARD_LIMITS:
            yield caution


def _too_short(
    plan: SitePlan, planner: NightPlanner, nights: MonthNights
) -> Iterator[Caution]:
    worst = max(nights.too_short, key=lambda night: night.over_s, default=None)
    if worst is not None:
        worst = planner.night(worst.date, nights.schedule)
        values = {
            "date": worst.date,
            "minutes_over": worst.over_s / S_PER_MIN,
            "proven": worst.proven,
            "nights": len(nights.too_short),
            "zones": tuple(plan.site.zones.zone[row] for row in worst.hours),
        }
        yield Caution("window-too-short", None, worst.date.month, values)


def _under_least(
    plan: SitePlan, planner: NightPlanner, night: Night
) -> Iterator[Caution]:
    """Runs under a pump's least flow that nothing could be set beside."""
    least = planner.limits.least_flow_l_min
    alone = planner.limits.at_once == 1
    for row in night.hours:
        flow = planner.flow_l_min[row]
        if alone and flow < least * (1 - 1e-9):
            values = {"flow_l_min": flow, "least_flow_l_min": least}
            zone = plan.site.zones.zone[row]
            yield Caution("flow-under-pump", zone, night.date.month, values)
    if night.under_s:
        values = {"minutes": night.under_s / S_PER_MIN, "least_flow_l_min": least}
        yield Caution("flow-under-pump", None, night.date.month, values)
