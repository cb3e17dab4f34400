"""One month of many settings at once: how much water, and how dry it leaves the ground.

The same day as `day.played_day`, worked in place along lanes: candidates, years and
quarters of all zones go along arrays, and time is the only loop.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.balance.day import WETTER, dry_limit, played_day
from scheduler.calendar import Days

AT_A_TIME = 256
"""Trials played at a time: they then stay in the processor's cache."""


@dataclass(frozen=True, slots=True, eq=False)
class Month:
    """One month of ground, before it is known how it is watered.

    `valve` (part,) is the row of the valve of each part. Depths are mm: `need_mm` and
    `rain_mm` (part, year, day), of the rain a single row where it is the same on all
    parts; the store (part,); `shares` (part, quarter) is the depth of each quarter over
    the mean; `start_mm` (part, year, quarter) the depletion at the month's beginning.
    `held` (valve, year, day) marks days on which a rain shut-off lets nothing through,
    `since` (valve, year) counts days from the last watering. `days` holds the days,
    (year, day).
    """

    valve: np.ndarray
    need_mm: np.ndarray
    rain_mm: np.ndarray
    total_mm: np.ndarray
    allowed_mm: np.ndarray
    shares: np.ndarray
    start_mm: np.ndarray
    held: np.ndarray
    since: np.ndarray
    days: Days

    @property
    def limit_mm(self) -> np.ndarray:
        """Depletion over which a quarter is dry, its need drawn, (part, year, day)."""
        return dry_limit(self.allowed_mm[:, None, None], self.need_mm)


@dataclass(frozen=True, slots=True, eq=False)
class Waterings:
    """Days on which patterns of days water in a month, and the filling before them.

    `waters` (valve, pattern, year, day) are the days of each pattern; `fill_mm` (valve,
    year, day), a gross mean over the ground, goes on top of it for the patterns that
    `filled` (pattern,) marks.
    """

    waters: np.ndarray
    fill_mm: np.ndarray
    filled: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Trials:
    """Settings to be played, (trial,): a valve's pattern, and the depth of a watering.

    `depth_mm` is the gross mean over the ground.
    """

    valve: np.ndarray
    pattern: np.ndarray
    depth_mm: np.ndarray

    def __len__(self) -> int:
        return len(self.valve)


@dataclass(frozen=True, slots=True, eq=False)
class Outcome:
    """What settings come to, (trial,).

    `water_mm` is what is delivered in a mean year; `dry` the share of the wetter
    quarters' days that end dry, `left_dry` the share of those quarters that the month
    leaves dry, `left_mm` their mean depletion then; of several parts under a valve the
    driest counts.
    """

    water_mm: np.ndarray
    dry: np.ndarray
    left_dry: np.ndarray
    left_mm: np.ndarray


class Lanes:
    """A month whose ground and days of watering are laid out for trials.

    Arrays begin with the day, and end with what a lane takes a column of: parts, or
    patterns of valves. A month has 255 days at most.
    """

    def __init__(self, month: Month, waterings: Waterings) -> None:
        valves, patterns, years, length = waterings.waters.shape
        delivered = waterings.waters & ~month.held[:, None]
        self.month = month
        self.patterns = patterns
        self.filled = waterings.filled
        self.times = delivered.sum(axis=(2, 3)) / years
        fill = waterings.fill_mm * ~month.held
        self.fill_mm_year = fill.sum(axis=(1, 2)) / years
        self._fill = np.ascontiguousarray(fill.transpose(2, 0, 1))
        self._fills = np.flatnonzero(self._fill.any(axis=(1, 2))).tolist()
        flat = delivered.reshape(valves * patterns, years, length)
        # Laid out anew by days, while it is small.
        self._mask = np.ascontiguousarray(flat.transpose(2, 0, 1)).astype(np.float64)
        need = month.need_mm.transpose(2, 0, 1)
        spare = (month.total_mm - month.allowed_mm)[:, None]
        self._need = np.ascontiguousarray(need)
        self._rain = np.ascontiguousarray(month.rain_mm.transpose(2, 0, 1))
        # Plants cannot take more than is there, however small the store is.
        self._drawn = np.minimum(self._need / spare, 1.0)
        limit = month.limit_mm.transpose(2, 0, 1)
        # What has to be in the store before plants drink.
        self._dry_under = np.ascontiguousarray(month.total_mm[:, None] - limit + need)
        first = np.searchsorted(month.valve, np.arange(valves))
        self._parts = np.diff(np.append(first, len(month.valve)))
        self._first_part = first

    def water_mm(self, trials: Trials) -> np.ndarray:
        """Water delivered in a mean year, (trial,)."""
        fill = self.fill_mm_year[trials.valve] * self.filled[trials.pattern]
        times = self.times[trials.valve, trials.pattern]
        return np.asarray(times * trials.depth_mm + fill)

    def outcome(self, trials: Trials) -> Outcome:
        """Play settings through the month of every year."""
        found = np.empty((3, len(trials)))
        for start in range(0, len(trials), AT_A_TIME):
            some = slice(start, start + AT_A_TIME)
            found[:, some] = self._played(trials, some)
        return Outcome(self.water_mm(trials), *found)

    def _played(self, trials: Trials, some: slice) -> np.ndarray:
        """Dry shares of some trials, in the month and at its end, and what it leaves.

        A lane is a part of a trial's valve. The store is counted by what is in it, for
        that takes the fewest steps: water and rain in, no more than it holds, what
        plants take.
        """
        valve, pattern = trials.valve[some], trials.pattern[some]
        first = np.cumsum(self._parts[valve]) - self._parts[valve]
        of = np.repeat(np.arange(len(valve)), self._parts[valve])
        part = self._first_part[valve][of] + np.arange(len(of)) - first[of]
        column = (valve * self.patterns + pattern)[of]
        month, years = self.month, self._need.shape[2]
        shares = month.shares[part, WETTER].T[..., None]
        depth = (trials.depth_mm[some][of, None] * shares).repeat(years, axis=2)
        fill = self.filled[pattern][of, None] * shares
        start = month.start_mm[part][..., WETTER].transpose(2, 0, 1)
        total = month.total_mm[part][:, None].repeat(years, axis=1)
        # Laid out anew, for `start` lies quarter by quarter in memory.
        store, work = np.empty(start.shape), np.empty(start.shape)
        np.subtract(total, start, out=store)
        one = np.empty(total.shape)
        is_dry = np.empty(store.shape, dtype=bool)
        dry_days = np.zeros(store.shape, dtype=np.uint8)
        for day in range(len(self._need)):
            self._mask[day].take(column, axis=0, out=one, mode="clip")
            np.multiply(one, depth, out=work)
            store += work
            if day in self._fills:
                store += self._fill[day][valve[of]] * fill
            if len(month.rain_mm) == 1:
                np.copyto(one, self._rain[day])
            else:
                self._rain[day].take(part, axis=0, out=one, mode="clip")
            store += one
            np.minimum(store, total, out=store)
            self._dry_under[day].take(part, axis=0, out=one, mode="clip")
            np.less(store, one, out=is_dry)
            dry_days += is_dry.view(np.uint8)
            self._drawn[day].take(part, axis=0, out=one, mode="clip")
            np.multiply(store, one, out=work)
            self._need[day].take(part, axis=0, out=one, mode="clip")
            np.minimum(work, one, out=work)
            store -= work
        quarter_years = store.shape[0] * store.shape[2]
        dry = dry_days.sum(axis=(0, 2)) / (quarter_years * len(self._need))
        left = is_dry.sum(axis=(0, 2)) / quarter_years
        lacks = month.total_mm[part] - store.sum(axis=(0, 2)) / quarter_years
        return np.maximum.reduceat(np.stack([dry, left, lacks]), first, axis=1)


def end_of_month(month: Month, water_mm: np.ndarray) -> np.ndarray:
    """Depletion that a month leaves, (part, year, quarter), under given waterings.

    `water_mm` (valve, year, day) is delivered: gross means over the ground.
    """
    # Quarters go first, so that years are worked in a row.
    now = np.ascontiguousarray(month.start_mm.transpose(2, 0, 1))
    water = np.ascontiguousarray(water_mm[month.valve].transpose(2, 0, 1))
    need = np.ascontiguousarray(month.need_mm.transpose(2, 0, 1))
    rain, shares = month.rain_mm.transpose(2, 0, 1), month.shares.T[..., None]
    total, allowed = month.total_mm[:, None], month.allowed_mm[:, None]
    for day in range(len(water)):
        laid = water[day] * shares
        played = played_day(now, laid, rain[day], need[day], total, allowed)
        now = played.depletion_mm
    return np.ascontiguousarray(now.transpose(1, 2, 0))
