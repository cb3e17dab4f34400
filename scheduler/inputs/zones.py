"""zones.csv and heads.csv, and whether they say how much water a zone gets."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from scheduler.errors import Problem
from scheduler.inputs import csvfiles, library
from scheduler.inputs.columns import folded, hint_nearest
from scheduler.inputs.fields import DRIP_KINDS, FILES, HEAD_KINDS
from scheduler.inputs.reading import Reading, record
from scheduler.inputs.site import Assumed, Heads, Zones


def _table_rows(
    reading: Reading, file: str, words: Mapping[str, Sequence[str]] | None = None
) -> csvfiles.Rows | None:
    table = csvfiles.read_table(reading.folder / file, file, reading.problems)
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
    rows = _table_rows(reading, "zones.csv", words)
    if rows is None:
        return None
    if not len(rows):
        reading.problems.append(
            Problem("zones.csv", None, "", "has no zones", "a row for each zone")
        )
    names = rows.values["zone"]
    seen: dict[str, int] = {}
    for row, name in enumerate(names):
        if name and folded(name) in seen:
            first = rows.lines[seen[folded(name)]]
            reading.problems.append(
                rows.problem(row, "zone",
                             f'"{name}" is named twice (first in line {first})',
                             "a name of its own for each zone")
            )  # fmt: skip
        seen.setdefault(folded(name), row)
    values = _fill_columns(reading, rows, "zones.csv", names)
    station = rows.values["station"]
    values["station"] = np.where(
        np.isnan(station), np.arange(1, len(rows) + 1), station
    ).astype(int)
    values["zone"] = tuple(names)
    values["name"] = tuple(
        given or f"Zone {zone}"
        for given, zone in zip(rows.values["name"], names, strict=True)
    )
    values["plant"] = _table_row(rows.values["plant"], plants.names)
    values["soil"] = _table_row(rows.values["soil"], soils.names)
    values["head_kind"] = _table_row(values["head_kind"], HEAD_KINDS)
    drip = np.isin(values["head_kind"], [HEAD_KINDS.index(k) for k in DRIP_KINDS])
    values["regulated"] = np.array(values["regulated"], dtype=bool) | drip
    return record(Zones, values), rows


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


def read_heads(reading: Reading, zones: tuple[Zones, csvfiles.Rows] | None) -> Heads:
    """Heads of the site; none where there is no heads.csv."""
    file = "heads.csv"
    if not (reading.folder / file).exists():
        return _no_heads()
    rows = _table_rows(reading, file)
    if rows is None or zones is None:
        return _no_heads()
    zone_rows = _zone_rows(reading, rows, zones[0].zone)
    values = _fill_columns(reading, rows, file, rows.values["zone"])
    seen: dict[int, int] = {}
    heads = []
    for given, zone in zip(rows.values["head"], zone_rows.tolist(), strict=True):
        seen[zone] = seen.get(zone, 0) + 1
        heads.append(given or str(seen[zone]))
    values["zone"] = zone_rows
    values["head"] = tuple(heads)
    values["nozzle"] = tuple(rows.values["nozzle"])
    values["triangular"] = np.array([p == "triangular" for p in values["pattern"]])
    values["low_angle"] = np.array(values["low_angle"], dtype=bool)
    read: Heads = record(Heads, values)
    return read


def _no_heads() -> Heads:
    empty = np.zeros(0)
    return Heads(empty.astype(np.intp), (), (), *[empty] * 7, *[empty.astype(bool)] * 2)


def _zone_rows(
    reading: Reading, rows: csvfiles.Rows, zones: Sequence[str]
) -> np.ndarray:
    """Row in zones.csv of the zone that each row names; -1 with a Problem."""
    by_fold = {folded(zone): i for i, zone in enumerate(zones)}
    found = []
    for row, name in enumerate(rows.values["zone"]):
        found.append(by_fold.get(folded(name), -1))
        if name and found[-1] < 0:
            reading.problems.append(
                rows.problem(row, "zone", f'"{name}" is not a zone of zones.csv',
                             ", ".join(zones), hint_nearest(name, zones))
            )  # fmt: skip
    return np.array(found, dtype=np.intp)


def check_water_is_known(
    reading: Reading, zones: tuple[Zones, csvfiles.Rows] | None, heads: Heads
) -> None:
    """A zone needs two of flow, area and rate, from whatever source."""
    if zones is None:
        return
    zone, rows = zones
    emitters = np.stack(
        [zone.emitter_flow_l_min, zone.emitter_spacing_m, zone.emitter_row_spacing_m]
    )
    some_emitters = np.isfinite(emitters).any(axis=0)
    for i in range(len(zone)):
        mine = heads.zone == i
        has_heads = bool(mine.any())
        all_emitters = bool(np.isfinite(emitters[:, i]).all())
        flow = np.isfinite(zone.flow_l_min[i]) or (
            has_heads and bool(np.isfinite(heads.flow_l_min[mine]).all())
        )
        area = np.isfinite(zone.area_m2[i]) or (
            has_heads and bool(np.isfinite(heads.spacing_m[mine]).all())
        )
        rate = np.isfinite(zone.rate_mm_h[i]) or all_emitters
        if some_emitters[i] and not all_emitters:
            reading.problems.append(
                rows.problem(i, "zone", "emitters are only half described",
                             "emitter_flow_*, emitter_spacing_* and "
                             "emitter_row_spacing_* together")
            )  # fmt: skip
        elif int(flow) + int(area) + int(rate) < 2:
            reading.problems.append(
                rows.problem(i, "zone", _what_is_missing(has_heads, flow),
                             "heads with flow and spacing, or a flow and an area, or a "
                             "rate and an area or flow, or emitters and an area",
                             _hint_missing(zone.zone[i], has_heads, flow))
            )  # fmt: skip


def _what_is_missing(has_heads: bool, flow: bool) -> str:
    if has_heads and flow:
        return "the zone's area is not known"
    if has_heads:
        return "the zone's flow is not known"
    return "nothing says how much water the zone gets"


def _hint_missing(zone: str, has_heads: bool, flow: bool) -> str:
    if has_heads and flow:
        return "fill spacing_* of every head in heads.csv, or the zone's area_*"
    if has_heads:
        return "fill flow_* of every head in heads.csv, or the zone's flow_*"
    return f"no head in heads.csv names zone {zone}"


def read_unused_file(
    reading: Reading,
    file: str,
    zones: tuple[Zones, csvfiles.Rows] | None,
    plants: library.Plants,
    soils: library.Soils,
) -> None:
    """Read and check a file that nothing uses yet, so that its format stays right."""
    if not (reading.folder / file).exists():
        return
    words = {"plant": plants.names, "soil": soils.names}
    table = csvfiles.read_table(reading.folder / file, file, reading.problems)
    if table is None:
        return
    rows = csvfiles.read_rows(table, FILES[file], reading.problems, words)
    if zones is not None:
        _zone_rows(reading, rows, zones[0].zone)
    reading.unused.append(file)
