"""Findings about a site, worst first, with what each costs in water and minutes."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from scheduler.errors import HARD_LIMITS, Caution
from scheduler.plan.sites import SitePlan
from scheduler.plan.table import plan_zones
from scheduler.rates.nozzles import run_time_multiplier

_ONLY_TOLD = ("value-assumed", "not-used-yet")


@dataclass(frozen=True, slots=True)
class Finding:
    """A caution with what it costs a year and in the worst week; 0 where nothing."""

    caution: Caution
    costs_l_year: float
    costs_min_week: float


def find(plan: SitePlan) -> list[Finding]:
    """All findings: hard limits first, then by water and minutes, then what is told."""
    findings = [_with_cost(plan, caution) for caution in plan.cautions]
    return sorted(findings, key=_rank)


def _rank(finding: Finding) -> tuple[int, float, float]:
    code = finding.caution.code
    group = 0 if code in HARD_LIMITS else 2 if code in _ONLY_TOLD else 1
    return group, -finding.costs_l_year, -finding.costs_min_week


def _with_cost(plan: SitePlan, caution: Caution) -> Finding:
    if caution.code != "unmatched-heads" or caution.zone is None:
        return Finding(caution, 0.0, 0.0)
    row = plan.site.zones.zone.index(caution.zone)
    matched = run_time_multiplier(plan.rates.usual_uniformity)
    mended = plan_zones(dataclasses.replace(plan.inputs, run_time_multiplier=matched))
    now = plan.plan
    minutes = now.schedule.minutes_per_week[row] - mended.schedule.minutes_per_week[row]
    water = now.volume_l[row].sum() - mended.volume_l[row].sum()
    return Finding(caution, float(max(water, 0)), float(max(np.max(minutes), 0)))
