"""Programs of one stretch: days, starts, percents and zones that waste least."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scheduler.demand.months import DAYS_IN_MONTH
from scheduler.plan.assignment import choose
from scheduler.plan.groups import (
    Group,
    Obstacle,
    Setting,
    applied_steps,
    blocks_of,
)
from scheduler.plan.needs import CardNeeds
from scheduler.plan.patterns import Days, days_to_choose
from scheduler.plan.percents import (
    Bases,
    neighbours,
    percent_choices,
    smallest_bases,
)
from scheduler.plan.sides import longest_side_min
from scheduler.plan.starts import place

_FORBIDDEN = 1e15
"""Cost in liters of what cannot be; a sum of them stays a finite number."""
_PROGRAM_SHARE = 0.0005
"""One more program has to save this share of the stretch's water."""
_PRICES = (0.0, 0.02, 0.1, 0.5, 2.0)
"""Price of time on the clock, tried in turn until the nights hold the programs: share
of a zone's water for a run that fills its night."""
_MOST_ROUNDS = 40


@dataclass(frozen=True, slots=True, eq=False)
class _Options:
    """Days and starts that programs may have, and who may water so.

    `allowed` is (zone, option); `starts_in_month` (option, month of the stretch).
    """

    days: tuple[Days, ...]
    starts: np.ndarray
    slots: np.ndarray
    allowed: np.ndarray
    starts_in_month: np.ndarray
    side_min: np.ndarray


class StretchSearch:
    """Search for the programs of one stretch; what it needs again is kept."""

    def __init__(self, needs: CardNeeds, months: tuple[int, ...]) -> None:
        self.needs = needs
        self.months = months
        self.rows = list(months)
        controller = needs.controller
        self.most_programs = int(controller.programs)
        self.most_starts = int(controller.starts)
        self.by = controller.percent_by
        self.least_share = 1 - controller.shortfall_percent / 100
        need = needs.need_steps[:, self.rows]
        self.active = np.flatnonzero((need > 0).any(axis=1))
        self.need = need[self.active]
        self.never = needs.never[np.ix_(self.active, self.rows)]
        self.step_l = needs.step_l[self.active]

    def find(self) -> Setting | Obstacle:
        """Programs for the stretch, or what stands in the way."""
        if not self.active.size:
            return Setting(self.months, (), (), 0.0)
        percents = self._percents()
        options = self._options(self.most_starts)
        costs = self._costs(options, percents)
        if not self._all_can(costs[0]):
            options = self._options(self.most_starts * self.most_programs)
            costs = self._costs(options, percents)
            missing = np.flatnonzero(~np.isfinite(costs[0]).any(axis=(1, 2)))
            if missing.size:
                return Obstacle("zone", tuple(self.active[missing].tolist()))
        obstacle = Obstacle("programs")
        for price in _PRICES:
            groups = self._groups(options, percents, costs, price)
            if groups is None:
                return obstacle
            setting = self._setting(groups)
            if isinstance(setting, Setting):
                return setting
            obstacle = setting
        return obstacle

    def _all_can(self, cost: np.ndarray) -> bool:
        return bool(np.isfinite(cost).any(axis=(1, 2)).all())

    def _percents(self) -> np.ndarray:
        controller = self.needs.controller
        if self.by == "none":
            return np.full((1, len(self.months)), 100.0)
        a_day = self.need / DAYS_IN_MONTH[self.rows]
        return percent_choices(a_day, controller.percent_step, controller.percent_most)

    def _options(self, most_starts: int) -> _Options:
        """Days and numbers of starts that at least one zone may have."""
        needs = self.needs
        months = [m for i, m in enumerate(self.rows) if (self.need[:, i] > 0).any()]
        choices = days_to_choose(needs.windows, needs.controller.intervals)
        gap = np.where(self.need > 0, needs.gap_limit_days[np.ix_(self.active, self.rows)],
                       np.inf).min(axis=1)  # fmt: skip
        gap = np.maximum(gap, self._shortest_gap(choices, months))
        side = np.array(
            [
                [longest_side_min(needs, days, zone, months) for days in choices]
                for zone in self.active.tolist()
            ]
        )
        longest = np.array([days.first.longest_gap for days in choices])
        allowed = (side > 0) & (longest <= gap[:, None])
        kept = np.flatnonzero(allowed.any(axis=0)).tolist()
        most = 2 if needs.controller.soak_built_in else most_starts
        starts = np.tile(np.arange(1, min(most, most_starts) + 1), len(kept))
        rows = np.repeat(kept, min(most, most_starts)).astype(int)
        dates = np.array([choices[row].first.dates_in_months() for row in kept])
        dates = dates.reshape(-1, 12)[:, self.rows]
        return _Options(
            tuple(choices[row] for row in rows),
            starts,
            -(-starts // self.most_starts),
            allowed[:, rows],
            np.repeat(dates, min(most, most_starts), axis=0) * starts[:, None],
            side[:, rows],
        )

    def _shortest_gap(
        self, choices: Sequence[Days], months: Sequence[int]
    ) -> np.ndarray:
        """Shortest longest gap that each zone's windows leave, in days."""
        windows = self.needs.windows
        gaps = []
        for zone in self.active.tolist():
            rows = {int(self.needs.window[zone, month]) for month in months} - {-1}
            allowed = [
                days.first.longest_gap
                for days in choices
                if all(days.first.permitted(windows[row]) for row in rows)
            ]
            gaps.append(min(allowed, default=99))
        return np.array(gaps)

    def _costs(
        self, options: _Options, percents: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        """Water above the need and share of the night, (zone, option, percents)."""
        needs, count = self.needs, len(self.active)
        shape = (count, len(options.days), len(percents))
        cost = np.full(shape, np.inf)
        load = np.zeros(shape)
        zone, option = np.nonzero(options.allowed)
        if not zone.size:
            return cost, load
        who = self.active[zone]
        starts = options.starts[option]
        most = np.minimum(
            needs.most_steps[who], np.ceil(needs.event_steps[who] / starts)
        )
        bases = smallest_bases(
            self.need[zone][:, None, :],
            options.starts_in_month[option][:, None, :],
            percents[None, :, :],
            self.least_share,
            most[:, None],
        )
        extra = (bases.applied - self.need[zone].sum(axis=1)[:, None]) * self.step_l[
            zone
        ][:, None]
        forbidden = (self.never[zone][:, None, :] & (percents > 0)[None]).any(axis=2)
        night = np.zeros(extra.shape)
        for column in range(extra.shape[1]):
            run = bases.largest_steps[:, column]
            cycle = np.minimum(run, needs.cycle_steps[who])
            soak = needs.soak_min(who, cycle, run * starts)
            run_min = run * needs.minute_step
            span = (starts - 1) * (run_min + soak) + run_min
            side = options.side_min[zone, option]
            forbidden[:, column] |= span > side + 1e-9
            night[:, column] = (starts * run_min + 0.3 * (span - run_min)) / side
        extra[forbidden] = np.inf
        cost[zone, option] = extra
        load[zone, option] = night
        return cost, load

    def _groups(
        self,
        options: _Options,
        percents: np.ndarray,
        costs: tuple[np.ndarray, np.ndarray],
        price: float,
    ) -> list[Group] | None:
        """Groups of least cost at a price of time, their percents then refined."""
        extra, load = costs
        water = self.need.sum(axis=1) * self.step_l
        # Fewer starts and fewer days are simpler: they win where nothing else counts.
        simple = 1e-6 * (options.starts_in_month.sum(axis=1))[None, :, None]
        cost = extra + water[:, None, None] * (price * load + simple)
        cost = np.where(np.isfinite(cost), cost, _FORBIDDEN)
        a_program = _PROGRAM_SHARE * float(water.sum())
        shapes = range(len(percents))
        if self.by == "program":
            flat = cost.reshape(len(cost), -1)
            slots = np.repeat(options.slots, len(percents))
            chosen, total = choose(flat, slots, self.most_programs, a_program)
            picked = [divmod(c, len(percents)) for c in chosen]
            best = flat[:, chosen]
        else:
            tried = [
                choose(cost[:, :, q], options.slots, self.most_programs, a_program)
                for q in shapes
            ]
            q = min(shapes, key=lambda q: tried[q][1])
            chosen, total = tried[q]
            picked = [(c, q) for c in chosen]
            best = cost[:, chosen, q]
        if total >= _FORBIDDEN:
            return None
        owner = best.argmin(axis=1)
        found = []
        for column, (option, q) in enumerate(picked):
            mine = np.flatnonzero(owner == column)
            if mine.size:
                found.append((option, percents[q], mine))
        return self._refined(options, found)

    def _refined(
        self, options: _Options, found: list[tuple[int, np.ndarray, np.ndarray]]
    ) -> list[Group] | None:
        """Groups with percents moved step by step while that saves water."""
        if self.by == "controller":
            option = np.concatenate([np.full(len(z), o) for o, _, z in found])
            zones = np.concatenate([z for _, _, z in found])
            percent = self._descend(options, option, zones, found[0][1])
            found = [(o, percent, z) for o, _, z in found]
        elif self.by == "program":
            found = [
                (o, self._descend(options, np.full(len(z), o), z, p), z)
                for o, p, z in found
            ]
        groups = []
        for o, percent, zones in found:
            option = np.full(len(zones), o)
            bases = self._bases(options, option, zones, percent[None])
            if not np.isfinite(bases.applied).all():
                return None
            groups.append(
                Group(
                    options.days[o],
                    int(options.starts[o]),
                    percent,
                    tuple(self.active[zones].tolist()),
                    bases.base_steps[:, 0],
                )
            )
        return groups

    def _bases(
        self,
        options: _Options,
        option: np.ndarray,
        zones: np.ndarray,
        percents: np.ndarray,
    ) -> Bases:
        who = self.active[zones]
        most = np.minimum(
            self.needs.most_steps[who],
            np.ceil(self.needs.event_steps[who] / options.starts[option]),
        )
        return smallest_bases(
            self.need[zones][:, None, :],
            options.starts_in_month[option][:, None, :],
            percents[None, :, :],
            self.least_share,
            most[:, None],
        )

    def _descend(
        self,
        options: _Options,
        option: np.ndarray,
        zones: np.ndarray,
        percent: np.ndarray,
    ) -> np.ndarray:
        controller = self.needs.controller
        weight = self.step_l[zones][:, None]
        best = math.inf
        for _ in range(_MOST_ROUNDS):
            tries = neighbours(percent, controller.percent_step, controller.percent_most)
            bases = self._bases(options, option, zones, tries)
            totals = (bases.applied * weight).sum(axis=0)
            if best is math.inf:
                best = float(totals[0])
            row = int(totals.argmin())
            if not totals[row] < best * (1 - 1e-9):
                break
            best, percent = float(totals[row]), tries[row]
        return percent

    def _setting(self, groups: Sequence[Group]) -> Setting | Obstacle:
        """The groups with days and start times, or that the hours do not hold them."""
        blocks = [blocks_of(self.needs, group, self.months) for group in groups]
        placed = place(blocks)
        if placed is None:
            return Obstacle("hours")
        applied = sum(
            float(
                (applied_steps(group, self.months).sum(axis=1)
                 * self.needs.step_l[list(group.zones)]).sum()
            )
            for group in groups
        )  # fmt: skip
        return Setting(self.months, tuple(groups), placed, applied)
