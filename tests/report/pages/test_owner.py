"""What the owner is told: the plan's own numbers, and reasons that hold."""

import dataclasses
import datetime
import re
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
import sheets

from scheduler.budget.rain_rules import HandRule
from scheduler.budget.savings import budget_site
from scheduler.inputs.folder import read_site
from scheduler.plan.card.plan import plan_card
from scheduler.plan.site import plan_site
from scheduler.report.pages import bill, owner
from scheduler.report.words.pages import owner as owner_words

EXAMPLES = Path(__file__).parents[3] / "examples"
L_PER_GAL = 231 * 0.016387064
"""A gallon is 231 in³, an in³ 0.016387064 L: exact (NIST Handbook 44)."""


def gallons_in(text):
    """Gallons that a text names, as numbers."""
    return [float(n.replace(",", "")) for n in re.findall(r"([\d,.]+) gallons", text)]


def with_site(**changes):
    site = dataclasses.replace(read_site(EXAMPLES / "home"), **changes)
    return budget_site(plan_site(site))


def test_year_names_the_plans_water_depth_and_cost():
    budget = with_site(plan_by="months")
    text = " ".join(owner.year_story(budget, "us"))

    gallons = budget.year.volume_l.sum() / L_PER_GAL
    july = budget.year.volume_l[:, 6].sum() / L_PER_GAL
    inches = budget.year.volume_l.sum() / budget.year.area_m2.sum() / 25.4
    assert gallons_in(text) == [
        pytest.approx(gallons, rel=5e-3),
        pytest.approx(july, rel=5e-3),
    ]
    assert f"{inches:.1f} inches deep" in text
    # Six bills of $32.50 (site.toml): $195.
    assert (
        f"The water costs ${budget.cost:,.2f}, $195.00 of it fixed charges, as if"
        in text
    )
    assert "Nothing runs in December and January" in text


@pytest.mark.parametrize("units", ["us", "metric"])
def test_need_less_rain_and_what_is_added_make_the_depth_given(example, units):
    """The numbers add up as they are printed, and need and rain are the plan's."""
    site = dataclasses.replace(read_site(EXAMPLES / example), plan_by="months")
    budget = budget_site(plan_site(site))
    text = " ".join(owner.year_story(budget, units))
    unit = "inches" if units == "us" else "millimeters"
    given, need, rain, added = (
        float(n.replace(",", "")) for n in re.findall(rf"([\d,.]+) {unit}", text)
    )
    plan, area = budget.plan.plan, budget.year.area_m2
    runs = plan.volume_l > 0
    per_unit = 25.4 if units == "us" else 1.0
    by_hand = [
        ((np.where(runs, d, 0).sum(axis=1) * area).sum() / area.sum()) / per_unit
        for d in (plan.plant_need_mm, plan.effective_rain_mm)
    ]

    assert need - rain + added == pytest.approx(given, abs=1e-9)
    # Three digits, and to 0.1 in or 1 mm.
    half = 0.05 if units == "us" else 0.5
    assert [need, rain] == pytest.approx(by_hand, rel=5e-3, abs=half)


def test_year_names_frost_where_frost_is_the_reason():
    text = " ".join(owner.year_story(sheets.budget("business_park"), "us"))

    assert "Nothing runs in November to March, because pipes may freeze." in text


def test_year_in_which_nothing_may_run_says_so():
    site = read_site(EXAMPLES / "home")
    windows = tuple(
        dataclasses.replace(w, head_kinds=("multi-stream",)) for w in site.windows
    )
    told = owner.year_story(with_site(windows=windows), "us")

    assert told[-1] == "Nothing runs in any month, because no hours are permitted."
    assert told[0].startswith("The zones get 0 gallons of water a year: ")


def test_comparison_is_the_difference_to_allowance_and_today():
    budget = sheets.budget("home")
    year = budget.year
    over, less = gallons_in(" ".join(bill.comparison_story(budget, "us")))

    assert over == pytest.approx(
        (year.volume_l.sum() - year.allowance_l) / L_PER_GAL, rel=5e-3
    )
    assert less == pytest.approx(
        (year.today_l.sum() - year.volume_l.sum()) / L_PER_GAL, rel=5e-3
    )


def test_without_a_price_no_cost_is_told():
    water = dataclasses.replace(read_site(EXAMPLES / "home").water, tiers=())
    budget = with_site(water=water)
    told = [
        *owner.year_story(budget, "us"),
        *bill.comparison_story(budget, "us"),
        *bill.savings_story(budget, "us"),
    ]

    assert not any("$" in line for line in told)
    assert "No price of the water is known, so no cost is shown." in told
    assert all(zone.cost == "" for zone in owner.zone_stories(budget, "us"))


def test_zones_add_up_to_the_year_in_water_and_money(example):
    budget = sheets.budget(example)
    zones = owner.zone_stories(budget, "us")
    gallons = sum(gallons_in(zone.water)[0] for zone in zones)
    fixed = sum(bill.fixed_charge for bill in budget.bills)
    money = sum(Decimal(re.sub(r"[^\d.]", "", zone.cost)) for zone in zones)

    assert gallons == pytest.approx(budget.year.volume_l.sum() / L_PER_GAL, rel=5e-3)
    assert money + fixed == budget.cost


def test_month_shares_are_the_shape_of_the_zones_year(example):
    budget = sheets.budget(example)
    for zone, volume in zip(
        owner.zone_stories(budget, "us"), budget.year.volume_l, strict=True
    ):
        assert max(zone.month_shares) == 1.0
        assert np.array(zone.month_shares) * volume.sum() == pytest.approx(
            volume * sum(zone.month_shares)
        )


# The house's front lawn in July, by hand: ET0 of the sample climate is printed by
# `climate`; a lawn's coefficient 0.80 (the package's table); a week has 7 days.
def test_zone_tells_its_need_of_the_thirstiest_month():
    budget = with_site(plan_by="months")
    a_week_in = budget.plan.months.et0_mm_day[6] * 0.80 * 7 / 25.4
    text = owner.zone_stories(budget, "us")[0].text

    assert text == (
        "Lawn of cool-season grass on loam, 3,600 square feet. In July it drinks "
        f"{a_week_in:.1f} inches a week; rain gives none of it."
    )


def test_zone_says_nothing_of_rain_where_rain_is_not_counted():
    rule = dataclasses.replace(read_site(EXAMPLES / "home").rain_rule, method="none")
    zones = owner.zone_stories(with_site(rain_rule=rule), "us")

    assert not any("rain" in zone.text for zone in zones)


def reasons_of(example):
    return owner.reasons(sheets.budget(example).plan, sheets.card(example, 4))


def days_between(card, row, month):
    """Days from one watering of a zone to the next in a month, by what is keyed in."""
    if any((hand.zone, hand.month) == (row, month) for hand in card.by_hand):
        return min(h.every_days for h in card.by_hand if h.zone == row)
    visit = next(visit for visit in card.visits if month in visit.months)
    patterns = [p.pattern for p in visit.programs
                if row in p.zones and p.percent[month]]  # fmt: skip
    return min((p.every_days or 7 / p.days_per_week for p in patterns), default=365)


# By the settings on the card, in each zone's thirstiest month of the table: seldom is
# twice a week or less, often is more than that.
def test_seldom_and_often_are_what_the_card_does(example):
    plan, card = sheets.budget(example).plan, sheets.card(example, 4)
    reasons = {r.heading: r for r in owner.reasons(plan, card)}
    names, named = plan.site.zones.name, 0
    for heading, holds in (
        ("Watered seldom", lambda days: days >= 3.4),
        ("Watered often", lambda days: days < 3.6),
    ):
        told = reasons[heading].zones if heading in reasons else ""
        rows = [
            row
            for row, station in enumerate(plan.site.zones.station.astype(int).tolist())
            if names[row] in told
            or (told.startswith("stations") and station in stations(told))
        ]
        named += len(rows)
        for row in rows:
            month = int(np.argmax(plan.plan.volume_l[row])) + 1

            assert holds(days_between(card, row, month)), (heading, names[row])
    assert named or example == "southern_garden"


def stations(told):
    """Stations that a text counts up: `stations 1 to 3, 9 and 12`."""
    found = set()
    for first, last in re.findall(r"(\d+)(?: to (\d+))?", told):
        found |= set(range(int(first), int(last or first) + 1))
    return found


def test_reasons_hold_for_the_zones_that_they_name():
    reasons = {r.heading: r for r in reasons_of("home")}

    # Zone 2 has one nozzle on every arc; zones 2 and 3 lie where more falls than goes
    # in; 'Watered often' are those that reach no fourth day.
    assert reasons["Wetted unevenly"].zones == "Back lawn"
    assert reasons["Run in turns with a pause"].zones == "Back lawn and Sidewalk strip"
    assert "Shrub bed" not in reasons["Watered often"].zones
    assert "Watered seldom" not in reasons


def test_reasons_name_stations_in_runs_where_zones_are_many():
    reasons = {r.heading: r for r in reasons_of("business_park")}

    assert reasons["Run in turns with a pause"].zones == "stations 1 to 13"
    assert reasons["Shade"].zones == "Courtyard lawn and North wall bed"


def test_zone_that_never_runs_says_why():
    # A wet summer and a tenth of the planting: rain covers every month.
    site = read_site(EXAMPLES / "southern_garden")
    factor = site.zones.density_factor.copy()
    factor[3] = 0.1
    zones = dataclasses.replace(site.zones, density_factor=factor)
    budget = budget_site(plan_site(dataclasses.replace(site, zones=zones)))
    story = owner.zone_stories(budget, "metric")[3]

    assert budget.year.volume_l[3].sum() == 0
    assert "It runs in no month: rain and soil give what it needs." in story.text
    assert story.water == "0 cubic meters"
    assert story.months_told == "no water in any month"
    card = plan_card(budget.plan, datetime.date(2027, 4, 20), 4)
    reasons = owner.reasons(budget.plan, card)
    assert not any("Natives" in reason.zones for reason in reasons)


def test_zone_without_permitted_hours_says_so():
    site = read_site(EXAMPLES / "home")
    windows = tuple(
        dataclasses.replace(w, head_kinds=("rotor", "spray")) for w in site.windows
    )
    stories = owner.zone_stories(with_site(windows=windows), "us")

    no_hours = "There are no permitted hours in which it could run."
    assert no_hours in stories[4].text


def test_rows_of_the_year_are_those_of_the_budget():
    budget = sheets.budget("home")
    rows = bill.year_rows(budget, "us")

    year = budget.year
    volumes = [year.volume_l.sum(), year.allowance_l, year.today_l.sum()]
    assert [row[1] for row in rows] == [
        f"{v / L_PER_GAL:,.0f} gallons" for v in volumes
    ]
    assert [row[2] for row in rows] == [
        f"${budget.cost:,.2f}", "", f"${budget.today_cost:,.2f}",
    ]  # fmt: skip
    assert [row[3] for row in rows] == [
        f"{100 * v / year.allowance_l:.0f} %" for v in volumes
    ]


def test_savings_are_the_largest_of_each_kind():
    budget = sheets.budget("business_park")
    told = bill.savings_story(budget, "us")
    largest = {}
    for saving in budget.savings:
        largest.setdefault(saving.code, saving.saves_l / L_PER_GAL)

    *steps, note = told
    assert len(steps) == bill.STEPS_TOLD
    assert note.startswith("Each is planned by itself")
    assert [gallons_in(line)[0] for line in steps] == [
        pytest.approx(value, rel=5e-3) for value in list(largest.values())[:3]
    ]
    last = min(list(largest.values())[:3])
    for line, code in zip(steps, largest, strict=False):
        like = [
            saving
            for saving in budget.savings
            if saving.code == code and saving.saves_l / L_PER_GAL >= last
        ]
        assert line.count(" gallons") == min(len(like), 2), "and the next of its kind"
        more = re.search(r", less in each of (\d+) more", line)
        assert (int(more[1]) if more else 0) == max(len(like) - 2, 0)


def test_steps_beside_less_water_are_the_tables_and_ask_for_nothing_drier():
    budget = sheets.budget("home")
    told = " ".join(bill.savings_story(budget, "us", given_up=True))
    rule = HandRule(25.4, 5, 1.0, np.zeros(5), np.zeros(5))

    assert "A tenth less water" not in told
    assert "before water was given up" in told
    wet = [owner.watch_for(budget, rule, "us", given_up=given) for given in (0, 1)]
    assert ["kept drier" in " ".join(lines) for lines in wet] == [False, True]


# By hand: of the example's bills those of January and February and of July and August
# come to more than today's (`budget`, By bill), while the year's come to less.
def test_bills_that_rise_are_told_though_the_year_costs_less():
    budget = sheets.budget("home")
    told = " ".join(bill.comparison_story(budget, "us"))
    pairs = zip(budget.today_bills, budget.bills, strict=True)
    rising = [plan for today, plan in pairs if plan.cost > today.cost]

    assert 0 < len(rising) < len(budget.bills)
    assert "costs $" in told
    assert all(f"to ${bill.cost:,.2f}" in told for bill in rising)
    assert told.count(" from $") == len(rising)


def test_watch_for_speaks_of_frost_and_rain_only_where_they_matter():
    def watched(budget, rule=None):
        return " ".join(owner.watch_for(budget, rule, "us"))

    mild = sheets.budget("home")
    controller = dataclasses.replace(mild.plan.site.controller, rain_shutoff_mm=6.0)
    site = dataclasses.replace(mild.plan.site, controller=controller)
    fitted = dataclasses.replace(mild, plan=dataclasses.replace(mild.plan, site=site))
    rule = HandRule(12.7, 2, 0.0, np.zeros(1), np.zeros(1))

    cold = watched(sheets.budget("business_park"))
    assert "Frost: have lines that can freeze drained by 1 Nov, or before" in cold
    # Nights freeze at home too, whose lines cannot; who does not say so is asked.
    assert (
        "Frost: lines here stay filled, so water as set; turn the controller off before"
        in watched(mild)
    )
    open_site = dataclasses.replace(mild.plan.site, lines_can_freeze=None)
    asked_plan = dataclasses.replace(mild.plan, site=open_site)
    asked = dataclasses.replace(mild, plan=asked_plan)
    assert "Frost: decide as it says at the top" in watched(asked)
    months = dataclasses.replace(mild.plan.months, frost_season=None)
    warm_plan = dataclasses.replace(mild.plan, months=months, cautions=())
    warm = dataclasses.replace(mild, plan=warm_plan)
    assert "Frost" not in watched(warm)
    assert "A wet week" in watched(mild)
    assert "dried a finger deep" in watched(mild)
    assert "the rain shut-off stops the watering" in watched(fitted)
    assert "there is no rain shut-off" not in watched(fitted)
    assert "In spring" in cold
    assert "In spring" not in watched(mild)
    assert "In spring" not in watched(warm)
    assert (
        "After half an inch of rain in a day (rain gauge), switch the controller off "
        "for the 2 days after the last such day, then on again." in watched(mild, rule)
    )


@pytest.fixture(scope="module")
def by_days():
    """The house planned by days, without and with a rain shut-off."""
    site = dataclasses.replace(read_site(EXAMPLES / "home"), plan_by="days")
    controller = dataclasses.replace(site.controller, rain_shutoff_mm=6.35)
    fitted = dataclasses.replace(site, controller=controller)
    return [budget_site(plan_site(one)) for one in (site, fitted)]


# What the shut-off holds back is not reckoned by months, so nothing stands there as a
# fact: no rest "of nothing", and that a year takes less.
def test_by_months_a_shut_off_is_told_where_no_rain_is_counted():
    site = read_site(EXAMPLES / "home")
    controller = dataclasses.replace(site.controller, rain_shutoff_mm=6.35)
    rule = dataclasses.replace(site.rain_rule, method="none")
    budget = with_site(plan_by="months", controller=controller, rain_rule=rule)
    text = " ".join(owner.year_story(budget, "us"))

    assert "the rest" not in text
    assert "no rain is counted" in text
    assert "a usual year takes less than is told here" in text
    told = re.search(r"drink ([\d.]+) inches.*? get ([\d.]+)", text)
    need, lays = map(float, told.groups())
    inches = budget.year.volume_l.sum() / budget.year.area_m2.sum() / 25.4
    assert lays == pytest.approx(inches, abs=0.051)
    assert lays > need


def test_drip_is_told_of_emitters_and_sprays_of_heads():
    drips = owner_words.step("uniformity", {}, "Bed", drips=True)
    heads = owner_words.step("uniformity", {}, "Lawn", drips=False)

    assert "emitters" in drips
    assert not re.search("nozzle|head", drips)
    assert "heads upright" in heads


@pytest.mark.parametrize(
    ("numbers", "told"),
    [
        ([13, 16, 18, 19, 23, 24], "stations 13, 16, 18, 19, 23 and 24"),
        ([1, 2, 3, 9], "stations 1 to 3 and 9"),
        ([4, 5], "stations 4 and 5"),
    ],
)
def test_stations_in_runs_of_two_are_counted_up(numbers, told):
    assert owner_words.stations(numbers) == told


def test_by_days_no_word_is_said_of_rain_that_is_counted(by_days):
    for budget in by_days:
        told = [zone.text for zone in owner.zone_stories(budget, "us")]
        told += owner.year_story(budget, "us")

        assert "rain gives" not in " ".join(told)
        assert "come as rain" not in " ".join(told)


def test_by_days_each_zone_names_the_days_that_its_table_has_dry(by_days):
    plan = by_days[0].plan.plan
    for zone, text in enumerate(z.text for z in owner.zone_stories(by_days[0], "us")):
        # Days of a month times its dry share, in the order of the months.
        days = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
        dry = sum(d * s for d, s in zip(days, plan.dry_share[zone], strict=True))

        assert f"Short on {dry:.0f} days." in text


def test_a_shut_off_is_told_by_what_it_saves(by_days):
    without, fitted = by_days
    told = " ".join(owner.watch_for(without, None, "us"))
    saving = next(s for s in without.savings if s.code == "rain-shutoff")
    held = " ".join(owner.year_story(fitted, "us"))
    settings = fitted.plan.settings
    valve = fitted.plan.inputs.valve
    mm_year = (settings.scheduled_mm - settings.water_mm).sum(axis=2).mean(axis=1)
    held_l = (mm_year / valve.rate_mm_h * 60 * valve.flow_l_min).sum()

    assert gallons_in(told) == [pytest.approx(saving.saves_l / L_PER_GAL, rel=5e-3)]
    assert f"${saving.saves_cost:,.2f} a year" in told
    assert "the rain shut-off saves" not in " ".join(owner.year_story(without, "us"))
    assert gallons_in(held)[-1] == pytest.approx(held_l / L_PER_GAL, rel=5e-3)
    assert not any(s.code == "rain-shutoff" for s in fitted.savings)
