"""What a rain shut-off saves, and what a rule that a hand can follow does."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.balance.play import shut_off_days
from scheduler.balance.years import Years
from scheduler.budget.replay import (
    Replayed,
    Stage,
    Waterings,
    held_back,
    played_way,
    set_stage,
    table_waterings,
    todays_schedule,
    waterings_of,
)
from scheduler.plan.by_days import plan_days
from scheduler.plan.inputs import PlanInput, what_if
from scheduler.plan.site import SitePlan
from scheduler.plan.table import cycle_limits
from scheduler.units import MIN_PER_H

USUAL_SETTING_MM = 6.35
"""Setting of a rain shut-off where the site has none: 1/4 in (common practice)."""
RULE_RAINS_MM = (6.35, 12.7, 25.4)
"""A quarter, a half and a whole inch."""
RULE_DAYS = (1, 2, 3, 5)
DRIER_BY = 0.01
"""A rule may make a zone's days drier by this share over what is let pass anyway."""


@dataclass(frozen=True, slots=True, eq=False)
class ShutOffSaving:
    """The table with and without a rain shut-off, on the same years, (part,).

    `on_site` says whether the site has one; else its setting is the usual one, and
    `planned_l_year` what it would save with the table planned with it, so that no more
    days are dry than may be; None where it is on site, or the table is by months.
    """

    rain_shutoff_mm: float
    on_site: bool
    planned_l_year: float | None
    with_l_year: np.ndarray
    without_l_year: np.ndarray
    dry_with: np.ndarray
    dry_without: np.ndarray

    @property
    def saves_l_year(self) -> float:
        """Liters a year that it saves on the whole site."""
        return float((self.without_l_year - self.with_l_year).sum())


@dataclass(frozen=True, slots=True, eq=False)
class HandRule:
    """After so much rain in a day, off for some days; dry shares are (part,)."""

    rain_mm: float
    days_off: int
    saves_l_year: float
    dry_before: np.ndarray
    dry_after: np.ndarray


def shut_off_saving(plan: SitePlan, stage: Stage | None = None) -> ShutOffSaving:
    """What the site's rain shut-off saves, or would save where there is none."""
    stage = set_stage(plan) if stage is None else stage
    waterings, setting = table_waterings(stage), plan.site.controller.rain_shutoff_mm
    on_site = setting is not None
    at_mm = USUAL_SETTING_MM if setting is None else setting
    planned = planned_saving_l(plan)
    held = shut_off_days(stage.years, at_mm)[None]
    with_it = _without_days(stage, waterings, held)
    without = played_way(stage, "table", waterings)
    return ShutOffSaving(
        at_mm,
        on_site,
        None if planned is None else float(planned.sum()),
        with_it.volume_l_year,
        without.volume_l_year,
        with_it.dry_share,
        without.dry_share,
    )


def planned_saving_l(plan: SitePlan) -> np.ndarray | None:
    """Liters that a rain shut-off would save a mean year, (zone, month).

    The table is planned once more with it, so that no more days are dry than may be.
    No month saves more than it takes: played years may have a date more of an interval
    than the mean one. None where the site has one, or the table is by months.
    """
    if plan.settings is None or plan.site.controller.rain_shutoff_mm is not None:
        return None
    inputs = what_if(plan.inputs, rain_shutoff_mm=[np.array(USUAL_SETTING_MM)])
    then = plan_days(inputs, cycle_limits(inputs.ground, inputs.valve))
    saves_l = volume_l(plan.inputs, plan.settings.water_mm - then.water_mm)
    return np.minimum(saves_l, plan.plan.volume_l)


def held_back_l(plan: SitePlan) -> np.ndarray | None:
    """Liters of the table that the site's rain shut-off holds back, (zone, month).

    None where the site has none, or the table is by months.
    """
    if plan.settings is None or plan.site.controller.rain_shutoff_mm is None:
        return None
    settings = plan.settings
    return volume_l(plan.inputs, settings.scheduled_mm - settings.water_mm)


def held_back_today_l(plan: SitePlan, today_l: np.ndarray) -> np.ndarray | None:
    """Liters of today's settings that the rain shut-off holds back, (zone, month).

    `today_l` is what they take by their minutes. None as for the table.
    """
    today = todays_schedule(plan)
    if today is None or held_back_l(plan) is None:
        return None
    stage = set_stage(plan)
    scheduled = waterings_of(stage, today)
    runs = held_back(stage, scheduled)
    laid_l = volume_l(plan.inputs, scheduled.water_mm)
    held_l = laid_l - volume_l(plan.inputs, runs.water_mm)
    return np.asarray(today_l * held_l / np.where(laid_l > 0, laid_l, 1.0))


def volume_l(inputs: PlanInput, water_mm: np.ndarray) -> np.ndarray:
    """Liters of each valve and month in a mean year, of water (valve, year, day)."""
    firsts = np.cumsum(inputs.periods.days) - inputs.periods.days
    depth_mm = np.add.reduceat(water_mm.mean(axis=1), firsts, axis=1)
    valve = inputs.valve
    return np.asarray(
        depth_mm * (valve.flow_l_min * MIN_PER_H / valve.rate_mm_h)[:, None]
    )


def hand_rule(plan: SitePlan, stage: Stage | None = None) -> HandRule | None:
    """The rule that saves most while plants hardly feel it; None where none saves.

    It is followed on top of a rain shut-off where the site has one. A rule is left out
    where the dry share of some zone would rise by over a point above the larger of its
    limit and what it was.
    """
    stage = set_stage(plan) if stage is None else stage
    waterings = held_back(stage, table_waterings(stage))
    before = played_way(stage, "table", waterings)
    limit = plan.inputs.valve.most_dry[plan.inputs.ground.valve]
    most = np.maximum(limit, before.dry_share) + DRIER_BY
    rules = [
        (float(volume_l(plan.inputs, waterings.water_mm * held).sum()), rain_mm, days)
        for rain_mm in RULE_RAINS_MM
        for days in RULE_DAYS
        for held in [days_after_rain(stage.years, rain_mm, days)]
    ]
    # What saves most is played first, so that the first let pass is the best.
    for saves, rain_mm, days_off in sorted(rules, key=lambda rule: -rule[0]):
        if saves <= 0:
            break
        held = days_after_rain(stage.years, rain_mm, days_off)[None]
        after = _without_days(stage, waterings, held)
        if (after.dry_share <= most).all():
            return HandRule(rain_mm, days_off, saves, before.dry_share, after.dry_share)
    return None


def days_after_rain(years: Years, rain_mm: float, days_off: int) -> np.ndarray:
    """Days that follow so much rain within so many days, (year, day)."""
    rained = (years.rain_mm >= rain_mm).ravel()
    held = np.zeros_like(rained)
    for days in range(1, days_off + 1):
        held |= np.roll(rained, days)
    return held.reshape(years.rain_mm.shape)


def _without_days(stage: Stage, waterings: Waterings, held: np.ndarray) -> Replayed:
    of_valve = np.broadcast_to(held, waterings.water_mm.shape)
    return played_way(stage, "table", held_back(stage, waterings, of_valve))
