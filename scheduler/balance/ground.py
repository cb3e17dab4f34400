"""Ground that plants drink from, and the valves that water it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """Ground of one kind under one valve, a row a part of a zone.

    A zone of one part is one row. Arrays are (part,), or (part, period) where said;
    those may have a period axis of 1 where nothing changes through the year.
    """

    valve: np.ndarray
    """Row of the valve that waters it."""
    share: np.ndarray
    """Share of its valve's area; the parts of a valve make 1."""
    landscape_coefficient: np.ndarray  # (part, period)
    total_available_water_mm: np.ndarray  # (part, period)
    allowed_depletion_mm: np.ndarray  # (part, period)
    wetted_share: np.ndarray
    """Share of the plants' ground that watering wets; the store above is in it, though
    its depths are over all of the ground."""
    longest_gap_days: np.ndarray
    shortest_gap_days: np.ndarray
    leaching_requirement: np.ndarray
    intake_mm_h: np.ndarray
    accumulation_mm: np.ndarray
    rate_share: np.ndarray
    """Rate on the part over its valve's; weighted by share, those of a valve make 1."""

    def __len__(self) -> int:
        return len(self.valve)


@dataclass(frozen=True, slots=True, eq=False)
class Valve:
    """A valve: what it lays down, and what its controller can be set to; (valve,).

    `day_rule` (valve, period) is a row of the plan's rules of permitted days, and
    `night_min` (valve, period) what a night of its window holds. `climate` is a row of
    the plan's years. `drip` marks drip and bubblers, `runs_off` all from which water
    may stand and run off: not drip. `most_dry` is the share of days that plants may go
    short; `longest_day_min` (what the controller runs a station in a day) and
    `rain_shutoff_mm` are infinite where there is none.
    """

    rate_mm_h: np.ndarray
    peak_rate_mm_h: np.ndarray
    flow_l_min: np.ndarray
    uniformity: np.ndarray
    run_time_multiplier: np.ndarray
    drip: np.ndarray
    runs_off: np.ndarray
    day_rule: np.ndarray  # (valve, period)
    longest_run_min: np.ndarray
    minute_step: np.ndarray
    shortest_soak_min: np.ndarray
    starts: np.ndarray
    soak_built_in: np.ndarray
    climate: np.ndarray
    least_cycle_min: np.ndarray
    night_min: np.ndarray  # (valve, period)
    longest_day_min: np.ndarray
    most_dry: np.ndarray
    rain_shutoff_mm: np.ndarray

    def __len__(self) -> int:
        return len(self.rate_mm_h)


def on_parts(ground: Ground, water_mm: np.ndarray) -> np.ndarray:
    """Depth that each part gets, (part, …), of what its valve lays down, (valve, …)."""
    own = ground.rate_share.reshape(-1, *[1] * (water_mm.ndim - 1))
    return np.asarray(water_mm[ground.valve] * own)
