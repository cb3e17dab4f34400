"""One watering night in words: what it takes, its hours, what would help."""

from __future__ import annotations

import datetime
from collections.abc import Callable

from scheduler.calendar import (
    DAY_MIN,
    FULL_WEEKDAYS,
    S_PER_MIN,
    WEEKDAYS,
    date_of,
)
from scheduler.plan.night.earliest_end import Span
from scheduler.plan.night.plan import NightPlan
from scheduler.plan.night.ways_out import WayOut
from scheduler.plan.times.windows import clock_text
from scheduler.report import shown
from scheduler.report.counting import counted, named
from scheduler.report.frames import Headings
from scheduler.report.words import sentences
from scheduler.report.words.pages.spoken import MONTH_NAMES, clock_of
from scheduler.report.words.table import INTERVALS_GO_ON
from scheduler.schedule import Schedule

COLUMNS = Headings(
    {
        "date": "date",
        "start": "start",
        "end": "end",
        "minutes": "min",
        "station": "station",
        "zone": "zone",
        "name": "name",
        "cycle": "cycle",
        "flow": "flow",
        "over": "",
        "minutes_over": "min over",
    }
)
AFTER_CLOSING = "after closing"
_LEAST_SPARE_S = 60


def title(found: NightPlan) -> str:
    """Heading of the night."""
    return f"Watering of {long_date(found.night.date)}: {found.plan.site.name}"


def long_date(date: datetime.date) -> str:
    """A date in words, as Monday 13 July 2026."""
    weekday = FULL_WEEKDAYS[date.weekday()].capitalize()
    return f"{weekday} {date.day} {MONTH_NAMES[date.month - 1]} {date.year}"


def facts(found: NightPlan) -> list[str]:
    """What the night takes, when it ends, and whether it could end sooner."""
    night = found.night
    if not night.runs:
        return ["No zone waters on this date."]
    first = min(run.start_s for run in night.runs)
    water = sum(run.end_s - run.start_s for run in night.runs)
    month = f"{MONTH_NAMES[night.date.month - 1]} {night.date.year}"
    fullest = [f"No other date of {month} has more minutes of water."]
    return [
        *(fullest if found.fullest else []),
        f"{counted(len(night.hours), 'zone')}, {counted(len(night.runs), 'run')}, "
        f"{duration(water)} of water: "
        f"from {clock(found, first)} to {clock(found, night.ends_s)}.",
        _fit(found),
        _bound(found),
    ]


def _fit(found: NightPlan) -> str:
    night = found.night
    if not night.fits:
        late = sum(bool(run.over_s) for run in night.runs)
        return (
            f"It does not fit: {duration(night.over_s)} too long. "
            f"{counted(late, 'run')} would go on after closing, marked below."
        )
    spare = min(_spare(found, zone) for zone in night.hours)
    left = f", {duration(spare)} before closing" if spare >= _LEAST_SPARE_S else ""
    return f"It fits: every run falls within the permitted hours{left}."


def _spare(found: NightPlan, zone: int) -> int:
    """Time from a zone's last run to the end of the hours that it falls in."""
    end = max(run.end_s for run in found.night.runs if run.zone == zone)
    hours = found.night.hours[zone]
    return min(closes for _, closes in hours if closes >= end) - end


def _bound(found: NightPlan) -> str:
    night = found.night
    over = night.ends_s - night.least_end_s
    if over <= 0:
        return "No order ends sooner."
    least = clock(found, night.least_end_s)
    if not night.fits:
        return (
            f"No order ends before {least}; of those found, this one goes past closing "
            "by least."
        )
    if night.under_s or found.planner.limits.at_once > 1:
        return (
            f"No order can end before {least}; this is within {duration(over)} of it."
        )
    return f"No order can end before {least}, which is {duration(over)} sooner."


def duration(seconds: int) -> str:
    """A time in hours, minutes and seconds, what is zero left out."""
    hours, rest = divmod(seconds, 3600)
    minutes, seconds = divmod(rest, S_PER_MIN)
    parts = [f"{hours} h"] * bool(hours) + [f"{minutes} min"] * bool(minutes)
    parts += [f"{seconds} s"] * bool(seconds)
    return " ".join(parts) or "0 min"


def clock(found: NightPlan, seconds: int) -> str:
    """Weekday and time by the site's clock; seconds where there are any."""
    time = found.planner.hours.clock(seconds)
    return _stamp(time, to_the_second=bool(time.second))


def stamps(found: NightPlan) -> Callable[[int], str]:
    """Like `clock`, for a table: with seconds in all rows if in one."""
    whole = all(
        s % S_PER_MIN == 0 for run in found.night.runs for s in (run.start_s, run.end_s)
    )
    return lambda seconds: _stamp(
        found.planner.hours.clock(seconds), to_the_second=not whole
    )


def _stamp(time: datetime.datetime, *, to_the_second: bool) -> str:
    form = "%H:%M:%S" if to_the_second else "%H:%M"
    return f"{WEEKDAYS[time.weekday()].capitalize()} {time.strftime(form)}"


def cycle_of(cycle: int, cycles: int) -> str:
    """Which of a zone's cycles a run is; "" where there is but one."""
    return f"{cycle} of {cycles}" if cycles > 1 else ""


def notes(found: NightPlan, units: str) -> list[tuple[str, list[str]]]:
    """Hours, zones moved, clock, cautions; a part may have nothing in it."""
    return [
        ("Permitted hours", _hours(found)),
        ("Days changed against the table", [_moved(found, row) for row in found.moved]),
        ("Clock and calendar", _calendar(found)),
        (sentences.CAUTIONS, sentences.grouped(found.cautions, units)),
        ("What would help, each planned with", _ways_out(found)),
    ]


def _hours(found: NightPlan) -> list[str]:
    by_hours: dict[tuple[Span, ...], list[str]] = {}
    zones = found.plan.site.zones
    for row, spans in found.night.hours.items():
        by_hours.setdefault(spans, []).append(zones.zone[row])
    lines = []
    for spans, names in by_hours.items():
        text = " and ".join(_span_text(found, span) for span in spans)
        lines.append(f"{named('zone', names)}: {text}" if len(by_hours) > 1 else text)
    return lines


def _span_text(found: NightPlan, span: Span) -> str:
    """A permitted piece; midnight at its end is 24:00 of the date that ends."""
    opens, closes = clock(found, span[0]), clock(found, span[1])
    start, end = (found.planner.hours.clock(side) for side in span)
    if end.time() == datetime.time() and end.date() > start.date():
        closes = "24:00"
    elif start.date() == end.date():
        closes = closes.split()[1]
    return f"{opens} to {closes}"


def _moved(found: NightPlan, row: int) -> str:
    """Days of a zone that waters on others than the table's."""
    days, table = found.month.schedule, found.table
    first = ""
    if days.every_days[row]:
        first = f" from {long_date(date_of(days.first_day[row]))}"
    zone = found.plan.site.zones.zone[row]
    return (
        f"zone {zone}: {_days(days, row)}{first}, not {_days(table, row)}, to share "
        "out the nights"
    )


def _days(schedule: Schedule, row: int) -> str:
    return shown.days_text(
        int(schedule.weekdays[row]),
        int(schedule.parity[row]),
        int(schedule.every_days[row]),
    )


def _calendar(found: NightPlan) -> list[str]:
    night = found.night
    zone = clock_of(found.planner.hours.timezone)
    lines = []
    if found.plan.site.timezone:
        lines.append(f"Times are those of {zone}, as [site] timezone says.")
    else:
        lines.append(
            f"Times are those of {zone}, assumed from the longitude and without "
            "daylight saving: give [site] timezone."
        )
    if found.to_sunrise:
        month = MONTH_NAMES[night.date.month - 1]
        if found.sunrise_min is None:
            noon = clock_text(DAY_MIN // 2)
            lines.append(
                f"The sun does not rise in {month} here: hours to sunrise close at "
                f"{noon}."
            )
        else:
            lines.append(
                f"Hours to sunrise close at {clock_text(found.sunrise_min)}, the "
                f"earliest sunrise of {month}."
            )
    if found.counted_from is not None:
        start = found.counted_from
        lines.append(
            "Waterings at an interval are counted from the first of their weekday on "
            f"or after {start.day} {shown.MONTH_LABELS[start.month - 1]} {start.year}."
        )
    elif any(found.table.every_days[row] for row in night.hours):
        lines.append(INTERVALS_GO_ON)
    lines += _change_of_clock(found)
    if night.kept_clear:
        last = max(run.end_s for run in night.kept_clear)
        lines.append(
            f"Runs of the night before go on until {clock(found, last)} and are kept "
            "clear of."
        )
    return lines


def _change_of_clock(found: NightPlan) -> list[str]:
    """Where the clock changes within the hours of the night."""
    night, hours = found.night, found.planner.hours
    if not night.hours:
        return []
    first, last = night.pieces[0][0], max(closes for _, closes in night.pieces)
    before, after = (hours.clock(side).utcoffset() for side in (first, last))
    if before is None or after is None or before == after:
        return []
    change = int((after - before).total_seconds())
    way = "forward" if change > 0 else "back"
    more = "less" if change > 0 else "more"
    return [
        f"The clock goes {way} by {duration(abs(change))} in this night, which has so "
        f"much {more}: run times are real time, starts are what the clock shows."
    ]


def _ways_out(found: NightPlan) -> list[str]:
    if found.month.too_short and not found.ways_out:
        return ["no single one of the changes tried would do"]
    return [_way_out(way) for way in found.ways_out]


def _way_out(way: WayOut) -> str:
    value = way.value
    if way.kind == "opens":
        return f"hours that open at {value}"
    if way.kind == "closes":
        return f"hours that close at {value}"
    if way.kind == "weekday":
        weekday = FULL_WEEKDAYS[WEEKDAYS.index(value)].capitalize()
        return f"{weekday} permitted as well"
    if way.kind == "dates":
        return "all dates permitted, not only the odd or the even ones"
    if way.kind == "at-once":
        return f"{value} zones at once, as far as the design flow lets them"
    return (
        f"nozzles of half the precipitation rate in {named('zone', way.zones)}, "
        "which then need less soak"
    )
