"""Precipitation rates by zone and by head, and what the imbalance costs."""

from __future__ import annotations

from typing import Any

import numpy as np

from scheduler.cautions import Caution
from scheduler.plan.site import SitePlan
from scheduler.report import frames
from scheduler.report.blocks import Block, Heading, sections
from scheduler.report.views.heads import supply
from scheduler.report.words import sentences
from scheduler.report.words.sentences import as_data

_TOLD = (
    "over-design-flow", "flow-under-pump", "pressure-too-low", "rate-off",
    "uniformity-assumed",
)  # fmt: skip
"""Cautions of the whole plan that are about rates."""


def blocks(plan: SitePlan, units: str) -> list[Block]:
    """Rates by zone and by head, the supply, and cautions about all of these."""
    parts: list[Block] = [
        Heading(f"Precipitation rates: {plan.site.name}", 1, runs_on=True),
        frames.zone_rates(plan),
    ]
    parts += [Heading("Pressure and flow", 3), frames.operating_points(plan)]
    if len(plan.site.heads):
        parts += [Heading("By head", 3), frames.head_rates(plan)]
    told = sentences.grouped(rate_cautions(plan), units)
    return parts + sections(
        [
            ("Supply", supply.lines(plan.supply, plan.points.curve, units)),
            ("Cautions", told),
        ]
    )


def rate_cautions(plan: SitePlan) -> tuple[Caution, ...]:
    """Cautions about supply, heads and catch-can tests."""
    told = (c for c in plan.cautions if c.code in _TOLD)
    return (
        *told,
        *plan.supply.cautions,
        *plan.points.cautions,
        *plan.rates.cautions,
        *plan.tests.cautions,
    )


def to_data(plan: SitePlan, units: str) -> dict[str, Any]:
    """Precipitation rates for programs."""
    site, zone_rates = plan.site, plan.rates
    heads, head = site.heads, plan.rates.heads
    return {
        "zones": [
            {
                "zone": zone,
                "rate_mm_h": zone_rates.rate_mm_h[row],
                "peak_rate_mm_h": zone_rates.peak_rate_mm_h[row],
                "flow_l_min": zone_rates.flow_l_min[row],
                "flow_source": zone_rates.flow_source[row],
                "pressure_kpa": plan.points.pressure_kpa[row],
                "pressure_source": plan.points.source[row] or None,
                "chart_share": plan.points.chart_share[row],
                "area_m2": zone_rates.area_m2[row],
                "uniformity": zone_rates.uniformity[row],
                "uniformity_source": zone_rates.uniformity_source[row],
                "heads": [
                    {
                        "head": heads.head[i],
                        "count": int(heads.count[i]),
                        "rate_mm_h": head.rate_mm_h[i],
                        "share_of_mean": head.share_of_mean[i],
                    }
                    for i in np.flatnonzero(heads.zone == row).tolist()
                ],
            }
            for row, zone in enumerate(site.zones.zone)
        ],
        "cautions": as_data(rate_cautions(plan), units),
    }
