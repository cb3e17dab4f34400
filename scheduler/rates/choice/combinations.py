"""Exact choice of one option a row: the most water whose rates match.

Water is counted in whole billionths of a liter a minute, so that sums are exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

UNITS_PER_L_MIN = 1e9
"""Steps in which water is counted."""
SAME_WATER = 100
"""Totals that differ by no more are the same water: 0.0000001 L/min."""
_CLOSE_ENOUGH = 100_000
"""So near under its upper bound a total may stay where there are too many to list."""
_MOST_SUMS = (1 << 10, 1 << 13, 1 << 17)
"""Sums of half the rows that are kept; more only where fewer leave the best open."""
_MOST_WINDOWS = 400
"""Ranges of totals that are searched for a set of fewest changes."""
_BAND = 0.03
"""Totals are searched from above in bands of this share of their top."""
_SHARE_STEP = 1e-4
_ANY_SHARE = 1e6


@dataclass(frozen=True, slots=True, eq=False)
class Options:
    """What each row may take, (row, option), and which is `allowed`.

    `water` is the row's, in whole units. `total` is the water of all rows if every row
    lay its depth at this option's rate: an option is within a share t of the mean of a
    set that draws S where (1 - t) S <= total <= (1 + t) S.
    """

    water: np.ndarray
    total: np.ndarray
    allowed: np.ndarray

    def only(self, allowed: np.ndarray) -> Options:
        """The same with fewer options."""
        return Options(self.water, self.total, self.allowed & allowed)


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """One option a row, their water in whole units, and the worst share of the mean."""

    picks: tuple[int, ...]
    water: int
    worst_share: float


def water_units(flow_l_min: np.ndarray) -> np.ndarray:
    """Flows in whole units; 0 where NaN."""
    return np.rint(np.nan_to_num(flow_l_min) * UNITS_PER_L_MIN).astype(np.int64)


def most_water(options: Options, within: float, most: int) -> Found | None:
    """Set of most water up to `most` whose rates are `within` a share of their mean.

    Of sets with the same water the one whose worst rate is nearest to the mean; of
    those the one whose first row takes its earliest option, then the second, and on.
    None where no set is so well matched.
    """
    return _proven(options, within, most, 1)


def least_water(options: Options, within: float) -> Found | None:
    """Set of least water whose rates are `within` a share of their mean."""
    return _proven(options, within, -1, -1)


def best_matched(options: Options, most: int, above: float = 0.0) -> Found | None:
    """Set up to `most` whose worst rate is nearest to the mean; then of most water.

    `above` is a share within which no set is known to match. The worst share is the
    least to within 0.0001.
    """
    low, within = above, 2 * above or 0.1
    while _Search(options, within, _MOST_SUMS[0]).highest(most) is None:
        low, within = within, 2 * within
        if within > _ANY_SHARE:
            return None
    high = within
    while high - low > _SHARE_STEP:
        middle = (low + high) / 2
        if _Search(options, middle, _MOST_SUMS[0]).highest(most) is None:
            low = middle
        else:
            high = middle
    return most_water(options, high, most)


def _proven(options: Options, within: float, most: int, sign: int) -> Found | None:
    for size in _MOST_SUMS:
        search = _Search(options, within, size, sign)
        found = search.highest(most)
        if search.sure:
            break
    return None if found is None else _best_matched(options, found * sign, search)


def fewest_changes(
    options: Options,
    now: np.ndarray,
    count: np.ndarray,
    within: float,
    most: int,
    lowest: int = 0,
) -> Found | None:
    """Matched set from `lowest` to `most` that changes fewest heads; then most water.

    `now`, (row,), is what a row has, -1 where that is none of its options; a row that
    takes another changes as many heads as its `count`. Between two totals at which an
    option comes in or goes out all totals have the same options: each such window is
    searched, those that force fewest changes first. After many windows without a set
    the search is given up.
    """
    search = _Search(options, within, _MOST_SUMS[0])
    low, top = search.edges[:-1], search.edges[1:]
    fits = (search.enter <= low[:, None, None]) & (search.leave >= top[:, None, None])
    rows = np.arange(len(now))
    keeps = fits[:, rows, now] & (now >= 0)
    forced = np.where(keeps, 0, count).sum(axis=1)
    high = np.minimum(top, most)
    low = np.maximum(low, lowest)
    able = np.all(np.any(fits, axis=2), axis=1) & (low <= high)
    order = np.lexsort((-high, forced))
    order = order[able[order]]
    best: tuple[int, int, tuple[int, ...]] | None = None
    for extra in (False, True):
        for window in order[:_MOST_WINDOWS]:
            least = int(forced[window])
            if best is not None and (-best[0] < least or (
                -best[0] == least and best[1] >= high[window])):  # fmt: skip
                continue
            spare = -best[0] - least if best is not None else int(count.sum())
            found = _Changes(
                options.water, fits[window], now, np.where(keeps[window], count, 0)
            ).fewest(low[window], high[window], spare if extra else 0)
            if found is not None:
                key = -(least + found[0]), found[1], found[2]
                best = key if best is None else max(best, key)
    return None if best is None else _found(options, best[2])


class _Changes:
    """Sets of one window: what they draw, and how many heads change beyond need."""

    def __init__(
        self, water: np.ndarray, fits: np.ndarray, now: np.ndarray, kept: np.ndarray
    ) -> None:
        self.water, self.fits, self.now, self.kept = water, fits, now, kept

    def fewest(
        self, low: float, high: float, spare: int
    ) -> tuple[int, int, tuple[int, ...]] | None:
        """Changes, water and options of the set of fewest, up to `spare`."""
        middle = len(self.now) // 2
        first = self.sums(range(middle), spare)
        second = self.sums(range(middle, len(self.now)), spare)
        for changes in range(spare + 1):
            ways = []
            for mine in range(changes + 1):
                if mine in first and changes - mine in second:
                    (sums, picks), (others, rest) = first[mine], second[changes - mine]
                    place = np.searchsorted(others, high - sums, side="right") - 1
                    total = np.where(place >= 0, sums + others[place], -1)
                    at = int(np.argmax(total))
                    if total[at] >= low:
                        both = (*picks[at].tolist(), *rest[place[at]].tolist())
                        ways.append((changes, int(total[at]), both))
            if ways:
                return max(ways)
        return None

    def sums(
        self, rows: Sequence[int], spare: int
    ) -> dict[int, tuple[np.ndarray, np.ndarray]]:
        """Rising sums and their options by how many heads change."""
        made = {0: (np.zeros(1, dtype=np.int64), np.zeros((1, 0), dtype=np.int64))}
        for row in rows:
            after: dict[int, list[tuple[np.ndarray, np.ndarray]]] = {}
            for changes, (sums, picks) in made.items():
                for pick in np.flatnonzero(self.fits[row]).tolist():
                    more = changes + (int(self.kept[row]) if pick != self.now[row]
                                      else 0)  # fmt: skip
                    if more <= spare:
                        column = np.full((len(sums), 1), pick)
                        after.setdefault(more, []).append(
                            (sums + self.water[row, pick], np.hstack([picks, column]))
                        )
            made = {more: _rising(parts) for more, parts in after.items()}
        return made


def _rising(
    parts: Sequence[tuple[np.ndarray, np.ndarray]],
) -> tuple[np.ndarray, np.ndarray]:
    """Distinct sums of parts with the options that first make them."""
    sums = np.concatenate([part[0] for part in parts])
    picks = np.concatenate([part[1] for part in parts])
    sums, first = np.unique(sums, return_index=True)
    if len(sums) > _MOST_SUMS[0]:
        keep = _spread(sums, _MOST_SUMS[0])
        sums, first = sums[keep], first[keep]
    return sums, picks[first]


class _Search:
    """Search for the highest total; `sure` says whether it is proven.

    With `sign` -1 all water counts as negative, and the highest total is the least.
    """

    def __init__(
        self, options: Options, within: float, most_sums: int, sign: int = 1
    ) -> None:
        self.allowed = options.allowed
        self.water = sign * options.water
        self.most_sums = most_sums
        self.sure = True
        slack = within + 1e-9
        total = np.where(options.allowed, options.total, np.nan)
        least = total / (1 + slack)
        most = total / (1 - slack) if slack < 1 else total * np.inf
        self.enter, self.leave = (least, most) if sign > 0 else (-most, -least)
        edges = np.concatenate([self.enter.ravel(), self.leave.ravel()])
        self.edges = np.unique(edges[np.isfinite(edges)])

    def highest(self, most: int) -> int | None:
        """Highest total up to `most` that a matched set draws."""
        if not self.allowed.any(axis=1).all():
            return None
        span = int(np.abs(self.water).max()) + 1
        greatest = np.where(self.allowed, self.water, -span).max(axis=1).sum()
        lowest = int(np.where(self.allowed, self.water, span).min(axis=1).sum())
        high = min(most, int(greatest))
        while high >= lowest:
            low = high - max(int(abs(high) * _BAND), 1)
            total = self._sum_within(self.fitting(low, high), low, high)
            if total is None:
                high = low
                continue
            place = int(np.searchsorted(self.edges, total, side="right"))
            edge = int(np.ceil(self.edges[place - 1])) if place else lowest
            found = self._sum_within(self.fitting(total, total), edge, total)
            if found is not None:
                return found
            high = min(edge, total - 1)
        return None

    def fitting(self, low: float, high: float) -> np.ndarray:
        """Options that match some total from `low` to `high`."""
        with np.errstate(invalid="ignore"):
            return (self.enter <= high) & (self.leave >= low)

    def rows(self, mask: np.ndarray) -> list[np.ndarray]:
        """Water of the options that a mask leaves, a row at a time."""
        pairs = zip(self.water, mask, strict=True)
        return [water[keep] for water, keep in pairs]

    def _sum_within(self, mask: np.ndarray, low: int, high: int) -> int | None:
        """Highest sum from `low` to `high` with one option a row."""
        rows = self.rows(mask)
        if any(not row.size for row in rows):
            return None
        least, most = sum(int(r.min()) for r in rows), sum(int(r.max()) for r in rows)
        if least > high or most < low:
            return None
        middle = len(rows) // 2
        first, whole_first = _sums(rows[:middle], self.most_sums)
        second, whole_second = _sums(rows[middle:], self.most_sums)
        place = np.searchsorted(second, high - first, side="right") - 1
        able = place >= 0
        best = int((first + second[place])[able].max()) if able.any() else low - 1
        gap = high - max(best, low)
        if not (whole_first and whole_second) and gap > _CLOSE_ENOUGH:
            self.sure = False
        return best if best >= low else None


def _sums(rows: Sequence[np.ndarray], most: int) -> tuple[np.ndarray, bool]:
    """Distinct sums with one option a row, rising, and whether all of them."""
    sums, whole = np.zeros(1, dtype=np.int64), True
    for row in rows:
        sums = np.unique(np.add.outer(np.unique(row), sums))
        if len(sums) > most:
            sums, whole = sums[_spread(sums, most)], False
    return sums, whole


def _spread(sums: np.ndarray, most: int) -> np.ndarray:
    """Places of at most so many sums, spread evenly between the lowest and highest."""
    span = int(sums[-1] - sums[0])
    bucket = ((sums - sums[0]) / span * (most - 1)).astype(np.int64)
    return np.unique(bucket, return_index=True)[1]


def _best_matched(options: Options, water: int, search: _Search) -> Found:
    """Best matched set that draws this water, by chart order among its likes."""
    signed = water if search.water.max() > 0 else -water
    mask = search.fitting(signed, signed)
    off = np.where(mask, np.abs(options.total / water - 1), np.inf)
    steps = np.unique(off[mask])
    low, high = 0, len(steps) - 1
    best, keep = None, mask
    while best is None or low < high:
        middle = high if best is None else (low + high) // 2
        closer = mask & (off <= steps[middle] + 1e-12)
        picks = _first_picks(search.rows(closer), signed, search.most_sums)
        if picks is not None:
            high, best, keep = middle, picks, closer
        elif best is not None:
            low = middle + 1
        else:
            raise AssertionError("a total that was found is lost")
    places = tuple(
        int(np.flatnonzero(row)[pick]) for row, pick in zip(keep, best, strict=True)
    )
    return _found(options, places)


def _found(options: Options, places: tuple[int, ...]) -> Found:
    """A set with its water and its worst share."""
    each = np.arange(len(places)), np.array(places)
    shares = options.total[each] / options.water[each].sum()
    worst = shares[int(np.argmax(np.abs(shares - 1)))]
    return Found(places, int(options.water[each].sum()), float(worst))


def _first_picks(
    rows: Sequence[np.ndarray], water: int, most: int
) -> tuple[int, ...] | None:
    """Earliest options whose sum is this water, the first row's earliest of all."""
    if any(not row.size for row in rows):
        return None
    middle = len(rows) // 2
    first, first_picks = _sums_with_picks(rows[:middle], most)
    second, second_picks = _sums_with_picks(rows[middle:], most)
    by_sum = np.argsort(second, kind="stable")
    ordered = second[by_sum]
    start = np.searchsorted(ordered, water - SAME_WATER - first, side="left")
    end = np.searchsorted(ordered, water - first, side="right")
    reaching = np.flatnonzero(end > start)
    if not reaching.size:
        return None
    left = int(reaching[0])
    right = int(by_sum[start[left] : end[left]].min())
    return (*first_picks[left].tolist(), *second_picks[right].tolist())


def _sums_with_picks(
    rows: Sequence[np.ndarray], most: int
) -> tuple[np.ndarray, np.ndarray]:
    """Sums as `_sums` gives them, in the order of the earliest options that make them.

    A set that comes first keeps its place whatever is added to both, so of two with
    one sum only the first is kept.
    """
    sums, picks = np.zeros(1, dtype=np.int64), np.zeros((1, 0), dtype=np.int64)
    for row in rows:
        added = np.add.outer(sums, row).ravel()
        parent, pick = np.divmod(np.arange(added.size), len(row))
        _, earliest = np.unique(added, return_index=True)
        if len(earliest) > most:
            earliest = earliest[_spread(added[earliest], most)]
        earliest.sort()
        sums = added[earliest]
        picks = np.column_stack([picks[parent[earliest]], pick[earliest]])
    return sums, picks
