"""Rates of a zone and its heads, in the units that the trade prints."""

import numpy as np
import pytest
from trade_zones import FT, FT2, GPM, IN_H, PSI, some_heads, some_zones

from scheduler.inputs import library
from scheduler.rates import precipitation as nozzles


def rates_of(zones, heads, pressure_kpa=np.nan):
    return nozzles.zone_rates(zones, heads, library.head_kinds(), pressure_kpa)


def codes(rates):
    return [caution.code for caution in rates.cautions]


# Algebra of 96.25: one head of arc a on spacing S by row spacing L lays 34650 gpm / (a
# S L) in/h, 34650 = 96.25 · 360.
@pytest.mark.parametrize("arc", [45, 90, 120, 180, 210, 270, 360])
def test_head_rate_is_34650_gpm_over_arc_and_spacings(arc):
    heads = some_heads([arc], 1.7, 30, row_spacing_m=26 * FT)

    rate = rates_of(some_zones(), heads).heads.rate_mm_h[0] / IN_H

    assert rate == pytest.approx(34650 * 1.7 / (arc * 30 * 26), rel=1e-12)


# Geometry: rows of an equilateral triangle stand √3/2 of the spacing apart. Trade
# texts print 96.25 gpm / (S · 0.866 S); 0.866 is rounded to 0.0005 in 0.866, 6e-4.
def test_triangular_spacing_sets_rows_0_866_of_the_spacing_apart():
    heads = some_heads([360], 4.0, 30, triangular=True)
    rates = rates_of(some_zones(), heads)
    square = rates_of(some_zones(), some_heads([360], 4.0, 30))

    rate = rates.rate_mm_h[0] / IN_H

    assert rate == pytest.approx(96.25 * 4 / (30 * 0.866 * 30), rel=6e-4)
    assert rates.area_m2[0] == pytest.approx(900 * FT2 * np.sin(np.pi / 3), rel=1e-12)
    assert rates.rate_mm_h[0] == pytest.approx(
        square.rate_mm_h[0] * 2 / np.sqrt(3), rel=1e-12
    )


def test_triangular_spacing_gives_way_to_a_row_spacing_that_was_measured():
    heads = some_heads([360], 4.0, 30, triangular=True, row_spacing_m=28 * FT)

    rate = rates_of(some_zones(), heads).rate_mm_h[0] / IN_H

    assert rate == pytest.approx(96.25 * 4 / (30 * 28), rel=1e-12)


# The method, step 1: not for what regulates its own pressure, and as printed where a
# pressure is not known; both down to the 25 psi that rotors need. By hand: 2 gpm at 45
# psi, run at 20 psi: 2 · √(20/45) = 4/3; at a quarter of the least half the flow.
@pytest.mark.parametrize(
    ("regulated", "chart_psi", "site_psi", "gpm"),
    [(False, 45, 20, 4 / 3), (True, 45, 25, 2), (False, np.nan, 25, 2),
     (False, 45, np.nan, 2), (True, 45, 6.25, 1), (False, np.nan, 6.25, 1)],
)  # fmt: skip
def test_zone_flow_follows_the_pressure_unless_regulated(
    regulated, chart_psi, site_psi, gpm
):
    zones = some_zones(regulated=[regulated])
    heads = some_heads([360, 360], 2.0, 30, pressure_kpa=chart_psi * PSI)

    rates = rates_of(zones, heads, site_psi * PSI)

    assert rates.flow_l_min[0] / GPM == pytest.approx(2 * gpm, rel=1e-12)
    assert ("pressure-assumed" in codes(rates)) is bool(np.isnan(site_psi))


# Matched precipitation


# Common practice: heads of one pattern lay the same depth when their flows stand as
# their arcs, full : half : quarter = 4 : 2 : 1. Any size of nozzle, any spacing.
@pytest.mark.parametrize("full_gpm", [2.0, 6.0, 8.0])
@pytest.mark.parametrize("spacing_ft", [15, 30, 45])
def test_flows_of_4_to_2_to_1_give_full_half_and_quarter_one_rate(full_gpm, spacing_ft):
    flows = [full_gpm, full_gpm / 2, full_gpm / 4]

    rates = rates_of(some_zones(), some_heads([360, 180, 90], flows, spacing_ft))

    expected = 96.25 * full_gpm / spacing_ft**2
    np.testing.assert_allclose(rates.heads.rate_mm_h / IN_H, expected, rtol=1e-12)
    np.testing.assert_allclose(rates.heads.share_of_mean, 1, rtol=1e-12)
    assert rates.rate_mm_h[0] / IN_H == pytest.approx(expected, rel=1e-12)
    assert rates.peak_rate_mm_h[0] == pytest.approx(rates.rate_mm_h[0], rel=1e-12)
    assert rates.uniformity_source == ("kind of head",)
    assert "unmatched-heads" not in codes(rates)


# Common practice: with one full circle at 8 gpm, three halves at 4 and two quarters at
# 2 a zone needs 8 + 12 + 4 = 24 gpm, too much where the supply gives 16 to 18. Nozzles
# of 6, 3 and 1.5 gpm are matched as well and need 6 + 9 + 3 = 18.
def test_a_matched_set_one_size_down_fits_the_supply():
    arcs, counts = [360, 180, 90], [1, 3, 2]
    large = rates_of(some_zones(), some_heads(arcs, [8, 4, 2], 40, count=counts))
    small = rates_of(some_zones(), some_heads(arcs, [6, 3, 1.5], 40, count=counts))

    assert large.flow_l_min[0] / GPM == pytest.approx(24, rel=1e-12)
    assert small.flow_l_min[0] / GPM == pytest.approx(18, rel=1e-12)
    assert codes(large) == codes(small) == ["pressure-assumed"]
    # Ground: 1 + 3/2 + 2/4 = 3 squares of 40 ft. Three quarters of flow and rate.
    assert small.area_m2[0] / FT2 == pytest.approx(3 * 1600, rel=1e-12)
    assert small.rate_mm_h[0] == pytest.approx(0.75 * large.rate_mm_h[0], rel=1e-12)


# Common practice: one nozzle on all three arcs lays 1 : 2 : 4 on full, half, quarter.
# By hand: 3 gpm each on 1 + 1/2 + 1/4 squares: mean 9 / 1.75 = 36/7 to 3, 6 and 12, so
# 7/12, 7/6 and 7/3 of the mean. All three are more than 10 % off.
def test_the_same_nozzle_on_three_arcs_gives_rates_of_1_to_2_to_4():
    rates = rates_of(some_zones(), some_heads([360, 180, 90], 3.0, 30))

    head = rates.heads.rate_mm_h
    np.testing.assert_allclose(head / head[0], [1, 2, 4], rtol=1e-12)
    np.testing.assert_allclose(
        rates.heads.share_of_mean, [7 / 12, 7 / 6, 7 / 3], rtol=1e-12
    )
    assert rates.peak_rate_mm_h[0] == head[2]
    (caution,) = [c for c in rates.cautions if c.code == "unmatched-heads"]
    assert caution.zone == "1"
    assert caution.values["lowest_share"] == pytest.approx(7 / 12, rel=1e-12)
    assert caution.values["highest_share"] == pytest.approx(7 / 3, rel=1e-12)
    assert caution.values["heads"] == ["1", "2", "3"]
    # The driest quarter of 1.75 squares lies wholly under the full circle: 3 over 36/7;
    # with the 0.70 of a rotor as a spread of its own 1 - √(0.30² + (5/12)²) = 0.4866.
    assert rates.imbalance[0] == pytest.approx(7 / 12, rel=1e-12)
    assert rates.uniformity[0] == pytest.approx(0.4866, abs=5e-5)
    assert rates.uniformity_source == ("head imbalance",)


# The method, step 2: more than 10 % off the mean. Two full circles of flow 1 - d and 1
# + d have the mean 1: at 10 % they count as matched, just beyond they do not.
@pytest.mark.parametrize(("apart", "unmatched"), [(0.0999, False), (0.1, False),
                                                  (0.1001, True)])  # fmt: skip
def test_unmatched_heads_are_those_more_than_a_tenth_off_the_mean(apart, unmatched):
    heads = some_heads([360, 360], [3 * (1 - apart), 3 * (1 + apart)], 30)

    assert ("unmatched-heads" in codes(rates_of(some_zones(), heads))) is unmatched


# Measured beats computed


def measured(**zone_columns):
    """Four quarters of 1 gpm at 30 ft: 4 gpm on 900 ft², 96.25 · 4 / 900 in/h."""
    zones = some_zones(**{name: [value] for name, value in zone_columns.items()})
    return rates_of(zones, some_heads([90] * 4, 1.0, 30))


def test_a_zone_of_heads_alone_has_their_flow_ground_and_rate():
    rates = measured()

    assert rates.flow_l_min[0] / GPM == pytest.approx(4, rel=1e-12)
    assert rates.area_m2[0] / FT2 == pytest.approx(900, rel=1e-12)
    assert rates.rate_mm_h[0] / IN_H == pytest.approx(96.25 * 4 / 900, rel=1e-12)
    assert (rates.flow_source, rates.area_source, rates.rate_source) == (
        ("sum of heads",), ("heads' spacing",), ("flow and area",),
    )  # fmt: skip


# Design, zones.csv: a metered flow beats the sum of the heads.
def test_a_metered_flow_beats_the_sum_of_the_heads():
    rates = measured(flow_l_min=3.6 * GPM)

    assert rates.flow_l_min[0] / GPM == pytest.approx(3.6, rel=1e-12)
    assert rates.rate_mm_h[0] / IN_H == pytest.approx(96.25 * 3.6 / 900, rel=1e-12)
    assert rates.flow_source == ("metered",)
    # Step 1: the metered flow scales each head by the same share, 3.6 of 4 gpm.
    assert rates.heads.flow_l_min / GPM == pytest.approx(np.full(4, 0.9), rel=1e-12)
    assert rates.peak_rate_mm_h[0] / IN_H == pytest.approx(96.25 * 3.6 / 900, rel=1e-12)
    assert "pressure-assumed" not in codes(rates)


# Design, zones.csv: a measured rate beats both for minutes, never for volume.
def test_a_measured_rate_beats_both_for_minutes_but_not_for_volume():
    by_heads = measured(rate_mm_h=0.5 * IN_H)
    by_meter = measured(rate_mm_h=0.5 * IN_H, flow_l_min=3.6 * GPM)

    for rates, gpm in [(by_heads, 4), (by_meter, 3.6)]:
        assert rates.rate_mm_h[0] / IN_H == pytest.approx(0.5, rel=1e-12)
        assert rates.flow_l_min[0] / GPM == pytest.approx(gpm, rel=1e-12)
        assert rates.peak_rate_mm_h[0] / IN_H == pytest.approx(0.5, rel=1e-12)
        assert rates.rate_source == ("measured",)


# Definition of the rate: any two of flow, area and rate give the third. 10 L/min on
# 50 m² are 12 mm/h.
@pytest.mark.parametrize(
    ("given", "source"),
    [
        ({"flow_l_min": 10.0, "area_m2": 50.0}, ("metered", "measured")),
        ({"rate_mm_h": 12.0, "area_m2": 50.0}, ("rate and area", "measured")),
        ({"rate_mm_h": 12.0, "flow_l_min": 10.0}, ("metered", "flow and rate")),
    ],
)
def test_two_of_flow_area_and_rate_give_the_third(given, source):
    zones = some_zones(**{name: [value] for name, value in given.items()})

    rates = rates_of(zones, some_heads([], 1.0))

    assert rates.flow_l_min[0] == pytest.approx(10, rel=1e-12)
    assert rates.area_m2[0] == pytest.approx(50, rel=1e-12)
    assert rates.rate_mm_h[0] == pytest.approx(12, rel=1e-12)
    assert rates.peak_rate_mm_h[0] == pytest.approx(12, rel=1e-12)
    assert (rates.flow_source[0], rates.area_source[0]) == source
    assert rates.cautions == ()


# Geometry: emitters of 0.6 gal/h every 12 in on lines 18 in apart water 1.5 ft² each:
# 96.25 · 0.01 gpm / 1.5 ft² = 0.64167 in/h.
def test_emitters_on_a_grid_give_the_rate_and_with_the_area_the_flow():
    zones = some_zones(
        head_kind="drip",
        area_m2=[300 * FT2],
        emitter_flow_l_min=[0.6 * GPM / 60],
        emitter_spacing_m=[FT],
        emitter_row_spacing_m=[1.5 * FT],
    )

    rates = rates_of(zones, some_heads([], 1.0))

    assert rates.rate_mm_h[0] / IN_H == pytest.approx(96.25 * 0.01 / 1.5, rel=1e-12)
    assert rates.flow_l_min[0] / GPM == pytest.approx(300 / 1.5 * 0.01, rel=1e-12)
    assert rates.rate_source == ("emitters",)


def test_a_measured_rate_beats_that_of_the_emitters():
    zones = some_zones(
        head_kind="drip",
        area_m2=[100.0],
        rate_mm_h=[7.0],
        emitter_flow_l_min=[0.05],
        emitter_spacing_m=[0.5],
        emitter_row_spacing_m=[0.5],
    )

    rates = rates_of(zones, some_heads([], 1.0))

    assert rates.rate_mm_h[0] == 7
    assert rates.rate_source == ("measured",)


# By hand, the same through the heads of a zone: rates of 1.0 and 1.2 in/h, one full
# circle of each, so half the ground each; the driest quarter is at 1.0, the mean 1.1.
# 10/11 is over the 0.70 of a rotor and may not raise it; as a spread of its own it
# lowers it to 1 - √(0.30² + (1/11)²) = 0.6865. One that is given is held to it.
def test_zone_uniformity_is_lowered_by_the_heads_but_never_raised():
    flows = np.array([1.0, 1.2]) * 900 / 96.25
    rates = rates_of(some_zones(), some_heads([360, 360], flows, 30))
    given = rates_of(some_zones(uniformity=[0.95]), some_heads([360, 360], flows, 30))

    assert rates.uniformity[0] == pytest.approx(0.6865, abs=5e-5)
    assert rates.uniformity_source == ("head imbalance",)
    assert given.uniformity[0] == pytest.approx(10 / 11, rel=1e-12)
    assert given.usual_uniformity[0] == 0.95
    assert given.uniformity_source == ("head imbalance",)
    assert given.run_time_multiplier[0] == pytest.approx(
        1 / (0.4 + 0.6 * 10 / 11), rel=1e-12
    )


# Cautions at their limits


# The method, step 2: ground and a measured area more than 15 % apart. The heads' four
# squares of 30 ft are 3600 ft².
@pytest.mark.parametrize(
    ("measured_ft2", "apart"),
    [(3600 / 1.15, False), (3600 / 1.1499, False), (3600 / 1.1501, True),
     (3600 / 0.85, False), (3600 / 0.8501, False), (3600 / 0.8499, True)],
)  # fmt: skip
def test_area_mismatch_is_over_15_percent_either_way(measured_ft2, apart):
    zones = some_zones(area_m2=[measured_ft2 * FT2])

    rates = rates_of(zones, some_heads([360] * 4, 3.0, 30))

    assert ("area-mismatch" in codes(rates)) is apart
    # The measured area is what the rate stands on.
    assert rates.rate_mm_h[0] / IN_H == pytest.approx(96.25 * 12 / measured_ft2)


# The method, step 1: site pressure over 1.3 times the chart's turns spray to mist.
@pytest.mark.parametrize(
    ("site_psi", "regulated", "too_high"),
    [(39, False, False), (38.9, False, False), (39.01, False, True), (80, True, False)],
)
def test_pressure_too_high_is_over_1_3_of_the_charts(site_psi, regulated, too_high):
    zones = some_zones(regulated=[regulated])
    heads = some_heads([360] * 2, 3.0, 30, pressure_kpa=30 * PSI)

    rates = rates_of(zones, heads, site_psi * PSI)

    assert codes(rates) == ["pressure-too-high"] * too_high


# On one valve stand heads whose chart is for 30 psi and for 45. By hand: 50 psi is over
# 1.3 · 30 = 39 and under 1.3 · 45 = 58.5. The head told of is the one in trouble,
# whichever row it is; with 70 psi both mist, that of 30 more.
@pytest.mark.parametrize("chart_psi", [(30, 45), (45, 30)])
@pytest.mark.parametrize("site_psi", [50, 70])
def test_pressure_is_told_of_the_head_that_it_suits_least(site_psi, chart_psi):
    heads = some_heads([360] * 2, 3.0, 30, pressure_kpa=np.array(chart_psi) * PSI)

    rates = rates_of(some_zones(), heads, site_psi * PSI)

    (caution,) = [c for c in rates.cautions if c.code != "unmatched-heads"]
    assert caution.code == "pressure-too-high"
    assert caution.values["chart_kpa"] == pytest.approx(30 * PSI, rel=1e-12)


def test_cautions_name_the_zone_that_they_are_for():
    zones = some_zones(3, area_m2=[np.nan, 100 * FT2, 900 * FT2])
    heads = some_heads([360] * 4, [2, 2, 2, 5], 30, zone=[0, 1, 2, 0])

    rates = rates_of(zones, heads, 300.0)

    assert [(c.code, c.zone) for c in rates.cautions] == [
        ("unmatched-heads", "1"), ("area-mismatch", "2"),
    ]  # fmt: skip


def test_zones_without_heads_have_no_cautions_of_heads():
    zones = some_zones(2, flow_l_min=[10, 20], area_m2=[50, 60])

    assert rates_of(zones, some_heads([], 1.0)).cautions == ()


# The method, step 2: a measured rate scales the peak by the same share, and the wettest
# can stands where it is higher. By hand: heads of 1.0 and 1.2 in/h on like ground are
# 1.1 in/h; cans that caught 0.55 halve the peak of 1.2 to 0.6; a can of 0.8 is wetter.
@pytest.mark.parametrize(
    ("measured", "tested", "wettest", "peak"),
    [(np.nan, np.nan, np.nan, 1.2), (0.55, np.nan, np.nan, 0.6),
     (np.nan, 0.55, 0.5, 0.6), (np.nan, 0.55, 0.8, 0.8), (2.2, np.nan, np.nan, 2.4)],
)  # fmt: skip
def test_a_measured_rate_scales_the_peak(measured, tested, wettest, peak):
    heads = some_heads([360, 360], np.array([1.0, 1.2]) * 900 / 96.25, 30)

    rates = nozzles.zone_rates(
        some_zones(rate_mm_h=[measured * IN_H]), heads, library.head_kinds(),
        tested_rate_mm_h=tested * IN_H, wettest_mm_h=wettest * IN_H,
    )  # fmt: skip

    assert rates.peak_rate_mm_h[0] / IN_H == pytest.approx(peak, rel=1e-12)
