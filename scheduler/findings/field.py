"""What meter, gauge, cans and eyes must show on site if the plan is to hold."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.balance.day import quarter_depths
from scheduler.inputs import library
from scheduler.plan.site import SitePlan
from scheduler.rates.readings import MOST_OFF
from scheduler.units import MIN_PER_H

USUAL_MIN = 10.0
"""Minutes that a zone is run for its readings (common practice)."""
MISTS_TIMES = 1.3
"""Pressure over the chart's at which heads mist (common practice)."""


@dataclass(frozen=True, slots=True, eq=False)
class FieldCheck:
    """What each zone must show in so many minutes, (zone,); NaN where it has none.

    Cans: their mean, and the means of the driest and the wettest quarter of them. Heads
    that drip have no cans. `pressure_kpa` is the plan's at the heads, with the least
    and most at which they work. Water stands first after `runoff_after_min`, inf:
    never. A zone is commissioned where the plan goes by its meter, tested where it goes
    by cans.
    """

    minutes: float
    flow_l_min: np.ndarray
    volume_l: np.ndarray
    least_volume_l: np.ndarray
    most_volume_l: np.ndarray
    can_mean_mm: np.ndarray
    can_least_mm: np.ndarray
    can_most_mm: np.ndarray
    pressure_kpa: np.ndarray
    least_pressure_kpa: np.ndarray
    most_pressure_kpa: np.ndarray
    runoff_after_min: np.ndarray
    commissioned: np.ndarray
    tested: np.ndarray


def field_check(plan: SitePlan, run_min: float = USUAL_MIN) -> FieldCheck:
    """What each zone of a plan must show when it is run for so long."""
    site, rates, kinds = plan.site, plan.rates, library.head_kinds()
    volume = rates.flow_l_min * run_min
    with_cans = ~kinds.drips[site.zones.head_kind]
    mean = np.where(with_cans, rates.rate_mm_h * run_min / MIN_PER_H, np.nan)
    quarters = quarter_depths(rates.uniformity)
    return FieldCheck(
        minutes=run_min,
        flow_l_min=rates.flow_l_min,
        volume_l=volume,
        least_volume_l=volume * (1 - MOST_OFF),
        most_volume_l=volume * (1 + MOST_OFF),
        can_mean_mm=mean,
        can_least_mm=mean * quarters[..., 0],
        can_most_mm=mean * quarters[..., -1],
        pressure_kpa=plan.points.pressure_kpa,
        least_pressure_kpa=kinds.least_pressure_kpa[site.zones.head_kind],
        most_pressure_kpa=MISTS_TIMES * _chart_pressure(plan),
        runoff_after_min=plan.plan.runoff_limit_min,
        commissioned=commissioned(plan),
        tested=plan.tests.cans > 0,
    )


def commissioned(plan: SitePlan) -> np.ndarray:
    """Zones whose flow the plan takes from a meter reading, (zone,)."""
    return np.isfinite(plan.site.metered.flow_l_min)


def _chart_pressure(plan: SitePlan) -> np.ndarray:
    """Lowest pressure of the chart among each zone's heads, NaN where not known."""
    heads, found = plan.site.heads, np.full(len(plan.site.zones), np.inf)
    np.minimum.at(found, heads.zone, np.nan_to_num(heads.pressure_kpa, nan=np.inf))
    return np.where(np.isinf(found), np.nan, found)
