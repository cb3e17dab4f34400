"""The root-zone store against FAO-56, and the months that it carries."""

import dataclasses

import numpy as np
import pytest

from scheduler.inputs import library
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.site import Zones
from scheduler.soil import storage

# FAO-56, example 36, p. 166: field capacity and wilting point of loamy sand 0.15 and
# 0.06, silt 0.32 and 0.15, silty clay 0.35 and 0.23; root depth in m and p of onion,
# tomato and maize; total and readily available water in mm.
EXAMPLE_36 = [
    ("onion", 0.4, 0.30, [(36, 11), (68, 20), (48, 14)]),
    ("tomato", 0.8, 0.40, [(72, 29), (136, 54), (96, 38)]),
    ("maize", 1.2, 0.55, [(108, 59), (204, 112), (144, 79)]),
]
FIELD_CAPACITY = np.array([0.15, 0.32, 0.35])
WILTING_POINT = np.array([0.06, 0.15, 0.23])


@pytest.mark.parametrize(("crop", "depth_m", "p", "printed"), EXAMPLE_36)
def test_store_agrees_with_fao56_example_36(crop, depth_m, p, printed):
    water_mm_m = (FIELD_CAPACITY - WILTING_POINT) * 1000

    total = storage.total_available_water(water_mm_m, depth_m * 1000)
    allowed = storage.allowed_depletion(total, p)

    # Half a millimeter, and float error where the value ends in .5.
    for (taw, raw), ours, readily in zip(printed, total, allowed, strict=True):
        assert ours == pytest.approx(taw, abs=0.5 + 1e-9)
        assert readily == pytest.approx(raw, abs=0.5 + 1e-9)


# FAO-56, example 37, p. 168: field capacity 0.32, wilting point 0.12, 0.8 m of roots,
# p = 0.40; depletion of 55 mm at the start, ET0 5 mm/day, Kc 1.2, no water. Stress
# factor, ETc and depletion at the end of each day as printed. Our store gives TAW and
# RAW; the balance is FAO-56's eqs. 84 and 85, written out here.
EXAMPLE_37 = [
    (1.00, 6.0, 61.0), (1.00, 6.0, 67.0), (0.97, 5.8, 72.8), (0.91, 5.4, 78.3),
    (0.85, 5.1, 83.4), (0.80, 4.8, 88.2), (0.75, 4.5, 92.6), (0.70, 4.2, 96.9),
    (0.66, 3.9, 100.8), (0.62, 3.7, 104.5),
]  # fmt: skip


def test_store_agrees_with_fao56_example_37():
    total = float(storage.total_available_water((0.32 - 0.12) * 1000, 800))
    readily = float(storage.allowed_depletion(total, 0.40))

    assert total == pytest.approx(160, abs=0.5)
    assert readily == pytest.approx(64, abs=0.5)
    depleted = 55.0
    for stress, et_mm, at_end in EXAMPLE_37:
        ks = 1.0
        if depleted > readily:
            ks = (total - depleted) / (total - readily)
        assert ks == pytest.approx(stress, abs=0.005)
        assert ks * 1.2 * 5 == pytest.approx(et_mm, abs=0.05)
        depleted += ks * 1.2 * 5
        assert depleted == pytest.approx(at_end, abs=0.05)


# In US units TAW = 12 (FC - WP) Zr in inches and feet (definition). By hand: clay loam
# of 0.18 in/in over 8 in holds 1.44 in; a turf that may use half of it, 0.72 in.
def test_store_of_eight_inches_of_clay_loam():
    total = storage.total_available_water(180, 8 * 25.4)
    allowed = storage.allowed_depletion(total, 0.5)

    assert total / 25.4 == pytest.approx(1.44, rel=1e-12)
    assert allowed / 25.4 == pytest.approx(0.72, rel=1e-12)


# Exact: emitters that wet half the root zone fill half the store.
def test_total_available_water_shrinks_with_the_wetted_share():
    whole = storage.total_available_water(150, 600)

    assert whole == pytest.approx(90, rel=1e-12)
    assert storage.total_available_water(150, 600, 0.5) == pytest.approx(45, rel=1e-12)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [((0, 300, 1), "available_water_mm_m must be over 0, got 0"),
     ((150, 0, 1), "root_depth_mm must be over 0, got 0"),
     ((150, 300, 0), "wetted_share must be over 0 and up to 1, got 0"),
     ((150, 300, 1.1), r"wetted_share must be over 0 and up to 1, got 1\.1")],
)  # fmt: skip
def test_total_available_water_refuses_what_cannot_be(arguments, message):
    with pytest.raises(ValueError, match=message):
        storage.total_available_water(*arguments)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [((-1, 0.5), "total_available_water_mm must be 0 or more, got -1"),
     ((90, 0), "depletion must be over 0 and up to 1, got 0"),
     ((90, 40), "depletion must be over 0 and up to 1, got 40")],
)  # fmt: skip
def test_allowed_depletion_refuses_what_cannot_be(arguments, message):
    with pytest.raises(ValueError, match=message):
        storage.allowed_depletion(*arguments)


def test_store_keeps_nan():
    assert np.isnan(storage.total_available_water([np.nan, 150], [300, np.nan])).all()
    assert np.isnan(storage.allowed_depletion([np.nan, 90], [0.5, np.nan])).all()


# The method, step 8, by hand, for a store of 20 mm; half of it is 10.
@pytest.mark.parametrize(
    ("need", "carried_months", "carried_in"),
    [
        # April needs 8 beside a March of 0; May pays.
        ([0, 0, 0, 8, 60, 90, 90, 80, 50, 20, 0, 0], [4], {5: 8}),
        # November needs 9.9 beside a December of 0: off, and nobody after it pays.
        ([0, 0, 0, 30, 60, 90, 90, 80, 50, 20, 9.9, 0], [11], {}),
        # 10 is not under half of 20.
        ([0, 0, 0, 10, 60, 90, 90, 80, 50, 20, 10, 0], [], {}),
        # December is next to January: it needs 5, January 0, and the other way round.
        ([0, 30, 30, 30, 60, 90, 90, 80, 50, 20, 15, 5], [12], {}),
        ([5, 30, 30, 30, 60, 90, 90, 80, 50, 20, 15, 0], [1], {2: 5}),
        # Two small months beside zeros are both off; the second does not pay.
        ([0, 0, 4, 6, 0, 90, 90, 80, 50, 20, 15, 0], [3, 4], {}),
        # A small month between two that need water is not carried.
        ([0, 30, 4, 30, 60, 90, 90, 80, 50, 20, 15, 0], [], {}),
        # Nothing needed all year: nothing carried.
        ([0] * 12, [], {}),
    ],
)
def test_carry_small_needs_by_hand(need, carried_months, carried_in):
    need = np.array(need, float)
    before = need.copy()

    carried, paid = storage.carry_small_needs(need, np.array(20.0))

    assert (np.flatnonzero(carried) + 1).tolist() == carried_months
    owed = {month: paid[month - 1] for month in carried_in}
    assert owed == carried_in
    # Who neither waters nor needs anything is owed to by no one that matters.
    others = [m for m in range(12) if m + 1 not in carried_in and need[m] > 0]
    assert not paid[others].any()
    np.testing.assert_array_equal(need, before)


def test_carry_small_needs_along_another_axis_is_the_same():
    random = np.random.default_rng(3)
    need = random.uniform(-20, 40, (50, 12)).clip(0)
    store = random.uniform(5, 40, 50)

    by_zone = storage.carry_small_needs(need, store[:, None])
    by_month = storage.carry_small_needs(need.T, store, month_axis=0)

    for rows, columns in zip(by_zone, by_month, strict=True):
        np.testing.assert_array_equal(rows, columns.T)
    assert by_zone[0].any()


def test_carry_small_needs_refuses_a_negative_need():
    with pytest.raises(ValueError, match="net_need_mm must be 0 or more, got -1"):
        storage.carry_small_needs(np.full(12, -1.0), np.array(20.0))


def zones_like(plant, soil, head_kind, **columns):
    """One zone that leaves everything blank but what is given."""
    names = {field.name for field in dataclasses.fields(Zones)}
    values = {name: np.full(1, np.nan) for name in names}
    values |= {
        "zone": ("1",),
        "name": ("",),
        "plant": np.array([library.package_plants().names.index(plant)]),
        "soil": np.array([library.package_soils().names.index(soil)]),
        "head_kind": np.array([HEAD_KINDS.index(head_kind)]),
    }
    values |= {name: np.array([value]) for name, value in columns.items()}
    return Zones(**values)


def roots_of(zones):
    return storage.root_zones(
        zones, library.package_plants(), library.package_soils(), library.head_kinds()
    )


# By hand from the package's tables: cool-season turf 8 in deep may use 0.40; clay loam
# holds 0.18 in/in: 8 · 0.18 = 1.44 in and 0.576 in. Drip wets half (common practice).
@pytest.mark.parametrize(("head_kind", "share"), [("rotor", 1.0), ("drip", 0.5),
                                                  ("bubbler", 0.5)])  # fmt: skip
def test_root_zones_take_what_is_blank_from_the_tables(head_kind, share):
    roots = roots_of(zones_like("cool-season turf", "clay loam", head_kind))

    assert roots.total_available_water_mm[0] / 25.4 == pytest.approx(1.44 * share)
    assert roots.allowed_depletion_mm[0] / 25.4 == pytest.approx(0.576 * share)


# By hand: 300 mm of sand at 0.06 mm/mm hold 18 mm, 0.8 of it wetted 14.4, half 7.2.
def test_root_zones_take_what_is_given():
    roots = roots_of(
        zones_like("cool-season turf", "sand", "drip", root_depth_mm=300.0,
                   depletion=0.5, wetted_share=0.8)
    )  # fmt: skip

    assert roots.root_depth_mm[0] == 300
    assert roots.total_available_water_mm[0] == pytest.approx(14.4, rel=1e-12)
    assert roots.allowed_depletion_mm[0] == pytest.approx(7.2, rel=1e-12)
