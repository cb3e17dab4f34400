"""Checks the package's table of odd and even dates against the calendar."""

import csv
import datetime
import importlib.resources
import itertools
from collections import Counter

import pytest

WEEKDAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
CYCLE_DAYS = 146_097  # a 400-year Gregorian cycle: 400 * 365 + 97 leap days


def read_table(name: str) -> list[dict[str, str]]:
    path = importlib.resources.files("scheduler") / "tables" / f"{name}.csv"
    return list(csv.DictReader(path.read_text("utf-8").splitlines(), strict=True))


def weekday_sets() -> list[str]:
    """The 127 sets in the order of their bit mask, Monday = 1, Tuesday = 2, …"""
    return [
        " ".join(day for bit, day in enumerate(WEEKDAYS) if mask & 2**bit)
        for mask in range(1, 128)
    ]


def test_parity_days_has_each_set_of_weekdays_once_in_order_of_the_mask():
    rows = [(row["parity"], row["weekdays"]) for row in read_table("parity_days")]

    assert rows == [
        (parity, days) for parity in ("odd", "even") for days in weekday_sets()
    ]


# Exact: counted date by date over a Gregorian cycle, 1 January 2000 to 31 December
# 2399, with Python's own calendar. The cycle is a whole number of weeks (146,097 =
# 7 * 20,871), so the last gap runs on to the first date of the next cycle.
@pytest.mark.parametrize("parity", ["odd", "even"])
def test_parity_days_are_those_of_the_calendar(parity):
    first = datetime.date(2000, 1, 1).toordinal()
    dates = map(datetime.date.fromordinal, range(first, first + CYCLE_DAYS))
    ordinals: dict[str, list[int]] = {day: [] for day in WEEKDAYS}
    for date in dates:
        if date.day % 2 == (parity == "odd"):
            ordinals[WEEKDAYS[date.weekday()]].append(date.toordinal())
    counted = []
    for days in weekday_sets():
        hits = sorted(itertools.chain(*(ordinals[day] for day in days.split())))
        gaps = [b - a for a, b in itertools.pairwise([*hits, hits[0] + CYCLE_DAYS])]
        # 1 January of the year 1 was a Monday, and its ordinal is 1.
        weeks = Counter((hit - 1) // 7 for hit in hits)
        squares = sum(gap * gap for gap in gaps)
        most = max(weeks.values())
        counted.append((days, len(hits), most, max(gaps), squares))

    assert counted == [
        (
            row["weekdays"],
            int(row["dates"]),
            int(row["most_in_week"]),
            int(row["longest_gap_days"]),
            int(row["squared_gaps"]),
        )
        for row in read_table("parity_days")
        if row["parity"] == parity
    ]


# Exact: in 400 years there are 2,800 months of 31 days, 1,600 of 30 and 400 Februaries,
# 97 of them of 29 days. Odd: 2800 * 16 + 1600 * 15 + 400 * 14 + 97 = 74,497. Even:
# 2800 * 15 + 1600 * 15 + 400 * 14 = 71,600. Odd dates stand 2 apart at most (29 to 1 in
# a month of 30 days); even ones 3 (30 to 2 over a 31st).
@pytest.mark.parametrize(
    ("parity", "dates", "longest_gap_days"), [("odd", 74_497, 2), ("even", 71_600, 3)]
)
def test_parity_days_of_the_whole_week_add_up(parity, dates, longest_gap_days):
    rows = {
        row["weekdays"]: row
        for row in read_table("parity_days")
        if row["parity"] == parity
    }
    whole_week = rows[" ".join(WEEKDAYS)]

    assert int(whole_week["dates"]) == dates
    assert sum(int(rows[day]["dates"]) for day in WEEKDAYS) == dates
    assert int(whole_week["longest_gap_days"]) == longest_gap_days
