"""Supply: friction, meters, and the rules for the design flow."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler import units
from scheduler.inputs.library import meters, pipe_materials
from scheduler.inputs.site import Supply
from scheduler.rates import supply

METERS = {meter.size_in: meter for meter in meters()}
PVC, COPPER = (
    next(m for m in pipe_materials() if m.name == name) for name in ("pvc", "copper")
)

# A university course table on pipe friction, PVC class 160: flow in gpm, inside
# diameter in inches, velocity in ft/s, loss in psi per 100 ft, as printed. (The third
# row prints 0.242, its last 2 a footnote mark.)
FRICTION = [
    (10, 1.195, 2.85, 1.27),
    (20, 1.195, 5.71, 4.59),
    (20, 2.193, 1.69, 0.24),
    (40, 1.195, 11.42, 16.59),
]


# The table takes 0.433 psi for a foot of water, 0.12 % under the exact 0.43353; so half
# its last digit and 0.15 %.
@pytest.mark.parametrize(("gpm", "inches", "_", "printed_psi"), FRICTION)
def test_hazen_williams_loss_is_that_of_the_friction_table(gpm, inches, _, printed_psi):
    loss_kpa = supply.hazen_williams_loss(
        gpm * units.L_PER_GAL, inches * units.MM_PER_IN, 100 * units.M_PER_FT, 150
    )

    assert loss_kpa / units.KPA_PER_PSI == pytest.approx(
        printed_psi, abs=0.005 + 0.0015 * printed_psi
    )


# Every velocity of the table lies 0.2 % under flow over area (20 gpm in 1.195 in make
# 5.72 ft/s, not 5.71: 20 * 231/60/12 in³ over π/4 * 1.195² in²); so half its last digit
# and 0.25 %.
@pytest.mark.parametrize(("gpm", "inches", "printed_ft_s", "_"), FRICTION)
def test_pipe_velocity_is_that_of_the_friction_table(gpm, inches, printed_ft_s, _):
    velocity = supply.pipe_velocity(gpm * units.L_PER_GAL, inches * units.MM_PER_IN)

    assert velocity / units.M_PER_FT == pytest.approx(
        printed_ft_s, abs=0.005 + 0.0025 * printed_ft_s
    )


# An engineering reference, as printed: v = 0.4085 gpm / d², ft/s and inches.
def test_pipe_velocity_of_one_gpm_in_one_inch():
    velocity = supply.pipe_velocity(units.L_PER_GAL, units.MM_PER_IN)

    assert velocity / units.M_PER_FT == pytest.approx(0.4085, abs=0.00005)


# An engineering reference, as printed: psi in a foot = 4.52 Q^1.85 / (C^1.85 d^4.87),
# another rounding of the same law: within 2 % over service pipes at work.
@pytest.mark.parametrize("gpm", [5, 15, 40])
@pytest.mark.parametrize("inches", [0.7, 1.0, 2.0])
@pytest.mark.parametrize("coefficient", [100, 130, 150])
def test_hazen_williams_loss_is_near_the_other_printed_form(gpm, inches, coefficient):
    other_psi = 4.52 * gpm**1.85 / (coefficient**1.85 * inches**4.87)
    loss_kpa = supply.hazen_williams_loss(
        gpm * units.L_PER_GAL, inches * units.MM_PER_IN, units.M_PER_FT, coefficient
    )

    assert loss_kpa / units.KPA_PER_PSI == pytest.approx(other_psi, rel=0.02)


# Laws of the formula: twice the length, twice the loss; loss grows with flow and falls
# with diameter and with smoothness; no flow, no loss.
@given(
    flow=st.floats(1, 400), diameter=st.floats(10, 100),
    length=st.floats(1, 500), coefficient=st.floats(80, 150),
)  # fmt: skip
def test_hazen_williams_loss_follows_its_laws(flow, diameter, length, coefficient):
    loss = supply.hazen_williams_loss(flow, diameter, length, coefficient)

    assert supply.hazen_williams_loss(
        flow, diameter, 2 * length, coefficient
    ) == pytest.approx(2 * loss)
    assert supply.hazen_williams_loss(1.1 * flow, diameter, length, coefficient) > loss
    assert supply.hazen_williams_loss(flow, 1.1 * diameter, length, coefficient) < loss
    assert supply.hazen_williams_loss(flow, diameter, length, 0.9 * coefficient) > loss
    assert supply.hazen_williams_loss(0, diameter, length, coefficient) == 0


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((-1, 25, 10, 150), "flow_l_min must be 0 or more"),
        ((40, 0, 10, 150), "diameter_mm must be over 0"),
        ((40, 25, -1, 150), "length_m must be 0 or more"),
        ((40, 25, 10, 0), "coefficient must be over 0"),
    ],
)
def test_hazen_williams_loss_refuses_what_is_outside_its_domain(arguments, message):
    with pytest.raises(ValueError, match=message):
        supply.hazen_williams_loss(*arguments)


def test_formulas_of_the_supply_broadcast_and_let_nan_through():
    flows = np.array([[10.0, np.nan, 30.0]])
    lengths = np.array([[1.0], [2.0]])

    for result in (
        supply.hazen_williams_loss(flows, 25, lengths, 150),
        supply.pipe_velocity(flows, 25 * lengths),
        supply.flow_at_velocity(flows, 25 * lengths),
        supply.bucket_flow(flows, lengths),
    ):
        assert result.shape == (2, 3)
        assert np.isnan(result).tolist() == [[False, True, False]] * 2
    assert np.isnan(supply.meter_loss(flows, [40], [10])).tolist() == [
        [False, True, False]
    ]


# A one-page table titled AWWA standard pressure loss, psi by gpm and size in inches.
AWWA = """\
gpm 0.625 0.75    1  1.5    2
5     0.9  0.6  0.2    -    -
10    3.7  1.6  0.7    -    -
15    8.3  3.6  1.2    -    -
20   15.0  6.5  2.2  0.8    -
30      - 15.0  5.3  1.8  0.7
40      -    -  9.6  3.3  1.3
50      -    - 15.0  4.9  1.9
100     -    -    - 20.0  7.8
"""


def awwa_rows() -> list[tuple[float, float, float]]:
    """Size, flow and loss as printed."""
    head, *lines = (line.split() for line in AWWA.splitlines())
    return [
        (float(size), float(line[0]), float(cell))
        for line in lines
        for size, cell in zip(head[1:], line[1:], strict=True)
        if cell != "-"
    ]


@pytest.mark.parametrize(("inches", "gpm", "printed_psi"), awwa_rows())
def test_meter_loss_is_that_of_the_printed_table(inches, gpm, printed_psi):
    meter = METERS[inches]
    loss = supply.meter_loss(gpm * units.L_PER_GAL, meter.flow_l_min, meter.loss_kpa)

    assert loss / units.KPA_PER_PSI == pytest.approx(printed_psi, rel=1e-12)


def test_meters_hold_nothing_but_the_printed_table():
    assert sum(len(meter.flow_l_min) for meter in METERS.values()) == len(awwa_rows())


# Most flow of displacement meters, from memory: 20, 30, 50, 100 and 160 gpm. The
# printed losses of the three smallest end at 15.0 psi there; carried on with the
# square of the flow, 7.8 psi at 100 gpm in the 2 in meter are 20.0 psi at 160, like the
# 1-1/2 in one.
@pytest.mark.parametrize(
    ("inches", "gpm", "psi"),
    [(0.625, 20, 15.0), (0.75, 30, 15.0), (1, 50, 15.0), (1.5, 100, 20.0),
     (2, 160, 20.0)],
)  # fmt: skip
def test_meter_loss_at_the_most_flow(inches, gpm, psi):
    meter = METERS[inches]
    loss = supply.meter_loss(meter.most_flow_l_min, meter.flow_l_min, meter.loss_kpa)

    assert meter.most_flow_l_min / units.L_PER_GAL == pytest.approx(gpm)
    assert loss / units.KPA_PER_PSI == pytest.approx(psi, abs=0.05)


# Exact: linear in the square of the flow. Between 10 gpm (3.7 psi) and 15 gpm (8.3) the
# square of 12 is 144, 44/125 of the way from 100 to 225: 3.7 + 0.352 * 4.6 = 5.3192.
# Below 5 gpm with the square: at 2.5 gpm a quarter of 0.9.
@pytest.mark.parametrize(("gpm", "psi"), [(12, 5.3192), (2.5, 0.225), (0, 0)])
def test_meter_loss_between_the_rows_goes_with_the_square(gpm, psi):
    meter = METERS[0.625]
    loss = supply.meter_loss(gpm * units.L_PER_GAL, meter.flow_l_min, meter.loss_kpa)

    assert loss / units.KPA_PER_PSI == pytest.approx(psi, abs=1e-12)


# Law: the one undoes the other, inside the table, below and beyond.
@given(flow=st.floats(0.1, 1000), size=st.sampled_from(sorted(METERS)))
def test_flow_at_meter_loss_undoes_meter_loss(flow, size):
    meter = METERS[size]
    loss = supply.meter_loss(flow, meter.flow_l_min, meter.loss_kpa)

    assert supply.flow_at_meter_loss(
        loss, meter.flow_l_min, meter.loss_kpa
    ) == pytest.approx(flow, rel=1e-9)


# Law: a bigger meter takes less, more flow more.
@given(flow=st.floats(1, 400))
def test_meter_loss_falls_with_size_and_grows_with_flow(flow):
    losses = [
        supply.meter_loss([flow, 1.01 * flow], meter.flow_l_min, meter.loss_kpa)
        for _, meter in sorted(METERS.items())
    ]

    assert all(a[0] > b[0] for a, b in itertools.pairwise(losses))
    assert all(loss[1] > loss[0] for loss in losses)


@pytest.mark.parametrize(
    ("flows", "losses"), [([], []), ([40, 40], [1, 2]), ([40, 80], [2, 1]), ([0], [1])]
)
@pytest.mark.parametrize("formula", [supply.meter_loss, supply.flow_at_meter_loss])
def test_meter_formulas_refuse_a_table_that_does_not_rise(formula, flows, losses):
    with pytest.raises(ValueError, match="must rise from over 0"):
        formula(10, flows, losses)


def test_meter_formulas_refuse_negative_flow_and_loss():
    with pytest.raises(ValueError, match="flow_l_min must be 0 or more"):
        supply.meter_loss(-1, [40], [10])
    with pytest.raises(ValueError, match="loss_kpa must be 0 or more"):
        supply.flow_at_meter_loss(-1, [40], [10])


# Definition: gpm = 60 gal / s. 5 gal in 20 s are 15 gpm.
def test_bucket_flow_of_five_gallons_in_twenty_seconds():
    flow = supply.bucket_flow(5 * units.L_PER_GAL, 20)

    assert flow / units.L_PER_GAL == pytest.approx(15, rel=1e-12)


@pytest.mark.parametrize("seconds", [0, -5])
def test_bucket_flow_refuses_no_time(seconds):
    with pytest.raises(ValueError, match="bucket_s must be over 0"):
        supply.bucket_flow(10, seconds)


# Handbooks, as printed: 1 psi = 2.31 ft of water.
def test_rise_loss_of_one_psi_is_2_31_feet():
    feet = units.KPA_PER_PSI / supply.rise_loss(units.M_PER_FT)

    assert feet == pytest.approx(2.31, abs=0.005)


def test_rise_loss_downhill_is_won():
    assert supply.rise_loss(-3.0) == -supply.rise_loss(3.0)


@pytest.mark.parametrize("formula", [supply.pipe_velocity, supply.flow_at_velocity])
def test_velocity_formulas_refuse_a_pipe_of_no_width(formula):
    with pytest.raises(ValueError, match="diameter_mm must be over 0"):
        formula(1, 0)


# Law: the one undoes the other.
@given(velocity=st.floats(0.01, 10), diameter=st.floats(5, 300))
def test_flow_at_velocity_undoes_pipe_velocity(velocity, diameter):
    flow = supply.flow_at_velocity(velocity, diameter)

    assert supply.pipe_velocity(flow, diameter) == pytest.approx(velocity, rel=1e-12)


# Hazen-Williams coefficient of plastic, as printed: 150. The others from memory.
def test_pipe_materials_have_the_printed_coefficient_of_plastic():
    plastic = {"pvc", "cpvc", "polyethylene", "pex", "plastic"}
    by_name = {material.name: material for material in pipe_materials()}

    assert {by_name[name].coefficient for name in plastic} == {150}
    for name, material in by_name.items():
        assert material.status == ("second-hand" if name in plastic else "from memory")
        assert 100 <= material.coefficient <= 150


def measured(**values) -> Supply:
    """A supply of which nothing but these is known."""
    return Supply(**{"design_flow_l_min": None, "pressure_kpa": None,
                     "wind_m_s": None, **values})  # fmt: skip


def gpm_of(found: supply.SupplyFound) -> dict[str, float]:
    return {rule.code: rule.flow_l_min / units.L_PER_GAL for rule in found.rules}


PSI, FT, IN = units.KPA_PER_PSI, units.M_PER_FT, units.MM_PER_IN


# The rules, from memory but for the velocity: a meter may take 10 % of the static
# pressure, and pass 75 % of its most flow: 15, 22.5 and 37.5 gpm for 5/8, 3/4 and 1 in;
# water in a pipe goes at 5 ft/s at most (university course table, footnote).
# By hand: 10 % of 83 psi is 8.3 psi, which the printed table has at 15 gpm for 5/8 in;
# 0.4085 * Q / 1.0² = 5 ft/s at 12.24 gpm; 5 gal in 25 s are 12 gpm.
def test_find_supply_takes_the_smallest_rule():
    found = supply.find_supply(
        measured(static_pressure_kpa=83 * PSI, meter=METERS[0.625],
                 pipe_diameter_mm=IN, bucket_l=5 * units.L_PER_GAL, bucket_s=25.0)
    )  # fmt: skip

    assert gpm_of(found) == pytest.approx(
        {"bucket": 12, "meter-loss": 15, "meter-share": 15, "pipe-velocity": 12.24},
        abs=0.005,
    )
    assert found.design_rule == "bucket"
    assert found.design_flow_l_min / units.L_PER_GAL == pytest.approx(12)


@pytest.mark.parametrize(("inches", "gpm"), [(0.625, 15), (0.75, 22.5), (1, 37.5)])
def test_find_supply_gives_three_quarters_of_a_meter(inches, gpm):
    found = supply.find_supply(measured(meter=METERS[inches]))

    assert gpm_of(found) == pytest.approx({"meter-share": gpm})


# By hand at 10 gpm: 3.7 psi in the 5/8 in meter (printed table); 0.6 of the friction
# table's 1.27 psi in 100 ft; 10 ft of rise at 2.307 ft a psi, 4.335 psi.
def test_find_supply_tells_the_losses_at_the_design_flow():
    found = supply.find_supply(
        measured(design_flow_l_min=10 * units.L_PER_GAL, static_pressure_kpa=65 * PSI,
                 meter=METERS[0.625], pipe=PVC, pipe_diameter_mm=1.195 * IN,
                 pipe_length_m=60 * FT, rise_to_heads_m=10 * FT)
    )  # fmt: skip

    assert found.meter_loss_kpa / PSI == pytest.approx(3.7)
    assert found.pipe_loss_kpa / PSI == pytest.approx(0.762, abs=0.005)
    assert found.rise_loss_kpa / PSI == pytest.approx(4.335, abs=0.001)
    assert found.cautions == ()


def test_find_supply_lets_given_values_win_and_shows_the_rules_beside():
    found = supply.find_supply(
        measured(design_flow_l_min=50.0, pressure_kpa=300.0, meter=METERS[0.75],
                 static_pressure_kpa=450.0)
    )  # fmt: skip

    assert (found.design_flow_l_min, found.design_rule) == (50.0, "given")
    assert set(gpm_of(found)) == {"meter-loss", "meter-share"}
    assert found.cautions == ()


def test_find_supply_cautions_a_given_flow_over_a_rule():
    found = supply.find_supply(measured(design_flow_l_min=80.0, meter=METERS[0.625]))
    (caution,) = found.cautions

    # 75 % of 20 gpm are 15 gpm, 56.781 L/min.
    assert caution.code == "design-flow-high"
    assert caution.values["rule"] == "meter-share"
    assert caution.values["flow_l_min"] == pytest.approx(15 * units.L_PER_GAL)


def test_find_supply_of_nothing_knows_nothing():
    found = supply.find_supply(measured())

    assert (found.rules, found.design_flow_l_min, found.design_rule) == ((), None, "")
    assert not found.cautions
    assert math.isclose(found.rise_loss_kpa, 0.0)
