"""What is told of frost: its nights, its dates, and what to do about it."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from scheduler.demand.frost import (
    FEWEST_NIGHTS,
    FREEZING_C,
    HARD_FREEZE_C,
    Date,
    FrostDates,
    FrostSeason,
)
from scheduler.demand.months import ReferenceMonths
from scheduler.report.counting import counted
from scheduler.report.shown import MONTH_LABELS, date_text, months_text, quantity

TITLE = "Frost"
DRAIN = "drain lines that can freeze"
DRAIN_HERE = "have the lines drained"
FORECAST = (
    "Watch the forecast all the same: what stands above the ground, and hollows, "
    "freeze first; wrap it or drain it."
)
SELDOM = "hard frost comes in few years"
KEY_IN_THEN = "Key in the visit of this month first, if its day is past."
SAY_ONCE = "Say it once: lines_can_freeze in site.toml, and the card asks no more."
_LATER = (
    "If they are filled later, the programs begin then, with the percents of that "
    "month. Before a later night as cold, drain them again."
)
DATES_MOVE = (
    "The controller goes off on the day of draining, though it was still to run. "
    f"{_LATER}"
)
_DAYS_AHEAD = "ten days"
"""How far ahead forecasts of nights are worth something (common practice)."""


def day(date: Date) -> str:
    """Day of a year: `12 Oct`."""
    return f"{date[1]} {MONTH_LABELS[date[0] - 1]}"


def climate_lines(
    months: ReferenceMonths, units: str, *, pipes: bool = True
) -> list[str]:
    """Nights of frost and dates of it, as far as a climate tells them.

    Those of `pipes` are told where some can freeze, or nobody has said.
    """
    series = months.series
    told = _nights(months, units)
    if series is not None:
        dates = [last(series.last_frosts, series.typical_year),
                 first(series.first_frosts, series.typical_year)]  # fmt: skip
        told += filter(None, dates)
    if pipes and months.frost_season is not None:
        told.append(_season(months.frost_season, units))
    return told


def _season(season: FrostSeason, units: str) -> str:
    """Dates of nights that are cold enough for pipes."""
    reckoned = "" if season.by_days else "; reckoned with care from the means of months"
    from_on, past = day(season.may_begin), day(season.past)
    if season.begins is None or season.ends is None:
        return (
            f"Nights at {hard(units)} or below freeze pipes; not every year has one: "
            f"from {from_on} on in one of ten; past by {past} in nine{reckoned}."
        )
    return (
        f"Nights at {hard(units)} or below freeze pipes: from {from_on} on in one year "
        f"of ten, by {day(season.begins)} in half; past by {day(season.ends)} in half, "
        f"by {past} in nine of ten{reckoned}."
    )


def in_short(
    months: ReferenceMonths,
    season: FrostSeason | None,
    lines_can_freeze: bool | None,
    off: list[int],
    at_risk: list[int],
    units: str,
) -> list[str]:
    """The same in small print; months (1 to 12) that are off, or water at risk."""
    told = []
    if off:
        told.append(nothing_runs(off))
    told += to_do(season, lines_can_freeze, at_risk, units)
    pipes = lines_can_freeze is not False
    return [*told, *climate_lines(months, units, pipes=pipes)]


def nothing_runs(off: list[int]) -> str:
    """Months, 1 to 12, that are off for frost."""
    return f"Nothing runs in {months_text(off)}."


def _nights(months: ReferenceMonths, units: str) -> list[str]:
    """Nights of frost by month, where there are some."""
    named = [
        f"{nights:.0f} in {label}"
        for label, nights in zip(MONTH_LABELS, months.frost_nights, strict=True)
        if nights >= FEWEST_NIGHTS
    ]
    if not named:
        return []
    reckoned = ", reckoned from means" if months.series is None else ""
    return [f"Nights at {freezing(units)} or below{reckoned}: {', '.join(named)}."]


def freezing(units: str) -> str:
    """The temperature at which water freezes."""
    return quantity(FREEZING_C, "temperature", units, 0)


def hard(units: str) -> str:
    """The temperature of a hard freeze, which bursts pipes."""
    return quantity(HARD_FREEZE_C, "temperature", units, 0)


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


def to_do(
    season: FrostSeason | None,
    lines_can_freeze: bool | None,
    waters: Sequence[int],
    units: str,
) -> list[str]:
    """When to drain and when to start; `waters`: months (1 to 12) that run at risk."""
    if season is None or lines_can_freeze is False:
        return [skip_nights(False, units)] if waters else []
    told = [f"Have lines that can freeze {span(season, units)}. {DATES_MOVE}"]
    if waters:
        told.append(skip_nights(lines_can_freeze, units))
    return told


def skip_nights(lines_can_freeze: bool | None, units: str) -> str:
    """What to do before a night of frost while water stands in the lines."""
    turn_off = (
        "water as set; turn the controller off before a watering night forecast at "
        f"{freezing(units)} or below, and on again in the morning: what it left out "
        "need not be made up."
    )
    if lines_can_freeze:
        return f"While they are full, {turn_off}"
    if lines_can_freeze is None:
        return f"Where lines cannot freeze (deep, mild nights), {turn_off}"
    return f"Lines here stay filled, so {turn_off}"


def span(season: FrostSeason, units: str) -> str:
    """When lines are to be empty, by the forecast and by dates."""
    first = f"before the first night that is forecast at {hard(units)} or below"
    if season.begins:
        first = f"by {day(season.begins)}, or {first}, if that is earlier"
    return (
        f"drained {first} (possible from {day(season.may_begin)} on), and filled after "
        f"{day(season.empty_to)}, once no such night is forecast for {_DAYS_AHEAD}"
    )


def empty(
    season: FrostSeason,
    begins: datetime.date,
    ends: datetime.date,
    today: datetime.date,
    units: str,
) -> str:
    """What lines that can freeze ask for: empty now, or drained in time."""
    if not (season.usual and begins <= today <= ends):
        return f"Lines here can freeze: have them {span(season, units)}. {DATES_MOVE}"
    return (
        "Lines here can freeze: drain them now, if it is not done; they stay empty, "
        f"and the controller off, to {date_text(ends)}, and as long as a night at "
        f"{hard(units)} or below is forecast for the next {_DAYS_AHEAD}. {_LATER}"
    )


def decide(
    begins: datetime.date,
    ends: datetime.date,
    today: datetime.date,
    then: str,
    waters: Sequence[int],
    units: str,
) -> str:
    """What is to be decided before anything is keyed in.

    Lines that can freeze are empty from `begins` to `ends`, or from `today`; `then` is
    what is keyed in after it, and `waters` are months (1 to 12) that run at risk.
    """
    when = "now" if begins <= today else f"before {date_text(begins)}"
    return (
        "First decide: can any line here freeze (lines, backflow device or valves "
        "above the frost depth; ask who laid them, or the building office)? If so, or "
        f"if nobody can say: drain it {when}, leave the controller off to "
        f"{date_text(ends)}, or longer while nights at {hard(units)} or below are "
        f"forecast, start nothing by hand, and then key in {then}; what is set for "
        f"{months_text(list(waters))} is for lines that cannot freeze."
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


def drain_title(season: FrostSeason, begun: bool, known: bool) -> str:
    """Title of the reminder to drain.

    `begun`: the season of frost is already on; `known`: that lines here can freeze.
    """
    drain = DRAIN_HERE if known else DRAIN
    if begun:
        return f"{drain} now: they stay empty to {day(season.empty_to)}"
    if not season.usual:
        return f"{drain} before the first hard frost, from {day(season.may_begin)} on"
    return f"{drain} before {day(season.empty_from)}, or the first hard frost"


def start_title(season: FrostSeason) -> str:
    """Title of the reminder to start."""
    return f"frost: drained lines may start again after {day(season.empty_to)}"
