"""Steps of each new planting: dates, starts and minutes, down to the table's own."""

from __future__ import annotations

import datetime
import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from scheduler.calendar import ALL_WEEK, ONE_DAY, WEEK
from scheduler.cautions import Caution
from scheduler.demand.plantings import (
    LeafletStep,
    Planted,
    established,
    steps_from_planting,
)
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.site import Site, Window
from scheduler.plan.plantings.hours import (
    WANTED_MIN,
    Span,
    place_starts,
    spans_of,
    window_for,
)
from scheduler.plan.times.cycles import soak_minutes, split_minutes
from scheduler.plan.times.days import DayChoice, DayRule, choose_days
from scheduler.plan.times.windows import clock_minutes, is_permitted
from scheduler.rounding import TOLERANCE, ceil_
from scheduler.soil.storage import STORE_LET_PASS
from scheduler.units import MIN_PER_H

if TYPE_CHECKING:
    from scheduler.plan.inputs import PlanInput
    from scheduler.plan.table import Plan
    from scheduler.plan.zones import ZoneGround

WET_SURFACE = 1.0
"""Coefficient of ground that is kept wet: FAO-56 table 12, note 1, has 1.0 to 1.2."""
COVERS = ("seed", "sod", "plugs")
"""Stages that are watered over all of their ground, not at the plants alone."""


@dataclass(frozen=True, slots=True, eq=False)
class Step:
    """A step of one zone, from `first` to `last`; it waters on `dates`.

    Every start runs the zone for `minutes`; several starts may be the cycles of one
    watering. `every_days` is what is wanted, `days` what is keyed in for it, None where
    no window permits any. Where these are too few, each watering is as deep as roots
    hold, and `missing_mm_week` is still missing. `depth_mm` is laid down on a watering
    day; the roots of the step are `root_depth_mm` deep, hold `holds_mm`, and take
    `need_mm` from one watering to the next. `near` counts waterings that come when they
    are wanted, of `wanted`; `l_per_plant` is water of a plant a watering, NaN where
    none are counted. Where water is salty, all but the gallons of trees have the share
    on top that the table adds.
    `run_min` is what a start takes with all zones of its program; in `frost` nothing
    runs.
    """

    first: datetime.date
    last: datetime.date
    dates: tuple[datetime.date, ...]
    every_days: int
    days: DayChoice | None
    missing_mm_week: float
    window: Window | None
    starts_min: tuple[int, ...]
    minutes: float
    depth_mm: float
    need_mm: float
    root_depth_mm: float
    holds_mm: float
    wanted: int
    near: int
    l_per_plant: float
    run_min: float
    frost: bool
    leaflet: LeafletStep

    @property
    def minutes_per_day(self) -> float:
        """Minutes of a watering day."""
        return len(self.starts_min) * self.minutes

    @property
    def longest_gap_days(self) -> int | None:
        """Longest time between two of its waterings, or from its first day on to one.

        None where it has no watering at all.
        """
        if not self.dates:
            return None
        ends = [self.first - ONE_DAY, *self.dates]
        return max((b - a).days for a, b in itertools.pairwise(ends))


@dataclass(frozen=True, slots=True, eq=False)
class Planting:
    """A zone planted lately: steps to come, and when the table's setting takes over.

    Zones of one `program` are planted alike and run one after another at each start.
    `established` is when plants stand on their own roots, None: with `grown_in`;
    `final` is the last step that waters, kept when it is over.
    """

    zone: int
    planted: Planted
    steps: tuple[Step, ...]
    grown_in: datetime.date
    established: datetime.date | None
    program: int
    final: Step | None

    def step_on(self, date: datetime.date) -> Step | None:
        """The step that a date lies in; None where the table's setting holds."""
        return next((s for s in self.steps if s.first <= date <= s.last), None)

    @property
    def until(self) -> datetime.date:
        """Date from which nothing of the planting is to be looked after."""
        return max(self.grown_in, self.established or self.grown_in)


@dataclass(frozen=True, slots=True, eq=False)
class Given:
    """What the steps are worked out from: the site, its table and what that is of."""

    site: Site
    stands_on: ZoneGround
    inputs: PlanInput
    plan: Plan
    soak_a_minute: np.ndarray
    frost: bool


@dataclass(frozen=True, slots=True, eq=False)
class _Wanted:
    """A step before it is laid on the clock: minutes of a start, not yet split.

    `plain_min` are those of a watering on every day that is wanted; `week_mm` is what
    plants take of it in a week, `gross` what is laid down for a unit of that.
    """

    first: datetime.date
    last: datetime.date
    window: Window | None
    days: DayChoice | None
    every_days: int
    starts: int
    start_min: float
    plain_min: float
    need_mm: float
    week_mm: float
    root_depth_mm: float
    holds_mm: float
    gross: float
    leaflet: LeafletStep


def plantings(given: Given, today: datetime.date | None) -> tuple[Planting, ...]:
    """Zones that have not grown in by a date, in file order; all without a date."""
    groups: dict[object, list[tuple[int, Planted, list[_Wanted]]]] = {}
    zones = given.site.zones
    for zone, date in enumerate(zones.planted):
        if date is None:
            continue
        plant = given.site.plants.names[zones.plant[zone]]
        planted = Planted(zones.stage[zone], date, float(zones.caliper_mm[zone]), plant)
        wanted = list(_wanted(given, zone, planted))
        alike = [(w.first, w.last, w.every_days, w.starts, w.window) for w in wanted]
        groups.setdefault(repr(alike), []).append((zone, planted, wanted))
    found: list[Planting] = []
    for program, members in enumerate(groups.values()):
        laid = _on_the_clock(given, [wanted for *_, wanted in members],
                             [zone for zone, *_ in members], found)  # fmt: skip
        for (zone, planted, _), steps in zip(members, laid, strict=True):
            last = steps[-1]
            grown = last.last + ONE_DAY
            stands = established(planted, last.leaflet)
            runs = [step for step in steps if step.dates and step.starts_min]
            final = runs[-1] if runs else None
            found.append(Planting(zone, planted, steps, grown, stands, program, final))
    if today is not None:
        found = [
            replace(p, steps=tuple(step for step in p.steps if step.last >= today))
            for p in found
            if p.until > today
        ]
    return tuple(sorted(found, key=lambda p: p.zone))


def _wanted(given: Given, zone: int, planted: Planted) -> Iterator[_Wanted]:
    """Steps of a zone as the leaflets and its ground want them."""
    site = given.site
    kind = HEAD_KINDS[site.zones.head_kind[zone]]
    for first, leaflet in steps_from_planting(planted, site.latitude, given.frost):
        dates = [first + day * ONE_DAY for day in range(leaflet.days)]

        def window(date: datetime.date) -> Window | None:
            age = (date - planted.date).days
            return window_for(site, kind, planted.stage, date, age)

        for holds, days in itertools.groupby(dates, window):
            stretch = list(days)
            yield _fitted(given, zone, planted, leaflet, holds, stretch)


def _fitted(
    given: Given,
    zone: int,
    planted: Planted,
    leaflet: LeafletStep,
    window: Window | None,
    dates: Sequence[datetime.date],
) -> _Wanted:
    """How often and how much, of what the leaflet leaves open, by ground and need."""
    valve, ground, roots = (
        given.inputs.valve,
        given.inputs.ground,
        given.stands_on.roots,
    )
    parts = np.flatnonzero(ground.valve == zone)
    months = np.array([date.month - 1 for date in dates])
    coefficient = ground.landscape_coefficient[parts].max(axis=0)
    if planted.stage in COVERS and leaflet.every_days[1] == 1:
        rows = given.stands_on.rows
        wet = WET_SURFACE * float(rows.microclimate_factor[parts].max())
        coefficient = np.maximum(coefficient, wet)
    need_day = float((given.inputs.et0_mm_day[zone] * coefficient)[months].mean())
    share = np.minimum(leaflet.root_depth_mm / roots.root_depth_mm[parts], 1.0)
    holds = float((roots.total_available_water_mm[parts] * share).min())
    allowed = STORE_LET_PASS * float((roots.allowed_depletion_mm[parts] * share).min())
    own = _own_interval(given.plan, zone, dates[0])
    closest, most = (int(min(days, own)) for days in leaflet.every_days)
    lasts = math.inf if need_day <= 0 else math.floor(allowed / need_day + TOLERANCE)
    every = closest if planted.is_tree else int(min(max(lasts, closest), most))
    days = _days(window, every, given.site.controller.intervals)
    a_week = WEEK / every if days is None else days.days_per_week or WEEK / every
    rate = float(valve.rate_mm_h[zone])
    leaches = 0.0 if planted.is_tree else ground.leaching_requirement[parts].max()
    gross = float(valve.run_time_multiplier[zone] / (1 - leaches))
    if planted.is_tree:
        trees, flow = given.site.zones.plants[zone], float(valve.flow_l_min[zone])
        volume = leaflet.l_per_mm_caliper * planted.caliper_mm * float(trees)
        starts, plain_min = 1, volume / flow
        week_mm = plain_min * rate / MIN_PER_H / gross * WEEK / every
    else:
        wanted = math.ceil(need_day * every / allowed - TOLERANCE)
        starts = min(max(wanted, leaflet.starts[0]), leaflet.starts[1])
        plain_min = MIN_PER_H * need_day * every / starts * gross / rate
        week_mm = need_day * WEEK
    # Where days are taken away the rest are deeper, as far as new roots hold water.
    full_min = MIN_PER_H * holds / starts * gross / rate
    spread_min = MIN_PER_H * week_mm / a_week / starts * gross / rate
    start_min = max(plain_min, min(spread_min, full_min))
    # Never less than what plants get that have grown in.
    week = float(given.plan.schedule.minutes_per_week[zone][months].mean())
    step = float(valve.minute_step[zone])
    least = max(float(valve.least_cycle_min[zone]), step, week / WEEK * every / starts)
    depth = np.minimum(leaflet.root_depth_mm, roots.root_depth_mm[parts])
    need = need_day * max(every, WEEK / a_week) / starts
    return _Wanted(
        dates[0], dates[-1], window, days, every, starts, max(start_min, least),
        max(plain_min, least), need, week_mm, float(depth.min()), holds, gross, leaflet,
    )  # fmt: skip


def _days(window: Window | None, every: int, intervals: bool) -> DayChoice | None:
    """Days to key in for a watering every so many days: an interval, or weekdays.

    An interval where every date is permitted and the controller takes one; else the
    fewest permitted weekdays whose gaps are no longer, or as many as there are.
    """
    if window is None:
        return None
    rule = DayRule.of_window(window)
    free = rule.weekdays == ALL_WEEK and not rule.parity
    if every > 1 and free and intervals and math.ceil(WEEK / every) <= rule.most_days:
        return DayChoice(ALL_WEEK, every, WEEK / every, True)
    return choose_days(rule, every, False)


def _own_interval(plan: Plan, zone: int, date: datetime.date) -> float:
    """Days between waterings by the table in a month, as the longer of uneven ones.

    Infinite where it is off.
    """
    cell = zone, date.month - 1
    if not plan.schedule.cycles[cell]:
        return math.inf
    return math.ceil(WEEK / plan.schedule.days_per_week[cell] - TOLERANCE)


def _on_the_clock(
    given: Given,
    wanted: Sequence[Sequence[_Wanted]],
    zones: Sequence[int],
    others: Sequence[Planting],
) -> list[tuple[Step, ...]]:
    """Steps of zones planted alike: one program, whose starts run all of them."""
    laid: list[list[Step]] = [[] for _ in zones]
    frost = given.inputs.frost[zones[0]]
    last: datetime.date | None = None
    for together in zip(*wanted, strict=True):
        one = together[0]
        dates = tuple(_dates(given, zones[0], one, last))
        last = dates[-1] if dates else last
        spans: tuple[Span, ...] = ()
        at = WANTED_MIN[one.starts]
        if dates and one.window is not None:
            spans = spans_of(given.site, one.window, dates[0])
            if one.starts == 1 and not one.window.stages:
                at = (clock_minutes(one.window.opens),)
        taken = list(_taken(others, one))
        for name in ("start_min", "plain_min"):
            wanted_min = np.array([getattr(step, name) for step in together])
            minutes, cycles, spacing = _split(given, zones, wanted_min)
            length = (cycles - 1) * spacing + float(minutes.sum())
            blocks, near = place_starts(at, length, spans, taken)
            if len(blocks) == len(at):
                break
        starts = tuple(
            int(block + turn * spacing) for block in blocks for turn in range(cycles)
        )
        whole, valve = float(minutes.sum()), given.inputs.valve
        frozen = bool(frost[one.first.month - 1] and frost[one.last.month - 1])
        for of, (zone, mine) in enumerate(zip(zones, together, strict=True)):
            day_min = len(starts) * float(minutes[of])
            depth = day_min * float(valve.rate_mm_h[zone]) / MIN_PER_H
            each = day_min * valve.flow_l_min[zone] / given.site.zones.plants[zone]
            laid[of].append(
                Step(
                    mine.first, mine.last, dates, mine.every_days, mine.days,
                    _missing_mm(mine, depth / mine.gross),
                    mine.window, starts,
                    float(minutes[of]), depth, mine.need_mm, mine.root_depth_mm,
                    mine.holds_mm, mine.starts, near, float(each), whole, frozen,
                    mine.leaflet,
                )
            )  # fmt: skip
    return [tuple(steps) for steps in laid]


def _missing_mm(one: _Wanted, net_mm: float) -> float:
    """What plants still lack in a week where permitted days are too few."""
    if one.days is None or one.days.enough:
        return 0.0
    return max(one.week_mm - one.days.days_per_week * min(net_mm, one.holds_mm), 0.0)


def _split(
    given: Given, zones: Sequence[int], wanted: np.ndarray
) -> tuple[np.ndarray, int, float]:
    """Minutes of each zone at one start of the controller, cycles, and their spacing.

    A watering is as many starts as the zone with the most cycles needs.
    """
    valve = given.inputs.valve
    step, longest = valve.minute_step[zones], given.plan.longest_cycle_min[zones]
    cycles = int(split_minutes(wanted, longest, step).cycles.max())
    minutes = np.minimum(ceil_(wanted / cycles / step) * step, longest)
    soak = soak_minutes(
        minutes * given.soak_a_minute[zones], valve.shortest_soak_min[zones]
    )
    spacing = math.ceil(max(float((minutes + soak).max()), float(minutes.sum())))
    return minutes, cycles, float(spacing)


def _taken(others: Sequence[Planting], one: _Wanted) -> Iterator[Span]:
    """Hours that other new plantings run in while a step lasts."""
    for other in others:
        for step in other.steps:
            if step.first <= one.last and one.first <= step.last:
                for start in step.starts_min:
                    yield start, math.ceil(start + step.run_min)


def _dates(
    given: Given, zone: int, one: _Wanted, last: datetime.date | None
) -> Iterator[datetime.date]:
    """Dates that a step waters on, by its weekdays or its interval."""
    window, days = one.window, one.days
    if window is None or days is None:
        return
    frost = given.inputs.frost[zone]
    for day in range((one.last - one.first).days + 1):
        date = one.first + day * ONE_DAY
        due = last is None or (date - last).days >= days.every_days
        keyed = bool(days.weekdays >> date.weekday() & 1)
        runs = is_permitted(window, date) and not frost[date.month - 1]
        if due and keyed and runs:
            last = date
            yield date


def planting_cautions(site: Site, found: Sequence[Planting]) -> Iterator[Caution]:
    """That zones are grown in or not yet, and what their steps cannot have."""
    growing = {planting.zone for planting in found}
    for row, date in enumerate(site.zones.planted):
        if date is not None and row not in growing:
            yield Caution("grown-in", site.zones.zone[row], None, {"planted": date})
    for planting in found:
        zone, stage = site.zones.zone[planting.zone], planting.planted.stage
        values = {"stage": stage, "planted": planting.planted.date,
                  "grown_in": planting.grown_in}  # fmt: skip
        if planting.steps:
            yield Caution("planted-lately", zone, None, values)
        yield from _step_cautions(zone, stage, planting.steps)


def _step_cautions(zone: str, stage: str, steps: Sequence[Step]) -> Iterator[Caution]:
    for step in (step for step in steps if not step.frost):
        when = {"stage": stage, "first": step.first, "last": step.last}
        gap, asked = step.longest_gap_days, max(step.every_days, 1)
        days = (step.last - step.first).days + 1
        # A few days between two permitted ones are told with the gap that they are in.
        none = gap is None and days >= max(asked, WEEK)
        if step.days is None or none or (gap is None and not step.days.weekdays):
            yield Caution("planting-not-permitted", zone, None, when)
        elif gap is not None and gap > step.leaflet.every_days[1]:
            values = {**when, "every_days": asked, "gap_days": gap,
                      "missing_mm_week": step.missing_mm_week}  # fmt: skip
            yield Caution("planting-days-too-few", zone, None, values)
        if step.window is not None and step.dates and step.near < step.wanted:
            values = {**when, "starts": step.wanted, "given": step.near,
                      "opens": step.window.opens,
                      "closes": step.window.closes}  # fmt: skip
            yield Caution("planting-hours-too-few", zone, None, values)
        if step.need_mm > step.holds_mm and math.isnan(step.leaflet.l_per_mm_caliper):
            values = {**when, "need_mm": step.need_mm, "holds_mm": step.holds_mm}
            yield Caution("planting-store-small", zone, None, values)
