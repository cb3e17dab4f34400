"""The controller card: what to key in, for any number of visits a year."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from scheduler.calendar import DAY_MIN, S_PER_MIN, first_on
from scheduler.plan.card.least_water import least_water_l
from scheduler.plan.card.needs import CardNeeds, card_needs
from scheduler.plan.card.percents import run_steps
from scheduler.plan.card.programs import TRIFLE_SHARE, find_settings
from scheduler.plan.card.settings import (
    Group,
    Obstacle,
    Setting,
    off_where_nothing_runs,
)
from scheduler.plan.card.starts import Placed
from scheduler.plan.card.stretches import cheapest_splits, without_idle_visits
from scheduler.plan.card.trims import YearTrim
from scheduler.plan.site import SitePlan
from scheduler.plan.times.patterns import Pattern
from scheduler.rounding import ceil_
from scheduler.schedule import CardRule, Schedule
from scheduler.units import MIN_PER_H

EXACT_WITHIN_PERCENT = 1e-6
"""A card at the bound, but for rounding, is proven to be the least possible."""


@dataclass(frozen=True, slots=True, eq=False)
class Program:
    """One program as it is keyed in.

    `first_date` is None unless it waters at an interval; `starts_min` are minutes
    after midnight; `zones` are rows of the site's zones, in the order they run, with
    the run of one start at 100 % beside them; `percent` is by month, 1 to 12.
    `cycle_min` and `soak_min` are keyed too where the controller splits runs by
    itself; 0 for a zone whose run needs no split. `minutes` is what one start takes
    at the largest percent.
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


@dataclass(frozen=True, slots=True, eq=False)
class Visit:
    """What to key in for a stretch of months (1 to 12), until the next visit."""

    months: tuple[int, ...]
    programs: tuple[Program, ...]


@dataclass(frozen=True, slots=True)
class KeptSeconds:
    """What is lost where scaled runs are not rounded: worst month and worst year.

    Both shortfalls are those of the worst zone; `longer_s` is how much longer than on
    the card one start can take.
    """

    month_shortfall_percent: float
    year_shortfall_percent: float
    longer_s: float


@dataclass(frozen=True, slots=True, eq=False)
class Card:
    """Settings of a year: depths are (zone, month), extra water of the whole site.

    `visits` is what to key in, `schedule` what runs when that is done.
    `bound_extra_percent` is what no card with as many visits can go below: each zone
    alone in programs of its own, the night unlimited. All but `if_seconds_kept` holds
    for a controller that rounds runs at a percent to its own steps.
    """

    visits: tuple[Visit, ...]
    schedule: Schedule
    need_mm: np.ndarray
    applied_mm: np.ndarray
    extra_water_percent: float
    worst_shortfall_percent: float
    bound_extra_percent: float
    if_seconds_kept: KeptSeconds

    @property
    def exact(self) -> bool:
        """Whether the card is proven to waste least; else the bound shows the gap."""
        over = self.extra_water_percent - self.bound_extra_percent
        return over <= EXACT_WITHIN_PERCENT


@dataclass(frozen=True, slots=True, eq=False)
class Cards:
    """Cards by number of visits, 1 to 12: None where the controller cannot hold it.

    `obstacles` are the shortest stretches of months that cannot be held.
    """

    needs: CardNeeds
    cards: tuple[Card | None, ...]
    obstacles: Mapping[tuple[int, ...], Obstacle]


def plan_cards(plan: SitePlan, start: datetime.date) -> Cards:
    """Cards of a site for 1 to 12 visits; intervals begin on dates to come at `start`.

    A card for so many visits may leave some of them out where fewer waste no more, or
    a trifle.
    """
    needs = card_needs(plan, start.year)
    found = find_settings(needs)
    settings = {m: s for m, s in found.items() if isinstance(s, Setting)}
    obstacles = {m: s for m, s in found.items() if isinstance(s, Obstacle)}
    cost = {months: setting.applied_l for months, setting in settings.items()}
    splits = cheapest_splits(cost)
    bounds = least_water_l(needs)
    cards: list[Card | None] = []
    for split, bound in zip(splits, bounds, strict=True):
        card = None
        if split is not None:
            needed = without_idle_visits(split, cost)
            trimmed = YearTrim(needs, [settings[months] for months in needed]).trimmed()
            by = needs.controller.percent_by
            keyed = [off_where_nothing_runs(setting, by) for setting in trimmed]
            card = _card(needs, keyed, bound, start)
        cards.append(_better(cards[-1] if cards else None, card, bound, needs))
    return Cards(needs, tuple(cards), _shortest(obstacles))


def _shortest(
    obstacles: Mapping[tuple[int, ...], Obstacle],
) -> dict[tuple[int, ...], Obstacle]:
    """Obstacles of stretches that hold no shorter stretch with an obstacle."""
    kept: dict[tuple[int, ...], Obstacle] = {}
    for months in sorted(obstacles, key=len):
        if not any(set(short) < set(months) for short in kept):
            kept[months] = obstacles[months]
    return kept


def _better(
    fewer: Card | None, card: Card | None, bound_l: float, needs: CardNeeds
) -> Card | None:
    """The card with fewer visits but where more save more than a trifle of water.

    It is told by the new bound.
    """
    trifle = 100 * TRIFLE_SHARE
    if fewer is None or (
        card is not None
        and card.extra_water_percent < fewer.extra_water_percent - trifle
    ):
        return card
    return replace(fewer, bound_extra_percent=_extra_percent(bound_l, needs))


def _extra_percent(water_l: float, needs: CardNeeds) -> float:
    need = float((needs.need_steps.sum(axis=1) * needs.step_l).sum())
    return max(100 * (water_l / need - 1), 0.0) if need > 0 else 0.0


def _card(
    needs: CardNeeds,
    settings: Sequence[Setting],
    bound_l: float,
    start: datetime.date,
) -> Card:
    visits = tuple(_visit(needs, setting, start) for setting in settings)
    schedule = _schedule(needs, visits)
    applied = schedule.minutes_in_months(len(needs.zones)) / needs.minute_step
    a_step_mm = (needs.rate_mm_h * needs.minute_step / MIN_PER_H)[:, None]
    water = float((applied.sum(axis=1) * needs.step_l).sum())
    return Card(
        visits,
        schedule,
        needs.need_steps * a_step_mm,
        applied * a_step_mm,
        _extra_percent(water, needs),
        _worst_percent(needs.need_steps, applied),
        _extra_percent(bound_l, needs),
        _kept_seconds(needs, visits),
    )


def _worst_percent(need: np.ndarray, applied: np.ndarray) -> float:
    """Largest shortfall of what is applied; none where nothing is needed."""
    with np.errstate(divide="ignore", invalid="ignore"):
        short = np.where(need > 0, 1 - applied / need, 0.0)
    return 100 * max(float(short.max(initial=0.0)), 0.0)


def _kept_seconds(needs: CardNeeds, visits: Sequence[Visit]) -> KeptSeconds:
    """A year of visits with every run as long as its percent makes it."""
    minutes = _schedule(needs, visits, rounded=False).minutes_in_months(
        len(needs.zones)
    )
    applied = minutes / needs.minute_step
    longer_min = 0.0
    for program in itertools.chain.from_iterable(v.programs for v in visits):
        for percent in set(program.percent.values()):
            exact, rounded = (
                _runs(needs, program, percent, how) for how in (False, True)
            )
            longer_min = max(longer_min, float(exact.sum() - rounded.sum()))
    return KeptSeconds(
        _worst_percent(needs.need_steps, applied),
        _worst_percent(needs.need_steps.sum(axis=1), applied.sum(axis=1)),
        longer_min * S_PER_MIN,
    )


def _runs(
    needs: CardNeeds, program: Program, percent: float, rounded: bool
) -> np.ndarray:
    """Minutes that one start runs each zone of a program at a percent."""
    base = np.array(program.base_min)
    if not rounded:
        return base * percent / 100
    return run_steps(base / needs.minute_step, np.array(percent)) * needs.minute_step


def _schedule(
    needs: CardNeeds, visits: Sequence[Visit], rounded: bool = True
) -> Schedule:
    """What runs when, once the visits are keyed in."""
    rules: list[CardRule] = []
    for program in itertools.chain.from_iterable(v.programs for v in visits):
        for percent in sorted({*program.percent.values()} - {0.0}):
            runs = _runs(needs, program, percent, rounded)
            rules += _rules(needs, program, percent, runs.tolist())
    return Schedule.from_card(rules)


def _rules(
    needs: CardNeeds, program: Program, percent: float, runs_min: Sequence[float]
) -> Iterator[CardRule]:
    """A rule for each zone of a program that runs in the months of a percent."""
    pattern, before_min = program.pattern, 0.0
    for zone, run, cycle, soak in zip(
        program.zones, runs_min, program.cycle_min, program.soak_min, strict=True
    ):
        if run <= 0:
            continue
        cycles = int(ceil_(np.array(run / cycle))) if cycle else 1
        yield CardRule(
            zone,
            tuple(m for m, own in program.percent.items() if own == percent),
            pattern.weekdays,
            pattern.parity,
            pattern.every_days,
            program.first_date,
            pattern.days_per_week,
            tuple(start + before_min for start in program.starts_min),
            cycles,
            run / cycles,
            soak if cycles > 1 else 0.0,
        )
        # In the first round of a controller that splits runs, each has one cycle.
        before_min += min(run, cycle or run) + needs.controller.gap_s / S_PER_MIN


def _visit(needs: CardNeeds, setting: Setting, start: datetime.date) -> Visit:
    parts = []
    for group, placed in zip(setting.groups, setting.placed, strict=True):
        parts += _programs(needs, setting, group, placed, start)
    parts.sort(key=lambda part: (needs.station[part.zones[0]], part.starts_min))
    named = tuple(replace(part, name=_letter(row)) for row, part in enumerate(parts))
    return Visit(tuple(month + 1 for month in setting.months), named)


def _programs(
    needs: CardNeeds,
    setting: Setting,
    group: Group,
    placed: Placed,
    start: datetime.date,
) -> list[Program]:
    """A group as one program, or several alike where it has more starts than one."""
    most = int(needs.controller.starts)
    order = np.argsort(needs.station[list(group.zones)], kind="stable")
    zones = np.array(group.zones)[order]
    runs = group.largest_runs()[order]
    cycles = np.minimum(runs, needs.cycle_steps[zones])
    soaks = needs.soak_min(zones, cycles, runs * group.starts)
    splits = (cycles < runs) & bool(needs.controller.soak_built_in)
    months = [month + 1 for month in setting.months]
    starts = sorted(start % DAY_MIN for start in placed.starts_min)
    idle = int(np.argmax(group.percent > 0))
    whole = Program(
        "",
        placed.pattern,
        _first_date(placed.pattern, setting.months[idle:], start),
        tuple(starts),
        tuple(zones.tolist()),
        tuple((group.base_steps[order] * needs.minute_step).tolist()),
        tuple((cycles * splits * needs.minute_step).tolist()),
        tuple((soaks * splits).tolist()),
        placed.minutes,
        dict(zip(months, group.percent.tolist(), strict=True)),
    )
    return [
        replace(whole, starts_min=tuple(starts[first : first + most]))
        for first in range(0, len(starts), most)
    ]


def _letter(row: int) -> str:
    return chr(ord("A") + row) if row < 26 else f"A{row - 25}"


def _first_date(
    pattern: Pattern, months: Sequence[int], start: datetime.date
) -> datetime.date | None:
    """First date of an interval in months (0 to 11) that it runs, of those to come.

    A program that is under way, since earlier in the year of `start`, keeps its date.
    """
    if not pattern.every_days:
        return None
    first, now = months[0], start.month - 1
    over = first < now and now not in months
    return first_on(pattern.weekdays, datetime.date(start.year + over, first + 1, 1))
