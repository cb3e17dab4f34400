"""Which few programs, of many that could be, water all zones with least waste."""

from __future__ import annotations

import numpy as np


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
    for place in range(len(chosen)):
        others = chosen[:place] + chosen[place + 1 :]
        taken = int(slots[others].sum())
        rest = cost[:, others].min(axis=1) if others else np.full(len(cost), np.inf)
        without = float(rest.sum()) + a_program * taken
        if others and without < total * (1 - 1e-9):
            total, best = without, (others, without)
        instead = np.minimum(rest[:, None], cost).sum(axis=0) + a_program * (
            slots + taken
        )
        instead[slots > most_slots - taken] = np.inf
        row = int(instead.argmin())
        if instead[row] < total * (1 - 1e-9):
            total = float(instead[row])
            best = [*others, row], total
    return best
