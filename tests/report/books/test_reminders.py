"""The card as a calendar: other programs read it, and every year finds it true."""

import datetime
import re
from dataclasses import replace
from functools import cache

import icalendar
import pytest
from cards import KEYED_IN, MONTHS, cards_of, plan_of
from remembered import make_cards, make_plan

from scheduler.plan.card.needs import Hand
from scheduler.plan.card.plan import plan_card
from scheduler.report.books.reminders import to_calendar


@pytest.fixture(scope="module", params=["home", "southern_garden"])
def planned(request):
    return plan_of(request.param), cards_of(request.param)


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
    by_hand = {hand.month for hand in card.by_hand}
    assert len(yearly) == len(card.visits) + 12 + len(by_hand) + 2
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
    (again,) = make_cards(make_plan(plan.site), KEYED_IN, (4,))

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


def test_starts_by_hand_and_fillings_have_a_reminder_as_their_month_begins():
    plan, card = plan_of("home"), cards_of("home")[4]
    judged = replace(card.judged, filled=((0, 4, 30.0, 1), (2, 5, 9.0, 2)))
    hand = Hand(3, 4, 1, 40.0, 0.0, 0b1111111, 28)
    yearly, _ = calendar_of(plan, replace(card, by_hand=(hand,), judged=judged))
    found = {
        name.removeprefix("start by hand in "): event
        for name, event in yearly.items()
        if name.startswith("start by hand in ")
    }

    # 1 April is past on 20 April 2027.
    assert {name: event.decoded("dtstart") for name, event in found.items()} == {
        "Apr": datetime.date(2028, 4, 1),
        "May": datetime.date(2027, 5, 1),
    }
    apr, may = (str(found[month]["description"]) for month in ("Apr", "May"))
    assert "zone 1 30 min." in apr
    assert "By hand, zone 4 Shrub bed: Apr 40 min, every 28 days." in apr
    assert "zone 3 9 min on each of 2 permitted days." in may
    assert not re.search(r"\d{4}", apr + may)
