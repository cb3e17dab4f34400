"""The setting of least water that real years let one get away with.

In a month each pattern is tried at the minutes that matter: water and dryness both go
one way with minutes, so the fewest that suffice are found by parting the range, not by
trying all.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from scheduler.balance.dates import watering_days
from scheduler.balance.lanes import Lanes, Month, Trials, Waterings
from scheduler.plan.candidates import PATTERNS, Minutes, Patterns

MOST_LEFT_DRY = 0.25
"""Share of the wetter quarters that a month may leave dry to the next (rule of this
program: so that one month does not save at the cost of the next)."""
NEAR_LEAST, NEAR_LEAST_MM = 1.05, 0.5
"""What counts as hardly more water than the least (rule of this program)."""
NEAR_LEAST_DRY = 0.02
"""Share over the least that any setting leaves dry up to which the limits give way:
nearer to that least more water does next to nothing (rule of this program)."""
NEAR_LEAST_LEFT = 0.05
"""The same of what a month leaves dry: one day counts, so that chance is greater."""
OFF = PATTERNS
"""Row of the setting that waters never, after the patterns."""
TRIALS, MOST_PROBES = 128, 5
"""Trials worth playing at a time, and the most of them in one pattern: few patterns
are searched at several minutes at once."""
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
    is the gross depth of a minute; `off_only` (valve,) marks valves that stay off,
    `most_cycles` (valve,) is how many a day a program of the controller starts.
    `night_min` (valve, pattern) are the most minutes that a night holds, soak between
    cycles, where that cuts the range, else infinite. `filling` is what fills the
    ground first; up to its last watering the pattern itself waits.
    """

    patterns: Patterns
    minutes: Minutes
    first: np.ndarray
    last: np.ndarray
    rate_mm_min: np.ndarray
    off_only: np.ndarray
    most_cycles: np.ndarray
    night_min: np.ndarray
    filling: Filling


@dataclass(frozen=True, slots=True, eq=False)
class Chosen:
    """What one month is set to, (valve,): the pattern's row (OFF: nothing runs).

    `row` is that of its minutes; water and shares are what it comes to. `stays_dry`
    says that its dry share is over the limit. `least` is what the choice was made from,
    None where it was not made by the limits.
    """

    pattern: np.ndarray
    row: np.ndarray
    water_mm: np.ndarray
    dry: np.ndarray
    left_dry: np.ndarray
    stays_dry: np.ndarray
    least: Sufficient | None


@dataclass(frozen=True, slots=True, eq=False)
class Sufficient:
    """Fewest minutes of each pattern that keep to a month's limits.

    `row` (valve, pattern) is that of the minutes; `water_mm`, `dry` and `left_dry`
    (valve, pattern + 1) are what they come to, off last. Where a pattern does not
    suffice, or was seen not to be worth a search, `water_mm` is infinite. Kept to are a
    dry share of `limit` and a hand-over of `left_limit`, (valve,); `least_dry` is the
    least share that any setting reaches, where the limit gave way to it, else NaN.
    """

    row: np.ndarray
    water_mm: np.ndarray
    dry: np.ndarray
    left_dry: np.ndarray
    limit: np.ndarray
    left_limit: np.ndarray
    least_dry: np.ndarray


def settings_days(month: Month, within: Range) -> np.ndarray:
    """Days on which each pattern waters, (valve, pattern + 1, year, day).

    The last one is the setting that waters never.
    """
    patterns = within.patterns
    valves, count = patterns.weekdays.shape
    years, length = month.need_mm.shape[1:]
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


def days_of_setting(month: Month, within: Range, pattern: np.ndarray) -> np.ndarray:
    """Days on which one pattern of each valve waters, (valve, year, day)."""
    patterns, valve, runs = within.patterns, np.arange(len(pattern)), pattern != OFF
    kept = np.where(runs, pattern, 0)
    found = watering_days(
        patterns.weekdays[valve, kept] * runs,
        patterns.parity[valve, kept],
        patterns.every_days[valve, kept],
        month.days,
        month.since,
    )
    found &= runs[:, None, None]
    return found & within.filling.over if within.filling.nights.any() else found


def choose(
    month: Month,
    within: Range,
    most_dry: np.ndarray,
    hands_over: bool,
    before: tuple[np.ndarray, np.ndarray],
    seen: tuple[Sufficient, np.ndarray] | None = None,
) -> Chosen:
    """Setting of least water whose dry share is within the limit, and its ties.

    `most_dry` (valve,) is the limit; `hands_over` says whether the next month takes the
    ground over (a frost month does not ask); `before` holds weekdays and interval of
    the month before, (valve,), for equals go on with those. `seen` is what sufficed
    when the month was chosen before, and the valves (valve,) whose ground begins it as
    it did then; of others it only says where to look first.
    """
    least = least_sufficient(month, within, most_dry, hands_over, seen, only_best=True)
    best = _tie_broken(least.water_mm, within, least.row, before)
    valve = np.arange(len(best))
    return Chosen(
        best,
        np.where(best == OFF, 0, least.row[valve, np.minimum(best, OFF - 1)]),
        least.water_mm[valve, best],
        least.dry[valve, best],
        least.left_dry[valve, best],
        least.dry[valve, best] > most_dry + _EPS,
        least,
    )


def least_sufficient(
    month: Month,
    within: Range,
    most_dry: np.ndarray,
    hands_over: bool,
    seen: tuple[Sufficient, np.ndarray] | None = None,
    only_best: bool = False,
) -> Sufficient:
    """The fewest minutes of each pattern that keep to the limits of a month.

    The dry share keeps to the limit or, where that is less, to `NEAR_LEAST_DRY` over
    the least that any setting reaches; what is left dry at the month's end keeps to
    `MOST_LEFT_DRY`, or to `NEAR_LEAST_LEFT` over the least of the settings that keep to
    the first. Arguments are those of `choose`; `only_best` leaves patterns alone as
    soon as they are seen to take more than hardly more water than the least.
    """
    search = _Search(month, within, only_best)
    anew = np.ones(len(most_dry), dtype=bool) if seen is None else ~seen[1]
    usable = within.patterns.usable & (anew & ~within.off_only)[:, None]
    most_left = MOST_LEFT_DRY if hands_over else np.inf
    limit, left_limit = search.limits(anew, usable, most_dry, most_left)
    if only_best:
        usable &= ~search.good[:, OFF:]
    search.run(usable, limit, left_limit, None if seen is None else seen[0].row)
    found = Sufficient(
        np.where(search.good[:, :OFF], search.row, np.minimum(search.low, within.last)),
        np.where(search.good, search.water_mm, np.inf),
        search.dry,
        search.left_dry,
        limit,
        left_limit,
        np.where(limit > most_dry, limit - NEAR_LEAST_DRY, np.nan),
    )
    return found if seen is None else _joined(found, seen[0], anew)


def _joined(new: Sufficient, seen: Sufficient, anew: np.ndarray) -> Sufficient:
    """What was found anew in some valves, and what was seen of the others."""
    return Sufficient(*(
        np.where(anew.reshape(-1, *[1] * (getattr(new, f.name).ndim - 1)),
                 getattr(new, f.name), getattr(seen, f.name))
        for f in fields(Sufficient)
    ))  # fmt: skip


def _tie_broken(
    water: np.ndarray,
    within: Range,
    row: np.ndarray,
    before: tuple[np.ndarray, np.ndarray],
) -> np.ndarray:
    """Row of the pattern kept, of those of hardly more water than the least.

    Those whose cycles a program can start come first; of them the month before's
    pattern, else that of fewest days, then of fewest cycles.
    """
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
    too_many = cycles > within.most_cycles[:, None]
    order = np.lexsort((water, cycles, days, ~goes_on, too_many, ~near), axis=1)
    return np.where(water[:, OFF] <= least[:, 0], OFF, order[:, 0])


class _Search:
    """The fewest minutes that suffice, looked for in all patterns of valves at once.

    Of each pattern `low` is the least row not yet known to fail, `row` the least known
    to suffice; they close in on each other. `row` is the last where none suffices.
    `dry`, `left_dry` and `water_mm` (valve, pattern + 1) belong to `row`, off last.
    """

    def __init__(self, month: Month, within: Range, only_best: bool) -> None:
        self.within = within
        self.only_best = only_best
        self.lanes = lanes_of(month, within)
        self.row = within.last.copy()
        self.low = within.first.copy()
        shape = (len(within.off_only), PATTERNS + 1)
        self.good = np.zeros(shape, dtype=bool)
        self.dry, self.left_dry, self.water_mm = (np.full(shape, np.inf)
                                                  for _ in range(3))  # fmt: skip

    def limits(
        self,
        valves: np.ndarray,
        usable: np.ndarray,
        most_dry: np.ndarray,
        most_left: float,
    ) -> tuple[np.ndarray, np.ndarray]:
        """Dry share and hand-over to keep to, (valve,), and what suffices at the most.

        Played are off and the most minutes of every pattern, for no setting leaves
        less dry; but of the densest alone where that shows that both limits stand.
        """
        first = np.zeros(self.good.shape, dtype=bool)
        first[:, OFF] = valves
        densest = np.argmax(usable, axis=1)
        first[np.arange(len(first)), densest] = usable.any(axis=1)
        self._play_most(first)
        stands = self.dry <= most_dry[:, None] - NEAR_LEAST_DRY
        stands &= self.left_dry <= most_left - NEAR_LEAST_LEFT
        rest = np.zeros_like(first)
        rest[:, :OFF] = usable & ~np.any(stands, axis=1, keepdims=True)
        self._play_most(rest & ~first)
        least = np.where(valves, self.dry.min(axis=1), 0.0)
        limit = np.maximum(most_dry, least + NEAR_LEAST_DRY)
        within = np.asarray(self.dry <= limit[:, None] + _EPS)
        left = np.where(within, self.left_dry, np.inf).min(axis=1)
        left_limit = np.maximum(most_left, left + NEAR_LEAST_LEFT)
        self.good = within & np.asarray(self.left_dry <= left_limit[:, None] + _EPS)
        fails = np.isfinite(self.dry) & ~self.good
        self.low = np.where(fails[:, :OFF], self.within.last + 1, self.low)
        return limit, left_limit

    def _play_most(self, some: np.ndarray) -> None:
        """Play the most minutes of some patterns, and off, (valve, pattern + 1)."""
        valve, pattern = np.nonzero(some)
        most = self.within.last[valve, np.minimum(pattern, OFF - 1)]
        found = self.lanes.outcome(self._trials(valve, pattern, most))
        self.water_mm[valve, pattern] = found.water_mm
        self.dry[valve, pattern] = found.dry
        self.left_dry[valve, pattern] = found.left_dry

    def run(
        self,
        search: np.ndarray,
        limit: np.ndarray,
        left_limit: np.ndarray,
        near: np.ndarray | None = None,
    ) -> None:
        """Close in on the least row of every pattern that `search` marks."""
        first, last = self.within.first, self.within.last
        if near is not None:
            known_to_fail = self.low > last
            valve, pattern = np.nonzero(search & ~known_to_fail & ~self._beaten())
            at = np.clip(near, first, last)[valve, pattern]
            under = at > first[valve, pattern]
            self._play(
                np.r_[valve, valve[under]],
                np.r_[pattern, pattern[under]],
                np.r_[at, at[under] - 1],
                limit,
                left_limit,
            )
        while True:
            known = self.good[:, :OFF]
            wide = np.where(known, self.row, last + 1) - self.low
            open_ = search & (wide > 0) & ~self._beaten()
            valve, pattern = np.nonzero(open_)
            if not len(valve):
                return
            probes = min(max(TRIALS // len(valve), 1), MOST_PROBES)
            wide, low = wide[valve, pattern], self.low[valve, pattern]
            step = np.arange(probes)
            parted = wide[:, None] * (2 * step + 1) // (2 * probes)
            parted = np.where(wide[:, None] <= probes, step, parted)
            tried = parted < wide[:, None]
            each = np.repeat(np.arange(len(valve)), tried.sum(axis=1))
            self._play(
                valve[each],
                pattern[each],
                (low[:, None] + parted)[tried],
                limit,
                left_limit,
            )

    def _beaten(self) -> np.ndarray:
        """Patterns whose least possible water is not near the least known to do."""
        if not self.only_best:
            return np.zeros(self.low.shape, dtype=bool)
        least = np.where(self.good, self.water_mm, np.inf).min(axis=1, keepdims=True)
        valve, pattern = (np.asarray(of) for of in np.indices(self.low.shape))
        row = np.minimum(self.low, self.within.last)
        possible = self.lanes.water_mm(self._trials(valve, pattern, row))
        return np.asarray(possible > NEAR_LEAST * least + NEAR_LEAST_MM + _EPS)

    def _trials(
        self, valve: np.ndarray, pattern: np.ndarray, row: np.ndarray
    ) -> Trials:
        return trials(self.within, valve, pattern, row)

    def _play(
        self,
        valve: np.ndarray,
        pattern: np.ndarray,
        row: np.ndarray,
        limit: np.ndarray,
        left_limit: np.ndarray,
    ) -> None:
        """Play settings, and move `low` and `row` by what comes of them."""
        found = self.lanes.outcome(self._trials(valve, pattern, row))
        good = found.dry <= limit[valve] + _EPS
        good &= found.left_dry <= left_limit[valve] + _EPS
        # Later rows come first, so that the least one that suffices stays.
        kept = np.flatnonzero(good)[np.argsort(-row[good], kind="stable")]
        at = valve[kept], pattern[kept]
        self.water_mm[at] = found.water_mm[kept]
        self.dry[at], self.left_dry[at] = found.dry[kept], found.left_dry[kept]
        self.good[valve[good], pattern[good]] = True
        np.minimum.at(self.row, (valve[good], pattern[good]), row[good])
        np.maximum.at(self.low, (valve[~good], pattern[~good]), row[~good] + 1)


def lanes_of(month: Month, within: Range) -> Lanes:
    """A month laid out for the settings of a range."""
    fill_mm = within.filling.depth_mm(within.rate_mm_min)
    filled = np.arange(PATTERNS + 1) != OFF
    return Lanes(month, Waterings(settings_days(month, within), fill_mm, filled))


def trials(
    within: Range, valve: np.ndarray, pattern: np.ndarray, row: np.ndarray
) -> Trials:
    """Settings by their rows of patterns and minutes, arrays of one shape."""
    minutes = within.minutes.minutes[valve, row]
    depth = np.where(pattern == OFF, 0.0, minutes * within.rate_mm_min[valve])
    return Trials(valve, pattern, depth)
