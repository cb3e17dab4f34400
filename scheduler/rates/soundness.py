"""What the nozzle plan of a zone cannot promise."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from scheduler import units
from scheduler.cautions import Caution
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.library import HeadKinds
from scheduler.inputs.site import Heads, Zones
from scheduler.rates.supply import KPA_PER_M

MATCHED_WITHIN = 0.10
"""Share by which a head's rate may differ from the mean (common practice)."""
AREAS_AGREE_WITHIN = 0.15
"""Share by which the heads' ground may differ from a measured area."""
WRONG_UNIT_WITHIN = 0.15
"""Share by which two areas may be off a square foot to a square meter and still look
like one in the other's column (rule of this program)."""
PRESSURE_TOO_HIGH = 1.3
"""Share of the chart's pressure beyond which spray turns to mist (common practice)."""
TURBULENT_KPA = 15 * units.KPA_PER_PSI
"""Pressure by which emitters that do not compensate are mostly sold (from memory)."""
EMITTERS_WITHIN = 0.2
"""Share of its pressure that emitters of one zone may differ by: a tenth in flow
(common practice)."""
MIXED_THROW = 1.8
"""Ratio of throws on one valve that tells two kinds of head (common practice)."""


def mixed_throws(heads: Heads, rows: np.ndarray) -> tuple[float, float] | None:
    """Least and most throw of heads on one valve; None where they are of one kind."""
    throw = heads.radius_m[rows]
    throw = throw[np.isfinite(throw)]
    if not throw.size or throw.max() <= MIXED_THROW * throw.min():
        return None
    return float(throw.min()), float(throw.max())


def head_cautions(
    zones: Zones,
    heads: Heads,
    share_of_mean: np.ndarray,
    kinds: HeadKinds,
    pressure_kpa: np.ndarray,
    head_ground_m2: np.ndarray,
) -> Iterator[Caution]:
    """Cautions of all zones: unmatched heads first, then pressure and area.

    `share_of_mean` is a head's rate over its zone's mean, (head,); `pressure_kpa` and
    `head_ground_m2` are (zone,), NaN where not known.
    """
    by_zone = _rows_by_zone(heads.zone, len(zones))
    yield from _unmatched(zones, heads, share_of_mean, by_zone)
    chart = heads.pressure_kpa
    flow_known = np.isfinite(heads.flow_l_min)
    emits = np.isfinite(zones.emitter_flow_l_min) & np.isnan(zones.rate_mm_h)
    scaled = ~zones.regulated & np.isnan(zones.flow_l_min) & np.isnan(pressure_kpa)
    for zone, name in enumerate(zones.zone):
        mine = by_zone[zone][flow_known[by_zone[zone]]]
        printed = chart[mine][np.isfinite(chart[mine])]
        if scaled[zone] and (mine.size or emits[zone]):
            told = float(printed[0] if printed.size
                         else zones.emitter_pressure_kpa[zone])  # fmt: skip
            usual = float(kinds.pressure_kpa[zones.head_kind[zone]])
            printed_there = math.isfinite(told)
            values: dict[str, object] = {
                "pressure_kpa": told if printed_there else usual,
                "printed": printed_there,
            }
            yield Caution("pressure-assumed", name, None, values)
        kind, at_heads = int(zones.head_kind[zone]), float(pressure_kpa[zone])
        yield from _uneven_on_slope(zones, zone, emits, pressure_kpa, kinds)
        if zones.regulated[zone]:
            # What stands before a regulator harms nothing; a gauge on drip is after it.
            gauge = float(zones.pressure_kpa[zone])
            at_heads, printed = gauge if kinds.drips[kind] else np.nan, printed[:0]
        yield from _too_high(name, at_heads, printed, kinds, kind)
        measured, ground = zones.area_m2[zone], head_ground_m2[zone]
        if abs(ground - measured) > AREAS_AGREE_WITHIN * measured * (1 + 1e-9):
            values = {"area_m2": float(measured), "head_area_m2": float(ground)}
            times = max(ground / measured, measured / ground)
            other_unit = abs(times * units.M2_PER_FT2 - 1) < WRONG_UNIT_WITHIN
            if other_unit:
                yield Caution("area-doubtful", name, None, values)
            else:
                yield Caution("area-mismatch", name, None, values)


def _uneven_on_slope(
    zones: Zones,
    zone: int,
    emits: np.ndarray,
    pressure_kpa: np.ndarray,
    kinds: HeadKinds,
) -> Iterator[Caution]:
    """Emitters that do not compensate, where the ground falls too much for them.

    The fall is that of square ground down its slope.
    """
    slope = float(zones.slope_percent[zone])
    fall_m = slope / 100 * math.sqrt(zones.area_m2[zone])
    if zones.regulated[zone] or not emits[zone] or math.isnan(fall_m):
        return
    at = float(pressure_kpa[zone])
    at = float(kinds.pressure_kpa[zones.head_kind[zone]]) if math.isnan(at) else at
    more = fall_m * KPA_PER_M
    if more > EMITTERS_WITHIN * at:
        values = {
            "slope_percent": slope,
            "fall_m": fall_m,
            "more_kpa": more,
            "flow_share": math.sqrt(1 + more / at) - 1,
        }
        yield Caution("emitters-on-slope", zones.zone[zone], None, values)


def _too_high(
    zone: str, pressure_kpa: float, chart_kpa: np.ndarray, kinds: HeadKinds, kind: int
) -> Iterator[Caution]:
    """Pressure over the chart's, or over what the kind of head stands."""
    limit = PRESSURE_TOO_HIGH * (1 + 1e-9)
    most = float(kinds.most_pressure_kpa[kind])
    if np.any(pressure_kpa > limit * chart_kpa):
        values: dict[str, object] = {
            "pressure_kpa": pressure_kpa,
            "chart_kpa": float(chart_kpa.min()),
        }
        yield Caution("pressure-too-high", zone, None, values)
    elif pressure_kpa > most * (1 + 1e-9):
        values = {"pressure_kpa": pressure_kpa, "most_kpa": most,
                  "head_kind": HEAD_KINDS[kind]}  # fmt: skip
        yield Caution("pressure-too-high", zone, None, values)


def _rows_by_zone(zone: np.ndarray, zones: int) -> list[np.ndarray]:
    """Rows of heads.csv of each zone, in one pass over the heads."""
    order = np.argsort(zone, kind="stable")
    ends = np.searchsorted(zone[order], np.arange(1, zones))
    return np.split(order, ends)


def _unmatched(
    zones: Zones, heads: Heads, share_of_mean: np.ndarray, by_zone: list[np.ndarray]
) -> Iterator[Caution]:
    off = np.abs(share_of_mean - 1) > MATCHED_WITHIN + 1e-9
    for zone in sorted({*heads.zone[off].tolist()}):
        mine = by_zone[zone]
        shares = share_of_mean[mine]
        values = {
            "lowest_share": float(np.nanmin(shares)),
            "highest_share": float(np.nanmax(shares)),
            "heads": [heads.head[row] for row in mine[off[mine]].tolist()],
            "mixed": mixed_throws(heads, mine) is not None,
        }
        yield Caution("unmatched-heads", zones.zone[zone], None, values)
