"""The ladder of a month: what other settings would come to, beside the one kept."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from scheduler.balance.lanes import Month, Outcome
from scheduler.plan.by_days import BY_PART, Settings, season_of
from scheduler.plan.choice import (
    MOST_LEFT_DRY,
    NEAR_LEAST,
    NEAR_LEAST_MM,
    OFF,
    Range,
    at_rows,
)
from scheduler.plan.inputs import PlanInput, of_valves
from scheduler.plan.season import Season

AROUND = 2
"""Settings shown on either side of the minutes kept."""
_EPS = 1e-9


@dataclass(frozen=True, slots=True)
class Rung:
    """One setting of a month, played; no weekdays and no minutes where nothing runs.

    `water_mm` is what a mean year's month gets; `dry` the share of the wetter
    quarters' days that end dry, `left_dry` that of those quarters that the month
    leaves dry.
    """

    weekdays: int
    parity: int
    every_days: int
    cycles: float
    cycle_min: float
    water_mm: float
    dry: float
    left_dry: float
    kept: bool


@dataclass(frozen=True, slots=True)
class Ladder:
    """Rungs by days a week and minutes, most first, and why one was kept.

    `reason` is frost, off, stays-dry, hand-over, least-water, as-before or
    fewest-days; `hands_over` says whether the month has to hand its ground on.
    """

    rungs: tuple[Rung, ...]
    reason: str
    most_dry: float
    most_left_dry: float
    hands_over: bool


def ladder(inputs: PlanInput, settings: Settings, valve: int, period: int) -> Ladder:
    """The setting kept of a valve and period, its neighbours, and nothing at all."""
    season = season_of(of_valves(inputs, np.array([valve])))
    mine = _of_valve(settings, valve, np.flatnonzero(inputs.ground.valve == valve))
    periods = len(inputs.periods)
    month = season.month(period, mine.start_mm[:, period], mine.since[:, period])
    within = season.range_of(period, month, mine.pattern[:, period - 1] == OFF)
    hands_over = not bool(season.frost[(period + 1) % periods])
    found = _Found(within, _every_setting(month, within), hands_over)
    kept, row = int(mine.pattern[0, period]), int(mine.row[0, period])
    limit = float(season.inputs.valve.most_dry[0])
    shown = [found.rung(OFF, 0, kept == OFF)]
    for pattern in _neighbours(within, kept):
        middle = row if pattern == kept else found.fewest(pattern, limit)
        shown += [
            found.rung(pattern, at, pattern == kept and at == row)
            for at in range(middle - AROUND, middle + AROUND + 1)
            if within.first[0, pattern] <= at <= within.last[0, pattern]
        ]
    reason = _reason(season, mine, found, period)
    return Ladder(tuple(shown[::-1]), reason, limit, MOST_LEFT_DRY, hands_over)


def _of_valve(settings: Settings, valve: int, parts: np.ndarray) -> Settings:
    """The settings of one valve and its parts."""
    rows = dict.fromkeys(BY_PART, parts)
    return Settings(
        **{
            f.name: getattr(settings, f.name)[rows.get(f.name, np.array([valve]))]
            for f in fields(Settings)
        }
    )


def _every_setting(month: Month, within: Range) -> Outcome:
    """What every pattern comes to at every row of minutes, (valve, pattern, row)."""
    count = within.minutes.count
    every = np.minimum(np.arange(int(count.max())), count[:, None, None] - 1)
    rows = np.broadcast_to(every, (*within.first.shape, every.shape[-1]))
    return at_rows(month, within, rows)


def _neighbours(within: Range, kept: int) -> list[int]:
    """Patterns to show, fewest days first: the one kept and the next on either side."""
    usable = np.flatnonzero(within.patterns.usable[0])[::-1].tolist()
    if within.off_only[0] or not usable:
        return []
    if kept not in usable:
        return usable[:1]
    place = usable.index(kept)
    return usable[max(place - 1, 0) : place + 2]


@dataclass(frozen=True, slots=True, eq=False)
class _Found:
    """All settings of one valve in a month, played."""

    within: Range
    tried: Outcome
    hands_over: bool

    def rung(self, pattern: int, row: int, kept: bool) -> Rung:
        """One setting with what it comes to."""
        at = 0, pattern, row
        water, dry = float(self.tried.water_mm[at]), float(self.tried.dry[at])
        left = float(self.tried.left_dry[at])
        if pattern == OFF:
            return Rung(0, 0, 0, 0.0, 0.0, water, dry, left, kept)
        patterns, minutes = self.within.patterns, self.within.minutes
        return Rung(
            int(patterns.weekdays[0, pattern]),
            int(patterns.parity[0, pattern]),
            int(patterns.every_days[0, pattern]),
            float(minutes.cycles[0, row]),
            float(minutes.cycle_min[0, row]),
            water,
            dry,
            left,
            kept,
        )

    def suffices(self, pattern: int, limit: float) -> np.ndarray:
        """Whether each row of minutes keeps to the limits, (row,)."""
        at = 0, pattern
        good = self.tried.dry[at] <= limit + _EPS
        if self.hands_over:
            good &= self.tried.left_dry[at] <= MOST_LEFT_DRY + _EPS
        row = np.arange(len(good))
        inside = row >= self.within.first[at]
        return np.asarray(good & inside & (row <= self.within.last[at]))

    def fewest(self, pattern: int, limit: float) -> int:
        """Row of the fewest minutes that keep to the limits, else of the most."""
        good = self.suffices(pattern, limit)
        last = int(self.within.last[0, pattern])
        return int(np.argmax(good)) if good.any() else last

    def least_water_mm(self, limit: float) -> float:
        """Least water of any pattern within the limits; infinite where none is."""
        found = [np.inf]
        for pattern in np.flatnonzero(self.within.patterns.usable[0]).tolist():
            if self.suffices(pattern, limit).any():
                row = self.fewest(pattern, limit)
                found.append(float(self.tried.water_mm[0, pattern, row]))
        return min(found)


def _reason(season: Season, settings: Settings, found: _Found, period: int) -> str:
    """Why the setting was kept, in a word."""
    at = 0, period
    kept = int(settings.pattern[at])
    if season.frost[period]:
        return "frost"
    if settings.stays_dry[at]:
        return "stays-dry"
    if kept == OFF:
        return "off"
    water = float(found.tried.water_mm[0, kept, int(settings.row[at])])
    least = found.least_water_mm(float(season.inputs.valve.most_dry[0]))
    if not np.isfinite(least) or water > NEAR_LEAST * least + NEAR_LEAST_MM + _EPS:
        return "hand-over"
    if water <= least + _EPS:
        return "least-water"
    same = settings.weekdays[at] == settings.weekdays[0, period - 1]
    every = settings.every_days[at] == settings.every_days[0, period - 1]
    return "as-before" if same and every else "fewest-days"
