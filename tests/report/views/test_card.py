"""The card in its forms: all say the same settings; others read the calendar."""

import csv
import datetime
import io
import json
import re
from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path
from types import SimpleNamespace

import icalendar
import numpy as np
import pytest

from scheduler.inputs.folder import read_site
from scheduler.plan.card.needs import Hand
from scheduler.plan.card.plan import compare_cards, plan_card
from scheduler.plan.card.ways_out import WayOut, ways_out
from scheduler.plan.site import plan_site
from scheduler.report import blocks
from scheduler.report.books.reminders import to_calendar
from scheduler.report.data import to_csv, to_json
from scheduler.report.views import card as report
from scheduler.report.views import table as table_report
from scheduler.report.views import visits
from scheduler.report.words.controller import card as words

ROOT = Path(__file__).parents[3]
KEYED_IN = datetime.date(2027, 4, 20)
MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun",
          "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]  # fmt: skip
# A year of 365 days, as bills and budgets count it.
DAYS = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
# A gallon is 231 in³ of 25.4³ mm³ each, an inch 25.4 mm: exact (NIST Handbook 44).
L_PER = {"us": 231 * 25.4**3 / 1e6, "metric": 1.0}
MM_PER = {"us": 25.4, "metric": 1.0}


@cache
def plan_of(example):
    return plan_site(read_site(ROOT / "examples" / example))


@cache
def cards_of(example):
    """Cards by visits a year."""
    counts = visits.COMPARED if example == "home" else (1, 4)
    plan = plan_of(example)
    return dict(zip(counts, compare_cards(plan, KEYED_IN, counts), strict=True))


@pytest.fixture(scope="module", params=["home", "southern_garden"])
def planned(request):
    return plan_of(request.param), cards_of(request.param)


def text_of(plan, card, units):
    return blocks.text(report.blocks(plan, card, units), units)


def data_of(plan, card):
    return json.loads(to_json(report.to_data(plan, card)))


def months_of(told):
    """Months that a text counts up, in its order: `Nov-Feb, May`."""
    if told == "all months":
        return list(range(1, 13))
    found = []
    for run in told.split(", "):
        first, _, last = run.partition("-")
        month = MONTHS.index(first) + 1
        found.append(month)
        while last and MONTHS[month - 1] != last:
            month = month % 12 + 1
            found.append(month)
    return found


def percents_of(told):
    """Percents by month: `Nov-Dec 0 % (off), Feb 95 %`."""
    found = {}
    for part, percent in re.findall(r"([A-Z][a-zA-Z-]*) ([\d.]+) %", told):
        found |= dict.fromkeys(months_of(part), Fraction(percent))
    return found


def read_visits(text):
    """What a printed card says to key in, read from its text alone."""
    found = []
    text = text.partition("\nMinutes of a watering day")[0]
    for part in re.split(r"\nVisit \d+ of \d+: ", text)[1:]:
        title = part.partition("\n---")[0].replace("\n", " ")
        date = re.search(r"(\d+ [A-Z][a-z]{2} \d{4})", title)[1]
        programs = []
        for block in re.split(r"\nProgram [A-Z]\n", part)[1:]:
            label = {
                name: " ".join(
                    re.search(rf"^  {name} +(.*(?:\n {{12}}.*)*)", block, re.MULTILINE)[
                        1
                    ].split()
                )
                for name in ("Days", "Starts", "Percent")
            }
            rows = re.findall(r"^ +\d+ +(\S+)  .*? ([\d.]+)$", block, re.MULTILINE)
            programs.append(
                SimpleNamespace(
                    days=label["Days"],
                    starts=re.findall(r"\d\d:\d\d", label["Starts"]),
                    percent=percents_of(label["Percent"]),
                    runs={zone: Fraction(run) for zone, run in rows},
                )
            )
        found.append(
            SimpleNamespace(
                months=months_of(re.search(", for (.*)$", title)[1]),
                date=datetime.datetime.strptime(date, "%d %b %Y").date(),
                today="key in today" in title,
                programs=programs,
            )
        )
    return found


def half_up(minutes, step):
    """A run in whole steps of the controller, a half up, in exact arithmetic."""
    return (minutes / step + Fraction(1, 2)).__floor__() * step


def dates_in_month(days, month):
    """How often a program waters in a mean month, by what is printed of its days."""
    every = re.match(r"every (\d+) days", days)
    if every:
        return DAYS[month - 1] / int(every[1])
    a_week = 7 if days == "every day" else len(days.split())
    assert a_week == 7 or all(len(day) == 2 for day in days.split())
    return DAYS[month - 1] * a_week / 7


def runs_of(plan, text):
    """Zone, month, minutes of a watering day, dates in the month, run, as printed."""
    step = Fraction(float(plan.site.controller.minute_step))
    for visit in read_visits(text):
        for program in visit.programs:
            for zone, base in program.runs.items():
                for month in visit.months:
                    run = half_up(base * program.percent[month] / 100, step)
                    dates = dates_in_month(program.days, month)
                    yield zone, month, run * len(program.starts), dates, run


def cells_of(text, title):
    """Card and table by zone and month, from a printed table; None for blanks."""
    part = text[text.index(f"\n{title}") :].splitlines()
    row = next(row for row, line in enumerate(part) if line.startswith("zone"))
    # Columns end where their headings end.
    ends = [re.search(month, part[row]).end() for month in MONTHS]
    found, zone, after = {}, "", next(k for k in range(row, len(part)) if not part[k])
    for line in part[row + 2 : after]:
        of = re.match(r" *(\S*)  +(card|table)", line)
        zone, start = of[1] or zone, of.end()
        for month, end in enumerate(ends, 1):
            cell = line[start:end].strip()
            start = end
            pair = found.setdefault((zone, month), [None, None])
            pair[of[2] == "table"] = float(cell) if cell else None
    return {at: pair for at, pair in found.items() if pair != [None, None]}


def zones_of(plan):
    """What the watering table says of the zones."""
    data = json.loads(to_json(table_report.to_data(plan, "metric")))
    return {zone["zone"]: zone for zone in data["zones"]}


@pytest.mark.parametrize("units", ["us", "metric"])
def test_water_of_the_header_is_what_the_blocks_lay_down(planned, units):
    plan, cards = planned
    zones = zones_of(plan)
    for card in cards.values():
        text = text_of(plan, card, units)
        told = re.search(r"The\s+zones\s+get\s+([\d,]+)\s+(?:gal|L),", text)[1]
        water_l = sum(
            float(minutes) * dates * zones[zone]["flow_l_min"]
            for zone, _, minutes, dates, _ in runs_of(plan, text)
        )

        assert "by hand" not in text.lower()
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
            r"shallowest watering lays down ([\d.]+) of .* \(zone (\S+) in (...)\)", head
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


def test_first_dates_are_to_come_on_a_day_that_waters_in_a_month_that_runs(planned):
    plan, cards = planned
    found = 0
    for card in cards.values():
        for visit in read_visits(text_of(plan, card, "us")):
            for program in visit.programs:
                if "every " not in program.days or program.days == "every day":
                    assert "first" not in program.days
                    continue
                found += 1
                told = re.fullmatch(
                    r"every \d+ days, first on (...) (\d+ ... \d{4})", program.days
                )
                first = datetime.datetime.strptime(told[2], "%d %b %Y").date()
                runs = [m for m in visit.months if program.percent[m]]

                assert first >= visit.date
                assert first.strftime("%a") == told[1]
                assert first.month in runs
                assert first < visit.date + datetime.timedelta(days=366)
        for visit in data_of(plan, card)["visits"]:
            for program in visit["programs"]:
                if program["first_date"]:
                    first = datetime.date.fromisoformat(program["first_date"])
                    assert first.strftime("%a").lower() in program["days"]
    assert found


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
            assert (program["first_date"] is None) == (program["every_days"] is None)
    for zone in data["zones"]:
        assert [month["month"] for month in zone["months"]] == list(range(1, 13))


def test_text_keeps_within_100_columns_and_names_all_that_is_keyed(planned):
    plan, cards = planned
    for card in cards.values():
        text = text_of(plan, card, "us")

        assert max(map(len, text.splitlines())) <= 100
        assert text.count("\nVisit ") == len(card.visits)
        for visit in report.to_data(plan, card)["visits"]:
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
    for step, told in ((1.0, "nearest minute, a half up"), (0.5, "nearest 0.5 min, a")):
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
    rows = list(csv.DictReader(io.StringIO(to_csv(report.to_table(plan, card), "us"))))
    told = [
        (visit, program["program"], zone["zone"], f"{zone['base_minutes']:g}")
        for visit, content in enumerate(report.to_data(plan, card)["visits"], 1)
        for program in content["programs"]
        for zone in program["zones"]
    ]

    assert [
        (int(r["visit"]), r["program"], r["zone"], f"{float(r['base_minutes']):g}")
        for r in rows
    ] == told


def test_markdown_has_a_table_for_each_program(planned):
    plan, cards = planned
    card = cards[4]
    text = blocks.markdown(report.blocks(plan, card, "us"), "us")
    programs = sum(len(visit.programs) for visit in card.visits)

    assert text.count("| station |") == programs
    assert text.startswith("# Controller card: ")


def calendar_of(plan, card):
    calendar = icalendar.Calendar.from_ical(to_calendar(plan, card))
    assert not calendar.errors
    return {
        str(event["summary"]).partition(": ")[2]: event
        for event in calendar.walk("VEVENT")
        if "RRULE" in event
    }, [event for event in calendar.walk("VEVENT") if "RRULE" not in event]


def test_calendar_is_read_by_the_icalendar_library(planned):
    plan, cards = planned
    card = cards[4]
    yearly, once = calendar_of(plan, card)

    # A reminder for the percents of each month, to drain before frost, and to start.
    assert len(yearly) == len(card.visits) + 12 + 2
    # Today's is no date of a year to come: 20 April is in the midst of its months.
    assert [event.decoded("dtstart") for event in once] == [KEYED_IN]
    for event in yearly.values():
        start = event.decoded("dtstart")
        assert type(start) is datetime.date
        assert start.day == 1
        # Nothing is past, and all of a year is there.
        assert KEYED_IN <= start < KEYED_IN.replace(year=KEYED_IN.year + 1)
        assert event.decoded("dtend") - start == datetime.timedelta(days=1)
        assert event["rrule"]["freq"] == ["YEARLY"]
    for number, visit in enumerate(card.visits, 1):
        told = f"visit {number} of {len(card.visits)}, for "
        event = next(event for name, event in yearly.items() if name.startswith(told))
        due = visit.date.month if number > 1 else visit.months[0]
        assert event.decoded("dtstart").month == due
    for month in range(1, 13):
        event = yearly[f"month percents for {MONTHS[month - 1]}"]
        assert event.decoded("dtstart").month == month


# An interval counts from a date, and a reminder comes back each year: what it says has
# to lead to the first date of any year, as plan_card finds it for that year.
@pytest.mark.parametrize("year", [2027, 2028, 2031])
def test_calendar_says_nothing_that_holds_for_one_year_alone(year):
    plan = plan_of("southern_garden")
    card = new_years_card(2027)
    later = new_years_card(year)
    yearly, once = calendar_of(plan, card)
    found = 0
    assert not once
    for visit, event in zip(later.visits, yearly.values(), strict=False):
        text = str(event["description"])
        assert not re.search(r"\d{4}", text + str(event["summary"]))
        for program in visit.programs:
            line = re.search(f"Program {program.name}: (.*);", text)[1]
            told = re.search("first on the first (.*) of (...)$", line)

            assert (told is None) == (program.first_date is None)
            if told:
                found += 1
                month = MONTHS.index(told[2]) + 1
                dates = [
                    datetime.date(program.first_date.year, month, day)
                    for day in range(1, 8)
                ]
                first = next(
                    d
                    for d in dates
                    if told[1] == "day" or d.strftime("%a") in told[1].split(" or ")
                )
                assert first == program.first_date
    assert found


@cache
def new_years_card(year):
    """A card of the garden keyed in as the year, and its first visit, begins."""
    plan = plan_of("southern_garden")
    return plan_card(plan, datetime.date(year, 1, 1), 12)


def test_today_s_reminder_has_the_dates_of_the_card(planned):
    plan, cards = planned
    for card in cards.values():
        _, once = calendar_of(plan, card)
        for event in once:
            text = str(event["description"])
            for program in card.visits[0].programs:
                if program.first_date:
                    date = f"{program.first_date.day} {program.first_date:%b %Y}"
                    assert date in re.search(f"Program {program.name}: (.*);", text)[1]


def test_calendar_names_zones_and_asks_to_clear_programs(planned):
    plan, cards = planned
    card = cards[4]
    yearly, _ = calendar_of(plan, card)
    for visit, event in zip(card.visits, yearly.values(), strict=False):
        text = str(event["description"])

        assert text.startswith("Clear every program") == bool(visit.programs)
        for program in visit.programs:
            for row, cycle in zip(program.zones, program.cycle_min, strict=True):
                line = re.search(f" {re.escape(plan.site.zones.name[row])}: .*", text)
                assert ("soak" in line[0]) == (cycle > 0)


# RFC 5545, 3.1: lines end in CRLF and hold at most 75 octets; 3.6: VERSION and PRODID
# once; 3.6.1: UID and DTSTAMP in each event, and a UID is of one event alone.
def test_calendar_keeps_to_rfc_5545(planned):
    plan, cards = planned
    text = to_calendar(plan, cards[1])
    lines = text.encode("utf-8").split(b"\r\n")

    assert lines[-1] == b""
    assert b"\n" not in b"".join(lines)
    assert max(map(len, lines)) <= 75
    assert text.count("VERSION:2.0") == text.count("PRODID:") == 1
    whole = text.replace("\r\n ", "")
    uids = re.findall(r"^UID:(.+)$", whole, re.MULTILINE)
    events = whole.count("BEGIN:VEVENT")
    assert len(set(uids)) == len(uids) == events
    assert len(re.findall(r"^DTSTAMP:\d{8}T\d{6}Z", whole, re.MULTILINE)) == events


def test_calendar_has_the_same_bytes_again(planned):
    plan, cards = planned
    again = plan_card(plan_site(plan.site), KEYED_IN, 4)

    assert to_calendar(plan, cards[4]) == to_calendar(plan, again)


def test_calendar_of_the_next_year_changes_the_same_reminders():
    uids, stamps = zip(
        *(
            (
                re.findall("UID:(.+)", text),
                set(re.findall("DTSTAMP:(.+)", text)),
            )
            for text in (
                to_calendar(plan_of("southern_garden"), new_years_card(year))
                for year in (2027, 2028)
            )
        ),
        strict=True,
    )

    assert uids[0] == uids[1]
    # RFC 5545, 3.8.7.2: a later stamp is the later revision.
    assert max(stamps[0]) < min(stamps[1])


def test_calendar_folds_long_names_of_any_letters():
    plan, name = plan_of("home"), "Gärten, „Süd“; Häuser 1–9 \\ 𝔸 " * 6
    named = replace(plan, site=replace(plan.site, name=name))
    text = to_calendar(named, cards_of("home")[1])
    event = icalendar.Calendar.from_ical(text).walk("VEVENT")[0]

    assert max(len(line.encode()) for line in text.split("\r\n")) <= 75
    assert str(event["summary"]).startswith(name)


def test_comparison_sets_visits_side_by_side():
    plan, cards = plan_of("home"), cards_of("home")
    of_visits = list(cards.values())
    data = visits.comparison_data(of_visits)["compared"]
    text = blocks.text(visits.comparison_blocks(plan, of_visits, "us"), "us")

    assert [row["visits"] for row in data] == [1, 2, 3, 4, 6, 12]
    table_l = sum(
        month["volume_l"]
        for zone in zones_of(plan).values()
        for month in zone["months"]
    )
    for row, card in zip(data, of_visits, strict=True):
        # The percent is that of the table's water (definition).
        assert row["water_l_year"] / table_l == pytest.approx(
            1 + row["extra_water_percent"] / 100
        )
        assert len(row["months"]) <= row["visits"]
        # What the printed card of so many visits says.
        told = text_of(plan, card, "us")
        kept = "see the end" not in " ".join(told.split())
        assert kept == (row["not_kept"] == 0)
        pairs = cells_of(told, "Minutes of a watering day").values()
        shares = [mine / table for mine, table in pairs if mine and table]
        assert row["shallowest_share"] == pytest.approx(min(shares))
        line = re.search(rf"^ *{row['visits']} +([\d,]+) ", text, re.MULTILINE)
        gallons = float(line[1].replace(",", ""))
        assert gallons * L_PER["us"] == pytest.approx(row["water_l_year"], rel=1e-5)
    assert max(map(len, text.splitlines())) <= 100


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


# By hand: Mondays and Thursdays every 28 days; 20 April 2027 is a Tuesday.
@pytest.mark.parametrize(
    ("hands", "since", "told"),
    [
        ([(6, 1, 40.0, 28), (7, 1, 40.0, 28), (8, 2, 25.0, 21)], (2027, 4, 20),
         "Jun-Jul 40 min, Mo Th, every 28 days; Aug 2 × 25 min, 30 min between, Mo Th, "
         "every 21 days; first on Thu 3 Jun 2027."),
        ([(4, 1, 40.0, 28)], (2027, 4, 20),
         "Apr 40 min, Mo Th, every 28 days; first on Thu 22 Apr 2027."),
        ([(3, 1, 40.0, 28)], (2027, 4, 20),
         "Mar 40 min, Mo Th, every 28 days; first on Thu 2 Mar 2028."),
    ],
)  # fmt: skip
def test_starts_by_hand_are_told_by_months_with_a_first_date(hands, since, told):
    found = [
        Hand(0, month, cycles, minutes, 30.0, 0b0001001, every)
        for month, cycles, minutes, every in hands
    ]
    months = [month for month, *_ in hands]

    assert list(
        words.by_hand(plan_of("home"), months, found, datetime.date(*since))
    ) == [f"By hand, zone 1: {told}"]
    assert list(words.by_hand(plan_of("home"), [1], found, None)) == []


def test_starts_by_hand_and_fillings_are_in_every_form():
    plan, card = plan_of("home"), cards_of("home")[4]
    judged = replace(
        card.judged, filled=((0, 4, 30.0, 1), (1, 4, 30.0, 1), (2, 4, 9.0, 2))
    )
    hand = Hand(3, 4, 1, 40.0, 0.0, 0b1111111, 28)
    changed = replace(card, by_hand=(hand,), judged=judged)
    text = " ".join(text_of(plan, changed, "us").split())
    fill = "zones 1 and 2 30 min; zone 3 9 min on each of 2 permitted days."
    row = next(
        row
        for row in csv.DictReader(
            io.StringIO(to_csv(report.to_table(plan, changed), "us"))
        )
        if row["program"] == "by hand"
    )
    data = data_of(plan, changed)
    event = calendar_of(plan, changed)[0]["start by hand in Apr"]

    assert fill in text
    assert (
        "By hand, zone 4: Apr 40 min, every 28 days; first on Tue 20 Apr 2027." in text
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
    assert event.decoded("dtstart") == datetime.date(2028, 4, 1)
    assert fill in str(event["description"])
    assert not re.search(r"\d{4}", str(event["description"]))


def test_ways_out_are_those_of_the_card_that_is_broken_alone():
    plan, card = plan_of("home"), cards_of("home")[4]

    assert not card.judged.broken
    assert ways_out(plan, card, KEYED_IN) == ()
