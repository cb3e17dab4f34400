"""Slope classes, the longest run without runoff, and the soak that follows it."""

import numpy as np
import pytest

from scheduler.inputs import library
from scheduler.soil import intake

LIMITS = (3, 6, 12)


# Irrigation Association, Landscape Irrigation Scheduling and Water Management (2005),
# second-hand: the classes are 0-3, 4-6, 7-12 and over 12 %.
@pytest.mark.parametrize(
    ("slope_percent", "expected"),
    [(0, 0), (2.9, 0), (3, 0), (4, 1), (6, 1), (7, 2), (12, 2), (12.01, 3), (13, 3),
     (100, 3)],
)  # fmt: skip
def test_slope_class_has_the_published_edges(slope_percent, expected):
    assert intake.slope_class(slope_percent, LIMITS) == expected


# The classes leave 3 to 4 and 6 to 7 % open; common practice: count as the steeper.
@pytest.mark.parametrize(("slope_percent", "expected"), [(3.01, 1), (3.5, 1), (6.01, 2),
                                                         (6.5, 2)])  # fmt: skip
def test_slope_class_between_two_classes_is_the_steeper(slope_percent, expected):
    assert intake.slope_class(slope_percent, LIMITS) == expected


def test_slope_class_of_the_packages_own_limits_finds_the_published_accumulation():
    # Same source: clay 0.20, 0.15, 0.10, 0.10 in; loam 0.30, 0.25, 0.21, 0.17 in.
    soils = library.package_soils()
    classes = intake.slope_class([2, 5, 10, 20], library.slope_limits_percent())

    for soil, inches in [("clay", [0.20, 0.15, 0.10, 0.10]),
                         ("loam", [0.30, 0.25, 0.21, 0.17])]:  # fmt: skip
        row = soils.names.index(soil)
        np.testing.assert_allclose(
            soils.accumulation_mm[row, classes] / 25.4, inches, rtol=1e-12
        )


def test_slope_class_refuses_a_negative_slope():
    with pytest.raises(ValueError, match="slope_percent must be 0 or more, got -1"):
        intake.slope_class([-1, 3], LIMITS)


# Irrigation Association (second-hand): Rt = 60 ASA / (PR - IR), inches and in/h. The
# minutes are computed from the formula outside this program: loam and clay on the
# flat, clay over 12 %, clay loam on the flat.
FORMULA_VALUES = [
    (0.30, 1.50, 0.35, "15.65"),
    (0.20, 1.60, 0.10, "8.00"),
    (0.10, 1.60, 0.10, "4.00"),
    (0.26, 1.60, 0.20, "11.14"),
    # Clay loam at 4-6 %, 96.25 · 30 / 2000 in/h: a chain worked outside this program.
    (0.22, 96.25 * 30 / 2000, 0.20, "10.61"),
    # Six virtual zones (from memory, as numbers for the formula only): loam 6 %, silty
    # clay 10 %, loamy sand 8 %, sandy loam 12 %, clay 20 %.
    (0.25, 1.60, 0.35, "12.0"),
    (0.16, 1.60, 0.15, "6.62"),
    (0.26, 1.40, 0.50, "17.33"),
    (0.24, 1.40, 0.40, "14.4"),
    (0.10, 0.35, 0.10, "24.0"),
]


@pytest.mark.parametrize(("depth", "rate", "into_soil", "minutes"), FORMULA_VALUES)
@pytest.mark.parametrize("mm_per_unit", [1.0, 25.4])
def test_longest_run_without_runoff_has_the_values_of_the_formula(
    depth, rate, into_soil, minutes, mm_per_unit
):
    found = intake.longest_run_without_runoff(
        depth * mm_per_unit, rate * mm_per_unit, into_soil * mm_per_unit
    )

    half_unit = 0.5 * 10 ** -len(minutes.split(".")[1])
    assert found == pytest.approx(float(minutes), abs=half_unit)


# No limit where the soil takes in all that falls: clay loam under drip of 0.20 in/h.
@pytest.mark.parametrize(("rate", "into_soil"), [(5.08, 5.08), (5.07, 5.08), (1, 30)])
def test_longest_run_without_runoff_has_no_limit_up_to_the_intake(rate, into_soil):
    assert intake.longest_run_without_runoff(5, rate, into_soil) == np.inf


# A law: n cycles, each as long as the rate lets it be, lay the depth. And there is no
# limit to the rate where the surface holds all of it.
def test_rate_for_cycles_is_that_whose_longest_runs_lay_the_depth():
    random = np.random.default_rng(6)
    depth = random.uniform(5, 50, 500)
    allowed = random.uniform(2, 12, 500)
    into_soil = random.uniform(2, 20, 500)
    cycles = random.integers(1, 6, 500)

    rate = intake.rate_for_cycles(depth, allowed, into_soil, cycles)

    finite = np.isfinite(rate)
    np.testing.assert_array_equal(finite, cycles * allowed < depth)
    minutes = intake.longest_run_without_runoff(
        allowed[finite], rate[finite], into_soil[finite]
    )
    laid = cycles[finite] * minutes * rate[finite] / 60
    np.testing.assert_allclose(laid, depth[finite], rtol=1e-9)
    assert 100 < np.count_nonzero(finite) < 400


def surface_store(cycle_min, rate_mm_h, intake_mm_h, step_s=0.1):
    """Depth on the surface and minutes till it is gone, by a balance in small steps."""
    h = step_s / 3600
    stands, deepest, minutes = 0.0, 0.0, 0.0
    while minutes < cycle_min - 1e-9 or stands > 1e-9:
        falls = rate_mm_h * h if minutes < cycle_min - 1e-9 else 0.0
        goes_in = min(intake_mm_h * h, stands + falls)
        stands += falls - goes_in
        deepest = max(deepest, stands)
        minutes += step_s / 60
    return deepest, minutes - cycle_min


# A law: at the end of the longest run just the allowed depth stands on the surface. The
# balance runs in steps of 0.1 s, in which 40 mm/h lay 0.0011 mm.
@pytest.mark.parametrize(
    ("rate", "into_soil", "depth"), [(38.1, 8.89, 7.62), (20, 2.5, 2.5), (60, 15, 6)]
)
def test_longest_run_without_runoff_fills_the_allowed_depth(rate, into_soil, depth):
    minutes = float(intake.longest_run_without_runoff(depth, rate, into_soil))

    deepest, _ = surface_store(minutes, rate, into_soil)

    assert deepest == pytest.approx(depth, abs=2 * rate * 0.1 / 3600)


# The same balance: the soak ends when nothing stands on the surface. Half a second.
@pytest.mark.parametrize(
    ("cycle_min", "rate", "into_soil"),
    [(10, 30, 10), (12, 40.64, 8.89), (8, 40.64, 2.54), (25, 6, 5), (5, 60, 15)],
)
def test_soak_to_go_in_ends_when_the_surface_is_dry(cycle_min, rate, into_soil):
    _, dry_after = surface_store(cycle_min, rate, into_soil)

    found = intake.soak_to_go_in(cycle_min, rate, into_soil)

    assert found == pytest.approx(dry_after, abs=0.5 / 60)


# A law: water in = water out. What fell in the cycle goes in in cycle and soak.
def test_soak_to_go_in_closes_the_water_balance():
    random = np.random.default_rng(7)
    cycle, into_soil = random.uniform(1, 60, 500), random.uniform(1, 20, 500)
    rate = into_soil * random.uniform(1, 8, 500)

    soak = intake.soak_to_go_in(cycle, rate, into_soil)

    np.testing.assert_allclose(cycle * rate, (cycle + soak) * into_soil, rtol=1e-12)


def test_soak_to_go_in_is_nothing_where_the_soil_takes_in_all():
    np.testing.assert_array_equal(intake.soak_to_go_in(30, [4, 5], 5), [0, 0])


def test_intake_formulas_keep_nan():
    arguments = [np.nan, 5, 5], [20, np.nan, 20], [5, 5, np.nan]

    assert np.isnan(intake.longest_run_without_runoff(*arguments)).all()
    assert np.isnan(intake.soak_to_go_in(*arguments)).all()


@pytest.mark.parametrize("formula", [intake.longest_run_without_runoff,
                                     intake.soak_to_go_in])  # fmt: skip
@pytest.mark.parametrize(
    ("arguments", "message"),
    [((-1, 20, 5), "(accumulation_mm|cycle_min) must be 0 or more, got -1"),
     ((5, 0, 5), "peak_rate_mm_h must be over 0, got 0"),
     ((5, 20, 0), "intake_mm_h must be over 0, got 0")],
)  # fmt: skip
def test_intake_formulas_refuse_what_cannot_be(formula, arguments, message):
    with pytest.raises(ValueError, match=message):
        formula(*arguments)
