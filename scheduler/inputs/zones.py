"""zones.csv and heads.csv, and whether they say how much water a zone gets."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from scheduler.errors import Problem
from scheduler.inputs import library
from scheduler.inputs.forms import csvfiles
from scheduler.inputs.forms.columns import folded, hint_nearest
from scheduler.inputs.forms.fields import FILES, HEAD_KINDS
from scheduler.inputs.library import head_kinds
from scheduler.inputs.site import Assumed, Heads, Zones
from scheduler.inputs.sources.reading import Reading, record

USUAL_VALUES = ("root_depth", "depletion", "longest_gap_days", "uniformity")
"""Columns of zones.csv whose blanks take the plant's or the head's usual value."""


def table_rows(
    reading: Reading, file: str, words: Mapping[str, Sequence[str]] | None = None
) -> csvfiles.Rows | None:
    """Checked rows of a file of the folder, or None where it cannot be read."""
    table = reading.source.table(file, reading.problems)
    if table is None:
        return None
    rows = csvfiles.read_rows(table, FILES[file], reading.problems, words)
    reading.note_unused(file, "", FILES[file], rows.filled)
    return rows


def read_zones(
    reading: Reading, plants: library.Plants, soils: library.Soils
) -> tuple[Zones, csvfiles.Rows] | None:
    """Zones and the rows they came from, or None where the file cannot be read."""
    words = {"plant": plants.names, "soil": soils.names}
    rows = table_rows(reading, "zones.csv", words)
    if rows is None:
        return None
    if not len(rows):
        reading.problems.append(
            Problem(rows.file, None, "", "has no zones", "a row for each zone")
        )
    names = rows.values["zone"]
    seen: dict[str, int] = {}
    for row, name in enumerate(names):
        if name and folded(name) in seen:
            first = rows.where(seen[folded(name)])
            reading.problems.append(
                rows.problem(row, "zone",
                             f'"{name}" is named twice (first in {first})',
                             "a name of its own for each zone")
            )  # fmt: skip
        seen.setdefault(folded(name), row)
    values = _fill_columns(reading, rows, "zones.csv", names)
    _note_usual_values(reading, rows, names)
    values["dry_share"] = values.pop("dry_days_percent") / 100
    values["station"] = _stations(reading, rows)
    values["zone"] = tuple(names)
    values["name"] = tuple(
        given or f"Zone {zone}"
        for given, zone in zip(rows.values["name"], names, strict=True)
    )
    values["plant"] = _table_row(rows.values["plant"], plants.names)
    values["soil"] = _table_row(rows.values["soil"], soils.names)
    values["head_kind"] = _table_row(values["head_kind"], HEAD_KINDS)
    drip = head_kinds().drips[values["head_kind"]]
    values["regulated"] = np.array(values["regulated"], dtype=bool) | drip
    return record(Zones, values), rows


def _stations(reading: Reading, rows: csvfiles.Rows) -> np.ndarray:
    """Stations, the row's number where blank; two zones on one are a Problem."""
    given = rows.values["station"]
    blank = np.isnan(given)
    stations = np.where(blank, np.arange(1, len(rows) + 1), given).astype(int)
    if rows.incomplete(reading.problems):
        # Rows were left out, so that numbers of rows say nothing.
        return stations
    header = rows.headers.get("station", "station")
    faulty = {
        problem.line
        for problem in reading.problems
        if problem.file == rows.file and problem.field == header
    }
    seen: dict[int, int] = {}
    for row, station in enumerate(stations.tolist()):
        if rows.lines[row] in faulty:
            continue
        first = seen.setdefault(station, row)
        if first != row:
            wrong = f"{station} is the station of zone"
            if blank[row]:
                wrong = f"blank is the row's number, {station}, the station of zone"
            where = f"line {rows.lines[first]}{', blank there' if blank[first] else ''}"
            reading.problems.append(
                rows.problem(row, "station",
                             f'{wrong} "{rows.values["zone"][first]}" too ({where})',
                             "a station of its own for each zone",
                             "two valves wired to one station are one zone")
            )  # fmt: skip
    return stations


def _note_usual_values(
    reading: Reading, rows: csvfiles.Rows, zones: Sequence[str]
) -> None:
    """Remember what the plant's or the head's usual value stands in for."""
    for field in FILES["zones.csv"]:
        if field.name in USUAL_VALUES:
            blank = np.flatnonzero(np.isnan(rows.values[field.si_name])).tolist()
            if blank:
                which = tuple(zones[i] for i in blank)
                reading.assumed.append(Assumed("zones.csv", field, None, which))


def _table_row(words: Sequence[str], names: Sequence[str]) -> np.ndarray:
    index = {name: i for i, name in enumerate(names)}
    return np.array([index.get(word, 0) for word in words], dtype=np.intp)


def _fill_columns(
    reading: Reading, rows: csvfiles.Rows, file: str, zones: Sequence[str]
) -> dict[str, Any]:
    """Columns with defaults in place of blanks; what was assumed is noted."""
    values = dict(rows.values)
    for field in FILES[file]:
        if field.default is None or field.name == "months":
            continue
        column = values[field.si_name]
        if isinstance(column, np.ndarray):
            blank = np.isnan(column)
            values[field.si_name] = np.where(blank, field.default, column)
        else:
            blank = np.array([cell in ("", None) for cell in column], dtype=bool)
            values[field.si_name] = [cell if cell not in ("", None) else field.default
                                     for cell in column]  # fmt: skip
        if blank.any() and field.used and not field.quiet:
            which = [zones[i] for i in np.flatnonzero(blank).tolist()]
            reading.assumed.append(
                Assumed(file, field, field.default, tuple(dict.fromkeys(which)))
            )
    return values


def read_heads(
    reading: Reading, zones: tuple[Zones, csvfiles.Rows] | None
) -> tuple[Heads, csvfiles.Rows | None]:
    """Heads of the site and the rows they came from; none without a heads.csv."""
    file = "heads.csv"
    if not reading.source.has(file):
        return _no_heads(), None
    rows = table_rows(reading, file)
    if rows is None or zones is None:
        return _no_heads(), rows
    place = zone_rows(reading, rows, zones)
    values = _fill_columns(reading, rows, file, rows.values["zone"])
    seen: dict[int, int] = {}
    heads = []
    for given, zone in zip(rows.values["head"], place.tolist(), strict=True):
        seen[zone] = seen.get(zone, 0) + 1
        heads.append(given or str(seen[zone]))
    values["zone"] = place
    values["head"] = tuple(heads)
    values["nozzle"] = tuple(rows.values["nozzle"])
    values["triangular"] = np.array([p == "triangular" for p in values["pattern"]])
    values["low_angle"] = np.array(values["low_angle"], dtype=bool)
    return record(Heads, values), rows


def _no_heads() -> Heads:
    empty = np.zeros(0)
    return Heads(empty.astype(np.intp), (), (), *[empty] * 7, *[empty.astype(bool)] * 2,
                 *[empty] * 3)  # fmt: skip


def zone_rows(
    reading: Reading, rows: csvfiles.Rows, zones: tuple[Zones, csvfiles.Rows]
) -> np.ndarray:
    """Row in zones.csv of the zone that each row names; -1 with a Problem."""
    known = zones[0].zone
    by_fold: dict[str, int] = {}
    for i, zone in enumerate(known):
        by_fold.setdefault(folded(zone), i)
    # A zone left out or named twice there may be the one that is not found here.
    all_known = len(by_fold) == len(known) and all(known)
    all_known = all_known and not any(
        problem.file == zones[1].file and not problem.field
        for problem in reading.problems
    )
    told = reading.source.names.told("zones.csv")
    written = [folded(name) for name in rows.values["zone"]]
    said = {""}
    for row, name in enumerate(written):
        if name not in by_fold and name not in said and all_known:
            said.add(name)
            reading.problems.append(
                _unknown_zone(rows, row, written.count(name), known, told)
            )
    return np.array([by_fold.get(name, -1) for name in written], dtype=np.intp)


def _unknown_zone(
    rows: csvfiles.Rows, row: int, count: int, known: Sequence[str], told: str
) -> Problem:
    """One Problem for all the rows that name a zone which there is not."""
    name = rows.values["zone"][row]
    times = f", here and in {count - 1} more row{'s' * (count > 2)}" * (count > 1)
    return rows.problem(row, "zone", f'"{name}" is not a zone of {told}{times}',
                        ", ".join(known), hint_nearest(name, known))  # fmt: skip


def check_water_is_known(
    reading: Reading,
    zones: tuple[Zones, csvfiles.Rows] | None,
    heads: tuple[Heads, csvfiles.Rows | None],
    tested: np.ndarray,
) -> None:
    """A zone needs two of flow, area and rate, from whatever source.

    `tested` says which zones have a catch-can test, and so a rate. Zones whose rows or
    heads have a Problem already are let be.
    """
    if zones is None or zones[1].incomplete(reading.problems):
        return
    zone, rows = zones
    head, head_rows = heads
    heads_file = reading.source.names.place("heads.csv")
    faulty = rows.faulty_lines(reading.problems)
    faulty_zones: set[int] = set()
    if head_rows is not None:
        if head_rows.incomplete(reading.problems):
            return
        faulty_heads = head_rows.faulty_lines(reading.problems)
        for i, line in zip(head.zone.tolist(), head_rows.lines, strict=True):
            if line in faulty_heads:
                faulty_zones.add(i)
    elif any(problem.file == heads_file for problem in reading.problems):
        return
    for i in range(len(zone)):
        if rows.lines[i] not in faulty and i not in faulty_zones:
            _check_water_of_zone(reading, zone, rows, head, i, bool(tested[i]))


def _check_water_of_zone(
    reading: Reading,
    zone: Zones,
    rows: csvfiles.Rows,
    heads: Heads,
    i: int,
    tested: bool,
) -> None:
    mine = heads.zone == i
    has_heads = bool(mine.any())
    emitters = np.isfinite(
        [
            zone.emitter_flow_l_min[i],
            zone.emitter_spacing_m[i],
            zone.emitter_row_spacing_m[i],
        ]
    )
    flow = bool(np.isfinite(zone.flow_l_min[i])) or (
        has_heads and bool(np.isfinite(heads.flow_l_min[mine]).all())
    )
    area = bool(np.isfinite(zone.area_m2[i])) or (
        has_heads and bool(np.isfinite(heads.spacing_m[mine]).all())
    )
    rate = bool(tested or np.isfinite(zone.rate_mm_h[i]) or emitters.all())
    if emitters.any() and not emitters.all():
        reading.problems.append(
            rows.problem(i, "zone", "emitters are only half described",
                         "emitter_flow_*, emitter_spacing_* and "
                         "emitter_row_spacing_* together")
        )  # fmt: skip
    elif flow + area + rate < 2:
        reading.problems.append(
            rows.problem(i, "zone", _what_is_missing(has_heads, flow, area, rate),
                         "heads with flow and spacing, or a flow and an area, or a "
                         "rate and an area or flow, or emitters and an area",
                         _hint_missing(reading, zone.zone[i], has_heads, flow, area))
        )  # fmt: skip


def _what_is_missing(has_heads: bool, flow: bool, area: bool, rate: bool) -> str:
    if flow:
        return "the zone's area is not known"
    if area:
        return "the zone's flow is not known"
    if has_heads or rate:
        return "neither the zone's flow nor its area is known"
    return "nothing says how much water the zone gets"


def _hint_missing(
    reading: Reading, zone: str, has_heads: bool, flow: bool, area: bool
) -> str:
    source = reading.source
    file = source.names.told("heads.csv")
    if not source.has("heads.csv"):
        like = hint_nearest(source.names.bare("heads.csv"), source.apart())
        return f"there is no {file}: {like}" if like else f"there is no {file}"
    if not has_heads:
        return f"no head in {file} names zone {zone}"
    if flow:
        return f"fill spacing_* of every head in {file}, or the zone's area_*"
    if area:
        return f"fill flow_* of every head in {file}, or the zone's flow_*"
    return f"fill flow_* and spacing_* of every head in {file}"


def read_unused_file(
    reading: Reading,
    file: str,
    zones: tuple[Zones, csvfiles.Rows] | None,
    plants: library.Plants,
    soils: library.Soils,
) -> None:
    """Read and check a file that nothing uses yet, so that its format stays right."""
    if not reading.source.has(file):
        return
    words = {"plant": plants.names, "soil": soils.names}
    table = reading.source.table(file, reading.problems)
    if table is None:
        return
    rows = csvfiles.read_rows(table, FILES[file], reading.problems, words)
    if zones is not None:
        zone_rows(reading, rows, zones)
    reading.unused.append(reading.source.names.told(file))
