"""Effective rain against SCS Technical Release 21 and its limits.

TR-21 is USDA Soil Conservation Service, Technical Release 21 (1967, revised 1970), as
repeated in USDA-NRCS, National Engineering Handbook 623, chapter 2, eqs. 2-84 and 2-85
(second-hand).
"""

import math

import numpy as np
import pytest

from scheduler.demand import rain

IN = 25.4  # mm, exact


def by_tr21_in_inches(rain_in, need_in, storage_in):
    """TR-21 once more, in its own inches, on plain numbers."""
    d = min(max(storage_in, 0.75), 7.0)
    factor = 0.531747 + 0.295164 * d - 0.057697 * d * d + 0.003804 * d * d * d
    usable = factor * (0.70917 * rain_in**0.82416 - 0.11556)
    usable *= math.pow(10, 0.02426 * need_in)
    return max(0.0, min(usable, rain_in, need_in))


# TR-21's formulas worked outside this program for 3 in of storage (computed from
# the formula, not printed in the source): in of rain, need, effective rain.
@pytest.mark.parametrize(
    ("rain_in", "need_in", "expected_in"),
    [(1, 4, 0.743), (2, 4, 1.426), (3, 6, 2.292), (4, 6, 2.949), (4, 8, 3.297)],
)
def test_effective_rain_tr21_has_the_values_of_the_formula(
    rain_in, need_in, expected_in
):
    found = rain.effective_rain_tr21(rain_in * IN, need_in * IN, 3 * IN) / IN

    assert found == pytest.approx(expected_in, abs=0.0005)


# TR-21, storage factor, worked outside this program (computed from the formula). The
# first and the last are the ends of the printed table.
@pytest.mark.parametrize(
    ("storage_in", "factor"),
    [(0.75, 0.722), (1, 0.773), (1.5, 0.858), (2, 0.922), (2.5, 0.968), (3, 1.001),
     (4, 1.033), (5, 1.041), (6, 1.047), (7, 1.076)],
)  # fmt: skip
def test_storage_factor_has_the_values_of_the_polynomial(storage_in, factor):
    assert rain.storage_factor(storage_in * IN) == pytest.approx(factor, abs=0.0005)


# FAO-24, table 34, storage factors by mm of storage, from memory: 20, 25, 50, 75 and
# 100 mm. The table rounds to 0.01 and was drawn, not computed: at 100 mm it prints
# 1.02 where the polynomial has 1.032, so 0.015.
@pytest.mark.parametrize(
    ("storage_mm", "factor"), [(20, 0.73), (25, 0.77), (50, 0.93), (75, 1.00),
                               (100, 1.02)],
)  # fmt: skip
def test_storage_factor_agrees_with_the_metric_table(storage_mm, factor):
    assert rain.storage_factor(storage_mm) == pytest.approx(factor, abs=0.015)


@pytest.mark.parametrize(
    ("storage_in", "held_in"), [(0, 0.75), (0.1, 0.75), (0.7499, 0.75), (7.001, 7),
                                (40, 7)],
)  # fmt: skip
def test_storage_factor_is_held_to_the_printed_range(storage_in, held_in):
    assert rain.storage_factor(storage_in * IN) == rain.storage_factor(held_in * IN)


# FAO-24, table 34 (also FAO-25), effective mm for 75 mm of storage, from memory. It was
# drawn up from TR-21 with rounding of its own: formula and table agree within 1 mm.
@pytest.mark.parametrize(
    ("need_mm", "printed"),
    [(100, [19, 35, 52, 66]), (150, [21, 39, 57, 74]), (200, [24, 44, 64, 82])],
)
def test_effective_rain_tr21_agrees_with_the_metric_table(need_mm, printed):
    found = rain.effective_rain_tr21([25, 50, 75, 100], need_mm, 75)

    np.testing.assert_allclose(found, printed, rtol=0, atol=1.0)


# Agreement of the US formula with its SI form, SF (1.25247 P^0.82416 - 2.93522)
# 10^(0.000955 ETc), in mm. The three SI constants are rounded: to 5e-6 of P^0.82416, to
# 5e-6 mm, and to 5e-7 in the power: at a need of E mm that is a share of 5e-7 ln(10) E.
def test_effective_rain_tr21_agrees_with_its_si_form():
    random = np.random.default_rng(21)
    rain_mm = random.uniform(5, 250, 2000)
    need_mm = random.uniform(100, 500, 2000)
    storage_mm = random.uniform(0.75 * IN, 7 * IN, 2000)
    d = storage_mm / IN
    factor = 0.531747 + 0.295164 * d - 0.057697 * d**2 + 0.003804 * d**3
    power = 10 ** (0.000955 * need_mm)
    si = factor * (1.25247 * rain_mm**0.82416 - 2.93522) * power
    room = factor * power * (5e-6 * rain_mm**0.82416 + 5e-6)
    room += si * 5e-7 * math.log(10) * need_mm * 1.01
    expected = np.minimum(np.minimum(si, rain_mm), need_mm)

    found = rain.effective_rain_tr21(rain_mm, need_mm, storage_mm)

    assert np.count_nonzero((si < rain_mm) & (si < need_mm)) > 500
    assert np.all(np.abs(found - expected) <= room)


def test_effective_rain_tr21_is_that_of_plain_inches():
    random = np.random.default_rng(84)
    rain_in = random.uniform(0, 12, 3000) * (random.random(3000) < 0.9)
    need_in = random.uniform(0, 12, 3000)
    storage_in = random.uniform(0, 9, 3000)
    expected = [
        by_tr21_in_inches(*row)
        for row in zip(rain_in, need_in, storage_in, strict=True)
    ]

    found = rain.effective_rain_tr21(rain_in * IN, need_in * IN, storage_in * IN)

    np.testing.assert_allclose(found / IN, expected, rtol=1e-10, atol=1e-12)


# TR-21: never above the rain or the need. Less than 0.11056 in, (0.11556 / 0.70917) to
# the 1 / 0.82416, is taken as nothing: 0.16295^1.21336 = 0.11064.
def test_effective_rain_tr21_is_never_above_rain_or_need_nor_below_nothing():
    random = np.random.default_rng(85)
    rain_mm = random.uniform(0, 400, 4000)
    need_mm = random.uniform(0, 400, 4000)

    found = rain.effective_rain_tr21(rain_mm, need_mm, random.uniform(0, 250, 4000))

    assert np.all(found >= 0)
    assert np.all(found <= rain_mm)
    assert np.all(found <= need_mm)
    assert rain.effective_rain_tr21(0.11 * IN, 100, 75) == 0
    assert rain.effective_rain_tr21(0.112 * IN, 100, 75) > 0


def test_effective_rain_tr21_is_nan_where_an_argument_is():
    found = rain.effective_rain_tr21(
        [np.nan, 50, 50], [100, np.nan, 100], [75, 75, np.nan]
    )

    assert np.isnan(found).all()


@pytest.mark.parametrize(
    ("arguments", "name"),
    [((-1, 100, 75), "rain_mm"), ((50, -1, 75), "plant_need_mm"),
     ((50, 100, -1), "storage_mm")],
)  # fmt: skip
def test_effective_rain_tr21_refuses_negative_depths(arguments, name):
    with pytest.raises(ValueError, match=f"{name} must be 0 or more, got -1"):
        rain.effective_rain_tr21(*arguments)


# Common practice: half the rain counts. By hand: half of 40 is 20, but a need of 15
# takes no more than 15; a quarter of 80 (California water budgets) is 20.
@pytest.mark.parametrize(
    ("rain_mm", "need_mm", "share", "expected"),
    [(40, 100, 0.5, 20), (40, 15, 0.5, 15), (80, 100, 0.25, 20), (40, 100, 1, 40),
     (0, 100, 0.5, 0), (40, 0, 0.5, 0)],
)  # fmt: skip
def test_effective_rain_share_is_a_share_of_rain_but_not_above_need(
    rain_mm, need_mm, share, expected
):
    found = rain.effective_rain_share(rain_mm, need_mm, share)

    assert found == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("share", [0.0, -0.5, 1.01, 50.0])
def test_effective_rain_share_refuses_what_is_no_share(share):
    with pytest.raises(ValueError, match="share must be over 0 and up to 1, got"):
        rain.effective_rain_share(40, 100, share)
