"""What is told of frost: its nights, its dates, and what to do about it."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from scheduler.demand.frost import FEWEST_NIGHTS, Date, FrostDates, FrostSeason
from scheduler.demand.months import ReferenceMonths
from scheduler.report.counting import counted
from scheduler.report.shown import MONTH_LABELS, date_text, months_text, quantity

TITLE = "Frost"
DRAIN = "drain lines that can freeze"
FORECAST = (
    "Watch the forecast all the same: what stands above the ground, and hollows, "
    "freeze first."
)
SELDOM = "frost comes in few years"
SKIP_NIGHTS = (
    "Where lines cannot freeze (they lie deep, nights are mild), water as set; before "
    "a night of frost turn the controller off, and on again in the morning: what it "
    "left out need not be made up."
)
KEY_IN_THEN = "Key in the visit of this month first, if its day is past."
NO_DATES = (
    "Months, not days: the climate here is averages of months, which do not tell on "
    "which day frost begins or ends. Ask who gardens nearby."
)


def day(date: Date) -> str:
    """Day of a year: `12 Oct`."""
    return f"{date[1]} {MONTH_LABELS[date[0] - 1]}"


def climate_lines(months: ReferenceMonths, units: str) -> list[str]:
    """Nights of frost and its dates, as far as a climate tells them."""
    series = months.series
    told = _nights(months, units)
    if series is None:
        return [*told, NO_DATES] if told else []
    dates = [last(series.last_frosts, series.typical_year),
             first(series.first_frosts, series.typical_year)]  # fmt: skip
    return [*told, *(line for line in dates if line)]


def in_short(
    months: ReferenceMonths, off: list[int], at_risk: list[int], units: str
) -> list[str]:
    """The same in small print; months (1 to 12) that are off, or water at risk."""
    told, season = [], months.frost_season
    if off:
        told.append(nothing_runs(off))
    if season is not None:
        told.append(to_do(season, at_risk))
    return [*told, *climate_lines(months, units)]


def nothing_runs(off: list[int]) -> str:
    """Months, 1 to 12, that are off for frost."""
    return f"Nothing runs in {months_text(off)}."


def _nights(months: ReferenceMonths, units: str) -> list[str]:
    """Nights of frost by month, where there are some."""
    named = [
        f"{label} {nights:.0f}"
        for label, nights in zip(MONTH_LABELS, months.frost_nights, strict=True)
        if nights >= FEWEST_NIGHTS
    ]
    if not named:
        return []
    reckoned = ", reckoned from means" if months.series is None else ""
    return [f"Nights at {freezing(units)} or below{reckoned}: {', '.join(named)}."]


def freezing(units: str) -> str:
    """The temperature at which water freezes."""
    return quantity(0.0, "temperature", units, 0)


def last(dates: FrostDates, typical_year: bool) -> str:
    """Last frosts before summer; "" where no season was looked through."""
    return _dates("Last frost before summer", dates, typical_year,
                  ("past by {}", "the latest {}"))  # fmt: skip


def first(dates: FrostDates, typical_year: bool) -> str:
    """First frosts after summer; "" where no season was looked through."""
    return _dates("First frost after summer", dates, typical_year,
                  ("not before {}", "the earliest {}"))  # fmt: skip


def _dates(
    what: str, dates: FrostDates, typical_year: bool, said: Sequence[str]
) -> str:
    if not dates.seasons:
        return ""
    reached, farthest = said
    if dates.farthest is None:
        over = "" if typical_year else f" in {counted(dates.seasons, 'year')}"
        return f"{what}: none{over}."
    if typical_year or dates.seasons == 1:
        return f"{what}: {day(dates.farthest)}."
    none = dates.seasons - len(dates.dates)
    without = f", {none} without frost" if none else ""
    half = reached.format(day(dates.half)) if dates.half else "none"
    most = reached.format(day(dates.most)) if dates.most else "none"
    return (
        f"{what}: {half} in half of the years, {most} in nine of ten, "
        f"{farthest.format(day(dates.farthest))} ({dates.seasons} years{without})."
    )


def to_do(season: FrostSeason, waters: Sequence[int] = ()) -> str:
    """When to drain and when to start; `waters`: months (1 to 12) that run at risk."""
    why = ", as each date holds in nine years of ten" if season.by_days else ""
    told = f"Have lines that can freeze {span(season)}{why}."
    return SKIP_NIGHTS if waters else told


def decide(
    begins: datetime.date,
    ends: datetime.date,
    today: datetime.date,
    then: str,
    waters: Sequence[int],
    by_days: bool,
) -> str:
    """What is to be decided before anything is keyed in.

    Lines that can freeze are empty from `begins` to `ends`, or from `today`; `then` is
    what is keyed in after it, and `waters` are months (1 to 12) that run at risk.
    """
    now = "now" if begins < today else "before the first frost"
    off = f"from {date_text(max(begins, today))} to {date_text(ends)}"
    off += "" if by_days else " (by whole months; less where no frost is forecast yet)"
    return (
        "First decide: can any line here freeze (lines, backflow device or valves "
        "above the frost depth; ask who laid them, or the building office)? If so, or "
        f"if nobody can say: drain it {now}, leave the controller off {off}, and then "
        f"key in {then}; what is set for {months_text(list(waters))} is for lines that "
        "cannot freeze."
    )


def visit_then(number: int, visits: int, month: int) -> str:
    """What is keyed in after the frost, by a month from 1 to 12 at the latest."""
    if visits == 1:
        return "this card"
    label = MONTH_LABELS[month - 1]
    return f"the visit of the month it is by then (in {label} visit {number})"


def decide_title(what: str, drains: bool = False) -> str:
    """Title of a reminder to key in among nights that freeze: the question first.

    `drains`: on that day lines that can freeze are to be drained.
    """
    what = f"{what[:1].lower()}{what[1:]}"
    if drains:
        return f"Drain lines that can freeze; if none can, {what}"
    return f"If no line can freeze, {what}"


def span(season: FrostSeason) -> str:
    """When lines are to be empty: dates, or months in which frost may come."""
    drain, start = season.drain_before, season.start_after
    if season.by_days:
        return f"drained before {day(drain)} and started after {day(start)}"
    first, last = MONTH_LABELS[drain[0] - 1], MONTH_LABELS[start[0] - 1]
    return (
        f"drained before the first frost (from {first} on) and started after the last "
        f"(until {last})"
    )


def drain_title(season: FrostSeason, begun: bool) -> str:
    """Title of the reminder to drain; `begun`: the season of frost is already on."""
    if begun:
        return f"frost may come until {day(season.start_after)}: {DRAIN}"
    if season.by_days:
        return f"before {day(season.drain_before)}, for frost: {DRAIN}"
    return f"frost may come from now on: {DRAIN}"


def start_title(season: FrostSeason) -> str:
    """Title of the reminder to start."""
    past = day(season.start_after)
    return f"frost is mostly past after {past}: drained lines may start"
