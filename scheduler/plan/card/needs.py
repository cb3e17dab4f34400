"""What each zone wants of a controller card, month by month."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from scheduler.demand.leaching import gross_factor
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.site import Controller, Window
from scheduler.plan import table
from scheduler.plan.site import SitePlan
from scheduler.plan.times.cycles import soak_minutes
from scheduler.plan.times.patterns import days_to_choose
from scheduler.plan.times.windows import (
    closes_min_of,
    earliest_sunrise_min,
    local_timezone,
    window_of,
)
from scheduler.rounding import ceil_, floor_
from scheduler.units import MIN_PER_H


@dataclass(frozen=True, slots=True, eq=False)
class CardNeeds:
    """Zones as a card sees them: (zone, month) or (zone,), times in steps where said.

    `need_steps` is 0 where the zone wants no water; `never` marks months in which it
    must not run (frost, not permitted). `window` is a row of `windows`, -1 where
    watering is not permitted. `longest_steps` is the longest run time that can be
    keyed, `most_steps` the longest run of a zone, `event_steps` the most
    that a day may run in all, `cycle_steps` the longest cycle. `closes_min` is
    (window, month), minutes after midnight.
    """

    zones: tuple[str, ...]
    station: np.ndarray
    need_steps: np.ndarray
    never: np.ndarray
    gap_limit_days: np.ndarray
    window: np.ndarray
    windows: tuple[Window, ...]
    closes_min: np.ndarray
    longest_steps: float
    most_steps: np.ndarray
    event_steps: np.ndarray
    cycle_steps: np.ndarray
    runoff_limit_min: np.ndarray
    soak_per_min: np.ndarray
    rate_mm_h: np.ndarray
    flow_l_min: np.ndarray
    minute_step: float
    controller: Controller
    sides_known: dict[Any, Any] = field(default_factory=dict)
    """Sides of midnight worked out so far; `midnight.py` fills it."""

    @property
    def step_l(self) -> np.ndarray:
        """Water of one step of each zone's run time, in liters."""
        return np.asarray(self.flow_l_min * self.minute_step)

    def soak_min(
        self,
        zones: np.ndarray | list[int],
        cycle_steps: np.ndarray,
        day_steps: np.ndarray,
    ) -> np.ndarray:
        """Soak of zones after cycles of so many steps; none where a day needs none."""
        soak = soak_minutes(
            cycle_steps * self.minute_step * self.soak_per_min[zones],
            np.asarray(self.controller.shortest_soak_min),
        )
        limit = self.runoff_limit_min[zones] * (1 + 1e-9)
        split = day_steps * self.minute_step > limit
        return np.asarray(soak * (split & (day_steps > cycle_steps)))


def card_needs(plan: SitePlan, year: int) -> CardNeeds:
    """Needs of a planned site; sunrise is that of the given year."""
    site, inputs, found = plan.site, plan.inputs, plan.plan
    controller = site.controller
    step = float(controller.minute_step)
    waters = found.schedule.cycles > 0
    factor = gross_factor(
        inputs.valve.run_time_multiplier, plan.ground.leaching_requirement
    )
    promised = found.gross_need_mm - found.unmet_mm * factor[:, None]
    a_step_mm = inputs.valve.rate_mm_h * step / MIN_PER_H
    # The part that a zone runs for may have heads of its own.
    own = inputs.ground.rate_share[plan.decides]
    need = np.where(waters, promised / (a_step_mm[:, None] * own), 0.0)
    windows = tuple(dict.fromkeys(site.windows))
    window = _window_rows(plan, windows)
    longest = floor_(np.asarray(controller.longest_run_min / step))
    cycle = floor_(found.longest_cycle_min / step)
    event_mm = plan.ground.total_available_water_mm.min(axis=1) * factor
    frost = np.asarray(found.flags & table.FROST, dtype=bool)
    return CardNeeds(
        zones=site.zones.zone,
        station=site.zones.station,
        need_steps=np.maximum(need, 0.0),
        never=frost | (window < 0),
        gap_limit_days=_gap_limits(plan, windows, window),
        window=window,
        windows=windows,
        closes_min=_closes(plan, windows, year),
        longest_steps=float(longest),
        most_steps=np.broadcast_to(longest, cycle.shape)
        if controller.soak_built_in
        else np.minimum(cycle, longest),
        event_steps=np.maximum(ceil_(event_mm / a_step_mm), 1.0),
        cycle_steps=cycle,
        runoff_limit_min=found.runoff_limit_min,
        soak_per_min=plan.soak_a_minute,
        rate_mm_h=inputs.valve.rate_mm_h,
        flow_l_min=inputs.valve.flow_l_min,
        minute_step=step,
        controller=controller,
    )


def _gap_limits(
    plan: SitePlan, windows: tuple[Window, ...], window: np.ndarray
) -> np.ndarray:
    """Gap limits, raised where even the most days that are permitted leave more."""
    choices = days_to_choose(windows, bool(plan.site.controller.intervals))
    shortest = [
        min((d.first.longest_gap for d in choices if d.first.permitted(one)), default=0)
        for one in windows
    ]
    limits = np.asarray(plan.plan.gap_limit_days, dtype=float)
    return np.maximum(limits, np.array([*shortest, 0], dtype=float)[window])


def _window_rows(plan: SitePlan, windows: tuple[Window, ...]) -> np.ndarray:
    site = plan.site
    by_kind = np.full((len(HEAD_KINDS), 12), -1)
    for kind, name in enumerate(HEAD_KINDS):
        for month in range(12):
            window = window_of(site.windows, name, month + 1)
            if window is not None:
                by_kind[kind, month] = windows.index(window)
    return np.asarray(by_kind[site.zones.head_kind])


def _closes(plan: SitePlan, windows: tuple[Window, ...], year: int) -> np.ndarray:
    """Closing minute by window and month; noon where the sun does not rise."""
    site = plan.site
    closes = np.zeros((len(windows), 12), dtype=int)
    zone = local_timezone(site.timezone, site.longitude)
    for row, window in enumerate(windows):
        for month in range(12):
            rise = None
            if window.closes == "sunrise":
                rise = earliest_sunrise_min(
                    site.latitude, site.longitude, zone, year, month + 1
                )
            closes[row, month] = closes_min_of(window, rise)
    return closes
