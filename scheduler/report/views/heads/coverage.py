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
from scheduler.report.words import sentences
from scheduler.report.words.heads import coverage as words

_column = words.COLUMNS.column


def refuse_nothing(site: Site, coverage: Coverage, units: str) -> None:
    """Raise the Problem that no zone could be modelled, with what is missing."""
    if coverage.zones:
        return
    zones = [site.zones.zone[row] for row in coverage.without]
    place = site.names.place("heads.csv")
    problems = [
        Problem(place, None, named("zone", [caution.zone or ""]),
                sentences.sentence(caution, units), words.NEEDED)
        for caution in coverage.cautions
    ]  # fmt: skip
    if zones:
        problems.append(
            Problem(place, None, "x_* and y_*", words.no_places(zones), words.NEEDED,
                    words.MEASURE)
        )  # fmt: skip
    raise InputError(problems)


def blocks(site: Site, coverage: Coverage, units: str) -> list[Block]:
    """Evenness and driest spot of each zone, and what the model leaves out."""
    return [
        Heading(words.title(site.name), 1, runs_on=True),
        _evenness(site, coverage),
        Heading(words.DRIEST, 3),
        _driest(site, coverage),
        Paragraph(words.notes(site, coverage, units)),
        *sections([(sentences.CAUTIONS, sentences.grouped(coverage.cautions, units))]),
    ]


def _zone_columns(site: Site, coverage: Coverage) -> tuple[Column, ...]:
    rows = [zone.zone for zone in coverage.zones]
    return (
        _column("zone", [site.zones.zone[row] for row in rows]),
        _column("name", [site.zones.name[row] for row in rows], text=_short),
    )


def _short(name: str) -> str:
    return shown.cut(name, 24)


def _evenness_columns(coverage: Coverage) -> tuple[Column, ...]:
    zones = coverage.zones
    return (
        _column("heads", [len(zone.heads) for zone in zones]),
        _column("ground", [zone.area_m2 for zone in zones], "area"),
        _column("mean", [zone.mean_mm_h for zone in zones], "rate"),
        _column(
            "uniformity_lq",
            [zone.uniformity_lq for zone in zones],
            text="{:.2f}".format,
        ),
        _column(
            "christiansen_percent",
            [zone.christiansen_percent for zone in zones],
            text="{:.0f}".format,
        ),
        _column(
            "scheduling_coefficient",
            [zone.scheduling_coefficient for zone in zones],
            text=_coefficient,
        ),
        _column(
            "thrown_percent", [_thrown(zone) for zone in zones], text="{:.0f}".format
        ),
    )


def _driest_columns(coverage: Coverage) -> tuple[Column, ...]:
    zones = coverage.zones
    return (
        _column("driest", [zone.driest_mm_h for zone in zones], "rate"),
        _column("driest_x", [zone.driest_x_m for zone in zones], "length"),
        _column("driest_y", [zone.driest_y_m for zone in zones], "length"),
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
            _column("of_mean", of_mean, text="{:.0f}".format),
            *place,
            _column("nearest_head", [head for head, _ in nearest], text=_short),
            _column("nearest", [away for _, away in nearest], "length"),
        )
    )


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
    return f"{value:.2f}" if math.isfinite(value) else words.NEVER_THE_MEAN


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
