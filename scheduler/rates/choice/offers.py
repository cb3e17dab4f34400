"""What a chart offers each head: flow, throw, and whether it suits."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler import units
from scheduler.inputs.chart import Chart
from scheduler.inputs.forms.alike import folded
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.library import HeadKinds
from scheduler.inputs.site import Heads, Zones
from scheduler.rates.choice.performance import performance_at
from scheduler.rates.precipitation import HeadRates, precipitation_rate
from scheduler.rates.spacing import WINDY_M_S, longest_spacing

FARTHEST_PAST = 1.2
"""Throw over spacing up to which a nozzle is hardly turned down (common practice)."""
FARTHEST_OF_ALL = 1.25
"""Throw over spacing that is never passed: a radius screw takes a quarter (common
practice)."""
LEAST_OF_REACH = 0.9
"""Share of the longest spacing over the spacing from which a head may be moved, or its
throw be accepted; under it a nozzle is for other heads (common practice)."""
THROWS_M = {
    "spray": (0.0, 18 * units.M_PER_FT),
    "rotor": (15 * units.M_PER_FT, np.inf),
}
"""Throws of a kind of body, for rows that do not say theirs (common practice)."""
_SAME_ARC_DEG = 1e-6
_SLACK = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class ZoneOffer:
    """Nozzles of a chart for the heads of one zone, at the pressure of its heads.

    `rows` are the zone's rows of heads; count and area_m2, one head's ground, go with
    them, `spacing_m` is the wider of spacing and row spacing, NaN where not known.
    (nozzle,): flow, throw and low angle; `calm` says that it holds in the wind,
    `in_chart` that the chart reaches to the pressure. (row, nozzle): `suits` says that
    arc and kind of head are right, `reaches` that the spacing is within the rule for
    its throw too, `to_next` that it throws from head to head, `near` that it throws no
    farther than `FARTHEST_PAST`; `reach` is the longest spacing for its throw over the
    spacing, 0 where it throws past `FARTHEST_OF_ALL` and 1 where not known.
    (row,): `now` is today's nozzle in the chart, -1 where it has none of that name.
    """

    zone: int
    rows: np.ndarray
    count: np.ndarray
    area_m2: np.ndarray
    spacing_m: np.ndarray
    areas_by_arc: bool
    pressure_kpa: float
    pressure_source: str
    flow_l_min: np.ndarray
    radius_m: np.ndarray
    low_angle: np.ndarray
    suits: np.ndarray
    reaches: np.ndarray
    to_next: np.ndarray
    near: np.ndarray
    reach: np.ndarray
    calm: np.ndarray
    in_chart: np.ndarray
    now: np.ndarray

    @property
    def no_arc(self) -> np.ndarray:
        """Rows for whose arc the chart has no nozzle."""
        return np.asarray(~self.suits.any(axis=1))

    @property
    def out_of_reach(self) -> np.ndarray:
        """Rows from which no nozzle of their arc throws to the next head, or about."""
        return np.asarray(self.suits.any(axis=1) & ~self.reaches.any(axis=1))

    @property
    def best_reach(self) -> np.ndarray:
        """Nozzles that reach; of a row where none does, those that come nearest."""
        off = np.abs(np.nan_to_num(self.radius_m) - self.spacing_m[:, None])
        off = np.where(self.suits, np.nan_to_num(off), np.inf)
        nearest = self.suits & (off <= off.min(axis=1, keepdims=True) + _SLACK)
        return np.where(self.out_of_reach[:, None], nearest, self.reaches)

    @property
    def rate_mm_h(self) -> np.ndarray:
        """Rate of every nozzle on every row, (row, nozzle)."""
        return precipitation_rate(self.flow_l_min, self.area_m2[:, None])


@dataclass(frozen=True, slots=True, eq=False)
class Offers:
    """What a chart offers each zone whose heads throw, at any pressure."""

    zones: Zones
    heads: Heads
    head_rates: HeadRates
    kinds: HeadKinds
    chart: Chart
    wind_m_s: float | None

    def throwing(self) -> list[int]:
        """Zones whose heads throw, in the order of zones.csv."""
        throws = ~self.kinds.drips[self.zones.head_kind]
        has = np.bincount(self.heads.zone, minlength=len(self.zones)) > 0
        return np.flatnonzero(throws & has).tolist()

    def at(self, zone: int, pressure_kpa: float) -> ZoneOffer:
        """Offer for a zone at a running pressure at its heads, NaN where not known."""
        return _zone_offer(
            self.zones, self.heads, self.head_rates, self.kinds, self.chart, zone,
            pressure_kpa, self.wind_m_s,
        )  # fmt: skip


def _zone_offer(
    zones: Zones,
    heads: Heads,
    head_rates: HeadRates,
    kinds: HeadKinds,
    chart: Chart,
    zone: int,
    pressure_kpa: float,
    wind_m_s: float | None,
) -> ZoneOffer:
    rows = np.flatnonzero(heads.zone == zone)
    kind = int(zones.head_kind[zone])
    usual = float(kinds.pressure_kpa[kind])
    pressure, source = pressure_kpa, "site"
    if zones.regulated[zone]:
        own = heads.pressure_kpa[rows]
        known = own[np.isfinite(own)]
        pressure, source = (float(known[0]), "head") if known.size else (usual, "kind")
    elif np.isnan(pressure):
        pressure, source = usual, "kind"
    at = performance_at(chart, pressure)
    arc = heads.arc_deg[rows][:, None]
    fits_arc = np.isnan(chart.arc_deg) | (np.abs(chart.arc_deg - arc) < _SAME_ARC_DEG)
    least, most = THROWS_M.get(HEAD_KINDS[kind], (0.0, np.inf))
    wrong = (at.radius_m < least * (1 - _SLACK)) | (at.radius_m > most * (1 + _SLACK))
    suits = fits_arc & ((chart.head_kind == kind) | ((chart.head_kind < 0) & ~wrong))
    spacing = np.fmax(heads.spacing_m[rows], heads.row_spacing_m[rows])
    reach = _reach(at.radius_m, spacing, heads.triangular[rows], wind_m_s)
    past = np.nan_to_num(at.radius_m / spacing[:, None], nan=1.0)
    reaches = suits & (reach >= 1 - _SLACK)
    to_next, near = past >= 1 - _SLACK, past <= FARTHEST_PAST * (1 + _SLACK)
    area, by_arc = _areas(zones, heads, head_rates, zone, rows)
    windy = wind_m_s is not None and wind_m_s > WINDY_M_S * (1 + _SLACK)
    return ZoneOffer(
        zone, rows, heads.count[rows].astype(int), area, spacing, by_arc, pressure,
        source, at.flow_l_min, at.radius_m, chart.low_angle, suits, reaches, to_next,
        near, reach, chart.low_angle | (not windy), ~at.beyond_chart,
        _now(heads, chart, rows, fits_arc),
    )  # fmt: skip


def _reach(
    radius_m: np.ndarray,
    spacing_m: np.ndarray,
    triangular: np.ndarray,
    wind_m_s: float | None,
) -> np.ndarray:
    """Longest spacing for each throw over the spacing, (row, nozzle).

    0 for throws past `FARTHEST_OF_ALL`; what is not known is let pass, as 1.
    """
    wind = np.nan if wind_m_s is None else wind_m_s
    spacing = spacing_m[:, None]
    reach = longest_spacing(radius_m, wind, triangular[:, None]) / spacing
    too_far = radius_m > FARTHEST_OF_ALL * spacing * (1 + _SLACK)
    return np.nan_to_num(np.where(too_far, 0.0, reach), nan=1.0)


def _now(
    heads: Heads, chart: Chart, rows: np.ndarray, fits_arc: np.ndarray
) -> np.ndarray:
    """The chart's nozzle of the name and arc that each row has today; else -1."""
    names = [folded(name) for name in chart.nozzle]
    return np.array([
        next((pick for pick, name in enumerate(names)
              if fits_arc[row, pick] and name == folded(heads.nozzle[head])), -1)
        for row, head in enumerate(rows.tolist())
    ], dtype=np.intp)  # fmt: skip


def _areas(
    zones: Zones, heads: Heads, head_rates: HeadRates, zone: int, rows: np.ndarray
) -> tuple[np.ndarray, bool]:
    """Ground of one head of each row; by arc alone where a spacing is not known."""
    area = head_rates.area_m2[rows]
    if np.isfinite(area).all():
        return area, False
    arc = heads.arc_deg[rows]
    whole = zones.area_m2[zone]
    scale = whole / (arc * heads.count[rows]).sum() if np.isfinite(whole) else 1 / 360
    return arc * scale, True
