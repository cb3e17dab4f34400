"""zones.csv and heads.csv, and whether they say how much water a zone gets."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from scheduler.calendar import DAYS_IN_YEAR
from scheduler.errors import Problem
from scheduler.inputs import library
from scheduler.inputs.forms import csvfiles
from scheduler.inputs.forms.alike import folded, hint_nearest
from scheduler.inputs.forms.columns import Fault
from scheduler.inputs.forms.field import Field
from scheduler.inputs.forms.fields import FILES, HEAD_KINDS, STAGES
from scheduler.inputs.forms.vocabulary import Words
from scheduler.inputs.library import head_kinds
from scheduler.inputs.site import Assumed, Heads, Zones
from scheduler.inputs.sources.reading import Reading, record

MOST_DRIP_L_MIN = 1.52
"""24 gph: a micro-spray's most (common practice)."""
TREE_STAGES = ("container", "bare-root")
"""Stages of trees, which have a trunk to measure."""
LONGEST_TO_GROW_IN_Y = 10
"""A tree of 6 in takes 9 years (University of Minnesota Extension, Zuzek)."""
USUAL_VALUES = ("root_depth", "depletion", "longest_gap_days", "uniformity")
"""Columns of zones.csv whose blanks take the plant's or the head's usual value."""


def plant_words(plants: library.Plants) -> Words:
    """Names of plants, those that people type instead of the table's among them."""
    also = {name: (name,) for name in plants.names} | library.plant_names()
    folded_names = {folded(name): meant for name, meant in also.items()}
    return Words.of(plants.names, folded_names)


def table_rows(
    reading: Reading, file: str, words: Mapping[str, Sequence[str]] | None = None
) -> csvfiles.Rows | None:
    """Checked rows of a file of the folder, or None where it cannot be read."""
    table = reading.source.table(file, reading.problems)
    if table is None:
        return None
    return csvfiles.read_rows(table, FILES[file], reading.problems, words)


def read_zones(
    reading: Reading,
    plants: library.Plants,
    soils: library.Soils,
    today: datetime.date | None = None,
) -> tuple[Zones, csvfiles.Rows] | None:
    """Zones and the rows they came from, or None where the file cannot be read."""
    words = {"plant": plant_words(plants), "soil": soils.names}
    rows = table_rows(reading, "zones.csv", words)
    if rows is None:
        return None
    if not len(rows):
        reading.problems.append(
            Problem(rows.file, None, "", "has no zones", "a row for each zone")
        )
    names = rows.values["zone"]
    twice = rows.named_twice("zone", "a name of its own for each zone")
    rows = rows.marked(twice, reading.problems)
    values = _filled_columns(rows, "zones.csv")
    values["dry_share"] = values.pop("dry_days_percent") / 100
    values["keep"] = tuple(values["keep"])
    values["station"] = _stations(rows)
    if rows.complete:
        # Where rows were left out, their numbers say nothing.
        twice = _stations_twice(rows, values["station"])
        rows = rows.marked(twice, reading.problems)
    values["zone"] = tuple(names)
    values["name"] = tuple(
        given or f"Zone {zone}"
        for given, zone in zip(rows.values["name"], names, strict=True)
    )
    values["plant"] = _table_row(rows.values["plant"], plants.names)
    values["soil"] = _table_row(rows.values["soil"], soils.names)
    values["head_kind"] = _table_row(values["head_kind"], HEAD_KINDS)
    values["planted"] = tuple(values["planted"])
    values["stage"] = tuple(stage or "" for stage in values["stage"])
    rows = rows.marked(_emitters_like_heads(rows, values), reading.problems)
    rows = rows.marked(_plantings_half_told(rows, values), reading.problems)
    if today is not None:
        rows = rows.marked(_plantings_out_of_time(rows, today), reading.problems)
    drip = head_kinds().drips[values["head_kind"]]
    # Drip compensates unless its row says that it does not.
    blank = np.array([told is None for told in rows.values["regulated"]], dtype=bool)
    values["regulated"] = np.array(values["regulated"], dtype=bool) | (drip & blank)
    values["ground_m2"] = values["area_m2"]
    canopies = values["plants"] * values["canopy_m2"]
    told = drip & np.isfinite(canopies)
    values["area_m2"] = np.where(told, canopies, values["area_m2"])
    return record(Zones, values), rows


def _emitters_like_heads(
    rows: csvfiles.Rows, values: Mapping[str, Any]
) -> Iterator[Fault]:
    """Drip emitters of so much flow that the hour's was written as the minute's."""
    drip = values["head_kind"] == HEAD_KINDS.index("drip")
    flow = values["emitter_flow_l_min"]
    for row in np.flatnonzero(drip & (flow > MOST_DRIP_L_MIN)).tolist():
        yield row, rows.problem(
            row, "emitter_flow_l_min", "is more than any drip emitter gives",
            "the flow of one emitter, up to 24 gph (90 L/h)",
            "emitters are sold by the hour: write emitter_flow_gph or emitter_flow_l_h;"
            " bubblers are head_kind bubbler",
        )  # fmt: skip


def _plantings_half_told(
    rows: csvfiles.Rows, values: Mapping[str, Any]
) -> Iterator[Fault]:
    """Zones whose planting lacks its date, its stage or, of trees, their number."""
    given = np.isfinite(values["caliper_mm"]) & ~rows.faulty_cells["caliper_mm"]
    told = zip(values["planted"], values["stage"], given, strict=True)
    for row, (planted, stage, tree) in enumerate(told):
        dated = planted is not None or rows.faulty_cells["planted"][row]
        if (stage or tree) and not dated:
            what = f"stage {stage}" if stage else "caliper_*"
            yield row, rows.problem(
                row, "planted", f"is blank, and {what} tells of a new planting",
                "the date of planting, as 2026-05-20",
                "leave both blank once the plants have grown in",
            )  # fmt: skip
        elif planted is not None and not stage:
            if not rows.faulty_cells["stage"][row]:
                yield row, rows.problem(
                    row, "stage", f"is blank, and {planted} is a date of planting",
                    ", ".join(STAGES), "leave both blank once the plants have grown in",
                )  # fmt: skip
        elif tree and stage not in TREE_STAGES:
            yield row, rows.problem(
                row, "stage", f"{stage} has no trunk, and caliper_* tells of one",
                ", ".join(TREE_STAGES),
            )  # fmt: skip
        elif tree and np.isnan(values["plants"][row]):
            yield row, rows.problem(
                row, "plants", "is blank, and caliper_* is one tree's",
                "how many trees were planted",
            )  # fmt: skip


def _plantings_out_of_time(
    rows: csvfiles.Rows, today: datetime.date
) -> Iterator[Fault]:
    """Dates of planting that are still to come, or so long ago that all has grown."""
    for row, planted in enumerate(rows.values["planted"]):
        if planted is None:
            continue
        years = (today - planted).days / DAYS_IN_YEAR
        if planted > today:
            yield row, rows.problem(
                row, "planted", f"{planted} is still to come, today is {today}",
                "the day on which it was planted",
                f"to look ahead, give --date {planted} where a verb takes it",
            )  # fmt: skip
        elif years > LONGEST_TO_GROW_IN_Y:
            yield row, rows.problem(
                row, "planted", f"{planted} is {int(years)} years ago: it has grown in",
                f"a date within {LONGEST_TO_GROW_IN_Y} years",
                "leave planted, stage and caliper_* blank",
            )  # fmt: skip


def _stations(rows: csvfiles.Rows) -> np.ndarray:
    """Stations, the row's number where blank."""
    given = rows.values["station"]
    numbers = np.arange(1, len(rows) + 1)
    return np.where(np.isnan(given), numbers, given).astype(int)


def _stations_twice(rows: csvfiles.Rows, stations: np.ndarray) -> Iterator[Fault]:
    """Zones on the station of an earlier zone."""
    blank = np.isnan(rows.values["station"])
    faulty = rows.faulty_cells["station"]
    seen: dict[int, int] = {}
    for row, station in enumerate(stations.tolist()):
        if faulty[row]:
            continue
        first = seen.setdefault(station, row)
        if first != row:
            wrong = f"{station} is the station of zone"
            if blank[row]:
                wrong = f"blank is the row's number, {station}, the station of zone"
            where = f"{rows.where(first)}{', blank there' if blank[first] else ''}"
            yield row, rows.problem(
                row, "station",
                f'{wrong} "{rows.values["zone"][first]}" too ({where})',
                "a station of its own for each zone",
                "two valves wired to one station are one zone",
            )  # fmt: skip


def assumed_of_zones(
    zones: csvfiles.Rows, heads: csvfiles.Rows | None, tested: np.ndarray
) -> Iterator[Assumed]:
    """What the blanks of zones.csv and heads.csv take, zone by zone.

    `tested` marks zones whose uniformity a catch-can test tells.
    """
    yield from _defaults_taken(zones, "zones.csv")
    for field in FILES["zones.csv"]:
        if field.name in USUAL_VALUES:
            blank = np.isnan(zones.values[field.si_name])
            if field.name == "uniformity":
                blank &= ~tested
            if blank.any():
                which = (zones.values["zone"][i] for i in np.flatnonzero(blank))
                yield Assumed("zones.csv", field, None, tuple(which))
    if heads is not None:
        yield from _defaults_taken(heads, "heads.csv")


def _table_row(words: Sequence[str], names: Sequence[str]) -> np.ndarray:
    index = {name: i for i, name in enumerate(names)}
    return np.array([index.get(word, 0) for word in words], dtype=np.intp)


def _blanks(rows: csvfiles.Rows, file: str) -> Iterator[tuple[Field, np.ndarray]]:
    """Fields of a file that have a default, and the rows that leave them blank."""
    for field in FILES[file]:
        if field.default is not None and field.name != "months":
            column = rows.values[field.si_name]
            if isinstance(column, np.ndarray):
                yield field, np.isnan(column)
            else:
                yield field, np.array([c in ("", None) for c in column], dtype=bool)


def _filled_columns(rows: csvfiles.Rows, file: str) -> dict[str, Any]:
    """Columns with defaults in place of blanks."""
    values = dict(rows.values)
    for field, blank in _blanks(rows, file):
        column = values[field.si_name]
        if isinstance(column, np.ndarray):
            values[field.si_name] = np.where(blank, field.default, column)
        else:
            cells = zip(column, blank, strict=True)
            values[field.si_name] = [field.default if b else c for c, b in cells]
    return values


def _defaults_taken(rows: csvfiles.Rows, file: str) -> Iterator[Assumed]:
    """Defaults that stand in for blanks, with the zones that take them."""
    for field, blank in _blanks(rows, file):
        if blank.any() and not field.quiet:
            zones = [rows.values["zone"][i] for i in np.flatnonzero(blank)]
            which = tuple(dict.fromkeys(zones))
            yield Assumed(file, field, field.default, which)


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
    place, rows = zone_rows(reading, rows, zones)
    values = _filled_columns(rows, file)
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
) -> tuple[np.ndarray, csvfiles.Rows]:
    """Row in zones.csv of the zone that each row names, and the rows again.

    Where there is no such zone it is -1, and the first row that names it is faulty.
    """
    known = zones[0].zone
    by_fold: dict[str, int] = {}
    for i, zone in enumerate(known):
        by_fold.setdefault(folded(zone), i)
    # A zone left out or named twice there may be the one that is not found here.
    all_known = bool(known) and all(known) and len(by_fold) == len(known)
    if all_known and zones[1].table.whole:
        told = reading.source.names.told("zones.csv")
        rows = rows.marked(_unknown_zones(rows, known, told), reading.problems)
    written = [folded(name) for name in rows.values["zone"]]
    return np.array([by_fold.get(name, -1) for name in written], dtype=np.intp), rows


def _unknown_zones(
    rows: csvfiles.Rows, known: Sequence[str], told: str
) -> Iterator[Fault]:
    """One fault for all the rows that name a zone which there is not."""
    written = [folded(name) for name in rows.values["zone"]]
    said = {"", *map(folded, known)}
    for row, name in enumerate(rows.values["zone"]):
        if written[row] not in said:
            said.add(written[row])
            more = written.count(written[row]) - 1
            times = f", here and in {more} more row{'s' * (more > 1)}" * (more > 0)
            yield row, rows.problem(
                row, "zone", f'"{name}" is not a zone of {told}{times}',
                ", ".join(known), hint_nearest(name, known),
            )  # fmt: skip


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
    if zones is None or not zones[1].complete:
        return
    zone, rows = zones
    head, head_rows = heads
    faulty = rows.faulty.copy()
    if head_rows is not None:
        if not head_rows.complete:
            return
        of_heads = head.zone[head_rows.faulty]
        faulty[of_heads[of_heads >= 0]] = True
    elif reading.source.has("heads.csv"):
        return  # It cannot be read.
    for i in np.flatnonzero(~faulty).tolist():
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
    emits, *grid = np.isfinite(
        [
            zone.emitter_flow_l_min[i],
            zone.emitter_spacing_m[i],
            zone.emitter_row_spacing_m[i],
        ]
    ).tolist()
    counted = bool(np.isfinite(zone.emitters[i]))
    flow = (
        bool(np.isfinite(zone.flow_l_min[i]))
        or (emits and counted)
        or (has_heads and bool(np.isfinite(heads.flow_l_min[mine]).all()))
    )
    area = bool(np.isfinite(zone.area_m2[i])) or (
        has_heads and bool(np.isfinite(heads.spacing_m[mine]).all())
    )
    rate = bool(tested or np.isfinite(zone.rate_mm_h[i]) or (emits and all(grid)))
    half = any(grid) and not (emits and all(grid))
    if half or (counted or emits) != (emits and (counted or all(grid))):
        wrong = "emitters are only half described"
        if not emits:
            wrong = "emitters have no flow"
        reading.problems.append(
            rows.problem(i, "zone", wrong,
                         "emitter_flow_* with emitters, or with emitter_spacing_* and "
                         "emitter_row_spacing_*")
        )  # fmt: skip
    elif np.isfinite(zone.canopy_m2[i]) and np.isnan(zone.plants[i]):
        reading.problems.append(
            rows.problem(i, "plants", "is blank, and canopy_* is one plant's",
                         "how many plants have that canopy")
        )  # fmt: skip
    elif flow + area + rate < 2:
        reading.problems.append(
            rows.problem(i, "zone", _what_is_missing(has_heads, flow, area, rate),
                         "heads with flow and spacing, or a flow and an area, or a "
                         "rate and an area or flow, or emitters and an area or "
                         "plants with canopies",
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
