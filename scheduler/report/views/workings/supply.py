"""The working of the pressure at the heads, from the static pressure."""

from __future__ import annotations

from scheduler.plan.site import SitePlan
from scheduler.rates import supply
from scheduler.report.views.workings.steps import Working
from scheduler.report.words import workings as words


def supply_steps(w: Working, plan: SitePlan) -> None:
    """Pressure at the heads, where it is worked out from the static pressure."""
    found, measured = plan.supply, plan.supply.measured
    static = measured.static_pressure_kpa
    if found.pressure_source != "static" or static is None:
        return
    w.section = words.SUPPLY
    for rule in found.rules:
        _supply_rule(w, plan, rule)
    if found.design_rule == "given":
        w.given("design_flow", found.design_flow_l_min or 0.0, words.SUPPLY_KEYS)
    else:
        w.given("design_flow", found.design_flow_l_min or 0.0, words.SMALLEST)
    w.given("static_pressure", static, words.SUPPLY_KEYS)
    if measured.meter is None or found.meter_loss_kpa is None:
        w.given("meter_loss", 0.0, words.NOT_KNOWN)
    else:
        told_by = words.origin(measured.meter.source, measured.meter.status)
        w.given("meter_loss", found.meter_loss_kpa, words.TABLE_OF_METERS, told_by)
    pipe, diameter, length = (
        measured.pipe,
        measured.pipe_diameter_mm,
        measured.pipe_length_m,
    )
    if pipe is None or diameter is None or length is None:
        w.given("pipe_loss", 0.0, words.NOT_KNOWN)
    else:
        told_by = words.origin(pipe.source, pipe.status)
        w.given(
            "pipe_coefficient",
            pipe.coefficient,
            words.table_of_pipes(pipe.name),
            told_by,
        )
        w.given("pipe_diameter", diameter, words.SUPPLY_KEYS)
        w.given("pipe_length", length, words.SUPPLY_KEYS)
        w.line(supply.PIPE_LOSS, found.pipe_loss_kpa)
    w.given("rise", measured.rise_to_heads_m or 0.0, words.SUPPLY_KEYS)
    w.line(supply.RISE_LOSS, found.rise_loss_kpa)
    w.line(supply.HEAD_PRESSURE, found.pressure_kpa)


def _supply_rule(w: Working, plan: SitePlan, rule: supply.SupplyRule) -> None:
    measured = plan.supply.measured
    if rule.code == "bucket":
        w.given("bucket", measured.bucket_l or 0.0, words.SUPPLY_KEYS)
        w.given("bucket_seconds", measured.bucket_s or 0.0, words.SUPPLY_KEYS)
        w.line(supply.BUCKET_FLOW, rule.flow_l_min)
    elif rule.code == "meter-share" and measured.meter is not None:
        meter = measured.meter
        w.given("meter_most_flow", meter.most_flow_l_min, words.TABLE_OF_METERS,
                words.origin(meter.source, meter.status))  # fmt: skip
        w.line(supply.METER_FLOW, rule.flow_l_min)
    elif rule.code == "pipe-velocity":
        w.given("pipe_diameter", measured.pipe_diameter_mm or 0.0, words.SUPPLY_KEYS)
        w.line(supply.PIPE_FLOW, rule.flow_l_min)
    elif rule.code == "meter-loss":
        w.given(
            "meter_flow",
            rule.flow_l_min,
            words.METER_TENTH,
        )
