"""The watering table: one record of both ways of planning, and limits of cycles."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from enum import StrEnum

import numpy as np

from scheduler.balance.dates import NEVER
from scheduler.balance.ground import Ground, Valve
from scheduler.calendar import WEEK, dates_of_month, day_number, of_parity
from scheduler.plan.times import cycles as cycles_
from scheduler.schedule import NO_DAY, Schedule
from scheduler.soil import intake as intake_

(
    FROST,
    CARRIED,
    LIGHT,
    NOT_PERMITTED,
    DAYS_TOO_FEW,
    NEED_UNMET,
    STARTS_TOO_FEW,
    UNDER_STEP,
    NO_NEED,
    LIGHTER,
    IN_WEEKS,
    GAP_RAISED,
    PAYS,
    SOAKS,
    STAYS_DRY,
    TOO_CLOSE,
) = (1 << bit for bit in range(16))
"""Bits of `Plan.flags`, the branches that a cell took.

Off for frost; carried by the store; too light a watering in 28 days; not permitted;
permitted days leave longer gaps than the limit; a watering cut to what the root zone
holds; more cycles than starts; under half a step; rain meets the need. Then how the gap
limit was found: waterings would be lighter than is worth it, so that a longer gap is
looked for; over 7 days, so in whole weeks; and it is longer now. A month that pays for
the one before, which the store carried; cycles with soak between them; by days, no
setting keeps the ground within the limit of dry days; and all days within the longest
gap are closer than the shortest.
"""

TOLD = (
    NOT_PERMITTED
    | DAYS_TOO_FEW
    | NEED_UNMET
    | STARTS_TOO_FEW
    | UNDER_STEP
    | STAYS_DRY
    | TOO_CLOSE
)
"""Branches that a caution tells of: what the plan cannot promise."""


class Off(StrEnum):
    """Why a zone runs in no part of a month, as a code."""

    FROST = "frost"
    NOT_PERMITTED = "not-permitted"
    CARRIED = "carried"
    NO_NEED = "no-need"
    LIGHT = "light"
    UNDER_STEP = "under-step"


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """The table along ground, (part, period) unless said; depths are of the period.

    The parts of a valve run as one, so that none goes short; needs are a part's own,
    and volumes those of its share of the valve's ground. `decides` marks the part that
    a valve runs for. `event_minutes` is what a watering day would run
    before rounding; 0 where off. `flags` tells the branches that were taken. By days
    `gap_limit_days` is the longest gap of the days kept; `dry_share` is NaN by months
    and in frost, and `fill_min` on each of `fill_days` days fill the ground first.
    """

    schedule: Schedule
    plant_need_mm: np.ndarray
    effective_rain_mm: np.ndarray
    net_need_mm: np.ndarray
    gross_need_mm: np.ndarray
    carried_in_mm: np.ndarray
    gap_limit_days: np.ndarray
    event_minutes: np.ndarray
    applied_mm: np.ndarray
    unmet_mm: np.ndarray
    volume_l: np.ndarray
    flags: np.ndarray
    dry_share: np.ndarray
    fill_min: np.ndarray
    fill_days: np.ndarray
    decides: np.ndarray
    runoff_limit_min: np.ndarray  # (part,)
    longest_cycle_min: np.ndarray  # (part,)
    cycle_too_short: np.ndarray  # (part,)


@dataclass(frozen=True, slots=True, eq=False)
class CycleLimits:
    """What the ground and the controller let a cycle be, (part,).

    The parts of a valve have those of the worst; `soak_a_minute` is how long what a
    minute leaves on the surface takes to go in.
    """

    runoff_limit_min: np.ndarray
    longest_cycle_min: np.ndarray
    cycle_too_short: np.ndarray
    soak_a_minute: np.ndarray


def why_off(flags: int) -> Off:
    """Why a cell of these `flags` is off; asked only of one that does not run."""
    # What a month before left to pay may be too light as well; rain is why it is off.
    first = (
        (FROST, Off.FROST),
        (NOT_PERMITTED, Off.NOT_PERMITTED),
        (CARRIED, Off.CARRIED),
        (NO_NEED, Off.NO_NEED),
        (LIGHT, Off.LIGHT),
    )
    return next((why for bit, why in first if flags & bit), Off.UNDER_STEP)


def first_dates(schedule: Schedule, year: int) -> dict[tuple[int, int], datetime.date]:
    """Date on which each interval of a table begins in a year, by (row, period).

    It goes on from the last watering of the month before; the year before is gone
    through first, so that January has one too.
    """
    found: dict[tuple[int, int], datetime.date] = {}
    for row in np.flatnonzero((schedule.every_days > 0).any(axis=1)).tolist():
        last = datetime.date(year - 1, 1, 1) - datetime.timedelta(days=NEVER)
        for date in _dates_of_years(year - 1, year):
            month = date.month - 1
            every = int(schedule.every_days[row, month])
            if every and (date - last).days < every:
                continue
            if _on(schedule, (row, month), date):
                last = date
                if every and date.year == year:
                    found.setdefault((row, month), date)
    return found


def gone_on(schedule: Schedule, year: int) -> Schedule:
    """A table's rules in a year, each interval gone on with from the month before.

    A month that an interval passes over is off. In a long month after one of another
    pattern a rule may also fall on a day a whole interval before its first date.
    """
    found = first_dates(schedule, year)
    first = np.full(schedule.every_days.shape, NO_DAY)
    for cell, date in found.items():
        first[cell] = day_number(date)
    passed = (schedule.every_days > 0) & (first == NO_DAY)
    return replace(
        schedule,
        first_day=first,
        weekdays=np.where(passed, 0, schedule.weekdays),
        cycles=np.where(passed, 0, schedule.cycles),
    )


def _dates_of_years(first: int, last: int) -> Iterator[datetime.date]:
    for year in range(first, last + 1):
        for month in range(1, 13):
            yield from dates_of_month(year, month)


def _on(schedule: Schedule, cell: tuple[int, int], date: datetime.date) -> bool:
    on = bool(int(schedule.weekdays[cell]) >> date.weekday() & 1)
    return on and bool(of_parity(date.day, schedule.parity[cell]))


def cycle_limits(ground: Ground, valve: Valve) -> CycleLimits:
    """Longest run without runoff and longest cycle, (part,), of its valve's worst."""
    of = ground.valve
    runoff_limit = least_of_valve(own_runoff_limit(ground, valve), ground, valve)
    longest, too_short = cycles_.longest_cycle(
        runoff_limit, valve.longest_run_min[of], valve.minute_step[of]
    )
    soak = -least_of_valve(-own_soak(ground, valve), ground, valve)
    return CycleLimits(runoff_limit, longest, too_short, soak)


def own_runoff_limit(ground: Ground, valve: Valve) -> np.ndarray:
    """Longest run without runoff on each part by itself, (part,)."""
    of = ground.valve
    peak = valve.peak_rate_mm_h[of] * ground.rate_share
    limit = intake_.longest_run_without_runoff(
        ground.accumulation_mm, peak, ground.intake_mm_h
    )
    return np.where(valve.runs_off[of], limit, np.inf)


def own_soak(ground: Ground, valve: Valve) -> np.ndarray:
    """Time that what a minute leaves on a part's surface takes to go in, (part,)."""
    peak = valve.peak_rate_mm_h[ground.valve] * ground.rate_share
    return intake_.soak_to_go_in(1.0, peak, ground.intake_mm_h)


def least_of_valve(of_part: np.ndarray, ground: Ground, valve: Valve) -> np.ndarray:
    """The least of all parts of each part's valve, (part,)."""
    if len(ground) == len(valve):
        return of_part
    found = np.full(len(valve), np.inf)
    np.minimum.at(found, ground.valve, of_part)
    return np.asarray(found[ground.valve])


def ground_along_valves(ground: Ground, valve: Valve, row: np.ndarray) -> Ground:
    """Ground of each valve as one row: need and store of `row`, (valve, period).

    Gap, intake, accumulation and leaching are those of the worst part.
    """
    if len(ground) == len(valve):
        return ground
    first = np.searchsorted(ground.valve, np.arange(len(valve)))
    period = np.arange(row.shape[1])

    def decided(values: np.ndarray) -> np.ndarray:
        return np.asarray(values[row, np.minimum(period, values.shape[1] - 1)])

    def least(values: np.ndarray) -> np.ndarray:
        return np.asarray(np.minimum.reduceat(values, first))

    return Ground(
        valve=np.arange(len(valve)),
        share=np.ones(len(valve)),
        landscape_coefficient=decided(ground.landscape_coefficient),
        total_available_water_mm=decided(ground.total_available_water_mm),
        allowed_depletion_mm=decided(ground.allowed_depletion_mm),
        wetted_share=ground.wetted_share[row[:, 0]],
        longest_gap_days=least(ground.longest_gap_days),
        shortest_gap_days=np.maximum.reduceat(ground.shortest_gap_days, first),
        leaching_requirement=np.maximum.reduceat(ground.leaching_requirement, first),
        intake_mm_h=least(ground.intake_mm_h),
        accumulation_mm=least(ground.accumulation_mm),
        rate_share=ground.rate_share[row[:, 0]],
    )


def parts_of_shared_valves(valve: np.ndarray) -> Iterator[slice]:
    """Rows of the parts of each valve that has several, of each part's valve."""
    starts = np.flatnonzero(np.diff(valve, prepend=-1))
    ends = np.append(starts[1:], len(valve))
    for row in np.flatnonzero(ends - starts > 1).tolist():
        yield slice(int(starts[row]), int(ends[row]))


def deciding_rows(decides: np.ndarray, ground: Ground, valve: Valve) -> np.ndarray:
    """Row of the part that decides for each valve and period, (valve, period)."""
    found = np.zeros((len(valve), decides.shape[1]), dtype=np.intp)
    part, period = np.nonzero(decides)
    found[ground.valve[part], period] = part
    return found


def along_valves(
    plan: Plan, ground: Ground, valve: Valve, period_days: np.ndarray
) -> Plan:
    """The table along valves: needs of the part that decides, water of all.

    Depths of a cell are those of the part that it runs for; volumes are the valve's,
    and the dry share is that of its driest part.
    """
    if len(ground) == len(valve):
        return plan
    row = deciding_rows(plan.decides, ground, valve)
    first = np.searchsorted(ground.valve, np.arange(len(valve)))
    schedule = plan.schedule[first]
    period = np.arange(row.shape[1])
    fill_min, fill_days = plan.fill_min[first], plan.fill_days[first]
    minutes = schedule.minutes_per_day * schedule.days_per_week * (period_days / WEEK)
    by_cell = {
        f.name: values[row, period]
        for f in fields(Plan)
        if isinstance(values := getattr(plan, f.name), np.ndarray) and values.ndim == 2
    }
    of_part = {
        name: getattr(plan, name)[first]
        for name in ("runoff_limit_min", "longest_cycle_min", "cycle_too_short")
    }
    told = plan.flags & (TOLD | SOAKS)
    return Plan(**{
        **by_cell,
        **of_part,
        "schedule": schedule,
        "volume_l": (minutes + fill_min * fill_days) * valve.flow_l_min[:, None],
        "dry_share": np.maximum.reduceat(plan.dry_share, first, axis=0),
        "flags": by_cell["flags"] | np.bitwise_or.reduceat(told, first, axis=0),
        "fill_min": fill_min,
        "fill_days": fill_days,
    })  # fmt: skip


def soak_between(
    cycle_min: np.ndarray, soak_a_minute: np.ndarray, valve: Valve
) -> np.ndarray:
    """Soak after a cycle as it is keyed; rows lie along the last axis."""
    return cycles_.soak_minutes(cycle_min * soak_a_minute, valve.shortest_soak_min)
