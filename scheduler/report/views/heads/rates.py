"""Precipitation rates by zone and by head, and what the imbalance costs."""

from __future__ import annotations

from typing import Any

import numpy as np

from scheduler.cautions import Caution
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.plan.site import SitePlan
from scheduler.report import shown
from scheduler.report.blocks import Block, Heading, Paragraph, sections
from scheduler.report.frames import Table
from scheduler.report.views.heads import supply
from scheduler.report.words import sentences
from scheduler.report.words.heads import rates as words
from scheduler.report.words.heads import supply as supply_words
from scheduler.report.words.sentences import as_data

_TOLD = (
    "over-design-flow", "flow-under-pump", "pressure-too-low", "rate-off",
    "uniformity-assumed",
)  # fmt: skip
"""Cautions of the whole plan that are about rates."""


def blocks(plan: SitePlan, units: str) -> list[Block]:
    """Rates by zone and by head, the supply, and cautions about all of these."""
    parts: list[Block] = [
        Heading(words.title(plan.site.name), 1, runs_on=True),
        zone_rates(plan),
    ]
    parts += [Heading(words.POINTS, 3), operating_points(plan)]
    if len(plan.site.heads):
        parts += [Heading(words.BY_HEAD, 3), head_rates(plan)]
    told = rate_cautions(plan)
    parts += sections(
        [
            (
                supply_words.TITLE,
                supply.lines(plan.supply, plan.points.curve, units),
            ),
            (sentences.CAUTIONS, sentences.grouped(told, units)),
        ]
    )
    return [*parts, *map(Paragraph, sentences.closing(told))]


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


def zone_rates(plan: SitePlan) -> Table:
    """Precipitation rate and uniformity by zone."""
    zones, rates = plan.site.zones, plan.rates
    extra = (rates.run_time_multiplier * (0.4 + 0.6 * rates.usual_uniformity) - 1) * 100
    column = words.OF_ZONES.column
    return Table(
        (
            column("zone", zones.zone),
            column("name", [shown.cut(name, 19) for name in zones.name]),
            column("head_kind", [HEAD_KINDS[k] for k in zones.head_kind]),
            column("flow", rates.flow_l_min.tolist(), "flow"),
            column("area", rates.area_m2.tolist(), "area"),
            column("rate", rates.rate_mm_h.tolist(), "rate"),
            column("peak_rate", rates.peak_rate_mm_h.tolist(), "rate"),
            column("uniformity", rates.uniformity.tolist(), text="{:.2f}".format),
            column(
                "uniformity_source", rates.uniformity_source, text=words.uniformity_from
            ),
            column(
                "run_time_multiplier",
                rates.run_time_multiplier.tolist(),
                text="{:.2f}".format,
            ),
            column("imbalance_percent", extra.tolist(), text=_extra_percent),
        )
    )


def _extra_percent(value: float) -> str:
    return f"+{value:.0f} %" if value >= 0.5 else ""


def operating_points(plan: SitePlan) -> Table:
    """Flow and pressure of each zone, and where both come from."""
    zones, rates, points = plan.site.zones, plan.rates, plan.points
    column = words.OF_POINTS.column
    return Table(
        (
            column("zone", zones.zone),
            column("name", [shown.cut(name, 19) for name in zones.name]),
            column("flow", rates.flow_l_min.tolist(), "flow"),
            column("flow_source", flow_sources(plan)),
            column("pressure", points.pressure_kpa.tolist(), "pressure"),
            column("pressure_source", points.source, text=words.pressure_from),
            column("chart_share", points.chart_share.tolist(), text=shown.share),
        )
    )


def flow_sources(plan: SitePlan) -> list[str]:
    """Where each zone's flow comes from."""
    pairs = zip(plan.rates.flow_source, plan.points.source, strict=True)
    return [words.flow_from(flow, pressure) for flow, pressure in pairs]


def head_rates(plan: SitePlan) -> Table:
    """Precipitation rate of each row of heads.csv."""
    site, head = plan.site, plan.rates.heads
    heads, column = site.heads, words.OF_HEADS.column
    return Table(
        (
            column("zone", [site.zones.zone[row] for row in heads.zone]),
            column("head", heads.head),
            column("count", heads.count.astype(int).tolist()),
            column("nozzle", heads.nozzle),
            column("arc_deg", heads.arc_deg.tolist(), text=shown.minutes),
            column("flow", head.flow_l_min.tolist(), "flow"),
            column("area", head.area_m2.tolist(), "area"),
            column("rate", head.rate_mm_h.tolist(), "rate"),
            column("share_of_mean", head.share_of_mean.tolist(), text=shown.share),
        )
    )


def to_data(plan: SitePlan, units: str) -> dict[str, Any]:
    """Precipitation rates for programs."""
    site, zone_rates = plan.site, plan.rates
    heads, head, sources = site.heads, plan.rates.heads, flow_sources(plan)
    return {
        "zones": [
            {
                "zone": zone,
                "rate_mm_h": zone_rates.rate_mm_h[row],
                "peak_rate_mm_h": zone_rates.peak_rate_mm_h[row],
                "flow_l_min": zone_rates.flow_l_min[row],
                "flow_source": sources[row],
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
