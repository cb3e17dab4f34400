"""The controller card: text to key in from, markdown, CSV, JSON and a calendar."""

from __future__ import annotations

from typing import Any

from scheduler.plan.card import Card, Program
from scheduler.plan.days import weekday_names
from scheduler.plan.sites import SitePlan
from scheduler.plan.windows import clock_text


def to_data(plan: SitePlan, card: Card) -> dict[str, Any]:
    """The card for programs."""
    return {
        "visits": [
            {
                "months": list(visit.months),
                "programs": [_program_data(plan, p) for p in visit.programs],
            }
            for visit in card.visits
        ],
        "extra_water_percent": card.extra_water_percent,
        "worst_shortfall_percent": card.worst_shortfall_percent,
        "bound_extra_percent": card.bound_extra_percent,
    }


def _program_data(plan: SitePlan, program: Program) -> dict[str, Any]:
    pattern = program.pattern
    first = program.first_date
    zones = []
    for row, base, cycle, soak in zip(
        program.zones,
        program.base_min,
        program.cycle_min,
        program.soak_min,
        strict=True,
    ):
        zone: dict[str, Any] = {
            "zone": plan.site.zones.zone[row],
            "base_minutes": base,
        }
        if plan.site.controller.soak_built_in:
            zone |= {"cycle_minutes": cycle or None, "soak_minutes": soak or None}
        zones.append(zone)
    return {
        "program": program.name,
        "days": list(weekday_names(pattern.weekdays)),
        "parity": pattern.parity or None,
        "every_days": pattern.every_days or None,
        "first_date": first.isoformat() if first else None,
        "starts": [clock_text(start) for start in program.starts_min],
        "zones": zones,
        "month_percent": {str(m): p for m, p in program.percent.items()},
    }
