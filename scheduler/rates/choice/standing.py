"""Pressures at which a zone may come to stand, and what the supply gives at each."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from scheduler.inputs.chart import Chart
from scheduler.rates.choice.offers import ZoneOffer
from scheduler.rates.choice.performance import flow_between_rows
from scheduler.rates.curve import SupplyCurve, pressure_left
from scheduler.rates.point import flow_at

_STEP = 1.05
"""Ratio of neighbors on the ladder of pressures at which an offer is looked at."""
_POINTS = 65
_ROUNDS = 5


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """Where a zone may come to stand, from the pressure of the most flow upward.

    `offer_at` is what the chart offers the zone at a pressure. A zone whose pressure
    does not go with its flow stands at `lowest_kpa`, and has no curve.
    """

    lowest_kpa: float
    highest_kpa: float
    most_flow_l_min: float
    offer_at: Callable[[float], ZoneOffer]
    chart: Chart | None = None
    curve: SupplyCurve | None = None
    ladder: tuple[float, ...] = field(default=())

    def gives(self, pressure_kpa: float) -> float:
        """Most flow of a set that stands at a pressure or above. [L/min]"""
        if self.curve is None or pressure_kpa <= self.lowest_kpa:
            return self.most_flow_l_min
        return min(self.most_flow_l_min, flow_at(self.curve, pressure_kpa))

    def with_most(self, most_flow_l_min: float, least_kpa: float) -> Standing | None:
        """The same with another most flow, on the curve; None where it has none."""
        if self.curve is None or self.chart is None:
            return None
        return on_curve(
            self.offer_at, self.chart, self.curve, most_flow_l_min, least_kpa
        )

    def pressure_of(self, nozzle: np.ndarray, count: np.ndarray) -> float:
        """Pressure at which a set takes what the supply gives, in kPa.

        `nozzle` is each row's in the chart, `count` its heads. Demand rises with the
        pressure and the supply falls, so there is one; at least the lowest.
        """
        low, high = self.lowest_kpa, self.highest_kpa
        if self.curve is None or self.chart is None:
            return low
        picks, row = np.unique(nozzle, return_inverse=True)
        heads = np.bincount(row, count)
        for _ in range(_ROUNDS):
            tried = np.linspace(low, high, _POINTS)
            flow = np.zeros(_POINTS)
            for pick, many in zip(picks.tolist(), heads.tolist(), strict=True):
                flow += many * flow_between_rows(
                    tried, self.chart.pressure_kpa[pick], self.chart.flow_l_min[pick]
                )
            over = np.flatnonzero(tried > pressure_left(self.curve, flow))
            if not over.size:
                return high
            first = max(int(over[0]), 1)
            low, high = float(tried[first - 1]), float(tried[first])
        return low


def one_pressure(offer: ZoneOffer, most_flow_l_min: float) -> Standing:
    """Where a zone stands whose pressure does not go with its flow."""
    at = offer.pressure_kpa
    return Standing(at, at, most_flow_l_min, lambda _: offer, ladder=(at,))


def on_curve(
    offer_at: Callable[[float], ZoneOffer],
    chart: Chart,
    curve: SupplyCurve,
    most_flow_l_min: float,
    least_kpa: float,
) -> Standing | None:
    """Where a zone may stand on a supply's curve; None where that is nowhere.

    It draws no more than the most flow, and stands no lower than `least_kpa`, under
    which its heads do not work.
    """
    lowest = max(float(pressure_left(curve, most_flow_l_min)), least_kpa)
    highest = curve.most_kpa
    if not lowest < highest:
        return None
    steps = int(np.ceil(np.log(highest / lowest) / np.log(_STEP))) + 1
    ladder = np.geomspace(lowest, highest, max(steps, 2)).tolist()
    offers = {pressure: offer_at(pressure) for pressure in ladder}

    def offered(pressure_kpa: float) -> ZoneOffer:
        if pressure_kpa not in offers:
            offers[pressure_kpa] = offer_at(pressure_kpa)
        return offers[pressure_kpa]

    most = min(most_flow_l_min, flow_at(curve, lowest))
    return Standing(lowest, highest, most, offered, chart, curve, tuple(ladder))
