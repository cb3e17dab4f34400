"""Heads shared out over valves, none of which draws more than the supply gives."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

Valve = tuple[tuple[int, int], ...]
"""What hangs on a valve: pairs of a row and how many of its heads."""

_SLACK = 1e-9
_MOST_TRIES = 50_000


def split_over_valves(
    flows_l_min: Sequence[float], counts: Sequence[int], design_flow_l_min: float
) -> tuple[Valve, ...]:
    """The fewest valves that take so many heads of each row, each within the supply.

    Valves draw about alike where that can be had, and else are filled one after the
    other. Nothing comes back where one head alone draws more than the supply gives.
    With a dozen unlike flows and more, and a supply that only just might do, proving
    that a valve less is too few is given up after many tries.
    """
    most = design_flow_l_min * (1 + _SLACK)
    if not flows_l_min or max(flows_l_min) > most:
        return ()
    heads = [
        row
        for row in sorted(range(len(flows_l_min)), key=lambda r: (-flows_l_min[r], r))
        for _ in range(counts[row])
    ]
    total = sum(flows_l_min[row] for row in heads)
    for valves in range(max(1, math.ceil(total / most)), len(heads) + 1):
        placed = (
            _spread(flows_l_min, heads, valves, most)
            or _filled(flows_l_min, heads, valves, most)
            or _searched(flows_l_min, counts, valves, most)
        )
        if placed:
            return _ordered(placed)
    raise AssertionError("every head fits on a valve of its own")


def _spread(
    flows: Sequence[float], heads: Sequence[int], valves: int, most: float
) -> list[dict[int, int]] | None:
    """Each head, the largest first, to the valve that draws least so far."""
    loads, placed = [0.0] * valves, [dict[int, int]() for _ in range(valves)]
    for row in heads:
        valve = min(range(valves), key=lambda v: (round(loads[v], 9), v))
        loads[valve] += flows[row]
        if loads[valve] > most:
            return None
        placed[valve][row] = placed[valve].get(row, 0) + 1
    return placed


def _filled(
    flows: Sequence[float], heads: Sequence[int], valves: int, most: float
) -> list[dict[int, int]] | None:
    """Each head, the largest first, to the first valve that still has room."""
    loads, placed = [0.0] * valves, [dict[int, int]() for _ in range(valves)]
    for row in heads:
        valve = next((v for v in range(valves) if loads[v] + flows[row] <= most), None)
        if valve is None:
            return None
        loads[valve] += flows[row]
        placed[valve][row] = placed[valve].get(row, 0) + 1
    return placed


def _searched(
    flows: Sequence[float], counts: Sequence[int], valves: int, most: float
) -> list[dict[int, int]] | None:
    """Heads on so many valves, by trying every way to fill one after the other."""
    alike: dict[float, list[int]] = {}
    for row, flow in enumerate(flows):
        alike.setdefault(round(flow, 9), []).extend([row] * counts[row])
    sizes = tuple(sorted(alike, reverse=True))
    need = tuple(len(alike[size]) for size in sizes)
    filled = _Filling(sizes, most).fill(need, valves)
    if filled is None:
        return None
    heads = [iter(alike[size]) for size in sizes]
    placed = []
    for taken in filled:
        hung = [
            next(rows) for rows, n in zip(heads, taken, strict=True) for _ in range(n)
        ]
        placed.append({row: hung.count(row) for row in dict.fromkeys(hung)})
    return placed


class _Filling:
    """Search for valves that hold so many heads of each size, the largest first."""

    def __init__(self, sizes: tuple[float, ...], most: float) -> None:
        self.sizes = sizes
        self.most = most
        self.failed: set[tuple[tuple[int, ...], int]] = set()
        self.tries = 0

    def fill(self, need: tuple[int, ...], valves: int) -> list[tuple[int, ...]] | None:
        """What each valve takes of what is needed; None where it does not go."""
        if not any(need):
            return []
        drawn = sum(s * n for s, n in zip(self.sizes, need, strict=True))
        spare = valves * self.most - drawn
        if spare < 0 or (need, valves) in self.failed:
            return None
        # The largest head must hang somewhere: why not here.
        largest = next(i for i, n in enumerate(need) if n)
        for taken in self.one_valve(need, 0, self.most, spare):
            if self.tries > _MOST_TRIES:
                return None
            left = tuple(n - t for n, t in zip(need, taken, strict=True))
            rest = self.fill(left, valves - 1) if taken[largest] else None
            if rest is not None:
                return [taken, *rest]
        self.failed.add((need, valves))
        return None

    def one_valve(
        self, need: tuple[int, ...], size: int, room: float, spare: float
    ) -> Iterator[tuple[int, ...]]:
        """Ways to fill a valve that waste no more than all valves have to spare."""
        self.tries += 1
        if size == len(need):
            if room <= spare:
                yield ()
            return
        each = self.sizes[size]
        for n in range(min(need[size], int(room / each)), -1, -1):
            if self.tries > _MOST_TRIES:
                return
            for others in self.one_valve(need, size + 1, room - n * each, spare):
                yield (n, *others)


def _ordered(placed: list[dict[int, int]]) -> tuple[Valve, ...]:
    """Valves by their first row, rows in the order of the file."""
    valves = [tuple(sorted(heads.items())) for heads in placed if heads]
    return tuple(sorted(valves, key=lambda valve: [(r, -n) for r, n in valve]))
