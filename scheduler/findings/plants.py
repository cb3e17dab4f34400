"""Plants on drip and bubblers: canopies, and whether the emitters suffice them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cache

import numpy as np

from scheduler.cautions import Caution
from scheduler.inputs.library import head_kinds, package_table
from scheduler.plan.site import SitePlan
from scheduler.rounding import ceil_
from scheduler.soil.wetting import CIRCLE, bulb_width

LEAST_WETTED = 0.5
"""Share of the ground under a canopy that emitters are to wet (Utah State University
Extension, read)."""
FEWEST_EMITTERS = 2
"""Emitters that each plant has at least, for one clogs (common practice)."""
BASIN_M2 = 10.0
"""Ground of a tree under which it may be a basin and no canopy (rule of this program).
"""
TREE_M2 = 30.0
"""Canopy of a grown tree of middle size, for comparison (rule of this program)."""
LARGER = 1.1
"""Canopies so many times the ground are told."""


def plant_cautions(plan: SitePlan) -> Iterator[Caution]:
    """Trees without canopies, basins typed as ground, and emitters that are too few."""
    zones = plan.site.zones
    drips = head_kinds().drips[zones.head_kind]
    for row in np.flatnonzero(drips).tolist():
        if np.isfinite(zones.plants[row] * zones.canopy_m2[row]):
            yield from _by_canopies(plan, row)
        elif plan.site.plants.names[zones.plant[row]] in _trees():
            yield from _without_canopies(plan, row)


@cache
def _trees() -> set[str]:
    return {r["plant"] for r in package_table("plants") if r["group"] == "tree"}


def plant_l_week(plan: SitePlan, row: int) -> np.ndarray:
    """Water of one plant of a zone in a week of each month, (month,); NaN: not told."""
    week = plan.plan.schedule.minutes_per_week[row] * plan.rates.flow_l_min[row]
    return np.asarray(week / plan.site.zones.plants[row])


def emitters_for(
    canopy_m2: float, intake_mm_h: float, root_depth_mm: float, flow_l_min: float
) -> int:
    """Emitters that wet half of the ground under a canopy."""
    width = float(bulb_width(intake_mm_h, root_depth_mm, flow_l_min))
    wanted = ceil_(np.array(LEAST_WETTED * canopy_m2 / (CIRCLE * width**2)))
    return max(int(wanted), FEWEST_EMITTERS)


def _busiest(plan: SitePlan, row: int) -> int:
    return int(np.argmax(plan.plan.schedule.minutes_per_week[row]))


def _by_canopies(plan: SitePlan, row: int) -> Iterator[Caution]:
    zones, month = plan.site.zones, _busiest(plan, row)
    zone, ground = zones.zone[row], float(zones.ground_m2[row])
    canopies = float(zones.area_m2[row])
    volume_l = float(plan.plan.volume_l[row, month])
    if canopies > LARGER * ground:
        values = {
            "area_m2": ground,
            "canopies_m2": canopies,
            "month": month + 1,
            "canopies_l": volume_l,
            "area_l": volume_l * ground / canopies,
        }
        yield Caution("basin-as-ground", zone, None, values)
    flow = float(zones.emitter_flow_l_min[row])
    has = float(zones.emitters[row] / zones.plants[row])
    if not math.isfinite(flow * has):
        return
    part = int(plan.leads[row])
    roots = plan.stands_on.roots
    soil = (
        float(plan.site.soils.intake_mm_h[plan.stands_on.rows.soil[part]]),
        float(roots.root_depth_mm[part]),
    )
    now = float(zones.canopy_m2[row])
    wanted = emitters_for(now, *soil, flow)
    if has < wanted:
        values = {
            "emitters": has,
            "wanted": wanted,
            "canopy_m2": now,
            "wetted_share": float(roots.wetted_share[part]),
        }
        yield Caution("emitters-too-few", zone, None, values)
    grown = float(zones.grown_canopy_m2[row])
    then = emitters_for(grown, *soil, flow) if math.isfinite(grown) else 0
    if then > has:
        week_l = float(plant_l_week(plan, row)[month])
        values = {
            "canopy_m2": now,
            "grown_canopy_m2": grown,
            "emitters": has,
            "wanted": then,
            "month": month + 1,
            "week_l": week_l,
            "grown_week_l": week_l * grown / now,
        }
        yield Caution("canopy-grows", zone, None, values)


def _without_canopies(plan: SitePlan, row: int) -> Iterator[Caution]:
    zones, month = plan.site.zones, _busiest(plan, row)
    area, count = float(plan.rates.area_m2[row]), float(zones.plants[row])
    trees = count if math.isfinite(count) else 1.0
    volume_l = float(plan.plan.volume_l[row, month])
    values = {"area_m2": area, "month": month + 1, "volume_l": volume_l}
    if area / trees < BASIN_M2:
        values |= {
            "canopy_m2": TREE_M2,
            "canopy_l": volume_l * TREE_M2 * trees / area,
        }
    elif math.isfinite(count):
        return
    yield Caution("canopy-unknown", zones.zone[row], None, values)
