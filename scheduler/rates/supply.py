"""What the supply gives: design flow by rules, and what it loses on the way."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler import units
from scheduler.calendar import S_PER_MIN
from scheduler.cautions import Caution
from scheduler.domain import numbers_from, numbers_over
from scheduler.inputs.site import Supply
from scheduler.lines import COMMON_PRACTICE, DEFINITION, Line

METER_LOSS_SHARE = 0.10
"""Share of the static pressure that a meter may take (from memory)."""
METER_FLOW_SHARE = 0.75
"""Share of a meter's most flow to draw for long (from memory)."""
MOST_VELOCITY_M_S = 5 * units.M_PER_FT
"""Fastest flow in a pipe, 5 ft/s: a university course table, and handbooks."""
KPA_PER_M = 9.80665
"""Exact for water of 1000 kg/m³ under standard gravity: 1 psi holds up 2.31 ft."""
PIPE_EXPONENT = 1.852
"""Loss in a pipe over flow, of Hazen and Williams."""
DIAMETER_EXPONENT = 4.8655
"""Loss in a pipe over the inverse of its inside diameter, of Hazen and Williams."""
HAZEN_WILLIAMS = (
    KPA_PER_M
    * 0.002083
    * units.MM_PER_IN**DIAMETER_EXPONENT
    * (100 / units.L_PER_GAL) ** PIPE_EXPONENT
)
"""From 0.2083 ft in 100 ft for gpm and inches; the rest changes the units."""

BUCKET_FLOW = Line("bucket_flow", "60 * bucket / bucket_seconds", DEFINITION)
METER_FLOW = Line("meter_flow", "0.75 * meter_most_flow", COMMON_PRACTICE)
PIPE_FLOW = Line(
    "pipe_flow", "0.071817 * pipe_diameter ** 2", COMMON_PRACTICE,
    "12.240 * pipe_diameter ** 2",
)  # fmt: skip
PIPE_LOSS = Line(
    "pipe_loss",
    "60084600 * pipe_length * (flow / pipe_coefficient) ** 1.852 "
    "/ pipe_diameter ** 4.8655",
    "HAZEN-WILLIAMS (second-hand)",
    "4.5678 * pipe_length * (flow / pipe_coefficient) ** 1.852 "
    "/ pipe_diameter ** 4.8655",
)
RISE_LOSS = Line("rise_loss", "9.80665 * rise", "definition of the weight of water",
                 "rise / 2.3067")  # fmt: skip


@dataclass(frozen=True, slots=True)
class SupplyRule:
    """A rule for the design flow: its code, and the flow it allows.

    Codes: bucket, meter-loss, meter-share, pipe-velocity.
    """

    code: str
    flow_l_min: float


@dataclass(frozen=True, slots=True)
class SupplyFound:
    """What the supply gives, from what is given and measured; None where not known.

    `design_rule` is the code of the rule that sets the design flow, "given", or "".
    Losses and velocity hold at the design flow; `rise_loss_kpa` is below 0 where the
    heads stand below the meter. The pressure of each zone is in its operating point.
    """

    measured: Supply
    rules: tuple[SupplyRule, ...]
    design_flow_l_min: float | None
    design_rule: str
    meter_loss_kpa: float | None
    pipe_loss_kpa: float | None
    pipe_velocity_m_s: float | None
    rise_loss_kpa: float
    cautions: tuple[Caution, ...]


def bucket_flow(bucket_l: ArrayLike, bucket_s: ArrayLike) -> NDArray[np.float64]:
    """Flow that fills a bucket in a time.

    Parameters
    ----------
    bucket_l : array_like
        Volume of the bucket. [L]
    bucket_s : array_like
        Time to fill it. [s]

    Returns
    -------
    ndarray
        Flow; NaN where either argument is NaN. [L/min]

    Raises
    ------
    ValueError
        If a volume is negative, or a time is not over 0.

    Notes
    -----
    Q = 60 V / t. It is the flow of that tap, with no pressure left behind it.

    References
    ----------
    None: follows from the definition of flow.

    Examples
    --------
    A bucket of 19 L in 20 s:

    >>> print(f"{bucket_flow(19, 20):.0f} L/min")
    57 L/min
    """
    volume = numbers_from("bucket_l", bucket_l, 0)
    return np.asarray(S_PER_MIN * volume / numbers_over("bucket_s", bucket_s, 0))


def pipe_velocity(flow_l_min: ArrayLike, diameter_mm: ArrayLike) -> NDArray[np.float64]:
    """Mean velocity of water in a full pipe.

    Parameters
    ----------
    flow_l_min : array_like
        Flow through the pipe. [L/min]
    diameter_mm : array_like
        Inside diameter. [mm]

    Returns
    -------
    ndarray
        Velocity; NaN where either argument is NaN. [m/s]

    Raises
    ------
    ValueError
        If a flow is negative, or a diameter is not over 0.

    Notes
    -----
    v = Q / (π/4 d²).

    References
    ----------
    None: geometry.

    Examples
    --------
    >>> print(f"{pipe_velocity(40, 26):.2f} m/s")
    1.26 m/s
    """
    flow = numbers_from("flow_l_min", flow_l_min, 0)
    return np.asarray(flow / _flow_at_1_m_s(diameter_mm))


def flow_at_velocity(
    velocity_m_s: ArrayLike, diameter_mm: ArrayLike
) -> NDArray[np.float64]:
    """Flow of a full pipe at a velocity.

    Parameters
    ----------
    velocity_m_s : array_like
        Mean velocity. [m/s]
    diameter_mm : array_like
        Inside diameter. [mm]

    Returns
    -------
    ndarray
        Flow; NaN where either argument is NaN. [L/min]

    Raises
    ------
    ValueError
        If a velocity is negative, or a diameter is not over 0.

    Notes
    -----
    Q = v π/4 d².

    References
    ----------
    None: geometry.

    Examples
    --------
    >>> print(f"{flow_at_velocity(1.5, 26):.0f} L/min")
    48 L/min
    """
    velocity = numbers_from("velocity_m_s", velocity_m_s, 0)
    return np.asarray(velocity * _flow_at_1_m_s(diameter_mm))


def _flow_at_1_m_s(diameter_mm: ArrayLike) -> NDArray[np.float64]:
    diameter = numbers_over("diameter_mm", diameter_mm, 0) / units.MM_PER_M
    return np.asarray(np.pi / 4 * diameter**2 * units.L_PER_M3 * S_PER_MIN)


def hazen_williams_loss(
    flow_l_min: ArrayLike,
    diameter_mm: ArrayLike,
    length_m: ArrayLike,
    coefficient: ArrayLike,
) -> NDArray[np.float64]:
    """Pressure that a pipe takes from the water flowing through it.

    Parameters
    ----------
    flow_l_min : array_like
        Flow through the pipe. [L/min]
    diameter_mm : array_like
        Inside diameter. [mm]
    length_m : array_like
        Length. [m]
    coefficient : array_like
        Hazen-Williams coefficient, 150 for plastic, less for rougher walls. [-]

    Returns
    -------
    ndarray
        Loss; NaN where any argument is NaN. [kPa]

    Raises
    ------
    ValueError
        If a flow or a length is negative, or a diameter or coefficient is not over 0.

    Notes
    -----
    h = 0.2083 (100/C)^1.852 Q^1.852 / d^4.8655 ft in 100 ft, with Q in gpm and d in
    inches. For cold water in turbulent flow, as in service pipes at work. Bends,
    valves and the backflow device are left out.

    References
    ----------
    HAZEN-WILLIAMS (second-hand).

    Examples
    --------
    40 L/min through 30 m of plastic pipe, 26 mm inside:

    >>> print(f"{hazen_williams_loss(40, 26, 30, 150):.0f} kPa")
    20 kPa
    """
    flow = numbers_from("flow_l_min", flow_l_min, 0)
    diameter = numbers_over("diameter_mm", diameter_mm, 0)
    length = numbers_from("length_m", length_m, 0)
    rough = (flow / numbers_over("coefficient", coefficient, 0)) ** PIPE_EXPONENT
    return np.asarray(HAZEN_WILLIAMS * length * rough / diameter**DIAMETER_EXPONENT)


def meter_loss(
    flow_l_min: ArrayLike, table_flow_l_min: ArrayLike, table_loss_kpa: ArrayLike
) -> NDArray[np.float64]:
    """Pressure that a water meter takes.

    Parameters
    ----------
    flow_l_min : array_like
        Flow through the meter. [L/min]
    table_flow_l_min : array_like
        Flows of the meter's table, rising, one axis. [L/min]
    table_loss_kpa : array_like
        Loss at each of them. [kPa]

    Returns
    -------
    ndarray
        Loss; NaN where the flow is NaN. [kPa]

    Raises
    ------
    ValueError
        If a flow is negative, or the table is empty or does not rise.

    Notes
    -----
    The table's values at its flows; between two rows linear in the square of the flow,
    below the first and beyond the last row with the square of the flow.

    References
    ----------
    AWWA-LOSS (second-hand).

    Examples
    --------
    A loss of 10 kPa at 40 L/min grows fourfold at twice the flow:

    >>> print(f"{meter_loss(80, [40], [10]):.0f} kPa")
    40 kPa
    """
    flow = numbers_from("flow_l_min", flow_l_min, 0)
    squares, losses = _meter_table(table_flow_l_min, table_loss_kpa)
    beyond = losses[-1] * flow**2 / squares[-1]
    inside = np.interp(flow**2, squares, losses)
    return np.where(flow**2 > squares[-1], beyond, inside)


def flow_at_meter_loss(
    loss_kpa: ArrayLike, table_flow_l_min: ArrayLike, table_loss_kpa: ArrayLike
) -> NDArray[np.float64]:
    """Flow at which a water meter takes a given pressure.

    Parameters
    ----------
    loss_kpa : array_like
        Loss in the meter. [kPa]
    table_flow_l_min : array_like
        Flows of the meter's table, rising, one axis. [L/min]
    table_loss_kpa : array_like
        Loss at each of them. [kPa]

    Returns
    -------
    ndarray
        Flow; NaN where the loss is NaN. [L/min]

    Raises
    ------
    ValueError
        If a loss is negative, or the table is empty or does not rise.

    Notes
    -----
    `meter_loss` solved for the flow.

    References
    ----------
    AWWA-LOSS (second-hand).

    Examples
    --------
    >>> print(f"{flow_at_meter_loss(40, [40], [10]):.0f} L/min")
    80 L/min
    """
    loss = numbers_from("loss_kpa", loss_kpa, 0)
    squares, losses = _meter_table(table_flow_l_min, table_loss_kpa)
    beyond = squares[-1] * loss / losses[-1]
    inside = np.interp(loss, losses, squares)
    return np.sqrt(np.where(loss > losses[-1], beyond, inside))


def _meter_table(
    table_flow_l_min: ArrayLike, table_loss_kpa: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Squares of the flows, and losses, from 0 on."""
    flow = np.atleast_1d(np.asarray(table_flow_l_min, dtype=np.float64))
    loss = np.atleast_1d(np.asarray(table_loss_kpa, dtype=np.float64))
    for name, values in (("table_flow_l_min", flow), ("table_loss_kpa", loss)):
        if not (values.size and np.all(np.diff(values, prepend=0.0) > 0)):
            raise ValueError(f"{name} must rise from over 0")
    return np.append(0.0, flow**2), np.append(0.0, loss)


def rise_loss(rise_m: ArrayLike) -> NDArray[np.float64]:
    """Pressure that it takes to lift water.

    Parameters
    ----------
    rise_m : array_like
        How much higher the heads stand; negative where they stand lower. [m]

    Returns
    -------
    ndarray
        Pressure, negative where some is won; NaN where the argument is NaN. [kPa]

    Raises
    ------
    ValueError
        Never: water runs either way.

    Notes
    -----
    p = ρ g h, with water of 1000 kg/m³: 2.31 ft for 1 psi.

    References
    ----------
    None: definition of pressure.

    Examples
    --------
    >>> print(f"{rise_loss(5):.0f} kPa")
    49 kPa
    """
    return np.asarray(KPA_PER_M * np.asarray(rise_m, dtype=np.float64))


def find_supply(measured: Supply) -> SupplyFound:
    """Design flow, with the figure of every rule, and what is lost at that flow.

    A design flow that is given wins over what follows from measurements.
    """
    rules = tuple(_rules(measured))
    design, design_rule = measured.design_flow_l_min, "given"
    if design is None:
        least = min(rules, key=lambda rule: rule.flow_l_min, default=None)
        design = least.flow_l_min if least else None
        design_rule = least.code if least else ""
    meter, pipe, velocity = _losses(measured, design)
    return SupplyFound(
        measured=measured,
        rules=rules,
        design_flow_l_min=design,
        design_rule=design_rule,
        meter_loss_kpa=meter,
        pipe_loss_kpa=pipe,
        pipe_velocity_m_s=velocity,
        rise_loss_kpa=float(rise_loss(measured.rise_to_heads_m or 0.0)),
        cautions=tuple(_design_cautions(measured, rules)),
    )


def _rules(measured: Supply) -> Iterator[SupplyRule]:
    """Rules that what was measured lets us apply."""
    if measured.bucket_l is not None and measured.bucket_s is not None:
        flow = float(bucket_flow(measured.bucket_l, measured.bucket_s))
        yield SupplyRule("bucket", flow)
    meter, static = measured.meter, measured.static_pressure_kpa
    if meter is not None and static is not None:
        most = METER_LOSS_SHARE * static
        flow = float(flow_at_meter_loss(most, meter.flow_l_min, meter.loss_kpa))
        yield SupplyRule("meter-loss", flow)
    if meter is not None:
        yield SupplyRule("meter-share", METER_FLOW_SHARE * meter.most_flow_l_min)
    if measured.pipe_diameter_mm is not None:
        flow = float(flow_at_velocity(MOST_VELOCITY_M_S, measured.pipe_diameter_mm))
        yield SupplyRule("pipe-velocity", flow)


def _losses(
    measured: Supply, flow_l_min: float | None
) -> tuple[float | None, float | None, float | None]:
    """Loss in the meter, loss in the pipe, and velocity in it, at a flow."""
    meter_kpa = pipe_kpa = velocity = None
    if flow_l_min is None:
        return None, None, None
    meter, pipe = measured.meter, measured.pipe
    diameter, length = measured.pipe_diameter_mm, measured.pipe_length_m
    if meter is not None:
        meter_kpa = float(meter_loss(flow_l_min, meter.flow_l_min, meter.loss_kpa))
    if diameter is not None:
        velocity = float(pipe_velocity(flow_l_min, diameter))
        if length is not None and pipe is not None:
            pipe_kpa = float(
                hazen_williams_loss(flow_l_min, diameter, length, pipe.coefficient)
            )
    return meter_kpa, pipe_kpa, velocity


def _design_cautions(
    measured: Supply, rules: tuple[SupplyRule, ...]
) -> Iterator[Caution]:
    """A given design flow over what a rule allows."""
    given = measured.design_flow_l_min
    least = min(rules, key=lambda rule: rule.flow_l_min, default=None)
    if given is None or least is None:
        return
    if given > least.flow_l_min * (1 + 1e-9):
        values = {
            "design_flow_l_min": given,
            "flow_l_min": least.flow_l_min,
            "rule": least.code,
        }
        yield Caution("design-flow-high", None, None, values)
