"""cans.csv: catch-can tests, of a site's zones or of a file by itself."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from scheduler import units
from scheduler.errors import InputError, Problem
from scheduler.inputs.forms import csvfiles
from scheduler.inputs.forms.alike import folded
from scheduler.inputs.forms.columns import Fault, shown_number
from scheduler.inputs.forms.dimensions import DIMENSIONS, Unit
from scheduler.inputs.forms.fields import FILES
from scheduler.inputs.site import Cans, Zones
from scheduler.inputs.sources.reading import Reading
from scheduler.inputs.sources.source import is_workbook, open_sheets
from scheduler.inputs.zones import zone_rows

FEWEST_CANS = 8
"""Fewer cans say nothing of evenness (rule of this program)."""
MOST_RATE_MM_H = 150.0
"""No sprinkler lays more (common practice); bubblers are not tested with cans."""
LEAST_RATE_MM_H = 1.0
"""No sprinkler is meant to lay less (common practice)."""
LIKELY_RATE_MM_H = (2.0, 100.0)
"""Rates of sprinklers, generously: where a catch in another unit is likely meant."""
_CATCHES = ("catch_ml", "catch_mm")
_SIZES = ("can_diameter_mm", "can_area_mm2")


def read_can_file(path: Path) -> Cans:
    """Catch-can tests of a file by itself; raises InputError with every Problem."""
    problems: list[Problem] = []
    if is_workbook(path):
        return _read_can_sheet(path)
    table = csvfiles.read_table(path, str(path), problems)
    if table is None:
        raise InputError(problems)
    cans = _cans_alone(table, problems)
    if problems:
        raise InputError(problems)
    return cans


def _read_can_sheet(path: Path) -> Cans:
    """Catch-can tests of a workbook's sheet cans."""
    problems: list[Problem] = []
    source = open_sheets(path)
    table = source.table("cans.csv", problems) if source.has("cans.csv") else None
    if table is None:
        no_sheet = Problem(path.name, None, "", "has no sheet cans")
        raise InputError(source.placed(problems) or [no_sheet])
    cans = _cans_alone(table, problems)
    if problems:
        raise InputError(source.placed(problems))
    return cans


def _cans_alone(table: csvfiles.RawTable, problems: list[Problem]) -> Cans:
    """Cans of a table that has no site; its zones are those that it names.

    Zones without any catch are blanks of a field sheet, where others have one.
    """
    rows = csvfiles.read_rows(table, FILES["cans.csv"], problems)
    _, zone = _zones_named(rows)
    read = _read_rows(rows, zone)
    rows = _only(rows, read) if read.any() else rows
    names, zone = _zones_named(rows)
    return _cans(table, rows, names, zone, problems)


def _zones_named(rows: csvfiles.Rows) -> tuple[tuple[str, ...], np.ndarray]:
    """Names of zones in their order, and each row's place among them; -1: none."""
    names: dict[str, str] = {}
    for name in filter(None, rows.values["zone"]):
        names.setdefault(folded(name), name)
    places = list(names)
    zone = [places.index(folded(n)) if n else -1 for n in rows.values["zone"]]
    return tuple(names.values()), np.array(zone, int)


def read_site_cans(
    reading: Reading, zones: tuple[Zones, csvfiles.Rows] | None
) -> tuple[Cans, np.ndarray]:
    """Catch-can tests of a site, and which of its zones cans.csv names.

    Where the file cannot be read, every zone counts as named: it may be.
    """
    names = zones[0].zone if zones else ()
    none = no_cans(names)
    if not reading.source.has("cans.csv"):
        return none, np.zeros(len(names), bool)
    table = reading.source.table("cans.csv", reading.problems)
    if table is None or zones is None:
        return none, np.ones(len(names), bool)
    rows = csvfiles.read_rows(table, FILES["cans.csv"], reading.problems)
    zone, rows = zone_rows(reading, rows, zones)
    read = _read_rows(rows, zone)
    if not read.any() and len(rows):
        return none, np.zeros(len(names), bool)
    zone, rows = zone[read], _only(rows, read)
    cans = _cans(table, rows, names, zone, reading.problems)
    tested = np.isin(np.arange(len(names)), zone)
    return cans, tested


def _read_rows(rows: csvfiles.Rows, zone: np.ndarray) -> np.ndarray:
    """Rows of zones that have a catch: the others are blanks of a field sheet."""
    if not any(folded(head).startswith("catch") for head in rows.table.headers):
        return np.ones(len(rows), bool)
    caught = np.isfinite(rows.values["catch_ml"]) | np.isfinite(rows.values["catch_mm"])
    return np.isin(zone, zone[caught | rows.faulty])


def _only(rows: csvfiles.Rows, kept: np.ndarray) -> csvfiles.Rows:
    """Some of the rows, as though there were no others."""
    if kept.all():
        return rows
    places = np.flatnonzero(kept).tolist()

    def some(column: Any) -> Any:
        if isinstance(column, np.ndarray):
            return column[kept]
        return [column[place] for place in places]

    table = dataclasses.replace(
        rows.table,
        lines=tuple(rows.table.lines[place] for place in places),
        rows=tuple(rows.table.rows[place] for place in places),
    )
    return dataclasses.replace(
        rows,
        table=table,
        values={name: some(column) for name, column in rows.values.items()},
        faulty_cells={name: cells[kept] for name, cells in rows.faulty_cells.items()},
        faulty=rows.faulty[kept],
    )


def no_cans(zones: Sequence[str]) -> Cans:
    """No test of any zone."""
    empty = np.zeros(0)
    return Cans(tuple(zones), empty.astype(np.intp), (), *[empty] * 4)


def _cans(
    table: csvfiles.RawTable,
    rows: csvfiles.Rows,
    names: tuple[str, ...],
    zone: np.ndarray,
    problems: list[Problem],
) -> Cans:
    """Checked cans, with what was written once for a zone filled in for all of it."""
    values = rows.values
    if not len(rows):
        problems.append(Problem(rows.file, None, "", "has no cans", "a row for each"))
        return no_cans(names)
    unsure = not rows.complete
    if not {"catch_ml", "catch"} & rows.filled and not unsure:
        unsure = True
        problems.append(
            Problem(rows.file, table.header_line, "catch_ml or catch_in or catch_mm",
                    "no can has a catch", "what each can caught, 0 for a dry one")
        )  # fmt: skip
    rows = rows.marked(_faults_of_rows(rows), problems)
    minutes = np.array(values["minutes"])
    area = np.where(
        np.isnan(values["can_area_mm2"]),
        math.pi / 4 * values["can_diameter_mm"] ** 2,
        values["can_area_mm2"],
    )
    for row, name in enumerate(names):
        mine = np.flatnonzero(zone == row)
        if not mine.size:
            continue
        found = list(_fill(rows, mine, minutes, "minutes", "the minutes it ran"))
        if np.isfinite(values["catch_ml"][mine]).any():
            size = "can_diameter_* or can_area_*"
            found += _fill(rows, mine, area, "can_diameter_mm", size)
        if unsure or rows.faulty[mine].any():
            continue
        problems += found or _faults_of_zone(rows, mine, name, minutes, area)
    return Cans(
        zones=names,
        zone=zone,
        can=tuple(values["can"]),
        catch_ml=values["catch_ml"],
        can_area_mm2=area,
        catch_mm=values["catch_mm"],
        minutes=minutes,
    )


def _faults_of_rows(rows: csvfiles.Rows) -> Iterator[Fault]:
    """Rows without a catch, with two, or with two sizes of the can."""
    values = rows.values
    known = {name: np.isfinite(values[name]) for name in (*_CATCHES, *_SIZES)}
    any_catch = bool({"catch_ml", "catch"} & rows.filled)
    for row in np.flatnonzero(~rows.faulty).tolist():
        for first, second in (_CATCHES, _SIZES):
            if known[first][row] and known[second][row]:
                yield row, rows.problem(
                    row, second, f"{rows.headers[first]} is filled in too",
                    "one of the two",
                )  # fmt: skip
        if any_catch and not any(known[name][row] for name in _CATCHES):
            header = "catch_ml" if "catch_ml" in rows.filled else "catch_mm"
            yield row, rows.problem(
                row, header, "is blank", "what the can caught, 0 for a dry one",
                "leave out the row of a can that fell over",
            )  # fmt: skip


def _fill(
    rows: csvfiles.Rows,
    mine: np.ndarray,
    values: np.ndarray,
    name: str,
    accepted: str,
) -> Iterator[Problem]:
    """Fill the blanks of a zone where all that is written is one value."""
    blank = mine[np.isnan(values[mine])]
    written = np.unique(values[mine][np.isfinite(values[mine])])
    if blank.size and written.size == 1:
        values[blank] = written[0]
    elif blank.size and written.size:
        yield rows.problem(int(blank[0]), name, "is blank, and the zone's rows differ",
                           accepted)  # fmt: skip
    elif blank.size:
        yield rows.problem(int(blank[0]), name, "is blank", accepted,
                           "once for a zone is enough")  # fmt: skip


def _faults_of_zone(
    rows: csvfiles.Rows,
    mine: np.ndarray,
    zone: str,
    minutes: np.ndarray,
    area: np.ndarray,
) -> Iterator[Problem]:
    first = int(mine[0])
    if mine.size < FEWEST_CANS:
        yield rows.problem(
            first, "zone",
            f"zone {zone} has {mine.size} can{'' if mine.size == 1 else 's'}",
            f"{FEWEST_CANS} cans or more a zone",
            "spread 24 or more over the zone, evenly, edges and corners too",
        )  # fmt: skip
        return
    rate = units.MIN_PER_H * _depth_mm(rows, mine, area) / minutes[mine]
    mean = float(rate.mean())
    if mean == 0:
        yield rows.problem(
            first, _catch(rows, first), f"every can of zone {zone} is dry",
            "a catch in some can",
            "did the zone run? leave an untested zone out of the file",
        )  # fmt: skip
        return
    likely = list(_likely_meant(rows, mine, minutes, area, mean))
    if mean > MOST_RATE_MM_H or (mean < LEAST_RATE_MM_H and likely):
        wrong = "more" if mean > MOST_RATE_MM_H else "less"
        yield rows.problem(
            first, _catch(rows, first),
            f"zone {zone} would get {_rate(rows, first, mean)}, {wrong} than any "
            "sprinkler lays",
            f"catches that make {_rate(rows, first, LEAST_RATE_MM_H)} to "
            f"{_rate(rows, first, MOST_RATE_MM_H)}",
            "; ".join(likely) or "check the minutes, the catches and the can's size",
        )  # fmt: skip
        return
    for place in np.flatnonzero(rate > MOST_RATE_MM_H).tolist():
        row = int(mine[place])
        yield rows.problem(
            row, _catch(rows, row),
            f"the can would get {_rate(rows, row, float(rate[place]))}, more than any "
            "sprinkler lays",
            f"a catch that makes up to {_rate(rows, row, MOST_RATE_MM_H)}",
            "check the catch, or leave the can out",
        )  # fmt: skip


def _depth_mm(rows: csvfiles.Rows, mine: np.ndarray, area: np.ndarray) -> np.ndarray:
    volume, depth = rows.values["catch_ml"][mine], rows.values["catch_mm"][mine]
    return np.where(np.isnan(volume), depth, units.MM3_PER_ML * volume / area[mine])


def _catch(rows: csvfiles.Rows, row: int) -> str:
    """Registry name of the catch that a row fills."""
    return "catch_mm" if np.isnan(rows.values["catch_ml"][row]) else "catch_ml"


def _in_inches(rows: csvfiles.Rows, row: int) -> bool:
    catch = _catch(rows, row)
    names = (catch,) if catch == "catch_mm" else _SIZES
    headers = [folded(rows.headers[name]) for name in names if _filled(rows, name)]
    return any(header.endswith(("in", "in2")) for header in headers)


def _filled(rows: csvfiles.Rows, name: str) -> bool:
    return bool(np.isfinite(rows.values[name]).any())


def _rate(rows: csvfiles.Rows, row: int, rate_mm_h: float) -> str:
    """Rate in the system of units that the row is written in."""
    if _in_inches(rows, row):
        return f"{shown_number(round(rate_mm_h / units.MM_PER_IN, 2))} in/h"
    return f"{shown_number(round(rate_mm_h, 1))} mm/h"


def _likely_meant(
    rows: csvfiles.Rows,
    mine: np.ndarray,
    minutes: np.ndarray,
    area: np.ndarray,
    mean: float,
) -> Iterator[str]:
    """Other units in which the catches, or the can, would make a likely rate."""
    first = int(mine[0])
    low, high = LIKELY_RATE_MM_H
    readings: list[tuple[float, str]] = []
    catch = _catch(rows, first)
    if catch == "catch_ml":
        number = rows.values["catch_ml"][mine]
        per_hour = float((units.MIN_PER_H * number / minutes[mine]).mean())
        readings += [(per_hour * units.MM_PER_IN, "inches: write catch_in"),
                     (per_hour, "mm: write catch_mm")]  # fmt: skip
        readings += _other_sizes(rows, mean)
    else:
        unit = _unit_of(rows, "catch_mm", "depth")
        per_hour = mean / unit.to_si(1.0)
        if unit.suffix == "in":
            readings.append((per_hour, "mm: write catch_mm"))
        else:
            readings.append((per_hour * units.MM_PER_IN, "inches: write catch_in"))
        known = np.isfinite(area[mine]).all()
        in_ml = "mL: write catch_ml"
        if known:
            by_volume = units.MM3_PER_ML * per_hour / float(area[first])
            readings.append((by_volume, in_ml))
        elif mean > MOST_RATE_MM_H:
            yield f"if they are {in_ml} and the can's size"
    for rate, meant in readings:
        if low <= rate <= high:
            yield f"{_rate(rows, first, rate)} if they are {meant}"


def _other_sizes(rows: csvfiles.Rows, mean: float) -> Iterator[tuple[float, str]]:
    """Mean rate if the can's size was meant in another unit of the registry."""
    for name, dimension, power in (
        ("can_diameter_mm", "can_length", 2),
        ("can_area_mm2", "can_area", 1),
    ):
        if not _filled(rows, name):
            continue
        written = _unit_of(rows, name, dimension)
        stem = name.rsplit("_", 1)[0]
        for other in DIMENSIONS[dimension].units:
            if other.suffix != written.suffix:
                factor = (other.to_si(1.0) / written.to_si(1.0)) ** power
                symbol = "inches" if other.suffix == "in" else other.symbol
                meant = f"right and the can was measured in {symbol}"
                yield mean / factor, f"{meant}: write {stem}_{other.suffix}"


def _unit_of(rows: csvfiles.Rows, name: str, dimension: str) -> Unit:
    """Unit of a column as its header is written."""
    suffix = folded(rows.headers[name])
    stem = folded(name.rsplit("_", 1)[0])
    found = {folded(unit.suffix): unit for unit in DIMENSIONS[dimension].units}
    return found[suffix.removeprefix(stem)]
