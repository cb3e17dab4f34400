"""The card as a calendar: other programs read it, and every year finds it true."""

import datetime
import re
from dataclasses import replace

import icalendar
import pytest
from cards import KEYED_IN, cards_of, filled_by_hand, plan_of
from remembered import make_cards, make_plan

from scheduler.plan.card.needs import Fill, Hand
from scheduler.plan.card.plan import plan_card
from scheduler.report.books.reminders import to_calendar


@pytest.fixture(scope="module", params=["home", "southern_garden"])
def planned(request):
    return plan_of(request.param), cards_of(request.param)


def calendar_of(plan, card, made=None):
    """Events by their date, those that are cancelled left out."""
    calendar = icalendar.Calendar.from_ical(to_calendar(plan, card, made=made))
    assert not calendar.errors
    events = {}
    for event in calendar.walk("VEVENT"):
        if event.get("status") != "CANCELLED":
            events.setdefault(event.decoded("dtstart"), []).append(event)
    return events


def firsts_from(date, count=18):
    """Firsts of the months after a date."""
    return [
        datetime.date(date.year + m // 12, m % 12 + 1, 1)
        for m in range(date.month, date.month + count)
    ]


def keyed(event):
    """What an event asks for first."""
    return str(event["summary"]).partition(":")[0]


def test_calendar_is_read_by_the_icalendar_library(planned):
    plan, cards = planned
    events = calendar_of(plan, cards[4])
    last = firsts_from(KEYED_IN)[-1]

    assert re.match(
        "(.*f no(ne| line) can( freeze)?, k|K)ey in visit 1 of",
        keyed(events[KEYED_IN][0]),
    )
    assert min(events) == KEYED_IN
    assert max(events) == last == datetime.date(2028, 10, 1)
    assert keyed(events[last][0]) == "Make the card and its calendar anew"
    for date, several in events.items():
        for event in several:
            assert type(date) is datetime.date
            assert event.decoded("dtend") - date == datetime.timedelta(days=1)
            assert "RRULE" not in event
            assert str(event["summary"]).endswith(f": {plan.site.name}")


# What a person knows of the controller who does what the calendar says, and no more.
def test_following_the_calendar_sets_what_the_card_says_in_every_month(planned):
    plan, cards = planned
    for card in cards.values():
        events, programs, percents = calendar_of(plan, card), {}, {}
        for date in [KEYED_IN, *firsts_from(KEYED_IN)[:-1]]:
            for event in events.get(date, []):
                text = str(event["description"])
                if "Clear every program" in text:
                    programs = dict(re.findall("Program (.+?): (.*); starts", text))
                    percents = {}
                found = re.findall("(All|Program .+?)(?: programs)?: ([0-9.]+) %", text)
                percents |= {who.removeprefix("Program "): float(p)
                             for who, p in found}  # fmt: skip
                if text.startswith("Nothing runs"):
                    programs = percents = {}
            visit = next(v for v in card.visits if date.month in v.months)
            for program in visit.programs:
                own = percents.get(program.name, percents.get("All", 0.0))

                assert own == program.percent[date.month], (date, program.name)
                # Before a visit that waits nothing runs by the programs still there.
                if own:
                    assert program.name in programs


def test_only_what_changes_has_a_reminder(planned):
    plan, cards = planned
    events = calendar_of(plan, cards[4])
    before = {}
    for several in events.values():
        for event in several:
            text = str(event["description"])
            found = dict(re.findall("(All programs|Program .+?): ([0-9.]+) %", text))
            if keyed(event).startswith(("Set percents", "Set every")):
                assert found != before
            before = found or before


def test_every_reminder_rings_the_evening_before(planned):
    plan, cards = planned
    calendar = icalendar.Calendar.from_ical(to_calendar(plan, cards[4]))
    for event in calendar.walk("VEVENT"):
        alarms = event.walk("VALARM")
        rings = event["dtstart"].dt > KEYED_IN and event.get("status") != "CANCELLED"

        assert len(alarms) == rings
        for alarm in alarms:
            assert alarm.decoded("trigger") == datetime.timedelta(hours=-6)


# Imported over an earlier one, a calendar changes its events by their identifiers
# (RFC 5545, 3.8.4.7) where its sequence is the higher (3.8.7.4).
def test_calendar_of_fewer_visits_leaves_no_order_of_the_one_before_it():
    plan, cards = plan_of("southern_garden"), cards_of("southern_garden")
    then = datetime.datetime(2027, 4, 20, 8, 0, tzinfo=datetime.UTC)
    held = {}
    for card, made in (
        (cards[4], then),
        (cards[1], then + datetime.timedelta(minutes=5)),
    ):
        text = to_calendar(plan, card, made=made)
        for event in icalendar.Calendar.from_ical(text).walk("VEVENT"):
            kept = held.get(event["uid"])
            assert kept is None or event["sequence"] > kept["sequence"]
            held[event["uid"]] = event
    left = [keyed(e) for e in held.values() if e.get("status") != "CANCELLED"]

    assert [name for name in left if name.startswith("Key in")] == [
        "Key in visit 1 of 1, for all months"
    ]
    assert len(cards[4].visits) > 1
    assert any(e.get("status") == "CANCELLED" for e in held.values())


# An interval counts from a date: what a reminder of the next year says has to be the
# first date that the card has which is keyed in on that day.
def test_first_dates_of_the_next_year_are_those_of_its_card():
    plan, card = plan_of("southern_garden"), cards_of("southern_garden")[4]
    # The second visit falls on the first of a month, and again a year later.
    date = card.visits[1].date.replace(year=card.visits[1].date.year + 1)
    visit = plan_card(plan, date, 4).visits[0]
    events = calendar_of(plan, card)
    text, found = str(events[date][0]["description"]), 0
    for program in visit.programs:
        line = re.search(f"Program {program.name}: (.*);", text)[1]
        told = re.search(r"first on ... (\d+ ... \d{4})", line)

        assert (told is None) == (program.first_date is None)
        if told:
            found += 1
            assert told[1] == f"{program.first_date.day} {program.first_date:%b %Y}"
    assert found


def test_todays_reminder_has_the_dates_of_the_card(planned):
    plan, cards = planned
    for card in cards.values():
        text = str(calendar_of(plan, card)[KEYED_IN][0]["description"])
        for program in card.visits[0].programs:
            if program.first_date:
                date = f"{program.first_date.day} {program.first_date:%b %Y}"
                assert date in re.search(f"Program {program.name}: (.*);", text)[1]


def test_calendar_names_zones_and_asks_to_clear_programs(planned):
    plan, cards = planned
    card = cards[4]
    events = calendar_of(plan, card)
    for visit in card.visits:
        text = str(events[visit.date][0]["description"])

        assert ("Clear every program" in text) == bool(visit.programs)
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
    (again,) = make_cards(make_plan(plan.site), KEYED_IN, (4,))

    assert to_calendar(plan, cards[4]) == to_calendar(plan, again)


def test_calendar_folds_long_names_of_any_letters():
    plan, name = plan_of("home"), "Gärten, „Süd“; Häuser 1–9 \\ 𝔸 " * 6
    named = replace(plan, site=replace(plan.site, name=name))
    text = to_calendar(named, cards_of("home")[1])
    event = icalendar.Calendar.from_ical(text).walk("VEVENT")[0]

    assert max(len(line.encode()) for line in text.split("\r\n")) <= 75
    assert str(event["summary"]).endswith(name)


def test_starts_by_hand_and_fillings_are_told_as_their_month_begins():
    plan, card = plan_of("home"), cards_of("home")[4]
    filled = Fill(0, 4, 1, 1, 30.0, 0.0), Fill(2, 5, 2, 3, 3.0, 45.0)
    judged = replace(card.judged, filled=filled)
    hand = Hand(3, 4, 1, 40.0, 0.0, 0b1111111, 28)
    events = calendar_of(plan, replace(card, by_hand=(hand,), judged=judged))
    # 1 April is past on 20 April 2027; April's own is told on the day itself.
    found = {
        date: str(events[date][0]["description"])
        for date in (KEYED_IN, datetime.date(2027, 5, 1), datetime.date(2028, 4, 1))
    }

    today, may, april = found.values()
    # By day, so that what opens in the evening may be filled the same night.
    run = "station 1 Front lawn for 30 min."
    assert f"Wed 21 Apr 2027, 00:00-00:30: {run}" in today
    assert f"Sat 1 Apr 2028, 22:00-22:30: {run}" in april
    assert "By hand, station 4 Shrub bed: Apr 40 min, every 28 days" in april
    assert re.search(
        r"Apr 40 min, every 28 days, from 20:00; first on ... \d+ Apr 2028", april
    )
    # By hand: three times 3 min and twice 45 between are 99 min.
    run = "station 3 Sidewalk strip for 3 × 3 min, 45 min between."
    assert f"Sat 1 May 2027, 22:00-23:39: {run}" in may
    assert f"Mon 3 May 2027, 00:00-01:39: {run}" in may


# The programs wait until the last filling is over, as the text itself says.
def test_percents_are_asked_for_again_once_the_ground_is_filled():
    plan = plan_of("business_park")
    card = filled_by_hand(plan_card(plan, datetime.date(2026, 11, 27), 4))
    events = calendar_of(plan, card)
    visit = next(e for e in events[datetime.date(2027, 4, 1)])
    text = str(visit["description"])
    after = re.search(r"set the month's percents on ... (\d+ ... \d{4})\.", text)[1]
    ready = datetime.datetime.strptime(after, "%d %b %Y").date()
    (again,) = events[ready]
    asked = re.findall("Program .+?: [0-9.]+ %", text)

    assert text.index("to fill the dry ground") < text.index(asked[0])
    assert f"from {after} on; 0 until then" in text
    assert keyed(again) == "Set percents for Apr"
    assert keyed(visit).endswith("at 0 %; first fill dry ground")
    assert re.findall("Program .+?: [0-9.]+ %", str(again["description"])) == asked


# By hand: from 2 December on every 14 days come 16 and 30 December, 13 and 27 January
# (off), 10 February; a year later from 3 November on 9 February.
def test_after_months_at_0_the_next_day_of_an_interval_is_told():
    plan = plan_of("home")
    card = plan_card(plan, datetime.date(2026, 11, 27), 4)
    program = card.visits[0].programs[0]
    assert (program.first_date, program.pattern.every_days, program.percent[1]) == (
        datetime.date(2026, 12, 2), 14, 0,
    )  # fmt: skip
    events = calendar_of(plan, card)
    for date, told in (("2027-02-01", "10 Feb 2027"), ("2028-02-01", "9 Feb 2028")):
        (event,) = events[datetime.date.fromisoformat(date)]
        assert f"A on {told}" in str(event["description"])
    (event,) = events[datetime.date(2026, 12, 1)]
    assert "After months at 0 %" not in str(event["description"])
