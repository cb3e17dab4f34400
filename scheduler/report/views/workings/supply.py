"""The working of a zone's operating point: what the supply loses at its flow."""

from __future__ import annotations

from scheduler.plan.site import SitePlan
from scheduler.rates import supply
from scheduler.rates.curve import (
    BACKFLOW_LOSS,
    CURVE_PRESSURE,
    OTHER_LOSS,
    READING_LOSS,
    READING_PRESSURE,
    Losses,
    SupplyCurve,
    losses_at,
)
from scheduler.report.views.workings.steps import Working
from scheduler.report.words import workings as words


def supply_steps(w: Working, plan: SitePlan, row: int) -> None:
    """Pressure at a zone's heads, where it is worked out from the supply's curve."""
    curve, source = plan.points.curve, plan.points.source[row]
    if curve is None or source not in ("curve", "bucket"):
        return
    w.section = words.SUPPLY
    bucket = [rule for rule in plan.supply.rules if rule.code == "bucket"]
    # A bucket test is a wall; without it the rules say what the design flow may be.
    for rule in bucket or plan.supply.rules:
        _supply_rule(w, plan, rule)
    if source == "bucket":
        return
    w.section = words.OPERATING_POINT
    pressure = float(plan.points.pressure_kpa[row])
    flow = float(plan.rates.flow_l_min[row])
    w.given("flow", flow, words.FOUND_BY_TRIAL)
    w.given("static_pressure", curve.static_kpa, words.SUPPLY_KEYS)
    lost = losses_at(curve, flow)
    if curve.source == "reading":
        running = curve.static_kpa - curve.reading_kpa
        w.given("running_pressure", running, words.SUPPLY_KEYS)
        w.given("running_flow", curve.reading_l_min, words.SUPPLY_KEYS)
        w.line(READING_LOSS, float(lost.reading_kpa))
    else:
        _meter_and_pipe(w, plan, curve, lost)
    _backflow(w, curve, lost)
    if curve.fittings_share:
        w.line(OTHER_LOSS, float(lost.other_kpa))
    else:
        w.given("other_loss", curve.other_loss_kpa, words.SUPPLY_KEYS)
    w.given("rise", plan.site.supply.rise_to_heads_m or 0.0, words.SUPPLY_KEYS)
    w.line(supply.RISE_LOSS, curve.rise_kpa)
    by_reading = curve.source == "reading"
    w.line(READING_PRESSURE if by_reading else CURVE_PRESSURE, pressure)


def _meter_and_pipe(
    w: Working, plan: SitePlan, curve: SupplyCurve, lost: Losses
) -> None:
    measured = plan.site.supply
    if curve.meter is None:
        w.given("meter_loss", 0.0, words.NOT_KNOWN)
    else:
        told_by = words.origin(curve.meter.source, curve.meter.status)
        w.given("meter_loss", float(lost.meter_kpa), words.TABLE_OF_METERS, told_by)
    pipe = measured.pipe
    if pipe is None or not curve.pipe_loss_kpa:
        w.given("pipe_loss", 0.0, words.NOT_KNOWN)
        return
    told_by = words.origin(pipe.source, pipe.status)
    w.given("pipe_coefficient", pipe.coefficient, words.table_of_pipes(pipe.name),
            told_by)  # fmt: skip
    w.given("pipe_diameter", measured.pipe_diameter_mm or 0.0, words.SUPPLY_KEYS)
    w.given("pipe_length", measured.pipe_length_m or 0.0, words.SUPPLY_KEYS)
    w.line(supply.PIPE_LOSS, float(lost.pipe_kpa))


def _backflow(w: Working, curve: SupplyCurve, lost: Losses) -> None:
    device = curve.backflow
    if device is None:
        w.given("backflow_loss", 0.0, words.NOT_KNOWN)
        return
    whose = words.table_of_devices(device.name)
    told_by = words.origin(device.source, device.status)
    w.given("device_loss_10", device.loss_at_10_gpm_kpa, whose, told_by)
    w.given("device_loss_20", device.loss_at_20_gpm_kpa, whose, told_by)
    w.line(BACKFLOW_LOSS, float(lost.backflow_kpa))


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
