"""Which nozzle on which head: blocks, a table for CSV, and data for programs."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

from scheduler.plan.choosing import NozzlePlan
from scheduler.rates.choice.offers import FARTHEST_OF_ALL
from scheduler.rates.choice.zone import NozzleSet, ZoneChoice
from scheduler.rates.precipitation import precipitation_rate
from scheduler.rates.soundness import MATCHED_WITHIN
from scheduler.report.blocks import Block, Heading, Paragraph, sections
from scheduler.report.frames import Column, Table
from scheduler.report.shown import listed, minutes, quantity, zone_title
from scheduler.report.words import sentences

PRACTICE = (
    "Flow goes with the arc: full 4 : half 2 : quarter 1. Quarter circles then look "
    "weak beside full ones, and are right.",
    "Try it before you buy for all: run the zone, look at the streams, and read the "
    "pressure at the last head.",
)
"""Common practice."""

ALL_FIT = "Every zone fits."


def blocks(plan: NozzlePlan, units: str) -> list[Block]:
    """Nozzles zone by zone, what binds and what to do."""
    title = f"Nozzles: {plan.before.site.name}"
    parts: list[Block] = [Heading(title, 1, [_facts(plan, units)])]
    if plan.choices:
        parts.append(zones_table(plan))
    for choice in plan.choices:
        told = list(_told(plan, choice, units))
        parts += [Heading(_zone_title(plan, choice), 3, told),
                  heads_table(plan, choice)]  # fmt: skip
    return [
        *parts,
        *sections([("Cautions", caution_lines(plan, units))]),
        Paragraph(PRACTICE),
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
        "design_flow_l_min": choice.design_flow_l_min,
        "worst_share": chosen.worst_share,
        "heads": [
            {
                "head": names[row],
                "nozzle": plan.chart.nozzle[pick] if pick >= 0 else None,
                "flow_l_min": chosen.flow_l_min[row],
                "radius_m": offer.radius_m[pick] if pick >= 0 else None,
            }
            for row, pick in enumerate(chosen.nozzle.tolist())
        ],
        "valves": [[names[row] for row, _ in valve] for valve in choice.valves],
    }


def zones_table(plan: NozzlePlan) -> Table:
    """A row a zone: whether it fits, flow, match, and minutes before and after."""
    zones, choices = plan.before.site.zones, plan.choices
    rows = [choice.offer.zone for choice in choices]

    def week(of: Any) -> list[float]:
        return [float(of.plan.schedule.minutes_per_week[row].max()) for row in rows]

    after = [
        minutes if choice.fits else float("nan")
        for minutes, choice in zip(week(plan.after), choices, strict=True)
    ]
    return Table(
        (
            Column("zone", "zone", [zones.zone[row] for row in rows]),
            Column("name", "name", [zones.name[row] for row in rows]),
            Column("fits", "fits", [choice.fits for choice in choices], text=_yes),
            Column("flow_now", "flow now",
                   plan.before.rates.flow_l_min[rows].tolist(), "flow"),
            Column("flow", "flow", [c.chosen.total_flow_l_min for c in choices],
                   "flow"),
            Column("design_flow", "supply", [c.design_flow_l_min for c in choices],
                   "flow"),
            Column("worst_share", "worst\nhead",
                   [c.chosen.worst_share for c in choices], text=_percent),
            Column("cycles", "cycles", [c.chosen.cycles for c in choices], text=_count),
            Column("minutes_per_week_now", "min a\nweek now", week(plan.before),
                   text=_whole),
            Column("minutes_per_week", "then", after, text=_whole),
        )
    )  # fmt: skip


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

    columns = [
        Column("head", "head", of(lambda c, r: heads.head[file_row(c, r)])),
        Column("count", "count", of(lambda c, r: int(c.offer.count[r]))),
        Column("arc_deg", "arc °", of(lambda c, r: heads.arc_deg[file_row(c, r)]),
               text=minutes),
        Column("nozzle_now", "now", of(lambda c, r: heads.nozzle[file_row(c, r)])),
        Column("nozzle", "take", picked(lambda c, k: plan.chart.nozzle[k]), text=_name),
        Column("flow", "flow each", of(lambda c, r: c.chosen.flow_l_min[r]), "flow"),
        Column("radius", "throw", picked(lambda c, k: c.offer.radius_m[k]), "length"),
        Column("spacing", "to next", of(lambda c, r: c.offer.spacing_m[r]), "length"),
        Column("rate", "rate", of(_rate), "rate"),
        Column("share_of_mean", "of zone\nmean",
               of(lambda c, r: c.chosen.share_of_mean[r]), text=_percent),
    ]  # fmt: skip
    if choice is None:
        columns.insert(
            0, Column("zone", "zone", of(lambda c, r: zones.zone[c.offer.zone]))
        )
    return Table(tuple(columns))


def _rate(choice: ZoneChoice, row: int) -> float:
    if choice.offer.areas_by_arc:
        return float("nan")
    return float(
        precipitation_rate(choice.chosen.flow_l_min[row], choice.offer.area_m2[row])
    )


def _facts(plan: NozzlePlan, units: str) -> str:
    site = plan.before.site
    given = [f"Chart {plan.chart.file}: {len(plan.chart)} nozzles"]
    supply = plan.before.supply
    if supply.design_flow_l_min is not None:
        flow = quantity(supply.design_flow_l_min, "flow", units)
        given.append(f"supply {flow}")
    if site.supply.pressure_kpa is not None:
        at = quantity(site.supply.pressure_kpa, "pressure", units)
        given.append(f"{at} at the heads")
    elif plan.before.points.curve is not None:
        given.append("each zone at the pressure of the design flow")
    if site.supply.wind_m_s is not None:
        given.append(f"wind {quantity(site.supply.wind_m_s, 'wind', units)}")
    short = [site.zones.zone[c.offer.zone] for c in plan.choices if not c.fits]
    if not plan.choices:
        result = "No zone has heads that throw"
    elif short:
        result = f"Zone{'s' if len(short) > 1 else ''} {listed(short)} {_do(short)} fit"
    else:
        result = ALL_FIT.rstrip(".")
    chosen = {choice.offer.zone for choice in plan.choices}
    others = [zone for row, zone in enumerate(site.zones.zone) if row not in chosen]
    left = f" Left as they are, without heads that throw: {listed(others)}."
    return f"{', '.join(given)}. {result}.{left if others else ''}"


def _do(names: list[str]) -> str:
    return "do not" if len(names) > 1 else "does not"


def _zone_title(plan: NozzlePlan, choice: ZoneChoice) -> str:
    zones, row = plan.before.site.zones, choice.offer.zone
    title = zone_title(zones.zone[row], zones.name[row])
    return f"{title} ({'fits' if choice.fits else 'does not fit'})"


def _told(plan: NozzlePlan, choice: ZoneChoice, units: str) -> Iterator[str]:
    """What a zone's choice comes to, and what to do where nothing fits."""
    at = quantity(choice.offer.pressure_kpa, "pressure", units)
    if choice.fits:
        chosen = choice.chosen
        yield (
            f"{_flow(chosen.total_flow_l_min, units)} of "
            f"{_flow(choice.design_flow_l_min, units)} at {at}; "
            f"heads lay {_range(chosen)} of the mean"
        )
        more = choice.with_more_cycles
        if more is not None:
            yield (
                f"More water, and a shorter night, with --allow-more-cycles: "
                f"{_flow(more.total_flow_l_min, units)} in {more.cycles} cycles, not "
                f"{chosen.cycles}: {_by_nozzle(plan, choice, more)}"
            )
        return
    for limit in choice.limits:
        yield f"{limit}: {_LIMIT_TEXTS[limit](plan, choice, units)}"
    under = choice.under_limit
    if under is not None:
        yield (
            f"The best that one valve carries: {_flow(under.total_flow_l_min, units)}, "
            f"heads lay {_range(under)} of the mean: {_by_nozzle(plan, choice, under)}"
        )
    if len(choice.valves) > 1:
        yield from _valve_lines(plan, choice, units)


def limit_lines(plan: NozzlePlan, units: str) -> list[str]:
    """What keeps zones from a set that fits, for output that has no place for it."""
    return [
        f"zone {plan.before.site.zones.zone[choice.offer.zone]}: {limit}: "
        f"{_LIMIT_TEXTS[limit](plan, choice, units)}"
        for choice in plan.choices
        for limit in choice.limits
    ]


def _valve_lines(plan: NozzlePlan, choice: ZoneChoice, units: str) -> Iterator[str]:
    own = "match" in choice.limits
    run = "each with minutes of its own" if own else "each for the same minutes"
    yield f"Split over {len(choice.valves)} valves, {run}, with the nozzles below:"
    for number, valve in enumerate(choice.valves, 1):
        flow = sum(choice.chosen.flow_l_min[row] * heads for row, heads in valve)
        names = [
            name if heads == choice.offer.count[row] else f"{heads} of {name}"
            for row, heads in valve
            for name in [_head(plan, choice, row)]
        ]
        yield f"  valve {number}, {_flow(flow, units)}: {listed(names)}"


def _head(plan: NozzlePlan, choice: ZoneChoice, row: int) -> str:
    return plan.before.site.heads.head[int(choice.offer.rows[row])]


def _flow(flow_l_min: float, units: str) -> str:
    return quantity(flow_l_min, "flow", units)


def _range(chosen: NozzleSet) -> str:
    shares = 100 * chosen.share_of_mean[np.isfinite(chosen.share_of_mean)]
    low, high = f"{shares.min():.0f}", f"{shares.max():.0f}"
    return f"{low} %" if low == high else f"{low} to {high} %"


def _by_nozzle(plan: NozzlePlan, choice: ZoneChoice, chosen: NozzleSet) -> str:
    """Nozzles with the heads that take them."""
    takers: dict[str, list[str]] = {}
    for row, pick in enumerate(chosen.nozzle.tolist()):
        if pick >= 0:
            head = _head(plan, choice, row)
            takers.setdefault(plan.chart.nozzle[pick], []).append(head)
    return "; ".join(f"{nozzle} on {listed(heads)}" for nozzle, heads in takers.items())


def _no_arc(plan: NozzlePlan, choice: ZoneChoice, units: str) -> str:
    rows = np.flatnonzero(choice.offer.no_arc).tolist()
    heads = plan.before.site.heads
    arcs = sorted({float(heads.arc_deg[choice.offer.rows[row]]) for row in rows})
    return (
        f"the chart has no nozzle of this kind of head for "
        f"{listed([f'{arc:g}°' for arc in arcs])} "
        f"({listed([_head(plan, choice, row) for row in rows])}): add its rows, or "
        "take a nozzle of adjustable arc"
    )


def _out_of_reach(plan: NozzlePlan, choice: ZoneChoice, units: str) -> str:
    offer = choice.offer
    rows = np.flatnonzero(offer.out_of_reach).tolist()
    heads = listed([_head(plan, choice, row) for row in rows])
    row = max(rows, key=lambda row: float(offer.spacing_m[row]))
    spacing = float(offer.spacing_m[row])
    throws = offer.radius_m[offer.suits[row]]
    to_next = f"{quantity(spacing, 'length', units)} to the next head"
    if float(throws.min()) > FARTHEST_OF_ALL * spacing:
        return (
            f"on {heads} even the shortest nozzle throws "
            f"{quantity(float(throws.min()), 'length', units)}, too far for {to_next}: "
            "heads of another kind"
        )
    wind = plan.before.site.supply.wind_m_s
    why = "" if wind is None else f" in wind of {quantity(wind, 'wind', units)}"
    return (
        f"from {heads} the farthest nozzle throws "
        f"{quantity(float(throws.max()), 'length', units)}, too short for "
        f"{to_next}{why}: heads between, more pressure, or heads that throw farther"
    )


def _no_match(plan: NozzlePlan, choice: ZoneChoice, units: str) -> str:
    return (
        f"no set of nozzles brings every head within {100 * MATCHED_WITHIN:.0f} % of "
        "the mean"
    )


def _too_much(plan: NozzlePlan, choice: ZoneChoice, units: str) -> str:
    design, least = choice.design_flow_l_min, choice.least_flow_l_min
    flows = choice.chosen.flow_l_min
    if not choice.valves:
        return (
            f"one head alone draws {_flow(float(np.nanmax(flows)), units)}, the supply "
            f"gives {_flow(design, units)}: smaller nozzles, or more supply"
        )
    if np.isnan(least):
        return f"no set of nozzles draws so little as {_flow(design, units)}"
    return (
        f"the smallest set that matches draws {_flow(least, units)}, "
        f"{_flow(least - design, units)} more than the supply gives"
    )


_LIMIT_TEXTS = {
    "arc": _no_arc,
    "throw": _out_of_reach,
    "match": _no_match,
    "supply": _too_much,
}


def caution_lines(plan: NozzlePlan, units: str) -> list[str]:
    """Cautions in words, alike ones in one line with their zones."""
    return sentences.grouped(plan.cautions, units)


def _yes(value: bool) -> str:
    return "yes" if value else "no"


def _percent(value: float) -> str:
    return f"{100 * value:.0f} %" if np.isfinite(value) else ""


def _count(value: int | None) -> str:
    return "" if value is None else str(value)


def _whole(value: float) -> str:
    return f"{value:.0f}" if np.isfinite(value) else ""


def _name(value: Any) -> str:
    return value if isinstance(value, str) else "none"
