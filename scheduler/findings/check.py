"""Findings about a site, worst first, with what each costs in water and minutes.

Costs are found by planning once more with the fault mended.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from scheduler.cautions import Caution, rank
from scheduler.plan.inputs import PlanInput, of_valves, stack, what_if
from scheduler.plan.night.crowded import months_too_short
from scheduler.plan.planning import plan_zones
from scheduler.plan.site import SitePlan
from scheduler.plan.times.cycles import least_cycles
from scheduler.plan.zones import with_uniformity
from scheduler.rates.precipitation import precipitation_rate
from scheduler.rates.spacing import spacing_cautions
from scheduler.rates.unlikely import throw_doubts
from scheduler.soil.intake import rate_for_cycles

FORCED_CYCLES = 3
"""From so many cycles on a rate does not suit the ground (common practice)."""


@dataclass(frozen=True, slots=True)
class Finding:
    """A caution with what it costs a year and in the worst week; 0 where nothing."""

    caution: Caution
    costs_l_year: float
    costs_min_week: float


@dataclass(frozen=True, slots=True, eq=False)
class _Water:
    """What a plan takes, (zone, month)."""

    volume_l: np.ndarray
    minutes_per_week: np.ndarray


def find(plan: SitePlan) -> list[Finding]:
    """All findings: hard limits first, then by water and minutes, then what is told."""
    site = plan.site
    cautions = (
        *plan.cautions,
        *spacing_cautions(site.zones, site.heads, site.supply.wind_m_s),
        *throw_doubts(site.zones, site.heads),
        *_rate_cautions(plan),
        *months_too_short(plan),
        *plan.coverage.cautions,
    )
    mended = _mended(plan, cautions)
    findings = [_with_cost(plan, mended, caution) for caution in cautions]
    return sorted(findings, key=_rank)


def _rank(finding: Finding) -> tuple[tuple[int, int], float, float]:
    costs = -finding.costs_l_year, -finding.costs_min_week
    return rank(finding.caution.code), *costs


def _rate_cautions(plan: SitePlan) -> Iterator[Caution]:
    """Zones whose rate forces many cycles, and the rate that would need one or two."""
    schedule = plan.plan.schedule
    valve, ground = plan.inputs.valve, plan.inputs.ground
    for row, zone in enumerate(plan.site.zones.zone):
        split = schedule.soak_min[row] > 0
        forced = split & (schedule.cycles[row] >= FORCED_CYCLES)
        if not forced.any():
            continue
        month = int(np.argmax(_soak_a_week(plan, row) * forced))
        depth = plan.plan.event_minutes[row, month] * valve.peak_rate_mm_h[row] / 60
        one, two = (
            float(rate_for_cycles(depth, ground.accumulation_mm[row],
                                  ground.intake_mm_h[row], cycles))
            for cycles in (1, 2)
        )  # fmt: skip
        values = {
            "cycles": int(schedule.cycles[row, month]),
            "forced_cycles": int(
                least_cycles(
                    plan.plan.event_minutes[row, month],
                    plan.plan.longest_cycle_min[row],
                )
            ),
            "month": month + 1,
            "peak_rate_mm_h": float(valve.peak_rate_mm_h[row]),
            "one_cycle_mm_h": one,
            "two_cycles_mm_h": two,
        }
        yield Caution("rate-over-intake", zone, None, values)


def _soak_a_week(plan: SitePlan, row: int) -> np.ndarray:
    """Minutes a week that a zone stands waiting between cycles, by month."""
    schedule = plan.plan.schedule
    pauses = np.maximum(schedule.cycles[row] - 1.0, 0)
    return np.asarray(pauses * schedule.soak_min[row] * schedule.days_per_week[row])


def _with_cost(
    plan: SitePlan, mended: Mapping[str, _Water], caution: Caution
) -> Finding:
    if caution.zone is None:
        return Finding(caution, 0.0, 0.0)
    row = plan.site.zones.zone.index(caution.zone)
    if caution.code == "rate-over-intake":
        return Finding(caution, 0.0, float(np.max(_soak_a_week(plan, row))))
    if caution.code not in mended:
        return Finding(caution, 0.0, 0.0)
    now = _Water(plan.plan.volume_l, plan.plan.schedule.minutes_per_week)
    return Finding(caution, *_difference(now, mended[caution.code], row))


def _mended(plan: SitePlan, cautions: Sequence[Caution]) -> dict[str, _Water]:
    """The plan with each kind of fault mended, all of them in one planning."""
    inputs, zones = plan.inputs, plan.site.zones.zone
    mended: dict[str, PlanInput] = {}
    codes = {caution.code for caution in cautions}
    if "unmatched-heads" in codes:
        mended["unmatched-heads"] = with_uniformity(inputs, plan.rates.usual_uniformity)
    if "area-mismatch" in codes:
        rate = inputs.valve.rate_mm_h.copy()
        for caution in cautions:
            if caution.code == "area-mismatch" and caution.zone is not None:
                row = zones.index(caution.zone)
                rate[row] = precipitation_rate(
                    inputs.valve.flow_l_min[row], caution.values["head_area_m2"]
                )
        peak = np.maximum(rate, inputs.valve.peak_rate_mm_h)
        mended["area-mismatch"] = what_if(
            inputs, rate_mm_h=[rate], peak_rate_mm_h=[peak]
        )
    if not mended:
        return {}
    rows = np.array(
        sorted(
            {
                zones.index(caution.zone)
                for caution in cautions
                if caution.code in mended and caution.zone is not None
            }
        )
    )
    planned = plan_zones(stack([of_valves(one, rows) for one in mended.values()]))
    shape = len(mended), *plan.plan.volume_l.shape
    volumes, weeks = np.zeros(shape), np.zeros(shape)
    volumes[:, rows] = planned.volume_l.reshape(len(mended), len(rows), -1)
    weeks[:, rows] = planned.schedule.minutes_per_week.reshape(
        len(mended), len(rows), -1
    )
    return {
        code: _Water(volume_l, minutes)
        for code, volume_l, minutes in zip(mended, volumes, weeks, strict=True)
    }


def _difference(now: _Water, mended: _Water, row: int) -> tuple[float, float]:
    """Water a year and minutes in the worst week that a fault costs, 0 if it saves."""
    water = float(now.volume_l[row].sum() - mended.volume_l[row].sum())
    minutes = now.minutes_per_week[row] - mended.minutes_per_week[row]
    return max(water, 0.0), float(max(np.max(minutes), 0.0))
