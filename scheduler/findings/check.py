"""Findings about a site, worst first, with what each costs in water and minutes.

Costs are found by planning once more with the fault mended.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from scheduler.budget.cost import cost_of_year
from scheduler.budget.parts import SharedValve, shared_valves, sharing
from scheduler.budget.rain_rules import USUAL_SETTING_MM, planned_saving_l
from scheduler.budget.savings import reachable_uniformity
from scheduler.cautions import Caution, rank
from scheduler.findings.audit import audit_cautions
from scheduler.findings.dryness import Tried, days_over, try_against_dryness
from scheduler.findings.plants import plant_cautions
from scheduler.findings.source import source_cautions
from scheduler.inputs import library
from scheduler.plan.inputs import PlanInput, of_valves, stack, what_if
from scheduler.plan.night.crowded import days_too_short, months_too_short
from scheduler.plan.planning import plan_valves
from scheduler.plan.site import SitePlan
from scheduler.plan.times.cycles import least_cycles
from scheduler.plan.zones import with_uniformity
from scheduler.rates.precipitation import precipitation_rate
from scheduler.rates.spacing import spacing_cautions
from scheduler.rates.unlikely import throw_doubts
from scheduler.soil.intake import rate_for_cycles
from scheduler.units import MIN_PER_H

FORCED_CYCLES = 3
"""From so many cycles on a rate does not suit the ground (common practice)."""
SAME_RATE = 0.9
"""Share of the rate of two cycles from which that of one is told no more (rule of this
program)."""
LEAST_SHARE_SAVED = 0.01
"""Share of the water that a rain shut-off has to save to be missed (rule of this
program)."""


@dataclass(frozen=True, slots=True)
class Finding:
    """A caution with what it costs; 0 where nothing, `costs_money` None if not known.

    Water and money are a year's, minutes those of the worst week, `costs_dry_days` the
    days of a mean year over those that may be dry. `tried` is what would help.
    """

    caution: Caution
    costs_l_year: float = 0.0
    costs_min_week: float = 0.0
    costs_dry_days: float = 0.0
    costs_money: Decimal | None = None
    tried: tuple[Tried, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class _Water:
    """What a plan takes, (zone, month)."""

    volume_l: np.ndarray
    minutes_per_week: np.ndarray


def find(plan: SitePlan) -> list[Finding]:
    """All findings, worst first.

    Numbers that can hardly be meant come first, then hard limits, then zones that stay
    dry, then what costs water, then minutes, then what is told.
    """
    site = plan.site
    shutoff_l = planned_saving_l(plan)
    shared = shared_valves(plan)
    cautions = (
        *plan.cautions,
        *_rain_cautions(plan, shutoff_l),
        *spacing_cautions(site.zones, site.heads, site.supply.wind_m_s),
        *throw_doubts(site.zones, site.heads),
        *source_cautions(site),
        *_rate_cautions(plan),
        *audit_cautions(plan),
        *plant_cautions(plan),
        *(told for one in shared if (told := sharing(plan, one)) is not None),
        *months_too_short(plan),
        *days_too_short(plan),
        *plan.coverage.cautions,
    )
    costs = _Costs(
        plan,
        {**_mended(plan, cautions), **_apart(plan, shared)},
        shutoff_l,
        try_against_dryness(plan, cautions),
    )
    findings = [costs.of(caution) for caution in cautions]
    dry_days: defaultdict[tuple[str, str | None], float] = defaultdict(float)
    for finding in findings:
        dry_days[_whose(finding)] += finding.costs_dry_days
    return sorted(findings, key=lambda one: _rank(one, dry_days[_whose(one)]))


def _whose(finding: Finding) -> tuple[str, str | None]:
    """Code and zone: findings of its months are told as one."""
    return finding.caution.code, finding.caution.zone


def _rank(
    finding: Finding, dry_days: float
) -> tuple[bool, tuple[int, int], float, float, float, float]:
    """What can hardly be meant comes first: all else may stand on it.

    `dry_days` are those of all months of a zone, told as one.
    """
    code, costs = finding.caution.code, (-finding.costs_l_year, -finding.costs_min_week)
    meant = not code.endswith("-doubtful")
    return meant, rank(code), -dry_days, -finding.costs_dry_days, *costs


def _rain_cautions(plan: SitePlan, shutoff_l: np.ndarray | None) -> Iterator[Caution]:
    """A rain shut-off that is missing, where it would save enough to tell."""
    if shutoff_l is None:
        return
    if shutoff_l.sum() >= LEAST_SHARE_SAVED * plan.plan.volume_l.sum() > 0:
        values = {"rain_shutoff_mm": USUAL_SETTING_MM}
        yield Caution("no-rain-shutoff", None, None, values)


def _rate_cautions(plan: SitePlan) -> Iterator[Caution]:
    """Zones whose rate forces many cycles, and the rate that would need one or two.

    A rate is told only where heads of the kind lay so little, and that of one cycle
    only where it is another than that of two.
    """
    schedule = plan.plan.schedule
    valve, ground = plan.inputs.valve, plan.ground
    least_rate = library.head_kinds().least_rate_mm_h
    for row, zone in enumerate(plan.site.zones.zone):
        split = schedule.soak_min[row] > 0
        forced = split & (schedule.cycles[row] >= FORCED_CYCLES)
        if not forced.any():
            continue
        month = int(np.argmax(_soak_a_week(plan, row) * forced))
        minutes = plan.plan.event_minutes[row, month]
        depth = minutes * valve.peak_rate_mm_h[row] / MIN_PER_H
        one, two = (
            float(rate_for_cycles(depth, ground.accumulation_mm[row],
                                  ground.intake_mm_h[row], cycles))
            for cycles in (1, 2)
        )  # fmt: skip
        least = float(least_rate[plan.site.zones.head_kind[row]])
        two_say = least <= two < np.inf
        one_says = least <= one < SAME_RATE * two
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
            "one_cycle_mm_h": one if one_says else None,
            "two_cycles_mm_h": two if two_say else None,
        }
        yield Caution("rate-over-intake", zone, None, values)


def _soak_a_week(plan: SitePlan, row: int) -> np.ndarray:
    """Minutes a week that a zone stands waiting between cycles, by month."""
    schedule = plan.plan.schedule
    pauses = np.maximum(schedule.cycles[row] - 1.0, 0)
    return np.asarray(pauses * schedule.soak_min[row] * schedule.days_per_week[row])


def _idle_soak(plan: SitePlan, row: int) -> float:
    """Minutes of soak in a zone's worst week that no run of another zone fills."""
    weeks = plan.plan.schedule.minutes_per_week
    others = weeks.sum(axis=0) - weeks[row]
    return float(np.max(np.maximum(_soak_a_week(plan, row) - others, 0.0)))


@dataclass(frozen=True, slots=True, eq=False)
class _Costs:
    """What is known of costs: the plan with faults mended, and what was tried."""

    plan: SitePlan
    mended: Mapping[str, _Water]
    shutoff_l: np.ndarray | None
    tried: Mapping[str, tuple[Tried, ...]]

    def of(self, caution: Caution) -> Finding:
        """A caution with what it costs."""
        plan, code = self.plan, caution.code
        if code == "no-rain-shutoff" and self.shutoff_l is not None:
            by_month = self.shutoff_l.sum(axis=0)
            saves = float(by_month.sum())
            return Finding(caution, saves, costs_money=self._money(by_month))
        if caution.zone is None:
            return Finding(caution)
        row = plan.site.zones.zone.index(caution.zone)
        if code == "rate-over-intake":
            return Finding(caution, costs_min_week=_idle_soak(plan, row))
        if code == "stays-dry" and caution.month is not None:
            days = days_over(
                plan.plan.dry_share[[row]],
                plan.inputs.valve.most_dry[[row]],
                plan.inputs.periods.days,
            )[0, caution.month - 1]
            tried = self.tried.get(caution.zone, ())
            return Finding(caution, costs_dry_days=float(days), tried=tried)
        if code not in self.mended:
            return Finding(caution)
        now = _Water(plan.plan.volume_l, plan.plan.schedule.minutes_per_week)
        less, minutes = _difference(now, self.mended[code], row)
        water = float(less.sum())
        if water <= 0:
            return Finding(caution, costs_min_week=minutes)
        return Finding(caution, water, minutes, costs_money=self._money(less))

    def _money(self, less_l: np.ndarray) -> Decimal | None:
        """Money a year that so much less water in the months saves."""
        water, now_l = self.plan.site.water, self.plan.plan.volume_l.sum(axis=0)
        now = cost_of_year(now_l, water)
        then = cost_of_year(np.maximum(now_l - less_l, 0.0), water)
        return None if now is None or then is None else now - then


def _mended(plan: SitePlan, cautions: Sequence[Caution]) -> dict[str, _Water]:
    """The plan with each kind of fault mended, all of them in one planning."""
    inputs, zones = plan.inputs, plan.site.zones.zone
    mended: dict[str, PlanInput] = {}
    codes = {caution.code for caution in cautions}
    if "unmatched-heads" in codes:
        mended["unmatched-heads"] = with_uniformity(inputs, plan.rates.usual_uniformity)
    if "uniformity-low" in codes:
        mended["uniformity-low"] = with_uniformity(inputs, reachable_uniformity(plan))
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
    planned = plan_valves(stack([of_valves(one, rows) for one in mended.values()]))
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


def _apart(plan: SitePlan, shared: Sequence[SharedValve]) -> dict[str, _Water]:
    """The plan with each part of a shared valve on a valve of its own."""
    volume_l = plan.plan.volume_l.copy()
    for one in shared:
        volume_l[one.zone] = one.apart_l
    # A valve more takes its own minutes: none are saved.
    return {"parts-share-valve": _Water(volume_l, plan.plan.schedule.minutes_per_week)}


def _difference(now: _Water, mended: _Water, row: int) -> tuple[np.ndarray, float]:
    """Water of the months and minutes in the worst week that a fault costs a zone."""
    minutes = now.minutes_per_week[row] - mended.minutes_per_week[row]
    water = np.asarray(now.volume_l[row] - mended.volume_l[row])
    return water, float(max(np.max(minutes), 0.0))
