"""The choice of nozzles in words: what fits, what binds, and what to do."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator

import numpy as np

from scheduler.plan.choosing import NozzlePlan
from scheduler.plan.zones import is_drip
from scheduler.rates.choice.level import NozzleSet
from scheduler.rates.choice.offers import FARTHEST_OF_ALL
from scheduler.rates.choice.zone import ZoneChoice
from scheduler.rates.soundness import MATCHED_WITHIN
from scheduler.report import shown
from scheduler.report.counting import counted, listed, named, verb
from scheduler.report.frames import Headings

OF_ZONES = Headings(
    {
        "zone": "zone",
        "name": "name",
        "fits": "fits",
        "flow_now": "flow now",
        "flow": "flow",
        "design_flow": "supply",
        "worst_share": "worst\nhead",
        "cycles": "cycles",
        "minutes_per_week_now": "min a\nweek",
        "minutes_per_week": "then",
        "water_week_now": "water\na week",
        "water_week": "then",
    }
)
OF_HEADS = Headings(
    {
        "zone": "zone",
        "head": "head",
        "count": "count",
        "arc_deg": "arc °",
        "nozzle_now": "now",
        "nozzle": "take",
        "flow": "flow each",
        "radius": "throw",
        "spacing": "to next",
        "rate": "rate",
        "share_of_mean": "of zone\nmean",
    }
)
NO_NOZZLE = "none"
PRACTICE = (
    "Flow goes with the arc: full 4 : half 2 : quarter 1. Quarter circles then look "
    "weak beside full ones, and are right.",
    "Try it before you buy for all: run the zone, look at the streams, and read the "
    "pressure at the last head.",
)
"""Common practice."""


def title(site: str) -> str:
    """Heading of the choice."""
    return f"Nozzles: {site}"


def facts(plan: NozzlePlan, units: str) -> str:
    """Chart, supply and wind, and which zones fit."""
    site = plan.before.site
    given = [f"Chart {plan.chart.file}: {counted(len(plan.chart), 'nozzle')}"]
    supply = plan.before.supply
    if supply.design_flow_l_min is not None:
        flow = shown.quantity(supply.design_flow_l_min, "flow", units)
        given.append(f"supply {flow}")
    if site.supply.pressure_kpa is not None:
        at = shown.quantity(site.supply.pressure_kpa, "pressure", units)
        given.append(f"{at} at the heads")
    elif plan.before.points.curve is not None:
        given.append("each zone at the pressure that its own flow leaves")
    if site.supply.wind_m_s is not None:
        given.append(f"wind {shown.quantity(site.supply.wind_m_s, 'wind', units)}")
    short = [site.zones.zone[c.offer.zone] for c in plan.choices if not c.fits]
    chosen = {choice.offer.zone for choice in plan.choices}
    others = [row for row in range(len(site.zones)) if row not in chosen]
    unlisted = [row for row in others if not is_drip(site)[row]]
    listed_in = site.names.told("heads.csv")
    if not plan.choices and (unlisted if plan.only is None else plan.only in unlisted):
        asked = "Zones whose heads throw have" if plan.only is None else "The zone has"
        result = f"{asked} no rows in {listed_in}: give each head's arc and spacing"
    elif not plan.choices:
        asked = "No zone has" if plan.only is None else "The zone does not have"
        result = f"{asked} heads that throw"
    elif short:
        result = f"{named('Zone', short)} {verb(len(short), 'do')} not fit"
    else:
        result = "Every zone fits" if plan.only is None else "The zone fits"
    told = f"{', '.join(given)}. {result}."
    for rows, lacking in (
        ([row for row in others if row not in unlisted], "heads that throw"),
        (unlisted, f"rows in {listed_in}"),
    ):
        if rows and plan.only is None:
            names = listed([site.zones.zone[row] for row in rows])
            told += f" Left as they are, without {lacking}: {names}."
    return told


def zone_title(plan: NozzlePlan, choice: ZoneChoice) -> str:
    """Heading of a zone, and whether its set fits."""
    zones, row = plan.before.site.zones, choice.offer.zone
    title = shown.zone_title(zones.zone[row], zones.name[row])
    return f"{title} ({'fits' if choice.fits else 'does not fit'})"


def told(plan: NozzlePlan, choice: ZoneChoice, units: str) -> Iterator[str]:
    """What a zone's choice comes to, and what to do where nothing fits."""
    if choice.fits:
        chosen = choice.chosen
        design = _flow(choice.design_flow_l_min, units)
        over = chosen.total_flow_l_min - choice.design_flow_l_min
        beside = f"of {design} that the supply gives"
        if over > 1e-6 * chosen.total_flow_l_min:
            beside = f"{_flow(over, units)} over the design flow of {design}"
        evenly = f"heads lay {_range(chosen)} of the mean"
        yield f"{_drawn(chosen, units)}, {beside}; {evenly}"
        instead = choice.instead
        if instead is not None:
            yield (
                f"Fewest changes, as asked: {choice.changed(chosen)} of "
                f"{counted(int(choice.offer.count.sum()), 'head')}. Most water, with "
                f"{choice.changed(instead)}: {_by_nozzle(plan, choice, instead)}; "
                f"{_drawn(instead, units)}"
            )
        more = choice.with_more_cycles
        if more is not None:
            yield (
                f"More water, and a shorter night, with --allow-more-cycles: "
                f"{_drawn(more, units)} in {more.cycles} cycles, not "
                f"{chosen.cycles}: {_by_nozzle(plan, choice, more)}"
            )
        fewest = choice.fewest_changes
        if fewest is not None:
            yield (
                f"Fewest changes, {choice.changed(fewest)} of "
                f"{counted(int(choice.offer.count.sum()), 'head')}, not "
                f"{choice.changed(chosen)}: {_new_only(plan, choice, fewest)}; "
                f"{_drawn(fewest, units)}, heads lay {_range(fewest)} of the mean. "
                "Taken with --fewest-changes"
            )
        return
    for limit in choice.limits:
        yield _limit(plan, choice, limit, units)
    under = choice.under_limit
    if under is not None:
        yield (
            f"The best that one valve carries: {_drawn(under, units)}, "
            f"heads lay {_range(under)} of the mean: {_by_nozzle(plan, choice, under)}"
        )
    if len(choice.valves) > 1:
        yield from _valve_lines(plan, choice, units)


def limit_of_zone(plan: NozzlePlan, choice: ZoneChoice, limit: str, units: str) -> str:
    """What keeps a zone from a set that fits, with the zone's number."""
    zone = plan.before.site.zones.zone[choice.offer.zone]
    return f"zone {zone}: {_limit(plan, choice, limit, units)}"


def _limit(plan: NozzlePlan, choice: ZoneChoice, limit: str, units: str) -> str:
    return f"{limit}: {_LIMIT_TEXTS[limit](plan, choice, units)}"


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
    return shown.quantity(flow_l_min, "flow", units)


def _drawn(chosen: NozzleSet, units: str) -> str:
    """Flow of a set, and the pressure at which it stands."""
    at = shown.quantity(chosen.offer.pressure_kpa, "pressure", units)
    return f"{_flow(chosen.total_flow_l_min, units)} at {at}"


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


def _new_only(plan: NozzlePlan, choice: ZoneChoice, chosen: NozzleSet) -> str:
    """Nozzles with the heads that do not have them yet."""
    new = np.where(chosen.nozzle != choice.offer.now, chosen.nozzle, -1)
    if (new < 0).all():
        return "all stay"
    return _by_nozzle(plan, choice, dataclasses.replace(chosen, nozzle=new))


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
    if "throw" in choice.would_do:
        return _nearly(plan, choice, choice.would_do["throw"], units)
    rows = np.flatnonzero(offer.out_of_reach).tolist()
    if not rows:
        return (
            "no set of nozzles suits the pressure that its own flow leaves: add rows "
            "between to the chart"
        )
    heads = listed([_head(plan, choice, row) for row in rows])
    row = max(rows, key=lambda row: float(offer.spacing_m[row]))
    spacing = float(offer.spacing_m[row])
    throws = offer.radius_m[offer.suits[row]]
    to_next = f"{shown.quantity(spacing, 'length', units)} to the next head"
    shortest, farthest = float(throws.min()), float(throws.max())
    if shortest > FARTHEST_OF_ALL * spacing:
        return (
            f"on {heads} even the shortest nozzle throws "
            f"{shown.quantity(shortest, 'length', units)}, too far for {to_next}: "
            "heads of another kind"
        )
    wind = plan.before.site.supply.wind_m_s
    why = "" if wind is None else f" in wind of {shown.quantity(wind, 'wind', units)}"
    if farthest > FARTHEST_OF_ALL * spacing:
        return (
            f"on {heads} no nozzle throws as {to_next} asks: some fall short, others "
            "throw more than a quarter past it: add rows between to the chart"
        )
    return (
        f"from {heads} the farthest nozzle throws "
        f"{shown.quantity(farthest, 'length', units)}, too short for "
        f"{to_next}{why}: heads between, more pressure, or heads that throw farther"
    )


def _nearly(plan: NozzlePlan, choice: ZoneChoice, would: NozzleSet, units: str) -> str:
    """The set that fits but for its throw, what it lacks, and what to do."""
    offer, picks = would.offer, would.nozzle
    given = np.flatnonzero(picks >= 0)
    reach = offer.reach[given, picks[given]]
    names = dict.fromkeys(plan.chart.nozzle[pick] for pick in picks[given])
    lacking = []
    for row, share in zip(given.tolist(), reach.tolist(), strict=True):
        if share < 1 - 1e-9:
            throw, spacing = offer.radius_m[picks[row]], offer.spacing_m[row]
            lacking.append(
                f"{plan.chart.nozzle[picks[row]]} on {_head(plan, choice, row)} throws "
                f"{shown.quantity(float(throw), 'length', units)} of "
                f"{shown.quantity(float(throw / share), 'length', units)}: accept it, "
                "or bring the heads nearer by "
                f"{shown.quantity(float(spacing * (1 - share)), 'length', units)}"
            )
    return f"{listed(list(names))} match, {_drawn(would, units)}; {'; '.join(lacking)}"


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
        f"{_smallest(plan, choice)}"
    )


def _smallest(plan: NozzlePlan, choice: ZoneChoice) -> str:
    would = choice.would_do.get("supply")
    return "" if would is None else f": {_by_nozzle(plan, choice, would)}"


_LIMIT_TEXTS = {
    "arc": _no_arc,
    "throw": _out_of_reach,
    "match": _no_match,
    "supply": _too_much,
}
