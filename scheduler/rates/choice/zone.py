"""Which nozzle on which head: matched rates, within the supply, from head to head.

A set of nozzles is well matched where every head's rate is within `MATCHED_WITHIN` of
the mean. Of the well-matched sets that the supply carries, those that the ground takes
in the fewest cycles come first; of these the one of most water; of sets with the same
water the best matched; then the earliest in the chart, the first head first. A set
is judged at the pressure where it comes to stand: less flow leaves more pressure.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from scheduler.rates.choice import combinations
from scheduler.rates.choice.combinations import UNITS_PER_L_MIN, Found
from scheduler.rates.choice.level import NO_LIMIT, Level, NozzleSet, Part, Placed
from scheduler.rates.choice.offers import LEAST_OF_REACH, ZoneOffer
from scheduler.rates.choice.standing import Standing
from scheduler.rates.choice.valves import Valve
from scheduler.rates.soundness import MATCHED_WITHIN

LIMITS = ("arc", "throw", "match", "supply")
"""What may keep a zone from a set that fits."""
_NARROW = 1.005
"""Ratio of two pressures between which no set is told from its neighbors."""
_SLACK = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class ZoneChoice:
    """What a zone is best given.

    `offer` is at the lowest pressure, of the most flow; each set has that of its own.
    `chosen` stands on `valves`, each of pairs of a row of the offer and how many of its
    heads; one valve where it fits. `limits` says what binds where not, and
    `under_limit` is then the best set that one valve carries, None where there is none;
    `would_do` holds, by limit, the set that would fit if that limit alone were not.
    `with_more_cycles` draws more water at the price of more cycles, None where nothing
    does; `least_flow_l_min` is the least that a well-matched set draws.
    `fewest_changes` fits too and changes the fewest heads, None where it is `chosen`;
    `instead` is the best set where that of fewest changes was asked for.
    """

    offer: ZoneOffer
    design_flow_l_min: float
    fits: bool
    limits: tuple[str, ...]
    chosen: NozzleSet
    valves: tuple[Valve, ...]
    under_limit: NozzleSet | None
    with_more_cycles: NozzleSet | None
    least_flow_l_min: float
    fewest_changes: NozzleSet | None
    would_do: Mapping[str, NozzleSet]
    instead: NozzleSet | None = None

    def changed(self, nozzles: NozzleSet) -> int:
        """Heads that get another nozzle than they have."""
        return int(self.offer.count[nozzles.nozzle != self.offer.now].sum())

    def by_fewest_changes(self) -> ZoneChoice:
        """The same with the set of fewest changes chosen, where there is one."""
        fewest = self.fewest_changes
        if fewest is None:
            return self
        return replace(self, chosen=fewest, fewest_changes=None, instead=self.chosen)


Cycles = Callable[[ZoneOffer], np.ndarray]
"""Cycles, (row, nozzle), that the ground forces at the rate of that nozzle there."""


def choose(
    standing: Standing, cycles: Cycles | None = None, allow_more_cycles: bool = False
) -> ZoneChoice:
    """Nozzles of one zone; `allow_more_cycles` leaves the ground out of the choice."""
    chooser = _Chooser(standing, cycles, allow_more_cycles)
    return chooser.fitting() or chooser.not_fitting()


@dataclass(frozen=True, slots=True)
class _Pool:
    """Nozzles to choose from: the best suited first, then wider.

    First only those that the chart covers at the pressure, that throw to the next head
    and not too far, and hold in the wind; then those beyond the chart too, then those
    short of the next head, then those that throw too far, and last those that drift.
    """

    drift: bool
    far: bool
    short: bool
    beyond: bool

    def of(self, offer: ZoneOffer) -> np.ndarray:
        """Those of an offer, (row, nozzle)."""
        return np.asarray(self.suited(offer) & offer.reaches)

    def suited(self, offer: ZoneOffer) -> np.ndarray:
        """Those of an offer, whether they reach or not."""
        pool = (offer.calm | self.drift) & (offer.in_chart | self.beyond)
        return np.asarray(pool & (offer.near | self.far) & (offer.to_next | self.short))


_POOLS = tuple(_Pool(*flags) for flags in itertools.product((False, True), repeat=4))
_ANY = _POOLS[-1]


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What is looked for: how at one pressure, by which key, out of which pool."""

    find: Callable[[Level, Part, int, int], Found | None]
    key: Callable[[NozzleSet], tuple[float, ...]]
    pool: _Pool


class _Chooser:
    def __init__(
        self, standing: Standing, cycles: Cycles | None, allow_more_cycles: bool
    ) -> None:
        self.standing = standing
        self.cycles = cycles
        self.allow_more_cycles = allow_more_cycles
        self.levels: dict[float, Level] = {}
        self.lowest = self.at(standing.lowest_kpa)

    def at(self, pressure_kpa: float) -> Level:
        """What may be had at a pressure."""
        if pressure_kpa not in self.levels:
            offer = self.standing.offer_at(pressure_kpa)
            cycles = None if self.cycles is None else self.cycles(offer)
            self.levels[pressure_kpa] = Level(
                offer, self.standing.gives(pressure_kpa), cycles, self.allow_more_cycles
            )
        return self.levels[pressure_kpa]

    def fitting(self) -> ZoneChoice | None:
        """First pool of nozzles with a set that fits."""
        if self.lowest.offer.no_arc.any():
            return None
        for pool in self.pools():
            any_cycles = self.cycles is None or self.allow_more_cycles
            most_wanted = _Wanted(Level.most, _by_water, pool)
            wanted = _Wanted(Level.best, _by_cycles, pool)
            best = self.settled(most_wanted if any_cycles else wanted)
            if best is None:
                continue
            most = best if any_cycles else self.settled(most_wanted) or best
            gains = most.total_flow_l_min > best.total_flow_l_min * (1 + _SLACK)
            choice = ZoneChoice(
                self.lowest.offer, self.lowest.gives_l_min, True, (), best,
                (self.lowest.whole(self.lowest.rows),), None, most if gains else None,
                np.nan, None, {},
            )  # fmt: skip
            return replace(choice, fewest_changes=self.fewest(choice))
        return None

    def fewest(self, choice: ZoneChoice) -> NozzleSet | None:
        """What changes fewer heads than the chosen set, of all that reach."""

        def key(nozzles: NozzleSet) -> tuple[float, ...]:
            return choice.changed(nozzles), -nozzles.total_flow_l_min

        found = self.settled(_Wanted(Level.fewest, key, _ANY))
        if found is None or choice.changed(found) >= choice.changed(choice.chosen):
            return None
        return found

    def pools(self) -> Iterator[_Pool]:
        """Pools of nozzles, but for those that hold just what one before holds."""
        seen: list[np.ndarray] = []
        for pool in _POOLS:
            held = np.stack([pool.of(self.at(p).offer) for p in self.standing.ladder])
            if not any(np.array_equal(held, other) for other in seen):
                seen.append(held)
                yield pool

    def settled(
        self,
        wanted: _Wanted,
        low: float | None = None,
        high: float | None = None,
        so_far: NozzleSet | None = None,
    ) -> NozzleSet | None:
        """Best set that fits at the pressure between two where it comes to stand.

        What any pressure between them allows is tried first. Where the best of that is
        not the same at its own pressure, both halves are looked through, but for those
        that can hold nothing better than the best so far.
        """
        standing = self.standing
        low = standing.lowest_kpa if low is None else low
        high = standing.highest_kpa if high is None else high
        between = sorted({low, high, *(p for p in standing.ladder if low < p < high)})
        held = [wanted.pool.of(self.at(p).offer) for p in between]
        made, hoped = self.best_of(wanted, low, high, np.logical_or.reduce(held))
        if made is None or hoped is None:
            return so_far
        if so_far is not None and wanted.key(so_far) <= wanted.key(hoped):
            return so_far
        if wanted.key(made) == wanted.key(hoped) and self.fits(made, wanted.pool):
            return made
        if high <= low * _NARROW:
            if not self.fits(made, wanted.pool):
                made, _ = self.best_of(wanted, low, high, held[0] & held[-1])
            fits = made is not None and self.fits(made, wanted.pool)
            both = [each for each in (so_far, made if fits else None) if each]
            return min(both, key=wanted.key, default=None)
        middle, step = made.offer.pressure_kpa, np.sqrt(_NARROW)
        if not low * step < middle < high / step:
            middle = float(np.sqrt(low * high))
        if wanted.key is _by_water:
            # Whatever stands lower draws more.
            below = self.settled(wanted, low, middle, so_far)
            return below or self.settled(wanted, middle, high)
        above = self.settled(wanted, middle, high, so_far)
        return self.settled(wanted, low, middle, above)

    def best_of(
        self, wanted: _Wanted, low: float, high: float, allowed: np.ndarray
    ) -> tuple[NozzleSet | None, NozzleSet | None]:
        """Best set that comes to stand between two pressures, and the best to hope for.

        The latter is the same set with the cycles that the lowest of them forces.
        """
        level, least = self.at(low), 0
        if high < self.standing.highest_kpa:
            grows = np.nanmax(self.at(high).offer.flow_l_min / level.offer.flow_l_min)
            least = int(self.at(high).gives_l_min / grows * UNITS_PER_L_MIN) - 1
            least -= len(level.rows)
        part = level.part(level.rows, allowed)
        found = wanted.find(level, part, level.cap, least)
        if found is None:
            return None, None
        made = self.own(part, found)
        return made, replace(made, cycles=level.set_of([(part, found, ())]).cycles)

    def fits(self, made: NozzleSet, pool: _Pool) -> bool:
        """Whether a set holds at the pressure where it stands."""
        held = pool.of(made.offer)[np.arange(len(made.nozzle)), made.nozzle]
        matched = abs(made.worst_share - 1) <= MATCHED_WITHIN + _SLACK
        return bool(held.all() and matched)

    def own(self, part: Part, found: Found) -> NozzleSet:
        """A set of some rows that run together, at the pressure where it stands."""
        count = self.lowest.offer.count[list(part.rows)]
        picks = np.array(found.picks)
        level = self.at(self.standing.pressure_of(picks, count))
        return level.set_of([(level.part(part.rows, level.offer.suits), found, ())])

    def not_fitting(self) -> ZoneChoice:
        """What comes nearest on one valve, and what it takes to fit.

        Looked for at the pressure of the most flow, where the least is promised.
        """
        low, offer = self.lowest, self.lowest.offer
        rows = tuple(np.flatnonzero(~offer.no_arc).tolist())
        part, least = self.most_suited(rows)
        under = None
        limits = [word for word, short in (("arc", offer.no_arc),
                                           ("throw", offer.out_of_reach))
                  if short.any()]  # fmt: skip
        placed: list[Placed] = []
        would_do: dict[str, NozzleSet] = {}
        nearly = self.nearly(rows) if rows else None
        if nearly is not None:
            if "throw" not in limits:
                limits.append("throw")
            would_do["throw"] = self.own(*nearly[:2])
            placed = [nearly]
        elif rows:
            under = low.best(part, low.cap) or combinations.best_matched(
                part.options, low.cap, MATCHED_WITHIN
            )
            placed = low.on_valves(part, least)
        if rows and least is None and nearly is None:
            limits.append("match")
        if rows and not (nearly and offer.out_of_reach.any()) and (
            least.water > low.cap if least else under is None and nearly is None
        ):  # fmt: skip
            limits.append("supply")
            if least and not offer.out_of_reach.any():
                would_do["supply"] = low.set_of([(part, least, ())])
        valves = tuple(valve for *_, valves in placed for valve in valves)
        if not placed and under is not None:
            placed, valves = [(part, under, ())], (low.whole(rows),)
        elif not placed and rows:
            any_flow = least or combinations.best_matched(part.options, NO_LIMIT)
            placed = [(part, any_flow, ())] if any_flow else []
        chosen = low.set_of(placed) if len(valves) != 1 else self.own(*placed[0][:2])
        return ZoneChoice(
            offer, low.gives_l_min, False, tuple(limits) or ("throw",), chosen,
            valves, self.own(part, under) if under else None, None,
            least.water / UNITS_PER_L_MIN if least else np.nan, None, would_do,
        )  # fmt: skip

    def nearly(self, rows: Sequence[int]) -> Placed | None:
        """Set that would fit if heads stood a little nearer, by as little as can be."""
        level, offer = self.lowest, self.lowest.offer
        reach = np.where(offer.suits, offer.reach, 0.0)
        steps = np.unique(reach[(reach >= LEAST_OF_REACH) & (reach < 1)])
        low, high, found = 0, len(steps) - 1, None
        while low <= high:
            # The lowest step first: where that has no set, none has.
            middle = 0 if found is None else (low + high + 1) // 2
            part = level.part(rows, reach >= steps[middle] - 1e-9)
            best = level.best(part, level.cap)
            if best is not None:
                found, low = (part, best, (level.whole(rows),)), middle + 1
            elif found is None:
                return None
            else:
                high = middle - 1
        return found

    def most_suited(self, rows: Sequence[int]) -> tuple[Part, Found | None]:
        """First pool with a matched set, and its set of least water; else all pools.

        A row for which a pool holds nothing takes what it has in the next.
        """
        level, best = self.lowest, self.lowest.offer.best_reach
        allowed = np.zeros(best.shape, dtype=bool)
        pools = [pool.suited(level.offer) & best for pool in _POOLS]
        for pool in pools:
            empty = ~pool.any(axis=1, keepdims=True)
            allowed = np.where(empty, best, pool)
            part = level.part(rows, allowed)
            least = None
            if rows:
                least = combinations.least_water(part.options, MATCHED_WITHIN)
            if least is not None:
                return part, least
        for pool in reversed(pools):
            allowed = np.where(pool.any(axis=1, keepdims=True), pool, allowed)
        return level.part(rows, allowed), None


def _by_cycles(nozzles: NozzleSet) -> tuple[float, ...]:
    return nozzles.cycles or 0, -nozzles.total_flow_l_min


def _by_water(nozzles: NozzleSet) -> tuple[float, ...]:
    return (-nozzles.total_flow_l_min,)
