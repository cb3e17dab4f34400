"""Leaching requirement; FAO-29 is Ayers and Westcot (1985), paper 29, revision 1."""

import numpy as np
import pytest

from scheduler.demand import leaching


# FAO-29, from memory: LR = ECw / (5 ECe - ECw). By hand: 1 / (10 - 1) = 1/9; 2 / (5 ·
# 3.9 - 2) = 2/17.5; 0.7 / (5 · 1.5 - 0.7) = 0.7/6.8; no salt, no leaching.
@pytest.mark.parametrize(
    ("water", "soil", "expected"),
    [(1, 2, 1 / 9), (2, 3.9, 2 / 17.5), (0.7, 1.5, 0.7 / 6.8), (0, 2, 0)],
)
def test_leaching_requirement_is_that_of_fao29(water, soil, expected):
    found = leaching.leaching_requirement(water, soil)

    assert found == pytest.approx(expected, rel=1e-12, abs=0)


# Paspalum turf under water of 10 dS/m that stands 12: a share of 0.2, water of 125 % of
# ET (M. Woods, turf science blog, 2021; read). Average recycled water of southern
# California, 1.25 dS/m, by the plants' threshold (worked out from the formula in the
# reference): 0.04, 0.07, 0.20, 0.33.
def test_leaching_requirement_is_that_of_the_worked_examples():
    turf = leaching.leaching_requirement(10, 12)
    recycled = leaching.leaching_requirement(1.25, [6.9, 3.9, 1.5, 1.0])

    assert turf == pytest.approx(0.2, rel=1e-12)
    assert leaching.gross_factor(1.0, turf) == pytest.approx(1.25, rel=1e-12)
    np.testing.assert_allclose(recycled, [0.04, 0.07, 0.20, 0.33], atol=0.005)


# FAO-29's own example (from memory): maize of 2.5 dS/m under 1.2, ET 800 mm: 0.10 and
# 890 mm; the formula gives 0.106 and 895.
def test_leaching_requirement_is_near_that_of_the_papers_example():
    share = leaching.leaching_requirement(1.2, 2.5)

    assert share == pytest.approx(0.10, abs=0.01)
    assert 800 / (1 - share) == pytest.approx(890, abs=6)


# By hand: LR = 1/3 where 3 ECw = 5 ECe - ECw, at ECw = 5/4 ECe; 1.2 / (5 - 1.2) = 0.316
# is still under it. At ECw = 5 ECe and beyond the fraction has no meaning.
@pytest.mark.parametrize("water", [5 / 4, 1.7, 4.0, 5.0, 6.0, 1e6])
def test_leaching_requirement_is_held_to_a_third(water):
    assert leaching.leaching_requirement(water, 1.0) == pytest.approx(1 / 3, rel=1e-12)
    assert leaching.leaching_requirement(1.2, 1.0) == pytest.approx(1.2 / 3.8)


def test_leaching_requirement_is_0_where_no_threshold_is_known():
    found = leaching.leaching_requirement(3.0, [np.nan, 1.0, 15.0])

    np.testing.assert_allclose(found, [0.0, 1 / 3, 3 / 72], rtol=1e-12)


def test_leaching_requirement_is_nan_where_the_salinity_is():
    assert np.isnan(leaching.leaching_requirement(np.nan, 2.0))


def test_leaching_requirement_refuses_negative_salinity_and_no_threshold():
    with pytest.raises(ValueError, match="salinity_ds_m must be 0 or more, got -1"):
        leaching.leaching_requirement(-1, 2)
    with pytest.raises(ValueError, match="salt_threshold_ds_m must be over 0, got 0"):
        leaching.leaching_requirement(1, 0)


# FAO-29, from memory: what is laid down is need / (1 - LR). By hand: where a tenth has
# to pass, 1/0.9; where half has to, twice; on ground of DU 0.5, 1/0.7 of that.
def test_gross_factor_is_the_multiplier_over_what_does_not_leach():
    found = leaching.gross_factor([1.0, 1.0, 1 / 0.7, np.nan], [0.1, 0.5, 0.5, 0.0])

    np.testing.assert_allclose(found, [1 / 0.9, 2, 2 / 0.7, np.nan], rtol=1e-12)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [((-1, 0.1), "run_time_multiplier must be 0 or more, got -1"),
     ((1.2, -0.1), "leaching_requirement must be 0 or more, got -0.1"),
     ((1.2, 1.0), "leaching_requirement must be under 1, got 1")],
)  # fmt: skip
def test_gross_factor_refuses_what_is_no_factor_or_share(arguments, message):
    with pytest.raises(ValueError, match=message):
        leaching.gross_factor(*arguments)


# Without rain and drainage the equation for the year is the requirement itself.
@pytest.mark.parametrize(
    ("water", "soil"), [(1, 2), (2, 3.9), (0.7, 1.5), (6, 1), (0, 2)]
)
def test_leaching_beside_no_rain_is_the_requirement(water, soil):
    found = leaching.leaching_beside_rain(water, soil, 700, 0, 0)

    assert found == pytest.approx(leaching.leaching_requirement(water, soil), rel=1e-9)


# The law that the answer has to keep to: what drains, the added water with it, is the
# share of all the water that FAO-29's formula asks of its mix. By brute force over a
# thousand amounts of added water.
@pytest.mark.parametrize("rain", [0.0, 200.0, 700.0])
@pytest.mark.parametrize("drained", [0.0, 40.0])
@pytest.mark.parametrize(("water", "soil"), [(1.0, 1.5), (2.0, 3.9), (3.0, 2.0)])
def test_leaching_beside_rain_is_the_least_that_keeps_the_salt(
    water, soil, rain, drained
):
    found = float(leaching.leaching_beside_rain(water, soil, 600, rain, drained))

    def soil_after(added):
        everything = 600 + rain + added
        mixed = water * (600 + added) / everything
        return mixed * (1 + everything / (drained + added)) / 5

    tried = np.linspace(1e-6, 300, 100_001)
    enough = tried[[soil_after(added) <= soil for added in tried]]
    least = enough[0] if enough.size else 300.0
    assert found * 600 / (1 - found) == pytest.approx(least, abs=0.004)


def test_rain_that_washes_enough_leaves_nothing_to_add():
    found = leaching.leaching_beside_rain(1.25, [1.5, np.nan], 600, 800, [250, 0])

    assert found.tolist() == [0.0, 0.0]


# The soil is at its threshold where just what is asked for drains.
def test_salinity_of_soil_is_the_requirement_turned_round():
    share = leaching.leaching_requirement(2.0, 3.9)

    assert leaching.salinity_of_soil(2.0, 1000, 0, 1000 * share) == pytest.approx(3.9)
    assert np.isinf(leaching.salinity_of_soil(2.0, 1000, 0, 0))
    # ECe is about 1.5 ECw where 15 to 20 % drains (FAO-29's rule, second-hand).
    assert leaching.salinity_of_soil(1.0, 1000, 0, [150, 200]) == pytest.approx(
        [1.5, 1.2], abs=0.35
    )


# Common practice: nothing is added under sprinklers while a tenth is not reached.
def test_leaching_is_not_added_under_sprinklers_while_it_is_light():
    found = leaching.leaching_added([0.099, 0.099, 0.1, 0.3], [True, False, True, True])

    assert found.tolist() == [0.0, 0.099, 0.1, 0.3]
