"""The supply in paragraphs, and for programs."""

from __future__ import annotations

from typing import Any

from scheduler.rates.supply import SupplyFound
from scheduler.report.words.heads import supply as words


def lines(found: SupplyFound, units: str) -> list[str]:
    """Paragraphs on the supply, for `check` and `rates`."""
    known = found.design_flow_l_min is not None and found.pressure_kpa is not None
    to_do = () if known else words.FIND_OUT
    return [*words.design(found, units), *words.pressure(found, units), *to_do]


def to_data(found: SupplyFound) -> dict[str, Any]:
    """The supply for programs, under the key `supply`."""
    measured = found.measured
    return {
        "design_flow_l_min": found.design_flow_l_min,
        "design_flow_rule": found.design_rule or None,
        "rules": [
            {"rule": rule.code, "flow_l_min": rule.flow_l_min} for rule in found.rules
        ],
        "pressure_kpa": found.pressure_kpa,
        "pressure_source": found.pressure_source or None,
        "static_pressure_kpa": measured.static_pressure_kpa,
        "meter_loss_kpa": found.meter_loss_kpa,
        "pipe_loss_kpa": found.pipe_loss_kpa,
        "pipe_velocity_m_s": found.pipe_velocity_m_s,
        "rise_loss_kpa": found.rise_loss_kpa,
    }
