"""Which nozzle on which head: blocks, a table for CSV, and data for programs."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from scheduler.plan.choosing import NozzlePlan
from scheduler.rates.choice.level import NozzleSet
from scheduler.rates.choice.zone import ZoneChoice
from scheduler.rates.precipitation import precipitation_rate
from scheduler.report.blocks import Block, Heading, Paragraph, sections
from scheduler.report.frames import Table
from scheduler.report.shown import minutes, share, value_text
from scheduler.report.words import sentences
from scheduler.report.words.heads import nozzles as words


def blocks(plan: NozzlePlan, units: str) -> list[Block]:
    """Nozzles zone by zone, what binds and what to do."""
    title = words.title(plan.before.site.name)
    parts: list[Block] = [Heading(title, 1, [words.facts(plan, units)])]
    if plan.choices:
        parts.append(zones_table(plan))
    for choice in plan.choices:
        told = list(words.told(plan, choice, units))
        parts += [Heading(words.zone_title(plan, choice), 3, told),
                  heads_table(plan, choice)]  # fmt: skip
    return [
        *parts,
        *sections([(sentences.CAUTIONS, caution_lines(plan, units))]),
        Paragraph(words.PRACTICE),
        Paragraph(sentences.WORK_SAFELY),
        Paragraph(sentences.WATCH),
    ]


def to_data(plan: NozzlePlan) -> dict[str, Any]:
    """Nozzles for programs; a nozzle is null where the chart has none."""
    return {"zones": [_zone_data(plan, choice) for choice in plan.choices]}


def _zone_data(plan: NozzlePlan, choice: ZoneChoice) -> dict[str, Any]:
    site, offer, chosen = plan.before.site, choice.offer, choice.chosen
    names = [site.heads.head[row] for row in offer.rows]
    return {
        "zone": site.zones.zone[offer.zone],
        "fits": choice.fits,
        "flow_l_min": chosen.total_flow_l_min,
        "pressure_kpa": chosen.offer.pressure_kpa,
        "design_flow_l_min": choice.design_flow_l_min,
        "worst_share": chosen.worst_share,
        "heads": [
            {
                "head": names[row],
                "nozzle": plan.chart.nozzle[pick] if pick >= 0 else None,
                "flow_l_min": chosen.flow_l_min[row],
                "radius_m": chosen.offer.radius_m[pick] if pick >= 0 else None,
            }
            for row, pick in enumerate(chosen.nozzle.tolist())
        ],
        "valves": [[names[row] for row, _ in valve] for valve in choice.valves],
        "fewest_changes": _set_data(plan, choice, choice.fewest_changes),
        "would_do": {
            limit: _set_data(plan, choice, would)
            for limit, would in choice.would_do.items()
        },
    }


def _set_data(
    plan: NozzlePlan, choice: ZoneChoice, chosen: NozzleSet | None
) -> dict[str, Any] | None:
    if chosen is None:
        return None
    site, offer = plan.before.site, choice.offer
    return {
        "changed_heads": choice.changed(chosen),
        "flow_l_min": chosen.total_flow_l_min,
        "pressure_kpa": chosen.offer.pressure_kpa,
        "worst_share": chosen.worst_share,
        "heads": [
            {
                "head": site.heads.head[row],
                "nozzle": plan.chart.nozzle[pick] if pick >= 0 else None,
            }
            for row, pick in zip(offer.rows, chosen.nozzle.tolist(), strict=True)
        ],
    }


def zones_table(plan: NozzlePlan) -> Table:
    """A row a zone: whether it fits, flow, match, and minutes before and after."""
    zones, choices = plan.before.site.zones, plan.choices
    rows = [choice.offer.zone for choice in choices]

    def week(of: Any) -> list[float]:
        return [float(of.plan.schedule.minutes_per_week[row].max()) for row in rows]

    def water(of: Any) -> list[float]:
        flow = of.rates.flow_l_min[rows].tolist()
        return [a * b for a, b in zip(week(of), flow, strict=True)]

    def where_fit(values: list[float]) -> list[float]:
        return [value if choice.fits else float("nan")
                for value, choice in zip(values, choices, strict=True)]  # fmt: skip

    column = words.OF_ZONES.column
    return Table(
        (
            column("zone", [zones.zone[row] for row in rows]),
            column("name", [zones.name[row] for row in rows]),
            column("fits", [choice.fits for choice in choices], text=value_text),
            column("flow_now", plan.before.rates.flow_l_min[rows].tolist(), "flow"),
            column("flow", [c.chosen.total_flow_l_min for c in choices], "flow"),
            column("design_flow", [c.design_flow_l_min for c in choices], "flow"),
            column("worst_share", [c.chosen.worst_share for c in choices], text=share),
            column("cycles", [c.chosen.cycles for c in choices], text=_count),
            column("minutes_per_week_now", week(plan.before), text=_whole),
            column("minutes_per_week", where_fit(week(plan.after)), text=_whole),
            column("water_week_now", water(plan.before), "volume"),
            column("water_week", where_fit(water(plan.after)), "volume"),
        )
    )


def heads_table(plan: NozzlePlan, choice: ZoneChoice | None = None) -> Table:
    """A row for each row of heads, of one zone or of all."""
    heads, zones = plan.before.site.heads, plan.before.site.zones
    choices = plan.choices if choice is None else (choice,)
    pairs = [(c, row) for c in choices for row in range(len(c.offer.rows))]

    def of(value: Callable[[ZoneChoice, int], Any]) -> list[Any]:
        return [value(c, row) for c, row in pairs]

    def picked(value: Callable[[ZoneChoice, int], Any]) -> list[Any]:
        return of(lambda c, row: value(c, int(c.chosen.nozzle[row]))
                  if c.chosen.nozzle[row] >= 0 else float("nan"))  # fmt: skip

    def file_row(c: ZoneChoice, row: int) -> int:
        return int(c.offer.rows[row])

    column = words.OF_HEADS.column
    columns = [
        column("head", of(lambda c, r: heads.head[file_row(c, r)])),
        column("count", of(lambda c, r: int(c.offer.count[r]))),
        column("arc_deg", of(lambda c, r: heads.arc_deg[file_row(c, r)]), text=minutes),
        column("nozzle_now", of(lambda c, r: heads.nozzle[file_row(c, r)])),
        column("nozzle", picked(lambda c, k: plan.chart.nozzle[k]), text=_name),
        column("flow", of(lambda c, r: c.chosen.flow_l_min[r]), "flow"),
        column("radius", picked(lambda c, k: c.chosen.offer.radius_m[k]), "length"),
        column("spacing", of(lambda c, r: c.offer.spacing_m[r]), "length"),
        column("rate", of(_rate), "rate"),
        column("share_of_mean", of(lambda c, r: c.chosen.share_of_mean[r]), text=share),
    ]
    if choice is None:
        columns.insert(0, column("zone", of(lambda c, r: zones.zone[c.offer.zone])))
    return Table(tuple(columns))


def _rate(choice: ZoneChoice, row: int) -> float:
    if choice.offer.areas_by_arc:
        return float("nan")
    return float(
        precipitation_rate(choice.chosen.flow_l_min[row], choice.offer.area_m2[row])
    )


def limit_lines(plan: NozzlePlan, units: str) -> list[str]:
    """What keeps zones from a set that fits, for output that has no place for it."""
    return [
        words.limit_of_zone(plan, choice, limit, units)
        for choice in plan.choices
        for limit in choice.limits
    ]


def caution_lines(plan: NozzlePlan, units: str) -> list[str]:
    """Cautions in words, alike ones in one line with their zones."""
    return sentences.grouped(plan.cautions, units)


def _count(value: int | None) -> str:
    return "" if value is None else str(value)


def _whole(value: float) -> str:
    return f"{value:.0f}" if np.isfinite(value) else ""


def _name(value: Any) -> str:
    return value if isinstance(value, str) else words.NO_NOZZLE
