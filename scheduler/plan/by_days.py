"""The table by days: for least water, what real years let one get away with."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, replace

import numpy as np

from scheduler.balance.dates import NEVER, days_since
from scheduler.balance.day import QUARTERS
from scheduler.balance.ground import Ground
from scheduler.balance.lanes import Month, end_of_month
from scheduler.calendar import WEEK
from scheduler.plan.choice import (
    OFF,
    Chosen,
    Range,
    Sufficient,
    choose,
    days_of_setting,
)
from scheduler.plan.inputs import PlanInput, of_valves, rows_of
from scheduler.plan.season import Season
from scheduler.plan.table import (
    DAYS_TOO_FEW,
    FROST,
    NO_NEED,
    NOT_PERMITTED,
    SOAKS,
    STARTS_TOO_FEW,
    STAYS_DRY,
    TOO_CLOSE,
    CycleLimits,
    Plan,
    cycle_limits,
    parts_of_shared_valves,
    soak_between,
)
from scheduler.rounding import TOLERANCE, ceil_
from scheduler.schedule import Schedule
from scheduler.units import MIN_PER_H

ROUNDS = 2
"""Times that the months are played in order, so that January follows a December."""
PLAYED = ("dry_share", "taken_mm", "watering_gives_mm")
BY_PART = ("start_mm", *PLAYED)
Pick = Callable[[int, Month, Range], tuple[Range, Chosen]]
"""What a period is set to, of its number, its ground and what may be chosen."""
BLOCK_VALVES = 64
"""Valves worked at a time: what is worked out once for all of them stays small."""
_DUST_MM = 1e-9
"""Differences under it are what float arithmetic leaves of none."""


@dataclass(frozen=True, slots=True, eq=False)
class Settings:
    """What every valve is set to in every period, (valve, period) unless said.

    `pattern` is a row of candidates.patterns_of_rule, OFF where nothing runs.
    `fill_min` are minutes a day that fill the ground first, on `fill_days` days.
    `night_min` are the most minutes that a night holds where that cut what was tried,
    else infinite. `dry` is the dry share of the three wetter quarters that the choice
    saw, `dry_share` (part, period) what it is with all the year's settings chosen; NaN
    in frost. What a period begins with: `start_mm` (part, period, year, quarter) and
    `since` (valve, period, year), days since the last watering; both without what salt
    asks for, which is added to `cycles` and `cycle_min` afterwards. `scheduled_mm`
    (valve, year, day of the year) is what is laid down but for a rain shut-off, which
    lets nothing through on days that are `held`; `dry_share` is what comes of it, as
    keyed in, salt's share included, and so are `taken_mm` and `watering_gives_mm`
    (part, period): what plants take, and what of it comes from the watering.
    """

    pattern: np.ndarray
    row: np.ndarray
    weekdays: np.ndarray
    parity: np.ndarray
    every_days: np.ndarray
    days_per_week: np.ndarray
    cycles: np.ndarray
    cycle_min: np.ndarray
    fill_min: np.ndarray
    fill_days: np.ndarray
    night_min: np.ndarray
    longest_gap: np.ndarray
    dry: np.ndarray
    dry_share: np.ndarray
    taken_mm: np.ndarray
    watering_gives_mm: np.ndarray
    stays_dry: np.ndarray
    days_too_few: np.ndarray
    too_close: np.ndarray
    not_permitted: np.ndarray
    start_mm: np.ndarray
    since: np.ndarray
    scheduled_mm: np.ndarray
    held: np.ndarray

    @property
    def water_mm(self) -> np.ndarray:
        """What is laid down, a shut-off's days left out, (valve, year, day)."""
        return self.scheduled_mm * ~self.held


@dataclass(frozen=True, slots=True, eq=False)
class _Seen:
    """A month as it was chosen the round before: what it began with, what sufficed."""

    month: Month
    off: np.ndarray
    least: Sufficient

    def again(self, month: Month, off: np.ndarray) -> tuple[Sufficient, np.ndarray]:
        """What sufficed, and the valves (valve,) where the month begins as it did."""
        same = (self.off == off) & (self.month.since == month.since).all(axis=1)
        of_part = (self.month.start_mm == month.start_mm).all(axis=(1, 2))
        np.logical_and.at(same, month.valve, of_part)
        return self.least, same


def choose_settings(season: Season) -> Settings:
    """Settings of all periods of a season, the months played in order twice round."""
    inputs = season.inputs
    valves, periods = len(inputs.valve), len(inputs.periods)
    start = np.zeros((len(inputs.ground), len(season.years), QUARTERS))
    since = np.full((valves, len(season.years)), NEVER)
    off = np.zeros(valves, dtype=bool)
    before = np.zeros(valves, dtype=np.int64), np.zeros(valves, dtype=np.int64)
    found: list[dict[str, np.ndarray]] = []
    seen: list[_Seen] = []
    for turn in range(ROUNDS):
        found = []
        for period in range(periods):
            month = season.month(period, start, since)
            within = season.range_of(period, month, off)
            frost_next = bool(season.frost[(period + 1) % periods])
            chosen = choose(
                month,
                within,
                inputs.valve.most_dry,
                not frost_next,
                before,
                seen[period].again(month, off) if turn else None,
            )
            if not turn and chosen.least is not None:
                seen.append(_Seen(month, off, chosen.least))
            kept, start, since = _kept(season, period, month, within, chosen)
            found.append(kept)
            off = chosen.pattern == OFF
            before = kept["weekdays"], kept["every_days"]
        start, since = np.roll(start, 1, axis=1), np.roll(since, 1, axis=1)
    return _settings_of(season, found, start)


def picked_settings(
    season: Season, pick: Pick, base: Settings, rounds: int = 1
) -> Settings:
    """Settings that `pick` takes, the months in order from where `base` begins them."""
    start, since = base.start_mm[:, 0], base.since[:, 0]
    off = base.pattern[:, -1] == OFF
    found: list[dict[str, np.ndarray]] = []
    for _ in range(rounds):
        found = []
        for period in range(len(season.inputs.periods)):
            month = season.month(period, start, since)
            within, chosen = pick(period, month, season.range_of(period, month, off))
            kept, start, since = _kept(season, period, month, within, chosen)
            found.append(kept)
            off = chosen.pattern == OFF
        start, since = np.roll(start, 1, axis=1), np.roll(since, 1, axis=1)
    return _settings_of(season, found, start)


def _kept(
    season: Season, period: int, month: Month, within: Range, chosen: Chosen
) -> tuple[dict[str, np.ndarray], np.ndarray, np.ndarray]:
    """What a period is set to, the ground it leaves, and days since the last water."""
    settings = _settings(month, within, chosen, bool(season.frost[period]))
    day_min = settings["cycles"] * settings["cycle_min"]
    scheduled = scheduled_mm(month, within, chosen, day_min)
    start = end_of_month(month, scheduled * ~month.held)
    if season.leaching_requirement.any():
        settings |= _leached(season, settings["cycles"], settings["cycle_min"])
        day_min = settings["cycles"] * settings["cycle_min"]
        scheduled = scheduled_mm(month, within, chosen, day_min)
    kept = {**settings, "scheduled_mm": scheduled, "held": month.held}
    return kept, start, days_since(scheduled > 0, month.since)


def _settings_of(
    season: Season, found: list[dict[str, np.ndarray]], start_mm: np.ndarray
) -> Settings:
    """Settings of all periods, and what is dry with all of them chosen."""
    names = [f.name for f in fields(Settings) if f.name not in PLAYED]
    joined = {name: _joined(name, found) for name in names}
    played = season.play(joined["scheduled_mm"] * ~joined["held"], start_mm)
    dry, taken = season.dry_shares(played), season.taken_mm(played)
    return Settings(**joined, **dict(zip(PLAYED, (dry, *taken), strict=True)))


def _joined(name: str, found: list[dict[str, np.ndarray]]) -> np.ndarray:
    """Values of all periods: days in a row, else stacked along the second axis."""
    values = [period[name] for period in found]
    if name in ("scheduled_mm", "held"):
        return np.concatenate(values, axis=2)
    return np.stack(values, axis=1)


def scheduled_mm(
    month: Month, within: Range, chosen: Chosen, day_min: np.ndarray
) -> np.ndarray:
    """Gross depth of each day by the chosen settings, (valve, year, day).

    `day_min` (valve,) are the minutes of a watering day.
    """
    waters = days_of_setting(month, within, chosen.pattern)
    depth = (day_min * within.rate_mm_min)[:, None, None] * waters
    runs = (chosen.pattern != OFF)[:, None, None]
    return np.asarray(depth + within.filling.depth_mm(within.rate_mm_min) * runs)


def _settings(
    month: Month, within: Range, chosen: Chosen, frost: bool
) -> dict[str, np.ndarray]:
    """What one period is set to, by names of `Settings`."""
    valve, runs = np.arange(len(chosen.pattern)), chosen.pattern != OFF
    pattern = np.where(runs, chosen.pattern, 0)

    def of_pattern(name: str) -> np.ndarray:
        return np.asarray(getattr(within.patterns, name)[valve, pattern] * runs)

    def of_minutes(name: str) -> np.ndarray:
        return np.asarray(getattr(within.minutes, name)[valve, chosen.row] * runs)

    return {
        "pattern": chosen.pattern,
        "row": chosen.row,
        **{name: of_pattern(name)
           for name in ("weekdays", "parity", "every_days", "days_per_week")},
        **{name: of_minutes(name) for name in ("cycles", "cycle_min")},
        "fill_min": within.filling.minutes * runs,
        "fill_days": within.filling.nights * runs,
        "night_min": within.night_min.min(axis=1),
        "dry": np.where(within.off_only, np.nan, chosen.dry),
        "longest_gap": of_pattern("longest_gap"),
        "stays_dry": chosen.stays_dry & ~within.off_only,
        "days_too_few": within.patterns.too_few & runs,
        "too_close": within.patterns.too_close & runs,
        "not_permitted": chosen.stays_dry & ~within.patterns.usable.any(axis=1)
        & (not frost),
        "start_mm": month.start_mm,
        "since": month.since,
    }  # fmt: skip


def plan_by_days(inputs: PlanInput) -> Plan:
    """Table of all ground and periods by years of days; a zone has one setting."""
    limits = cycle_limits(inputs.ground, inputs.valve)
    return table_of(inputs, limits, plan_days(inputs, limits))


def plan_days(inputs: PlanInput, limits: CycleLimits) -> Settings:
    """Settings of all valves and periods; like valves are worked out once."""
    longest = _of_valve(limits.longest_cycle_min, inputs)
    alike, first = alike_valves(inputs, longest)
    parts = []
    for rows in _blocks(inputs, first):
        season = Season(of_valves(inputs, rows), longest[rows])
        parts.append((rows, choose_settings(season)))
    done = np.concatenate([rows for rows, _ in parts])
    place = np.empty(len(inputs.valve), dtype=np.intp)
    place[done] = np.arange(len(done))
    of_valve = place[first[alike]]
    valve, count = inputs.ground.valve, np.bincount(inputs.ground.valve)
    begins = np.cumsum(count[done]) - count[done]
    turn = np.arange(len(valve)) - np.searchsorted(valve, valve)
    of_part = begins[of_valve[valve]] + turn
    joined = Settings(
        **{
            f.name: np.concatenate([getattr(found, f.name) for _, found in parts])
            for f in fields(Settings)
        }
    )
    return rows_of_settings(joined, of_valve, of_part)


def rows_of_settings(
    settings: Settings, valves: np.ndarray, parts: np.ndarray
) -> Settings:
    """Settings of valves and of their parts, in the order given."""
    return Settings(
        **{
            f.name: getattr(settings, f.name)[parts if f.name in BY_PART else valves]
            for f in fields(Settings)
        }
    )


def season_of(inputs: PlanInput) -> Season:
    """What the months of all valves offer; they share one climate."""
    limits = cycle_limits(inputs.ground, inputs.valve)
    return Season(inputs, _of_valve(limits.longest_cycle_min, inputs))


def _of_valve(of_part: np.ndarray, inputs: PlanInput) -> np.ndarray:
    """The least of each valve's parts, (valve,)."""
    found = np.full(len(inputs.valve), np.inf)
    np.minimum.at(found, inputs.ground.valve, of_part)
    return found


def _undusted(difference_mm: np.ndarray) -> np.ndarray:
    """Differences of depths, with what only the arithmetic leaves of them at 0."""
    return np.where(difference_mm < _DUST_MM, 0.0, difference_mm)


def table_of(inputs: PlanInput, limits: CycleLimits, found: Settings) -> Plan:
    """The table's record of settings, (part, period)."""
    ground, of = inputs.ground, inputs.ground.valve
    valve = rows_of(inputs.valve, of)
    days = inputs.periods.days
    shape = len(ground), len(days)
    cycles, cycle_min = found.cycles[of], found.cycle_min[of]
    runs, day_min = cycles > 0, cycles * cycle_min
    per_week = found.days_per_week[of]
    minutes = day_min * per_week * (days / WEEK)
    fill = found.fill_min[of] * found.fill_days[of]
    need = inputs.et0_mm_day[of] * ground.landscape_coefficient * days
    rate_mm_h = valve.rate_mm_h * ground.rate_share
    applied = minutes * (rate_mm_h / MIN_PER_H)[:, None]
    rain_and_soil = np.minimum(found.taken_mm, need) - found.watering_gives_mm
    rain_and_soil = _undusted(rain_and_soil)
    soaks = (cycles > 1) & (day_min > (limits.runoff_limit_min + TOLERANCE)[:, None])
    soak = soak_between(cycle_min.T, limits.soak_a_minute, valve).T * soaks
    too_many = (cycles > valve.starts[:, None]) & ~valve.soak_built_in[:, None]
    schedule = Schedule.from_table(
        weekdays=found.weekdays[of],
        parity=found.parity[of],
        every_days=found.every_days[of],
        days_per_week=per_week,
        cycles=cycles.astype(np.int64),
        cycle_min=cycle_min,
        soak_min=soak,
        month=inputs.periods.month,
    )
    frost = inputs.frost[of]
    # Water against salt may have made up for what no setting of the choice could.
    still_dry = found.dry_share > valve.most_dry[:, None] + TOLERANCE
    flags = (
        frost * FROST
        | found.not_permitted[of] * NOT_PERMITTED
        | found.days_too_few[of] * DAYS_TOO_FEW
        | found.too_close[of] * TOO_CLOSE
        | (~runs & ~frost & ~found.not_permitted[of]) * NO_NEED
        | (too_many & runs) * STARTS_TOO_FEW
        | soaks * SOAKS
        | (found.stays_dry[of] & still_dry) * STAYS_DRY
    )
    zero = np.zeros(shape)
    return Plan(
        schedule=replace(schedule, zone=np.broadcast_to(of[:, None], shape)),
        plant_need_mm=need,
        effective_rain_mm=rain_and_soil,
        net_need_mm=_undusted(need - rain_and_soil),
        gross_need_mm=applied,
        carried_in_mm=zero,
        gap_limit_days=found.longest_gap[of],
        event_minutes=day_min,
        applied_mm=applied,
        unmet_mm=np.where(found.not_permitted[of], need, 0.0),
        volume_l=(minutes + fill)
        * (valve.flow_l_min * ground.share * ground.rate_share)[:, None],
        flags=flags.astype(np.uint16),
        dry_share=found.dry_share,
        fill_min=found.fill_min[of],
        fill_days=found.fill_days[of],
        decides=_decides(ground, found.dry_share, need),
        runoff_limit_min=limits.runoff_limit_min,
        longest_cycle_min=limits.longest_cycle_min,
        cycle_too_short=limits.cycle_too_short,
    )


def _decides(ground: Ground, dry_share: np.ndarray, need_mm: np.ndarray) -> np.ndarray:
    """The part of each valve and period that goes driest, else needs most."""
    decides = np.ones(need_mm.shape, dtype=bool)
    for part in parts_of_shared_valves(ground.valve):
        order = np.lexsort((need_mm[part], np.nan_to_num(dry_share[part])), axis=0)
        decides[part] = np.arange(part.stop - part.start)[:, None] == order[-1]
    return decides


def _leached(
    season: Season, cycles: np.ndarray, cycle_min: np.ndarray
) -> dict[str, np.ndarray]:
    """Cycles and their minutes with what salt asks for on top, in whole steps.

    Arguments are (valve,); of several parts the one that asks for most counts.
    """
    longest, step = season.longest_cycle_min, season.inputs.valve.minute_step
    wanted = cycles * cycle_min / (1 - season.leaching_requirement)
    salty = (season.leaching_requirement > 0) & (cycles > 0)
    more = np.maximum(ceil_(wanted / longest), 1.0)
    longer = np.minimum(ceil_(wanted / more / step) * step, longest)
    return {
        "cycles": np.where(salty, more, cycles),
        "cycle_min": np.where(salty, longer, cycle_min),
    }


def alike_valves(
    inputs: PlanInput, longest_cycle_min: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Kind of each valve, and the first valve of each kind.

    Valves of several parts are each a kind of their own.
    """
    valve, ground = inputs.valve, inputs.ground
    count = len(valve)
    if len(ground) != count:
        return np.arange(count), np.arange(count)
    columns = [longest_cycle_min[:, None]]
    for record in (valve, ground):
        for f in fields(record):
            if f.name not in ("valve", "share", "flow_l_min"):
                values = getattr(record, f.name)
                columns.append(values.reshape(count, -1).astype(float))
    _, first, alike = np.unique(
        np.concatenate(columns, axis=1), axis=0, return_index=True, return_inverse=True
    )
    return alike.reshape(-1), first


def _blocks(inputs: PlanInput, rows: np.ndarray) -> Iterator[np.ndarray]:
    """Rows of valves that share a climate, frost and rest, a few at a time."""
    key = np.concatenate(
        [inputs.valve.climate[rows, None], inputs.frost[rows], inputs.dormant[rows]],
        axis=1,
        dtype=np.intp,
        casting="unsafe",
    )
    _, group = np.unique(key, axis=0, return_inverse=True)
    group = group.reshape(-1)
    for one in np.unique(group).tolist():
        mine = rows[group == one]
        for start in range(0, len(mine), BLOCK_VALVES):
            yield mine[start : start + BLOCK_VALVES]
