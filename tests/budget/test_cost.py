"""Bills against arithmetic by hand, exact unit facts and laws."""

import dataclasses
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler import units
from scheduler.budget import cost
from scheduler.inputs.site import Water

D = Decimal
INFINITE = D("inf")
BLOCKS = ((D(10), D("3.10")), (D(30), D("4.25")), (INFINITE, D("6.05")))
CCF_L = float(cost.LITERS_PER_UNIT["ccf"])


def water(**changes):
    """Block rates by the ccf, monthly, with a fixed charge."""
    priced = Water("$", "ccf", D("18.40"), 1, BLOCKS, 0.55, None)
    return dataclasses.replace(priced, **changes)


# NIST Handbook 44, appendix C: a US gallon is 231 in³ exactly, a foot 12 in: so 100
# ft³ hold 100 * 1728 / 231 = 748.05 gal, and 1000 gal hold 231,000 in³. NIST SP 811:
# an inch is 25.4 mm exactly, so 1 in³ is 0.016387064 L.
def test_units_of_bills_hold_what_the_handbooks_say():
    in3_l = Fraction(254, 1000) ** 3
    ccf, kgal, m3 = (Fraction(cost.LITERS_PER_UNIT[u]) for u in ("ccf", "kgal", "m3"))

    assert in3_l == Fraction("0.016387064")
    assert ccf == 100 * 1728 * in3_l
    assert kgal == 1000 * 231 * in3_l
    assert m3 == 1000
    assert f"{float(ccf / kgal) * 1000:.2f}" == "748.05"


def test_units_of_bills_agree_with_the_units_of_the_package():
    assert float(cost.LITERS_PER_UNIT["ccf"]) == pytest.approx(
        100 * units.L_PER_FT3, rel=1e-12
    )
    assert float(cost.LITERS_PER_UNIT["kgal"]) == pytest.approx(
        1000 * units.L_PER_GAL, rel=1e-12
    )


# By hand, 37.5 units: 10 at 3.10 = 31.00; 20 at 4.25 = 85.00; 7.5 at 6.05 = 45.375;
# together 161.375.
def test_tier_charge_is_that_of_a_bill_worked_by_hand():
    assert cost.tier_charge(D("37.5"), BLOCKS) == D("161.375")


# 10 at 3.10 = 31.00; the limit belongs to the lower tier, 0.01 more costs 0.0425.
@pytest.mark.parametrize(
    ("taken", "charge"),
    [("0", "0"), ("10", "31.00"), ("10.01", "31.0425"), ("30", "116.00")],
)
def test_tier_charge_at_the_edges_of_tiers(taken, charge):
    assert cost.tier_charge(D(taken), BLOCKS) == D(charge)


# 12 * 3.42 = 41.04.
def test_tier_charge_of_one_tier_is_a_uniform_rate():
    assert cost.tier_charge(D(12), [(INFINITE, D("3.42"))]) == D("41.04")


@pytest.mark.parametrize(
    ("taken", "tiers", "words"),
    [
        (D(-1), BLOCKS, "units must be 0 or more, got -1"),
        (D(1), BLOCKS[:2], "tiers must end with one that has no limit"),
    ],
)
def test_tier_charge_refuses(taken, tiers, words):
    with pytest.raises(ValueError, match=words):
        cost.tier_charge(taken, tiers)


@pytest.mark.parametrize(
    ("volume", "unit", "words"),
    [
        (-1.0, "ccf", "volume_l must be 0 or more, got -1"),
        (float("nan"), "ccf", "volume_l must be 0 or more, got nan"),
        (1.0, "acre-foot", "billing_unit must be ccf, kgal or m3, got 'acre-foot'"),
    ],
)
def test_billing_units_refuses(volume, unit, words):
    with pytest.raises(ValueError, match=words):
        cost.billing_units(volume, unit)


# Half a cent goes up, as on paper; a half to even would give 0.12 and 2.68.
@pytest.mark.parametrize(
    ("amount", "rounded"),
    [("0.125", "0.13"), ("2.675", "2.68"), ("2.6749", "2.67"), ("0.005", "0.01")],
)
def test_rounded_to_cents_takes_half_a_cent_up(amount, rounded):
    assert cost.rounded_to_cents(D(amount)) == D(rounded)


# One month of 37.5 ccf is 161.375, so 161.38, and 18.40 fixed; eleven bills of the
# fixed charge alone: 161.38 + 12 * 18.40 = 382.18.
def test_cost_of_year_bills_the_fixed_charge_without_water_too():
    volume = np.zeros(12)
    volume[6] = 37.5 * CCF_L

    bills = cost.bills_of_year(volume, water())
    assert [bill.cost for bill in bills[5:8]] == [D("18.40"), D("179.78"), D("18.40")]
    assert cost.cost_of_year(volume, water()) == D("382.18")


# July and August of 20 ccf are one bill of 40: 31 + 85 + 10 * 6.05 = 176.50. Billed
# month by month each would be 31 + 10 * 4.25 = 73.50, 147.00 together: a tier's limit
# is that of one bill.
def test_bills_over_two_months_take_the_water_of_both():
    volume = np.zeros(12)
    volume[6:8] = 20 * CCF_L
    both = cost.bills_of_year(volume, water(months_per_bill=2, fixed_charge=None))
    each = cost.bills_of_year(volume, water(fixed_charge=None))

    assert [bill.months for bill in both] == [
        (1, 2), (3, 4), (5, 6), (7, 8), (9, 10), (11, 12),
    ]  # fmt: skip
    assert float(both[3].units) == pytest.approx(40, rel=1e-12)
    assert both[3].cost == D("176.50")
    assert [bill.cost for bill in each[6:8]] == [D("73.50"), D("73.50")]


@pytest.mark.parametrize("months", [1, 2, 3, 4, 6, 12])
def test_bills_of_a_year_hold_every_month_once(months):
    bills = cost.bills_of_year(np.ones(12), water(months_per_bill=months))

    assert [m for bill in bills for m in bill.months] == list(range(1, 13))


# 1 kgal is 3785.411784 L, 1 m³ is 1000 L; at 2 a unit each year below costs 24.
@pytest.mark.parametrize(("unit", "liters"), [("kgal", 3785.411784), ("m3", 1000.0)])
def test_cost_of_year_in_other_units(unit, liters):
    flat = water(billing_unit=unit, fixed_charge=None, tiers=((INFINITE, D(2)),))

    assert cost.cost_of_year([liters] * 12, flat) == D("24.00")


def test_cost_of_year_is_not_known_without_a_price():
    unpriced = water(tiers=(), billing_unit="")

    assert cost.cost_of_year(np.ones(12), unpriced) is None
    assert cost.bills_of_year(np.ones(12), unpriced) == ()


def test_money_is_never_a_float():
    bill = cost.bills_of_year(np.ones(12), water())[0]

    assert type(bill.water_charge) is type(bill.cost) is type(bill.units) is Decimal


VOLUMES = st.lists(st.floats(0, 1e9, allow_subnormal=False), min_size=12, max_size=12)


# A law of block rates: with prices of 0 or more, more water never costs less.
@given(VOLUMES, st.integers(0, 11), st.floats(0, 1e7), st.sampled_from([1, 2, 6, 12]))
def test_cost_never_falls_with_volume(volume, month, more_l, months):
    priced = water(months_per_bill=months)
    larger = list(volume)
    larger[month] += more_l

    assert cost.cost_of_year(larger, priced) >= cost.cost_of_year(volume, priced)


# Where tiers rise, the mean price does not fall with volume.
@given(st.lists(st.integers(1, 10_000), min_size=2, max_size=5, unique=True))
def test_mean_price_rises_with_rising_tiers(tenths):
    taken = [D(n) / 10 for n in sorted(tenths)]
    mean = [cost.tier_charge(n, BLOCKS) / n for n in taken]

    assert all(a <= b + D("1e-20") for a, b in pairwise(mean))


@given(
    st.integers(0, 10**9),
    st.lists(st.integers(0, 10**6), min_size=1, max_size=30).filter(any),
)
def test_shares_add_up_to_the_cent_and_keep_within_a_cent(cents, weights):
    amount = D(cents) / 100
    parts = cost.shares(amount, [D(w) for w in weights])

    assert sum(parts) == amount
    for part, weight in zip(parts, weights, strict=True):
        exact = Fraction(cents * weight, 100 * sum(weights))
        assert abs(Fraction(part) - exact) < Fraction(1, 100)


def test_charges_of_zones_add_up_to_the_bills():
    random = np.random.default_rng(5)
    volume = random.uniform(0, 90_000, (7, 12)) * (random.random((7, 12)) < 0.7)
    bills = cost.bills_of_year(volume.sum(axis=0), water(months_per_bill=3))
    charges = cost.charges_of_zones(volume, bills)

    for bill in bills:
        cells = [row[m - 1] for row in charges for m in bill.months]
        assert sum(cells) == bill.water_charge
    for row, cells in zip(volume, charges, strict=True):
        for liters, charge in zip(row, cells, strict=True):
            assert liters > 0 or charge == 0
