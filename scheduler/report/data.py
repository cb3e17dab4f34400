"""Reports for programs: JSON in SI, and CSV."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from scheduler.calendar import PARITIES, weekday_names
from scheduler.errors import Caution
from scheduler.plan.site import SitePlan
from scheduler.report.frames import Table
from scheduler.report.text import rate_cautions
from scheduler.report.words.climate import method_words
from scheduler.report.words.sentences import sentence

if TYPE_CHECKING:
    from scheduler.findings.check import Finding

FORMAT = 1

_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?", re.ASCII)


def to_csv(table: Table, units: str) -> str:
    """Table as CSV, units in the headers."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow([column.header(units) for column in table.columns])
    columns = [map(_cell, column.data(units)) for column in table.columns]
    writer.writerows(zip(*columns, strict=True))
    return stream.getvalue()


def _cell(value: Any) -> Any:
    """Value for a spreadsheet, which must not take text for a formula.

    Text that begins as a formula would gets an apostrophe in front; numbers, and text
    that is one, stay.
    """
    if not isinstance(value, str) or not value.startswith(_FORMULA_STARTS):
        return value
    return value if _NUMBER.fullmatch(value) else f"'{value}"


def to_json(content: dict[str, Any]) -> str:
    """JSON text with the format number first; NaN becomes null."""
    text = json.dumps(
        {"format": FORMAT, **_plain(content)}, indent=1, ensure_ascii=False,
        allow_nan=False,
    )  # fmt: skip
    return text + "\n"


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple, np.ndarray)):
        return [_plain(item) for item in value]
    if isinstance(value, (bool, np.bool_)):
        return bool(value)
    if isinstance(value, (int, np.integer)):
        return int(value)
    if isinstance(value, (float, np.floating)):
        return float(value) if np.isfinite(value) else None
    return value


def cautions(items: Sequence[Caution], units: str) -> list[dict[str, Any]]:
    """Cautions with their text in the reader's units."""
    return [
        {
            "code": caution.code,
            "zone": caution.zone,
            "month": caution.month,
            "text": sentence(caution, units),
        }
        for caution in items
    ]


def watering_table(plan: SitePlan, units: str) -> dict[str, Any]:
    """The watering table for programs."""
    site, months = plan.site, plan.months
    return {
        "site": {
            "name": site.name,
            "latitude": site.latitude,
            "longitude": site.longitude,
            "elevation_m": site.elevation_m,
            "units": units,
        },
        "climate": {
            "source": months.source,
            "et0_method": method_words(months.method),
            "months": [
                {
                    "month": month + 1,
                    "et0_mm_day": months.et0_mm_day[month],
                    "rain_mm": months.rain_mm[month],
                    "tmin_c": months.tmin_c[month],
                    "frost": months.frost[month],
                }
                for month in range(12)
            ],
        },
        "zones": [_zone(plan, row) for row in range(len(site.zones))],
        "cautions": cautions(plan.cautions, units),
    }


def _zone(plan: SitePlan, row: int) -> dict[str, Any]:
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
        "allowed_depletion_mm": plan.roots.allowed_depletion_mm[row],
        "intake_mm_h": plan.inputs.ground.intake_mm_h[row],
        "longest_cycle_min": plan.plan.longest_cycle_min[row],
        "flow_l_min": rates.flow_l_min[row],
        "area_m2": rates.area_m2[row],
        "months": [_month(plan, row, month) for month in range(12)],
    }


def _month(plan: SitePlan, row: int, month: int) -> dict[str, Any]:
    p, schedule = plan.plan, plan.plan.schedule
    cell = row, month
    return {
        "month": month + 1,
        "plant_coefficient": plan.plant_coefficient[cell],
        "landscape_coefficient": plan.inputs.ground.landscape_coefficient[cell],
        "plant_need_mm": p.plant_need_mm[cell],
        "effective_rain_mm": p.effective_rain_mm[cell],
        "net_need_mm": p.net_need_mm[cell],
        "gross_need_mm": p.gross_need_mm[cell],
        "carried_in_mm": p.carried_in_mm[cell],
        "gap_limit_days": p.gap_limit_days[cell],
        "days": weekday_names(int(schedule.weekdays[cell])),
        "parity": PARITIES[int(schedule.parity[cell])] or None,
        "days_per_week": schedule.days_per_week[cell],
        "every_days": int(schedule.every_days[cell]) or None,
        "minutes_per_day": schedule.minutes_per_day[cell],
        "cycles": schedule.cycles[cell],
        "cycle_minutes": schedule.cycle_min[cell],
        "soak_minutes": schedule.soak_min[cell],
        "minutes_per_week": schedule.minutes_per_week[cell],
        "applied_mm": p.applied_mm[cell],
        "unmet_mm": p.unmet_mm[cell],
        "volume_l": p.volume_l[cell],
    }


def rates(plan: SitePlan, units: str) -> dict[str, Any]:
    """Precipitation rates for programs."""
    site, zone_rates = plan.site, plan.rates
    heads, head = site.heads, plan.rates.heads
    return {
        "zones": [
            {
                "zone": zone,
                "rate_mm_h": zone_rates.rate_mm_h[row],
                "peak_rate_mm_h": zone_rates.peak_rate_mm_h[row],
                "flow_l_min": zone_rates.flow_l_min[row],
                "area_m2": zone_rates.area_m2[row],
                "uniformity": zone_rates.uniformity[row],
                "uniformity_source": zone_rates.uniformity_source[row],
                "heads": [
                    {
                        "head": heads.head[i],
                        "count": int(heads.count[i]),
                        "rate_mm_h": head.rate_mm_h[i],
                        "share_of_mean": head.share_of_mean[i],
                    }
                    for i in np.flatnonzero(heads.zone == row).tolist()
                ],
            }
            for row, zone in enumerate(site.zones.zone)
        ],
        "cautions": cautions(rate_cautions(plan), units),
    }


def findings(found: Sequence[Finding], units: str) -> dict[str, Any]:
    """Findings of `check` for programs, worst first."""
    return {
        "findings": [
            {
                "code": finding.caution.code,
                "zone": finding.caution.zone,
                "month": finding.caution.month,
                "costs_l_year": finding.costs_l_year,
                "costs_min_week": finding.costs_min_week,
                "text": sentence(finding.caution, units),
            }
            for finding in found
        ]
    }


def findings_table(found: Sequence[Finding], units: str) -> Table:
    """Findings as a table, for CSV and markdown."""
    from scheduler.report.frames import Column

    return Table(
        (
            Column("code", "code", [f.caution.code for f in found]),
            Column("zone", "zone", [f.caution.zone or "" for f in found]),
            Column("month", "month", [f.caution.month or "" for f in found]),
            Column("costs_year", "costs a year", [f.costs_l_year for f in found],
                   "volume"),
            Column("costs_min_week", "min a week", [f.costs_min_week for f in found],
                   text="{:.0f}".format),
            Column("text", "finding", [sentence(f.caution, units) for f in found]),
        )
    )  # fmt: skip
