"""Coverage of a site's zones: what is missing, at which pressure, what is told."""

import dataclasses

import numpy as np
import pytest
from laid_heads import box, site_of, three_by_three

from scheduler.rates.coverage import grid as coverage


# Half the ground at 0, half at twice the mean m: the mean of |x - m| is m, so CU is 0.
def test_ground_half_dry_is_told(base):
    site = site_of(base, [(0, 0, 180, 90, 20, 20)], box(-4, -3, 4, 3))
    found = coverage.cover_site(site, "uniform")
    zone = found.zones[0]

    assert zone.uniformity_lq == 0
    assert zone.christiansen_percent == pytest.approx(0, abs=1e-9)
    assert zone.scheduling_coefficient == np.inf
    assert zone.driest_mm_h == 0
    assert zone.driest_x_m < 0
    (caution,) = found.cautions
    assert caution.code == "ground-dry"
    assert caution.zone == "1"
    assert caution.values["share"] == pytest.approx(0.5, rel=1e-9)
    assert coverage.modelled_uniformity(found, 1)[0] == 0


# q = q_chart · √(P/P_chart): at a quarter of the chart's pressure half the flow.
def test_flow_is_that_at_the_pressure_of_the_site(base):
    heads = three_by_three(8, 8.3, 10)
    site = site_of(base, heads, pressure_kpa=np.full(9, 400.0))
    low = dataclasses.replace(site.supply, pressure_kpa=100.0)
    found = coverage.cover_site(dataclasses.replace(site, supply=low))

    assert found.zones[0].flow_l_min == pytest.approx(40 / 2, rel=1e-12)


def test_zones_without_places_are_left_out(base):
    site = site_of(base, three_by_three(8, 8.3, 10))
    found = coverage.cover_site(site)

    assert [zone.zone for zone in found.zones] == [0]
    assert found.without == tuple(range(1, len(site.zones)))
    assert coverage.cover_site(site, only=2).without == (2,)
    assert coverage.cover_site(site, only=2).zones == ()


def test_modelled_uniformity_is_nan_where_places_are_lacking(base):
    site = site_of(base, three_by_three(8, 8.3, 10))
    found = coverage.cover_site(site)
    uniformity = coverage.modelled_uniformity(found, len(site.zones))

    expected = found.zones[0].uniformity_lq
    assert uniformity[0] == expected
    assert np.isnan(uniformity[1:]).all()


@pytest.mark.parametrize(
    ("missing", "changes"),
    [
        ("place", {"x_m": np.nan, "y_m": np.nan}),
        ("facing", {"facing_deg": np.nan}),
        ("radius", {"radius_m": np.nan}),
        ("flow", {"flow_l_min": np.nan}),
    ],
)
def test_zone_with_something_missing_is_not_guessed(base, missing, changes):
    site = site_of(base, three_by_three(8, 8.3, 10))
    heads = site.heads
    columns = {name: getattr(heads, name).copy() for name in changes}
    for name, value in changes.items():
        columns[name][[0, 3]] = value
    site = dataclasses.replace(site, heads=dataclasses.replace(heads, **columns))
    found = coverage.cover_site(site)

    assert found.zones == ()
    (caution,) = found.cautions
    assert caution.code == "coverage-unknown"
    assert caution.values == {"missing": missing, "heads": ["1", "4"]}
    assert np.isnan(coverage.modelled_uniformity(found, 1)).all()


# What was worked out for one site may stand for another only where all that the water
# hangs on is the same: with nothing kept from before it comes out alike, and a change
# of any of it does not.
@pytest.mark.parametrize(
    "change",
    [{}, {"x_m": 0.5}, {"y_m": 0.5}, {"arc_deg": -10.0}, {"radius_m": -0.5},
     {"count": 1.0}, {"flow_l_min": 0.5}, {"facing_deg": 20.0}],
)  # fmt: skip
def test_coverage_is_that_of_the_site_whatever_was_worked_out_before(
    base, monkeypatch, change
):
    heads = [(0, 0, 90, 45, 6, 8), (6, 0, 90, 315, 6, 8),
             (6, 6, 90, 225, 6, 8), (0, 6, 90, 135, 6, 8)]  # fmt: skip
    site = site_of(base, heads, box(0, 0, 6, 6))
    before = coverage.cover_site(site).zones[0]
    changed = {name: getattr(site.heads, name).copy() for name in change}
    for name, by in change.items():
        changed[name][0] += by
    other = dataclasses.replace(site, heads=dataclasses.replace(site.heads, **changed))
    found = coverage.cover_site(other).zones[0]

    monkeypatch.setattr(coverage, "_KEPT", {})
    alone = coverage.cover_site(other).zones[0]
    np.testing.assert_array_equal(found.rate_mm_h, alone.rate_mm_h)
    np.testing.assert_array_equal(found.ground_mm_h, alone.ground_mm_h)
    assert found.uniformity_lq == alone.uniformity_lq
    assert np.array_equal(found.rate_mm_h, before.rate_mm_h) == (not change)


def test_full_circle_needs_no_facing(base):
    site = site_of(base, [(0, 0, 360, np.nan, 6, 8)], box(-3, -3, 3, 3))

    assert len(coverage.cover_site(site).zones) == 1


def test_heads_in_a_line_need_an_outline(base):
    heads = [(4 * i, 0, 180, 0, 4.2, 3) for i in range(4)]
    found = coverage.cover_site(site_of(base, heads))

    assert found.cautions[0].values == {"missing": "ground"}
    outlined = coverage.cover_site(site_of(base, heads, box(0, 0, 12, 3)))
    assert len(outlined.zones) == 1


def test_drip_throws_nothing_to_lay(base):
    site = site_of(base, three_by_three(8, 8.3, 10), zone=np.full(9, 3))
    found = coverage.cover_site(site)

    assert found.zones == ()
    assert found.cautions[0].values == {"missing": "spray"}


def test_head_outside_the_outline_is_told(base):
    heads = three_by_three(8, 8.3, 10)
    found = coverage.cover_site(site_of(base, heads, box(0, 0, 16, 14.5)))
    near = coverage.cover_site(site_of(base, heads, box(0.2, 0.2, 15.8, 15.8)))

    (caution,) = found.cautions
    assert caution.code == "head-outside"
    assert caution.values["heads"] == ["3", "6", "9"]
    assert caution.values["distance_m"] == pytest.approx(1.5)
    assert near.cautions == ()


# Common practice: a tape over a lawn errs by inches, not by a foot (0.305 m). A head
# 0.25 m outside may be the tape; at 0.4 m the outline or the place is wrong.
@pytest.mark.parametrize(("outside_m", "codes"), [(0.25, []), (0.4, ["head-outside"])])
def test_head_outside_by_less_than_a_foot_is_the_tapes_error(base, outside_m, codes):
    ground = box(0, 0, 16, 16 - outside_m)
    found = coverage.cover_site(site_of(base, three_by_three(8, 8.3, 10), ground))

    assert [caution.code for caution in found.cautions] == codes
