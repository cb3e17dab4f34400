"""What would mend a zone that the supply cannot feed, tried by solving again."""

import math

import numpy as np
import pytest
from trade_zones import (
    FT,
    GPM,
    IN,
    METERS,
    PSI,
    PVC,
    some_heads,
    some_zones,
    supply_of,
)

from scheduler.inputs import library
from scheduler.rates import mends, point
from scheduler.rates.supply import find_supply

KINDS = library.head_kinds()
READING = {"static_pressure_kpa": 60 * PSI, "running_pressure_kpa": 45 * PSI,
           "running_flow_l_min": 8 * GPM}  # fmt: skip
PIPE = {"static_pressure_kpa": 60 * PSI, "pipe": PVC, "pipe_diameter_mm": 0.75 * IN,
        "pipe_length_m": 100 * FT, "other_loss_kpa": 0.0}  # fmt: skip


def cautions_of(zones, heads, **supply):
    measured = supply_of(**supply)
    found = point.find_points(zones, heads, KINDS, measured)
    return list(mends.pressure_cautions(zones, measured, found)), found


def heads_of(gpm, **columns):
    return some_heads([360], gpm, 30, pressure_kpa=45 * PSI, **columns)


# Least working pressures, psi (common practice): a hard limit just under them.
@pytest.mark.parametrize(
    ("kind", "least"),
    [("rotor", 25), ("spray", 15), ("multi-stream", 30), ("drip", 8), ("bubbler", 10)],
)
@pytest.mark.parametrize("regulated", [False, True])
def test_pressure_too_low_is_under_the_least_of_the_kind(kind, least, regulated):
    for psi, told in ((least, False), (least - 0.01, True)):
        zones = some_zones(head_kind=kind, regulated=[regulated])
        found, _ = cautions_of(zones, heads_of(2.0), pressure_kpa=psi * PSI)
        assert [c.code for c in found] == ["pressure-too-low"] * told


# By hand: rotors that take 32 gpm at 45 psi stand at 10.3 psi (test_point.py). At 25
# psi they want 32 √(25/45) = 23.85 gpm, and the supply gives 8 (35/15)^(1/1.85) = 12.65
# gpm: two valves, 11.93 gpm each, would do.
def test_mends_by_valves_and_by_nozzles_on_a_reading():
    (caution,), _ = cautions_of(some_zones(), heads_of(32.0), **READING)
    values = caution.values

    assert values["pressure_kpa"] / PSI == pytest.approx(10.275, abs=0.005)
    assert values["flow_l_min"] / GPM == pytest.approx(15.29, abs=0.005)
    assert values["most_flow_l_min"] / GPM == pytest.approx(12.65, abs=0.005)
    assert values["valves"] == 2
    assert values["pipe_mm"] is None
    # Solved again with half of the heads: just the root of 16 gpm at 45 psi.
    (half,) = point.find_points(
        some_zones(), heads_of(16.0), KINDS, supply_of(**READING)
    ).pressure_kpa
    assert values["valves_kpa"] == pytest.approx(half, rel=1e-9)
    assert half >= 25 * PSI
    # Solved again with such nozzles: just the least pressure.
    smaller = values["most_flow_l_min"] / GPM * (45 / 25) ** 0.5
    (at,) = point.find_points(
        some_zones(), heads_of(smaller), KINDS, supply_of(**READING)
    ).pressure_kpa
    assert at / PSI == pytest.approx(25, rel=1e-6)
    # As it was read: 45 psi, the chart's, are left of 60 while 8 gpm flow.
    assert values["chart_kpa"] / PSI == pytest.approx(45)
    assert values["chart_flow_l_min"] / GPM == pytest.approx(8.0, abs=0.005)


def test_mend_by_a_larger_pipe_does_just_what_it_says():
    (caution,), _ = cautions_of(some_zones(), heads_of(40.0), **PIPE)
    pipe_mm = caution.values["pipe_mm"]

    wider = {**PIPE, "pipe_diameter_mm": pipe_mm}
    found, points = cautions_of(some_zones(), heads_of(40.0), **wider)

    assert pipe_mm > 0.75 * IN
    assert points.pressure_kpa[0] / PSI == pytest.approx(25, rel=1e-6)
    assert not found
    narrower = {**PIPE, "pipe_diameter_mm": pipe_mm * 0.99}
    assert cautions_of(some_zones(), heads_of(40.0), **narrower)[0]


# The smallest number of valves: with one less it would still be too low.
@pytest.mark.parametrize("gpm", [30.0, 45.0, 60.0, 90.0])
def test_mend_by_valves_is_the_fewest(gpm):
    (caution,), found = cautions_of(some_zones(), heads_of(gpm), **READING)
    valves, one = caution.values["valves"], np.array([0])

    for count, enough in ((valves, True), (valves - 1, False)):
        pressure = point.pressure_at(found.demand.of(one, count), found.curve)[0]
        assert bool(pressure >= 25 * PSI * (1 - 1e-9)) == enough


# 22 gpm of sprays at 30 psi on a bucket of 7.5 gpm: at 15 psi they want 15.56, so three
# valves; four fifths of a bucket's flow would not do for two.
def test_mend_on_a_bucket_test_alone():
    zones = some_zones(head_kind="spray")
    heads = some_heads([90], 2.2, 15, count=10, pressure_kpa=30 * PSI)

    (caution,), _ = cautions_of(zones, heads, bucket_l=5 * GPM, bucket_s=40.0)

    assert caution.values["valves"] == math.ceil(15.56 / 7.5)
    assert caution.values["most_flow_l_min"] / GPM == pytest.approx(7.5)
    assert caution.values["chart_flow_l_min"] is None
    # A third of the heads takes 22/3 = 7.33 gpm as printed, at the chart's pressure.
    assert caution.values["valves_kpa"] / PSI == pytest.approx(30)


# With a pressure that is given nothing is known of the curve, so nothing is promised.
def test_nothing_is_promised_where_the_curve_is_not_known():
    (caution,), _ = cautions_of(some_zones(), heads_of(32.0), pressure_kpa=20 * PSI)

    assert {caution.values[name] for name in (
        "valves", "valves_kpa", "most_flow_l_min", "pipe_mm"
    )} == {None}  # fmt: skip


# A static pressure under what the heads need: no valve, no nozzle and no pipe helps.
def test_nothing_is_promised_where_static_pressure_is_too_low():
    low = {**READING, "static_pressure_kpa": 24 * PSI, "running_pressure_kpa": 20 * PSI}

    (caution,), _ = cautions_of(some_zones(), heads_of(32.0), **low)

    assert caution.values["valves"] is None
    assert caution.values["most_flow_l_min"] is None


# A gauge on the zone and the static pressure make a curve of their own: 60 psi static,
# 20 psi while the heads take 12 gpm.
def test_mend_by_the_gauge_of_the_zone():
    zones = some_zones(pressure_kpa=[20 * PSI])
    heads = heads_of(12 * (45 / 20) ** 0.5)

    (caution,), _ = cautions_of(zones, heads, **PIPE)

    # Loss of 40 psi at 12 gpm; 35 psi at 12 (35/40)^(1/1.85) = 11.16 gpm.
    assert caution.values["most_flow_l_min"] / GPM == pytest.approx(11.16, abs=0.005)
    assert caution.values["valves"] == 2


# The design flow is a rule of design, and a pump's least flow one of the pump.
@pytest.mark.parametrize(
    ("gpm", "alone", "codes"),
    [(16, True, ["over-design-flow"]), (15, True, []), (4, True, ["flow-under-pump"]),
     (4, False, []), (5, True, [])],
)  # fmt: skip
def test_flow_cautions_at_their_limits(gpm, alone, codes):
    supply = find_supply(supply_of(meter=METERS[0.625], least_flow_l_min=5 * GPM))

    found = list(
        mends.flow_cautions(some_zones(), supply, np.array([gpm * GPM]), alone)
    )

    assert [caution.code for caution in found] == codes
    if codes == ["over-design-flow"]:
        assert found[0].values["rule"] == "meter-share"
