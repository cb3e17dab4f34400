"""Programs: zones that one waters, what they take on the clock, what is keyed in."""

from __future__ import annotations

import datetime
import itertools
import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from scheduler.calendar import (
    ALL_WEEK,
    DAY_MIN,
    DAYS_IN_YEAR,
    EVEN,
    ODD,
    ONE_DAY,
    S_PER_MIN,
    of_parity,
)
from scheduler.plan.card.midnight import choices_of, use_of
from scheduler.plan.card.needs import CardNeeds, Hand
from scheduler.plan.card.percents import at_full, run_steps
from scheduler.plan.card.prices import Prices
from scheduler.plan.card.starts import (
    PAUSE_MIN,
    Beside,
    Blocks,
    Placed,
    days_that_meet,
    midday_min,
)
from scheduler.plan.times.patterns import AlikePatterns, Pattern, patterns
from scheduler.rounding import ceil_

NOON_MIN = 720
FULL_PERCENT = 100.0


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """Zones that one program waters: rows of zones, days, starts and percents.

    `percent` is along the stretch's months, `base_steps` along `zones`. More starts
    than a program has stand in two programs or more, with the same zones.
    """

    days: AlikePatterns
    starts: int
    percent: np.ndarray
    zones: tuple[int, ...]
    base_steps: np.ndarray

    def runs(self) -> np.ndarray:
        """Runs of a start in whole steps, (zone, month of the stretch)."""
        return run_steps(self.base_steps[:, None], self.percent)

    def largest_runs(self) -> np.ndarray:
        """Runs at the stretch's largest percent, in whole steps."""
        return run_steps(self.base_steps, self.percent.max())


@dataclass(frozen=True, slots=True, eq=False)
class Setting:
    """What the controller holds for a stretch of months: groups and their places.

    `cost` is what the zones come to by the prices of the search, in liters.
    """

    months: tuple[int, ...]
    groups: tuple[Group, ...]
    placed: tuple[Placed, ...]
    cost: float


def over_months(setting: Setting, months: tuple[int, ...]) -> Setting:
    """The same setting held through further months, in which nothing runs."""
    at = [months.index(month) for month in setting.months]

    def held(percent: np.ndarray) -> np.ndarray:
        longer = np.zeros(len(months))
        longer[at] = percent
        return longer

    groups = tuple(replace(g, percent=held(g.percent)) for g in setting.groups)
    return replace(setting, months=months, groups=groups)


def as_keyed(prices: Prices, setting: Setting) -> Setting:
    """The same runs as they are best keyed in.

    With percents of 0 where all runs that they scale round to none: on a controller
    that keeps seconds such a percent would water; 0 does nowhere. And with runs for
    which 100 is the largest percent, where those of all months stay the same, or come
    to no more by their prices: an owner who sets 100 is not to make them longer.
    """
    groups = setting.groups
    runs = np.array([group.runs().any(axis=0) for group in groups])
    shared = prices.needs.controller.percent_by == "controller" and bool(groups)
    if shared:
        runs[:] = runs.any(axis=0)
    off = [
        replace(group, percent=np.where(of_group, group.percent, 0.0))
        for group, of_group in zip(groups, runs, strict=True)
    ]
    parts = [off] if shared else [[group] for group in off]
    keyed = [one for part in parts for one in _at_full(prices, part, setting.months)]
    return replace(setting, groups=tuple(keyed))


def _at_full(
    prices: Prices, groups: Sequence[Group], months: Sequence[int]
) -> list[Group]:
    """Programs of one percent with runs of their largest, which then is 100."""
    rows = [prices.options.row_of(group.days, group.starts) for group in groups]
    sizes = [len(group.zones) for group in groups]
    percent = at_full(
        prices,
        np.concatenate([group.zones for group in groups]).astype(int),
        np.repeat(rows, sizes),
        np.array(months),
        np.concatenate([group.base_steps for group in groups]),
        groups[0].percent,
    )
    if percent is None:
        return list(groups)
    full = [replace(g, base_steps=g.largest_runs(), percent=percent) for g in groups]
    same = (
        blocks_of(prices.needs, one, months) == blocks_of(prices.needs, other, months)
        for one, other in zip(groups, full, strict=True)
    )
    return full if all(same) else list(groups)


def blocks_of(needs: CardNeeds, group: Group, months: Sequence[int]) -> Blocks:
    """A group on the clock, at the largest percent of its stretch.

    A controller runs the zones of a program in the order of their stations.
    """
    order = np.argsort(needs.station[list(group.zones)], kind="stable")
    zones = [group.zones[row] for row in order]
    runs = group.largest_runs()[order]
    own = [m for m, p in zip(months, group.percent.tolist(), strict=True) if p > 0]
    cycles = runs
    if needs.controller.soak_built_in:
        cycles = keyed_cycles(needs, zones, group.runs()[order])
    soaks = needs.soak_min(zones, cycles, runs * group.starts)
    minutes = _block_min(needs, runs, cycles, soaks)
    together = float((cycles * needs.minute_step + soaks).max())
    if needs.controller.soak_built_in:
        together = minutes + float(soaks.max())
    return Blocks(
        group.starts,
        math.ceil(minutes - 1e-9),
        math.ceil(max(minutes + PAUSE_MIN, together) - 1e-9),
        choices_of(needs, group.days, use_of(needs, zones, own)),
        _beside(needs, zones),
    )


def keyed_cycles(
    needs: CardNeeds, zones: Sequence[int], runs: np.ndarray
) -> np.ndarray:
    """Cycle of each zone in steps, of its runs in steps (zone, month), as it is keyed.

    Equal cycles at the largest run, as few as the ground takes. A longer one that it
    takes too where a cycle left over, of any month, would be under the least run.
    """
    most = runs.max(axis=1)
    longest = needs.cycle_steps[list(zones)]
    cycles = ceil_(most / np.maximum(ceil_(most / longest), 1.0))
    for row in np.flatnonzero(most > longest).tolist():
        tried = np.arange(cycles[row], longest[row] + 1)[:, None]
        own = runs[row][runs[row] > 0]
        left = own - (ceil_(own / tried) - 1) * tried
        useful = (left >= np.minimum(needs.least_steps[zones[row]], own)).all(axis=1)
        cycles[row] = tried[useful.argmax(), 0]
    return cycles


def _beside(needs: CardNeeds, zones: Sequence[int]) -> Beside | None:
    """What a program takes of controller and supply, where several zones may run."""
    at_once = int(needs.controller.zones_at_once)
    if at_once == 1:
        return None
    flow = float(needs.flow_l_min[list(zones)].max())
    return Beside(frozenset(zones), flow, needs.most_flow_l_min, at_once)


def with_other_dates(needs: CardNeeds, group: Group, months: Sequence[int]) -> Blocks:
    """A group on the clock that may take even dates for odd ones, or odd for even.

    What is free in its dates then keeps clear of what is not. So many days a week have
    the shortest longest gap there is; a day longer or shorter than on its own dates.
    """
    days, parity = group.days, group.days.first.parity
    if not parity:
        return blocks_of(needs, group, months)
    others = [p for p in patterns(ODD + EVEN - parity, intervals=False)
              if p.size == days.first.size]  # fmt: skip
    gap = min(pattern.longest_gap for pattern in others)
    alike = (*days.alike, *(p for p in others if p.longest_gap == gap))
    return blocks_of(needs, replace(group, days=AlikePatterns(alike)), months)


def _block_min(
    needs: CardNeeds, runs: np.ndarray, cycles: np.ndarray, soaks: np.ndarray
) -> float:
    """Minutes from a start until the next program may start."""
    gap_min = needs.controller.gap_s / S_PER_MIN
    waters = runs > 0
    if not needs.controller.soak_built_in:
        return float((runs * needs.minute_step + gap_min)[waters].sum())
    return rounds_min(
        (runs * needs.minute_step)[waters].tolist(),
        (cycles * needs.minute_step)[waters].tolist(),
        soaks[waters].tolist(),
        gap_min,
    )


def rounds_min(
    runs_min: Sequence[float],
    cycles_min: Sequence[float],
    soaks_min: Sequence[float],
    gap_min: float,
) -> float:
    """Minutes that a controller takes which splits runs into cycle and soak itself.

    It goes through its zones in rounds, each round one cycle of every zone that has
    minutes left, and waits where a zone's soak is not over.
    """
    left = list(runs_min)
    ready = [0.0] * len(left)
    now = 0.0
    while any(minutes > 1e-9 for minutes in left):
        for row, minutes in enumerate(left):
            if minutes > 1e-9:
                run = min(cycles_min[row], minutes)
                now = max(now, ready[row]) + run
                left[row] -= run
                ready[row] = now + soaks_min[row]
                now += gap_min
    return now


@dataclass(frozen=True, slots=True, eq=False)
class Program:
    """One program as it is keyed in.

    `first_date` is None unless it waters at an interval, and before the next visit; in
    a month of 0 % nothing runs on it. `starts_min` are minutes after midnight; `zones`
    are rows of the site's zones, in the order they run, with the run of one start at
    100 % beside them; `percent` is by month, 1 to 12. `cycle_min` and `soak_min` are
    keyed too where the controller splits runs by itself; 0 for a zone whose run needs
    no split. `minutes` is what one start takes at the largest percent.
    """

    name: str
    pattern: Pattern
    first_date: datetime.date | None
    starts_min: tuple[int, ...]
    zones: tuple[int, ...]
    base_min: tuple[float, ...]
    cycle_min: tuple[float, ...]
    soak_min: tuple[float, ...]
    minutes: int
    percent: Mapping[int, float]

    @property
    def highest_with_room(self) -> float | None:
        """Percent over which its runs have no room; None where it comes to 100."""
        highest = max(self.percent.values())
        return highest if 0 < highest < FULL_PERCENT else None

    def interval_dates(self) -> list[datetime.date]:
        """Dates on which an interval falls until the next visit, at 0 % too."""
        if self.first_date is None:
            return []
        dates = [*days_on(self.percent, self.first_date)]
        return dates[:: self.pattern.every_days]

    def resumes(self) -> list[datetime.date]:
        """Dates on which an interval goes on after months of 0 %."""
        dates = self.interval_dates()
        runs = [day for day in dates if self.percent[day.month]]
        after = {day for before, day in itertools.pairwise(runs)
                 if (day - before) // ONE_DAY > self.pattern.every_days}  # fmt: skip
        return [day for day in runs if day in after or dates[0] != runs[0] == day]

    def waters(self, date: datetime.date) -> bool:
        """Whether it starts on a date, one of the months that it is keyed in for."""
        on = self.pattern.weekdays >> date.weekday() & 1
        if not on or not self.percent.get(date.month):
            return False
        if self.pattern.every_days:
            after = -1 if self.first_date is None else (date - self.first_date).days
            return after >= 0 and after % self.pattern.every_days == 0
        return bool(of_parity(date.day, self.pattern.parity))


@dataclass(frozen=True, slots=True, eq=False)
class Visit:
    """What to key in for a stretch of months (1 to 12), until the next visit.

    `date` is by when: the card's own day where the stretch has begun, else the first of
    its first month to come, or of the first in which something runs where nothing runs
    before it, and not before lines that can freeze are filled.
    """

    months: tuple[int, ...]
    programs: tuple[Program, ...]
    date: datetime.date

    def runs(self, month: int) -> bool:
        """Whether anything runs in a month, 1 to 12."""
        return any(program.percent[month] for program in self.programs)

    def not_this_month(self) -> list[Program]:
        """Programs with a percent in the month of `date` that run in it no more.

        Who keys in does so by day: starts before noon have gone by.
        """
        month = self.date.month
        days = [day for day in days_on(self.months, self.date) if day.month == month]
        return [
            program
            for program in self.programs
            if program.percent[month]
            and not any(map(program.waters, days[max(program.starts_min) < NOON_MIN :]))
        ]

    def at_midday(self) -> list[Program]:
        """Programs that run at midday, for which no calmer hours were found."""
        return [p for p in self.programs if midday_min(p.starts_min, p.minutes)[1]]

    def side_by_side(self) -> list[tuple[Program, Program]]:
        """Programs of which one may start while the other runs."""
        pairs = itertools.combinations(self.programs, 2)
        return [
            (one, other)
            for one, other in pairs
            if any(
                begin < then + days * DAY_MIN + other.minutes
                and then + days * DAY_MIN < begin + one.minutes
                for days in days_that_meet(one.pattern, other.pattern)
                for begin in one.starts_min
                for then in other.starts_min
            )
        ]

    def meetings(self) -> list[tuple[Program, Program, datetime.date]]:
        """Programs at an interval, others that share dates with them, and the first.

        Others that run every day are left out: that they meet goes without saying.
        """
        dates = [*days_on(self.months, self.date)]
        found = []
        for one, other in itertools.permutations(self.programs, 2):
            own, pattern = one.first_date, other.pattern
            daily = pattern.weekdays == ALL_WEEK and not pattern.parity
            told = other.name < one.name if other.first_date else not daily
            if own is None or not told or one.zones == other.zones:
                continue
            first = next((d for d in dates if one.waters(d) and other.waters(d)), None)
            if first is not None:
                found.append((one, other, first))
        return found


def first_of(month: int, date: datetime.date) -> datetime.date:
    """First of a month, 1 to 12, on a date or after it."""
    year = date.year + (month < date.month or (month == date.month and date.day > 1))
    return datetime.date(year, month, 1)


def first_dates(
    program: Program, months: Sequence[int], since: datetime.date
) -> Iterator[datetime.date]:
    """Watering dates of months from a day on, itself only for starts after noon."""
    by_day = since if min(program.starts_min) >= NOON_MIN else since + ONE_DAY
    return (day for day in days_on(months, by_day) if program.waters(day))


def dates_by_hand(
    hands: Sequence[Hand], months: Collection[int], since: datetime.date
) -> list[datetime.date]:
    """Dates of a zone's starts by hand from a day on, before the months end."""
    found: list[datetime.date] = []
    for day in days_on(months, since):
        hand = next((one for one in hands if one.month == day.month), None)
        if hand is None or not hand.weekdays >> day.weekday() & 1:
            continue
        if not found or (day - found[-1]) // ONE_DAY >= hand.every_days:
            found.append(day)
    return found


def days_on(months: Collection[int], date: datetime.date) -> Iterator[datetime.date]:
    """Days from a date on, as long as they lie in some months, at most a year."""
    days = (date + ONE_DAY * day for day in range(DAYS_IN_YEAR))
    return itertools.takewhile(lambda day: day.month in months, days)


def dated(
    program: Program,
    months: Collection[int],
    date: datetime.date,
    first: datetime.date | None = None,
) -> Program:
    """A program as it is keyed in on a date, for months that end with the next visit.

    Its interval begins on `first`, else on a date of the count that waters on the first
    permitted date to come in a month that it runs; on none where the next visit comes
    before. Controllers ask for less days to the first watering than the interval has:
    months of 0 % before it are counted through. Who keys in does so by day: a start
    before noon of that day has gone by.
    """
    pattern, every = program.pattern, program.pattern.every_days
    if every and first is None:
        begins = date if min(program.starts_min) >= NOON_MIN else date + ONE_DAY
        first = next(
            (
                day
                for day in days_on(months, date)
                if day >= begins
                and program.percent.get(day.month)
                and pattern.weekdays >> day.weekday() & 1
            ),
            None,
        )
        program = replace(program, first_date=first)
        return counted_from(program, date)
    return replace(program, first_date=first)


def counted_from(program: Program, date: datetime.date) -> Program:
    """The same interval from the first date of its count on that can be keyed in."""
    first, every = program.first_date, program.pattern.every_days * ONE_DAY
    if first is None:
        return program
    begins = date if min(program.starts_min) >= NOON_MIN else date + ONE_DAY
    return replace(program, first_date=first - (first - begins) // every * every)
