"""The ladder of a month: what was kept beside its neighbours, and why it was kept."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from scheduler.balance.day import dry_limit
from scheduler.balance.lanes import Month, Outcome
from scheduler.plan.by_days import Settings, season_of
from scheduler.plan.choice import (
    MOST_LEFT_DRY,
    OFF,
    Range,
    Sufficient,
    lanes_of,
    least_sufficient,
    trials,
)
from scheduler.plan.inputs import PlanInput, of_valves

REASONS = (
    "frost",
    "not-permitted",
    "rain-suffices",
    "stays-dry",
    "near-driest",
    "best-hand-over",
    "least-water",
    "within-starts",
    "as-last-month",
    "fewest-days",
    "fewest-cycles",
)
LESS, MORE = 0.85, 1.15
"""Minutes that are shown beside the ones that suffice, over those."""
_EPS = 1e-9


@dataclass(frozen=True, slots=True)
class Rung:
    """One setting of a month, and what it comes to in the years.

    `pattern` and `row` are those of the choice; `water_mm` is delivered in the month of
    a mean year, filling included; `dry` the share of the wetter quarters' days that end
    dry, `left_dry` the share of those quarters that are left dry. `suffices` tells
    whether both are within the month's limits.
    """

    pattern: int
    row: int
    weekdays: int
    parity: int
    every_days: int
    days_per_week: float
    cycles: int
    cycle_min: float
    water_mm: float
    dry: float
    left_dry: float
    suffices: bool
    kept: bool

    @property
    def minutes(self) -> float:
        """Minutes of a watering day."""
        return self.cycles * self.cycle_min


@dataclass(frozen=True, slots=True)
class Seldom:
    """A pattern whose own gap empties the ground, so that more minutes do not help.

    `rung` is its setting of most minutes. In `gap_days`, the longest from one watering
    to the next, plants draw `drawn_mm`, over the allowed depletion of `allowed_mm`.
    """

    rung: Rung
    gap_days: float
    drawn_mm: float
    allowed_mm: float


@dataclass(frozen=True, slots=True)
class Ladder:
    """Settings of one valve in one period, many days first and little water first.

    `reason` is one of REASONS. `limit` and `left_limit` are the dry share and hand-over
    that were kept to; an infinite one was not asked for. `least_dry` is the least dry
    share of any setting where the limit gave way to it, else NaN. `least_mm` is the
    least water that suffices. `handed_over` tells that a shorter run is within the
    limit, and only leaves too much dry to the month after, `lightest` that a lighter
    watering is not worth it. `need_mm_day` is the mean need a day, `widest_gap_days`
    the longest gap that was tried; `too_seldom` are patterns shown that no minutes
    help. `night_min` are the most minutes that a night holds where that cut what was
    tried of the pattern kept, else infinite.
    """

    rungs: tuple[Rung, ...]
    reason: str
    limit: float
    left_limit: float
    least_dry: float
    least_mm: float
    handed_over: bool
    lightest: bool
    need_mm_day: float
    widest_gap_days: float
    too_seldom: tuple[Seldom, ...]
    night_min: float = np.inf

    @property
    def kept(self) -> Rung | None:
        """The rung of the setting that was chosen; None in frost."""
        return next((rung for rung in self.rungs if rung.kept), None)


def ladder_of(
    inputs: PlanInput, settings: Settings, valve: int, period: int, *, whole: bool
) -> Ladder:
    """The ladder of a valve in a period; `whole` has every row of its patterns.

    `inputs` and `settings` are those of the site, of a plan by days.
    """
    if inputs.frost[valve, period]:
        return Ladder(
            (), "frost", np.inf, np.inf, np.nan, 0.0, False, False, 0.0, 0.0, ()
        )
    season = season_of(of_valves(inputs, np.array([valve])))
    parts = np.flatnonzero(inputs.ground.valve == valve)
    kept = int(settings.pattern[valve, period])
    month = season.month(
        period, settings.start_mm[parts, period], settings.since[[valve], period]
    )
    fills = settings.fill_days[valve, period] > 0
    # What runs tells by its filling whether anything ran before it.
    after_off = fills if kept != OFF else settings.pattern[valve, period - 1] == OFF
    within = season.range_of(period, month, np.array([after_off]))
    hands_over = not season.frost[(period + 1) % len(season.frost)]
    least = least_sufficient(month, within, inputs.valve.most_dry[[valve]], hands_over)
    row = int(settings.row[valve, period])
    places = [*_places(within, least, (kept, row), whole), (OFF, 0)]
    tried = _played(month, within, places)
    limit = float(least.limit[0])
    left = float(least.left_limit[0]) if hands_over else np.inf
    rungs = tuple(
        _rung(
            within,
            (limit, left),
            tried,
            turn,
            place,
            (kept, row if kept != OFF else 0),
        )
        for turn, place in enumerate(places)
    )
    before = (int(settings.weekdays[valve, period - 1]),
              int(settings.every_days[valve, period - 1]))  # fmt: skip
    need = season.need_mm_day(period)
    neediest = int(np.argmax(need / month.allowed_mm))
    return Ladder(
        rungs,
        _reason(within, least, kept, before, float(inputs.valve.most_dry[valve])),
        limit,
        left,
        float(least.least_dry[0]),
        float(least.water_mm.min()),
        _handed_over(rungs, limit, left),
        kept != OFF and row == within.first[0, kept],
        float(need.max()),
        float(within.patterns.widest_gap[0]),
        tuple(
            _too_seldom(
                rungs,
                within,
                (float(need[neediest]), float(month.allowed_mm[neediest])),
                bool(np.isfinite(least.least_dry[0])),
            )
        ),
        float(within.night_min[0, kept]) if kept != OFF else np.inf,
    )


def _too_seldom(
    rungs: tuple[Rung, ...],
    within: Range,
    need_and_store: tuple[float, float],
    gave_way: bool,
) -> Iterator[Seldom]:
    """Patterns shown of which no setting suffices, for their gap empties the ground.

    Where the limit gave way to what can be reached none does. `need_and_store` are the
    need a day and the allowed depletion of the part that is emptied first.
    """
    need_mm_day, allowed_mm = need_and_store
    for pattern in dict.fromkeys(r.pattern for r in rungs if r.pattern != OFF):
        most = [r for r in rungs if r.pattern == pattern][-1]
        gap = float(within.patterns.longest_gap[0, pattern])
        drawn = gap * need_mm_day
        at_most = most.row == within.last[0, pattern]
        empties = drawn > dry_limit(allowed_mm, need_mm_day)
        if at_most and empties and (gave_way or not most.suffices):
            yield Seldom(most, gap, drawn, allowed_mm)


def _places(
    within: Range, least: Sufficient, kept: tuple[int, int], whole: bool
) -> Iterator[tuple[int, int]]:
    """Patterns and rows of minutes to show: those kept, and their neighbours."""
    usable = np.flatnonzero(within.patterns.usable[0]).tolist()
    shown = {pattern for pattern in usable if pattern == kept[0]}
    shown |= set([p for p in usable if p < kept[0]][-1:])
    shown |= set([p for p in usable if p > kept[0]][:1])
    for pattern in sorted(shown):
        first, last = int(within.first[0, pattern]), int(within.last[0, pattern])
        if whole:
            rows = set(range(first, last + 1))
        else:
            row = kept[1] if pattern == kept[0] else int(least.row[0, pattern])
            minutes = within.minutes.minutes[0, row]
            around = np.array([[LESS * minutes, MORE * minutes]])
            rows = {row - 1, row, int(within.minutes.last_to(around)[0, 0]),
                    int(within.minutes.first_from(around)[0, 1])}  # fmt: skip
            # Where the limit gave way: what the most minutes would bring.
            rows |= {last} if np.isfinite(least.least_dry[0]) else set()
        yield from ((pattern, r) for r in sorted(rows) if first <= r <= last)


def _played(month: Month, within: Range, places: list[tuple[int, int]]) -> Outcome:
    """What the settings of one valve come to, in the order of their places."""
    pattern, row = np.array(places).T
    return lanes_of(month, within).outcome(
        trials(within, np.zeros_like(pattern), pattern, row)
    )


def _rung(
    within: Range,
    limits: tuple[float, float],
    tried: Outcome,
    turn: int,
    place: tuple[int, int],
    kept: tuple[int, int],
) -> Rung:
    pattern, row = place
    patterns, minutes = within.patterns, within.minutes
    dry, left = float(tried.dry[turn]), float(tried.left_dry[turn])
    suffices = dry <= limits[0] + _EPS and left <= limits[1] + _EPS
    runs = pattern != OFF
    return Rung(
        pattern,
        row,
        int(patterns.weekdays[0, pattern]) if runs else 0,
        int(patterns.parity[0, pattern]) if runs else 0,
        int(patterns.every_days[0, pattern]) if runs else 0,
        float(patterns.days_per_week[0, pattern]) if runs else 0.0,
        int(minutes.cycles[0, row]) if runs else 0,
        float(minutes.cycle_min[0, row]) if runs else 0.0,
        float(tried.water_mm[turn]),
        dry,
        left,
        suffices,
        place == kept,
    )


def _reason(
    within: Range,
    least: Sufficient,
    kept: int,
    before: tuple[int, int],
    most_dry: float,
) -> str:
    """Why the pattern kept stands before the others."""
    patterns = within.patterns
    if not patterns.usable[0].any() and least.dry[0, OFF] > most_dry + _EPS:
        return "not-permitted"
    if np.isfinite(least.least_dry[0]):
        over = least.least_dry[0] > most_dry + _EPS
        return "stays-dry" if over else "near-driest"
    if kept == OFF:
        return "rain-suffices"
    if MOST_LEFT_DRY + _EPS < least.left_limit[0] < np.inf:
        return "best-hand-over"
    best = int(np.argmin(least.water_mm[0]))
    if kept == best:
        return "least-water"
    cycles = within.minutes.cycles[0, least.row[0, [best, kept]]]
    if cycles[1] <= within.most_cycles[0] < cycles[0]:
        return "within-starts"
    if (patterns.weekdays[0, kept], patterns.every_days[0, kept]) == before:
        return "as-last-month"
    if patterns.days_per_week[0, kept] < patterns.days_per_week[0, best]:
        return "fewest-days"
    return "fewest-cycles"


def _handed_over(rungs: tuple[Rung, ...], limit: float, left_limit: float) -> bool:
    """Whether the run just shorter than the kept one fails by its hand-over alone."""
    kept = next((rung for rung in rungs if rung.kept), None)
    if kept is None or kept.pattern == OFF:
        return False
    shorter = [r for r in rungs if r.pattern == kept.pattern and r.row == kept.row - 1]
    return any(
        r.dry <= limit + _EPS and r.left_dry > left_limit + _EPS for r in shorter
    )
