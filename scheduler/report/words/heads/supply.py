"""The supply in words: each rule's figure, and the pressure left."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.rates.supply import (
    METER_FLOW_SHARE,
    METER_LOSS_SHARE,
    MOST_VELOCITY_M_S,
    SupplyFound,
)
from scheduler.report import shown
from scheduler.units import M_PER_FT

TITLE = "Supply"
RULES = {
    "bucket": "the bucket test",
    "meter-loss": f"meter loss of {100 * METER_LOSS_SHARE:.0f} % of static pressure",
    "meter-share": f"{100 * METER_FLOW_SHARE:.0f} % of the meter's most flow",
    "pipe-velocity": "5 ft/s (1.5 m/s) in the service pipe",
}
"""Rules for the design flow, by code."""
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
        yield f"  {RULES[rule.code]}{_limit(found, rule.code, units)}: {by_rule}"


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


def pressure(found: SupplyFound, units: str) -> Iterator[str]:
    """The pressure at the heads, and what is lost before them."""

    def amount(value_kpa: float | None) -> str:
        return shown.quantity(value_kpa, "pressure", units, 1)

    measured = found.measured
    known = _losses(found, units)
    if found.pressure_source == "static":
        lost = ", ".join(known)
        missing = [name for name, value in (("meter", found.meter_loss_kpa),
                                            ("service pipe", found.pipe_loss_kpa))
                   if value is None]  # fmt: skip
        left_out = f" The {missing[0]} is not known and not counted." if missing else ""
        yield (
            f"Pressure at the heads: {amount(found.pressure_kpa)} at the design flow: "
            f"static {amount(measured.static_pressure_kpa)}, {lost}.{left_out} Valves, "
            "backflow device and the lines to the heads take more: put a gauge on a "
            "running head."
        )
    elif found.pressure_source == "given":
        text = f"Pressure at the heads: {amount(found.pressure_kpa)}, as given"
        static = measured.static_pressure_kpa
        beside = f"; static {amount(static)}" if static is not None else ""
        beside += f"; at the design flow {', '.join(known)}" if known else ""
        yield f"{text}{beside}."
    elif any(caution.code == "no-pressure-left" for caution in found.cautions):
        yield (
            "Pressure at the heads: none is left at the design flow: static "
            f"{amount(measured.static_pressure_kpa)}, {', '.join(known)}."
        )
    elif measured.static_pressure_kpa is None:
        yield "Pressure at the heads: not known. Flows are those of the nozzle charts."
    else:
        yield (
            "Pressure at the heads: not known. Static pressure "
            f"{amount(measured.static_pressure_kpa)} says little without a design flow "
            "and the loss in the meter or the service pipe. Flows are those of the "
            "nozzle charts."
        )


def _losses(found: SupplyFound, units: str) -> list[str]:
    """Losses at the design flow that are known, each in a few words."""

    def amount(value_kpa: float) -> str:
        return shown.quantity(value_kpa, "pressure", units, 1)

    texts = []
    if found.meter_loss_kpa is not None:
        texts.append(f"the meter takes {amount(found.meter_loss_kpa)}")
    if found.pipe_loss_kpa is not None:
        texts.append(
            f"the service pipe {amount(found.pipe_loss_kpa)} "
            f"({_velocity(found.pipe_velocity_m_s, units)})"
        )
    if found.rise_loss_kpa > 0:
        texts.append(f"the rise {amount(found.rise_loss_kpa)}")
    elif found.rise_loss_kpa < 0:
        texts.append(f"the fall to the heads gives {amount(-found.rise_loss_kpa)}")
    return texts


def _velocity(velocity_m_s: float | None, units: str) -> str:
    if velocity_m_s is None:
        return ""
    fast = ", fast" if velocity_m_s > MOST_VELOCITY_M_S * (1 + 1e-9) else ""
    if units == "us":
        return f"{velocity_m_s / M_PER_FT:.1f} ft/s{fast}"
    return f"{velocity_m_s:.1f} m/s{fast}"
