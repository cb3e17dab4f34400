"""First choice of a stretch's programs against a solver: python tests/bench/dealing.py

Which days and starts the programs of a stretch of months have, and which of them waters
each zone, every zone free in percents: the search of `plan/card/programs.py` beside
HiGHS (scipy.optimize.milp), which proves the least there is. The examples on stretches
of their own, and drawn sites: some zones of an example, on a drawn controller and
stretch. Printed are lines of code, seconds, and how far the search is over the least.
"""

from __future__ import annotations

import inspect
import os
import time
from pathlib import Path

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import numpy as np
from scipy import optimize, sparse

from scheduler.inputs.folder import read_site
from scheduler.plan.card import programs
from scheduler.plan.card.needs import card_needs
from scheduler.plan.card.prices import Prices
from scheduler.plan.card.programs import StretchSearch
from scheduler.plan.card.stretches import STRETCHES
from scheduler.plan.site import plan_site

EXAMPLES = Path(__file__).parents[2] / "examples"
DRAWN = 200
ZONES, PROGRAMS = (4, 24), (1, 4)


def by_solver(
    cost: np.ndarray,
    off: np.ndarray,
    slots: np.ndarray,
    most_slots: int,
    a_program: float,
) -> float:
    """Least cost of the same choice, proven.

    Columns are the options taken (whole), then zone by zone the share of it in each
    option; what is left of a zone is in none.
    """
    zones, kept = len(cost), np.flatnonzero(np.isfinite(cost).any(axis=0))
    saves = np.where(cost[:, kept] < off[:, None], off[:, None] - cost[:, kept], 0.0)
    zone, option = np.nonzero(saves)
    if not len(zone):
        return float(off.sum())
    count, pairs = len(kept), np.arange(len(zone))
    price = np.concatenate([a_program * slots[kept], -saves[zone, option]])
    once = sparse.csr_array((np.ones(len(zone)), (zone, count + pairs)),
                            shape=(zones, count + len(zone)))  # fmt: skip
    taken = sparse.csr_array(
        (np.repeat([1.0, -1.0], len(zone)),
         (np.tile(pairs, 2), np.concatenate([count + pairs, option]))),
        shape=(len(zone), count + len(zone)),
    )  # fmt: skip
    room = np.concatenate([slots[kept], np.zeros(len(zone))])[None, :]
    found = optimize.milp(
        price,
        integrality=np.repeat([1, 0], [count, len(zone)]),
        bounds=optimize.Bounds(0, 1),
        constraints=[
            optimize.LinearConstraint(once, -np.inf, 1),
            optimize.LinearConstraint(taken, -np.inf, 0),
            optimize.LinearConstraint(room, -np.inf, most_slots),
        ],
        options={"mip_rel_gap": 0.0},
    )
    return float(off.sum() + found.fun)


def by_search(
    cost: np.ndarray,
    off: np.ndarray,
    slots: np.ndarray,
    most_slots: int,
    a_program: float,
) -> float:
    """What the choice of the card's own search comes to."""
    chosen = programs._chosen(cost, off, slots, most_slots, a_program)
    best = np.minimum(off, cost[:, chosen].min(axis=1, initial=np.inf))
    return float(best.sum() + a_program * slots[chosen].sum())


def main() -> None:
    """Print a line for each example, and one for all drawn sites."""
    for name, how in (("search", programs._chosen), ("solver", by_solver)):
        print(f"{name}: {len(inspect.getsource(how).splitlines())} lines")
    draw, known = np.random.default_rng(1), {}
    for example in ("home", "southern_garden", "business_park"):
        prices = Prices(card_needs(plan_site(read_site(EXAMPLES / example)), 2027))
        known[example] = prices
        rows = [STRETCHES[row] for row in draw.choice(len(STRETCHES), 5, replace=False)]
        told(example, [_case(prices, months) for months in rows])
    cases = []
    for _ in range(DRAWN):
        prices = known[str(draw.choice(list(known)))]
        months = STRETCHES[int(draw.integers(len(STRETCHES)))]
        few = int(draw.integers(*PROGRAMS, endpoint=True))
        zones = min(int(draw.integers(*ZONES, endpoint=True)), len(prices.needs.zones))
        mine = draw.choice(len(prices.needs.zones), zones, replace=False)
        cases.append(_case(prices, months, few, mine))
    told(f"{DRAWN} drawn sites", cases)


Case = tuple[np.ndarray, np.ndarray, np.ndarray, int, float]


def _case(
    prices: Prices,
    months: tuple[int, ...],
    few: int | None = None,
    zones: np.ndarray | None = None,
) -> Case:
    search = StretchSearch(prices, months, most_programs=few)
    mine = search.wanting if zones is None else np.intersect1d(search.wanting, zones)
    slots, least = prices.options.slots, search.least[mine]
    return least, search.no_program[mine], slots, search.most_programs, search.a_program


def told(name: str, cases: list[Case]) -> None:
    """Print seconds of both for some cases, and the gaps of the search."""
    seconds, found = [], []
    for how in (by_search, by_solver):
        start = time.process_time()
        found.append(np.array([how(*case) for case in cases]))
        seconds.append((time.process_time() - start) / len(cases))
    over, scale = found[0] - found[1], np.maximum(found[1], 1.0)
    gap, told_ms = 100 * over / scale, [1000 * each for each in seconds]
    print(f"{name}: search {told_ms[0]:.1f} ms, solver {told_ms[1]:.0f} ms each; "
          f"over the least: mean {gap.mean():.3f} %, most {gap.max():.2f} %, "
          f"none in {(gap < 0.001).sum()} of {len(cases)}", flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
