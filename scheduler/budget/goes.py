"""Where the water goes: what plants took, and what was laid down for nothing."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from scheduler.balance.ground import on_parts
from scheduler.balance.play import play
from scheduler.budget.replay import (
    Stage,
    Waterings,
    held_back,
    set_stage,
    table_waterings,
    todays_schedule,
    waterings_of,
)
from scheduler.plan.inputs import PlanInput
from scheduler.plan.site import SitePlan, flow_without_meter
from scheduler.rates.readings import share_over_plan

LOSSES = ("over-plan", "runoff", "uneven", "wrong-days", "rain", "too-long")
"""In the order that they are taken off: what the meter shows over the heads' own flow;
of the rest, what never went in; of what drains, what even heads would not need; what
would not drain on the table's days; then what drains because rain came on top; and what
would drain without rain, for the runs are longer than the roots have room."""
WORST_SHARE = 1 / 3
"""Of a zone's water: so large a loss is told however small the zone is."""
LEAST_LOST_L = 0.5
"""Less in a year is no loss."""


@dataclass(frozen=True, slots=True, eq=False)
class Goes:
    """Where a mean year's water goes, (zone,); `of` is today or table.

    `plants_l` and `lost_l` (loss, zone), in the order of LOSSES, add up to `water_l`.
    `metered` says of each zone whether a meter was read.
    """

    of: str
    water_l: np.ndarray
    plants_l: np.ndarray
    lost_l: np.ndarray
    metered: np.ndarray

    @property
    def known(self) -> tuple[str, ...]:
        """Losses that can be known: not all sites have a meter, or today's settings."""
        unknown = {"wrong-days"} if self.of == "table" else set()
        if not self.metered.any():
            unknown.add("over-plan")
        return tuple(loss for loss in LOSSES if loss not in unknown)


def where_it_goes(plan: SitePlan) -> Goes:
    """What becomes of the water that the controller gives today, else by the table.

    What a meter shows beyond the heads' own flow goes first: the rest is played as the
    heads alone would lay it down. Plants have what neither runs off nor drains more
    than rain alone would. Of what drains, unevenness has up to what the run-time
    multiplier adds; what is left is shared as in years with even heads and so much less
    water: on the days it comes and on the table's, with and without rain.
    """
    metered = np.isfinite(plan.site.metered.flow_l_min)
    over = np.zeros(len(metered))
    if metered.any():
        planned = flow_without_meter(plan.site, plan.tests)
        over = share_over_plan(plan.site.metered, planned)
    stage, today = set_stage(_by_heads(plan, over)), todays_schedule(plan)
    tables = table_waterings(stage)
    laid = held_back(stage, tables if today is None else waterings_of(stage, today))
    water = on_parts(plan.inputs.ground, laid.water_mm)
    goes_in = water - laid.runoff_mm
    even = np.ones(len(stage.store))
    multiplier = plan.inputs.valve.run_time_multiplier[plan.inputs.ground.valve]
    evenly = goes_in / multiplier[:, None, None]
    rain_alone = _drained(stage, np.zeros_like(goes_in), even, rain=True)
    drained = _drained(stage, goes_in, stage.store.uniformity, rain=True) - rain_alone
    uneven = np.minimum(_a_year(goes_in - evenly), drained)
    rest = drained - uneven
    with_rain = _drained(stage, evenly, even, rain=True) - rain_alone
    wrong = np.zeros(len(even))
    if today is not None:
        other = _on_days_of(stage, evenly, held_back(stage, tables))
        then = _drained(stage, other, even, rain=True) - rain_alone
        wrong = rest * (1 - _share(then, with_rain))
        sooner = then < with_rain
        evenly = np.where(sooner[:, None, None], other, evenly)
        with_rain = np.where(sooner, then, with_rain)
    rainless = _drained(stage, evenly, even, rain=False)
    too_long = (rest - wrong) * _share(rainless, with_rain)
    lost = (_a_year(laid.runoff_mm), uneven, wrong, rest - wrong - too_long, too_long)
    by_heads = _zones(stage, _a_year(water))
    return Goes(
        "table" if today is None else "today",
        by_heads / (1 - over),
        _zones(stage, _a_year(goes_in) - drained),
        np.stack(
            [by_heads * over / (1 - over), *(_zones(stage, depth) for depth in lost)]
        ),
        metered,
    )


def largest_losses(found: Goes, count: int = 3) -> list[tuple[int, int]]:
    """The largest losses, each as its row of LOSSES and its zone.

    After them comes the one that takes most of its own zone's water, where that is a
    third or more: a small zone may run off by half.
    """
    order = np.argsort(-found.lost_l, axis=None, kind="stable")[:count].tolist()
    share = found.lost_l / np.maximum(found.water_l, LEAST_LOST_L)
    worst = int(np.argmax(share))
    if worst not in order and share.flat[worst] >= WORST_SHARE:
        order.append(worst)
    places = zip(*np.unravel_index(order, found.lost_l.shape), strict=True)
    return [(int(a), int(b)) for a, b in places if found.lost_l[a, b] > LEAST_LOST_L]


def _by_heads(plan: SitePlan, over: np.ndarray) -> SitePlan:
    """The plan with as much less flow of each zone as its heads would not take.

    A rate that was measured on the ground stays.
    """
    if not over.any():
        return plan
    valve, settings = plan.inputs.valve, plan.settings
    by_flow = [source == "flow and area" for source in plan.rates.rate_source]
    rate = np.where(by_flow, 1 - over, 1.0)
    inputs: PlanInput = replace(
        plan.inputs,
        valve=replace(
            valve,
            flow_l_min=valve.flow_l_min * (1 - over),
            rate_mm_h=valve.rate_mm_h * rate,
            peak_rate_mm_h=valve.peak_rate_mm_h * rate,
        ),
    )
    if settings is not None:
        laid = settings.scheduled_mm * rate[:, None, None]
        settings = replace(settings, scheduled_mm=laid)
    return replace(plan, inputs=inputs, settings=settings)


def _on_days_of(stage: Stage, water_mm: np.ndarray, tables: Waterings) -> np.ndarray:
    """Water of each month, (part, year, day), as much on each day that the table has.

    In a month that it has off there is none; in one that has only days which the rain
    shut-off holds back, the water stays where it is.
    """
    days = tables.water_mm[stage.plan.inputs.ground.valve] > 0
    found = np.empty_like(water_mm)
    for period in range(len(stage.plan.inputs.periods)):
        of = np.flatnonzero(stage.season.period_of_day == period)
        own, on = water_mm[:, :, of], days[:, :, of]
        count = on.sum(axis=2, keepdims=True)
        spread = on * (own.sum(axis=2, keepdims=True) / np.maximum(count, 1))
        runs = on.any(axis=(1, 2), keepdims=True)
        found[:, :, of] = np.where(runs & (count == 0), own, spread)
    return found


def _share(part_mm: np.ndarray, whole_mm: np.ndarray) -> np.ndarray:
    """Share that a part is of a whole, 1 of nothing."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(whole_mm > 0, part_mm / whole_mm, 1.0).clip(0.0, 1.0)


def _drained(
    stage: Stage, water_mm: np.ndarray, uniformity: np.ndarray, *, rain: bool
) -> np.ndarray:
    """Depth that drains in a mean year, (part,)."""
    store = replace(stage.store, uniformity=uniformity)
    if not rain:
        # Then the wetted ground carries the plants alone.
        need, none = stage.season.plant_need_mm, np.zeros_like(store.rain_mm)
        store = replace(store, need_mm=need, rain_mm=none)
    return _a_year(play(store, water_mm).drained_mm.mean(axis=3))


def _a_year(depth_mm: np.ndarray) -> np.ndarray:
    return np.asarray(depth_mm.sum(axis=2).mean(axis=1))


def _zones(stage: Stage, depth_mm: np.ndarray) -> np.ndarray:
    """Volume of each zone, (zone,), of depths on its parts. [L]"""
    of = stage.plan.inputs.ground.valve
    return np.bincount(of, depth_mm * stage.l_per_mm, len(stage.plan.site.zones))
