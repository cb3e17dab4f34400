"""Parts that share a valve: what each gets too much, and what would spare it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from scheduler.balance.ground import Ground
from scheduler.cautions import Caution
from scheduler.plan.inputs import PlanInput, apart, of_valves, stack
from scheduler.plan.planning import plan_valves
from scheduler.plan.site import SitePlan
from scheduler.plan.table import parts_of_shared_valves

LEAST_RATE, MOST_RATE = 0.4, 0.95
"""Rates over that of the part that decides, between which other heads on a part are
looked at: hardly any head gives less, and a twentieth is within its tolerance (rule of
this program)."""
LEAST_TOLD = 0.01
"""Share of a zone's water that valves of their own have to save to be told (rule of
this program)."""


@dataclass(frozen=True, slots=True, eq=False)
class SharedValve:
    """A zone whose parts share a valve, and what they would take otherwise.

    `parts` are rows of ground; `decides` that of the busiest month. `now_l` and
    `alone_l` (part,) are a year's water of each part as it is, and on a valve of its
    own; `apart_l` (month,) that of all parts on valves of their own. `rate_share`
    (part,) are rates over that of the part that decides, with which `heads_l` (month,)
    would do on one valve; None where no other heads are worth a look.
    """

    zone: int
    parts: np.ndarray
    decides: int
    now_l: np.ndarray
    alone_l: np.ndarray
    apart_l: np.ndarray
    rate_share: np.ndarray | None
    heads_l: np.ndarray | None

    @property
    def too_much_l(self) -> np.ndarray:
        """Water a year that each part gets beyond what it would alone, (part,)."""
        return np.maximum(self.now_l - self.alone_l, 0.0)

    @property
    def most(self) -> int:
        """Row in `parts` of the one that gets most too much."""
        return int(np.argmax(self.too_much_l))


def shared_valves(plan: SitePlan) -> tuple[SharedValve, ...]:
    """Every zone of several parts, each found by planning it otherwise."""
    shared = [*parts_of_shared_valves(plan.inputs.ground.valve)]
    if not shared:
        return ()
    zones = plan.inputs.ground.valve[[parts.start for parts in shared]]
    several = of_valves(plan.inputs, zones)
    alone = plan_valves(apart(several)).volume_l
    leads = plan.leads
    ends = np.cumsum([parts.stop - parts.start for parts in shared])
    of_zone = np.split(alone, ends[:-1])
    found = []
    for zone, parts, volume_l in zip(zones.tolist(), shared, of_zone, strict=True):
        rows = np.arange(parts.start, parts.stop)
        found.append(
            SharedValve(
                zone,
                rows,
                int(leads[zone]),
                plan.by_part.volume_l[rows].sum(axis=1),
                volume_l.sum(axis=1),
                volume_l.sum(axis=0),
                None,
                None,
            )
        )
    return tuple(_with_other_heads(plan, found))


def _with_other_heads(
    plan: SitePlan, found: list[SharedValve]
) -> Iterator[SharedValve]:
    """The same with other heads on the parts that need less, planned together."""
    shares = [_rates(plan.inputs.ground, one) for one in found]
    worth = [row for row, share in enumerate(shares) if (share < 1).any()]
    if not worth:
        yield from found
        return
    changed = [_on_one_valve(plan.inputs, found[row], shares[row]) for row in worth]
    planned = plan_valves(stack(changed)).volume_l
    place = {row: turn for turn, row in enumerate(worth)}
    for row, one in enumerate(found):
        if row in place:
            one = replace(one, rate_share=shares[row], heads_l=planned[place[row]])
        yield one


def _rates(ground: Ground, one: SharedValve) -> np.ndarray:
    """Rates that would suit the parts, over that of the part that decides, (part,)."""
    # Share and rate are those of the parts as they are.
    depth = one.alone_l / ground.share[one.parts]
    lead = depth[one.parts == one.decides]
    own = ground.rate_share[one.parts]
    now = own / own[one.parts == one.decides]
    wanted = np.clip(depth / np.maximum(lead, 1e-9), LEAST_RATE, 1.0)
    return np.where(wanted < MOST_RATE * now, wanted, now)


def _on_one_valve(
    inputs: PlanInput, one: SharedValve, rate_share: np.ndarray
) -> PlanInput:
    """A zone with heads of other rates on its parts; the one that decides keeps its."""
    alone = of_valves(inputs, np.array([one.zone]))
    ground, valve = alone.ground, alone.valve
    decides = one.parts == one.decides
    rate = rate_share * ground.rate_share[decides]
    mean = float(rate @ ground.share)
    return replace(
        alone,
        ground=replace(ground, rate_share=rate / mean),
        valve=replace(
            valve,
            rate_mm_h=valve.rate_mm_h * mean,
            peak_rate_mm_h=valve.peak_rate_mm_h * mean,
            flow_l_min=valve.flow_l_min * mean,
        ),
    )


def sharing(plan: SitePlan, one: SharedValve) -> Caution | None:
    """What sharing a valve costs a zone; None where that is next to nothing."""
    part, now_l = int(one.parts[one.most]), plan.plan.volume_l[one.zone].sum()
    apart_l = float(now_l - one.apart_l.sum())
    if apart_l < LEAST_TOLD * now_l or part == one.decides:
        return None
    heads_l = rate_mm_h = None
    if one.heads_l is not None and one.rate_share is not None:
        heads_l = float(now_l - one.heads_l.sum())
        rate_mm_h = rate_of_part(plan, one.decides) * float(one.rate_share[one.most])
        if heads_l < LEAST_TOLD * now_l or one.rate_share[one.most] == 1:
            heads_l = rate_mm_h = None
    too_much_l = float(one.too_much_l[one.most])
    names = plan.stands_on.name
    values = {
        "decides": names[one.decides],
        "part": names[part],
        "too_much_l": too_much_l,
        "too_much_share": too_much_l / max(float(one.alone_l[one.most]), 1e-9),
        "apart_saves_l": apart_l,
        "heads_save_l": heads_l,
        "heads_mm_h": rate_mm_h,
    }
    zone = plan.site.zones.zone[one.zone]
    return Caution("parts-share-valve", zone, None, values)


def rate_of_part(plan: SitePlan, part: int) -> float:
    """Precipitation rate on a part, in mm/h."""
    ground, valve = plan.inputs.ground, plan.inputs.valve
    return float(valve.rate_mm_h[ground.valve[part]] * ground.rate_share[part])
