"""Programs of one stretch: which zones drink together, on which days, how long."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from scheduler.plan.card.percents import Fit, best_bases, best_fit, best_percents
from scheduler.plan.card.prices import A_START, BY_HAND, OFTEN, Prices
from scheduler.plan.card.settings import Group, blocks_of
from scheduler.plan.card.starts import Blocks

_PROGRAM_SHARE = 0.0005
"""One more program has to save this share of the stretch's water."""
_MOST_ROUNDS = 6
"""Times that zones are dealt out anew and programs fitted to them."""
_MOST_DAYS = 4
"""Sets of days tried for a program whose zones are known."""
_MOST_SEEDS = 4
"""Zones tried as the first of a new program: those that lose most in theirs."""
_FEW_PROGRAMS = 2
"""With so few, one program for all zones is tried as well."""
NO_PROGRAM = -1


@dataclass(frozen=True, slots=True, eq=False)
class Column:
    """A program: row of the options, and percents along the stretch's months."""

    option: int
    percent: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Grouping:
    """Programs of a stretch, and the one that waters each zone.

    `owner` and `base_steps` are (zone,), NO_PROGRAM and 0 where none does; `cost`
    (zone,) is what each zone comes to.
    """

    months: tuple[int, ...]
    columns: tuple[Column, ...]
    owner: np.ndarray
    base_steps: np.ndarray
    cost: np.ndarray

    @property
    def total(self) -> float:
        """What all zones come to."""
        return float(self.cost.sum())


class StretchSearch:
    """Search for the programs of a stretch of months (rows, January 0).

    `time` is what run time costs on top, in shares of the water that it lays down:
    where the nights are short it makes programs that take less of them.
    """

    def __init__(
        self,
        prices: Prices,
        months: Sequence[int],
        time: float = 0.0,
        most_programs: int | None = None,
    ) -> None:
        self.whole = prices
        self.prices = prices.with_time_at(time) if time else prices
        self.months = tuple(months)
        self.rows = np.array(self.months, dtype=np.intp)
        needs, options = prices.needs, prices.options
        self.by = needs.controller.percent_by
        self.a_controllers_starts = int(needs.controller.starts)
        self.most_programs = most_programs or int(needs.controller.programs)
        self.no_program = self._without_program()
        share = len(self.months) / 12
        dates = options.dates[:, self.rows].sum(axis=1) / options.starts
        habit = OFTEN * np.log2(np.maximum(dates / max(len(months), 1), 1.0))
        self.habit = share * (habit + A_START * (options.starts - 1))
        year_l = self.prices.year_l
        self.least = self.prices.least[:, :, self.rows].sum(axis=2)
        self.least = self.least + self.habit * year_l[:, None]
        self.a_program = _PROGRAM_SHARE * share * float(year_l.sum())
        self.open_min = prices.open_min[:, self.rows]
        self._blocks: dict[tuple[Any, ...], Blocks] = {}
        self.wanting = np.flatnonzero(self.least.min(axis=1) < self.no_program)

    def _without_program(self) -> np.ndarray:
        """What zones cost that no program waters; some can be started by hand."""
        prices, needs = self.prices, self.prices.needs
        off = prices.off_through(self.rows)
        a_start = needs.table_l[:, self.rows] + BY_HAND * prices.month_l[:, None]
        waters = needs.waters[:, self.rows]
        hand = np.where(waters, a_start, prices.off[:, self.rows]).sum(axis=1)
        seldom = needs.by_hand[:, self.rows] | ~waters
        self.by_hand = (
            (waters & seldom).any(axis=1)
            & seldom.all(axis=1)
            & (hand < off.sum(axis=1))
        )
        return np.where(self.by_hand, hand, off.sum(axis=1))

    def blocks(self, group: Group) -> Blocks:
        """A group on the clock; a search asks for the same one many times."""
        key = (group.zones, group.starts, id(group.days), group.base_steps.tobytes(),
               group.percent.tobytes())  # fmt: skip
        if key not in self._blocks:
            self._blocks[key] = blocks_of(self.prices.needs, group, self.months)
        return self._blocks[key]

    def rough(self) -> Grouping:
        """Programs that are found at once: zones by their days, and no better tried."""
        return self._settled(self._first())

    def find(self) -> Grouping:
        """Programs of about least cost; of none where no zone wants any."""
        if not self.wanting.size:
            return self._grouping((), np.full(len(self.no_program), NO_PROGRAM))
        found = self._dealt(self._settled(self._first()))
        if self.most_programs <= _FEW_PROGRAMS:
            found = min(found, *self._all_together(), key=self.score)
        while True:
            better = self._one_more(found) or self._one_fewer(found)
            if better is None:
                return found
            found = better

    def _all_together(self) -> Iterator[Grouping]:
        """All zones in one program, on each set of days."""
        every = len(self.prices.choices)
        for option in self._likely(self.wanting, self.most_programs, every):
            yield self._dealt(self._settled([(option, self.wanting)]))

    def _likely(
        self, zones: np.ndarray, room: int, most: int = _MOST_DAYS
    ) -> list[int]:
        """Options of least cost for some zones, one for each set of days."""
        options = self.prices.options
        total = self.least[zones].sum(axis=0)
        total = np.where(options.slots <= room, total, np.inf)
        order = np.argsort(total, kind="stable")
        _, first = np.unique(options.day[order], return_index=True)
        likely = order[np.sort(first)[:most]]
        return [int(option) for option in likely if np.isfinite(total[option])]

    def slots(self, columns: Sequence[Column]) -> int:
        """Programs of the controller that some columns take up."""
        return int(sum(self.prices.options.slots[c.option] for c in columns))

    def score(self, grouping: Grouping) -> float:
        """Cost with the price of programs, days and starts."""
        option = np.array([c.option for c in grouping.columns], dtype=np.intp)
        owner = grouping.owner
        mine = np.flatnonzero(owner != NO_PROGRAM)
        habit = self.habit[option[owner[mine]]] * self.prices.year_l[mine]
        slots = self.slots(grouping.columns)
        return grouping.total + float(habit.sum()) + self.a_program * slots

    def _first(self) -> list[tuple[int, np.ndarray]]:
        """Options, and zones of each, of least cost were each zone free in percents."""
        least, slots = self.least[self.wanting], self.prices.options.slots
        off = self.no_program[self.wanting]
        chosen = _chosen(least, off, slots, self.most_programs, self.a_program)
        if not chosen:
            return []
        best = least[:, chosen].argmin(axis=1)
        wants = least[:, chosen].min(axis=1) < off
        dealt = [(option, self.wanting[(best == row) & wants])
                 for row, option in enumerate(chosen)]  # fmt: skip
        return [(option, zones) for option, zones in dealt if zones.size]

    def _settled(self, programs: Sequence[tuple[int, np.ndarray]]) -> Grouping:
        """Programs with zones given, each with the percents that suit them."""
        owner = np.full(len(self.no_program), NO_PROGRAM)
        for row, (_, zones) in enumerate(programs):
            owner[zones] = row
        options = [option for option, _ in programs]
        percents = [np.zeros(len(self.months)) for _ in options]
        for fit, rows in self._fits(options, owner):
            for row in rows:
                percents[row] = fit.percent
        columns = [Column(o, p) for o, p in zip(options, percents, strict=True)]
        return self._grouping(columns, owner)

    def _fits(
        self, options: Sequence[int], owner: np.ndarray
    ) -> Iterator[tuple[Fit, list[int]]]:
        """Percents that programs share, or each its own: the fit and its programs."""
        of_zone = np.array(options, dtype=np.intp)
        for rows in self._parts(len(options)):
            zones = np.flatnonzero(np.isin(owner, rows))
            if zones.size:
                option = of_zone[owner[zones]]
                yield self._fit(zones, option), rows

    def _fit(
        self, zones: np.ndarray, option: np.ndarray, percent: np.ndarray | None = None
    ) -> Fit:
        """Bases and percents that suit zones, from given percents on or from none."""
        without = self.no_program[zones]
        return best_fit(self.prices, zones, option, self.rows, without, percent)

    def _grouping(self, columns: Sequence[Column], owner: np.ndarray) -> Grouping:
        """Programs with the best bases of the zones that they water."""
        base, cost = np.zeros(len(owner)), self.no_program.copy()
        for row, column in enumerate(columns):
            mine = np.flatnonzero(owner == row)
            if mine.size:
                base[mine], cost[mine] = self._bases(column, mine)
        owner = np.where(cost < self.no_program, owner, NO_PROGRAM)
        base = np.where(owner == NO_PROGRAM, 0.0, base)
        cost = np.minimum(cost, self.no_program)
        return _used(Grouping(self.months, tuple(columns), owner, base, cost))

    def _bases(
        self, column: Column, zones: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        option = np.full(len(zones), column.option)
        return best_bases(self.prices, zones, option, self.rows, column.percent)

    def _dealt(self, grouping: Grouping) -> Grouping:
        """Zones dealt to the program that suits each best, and that fitted to them."""
        score = self.score(grouping)
        for _ in range(_MOST_ROUNDS):
            anew = self._refitted(self._owned(grouping.columns))
            better = self.score(anew)
            if better >= score - 1e-9 * abs(score):
                break
            grouping, score = anew, better
        return grouping

    def _owned(self, columns: Sequence[Column]) -> Grouping:
        """Each wanting zone in the program that it costs least in."""
        owner = np.full(len(self.no_program), NO_PROGRAM)
        if columns:
            cost = np.stack([self._with_habit(column) for column in columns])
            owner[self.wanting] = cost.argmin(axis=0)
        return self._grouping(columns, owner)

    def _with_habit(self, column: Column) -> np.ndarray:
        """What each wanting zone would come to in a program."""
        cost = self._bases(column, self.wanting)[1]
        return cost + self.habit[column.option] * self.prices.year_l[self.wanting]

    def _refitted(self, grouping: Grouping) -> Grouping:
        """The same zones together, on the days, starts and percents that suit them."""
        best = self._settled_as(grouping, [c.option for c in grouping.columns])
        score = self.score(best)
        for row in range(len(best.columns)):
            if row >= len(best.columns):
                break
            for option in self._other_options(best, row):
                options = [c.option for c in best.columns]
                options[row] = option
                tried = self._settled_as(best, options)
                if self.score(tried) < score * (1 - 1e-9):
                    best, score = tried, self.score(tried)
                if len(best.columns) <= row:
                    break
        return best

    def _settled_as(self, grouping: Grouping, options: Sequence[int]) -> Grouping:
        zones = [np.flatnonzero(grouping.owner == row) for row in range(len(options))]
        return self._settled(list(zip(options, zones, strict=True)))

    def extended(self, grouping: Grouping) -> Iterator[Grouping]:
        """Programs of one month of the stretch, fitted to all months.

        Once with runs that suit all months, once with those of the month, which are
        then never longer than in it.
        """
        options = np.array([column.option for column in grouping.columns])
        yield self._settled_as(grouping, options.tolist())
        columns = list(grouping.columns)
        for rows in self._parts(len(columns)):
            mine = np.flatnonzero(np.isin(grouping.owner, rows))
            percent = best_percents(
                self.prices,
                mine,
                options[grouping.owner[mine]],
                self.rows,
                grouping.base_steps[mine],
                float(columns[rows[0]].percent[0]),
            )
            for row in rows:
                columns[row] = Column(columns[row].option, percent)
        yield _used(replace(grouping, months=self.months, columns=tuple(columns)))

    def _parts(self, programs: int) -> list[list[int]]:
        """Programs that share percents, each row alone or all of them."""
        every = list(range(programs))
        return [every] if self.by == "controller" else [[row] for row in every]

    def _other_options(self, grouping: Grouping, row: int) -> list[int]:
        """Options that might suit a program's zones better, the likeliest first."""
        slots = self.prices.options.slots
        own = grouping.columns[row].option
        room = self.most_programs - self.slots(grouping.columns) + int(slots[own])
        likely = self._likely(grouping.owner == row, room)
        return [option for option in likely if option != own]

    def _one_more(self, grouping: Grouping) -> Grouping | None:
        """One program more, begun by a zone that loses much in its own, if it pays."""
        room = self.most_programs - self.slots(grouping.columns)
        if room < 1 or (self.by == "controller" and not grouping.columns):
            return None
        slots = self.prices.options.slots
        free = np.where(slots[None, :] <= room, self.least, np.inf)
        lost = grouping.cost - free.min(axis=1)
        best, score = None, self.score(grouping)
        for zone in np.argsort(-lost)[:_MOST_SEEDS].tolist():
            if lost[zone] <= self.a_program:
                break
            option = int(free[zone].argmin())
            percent = self._fit(np.array([zone]), np.array([option])).percent
            if self.by == "controller":
                percent = grouping.columns[0].percent
            columns = (*grouping.columns, Column(option, percent))
            tried = self._dealt(self._refitted(self._owned(columns)))
            if self.score(tried) < score * (1 - 1e-9):
                best, score = tried, self.score(tried)
        return best

    def with_program(
        self,
        grouping: Grouping,
        cost: np.ndarray,
        option: int,
        zone: int,
        may: np.ndarray,
    ) -> Grouping:
        """A program more for a zone, and for those that may and are better off in it.

        The others stay as they are; `cost` (zone,) is what each comes to now.
        """
        alone, own = np.array([zone]), np.array([option])
        column = Column(option, self._fit(alone, own).percent)
        if self.by == "controller" and grouping.columns:
            column = Column(option, grouping.columns[0].percent)
        every = np.arange(len(cost))
        base, there = self._bases(column, every)
        joins = np.flatnonzero((there < cost) & may | (every == zone))
        if self.by == "program":
            fit = self._fit(joins, np.full(len(joins), option), column.percent)
            column = Column(option, fit.percent)
            base, there = self._bases(column, every)
        owner, bases = grouping.owner.copy(), grouping.base_steps.copy()
        owner[joins], bases[joins] = len(grouping.columns), base[joins]
        columns = (*grouping.columns, column)
        return _used(replace(grouping, columns=columns, owner=owner, base_steps=bases))

    def refitted_groups(self, groups: Sequence[Group]) -> list[Group]:
        """Groups with the same days and starts, fitted to their zones by these prices.

        A zone that cannot run so leaves its group.
        """
        options = self.prices.options
        rows = [options.row_of(group.days, group.starts) for group in groups]
        found = list(groups)
        for part in self._parts(len(groups)) if groups else ():
            zones = np.concatenate([np.array(groups[row].zones) for row in part])
            option = np.repeat([rows[row] for row in part],
                               [len(groups[row].zones) for row in part])  # fmt: skip
            fit = self._fit(zones, option, groups[part[0]].percent)
            able = np.isfinite(fit.cost)
            for row in part:
                mine = np.isin(zones, groups[row].zones) & able
                found[row] = replace(
                    groups[row],
                    percent=fit.percent,
                    zones=tuple(zones[mine].tolist()),
                    base_steps=fit.base_steps[mine],
                )
        return [group for group in found if group.zones]

    def joined(self, groups: Sequence[Group]) -> list[Group]:
        """Groups joined by the zones in none that are better off in one of them."""
        rows = [
            self.prices.options.row_of(group.days, group.starts) for group in groups
        ]
        columns = [Column(o, g.percent) for o, g in zip(rows, groups, strict=True)]
        held = {zone for group in groups for zone in group.zones}
        found = list(groups)
        for zone in sorted({*range(len(self.no_program))} - held):
            bases = [self._bases(column, np.array([zone])) for column in columns]
            cost = [float(cost[0]) for _, cost in bases]
            if min(cost, default=np.inf) < self.no_program[zone]:
                row = int(np.argmin(cost))
                group = found[row]
                place = int(np.searchsorted(group.zones, zone))
                found[row] = replace(
                    group,
                    zones=(*group.zones[:place], zone, *group.zones[place:]),
                    base_steps=np.insert(group.base_steps, place, bases[row][0]),
                )
        return found

    def with_option(self, grouping: Grouping, row: int, option: int) -> Grouping:
        """The same with other days and starts of one program, fitted to its zones."""
        mine = np.flatnonzero(grouping.owner == row)
        percent = grouping.columns[row].percent
        if self.by == "program":
            of_zone = np.full(len(mine), option)
            percent = self._fit(mine, of_zone).percent
        columns = list(grouping.columns)
        columns[row] = Column(option, percent)
        bases = grouping.base_steps.copy()
        bases[mine] = self._bases(columns[row], mine)[0]
        return _used(replace(grouping, columns=tuple(columns), base_steps=bases))

    def fitted_again(self, grouping: Grouping, row: int) -> Iterator[Grouping]:
        """The same with a program's percents and runs, or its runs alone, anew."""
        column = grouping.columns[row]
        yield self.with_option(grouping, row, column.option)
        mine = np.flatnonzero(grouping.owner == row)
        bases = grouping.base_steps.copy()
        bases[mine] = self._bases(column, mine)[0]
        yield replace(grouping, base_steps=bases)

    def with_zone_moved(self, grouping: Grouping, zone: int) -> Iterator[Grouping]:
        """The same with a zone in each other program, where it costs least first."""
        alone = np.array([zone])
        found = [self._bases(column, alone) for column in grouping.columns]
        for row in np.argsort([float(cost[0]) for _, cost in found]).tolist():
            base, cost = found[row]
            if row != grouping.owner[zone] and np.isfinite(cost[0]):
                owner, bases = grouping.owner.copy(), grouping.base_steps.copy()
                owner[zone], bases[zone] = row, base[0]
                yield _used(replace(grouping, owner=owner, base_steps=bases))

    def _one_fewer(self, grouping: Grouping) -> Grouping | None:
        """One program fewer, its zones in the others, if that costs less."""
        if len(grouping.columns) < 2:
            return None
        score = self.score(grouping)
        for row in range(len(grouping.columns)):
            columns = [c for r, c in enumerate(grouping.columns) if r != row]
            tried = self._owned(columns)
            if self.score(tried) < score * (1 - 1e-9):
                return self._dealt(tried)
        return None


def _used(grouping: Grouping) -> Grouping:
    """The same without programs that water nothing."""
    owner = grouping.owner
    for row, column in enumerate(grouping.columns):
        if not column.percent.any():
            owner = np.where(owner == row, NO_PROGRAM, owner)
    used = sorted(set(owner.tolist()) - {NO_PROGRAM})
    return replace(
        grouping,
        columns=tuple(grouping.columns[row] for row in used),
        owner=np.where(owner == NO_PROGRAM, owner, np.searchsorted(used, owner)),
    )


def split(grouping: Grouping, row: int, leaves: np.ndarray) -> Grouping:
    """The same runs, with some zones of a program in a program of their own."""
    owner = grouping.owner.copy()
    owner[leaves] = len(grouping.columns)
    columns = (*grouping.columns, grouping.columns[row])
    return replace(grouping, columns=columns, owner=owner)


def _chosen(
    cost: np.ndarray,
    off: np.ndarray,
    slots: np.ndarray,
    most_slots: int,
    a_program: float,
) -> list[int]:
    """Options to take so that all zones, each in its cheapest, come to about the least.

    `cost` is (zone, option), `off` what a zone comes to in none. Options are added
    while that pays, then exchanged one for one until no exchange pays.
    """
    chosen: list[int] = []
    total = float(off.sum())
    while True:
        tries = [chosen, *(chosen[:r] + chosen[r + 1 :] for r in range(len(chosen)))]
        best: tuple[float, list[int]] | None = None
        for kept in tries:
            now = np.minimum(off, cost[:, kept].min(axis=1, initial=np.inf))
            taken = int(slots[kept].sum())
            with_one = np.minimum(now[:, None], cost).sum(axis=0)
            with_one = with_one + a_program * (slots + taken)
            with_one[slots > most_slots - taken] = np.inf
            row = int(with_one.argmin())
            if best is None or with_one[row] < best[0]:
                best = float(with_one[row]), [*kept, row]
        if best is None or not best[0] < total * (1 - 1e-9):
            return chosen
        total, chosen = best
