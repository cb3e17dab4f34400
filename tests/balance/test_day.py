"""One day of the ground, against FAO-56 and the normal law."""

import numpy as np
import pytest
from scipy import stats

from scheduler.balance import day as days

# FAO-56 (Allen and others 1998), example 37, p. 168: TAW 160 mm, RAW 64 mm, depletion
# 55 mm at the start, ET0 5 mm, Kc 1.2, no water for ten days. Printed to 0.1 mm and
# 0.01 of Ks.
EXAMPLE_37 = {
    "stress": [1.00, 1.00, 0.97, 0.91, 0.85, 0.80, 0.75, 0.70, 0.66, 0.62],
    "et_mm": [6.0, 6.0, 5.8, 5.4, 5.1, 4.8, 4.5, 4.2, 3.9, 3.7],
    "depletion_mm": [61.0, 67.0, 72.8, 78.3, 83.4, 88.2, 92.6, 96.9, 100.8, 104.5],
}


def test_played_day_is_example_37_of_fao56_digit_by_digit():
    depletion = np.float64(55.0)
    found = {name: [] for name in EXAMPLE_37}
    for _ in range(10):
        day = days.played_day(depletion, 0.0, 0.0, 6.0, 160.0, 64.0)
        depletion = day.depletion_mm
        for name, values in found.items():
            values.append(float(getattr(day, name)))

    np.testing.assert_allclose(found["stress"], EXAMPLE_37["stress"], atol=0.0051)
    np.testing.assert_allclose(found["et_mm"], EXAMPLE_37["et_mm"], atol=0.051)
    np.testing.assert_allclose(
        found["depletion_mm"], EXAMPLE_37["depletion_mm"], atol=0.051
    )


# FAO-56, example 38, p. 172: watered or rained on early in the day; TAW = 130 mm/m of
# root depth, RAW = 78 mm/m. Columns: root depth, rain less runoff, irrigation, Kc,
# ET0, then printed: start of the day after water, ETc, drained, end; in whole
# millimeters but for ETc.
EXAMPLE_38 = [
    (0.30, 0, 40, 1.21, 4.5, 5.5, 17, 5),
    (0.31, 0, 0, 1.21, 5.0, 6.1, 0, 12),
    (0.31, 0, 0, 1.04, 3.9, 4.0, 0, 16),
    (0.32, 0, 0, 0.70, 4.2, 2.9, 0, 18),
    (0.32, 0, 0, 0.52, 4.8, 2.5, 0, 21),
    (0.33, 6, 0, 1.00, 2.7, 2.7, 0, 18),
    (0.33, 0, 0, 0.82, 5.8, 4.7, 0, 22),
    (0.34, 0, 0, 0.55, 5.1, 2.8, 0, 25),
    (0.34, 0, 0, 0.47, 4.7, 2.2, 0, 27),
    (0.35, 0, np.inf, 1.21, 5.2, 6.3, 0, 6),  # 27 in print: to field capacity
]


def test_played_day_drains_before_plants_drink_as_example_38_has_it():
    depletion = np.float64(23.0)
    for root_m, rain, water, coefficient, et0, et, drained, end in EXAMPLE_38:
        water = min(water, depletion) if np.isinf(water) else water
        day = days.played_day(
            depletion, water, rain, coefficient * et0, 130 * root_m, 78 * root_m
        )

        assert float(day.et_mm) == pytest.approx(et, abs=0.1)
        assert float(day.drained_mm) == pytest.approx(drained, abs=0.51)
        assert float(day.depletion_mm) == pytest.approx(end, abs=0.51)
        depletion = day.depletion_mm


# Mean of the quarters of a standard normal law, by scipy: E[x | quarter] = 4 (pdf at
# its lower end - pdf at its upper end).
def test_quarter_depths_are_quarter_means_of_a_normal_law():
    ends = stats.norm.ppf([0, 0.25, 0.5, 0.75, 1])
    means = 4 * -np.diff(stats.norm.pdf(ends))
    uniformity = 0.62

    depths = days.quarter_depths(uniformity)

    np.testing.assert_allclose(depths, 1 + 0.38 * means / means[-1], atol=1e-4)
    assert depths[0] == pytest.approx(uniformity)
    assert depths.sum() == pytest.approx(4, rel=1e-12)


@pytest.mark.parametrize("uniformity", [-0.1, 1.1])
def test_quarter_depths_refuse_what_is_no_share(uniformity):
    with pytest.raises(ValueError, match="uniformity must be from 0 to 1"):
        days.quarter_depths(uniformity)


# A law: a day's change of the store is what came less what went.
def test_no_water_is_lost_or_made_in_a_day():
    random = np.random.default_rng(5)
    total = random.uniform(5, 200, 2000)
    allowed = total * random.uniform(0.1, 0.8, 2000)
    start = total * random.random(2000)
    water, rain = random.uniform(0, 60, (2, 2000)) * (random.random((2, 2000)) < 0.3)
    need = random.uniform(0, 12, 2000)

    day = days.played_day(start, water, rain, need, total, allowed)

    balance = start - water - rain + day.drained_mm + day.et_mm - day.depletion_mm
    np.testing.assert_allclose(balance, 0, atol=1e-9)
    assert (day.depletion_mm >= 0).all()
    assert (day.depletion_mm <= total + 1e-12).all()
    assert (day.et_mm <= need).all()


# Half an inch of store, 5 mm a day: 1.1 * 12.7. A need over the store counts instead.
def test_dry_limit_is_a_tenth_over_the_larger_of_store_and_need():
    np.testing.assert_allclose(
        days.dry_limit([12.7, 3.0, np.nan], [5.0, 5.0, 5.0]), [13.97, 5.5, np.nan]
    )
