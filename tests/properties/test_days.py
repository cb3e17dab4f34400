"""Laws of watering days: permitted dates, and gaps within the limit."""

from __future__ import annotations

import datetime
import functools
import itertools
import math

from drawn_sites import (
    DAYS_IN_MONTH,
    WEEKDAYS,
    Drawn,
    Row,
    bounded,
    cells,
    coded,
    sites,
    table,
)
from hypothesis import event, given

from scheduler.inputs.library import package_table

# Steps 7 and 8.


def window_for(drawn: Drawn, head_kind: str, month: int) -> Row | None:
    """First window that fits; a site without any has one that is always open."""
    for window in drawn.windows:
        if month in window.get("months", range(1, 13)) and head_kind in window.get(
            "head_kinds", (head_kind,)
        ):
            return window
    return None if drawn.windows else {"days": "any", "most_days_a_week": 7}


@functools.cache
def watered_dates(days: tuple[str, ...], parity: str | None) -> list[datetime.date]:
    """Dates of eight years, leap days and turns of the year among them."""
    first = datetime.date(2023, 1, 1)
    dates = [first + datetime.timedelta(days=i) for i in range(8 * 365 + 2)]
    rest = {"odd": 1, "even": 0}.get(parity or "")
    return [
        date for date in dates
        if WEEKDAYS[date.weekday()] in days and (rest is None or date.day % 2 == rest)
    ]  # fmt: skip


@functools.cache
def longest_gap(days: tuple[str, ...], parity: str | None) -> int:
    dates = watered_dates(days, parity)
    return max((b - a).days for a, b in itertools.pairwise(dates))


@functools.cache
def busiest_week(days: tuple[str, ...], parity: str | None) -> int:
    """Most watered dates from a Monday to the Sunday after it."""
    weeks: dict[tuple[int, int], int] = {}
    for date in watered_dates(days, parity):
        year, week, _ = date.isocalendar()
        weeks[year, week] = weeks.get((year, week), 0) + 1
    return max(weeks.values())


@bounded(35)
@given(sites())
def test_watering_falls_on_permitted_days_and_gaps_keep_to_the_limit(drawn):
    content = table(drawn)
    kinds = {row["zone"]: row["head_kind"] for row in drawn.zones}
    too_few, forbidden = coded(content, "days-too-few"), coded(content, "not-permitted")
    for zone, month in cells(content):
        place = zone["zone"], month["month"]
        window = window_for(drawn, kinds[zone["zone"]], month["month"])
        if window is None:
            assert month["cycles"] == 0
        if not month["cycles"]:
            continue
        assert place not in forbidden
        days, parity = tuple(month["days"]), month["parity"]
        permitted = window["days"]
        assert set(days) <= (
            set(permitted) if isinstance(permitted, list) else set(WEEKDAYS)
        )
        assert parity == (permitted if permitted in ("odd", "even") else None)
        if month["every_days"]:
            event("interval")
            assert drawn.controller["intervals"]
            assert parity is None
            gap = month["every_days"]
        else:
            gap = longest_gap(days, parity)
            assert busiest_week(days, parity) <= window["most_days_a_week"]
        if gap > month["gap_limit_days"]:
            assert place in too_few
        elif parity is None:
            # Odd and even dates are counted over 400 years, of which eight are here.
            assert place not in too_few


@bounded(22)
@given(sites())
def test_gap_limit_is_within_what_the_roots_stand(drawn):
    """Never past a tenth over the allowed depletion, but for waterings too light.

    Zones whose waterings are kept apart are left out: tests of their own hold them.
    """
    usual = {row["plant"]: row["shortest_gap_days"] for row in package_table("plants")}
    apart = {
        row["zone"]
        for row in drawn.zones
        if row.get("shortest_gap_days") or usual.get(row["plant"]) not in ("", "1")
    }
    for zone, month in cells(table(drawn)):
        need_day = month["plant_need_mm"] / DAYS_IN_MONTH[month["month"] - 1]
        lasts = 1.1 * zone["allowed_depletion_mm"] / need_day
        event_day = month["net_need_mm"] + month["carried_in_mm"]
        event_day /= DAYS_IN_MONTH[month["month"] - 1]
        light = 2.5 / event_day if event_day else math.inf
        limit = month["gap_limit_days"]

        assert limit >= 1
        if zone["zone"] in apart:
            continue
        if month["cycles"] and limit > max(1, lasts + 1e-6):
            # Raised to a watering of 2.5 mm: in whole weeks over seven days.
            assert limit <= 28
            assert limit < (light + 1 if light <= 7 else light + 7) + 1e-6
            assert limit * event_day <= zone["allowed_depletion_mm"] * (1 + 1e-6)
