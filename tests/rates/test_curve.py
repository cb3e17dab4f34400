"""The supply's curve against printed tables of meters, pipes and readings."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from trade_zones import DEVICES, FT, GPM, IN, METERS, PSI, PVC, supply_of

from scheduler.rates import curve


def curve_of(**values):
    found = curve.curve_of(supply_of(static_pressure_kpa=83 * PSI, **values))
    assert found is not None
    return found


def left_psi(found, gpm):
    return float(curve.pressure_left(found, gpm * GPM)) / PSI


# AWWA standard losses as printed in a one-page table, psi (second-hand): what static
# pressure less a meter leaves, with nothing else on the way.
@pytest.mark.parametrize(
    ("size", "gpm", "psi"),
    [(0.625, 5, 0.9), (0.625, 10, 3.7), (0.625, 15, 8.3), (0.625, 20, 15.0),
     (0.75, 10, 1.6), (0.75, 20, 6.5), (0.75, 30, 15.0), (1, 20, 2.2), (1, 40, 9.6),
     (1.5, 100, 20.0), (2, 50, 1.9)],
)  # fmt: skip
def test_curve_loses_what_the_table_of_meters_prints(size, gpm, psi):
    found = curve_of(meter=METERS[size], other_loss_kpa=0.0)

    assert 83 - left_psi(found, gpm) == pytest.approx(psi, rel=1e-9)


# A university course table on pipe friction, PVC class 160, psi in 100 ft (read).
@pytest.mark.parametrize(
    ("gpm", "inside_in", "psi"),
    [(10, 1.195, 1.27), (20, 1.195, 4.59), (40, 1.195, 16.59), (20, 2.193, 0.24)],
)
def test_curve_loses_what_the_friction_table_prints(gpm, inside_in, psi):
    found = curve_of(pipe=PVC, pipe_diameter_mm=inside_in * IN, pipe_length_m=100 * FT,
                     other_loss_kpa=0.0)  # fmt: skip

    # Half a unit of the last digit, and a thousandth: the table took 0.433 psi a foot.
    assert 83 - left_psi(found, gpm) == pytest.approx(psi, abs=0.005 + 0.001 * psi)


# By hand at 10 gpm, with the numbers of both tables: 3.7 in the 5/8 in meter, 0.6 of
# 1.27 in 60 ft of pipe, 10 ft of rise at 2.307 ft a psi 4.335, a double check 3; the
# allowance for valve and fittings 3 + 0.1 · 0.762: 83 - 14.873 = 68.127 psi.
def test_curve_takes_everything_on_the_way_off_the_static_pressure():
    found = curve_of(meter=METERS[0.625], pipe=PVC, pipe_diameter_mm=1.195 * IN,
                     pipe_length_m=60 * FT, rise_to_heads_m=10 * FT,
                     backflow=DEVICES["double check"])  # fmt: skip

    assert left_psi(found, 10) == pytest.approx(68.127, abs=0.01)
    assert found.source == "static"


# Common form of a flow test: Q at P = Q_test ((Ps - P) / (Ps - Pr))^0.54; 60 psi
# static, 45 psi while 8 gpm run, give 9.34 gpm at 40 psi. 1/1.85 is 0.5405, not 0.54,
# which is 0.02 psi there.
def test_curve_through_a_running_reading_gives_the_flow_of_the_common_form():
    found = curve.curve_of(
        supply_of(static_pressure_kpa=60 * PSI, running_pressure_kpa=45 * PSI,
                  running_flow_l_min=8 * GPM)
    )  # fmt: skip

    assert found.source == "reading"
    assert left_psi(found, 8) == pytest.approx(45, rel=1e-12)
    assert left_psi(found, 9.34) == pytest.approx(40, abs=0.03)


# What lies behind the gauge is counted where it is given: a reduced-pressure device
# takes 10 psi at 10 gpm and a 4.62 ft rise 2.
def test_curve_through_a_reading_counts_what_lies_behind_the_gauge_where_given():
    found = curve.curve_of(
        supply_of(static_pressure_kpa=60 * PSI, running_pressure_kpa=45 * PSI,
                  running_flow_l_min=10 * GPM, rise_to_heads_m=2 * 2.3067 * FT,
                  backflow=DEVICES["reduced pressure"], meter=METERS[0.625])
    )  # fmt: skip

    assert left_psi(found, 10) == pytest.approx(45 - 10 - 2, abs=0.001)


# Losses of devices of 1 in at 10 and 20 gpm, psi (from memory); nearly flat for a
# reduced-pressure device, whose springs take most of it.
@pytest.mark.parametrize(
    ("name", "at_10", "at_20"),
    [("none", 0, 0), ("atmospheric vacuum breaker", 1, 3),
     ("pressure vacuum breaker", 2, 5), ("double check", 3, 7),
     ("reduced pressure", 10, 14)],
)  # fmt: skip
def test_backflow_loss_is_that_of_the_table_at_10_and_20_gpm(name, at_10, at_20):
    found = curve_of(backflow=DEVICES[name], meter=METERS[2], other_loss_kpa=0.0)
    plain = curve_of(meter=METERS[2], other_loss_kpa=0.0)

    for gpm, psi in ((10, at_10), (20, at_20)):
        lost = left_psi(plain, gpm) - left_psi(found, gpm)
        assert lost == pytest.approx(psi, abs=1e-9)


def test_losses_keep_shape_and_nan_and_refuse_what_cannot_be():
    flow = np.array([[0.0, 10.0], [np.nan, 40.0]])

    for lost in (curve.loss_by_reading(flow, 100.0, 30.0),
                 curve.backflow_loss(flow, 20.0, 50.0)):  # fmt: skip
        assert lost.shape == (2, 2)
        assert np.isnan(lost[1, 0])
    with pytest.raises(ValueError, match="flow_l_min must be 0 or more, got -1"):
        curve.loss_by_reading(-1.0, 100.0, 30.0)
    with pytest.raises(ValueError, match="running_flow_l_min must be over 0, got 0"):
        curve.loss_by_reading(1.0, 100.0, 0.0)
    with pytest.raises(ValueError, match="loss_at_10_gpm_kpa must be 0 or more"):
        curve.backflow_loss(1.0, -1.0, 0.0)


# Static pressure is no running pressure: without a loss on the way it says nothing.
@pytest.mark.parametrize(
    "values",
    [{}, {"static_pressure_kpa": 450.0}, {"meter": METERS[1]},
     {"static_pressure_kpa": 450.0, "rise_to_heads_m": 2.0},
     {"static_pressure_kpa": 450.0, "bucket_l": 20.0, "bucket_s": 30.0}],
)  # fmt: skip
def test_no_curve_is_guessed(values):
    assert curve.curve_of(supply_of(**values)) is None


# More flow, more loss: the curve falls, whatever is on the way.
@settings(deadline=None)
@given(
    size=st.sampled_from(sorted(METERS)), device=st.sampled_from(sorted(DEVICES)),
    length=st.floats(1, 100), inside=st.floats(15, 60),
)  # fmt: skip
def test_curve_falls_with_the_flow(size, device, length, inside):
    found = curve_of(meter=METERS[size], backflow=DEVICES[device], pipe=PVC,
                     pipe_diameter_mm=inside, pipe_length_m=length)  # fmt: skip

    left = curve.pressure_left(found, np.linspace(0, 200, 41))
    assert np.all(np.diff(left) < 0)
