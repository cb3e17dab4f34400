"""The supply in paragraphs, and for programs."""

from __future__ import annotations

from typing import Any

from scheduler.rates.curve import SupplyCurve, pressure_left
from scheduler.rates.supply import SupplyFound
from scheduler.report.words.heads import supply as words


def lines(found: SupplyFound, curve: SupplyCurve | None, units: str) -> list[str]:
    """Paragraphs on the supply, for `check` and `rates`."""
    pressure_known = found.measured.pressure_kpa is not None or curve is not None
    known = found.design_flow_l_min is not None and pressure_known
    to_do = () if known else words.FIND_OUT
    return [*words.design(found, units), *words.pressure(found, curve, units), *to_do]


def to_data(found: SupplyFound, curve: SupplyCurve | None) -> dict[str, Any]:
    """The supply for programs, under the key `supply`; pressure at the design flow."""
    measured = found.measured
    pressure, source = measured.pressure_kpa, "given"
    if pressure is None:
        source = "" if curve is None else curve.source
        if curve is not None and found.design_flow_l_min is not None:
            pressure = float(pressure_left(curve, found.design_flow_l_min))
    return {
        "design_flow_l_min": found.design_flow_l_min,
        "design_flow_rule": found.design_rule or None,
        "rules": [
            {"rule": rule.code, "flow_l_min": rule.flow_l_min} for rule in found.rules
        ],
        "pressure_kpa": pressure,
        "pressure_source": source or None,
        "static_pressure_kpa": measured.static_pressure_kpa,
        "meter_loss_kpa": found.meter_loss_kpa,
        "pipe_loss_kpa": found.pipe_loss_kpa,
        "pipe_velocity_m_s": found.pipe_velocity_m_s,
        "rise_loss_kpa": found.rise_loss_kpa,
    }
