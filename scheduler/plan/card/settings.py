"""Groups of zones that one program waters, and what they take on the clock."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from scheduler.calendar import EVEN, ODD, S_PER_MIN
from scheduler.plan.card.midnight import choices_of, use_of
from scheduler.plan.card.needs import CardNeeds
from scheduler.plan.card.percents import run_steps
from scheduler.plan.card.starts import PAUSE_MIN, Beside, Blocks, Placed
from scheduler.plan.times.patterns import AlikePatterns, patterns


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """Zones that one program waters: rows of zones, days, starts and percents.

    `percent` is along the stretch's months, `base_steps` along `zones`. More starts
    than a program has stand in two programs or more, with the same zones.
    """

    days: AlikePatterns
    starts: int
    percent: np.ndarray
    zones: tuple[int, ...]
    base_steps: np.ndarray

    def runs(self) -> np.ndarray:
        """Runs of a start in whole steps, (zone, month of the stretch)."""
        return run_steps(self.base_steps[:, None], self.percent)

    def largest_runs(self) -> np.ndarray:
        """Runs at the stretch's largest percent, in whole steps."""
        return run_steps(self.base_steps, self.percent.max())


@dataclass(frozen=True, slots=True, eq=False)
class Setting:
    """What the controller holds for a stretch of months: groups and their places.

    `cost` is what the zones come to by the prices of the search, in liters.
    """

    months: tuple[int, ...]
    groups: tuple[Group, ...]
    placed: tuple[Placed, ...]
    cost: float


def off_where_nothing_runs(setting: Setting, percent_by: str) -> Setting:
    """The same runs, with percents of 0 where all runs that they scale round to none.

    On a controller that keeps seconds such a percent would water; 0 does nowhere.
    """
    groups = setting.groups
    runs = np.array([group.runs().any(axis=0) for group in groups])
    if percent_by == "controller" and groups:
        runs[:] = runs.any(axis=0)
    keyed = [
        replace(group, percent=np.where(of_group, group.percent, 0.0))
        for group, of_group in zip(groups, runs, strict=True)
    ]
    return replace(setting, groups=tuple(keyed))


def blocks_of(needs: CardNeeds, group: Group, months: Sequence[int]) -> Blocks:
    """A group on the clock, at the largest percent of its stretch.

    A controller runs the zones of a program in the order of their stations.
    """
    order = np.argsort(needs.station[list(group.zones)], kind="stable")
    zones = [group.zones[row] for row in order]
    runs = group.largest_runs()[order]
    own = [m for m, p in zip(months, group.percent.tolist(), strict=True) if p > 0]
    cycles = np.minimum(runs, needs.cycle_steps[zones])
    if not needs.controller.soak_built_in:
        cycles = runs
    soaks = needs.soak_min(zones, cycles, runs * group.starts)
    minutes = _block_min(needs, runs, cycles, soaks)
    together = float((cycles * needs.minute_step + soaks).max())
    if needs.controller.soak_built_in:
        together = minutes + float(soaks.max())
    return Blocks(
        group.starts,
        math.ceil(minutes - 1e-9),
        math.ceil(max(minutes + PAUSE_MIN, together) - 1e-9),
        choices_of(needs, group.days, use_of(needs, zones, own)),
        _beside(needs, zones),
    )


def _beside(needs: CardNeeds, zones: Sequence[int]) -> Beside | None:
    """What a program takes of controller and supply, where several zones may run."""
    at_once = int(needs.controller.zones_at_once)
    if at_once == 1:
        return None
    flow = float(needs.flow_l_min[list(zones)].max())
    return Beside(frozenset(zones), flow, needs.most_flow_l_min, at_once)


def with_other_dates(needs: CardNeeds, group: Group, months: Sequence[int]) -> Blocks:
    """A group on the clock that may take even dates for odd ones, or odd for even.

    What is free in its dates then keeps clear of what is not. So many days a week have
    the shortest longest gap there is; a day longer or shorter than on its own dates.
    """
    days, parity = group.days, group.days.first.parity
    if not parity:
        return blocks_of(needs, group, months)
    others = [p for p in patterns(ODD + EVEN - parity, intervals=False)
              if p.size == days.first.size]  # fmt: skip
    gap = min(pattern.longest_gap for pattern in others)
    alike = (*days.alike, *(p for p in others if p.longest_gap == gap))
    return blocks_of(needs, replace(group, days=AlikePatterns(alike)), months)


def _block_min(
    needs: CardNeeds, runs: np.ndarray, cycles: np.ndarray, soaks: np.ndarray
) -> float:
    """Minutes from a start until the next program may start."""
    gap_min = needs.controller.gap_s / S_PER_MIN
    waters = runs > 0
    if not needs.controller.soak_built_in:
        return float((runs * needs.minute_step + gap_min)[waters].sum())
    return rounds_min(
        (runs * needs.minute_step)[waters].tolist(),
        (cycles * needs.minute_step)[waters].tolist(),
        soaks[waters].tolist(),
        gap_min,
    )


def rounds_min(
    runs_min: Sequence[float],
    cycles_min: Sequence[float],
    soaks_min: Sequence[float],
    gap_min: float,
) -> float:
    """Minutes that a controller takes which splits runs into cycle and soak itself.

    It goes through its zones in rounds, each round one cycle of every zone that has
    minutes left, and waits where a zone's soak is not over.
    """
    left = list(runs_min)
    ready = [0.0] * len(left)
    now = 0.0
    while any(minutes > 1e-9 for minutes in left):
        for row, minutes in enumerate(left):
            if minutes > 1e-9:
                run = min(cycles_min[row], minutes)
                now = max(now, ready[row]) + run
                left[row] -= run
                ready[row] = now + soaks_min[row]
                now += gap_min
    return now
