"""Rates, throws and uniformities that can hardly be meant, or that audits belie."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from scheduler import units
from scheduler.cautions import Caution
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.library import head_kinds
from scheduler.inputs.site import Heads, Zones
from scheduler.rates.precipitation import ZoneRates

GENEROUS = 2.0
"""Rates are doubted under a kind's low end over this, and over its high end times it.
"""
MOST_APART = 2.0
"""A measured rate so many times flow over area, or as little, is doubted."""
RATES_AGREE_WITHIN = 0.20
"""Share by which a measured rate may be off flow over area (common practice)."""
MOST_THROW = 2.0
"""Throw over spacing beyond which one of the two is doubted."""


def rate_doubts(zones: Zones, rates: ZoneRates) -> Iterator[Caution]:
    """Zones whose rate their heads can hardly lay down, or the other numbers belie."""
    kinds = head_kinds()
    for row, name in enumerate(zones.zone):
        rate = float(rates.rate_mm_h[row])
        values: dict[str, object] = {
            "rate_mm_h": rate,
            "rate_source": rates.rate_source[row],
        }
        by_flow = _flow_over_area(rates, row)
        if max(rate / by_flow, by_flow / rate) > MOST_APART * (1 + 1e-9):
            values["by_flow_mm_h"] = by_flow
            yield Caution("rate-doubtful", name, None, values)
            continue
        if abs(rate / by_flow - 1) >= RATES_AGREE_WITHIN * (1 - 1e-9):
            measured = {**values, "by_flow_mm_h": by_flow}
            yield Caution("rate-off", name, None, measured)
        kind = int(zones.head_kind[row])
        low, high = (
            float(kinds.least_rate_mm_h[kind]),
            float(kinds.most_rate_mm_h[kind]),
        )
        if not low / GENEROUS * (1 - 1e-9) <= rate <= high * GENEROUS * (1 + 1e-9):
            values |= {
                "head_kind": HEAD_KINDS[kind],
                "low_mm_h": low,
                "high_mm_h": high,
            }
            yield Caution("rate-doubtful", name, None, values)


def _flow_over_area(rates: ZoneRates, row: int) -> float:
    """Rate that flow and area give where a rate was measured too; NaN where not."""
    known = (
        rates.rate_source[row] in ("catch-can", "measured")
        and rates.flow_source[row] in ("metered", "sum of heads")
        and rates.area_source[row] in ("measured", "heads' spacing")
    )
    if not known:
        return float("nan")
    return float(units.MIN_PER_H * rates.flow_l_min[row] / rates.area_m2[row])


def throw_doubts(zones: Zones, heads: Heads) -> Iterator[Caution]:
    """Zones with heads that throw far past the next head."""
    widest = np.fmax(heads.spacing_m, heads.row_spacing_m)
    share = heads.radius_m / widest
    for zone, name in enumerate(zones.zone):
        far = np.flatnonzero(
            (heads.zone == zone) & (share > MOST_THROW * (1 + 1e-9))
        ).tolist()
        if far:
            worst = max(far, key=lambda row: float(share[row]))
            values = {
                "heads": [heads.head[row] for row in far],
                "radius_m": float(heads.radius_m[worst]),
                "spacing_m": float(widest[worst]),
            }
            yield Caution("throw-doubtful", name, None, values)


def uniformity_cautions(zones: Zones, rates: ZoneRates) -> Iterator[Caution]:
    """Kinds of head whose usual uniformity was taken, where audits found less."""
    kinds = head_kinds()
    assumed = np.isin(rates.uniformity_source, ("kind of head", "head imbalance"))
    assumed &= np.isnan(zones.uniformity)
    for kind in np.unique(zones.head_kind[assumed]).tolist():
        measured = float(kinds.measured_uniformity[kind])
        if np.isnan(measured):
            continue
        rows = np.flatnonzero(assumed & (zones.head_kind == kind))
        values = {
            "zones": tuple(zones.zone[row] for row in rows.tolist()),
            "head_kind": HEAD_KINDS[kind],
            "uniformity": float(kinds.uniformity[kind]),
            "measured_uniformity": measured,
        }
        yield Caution("uniformity-assumed", None, None, values)
