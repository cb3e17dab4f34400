"""Zones that stay dry whatever is set: what would help, found by planning with it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from scheduler.budget.savings import on_any_day, reachable_uniformity
from scheduler.cautions import Caution
from scheduler.plan.inputs import PlanInput, of_valves, stack, what_if
from scheduler.plan.planning import plan_valves
from scheduler.plan.site import SitePlan
from scheduler.plan.zones import with_uniformity

ROOTS_DEEPER = 1.5
"""Roots half as deep again, as a what-if (rule of this program)."""
LEAST_BETTER = 0.95
"""Share of the dry days that a change may leave to be told (rule of this program)."""
WHATS = ("days", "uniformity", "roots")
"""What is tried: any day of the week, heads in good order, deeper roots."""


@dataclass(frozen=True, slots=True)
class Tried:
    """One change of a zone that stays dry, and what would come of it.

    `dry_days` are the days of a mean year over those that may be dry; `value` the
    uniformity or the factor on the roots that was tried, 0 for days.
    """

    what: str
    value: float
    dry_days: float


def days_over(
    dry_share: np.ndarray, most_dry: np.ndarray, days: np.ndarray
) -> np.ndarray:
    """Days over those that may be dry, (zone, month), of shares that are; 0 in frost.

    `most_dry` is (zone,), `days` (month,).
    """
    over = np.nan_to_num(dry_share - most_dry[:, None])
    return np.asarray(np.maximum(over, 0.0) * days)


def try_against_dryness(
    plan: SitePlan, cautions: Sequence[Caution]
) -> dict[str, tuple[Tried, ...]]:
    """What would help each zone that stays dry, the best first, all in one planning."""
    zones = plan.site.zones.zone
    dry = {c.zone for c in cautions if c.code == "stays-dry" and c.zone is not None}
    if not dry:
        return {}
    rows = np.array([row for row, zone in enumerate(zones) if zone in dry])
    changed = _changes(plan)
    planned = plan_valves(stack([of_valves(one, rows) for one, _ in changed.values()]))
    days, most_dry = plan.inputs.periods.days, plan.inputs.valve.most_dry[rows]
    now = days_over(plan.plan.dry_share[rows], most_dry, days).sum(axis=1)
    of_change = planned.dry_share.reshape(len(changed), len(rows), -1)
    found: dict[str, tuple[Tried, ...]] = {}
    then = np.stack([days_over(one, most_dry, days).sum(axis=1) for one in of_change])
    for place, row in enumerate(rows.tolist()):
        tried = [
            Tried(what, float(value[row]), float(then[turn, place]))
            for turn, (what, (_, value)) in enumerate(changed.items())
            if then[turn, place] < LEAST_BETTER * now[place]
        ]
        found[zones[row]] = tuple(sorted(tried, key=lambda one: one.dry_days))
    return found


def _changes(plan: SitePlan) -> Mapping[str, tuple[PlanInput, np.ndarray]]:
    """Each change as a planning of all zones, with the value tried for each."""
    inputs, count = plan.inputs, len(plan.inputs.valve)
    ground, better = inputs.ground, reachable_uniformity(plan)
    deeper = what_if(
        inputs,
        total_available_water_mm=[ROOTS_DEEPER * ground.total_available_water_mm],
        allowed_depletion_mm=[ROOTS_DEEPER * ground.allowed_depletion_mm],
    )
    return dict(
        zip(
            WHATS,
            (
                (on_any_day(plan), np.zeros(count)),
                (with_uniformity(inputs, better), better),
                (deeper, np.full(count, ROOTS_DEEPER)),
            ),
            strict=True,
        )
    )
