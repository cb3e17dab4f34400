"""What a controller card has to keep to, zone by zone and month by month."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from scheduler.balance.day import WETTER
from scheduler.calendar import WEEK
from scheduler.demand.frost import FrostSeason
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.site import Controller, Window
from scheduler.plan.by_days import season_of
from scheduler.plan.season import Season
from scheduler.plan.site import SitePlan
from scheduler.plan.table import TOO_CLOSE, Plan
from scheduler.plan.times.cycles import soak_minutes
from scheduler.plan.times.patterns import AlikePatterns
from scheduler.plan.times.windows import (
    closes_min_of,
    earliest_sunrise_min,
    local_timezone,
    window_of,
)
from scheduler.rounding import ceil_, floor_
from scheduler.schedule import Schedule
from scheduler.units import MIN_PER_H

DRY_OVER = 0.05
"""So much over the larger of the limit and the table's may a card's dry share be."""
HAND_DAYS = 21
"""Waterings so many days apart can be left for a start by hand."""


@dataclass(frozen=True, slots=True)
class Hand:
    """A zone started by hand in some month (1 to 12), as the table has it.

    `cycles` of `cycle_min` on one of the `weekdays` (bits) every `every_days`.
    """

    zone: int
    month: int
    cycles: int
    cycle_min: float
    soak_min: float
    weekdays: int
    every_days: int


@dataclass(frozen=True, slots=True)
class Fill:
    """What fills dry ground first in a month (1 to 12), started by hand on `days` days.

    `cycles` of `cycle_min` on each of them, with `soak_min` between.
    """

    zone: int
    month: int
    days: int
    cycles: int
    cycle_min: float
    soak_min: float


@dataclass(frozen=True, slots=True, eq=False)
class CardNeeds:
    """Zones as a card sees them: (zone, month) or (zone,), times in steps where said.

    `table_mm` is the gross depth of one watering by the table, `table_l` its water a
    month, both 0 where it is off; `table_dry` its dry share, NaN in frost, and
    `most_dry` what a card's may be at most; `left_mm` is the mean depletion that it
    leaves to the month after, infinite before frost. `fill_min` on each of `fill_days`
    days are what the table fills the ground with first; `hands` are the waterings, by
    zone and month (rows), that come seldom enough to be started by hand. `never` marks
    months in which a zone must not run (frost, not permitted). `window` is a row of
    `windows`, -1 where watering is not permitted. `longest_steps` is the longest run
    time that can be keyed, `least_steps` and `most_steps` bound a zone's run of one
    start, `event_steps` what a day may run in all, `cycle_steps` the longest cycle.
    `closes_min` is (window, month), minutes after midnight; `most_flow_l_min` what the
    supply gives, infinite where that is not known. `season` plays the ground,
    under what the table lays down on a day, `table_water_mm` (zone, year, day), from
    `start_mm` (part, month, year, quarter) at the beginning of each month.
    `carries_steps` is whether programs have steps of new plantings to begin with;
    `lines_empty` is when lines are, None where they cannot freeze.
    """

    zones: tuple[str, ...]
    station: np.ndarray
    table_mm: np.ndarray
    table_l: np.ndarray
    table_dry: np.ndarray
    wanted_dry: np.ndarray
    most_dry: np.ndarray
    left_mm: np.ndarray
    fill_min: np.ndarray
    fill_days: np.ndarray
    hands: Mapping[tuple[int, int], Hand]
    never: np.ndarray
    longest_gap_days: np.ndarray
    shortest_gap_days: np.ndarray
    window: np.ndarray
    windows: tuple[Window, ...]
    closes_min: np.ndarray
    longest_steps: float
    least_steps: np.ndarray
    most_steps: np.ndarray
    event_steps: np.ndarray
    cycle_steps: np.ndarray
    runoff_limit_min: np.ndarray
    soak_per_min: np.ndarray
    rate_mm_h: np.ndarray
    flow_l_min: np.ndarray
    most_flow_l_min: float
    minute_step: float
    controller: Controller
    season: Season
    table_water_mm: np.ndarray
    start_mm: np.ndarray
    carries_steps: bool
    lines_empty: FrostSeason | None
    sides_known: dict[Any, Any] = field(default_factory=dict)
    """Sides of midnight worked out so far; `midnight.py` fills it."""

    @property
    def step_l(self) -> np.ndarray:
        """Water of one step of each zone's run time, in liters."""
        return np.asarray(self.flow_l_min * self.minute_step)

    @property
    def step_mm(self) -> np.ndarray:
        """Gross depth of one step of each zone's run time."""
        return np.asarray(self.rate_mm_h * self.minute_step / MIN_PER_H)

    @property
    def by_hand(self) -> np.ndarray:
        """Where the table waters so seldom that a hand can do it, (zone, month)."""
        found = np.zeros(self.table_mm.shape, dtype=bool)
        for zone, month in self.hands:
            found[zone, month] = True
        return found

    @property
    def waters(self) -> np.ndarray:
        """Where the table waters, (zone, month)."""
        return self.table_mm > 0

    def fills(self, where: np.ndarray) -> Iterator[Fill]:
        """Fillings of some zones and months (bool), in cycles that do not run off."""
        longest = self.cycle_steps * self.minute_step
        for zone, month in np.argwhere(where & (self.fill_days > 0)).tolist():
            minutes = self.fill_min[zone, month]
            cycles = ceil_(minutes / longest[zone])
            steps = np.array([minutes / cycles, minutes]) / self.minute_step
            soak = self.soak_min([zone], steps[:1], steps[1:])
            days = int(self.fill_days[zone, month])
            yield Fill(zone, month + 1, days, int(cycles), float(minutes / cycles),
                       float(soak[0]))  # fmt: skip

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


@dataclass(frozen=True, slots=True, eq=False)
class Options:
    """Days and starts that a program may have, (option,).

    `slots` are the controller's programs that the starts take up, `day` a row of the
    days to choose from; `dates` (option, month) are starts in a mean month.
    """

    days: tuple[AlikePatterns, ...]
    day: np.ndarray
    starts: np.ndarray
    slots: np.ndarray
    dates: np.ndarray

    def __len__(self) -> int:
        return len(self.day)

    def row_of(self, days: AlikePatterns, starts: int) -> int:
        """Row of some days and starts."""
        return next(
            row
            for row, own in enumerate(self.days)
            if own == days and self.starts[row] == starts
        )

    def some(self, rows: Sequence[int], day: np.ndarray) -> Options:
        """Some of the options; `day` are their rows of the days that are kept."""
        return Options(
            tuple(self.days[row] for row in rows),
            day,
            *(values[rows] for values in (self.starts, self.slots, self.dates)),
        )


MANY_STARTS = 8
"""Starts of a zone, in several programs alike where one has fewer."""


def options_of(controller: Controller, choices: Sequence[AlikePatterns]) -> Options:
    """Every number of starts with all days."""
    a_program = int(controller.starts)
    most = a_program * int(controller.programs)
    # A controller that splits runs itself needs no starts for that.
    most = min(most, 2) if controller.soak_built_in else min(most, MANY_STARTS)
    starts = np.tile(np.arange(1, most + 1), len(choices))
    day = np.repeat(np.arange(len(choices)), most)
    dates = np.array([days.first.dates_in_months() for days in choices])
    return Options(
        tuple(choices[row] for row in day.tolist()),
        day,
        starts,
        -(-starts // a_program),
        dates.reshape(-1, 12)[day] * starts[:, None],
    )


def card_needs(plan: SitePlan, year: int) -> CardNeeds:
    """What the card of a planned site keeps to; sunrise is that of the given year."""
    site, found = plan.site, plan.plan
    inputs = replace(plan.inputs, years=(plan.years,))
    controller, valve, ground = site.controller, inputs.valve, inputs.ground
    season = season_of(inputs)
    step = float(controller.minute_step)
    schedule = found.schedule
    water = (
        season.scheduled_mm(schedule)
        if plan.settings is None
        else plan.settings.scheduled_mm
    )
    played = season.play(water * ~season.held)
    table_dry = season.of_valve(season.dry_shares(played))
    limit = np.fmax(valve.most_dry[:, None], table_dry)
    windows = tuple(dict.fromkeys(site.windows))
    window = _window_rows(plan, windows)
    longest = floor_(np.asarray(controller.longest_run_min / step))
    cycle = floor_(season.longest_cycle_min / step)
    a_step_mm = valve.rate_mm_h * step / MIN_PER_H
    total_mm = season.of_valve(
        ground.total_available_water_mm.min(axis=1) / ground.rate_share
    )
    event = np.maximum(ceil_(total_mm * valve.run_time_multiplier / a_step_mm), 1.0)
    day_min = schedule.minutes_per_day
    frost = np.broadcast_to(season.frost, day_min.shape)
    start_mm = season.starts_mm(played)
    design = site.supply.design_flow_l_min
    left_mm = season.of_valve(start_mm[..., WETTER].mean(axis=(2, 3)))
    return CardNeeds(
        zones=site.zones.zone,
        station=site.zones.station,
        table_mm=day_min * (valve.rate_mm_h / MIN_PER_H)[:, None],
        table_l=schedule.minutes_per_week
        * (inputs.periods.days / WEEK)
        * valve.flow_l_min[:, None],
        table_dry=table_dry,
        wanted_dry=limit,
        most_dry=limit + DRY_OVER,
        left_mm=np.roll(np.where(frost, np.inf, left_mm), -1, axis=1),
        fill_min=found.fill_min,
        fill_days=found.fill_days,
        hands=_hands(schedule),
        never=frost | (window < 0),
        longest_gap_days=_longest_gaps(season),
        shortest_gap_days=_shortest_gaps(season, found),
        window=window,
        windows=windows,
        closes_min=_closes(plan, windows, year),
        longest_steps=float(longest),
        least_steps=np.minimum(ceil_(valve.least_cycle_min / step), cycle),
        most_steps=np.broadcast_to(longest, cycle.shape)
        if controller.soak_built_in
        else np.minimum(cycle, longest),
        event_steps=np.minimum(
            np.maximum(event, ceil_(day_min.max(axis=1) / step)),
            floor_(valve.longest_day_min / step),
        ),
        cycle_steps=cycle,
        runoff_limit_min=found.runoff_limit_min,
        soak_per_min=plan.soak_a_minute,
        rate_mm_h=valve.rate_mm_h,
        flow_l_min=valve.flow_l_min,
        most_flow_l_min=float("inf") if design is None else design,
        minute_step=step,
        controller=controller,
        season=season,
        table_water_mm=water,
        start_mm=start_mm,
        carries_steps=any(planting.steps for planting in plan.plantings),
        lines_empty=plan.lines_empty,
    )


def _longest_gaps(season: Season) -> np.ndarray:
    """Days that plants let pass between waterings, (zone, month)."""
    months = range(len(season.inputs.periods))
    return np.stack([season.longest_gap_days(month) for month in months], axis=1)


def _shortest_gaps(season: Season, found: Plan) -> np.ndarray:
    """Days that plants want between waterings, (zone, month); 1 where it cannot be."""
    wanted = season.of_valve(season.inputs.ground.shortest_gap_days)[:, None]
    yields = (found.flags & TOO_CLOSE).astype(bool)
    return np.where(yields, 1.0, wanted)


def _hands(schedule: Schedule) -> dict[tuple[int, int], Hand]:
    """Waterings of a table that come seldom, by zone and month."""
    seldom = (schedule.every_days >= HAND_DAYS) & (schedule.cycles > 0)
    found = {}
    for zone, month in np.argwhere(seldom).tolist():
        row = schedule[zone, month]
        found[zone, month] = Hand(
            zone,
            month + 1,
            int(row.cycles),
            float(row.cycle_min),
            float(row.soak_min),
            int(row.weekdays),
            int(row.every_days),
        )
    return found


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
