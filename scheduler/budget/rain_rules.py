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
)
from scheduler.plan.site import SitePlan

USUAL_SETTING_MM = 6.0
"""Setting of a rain shut-off where the site has none (common practice: 1/4 in)."""
RULE_RAINS_MM = (6.0, 12.0, 25.0)
RULE_DAYS = (1, 2, 3, 5)
DRIER_BY = 0.01
"""A rule may make a zone's days drier by this share over what is let pass anyway."""


@dataclass(frozen=True, slots=True, eq=False)
class ShutOffSaving:
    """The table with and without a rain shut-off, on the same years, (part,).

    `on_site` says whether the site has one; else its setting is the usual one.
    """

    rain_shutoff_mm: float
    on_site: bool
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
    held = shut_off_days(stage.years, at_mm)[None]
    with_it = _without_days(stage, waterings, held)
    without = played_way(stage, "table", waterings)
    return ShutOffSaving(
        at_mm,
        on_site,
        with_it.volume_l_year,
        without.volume_l_year,
        with_it.dry_share,
        without.dry_share,
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
    best: HandRule | None = None
    for rain_mm in RULE_RAINS_MM:
        for days_off in RULE_DAYS:
            held = days_after_rain(stage.years, rain_mm, days_off)[None]
            after = _without_days(stage, waterings, held)
            saves = float((before.volume_l_year - after.volume_l_year).sum())
            allowed = bool((after.dry_share <= most).all())
            if allowed and saves > (best.saves_l_year if best else 0.0):
                best = HandRule(
                    rain_mm, days_off, saves, before.dry_share, after.dry_share
                )
    return best


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
