"""Ways to water on the same years: blocks, a table for CSV, and data for programs."""

from __future__ import annotations

from typing import Any

import numpy as np

from scheduler.budget.rain_rules import HandRule, ShutOffSaving
from scheduler.budget.replay import Replay, Replayed, worst_year
from scheduler.cautions import HARD_LIMITS
from scheduler.report.blocks import Block, Heading, Paragraph, sections
from scheduler.report.frames import Table
from scheduler.report.words import replay as words
from scheduler.report.words import sentences

_TOLD = ("irrigation", "percolation", "runoff")
_MEASURES = ("irrigation", "rain", "rain_used", "percolation", "runoff", "et", "need")
"""Depths of a year, as the record's fields `..._mm_year` name them."""


def blocks(
    replay: Replay,
    saving: ShutOffSaving,
    rule: HandRule | None,
    units: str,
) -> list[Block]:
    """All zones, then each, then what rain rules and weekly adjusting save.

    `replay` has the table adjusted every week among its ways.
    """
    plan = replay.stage.plan
    zones = plan.site.zones
    hard = [c for c in plan.cautions if c.code in HARD_LIMITS]
    said = words.said(replay, units, _area_m2(replay))
    parts: list[Block] = [
        Heading(words.title(plan.site.name), 1, [words.facts(replay)]),
        Heading(words.ALL_ZONES, 3),
        _all_zones(replay),
        *sections([(sentences.WHAT_THAT_SAYS, said)]),
    ]
    for part, valve in enumerate(plan.inputs.ground.valve.tolist()):
        part_name = plan.stands_on.name[part]
        title = words.zone(zones.zone[valve], zones.name[valve], part_name)
        parts += [Heading(title, 3), zone_table(replay, part)]
    parts += sections(
        [
            (words.WHEN_IT_RAINS, words.rain_rules(saving, rule, units)),
            (words.WEEK_BY_WEEK, [words.weekly(replay, units, _area_m2(replay))]),
            (sentences.CAUTIONS, sentences.grouped(hard, units)),
            (sentences.HOW_RECKONED, words.notes(replay)),
        ]
    )
    return [*parts, Paragraph(sentences.WATCH)]


def _area_m2(replay: Replay) -> np.ndarray:
    """Ground of each part."""
    plan = replay.stage.plan
    ground = plan.inputs.ground
    return np.asarray(plan.rates.area_m2[ground.valve] * ground.share)


def _all_zones(replay: Replay) -> Table:
    column, ways, area_m2 = words.OF_SITE.column, replay.ways, _area_m2(replay)
    dry = [words.mean_dry_percent(way, area_m2) for way in ways]
    water = [float(way.volume_l_year.sum()) for way in ways]
    return Table(
        (
            column("of", [words.WAYS[way.of] for way in ways]),
            column("dry", dry, text="{:.0f}".format),
            column("water", water, "volume"),
        )
    )


def zone_table(replay: Replay, part: int) -> Table:
    """Ways to water one part of the ground, side by side."""
    column, ways = words.OF_ZONE.column, replay.ways
    dry = [100 * float(way.dry_share[part]) for way in ways]
    return Table(
        (
            column("of", [words.WAYS[way.of] for way in ways]),
            column("dry", dry, text="{:.0f}".format),
            column("longest", [int(way.longest_dry_days[part]) for way in ways]),
            *(
                column(name, [_depth_mm(way, name, part) for way in ways], "depth")
                for name in _TOLD
            ),
            column("water", [float(way.volume_l_year[part]) for way in ways], "volume"),
        )
    )


def _depth_mm(way: Replayed, name: str, part: int) -> float:
    """Depth of a year on one part."""
    return float(getattr(way, f"{name}_mm_year")[part])


def to_data(replay: Replay) -> dict[str, Any]:
    """The replay for programs, zones in file order and ways in the order of KINDS."""
    years = replay.stage.years
    return {
        "years": {
            "from": years.first,
            "to": years.last,
            "count": len(years),
            "invented": years.invented,
        },
        "zones": [_way_data(replay, way, part) for part, way in _rows(replay)],
    }


def _rows(replay: Replay) -> list[tuple[int, Replayed]]:
    parts = range(len(replay.stage.store))
    return [(part, way) for part in parts for way in replay.ways]


def _way_data(replay: Replay, way: Replayed, part: int) -> dict[str, Any]:
    valve = int(replay.stage.plan.inputs.ground.valve[part])
    return {
        "zone": replay.stage.plan.site.zones.zone[valve],
        "part": replay.stage.plan.stands_on.name[part] or None,
        "of": way.of,
        "dry_days_percent": 100 * way.dry_by_quarter[part],
        "months": [
            {"month": month, "dry_days_percent": 100 * share}
            for month, share in enumerate(way.dry_by_month[part].tolist(), 1)
        ],
        "longest_dry_days": way.longest_dry_days[part],
        "worst_year": worst_year(replay.stage, way, part),
        "adequacy_percent": 100 * way.adequacy[part],
        "excess_percent": 100 * way.excess[part],
        **{f"{name}_mm_year": _depth_mm(way, name, part) for name in _MEASURES},
    }


def sheets(replay: Replay) -> list[tuple[str, Table]]:
    """First sheet of a workbook: all zones."""
    return [(words.ALL_ZONES_SHEET, _all_zones(replay))]


def to_table(replay: Replay) -> Table:
    """A row for each zone and way, for CSV; depths and volume are a year's."""
    column, rows = words.ROWS.column, _rows(replay)
    zones, valve = replay.stage.plan.site.zones, replay.stage.plan.inputs.ground.valve
    years = [worst_year(replay.stage, way, part) for part, way in rows]

    def percents(field: str) -> list[float]:
        return [100 * float(getattr(way, field)[part]) for part, way in rows]

    def depths_mm(name: str) -> list[float]:
        return [_depth_mm(way, name, part) for part, way in rows]

    whole = "{:.0f}".format
    names = replay.stage.plan.stands_on.name
    part_column = []
    if any(names):
        part_column = [column("part", [names[part] for part, _ in rows])]
    volumes_l = [float(way.volume_l_year[part]) for part, way in rows]
    return Table(
        (
            column("zone", [zones.zone[valve[part]] for part, _ in rows]),
            column("name", [zones.name[valve[part]] for part, _ in rows]),
            *part_column,
            column("of", [way.of for _, way in rows]),
            column("dry_days_percent", percents("dry_share"), text=whole),
            column("longest_dry_days", [int(w.longest_dry_days[p]) for p, w in rows]),
            column("worst_year", ["" if year is None else year for year in years]),
            column("adequacy_percent", percents("adequacy"), text=whole),
            column("excess_percent", percents("excess"), text=whole),
            *(column(f"{name}_year", depths_mm(name), "depth") for name in _MEASURES),
            column("water_year", volumes_l, "volume"),
        )
    )
