"""This week's percent: the ground played up to a date on the weather that was."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace

import numpy as np

from scheduler.balance.day import WETTER, played_day, quarter_depths
from scheduler.balance.ground import on_parts
from scheduler.balance.play import wetness_after
from scheduler.budget.replay import (
    Stage,
    Waterings,
    laid_on,
    set_stage,
    table_waterings,
    todays_schedule,
    waterings_of,
)
from scheduler.budget.usual import Ahead, Usual, usual_of
from scheduler.budget.weekly import (
    LONGEST_LOOK_DAYS,
    Take,
    Week,
    lanes_of,
    percents_of,
    take_of,
    week_ends,
    week_of,
)
from scheduler.calendar import (
    DAYS_IN_MONTH,
    ONE_DAY,
    WEEK,
    Days,
    date_of,
    day_number,
)
from scheduler.demand.days import reference_days
from scheduler.demand.et0.assumptions import Assumption
from scheduler.inputs.weather.daily import DailyWeather
from scheduler.inputs.weather.lately import WeekTotals
from scheduler.plan.card.plan import Card
from scheduler.plan.site import SitePlan
from scheduler.plan.table import first_dates
from scheduler.rounding import ceil_, floor_
from scheduler.schedule import NO_DAY, Schedule
from scheduler.units import MIN_PER_H

KINDS = ("table", "card", "today")
"""Whose settings may be in force."""
LITTLE_ET0_WEEK_MM, UNLIKELY = 10.0, 5.0
"""ET0 of a usual week from which a week given is doubted, and how many times over or
under it (rule of this program; a day is a seventh, an inch 25 mm)."""
_EPS = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Lately:
    """Days before a date as they were, (day,).

    `filled` marks days whose ET0 is the month's mean, `rain_told` those that tell their
    rain; the others have none. `source` is the file, "" where a week's totals were
    given: then rain falls evenly over its days.
    """

    source: str
    date: datetime.date
    days: Days
    et0_mm: np.ndarray
    rain_mm: np.ndarray
    filled: np.ndarray
    rain_told: np.ndarray
    method: str
    assumptions: tuple[Assumption, ...] = ()

    @property
    def first(self) -> datetime.date:
        """The first day."""
        return self.date - ONE_DAY * len(self.days)


@dataclass(frozen=True, slots=True, eq=False)
class GroundLately:
    """Ground day by day up to the date, (part, day, quarter); depths are mm.

    Under emitters it is the ground that they wet: its rain, and what is asked of it.
    `start_mm` (part, quarter) is how it began. `water_mm` (part, day) is the mean that
    went in, `runoff_mm` what did not. `span_mm` (part, 2) is the depletion that the
    wettest and the driest start of the years played would have left, mean of the
    ground. `unwetted_mm` (part,) is what lacks on the date where no emitter wets.
    """

    start_mm: np.ndarray
    need_mm: np.ndarray  # (part, day)
    rain_mm: np.ndarray  # (part, day)
    water_mm: np.ndarray
    runoff_mm: np.ndarray
    et_mm: np.ndarray
    drained_mm: np.ndarray
    depletion_mm: np.ndarray
    span_mm: np.ndarray
    unwetted_mm: np.ndarray

    @property
    def deficit_mm(self) -> np.ndarray:
        """Depletion on the date, mean of the ground, (part,)."""
        return np.asarray(self.depletion_mm[:, -1].mean(axis=1))


@dataclass(frozen=True, slots=True, eq=False)
class Adjusted:
    """What the coming week is set to, by valve, and the ground that it stands on.

    `of` is one of KINDS. `week` has one lane. `key_percent` is what is keyed in, with a
    card its month's percent times the week's; `cycles` of `cycle_min` are keyed where
    the controller takes no percents. `skip_until` is the date of the first watering
    that is not left out; `dry_from` the day on which a wetter quarter goes dry before
    the next watering, else None. `water_mm` (valve, day) is what the setting lays down
    from the date on, nothing adjusted.
    """

    stage: Stage
    of: str
    lately: Lately
    usual: Usual
    take: Take
    ground: GroundLately
    week: Week
    water_mm: np.ndarray
    key_percent: np.ndarray
    cycles: np.ndarray
    cycle_min: np.ndarray
    skip_until: tuple[datetime.date | None, ...]
    dry_from: tuple[datetime.date | None, ...]

    @property
    def date(self) -> datetime.date:
        """First day of the coming week."""
        return self.lately.date

    @property
    def percent(self) -> np.ndarray:
        """Percent of the setting in force, (valve,): NaN where nothing would run."""
        return self.week.percent[:, 0]

    @property
    def usual_mm(self) -> np.ndarray:
        """Usual depletion on the date, mean of the ground and the years, (part,)."""
        return np.asarray(_as_usual(self.usual, self.date).mean(axis=(1, 2)))

    @property
    def held_by_runoff(self) -> np.ndarray:
        """Valves whose percent is as much as the soil takes in, (valve,)."""
        return self._at_most & self.take.held_by_runoff[:, self.date.month - 1]

    @property
    def held_by_controller(self) -> np.ndarray:
        """Valves whose percent is as much as the controller takes, (valve,)."""
        return self._at_most & ~self.take.held_by_runoff[:, self.date.month - 1]

    @property
    def _at_most(self) -> np.ndarray:
        """Valves that get the most that can be set, and lack more, (valve,)."""
        month = self.date.month - 1
        most = self.take.most_percent[:, month]
        step = self.take.step_percent * 100 / self.take.base_percent[:, month]
        lacks_more = self.week.top_percent[:, 0] > most
        return np.asarray((self.percent > most - step) & lacks_more)


def lately_of_file(
    plan: SitePlan, weather: DailyWeather, date: datetime.date
) -> Lately:
    """Days of a weather file up to a date; days that are missing have the usual ET0."""
    site = plan.site
    found = reference_days(weather, site.latitude, site.elevation_m, site.wind_height_m)
    first = weather.date[0].item()
    days = Days.of_calendar(first, (date - first).days)
    place = (weather.date - weather.date[0]).astype(int)
    et0, rain = np.full(len(days), np.nan), np.full(len(days), np.nan)
    et0[place], rain[place] = found.et0_mm, weather.rain_mm
    filled = ~np.isfinite(et0)
    return Lately(
        weather.source,
        date,
        days,
        np.where(filled, plan.months.et0_mm_day[days.month], et0),
        np.nan_to_num(rain),
        filled,
        np.isfinite(rain),
        found.method,
        found.assumptions,
    )


def lately_of_week(totals: WeekTotals, date: datetime.date) -> Lately:
    """Seven days before a date from their totals, spread evenly."""
    days = Days.of_calendar(date - ONE_DAY * WEEK, WEEK)
    rain = 0.0 if totals.rain_mm is None else totals.rain_mm
    return Lately(
        "",
        date,
        days,
        np.full(WEEK, totals.et0_mm / WEEK),
        np.full(WEEK, rain / WEEK),
        np.zeros(WEEK, dtype=bool),
        np.full(WEEK, totals.rain_mm is not None),
        "given",
    )


def week_is_likely(plan: SitePlan, lately: Lately) -> bool:
    """Whether a week's ET0 can be meant: no other unit, and no day's.

    Where little is usual anything may be; rule of this program.
    """
    usual = float(plan.months.et0_mm_day[lately.days.month].sum())
    given = float(lately.et0_mm.sum())
    return usual < LITTLE_ET0_WEEK_MM or usual / UNLIKELY < given < usual * UNLIKELY


def adjust(
    plan: SitePlan, lately: Lately, of: str = "table", card: Card | None = None
) -> Adjusted:
    """What to set for the week from a date on.

    The settings in force are the table's, a card's, or what the controller runs today.
    Raises ValueError where these are wanted and not there.
    """
    stage = set_stage(plan)
    schedule = _in_force(plan, of, card)
    by_years = table_waterings(stage)
    if of != "table":
        by_years = waterings_of(stage, schedule)
    usual = usual_of(stage, by_years)
    take = take_of(stage, schedule, card if of == "card" else None)
    ahead = Days.of_calendar(lately.date, LONGEST_LOOK_DAYS)
    through, held = _held_back(stage, lately, ahead)
    laid, runoff = _laid(stage, of, schedule, lately.days)
    ground = _played(stage, usual, lately, Waterings(laid * through, runoff), through)
    water = _laid(stage, of, schedule, ahead)[0] * ~held
    month = lately.date.month - 1
    week = week_of(
        ground.depletion_mm[:, None, -1],
        _ahead(usual, lately.date, water, ground),
        lanes_of(stage),
        percents_of(take, month),
        take.group[:, month],
    )
    percent = week.percent[:, 0]
    cycles, cycle_min = _keyed_runs(stage, schedule, month, percent)
    return Adjusted(
        stage,
        of,
        lately,
        usual,
        take,
        ground,
        week,
        water,
        percent * take.base_percent[:, month] / 100,
        cycles,
        cycle_min,
        *_dates(stage, usual, ground, week, water, lately.date),
    )


def over_mm(found: Adjusted, row: int, percent: float) -> float:
    """By how much a wetter quarter of a valve passes its target at a percent.

    Waterings are left out as they are for the valve alone; negative where none passes.
    """
    valves = len(found.percent)
    waters = found.water_mm[:, :WEEK] > _EPS
    early = np.arange(WEEK) < found.week.own_first_day
    out = (waters & early).sum(axis=1)
    ends = week_ends(
        found.ground.depletion_mm[:, None, -1],
        _ahead(found.usual, found.date, found.water_mm, found.ground),
        lanes_of(found.stage),
        np.full((valves, 1, 1), percent),
        out[:, None, None],
    )
    of_valve = found.stage.plan.inputs.ground.valve == row
    return float(ends.over_mm[of_valve].max())


def _ahead(
    usual: Usual, date: datetime.date, water_mm: np.ndarray, ground: GroundLately
) -> Ahead:
    """The days from a date on, with what the setting lays down on them."""
    days = _day_of_year(Days.of_calendar(date, water_mm.shape[1]))
    weekday, unwetted = np.array([date.weekday()]), ground.unwetted_mm[:, None]
    return usual.ahead(days, weekday, water_mm[:, None], unwetted)


def _as_usual(usual: Usual, date: datetime.date) -> np.ndarray:
    """Depletion as a date begins in the years, (part, year, quarter)."""
    day = int(_day_of_year(Days.of_calendar(date, 1))[0])
    return usual.before_mm(day)[:, date.weekday()]


def _in_force(plan: SitePlan, of: str, card: Card | None) -> Schedule:
    """Rules in force, by what they are of."""
    rules = {
        "table": plan.plan.schedule,
        "card": None if card is None else card.schedule,
        "today": todays_schedule(plan),
    }
    found = rules[of]
    if found is None:
        raise ValueError(f"there is no {of}")
    return found


def _laid(
    stage: Stage, of: str, schedule: Schedule, days: Days
) -> tuple[np.ndarray, np.ndarray]:
    """What the rules lay down on days, (valve, day), and its runoff, (part, day)."""
    if of != "table":
        return laid_on(stage, schedule, days)
    water = np.zeros((len(stage.plan.inputs.valve), len(days)))
    runoff = np.zeros((len(stage.store), len(days)))
    years = (np.datetime64(0, "D") + days.number).astype("datetime64[Y]").astype(int)
    for year in np.unique(years).tolist():
        mine = years == year
        dated = _dated(schedule, year + 1970)
        water[:, mine], runoff[:, mine] = laid_on(stage, dated, _some(days, mine))
    settings = stage.plan.settings
    if settings is None:
        return water, runoff
    # A month that begins with a filling has it in place of its first waterings.
    fills = days.of_month <= settings.fill_days[:, days.month]
    rate = stage.plan.inputs.valve.rate_mm_h[:, None] / MIN_PER_H
    depth = settings.fill_min[:, days.month] * rate
    return np.where(fills, depth, water), runoff


def _dated(schedule: Schedule, year: int) -> Schedule:
    """A table whose intervals count from their first dates of a year."""
    first_day = np.full(schedule.every_days.shape, NO_DAY)
    for cell, date in first_dates(schedule, year).items():
        first_day[cell] = day_number(date)
    return replace(schedule, first_day=first_day)


def _some(days: Days, rows: np.ndarray) -> Days:
    return Days(
        days.number[rows], days.month[rows], days.weekday[rows], days.of_month[rows]
    )


def _day_of_year(days: Days) -> np.ndarray:
    """Day of a common year, 0 to 364; 29 February counts as the 28th."""
    first = np.cumsum(DAYS_IN_MONTH) - DAYS_IN_MONTH
    day = np.minimum(days.of_month, DAYS_IN_MONTH[days.month])
    return np.asarray(first[days.month] + day - 1)


def _held_back(
    stage: Stage, lately: Lately, ahead: Days
) -> tuple[np.ndarray, np.ndarray]:
    """Where a shut-off lets through until the date, and holds back after it.

    Both (valve, day); after the date the disc dries as it usually does.
    """
    et0 = np.r_[lately.et0_mm, stage.plan.months.et0_mm_day[ahead.month]]
    rain = np.r_[lately.rain_mm, np.zeros(len(ahead))]
    setting = stage.plan.inputs.valve.rain_shutoff_mm
    held = np.zeros((len(setting), len(et0)), dtype=bool)
    has = np.isfinite(setting)
    wetness = np.zeros(len(setting))
    for day in range(len(et0)):
        held[:, day] = has & (wetness > 0)
        wetness = wetness_after(wetness, rain[day], et0[day], setting)
    return ~held[:, : len(lately.days)], held[:, len(lately.days) :]


def _played(
    stage: Stage,
    usual: Usual,
    lately: Lately,
    laid: Waterings,
    through: np.ndarray,
) -> GroundLately:
    """Ground from its usual state on the first day to the date."""
    of, day_of_year = stage.plan.inputs.ground.valve, _day_of_year(lately.days)
    need = lately.et0_mm * stage.season.coefficient[:, lately.days.month]
    runoff = laid.runoff_mm * through[of]
    water = on_parts(stage.plan.inputs.ground, laid.water_mm) - runoff
    of_years = _as_usual(usual, date_of(int(lately.days.number[0])))
    of_unwetted = stage.season.unwetted_days.before_mm(int(day_of_year[0]))
    start, dry = (
        np.stack([take(values, axis=1) for take in (np.mean, np.min, np.max)], axis=1)
        for values in (of_years, of_unwetted)
    )
    shares = quarter_depths(stage.store.uniformity)[:, None, :]
    rain = lately.rain_mm * stage.plan.inputs.ground.wetted_share[:, None]
    asked, now, found = need.copy(), start, []
    for day, row in enumerate(day_of_year.tolist()):
        plants = need[:, day, None]
        beside = usual.unwetted.day(row, dry, lately.rain_mm[day], plants)
        asked[:, day] -= beside.et_mm[:, 0]
        ends = played_day(
            now,
            water[:, day, None, None] * shares,
            rain[:, day, None, None],
            (plants - beside.et_mm)[..., None],
            usual.total_mm[:, row, None, None],
            usual.allowed_mm[:, row, None, None],
        )
        now, dry = ends.depletion_mm, beside.depletion_mm
        found.append((ends.et_mm[:, 0], ends.drained_mm[:, 0], now[:, 0]))
    et, drained, depletion = (np.stack(v, axis=1) for v in zip(*found, strict=True))
    span = now[:, 1:].mean(axis=2)
    return GroundLately(
        start[:, 0], asked, rain, water, runoff, et, drained, depletion, span, dry[:, 0]
    )


def _dates(
    stage: Stage,
    usual: Usual,
    ground: GroundLately,
    week: Week,
    water_mm: np.ndarray,
    date: datetime.date,
) -> tuple[tuple[datetime.date | None, ...], tuple[datetime.date | None, ...]]:
    """For each valve the first watering not left out, and a dry day before it."""
    over = _first_over(stage, usual, ground, date)
    skip: list[datetime.date | None] = []
    dry: list[datetime.date | None] = []
    for row, percent in enumerate(week.percent[:, 0].tolist()):
        waters = np.flatnonzero(water_mm[row] > _EPS)
        first, until = int(week.first_day[row, 0]), None
        if percent == 0:
            # The last watering before which the ground still lasts; never this week's.
            later = waters[waters >= WEEK]
            lasting = later[later <= over[row]]
            until = next(iter([*lasting[-1:], *later[:1]]), None)
        elif waters.size and waters[0] < first < WEEK:
            until = first
        next_ = until if until is not None else next(iter(waters), None)
        skip.append(None if until is None else date + ONE_DAY * int(until))
        early = next_ is not None and over[row] < next_
        dry.append(date + ONE_DAY * int(over[row]) if early else None)
    return tuple(skip), tuple(dry)


def _first_over(
    stage: Stage, usual: Usual, ground: GroundLately, date: datetime.date
) -> np.ndarray:
    """First day on which a wetter quarter passes its target without water, (valve,)."""
    of = stage.plan.inputs.ground.valve
    found = np.full(len(stage.plan.inputs.valve), LONGEST_LOOK_DAYS)
    now = ground.depletion_mm[:, -1, WETTER]
    days = _day_of_year(Days.of_calendar(date, LONGEST_LOOK_DAYS))
    asked = usual.unwetted.asked_ahead(
        ground.unwetted_mm[:, None], usual.need_mm[:, days], days
    )
    for day, row in enumerate(days.tolist()):
        need = asked[:, 0, day, None]
        over = (now + need > usual.target_mm[:, row] + _EPS).any(axis=1)
        now = played_day(
            now,
            np.zeros(1),
            np.zeros(1),
            need,
            usual.total_mm[:, row, None],
            usual.allowed_mm[:, row, None],
        ).depletion_mm
        np.minimum.at(found, of, np.where(over, day, LONGEST_LOOK_DAYS))
    return found


def _keyed_runs(
    stage: Stage, schedule: Schedule, month: int, percent: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Cycles and their minutes at a percent, of the longest rule of each valve.

    More cycles where one would be longer than soil or controller takes; halves go up.
    """
    valve, longest = stage.plan.inputs.valve, stage.season.longest_cycle_min
    cycles, cycle_min = np.zeros(len(valve)), np.zeros(len(valve))
    day_min = schedule.minutes_per_day.ravel()
    runs = (schedule.months.ravel() >> month & 1).astype(bool) & (day_min > 0)
    for row in np.flatnonzero(runs)[np.argsort(day_min[runs])].tolist():
        of = int(schedule.zone.ravel()[row])
        wanted = day_min[row] * np.nan_to_num(percent[of], nan=100.0) / 100
        own = float(schedule.cycle_min.ravel()[row])
        most = max(float(longest[of]), own)
        least = float(schedule.cycles.ravel()[row])
        count = max(float(ceil_(np.array(wanted / most))), min(least, 1e9))
        step = float(valve.minute_step[of])
        cycles[of] = count
        cycle_min[of] = float(floor_(np.array(wanted / count / step + 0.5))) * step
    return cycles, cycle_min
