"""The month-by-month watering table: blocks, and data for programs."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from scheduler.budget.parts import rate_of_part
from scheduler.calendar import PARITIES, weekday_names
from scheduler.findings.plants import plant_l_week
from scheduler.plan.site import SitePlan
from scheduler.plan.table import first_dates
from scheduler.report.blocks import Block, Heading, Paragraph, sections
from scheduler.report.views import months
from scheduler.report.views.heads.field import standing
from scheduler.report.views.plantings.table import planting_data, planting_steps
from scheduler.report.words import plantings as young
from scheduler.report.words import sentences
from scheduler.report.words import table as words
from scheduler.report.words.climate import method_words
from scheduler.report.words.sentences import as_data


def blocks(plan: SitePlan, units: str, only: int | None = None) -> list[Block]:
    """Overview, a block a zone, assumptions, cautions; of one zone without overview."""
    parts: list[Block] = [
        Heading(
            words.title(plan.site.name),
            1,
            [words.facts(plan, units), standing(plan), *words.off_chart(plan)],
        )
    ]
    if only is None:
        parts += [Heading(words.MINUTES_A_WEEK, 3), months.overview(plan)]
    for row in _rows(plan, only):
        facts = words.zone_facts(plan, row, units)
        parts.append(Heading(words.zone_title(plan, row), 3, facts))
        parts += _planting(plan, row, units)
        parts.append(months.zone_months(plan, row))
        told = [
            *words.per_plant(plan, row, units),
            *words.fillings(plan, row),
            *words.shared_valve(plan, row),
        ]
        parts += [Paragraph([line]) for line in told]
    worth = [c for c in plan.cautions if c.code not in sentences.ONLY_TOLD]
    told = sentences.assumptions(plan.cautions, len(plan.site.zones), units)
    parts += sections(
        [
            (sentences.ASSUMED, told),
            (sentences.CAUTIONS, sentences.grouped(worth, units)),
        ]
    )
    return [*parts, *map(Paragraph, sentences.closing(worth))]


def _planting(plan: SitePlan, row: int, units: str) -> Iterator[Block]:
    """Steps of a zone that was planted lately, before the months that they lead to."""
    for planting in plan.plantings:
        if planting.zone == row:
            yield Paragraph([young.lead(planting)])
            if planting.steps:
                yield planting_steps(planting)
            yield Paragraph(list(young.notes(plan, planting, units)))


def _rows(plan: SitePlan, only: int | None) -> list[int]:
    """Rows of the zones that are shown: all, or only one."""
    return list(range(len(plan.site.zones))) if only is None else [only]


def to_data(
    plan: SitePlan, units: str, year: int | None = None, only: int | None = None
) -> dict[str, Any]:
    """The watering table for programs, of one zone only where a row is given.

    With a year, intervals begin on its dates.
    """
    site, climate = plan.site, plan.months
    first = {}
    if year is not None and plan.settings is not None:
        first = first_dates(plan.plan.schedule, year)
    return {
        "site": {
            "name": site.name,
            "latitude": site.latitude,
            "longitude": site.longitude,
            "elevation_m": site.elevation_m,
            "units": units,
        },
        "climate": {
            "source": climate.source,
            "et0_method": method_words(climate.method),
            "months": [
                {
                    "month": month + 1,
                    "et0_mm_day": climate.et0_mm_day[month],
                    "rain_mm": climate.rain_mm[month],
                    "tmin_c": climate.tmin_c[month],
                    "frost": climate.frost[month],
                }
                for month in range(12)
            ],
        },
        "zones": [_zone(plan, row, first) for row in _rows(plan, only)],
        "cautions": as_data(plan.cautions, units),
    }


_FirstDates = Mapping[tuple[int, int], datetime.date]


def _zone(plan: SitePlan, row: int, first: _FirstDates) -> dict[str, Any]:
    zones, rates = plan.site.zones, plan.rates
    return {
        "zone": zones.zone[row],
        "station": zones.station[row],
        "name": zones.name[row],
        "rate_mm_h": rates.rate_mm_h[row],
        "peak_rate_mm_h": rates.peak_rate_mm_h[row],
        "uniformity": rates.uniformity[row],
        "uniformity_source": rates.uniformity_source[row],
        "run_time_multiplier": rates.run_time_multiplier[row],
        "allowed_depletion_mm": plan.stands_on.roots.allowed_depletion_mm[
            plan.leads[row]
        ],
        "intake_mm_h": plan.site.soils.intake_mm_h[
            plan.stands_on.rows.soil[plan.parts(row)]
        ].min(),
        "longest_cycle_min": plan.plan.longest_cycle_min[row],
        "flow_l_min": rates.flow_l_min[row],
        "area_m2": rates.area_m2[row],
        "months": [_month(plan, row, month, first) for month in range(12)],
        **_parts(plan, row),
        **_planting_data(plan, row),
    }


def _planting_data(plan: SitePlan, row: int) -> dict[str, Any]:
    """A zone's new planting, where it has one."""
    new = [planting_data(p) for p in plan.plantings if p.zone == row]
    return {"planting": new[0]} if new else {}


def _parts(plan: SitePlan, row: int) -> dict[str, Any]:
    """The parts of a zone that has several."""
    parts, stands_on, ground = plan.parts(row), plan.stands_on, plan.inputs.ground
    if len(parts) == 1:
        return {}
    return {
        "parts": [
            {
                "part": stands_on.name[part],
                "share": ground.share[part],
                "rate_mm_h": rate_of_part(plan, part),
                "allowed_depletion_mm": stands_on.roots.allowed_depletion_mm[part],
                "intake_mm_h": ground.intake_mm_h[part],
                "months": [
                    {
                        "month": month + 1,
                        "decides": bool(plan.by_part.decides[part, month]),
                        "plant_coefficient": stands_on.plant_coefficient[part, month],
                        "plant_need_mm": plan.by_part.plant_need_mm[part, month],
                        "dry_days_percent": 100 * plan.by_part.dry_share[part, month],
                    }
                    for month in range(12)
                ],
            }
            for part in parts.tolist()
        ]
    }


def _month(plan: SitePlan, row: int, month: int, first: _FirstDates) -> dict[str, Any]:
    p, schedule = plan.plan, plan.plan.schedule
    cell = row, month
    by_days = plan.settings is not None
    begins = {}
    if by_days and schedule.every_days[cell]:
        begins = {"first_date": first[cell].isoformat() if cell in first else None}
    return {
        "month": month + 1,
        "plant_coefficient": plan.plant_coefficient[cell],
        "landscape_coefficient": plan.ground.landscape_coefficient[cell],
        "plant_need_mm": p.plant_need_mm[cell],
        "effective_rain_mm": p.effective_rain_mm[cell],
        "net_need_mm": p.net_need_mm[cell],
        "gross_need_mm": p.gross_need_mm[cell],
        "carried_in_mm": None if by_days else p.carried_in_mm[cell],
        "gap_limit_days": None if by_days else p.gap_limit_days[cell],
        "days": weekday_names(int(schedule.told_weekdays[cell])),
        "parity": PARITIES[int(schedule.parity[cell])] or None,
        "days_per_week": schedule.days_per_week[cell],
        "every_days": int(schedule.every_days[cell]) or None,
        "minutes_per_day": schedule.minutes_per_day[cell],
        "cycles": schedule.cycles[cell],
        "cycle_minutes": schedule.cycle_min[cell],
        "soak_minutes": schedule.soak_min[cell],
        "minutes_per_week": schedule.minutes_per_week[cell],
        "applied_mm": p.applied_mm[cell],
        "unmet_mm": None if by_days else p.unmet_mm[cell],
        "volume_l": p.volume_l[cell],
        "dry_days_percent": 100 * p.dry_share[cell],
        "fill_minutes": p.fill_min[cell] * p.fill_days[cell],
        "fill_days": int(p.fill_days[cell]),
        **begins,
        **_per_plant(plan, cell),
    }


def _per_plant(plan: SitePlan, cell: tuple[int, int]) -> dict[str, Any]:
    """Water of a plant in a week, where the zone's plants are counted."""
    if np.isnan(plan.site.zones.plants[cell[0]]):
        return {}
    return {"plant_l_week": plant_l_week(plan, cell[0])[cell[1]]}
