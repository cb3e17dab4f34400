"""One watering night: blocks, a table for CSV, and data for programs."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import Any

from scheduler.calendar import DAY_MIN, S_PER_MIN, date_of
from scheduler.plan.night.earliest_end import Span
from scheduler.plan.night.month import NightRun
from scheduler.plan.night.plan import NightPlan
from scheduler.plan.night.ways_out import WayOut
from scheduler.plan.times.windows import clock_text
from scheduler.report import shown
from scheduler.report.blocks import Block, Heading, Paragraph, sections
from scheduler.report.frames import Column, Table
from scheduler.report.words import sentences
from scheduler.report.words.table import INTERVALS_GO_ON
from scheduler.schedule import Schedule

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_LONG_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday",
              "Sunday")  # fmt: skip
_LEAST_SPARE_S = 60


def blocks(found: NightPlan, units: str) -> list[Block]:
    """The night as it runs: what it takes, its hours, every run on the clock."""
    title = f"Watering night of {long_date(found.night.date)}: {found.plan.site.name}"
    return [
        Heading(title, 1, facts(found)),
        *([runs_table(found)] if found.night.runs else []),
        *sections(notes(found, units)),
        Paragraph(sentences.WATCH),
    ]


def long_date(date: datetime.date) -> str:
    """A date in words, as Monday 13 July 2026."""
    month = datetime.date(2000, date.month, 1).strftime("%B")
    return f"{_LONG_DAYS[date.weekday()]} {date.day} {month} {date.year}"


def facts(found: NightPlan) -> list[str]:
    """What the night takes, when it ends, and whether it could end sooner."""
    night = found.night
    if not night.runs:
        return ["No zone waters on this date."]
    first = min(run.start_s for run in night.runs)
    water = sum(run.end_s - run.start_s for run in night.runs)
    zones, runs = len(night.hours), len(night.runs)
    lines = [
        f"{zones} zone{_s(zones)}, {runs} run{_s(runs)}, {duration(water)} of water: "
        f"from {clock(found, first)} to {clock(found, night.ends_s)}."
    ]
    lines.append(_fit(found))
    lines.append(_bound(found))
    return lines


def _s(count: int) -> str:
    return "" if count == 1 else "s"


def _fit(found: NightPlan) -> str:
    night = found.night
    if not night.fits:
        late = [run for run in night.runs if run.over_s]
        return (
            f"It does not fit: {duration(night.over_s)} too long. {len(late)} "
            f"run{_s(len(late))} would go on after closing, marked below."
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
    form = "%H:%M:%S" if time.second else "%H:%M"
    return f"{_DAYS[time.weekday()]} {time.strftime(form)}"


def span_text(found: NightPlan, span: Span) -> str:
    """A permitted piece; midnight at its end is 24:00 of the date that ends."""
    opens, closes = clock(found, span[0]), clock(found, span[1])
    start, end = (found.planner.hours.clock(side) for side in span)
    if end.time() == datetime.time() and end.date() > start.date():
        closes = "24:00"
    elif start.date() == end.date():
        closes = closes.split()[1]
    return f"{opens} to {closes}"


def runs_table(found: NightPlan) -> Table:
    """Every run, in the order of its start."""
    zones, night = found.plan.site.zones, found.night
    runs = sorted(night.runs, key=lambda run: (run.start_s, zones.station[run.zone]))
    cycles = {row: sum(run.zone == row for run in runs) for row in night.hours}
    columns = [
        Column("start", "start", [_stamp(found, run.start_s) for run in runs]),
        Column("end", "end", [_stamp(found, run.end_s) for run in runs]),
        Column("minutes", "min", [_minutes(run) for run in runs], text=shown.minutes),
        Column("station", "station", [int(zones.station[run.zone]) for run in runs]),
        Column("zone", "zone", [zones.zone[run.zone] for run in runs]),
        Column("name", "name", [_name(found, run.zone) for run in runs]),
        Column("cycle", "cycle", [
            f"{run.cycle} of {cycles[run.zone]}" if cycles[run.zone] > 1 else ""
            for run in runs
        ]),
        Column("flow", "flow", [found.planner.flow_l_min[r.zone] for r in runs],
               "flow"),
    ]  # fmt: skip
    if not night.fits:
        late = ["after closing" if run.over_s else "" for run in runs]
        columns.append(Column("over", "", late))
    return Table(tuple(columns))


def _minutes(run: NightRun) -> float:
    return (run.end_s - run.start_s) / S_PER_MIN


def _stamp(found: NightPlan, seconds: int) -> str:
    """Like `clock`, with seconds in all rows if in one."""
    whole = all(
        s % S_PER_MIN == 0 for run in found.night.runs for s in (run.start_s, run.end_s)
    )
    time = found.planner.hours.clock(seconds)
    form = "%H:%M" if whole else "%H:%M:%S"
    return f"{_DAYS[time.weekday()]} {time.strftime(form)}"


def _name(found: NightPlan, row: int) -> str:
    """What people call a zone, where that says more than its number."""
    zones = found.plan.site.zones
    return shown.cut(shown.own_name(zones.zone[row], zones.name[row]), 30)


def notes(found: NightPlan, units: str) -> list[tuple[str, list[str]]]:
    """Hours, zones moved, clock, cautions; a part may have nothing in it."""
    return [
        ("Permitted hours", _hours(found)),
        ("Days changed against the table", [_moved(found, row) for row in found.moved]),
        ("Clock and calendar", _calendar(found)),
        ("Cautions", sentences.grouped(found.cautions, units)),
        ("What would help, each planned with", _ways_out(found)),
    ]


def _hours(found: NightPlan) -> list[str]:
    by_hours: dict[tuple[Span, ...], list[str]] = {}
    zones = found.plan.site.zones
    for row, spans in found.night.hours.items():
        by_hours.setdefault(spans, []).append(zones.zone[row])
    lines = []
    for spans, names in by_hours.items():
        text = " and ".join(span_text(found, span) for span in spans)
        which = f"zone{_s(len(names))} {shown.listed(names)}"
        lines.append(f"{which}: {text}" if len(by_hours) > 1 else text)
    return lines


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
    hours, night = found.planner.hours, found.night
    zone = hours.timezone
    lines = []
    if found.plan.site.timezone:
        lines.append(f"Times are those of {zone}, as [site] timezone says.")
    else:
        lines.append(
            f"Times are those of {zone}, assumed from the longitude and without "
            "daylight saving: give [site] timezone."
        )
    if found.to_sunrise:
        month = night.date.strftime("%B")
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
    return [_way_out(found, way) for way in found.ways_out]


def _way_out(found: NightPlan, way: WayOut) -> str:
    value = way.value
    if way.kind == "opens":
        return f"hours that open at {value}"
    if way.kind == "closes":
        return f"hours that close at {value}"
    if way.kind == "weekday":
        return (
            f"{_LONG_DAYS[[d.lower() for d in _DAYS].index(value)]} permitted as well"
        )
    if way.kind == "dates":
        return "all dates permitted, not only the odd or the even ones"
    if way.kind == "at-once":
        return f"{value} zones at once, as far as the design flow lets them"
    return (
        f"nozzles of half the precipitation rate in zone{_s(len(way.zones))} "
        f"{shown.listed(list(way.zones))}, which then need less soak"
    )


def to_table(found: NightPlan) -> Table:
    """A row for each run, for CSV."""
    zones, night = found.plan.site.zones, found.night
    runs = night.runs
    return Table(
        (
            Column("date", "date", [night.date.isoformat() for _ in runs]),
            Column("start", "start", [_iso(found, run.start_s) for run in runs]),
            Column("end", "end", [_iso(found, run.end_s) for run in runs]),
            Column("minutes", "min", [_minutes(run) for run in runs]),
            Column("station", "station", [int(zones.station[r.zone]) for r in runs]),
            Column("zone", "zone", [zones.zone[run.zone] for run in runs]),
            Column("name", "name", [zones.name[run.zone] for run in runs]),
            Column("cycle", "cycle", [run.cycle for run in runs]),
            Column("minutes_over", "min over", [r.over_s / S_PER_MIN for r in runs]),
        )
    )


def to_data(found: NightPlan) -> dict[str, Any]:
    """The night for programs: times with their distance from UTC."""
    night, zones = found.night, found.plan.site.zones
    runs: Sequence[NightRun] = night.runs
    return {
        "date": night.date.isoformat(),
        "pieces": [
            {"opens": _iso(found, opens), "closes": _iso(found, closes)}
            for opens, closes in night.pieces
        ],
        "runs": [
            {
                "zone": zones.zone[run.zone],
                "cycle": run.cycle,
                "start": _iso(found, run.start_s),
                "end": _iso(found, run.end_s),
            }
            for run in runs
        ],
        "ends": _iso(found, night.ends_s) if runs else None,
        "fits": night.fits,
        "minutes_over": night.over_s / S_PER_MIN,
        "least_possible_end": _iso(found, night.least_end_s) if runs else None,
    }


def _iso(found: NightPlan, seconds: int) -> str:
    return found.planner.hours.clock(seconds).isoformat()
