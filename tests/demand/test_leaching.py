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


# By hand: LR = 1/2 where 2 ECw = 5 ECe - ECw, at ECw = 5/3 ECe; 1.6 / (5 - 1.6) = 0.47
# is still under it. At ECw = 5 ECe and beyond the fraction has no meaning.
@pytest.mark.parametrize("water", [5 / 3, 1.7, 4.0, 5.0, 6.0, 1e6])
def test_leaching_requirement_is_held_to_a_half(water):
    assert leaching.leaching_requirement(water, 1.0) == pytest.approx(0.5, rel=1e-12)
    assert leaching.leaching_requirement(1.6, 1.0) == pytest.approx(1.6 / 3.4)


def test_leaching_requirement_is_0_where_no_threshold_is_known():
    found = leaching.leaching_requirement(3.0, [np.nan, 1.0, 15.0])

    np.testing.assert_allclose(found, [0.0, 0.5, 3 / 72], rtol=1e-12)


def test_leaching_requirement_is_nan_where_the_salinity_is():
    assert np.isnan(leaching.leaching_requirement(np.nan, 2.0))


def test_leaching_requirement_refuses_negative_salinity_and_no_threshold():
    with pytest.raises(ValueError, match="salinity_ds_m must be 0 or more, got -1"):
        leaching.leaching_requirement(-1, 2)
    with pytest.raises(ValueError, match="salt_threshold_ds_m must be over 0, got 0"):
        leaching.leaching_requirement(1, 0)


# Of all that goes in a share LR passes below the roots and 1 - LR stays, so what stays
# of the gross water is the net again: gross · (1 - LR) = net · multiplier. At 0.2 and
# 0.5 the factor is 5/4 and 2 times the multiplier.
@pytest.mark.parametrize(
    ("requirement", "expected"), [(0.0, 1.2), (0.2, 1.5), (0.5, 2.4)]
)
def test_gross_factor_leaves_the_net_water_above_the_roots(requirement, expected):
    factor = leaching.gross_factor(1.2, requirement)

    assert factor == pytest.approx(expected, rel=1e-12)


def test_gross_factor_has_the_shape_of_what_it_is_given():
    factor = leaching.gross_factor([1.0, np.nan], [[0.0], [0.5]])

    assert factor.shape == (2, 2)
    assert np.isnan(factor[:, 1]).all()
    assert leaching.gross_factor(1.25) == 1.25


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((-1, 0), "run_time_multiplier must be 0 or more, got -1"),
        ((1, -0.1), "leaching_requirement must be 0 or more, got -0.1"),
        ((1, 1), "leaching_requirement must be under 1, got 1"),
    ],
)
def test_gross_factor_refuses(arguments, words):
    with pytest.raises(ValueError, match=words):
        leaching.gross_factor(*arguments)
