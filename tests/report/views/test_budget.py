"""The budget's text, markdown, CSV and JSON say the same, within 100 columns."""

import csv
import dataclasses
import io
import json
import re
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest

from scheduler.budget.savings import budget_site
from scheduler.inputs.folder import read_site
from scheduler.plan.site import plan_site
from scheduler.report import blocks, data, shown
from scheduler.report.blocks import WIDTH
from scheduler.report.views import budget as report
from scheduler.report.views import budget_tables
from scheduler.report.words import budget as words

EXAMPLES = Path(__file__).parents[3] / "examples"
SITES = ("home", "southern_garden", "business_park")
L_PER_GAL = 231 * 0.016387064
"""A gallon is 231 in³, an in³ 0.016387064 L: exact (NIST Handbook 44)."""


def planned(example, **changes):
    site = dataclasses.replace(read_site(EXAMPLES / example), **changes)
    return plan_site(site)


def with_water(name, **changes):
    water = dataclasses.replace(read_site(EXAMPLES / name).water, **changes)
    return budget_site(planned(name, water=water))


@pytest.fixture(scope="module", params=SITES)
def budget(request):
    return budget_site(planned(request.param))


@pytest.fixture(scope="module")
def home():
    return budget_site(planned("home"))


@pytest.mark.parametrize("units", ["us", "metric"])
def test_text_keeps_within_its_width(budget, units):
    lines = blocks.text(report.blocks(budget, units), units).splitlines()

    assert max(map(len, lines)) <= WIDTH


# By days with all kinds of steps; by months, which are planned sooner, of other sizes.
@pytest.mark.parametrize(
    ("times", "by"), [(1e-3, "months"), (30.0, "months"), (1e4, "days")]
)
def test_text_keeps_within_its_width_for_a_site_of_any_size(times, by):
    site = dataclasses.replace(read_site(EXAMPLES / "business_park"), plan_by=by)
    zones = dataclasses.replace(
        site.zones,
        area_m2=site.zones.area_m2 * times,
        flow_l_min=np.full(len(site.zones), 40.0 * times),
    )
    found = budget_site(plan_site(dataclasses.replace(site, zones=zones)))
    for units in ("us", "metric"):
        text = blocks.text(report.blocks(found, units), units)

        assert max(map(len, text.splitlines())) <= WIDTH


KEYS_OF_SITE = ["year_l", "cost", "allowance_l", "estimated_use_l", "today_l",
                "today_cost"]  # fmt: skip


def test_data_has_the_keys_of_the_contract(budget):
    content = json.loads(data.to_json(report.to_data(budget)))

    assert list(content) == ["format", "zones", "site", "steps"]
    assert list(content["site"]) == KEYS_OF_SITE
    for zone in content["zones"]:
        assert list(zone) == ["zone", "months", "year_l"]
        assert [m["month"] for m in zone["months"]] == list(range(1, 13))
        assert {tuple(m) for m in zone["months"]} == {("month", "volume_l")}
    assert {tuple(step) for step in content["steps"]} == {("text", "saves_l")}


# Water in parts is water in whole: months into zones, zones into the site.
def test_data_adds_up(budget):
    content = report.to_data(budget)

    for zone in content["zones"]:
        months = sum(m["volume_l"] for m in zone["months"])
        assert zone["year_l"] == pytest.approx(months, rel=1e-12)
    total = sum(zone["year_l"] for zone in content["zones"])
    assert content["site"]["year_l"] == pytest.approx(total, rel=1e-12)


def test_data_is_null_where_nothing_is_known():
    content = report.to_data(with_water("southern_garden", tiers=()))["site"]

    assert [k for k in KEYS_OF_SITE if content[k] is None] == [
        "cost", "today_l", "today_cost",
    ]  # fmt: skip


# The sum of the bills of southern_garden by hand, from its volumes: 3.42 a m³, each
# quarter's charge rounded to cents, and four times 41.20.
def test_cost_of_a_uniform_rate_is_price_times_volume():
    found = budget_site(planned("southern_garden"))
    m3 = found.year.volume_l.sum(axis=0).reshape(4, 3).sum(axis=1) / 1000
    expected = sum(round(3.42 * quarter, 2) for quarter in m3.tolist()) + 4 * 41.20

    assert float(found.cost) == pytest.approx(expected, abs=1e-9)


def csv_rows(budget, units):
    return list(
        csv.DictReader(io.StringIO(data.to_csv(report.to_table(budget), units)))
    )


def test_csv_holds_the_same_water_in_either_system(home):
    us, metric = csv_rows(home, "us"), csv_rows(home, "metric")

    assert len(us) == 12 * 5
    for a, b in zip(us, metric, strict=True):
        gallons, liters = float(a["volume_gal"]), float(b["volume_l"])
        assert gallons * L_PER_GAL == pytest.approx(liters, rel=1e-5)


def test_csv_costs_and_fixed_charges_add_up_to_the_cost(budget):
    charges = sum(Decimal(row["cost"]) for row in csv_rows(budget, "us"))
    fixed = sum(bill.fixed_charge for bill in budget.bills)

    assert charges + fixed == budget.cost


def test_csv_has_today_only_where_current_csv_is(budget):
    known = budget.plan.site.current is not None

    assert ("today_l" in csv_rows(budget, "metric")[0]) == known


@pytest.mark.parametrize(
    ("amount", "currency", "text"),
    [
        ("1234.5", "$", "$1,234.50"),
        ("-0.05", "€", "-€0.05"),
        ("12", "EUR", "12.00 EUR"),
        ("12", "kr", "12.00 kr"),
        ("12", "", "12.00"),
        ("12", "R$", "R$12.00"),
    ],
)
def test_money_bears_its_currency_as_given(amount, currency, text):
    assert shown.money(Decimal(amount), currency) == text


def test_text_shows_the_numbers_of_the_data(home):
    text = blocks.text(report.blocks(home, "metric"), "metric")
    content = report.to_data(home)["site"]

    for key in ("year_l", "allowance_l", "estimated_use_l", "today_l"):
        assert f"{content[key]:,.0f}" in text
    for key in ("cost", "today_cost"):
        assert f"{content[key]:,.2f}" in text
    for step in report.to_data(home)["steps"][: words.MOST_STEPS]:
        said = rf"{re.escape(step['text'])}: {step['saves_l']:,.0f} L a year, \$"
        assert re.search(said, " ".join(text.split()))


# A ccf of 748.05 gallons is 2,831.7 L, a price of one step no step (NIST SP 811).
def test_text_tells_the_prices_of_a_bills_units(home):
    def told(budget, units):
        return " ".join(blocks.text(report.blocks(budget, units), units).split())

    tiers = read_site(EXAMPLES / "home").water.tiers
    steps = ", ".join(f"${price:.2f} up to {limit:.0f}" for limit, price in tiers[:-1])
    steps = f"{steps} and ${tiers[-1][1]:.2f} above."
    assert f"each ccf (748 gal) costs {steps}" in told(home, "us")
    assert f"each ccf (2,832 L) costs {steps}" in told(home, "metric")
    flat = with_water("home", tiers=((Decimal("Infinity"), Decimal("0.0475")),))
    assert "each ccf (748 gal) costs $0.0475." in told(flat, "us")


def test_text_says_that_there_is_no_price_and_shows_no_money():
    text = blocks.text(report.blocks(with_water("home", tiers=()), "us"), "us")

    assert "No cost is shown: [water] tiers in site.toml" in text
    assert "By month" in text
    assert "$" not in text


def test_text_says_how_far_the_plan_is_from_allowance_and_today(home):
    text = blocks.text(report.blocks(home, "metric"), "metric")
    year = home.year
    over = year.volume_l.sum() - year.allowance_l
    less = year.today_l.sum() - year.volume_l.sum()
    saved = home.today_cost - home.cost

    assert f"The plan is {over:,.0f} L over the allowance." in text
    assert (
        f"It takes {less:,.0f} L less than today, and costs ${saved:,.2f} less." in text
    )


def test_text_names_zones_that_current_csv_leaves_out():
    site = read_site(EXAMPLES / "home")
    rows = [0, 2]
    some = dataclasses.replace(
        site.current,
        **{name: getattr(site.current, name)[rows]
           for name in ("zone", "minutes", "starts", "days_per_week")},
        months=tuple(site.current.months[row] for row in rows),
    )  # fmt: skip
    text = blocks.text(
        report.blocks(budget_site(planned("home", current=some)), "us"), "us"
    )

    assert (
        "current.csv has no row for zones 3, 4 and 5: counted as not run today." in text
    )


def test_text_counts_differences_that_end_at_the_plan(budget):
    table = budget_tables.differences(budget)
    first, *between, last = table.columns[1].values

    assert first + sum(between) == pytest.approx(last, abs=5.0)
    assert last == pytest.approx(budget.year.volume_l.sum(), rel=1e-12)


def test_markdown_keeps_names_from_being_markup():
    found = budget_site(planned("home", name="<script>|a"))
    odd = with_water("home", currency="a|<b>")

    of_found = blocks.markdown(report.blocks(found, "us"), "us")
    of_odd = blocks.markdown(report.blocks(odd, "us"), "us")
    assert "<script>" not in of_found.replace(r"\<", "")
    assert r"\<script>\|a" in of_found
    assert r"cost a\|\<b>" in of_odd
    for line in of_odd.splitlines():
        assert "<" not in line.replace(r"\<", "")


def test_markdown_and_text_have_the_same_sections(budget):
    text = blocks.text(report.blocks(budget, "us"), "us")
    headings = re.findall(
        r"^## (.*)$", blocks.markdown(report.blocks(budget, "us"), "us"), re.MULTILINE
    )

    assert len(headings) >= 7
    for heading in headings:
        assert f"\n{heading}\n" in text
