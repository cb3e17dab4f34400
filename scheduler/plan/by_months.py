"""The watering table by the means of months: the rooms chained into one Plan."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from typing import Any, TypeVar

import numpy as np

from scheduler.balance.ground import Ground, Valve
from scheduler.calendar import WEEK
from scheduler.demand import rain as rain_
from scheduler.demand.leaching import gross_factor
from scheduler.plan.inputs import RAIN_METHODS, PlanInput
from scheduler.plan.table import (
    CARRIED,
    DAYS_TOO_FEW,
    FROST,
    GAP_RAISED,
    IN_WEEKS,
    LIGHT,
    LIGHTER,
    NEED_UNMET,
    NO_NEED,
    NOT_PERMITTED,
    PAYS,
    SOAKS,
    STARTS_TOO_FEW,
    UNDER_STEP,
    CycleLimits,
    Plan,
    cycle_limits,
    parts_of_shared_valves,
    soak_between,
)
from scheduler.plan.times import cycles as cycles_
from scheduler.plan.times import days as days_
from scheduler.plan.times.patterns import LONGEST_GAP
from scheduler.rounding import TOLERANCE
from scheduler.schedule import Schedule
from scheduler.soil import storage
from scheduler.units import MIN_PER_H

BLOCK_ROWS = 4096
"""Rows planned at a time: what is in work then stays in the processor's cache.

Inside a block masks multiply: np.where takes five times as long where they are mixed.
"""

_Record = TypeVar("_Record")


@dataclass(frozen=True, slots=True, eq=False)
class _Weather:
    """Weather of each valve."""

    et0_mm_day: np.ndarray
    rain_mm: np.ndarray
    frost: np.ndarray
    rain_method: np.ndarray
    rain_share: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class _Block:
    """Ground in work, with the weather, valve and limits of each row.

    Here and in the records below arrays are (period, row) or (row,), so that what
    varies by row alone lies along the fast axis. `days` is (period, 1).
    """

    days: np.ndarray
    weather: _Weather
    ground: Ground
    valve: Valve
    limits: CycleLimits
    choices: days_.DayTable
    shared: tuple[slice, ...]
    """Rows of the parts of each valve that waters several."""


@dataclass(frozen=True, slots=True, eq=False)
class _Needs:
    """Water balance of the periods."""

    plant_need_mm: np.ndarray
    effective_rain_mm: np.ndarray
    net_need_mm: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class _Asks:
    """What ground asks for, before it is known how waterings are set.

    The parts of a valve ask for the same: what the neediest, which `decides`, asks for,
    and gaps as short as any. `gross_factor` is by the valve's rate.
    """

    gap_days: np.ndarray
    net_need_mm: np.ndarray
    carried: np.ndarray
    carried_in_mm: np.ndarray
    allowed_mm: np.ndarray
    total_mm: np.ndarray
    gross_factor: np.ndarray
    decides: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class _Wanted:
    """What waterings have to meet, how far apart, and where there are none."""

    gap_limit_days: np.ndarray
    event_need_mm: np.ndarray
    carried_in_mm: np.ndarray
    off: np.ndarray
    flags: np.ndarray
    total_mm: np.ndarray
    gross_factor: np.ndarray
    decides: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class _Days:
    """Watering days by the rule and the gap limit, whether or not they are used."""

    weekdays: np.ndarray
    parity: np.ndarray
    every_days: np.ndarray
    days_per_week: np.ndarray
    enough: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class _Event:
    """Minutes of a watering day before rounding, and whether there is one."""

    minutes: np.ndarray
    runs: np.ndarray
    unmet_mm: np.ndarray
    flags: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class _Rows:
    """A block's part of the Plan, its schedule's arrays among the others."""

    weekdays: np.ndarray
    parity: np.ndarray
    every_days: np.ndarray
    days_per_week: np.ndarray
    cycles: np.ndarray
    cycle_min: np.ndarray
    soak_min: np.ndarray
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
    decides: np.ndarray


_SCHEDULED = ("weekdays", "parity", "every_days", "days_per_week", "cycles",
              "cycle_min", "soak_min")  # fmt: skip
_WHOLE = {
    "weekdays": np.uint8,
    "parity": np.uint8,
    "every_days": np.uint8,
    "cycles": np.uint16,
    "gap_limit_days": np.uint8,
    "flags": np.uint16,
    "decides": np.bool_,
}


def plan_by_months(inputs: PlanInput) -> Plan:
    """Plan of all ground and periods, worked in blocks of rows."""
    names = [field.name for field in fields(_Rows)]
    shape = len(inputs.periods), len(inputs)
    out: dict[str, np.ndarray] = {
        name: np.empty(shape, _WHOLE.get(name, np.float64)) for name in names
    }
    limits = cycle_limits(inputs.ground, inputs.valve)
    choices = days_.day_table(inputs.rules, inputs.rule_intervals)
    for rows in _blocks(inputs.ground.valve):
        planned = _planned(_block(inputs, limits, choices, rows))
        for name in names:
            out[name][:, rows] = getattr(planned, name)
    schedule = Schedule.from_table(
        **{name: out.pop(name).T for name in _SCHEDULED}, month=inputs.periods.month
    )
    zone = np.broadcast_to(inputs.ground.valve[:, None], shape[::-1])
    return Plan(
        schedule=replace(schedule, zone=zone),
        runoff_limit_min=limits.runoff_limit_min,
        longest_cycle_min=limits.longest_cycle_min,
        cycle_too_short=limits.cycle_too_short,
        dry_share=np.broadcast_to(np.nan, shape[::-1]),
        fill_min=np.broadcast_to(0.0, shape[::-1]),
        fill_days=np.broadcast_to(0.0, shape[::-1]),
        **{name: values.T for name, values in out.items()},
    )


def _blocks(valve: np.ndarray) -> Iterator[slice]:
    """Rows at a time, the parts of a valve together."""
    start = 0
    while start < len(valve):
        last = valve[min(start + BLOCK_ROWS, len(valve)) - 1]
        stop = int(np.searchsorted(valve, last, "right"))
        yield slice(start, stop)
        start = stop


def _block(
    inputs: PlanInput, limits: CycleLimits, choices: days_.DayTable, rows: slice
) -> _Block:
    of = inputs.ground.valve[rows]
    first, last = int(of[0]), int(of[-1])
    # A slice copies nothing; it will do wherever each valve waters one part.
    one_each = np.array_equal(of, np.arange(first, last + 1))
    valves = slice(first, last + 1) if one_each else of
    return _Block(
        inputs.periods.days[:, None],
        _turned(_Weather, inputs, valves),
        _turned(Ground, inputs.ground, rows),
        _turned(Valve, inputs.valve, valves),
        _turned(CycleLimits, limits, rows),
        choices,
        () if one_each else tuple(parts_of_shared_valves(of)),
    )


def _turned(kind: type[_Record], source: Any, rows: slice | np.ndarray) -> _Record:
    """Rows of a record, periods first."""
    names = kind.__dataclass_fields__  # type: ignore[attr-defined]
    return kind(
        **{name: np.ascontiguousarray(getattr(source, name)[rows].T) for name in names}
    )


def _planned(block: _Block) -> _Rows:
    """Every array of the Plan for these rows."""
    needs = _needs(block)
    wanted = _wanted(block, needs)
    days = _days(block, wanted)
    event = _event(block, needs, wanted, days)
    return _rows(block, needs, wanted, days, event)


def _needs(block: _Block) -> _Needs:
    need = block.weather.et0_mm_day * block.ground.landscape_coefficient * block.days
    rain = _effective_rain(block, need)
    return _Needs(need, rain, need - rain)


def _effective_rain(block: _Block, need_mm: np.ndarray) -> np.ndarray:
    """Rain that counts, by each row's method."""
    weather, method = block.weather, block.weather.rain_method
    stored = np.broadcast_to(block.ground.allowed_depletion_mm, need_mm.shape)
    counted = np.zeros(need_mm.shape)
    by_tr21 = np.flatnonzero(method == RAIN_METHODS.index("tr21"))
    if by_tr21.size:
        counted[:, by_tr21] = rain_.effective_rain_tr21(
            weather.rain_mm[:, by_tr21], need_mm[:, by_tr21], stored[:, by_tr21]
        )
    by_share = np.flatnonzero(method == RAIN_METHODS.index("share"))
    if by_share.size:
        counted[:, by_share] = rain_.effective_rain_share(
            weather.rain_mm[:, by_share],
            need_mm[:, by_share],
            weather.rain_share[by_share],
        )
    return counted


def _wanted(block: _Block, needs: _Needs) -> _Wanted:
    ground, frost, drip = block.ground, block.weather.frost, block.valve.drip
    net, depletion = needs.net_need_mm, ground.allowed_depletion_mm
    carried, carried_in = storage.carry_small_needs(net, depletion, month_axis=0)
    need_day = needs.plant_need_mm / block.days
    asks = _Asks(
        gap_days=days_.gap_limit(
            depletion, need_day, ground.longest_gap_days, ground.shortest_gap_days
        ),
        net_need_mm=net,
        carried=carried,
        carried_in_mm=carried_in,
        allowed_mm=depletion,
        total_mm=ground.total_available_water_mm,
        gross_factor=_gross_factor(block) / ground.rate_share,
        decides=np.broadcast_to(True, net.shape),
    )
    if block.shared:
        asks = _of_neediest(block, needs, asks)
    event_need = (asks.net_need_mm + asks.carried_in_mm) * ~asks.carried
    raised = days_.light_event_gap(
        asks.gap_days, asks.allowed_mm, event_need / block.days
    )
    light = raised.too_light & ~drip
    no_need = asks.net_need_mm == 0
    off = frost | asks.carried | light | no_need
    flags = _flags(
        (FROST, frost),
        (CARRIED, asks.carried),
        (LIGHT, light & (event_need > 0)),
        (NO_NEED, no_need),
        (LIGHTER, raised.lighter & ~drip),
        (IN_WEEKS, raised.in_weeks & ~drip),
        (GAP_RAISED, raised.raised & ~drip),
    )
    return _Wanted(
        gap_limit_days=np.maximum(asks.gap_days, raised.gap_days * ~drip),
        event_need_mm=event_need,
        carried_in_mm=asks.carried_in_mm * ~off,
        off=off,
        flags=flags,
        total_mm=asks.total_mm,
        gross_factor=asks.gross_factor,
        decides=asks.decides,
    )


def _of_neediest(block: _Block, needs: _Needs, own: _Asks) -> _Asks:
    """What the neediest part of each valve asks for, for all its parts."""
    shape = needs.net_need_mm.shape
    asks = {
        f.name: np.array(np.broadcast_to(getattr(own, f.name), shape))
        for f in fields(_Asks)
    }
    idle = block.weather.frost | own.carried | (own.net_need_mm == 0)
    for parts in block.shared:
        # What another part has the valve water in a month is not left to the next.
        ran = np.roll(~idle[:, parts].all(axis=1, keepdims=True), 1, axis=0)
        asks["carried_in_mm"][:, parts] *= ~ran
        wanted = (asks["net_need_mm"] + asks["carried_in_mm"])[:, parts]
        wanted = wanted * asks["gross_factor"][:, parts] * ~idle[:, parts]
        order = np.lexsort((needs.plant_need_mm[:, parts], wanted), axis=1)
        neediest = parts.start + order[:, -1:]
        gap = np.where(idle[:, parts], np.inf, asks["gap_days"][:, parts])
        for values in asks.values():
            values[:, parts] = np.take_along_axis(values, neediest, axis=1)
        least = gap.min(axis=1, keepdims=True)
        asks["gap_days"][:, parts] = np.minimum(least, asks["gap_days"][:, parts])
        asks["decides"][:, parts] = np.arange(parts.start, parts.stop) == neediest
    return _Asks(**asks)


def _flags(*marks: tuple[int, np.ndarray]) -> np.ndarray:
    """Bits of the branches that were taken."""
    bit, where = marks[0]
    flags = where * np.uint16(bit)
    for bit, where in marks[1:]:
        flags |= where * np.uint16(bit)
    return np.asarray(flags)


def _days(block: _Block, wanted: _Wanted) -> _Days:
    choices, rule = block.choices, block.valve.day_rule
    gap = np.minimum(wanted.gap_limit_days, LONGEST_GAP)
    place = rule * choices.weekdays.shape[1] + gap.astype(np.intp)
    return _Days(
        weekdays=choices.weekdays.take(place),
        parity=choices.parity.take(rule),
        every_days=choices.every_days.take(place),
        days_per_week=choices.days_per_week.take(place),
        enough=choices.enough.take(place),
    )


def _event(block: _Block, needs: _Needs, wanted: _Wanted, days: _Days) -> _Event:
    valve = block.valve
    none = days.weekdays == 0
    forbidden = none & ~wanted.off
    off = wanted.off | none
    # Where no day is permitted there is nothing to divide by.
    per_period = (days.days_per_week + none) * (block.days / WEEK)
    event = wanted.event_need_mm / per_period
    a_mm_min = wanted.gross_factor * (MIN_PER_H / valve.rate_mm_h)
    most = np.minimum(wanted.total_mm, valve.longest_day_min / a_mm_min)
    over = np.maximum(event - most, 0.0)
    minutes = event - over
    minutes *= a_mm_min
    under = (minutes < valve.minute_step / 2) & ~off
    runs = ~(off | under)
    over *= runs
    flags = _flags(
        (NOT_PERMITTED, forbidden),
        (NEED_UNMET, over > 0),
        (DAYS_TOO_FEW, runs & ~days.enough),
        (UNDER_STEP, under),
        (PAYS, runs & (wanted.carried_in_mm > 0)),
    )
    over *= per_period
    over += needs.net_need_mm * forbidden
    return _Event(minutes=minutes, runs=runs, unmet_mm=over, flags=flags)


def _gross_factor(block: _Block) -> np.ndarray:
    return gross_factor(
        block.valve.run_time_multiplier, block.ground.leaching_requirement
    )


def _rows(
    block: _Block, needs: _Needs, wanted: _Wanted, days: _Days, event: _Event
) -> _Rows:
    valve, limits, runs = block.valve, block.limits, event.runs
    event_minutes = event.minutes * runs
    split = cycles_.split_minutes(
        event_minutes + valve.minute_step * ~runs,
        limits.longest_cycle_min,
        valve.minute_step,
    )
    cycles, cycle_min = split.cycles * runs, split.cycle_min * runs
    per_week = days.days_per_week * runs
    day_min = cycles * cycle_min
    soaks = (cycles > 1) & (day_min > limits.runoff_limit_min + TOLERANCE)
    minutes = day_min * per_week * (block.days / WEEK)
    carried_in = wanted.carried_in_mm * runs
    gross = (needs.net_need_mm + carried_in) * ((wanted.flags & CARRIED) == 0)
    flow = valve.flow_l_min * block.ground.share * block.ground.rate_share
    rate_mm_h = valve.rate_mm_h * block.ground.rate_share
    return _Rows(
        weekdays=days.weekdays * runs,
        parity=days.parity * runs,
        every_days=days.every_days * runs,
        days_per_week=per_week,
        cycles=cycles,
        cycle_min=cycle_min,
        soak_min=soak_between(cycle_min, limits.soak_a_minute, valve) * soaks,
        plant_need_mm=needs.plant_need_mm,
        effective_rain_mm=needs.effective_rain_mm,
        net_need_mm=needs.net_need_mm,
        gross_need_mm=gross * _gross_factor(block),
        carried_in_mm=carried_in,
        gap_limit_days=wanted.gap_limit_days,
        event_minutes=event_minutes,
        applied_mm=minutes * (rate_mm_h / MIN_PER_H),
        unmet_mm=event.unmet_mm,
        volume_l=minutes * flow,
        flags=wanted.flags
        | event.flags
        | _flags(
            (STARTS_TOO_FEW, (cycles > valve.starts) & ~valve.soak_built_in),
            (SOAKS, soaks),
        ),
        decides=wanted.decides,
    )
