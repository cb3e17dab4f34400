"""Heads shared out over valves, none of which draws more than the supply gives."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

Valve = tuple[tuple[int, int], ...]
"""What hangs on a valve: pairs of a row and how many of its heads."""

_SLACK = 1e-9


def split_over_valves(
    flows_l_min: Sequence[float], counts: Sequence[int], design_flow_l_min: float
) -> tuple[Valve, ...]:
    """The fewest valves that take so many heads of each row, each within the supply.

    Valves draw about alike where that can be had, and else are filled one after the
    other. Nothing comes back where one head alone draws more than the supply gives.
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
            or _solved(flows_l_min, counts, valves, most)
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


def _solved(
    flows: Sequence[float], counts: Sequence[int], valves: int, most: float
) -> list[dict[int, int]] | None:
    """Whole heads of each row on each valve, by integer programming."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    rows = len(flows)
    shape = (rows, valves)
    all_placed = np.kron(np.eye(rows), np.ones(valves))
    drawn = np.kron(np.asarray(flows), np.eye(valves))
    # Solvers take a limit with a millionth of slack; what comes back is checked.
    solution = milp(
        np.zeros(rows * valves),
        integrality=np.ones(rows * valves),
        bounds=Bounds(0, np.repeat(counts, valves)),
        constraints=[
            LinearConstraint(all_placed, counts, counts),
            LinearConstraint(drawn, 0, most),
        ],
    )
    if solution.x is None:
        return None
    whole = np.rint(solution.x.reshape(shape)).astype(int)
    if np.any(np.asarray(flows) @ whole > most):
        return None
    return [{row: int(n) for row, n in enumerate(column) if n} for column in whole.T]


def _ordered(placed: list[dict[int, int]]) -> tuple[Valve, ...]:
    """Valves by their first row, rows in the order of the file."""
    valves = [tuple(sorted(heads.items())) for heads in placed if heads]
    return tuple(sorted(valves, key=lambda valve: [(r, -n) for r, n in valve]))
