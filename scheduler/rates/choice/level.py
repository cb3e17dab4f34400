"""Sets of nozzles of a zone at one pressure: the best, and on how many valves."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scheduler.rates.choice import combinations
from scheduler.rates.choice.combinations import UNITS_PER_L_MIN, Found, Options
from scheduler.rates.choice.offers import ZoneOffer
from scheduler.rates.choice.valves import Valve, split_over_valves
from scheduler.rates.soundness import MATCHED_WITHIN

_MOST_KINDS = 8
"""So many unlike rows of heads are at most parted into groups that match."""
_TRIES = 50
NO_LIMIT = int(np.iinfo(np.int64).max // 4)
"""More water than any set draws, in whole units."""


@dataclass(frozen=True, slots=True, eq=False)
class NozzleSet:
    """A nozzle for each row of heads, (row,); -1 where there is none.

    `offer` is what the chart offers at the pressure where the set stands. Flow is one
    head's. `share_of_mean` is the rate over the mean of the heads that run together,
    `worst_share` the one farthest from 1. `cycles` is what the ground forces, None
    where that is not known.
    """

    offer: ZoneOffer
    nozzle: np.ndarray
    flow_l_min: np.ndarray
    share_of_mean: np.ndarray
    worst_share: float
    total_flow_l_min: float
    cycles: int | None


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """Rows of an offer that run together, and what they may take."""

    rows: tuple[int, ...]
    options: Options


Placed = tuple[Part, Found, tuple[Valve, ...]]
"""A set of nozzles on rows that run together, and the valves that they hang on."""


class Level:
    """What a zone may be given at one pressure, where the supply gives so much."""

    def __init__(
        self,
        offer: ZoneOffer,
        gives_l_min: float,
        cycles: np.ndarray | None,
        allow_more_cycles: bool,
    ) -> None:
        self.offer = offer
        self.gives_l_min = gives_l_min
        self.cycles = cycles
        self.allow_more_cycles = allow_more_cycles
        self.rows = tuple(range(len(offer.rows)))
        self.cap = self.capacity(1)

    def capacity(self, valves: int) -> int:
        """Most water of so many valves, with room for the rounding of each row."""
        flow = valves * self.gives_l_min * (1 + 1e-9)
        if not flow * UNITS_PER_L_MIN < NO_LIMIT:
            return NO_LIMIT
        return int(flow * UNITS_PER_L_MIN) + len(self.offer.rows)

    def part(self, rows: Sequence[int], allowed: np.ndarray) -> Part:
        """Options of some rows that run together."""
        offer = self.offer
        mine = list(rows)
        count, area = offer.count[mine], offer.area_m2[mine]
        flow = np.broadcast_to(offer.flow_l_min, (len(mine), len(offer.flow_l_min)))
        total = flow / area[:, None] * (count * area).sum() * UNITS_PER_L_MIN
        water = combinations.water_units(flow * count[:, None])
        return Part(tuple(mine), Options(water, total, allowed[mine]))

    def most(self, part: Part, most: int, least: int = 0) -> Found | None:
        """Well-matched set of most water from `least` up to `most`."""
        found = combinations.most_water(part.options, MATCHED_WITHIN, most)
        return None if found is None or found.water < least else found

    def best(self, part: Part, most: int, least: int = 0) -> Found | None:
        """Well-matched set of fewest cycles, then of most water up to `most`."""
        options, found = part.options, self.most(part, most, least)
        if found is None or self.cycles is None or self.allow_more_cycles:
            return found
        cycles = self.cycles[list(part.rows)]
        forced = max(cycles[row, pick] for row, pick in enumerate(found.picks))
        steps = np.unique(cycles[options.allowed & (cycles < forced)])
        low, high = 0, len(steps)
        while low < high:
            middle = (low + high) // 2
            gentler = self.most(
                Part(part.rows, options.only(cycles <= steps[middle])), most, least
            )
            if gentler is None:
                low = middle + 1
            else:
                high, found = middle, gentler
        return found

    def fewest(self, part: Part, most: int, least: int = 0) -> Found | None:
        """Well-matched set that changes fewest heads, then of most water."""
        rows = list(part.rows)
        return combinations.fewest_changes(
            part.options, self.offer.now[rows], self.offer.count[rows],
            MATCHED_WITHIN, most, least,
        )  # fmt: skip

    def on_valves(self, part: Part, least: Found | None) -> list[Placed]:
        """Heads on the fewest valves, well matched on each; empty where none serve."""
        if least is not None:
            placed = self.split(part, least)
            return [placed] if placed else []
        return self.grouped(part)

    def split(self, part: Part, least: Found) -> Placed | None:
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

    def hung(self, part: Part, found: Found) -> tuple[Valve, ...]:
        """Valves of a set, in rows of the offer."""
        flows = [float(self.offer.flow_l_min[pick]) for pick in found.picks]
        counts = [int(self.offer.count[row]) for row in part.rows]
        return tuple(
            tuple((part.rows[row], heads) for row, heads in valve)
            for valve in split_over_valves(flows, counts, self.gives_l_min)
        )

    def grouped(self, part: Part) -> list[Placed]:
        """Rows parted into groups that match, on the fewest valves together."""
        kinds = _alike(part, self.offer)
        if not 1 < len(kinds) <= _MOST_KINDS:
            return []
        allowed = np.zeros(self.offer.suits.shape, dtype=bool)
        allowed[list(part.rows)] = part.options.allowed
        alone: dict[int, Placed] = {}
        for subset in range(1, 1 << len(kinds)):
            members = [kind for bit, kind in enumerate(kinds) if subset >> bit & 1]
            rows = sorted(itertools.chain.from_iterable(members))
            group = self.part(rows, allowed)
            least = combinations.least_water(group.options, MATCHED_WITHIN)
            placed = self.split(group, least) if least else None
            if placed:
                alone[subset] = placed
        return _fewest_valves(alone, (1 << len(kinds)) - 1)

    def set_of(self, placed: Sequence[Placed]) -> NozzleSet:
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
            offer, nozzle, flow, share, float(share[int(np.argmax(off))]),
            float(np.nansum(flow * offer.count)), cycles,
        )  # fmt: skip

    def whole(self, rows: Sequence[int]) -> Valve:
        """One valve with all heads of some rows."""
        return tuple((row, int(self.offer.count[row])) for row in rows)


def _alike(part: Part, offer: ZoneOffer) -> list[list[int]]:
    """Rows that may take the same nozzles on the same ground, together."""
    kinds: dict[tuple[float, bytes], list[int]] = {}
    for row, allowed in zip(part.rows, part.options.allowed, strict=True):
        key = round(float(offer.area_m2[row]), 9), allowed.tobytes()
        kinds.setdefault(key, []).append(row)
    return list(kinds.values())


def _fewest_valves(alone: dict[int, Placed], everything: int) -> list[Placed]:
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
