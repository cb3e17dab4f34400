"""The setting of least water that real years let one get away with.

In a month each pattern is tried at the minutes that matter: water and dryness both go
one way with minutes, so the fewest that suffice are found by parting the range, not by
trying all.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.balance.dates import watering_days
from scheduler.balance.lanes import Month, Outcome, Waterings, outcome
from scheduler.plan.candidates import PATTERNS, Minutes, Patterns

MOST_LEFT_DRY = 0.25
"""Share of the wetter quarters that a month may leave dry to the next (rule of this
program: so that one month does not save at the cost of the next)."""
NEAR_LEAST, NEAR_LEAST_MM = 1.05, 0.5
"""What counts as hardly more water than the least (rule of this program)."""
NEAR_DRIEST = 0.02
"""Dry share over the least that counts as the least (rule of this program)."""
OFF = PATTERNS
"""Row of the setting that waters never, after the patterns."""
PROBES = 5
_EPS = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Filling:
    """Waterings that fill dry ground where a season begins, in place of the first ones.

    `minutes` (valve,) a day on `nights` (valve,) nights, 0 where nothing is filled;
    `waters` (valve, year, day) says on which.
    """

    minutes: np.ndarray
    nights: np.ndarray
    waters: np.ndarray

    def depth_mm(self, rate_mm_min: np.ndarray) -> np.ndarray:
        """Gross depth on each day, (valve, year, day)."""
        return np.asarray(self.waters * (self.minutes * rate_mm_min)[:, None, None])

    @property
    def over(self) -> np.ndarray:
        """Days after the last filling, on which the pattern itself waters."""
        later = np.cumsum(self.waters[..., ::-1], axis=-1)[..., ::-1]
        return np.asarray(later == 0)


@dataclass(frozen=True, slots=True, eq=False)
class Range:
    """What may be chosen in a month: patterns, and minutes from `first` to `last`.

    `first` and `last` (valve, pattern) are rows of `minutes`; `rate_mm_min` (valve,)
    is the gross depth of a minute; `off_only` (valve,) marks valves that stay off.
    `fill_mm` (valve, year, day) is what fills the ground first, and up to `fill_last`
    (valve, year) the pattern itself waits; −1 where there is no fill.
    """

    patterns: Patterns
    minutes: Minutes
    first: np.ndarray
    last: np.ndarray
    rate_mm_min: np.ndarray
    off_only: np.ndarray
    filling: Filling


@dataclass(frozen=True, slots=True, eq=False)
class Chosen:
    """What one month is set to, (valve,): the pattern's row (OFF: nothing runs).

    `row` is that of its minutes. `stays_dry` says that no setting is within the limit,
    `left_dry` that none within it hands over well; the shares are those that hold.
    """

    pattern: np.ndarray
    row: np.ndarray
    water_mm: np.ndarray
    dry: np.ndarray
    left_dry: np.ndarray
    stays_dry: np.ndarray


def settings_days(month: Month, within: Range) -> np.ndarray:
    """Days on which each pattern waters, (valve, pattern + 1, year, day).

    The last one is the setting that waters never.
    """
    patterns = within.patterns
    valves, count = patterns.weekdays.shape
    years, length = month.rain_mm.shape
    found = np.zeros((valves, count + 1, years, length), dtype=bool)
    found[:, :count] = watering_days(
        patterns.weekdays.ravel(),
        patterns.parity.ravel(),
        patterns.every_days.ravel(),
        month.days,
        np.repeat(month.since, count, axis=0),
    ).reshape(valves, count, years, length)
    if within.filling.nights.any():
        found &= within.filling.over[:, None]
    return found


def choose(
    month: Month,
    within: Range,
    most_dry: np.ndarray,
    hands_over: np.ndarray | bool,
    before: tuple[np.ndarray, np.ndarray],
) -> Chosen:
    """Setting of least water whose dry share is within the limit, and its ties.

    `most_dry` (valve,) is the limit; `hands_over` says whether the next month takes the
    ground over (a frost month does not ask); `before` holds weekdays and interval of
    the month before, (valve,), for equals go on with those.
    """
    trial = _Trial(month, within)
    widest = trial.outcome(within.last[..., None])
    usable = np.concatenate(
        [within.patterns.usable & ~within.off_only[:, None],
         np.ones((len(most_dry), 1), dtype=bool)], axis=1
    )  # fmt: skip
    dry = np.where(usable, widest.dry[..., 0], np.inf)
    left = np.where(usable, widest.left_dry[..., 0], np.inf)
    if not np.any(hands_over):
        left = np.where(usable, 0.0, np.inf)
    limit, left_limit, stays_dry = _limits(dry, left, most_dry)
    suffices = (dry <= limit[:, None] + _EPS) & (left <= left_limit[:, None] + _EPS)
    row, found = trial.fewest(
        suffices[:, :OFF], limit, left_limit if np.any(hands_over) else None
    )
    water = np.concatenate([found.water_mm[:, :OFF, 0], np.zeros((len(limit), 1))], 1)
    water = np.where(suffices, water, np.inf)
    best = _tie_broken(water, within, row, before)
    valve = np.arange(len(limit))
    return Chosen(
        best,
        np.where(best == OFF, 0, row[valve, np.minimum(best, OFF - 1)]),
        water[valve, best],
        found.dry[valve, best, 0],
        found.left_dry[valve, best, 0],
        stays_dry,
    )


def _limits(
    dry: np.ndarray, left: np.ndarray, most_dry: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Dry share and hand-over to keep to, given those of the most minutes.

    Where no setting is within the limit, what is near the least dry; where only the
    hand-over fails, the best hand-over within the limit.
    """
    within = dry <= most_dry[:, None] + _EPS
    stays_dry = ~within.any(axis=1)
    best_left = np.where(within, left, np.inf).min(axis=1)
    limit = np.where(stays_dry, dry.min(axis=1) + NEAR_DRIEST, most_dry)
    left_limit = np.maximum(MOST_LEFT_DRY, best_left)
    return limit, np.where(stays_dry, np.inf, left_limit), np.asarray(stays_dry)


def _tie_broken(
    water: np.ndarray,
    within: Range,
    row: np.ndarray,
    before: tuple[np.ndarray, np.ndarray],
) -> np.ndarray:
    """Row of the pattern kept: the month before's, else fewest days, then cycles."""
    patterns = within.patterns
    valves = np.arange(len(water))[:, None]
    least = water.min(axis=1, keepdims=True)
    near = water <= NEAR_LEAST * least + NEAR_LEAST_MM
    days = np.concatenate([patterns.days_per_week, np.zeros((len(water), 1))], axis=1)
    cycles = np.zeros(water.shape)
    cycles[:, :OFF] = within.minutes.cycles[valves, row]
    goes_on = np.zeros(water.shape, dtype=bool)
    weekdays, every = (values[:, None] for values in before)
    goes_on[:, :OFF] = (patterns.weekdays == weekdays) & (patterns.every_days == every)
    # The nothing of a month that is off is not gone on with, nor improved upon.
    order = np.lexsort((water, cycles, days, ~goes_on, ~near), axis=1)
    return np.where(water[:, OFF] <= least[:, 0], OFF, order[:, 0])


class _Trial:
    """Settings of one month, played at the minutes asked for."""

    def __init__(self, month: Month, within: Range) -> None:
        self.month = month
        self.within = within
        self.waters = settings_days(month, within)
        self.fill_mm = within.filling.depth_mm(within.rate_mm_min)
        self.valves = np.arange(len(within.off_only))
        self.filled = np.arange(PATTERNS + 1) != OFF

    def outcome(self, row: np.ndarray) -> Outcome:
        """What the patterns come to at rows of minutes, (valve, pattern, probe)."""
        minutes = self.within.minutes.minutes[self.valves[:, None, None], row]
        depth = np.zeros((len(row), PATTERNS + 1, row.shape[-1]))
        depth[:, :OFF] = minutes * self.within.rate_mm_min[:, None, None]
        return outcome(
            self.month, Waterings(self.waters, depth, self.fill_mm, self.filled)
        )

    def fewest(
        self, search: np.ndarray, limit: np.ndarray, left_limit: np.ndarray | None
    ) -> tuple[np.ndarray, Outcome]:
        """Fewest minutes of each pattern that keep to the limits, and their outcome.

        Where `search` (valve, pattern) is False nothing is looked for.
        """
        low = np.where(search, self.within.first, self.within.last)
        high = self.within.last.copy()
        step = np.arange(PROBES)
        while np.any(low < high):
            wide = high - low
            probe = low[..., None] + wide[..., None] * step // PROBES
            tried = self.outcome(probe)
            good = tried.dry[:, :OFF] <= limit[:, None, None] + _EPS
            if left_limit is not None:
                good &= tried.left_dry[:, :OFF] <= left_limit[:, None, None] + _EPS
            any_good = good.any(axis=-1)
            first = np.argmax(good, axis=-1)[..., None]
            at = np.take_along_axis(probe, first, axis=-1)[..., 0]
            under = np.take_along_axis(probe, np.maximum(first - 1, 0), -1)[..., 0]
            high = np.where(any_good, at, high)
            low = np.where(
                any_good,
                np.where(first[..., 0] > 0, np.minimum(under + 1, high), at),
                np.minimum(probe[..., -1] + 1, high),
            )
        return low, self.outcome(low[..., None])


def at_rows(month: Month, within: Range, row: np.ndarray) -> Outcome:
    """What all patterns come to at given rows of minutes, (valve, pattern, probe).

    The last setting is the one that waters never.
    """
    return _Trial(month, within).outcome(row)
