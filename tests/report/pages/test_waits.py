"""The day on which waiting percents are set, the same on every page of a sheet."""

import datetime
import re
from itertools import pairwise

import sheets
from cards import filled_by_hand, plan_of

from scheduler.plan.card.plan import plan_card
from scheduler.report.pages import sheet as page


def filled():
    """Plan, card and text of business_park with fillings by hand in April."""
    plan = plan_of("business_park")
    card = filled_by_hand(plan_card(plan, datetime.date(2026, 11, 27), 4))
    html = page.sheet(sheets.budget("business_park"), card, sheets.MADE, "us")
    return plan, card, html


def test_owner_and_door_tell_one_date_for_percents_that_wait_for_fillings():
    _, _, text = filled()
    waits = re.findall(r"(\w{3}): off until ([^<,]+), while dry ground", text)
    percents = re.search(r"Percents, by the page in the door: ([^<]*)", text)[1]
    first = percents.partition(";")[0]

    assert waits
    assert all(date in percents for _, date in waits)
    assert not any(month in first for month, _ in waits)


def test_fillings_are_told_by_the_clock_one_after_another():
    plan, card, html = filled()
    text = " ".join(re.sub("<[^>]*>", " ", html).split())
    # The controller splits its runs, and a filling is split as they are: no cycle is
    # longer than the ground takes. Turf runs on odd dates alone, from 20:00 to 07:00,
    # not before lines are filled on 1 April (site.toml); one line runs at a time.
    lines = re.findall(
        r"(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun) (\d+) (\w{3}) 2027, (\d+):(\d+)-(\d+):(\d+): "
        r"([^.]*)\.",
        text,
    )
    took = {}
    for date, name, *clock, _ in lines:
        hour, minute, end_hour, end_minute = map(int, clock)
        took.setdefault(name + date, []).append(
            (60 * hour + minute, 60 * end_hour + end_minute)
        )
    for spans in took.values():
        assert all(end <= start for (_, end), (start, _) in pairwise(sorted(spans)))
    for fill in card.judged.filled:
        name = f"{datetime.date(2027, fill.month, 1):%b}"
        assert f"As {name} begins, by hand, to fill the dry ground:" in text
        station = str(int(plan.site.zones.station[fill.zone]))
        dates = []
        for date, month, hour, _, end_hour, end_minute, told in lines:
            for stations, run in re.findall(r"stations? (\d[^:;]*?) for ([^;]*)", told):
                if month != name or station not in re.findall(r"\d+", stations):
                    continue
                dates.append(int(date))
                longest = re.search(r"cycle ([\d.]+)", run) or re.match(
                    r"([\d.]+)", run
                )
                assert float(longest[1]) <= plan.plan.longest_cycle_min[fill.zone]
                if plan.inputs.valve.runs_off[fill.zone]:
                    end = 60 * int(end_hour) + int(end_minute)
                    assert int(date) % 2
                    assert int(hour) >= 20 or end <= 7 * 60
                if (date, month) == ("1", "Apr"):
                    assert int(hour) >= 12
        assert len(set(dates)) == len(dates) == fill.days
