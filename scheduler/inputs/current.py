"""What is found on site: the controller's runs of today, meter and gauge readings."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator

import numpy as np

from scheduler import units
from scheduler.calendar import DAY_MIN
from scheduler.errors import Problem
from scheduler.inputs.forms import csvfiles
from scheduler.inputs.forms.alike import folded
from scheduler.inputs.forms.columns import Fault, shown_number
from scheduler.inputs.forms.dimensions import DIMENSIONS, US_SUFFIXES, Unit
from scheduler.inputs.forms.fields import FILES
from scheduler.inputs.site import Current, Heads, Metered, Zones
from scheduler.inputs.sources.reading import Reading
from scheduler.inputs.zones import table_rows, zone_rows

MOST_APART = 0.10
"""Readings of one zone further apart than this share of their mean are asked about."""
MOST_TIMES = 3.0
"""A flow so many times what the zone's heads take, or as little, is asked about."""
LIKELY_TIMES = 1.5
"""Another unit is named as likely meant where it comes as near as this."""
ROLLED_OVER = 0.10
"""A dial that moved less than this share of its round is taken for a rolled one."""
_READINGS = ("start_l", "end_l")


def read_current(
    reading: Reading, zones: tuple[Zones, csvfiles.Rows] | None
) -> Current | None:
    """Today's runs; None without a current.csv, a row in it, or where it is unread."""
    file = "current.csv"
    if not reading.source.has(file):
        return None
    rows = table_rows(reading, file)
    if rows is None or zones is None or not len(rows):
        return None
    every_month = next(f.default for f in FILES[file] if f.name == "months")
    starts = np.nan_to_num(rows.values["starts"], nan=1.0)
    zone, rows = zone_rows(reading, rows, zones)
    current = Current(
        zone,
        rows.values["minutes"],
        starts,
        rows.values["days_per_week"],
        tuple(months or every_month for months in rows.values["months"]),
    )
    _check_day(reading, rows, current)
    return current


def _check_day(reading: Reading, rows: csvfiles.Rows, current: Current) -> None:
    """All the starts of a row have to fit in a day."""
    day = current.minutes * current.starts
    for row in np.flatnonzero((day > DAY_MIN) & ~rows.faulty).tolist():
        reading.problems.append(
            rows.problem(
                row,
                "minutes",
                f"{current.starts[row]:g} starts of {current.minutes[row]:g} "
                "minutes do not fit in a day",
                "minutes of one start, not of the day",
            )
        )


def read_meter(
    reading: Reading, zones: tuple[Zones, csvfiles.Rows] | None, heads: Heads
) -> tuple[tuple[Zones, csvfiles.Rows] | None, Metered]:
    """Readings by zone, and the zones with metered flows in place of others.

    Rows of one zone are one reading: all that flowed, over all the minutes.
    """
    given = zones[0].flow_l_min if zones else np.zeros(0)
    none = np.full(given.size, np.nan)
    unread = Metered(none, none.copy(), given)
    if not reading.source.has("meter.csv"):
        return zones, unread
    rows = table_rows(reading, "meter.csv")
    if rows is None or zones is None:
        return zones, unread
    zone, rows = zone_rows(reading, rows, zones)
    rows = rows.marked(_faults_of_readings(rows), reading.problems)
    moved = rows.values["end_l"] - rows.values["start_l"]
    minutes, gauge = rows.values["minutes"], rows.values["pressure_kpa"]
    dials = [unit.suffix for row in range(len(rows)) for unit in _dial(rows, row)]
    metered = dataclasses.replace(unread, dial=dials[0] if dials else "")
    for place, name in enumerate(zones[0].zone):
        mine = np.flatnonzero((zone == place) & ~rows.faulty)
        read, gauged = mine[np.isfinite(moved[mine])], mine[np.isfinite(gauge[mine])]
        if gauged.size:
            metered.pressure_kpa[place] = gauge[gauged].mean()
        if read.size:
            mean = float(moved[read].sum() / minutes[read].sum())
            metered.flow_l_min[place] = mean
            flows = moved[read] / minutes[read]
            reading.problems += [
                *_apart(rows, read, flows, name, "end_l"),
                *_many_times(rows, int(read[0]), name, mean,
                             _flow_as_written(zones[0], heads, place)),
            ]  # fmt: skip
        reading.problems += _apart(rows, gauged, gauge[gauged], name, "pressure_kpa")
    flow = np.where(np.isnan(metered.flow_l_min), given, metered.flow_l_min)
    gauge = np.where(np.isnan(metered.pressure_kpa), zones[0].pressure_kpa,
                     metered.pressure_kpa)  # fmt: skip
    read_zones = dataclasses.replace(zones[0], flow_l_min=flow, pressure_kpa=gauge)
    return (read_zones, zones[1]), metered


def _faults_of_readings(rows: csvfiles.Rows) -> Iterator[Fault]:
    """Rows with half a reading, in two units, or that went backwards.

    A row without any reading is a blank of the field sheet: not read yet.
    """
    start, end = (rows.values[name] for name in _READINGS)
    minutes = rows.values["minutes"]
    for row in np.flatnonzero(~rows.faulty).tolist():
        needed = {"start_l": start[row], "end_l": end[row], "minutes": minutes[row]}
        if math.isnan(start[row]) and math.isnan(end[row]):
            continue
        blank = [name for name, value in needed.items() if math.isnan(value)]
        if blank:
            yield row, rows.problem(row, blank[0], "is blank",
                                    "start, end and minutes of each run")  # fmt: skip
        elif len(dials := _dial(rows, row)) > 1:
            told = " and ".join(unit.symbol for unit in dials)
            yield row, rows.problem(row, "end_l", f"start and end are in {told}",
                                    "one unit, that of the dial")  # fmt: skip
        elif end[row] <= start[row]:
            unit = dials[0]
            yield _backwards(
                rows, row, unit.from_si(start[row]), unit.from_si(end[row])
            )


def _backwards(rows: csvfiles.Rows, row: int, start: float, end: float) -> Fault:
    """A dial that did not move, or that stood lower after the run."""
    accepted = f"a reading over the start, {shown_number(round(start, 6))}"
    if end == start:
        wrong = "is the start: the dial did not move"
        hint = "did the zone run? leave out its row if not"
        return row, rows.problem(row, "end_l", wrong, accepted, hint)
    round_ = 10.0 ** math.ceil(math.log10(start))
    hint = "are start and end the other way round?"
    if end + round_ - start <= ROLLED_OVER * round_:
        rolled = shown_number(round(end + round_, 6))
        hint = (
            f"if the dial rolled over, write {rolled}: put the digit in front that the "
            "dial has no room for"
        )
    wrong = f"{shown_number(round(end, 6))} is less than the start"
    return row, rows.problem(row, "end_l", wrong, accepted, hint)


def _apart(
    rows: csvfiles.Rows, mine: np.ndarray, values: np.ndarray, zone: str, name: str
) -> Iterator[Problem]:
    """Readings of one zone that say two things."""
    if mine.size > 1 and np.ptp(values) > MOST_APART * values.mean() * (1 + 1e-9):
        row = int(mine[-1])
        what = "pressure" if name == "pressure_kpa" else "flow"
        least, most = (_told(rows, row, name, end(values)) for end in (np.min, np.max))
        yield rows.problem(
            row, name, f"readings of zone {zone} make a {what} of {least} and {most}",
            f"readings within {100 * MOST_APART:.0f} %; their mean is taken",
            "read again, and leave out the row that does not hold",
        )  # fmt: skip


def _told(rows: csvfiles.Rows, row: int, name: str, value_si: float) -> str:
    """Flow or pressure in the units that a row is written in."""
    if name == "pressure_kpa":
        suffix = folded(rows.headers.get(name, name)).removeprefix("pressure")
        unit = next(
            u for u in DIMENSIONS["pressure"].units if folded(u.suffix) == suffix
        )
        return f"{shown_number(round(unit.from_si(value_si), 1))} {unit.symbol}"
    us = any(unit.suffix in US_SUFFIXES for unit in _dial(rows, row))
    flow = DIMENSIONS["flow"].unit("gpm" if us else "l_min")
    return f"{float(f'{flow.from_si(value_si):.3g}'):g} {flow.symbol}"


def _dial(rows: csvfiles.Rows, row: int) -> list[Unit]:
    """Units that the readings of a row are written in: one, if it is right."""
    known = {
        folded(f"{name}_{unit.suffix}"): unit
        for name in ("start", "end")
        for unit in DIMENSIONS["volume"].units
    }
    cells = zip(rows.table.headers, rows.table.rows[row], strict=False)
    found = [known[folded(head)] for head, cell in cells
             if cell and folded(head) in known]  # fmt: skip
    return list(dict.fromkeys(found))


def _flow_as_written(zones: Zones, heads: Heads, row: int) -> float:
    """Flow of a zone without a meter, in L/min, before any pressure; NaN: not known."""
    mine = heads.zone == row
    emitters = zones.emitter_flow_l_min[row] / (
        zones.emitter_spacing_m[row] * zones.emitter_row_spacing_m[row]
    )
    candidates = (
        zones.flow_l_min[row],
        (heads.flow_l_min * heads.count)[mine].sum() if mine.any() else math.nan,
        zones.rate_mm_h[row] * zones.area_m2[row] / units.MIN_PER_H,
        zones.emitters[row] * zones.emitter_flow_l_min[row],
        emitters * zones.area_m2[row],
    )
    return next((float(flow) for flow in candidates if math.isfinite(flow)), math.nan)


def _many_times(
    rows: csvfiles.Rows, row: int, zone: str, flow_l_min: float, usual_l_min: float
) -> Iterator[Problem]:
    """A flow that no zone has: most likely the dial counts in another unit."""
    if not (flow_l_min > MOST_TIMES * usual_l_min
            or flow_l_min < usual_l_min / MOST_TIMES):  # fmt: skip
        return
    told, usual = (_told(rows, row, "end_l", f) for f in (flow_l_min, usual_l_min))
    yield rows.problem(
        row, "end_l",
        f"zone {zone} would take {told}, but its heads take {usual}",
        f"readings that make up to {MOST_TIMES:g} times that, or a third",
        "; ".join(_likely(rows, row, flow_l_min, usual_l_min))
        or "read again; a zone that takes so much or little is to be mended first",
    )  # fmt: skip


def _likely(
    rows: csvfiles.Rows, row: int, flow_l_min: float, usual_l_min: float
) -> Iterator[str]:
    """Other units of the dial, or digits of it, that make a likely flow."""
    written = _dial(rows, row)[0]
    for unit in DIMENSIONS["volume"].units:
        flow = flow_l_min * unit.factor / written.factor
        if unit != written and _near(flow, usual_l_min):
            yield (
                f"{_told(rows, row, 'end_l', flow)} if the dial counts {unit.symbol}: "
                f"write start_{unit.suffix} and end_{unit.suffix}"
            )
    for times in (100, 10, 0.1, 0.01):
        flow = flow_l_min * times
        if _near(flow, usual_l_min):
            lacks = "a printed 0 was left out" if times > 1 else "decimals were read on"
            yield (
                f"{_told(rows, row, 'end_l', flow)} if {lacks}: write the readings "
                f"times {times:g}"
            )


def _near(flow_l_min: float, usual_l_min: float) -> bool:
    return 1 / LIKELY_TIMES <= flow_l_min / usual_l_min <= LIKELY_TIMES
