"""Which programs water which zones: chosen, then changed until the hours hold them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from scheduler.plan.card.needs import CardNeeds
from scheduler.plan.card.percents import Bases, smallest_bases
from scheduler.plan.card.settings import Group, blocks_of
from scheduler.plan.card.starts import Blocks, Layout, place
from scheduler.plan.times.patterns import AlikePatterns

_MOST_REPAIRS = 30
_MOST_OPTIONS = 8
_MOST_MOVES = 16


@dataclass(frozen=True, slots=True, eq=False)
class Options:
    """Days and starts that programs may have, and who may water so.

    `allowed` and `side_min` are (zone, option); `starts_in_month` (option, month of
    the stretch); `slots` how many of the controller's programs the starts take up.
    """

    days: tuple[AlikePatterns, ...]
    starts: np.ndarray
    slots: np.ndarray
    allowed: np.ndarray
    starts_in_month: np.ndarray
    side_min: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Wants:
    """Zones that want water in a stretch: `rows` of the site's zones, and their needs.

    `need` and `never` are (zone of the stretch, month of the stretch).
    """

    needs: CardNeeds
    months: tuple[int, ...]
    rows: np.ndarray
    need: np.ndarray
    never: np.ndarray
    known: dict[Any, Any] = field(default_factory=dict)
    """Bases and blocks worked out so far, by rows of the stretch's one Options."""

    def bases(
        self,
        options: Options,
        option: np.ndarray,
        zones: np.ndarray,
        percents: np.ndarray,
    ) -> Bases:
        """Smallest bases of zones, each at an option, by percents: (zone, percents)."""
        needs, who = self.needs, self.rows[zones]
        a_start = np.ceil(needs.event_steps[who] / options.starts[option])
        bases = smallest_bases(
            self.need[zones][:, None, :],
            options.starts_in_month[option][:, None, :],
            percents[None, :, :],
            1 - needs.controller.shortfall_percent / 100,
            np.minimum(needs.most_steps[who], a_start)[:, None],
        )
        clash = self.never[zones][:, None, :] & (percents > 0)[None]
        bad = clash.any(axis=2) | ~options.allowed[zones, option][:, None]
        bad = bad | (bases.base_steps > needs.longest_steps)
        return replace(bases, applied=np.where(bad, np.inf, bases.applied))


@dataclass(frozen=True, slots=True, eq=False)
class Column:
    """A program: row of the options, and percents along the stretch's months."""

    option: int
    percent: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Grouping:
    """Programs, and the program that waters each zone of the stretch."""

    zones: Wants
    options: Options
    columns: Sequence[Column]
    owner: np.ndarray

    def without_empty(self) -> Grouping:
        """The same without programs that water nothing."""
        used = sorted(set(self.owner.tolist()))
        return replace(
            self,
            columns=[self.columns[row] for row in used],
            owner=np.searchsorted(used, self.owner),
        )

    def can(self) -> bool:
        """Whether every zone can get its water in its program."""
        for row in range(len(self.columns)):
            if not np.isfinite(self.bases(row).applied[self.owner == row]).all():
                return False
        return True

    def slots(self) -> int:
        """How many of the controller's programs are taken."""
        return sum(int(self.options.slots[c.option]) for c in self.columns)

    def bases(self, row: int) -> Bases:
        """Bases of all zones in one of the programs, (zone, 1)."""
        column, known = self.columns[row], self.zones.known
        key = column.option, column.percent.tobytes()
        if key not in known:
            everyone = np.arange(len(self.owner))
            option = np.full(len(everyone), column.option)
            known[key] = self.zones.bases(
                self.options, option, everyone, column.percent[None]
            )
        found: Bases = known[key]
        return found

    def groups(self) -> list[Group]:
        """Groups with the bases of their zones."""
        found = []
        for row, column in enumerate(self.columns):
            mine = np.flatnonzero(self.owner == row)
            found.append(
                Group(
                    self.options.days[column.option],
                    int(self.options.starts[column.option]),
                    column.percent,
                    tuple(self.zones.rows[mine].tolist()),
                    self.bases(row).base_steps[mine, 0],
                )
            )
        return found


def choose(
    cost: np.ndarray, slots: np.ndarray, most_slots: int, a_program: float
) -> tuple[list[int], float]:
    """Programs to take, and what all zones cost, each in the cheapest of them.

    `cost` is (zone, program); `slots` how many of the controller's programs each
    takes up; `a_program` is added for each. Programs are added while that pays, then
    exchanged one for one until no exchange pays: a local optimum, not a proven one.
    """
    chosen: list[int] = []
    now = np.full(len(cost), np.inf)
    total = np.inf
    while True:
        room = most_slots - int(slots[chosen].sum())
        with_one = np.minimum(now[:, None], cost).sum(axis=0) + a_program * (
            slots + slots[chosen].sum()
        )
        with_one[slots > room] = np.inf
        best = int(with_one.argmin())
        if with_one[best] < total * (1 - 1e-12):
            chosen.append(best)
            total = float(with_one[best])
        else:
            exchanged = _exchange(cost, slots, most_slots, a_program, chosen, total)
            if exchanged is None:
                return chosen, total
            chosen, total = exchanged
        now = cost[:, chosen].min(axis=1)


def _exchange(
    cost: np.ndarray,
    slots: np.ndarray,
    most_slots: int,
    a_program: float,
    chosen: list[int],
    total: float,
) -> tuple[list[int], float] | None:
    """The best exchange of one program for another, if it pays; dropping one, too."""
    best: tuple[list[int], float] | None = None
    for row in range(len(chosen)):
        others = chosen[:row] + chosen[row + 1 :]
        taken = int(slots[others].sum())
        rest = cost[:, others].min(axis=1) if others else np.full(len(cost), np.inf)
        without = float(rest.sum()) + a_program * taken
        if others and without < total * (1 - 1e-9):
            total, best = without, (others, without)
        instead = np.minimum(rest[:, None], cost).sum(axis=0) + a_program * (
            slots + taken
        )
        instead[slots > most_slots - taken] = np.inf
        other = int(instead.argmin())
        if instead[other] < total * (1 - 1e-9):
            total = float(instead[other])
            best = [*others, other], total
    return best


class _Trial:
    """A grouping on the clock: which programs found no room, and how much is left."""

    def __init__(self, grouping: Grouping) -> None:
        self.grouping = grouping
        self.groups = grouping.groups()
        self.blocks = [self._blocks(row) for row in range(len(self.groups))]
        self.layout: Layout = place(self.blocks, quick=True)
        self.left_min = sum(
            self.blocks[row].starts * self.blocks[row].minutes
            for row in self.layout.left
        )

    def _blocks(self, row: int) -> Blocks:
        zones, group = self.grouping.zones, self.groups[row]
        option = self.grouping.columns[row].option
        key = option, group.percent.tobytes(), group.zones
        if key not in zones.known:
            zones.known[key] = blocks_of(zones.needs, group, zones.months)
        found: Blocks = zones.known[key]
        return found


def fit(grouping: Grouping) -> Grouping | None:
    """Grouping that finds room on the clock, or None where none was found.

    A program without room is split in two where the controller has a program left;
    else the first of its zones whose move to another program leaves fewer minutes
    without room is moved; else other days and starts are tried for it.
    """
    trial = _Trial(grouping)
    for _ in range(_MOST_REPAIRS):
        if not trial.layout.left:
            return trial.grouping
        row = max(trial.layout.left, key=lambda r: trial.blocks[r].minutes)
        better = _split(trial, row) or _moved(trial, row) or _other_option(trial, row)
        if better is None:
            return None
        trial = better
    return None


def _split(trial: _Trial, row: int) -> _Trial | None:
    grouping = trial.grouping
    column = grouping.columns[row]
    needs = grouping.zones.needs
    taken = grouping.slots() + int(grouping.options.slots[column.option])
    mine = np.flatnonzero(grouping.owner == row)
    if taken > int(needs.controller.programs) or len(mine) < 2:
        return None
    windows = needs.window[grouping.zones.rows[mine]].max(axis=1)
    if len(set(windows.tolist())) > 1:
        leaves = mine[windows == windows[0]]
    else:
        leaves = _half(mine, trial.groups[row].largest_runs())
    owner = grouping.owner.copy()
    owner[leaves] = len(grouping.columns)
    return _Trial(replace(grouping, columns=[*grouping.columns, column], owner=owner))


def _half(zones: np.ndarray, runs: np.ndarray) -> np.ndarray:
    """Zones that make up about half of the runs, the longest first."""
    halves: tuple[list[int], list[int]] = [], []
    sums = [0.0, 0.0]
    for place_ in np.argsort(-runs, kind="stable").tolist():
        side = int(sums[1] < sums[0])
        halves[side].append(int(zones[place_]))
        sums[side] += float(runs[place_])
    return np.array(halves[1], dtype=int)


def _moved(trial: _Trial, row: int) -> _Trial | None:
    """A zone moved: out of the program without room, else out of one in its way."""
    grouping = trial.grouping
    count = len(grouping.columns)
    cost = np.stack([grouping.bases(c).applied[:, 0] for c in range(count)], axis=1)
    best: _Trial | None = None
    for zone in _in_the_way(trial, row)[:_MOST_MOVES]:
        own = int(grouping.owner[zone])
        for other in np.argsort(cost[zone], kind="stable").tolist():
            if other == own or not np.isfinite(cost[zone, other]):
                continue
            owner = grouping.owner.copy()
            owner[zone] = other
            tried = _Trial(replace(grouping, owner=owner).without_empty())
            if tried.left_min < (best or trial).left_min:
                best = tried
        if best is not None:
            break
    return best


def _in_the_way(trial: _Trial, row: int) -> list[int]:
    """Zones by the length of their runs, those of one program first."""
    owner = trial.grouping.owner
    runs = np.zeros(len(owner))
    for column, group in enumerate(trial.groups):
        runs[owner == column] = group.largest_runs()
    order = np.lexsort((-runs, owner != row))
    return [int(zone) for zone in order]


def _other_option(trial: _Trial, row: int) -> _Trial | None:
    grouping = trial.grouping
    options, column = grouping.options, grouping.columns[row]
    mine = np.flatnonzero(grouping.owner == row)
    room = int(grouping.zones.needs.controller.programs) - grouping.slots()
    room += int(options.slots[column.option])
    able = np.flatnonzero(options.allowed[mine].all(axis=0) & (options.slots <= room))
    totals = []
    for option in able.tolist():
        bases = grouping.zones.bases(
            options, np.full(len(mine), option), mine, column.percent[None]
        )
        totals.append((float(bases.applied.sum()), option))
    for total, option in sorted(totals)[:_MOST_OPTIONS]:
        if not np.isfinite(total):
            break
        columns = list(grouping.columns)
        columns[row] = Column(option, column.percent)
        tried = _Trial(replace(grouping, columns=columns))
        if tried.left_min < trial.left_min:
            return tried
    return None
