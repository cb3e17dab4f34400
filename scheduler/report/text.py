"""Reports for reading: plain text within 100 columns, and markdown."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import fill
from typing import TYPE_CHECKING

import tabulate

from scheduler.errors import Caution
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.plan.site import SitePlan
from scheduler.report import frames, shown
from scheduler.report.frames import Table
from scheduler.report.views import supply
from scheduler.report.words import sentences
from scheduler.report.words.climate import method_words

if TYPE_CHECKING:
    from scheduler.findings.check import Finding

# Columns need no room beyond their cells; 100 columns have to hold a zone's months.
tabulate.MIN_PADDING = 0

WIDTH = 100


def grid(table: Table, units: str, style: str = "simple") -> str:
    """A table drawn with plain characters; numbers to the right."""
    titles = [column.title(units) for column in table.columns]
    if style != "simple":
        titles = [title.replace("\n", " ") for title in titles]
    align = [alignment(column.cells(units)) for column in table.columns]
    rows = table.rows(units)
    if style == "pipe":
        rows = [tuple(map(shown.for_markdown, row)) for row in rows]
    return tabulate.tabulate(
        rows,
        titles,
        tablefmt=style,
        disable_numparse=True,
        colalign=align,
    )


def alignment(cells: Sequence[str]) -> str:
    """Side to which a column is set: numbers right, words left."""
    filled = [cell for cell in cells if cell not in ("", "-")]
    numeric = all(cell[0].isdigit() or cell[0] in "-+." for cell in filled)
    return "right" if filled and numeric else "left"


def watering_table(plan: SitePlan, units: str) -> str:
    """The month-by-month table: overview, a block a zone, assumptions, cautions."""
    parts = [
        _heading(plan, units),
        "Minutes a week",
        grid(frames.overview(plan), units),
    ]
    for row in range(len(plan.site.zones)):
        parts += [_zone_heading(plan, row, units),
                  grid(frames.zone_months(plan, row), units)]  # fmt: skip
    parts += _closing(plan, units)
    return "\n\n".join(parts) + "\n"


def watering_markdown(plan: SitePlan, units: str) -> str:
    """The same as markdown."""
    parts = [
        f"# Watering table: {shown.for_markdown(plan.site.name)}",
        _facts(plan, units),
        "## Minutes a week",
        grid(frames.overview(plan), units, "pipe"),
    ]
    for row in range(len(plan.site.zones)):
        title, *facts = _zone_lines(plan, row, units)
        parts += [f"## {shown.for_markdown(title)}", "  \n".join(facts),
                  grid(frames.zone_months(plan, row), units, "pipe")]  # fmt: skip
    for title, lines in _sections(plan, units):
        items = [f"- {shown.for_markdown(line)}" for line in lines]
        parts += [f"## {title}", "\n".join(items)]
    parts.append(" ".join(sentences.WATCH))
    return "\n\n".join(parts) + "\n"


def _heading(plan: SitePlan, units: str) -> str:
    title = f"Watering table: {plan.site.name}"
    return f"{title}\n{'=' * len(title)}\n{wrapped(_facts(plan, units))}"


def _facts(plan: SitePlan, units: str) -> str:
    site, months = plan.site, plan.months
    rain = {
        "tr21": "counted by SCS TR-21",
        "share": f"{100 * site.rain_rule.share:.0f} % counted",
        "none": "not counted",
    }[site.rain_rule.method]
    total = shown.quantity(float(plan.plan.volume_l.sum()), "volume", units)
    return (
        f"Climate {months.source}; ET0: {method_words(months.method)}; rain: {rain}. "
        f"{len(site.zones)} zones use {total} a year."
    )


def _zone_heading(plan: SitePlan, row: int, units: str) -> str:
    return "\n".join(map(wrapped, _zone_lines(plan, row, units)))


def _zone_lines(plan: SitePlan, row: int, units: str) -> list[str]:
    site, rates, roots = plan.site, plan.rates, plan.roots
    zones = site.zones
    zone = zones.zone[row]
    title = shown.zone_title(zone, zones.name[row])
    station = int(zones.station[row])
    depth = shown.quantity(float(roots.root_depth_mm[row]), "depth", units, 0)
    store = shown.quantity(float(roots.allowed_depletion_mm[row]), "depth", units)
    rate = shown.quantity(float(rates.rate_mm_h[row]), "rate", units)
    peak = shown.quantity(float(rates.peak_rate_mm_h[row]), "rate", units)
    if rates.peak_rate_mm_h[row] > 1.02 * rates.rate_mm_h[row]:
        rate += f" (peak {peak})"
    longest = plan.plan.longest_cycle_min[row]
    plant, soil = zones.plant[row], zones.soil[row]
    return [
        title if str(station) == zone else f"{title} (station {station})",
        f"{site.plants.names[plant]} on {site.soils.names[soil]}, "
        f"{zones.slope_percent[row]:g} % slope; roots {depth}, "
        f"{store} may be used between waterings",
        f"{HEAD_KINDS[zones.head_kind[row]]}: "
        f"{shown.quantity(float(rates.flow_l_min[row]), 'flow', units)} over "
        f"{shown.quantity(float(rates.area_m2[row]), 'area', units)}, {rate}",
        f"uniformity {rates.uniformity[row]:.2f}, run-time multiplier "
        f"{rates.run_time_multiplier[row]:.2f}; "
        f"longest cycle {shown.minutes(float(longest))} min",
    ]


def _closing(plan: SitePlan, units: str) -> list[str]:
    parts = []
    for title, lines in _sections(plan, units):
        parts.append("\n".join([title, "-" * len(title), *map(wrapped, lines)]))
    parts.append("\n".join(sentences.WATCH))
    return parts


def _sections(plan: SitePlan, units: str) -> list[tuple[str, list[str]]]:
    """What was assumed, then the cautions; a part with nothing in it is left out."""
    worth = [c for c in plan.cautions if c.code not in sentences.ONLY_TOLD]
    sections = [
        ("Assumed", _assumed(plan, units)),
        ("Cautions", sentences.grouped(worth, units)),
    ]
    return [(title, lines) for title, lines in sections if lines]


def _assumed(plan: SitePlan, units: str) -> list[str]:
    return sentences.assumptions(plan.cautions, len(plan.site.zones), units)


def wrapped(text: str) -> str:
    """Text in lines of the report's width."""
    return fill(text, WIDTH, subsequent_indent="  ", break_on_hyphens=False)


def rates(plan: SitePlan, units: str, style: str = "simple") -> str:
    """Precipitation rates by zone and by head, and what the imbalance costs."""
    parts = [wrapped(f"Precipitation rates: {_name(plan, style)}"),
             grid(frames.zone_rates(plan), units, style)]  # fmt: skip
    if len(plan.site.heads):
        parts += ["By head", grid(frames.head_rates(plan), units, style)]
    parts.append(_supply(plan, units))
    lines = sentences.grouped(rate_cautions(plan), units)
    if lines:
        parts.append("\n".join(["Cautions", "--------", *map(wrapped, lines)]))
    return "\n\n".join(parts) + "\n"


def rate_cautions(plan: SitePlan) -> tuple[Caution, ...]:
    """Cautions about supply, heads and catch-can tests."""
    over = (c for c in plan.cautions if c.code == "flow-over-supply")
    return (
        *over,
        *plan.supply.cautions,
        *plan.rates.cautions,
        *plan.tests.cautions,
    )


def _supply(plan: SitePlan, units: str) -> str:
    lines = supply.lines(plan.supply, units)
    return "\n".join(["Supply", "------", *map(wrapped, lines)])


def _name(plan: SitePlan, style: str) -> str:
    name = plan.site.name
    return shown.for_markdown(name) if style == "pipe" else name


def findings(plan: SitePlan, found: Sequence[Finding], units: str) -> str:
    """Findings of `check`, worst first."""
    title = f"Check: {plan.site.name}"
    parts = [f"{title}\n{'=' * len(title)}"]
    worth = [f for f in found if f.caution.code not in sentences.ONLY_TOLD]
    if worth:
        lines = _finding_lines(worth, units)
        numbered = [wrapped(f"{i}. {line}") for i, line in enumerate(lines, 1)]
        parts.append("\n".join(numbered))
    else:
        parts.append("Nothing to mend was found.")
    parts.append(_supply(plan, units))
    told = _assumed(plan, units)
    if told:
        parts.append("\n".join(["Assumed", "-------", *map(wrapped, told)]))
    parts.append("\n".join(sentences.WORK_SAFELY))
    parts.append("\n".join(sentences.WATCH))
    return "\n\n".join(parts) + "\n"


def _finding_lines(found: Sequence[Finding], units: str) -> list[str]:
    """A line each for what costs something; alike ones that cost nothing together."""
    lines: list[str] = []
    free: list[Caution] = []
    for finding in found:
        cost = _cost(finding, units)
        if cost:
            lines += sentences.grouped(free, units)
            free = []
            lines.append(f"{sentences.grouped([finding.caution], units)[0]}. {cost}")
        else:
            free.append(finding.caution)
    return lines + sentences.grouped(free, units)


def _cost(finding: Finding, units: str) -> str:
    parts = []
    if finding.costs_l_year >= 0.5:
        water = shown.quantity(finding.costs_l_year, "volume", units)
        parts.append(f"{water} a year")
    if finding.costs_min_week >= 0.5:
        what = "of soak " if finding.caution.code == "rate-over-intake" else ""
        parts.append(f"up to {shown.number(finding.costs_min_week)} min {what}a week")
    return f"It costs {' and '.join(parts)}." if parts else ""
