"""The month-by-month watering table: the rooms chained into one Plan."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields

import numpy as np

from scheduler.calendar import DAYS_IN_MONTH, PARITIES
from scheduler.demand import rain as rain_
from scheduler.plan import cycles as cycles_
from scheduler.plan import days as days_
from scheduler.rounding import TOLERANCE
from scheduler.schedule import Schedule
from scheduler.soil import intake as intake_
from scheduler.soil import storage
from scheduler.units import MIN_PER_H

BLOCK_ZONES = 1024
"""Zones planned at a time: what is in work then stays in the processor's cache."""

RAIN_METHODS = ("none", "tr21", "share")

(
    FROST,
    CARRIED,
    LIGHT,
    NOT_PERMITTED,
    DAYS_TOO_FEW,
    NEED_UNMET,
    STARTS_TOO_FEW,
    UNDER_STEP,
) = (1 << bit for bit in range(8))
"""Bits of `Plan.flags`: why a month is off, and what it cannot promise."""


@dataclass(frozen=True, slots=True, eq=False)
class PlanInput:
    """All that the planning needs, along zones; (zone,) unless said.

    `rain_method` is a row of RAIN_METHODS; `day_rule` (zone, month) a row of `rules`,
    with `rule_intervals` beside it; `frost` (zone, month) marks months that are off.
    """

    et0_mm_day: np.ndarray  # (zone, month)
    rain_mm: np.ndarray  # (zone, month)
    frost: np.ndarray  # (zone, month)
    landscape_coefficient: np.ndarray  # (zone, month)
    day_rule: np.ndarray  # (zone, month)
    rain_method: np.ndarray
    rain_share: np.ndarray
    total_available_water_mm: np.ndarray
    allowed_depletion_mm: np.ndarray
    longest_gap_days: np.ndarray
    drip: np.ndarray
    rate_mm_h: np.ndarray
    peak_rate_mm_h: np.ndarray
    flow_l_min: np.ndarray
    run_time_multiplier: np.ndarray
    leaching_requirement: np.ndarray
    intake_mm_h: np.ndarray
    accumulation_mm: np.ndarray
    longest_run_min: np.ndarray
    minute_step: np.ndarray
    shortest_soak_min: np.ndarray
    starts: np.ndarray
    soak_built_in: np.ndarray
    rules: tuple[days_.DayRule, ...]
    rule_intervals: tuple[bool, ...]

    def __len__(self) -> int:
        return len(self.rate_mm_h)


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """The table, (zone, month) unless said; depths are totals of the month.

    `event_minutes` is what a watering day would run before rounding; 0 where off.
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
    runoff_limit_min: np.ndarray  # (zone,)
    longest_cycle_min: np.ndarray  # (zone,)
    cycle_too_short: np.ndarray  # (zone,)


_WHOLE = {
    "weekdays": np.uint8,
    "parity": np.uint8,
    "every_days": np.uint8,
    "cycles": np.uint16,
    "gap_limit_days": np.uint8,
    "flags": np.uint8,
}


def plan_zones(inputs: PlanInput) -> Plan:
    """Plan of all zones and months, worked in blocks of zones."""
    runoff_limit = intake_.longest_run_without_runoff(
        inputs.accumulation_mm, inputs.peak_rate_mm_h, inputs.intake_mm_h
    )
    runoff_limit = np.where(inputs.drip, np.inf, runoff_limit)
    longest, too_short = cycles_.longest_cycle(
        runoff_limit, inputs.longest_run_min, inputs.minute_step
    )
    choices = days_.day_table(inputs.rules, inputs.rule_intervals)
    rule_parity = np.array([PARITIES.index(rule.parity) for rule in inputs.rules],
                           dtype=np.uint8)  # fmt: skip
    count = len(inputs)
    names = (*_SCHEDULED, *(f.name for f in fields(Plan) if f.name not in _ZONE_FIELDS))
    out = {name: np.empty((12, count), _WHOLE.get(name, np.float64)) for name in names}
    for part in _blocks(count):
        block = _Block(inputs, part, runoff_limit[part], longest[part])
        for name, values in block.plan(choices, rule_parity).items():
            out[name][:, part] = values
    schedule = Schedule.from_table(
        **{name: out.pop(name).T for name in _SCHEDULED}, month=np.arange(12)
    )
    return Plan(
        schedule=schedule,
        runoff_limit_min=runoff_limit,
        longest_cycle_min=longest,
        cycle_too_short=too_short,
        **{name: values.T for name, values in out.items()},
    )


_SCHEDULED = ("weekdays", "parity", "every_days", "days_per_week", "cycles",
              "cycle_min", "soak_min")  # fmt: skip
_ZONE_FIELDS = ("schedule", "runoff_limit_min", "longest_cycle_min", "cycle_too_short")


def _blocks(count: int) -> Iterator[slice]:
    for start in range(0, count, BLOCK_ZONES):
        yield slice(start, min(start + BLOCK_ZONES, count))


class _Block:
    """One block of zones. Inside it arrays are (month, zone), so that what varies by
    zone alone lies along the fast axis."""

    def __init__(
        self,
        inputs: PlanInput,
        part: slice,
        runoff_limit_min: np.ndarray,
        longest_cycle_min: np.ndarray,
    ) -> None:
        self.inputs = inputs
        self.part = part
        self.runoff_limit_min = runoff_limit_min
        self.longest_cycle_min = longest_cycle_min

    def by_zone(self, name: str) -> np.ndarray:
        """Values of the block's zones, (zone,) or (month, zone)."""
        values: np.ndarray = getattr(self.inputs, name)[self.part]
        return np.ascontiguousarray(values.T) if values.ndim == 2 else values

    def plan(
        self, choices: days_.DayTable, rule_parity: np.ndarray
    ) -> dict[str, np.ndarray]:
        """Every array of the Plan for these zones, (month, zone)."""
        out = self._needs()
        off, event_need = self._what_is_watered(out)
        self._days(out, off, event_need, choices, rule_parity)
        self._minutes(out, off, event_need)
        return out

    def _needs(self) -> dict[str, np.ndarray]:
        need = (
            self.by_zone("et0_mm_day")
            * self.by_zone("landscape_coefficient")
            * DAYS_IN_MONTH[:, None]
        )
        rain = self._effective_rain(need)
        return {
            "plant_need_mm": need,
            "effective_rain_mm": rain,
            "net_need_mm": need - rain,
        }

    def _effective_rain(self, need: np.ndarray) -> np.ndarray:
        method = self.by_zone("rain_method")
        rain = self.by_zone("rain_mm")
        result = np.zeros(need.shape)
        if np.any(method == 1):
            by_tr21 = rain_.effective_rain_tr21(
                rain, need, self.by_zone("allowed_depletion_mm")
            )
            result += by_tr21 * (method == 1)
        if np.any(method == 2):
            by_share = rain_.effective_rain_share(
                rain, need, self.by_zone("rain_share")
            )
            result += by_share * (method == 2)
        return result

    def _what_is_watered(
        self, out: dict[str, np.ndarray]
    ) -> tuple[np.ndarray, np.ndarray]:
        """Months that are off, and the net need that waterings have to meet."""
        net = out["net_need_mm"]
        depletion = self.by_zone("allowed_depletion_mm")
        frost = self.by_zone("frost")
        carried, carried_in = storage.carry_small_needs(net, depletion, month_axis=0)
        need_day = out["plant_need_mm"] / DAYS_IN_MONTH[:, None]
        gap = days_.gap_limit(depletion, need_day, self.by_zone("longest_gap_days"))
        event_need = (net + carried_in) * ~carried
        raised, too_light = days_.light_event_gap(
            gap, depletion, event_need / DAYS_IN_MONTH[:, None]
        )
        light = too_light & ~self.by_zone("drip")
        gap = np.where(self.by_zone("drip"), gap, raised)
        off = frost | carried | light | (net == 0)
        out["gap_limit_days"] = gap
        out["flags"] = (
            frost * np.uint8(FROST)
            + carried * np.uint8(CARRIED)
            + (light & (event_need > 0)) * np.uint8(LIGHT)
        )
        out["carried_in_mm"] = carried_in * ~off
        return off, (net + out["carried_in_mm"]) * ~carried

    def _gross_factor(self) -> np.ndarray:
        multiplier = self.by_zone("run_time_multiplier")
        return np.asarray(multiplier / (1 - self.by_zone("leaching_requirement")))

    def _days(
        self,
        out: dict[str, np.ndarray],
        off: np.ndarray,
        event_need: np.ndarray,
        choices: days_.DayTable,
        rule_parity: np.ndarray,
    ) -> None:
        rule = self.by_zone("day_rule")
        gap = np.minimum(out["gap_limit_days"], days_.LONGEST_GAP)
        place = rule * choices.weekdays.shape[1] + gap.astype(np.intp)
        out["weekdays"] = choices.weekdays.take(place)
        out["every_days"] = choices.every_days.take(place)
        out["days_per_week"] = choices.days_per_week.take(place)
        out["parity"] = rule_parity.take(rule)
        none = out["weekdays"] == 0
        forbidden = none & ~off
        out["flags"] += forbidden * np.uint8(NOT_PERMITTED)
        out["enough"] = choices.enough.take(place)
        out["unmet_mm"] = out["net_need_mm"] * forbidden
        off |= none

    def _minutes(
        self, out: dict[str, np.ndarray], off: np.ndarray, event_need: np.ndarray
    ) -> None:
        days = DAYS_IN_MONTH[:, None]
        step = self.by_zone("minute_step")
        water = self.by_zone("total_available_water_mm")
        per_month = np.where(off, 1.0, out["days_per_week"]) * (days / 7)
        event = event_need / per_month
        over = np.maximum(event - water, 0.0)
        minutes = event - over
        minutes *= self._gross_factor() * (MIN_PER_H / self.by_zone("rate_mm_h"))
        under = (minutes < step / 2) & ~off
        runs = ~(off | under)
        over *= runs
        out["unmet_mm"] += over * per_month
        out["flags"] += (
            (over > 0) * np.uint8(NEED_UNMET)
            + (runs & ~out.pop("enough")) * np.uint8(DAYS_TOO_FEW)
            + under * np.uint8(UNDER_STEP)
        )
        out["carried_in_mm"] *= runs
        out["gross_need_mm"] = np.where(
            out["flags"] & CARRIED, 0.0, out["net_need_mm"] + out["carried_in_mm"]
        )
        out["gross_need_mm"] *= self._gross_factor()
        split = cycles_.split_minutes(
            np.where(runs, minutes, step), self.longest_cycle_min, step
        )
        out["cycles"] = split.cycles * runs
        out["cycle_min"] = split.cycle_min * runs
        out["event_minutes"] = minutes * runs
        for name in ("weekdays", "every_days", "days_per_week", "parity"):
            out[name] *= runs
        self._soak_and_totals(out)

    def _soak_and_totals(self, out: dict[str, np.ndarray]) -> None:
        a_minute = intake_.soak_to_go_in(
            1.0, self.by_zone("peak_rate_mm_h"), self.by_zone("intake_mm_h")
        )
        day = out["cycles"] * out["cycle_min"]
        split = (out["cycles"] > 1) & (day > self.runoff_limit_min + TOLERANCE)
        soak = cycles_.soak_minutes(
            out["cycle_min"] * a_minute, self.by_zone("shortest_soak_min")
        )
        out["soak_min"] = soak * split
        too_few = (out["cycles"] > self.by_zone("starts")) & ~self.by_zone(
            "soak_built_in"
        )
        out["flags"] += too_few * np.uint8(STARTS_TOO_FEW)
        minutes = day * out["days_per_week"] * (DAYS_IN_MONTH[:, None] / 7)
        out["applied_mm"] = minutes * (self.by_zone("rate_mm_h") / MIN_PER_H)
        out["volume_l"] = minutes * self.by_zone("flow_l_min")
