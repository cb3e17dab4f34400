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
