"""Weekly adjusting: a percent for the coming week, from how dry the ground is.

Each week asks for the least water that carries the ground to the first watering after
it, and for no more over the setting than the ground lacks.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from scheduler.balance.day import WETTER, played_day, quarter_depths
from scheduler.balance.ground import on_parts
from scheduler.budget.replay import (
    KINDS,
    Replay,
    Replayed,
    Stage,
    Waterings,
    held_back,
    played_way,
    table_waterings,
)
from scheduler.budget.usual import Ahead, usual_of
from scheduler.calendar import DAYS_IN_YEAR, WEEK
from scheduler.plan.card.plan import Card
from scheduler.rounding import ceil_, floor_
from scheduler.schedule import Schedule

WEEKLY = "weekly-adjusted"
LEAST_PERCENT = 50.0
"""Under half its usual depth a watering wets too little of the roots: rather than that
waterings are left out (rule of this program, as on the card)."""
LEAST_OF_NEEDIEST = 0.8
"""Share of what its neediest zone asks for that a shared percent gives at least."""
LONGEST_LOOK_DAYS = 5 * WEEK
"""How far ahead the watering that follows the week is looked for."""
ROUNDS = 2
"""Times that years are gone round, so that the first follows the last."""
_EPS = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Take:
    """What a controller takes for a week, (valve, month) but the step.

    `base_percent` is what stands in the controller now, and is keyed in whole steps;
    `most_percent` and `least_percent` are of the setting in force. Valves of one
    `group` share a percent and the days left out. `held_by_runoff` marks where the
    most is what the soil takes in, not what the controller does.
    """

    step_percent: float
    base_percent: np.ndarray
    most_percent: np.ndarray
    least_percent: np.ndarray
    group: np.ndarray
    held_by_runoff: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Lanes:
    """Valve, uniformity and share of the valve's rate of each part, (part,)."""

    valve: np.ndarray
    uniformity: np.ndarray
    rate_share: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Ends:
    """How settings of a week end, played on without rain, (part, lane, setting).

    `over_mm` is by how much a wetter quarter passes its target at most, from the first
    watering on; `early` whether one does before the first watering that is kept;
    `refills` that each kept watering fills them all.
    """

    over_mm: np.ndarray
    early: np.ndarray
    refills: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Week:
    """What the coming week is set to, (valve, lane).

    `percent` is of the setting in force: NaN where nothing would run, 0 where all is
    left out. Waterings before `first_day`, counted from today, are left out.
    `own_percent` and `own_first_day` are what the valve would have if it shared with
    none, `top_percent` the most that what it lacks allows.
    """

    percent: np.ndarray
    first_day: np.ndarray
    own_percent: np.ndarray
    own_first_day: np.ndarray
    top_percent: np.ndarray

    def factor(self, water_mm: np.ndarray) -> np.ndarray:
        """Share of the setting that each day of the week gets, (valve, lane, day)."""
        day = np.arange(water_mm.shape[-1])
        share = np.nan_to_num(self.percent, nan=100.0)[..., None] / 100
        return np.asarray((day >= self.first_day[..., None]) * share)


@dataclass(frozen=True, slots=True, eq=False)
class Weekly:
    """Years under weekly adjusting: what is laid down, before any shut-off.

    `percent` (valve, year, week) is of the setting in force, NaN where nothing would
    have run; days left out are told by the waterings alone.
    """

    waterings: Waterings
    percent: np.ndarray


def take_of(stage: Stage, schedule: Schedule, card: Card | None = None) -> Take:
    """What the site's controller takes; with a card its programs and month percents.

    Without one each valve has a percent of its own, unless the controller has one for
    all. A run at a percent stays within the runoff limit, unless the controller or,
    where minutes are keyed, more starts split it; and under the percent over which a
    card has no room for it.
    """
    plan, controller = stage.plan, stage.plan.site.controller
    valves = len(plan.inputs.valve)
    base, group = np.full((valves, 12), 100.0), np.arange(valves)[:, None]
    group = np.repeat(group, 12, axis=1)
    most_key = np.full((valves, 12), controller.percent_most)
    if card is not None and controller.percent_by != "none":
        base, group = _of_programs(card, base, group)
        most_key = _with_room(card, most_key)
    if controller.percent_by == "controller":
        group = np.zeros_like(group)
    cycle = _most_of_months(schedule, schedule.cycle_min, valves)
    day_min = _most_of_months(schedule, schedule.minutes_per_day, valves)
    longest = stage.season.longest_cycle_min[:, None]
    room, of = longest, cycle
    if controller.percent_by == "none":
        room, of = longest * controller.starts, day_min
    with np.errstate(divide="ignore", invalid="ignore"):
        by_soil = np.where(of > 0, 100 * room / of, np.inf)
        useful = 100 * plan.inputs.valve.least_cycle_min[:, None] / cycle
    by_soil = np.maximum(by_soil, np.inf if controller.soak_built_in else 100.0)
    takes = most_key * 100 / np.maximum(base, 1.0)
    return Take(
        controller.percent_step,
        base,
        np.minimum(takes, by_soil),
        np.clip(np.nan_to_num(useful, posinf=100.0), LEAST_PERCENT, 100.0),
        group,
        np.asarray(by_soil < takes),
    )


def _of_programs(
    card: Card, base: np.ndarray, group: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Month percents and groups of a card; a group goes by its first zone."""
    base, group = base.copy(), group.copy()
    for visit in card.visits:
        for program in visit.programs:
            zones = list(program.zones)
            for month, percent in program.percent.items():
                if percent > 0:
                    base[zones, month - 1] = percent
                    group[zones, month - 1] = zones[0]
    return base, group


def _with_room(card: Card, most_key: np.ndarray) -> np.ndarray:
    """The most that is keyed in, held to what a card has room for, (valve, month)."""
    most_key = most_key.copy()
    for visit in card.visits:
        for program in visit.programs:
            highest, months = program.highest_with_room, np.array([*program.percent])
            if highest is not None:
                most_key[np.ix_(np.array(program.zones), months - 1)] = highest
    return most_key


def _most_of_months(schedule: Schedule, values: np.ndarray, valves: int) -> np.ndarray:
    """Largest value of a valve's rules in each month, 0 where none runs."""
    found = np.zeros((valves, 12))
    in_month = schedule.months.ravel()[:, None] >> np.arange(12) & 1
    np.maximum.at(found, schedule.zone.ravel(), in_month * values.ravel()[:, None])
    return found


def percents_of(take: Take, month: int) -> np.ndarray:
    """Percents of the setting that a month's (0 to 11) keys come to, (valve, step).

    From the least up; where a valve takes fewer the most stands several times.
    """
    step, base = take.step_percent, take.base_percent[:, month, None]
    least = ceil_(take.least_percent[:, month, None] * base / 100 / step)
    most = floor_(take.most_percent[:, month, None] * base / 100 / step)
    most = np.maximum(most, least)
    keyed = np.minimum(least + np.arange(int((most - least).max()) + 1), most)
    return np.asarray(keyed * step * 100 / base)


def week_of(
    start_mm: np.ndarray,
    ahead: Ahead,
    ground: Lanes,
    percents: np.ndarray,
    group: np.ndarray,
) -> Week:
    """What the coming week is set to, from the ground as it stands today.

    `start_mm` is (part, lane, quarter), `percents` (valve, step), `group` (valve,). A
    valve alone takes the least water that carries its wetter quarters, without rain,
    to the first watering after the week: waterings left out at the beginning, and a
    percent for the others. It is never more than refills them; over the setting no
    more than its mean ground lacks beyond the usual; and with waterings left out never
    over the setting.
    """
    in_week = ahead.water_mm[..., :WEEK]
    waters = in_week > _EPS
    turn = np.cumsum(waters, axis=-1)
    left_out = np.arange(int(turn.max(initial=0)) + 1)
    lack = np.full(turn.shape[:2], -np.inf)
    np.maximum.at(lack, ground.valve, start_mm.mean(axis=-1) - ahead.usual_mm)
    with np.errstate(divide="ignore", invalid="ignore"):
        top = 100 + 100 * np.maximum(lack, 0.0) / in_week.sum(axis=-1)
    least, found = _least_percents(start_mm, ahead, ground, percents, left_out)
    allowed = np.where(left_out == 0, np.maximum(top, 100.0)[..., None], 100.0)
    kept = waters[:, :, None] & (turn[:, :, None] > left_out[:, None])
    first = np.where(kept.any(axis=-1), np.argmax(kept, axis=-1), WEEK)
    percent = np.minimum(least, _step_within(percents, allowed))
    percent = np.where(first < WEEK, percent, 0.0)
    fits = found & ((least <= allowed + _EPS) | (first == WEEK)) | (left_out == 0)
    water = (in_week[:, :, None] * kept).sum(axis=-1) * percent
    # Of equals the one that leaves out most.
    water = np.where(fits, water, np.inf)[..., ::-1]
    row = len(left_out) - 1 - np.argmin(water, axis=-1)
    own = np.take_along_axis(percent, row[..., None], axis=-1)[..., 0]
    own_first = np.take_along_axis(first, row[..., None], axis=-1)[..., 0]
    own = np.where(waters.any(axis=-1), own, np.nan)
    shared, begins = own.copy(), own_first.copy()
    for rows in (np.flatnonzero(group == one) for one in np.unique(group)):
        if len(rows) > 1:
            begins[rows] = np.where(np.isnan(own[rows]), WEEK, own_first[rows]).min(
                axis=0
            )
    if len(np.unique(group)) < len(group):
        out = (waters & (np.arange(WEEK) < begins[..., None])).sum(axis=-1)[..., None]
        wants = np.take_along_axis(percent, out, axis=-1)[..., 0]
        wants = np.where(np.isnan(own), np.nan, wants)
        refills = _least_refills(start_mm, ahead, ground, percents, out)
        shared = _shared(wants, refills, percents, group)
    return Week(shared, begins, own, own_first, top)


def _least_percents(
    start_mm: np.ndarray,
    ahead: Ahead,
    ground: Lanes,
    percents: np.ndarray,
    left_out: np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:
    """Least percent that does, (valve, lane, left out), and whether one does."""
    shape = (*ahead.water_mm.shape[:2], len(left_out))
    out = np.broadcast_to(left_out, shape)

    def does(percent: np.ndarray) -> np.ndarray:
        ends = week_ends(start_mm, ahead, ground, percent, out)
        enough = ~ends.early & ((ends.over_mm <= _EPS) | ends.refills)
        return _of_all_parts(enough, ground.valve, shape)

    return _least_that(does, percents, shape)


def _least_refills(
    start_mm: np.ndarray,
    ahead: Ahead,
    ground: Lanes,
    percents: np.ndarray,
    left_out: np.ndarray,
) -> np.ndarray:
    """Least percent with which each kept watering refills, (valve, lane)."""
    shape = left_out.shape

    def does(percent: np.ndarray) -> np.ndarray:
        ends = week_ends(start_mm, ahead, ground, percent, left_out)
        return _of_all_parts(ends.refills, ground.valve, shape)

    return _least_that(does, percents, shape)[0][..., 0]


def _least_that(
    does: Callable[[np.ndarray], np.ndarray],
    percents: np.ndarray,
    shape: tuple[int, ...],
) -> tuple[np.ndarray, np.ndarray]:
    """Least percent that does, by halving; the most where none does."""
    steps = percents.shape[1]
    valve = np.arange(len(percents)).reshape(-1, 1, 1)
    low, high = np.zeros(shape, dtype=int), np.full(shape, steps - 1)
    found = does(percents[valve, high])
    for _ in range(int(np.ceil(np.log2(max(steps, 2))))):
        middle = (low + high) // 2
        enough = does(percents[valve, middle])
        high = np.where(enough, middle, high)
        low = np.where(enough, low, np.minimum(middle + 1, high))
    row = np.where(found, high, steps - 1)
    return percents[valve, row], found


def _of_all_parts(
    values: np.ndarray, valve: np.ndarray, shape: tuple[int, ...]
) -> np.ndarray:
    """Whether it holds of all parts of a valve."""
    found = np.ones(shape, dtype=bool)
    np.logical_and.at(found, valve, values)
    return found


def _step_within(percents: np.ndarray, most: np.ndarray) -> np.ndarray:
    """Largest percent of a valve that is no more than `most`, or its least."""
    within = percents[:, None, None, :] <= most[..., None] + _EPS
    row = np.maximum(within.sum(axis=-1) - 1, 0)
    return percents[np.arange(len(percents)).reshape(-1, 1, 1), row]


def week_ends(
    start_mm: np.ndarray,
    ahead: Ahead,
    ground: Lanes,
    percent: np.ndarray,
    left_out: np.ndarray,
) -> Ends:
    """Settings of the week played on, without rain, to the first watering after it.

    `percent` and `left_out` are (valve, lane, setting): so many waterings are left out.
    """
    valve = ground.valve
    waters = ahead.water_mm > _EPS
    day = np.arange(waters.shape[-1])
    turn = np.cumsum(waters, axis=-1)[:, :, None]
    kept = turn > left_out[..., None]
    share = np.where(day < WEEK, kept * percent[..., None] / 100, 1.0)
    depth = (ahead.water_mm[:, :, None] * share)[valve]
    begun = (kept & waters[:, :, None])[valve]
    counts = (turn[:, :, 0] > 0) & (np.cumsum(waters & (day >= WEEK), axis=-1) == 0)
    last = int(np.flatnonzero(counts.any(axis=(0, 1))).max(initial=-1))
    shape = depth.shape[:3]
    # Quarters go first, so that the largest of the three is found along whole lanes.
    now = np.moveaxis(start_mm[..., WETTER], -1, 0)[..., None]
    shares = quarter_depths(ground.uniformity) * ground.rate_share[:, None]
    of_quarter = shares[:, WETTER].T[:, :, None, None]
    target = np.moveaxis(ahead.target_mm, -1, 0)
    over, early = np.full(shape, -np.inf), np.zeros(shape, dtype=bool)
    refills, yet = np.ones(shape, dtype=bool), np.ones(shape, dtype=bool)
    for row in range(last + 1):
        water = depth[..., row] * of_quarter
        watered = begun[..., row] & (row < WEEK)
        if watered.any():
            refills &= ~watered | ((now - water).max(axis=0) <= _EPS)
            yet &= ~watered
        need = ahead.need_mm[:, :, row, None]
        day_ = played_day(
            now,
            water,
            np.zeros(1),
            need,
            ahead.total_mm[:, row, None, None],
            ahead.allowed_mm[:, row, None, None],
        )
        now = day_.depletion_mm
        passed = (day_.refilled_mm + need - target[:, :, row, None, None]).max(axis=0)
        passed = np.where(counts[valve, :, row, None], passed, -np.inf)
        over = np.maximum(over, passed)
        early |= yet & (passed > _EPS)
    return Ends(over, early, refills)


def _shared(
    own: np.ndarray, refills: np.ndarray, percents: np.ndarray, group: np.ndarray
) -> np.ndarray:
    """One percent for all valves of a group, (valve, lane).

    It is the neediest valve's, but lowered to what refills each of the others, by a
    fifth at most; rounded up to one that the controller takes, and never over the most
    that each of them takes, for a longer run of it would flow off.
    """
    found = own.copy()
    for rows in (np.flatnonzero(group == one) for one in np.unique(group)):
        if len(rows) < 2:
            continue
        runs = np.isfinite(own[rows])
        neediest = np.where(runs, own[rows], -np.inf).max(axis=0)
        useful = np.where(runs & (own[rows] > 0), refills[rows], np.inf).min(axis=0)
        held = np.clip(useful, LEAST_OF_NEEDIEST * neediest, neediest)
        taken = np.unique(percents[rows])
        place = np.searchsorted(taken, held - _EPS)
        rounded = taken[np.minimum(place, len(taken) - 1)]
        most = np.where(runs, percents[rows].max(axis=1)[:, None], np.inf).min(axis=0)
        highest = np.minimum(neediest, most)
        one = np.where(neediest > 0, np.minimum(rounded, highest), neediest)
        found[rows] = np.where(runs, one, np.nan)
    return found


def lanes_of(stage: Stage) -> Lanes:
    """The ground of a stage as a week is played on it."""
    ground = stage.plan.inputs.ground
    return Lanes(ground.valve, stage.store.uniformity, ground.rate_share)


def weekly_waterings(stage: Stage, laid: Waterings, take: Take) -> Weekly:
    """A setting adjusted every seventh day, through the years.

    `laid` is what the setting lays down before any shut-off, `take_of` says what the
    controller takes. What adjusting saves: played_way(stage, WEEKLY,
    held_back(stage, found.waterings)) beside the same of `laid`.
    """
    usual, unwetted = usual_of(stage, laid), stage.season.unwetted_days
    ground, years = stage.plan.inputs.ground, stage.years
    valve, on_ground = ground.valve, on_parts(ground, laid.water_mm)
    shares = quarter_depths(stage.store.uniformity)[:, None, :]
    flat = laid.water_mm.reshape(len(laid.water_mm), -1)
    begins = np.arange(len(years))[:, None] * DAYS_IN_YEAR
    factor = np.ones(laid.water_mm.shape)
    runs_off = np.divide(
        laid.runoff_mm,
        on_ground,
        out=np.zeros_like(laid.runoff_mm),
        where=on_ground > 0,
    )
    goes_in = ~stage.held[valve] * (1 - runs_off)
    firsts = range(0, DAYS_IN_YEAR, WEEK)
    percent = np.full((*laid.water_mm.shape[:2], len(firsts)), np.nan)
    start = np.roll(usual.depletion_mm[:, :, -1], 1, axis=1)
    for _ in range(ROUNDS):
        now = start
        for week, first in enumerate(firsts):
            days = first + np.arange(LONGEST_LOOK_DAYS)
            water = flat[:, (begins + days) % flat.shape[1]]
            month = int(stage.season.period_of_day[first])
            found = week_of(
                now,
                usual.ahead(
                    days % DAYS_IN_YEAR,
                    usual.weekday[:, first],
                    water,
                    unwetted.before_mm(first),
                ),
                lanes_of(stage),
                percents_of(take, month),
                take.group[:, month],
            )
            percent[:, :, week] = found.percent
            last = min(first + WEEK, DAYS_IN_YEAR)
            factor[:, :, first:last] = found.factor(water[..., : last - first])
            for day in range(first, last):
                depth = laid.water_mm[:, :, day] * factor[:, :, day]
                now = played_day(
                    now,
                    (on_parts(ground, depth) * goes_in[:, :, day])[..., None] * shares,
                    stage.store.rain_mm[:, :, day, None],
                    stage.store.need_mm[:, :, day, None],
                    usual.total_mm[:, day, None, None],
                    usual.allowed_mm[:, day, None, None],
                ).depletion_mm
        start = np.roll(now, 1, axis=1)
    adjusted = Waterings(laid.water_mm * factor, laid.runoff_mm * factor[valve])
    return Weekly(adjusted, percent)


def weekly_way(stage: Stage) -> Replayed:
    """The table adjusted every week, played through the years."""
    take = take_of(stage, stage.plan.plan.schedule)
    found = weekly_waterings(stage, table_waterings(stage), take)
    return played_way(stage, WEEKLY, held_back(stage, found.waterings))


def with_weekly(found: Replay) -> Replay:
    """A replay with the table adjusted every week among its ways."""
    ways = (*found.ways, weekly_way(found.stage))
    return replace(found, ways=tuple(sorted(ways, key=lambda w: KINDS.index(w.of))))
