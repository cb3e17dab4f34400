"""What meter, gauge, cans and eyes must show on site if the plan is to hold."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.balance.day import quarter_depths
from scheduler.inputs import library
from scheduler.inputs.library import HeadKinds
from scheduler.plan.site import SitePlan
from scheduler.rates.readings import MOST_OFF
from scheduler.rates.soundness import PRESSURE_TOO_HIGH
from scheduler.units import MIN_PER_H

USUAL_MIN = 10.0
"""Minutes that a zone is run for its readings (common practice)."""


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
    least, most = _pressure_limits(plan, kinds)
    return FieldCheck(
        minutes=run_min,
        flow_l_min=rates.flow_l_min,
        volume_l=volume,
        least_volume_l=volume * (1 - MOST_OFF),
        most_volume_l=volume * (1 + MOST_OFF),
        can_mean_mm=mean,
        can_least_mm=mean * quarters[..., 0],
        can_most_mm=mean * quarters[..., -1],
        pressure_kpa=_gauge_to_be(plan, kinds),
        least_pressure_kpa=least,
        most_pressure_kpa=most,
        runoff_after_min=plan.plan.runoff_limit_min,
        commissioned=commissioned(plan),
        tested=plan.tests.cans > 0,
    )


def commissioned(plan: SitePlan) -> np.ndarray:
    """Zones whose flow the plan takes from a meter reading, (zone,)."""
    return np.isfinite(plan.site.metered.flow_l_min)


def _gauge_to_be(plan: SitePlan, kinds: HeadKinds) -> np.ndarray:
    """What a gauge at the heads should read, (zone,).

    Not known behind the regulator of a zone that drips, but where it was read before.
    """
    zones = plan.site.zones
    behind = kinds.drips[zones.head_kind] & zones.regulated
    return np.where(behind, zones.pressure_kpa, plan.points.pressure_kpa)


def _pressure_limits(plan: SitePlan, kinds: HeadKinds) -> tuple[np.ndarray, np.ndarray]:
    """Least and most pressure at which each zone's heads work, (zone,); NaN: none.

    A head that holds its own pressure needs that before it, and stands what is over; a
    zone that drips has its regulator at the valve.
    """
    zones, chart = plan.site.zones, _chart_pressure(plan)
    least = kinds.least_pressure_kpa[zones.head_kind]
    most = kinds.most_pressure_kpa[zones.head_kind]
    in_heads = zones.regulated & ~kinds.drips[zones.head_kind]
    low = np.where(in_heads, np.fmax(least, chart), least)
    high = np.where(zones.regulated, most, np.fmin(PRESSURE_TOO_HIGH * chart, most))
    return low, np.where(in_heads, np.nan, high)


def _chart_pressure(plan: SitePlan) -> np.ndarray:
    """Lowest pressure of the chart among each zone's heads, NaN where not known."""
    heads, found = plan.site.heads, np.full(len(plan.site.zones), np.inf)
    np.minimum.at(found, heads.zone, np.nan_to_num(heads.pressure_kpa, nan=np.inf))
    return np.where(np.isinf(found), np.nan, found)
