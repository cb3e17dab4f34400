"""Coverage as blocks, a table and data: where the water falls, and how evenly."""

from __future__ import annotations

import math
from collections.abc import Sequence

from scheduler.errors import InputError, Problem
from scheduler.inputs.site import Site
from scheduler.rates.coverage.grid import BANDS, Coverage, ZoneCoverage
from scheduler.rates.coverage.patch import Patch, mend_patch
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
    """What to do in each zone, how even it is, and what the model leaves out."""
    patches = [zone.patch for zone in coverage.zones]
    return [
        Heading(words.title(site.name), 1, runs_on=True),
        Paragraph(
            [_to_do(site, zone, patch, units)
             for zone, patch in zip(coverage.zones, patches, strict=True)],
            indent="",
        ),
        Table((
            *_zone_columns(site, coverage), *_water_columns(coverage),
            *_evenness_columns(coverage), *_patch_columns(patches),
        )),
        Heading(words.BANDS, 3),
        Table((*_zone_columns(site, coverage), *_band_columns(coverage))),
        Paragraph(words.notes(site, coverage, units)),
        *sections([(sentences.CAUTIONS, sentences.grouped(coverage.cautions, units))]),
        Paragraph(sentences.WORK_SAFELY),
    ]  # fmt: skip


def _to_do(site: Site, zone: ZoneCoverage, patch: Patch, units: str) -> str:
    mend = mend_patch(site.heads, zone.heads, zone.head_l_min, patch)
    label = shown.zone_label(site.zones.zone[zone.zone], site.zones.name[zone.zone])
    return words.to_do(label, site.heads.head[mend.head], patch, mend, units)


def _zone_columns(site: Site, coverage: Coverage) -> tuple[Column, ...]:
    rows = [zone.zone for zone in coverage.zones]
    return (
        _column("zone", [site.zones.zone[row] for row in rows]),
        _column("name", [site.zones.name[row] for row in rows], text=_short),
    )


def _short(name: str) -> str:
    return shown.cut(name, 24)


def _water_columns(coverage: Coverage) -> tuple[Column, ...]:
    zones = coverage.zones
    return (
        _column("heads", [len(zone.heads) for zone in zones]),
        _column("ground", [zone.area_m2 for zone in zones], "area"),
        _column("mean", [zone.mean_mm_h for zone in zones], "rate"),
        _whole("thrown_percent", [_thrown(zone) for zone in zones]),
    )


def _evenness_columns(coverage: Coverage) -> tuple[Column, ...]:
    zones = coverage.zones
    return (
        _column("uniformity_lq", [zone.uniformity_lq for zone in zones],
                text="{:.2f}".format),
        _whole("christiansen_percent", [zone.christiansen_percent for zone in zones]),
    )  # fmt: skip


def _patch_columns(patches: Sequence[Patch]) -> tuple[Column, ...]:
    return (
        _whole("patch_percent", [100 * patch.share for patch in patches]),
        _column("minutes_for_hour", [patch.minutes_for_an_hour for patch in patches],
                text=_minutes),
    )  # fmt: skip


def _band_columns(coverage: Coverage) -> tuple[Column, ...]:
    shares = [100 * zone.band_shares for zone in coverage.zones]
    return tuple(
        _whole(name, [float(share[band]) for share in shares])
        for band, name in enumerate(words.BAND_NAMES)
    )


def _driest_columns(coverage: Coverage) -> tuple[Column, ...]:
    zones = coverage.zones
    return (
        _column("driest", [zone.driest_mm_h for zone in zones], "rate"),
        _column("driest_x", [zone.driest_x_m for zone in zones], "length"),
        _column("driest_y", [zone.driest_y_m for zone in zones], "length"),
    )


def _whole(name: str, values: list[float]) -> Column:
    return _column(name, values, text="{:.0f}".format)


def _thrown(zone: ZoneCoverage) -> float:
    return max(100 * zone.thrown_l_min / zone.flow_l_min, 0.0)


def _minutes(value: float) -> str:
    return f"{value:.0f}" if math.isfinite(value) else words.NEVER


def to_table(site: Site, coverage: Coverage) -> Table:
    """A row a zone, for CSV."""
    zones = coverage.zones
    patches = [zone.patch for zone in zones]
    heads, ground, mean, thrown = _water_columns(coverage)
    return Table(
        (
            *_zone_columns(site, coverage),
            heads,
            ground,
            mean,
            *_evenness_columns(coverage),
            _column(
                "scheduling_coefficient",
                [zone.scheduling_coefficient for zone in zones],
            ),
            thrown,
            *_driest_columns(coverage),
            *_patch_columns(patches),
            _column("patch_x", [patch.x_m for patch in patches], "length"),
            _column("patch_y", [patch.y_m for patch in patches], "length"),
            *_band_columns(coverage),
        )
    )


def to_data(site: Site, coverage: Coverage) -> dict[str, object]:
    """Coverage for programs; what has no limit is null, and so is still air."""
    wind = coverage.wind
    return {
        "wind": wind and {"wind_m_s": wind.speed_m_s, "from_deg": wind.from_deg},
        "zones": [_zone_data(site, zone) for zone in coverage.zones],
    }


def _zone_data(site: Site, zone: ZoneCoverage) -> dict[str, object]:
    patch, shares = zone.patch, zone.band_shares.tolist()
    edges = [None, *(round(100 * edge) for edge in BANDS), None]
    return {
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
        "driest_patch": {
            "x_m": patch.x_m,
            "y_m": patch.y_m,
            "share": patch.share,
            "minutes_for_an_hour": patch.minutes_for_an_hour,
        },
        "bands": [
            {"from_percent": low, "to_percent": high, "share": share}
            for low, high, share in zip(edges[:-1], edges[1:], shares, strict=True)
        ],
    }
