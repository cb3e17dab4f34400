"""What is to be given up, shared out between zones: least harm under one sum."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from scheduler.budget.less.ways import Ways

Spent = Callable[[np.ndarray], float]
"""What a year's water, (zone, period), comes to: liters, or money."""
_EPS = 1e-9


@dataclass(frozen=True, slots=True)
class Move:
    """One zone goes from one way to a thriftier one, at so much harm a liter."""

    zone: int
    before: int
    after: int
    harm_a_l: float


@dataclass(frozen=True, slots=True, eq=False)
class Shares:
    """A way for each zone, (zone,), and the last move, which may go too far.

    `harm` is what the ways come to, `least_harm` what no choice among them could go
    below; `reached` says whether they keep to the limit.
    """

    way: np.ndarray
    last: Move | None
    harm: float
    least_harm: float
    reached: bool


def lower_hull(water: np.ndarray, harm: np.ndarray) -> list[int]:
    """Ways of one zone that are worth their harm, from most water to least.

    Each liter saved costs more harm than the one before it.
    """
    kept: list[int] = [0]
    for way in np.lexsort((harm, -water)).tolist():
        if water[way] >= water[kept[-1]] - _EPS:
            continue
        while len(kept) > 1 and _slope(water, harm, kept[-2], kept[-1]) >= _slope(
            water, harm, kept[-2], way
        ):
            kept.pop()
        kept.append(way)
    return kept


def _slope(water: np.ndarray, harm: np.ndarray, before: int, after: int) -> float:
    return float((harm[after] - harm[before]) / (water[before] - water[after]))


def moves_of(ways: Ways, may_turn_off: bool) -> list[Move]:
    """Moves of all zones, those of least harm a liter first."""
    last = len(ways.harm) if may_turn_off else len(ways.harm) - 1
    water, harm = ways.water_l_year[:last], ways.harm[:last]
    found = [
        Move(zone, a, b, _slope(water[:, zone], harm[:, zone], a, b))
        for zone in range(water.shape[1])
        for a, b in itertools.pairwise(lower_hull(water[:, zone], harm[:, zone]))
    ]
    return sorted(found, key=lambda move: move.harm_a_l)


def share_out(ways: Ways, spent: Spent, limit: float, may_turn_off: bool) -> Shares:
    """A way for each zone, of least harm, that keeps the sum to a limit.

    Taken are the moves of least harm a liter until the sum is kept: the best there is
    but for what the last one goes too far.
    """
    zones = np.arange(ways.harm.shape[1])
    way = np.zeros(len(zones), dtype=np.intp)
    now = spent(ways.water_l[way, zones])
    harm = least = float(ways.harm[0].sum())
    last = None
    for move in moves_of(ways, may_turn_off):
        if now <= limit * (1 + _EPS):
            break
        before, last = now, move
        way[move.zone] = move.after
        now = spent(ways.water_l[way, zones])
        of_zone = ways.harm[:, move.zone]
        added = float(of_zone[move.after] - of_zone[move.before])
        part = 1.0 if now > limit else (before - limit) / max(before - now, _EPS)
        least = harm + part * added
        harm += added
    return Shares(way, last, harm, least, now <= limit * (1 + _EPS))
