"""What every run costs: its water, and what plants go short or too shallow by it."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterable, Sequence
from typing import Any, TypeVar

import numpy as np

from scheduler.balance.day import WETTER, dry_limit, played_day
from scheduler.balance.lanes import Lanes, Month, Trials, Waterings
from scheduler.calendar import DAYS_IN_YEAR, of_parity, weekday_rows
from scheduler.plan.card.midnight import Use, longest_min, open_min, use_of
from scheduler.plan.card.needs import CardNeeds, options_of
from scheduler.plan.card.starts import PAUSE_MIN
from scheduler.plan.times.patterns import AlikePatterns, Pattern, days_to_choose
from scheduler.units import MIN_PER_H

OCTAVES = 2.0
"""Depths are priced from a quarter of the table's to four times it."""
_FINE = 2
"""Depths played an octave where waterings are about as many as the table's, and lie
within half and double its depth; elsewhere one an octave or two."""
LIKE_DAYS = 2.5
"""Up to so many times the table's waterings, or its share, a depth within half and
double can give the same water."""
DEEPEST, SHALLOWEST = 2.0, 0.5
"""A watering of the card lies within these times the table's."""

# Prices in shares of a zone's mean month of water (rules of this program). A breach
# costs more than what mending it ever takes, so that none is kept for the water.
_A_POINT = 0.03
"""A dry day in a hundred over the table's: the ladder's own rate near its limit."""
BREACH, _MORE_DRY, _MORE_OCTAVES = 3.0, 100.0, 20.0
"""A breach; on top of it a dry share over the limit, and each octave of depth."""
_SHALLOWER = 0.3
"""Each octave that a watering is shallower than the table's, so that what the table
waters seldom and long is not watered often and short for a trifle of water."""
BY_HAND = 2.0
"""A month's start by hand: less than a breach, and more than any other setting."""
OFTEN, A_START = 0.01, 0.002
"""Twice the days, and one more start: of a year's water of the zone."""
_TRIED = 2.0 ** np.linspace(-2.0, 2.0, 41)
"""Shares of the table's depth among which a zone's best run is looked for."""
_STEPS_OCTAVE = 8
"""Depths an octave that prices are looked up for, and lie in proportion between."""
_HALVINGS = 16
_LONGEST_MIN = 720
"""No zone holds its program longer, soak included: half a day (rule of ours)."""
_SAME = 1e-3
_Found = TypeVar("_Found")


class Prices:
    """What zones cost by option, month and run: liters, or as bad as so many liters.

    `best_run` (zone, option, month) is the run that costs least of those that run,
    `best` the same with 0 where none costs less, and `least` what that costs; `off`
    (zone, month) what it costs not to water.
    """

    def __init__(self, needs: CardNeeds) -> None:
        self.needs = needs
        controller = needs.controller
        choices = days_to_choose(
            needs.windows,
            bool(controller.intervals),
            bool(controller.weekdays_on_odd_even),
        )
        limit = self._gap_limit(choices)
        self.able = np.stack([self._able(days, limit) for days in choices], axis=1)
        kept = np.flatnonzero(self.able.any(axis=(0, 2)))
        self.able = self.able[:, kept]
        self.choices = tuple(choices[row] for row in kept.tolist())
        self.options = options_of(controller, self.choices)
        water = needs.table_l.sum(axis=1)
        months = np.maximum(needs.waters.sum(axis=1), 1)
        self.month_l = np.maximum(water / months, needs.step_l)
        self.year_l = np.maximum(water, needs.step_l)
        self.reference_mm = self._reference_mm()
        self.open_min = open_min(needs)
        self._fits = self._longest_fits()
        self.over = np.zeros(needs.table_mm.shape)
        self.must = np.zeros(needs.table_mm.shape, dtype=bool)
        self._firsts = np.arange(12)
        self._play(needs.start_mm)

    def _play(self, start_mm: np.ndarray) -> None:
        self.start_mm = start_mm
        self.run_played, self.off_played = self._played()
        self._laid_out()

    def _laid_out(self) -> None:
        self._ground = self._ground_of_depths(self.run_played)
        self._through: np.ndarray | None = None
        self._at_time: dict[float, Prices] = {}
        self._priced(0.0)

    def on_ground(
        self,
        start_mm: np.ndarray,
        over: np.ndarray,
        must: np.ndarray,
        programs: Iterable[tuple[AlikePatterns, int]],
        firsts: Sequence[int],
    ) -> Prices:
        """The same prices where months begin with other ground than the table's.

        `start_mm` (part, month, year, quarter) is the depletion then; `over` (zone,
        month) is taken from the dry shares that are let pass, and a month that `must`
        marks is as bad without water as one that is dry on all its days. Only days and
        starts of some programs are priced, and no watering from the months `firsts`
        (rows) on.
        """
        other = copy.copy(self)
        other.over, other.must = self.over + over, self.must | must
        rows = sorted({self.options.row_of(*program) for program in programs})
        day, place = np.unique(self.options.day[rows], return_inverse=True)
        other.choices = tuple(self.choices[row] for row in day.tolist())
        other.able = self.able[:, day]
        other.options = self.options.some(rows, place)
        other._fits = self._fits[:, rows]
        other._firsts = np.array(firsts, dtype=np.intp)
        other._play(start_mm)
        return other

    def tightened(self, over: np.ndarray, must: np.ndarray) -> Prices:
        """The same prices where some months are held to less, as `on_ground` has it."""
        other = copy.copy(self)
        other.over, other.must = self.over + over, self.must | must
        other._laid_out()
        return other

    def with_time_at(self, time: float) -> Prices:
        """The same prices where time costs so many times the water that it lays."""
        if time not in self._at_time:
            dearer = copy.copy(self)
            dearer._priced(time)
            self._at_time[time] = dearer
        return self._at_time[time]

    def known(
        self, what: str, asked: Sequence[np.ndarray | None], find: Callable[[], _Found]
    ) -> _Found:
        """What was found of the same arrays before: a search asks again and again."""
        key = (what, *(None if one is None else one.tobytes() for one in asked))
        if key not in self._known:
            self._known[key] = find()
        found: _Found = self._known[key]
        return found

    def off_through(self, months: np.ndarray) -> np.ndarray:
        """What each of some months on end (rows) costs without water, (zone, month).

        Unlike `off`, each month begins with the ground that the one before leaves.
        """
        if self._through is None:
            self._through = self._off_through()
        place = int(np.flatnonzero(self._firsts == months[0])[0])
        return np.asarray(self._through[:, place, : len(months)])

    def _able(self, days: AlikePatterns, gap_limit: np.ndarray) -> np.ndarray:
        """Where programs of some days may water zones, (zone, month)."""
        needs, pattern = self.needs, days.first
        permitted = np.array(
            [*(pattern.permitted(window) for window in needs.windows), False]
        )
        able: np.ndarray = permitted[needs.window] & ~needs.never
        # Plants that stand no closer waterings yield to what the table has to do.
        far = pattern.shortest_gap >= needs.shortest_gap_days
        return able & far & (pattern.longest_gap <= gap_limit)

    def _gap_limit(self, choices: Sequence[AlikePatterns]) -> np.ndarray:
        """Longest gaps that plants, or else the windows, let a program have."""
        needs = self.needs
        shortest = [
            min((d.first.longest_gap for d in choices if d.first.permitted(one)),
                default=0)
            for one in needs.windows
        ]  # fmt: skip
        by_window = np.array([*shortest, 0], dtype=float)
        return np.maximum(needs.longest_gap_days, by_window[needs.window])

    def _longest_fits(self) -> np.ndarray:
        """Longest run that a zone's hours hold, soak included; like `of_runs`."""
        needs, options = self.needs, self.options
        zones = np.arange(len(needs.zones))
        open_now = np.zeros((len(zones), len(options), 12))
        uses: dict[Use, list[tuple[int, int]]] = {}
        for zone, month in np.ndindex(len(zones), 12):
            use = use_of(needs, [zone], [month])
            uses.setdefault(use, []).append((zone, month))
        for use, cells in uses.items():
            length = [
                longest_min(needs, days.first, use, int(starts))
                for days, starts in zip(options.days, options.starts, strict=True)
            ]
            zone, month = np.array(cells).T
            open_now[zone, :, month] = np.minimum(length, _LONGEST_MIN)
        starts = options.starts[None, :, None]
        low, high = np.zeros(open_now.shape), np.full(open_now.shape, 1.0)
        high *= needs.most_steps[:, None, None]
        row = np.broadcast_to(zones[:, None, None], open_now.shape)
        for _ in range(_HALVINGS):
            run = np.ceil((low + high) / 2)
            cycle = np.minimum(run, needs.cycle_steps[row])
            soak = needs.soak_min(row, cycle, run * starts)
            pauses = starts * np.ceil(run / np.maximum(cycle, 1.0)) - 1
            soak = np.maximum(soak, PAUSE_MIN)
            fits = starts * run * needs.minute_step + pauses * soak <= open_now
            low, high = np.where(fits, run, low), np.where(fits, high, run - 1)
            high = np.maximum(high, low)
        return low

    def _reference_mm(self) -> np.ndarray:
        """Depth that a watering is measured by, (zone, month): the table's.

        Where the table is off, its shallowest; where it is off all year, 1 mm.
        """
        table = self.needs.table_mm
        shallowest = np.where(table > 0, table, np.inf).min(axis=1, keepdims=True)
        shallowest = np.where(np.isfinite(shallowest), shallowest, 1.0)
        return np.where(table > 0, table, shallowest)

    def _played(self) -> tuple[np.ndarray, np.ndarray]:
        """Dry shares by zone, days, month and depth, and those of no watering.

        Depths lie evenly in octaves; between those played a share is in proportion.
        """
        needs, zones = self.needs, len(self.needs.zones)
        grid = np.linspace(-OCTAVES, OCTAVES, int(2 * OCTAVES * _FINE) + 1)
        dry = np.ones((zones, len(self.choices), 12, len(grid), 2))
        off = np.zeros((zones, 12, 2))
        table_days = needs.table_l / np.maximum(
            needs.table_mm / needs.step_mm[:, None] * needs.step_l[:, None], 1e-9
        )
        dates = np.array([days.first.dates_in_months() for days in self.choices])
        for month in range(12):
            lanes = self._lanes(month)
            able = self.able[:, :, month]
            ratio = dates.reshape(-1, 12)[None, :, month] / np.maximum(
                table_days[:, None, month], 1e-9
            )
            like = (ratio < LIKE_DAYS) & (ratio > 1 / LIKE_DAYS)
            # Fine where it may be chosen, coarse where that needs a breach.
            row = np.arange(len(grid))
            inner = np.abs(grid) <= 1 + _SAME
            wanted = np.where(like[..., None], inner | (row % _FINE == 0),
                              row % (2 * _FINE) == 0)  # fmt: skip
            wanted &= able[..., None]
            zone, day, place = np.nonzero(wanted)
            depth = self.reference_mm[zone, month] * 2.0 ** grid[place]
            nothing = np.arange(zones)
            found = lanes.outcome(
                Trials(
                    np.concatenate([zone, nothing]),
                    np.concatenate([day, np.full(zones, len(self.choices))]),
                    np.concatenate([depth, np.zeros(zones)]),
                )
            )
            told = np.stack([found.dry, found.left_mm], axis=-1)
            off[:, month] = told[len(zone) :]
            dry[zone, day, month, place] = told[: len(zone)]
            _between(dry[:, :, month], wanted)
        off[:, needs.season.frost] = 0.0
        return dry, off

    def _off_through(self) -> np.ndarray:
        """What it costs not to water from `_firsts` on, (zone, first, month after)."""
        season, zones = self.needs.season, len(self.needs.zones)
        store, length = season.store(), season.inputs.periods.days
        # Two years on end: a stretch goes on past December.
        rain, need = (
            np.concatenate([values, np.roll(values, -1, axis=-2)], axis=-1)
            for values in (store.rain_mm, store.need_mm)
        )
        total, allowed = (
            np.tile(np.broadcast_to(values, (len(store), DAYS_IN_YEAR)), 2)
            for values in (store.total_available_water_mm, store.allowed_depletion_mm)
        )
        begins, count = self._firsts, len(self._firsts)
        first = (season.ends - length)[begins]
        now = self.start_mm[:, begins].transpose(1, 0, 2, 3)
        dry = np.zeros((count, len(store), 12))
        left = np.zeros((count, len(store), 12))
        for day in range(DAYS_IN_YEAR):
            days = first + day
            need_now = need[:, :, days].transpose(2, 0, 1)[..., None]
            total_now = total[:, days].T[..., None, None]
            allowed_now = allowed[:, days].T[..., None, None]
            rain_now = rain[:, :, days].transpose(2, 0, 1)[..., None]
            played = played_day(
                now, np.zeros(()), rain_now, need_now, total_now, allowed_now
            )
            now = played.depletion_mm
            over = played.refilled_mm + need_now > dry_limit(allowed_now, need_now)
            month = season.period_of_day[days % DAYS_IN_YEAR]
            after = (month - begins) % 12
            dry[np.arange(count), :, after] += over[..., WETTER].mean(axis=(2, 3))
            left[np.arange(count), :, after] = now[..., WETTER].mean(axis=(2, 3))
        month = (begins[:, None] + np.arange(12)) % 12
        told = np.stack([dry / length[month][:, None, :], left], axis=-1)
        of_zone = season.of_valve(told.transpose(1, 0, 2, 3))
        zone = np.arange(zones)[:, None, None]
        price = self._ground_price(zone, month, of_zone)
        return np.where(season.frost[month], 0.0, price)

    def _lanes(self, month: int) -> Lanes:
        """A month's ground with the days of all choices, none last."""
        needs, season = self.needs, self.needs.season
        zones, years = len(needs.zones), len(season.years)
        never = np.zeros((zones, years), dtype=np.int64)
        found = season.month(month, self.start_mm[:, month], never)
        waters = np.zeros((len(self.choices) + 1, *found.need_mm.shape[1:]), dtype=bool)
        for row, days in enumerate(self.choices):
            waters[row] = _waters(days.first, found)
        waters = np.broadcast_to(waters, (zones, *waters.shape))
        fill = (
            season.fill_on(month, needs.fill_days[:, month])
            * (needs.fill_min[:, month] * needs.rate_mm_h / MIN_PER_H)[:, None, None]
        )
        filled = np.arange(len(self.choices) + 1) < len(self.choices)
        return Lanes(found, Waterings(waters, fill, filled))

    def _ground_price(
        self, zone: np.ndarray, month: np.ndarray, played: np.ndarray
    ) -> np.ndarray:
        """Liters that a dry share, and what is left to the month after, are as bad as.

        What the ground lacks more than by the table has to be laid down later.
        """
        needs, valve = self.needs, self.needs.season.inputs.valve
        dry, left_mm = played[..., 0], played[..., 1]
        wanted = (needs.wanted_dry - self.over)[zone, month]
        most = (needs.most_dry - self.over)[zone, month]
        over = np.maximum(dry - wanted, 0.0)
        beyond = np.maximum(dry - most - _SAME, 0.0)
        price = 100 * _A_POINT * over + (beyond > 0) * BREACH + _MORE_DRY * beyond
        lacks = np.maximum(left_mm - needs.left_mm[zone, month], 0.0)
        a_mm_l = valve.run_time_multiplier * needs.step_l / needs.step_mm
        return np.asarray(
            np.nan_to_num(price) * self.month_l[zone] + lacks * a_mm_l[zone]
        )

    def of_runs(
        self, zone: np.ndarray, option: np.ndarray, month: np.ndarray, run: np.ndarray
    ) -> np.ndarray:
        """What runs of one start cost, in whole steps; arguments broadcast.

        Infinite for one that must not be; a run of 0 waters nothing.
        """
        with np.errstate(divide="ignore"):
            place = np.log2(run) * _STEPS_OCTAVE + self._place[zone, option, month]
        place = np.minimum(np.maximum(place, 0.0), self._ground.shape[-1] - 1 - 1e-9)
        low = place.astype(np.intp)
        share = place - low
        low += self._row[zone, self.options.day[option], month]
        ground = self._ground.reshape(-1)
        lower = ground[low]
        cost = lower + (ground[low + 1] - lower) * share
        cost += run * self._a_step[zone, option, month]
        most = self._most[zone, option, month]
        bad = (run < self.needs.least_steps[zone]) | (run > most)
        cost[bad] = np.inf
        return np.where(run > 0, cost, self.off[zone, month])

    def _priced(self, time: float) -> None:
        """Lay out what `of_runs` looks up, (zone, option, month)."""
        self._known: dict[Any, Any] = {}
        needs, options = self.needs, self.options
        zones, months = np.arange(len(needs.zones)), np.arange(12)
        unit = needs.step_mm[:, None] * options.starts
        octaves = np.log2(unit[..., None] / self.reference_mm[:, None, :])
        self._place = (octaves + OCTAVES) * _STEPS_OCTAVE
        a_step_l = needs.step_l * (1 + time)
        self._a_step = a_step_l[:, None, None] * options.dates
        most = np.minimum(
            needs.most_steps[:, None], needs.event_steps[:, None] // options.starts
        )
        able = self.able[:, options.day]
        self._most = np.where(able, np.minimum(most[..., None], self._fits), -1.0)
        shape = self._ground.shape
        rows = np.arange(int(np.prod(shape[:3]))).reshape(shape[:3])
        self._row = rows * shape[3]
        self.off = self._ground_price(zones[:, None], months[None, :], self.off_played)
        left_out = (BREACH + _MORE_DRY) * self.month_l
        self.off = np.maximum(self.off, self.must * left_out[:, None])
        self.best_run, running = self._best()
        off = self.off[:, None, :]
        self.best = np.where(running < off, self.best_run, 0.0)
        self.least = np.minimum(running, off)

    def _ground_of_depths(self, played: np.ndarray) -> np.ndarray:
        """Price of what depths do to the ground, (zone, days, month, depth)."""
        grid = np.linspace(-OCTAVES, OCTAVES, int(2 * OCTAVES * _STEPS_OCTAVE) + 1)
        place = np.minimum((grid + OCTAVES) * _FINE, 2 * OCTAVES * _FINE - 1e-9)
        low = place.astype(np.intp)
        share = (place - low)[:, None]
        between = played[:, :, :, low] * (1 - share) + played[:, :, :, low + 1] * share
        zone = np.arange(len(self.needs.zones))[:, None, None, None]
        month = np.arange(12)[:, None]
        price = self._ground_price(zone, month, between)
        deep = np.where(self.needs.waters[zone, month], grid - np.log2(DEEPEST), -1.0)
        beyond = np.maximum(np.maximum(deep, np.log2(SHALLOWEST) - grid), 0.0)
        beyond = np.where(beyond > _SAME, BREACH + _MORE_OCTAVES * beyond, 0.0)
        beyond = beyond + _SHALLOWER * np.maximum(-grid, 0.0)
        return np.asarray(price + beyond * self.month_l[zone])

    def _best(self) -> tuple[np.ndarray, np.ndarray]:
        """The run of each zone, option and month that costs least, and its cost."""
        needs, options = self.needs, self.options
        zone = np.arange(len(needs.zones))[:, None, None]
        option = np.arange(len(options))[None, :, None]
        month = np.arange(12)[None, None, :]
        unit = needs.step_mm[zone] * options.starts[option]
        wanted = self.reference_mm[zone, month] / unit
        best = np.ones(wanted.shape)
        least = np.full(wanted.shape, np.inf)
        tries = [*(np.floor(wanted * t + 0.5) for t in _TRIED),
                 np.broadcast_to(needs.least_steps[zone], wanted.shape)]  # fmt: skip
        for tried in tries:
            self._keep_better(best, least, tried)
        # Between the shares tried lie up to 7 % of a run.
        for share in (0.03, 0.01):
            step = np.maximum(np.floor(best * share), 1.0)
            for more in (-1, 1, -2, 2):
                self._keep_better(best, least, best + more * step)
        return best, least

    def _keep_better(
        self, best: np.ndarray, least: np.ndarray, tried: np.ndarray
    ) -> None:
        """Put runs that cost less than the least so far in their place."""
        zones, options, months = tried.shape
        run = np.maximum(tried, 1.0)
        cost = self.of_runs(
            np.arange(zones)[:, None, None],
            np.arange(options)[None, :, None],
            np.arange(months)[None, None, :],
            run,
        )
        better = cost < least
        best[better], least[better] = run[better], cost[better]


def _waters(pattern: Pattern, month: Month) -> np.ndarray:
    """Days of a month on which a pattern waters, (year, day)."""
    days = month.days
    on = (pattern.weekdays >> days.weekday & 1).astype(bool)
    on &= of_parity(days.of_month, np.asarray(pattern.parity))
    if pattern.every_days:
        first = weekday_rows(pattern.weekdays)[0]
        on &= (days.number - first) % pattern.every_days == 0
    return on


def _between(played: np.ndarray, known: np.ndarray) -> None:
    """Fill in, along the depths, what lies between those that were played."""
    place, count = np.arange(known.shape[-1]), known.shape[-1]
    before = np.maximum.accumulate(np.where(known, place, -1), axis=-1)
    after = np.minimum.accumulate(np.where(known, place, count)[..., ::-1], axis=-1)[
        ..., ::-1
    ]
    low = np.where(before < 0, np.minimum(after, count - 1), before)
    high = np.where(after >= count, low, after)
    share = np.where(high > low, (place - low) / np.maximum(high - low, 1), 0.0)
    lower = np.take_along_axis(played, low[..., None], axis=-2)
    upper = np.take_along_axis(played, high[..., None], axis=-2)
    filled = lower + (upper - lower) * share[..., None]
    any_known = np.asarray(known.any(axis=-1))
    played[...] = np.where(any_known[..., None, None], filled, played)
