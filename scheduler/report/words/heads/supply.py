"""The supply in words: each rule's figure, and the pressure left."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from scheduler.rates.curve import SupplyCurve, losses_at, pressure_left
from scheduler.rates.supply import (
    METER_FLOW_SHARE,
    METER_LOSS_SHARE,
    MOST_VELOCITY_M_S,
    SupplyFound,
    pipe_velocity,
)
from scheduler.report import shown
from scheduler.report.counting import listed
from scheduler.units import L_PER_GAL, M_PER_FT

TITLE = "Supply"
_RULES = {
    "bucket": "the bucket test",
    "meter-loss": f"meter loss of {100 * METER_LOSS_SHARE:.0f} % of static pressure",
    "meter-share": f"{100 * METER_FLOW_SHARE:.0f} % of the meter's most flow",
}
"""Rules for the design flow, by code, but for the one whose figure has a unit."""
FIND_OUT = (
    "To find out on site, the trade's way is to try it and look at the stream: run the "
    "largest zone; streams that fall short of the next head, heads that stay down or "
    "turn too slowly, and spray that goes limp when a tap is opened all say that the "
    "zone asks for more than the supply gives.",
    "Then measure: time how long the nearest tap, fully open, takes to fill a bucket "
    "(bucket_gal or bucket_l, bucket_s); screw a gauge on that tap with nothing "
    "running (static_pressure_*); put a gauge on the farthest head of a running zone "
    "(pressure_*); read the size on the meter (meter_in or meter_mm).",
)
_SHOWN_FLOW_L_MIN = {"us": 10 * L_PER_GAL, "metric": 40.0}
"""Flow at which losses are told where no design flow is known."""


def rule_text(code: str, units: str) -> str:
    """Rule for the design flow, in the reader's units."""
    if code == "pipe-velocity":
        return f"{_velocity(MOST_VELOCITY_M_S, units)} in the service pipe"
    return _RULES[code]


def design(found: SupplyFound, units: str) -> Iterator[str]:
    """The design flow, and each rule's figure."""
    flow = found.design_flow_l_min
    if flow is None:
        yield (
            "Design flow: not known. It was assumed that the supply gives what each "
            "zone asks for."
        )
        return
    amount = shown.quantity(flow, "flow", units)
    if found.design_rule == "given":
        beside = "; by what was measured:" if found.rules else ""
        yield f"Design flow: {amount}, as given{beside}"
    elif len(found.rules) == 1:
        yield f"Design flow: {amount}, by the only rule that can be applied:"
    else:
        yield f"Design flow: {amount}, the smallest of:"
    for rule in found.rules:
        by_rule = shown.quantity(rule.flow_l_min, "flow", units)
        rule_of = f"{rule_text(rule.code, units)}{_limit(found, rule.code, units)}"
        yield f"  {rule_of}: {by_rule}"


def _limit(found: SupplyFound, code: str, units: str) -> str:
    """What a rule's figure is taken from, in brackets."""
    measured = found.measured
    if code == "bucket":
        volume = shown.quantity(measured.bucket_l, "volume", units, 1)
        return f" ({volume} in {measured.bucket_s:g} s)"
    if code == "meter-loss" and measured.static_pressure_kpa is not None:
        most = METER_LOSS_SHARE * measured.static_pressure_kpa
        return f" ({shown.quantity(most, 'pressure', units, 1)})"
    if code == "meter-share" and measured.meter is not None:
        return f" ({shown.quantity(measured.meter.most_flow_l_min, 'flow', units)})"
    if code == "pipe-velocity" and measured.pipe_diameter_mm is not None:
        return f" ({_diameter(measured.pipe_diameter_mm, units)} inside)"
    return ""


def _diameter(diameter_mm: float, units: str) -> str:
    return shown.quantity(diameter_mm, "depth", units, 3 if units == "us" else 1)


def pressure(
    found: SupplyFound, curve: SupplyCurve | None, units: str
) -> Iterator[str]:
    """The pressure at the heads, and what is lost before them."""

    def amount(value_kpa: float | None) -> str:
        return shown.quantity(value_kpa, "pressure", units, 1)

    measured = found.measured
    static = measured.static_pressure_kpa
    if measured.pressure_kpa is not None:
        beside = f"; static {amount(static)}" if static is not None else ""
        given = amount(measured.pressure_kpa)
        yield f"Pressure at the heads: {given}, as given{beside}."
    elif curve is not None and curve.most_kpa <= 0:
        yield (
            "Pressure at the heads: none is left even before water flows: static "
            f"{amount(static)}."
        )
    elif curve is not None:
        yield from _curve(found, curve, units)
    elif static is None:
        yield "Pressure at the heads: not known. Flows are those of the nozzle charts."
    else:
        yield (
            f"Pressure at the heads: not known. Static pressure {amount(static)} says "
            "little without a running reading, or the loss in the meter or the service "
            "pipe. Flows are those of the nozzle charts."
        )


def _curve(found: SupplyFound, curve: SupplyCurve, units: str) -> Iterator[str]:
    """The supply's curve in a few words: what is lost on the way, and what is left."""

    def amount(value_kpa: float | np.ndarray) -> str:
        return shown.quantity(float(value_kpa), "pressure", units, 1)

    flow = found.design_flow_l_min or _SHOWN_FLOW_L_MIN[units]
    lost = losses_at(curve, flow)
    texts = []
    if curve.source == "reading":
        read = amount(curve.static_kpa - curve.reading_kpa)
        ran = shown.quantity(curve.reading_l_min, "flow", units)
        texts.append(f"by the reading of {read} at {ran} {amount(lost.reading_kpa)}")
    if curve.meter is not None:
        texts.append(f"the meter {amount(lost.meter_kpa)}")
    if curve.pipe_loss_kpa and found.measured.pipe_diameter_mm is not None:
        velocity = float(pipe_velocity(flow, found.measured.pipe_diameter_mm))
        texts.append(
            f"the service pipe {amount(lost.pipe_kpa)} ({_velocity(velocity, units)})"
        )
    if curve.backflow is not None:
        texts.append(f"the backflow device {amount(lost.backflow_kpa)}")
    if lost.other_kpa:
        given = found.measured.other_loss_kpa is not None
        texts.append(
            f"valves and fittings {amount(lost.other_kpa)}"
            f"{'' if given else ' (an allowance)'}"
        )
    if curve.rise_kpa > 0:
        texts.append(f"the rise {amount(curve.rise_kpa)}")
    left = float(pressure_left(curve, flow))
    result = f"leaves {amount(left)}" if left > 0 else "leaves nothing"
    falls = f"; the fall to the heads gives {amount(-curve.rise_kpa)}"
    yield (
        "Pressure at the heads: each zone's own, where its heads take what the supply "
        f"gives. Of {amount(curve.static_kpa)} static, "
        f"{shown.quantity(flow, 'flow', units)} lose: {', '.join(texts)}"
        f"{falls if curve.rise_kpa < 0 else ''}. That {result}."
    )
    missing = [
        name
        for name, known in (
            ("meter", curve.meter is not None),
            ("service pipe", curve.pipe_loss_kpa > 0),
            ("backflow device", curve.backflow is not None),
        )
        if not known and (curve.source == "static" or name == "backflow device")
    ]
    if missing:
        yield (
            f"Not known and not counted: {listed(missing)}. Lines to the heads take "
            "more: a gauge on a running head (pressure_* of zones.csv) beats all this."
        )


def _velocity(velocity_m_s: float, units: str) -> str:
    fast = ", fast" if velocity_m_s > MOST_VELOCITY_M_S * (1 + 1e-9) else ""
    if units == "us":
        return f"{velocity_m_s / M_PER_FT:.1f} ft/s{fast}"
    return f"{velocity_m_s:.1f} m/s{fast}"
