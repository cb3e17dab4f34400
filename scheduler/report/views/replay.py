"""Ways to water on the same years: blocks, a table for CSV, and data for programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from scheduler.budget.rain_rules import HandRule, ShutOffSaving
from scheduler.budget.replay import Replay, Replayed, worst_year
from scheduler.cautions import HARD_LIMITS
from scheduler.report import shown
from scheduler.report.blocks import Block, Heading, Paragraph, sections
from scheduler.report.frames import Column, Table
from scheduler.report.words import replay as words
from scheduler.report.words import sentences

_MEASURES = (
    ("irrigation", "irrigation", "irrigation_mm_year"),
    ("rain", "rain", "rain_mm_year"),
    ("rain_used", "rain used", "rain_used_mm_year"),
    ("percolation", "percolation", "percolation_mm_year"),
    ("runoff", "runoff", "runoff_mm_year"),
    ("et", "taken up", "et_mm_year"),
    ("need", "need", "need_mm_year"),
)
"""Depths of a year: name for programs, label for people, field of the record."""
_TOLD = ("irrigation", "percolation", "runoff")


def blocks(
    replay: Replay,
    saving: ShutOffSaving,
    rule: HandRule | None,
    has_card: bool,
    units: str,
) -> list[Block]:
    """All zones, then each, then what rain rules save."""
    plan = replay.stage.plan
    zones = plan.site.zones
    hard = [c for c in plan.cautions if c.code in HARD_LIMITS]
    lines = [words.facts(replay)] if has_card else [words.facts(replay), words.NO_CARD]
    parts: list[Block] = [
        Heading(f"Replay: {plan.site.name}", 1, lines),
        Heading("All zones, a year", 3),
        _all_zones(replay),
        *sections([("What that says", words.said(replay, units, _area_m2(replay)))]),
    ]
    for part, valve in enumerate(plan.inputs.ground.valve.tolist()):
        title = shown.zone_title(zones.zone[valve], zones.name[valve])
        parts += [Heading(title, 3), _zone(replay, part)]
    parts += sections(
        [
            ("When it rains", words.rain_rules(saving, rule, units)),
            # What adjusting by the week would save has its place here.
            ("Cautions", sentences.grouped(hard, units)),
            ("How it is reckoned", words.notes(replay)),
        ]
    )
    return [*parts, Paragraph(sentences.WATCH)]


def _area_m2(replay: Replay) -> np.ndarray:
    """Ground of each part."""
    plan = replay.stage.plan
    ground = plan.inputs.ground
    return np.asarray(plan.rates.area_m2[ground.valve] * ground.share)


def _all_zones(replay: Replay) -> Table:
    ways, area_m2 = replay.ways, _area_m2(replay)
    return Table(
        (
            _names(ways),
            Column("dry", "dry days\nof 100",
                   [words.mean_dry_percent(way, area_m2) for way in ways],
                   text="{:.0f}".format),
            Column("water", "water",
                   [float(way.volume_l_year.sum()) for way in ways], "volume"),
        )
    )  # fmt: skip


def _names(ways: Sequence[Replayed]) -> Column:
    return Column("of", "", [words.WAYS[way.of] for way in ways])


def _zone(replay: Replay, part: int) -> Table:
    ways = replay.ways
    depths = [
        Column(name, label, [float(getattr(way, field)[part]) for way in ways], "depth")
        for name, label, field in _MEASURES
        if name in _TOLD
    ]
    return Table(
        (
            _names(ways),
            Column("dry", "dry days\nof 100",
                   [100 * float(way.dry_share[part]) for way in ways],
                   text="{:.0f}".format),
            Column("longest", "longest\ndry run\ndays",
                   [int(way.longest_dry_days[part]) for way in ways]),
            *depths,
            Column("water", "water\na year",
                   [float(way.volume_l_year[part]) for way in ways], "volume"),
        )
    )  # fmt: skip


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
        "part": None,
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
        **{field: getattr(way, field)[part] for _, _, field in _MEASURES},
    }


def to_table(replay: Replay) -> Table:
    """A row for each zone and way, for CSV; depths and volume are a year's."""
    rows = _rows(replay)
    zones, valve = replay.stage.plan.site.zones, replay.stage.plan.inputs.ground.valve
    years = [worst_year(replay.stage, way, part) for part, way in rows]
    return Table(
        (
            Column("zone", "zone", [zones.zone[valve[part]] for part, _ in rows]),
            Column("name", "name", [zones.name[valve[part]] for part, _ in rows]),
            Column("of", "of", [way.of for _, way in rows]),
            Column("dry_days_percent", "dry days of 100",
                   [100 * float(way.dry_share[part]) for part, way in rows]),
            Column("longest_dry_days", "longest dry run",
                   [int(way.longest_dry_days[part]) for part, way in rows]),
            Column("worst_year", "worst year",
                   ["" if year is None else year for year in years]),
            Column("adequacy_percent", "adequacy",
                   [100 * float(way.adequacy[part]) for part, way in rows]),
            Column("excess_percent", "excess",
                   [100 * float(way.excess[part]) for part, way in rows]),
            *(
                Column(f"{name}_year", label,
                       [float(getattr(way, field)[part]) for part, way in rows],
                       "depth")
                for name, label, field in _MEASURES
            ),
            Column("water_year", "water",
                   [float(way.volume_l_year[part]) for part, way in rows], "volume"),
        )
    )  # fmt: skip
