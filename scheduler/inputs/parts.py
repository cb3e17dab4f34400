"""parts.csv: parts of a zone that differ, and what each leaves to its zone."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from scheduler.inputs import library
from scheduler.inputs.forms import csvfiles
from scheduler.inputs.forms.alike import folded
from scheduler.inputs.forms.columns import Fault
from scheduler.inputs.site import Parts, Zones
from scheduler.inputs.sources.reading import Reading, record
from scheduler.inputs.zones import table_rows, zone_rows
from scheduler.rounding import TOLERANCE

SHARES_TO = 0.01
"""How near to 1 the shares of a zone's parts have to come."""


def read_parts(
    reading: Reading,
    zones: tuple[Zones, csvfiles.Rows] | None,
    plants: library.Plants,
    soils: library.Soils,
) -> Parts:
    """Parts of the zones' ground; a zone that parts.csv does not name is one part."""
    file = "parts.csv"
    count = 0 if zones is None else len(zones[0])
    whole = _whole_zones(np.arange(count))
    if not reading.source.has(file):
        return whole
    rows = table_rows(reading, file, {"plant": plants.names, "soil": soils.names})
    if rows is None or zones is None:
        return whole
    place, rows = zone_rows(reading, rows, zones)
    rows = rows.marked(_parts_twice(rows, place), reading.problems)
    rows = rows.marked(_rates_of_some(rows, place), reading.problems)
    rows = rows.marked(_wrong_shares(rows, place, zones[0].zone), reading.problems)
    values = dict(rows.values)
    values["zone"] = place
    values["share"] = _shares_filled(rows.values["share"], place)
    for name, names in (("plant", plants.names), ("soil", soils.names)):
        table = {word: row for row, word in enumerate(names)}
        values[name] = np.array([table.get(word, -1) for word in values[name]], np.intp)
    values["part"] = tuple(values["part"])
    given = record(Parts, values)
    rest = _whole_zones(np.setdiff1d(np.arange(count), place))
    zone = np.concatenate([given.zone, rest.zone])
    order = np.argsort(zone, kind="stable")
    joined: dict[str, Any] = {
        f.name: np.concatenate([getattr(given, f.name), getattr(rest, f.name)])[order]
        for f in dataclasses.fields(Parts)
    }
    joined["part"] = tuple(map(str, joined["part"]))
    return Parts(**joined)


def _whole_zones(zone: np.ndarray) -> Parts:
    """One part for each of some rows of zones."""
    none = np.full(len(zone), np.nan)
    zones_own = np.full(len(zone), -1, dtype=np.intp)
    return Parts(zone, ("",) * len(zone), np.ones(len(zone)), zones_own, zones_own,
                 none, none, none, none)  # fmt: skip


def _parts_twice(rows: csvfiles.Rows, place: np.ndarray) -> Iterator[Fault]:
    """Parts that have the name of an earlier part of their zone."""
    seen: dict[tuple[int, str], int] = {}
    for row, (zone, name) in enumerate(zip(place, rows.values["part"], strict=True)):
        first = seen.setdefault((int(zone), folded(name)), row)
        if name and first != row:
            yield row, rows.problem(
                row, "part", f'"{name}" is a part of that zone already '
                f"({rows.where(first)})",
                "a name of its own for each part of a zone",
            )  # fmt: skip


def _rates_of_some(rows: csvfiles.Rows, place: np.ndarray) -> Iterator[Fault]:
    """Parts without a rate, where other parts of their zone have one."""
    none = np.isnan(rows.values["rate_mm_h"]) & (place >= 0)
    for row in np.flatnonzero(none).tolist():
        if not none[place == place[row]].all() and not rows.faulty[row]:
            yield row, rows.problem(
                row, "rate", "other parts of the zone have a rate, this one has none",
                "a rate for every part of the zone, or for none",
            )  # fmt: skip


def _wrong_shares(
    rows: csvfiles.Rows, place: np.ndarray, names: Sequence[str]
) -> Iterator[Fault]:
    """Zones whose parts do not make up their ground."""
    share = rows.values["share"]
    for zone in dict.fromkeys(place.tolist()):
        mine = np.flatnonzero(place == zone)
        if zone < 0 or rows.faulty[mine].any():
            continue
        blank, total = np.isnan(share[mine]), float(np.nansum(share[mine]))
        left = blank.any() and total < 1 - SHARES_TO
        # A part of a zone that there is not may be what is missing.
        if total < 1 and not blank.any() and (place < 0).any():
            continue
        if left or (not blank.any() and abs(total - 1) <= SHARES_TO + TOLERANCE):
            continue
        leaves = " and leave nothing for the blank one" if blank.any() else ""
        yield int(mine[-1]), rows.problem(
            int(mine[-1]), "share",
            f"the parts of zone {names[zone]} make {total:g}{leaves}",
            "shares that make 1, to 0.01",
            "a blank share is what the others leave",
        )  # fmt: skip


def _shares_filled(share: np.ndarray, place: np.ndarray) -> np.ndarray:
    """Shares of each zone's parts, making 1: blanks have what the others leave."""
    filled = share.copy()
    for zone in np.unique(place).tolist():
        mine = place == zone
        blank = mine & np.isnan(share)
        if blank.any():
            left = 1 - float(np.nansum(share[mine]))
            filled[blank] = left / np.count_nonzero(blank)
        total = filled[mine].sum()
        filled[mine] /= total if total > 0 else 1.0
    return filled


def zones_by_part(zones: Zones, parts: Parts) -> Zones:
    """Zones with a row a part: what a part leaves blank is its zone's.

    A part of another plant takes that plant's coefficients, depletion and gaps, not
    those that zones.csv gives for the zone's plant.
    """
    rows: dict[str, Any] = {
        f.name: tuple(values[row] for row in parts.zone.tolist())
        if isinstance(values := getattr(zones, f.name), tuple)
        else values[parts.zone]
        for f in dataclasses.fields(Zones)
    }
    for name in ("plant", "soil"):
        own = getattr(parts, name)
        rows[name] = np.where(own < 0, rows[name], own)
    other = rows["plant"] != zones.plant[parts.zone]
    for name in (
        "plant_factor", "depletion", "longest_gap_days", "shortest_gap_days"
    ):  # fmt: skip
        rows[name] = np.where(other, np.nan, rows[name])
    for name in ("slope_percent", "microclimate_factor", "root_depth_mm"):
        own = getattr(parts, name)
        rows[name] = np.where(np.isnan(own), rows[name], own)
    return Zones(**rows)
