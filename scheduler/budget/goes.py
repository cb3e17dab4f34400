"""Where the water goes: what plants took, and what was laid down for nothing."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from scheduler.balance.ground import on_parts
from scheduler.balance.play import play
from scheduler.budget.replay import (
    Stage,
    held_back,
    set_stage,
    table_waterings,
    todays_schedule,
    waterings_of,
)
from scheduler.plan.site import SitePlan

LOSSES = ("runoff", "uneven", "rain", "too-long")
"""In the order that they are taken off: what never went in; of what drains, what even
heads would not need; then what drains because rain came on top; and what would drain
without rain, for the runs are longer than the roots have room."""


LEAST_LOST_L = 0.5
"""Less in a year is no loss."""


@dataclass(frozen=True, slots=True, eq=False)
class Goes:
    """Where a mean year's water goes, (zone,); `of` is today or table.

    `plants_l` and `lost_l` (loss, zone), in the order of LOSSES, add up to `water_l`.
    """

    of: str
    water_l: np.ndarray
    plants_l: np.ndarray
    lost_l: np.ndarray


def where_it_goes(plan: SitePlan) -> Goes:
    """What becomes of the water that the controller gives today, else by the table.

    Plants have what neither runs off nor drains more than rain alone would. Of what
    drains, unevenness has up to what the run-time multiplier adds; what is left is
    shared as in years with even heads and so much less water, with and without rain.
    """
    stage, today = set_stage(plan), todays_schedule(plan)
    of = "table" if today is None else "today"
    laid = table_waterings(stage) if today is None else waterings_of(stage, today)
    laid = held_back(stage, laid)
    water = on_parts(plan.inputs.ground, laid.water_mm)
    goes_in = water - laid.runoff_mm
    even = np.ones(len(stage.store))
    multiplier = plan.inputs.valve.run_time_multiplier[plan.inputs.ground.valve]
    evenly = goes_in / multiplier[:, None, None]
    rain_alone = _drained(stage, np.zeros_like(goes_in), even, rain=True)
    drained = _drained(stage, goes_in, stage.store.uniformity, rain=True) - rain_alone
    uneven = np.minimum(_a_year(goes_in - evenly), drained)
    with_rain = _drained(stage, evenly, even, rain=True) - rain_alone
    rainless = _drained(stage, evenly, even, rain=False)
    with np.errstate(divide="ignore", invalid="ignore"):
        dry = np.where(with_rain > 0, rainless / with_rain, 1.0).clip(0.0, 1.0)
    too_long = dry * (drained - uneven)
    lost = (_a_year(laid.runoff_mm), uneven, drained - uneven - too_long, too_long)
    return Goes(
        of,
        _zones(stage, _a_year(water)),
        _zones(stage, _a_year(goes_in) - drained),
        np.stack([_zones(stage, depth) for depth in lost]),
    )


def largest_losses(found: Goes, count: int = 3) -> list[tuple[int, int]]:
    """The largest losses, each as its row of LOSSES and its zone."""
    order = np.argsort(-found.lost_l, axis=None, kind="stable")[:count]
    places = zip(*np.unravel_index(order, found.lost_l.shape), strict=True)
    return [(int(a), int(b)) for a, b in places if found.lost_l[a, b] > LEAST_LOST_L]


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
