"""Waterings played through the same years of days, and what comes of each."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from scheduler.balance.day import (
    QUARTERS,
    WETTER,
    dry_limit,
    played_day,
    quarter_depths,
)
from scheduler.balance.ground import on_parts
from scheduler.balance.play import MOST_ROUNDS, SETTLED_MM, Played, Store, play
from scheduler.balance.years import Years
from scheduler.budget.runoff import runoff_of_cycles
from scheduler.calendar import DAYS_IN_YEAR, WEEK, Days, of_parity
from scheduler.inputs.site import Current
from scheduler.plan.by_days import season_of
from scheduler.plan.candidates import patterns_of_rule
from scheduler.plan.card.plan import Card
from scheduler.plan.season import Season
from scheduler.plan.site import SitePlan
from scheduler.rounding import TOLERANCE
from scheduler.schedule import Schedule
from scheduler.units import MIN_PER_H

KINDS = (
    "table", "card", "today", "one-setting", "weekly-adjusted", "perfect-hand"
)  # fmt: skip
"""What is replayed, in the order it is told."""


@dataclass(frozen=True, slots=True, eq=False)
class Waterings:
    """What is laid down on the days of the years.

    `water_mm` (valve, year, day) is the mean depth, `runoff_mm` (part, year, day) what
    of it does not go into the ground.
    """

    water_mm: np.ndarray
    runoff_mm: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Replayed:
    """What comes of one way to water, a row a part of a zone.

    Dry shares leave out frost; `dry_by_quarter` is (part, quarter) from the driest,
    `dry_by_month` (part, month) of the three wetter quarters, NaN in frost, and
    `dry_by_year` (part, year). `longest_dry_days` are days in a row that a wetter
    quarter ends dry. Depths are means of years and ground; `adequacy` and `excess` are
    shares of the need. `played` are the days, driest quarter first.
    """

    of: str
    dry_by_quarter: np.ndarray
    dry_by_month: np.ndarray
    dry_by_year: np.ndarray
    longest_dry_days: np.ndarray
    adequacy: np.ndarray
    excess: np.ndarray
    irrigation_mm_year: np.ndarray
    rain_mm_year: np.ndarray
    rain_used_mm_year: np.ndarray
    percolation_mm_year: np.ndarray
    runoff_mm_year: np.ndarray
    et_mm_year: np.ndarray
    need_mm_year: np.ndarray
    volume_l_year: np.ndarray
    waterings: Waterings
    played: Played

    @property
    def dry_share(self) -> np.ndarray:
        """Share of all days that the wetter quarters end dry, (part,)."""
        return np.asarray(self.dry_by_quarter[:, WETTER].mean(axis=1))


@dataclass(frozen=True, slots=True, eq=False)
class Stage:
    """Ground and weather that all is played on; `warm` (day,) leaves out frost."""

    plan: SitePlan
    season: Season
    store: Store
    warm: np.ndarray

    @property
    def years(self) -> Years:
        """The site's years of days."""
        return self.plan.years

    @property
    def held(self) -> np.ndarray:
        """Days that the site's rain shut-off holds back, (valve, year, day)."""
        return self.season.held

    @property
    def l_per_mm(self) -> np.ndarray:
        """Liters that a millimeter by the rate takes of the valve, (part,)."""
        ground, valve = self.plan.inputs.ground, self.plan.inputs.valve
        return np.asarray(
            (valve.flow_l_min * MIN_PER_H / valve.rate_mm_h)[ground.valve]
            * ground.share
        )


@dataclass(frozen=True, slots=True, eq=False)
class Replay:
    """Ways to water a site, played through the same years, in the order of KINDS.

    `weekly.with_weekly` adds the one that is adjusted every week.
    """

    stage: Stage
    ways: tuple[Replayed, ...]

    def way(self, of: str) -> Replayed:
        """One of the ways by its name."""
        return next(way for way in self.ways if way.of == of)


def worst_year(stage: Stage, way: Replayed, part: int) -> int | None:
    """Year with the most dry days: of the calendar, or its number from 1 on.

    Numbers stand for years that are invented, and for a record with years left out.
    None where no day of any year is dry.
    """
    dry = way.dry_by_year[part]
    return year_label(stage.years, int(np.argmax(dry))) if dry.any() else None


def year_label(years: Years, row: int) -> int:
    """Calendar year of a row where all years follow one another, else 1 and on."""
    first, last = years.first, years.last
    whole = first is not None and last is not None and last - first + 1 == len(years)
    return row + (first if whole and first is not None else 1)


def median_year(way: Replayed, part: int) -> int:
    """Row of the year in the middle by dry days, then by what lacks of the need."""
    played = way.played
    lacks = -played.et_mm[part].mean(axis=(1, 2))
    order = np.lexsort((lacks, way.dry_by_year[part]))
    return int(order[(len(order) - 1) // 2])


def set_stage(plan: SitePlan) -> Stage:
    """Ground and weather of a plan; by months too, for years are always there."""
    season = season_of(replace(plan.inputs, years=(plan.years,)))
    frost = season.frost[season.period_of_day]
    return Stage(plan, season, season.store(), ~frost)


def replay(plan: SitePlan, card: Card | None = None) -> Replay:
    """A site's table, a card, today's settings, one setting and a perfect hand.

    A rain shut-off holds back all but the perfect hand, who looks at the ground.
    """
    stage = set_stage(plan)
    ways = [("table", table_waterings(stage))]
    if card is not None:
        ways.append(("card", card_waterings(stage, card)))
    today = todays_schedule(plan)
    if today is not None:
        ways.append(("today", waterings_of(stage, today)))
    ways.append(("one-setting", waterings_of(stage, one_setting(stage))))
    found = [played_way(stage, of, held_back(stage, w)) for of, w in ways]
    hand = perfect_hand_mm(stage)
    dry_surface = np.zeros((len(stage.store), *hand.shape[1:]))
    found.append(played_way(stage, KINDS[-1], Waterings(hand, dry_surface)))
    return Replay(stage, tuple(found))


def schedule_of_current(current: Current) -> Schedule:
    """What the controller runs today, as a schedule."""
    return Schedule.from_current(
        current.zone,
        current.minutes,
        current.starts,
        current.days_per_week,
        current.months,
    )


def todays_schedule(plan: SitePlan) -> Schedule | None:
    """What the controller runs today; None where the site does not tell."""
    current = plan.site.current
    return None if current is None else schedule_of_current(current)


def table_waterings(stage: Stage) -> Waterings:
    """What the table lays down before any shut-off."""
    plan, settings = stage.plan, stage.plan.settings
    if settings is None:
        return waterings_of(stage, plan.plan.schedule.from_first_week())
    ground = plan.inputs.ground
    of = ground.valve
    schedule = plan.plan.schedule[of]
    rate_mm_min = on_parts(ground, _rate_mm_min(stage))
    depth = schedule.minutes_per_day * rate_mm_min[:, None]
    lost = np.stack(
        [_runoff_mm(stage, part, schedule[part]) for part in range(len(of))]
    )
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.where(depth > 0, lost / depth, 0.0)[:, stage.season.period_of_day]
    water = settings.scheduled_mm
    return Waterings(water, on_parts(ground, water) * share[:, None, :])


def card_waterings(stage: Stage, card: Card) -> Waterings:
    """What a card lays down, with its fillings and starts by hand."""
    by_programs = waterings_of(stage, card.schedule.from_first_week())
    return replace(by_programs, water_mm=card.judged.scheduled_mm)


def one_setting(stage: Stage) -> Schedule:
    """The busiest month's days and minutes all year, off in frost."""
    schedule = stage.plan.plan.schedule.from_first_week()
    week = schedule.minutes_per_week
    busiest = np.argmax(week, axis=1)
    months = sum(1 << month for month in np.flatnonzero(~stage.season.frost).tolist())
    chosen = schedule[np.arange(len(week)), busiest]
    return replace(chosen, months=np.full(len(week), months))


def waterings_of(stage: Stage, schedule: Schedule) -> Waterings:
    """What a schedule lays down before any shut-off."""
    water, lost = laid_on(stage, schedule, stage.season.days)
    shape = stage.years.rain_mm.shape
    return Waterings(water.reshape(len(water), *shape), lost.reshape(len(lost), *shape))


def laid_on(
    stage: Stage, schedule: Schedule, days: Days
) -> tuple[np.ndarray, np.ndarray]:
    """Depth that rules lay down on days, (valve, day), and its runoff, (part, day)."""
    ground, valves = stage.plan.inputs.ground, len(stage.plan.inputs.valve)
    waters = schedule.waters(days)
    zone = schedule.zone.ravel()
    depth = schedule.minutes_per_day.ravel() * _rate_mm_min(stage)[zone]
    water = np.zeros((valves, waters.shape[1]))
    for row in np.flatnonzero(depth).tolist():
        water[zone[row]] += waters[row] * depth[row]
    lost = np.zeros((len(ground), waters.shape[1]))
    for part, of in enumerate(ground.valve.tolist()):
        rows = np.flatnonzero(zone == of)
        of_rule = _runoff_mm(stage, part, _raveled(schedule)[rows])
        lost[part] = of_rule @ waters[rows]
    return water, lost


def held_back(
    stage: Stage, waterings: Waterings, held: np.ndarray | None = None
) -> Waterings:
    """Waterings without those of some days, (valve, year, day): the shut-off's."""
    runs = ~(stage.held if held is None else held)
    of = stage.plan.inputs.ground.valve
    return Waterings(waterings.water_mm * runs, waterings.runoff_mm * runs[of])


def played_way(stage: Stage, of: str, waterings: Waterings) -> Replayed:
    """Waterings played through the years, and all that is counted of them.

    What drains on a day is the rain's as far as that goes, for rain follows the
    watering; the rest is irrigation's. Where no emitter wets, all of it is the rain's.
    Adequacy and excess are those of the published test of weather-based controllers
    (from memory): the share of the need that plants got, and what of the irrigation
    drained or ran off over the need; frost apart.
    """
    warm, laid = stage.warm, on_parts(stage.plan.inputs.ground, waterings.water_mm)
    played = play(stage.store, laid - waterings.runoff_mm)
    unwetted, need = stage.season.unwetted_days, stage.season.plant_need_mm
    drained = played.drained_mm
    drained_rain = np.minimum(drained, stage.store.rain_mm[..., None])
    lost = (drained - drained_rain).mean(axis=3) + waterings.runoff_mm
    et = unwetted.taken_mm + played.et_mm.mean(axis=3)
    by_rain = unwetted.drained_mm + drained_rain.mean(axis=3)

    def a_year(depth_mm: np.ndarray) -> np.ndarray:
        return np.asarray(depth_mm.sum(axis=2).mean(axis=1))

    needed = a_year(need[:, :, warm])
    with np.errstate(invalid="ignore", divide="ignore"):
        adequacy = a_year(et[:, :, warm]) / needed
        excess = a_year(lost[:, :, warm]) / needed
    dry = played.dry[:, :, warm]
    rain_year = np.full(len(laid), float(stage.years.rain_mm.sum(axis=1).mean()))
    return Replayed(
        of=of,
        dry_by_quarter=dry.mean(axis=(1, 2)),
        dry_by_month=stage.season.dry_shares(played),
        dry_by_year=dry[..., WETTER].mean(axis=(2, 3)),
        longest_dry_days=_longest_runs(played.dry[..., WETTER].any(axis=3) & warm),
        adequacy=adequacy,
        excess=excess,
        irrigation_mm_year=a_year(laid),
        rain_mm_year=rain_year,
        rain_used_mm_year=rain_year - a_year(by_rain),
        percolation_mm_year=a_year(unwetted.drained_mm + drained.mean(axis=3)),
        runoff_mm_year=a_year(waterings.runoff_mm),
        et_mm_year=a_year(et),
        need_mm_year=a_year(need),
        volume_l_year=a_year(laid) * stage.l_per_mm,
        waterings=waterings,
        played=played,
    )


def perfect_hand_mm(stage: Stage, most_dry: ArrayLike = 0.0) -> np.ndarray:
    """Waterings of whoever looks at the ground each morning, (valve, year, day).

    The hand knows how dry all ground is, and today's need. It does not know what rain
    is to come, cannot make sprinklers more even, and keeps the local rule. So it
    waters, on a day that the densest permitted pattern has, when the wetter quarters
    would else go dry before the next such day, by the mean need and without rain; and
    it then fills the ground as the trade does, the mean depletion times the run-time
    multiplier, of the part that lacks most. Not in frost.

    `most_dry` (valve,) is the share of each month's days that it may leave dry first.
    By default it is none: it then lets plants want for nothing that watering can give
    them, and a plan that may let them go short can take less water than the hand.
    """
    store, years, inputs = stage.store, stage.years, stage.plan.inputs
    unwetted = stage.season.unwetted_days
    of, period = inputs.ground.valve, stage.season.period_of_day
    shares = quarter_depths(store.uniformity)[:, None, :]
    ground = [
        np.broadcast_to(depth, (len(store), DAYS_IN_YEAR))[..., None, None]
        for depth in (store.total_available_water_mm, store.allowed_depletion_mm)
    ]
    usual = np.stack([stage.season.need_mm_day(m) for m in range(12)], axis=1)
    share = np.broadcast_to(most_dry, len(inputs.valve))[of, None]
    own = inputs.ground.rate_share
    # Days of quarters that a month may have dry.
    lets_pass = (share * inputs.periods.days * (QUARTERS - WETTER.start))[..., None]
    multiplier = inputs.valve.run_time_multiplier[of, None]
    wait = _days_to_next(stage)[of]
    water, none = np.zeros((len(inputs.valve), *years.rain_mm.shape)), np.zeros(1)
    start = np.zeros((len(store), len(years), QUARTERS))
    for _ in range(MOST_ROUNDS):
        now, left = start, np.zeros(start.shape[:2])
        for day in range(DAYS_IN_YEAR):
            if day == 0 or period[day] != period[day - 1]:
                left = np.broadcast_to(lets_pass[:, period[day]], left.shape)
            need = store.need_mm[:, :, day, None]
            total, allowed = (depth[:, day] for depth in ground)
            if stage.warm[day] and wait[..., day].any():
                later, then, short = now, need, np.zeros(left.shape)
                most = int(wait[..., day].max())
                asked = stage.season.unwetted.asked_ahead(
                    unwetted.depletion_mm[:, :, day],
                    np.repeat(usual[:, period[day], None], most, axis=1),
                    np.full(most, day),
                )
                for ahead in range(most):
                    dry = _wetter_dry(later + then, dry_limit(allowed, then))
                    short = short + dry * (ahead < wait[..., day])
                    waited = played_day(later, none, none, then, total, allowed)
                    later = waited.depletion_mm
                    then = asked[:, :, ahead, None]
                waters = (short > left + TOLERANCE) & (wait[..., day] > 0)
                lacks = now.mean(axis=2) * multiplier / own[:, None]
                wanted = np.where(waters, lacks, 0.0)
                water[:, :, day] = 0.0
                np.maximum.at(water[:, :, day], of, wanted)
            laid = on_parts(inputs.ground, water[:, :, day, None]) * shares
            rain = store.rain_mm[:, :, day, None]
            played = played_day(now, laid, rain, need, total, allowed)
            now = played.depletion_mm
            dry = _wetter_dry(played.refilled_mm + need, dry_limit(allowed, need))
            left = np.maximum(left - dry, 0.0)
        begun, start = start, np.roll(now, 1, axis=1)
        if np.max(np.abs(start - begun), initial=0.0) <= SETTLED_MM:
            break
    return water


def _days_to_next(stage: Stage) -> np.ndarray:
    """Days from a watering day to the next, (valve, year, day); 0 on other days.

    Watering days are those of the densest pattern that a valve's rule permits.
    """
    inputs, days = stage.plan.inputs, stage.season.days
    of_rule = [patterns_of_rule(rule, False)[:WEEK, :2] for rule in inputs.rules]
    densest = np.array([rows[np.argmax(rows[:, 0] > 0)] for rows in of_rule], dtype=int)
    rule = np.broadcast_to(
        inputs.valve.day_rule, (len(inputs.valve), len(inputs.periods))
    )
    period = np.tile(stage.season.period_of_day, len(stage.years))
    weekdays, parity = np.moveaxis(densest[rule[:, period]], -1, 0)
    on = (weekdays >> days.weekday & 1).astype(bool) & of_parity(days.of_month, parity)
    found, ahead = np.zeros(on.shape, dtype=int), np.full(len(on), 2 * WEEK)
    for day in reversed(range(2 * on.shape[1])):
        day %= on.shape[1]
        found[:, day] = np.where(on[:, day], ahead, 0)
        ahead = np.where(on[:, day], 1, np.minimum(ahead + 1, 2 * WEEK))
    return found.reshape(len(on), *stage.years.rain_mm.shape)


def _wetter_dry(asked_mm: np.ndarray, limit_mm: np.ndarray) -> np.ndarray:
    """How many of the wetter quarters are dry, (part, year)."""
    return np.asarray((asked_mm > limit_mm)[..., WETTER].sum(axis=2))


def _rate_mm_min(stage: Stage) -> np.ndarray:
    return np.asarray(stage.plan.inputs.valve.rate_mm_h / MIN_PER_H)


def _raveled(schedule: Schedule) -> Schedule:
    return schedule[...] if schedule.zone.ndim == 1 else schedule[_every_cell(schedule)]


def _every_cell(schedule: Schedule) -> tuple[np.ndarray, ...]:
    return np.unravel_index(np.arange(schedule.zone.size), schedule.zone.shape)


def _runoff_mm(stage: Stage, part: int, rules: Schedule) -> np.ndarray:
    """Runoff of a part on a day of each of its rules: mean of four quarters.

    The wettest quarter is taken to have the valve's peak rate and no other more than
    that, so that cycles within the runoff limit lose nothing.
    """
    ground, valve = stage.plan.inputs.ground, stage.plan.inputs.valve
    of = int(ground.valve[part])
    if not valve.runs_off[of]:
        return np.zeros(len(rules.cycles))
    peak = valve.peak_rate_mm_h[of] * ground.rate_share[part]
    rate = valve.rate_mm_h[of] * ground.rate_share[part]
    rates = np.minimum(rate * quarter_depths(valve.uniformity[of]), peak)
    rates[-1] = peak
    lost = runoff_of_cycles(
        rules.cycles[:, None],
        rules.cycle_min[:, None],
        rules.soak_min[:, None],
        rates,
        ground.intake_mm_h[part],
        # Rounding of a cycle at the limit is no runoff.
        ground.accumulation_mm[part] * (1 + 1e-9),
    ).mean(axis=1)
    return np.minimum(lost, rules.minutes_per_day * rate / MIN_PER_H)


def _longest_runs(dry: np.ndarray) -> np.ndarray:
    """Longest run of True in the days of all years in a row, (part,)."""
    return np.array([max(_runs(row.ravel()), default=0) for row in dry])


def _runs(dry: np.ndarray) -> Iterator[int]:
    edges = np.flatnonzero(np.diff(np.r_[False, dry, False].astype(np.int8)))
    return (int(last - first) for first, last in edges.reshape(-1, 2))
