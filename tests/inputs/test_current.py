"""Checks current.csv, and the keys of [water] that the budget reads."""

import math
from decimal import Decimal

import pytest

HEADER = "zone,minutes,starts,days_per_week,months\n"
PRICED = """\
[water]
currency = "€"
billing_unit = "m3"
fixed_charge = 18.4
months_per_bill = 2
tiers = [{to = 10, price = 3.10}, {to = 22.5, price = 4.25}, {price = 6.05}]
allowance_factor = 0.45
special_area_ft2 = 100
"""


def test_current_is_read_by_row_of_zones(us):
    us.write("current.csv", HEADER + "2,12.5,2,3.5,11-2\n1,20,,4,\n2,5,1,7,7\n")
    current = us.site().current

    assert current.zone.tolist() == [1, 0, 1]
    assert current.minutes.tolist() == [12.5, 20, 5]
    assert current.starts.tolist() == [2, 1, 1]
    assert current.days_per_week.tolist() == [3.5, 4, 7]
    assert current.months == ((1, 2, 11, 12), tuple(range(1, 13)), (7,))


def test_current_needs_neither_starts_nor_months(us):
    us.write("current.csv", "zone,minutes,days_per_week\n1,20,3\n")
    current = us.site().current

    assert current.starts.tolist() == [1]
    assert current.months == (tuple(range(1, 13)),)


# The sheet of a template stands there before anybody has filled it in.
def test_current_is_none_without_the_file_and_with_a_header_alone(us):
    assert us.site().current is None

    us.write("current.csv", HEADER)
    assert us.site().current is None


def test_current_adds_nothing_to_what_is_assumed(us):
    before = us.site()
    us.write("current.csv", "zone,minutes,days_per_week\n1,20,3\n")
    after = us.site()

    assert [a.field.name for a in after.assumed] == [
        a.field.name for a in before.assumed
    ]


@pytest.mark.parametrize(
    ("row", "problem"),
    [
        (
            "3,20,1,3,",
            'current.csv:2: zone: "3" is not a zone of zones.csv\n  accepted: 1, 2',
        ),
        (
            "1,-1,1,3,",
            "current.csv:2: minutes: -1 is not a run time\n"
            "  accepted: a number from 0 to 1440",
        ),
        (
            "1,20,1,8,",
            "current.csv:2: days_per_week: 8 is not a number of days\n"
            "  accepted: a number from 0 to 7",
        ),
        (
            "1,,1,3,",
            "current.csv:2: minutes: is blank\n  accepted: a number from 0 to 1440",
        ),
        (
            "1,90,17,3,",
            "current.csv:2: minutes: 17 starts of 90 minutes do not fit in a day\n"
            "  accepted: minutes of one start, not of the day",
        ),
    ],
)
def test_current_refuses(us, row, problem):
    us.write("current.csv", HEADER + row + "\n")

    assert us.problems() == [problem]


# A run time of the whole day is the most that fits: 1440 min.
def test_current_takes_a_whole_day(us):
    us.write("current.csv", HEADER + "1,90,16,3,\n")

    assert us.site().current.minutes.tolist() == [90]


# 100 ft² is 9.290304 m² exactly.
def test_water_is_read_with_money_to_the_digit(us):
    us.append("site.toml", PRICED)
    water = us.site().water

    assert (water.currency, water.billing_unit, water.months_per_bill) == ("€", "m3", 2)
    assert str(water.fixed_charge) == "18.4"
    assert [str(price) for _, price in water.tiers] == ["3.1", "4.25", "6.05"]
    assert [limit for limit, _ in water.tiers] == [
        Decimal(10), Decimal("22.5"), Decimal("inf"),
    ]  # fmt: skip
    assert water.allowance_factor == 0.45
    assert math.isclose(water.special_area_m2, 9.290304, rel_tol=1e-12)


def test_water_has_its_defaults_and_none_of_them_is_told_of(us):
    site = us.site()

    assert site.water.tiers == ()
    assert site.water.fixed_charge is None
    assert (site.water.currency, site.water.billing_unit) == ("", "")
    assert (site.water.months_per_bill, site.water.allowance_factor) == (1, 0.55)
    assert site.water.special_area_m2 is None
    told = {assumed.field.name for assumed in site.assumed}
    assert not told & {"months_per_bill", "allowance_factor", "tiers"}


@pytest.mark.parametrize(
    ("keys", "problem"),
    [
        (
            "tiers = [{price = 3}]\n",
            "site.toml:8: water.billing_unit: is missing: a price is for some unit\n"
            "  accepted: ccf, kgal, m3\n"
            "  hint: the bill names it",
        ),
        (
            "months_per_bill = 5\n",
            "site.toml:8: water.months_per_bill: bills of 5 months fill no year\n"
            "  accepted: 1, 2, 3, 4, 6 or 12",
        ),
        (
            'billing_unit = "gal"\ntiers = [{price = 3}]\n',
            'site.toml:8: water.billing_unit: "gal" is not a billing unit\n'
            "  accepted: ccf, kgal, m3\n"
            "  hint: did you mean kgal?",
        ),
        (
            'billing_unit = "m3"\ntiers = [{to = 9, price = 3}]\n',
            "site.toml:9: water.tiers: tier 1 takes price alone, as the last\n"
            "  accepted: [{to = 10, price = 3.10}, {price = 4.50}]",
        ),
    ],
)
def test_water_refuses(us, keys, problem):
    us.append("site.toml", "[water]\n" + keys)

    assert us.problems() == [problem]
