"""The card in its forms: all say the same, and its text adds up by itself."""

import csv
import datetime
import io
import json
import re
from dataclasses import replace
from fractions import Fraction
from functools import cache

import numpy as np
import pytest
from cards import (
    DAYS,
    KEYED_IN,
    L_PER,
    MM_PER,
    MONTHS,
    ROOT,
    cards_of,
    cells_of,
    half_up,
    hands_of,
    plan_of,
    read_visits,
    runs_of,
    zones_of,
)

from scheduler.cautions import Caution
from scheduler.inputs.folder import read_site
from scheduler.plan.card.needs import Fill, Hand
from scheduler.plan.card.plan import plan_card
from scheduler.plan.card.ways_out import WayOut, ways_out
from scheduler.plan.site import plan_site
from scheduler.report import blocks
from scheduler.report.data import to_csv, to_json
from scheduler.report.views import card as report
from scheduler.report.views.controller import keyed
from scheduler.report.words.controller import card as words
from scheduler.report.words.controller import hands as hands_told


@pytest.fixture(scope="module", params=["home", "southern_garden"])
def planned(request):
    return plan_of(request.param), cards_of(request.param)


def text_of(plan, card, units):
    return blocks.text(report.blocks(plan, card, units), units)


def data_of(plan, card):
    return json.loads(to_json(keyed.to_data(plan, card)))


@pytest.mark.parametrize("units", ["us", "metric"])
def test_water_of_the_header_is_what_the_blocks_lay_down(planned, units):
    plan, cards = planned
    zones = zones_of(plan)
    for card in cards.values():
        text = text_of(plan, card, units)
        told = re.search(r"The\s+zones\s+get\s+([\d,]+)\s+(?:gal|L),", text)[1]
        water_l = sum(
            float(minutes) * dates * zones[zone]["flow_l_min"]
            for zone, _, minutes, dates, *_ in [*runs_of(plan, text), *hands_of(text)]
        )

        assert "to fill the dry" not in text
        assert float(told.replace(",", "")) * L_PER[units] == pytest.approx(
            water_l, rel=1e-5
        )


@pytest.mark.parametrize("units", ["us", "metric"])
def test_minutes_and_depths_beside_the_table_are_those_of_the_blocks(planned, units):
    plan, cards = planned
    zones = zones_of(plan)
    digits = {"us": 0.005, "metric": 0.5}[units]
    for card in cards.values():
        text = text_of(plan, card, units)
        keyed = {}
        for zone, month, minutes, _, _ in runs_of(plan, text):
            if minutes:
                # A program with more starts than one can have stands there twice.
                keyed[zone, month] = keyed.get((zone, month), 0) + float(minutes)
        keyed |= {(zone, month): minutes for zone, month, minutes, _ in hands_of(text)}
        beside = cells_of(text, "Minutes of a watering day")
        depths = cells_of(text, "Depth of a watering day")

        assert {at: mine for at, (mine, _) in beside.items() if mine} == keyed
        assert beside.keys() == depths.keys()
        for zone, told in zones.items():
            for month in told["months"]:
                at = zone, month["month"]
                mine, table = beside.get(at, (None, None))
                assert (table or 0) == month["minutes_per_day"]
                for minutes, depth in zip(
                    (mine, table), depths.get(at, (None, None)), strict=True
                ):
                    assert (minutes is None) == (depth is None)
                    if minutes:
                        mm = minutes * told["rate_mm_h"] / 60
                        assert depth * MM_PER[units] == pytest.approx(
                            mm, abs=1.02 * digits * MM_PER[units]
                        )


def test_header_tells_the_dry_days_the_shallowest_and_the_shortest_run(planned):
    plan, cards = planned
    zones = zones_of(plan)
    for card in cards.values():
        text = text_of(plan, card, "us")
        head = " ".join(text.partition("\nAt a visit")[0].split())
        beside = cells_of(text, "Minutes of a watering day")
        shares = [mine / table for mine, table in beside.values() if mine and table]
        told = re.search(
            r"shallowest watering lays down ([\d.]+) of .* \(zone (\S+) in (...)\)",
            head,
        )
        at = beside[told[2], MONTHS.index(told[3]) + 1]

        assert float(told[1]) == pytest.approx(min(shares), abs=0.0051)
        assert at[0] / at[1] == pytest.approx(min(shares))
        runs = [float(run) for *_, run in runs_of(plan, text) if run]
        assert f"The shortest run is {min(runs):g} min." in head
        dry = cells_of(text, "Dry days of a hundred")
        weights = [zones[zone]["area_m2"] * DAYS[month - 1] for zone, month in dry]
        told = re.search(
            r"short on (\d+) days of a hundred \(by the table (\d+)\)", head
        )
        for row in (0, 1):
            mean = np.average([pair[row] for pair in dry.values()], weights=weights)
            # Half a day in each cell, and half a day in the header.
            assert float(told[row + 1]) == pytest.approx(mean, abs=1.0)
        most = re.search(
            r"the most in zone (\S+) in (...), (\d+) \(by the table (\d+)\)", head
        )
        cell = dry[most[1], MONTHS.index(most[2]) + 1]
        assert [float(most[3]), float(most[4])] == cell
        assert cell[0] == max(pair[0] for pair in dry.values())


# By hand: four days before 1 March, the day of the second visit of the example.
@pytest.mark.parametrize(
    ("date", "days"), [("2027-02-25", 4), ("2027-02-21", None), ("2027-03-01", None)]
)
def test_who_comes_days_before_the_next_visit_is_told_to_key_in_that_one(date, days):
    plan = plan_of("home")
    card = plan_card(plan, datetime.date.fromisoformat(date), 4)
    text = " ".join(text_of(plan, card, "us").split())

    told = re.search(r"Visit 2 is due in (\d+) days: .* percents of (\S+), and", text)
    assert (told and int(told[1])) == days
    if told:
        assert card.visits[1].date == datetime.date(2027, 3, 1)
        assert told[2] == "Mar"
        assert text.index(told[0]) < text.index("At a visit")


def test_rows_that_a_workbook_hides_are_told():
    plan, card = plan_of("home"), cards_of("home")[4]
    values = {"workbook": "site.xlsx", "sheet": "zones", "rows": (3,)}
    hidden = Caution("rows-hidden", None, None, values)
    plan = replace(plan, cautions=(*plan.cautions, hidden))

    assert "site.xlsx" in text_of(plan, card, "us")


def test_each_month_is_in_one_visit_and_each_visit_by_its_date(planned):
    plan, cards = planned
    for card in cards.values():
        told = read_visits(text_of(plan, card, "us"))

        assert sorted(m for visit in told for m in visit.months) == list(range(1, 13))
        assert [visit.today for visit in told] == [True] + [False] * (len(told) - 1)
        assert told[0].date == KEYED_IN
        assert KEYED_IN.month in told[0].months
        dates = [visit.date for visit in told]
        assert dates == sorted(set(dates))
        assert dates[-1] < KEYED_IN.replace(year=KEYED_IN.year + 1)
        for visit in told[1:]:
            # It may wait while nothing of it runs, and no longer.
            assert visit.date.day == 1
            waits = visit.months[: visit.months.index(visit.date.month)]
            assert not any(p.percent[m] for p in visit.programs for m in waits)


def test_runs_in_data_are_base_times_percent_rounded_half_up(planned):
    plan, cards = planned
    step = Fraction(float(plan.site.controller.minute_step))
    for card in cards.values():
        data = data_of(plan, card)
        minutes = {}
        for visit in data["visits"]:
            for program in visit["programs"]:
                for zone in program["zones"]:
                    for month, percent in program["month_percent"].items():
                        base = Fraction(zone["base_minutes"])
                        run = half_up(base * Fraction(percent) / 100, step)
                        at = zone["zone"], int(month)
                        minutes[at] = minutes.get(at, 0) + run * len(program["starts"])
        for hand in data["by_hand"]:
            at = hand["zone"], hand["month"]
            assert at not in minutes or not minutes[at]
            minutes[at] = hand["cycles"] * hand["cycle_minutes"]
        for zone in data["zones"]:
            for month in zone["months"]:
                at = zone["zone"], month["month"]

                assert month["minutes_per_day"] == float(minutes.get(at, 0))
        # Water in is water told: the months make the year (law).
        volumes = [m["volume_l"] for zone in data["zones"] for m in zone["months"]]
        assert data["water_l_year"] == pytest.approx(sum(volumes))
        percent = 100 * (data["water_l_year"] / data["table_water_l_year"] - 1)
        assert data["extra_water_percent"] == pytest.approx(percent)


def test_data_has_the_keys_of_the_contract(planned):
    plan, cards = planned
    data = data_of(plan, cards[4])

    assert list(data) == [
        "format", "visits", "by_hand", "fills", "water_l_year", "table_water_l_year",
        "extra_water_percent", "gap_percent", "dry_days_percent",
        "table_dry_days_percent", "shallowest", "shortest_run_minutes", "broken",
        "zones",
    ]  # fmt: skip
    for visit in data["visits"]:
        assert list(visit) == ["months", "date", "programs"]
        datetime.date.fromisoformat(visit["date"])
        for program in visit["programs"]:
            assert {"program", "days", "every_days", "first_date", "starts", "zones",
                    "month_percent"} <= set(program)  # fmt: skip
            assert all(re.fullmatch(r"\d\d:\d\d", clock) for clock in program["starts"])
            assert set(program["month_percent"]) == set(map(str, visit["months"]))
            assert all({"zone", "base_minutes"} <= set(z) for z in program["zones"])
            assert program["every_days"] or program["first_date"] is None
    for zone in data["zones"]:
        assert [month["month"] for month in zone["months"]] == list(range(1, 13))


def test_text_keeps_within_100_columns_and_names_all_that_is_keyed(planned):
    plan, cards = planned
    for card in cards.values():
        text = text_of(plan, card, "us")

        assert max(map(len, text.splitlines())) <= 100
        assert text.count("\nVisit ") == len(card.visits)
        for visit in keyed.to_data(plan, card)["visits"]:
            for program in visit["programs"]:
                assert ", ".join(program["starts"]) in text
                for zone in program["zones"]:
                    assert re.search(
                        rf"^ +\d+ +{zone['zone']}  .* {zone['base_minutes']:g}$",
                        text,
                        re.MULTILINE,
                    )


def test_text_tells_of_zones_and_times_in_the_order_they_are_keyed(planned):
    plan, cards = planned
    text = blocks.text(report.blocks(plan, cards[1], "metric"), "metric")

    places = [text.index(word) for word in
              ("At a visit", "Visit 1", "Program A", "Days", "Starts", "Percent",
               "station")]  # fmt: skip
    assert places == sorted(places)


def test_text_says_how_runs_at_a_percent_are_rounded(planned):
    plan, _ = planned
    for step, told in (
        (1.0, "to the nearest minute."),
        (0.5, "to the nearest 0.5 min."),
    ):
        coarse = replace(plan.site.controller, minute_step=step)
        changed = replace(plan, site=replace(plan.site, controller=coarse))

        assert told in " ".join(words.how_to(changed))


def test_a_card_without_percents_says_nothing_of_rounding_them(planned):
    plan, cards = planned
    without = replace(plan.site.controller, percent_by="none")
    changed = replace(plan, site=replace(plan.site, controller=without))
    text = blocks.text(report.blocks(changed, cards[1], "us"), "us")
    markdown = blocks.markdown(report.blocks(changed, cards[1], "us"), "us")

    for told in (text, markdown):
        assert "percent" not in told.lower()
        assert "100 %" not in told


def test_csv_has_a_row_for_each_visit_program_and_zone(planned):
    plan, cards = planned
    card = cards[4]
    rows = list(csv.DictReader(io.StringIO(to_csv(keyed.to_table(plan, card), "us"))))
    told = [
        (visit, program["program"], zone["zone"], f"{zone['base_minutes']:g}")
        for visit, content in enumerate(keyed.to_data(plan, card)["visits"], 1)
        for program in content["programs"]
        for zone in program["zones"]
    ]

    assert [
        (int(r["visit"]), r["program"], r["zone"], f"{float(r['base_minutes']):g}")
        for r in rows
        if r["program"] != "by hand"
    ] == told
    assert [
        (r["zone"], float(r["base_minutes"])) for r in rows if r["program"] == "by hand"
    ] == [
        (plan.site.zones.zone[hand.zone], hand.cycles * hand.cycle_min)
        for visit in card.visits
        for hand in card.by_hand
        if hand.month in visit.months
    ]


def test_markdown_has_a_table_for_each_program(planned):
    plan, cards = planned
    card = cards[4]
    text = blocks.markdown(report.blocks(plan, card, "us"), "us")
    programs = sum(len(visit.programs) for visit in card.visits)

    assert text.count("| station |") == programs
    assert text.startswith("# Controller card: ")


@cache
def small():
    """The house on a controller of one program with one start."""
    site = read_site(ROOT / "examples" / "home")
    controller = replace(site.controller, programs=1.0, starts=1.0)
    plan = plan_site(replace(site, controller=controller))
    return plan, plan_card(plan, KEYED_IN, 1)


# A watering lies within half and double the table's, a dry share within 5 points of the
# larger of the limit (10 %: the default of site.toml) and the table's (the design).
def test_card_that_cannot_keep_all_tells_each_zone_and_month():
    plan, card = small()
    text = text_of(plan, card, "us")
    part = text.partition("\nWhat this card does not keep\n")[2].partition("\n\n")[0]
    told = data_of(plan, card)["broken"]
    minutes = cells_of(text, "Minutes of a watering day")
    dry = cells_of(text, "Dry days of a hundred")
    wrong = set()
    for at, (mine, table) in minutes.items():
        if mine and table and mine / table < 0.49:
            wrong.add(("shallow", *at))
        if mine and table and mine / table > 2.01:
            wrong.add(("deep", *at))
    for at, (mine, table) in dry.items():
        # Both are printed in whole days.
        if mine > max(10, table) + 5 + 1:
            wrong.add(("dry", *at))

    assert told
    found = {(one["limit"], one["zone"], one["month"]) for one in told}
    assert wrong <= found
    for limit, zone, month in found - wrong:
        assert limit == "dry"
        assert dry[zone, month][0] >= max(10, dry[zone, month][1]) + 4
    for limit, zone, _ in found:
        assert re.search(rf"card-{limit}: .*\b{zone}\b", part)
    assert {c.code for c in report.broken(plan, card)} == {
        f"card-{limit}" for limit, *_ in found
    }
    assert max(map(len, text.splitlines())) <= 100


WAYS = [
    WayOut("opens", "19:00", (), 0.0),
    WayOut("closes", "08:00", (), 0.0),
    WayOut("dates", "all", (), 0.0),
    WayOut("days", "4", (), 0.25),
    WayOut("programs", "4", (), 0.0),
    WayOut("starts", "6", (), 0.25),
    WayOut("percent_by", "program", (), 0.0),
    WayOut("intervals", "yes", (), 0.0),
    WayOut("need", "20", (0, 3), 0.25),
]


@pytest.mark.parametrize("way", WAYS, ids=lambda way: way.kind)
def test_way_out_names_the_change_and_what_it_leaves(way):
    plan, card = small()
    told = blocks.text(report.blocks(plan, card, "us", [way]), "us")
    part = " ".join(told.partition("Ways out, each of them tried")[2].split())

    assert way.value in part or way.value in ("yes", "program", "all")
    assert ("75 % of what is not kept goes away" in part) == (way.left == 0.25)
    assert ("all limits are kept" in part) == (way.left == 0)
    assert ("zones 1 and 4" in part) == bool(way.zones)


# By hand: Mondays and Thursdays every 28 days; 20 April 2027 is a Tuesday. 28 days
# after Thursday 3 June is 1 July, then 29 July; 21 after that, in August, is the 19th.
@pytest.mark.parametrize(
    ("hands", "since", "told"),
    [
        ([(6, 1, 40.0, 28), (7, 1, 40.0, 28), (8, 2, 25.0, 21)], (2027, 4, 20),
         "Jun-Jul 40 min, Mo Th, every 28 days, from 06:00; Aug 2 × 25 min, 30 min "
         "between, Mo Th, every 21 days, from 06:00; first on Thu 3 Jun 2027, "
         "then 1 Jul 2027, 29 Jul 2027 and 19 Aug 2027."),
        ([(4, 1, 40.0, 28)], (2027, 4, 20),
         "Apr 40 min, Mo Th, every 28 days, from 06:00; first on Thu 22 Apr 2027."),
        ([(3, 1, 40.0, 28)], (2027, 4, 20),
         "Mar 40 min, Mo Th, every 28 days, from 06:00; off until the next visit."),
        ([(4, 1, 40.0, 28), (6, 1, 40.0, 28)], (2027, 4, 30),
         "Apr, Jun 40 min, Mo Th, every 28 days, from 06:00; first on Thu 3 Jun 2027."),
    ],
)  # fmt: skip
def test_starts_by_hand_are_told_by_months_with_a_first_date(hands, since, told):
    found = [
        Hand(0, month, cycles, minutes, 30.0, 0b0001001, every)
        for month, cycles, minutes, every in hands
    ]
    months = [3, 4, 5, 6, 7, 8]

    starts = dict.fromkeys(found, 6 * 60)
    plan, date = plan_of("home"), datetime.date(*since)

    assert list(hands_told.by_hand(plan, months, found, date, starts)) == [
        f"By hand, station 1 Front lawn: {told}"
    ]
    assert list(hands_told.by_hand(plan, [1], found, KEYED_IN, starts)) == []


def test_starts_by_hand_and_fillings_are_in_every_form():
    plan, card = plan_of("home"), cards_of("home")[4]
    judged = replace(
        card.judged,
        filled=(
            *(Fill(zone, 4, 1, 1, 30.0, 0.0) for zone in (0, 1)),
            Fill(2, 4, 2, 3, 3.0, 45.0),
        ),
    )
    hand = Hand(3, 4, 1, 40.0, 0.0, 0b1111111, 28)
    changed = replace(card, by_hand=(hand,), judged=judged)
    text = " ".join(text_of(plan, changed, "us").split())
    # The lawns may be watered on Monday, Wednesday, Friday and Saturday; keyed in
    # on Tuesday 20 April 2027. Drip may run from 20:00 to 08:00, and programs leave no
    # 40 minutes of a morning free from six on (until 05:41, 05:45 to 07:00, 07:05 to
    # 07:57). A minute is let pass between zones: 0 to 30, 31 to 61,
    # 62 to 65, 110 to 113 and 158 to 161.
    fill = (
        "Wed 21 Apr 2027, 00:00-02:41: stations 1 and 2 for 30 min; station 3 Sidewalk "
        "strip for 3 × 3 min, 45 min between. "
        "Fri 23 Apr 2027, 00:00-01:39: station 3 Sidewalk strip for 3 × 3 min, 45 min "
        "between."
    )
    filled = [
        (one["zone"], one["days"], one["base_minutes"], one["cycle_minutes"])
        for one in csv.DictReader(
            io.StringIO(to_csv(keyed.to_table(plan, changed), "us"))
        )
        if one["program"] == "fill by hand"
    ]
    row = next(
        row
        for row in csv.DictReader(
            io.StringIO(to_csv(keyed.to_table(plan, changed), "us"))
        )
        if row["program"] == "by hand"
    )
    data = data_of(plan, changed)

    assert fill in text
    assert filled == [
        ("1", "2027-04-21", "30.0", ""),
        ("2", "2027-04-21", "30.0", ""),
        ("3", "2027-04-21 2027-04-23", "9.0", "3.0"),
    ]
    assert (
        "By hand, station 4 Shrub bed: Apr 40 min, every 28 days, from 20:00; first on "
        "Tue 20 Apr 2027." in text
    )
    assert (row["zone"], float(row["base_minutes"]), row["every_days"]) == (
        "4",
        40,
        "28",
    )
    assert float(row["apr_percent"]) == 100
    assert not row["mar_percent"]
    assert [(h["zone"], h["month"], h["cycle_minutes"]) for h in data["by_hand"]] == [
        ("4", 4, 40)
    ]
    assert [f["minutes"] * f["days"] for f in data["fills"]] == [30, 30, 18]


def test_ways_out_are_those_of_the_card_that_is_broken_alone():
    plan, card = plan_of("home"), cards_of("home")[4]

    assert not card.judged.broken
    assert ways_out(plan, card, KEYED_IN) == ()
