"""The watering table of ground and valves, by days or by months, and their salt."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from scheduler.balance.day import DRIEST
from scheduler.demand.leaching import (
    MOST_LEACHING,
    leaching_added,
    leaching_beside_rain,
    leaching_requirement,
    salinity_of_soil,
)
from scheduler.plan.by_days import plan_by_days, plan_days, season_of
from scheduler.plan.by_months import plan_by_months
from scheduler.plan.inputs import PlanInput
from scheduler.plan.table import Plan, along_valves, cycle_limits


@dataclass(frozen=True, slots=True, eq=False)
class Salt:
    """Salt in the ground of each part, (part,); shares are of the irrigation.

    `asked` is what would have to pass below the roots without rain, `beside_rain` with
    what rain washes, both held to a third; `added` what is laid down for it, and with
    that the soil comes to `soil_ds_m`.
    """

    asked: np.ndarray
    beside_rain: np.ndarray
    added: np.ndarray
    soil_ds_m: np.ndarray

    @property
    def too_much(self) -> np.ndarray:
        """Whether a third is not enough."""
        return np.asarray(self.beside_rain >= MOST_LEACHING * (1 - 1e-9))


def plan_zones(inputs: PlanInput) -> Plan:
    """Table of all ground and periods: by days where the input has years of days."""
    return plan_by_days(inputs) if inputs.years else plan_by_months(inputs)


def plan_valves(inputs: PlanInput) -> Plan:
    """Table of all valves and periods; the parts of each run as one."""
    return along_valves(
        plan_zones(inputs), inputs.ground, inputs.valve, inputs.periods.days
    )


def washed(
    inputs: PlanInput, salinity_ds_m: float, salt_threshold_ds_m: np.ndarray
) -> tuple[PlanInput, Salt]:
    """The input with what leaching is to be added, and the salt that stays.

    `salt_threshold_ds_m` is (part,). By days the years tell what rain washes through
    the roots: the table is planned without leaching, and the quarter of the ground that
    gets least water is looked at. It is left short as it is, so some of what is added
    goes there; the three that are watered for get all of it. By months no rain counts.
    """
    ground = inputs.ground
    asked = leaching_requirement(salinity_ds_m, salt_threshold_ds_m)
    irrigation, rain, drained = _through_the_roots(inputs)
    beside_rain = leaching_beside_rain(
        salinity_ds_m, salt_threshold_ds_m, irrigation, rain, drained
    )
    added = leaching_added(beside_rain, ~inputs.valve.drip[ground.valve])
    more = irrigation * added / (1 - added)
    soil = salinity_of_soil(salinity_ds_m, irrigation + more, rain, drained + more)
    found = replace(inputs, ground=replace(ground, leaching_requirement=added))
    return found, Salt(asked, beside_rain, added, soil)


def _through_the_roots(inputs: PlanInput) -> tuple[np.ndarray, ...]:
    """Irrigation, rain and drainage of a year without leaching, (part,)."""
    parts = len(inputs.ground)
    if not inputs.years:
        return np.ones(parts), np.zeros(parts), np.zeros(parts)
    none = replace(inputs.ground, leaching_requirement=np.zeros(parts))
    fresh = replace(inputs, ground=none)
    settings = plan_days(fresh, cycle_limits(fresh.ground, fresh.valve))
    season = season_of(fresh)
    played = season.play(settings.water_mm)
    irrigation, drained = (
        depth[..., DRIEST].sum(axis=2).mean(axis=1)
        for depth in (played.water_mm, played.drained_mm)
    )
    rain = season.rain_mm.sum(axis=2).mean(axis=1)
    return irrigation, np.broadcast_to(rain, parts), drained
