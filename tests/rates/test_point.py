"""Operating points: by hand, by the order of readings, and by another solver."""

import dataclasses

import numpy as np
import pytest
from scipy.optimize import brentq
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

from scheduler import units
from scheduler.inputs import library
from scheduler.rates import point
from scheduler.rates.curve import pressure_left
from scheduler.rates.precipitation import zone_rates

# A supply by one reading: 60 psi static, 45 psi while 8 gpm run. Its loss at Q gpm is
# 15 (Q/8)^1.85 psi.
READING = {"static_pressure_kpa": 60 * PSI, "running_pressure_kpa": 45 * PSI,
           "running_flow_l_min": 8 * GPM}  # fmt: skip


def points_of(zones, heads, **supply):
    return point.find_points(zones, heads, library.head_kinds(), supply_of(**supply))


def flows_gpm(zones, heads, points):
    rates = zone_rates(
        zones, heads, library.head_kinds(), points.pressure_kpa,
        most_flow_l_min=points.most_flow_l_min,
    )  # fmt: skip
    return rates.flow_l_min / GPM


def codes(points):
    return [caution.code for caution in points.cautions]


# By hand: at 45 psi the reading's supply gives 8 gpm. Heads of 8 gpm at 45 psi meet it
# just there; four times the heads take 32 √(P/45), and the supply gives
# 8 ((60 - P)/15)^(1/1.85): at 10.275 psi 32 · 0.47784 and 8 · 1.9113, both 15.29 gpm.
@pytest.mark.parametrize(("heads", "psi", "gpm"), [(4, 45, 8), (16, 10.275, 15.29)])
def test_point_is_where_the_heads_take_what_the_supply_gives(heads, psi, gpm):
    zones = some_zones()
    nozzles = some_heads([90] * heads, 2.0, 30, pressure_kpa=45 * PSI)

    found = points_of(zones, nozzles, **READING)

    assert found.pressure_kpa[0] / PSI == pytest.approx(psi, abs=0.005)
    assert flows_gpm(zones, nozzles, found)[0] == pytest.approx(gpm, abs=0.005)
    assert found.source == ("curve",)
    assert found.chart_share[0] == pytest.approx(psi / 45, abs=1e-3)


# The square root: at the point the flow over the chart's is the root of the pressures.
def test_zones_of_one_site_have_pressures_of_their_own():
    zones = some_zones(3)
    heads = some_heads([90] * 3, 2.0, 30, zone=[0, 1, 2], count=[1, 3, 9],
                       pressure_kpa=30 * PSI)  # fmt: skip

    found = points_of(zones, heads, **READING)

    assert np.all(np.diff(found.pressure_kpa) < 0)
    np.testing.assert_allclose(
        flows_gpm(zones, heads, found) / [2, 6, 18], found.chart_share**0.5, rtol=1e-9
    )


# Emitters that compensate: their flow stands until the pressure falls under their least
# (drip 8 psi, common practice). 6 gpm of them leave 60 - 15 (6/8)^1.85 = 51.19 psi; 20
# gpm would leave less than nothing, so they fall to 20 √(P/8): at 5.193 psi that and
# 8 ((60 - 5.193)/15)^(1/1.85) are both 16.11 gpm.
@pytest.mark.parametrize(("gpm", "psi", "share"), [(6, 51.19, 1.0), (20, 5.193, None)])
def test_flow_that_is_regulated_stands_until_under_its_least(gpm, psi, share):
    zones = some_zones(head_kind="drip", regulated=[True])
    heads = some_heads([360], gpm, 3, pressure_kpa=25 * PSI)

    found = points_of(zones, heads, **READING)
    flow = flows_gpm(zones, heads, found)[0]

    assert found.pressure_kpa[0] / PSI == pytest.approx(psi, abs=0.006)
    left = pressure_left(found.curve, flow * GPM) / PSI
    assert left == pytest.approx(found.pressure_kpa[0] / PSI, rel=1e-6)
    assert flow / gpm == pytest.approx(share or (psi / 8) ** 0.5, abs=0.0005)


# Emitters that do not compensate: 300 of 1 gal/h at 15 psi are 5 gpm there, and go with
# the root (orifice law). On a gauge of 30 psi they give 7.071 gpm; with the reading's
# supply alone they meet it where 5 √(P/15) is 8 ((60 - P)/15)^(1/1.85), by scipy.
@pytest.mark.parametrize(
    ("gauge", "psi", "gpm"), [(30, 30, 7.071), (np.nan, None, None)]
)
def test_emitters_that_do_not_compensate_go_with_the_root(gauge, psi, gpm):
    zones = some_zones(
        head_kind="drip", area_m2=[300.0], emitters=[300.0],
        emitter_flow_l_min=[GPM / 60], emitter_pressure_kpa=[15 * PSI],
        pressure_kpa=[gauge * PSI],
    )  # fmt: skip
    none = some_heads([], 1.0)
    found = points_of(zones, none, **READING)
    if psi is None:
        psi = brentq(
            lambda p: 5 * (p / 15) ** 0.5 - 8 * ((60 - p) / 15) ** (1 / 1.85), 1, 59.9
        )
        gpm = 5 * (psi / 15) ** 0.5

    assert found.pressure_kpa[0] / PSI == pytest.approx(psi, abs=1e-4)
    assert flows_gpm(zones, none, found)[0] == pytest.approx(gpm, abs=5e-4)
    assert codes(found) == []
    blind = dataclasses.replace(zones, emitter_pressure_kpa=np.array([np.nan]))
    as_sold = points_of(blind, none, **READING)
    assert codes(as_sold) == ["chart-pressure-unknown"]
    assert flows_gpm(blind, none, as_sold)[0] == pytest.approx(5)


# Square ground of 900 m² is 30 m down the slope: at 5 % it falls 1.5 m, 14.7 kPa, more
# than a fifth of 70 kPa (a tenth in flow, common practice); at 4 % 11.8 kPa are less.
@pytest.mark.parametrize(
    ("slope", "regulated", "told"),
    [(5, False, True), (4, False, False), (5, True, False)],
)
def test_emitters_that_do_not_compensate_are_told_of_a_slope(slope, regulated, told):
    zones = some_zones(
        head_kind="drip", area_m2=[900.0], emitters=[300.0], slope_percent=[slope],
        emitter_flow_l_min=[GPM / 60], emitter_pressure_kpa=[70.0],
        pressure_kpa=[70.0], regulated=[regulated],
    )  # fmt: skip
    rates = zone_rates(zones, some_heads([], 1.0), library.head_kinds(), 70.0)
    found = {c.code: c.values for c in rates.cautions}

    assert ("emitters-on-slope" in found) == told
    if told:
        values = found["emitters-on-slope"]
        assert values["more_kpa"] == pytest.approx(14.71, abs=0.01)
        assert values["flow_share"] == pytest.approx((84.71 / 70) ** 0.5 - 1, abs=1e-4)


def test_emitters_on_a_grid_are_a_demand_as_well():
    # 200 emitters of 0.6 gal/h are 2 gpm: 60 - 15 (2/8)^1.85 = 58.85 psi.
    zones = some_zones(
        head_kind="drip", area_m2=[300 * FT**2], emitter_flow_l_min=[0.6 * GPM / 60],
        emitter_spacing_m=[FT], emitter_row_spacing_m=[1.5 * FT], regulated=[True],
    )  # fmt: skip

    found = points_of(zones, some_heads([], 1.0), **READING)

    assert found.pressure_kpa[0] / PSI == pytest.approx(58.85, abs=0.01)
    assert flows_gpm(zones, some_heads([], 1.0), found)[0] == pytest.approx(2)


# The order of the design: a gauge on the zone, then the site's pressure, then the
# curve; without any the chart's flow as printed.
@pytest.mark.parametrize(
    ("gauge", "supply", "psi", "source"),
    [
        (40, {"pressure_kpa": 50 * PSI, **READING}, 40, "gauge"),
        (np.nan, {"pressure_kpa": 50 * PSI, **READING}, 50, "given"),
        (40, READING, 40, "gauge"),
        (np.nan, READING, 45, "curve"),
        (np.nan, {}, np.nan, ""),
    ],
)
def test_a_gauge_beats_a_given_pressure_and_that_the_curve(gauge, supply, psi, source):
    zones = some_zones(pressure_kpa=[gauge * PSI])
    heads = some_heads([90] * 4, 2.0, 30, pressure_kpa=45 * PSI)

    found = points_of(zones, heads, **supply)

    assert found.pressure_kpa[0] / PSI == pytest.approx(psi, nan_ok=True)
    assert found.source == (source,)
    factor = 1 if np.isnan(psi) else (psi / 45) ** 0.5
    assert flows_gpm(zones, heads, found)[0] == pytest.approx(8 * factor)


# A metered flow beats the sum of the heads, and says where on the curve the zone is:
# 6 gpm leave 60 - 15 (6/8)^1.85 = 51.19 psi.
def test_a_metered_flow_stands_and_finds_its_pressure_on_the_curve():
    zones = some_zones(flow_l_min=[6 * GPM])
    heads = some_heads([90] * 4, 2.0, 30, pressure_kpa=45 * PSI)

    found = points_of(zones, heads, **READING)

    assert found.pressure_kpa[0] / PSI == pytest.approx(51.19, abs=0.005)
    assert flows_gpm(zones, heads, found)[0] == pytest.approx(6)


# A bucket that fills with 7.5 gpm wide open is the most that flows. Heads of 22 gpm at
# 30 psi then stand at 30 (7.5/22)² = 3.49 psi, whatever else is known; a metered flow
# was really seen.
BUCKET = {"bucket_l": 5 * GPM, "bucket_s": 40.0}


@pytest.mark.parametrize(
    "supply",
    [{}, {"pressure_kpa": 45 * PSI},
     {"static_pressure_kpa": 90 * PSI, "meter": METERS[1]}],
)  # fmt: skip
def test_nothing_is_planned_over_a_bucket_test(supply):
    zones = some_zones(2, head_kind="spray", flow_l_min=[np.nan, 9 * GPM])
    heads = some_heads([90] * 2, 2.2, 15, zone=[0, 1], count=10,
                       pressure_kpa=30 * PSI)  # fmt: skip

    found = points_of(zones, heads, **supply, **BUCKET)

    assert flows_gpm(zones, heads, found) == pytest.approx([7.5, 9])
    assert found.source[0] == "bucket"
    assert found.pressure_kpa[0] / PSI == pytest.approx(30 * (7.5 / 22) ** 2, rel=1e-6)


def test_a_zone_within_the_bucket_test_is_not_touched_by_it():
    zones = some_zones(head_kind="spray")
    heads = some_heads([90], 2.0, 15, count=3, pressure_kpa=30 * PSI)

    assert points_of(zones, heads, **BUCKET).source == ("",)
    found = points_of(zones, heads, **BUCKET)
    assert flows_gpm(zones, heads, found)[0] == pytest.approx(6, rel=1e-12)
    given = points_of(zones, heads, pressure_kpa=40 * PSI, **BUCKET)
    assert given.pressure_kpa[0] == 40 * PSI


def test_a_gauge_over_the_bucket_test_keeps_its_pressure_and_shares_out_the_flow():
    zones = some_zones(head_kind="spray", pressure_kpa=[30 * PSI])
    heads = some_heads([90], 2.0, 15, count=10, pressure_kpa=30 * PSI)

    found = points_of(zones, heads, **BUCKET)

    assert found.pressure_kpa[0] == 30 * PSI
    assert flows_gpm(zones, heads, found)[0] == pytest.approx(7.5)


# What goes wrong


# 150 ft up are 65 psi: of 60 psi static nothing is left, and nothing flows.
def test_no_pressure_left_is_said_where_nothing_flows():
    heads = some_heads([90] * 4, 2.0, 30, pressure_kpa=45 * PSI)

    found = points_of(some_zones(), heads, **READING, rise_to_heads_m=150 * FT)

    assert found.source == ("",)
    assert np.isnan(found.pressure_kpa[0])
    (caution,) = found.cautions
    assert caution.code == "no-pressure-left"
    # 150 ft at 2.3067 ft a psi.
    assert caution.values["lost_kpa"] / PSI == pytest.approx(150 / 2.3067, rel=1e-4)


@pytest.mark.parametrize(
    ("gauge", "supply", "zone"),
    [(61, READING, "1"), (60, READING, None), (np.nan, {**READING, "pressure_kpa":
      61 * PSI}, ""), (62, {**READING, "rise_to_heads_m": -3 * 2.3067 * FT}, None)],
)  # fmt: skip
def test_a_gauge_over_what_the_supply_can_give_is_told(gauge, supply, zone):
    zones = some_zones(pressure_kpa=[gauge * PSI])
    heads = some_heads([90], 2.0, 30, pressure_kpa=45 * PSI)

    found = [c for c in points_of(zones, heads, **supply).cautions
             if c.code == "reading-over-supply"]  # fmt: skip

    assert [c.zone or "" for c in found] == ([] if zone is None else [zone])


# The supply gives at most 8 (60/15)^(1/1.85) = 16.92 gpm with no pressure left.
@pytest.mark.parametrize(("gpm", "told"), [(16.9, False), (17, True)])
def test_a_metered_flow_over_what_the_supply_can_give_is_told(gpm, told):
    zones = some_zones(flow_l_min=[gpm * GPM], area_m2=[100.0])

    found = points_of(zones, some_heads([], 1.0), **READING)

    assert (codes(found) == ["reading-over-supply"]) is told
    assert np.isnan(found.pressure_kpa[0]) == told
    if told:
        most = found.cautions[0].values["most_flow_l_min"] / GPM
        assert most == pytest.approx(16.92, abs=0.01)


def test_heads_without_a_chart_pressure_are_told_on_a_curve():
    heads = some_heads([90] * 2, 2.0, 30)

    found = points_of(some_zones(), heads, **READING)

    assert codes(found) == ["chart-pressure-unknown"]
    assert found.cautions[0].values["heads"] == ("1", "2")
    # As they stand: 4 gpm leave 60 - 15 (4/8)^1.85 = 55.84 psi.
    assert found.pressure_kpa[0] / PSI == pytest.approx(55.84, abs=0.005)


# EPANET, by way of the open library wntr: a reservoir, the service pipe, and a zone's
# heads as one emitter with the exponent 0.5. Its Hazen-Williams constants differ from
# ours in the third digit; 1 % of flow and pressure is what the issue asks for.
@pytest.mark.parametrize("static_psi", [45, 60, 80])
@pytest.mark.parametrize("inside_in", [0.8, 1.025])
def test_points_are_those_of_another_solver(static_psi, inside_in, tmp_path):
    import wntr

    gpm = np.array([4.0, 9.0, 18.0, 30.0])
    zones = some_zones(len(gpm))
    heads = some_heads([360] * len(gpm), gpm, 30, zone=np.arange(len(gpm)),
                       pressure_kpa=45 * PSI)  # fmt: skip
    found = points_of(
        zones, heads, static_pressure_kpa=static_psi * PSI, pipe=PVC,
        pipe_diameter_mm=inside_in * IN, pipe_length_m=100 * FT, other_loss_kpa=0.0,
    )  # fmt: skip
    flow_l_min = flows_gpm(zones, heads, found) * GPM

    for row in range(len(gpm)):
        net = wntr.network.WaterNetworkModel()
        net.options.hydraulic.headloss = "H-W"
        net.options.hydraulic.emitter_exponent = 0.5
        net.options.time.duration = 0
        m_of_water = PSI / 9.80665
        net.add_reservoir("R", base_head=static_psi * m_of_water)
        net.add_junction("J", base_demand=0, elevation=0)
        net.add_pipe("P", "R", "J", length=100 * FT, diameter=inside_in * IN / 1000,
                     roughness=150)  # fmt: skip
        m3_s = gpm[row] * GPM / units.L_PER_M3 / 60
        node = net.get_node("J")
        node.emitter_coefficient = m3_s / (45 * m_of_water) ** 0.5
        run = wntr.sim.EpanetSimulator(net).run_sim(file_prefix=str(tmp_path / "net"))
        psi = float(run.node["pressure"]["J"].iloc[0]) / m_of_water
        l_min = float(run.link["flowrate"]["P"].iloc[0]) * units.L_PER_M3 * 60

        assert found.pressure_kpa[row] / PSI == pytest.approx(psi, rel=0.01)
        assert flow_l_min[row] == pytest.approx(l_min, rel=0.01)
