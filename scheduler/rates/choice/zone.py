"""Which nozzle on which head: matched rates, within the supply, from head to head.

A set of nozzles is well matched where every head's rate is within `MATCHED_WITHIN` of
the mean. Of the well-matched sets that the supply carries, those that the ground takes
in the fewest cycles come first; of these the one of most water; of sets with the same
water the best matched; then the earliest in the chart, the first head first.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from scheduler.rates.choice import combinations
from scheduler.rates.choice.combinations import UNITS_PER_L_MIN, Found, Options
from scheduler.rates.choice.offers import LEAST_OF_REACH, ZoneOffer
from scheduler.rates.choice.valves import Valve, split_over_valves
from scheduler.rates.soundness import MATCHED_WITHIN

LIMITS = ("arc", "throw", "match", "supply")
"""What may keep a zone from a set that fits."""

_MOST_KINDS = 8
"""So many unlike rows of heads are at most parted into groups that match."""
_TRIES = 50
_NO_LIMIT = int(np.iinfo(np.int64).max // 4)


@dataclass(frozen=True, slots=True, eq=False)
class NozzleSet:
    """A nozzle for each row of heads, (row,); -1 where there is none.

    Flow is one head's. `share_of_mean` is the rate over the mean of the heads that
    run together, `worst_share` the one farthest from 1. `cycles` is what the ground
    forces, None where that is not known.
    """

    nozzle: np.ndarray
    flow_l_min: np.ndarray
    share_of_mean: np.ndarray
    worst_share: float
    total_flow_l_min: float
    cycles: int | None


@dataclass(frozen=True, slots=True, eq=False)
class ZoneChoice:
    """What a zone is best given.

    `chosen` stands on `valves`, each of pairs of a row of the offer and how many of its
    heads; one valve where it fits. `limits` says what binds where not, and
    `under_limit` is then the best set that one valve carries, None where there is none;
    `would_do` holds, by limit, the set that would fit if that limit alone were not.
    `with_more_cycles` draws more water at the price of more cycles, None where nothing
    does; `least_flow_l_min` is the least that a well-matched set draws.
    `fewest_changes` fits too and changes the fewest heads, None where it is `chosen`.
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

    def changed(self, nozzles: NozzleSet) -> int:
        """Heads that get another nozzle than they have."""
        return int(self.offer.count[nozzles.nozzle != self.offer.now].sum())


def choose(
    offer: ZoneOffer,
    design_flow_l_min: float,
    cycles: np.ndarray | None = None,
    allow_more_cycles: bool = False,
) -> ZoneChoice:
    """Nozzles of one zone.

    `cycles`, (row, nozzle), is how many the ground forces if the zone runs at the rate
    of that nozzle on that row; `allow_more_cycles` leaves it out of the choice.
    """
    chooser = _Chooser(offer, design_flow_l_min, cycles, allow_more_cycles)
    return chooser.fitting() or chooser.not_fitting()


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    """Rows of an offer that run together, and what they may take."""

    rows: tuple[int, ...]
    options: Options


_Placed = tuple[_Part, Found, tuple[Valve, ...]]


class _Chooser:
    def __init__(
        self,
        offer: ZoneOffer,
        design_flow_l_min: float,
        cycles: np.ndarray | None,
        allow_more_cycles: bool,
    ) -> None:
        self.offer = offer
        self.design_flow_l_min = design_flow_l_min
        self.cycles = cycles
        self.allow_more_cycles = allow_more_cycles
        self.cap = self.capacity(1)

    def capacity(self, valves: int) -> int:
        """Most water of so many valves, with room for the rounding of each row."""
        flow = valves * self.design_flow_l_min * (1 + 1e-9)
        if not flow * UNITS_PER_L_MIN < _NO_LIMIT:
            return _NO_LIMIT
        return int(flow * UNITS_PER_L_MIN) + len(self.offer.rows)

    def fitting(self) -> ZoneChoice | None:
        """First pool of nozzles with a set that fits."""
        offer = self.offer
        if offer.no_arc.any() or offer.out_of_reach.any():
            return None
        rows = tuple(range(len(offer.rows)))
        for pool in _pools(offer):
            part = self.part(rows, pool & offer.reaches)
            found = self.best(part, self.cap)
            if found is None:
                continue
            most = combinations.most_water(part.options, MATCHED_WITHIN, self.cap)
            assert most is not None
            gains = most.water > found.water + combinations.SAME_WATER
            return ZoneChoice(
                offer, self.design_flow_l_min, True, (),
                self.set_of([(part, found, ())]), (self.whole(rows),), None,
                self.set_of([(part, most, ())]) if gains else None, np.nan,
                self.fewest(rows, found), {},
            )  # fmt: skip
        return None

    def fewest(self, rows: Sequence[int], chosen: Found) -> NozzleSet | None:
        """What changes fewer heads than the chosen set, of all that reach."""
        offer = self.offer
        part = self.part(rows, offer.reaches)
        found = combinations.fewest_changes(
            part.options, offer.now, offer.count, MATCHED_WITHIN, self.cap
        )

        def changed(nozzles: Found) -> int:
            return int(offer.count[np.array(nozzles.picks) != offer.now].sum())

        if found is None or changed(found) >= changed(chosen):
            return None
        return self.set_of([(part, found, ())])

    def not_fitting(self) -> ZoneChoice:
        """What comes nearest on one valve, and what it takes to fit."""
        offer = self.offer
        rows = tuple(np.flatnonzero(~offer.no_arc).tolist())
        part, least = self.most_suited(rows)
        under = None
        limits = [word for word, short in (("arc", offer.no_arc),
                                           ("throw", offer.out_of_reach))
                  if short.any()]  # fmt: skip
        placed: list[_Placed] = []
        would_do: dict[str, NozzleSet] = {}
        nearly = self.nearly(rows) if rows else None
        if nearly is not None:
            if "throw" not in limits:
                limits.append("throw")
            would_do["throw"] = self.set_of([nearly])
            placed = [nearly]
        elif rows:
            under = self.best(part, self.cap) or combinations.best_matched(
                part.options, self.cap, MATCHED_WITHIN
            )
            placed = self.on_valves(part, least)
        if rows and least is None and nearly is None:
            limits.append("match")
        if rows and not (nearly and offer.out_of_reach.any()) and (
            least.water > self.cap if least else under is None and nearly is None
        ):  # fmt: skip
            limits.append("supply")
            if least and not offer.out_of_reach.any():
                would_do["supply"] = self.set_of([(part, least, ())])
        valves = tuple(valve for *_, valves in placed for valve in valves)
        if not placed and under is not None:
            placed, valves = [(part, under, ())], (self.whole(rows),)
        elif not placed and rows:
            any_flow = least or combinations.best_matched(part.options, _NO_LIMIT)
            placed = [(part, any_flow, ())] if any_flow else []
        return ZoneChoice(
            offer, self.design_flow_l_min, False, tuple(limits), self.set_of(placed),
            valves, self.set_of([(part, under, ())]) if under else None, None,
            least.water / UNITS_PER_L_MIN if least else np.nan, None, would_do,
        )  # fmt: skip

    def nearly(self, rows: Sequence[int]) -> _Placed | None:
        """Set that would fit if heads stood a little nearer, by as little as can be."""
        offer = self.offer
        reach = np.where(offer.suits, offer.reach, 0.0)
        levels = np.unique(reach[(reach >= LEAST_OF_REACH) & (reach < 1)])
        low, high, found = 0, len(levels) - 1, None
        while low <= high:
            # The lowest level first: where that has no set, none has.
            middle = 0 if found is None else (low + high + 1) // 2
            part = self.part(rows, reach >= levels[middle] - 1e-9)
            best = self.best(part, self.cap)
            if best is not None:
                found, low = (part, best, (self.whole(rows),)), middle + 1
            elif found is None:
                return None
            else:
                high = middle - 1
        return found

    def most_suited(self, rows: Sequence[int]) -> tuple[_Part, Found | None]:
        """First pool with a matched set, and its set of least water; else all pools.

        A row for which a pool holds nothing takes what it has in the next.
        """
        best = self.offer.best_reach
        allowed = np.zeros(best.shape, dtype=bool)
        for pool in _pools(self.offer):
            empty = ~(pool & best).any(axis=1, keepdims=True)
            allowed = np.where(empty, best, pool & best)
            part = self.part(rows, allowed)
            least = None
            if rows:
                least = combinations.least_water(part.options, MATCHED_WITHIN)
            if least is not None:
                return part, least
        narrow = [pool & best for pool in _pools(self.offer)]
        for pool in reversed(narrow):
            allowed = np.where(pool.any(axis=1, keepdims=True), pool, allowed)
        return self.part(rows, allowed), None

    def part(self, rows: Sequence[int], allowed: np.ndarray) -> _Part:
        """Options of some rows that run together."""
        offer = self.offer
        mine = list(rows)
        count, area = offer.count[mine], offer.area_m2[mine]
        flow = np.broadcast_to(offer.flow_l_min, (len(mine), len(offer.flow_l_min)))
        total = flow / area[:, None] * (count * area).sum() * UNITS_PER_L_MIN
        water = combinations.water_units(flow * count[:, None])
        return _Part(tuple(mine), Options(water, total, allowed[mine]))

    def best(self, part: _Part, most: int) -> Found | None:
        """Well-matched set of fewest cycles, then of most water up to `most`."""
        options = part.options
        found = combinations.most_water(options, MATCHED_WITHIN, most)
        if found is None or self.cycles is None or self.allow_more_cycles:
            return found
        cycles = self.cycles[list(part.rows)]
        forced = max(cycles[row, pick] for row, pick in enumerate(found.picks))
        steps = np.unique(cycles[options.allowed & (cycles < forced)])
        low, high = 0, len(steps)
        while low < high:
            middle = (low + high) // 2
            gentler = combinations.most_water(
                options.only(cycles <= steps[middle]), MATCHED_WITHIN, most
            )
            if gentler is None:
                low = middle + 1
            else:
                high, found = middle, gentler
        return found

    def on_valves(self, part: _Part, least: Found | None) -> list[_Placed]:
        """Heads on the fewest valves, well matched on each; empty where none serve."""
        if least is not None:
            placed = self.split(part, least)
            return [placed] if placed else []
        return self.grouped(part)

    def split(self, part: _Part, least: Found) -> _Placed | None:
        """One matched set over as few valves as its gentlest needs, with most water."""
        count = [int(self.offer.count[row]) for row in part.rows]
        fewest = self.hung(part, least)
        if not fewest:
            return None
        most = self.capacity(len(fewest))
        for _ in range(_TRIES):
            found = self.best(part, most)
            if found is None:
                break
            valves = self.hung(part, found)
            if valves and len(valves) <= len(fewest):
                return part, found, valves
            most = found.water - combinations.SAME_WATER - sum(count)
        return part, least, fewest

    def hung(self, part: _Part, found: Found) -> tuple[Valve, ...]:
        """Valves of a set, in rows of the offer."""
        flows = [float(self.offer.flow_l_min[pick]) for pick in found.picks]
        counts = [int(self.offer.count[row]) for row in part.rows]
        return tuple(
            tuple((part.rows[row], heads) for row, heads in valve)
            for valve in split_over_valves(flows, counts, self.design_flow_l_min)
        )

    def grouped(self, part: _Part) -> list[_Placed]:
        """Rows parted into groups that match, on the fewest valves together."""
        kinds = _alike(part, self.offer)
        if not 1 < len(kinds) <= _MOST_KINDS:
            return []
        allowed = np.zeros(self.offer.suits.shape, dtype=bool)
        allowed[list(part.rows)] = part.options.allowed
        alone: dict[int, _Placed] = {}
        for subset in range(1, 1 << len(kinds)):
            members = [kind for bit, kind in enumerate(kinds) if subset >> bit & 1]
            rows = sorted(itertools.chain.from_iterable(members))
            group = self.part(rows, allowed)
            least = combinations.least_water(group.options, MATCHED_WITHIN)
            placed = self.split(group, least) if least else None
            if placed:
                alone[subset] = placed
        return _fewest_valves(alone, (1 << len(kinds)) - 1)

    def set_of(self, placed: Sequence[_Placed]) -> NozzleSet:
        """The nozzles of groups of rows, as one set."""
        offer = self.offer
        count = len(offer.rows)
        nozzle = np.full(count, -1)
        share = np.full(count, np.nan)
        for part, found, _ in placed:
            rows = list(part.rows)
            nozzle[rows] = found.picks
            water = part.options.water[np.arange(len(rows)), found.picks].sum()
            share[rows] = part.options.total[np.arange(len(rows)), found.picks] / water
        given = nozzle >= 0
        off = np.where(given, np.abs(share - 1), -1.0)
        flow = np.where(given, offer.flow_l_min[nozzle], np.nan)
        cycles = None
        if self.cycles is not None and given.any():
            cycles = int(self.cycles[np.flatnonzero(given), nozzle[given]].max())
        return NozzleSet(
            nozzle, flow, share, float(share[int(np.argmax(off))]),
            float(np.nansum(flow * offer.count)), cycles,
        )  # fmt: skip

    def whole(self, rows: Sequence[int]) -> Valve:
        """One valve with all heads of some rows."""
        return tuple((row, int(self.offer.count[row])) for row in rows)


def _pools(offer: ZoneOffer) -> Iterator[np.ndarray]:
    """Nozzles to choose from, (row, nozzle): the best suited first, then wider.

    First only those that the chart covers at this pressure, that throw to the next head
    and not too far, and hold in the wind; then those beyond the chart too, then those
    short of the next head, then those that throw too far, and last those that drift.
    """
    seen: list[np.ndarray] = []
    for drift, far, short, beyond in itertools.product((False, True), repeat=4):
        pool = (offer.calm | drift) & (offer.in_chart | beyond)
        pool = pool & (offer.near | far) & (offer.to_next | short)
        if not any(np.array_equal(pool, other) for other in seen):
            seen.append(pool)
            yield pool


def _alike(part: _Part, offer: ZoneOffer) -> list[list[int]]:
    """Rows that may take the same nozzles on the same ground, together."""
    kinds: dict[tuple[float, bytes], list[int]] = {}
    for row, allowed in zip(part.rows, part.options.allowed, strict=True):
        key = round(float(offer.area_m2[row]), 9), allowed.tobytes()
        kinds.setdefault(key, []).append(row)
    return list(kinds.values())


def _fewest_valves(alone: dict[int, _Placed], everything: int) -> list[_Placed]:
    """Groups that together hold every kind of row once, on the fewest valves.

    Of partings with as many valves the one of fewest groups; then the first found,
    larger groups before smaller.
    """
    best: dict[int, tuple[tuple[int, int], list[int]]] = {0: ((0, 0), [])}
    for covered in range(1, everything + 1):
        lowest = covered & -covered
        ways = []
        for subset in sorted(alone, reverse=True):
            rest = covered ^ subset
            if subset & covered == subset and subset & lowest and rest in best:
                (valves, groups), others = best[rest]
                cost = valves + len(alone[subset][2]), groups + 1
                ways.append((cost, [subset, *others]))
        if ways:
            best[covered] = min(ways, key=lambda way: way[0])
    return [alone[s] for s in best[everything][1]] if everything in best else []
