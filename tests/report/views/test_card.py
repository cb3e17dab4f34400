"""The card in its forms: all say the same settings; others read the calendar."""

import csv
import datetime
import io
import json
import re
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import icalendar
import pytest

from scheduler.inputs.folder import read_site
from scheduler.plan.card.controllers import SmallestController
from scheduler.plan.card.plan import plan_cards
from scheduler.plan.site import plan_site
from scheduler.report import blocks
from scheduler.report.books.reminders import to_calendar
from scheduler.report.data import to_csv, to_json
from scheduler.report.views import card as report
from scheduler.report.views import visits
from scheduler.report.words.controller import card as words

ROOT = Path(__file__).parents[3]


@pytest.fixture(scope="module", params=["home", "southern_garden"])
def planned(request):
    plan = plan_site(read_site(ROOT / "examples" / request.param))
    return plan, plan_cards(plan, datetime.date(2027, 1, 1))


def test_data_has_the_keys_of_the_contract(planned):
    plan, cards = planned
    data = json.loads(to_json(report.to_data(plan, cards.cards[3])))

    assert list(data) == ["format", "visits", "extra_water_percent",
                          "worst_shortfall_percent", "bound_extra_percent"]  # fmt: skip
    for visit in data["visits"]:
        assert list(visit) == ["months", "programs"]
        for program in visit["programs"]:
            assert {"program", "days", "every_days", "first_date", "starts", "zones",
                    "month_percent"} <= set(program)  # fmt: skip
            assert all(re.fullmatch(r"\d\d:\d\d", clock) for clock in program["starts"])
            assert set(program["month_percent"]) == set(map(str, visit["months"]))
            assert all({"zone", "base_minutes"} <= set(z) for z in program["zones"])
            assert (program["first_date"] is None) == (program["every_days"] is None)


def test_first_date_is_a_watering_day_in_the_first_month_that_runs(planned):
    plan, cards = planned
    for card in cards.cards:
        for visit in report.to_data(plan, card)["visits"]:
            for program in visit["programs"]:
                if program["first_date"]:
                    first = datetime.date.fromisoformat(program["first_date"])

                    percents = program["month_percent"]
                    running = [m for m in visit["months"] if percents[str(m)]]
                    assert first.month == running[0]
                    assert first.day <= 7
                    assert first.strftime("%a").lower() in program["days"]


def test_text_keeps_within_100_columns_and_names_all_that_is_keyed(planned):
    plan, cards = planned
    for card in cards.cards:
        text = blocks.text(report.blocks(plan, card, "us"), "us")

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
    text = blocks.text(report.blocks(plan, cards.cards[0], "metric"), "metric")

    places = [text.index(word) for word in
              ("At a visit", "Visit 1", "Program A", "Days", "Starts", "Percent",
               "station")]  # fmt: skip
    assert places == sorted(places)


def test_text_says_how_runs_at_a_percent_are_rounded_and_what_it_is_worth(planned):
    plan, cards = planned
    controller = plan.site.controller
    for step, told in ((1.0, "nearest minute, a half up"), (0.5, "nearest 0.5 min, a")):
        coarse = replace(controller, minute_step=step)
        changed = replace(plan, site=replace(plan.site, controller=coarse))

        assert told in " ".join(words.how_to(changed))
    kept = cards.cards[0].if_seconds_kept
    assert f"{kept.month_shortfall_percent:.1f} % short in a month" in words.facts(
        plan, cards.cards[0], 1000.0, "us"
    )


def test_a_card_without_percents_says_nothing_of_rounding_them(planned):
    plan, cards = planned
    without = replace(plan.site.controller, percent_by="none")
    changed = replace(plan, site=replace(plan.site, controller=without))
    text = blocks.text(report.blocks(changed, cards.cards[0], "us"), "us")
    markdown = blocks.markdown(report.blocks(changed, cards.cards[0], "us"), "us")

    for told in (text, markdown):
        assert "percent" not in told.lower()
        assert "100 %" not in told


def test_csv_has_a_row_for_each_visit_program_and_zone(planned):
    plan, cards = planned
    card = cards.cards[3]
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
    card = cards.cards[3]
    text = blocks.markdown(report.blocks(plan, card, "us"), "us")
    programs = sum(len(visit.programs) for visit in card.visits)

    assert text.count("| station |") == programs
    assert text.startswith("# Controller card: ")


def test_calendar_is_read_by_the_icalendar_library(planned):
    plan, cards = planned
    card = cards.cards[3]
    calendar = icalendar.Calendar.from_ical(to_calendar(plan, card, 2027))
    events = [part for part in calendar.walk() if part.name == "VEVENT"]
    by_months = [e.decoded("dtstart").month for e in events[: len(card.visits)]]

    assert not calendar.errors
    # A reminder for the percents of each month, to drain before frost, and to start.
    assert len(events) == len(card.visits) + 12 + 2
    for month, visit in zip(by_months, card.visits, strict=True):
        # A visit may wait while nothing of it runs, and no longer.
        waits = visit.months[: visit.months.index(month)]
        assert not any(p.percent[m] for p in visit.programs for m in waits)
        assert not waits or any(p.percent[month] for p in visit.programs)
    for event in events:
        start = event.decoded("dtstart")
        assert type(start) is datetime.date
        assert start.day == 1
        assert event.decoded("dtend") - start == datetime.timedelta(days=1)
        assert event["rrule"]["freq"] == ["YEARLY"]


# An interval counts from a date, and a reminder comes back each year: what it says has
# to lead to the first date of any year, as plan_cards finds it for that year.
@pytest.mark.parametrize("year", [2027, 2028, 2031])
def test_calendar_says_nothing_that_holds_for_one_year_alone(year):
    plan = plan_site(read_site(ROOT / "examples" / "southern_garden"))
    card = plan_cards(plan, datetime.date(2027, 1, 1)).cards[11]
    later = plan_cards(plan, datetime.date(year, 1, 1)).cards[11]
    calendar = icalendar.Calendar.from_ical(to_calendar(plan, card, 2027))
    texts = [str(event["description"]) for event in calendar.walk("VEVENT")]
    found = 0
    for visit, text in zip(later.visits, texts, strict=False):
        assert not re.search(r"\d{4}", text)
        for program in visit.programs:
            line = re.search(f"Program {program.name}: (.*);", text)[1]
            told = re.search("first on the first (.*) of (...)$", line)

            assert (told is None) == (program.first_date is None)
            if told:
                found += 1
                days = told[1].split(" or ")
                dates = [
                    datetime.date(year, visit.months[0], day) for day in range(1, 8)
                ]
                first = next(
                    d for d in dates if told[1] == "day" or d.strftime("%a") in days
                )
                assert first == program.first_date
                assert first.strftime("%b") == told[2]
    assert found


def test_calendar_names_zones_and_asks_to_clear_programs(planned):
    plan, cards = planned
    card = cards.cards[3]
    calendar = icalendar.Calendar.from_ical(to_calendar(plan, card, 2027))
    for visit, event in zip(card.visits, calendar.walk("VEVENT"), strict=False):
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
    text = to_calendar(plan, cards.cards[0], 2027)
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
    again = plan_cards(plan_site(plan.site), datetime.date(2027, 1, 1))

    assert to_calendar(plan, cards.cards[3], 2027) == to_calendar(
        plan, again.cards[3], 2027
    )


def test_calendar_of_the_next_year_changes_the_same_reminders(planned):
    plan, cards = planned
    uids = [
        re.findall("UID:(.+)", to_calendar(plan, cards.cards[3], year))
        for year in (2027, 2028)
    ]

    assert uids[0] == uids[1]


def test_calendar_folds_long_names_of_any_letters():
    plan = plan_site(read_site(ROOT / "examples" / "home"))
    name = "Gärten, „Süd“; Häuser 1–9 \\ 𝔸 " * 6
    named = replace(plan, site=replace(plan.site, name=name))
    card = plan_cards(plan, datetime.date(2027, 1, 1)).cards[0]
    text = to_calendar(named, card, 2027)
    event = icalendar.Calendar.from_ical(text).walk("VEVENT")[0]

    assert max(len(line.encode()) for line in text.split("\r\n")) <= 75
    assert str(event["summary"]).startswith(name)


def test_comparison_sets_visits_side_by_side(planned):
    plan, cards = planned
    data = visits.comparison_data(plan, cards)["compared"]
    text = blocks.text(visits.comparison_blocks(plan, cards, "us"), "us")

    assert [row["visits"] for row in data] == [1, 2, 3, 4, 6, 12]
    extra = [row["extra_water_percent"] for row in data]
    assert extra == sorted(extra, reverse=True)
    # Extra in liters is the percent of the need (definition).
    need = visits.water_l_of_need(plan, cards)
    for row in data:
        assert row["extra_water_l"] / need * 100 == pytest.approx(
            row["extra_water_percent"]
        )
    assert max(map(len, text.splitlines())) <= 100


def test_refusal_names_the_limit_the_months_and_what_would_hold():
    site = read_site(ROOT / "examples" / "home")
    small = replace(site.controller, programs=1.0, starts=1.0)
    plan = plan_site(replace(site, controller=small, plan_by="months"))
    cards = plan_cards(plan, datetime.date(2027, 1, 1))
    smallest = SmallestController((("starts", 4.0), ("programs", 2.0)))
    text = blocks.text(visits.refusal(plan, cards, 2, smallest, "us"), "us")

    assert "cannot be set for 2 visits a year" in text
    assert "Apr-Sep: zones 2 and 3: 1 start time in 1 program," in text
    assert "4 start times a program and 2 programs" in text
    assert max(map(len, text.splitlines())) <= 100
    assert [c.code for c in visits.cautions(cards, 2)] == ["controller-too-small"]
    assert visits.refusal_data(plan, cards, smallest)["visits"] == []


def visit(months, *percents):
    """A visit whose programs have these percents along its months."""
    programs = tuple(
        SimpleNamespace(percent=dict(zip(months, row, strict=True))) for row in percents
    )
    return SimpleNamespace(months=months, programs=programs)


# By hand: what is keyed already does nothing until the month before, so a visit may
# wait for the first month that runs; while the one before still runs, it may not.
@pytest.mark.parametrize(
    ("visits", "by"),
    [
        ([visit((1, 2, 3), (0, 0, 50)), visit((4, 12), (100, 0))], [3, 4]),
        ([visit((1, 2, 3), (0, 0, 50)), visit((4, 12), (100, 5))], [1, 4]),
        ([visit((1, 2), (0, 50), (10, 0)), visit((3, 12), (50, 0))], [1, 3]),
        ([visit((1, 2)), visit((3, 12), (50, 0))], [1, 3]),
        ([visit((1, 2, 12), (0, 9, 0))], [2]),
        ([visit((11, 12, 1), (0, 0, 9)), visit((2, 10), (9, 0))], [1, 2]),
    ],
)
def test_visit_waits_only_while_nothing_runs(visits, by):
    card = SimpleNamespace(visits=visits)

    assert [report.visit_month(card, row) for row in range(len(visits))] == by
