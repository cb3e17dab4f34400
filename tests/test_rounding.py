"""Rounding up and down with a tolerance, as the method of the table asks for."""

import numpy as np
import pytest

from scheduler import rounding

# The method: quotients take a tolerance of 1e-9 before they are rounded. So a number
# that float error has moved off a whole one by less counts as whole; 1e-8 is no error.
WHOLE_BUT_FOR_FLOAT_ERROR = 5e-10
A_REAL_DIFFERENCE = 1e-8


@pytest.mark.parametrize("whole", [0.0, 1.0, 3.0, 28.0, 240.0])
def test_floor_keeps_a_whole_number_that_float_error_made_smaller(whole):
    assert rounding.floor_(whole - WHOLE_BUT_FOR_FLOAT_ERROR) == whole
    assert rounding.floor_(whole) == whole
    assert rounding.floor_(whole - A_REAL_DIFFERENCE) == whole - 1
    assert rounding.floor_(whole + 0.999) == whole


@pytest.mark.parametrize("whole", [0.0, 1.0, 3.0, 28.0, 240.0])
def test_ceil_keeps_a_whole_number_that_float_error_made_larger(whole):
    assert rounding.ceil_(whole + WHOLE_BUT_FOR_FLOAT_ERROR) == whole
    assert rounding.ceil_(whole) == whole
    assert rounding.ceil_(whole + A_REAL_DIFFERENCE) == whole + 1
    assert rounding.ceil_(whole - 0.999) == whole


# Exact decimals: 0.3 / 0.1 is 3 and 0.6 / 0.2 is 3, but 2.9999999999999996 in float;
# 0.95 · 20 / 1.9 is 10.
def test_quotients_that_are_whole_in_decimals_stay_whole():
    quotients = np.array([0.3 / 0.1, 0.6 / 0.2, 0.95 * 20 / 1.9])

    np.testing.assert_array_equal(rounding.floor_(quotients), [3, 3, 10])
    np.testing.assert_array_equal(rounding.ceil_(quotients), [3, 3, 10])


def test_rounding_keeps_shape_nan_and_infinity_and_its_argument():
    numbers = np.array([[1.5, np.nan], [np.inf, -1.5]])
    before = numbers.copy()

    np.testing.assert_array_equal(rounding.floor_(numbers), [[1, np.nan], [np.inf, -2]])
    np.testing.assert_array_equal(rounding.ceil_(numbers), [[2, np.nan], [np.inf, -1]])
    np.testing.assert_array_equal(numbers, before)
