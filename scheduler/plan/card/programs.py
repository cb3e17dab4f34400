"""Programs of one stretch: days, starts, percents and zones that waste least."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from scheduler.calendar import DAYS_IN_MONTH
from scheduler.plan.card.grouping import (
    Column,
    Grouping,
    Options,
    Wants,
    choose,
    fit,
)
from scheduler.plan.card.midnight import longest_side_min, use_of
from scheduler.plan.card.needs import CardNeeds
from scheduler.plan.card.percents import neighbours, percent_choices, percents_for_runs
from scheduler.plan.card.settings import Obstacle, Setting, applied_steps, blocks_of
from scheduler.plan.card.starts import place
from scheduler.plan.card.stretches import STRETCHES, YEAR
from scheduler.plan.times.patterns import days_to_choose
from scheduler.rounding import ceil_

_FORBIDDEN = 1e15
"""Cost in liters of what cannot be; a sum of them stays a finite number."""

# The shares and counts below are ours: what water someone would give for a card that is
# simpler to key in. Their effect was measured on the three examples, for one and for
# four visits a year, in points of the extra water and in programs over all visits.

_PROGRAM_SHARE = 0.0005
"""One more program has to save this share of the stretch's water. None to be saved: 24
programs for 14, and 0.2 points less water; ten times the share: 8 for 14, up to 0.4
points more."""
_OFTEN_SHARE, _START_SHARES = 0.01, (0.001, 0.01, 0.1)
"""Twice the dates, or one more start, have to save this share of a zone's water; a
start more is tried cheap and dear. Half or double these moves the extra water by up to
0.4 points, and starts by up to three of 17."""
TRIFLE_SHARE = 0.0005
"""Less than this share of the year's need is not worth a start or a visit more: a
twentieth of a percent is far under what a meter, or a valve's timing, can tell."""
_PRICES = (0.0, 0.05, 0.5)
"""Price of time on the clock, tried in turn until the nights hold the programs: share
of a zone's water for a run that fills its night. Other prices move the extra water by
up to 0.5 points either way, and on one example only; without any it is 0.4 points less
or more there."""
_MOST_ROUNDS = 40
"""Steps down the percents: half or twice as many change no card of the examples."""
_MOST_LIKE = 8
"""Settings of like stretches to try: 4 or 16 change no card of the examples."""
_MANY_STARTS = 24
"""Starts of a zone beyond a program's own, in several programs alike: 12 would do."""
_FEW_STEPS = 30
"""Runs of fewer steps than this are rounded by 2 % or more (half a step of 30); 15 or
60 change no card of the examples."""


class StretchSearch:
    """Search for the programs of one stretch; what it needs again is kept."""

    def __init__(self, needs: CardNeeds, months: tuple[int, ...]) -> None:
        self.needs = needs
        self.months = months
        self.rows = np.array(months, dtype=int)
        controller = needs.controller
        self.most_programs = int(controller.programs)
        self.most_starts = int(controller.starts)
        several = self.most_starts * self.most_programs
        self.most_starts_of_zone = max(self.most_starts, min(several, _MANY_STARTS))
        self.by = controller.percent_by
        need = needs.need_steps[:, self.rows]
        self.active = np.flatnonzero((need > 0).any(axis=1))
        self.need = need[self.active]
        self.never = needs.never[np.ix_(self.active, self.rows)]
        self.step_l = needs.step_l[self.active]
        self.known_options: dict[int, Options] = {}
        self.zones = Wants(needs, months, self.active, self.need, self.never)

    def find(self) -> Setting | Obstacle:
        """Programs for the stretch, or what stands in the way."""
        if not self.active.size:
            return Setting(self.months, (), (), 0.0)
        options = self.options(self.most_starts)
        percents = self._percents(options)
        costs = self._costs(options, percents)
        if not self._all_can(costs[0]):
            options = self.options(self.most_starts_of_zone)
            percents = self._percents(options)
            costs = self._costs(options, percents)
            missing = np.flatnonzero(~np.isfinite(costs[0]).any(axis=(1, 2)))
            if missing.size:
                return Obstacle("zone", tuple(self.active[missing].tolist()))
        found = self._cheapest(options, percents, costs, _START_SHARES[0])
        for a_start in _START_SHARES[1:]:
            if isinstance(found, Setting):
                other = self._cheapest(options, percents, costs, a_start)
                found = self._simpler(found, other)
        return found

    def _simpler(self, known: Setting, other: Setting | Obstacle) -> Setting:
        """The other setting, if it has fewer starts and takes no more than a trifle.

        All stretches of a year together take no more than a trifle of its need.
        """
        if isinstance(other, Obstacle) or other.starts >= known.starts:
            return known
        year_l = float((self.needs.need_steps.sum(axis=1) * self.needs.step_l).sum())
        trifle_l = TRIFLE_SHARE * year_l * len(self.months) / YEAR
        more_l = other.applied_l - known.applied_l
        return other if more_l <= trifle_l else known

    def _cheapest(
        self,
        options: Options,
        percents: np.ndarray,
        costs: tuple[np.ndarray, np.ndarray],
        a_start: float,
    ) -> Setting | Obstacle:
        """Programs of least water where one more start has a price."""
        obstacle = Obstacle("programs")
        for price in _PRICES:
            grouping = self._grouping(options, percents, costs, price, a_start)
            if grouping is None:
                return obstacle
            setting = self._setting(self._refined(grouping))
            if isinstance(setting, Obstacle):
                setting = self._repaired(grouping)
            if isinstance(setting, Setting):
                return setting
            obstacle = setting
        return obstacle

    def find_like(self, other: Setting) -> Setting | Obstacle:
        """Programs with the days, starts and zones of another stretch's, if they do."""
        options = self.options(self.most_starts_of_zone)
        percents = self._percents(options)
        chosen: list[int] = []
        owner = np.full(len(self.active), -1)
        for group in other.groups:
            same = [
                row
                for row, days in enumerate(options.days)
                if days == group.days and options.starts[row] == group.starts
            ]
            if same:
                owner[np.isin(self.active, group.zones)] = len(chosen)
                chosen.append(same[0])
        if not chosen:
            return Obstacle("programs")
        everyone = np.arange(len(self.active))
        cost = np.stack(
            [
                self.zones.bases(
                    options, np.full(len(everyone), option), everyone, percents
                ).applied
                * self.step_l[:, None]
                for option in chosen
            ]
        )
        owner = np.where(owner < 0, cost.min(axis=2).argmin(axis=0), owner)
        shape = self._best_shapes(cost, owner)
        columns = [Column(o, percents[q]) for o, q in zip(chosen, shape, strict=True)]
        grouping = Grouping(self.zones, options, columns, owner).without_empty()
        if not grouping.can():
            return Obstacle("programs")
        setting = self._setting(self._refined(grouping))
        if isinstance(setting, Setting):
            return setting
        setting = self._setting(grouping)
        return setting if isinstance(setting, Setting) else self._repaired(grouping)

    def _best_shapes(self, cost: np.ndarray, owner: np.ndarray) -> list[int]:
        """Percents of each program that suit its zones; one for all if they share."""
        totals = [cost[row][owner == row].sum(axis=0) for row in range(len(cost))]
        if self.by == "program":
            return [int(total.argmin()) for total in totals]
        return [int(sum(totals).argmin())] * len(cost)

    def _repaired(self, grouping: Grouping) -> Setting | Obstacle:
        """Zones moved and programs split until the hours hold them."""
        fitted = fit(grouping)
        if fitted is None:
            return self._setting(grouping)
        setting = self._setting(self._refined(fitted))
        return setting if isinstance(setting, Setting) else self._setting(fitted)

    def _all_can(self, cost: np.ndarray) -> bool:
        return bool(np.isfinite(cost).any(axis=(1, 2)).all())

    def _percents(self, options: Options) -> np.ndarray:
        """Percents worth trying, (shape, month): those that follow some zone's needs.

        For zones of few steps a run, whole steps count for more than the needs do: for
        them come the percents of their least runs, on many waterings and on fewer.
        """
        controller = self.needs.controller
        if self.by == "none":
            return np.full((1, len(self.months)), 100.0)
        a_day = self.need / DAYS_IN_MONTH[self.rows]
        step, most = controller.percent_step, controller.percent_most
        shapes = percent_choices(a_day, step, most)
        share = 1 - controller.shortfall_percent / 100
        for row in np.nonzero(self.needs.most_steps[self.active] < _FEW_STEPS)[0]:
            able = np.nonzero(options.allowed[row])[0]
            by_count = able[np.argsort(options.starts_in_month[able].sum(axis=1))]
            for option in dict.fromkeys(
                by_count[len(able) // 2 :: max(len(able), 2) // 2]
            ):
                runs = ceil_(share * self.need[row] / options.starts_in_month[option])
                shapes = np.vstack([shapes, percents_for_runs(runs, step)])
        shapes = np.vstack([shapes, shapes.max(axis=0)])
        return np.unique(shapes[(shapes <= most + 1e-9).all(axis=1)], axis=0)

    def options(self, most_starts: int) -> Options:
        """Days and numbers of starts that at least one zone may have."""
        needs = self.needs
        if most_starts in self.known_options:
            return self.known_options[most_starts]
        months = [m for i, m in enumerate(self.months) if (self.need[:, i] > 0).any()]
        choices = days_to_choose(needs.windows, needs.controller.intervals)
        gap = needs.gap_limit_days[np.ix_(self.active, self.rows)]
        gap = np.where(self.need > 0, gap, np.inf).min(axis=1)
        side = np.array(
            [
                [longest_side_min(needs, days, use) for days in choices]
                for use in (use_of(needs, [z], months) for z in self.active.tolist())
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
        self.known_options[most_starts] = Options(
            tuple(choices[row] for row in rows),
            starts,
            -(-starts // self.most_starts),
            allowed[:, rows],
            np.repeat(dates, min(most, most_starts), axis=0) * starts[:, None],
            side[:, rows],
        )
        return self.known_options[most_starts]

    def _costs(
        self, options: Options, percents: np.ndarray
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
        bases = self.zones.bases(options, option, zone, percents)
        extra = (bases.applied - self.need[zone].sum(axis=1)[:, None]) * self.step_l[
            zone
        ][:, None]
        forbidden = np.isinf(bases.applied)
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

    def _grouping(
        self,
        options: Options,
        percents: np.ndarray,
        costs: tuple[np.ndarray, np.ndarray],
        price: float,
        a_start: float,
    ) -> Grouping | None:
        """Programs of least cost at a price of time; None where they are too few."""
        extra, load = costs
        water = self.need.sum(axis=1) * self.step_l
        simple = self._habits(options, a_start)[:, :, None]
        cost = extra + water[:, None, None] * (price * load + simple)
        cost = np.where(np.isfinite(cost), cost, _FORBIDDEN)
        a_program = _PROGRAM_SHARE * float(water.sum())
        shapes = range(len(percents))
        if self.by == "program":
            flat = cost.reshape(len(cost), -1)
            slots = np.repeat(options.slots, len(percents))
            chosen, total = choose(flat, slots, self.most_programs, a_program)
            picked = [divmod(c, len(percents)) for c in chosen]
        else:
            tried = [
                choose(cost[:, :, q], options.slots, self.most_programs, a_program)
                for q in shapes
            ]
            q = min(shapes, key=lambda q: tried[q][1])
            picked, total = [(c, q) for c in tried[q][0]], tried[q][1]
        if total >= _FORBIDDEN:
            return None
        owner = np.stack([cost[:, o, q] for o, q in picked]).argmin(axis=0)
        columns = [Column(o, percents[q]) for o, q in picked]
        return Grouping(self.zones, options, columns, owner).without_empty()

    def _habits(self, options: Options, a_start: float) -> np.ndarray:
        """Price of many days and many starts, as a share of a zone's water.

        Seldom and deep is better for roots, and one start is simpler than four; so
        neither is given up for a trifle of water.
        """
        dates = options.starts_in_month.sum(axis=1) / options.starts
        fewest = np.where(options.allowed, dates, np.inf).min(axis=1, keepdims=True)
        fewest = np.where(np.isfinite(fewest), fewest, 1.0)
        often = np.maximum(dates / fewest - 1, 0.0)
        return np.asarray(_OFTEN_SHARE * often + a_start * (options.starts - 1))

    def _refined(self, grouping: Grouping) -> Grouping:
        """The same programs, percents moved step by step while that saves water."""
        if self.by == "none":
            return grouping
        parts = (
            [list(range(len(grouping.columns)))]
            if self.by == "controller"
            else [[row] for row in range(len(grouping.columns))]
        )
        columns = list(grouping.columns)
        for part in parts:
            zones = np.flatnonzero(np.isin(grouping.owner, part))
            option = np.array([columns[c].option for c in grouping.owner[zones]])
            percent = self._descend(
                grouping.options, option, zones, columns[part[0]].percent
            )
            for row in part:
                columns[row] = Column(columns[row].option, percent)
        return replace(grouping, columns=columns)

    def _descend(
        self,
        options: Options,
        option: np.ndarray,
        zones: np.ndarray,
        percent: np.ndarray,
    ) -> np.ndarray:
        controller = self.needs.controller
        weight = self.step_l[zones][:, None]
        best = math.inf
        for _ in range(_MOST_ROUNDS):
            tries = neighbours(
                percent, controller.percent_step, controller.percent_most
            )
            bases = self.zones.bases(options, option, zones, tries)
            totals = (bases.applied * weight).sum(axis=0)
            best = min(best, float(totals[0]))
            row = int(totals.argmin())
            if not totals[row] < best * (1 - 1e-9):
                break
            percent = tries[row]
        return percent

    def _setting(self, grouping: Grouping) -> Setting | Obstacle:
        """The groups with days and start times, or that the hours do not hold them."""
        groups = grouping.groups()
        blocks = [blocks_of(self.needs, group, self.months) for group in groups]
        layout = place(blocks)
        left = layout.left
        if left:
            over = max(blocks[row].starts * blocks[row].minutes for row in left)
            zones = tuple(zone for row in left for zone in groups[row].zones)
            return Obstacle("hours", zones, over)
        applied = sum(
            float(
                (applied_steps(group, self.months).sum(axis=1)
                 * self.needs.step_l[list(group.zones)]).sum()
            )
            for group in groups
        )  # fmt: skip
        placed = tuple(found for found in layout.placed if found is not None)
        return Setting(self.months, tuple(groups), placed, applied)


def find_settings(needs: CardNeeds) -> dict[tuple[int, ...], Setting | Obstacle]:
    """Setting of each of the 133 stretches, or what stands in the way.

    Months in which no zone wants water get 0 % and change nothing else, so stretches
    that differ in them alone are searched once. Without percents they do count.
    """
    wanted = np.any(needs.need_steps > 0, axis=0).tolist()
    has_percents = needs.controller.percent_by != "none"
    known: dict[tuple[int, ...], Setting | Obstacle] = {}
    key_of = {}
    for months in STRETCHES:
        own = tuple(month for month in months if wanted[month])
        own = own if has_percents or not own else months
        key = min(own[row:] + own[:row] for row in range(len(own) or 1))
        key_of[months] = key
        if key not in known:
            known[key] = StretchSearch(needs, key).find()
    _find_by_likeness(needs, known)
    return {months: _over(known[key], months) for months, key in key_of.items()}


def _find_by_likeness(
    needs: CardNeeds, known: dict[tuple[int, ...], Setting | Obstacle]
) -> None:
    """Try the settings of like stretches where a stretch's own search found none."""
    for key in [key for key, found in known.items() if isinstance(found, Obstacle)]:
        search = StretchSearch(needs, key)
        others = [found for found in known.values() if isinstance(found, Setting)]
        others.sort(key=lambda found: len(set(found.months) ^ set(key)))
        for other in others[:_MOST_LIKE]:
            setting = search.find_like(other)
            if isinstance(setting, Setting):
                known[key] = setting
                break


def _over(setting: Setting | Obstacle, months: tuple[int, ...]) -> Setting | Obstacle:
    """The same setting with 0 % in the months that it does not tell of."""
    if isinstance(setting, Obstacle):
        return setting
    groups = []
    for group in setting.groups:
        percent = dict(zip(setting.months, group.percent.tolist(), strict=True))
        full = np.array([percent.get(month, 0.0) for month in months])
        groups.append(replace(group, percent=full))
    return replace(setting, months=months, groups=tuple(groups))
