"""Coverage as blocks, a table and data: where the water falls, and how evenly."""

from __future__ import annotations

import math

import numpy as np

from scheduler.errors import InputError, Problem
from scheduler.inputs.site import Site
from scheduler.rates.coverage.grid import Coverage, ZoneCoverage
from scheduler.report import shown
from scheduler.report.blocks import Block, Heading, Paragraph, sections
from scheduler.report.counting import named
from scheduler.report.frames import Column, Table
from scheduler.report.words import coverage as words
from scheduler.report.words import sentences

_NEEDED = (
    "x_*, y_*, radius_* and flow_* of every head of a zone, facing_deg of part circles"
)


def refuse_nothing(site: Site, coverage: Coverage, units: str) -> None:
    """Raise the Problem that no zone could be modelled, with what is missing."""
    if coverage.zones:
        return
    zones = [site.zones.zone[row] for row in coverage.without]
    problems = [
        Problem(site.names.place("heads.csv"), None, f"zone {caution.zone}",
                sentences.sentence(caution, units), _NEEDED)
        for caution in coverage.cautions
    ]  # fmt: skip
    if zones:
        problems.append(
            Problem(site.names.place("heads.csv"), None, "x_* and y_*",
                    f"no places of the heads of {named('zone', zones)}", _NEEDED,
                    "measure from one corner of the property: x to the east, "
                    "y to the north")
        )  # fmt: skip
    raise InputError(problems)


def blocks(site: Site, coverage: Coverage, units: str) -> list[Block]:
    """Evenness and driest spot of each zone, and what the model leaves out."""
    return [
        Heading(f"Coverage: {site.name}", 1, runs_on=True),
        _evenness(site, coverage),
        Heading("The driest spot, x to the east and y to the north", 3),
        _driest(site, coverage),
        Paragraph(words.notes(site, coverage, units)),
        *sections([("Cautions", sentences.grouped(coverage.cautions, units))]),
    ]


def _zone_columns(site: Site, coverage: Coverage) -> tuple[Column, ...]:
    rows = [zone.zone for zone in coverage.zones]
    return (
        Column("zone", "zone", [site.zones.zone[row] for row in rows]),
        Column("name", "name", [site.zones.name[row] for row in rows], text=_short),
    )


def _short(name: str) -> str:
    return shown.cut(name, 24)


def _evenness_columns(coverage: Coverage) -> tuple[Column, ...]:
    zones = coverage.zones
    return (
        Column("heads", "heads", [len(zone.heads) for zone in zones]),
        Column("ground", "ground", [zone.area_m2 for zone in zones], "area"),
        Column("mean", "mean", [zone.mean_mm_h for zone in zones], "rate"),
        Column("uniformity_lq", "DU", [zone.uniformity_lq for zone in zones],
               text="{:.2f}".format),
        Column("christiansen_percent", "CU\n%",
               [zone.christiansen_percent for zone in zones], text="{:.0f}".format),
        Column("scheduling_coefficient", "SC",
               [zone.scheduling_coefficient for zone in zones], text=_coefficient),
        Column("thrown_percent", "beyond\n%", [_thrown(zone) for zone in zones],
               text="{:.0f}".format),
    )  # fmt: skip


def _driest_columns(coverage: Coverage) -> tuple[Column, ...]:
    zones = coverage.zones
    return (
        Column("driest", "rate", [zone.driest_mm_h for zone in zones], "rate"),
        Column("driest_x", "x", [zone.driest_x_m for zone in zones], "length"),
        Column("driest_y", "y", [zone.driest_y_m for zone in zones], "length"),
    )


def _evenness(site: Site, coverage: Coverage) -> Table:
    return Table((*_zone_columns(site, coverage), *_evenness_columns(coverage)))


def _driest(site: Site, coverage: Coverage) -> Table:
    zones = coverage.zones
    nearest = [_nearest_head(site, zone) for zone in zones]
    rate, *place = _driest_columns(coverage)
    of_mean = [100 * zone.driest_mm_h / zone.mean_mm_h for zone in zones]
    return Table(
        (
            *_zone_columns(site, coverage),
            rate,
            Column("of_mean", "of mean\n%", of_mean, text="{:.0f}".format),
            *place,
            Column("nearest_head", "nearest head", [head for head, _ in nearest],
                   text=_short),
            Column("nearest", "away", [away for _, away in nearest], "length"),
        )
    )  # fmt: skip


def _nearest_head(site: Site, zone: ZoneCoverage) -> tuple[str, float]:
    away = np.hypot(
        site.heads.x_m[zone.heads] - zone.driest_x_m,
        site.heads.y_m[zone.heads] - zone.driest_y_m,
    )
    nearest = int(np.argmin(away))
    return site.heads.head[int(zone.heads[nearest])], float(away[nearest])


def _thrown(zone: ZoneCoverage) -> float:
    return max(100 * zone.thrown_l_min / zone.flow_l_min, 0.0)


def _coefficient(value: float) -> str:
    return f"{value:.2f}" if math.isfinite(value) else "dry"


def to_table(site: Site, coverage: Coverage) -> Table:
    """A row a zone, for CSV."""
    return Table(
        (
            *_zone_columns(site, coverage),
            *_evenness_columns(coverage),
            *_driest_columns(coverage),
        )
    )


def to_data(site: Site, coverage: Coverage) -> dict[str, object]:
    """Coverage for programs; a coefficient without limit is null."""
    return {
        "zones": [
            {
                "zone": site.zones.zone[zone.zone],
                "mean_mm_h": zone.mean_mm_h,
                "uniformity_lq": zone.uniformity_lq,
                "christiansen_percent": zone.christiansen_percent,
                "scheduling_coefficient": zone.scheduling_coefficient,
                "driest": {
                    "x_m": zone.driest_x_m,
                    "y_m": zone.driest_y_m,
                    "rate_mm_h": zone.driest_mm_h,
                },
            }
            for zone in coverage.zones
        ]
    }
