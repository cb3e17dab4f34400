"""The months of a year before it is known what they run: ground, patterns, minutes."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from scheduler.balance.day import DORMANT_SHARE, WETTER, dry_limit, quarter_depths
from scheduler.balance.ground import on_parts
from scheduler.balance.lanes import Month
from scheduler.balance.play import Played, Store, play, shut_off_days
from scheduler.balance.unwetted import Unwetted, play_unwetted
from scheduler.balance.years import Years
from scheduler.calendar import WEEK, Days, of_parity
from scheduler.plan.candidates import (
    MOST_OVER_NEED,
    Minutes,
    Patterns,
    least_useful_mm,
    minutes_for,
    patterns_of_period,
    settable_minutes,
    stands_days,
)
from scheduler.plan.choice import Filling, Range
from scheduler.plan.inputs import PlanInput
from scheduler.plan.table import own_runoff_limit, own_soak, soak_between
from scheduler.rounding import TOLERANCE, ceil_
from scheduler.schedule import Schedule
from scheduler.units import MIN_PER_H

FILL_WHERE_DRY = 0.25
"""Share of the wetter quarters that are dry where a season begins with a filling."""
FILLS_YEARS = 90.0
"""Percent of years that a filling fills."""
LEAST_IN_NIGHT = 0.5
"""Share of the lightest useful watering that short hours may cut it to; where they hold
no more than that, what does not fit is told by the night."""
ONE_ZONE_MIN = 420.0
"""One zone takes no more of a night than seven hours, soak included (rule of this
program): the others want their turn. Drip may take all that its window holds."""


class Season:
    """The months of some valves of one climate, before it is known what they run.

    All that does not hang on the settings is worked out once; a month is then given
    the ground and the days since the last watering, and asked for its range.
    """

    def __init__(self, inputs: PlanInput, longest_cycle_min: np.ndarray) -> None:
        ground, valve = inputs.ground, inputs.valve
        self.inputs = inputs
        self.longest_cycle_min = longest_cycle_min
        self.leaching_requirement = self.of_valve(
            ground.leaching_requirement, largest=True
        )
        self.years: Years = inputs.years[int(valve.climate[0])]
        self.frost = inputs.frost[0]
        length = inputs.periods.days
        self.ends = np.cumsum(length)
        self.period_of_day = np.repeat(np.arange(len(length)), length)
        self.coefficient = ground.landscape_coefficient * np.where(
            inputs.dormant[0], DORMANT_SHARE, 1.0
        )
        by_day = self.coefficient[:, self.period_of_day]
        self.plant_need_mm = self.years.et0_mm * by_day[:, None, :]
        self.unwetted = Unwetted.beside(
            ground.wetted_share,
            self._by_day(ground.total_available_water_mm),
            self._by_day(ground.allowed_depletion_mm),
        )
        self.unwetted_days = play_unwetted(
            self.unwetted, self.plant_need_mm, self.years.rain_mm
        )
        # What is asked of the wetted ground, and the rain on it.
        self.need_mm, self.rain_mm = self.plant_need_mm, self.years.rain_mm[None]
        if self.unwetted.any:
            self.need_mm = self.need_mm - self.unwetted_days.taken_mm
            self.rain_mm = self.rain_mm * ground.wetted_share[:, None, None]
        self.shares = (
            quarter_depths(valve.uniformity)[ground.valve] * ground.rate_share[:, None]
        )
        self.held = np.stack([self._held(s) for s in valve.rain_shutoff_mm.tolist()])
        self.days = Days.of_common_years(len(self.years))
        self.minutes = self._minutes()
        self.lasts_min = self._lasts()

    def _lasts(self) -> np.ndarray:
        """From the first cycle to the end of the last one, soak included, like minutes.

        Rows that are none of a valve's last for ever.
        """
        ground, valve = self.inputs.ground, self.inputs.valve
        limit = self.of_valve(own_runoff_limit(ground, valve), largest=False)
        a_minute = self.of_valve(own_soak(ground, valve), largest=True)
        found = self.minutes
        soak = soak_between(found.cycle_min.T, a_minute, valve).T
        soaks = found.minutes > (limit + TOLERANCE)[:, None]
        soaks &= valve.runs_off[:, None]
        pauses = np.maximum(found.cycles - 1, 0.0)
        return found.minutes + np.where(soaks, pauses * soak, 0.0)

    def last_in_night(self, period: int) -> np.ndarray:
        """Row of the most minutes that a night of a period holds, (valve,).

        All cycles and soaks of one zone have to fit, and its minutes the longest day of
        the controller; the first row always stands.
        """
        valve = self.inputs.valve
        night = self._by_period(valve.night_min, period)
        night = np.where(valve.runs_off, np.minimum(night, ONE_ZONE_MIN), night)
        fits = self.lasts_min <= (night + TOLERANCE)[:, None]
        fits &= self.minutes.minutes <= (valve.longest_day_min + TOLERANCE)[:, None]
        row = np.logical_and.accumulate(fits, axis=1).sum(axis=1) - 1
        return np.maximum(row, 0)

    def play(self, water_mm: np.ndarray, start_mm: np.ndarray | None = None) -> Played:
        """The ground under what is delivered on each day, (valve, year, day).

        `start_mm` (part, year, quarter) is near what the years begin with.
        """
        water = on_parts(self.inputs.ground, water_mm)
        return play(self.store(), water, start_mm)

    def store(self) -> Store:
        """Need and store of each part's wetted ground on each day of a year."""
        ground = self.inputs.ground
        return Store(
            self.need_mm,
            self.rain_mm,
            self._by_day(ground.total_available_water_mm),
            self._by_day(ground.allowed_depletion_mm),
            self.inputs.valve.uniformity[ground.valve],
        )

    def _by_day(self, values: np.ndarray) -> np.ndarray:
        """Values of (part, period) by days of a year, or one where they stay."""
        return values[:, self.period_of_day] if values.shape[1] > 1 else values

    def dry_shares(self, played: Played) -> np.ndarray:
        """Share of the wetter quarters' days that end dry, (part, period)."""
        found = [
            played.dry[:, :, self.days_of(period), WETTER].mean(axis=(1, 2, 3))
            for period in range(len(self.ends))
        ]
        wanted = [self.need_mm_day(period) > 0 for period in range(len(self.ends))]
        counted = np.stack(wanted, axis=1) & ~self.frost
        return np.where(counted, np.stack(found, axis=1), np.nan)

    def taken_mm(self, played: Played) -> tuple[np.ndarray, np.ndarray]:
        """What plants take in a period, and what of it watering gave, (part, period).

        Means of years and ground. What drains on a day is the rain's as far as that
        goes; watering gave what is left of it, and no more than plants take.
        """
        lost = np.maximum(played.drained_mm - self.rain_mm[..., None], 0.0)
        taken = self._sums(self.unwetted_days.taken_mm + played.et_mm.mean(axis=3))
        stays = self._sums((played.water_mm - lost).mean(axis=3))
        return taken, np.minimum(stays, taken)

    def _sums(self, depth_mm: np.ndarray) -> np.ndarray:
        """Depths of a mean year's periods, of (part, year, day)."""
        day = depth_mm.mean(axis=1)
        periods = range(len(self.ends))
        return np.stack([day[:, self.days_of(p)].sum(axis=1) for p in periods], axis=1)

    def scheduled_mm(self, schedule: Schedule) -> np.ndarray:
        """What a schedule lays down on the days of the years, (valve, year, day).

        Intervals count from the first of their weekdays in the years.
        """
        valve = self.inputs.valve
        minutes = schedule.from_first_week().minutes(self.days, len(valve))
        depth = minutes * (valve.rate_mm_h / MIN_PER_H)[:, None]
        return depth.reshape(len(valve), *self.years.rain_mm.shape)

    def starts_mm(self, played: Played) -> np.ndarray:
        """Depletion at the beginning of each period, (part, period, year, quarter)."""
        before = (self.ends - self.inputs.periods.days)[1:] - 1
        later = played.depletion_mm[:, :, before].transpose(0, 2, 1, 3)
        return np.concatenate([played.start_mm[:, None], later], axis=1)

    def longest_gap_days(self, period: int) -> np.ndarray:
        """Days that plants let pass between waterings in a period, (valve,)."""
        longest = self.of_valve(self.inputs.ground.longest_gap_days, largest=False)
        return stands_days(longest, self._lacks_mm_day(period))

    def _lacks_mm_day(self, period: int) -> np.ndarray:
        """Mean need a day less the mean rain, (valve,)."""
        rain = self.years.rain_mm[:, self.days_of(period)].mean()
        return np.asarray(self.of_valve(self.need_mm_day(period)) - rain)

    def fill_on(self, period: int, nights: np.ndarray) -> np.ndarray:
        """First permitted days of a period, so many a valve, (valve, year, day)."""
        days = self._days_of(period)
        rules = self.inputs.rules
        rule = self._by_period(self.inputs.valve.day_rule, period)
        weekdays = np.array([rule.weekdays for rule in rules])[rule]
        parity = np.array([rule.parity for rule in rules])[rule]
        on = (weekdays[:, None, None] >> days.weekday & 1).astype(bool)
        on &= of_parity(days.of_month, parity[:, None, None])
        return on & (np.cumsum(on, axis=-1) <= nights[:, None, None])

    def _held(self, setting_mm: float) -> np.ndarray:
        if np.isinf(setting_mm):
            return np.zeros(self.years.rain_mm.shape, dtype=bool)
        return shut_off_days(self.years, setting_mm)

    def _by_period(self, values: np.ndarray, period: int) -> np.ndarray:
        return values[:, min(period, values.shape[1] - 1)]

    def of_valve(self, of_part: np.ndarray, largest: bool = True) -> np.ndarray:
        """Largest or smallest of the parts of each valve, (valve, …)."""
        shape = len(self.inputs.valve), *of_part.shape[1:]
        found = np.full(shape, -np.inf if largest else np.inf)
        merge = np.maximum if largest else np.minimum
        merge.at(found, self.inputs.ground.valve, of_part)
        return found

    def _asked_min(self, period: int, days_per_week: np.ndarray) -> np.ndarray:
        """Minutes a watering day that the mean need alone asks for."""
        ground, valve = self.inputs.ground, self.inputs.valve
        own = self.need_mm_day(period) / ground.rate_share
        need = self.of_valve(own, largest=True)
        with np.errstate(divide="ignore"):
            net = need[:, None] * np.where(days_per_week > 0, WEEK / days_per_week, 0.0)
        return minutes_for(
            net, valve.run_time_multiplier[:, None], valve.rate_mm_h[:, None]
        )

    def need_mm_day(self, period: int) -> np.ndarray:
        """Mean need a day of each part's plants in a period."""
        return self.plant_need_mm[:, :, self.days_of(period)].mean(axis=(1, 2))

    def days_of(self, period: int) -> slice:
        """Days of a period in a year."""
        return slice(int(self.ends[period] - self.inputs.periods.days[period]),
                     int(self.ends[period]))  # fmt: skip

    def _store_min(
        self, period: int, gap_need_mm: ArrayLike = np.inf
    ) -> tuple[np.ndarray, np.ndarray]:
        """Minutes of the lightest useful watering, and of one that fills the store.

        `gap_need_mm` (valve,) is what brings down the need of the widest gap.
        """
        ground, valve = self.inputs.ground, self.inputs.valve
        allowed, total = (
            self.of_valve(self._by_period(mm, period) / ground.rate_share, largest)
            for mm, largest in (
                (ground.allowed_depletion_mm, False),
                (ground.total_available_water_mm, True),
            )
        )
        least = least_useful_mm(allowed, gap_need_mm, valve.drip)
        multiplier, rate = valve.run_time_multiplier, valve.rate_mm_h
        return (
            minutes_for(least, multiplier, rate),
            minutes_for(np.maximum(total, least), multiplier, rate),
        )

    def _minutes(self) -> Minutes:
        """Settable minutes up to the most that any period may ask for."""
        valve = self.inputs.valve
        most = np.zeros(len(valve))
        for period in range(len(self.inputs.periods)):
            least, fills = self._store_min(period)
            most = np.maximum(most, np.maximum(least, fills))
        return settable_minutes(
            self.longest_cycle_min, valve.minute_step, valve.least_cycle_min, most
        )

    def month(self, period: int, start_mm: np.ndarray, since: np.ndarray) -> Month:
        """A period from the ground and the last watering that the one before left."""
        ground, part = self.inputs.ground, self.days_of(period)
        return Month(
            valve=ground.valve,
            need_mm=np.ascontiguousarray(self.need_mm[:, :, part]),
            rain_mm=self.rain_mm[:, :, part],
            total_mm=self._by_period(ground.total_available_water_mm, period),
            allowed_mm=self._by_period(ground.allowed_depletion_mm, period),
            shares=self.shares,
            start_mm=start_mm,
            held=self.held[:, :, part],
            since=since,
            days=self._days_of(period),
        )

    def _days_of(self, period: int) -> Days:
        """Days of a period in every year, (year, day)."""
        shape, part = self.years.rain_mm.shape, self.days_of(period)
        names = ("number", "month", "weekday", "of_month")
        return Days(*(getattr(self.days, n).reshape(shape)[:, part] for n in names))

    def range_of(self, period: int, month: Month, after_off: np.ndarray) -> Range:
        """What may be chosen in a period; `after_off` where nothing ran before."""
        inputs, valve = self.inputs, self.inputs.valve
        longest = self.of_valve(inputs.ground.longest_gap_days, largest=False)
        need = self.of_valve(self.need_mm_day(period), largest=True)
        patterns = patterns_of_period(
            inputs.rules,
            inputs.rule_intervals,
            self._by_period(valve.day_rule, period),
            longest,
            self.of_valve(inputs.ground.shortest_gap_days, largest=True),
            self._lacks_mm_day(period),
        )
        gap_need = need * patterns.widest_gap / valve.run_time_multiplier
        least, fills = self._store_min(period, gap_need)
        asked = MOST_OVER_NEED * self._asked_min(period, patterns.days_per_week)
        most = np.maximum(np.minimum(asked, fills[:, None]), least[:, None])
        lightest = self.minutes.first_from(LEAST_IN_NIGHT * least[:, None])
        held = np.maximum(self.last_in_night(period)[:, None], lightest)
        first = np.minimum(self.minutes.first_from(least[:, None]), held)
        first = np.broadcast_to(first, patterns.weekdays.shape)
        last = self.minutes.last_to(most)
        cut = patterns.usable & (last > held)
        # Plants that want no water for a season get none, whatever the ground.
        off_only = ~(need > 0) | self.frost[period]
        return Range(
            patterns,
            self.minutes,
            first,
            np.clip(last, first, held),
            valve.rate_mm_h / MIN_PER_H,
            off_only,
            np.where(valve.soak_built_in, np.inf, valve.starts),
            np.where(cut, self._minutes_at(held), np.inf),
            self._filling(period, month, patterns, after_off),
        )

    def _filling(
        self, period: int, month: Month, patterns: Patterns, after_off: np.ndarray
    ) -> Filling:
        """Waterings that fill dry ground where a season begins."""
        valve = self.inputs.valve
        limit = dry_limit(month.allowed_mm, 0.0)[:, None, None]
        dry = (month.start_mm[..., WETTER] > limit).mean(axis=(1, 2))
        fills = after_off & (self.of_valve(dry, largest=True) > FILL_WHERE_DRY)
        fills &= ~self.frost[period]
        mean = np.percentile(month.start_mm.mean(axis=2), FILLS_YEARS, axis=1)
        mean = mean / self.inputs.ground.rate_share
        wanted = minutes_for(
            self.of_valve(mean, largest=True),
            valve.run_time_multiplier,
            valve.rate_mm_h,
        )
        most = self._minutes_at(self.last_in_night(period)[:, None])[:, 0]
        nights = np.maximum(ceil_(wanted / most), 1.0)
        row = self.minutes.first_from(wanted / nights)
        each = self.minutes.minutes[np.arange(len(valve)), row] * fills
        waters = self.fill_on(period, nights * fills)
        return Filling(each, nights * fills, waters)

    def _minutes_at(self, row: np.ndarray) -> np.ndarray:
        """Minutes of a watering day by their row, (valve, …)."""
        return np.take_along_axis(self.minutes.minutes, row, axis=1)
