"""The supply's curve: how much pressure it leaves at the heads at any flow."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler import units
from scheduler.domain import numbers_from, numbers_over
from scheduler.inputs.library import BackflowDevice, Meter
from scheduler.inputs.site import Supply
from scheduler.lines import COMMON_PRACTICE, Line
from scheduler.rates.supply import (
    PIPE_EXPONENT,
    hazen_williams_loss,
    meter_loss,
    rise_loss,
)

VALVE_LOSS_KPA = 3 * units.KPA_PER_PSI
"""Allowance for a zone's valve, 2 to 5 psi (from memory)."""
FITTINGS_SHARE = 0.1
"""Allowance for fittings, as a share of the pipe's loss (from memory)."""
READING_EXPONENT = 1.85
"""Loss between two readings of a gauge over flow (common practice)."""
_TEN_GPM = 10 * units.L_PER_GAL

READING_LOSS = Line(
    "reading_loss",
    "(static_pressure - running_pressure) * (flow / running_flow) ** 1.85",
    COMMON_PRACTICE,
)
BACKFLOW_LOSS = Line(
    "backflow_loss",
    "device_loss_10 + (device_loss_20 - device_loss_10) * (flow ** 2 - 1432.9) "
    "/ 4298.8",
    COMMON_PRACTICE,
    "device_loss_10 + (device_loss_20 - device_loss_10) * (flow ** 2 - 100) / 300",
)
OTHER_LOSS = Line("other_loss", "20.684 + 0.1 * pipe_loss", COMMON_PRACTICE,
                  "3 + 0.1 * pipe_loss")  # fmt: skip
CURVE_PRESSURE = Line(
    "pressure",
    "static_pressure - meter_loss - pipe_loss - backflow_loss - other_loss - rise_loss",
    "definition of what is lost on the way",
)
READING_PRESSURE = Line(
    "pressure",
    "static_pressure - reading_loss - backflow_loss - other_loss - rise_loss",
    "definition of what is lost on the way",
)


@dataclass(frozen=True, slots=True, eq=False)
class SupplyCurve:
    """What the supply loses on the way to the heads.

    `source` is "static", by meter, pipe and device, or "reading", by a gauge while
    some water ran. `other_loss_kpa` does not grow with the flow; `fittings_share` is
    of the pipe's loss, and `pipe_loss_kpa` that loss at a flow of 1 L/min;
    `reading_kpa` is the drop at `reading_l_min`.
    """

    source: str
    static_kpa: float
    rise_kpa: float
    other_loss_kpa: float
    meter: Meter | None = None
    backflow: BackflowDevice | None = None
    pipe_loss_kpa: float = 0.0
    fittings_share: float = 0.0
    reading_kpa: float = 0.0
    reading_l_min: float = 1.0

    @property
    def most_kpa(self) -> float:
        """Pressure at the heads with hardly any flow; none is left under 0."""
        return float(pressure_left(self, 0.0))


def loss_by_reading(
    flow_l_min: ArrayLike, drop_kpa: ArrayLike, running_flow_l_min: ArrayLike
) -> NDArray[np.float64]:
    """Pressure that a supply loses, from one reading of its gauge while water ran.

    Parameters
    ----------
    flow_l_min : array_like
        Flow. [L/min]
    drop_kpa : array_like
        Static pressure less the running pressure that was read. [kPa]
    running_flow_l_min : array_like
        Flow while it was read. [L/min]

    Returns
    -------
    ndarray
        Loss; NaN where any argument is NaN. [kPa]

    Raises
    ------
    ValueError
        If a flow or a drop is negative, or the flow of the reading is not over 0.

    Notes
    -----
    ΔP = drop · (Q / Q_reading)^1.85. Meters and devices lose by other powers of the
    flow; near the reading that matters little, far beyond it more.

    References
    ----------
    common practice.

    Examples
    --------
    60 psi (414 kPa) static, 45 psi (310 kPa) while 8 gpm (30.3 L/min) run; at 40 psi
    that supply gives 9.34 gpm (35.4 L/min), a loss of 20 psi:

    >>> print(f"{loss_by_reading(35.36, 103.4, 30.28):.0f} kPa")
    138 kPa
    """
    flow = numbers_from("flow_l_min", flow_l_min, 0)
    drop = numbers_from("drop_kpa", drop_kpa, 0)
    running = numbers_over("running_flow_l_min", running_flow_l_min, 0)
    return np.asarray(drop * (flow / running) ** READING_EXPONENT)


def backflow_loss(
    flow_l_min: ArrayLike, loss_at_10_gpm_kpa: ArrayLike, loss_at_20_gpm_kpa: ArrayLike
) -> NDArray[np.float64]:
    """Pressure that a backflow device takes.

    Parameters
    ----------
    flow_l_min : array_like
        Flow through the device. [L/min]
    loss_at_10_gpm_kpa : array_like
        Loss at 10 gpm (37.9 L/min). [kPa]
    loss_at_20_gpm_kpa : array_like
        Loss at 20 gpm (75.7 L/min). [kPa]

    Returns
    -------
    ndarray
        Loss; NaN where any argument is NaN. [kPa]

    Raises
    ------
    ValueError
        If a flow or a loss is negative.

    Notes
    -----
    Springs take a part that does not grow, the rest goes with the square of the flow:
    the curve a + b Q² through both losses. It holds for devices of 1 in.

    References
    ----------
    common practice.

    Examples
    --------
    3 psi (20.7 kPa) at 10 gpm and 7 psi (48.3 kPa) at 20 gpm, at 15 gpm (56.8 L/min):

    >>> print(f"{backflow_loss(56.8, 20.7, 48.3):.1f} kPa")
    32.2 kPa
    """
    flow = numbers_from("flow_l_min", flow_l_min, 0) / _TEN_GPM
    low = numbers_from("loss_at_10_gpm_kpa", loss_at_10_gpm_kpa, 0)
    high = numbers_from("loss_at_20_gpm_kpa", loss_at_20_gpm_kpa, 0)
    return np.asarray(low + (high - low) * (flow**2 - 1) / 3)


def curve_of(measured: Supply) -> SupplyCurve | None:
    """The curve that measurements allow; None where they say too little.

    A running reading stands for meter and pipe: what lies behind the gauge is counted
    only where it is given. Static pressure alone, without meter or pipe, says little.
    """
    static, meter = measured.static_pressure_kpa, measured.meter
    if static is None:
        return None
    rise = float(rise_loss(measured.rise_to_heads_m or 0.0))
    running, flow = measured.running_pressure_kpa, measured.running_flow_l_min
    if running is not None and flow is not None:
        return SupplyCurve(
            "reading", static, rise, measured.other_loss_kpa or 0.0,
            backflow=measured.backflow, reading_kpa=static - running,
            reading_l_min=flow,
        )  # fmt: skip
    pipe = pipe_loss_at_1_l_min(measured, measured.pipe_diameter_mm)
    if meter is None and pipe is None:
        return None
    other = measured.other_loss_kpa
    return SupplyCurve(
        "static", static, rise, VALVE_LOSS_KPA if other is None else other,
        meter=meter, backflow=measured.backflow, pipe_loss_kpa=pipe or 0.0,
        fittings_share=FITTINGS_SHARE if other is None else 0.0,
    )  # fmt: skip


def pipe_loss_at_1_l_min(measured: Supply, diameter_mm: float | None) -> float | None:
    """Loss of the service pipe at 1 L/min, were it of a diameter; None: not known."""
    pipe, length = measured.pipe, measured.pipe_length_m
    if pipe is None or length is None or diameter_mm is None:
        return None
    return float(hazen_williams_loss(1.0, diameter_mm, length, pipe.coefficient))


@dataclass(frozen=True, slots=True, eq=False)
class Losses:
    """What each thing on the way takes at a flow, in the shape of the flow."""

    reading_kpa: np.ndarray
    meter_kpa: np.ndarray
    pipe_kpa: np.ndarray
    backflow_kpa: np.ndarray
    other_kpa: np.ndarray


def losses_at(curve: SupplyCurve, flow_l_min: ArrayLike) -> Losses:
    """Losses of a supply at a flow, the rise apart."""
    flow = np.asarray(flow_l_min, dtype=np.float64)
    nothing = np.zeros(flow.shape)
    meter, device = curve.meter, curve.backflow
    pipe = curve.pipe_loss_kpa * flow**PIPE_EXPONENT
    return Losses(
        loss_by_reading(flow, curve.reading_kpa, curve.reading_l_min),
        nothing
        if meter is None
        else meter_loss(flow, meter.flow_l_min, meter.loss_kpa),
        pipe,
        nothing
        if device is None
        else backflow_loss(flow, device.loss_at_10_gpm_kpa, device.loss_at_20_gpm_kpa),
        curve.other_loss_kpa + curve.fittings_share * pipe,
    )


def pressure_left(curve: SupplyCurve, flow_l_min: ArrayLike) -> NDArray[np.float64]:
    """Pressure at the heads at a flow, in kPa; under 0 where the flow cannot be."""
    lost = losses_at(curve, flow_l_min)
    on_the_way = lost.reading_kpa + lost.meter_kpa + lost.pipe_kpa + lost.backflow_kpa
    left = curve.static_kpa - curve.rise_kpa - on_the_way - lost.other_kpa
    return np.asarray(left)
