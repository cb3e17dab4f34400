"""Programs of a stretch on the clock: dearer minutes until the nights hold them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from scheduler.plan.card.needs import Hand
from scheduler.plan.card.prices import BREACH, Prices
from scheduler.plan.card.programs import NO_PROGRAM, Grouping, StretchSearch, split
from scheduler.plan.card.settings import Group, Setting, with_other_dates
from scheduler.plan.card.starts import Placed, as_late, place, place_well
from scheduler.rounding import ceil_

_TIME = (0.0, 0.5, 2.0, 8.0, 32.0)
"""Prices of run time in shares of the water that it lays down, tried where the nights
are too short: dearer time makes for programs that take less of it."""
_MOST_HELD = 2
"""Prices at which programs found room, of which the best is taken."""
_SHRUNK = 4
"""Times that the share of all runs which the nights hold is halved in on."""
_MOST_REPAIRS, _MOST_OPTIONS, _MOST_MOVES = 12, 8, 6
"""Repairs of programs that find no room; days and starts, and zones, tried for each."""
_REPAIRED_SHARE = 0.01
"""Repairs that cost more than this share are not taken before other ways are tried."""
_FEW_REPAIRS = 3
"""Repairs of programs that are only a try."""
_MOST_LOAD, _MOST_LOAD_TRIED = 1.5, 1.1
"""Programs that take more of the permitted minutes are not repaired: that mends days
and order, and takes hardly fewer minutes. The latter for those that are only a try."""
_MOST_SEEDS = 6
"""Zones tried for a program of their own: those that lose most."""


@dataclass(frozen=True, slots=True, eq=False)
class _Laid:
    """Programs that found room on the clock, and what they come to."""

    grouping: Grouping
    groups: tuple[Group, ...]
    placed: tuple[Placed, ...]
    cost: np.ndarray

    @property
    def total(self) -> float:
        return float(self.cost.sum())


def place_stretch(prices: Prices, months: Sequence[int]) -> Setting:
    """Programs of least cost found that the nights of a stretch hold.

    There always is one: where no programs as they should be find room, those that are
    cut short alike, in the worst case to nothing.
    """
    search = StretchSearch(prices, months)
    found = _found(search)
    placed = placed_well(search, found.groups)
    if placed is None:
        blocks = [search.blocks(group) for group in found.groups]
        placed = as_late(blocks, found.placed)
    return Setting(tuple(months), found.groups, placed, found.total)


def _found(search: StretchSearch) -> _Laid:
    """The programs of a search on the clock; those of a month are asked for often."""
    return search.whole.known("laid", (search.rows,), lambda: _searched(search))


def _searched(search: StretchSearch) -> _Laid:
    free = search.find()
    laid = _laid(search, free, _MOST_REPAIRS)
    if laid is None:
        return _pinched(search)
    if laid.total < free.total * (1 + _REPAIRED_SHARE):
        return laid
    return min(laid, _pinched(search), key=lambda found: found.total)


def placed_well(
    search: StretchSearch, groups: Sequence[Group]
) -> tuple[Placed, ...] | None:
    """Programs on the clock with more tried than while they were looked for."""
    needs, months = search.prices.needs, search.months
    blocks = [search.blocks(group) for group in groups]
    return place_well(blocks, [with_other_dates(needs, g, months) for g in groups])


def _pinched(search: StretchSearch) -> _Laid:
    """Programs for nights that are too short.

    They are those of the stretch's hardest month, fitted to all months; for one month
    alone, and where that finds none, they are split, on other days, or cut short.
    """
    begun = _of_hardest_month(search)
    if not begun:
        cut = _cut_down(search)
        begun = [cut, _nothing(search)] if cut.groups else [cut]
    grown = [_polished(search, _with_more(search, laid)) for laid in begun]
    return min(grown, key=lambda laid: laid.total)


def _cut_down(search: StretchSearch) -> _Laid:
    """Programs of dearer and dearer minutes, in the worst case cut short alike."""
    prices, months, best = search.whole, search.months, _nothing(search)
    programs = int(prices.needs.controller.programs)
    groupings, held = [], 0
    for time in _TIME:
        whole = False
        used = programs
        for most in _fewer(programs):
            if most >= used and most < programs:
                continue  # The same programs as of more.
            dearer = StretchSearch(prices, months, time, most)
            groupings.append((dearer, dearer.rough()))
            used = dearer.slots(groupings[-1][1].columns)
            found = _laid(*groupings[-1], _MOST_REPAIRS)
            if found is not None:
                whole = True
                best = min(best, found, key=lambda laid: laid.total)
        held += whole
        if held == _MOST_HELD:
            break
    if not held:
        cut = [_cut_short(*grouping) for grouping in groupings]
        best = min([best, *cut], key=lambda laid: laid.total)
    return best


def _polished(search: StretchSearch, laid: _Laid) -> _Laid:
    """The programs, each fitted anew to its zones where the nights hold that."""
    row = 0
    while row < len(laid.grouping.columns):
        again = search.fitted_again(laid.grouping, row)
        tried = (_held(_Trial(search, grouping)) for grouping in again)
        laid = min([laid, *filter(None, tried)], key=lambda found: found.total)
        row += 1
    return laid


def _of_hardest_month(search: StretchSearch) -> list[_Laid]:
    """Programs of the month that takes most of its nights, for the whole stretch."""
    prices = search.whole
    if len(search.months) == 1:
        return []
    hardest = int(_load_of_months(search).argmax())
    one = _found(StretchSearch(prices, search.months[hardest : hardest + 1]))
    if not one.groups:
        return []
    extended = search.extended(one.grouping)
    found = (_laid(search, grouping, _MOST_REPAIRS) for grouping in extended)
    return [laid for laid in found if laid is not None]


def _load_of_months(search: StretchSearch) -> np.ndarray:
    """Least minutes that zones would run in each month, of the permitted ones."""
    prices, needs = search.whole, search.whole.needs
    best = prices.best[:, :, search.rows]
    option = prices.least[:, :, search.rows].argmin(axis=1)
    run = np.take_along_axis(best, option[:, None], axis=1)[:, 0]
    minutes = run * prices.options.dates[option, search.rows] * needs.minute_step
    window = needs.window[:, search.rows]
    load = np.zeros(len(search.rows))
    for row in range(len(needs.windows)):
        mine = (minutes * (window == row)).sum(axis=0)
        open_min = search.open_min[row]
        share = np.divide(mine, open_min, out=np.zeros_like(mine), where=open_min > 0)
        load = np.maximum(load, share)
    return load


def _fewer(programs: int) -> list[int]:
    """Numbers of programs tried: all, half of them, two and one."""
    return sorted({programs, -(-programs // 2), min(programs, 2), 1}, reverse=True)


def _nothing(search: StretchSearch) -> _Laid:
    cost = search.no_program
    none = np.full(len(cost), NO_PROGRAM)
    grouping = Grouping(search.months, (), none, np.zeros(len(cost)), cost)
    return _Laid(grouping, (), (), cost)


def _cut_short(search: StretchSearch, grouping: Grouping) -> _Laid:
    """The programs with all runs cut to the largest share that the nights hold."""
    best = _nothing(search)
    least, most = 0.0, 1.0
    for _ in range(_SHRUNK):
        share = (least + most) / 2
        found = _laid(search, _shrunk(search.prices, grouping, share), _FEW_REPAIRS)
        if found is None:
            most = share
        else:
            least = share
            best = min(best, found, key=lambda laid: laid.total)
    return best


def _shrunk(prices: Prices, grouping: Grouping, share: float) -> Grouping:
    """Bases cut to a share, but to no run that is shorter than its least."""
    least = np.zeros(len(grouping.owner))
    for row, column in enumerate(grouping.columns):
        smallest = column.percent[column.percent > 0].min(initial=100.0)
        mine = grouping.owner == row
        least[mine] = ceil_((prices.needs.least_steps[mine] - 0.5) * 100 / smallest)
    base = np.maximum(np.floor(grouping.base_steps * share), least)
    return replace(grouping, base_steps=np.minimum(base, grouping.base_steps))


def _with_more(search: StretchSearch, laid: _Laid) -> _Laid:
    """Programs more for the zones that lose most, while the nights hold them."""
    while True:
        tried = (_laid(search, more, _FEW_REPAIRS) for more in _more(search, laid))
        worth = laid.total - search.a_program
        better = next((t for t in tried if t is not None and t.total < worth), None)
        if better is None:
            return laid
        laid = better


def _more(search: StretchSearch, laid: _Laid) -> Iterator[Grouping]:
    """The programs with one more: for all it suits, for one window's, for one zone."""
    prices, grouping = search.prices, laid.grouping
    slots = prices.options.slots
    room = search.most_programs - int(sum(slots[c.option] for c in grouping.columns))
    if room < 1:
        return
    free = np.where(slots <= room, search.least, np.inf)
    lost = laid.cost - free.min(axis=1)
    window = prices.needs.window[:, search.rows]
    for zone in np.argsort(-lost)[:_MOST_SEEDS].tolist():
        if lost[zone] <= search.a_program:
            return
        option = int(free[zone].argmin())
        like = (window == window[zone]).all(axis=1)
        masks = [np.ones(len(lost), dtype=bool), like]
        # Where not all that it suits find room, those that lose most.
        order = np.flatnonzero(like)[np.argsort(-lost[like], kind="stable")]
        most = len(order) // 2
        while most > 1:
            masks.append(np.isin(np.arange(len(lost)), order[:most]))
            most //= 2
        for may in (*masks, np.zeros(len(lost), dtype=bool)):
            yield search.with_program(grouping, laid.cost, option, zone, may)


def _laid(search: StretchSearch, grouping: Grouping, most_repairs: int) -> _Laid | None:
    """The programs on the clock, changed where they find no room; None if that fails.

    In turn: other days and starts for the program of most minutes without room, its
    zones in two programs, a zone of it in another program.
    """
    trial = _Trial(search, grouping)
    few = most_repairs <= _FEW_REPAIRS
    if trial.layout.left and trial.load > (_MOST_LOAD_TRIED if few else _MOST_LOAD):
        return None
    for _ in range(most_repairs):
        if not trial.layout.left:
            return _held(trial)
        better = _better(trial)
        if better is None:
            return None
        trial = better
    return None


def _held(trial: _Trial) -> _Laid | None:
    """Programs as they are; None where some found no room."""
    if trial.layout.left:
        return None
    placed = tuple(found for found in trial.layout.placed if found is not None)
    cost = _costs(trial.search, trial.grouping)
    return _Laid(trial.grouping, tuple(trial.groups), placed, cost)


def _better(trial: _Trial) -> _Trial | None:
    """A repair that leaves fewer minutes without room; None where none was found."""
    for other in _repairs(trial):
        tried = _Trial(trial.search, other)
        if tried.left_min < trial.left_min:
            return tried
    return None


class _Trial:
    """Programs on the clock: how many of their minutes found no room."""

    def __init__(self, search: StretchSearch, grouping: Grouping) -> None:
        self.search = search
        self.grouping = grouping
        self.groups = groups_of(search.prices, grouping)
        self.blocks = [search.blocks(group) for group in self.groups]
        self.layout = place(self.blocks, quick=True)
        self.minutes = [block.starts * block.minutes for block in self.blocks]
        self.left_min = sum(self.minutes[row] for row in self.layout.left)

    @property
    def load(self) -> float:
        """Most of the permitted minutes of a window and month that runs take up."""
        search = self.search
        dates, open_min = search.prices.options.dates, search.open_min
        taken = np.zeros(open_min.shape)
        window = search.prices.needs.window[:, search.rows]
        for column, group, block in zip(
            self.grouping.columns, self.groups, self.blocks, strict=True
        ):
            of_zones = window[list(group.zones)]
            for row in range(len(taken)):
                under = (of_zones == row).any(axis=0) & (group.percent > 0)
                mine = dates[column.option, search.rows] * under
                taken[row] += mine * block.minutes
        taken /= search.prices.needs.controller.zones_at_once
        share = np.divide(taken, open_min, out=np.zeros_like(taken), where=open_min > 0)
        return float(share.max(initial=0.0))

    @property
    def room(self) -> int:
        """Programs of the controller that are not taken."""
        needs, a_program = self.search.prices.needs, self.search.a_controllers_starts
        taken = sum(-(-group.starts // a_program) for group in self.groups)
        return int(needs.controller.programs) - taken


def _repairs(trial: _Trial) -> Iterator[Grouping]:
    """Changes of the program of most minutes without room, the likeliest first."""
    search, grouping = trial.search, trial.grouping
    row = max(trial.layout.left, key=lambda r: trial.minutes[r])
    mine = np.flatnonzero(grouping.owner == row)
    options = search.prices.options
    own = grouping.columns[row].option
    if trial.room >= options.slots[own] and len(mine) > 1:
        yield split(grouping, row, _half(search.prices, grouping, trial.groups, row))
    room = trial.room + int(options.slots[own])
    total = np.where(options.slots <= room, search.least[mine].sum(axis=0), np.inf)
    for option in np.argsort(total, kind="stable")[:_MOST_OPTIONS].tolist():
        if option != own and np.isfinite(total[option]):
            yield search.with_option(grouping, row, option)
    runs = trial.groups[row].largest_runs()
    for turn in np.argsort(-runs, kind="stable")[:_MOST_MOVES].tolist():
        yield from search.with_zone_moved(grouping, int(mine[turn]))


def _costs(search: StretchSearch, grouping: Grouping) -> np.ndarray:
    """What each zone comes to without the price of time, (zone,)."""
    prices, cost = search.prices, search.no_program.copy()
    for row, group in enumerate(groups_of(prices, grouping)):
        mine = np.flatnonzero(grouping.owner == row)
        option = np.full((len(mine), 1), grouping.columns[row].option)
        runs = group.runs()
        found = search.whole.of_runs(mine[:, None], option, search.rows, runs)
        cost[mine] = found.sum(axis=1)
    return cost


def groups_of(prices: Prices, grouping: Grouping) -> list[Group]:
    """Programs as groups of zones, with their bases."""
    options, found = prices.options, []
    for row, column in enumerate(grouping.columns):
        mine = np.flatnonzero(grouping.owner == row)
        found.append(
            Group(
                options.days[column.option],
                int(options.starts[column.option]),
                column.percent,
                tuple(mine.tolist()),
                grouping.base_steps[mine],
            )
        )
    return found


def _half(
    prices: Prices, grouping: Grouping, groups: Sequence[Group], row: int
) -> np.ndarray:
    """Zones that leave a program: those of another window, else half of its minutes."""
    mine = np.flatnonzero(grouping.owner == row)
    windows = prices.needs.window[mine].max(axis=1)
    if len(set(windows.tolist())) > 1:
        return mine[windows == windows[0]]
    runs = groups[row].largest_runs()
    halves: tuple[list[int], list[int]] = [], []
    sums = [0.0, 0.0]
    for turn in np.argsort(-runs, kind="stable").tolist():
        side = int(sums[1] < sums[0])
        halves[side].append(int(mine[turn]))
        sums[side] += float(runs[turn])
    return np.array(halves[1], dtype=np.intp)


def refitted(prices: Prices, setting: Setting) -> Setting | None:
    """The same programs with other runs and percents, as other prices have them.

    Zones in none join one that they are better off in, where the nights hold that;
    None where they do not hold the programs at all.
    """
    search = StretchSearch(prices, setting.months)
    fitted = search.refitted_groups(setting.groups)
    if not all(group.percent.any() for group in fitted):
        return None
    joined = search.joined(fitted)
    for groups in (joined, fitted) if joined != fitted else (fitted,):
        placed = placed_well(search, groups)
        if placed is not None:
            return replace(setting, groups=tuple(groups), placed=placed)
    return None


def borrowed(
    prices: Prices, months: Sequence[int], others: Sequence[Setting]
) -> Iterator[Setting]:
    """Programs of other months for a stretch, where its nights hold them.

    Each fitted anew to its zones, and with the largest runs that it has.
    """
    search = StretchSearch(prices, months)
    for other in others:
        groups = tuple(
            replace(group, percent=np.full(len(months), group.percent.max()))
            for group in other.groups
        )
        like = replace(other, months=tuple(months), groups=groups)
        found, placed = [refitted(prices, like)], placed_well(search, groups)
        if placed is not None:
            found.append(replace(like, placed=placed))
        for one in filter(None, found):
            cost = search.no_program.copy()
            for group in one.groups:
                zones = np.array(group.zones)
                option = prices.options.row_of(group.days, group.starts)
                rows = zones[:, None], np.array([[option]]), search.rows
                cost[zones] = prices.of_runs(*rows, group.runs()).sum(axis=1)
            if np.isfinite(cost).all():
                yield replace(one, cost=float(cost.sum()))


def started_by_hand(prices: Prices, setting: Setting) -> Iterator[Hand]:
    """Zones of a stretch that are started by hand, month by month, as by the table.

    Such a zone is in no program, the table has it water seldom, and doing without is
    worse.
    """
    needs = prices.needs
    in_program = {zone for group in setting.groups for zone in group.zones}
    search = StretchSearch(prices, setting.months)
    for zone in np.flatnonzero(search.by_hand).tolist():
        if zone not in in_program:
            for month in setting.months:
                if needs.waters[zone, month]:
                    yield needs.hands[zone, month]


def foreseen(prices: Prices, settings: Sequence[Setting]) -> np.ndarray:
    """Where a limit was broken by the prices already, (zone, month)."""
    found = np.zeros(prices.needs.table_mm.shape, dtype=bool)
    for setting in settings:
        months = np.array(setting.months)
        in_program = np.zeros(len(found), dtype=bool)
        for group in setting.groups:
            zones = np.array(group.zones)
            option = prices.options.row_of(group.days, group.starts)
            rows = zones[:, None], np.array([[option]]), months[None, :]
            cost = prices.of_runs(*rows, group.runs())
            found[np.ix_(zones, months)] = cost >= BREACH * prices.month_l[zones, None]
            in_program[zones] = True
        # What no program waters was let go, or is started by hand.
        found[np.ix_(~in_program, months)] = True
    return found
