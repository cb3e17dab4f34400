"""[supply] of site.toml: what was measured, and whether it fits together."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, TypeVar

from scheduler import units
from scheduler.errors import Problem
from scheduler.inputs.forms.alike import folded, hint_nearest
from scheduler.inputs.forms.columns import shown_number
from scheduler.inputs.forms.field import Field
from scheduler.inputs.forms.fields import SITE_TABLES
from scheduler.inputs.forms.tomlfiles import Document
from scheduler.inputs.library import (
    BackflowDevice,
    Meter,
    PipeMaterial,
    backflow_devices,
    meters,
    pipe_materials,
)
from scheduler.inputs.settings import Tables
from scheduler.inputs.site import Assumed, Supply
from scheduler.inputs.sources.reading import Reading, record

MATERIAL_ASSUMED = "galvanized steel"
"""Taken where a pipe's material is not known: it loses more than copper or plastic."""
_Row = TypeVar("_Row", PipeMaterial, BackflowDevice)
_SIZE_WITHIN = 0.02
"""Share by which a written meter size may differ, as 0.63 for 5/8."""
_FIELDS = {field.name: field for field in SITE_TABLES["supply"]}


def read_supply(
    reading: Reading, document: Document | None, tables: Tables
) -> Supply | None:
    """Supply of a site; what does not fit together becomes a Problem.

    None where site.toml cannot be read.
    """
    if document is None or not tables:
        return None
    keys = tables["supply"]
    content = document.content.get("supply", {})
    places = _Places(document, content if isinstance(content, dict) else {})
    _check_pairs(reading, places, keys)
    _check_running_reading(reading, places, keys)
    material = _pipe_material(reading, places, keys)
    values = {**keys, "meter": _meter(reading, places, keys["meter_mm"]),
              "pipe": material,
              "backflow": _backflow(reading, places, keys)}  # fmt: skip
    supply: Supply = record(Supply, values)
    return supply


class _Places:
    """Which keys of [supply] are written, under which name, in which line."""

    def __init__(self, document: Document, content: Mapping[str, Any]) -> None:
        self._document = document
        self._written = {folded(name): name for name in content}

    def name(self, field: Field) -> str:
        """Name that a field is written under, "" where it is not."""
        names = [self._written.get(folded(name), "") for name in field.names]
        return next(filter(None, names), "")

    def problem(
        self, field: Field, wrong: str, accepted: str = "", hint: str = ""
    ) -> Problem:
        """Problem with a key, where it is written."""
        dotted = f"supply.{self.name(field)}"
        lines = self._document.lines
        line = lines.get(dotted, lines.get("supply"))
        return Problem(self._document.file, line, dotted, wrong, accepted, hint)


_NEEDS = (
    ("bucket", ("bucket_s",), "the time to fill the bucket is not given"),
    ("bucket_s", ("bucket",), "the bucket's volume is not given"),
    ("running_pressure", ("running_flow",),
     "the flow while the gauge showed it is not given"),
    ("running_pressure", ("static_pressure",),
     "the pressure with nothing running is not given"),
    ("running_flow", ("running_pressure",),
     "the pressure while it flowed is not given"),
    ("pipe_length", ("pipe_diameter",), "the pipe's inside diameter is not given"),
    ("pipe_material", ("pipe_diameter",), "the pipe's inside diameter is not given"),
)  # fmt: skip
"""Keys of no use alone: what each needs beside it, and what is wrong without."""


def _check_pairs(reading: Reading, places: _Places, keys: Mapping[str, Any]) -> None:
    for name, needed, wrong in _NEEDS:
        field = _FIELDS[name]
        missing = [other for other in needed if not places.name(_FIELDS[other])]
        if keys[field.si_name] is not None and missing:
            names = " or ".join(_FIELDS[missing[0]].names)
            reading.problems.append(places.problem(field, wrong, f"{names} beside it"))


def _check_running_reading(
    reading: Reading, places: _Places, keys: Mapping[str, Any]
) -> None:
    """A running reading must lie under the static one: the drop tells the loss."""
    static, running = keys["static_pressure_kpa"], keys["running_pressure_kpa"]
    if static is None or running is None or running < static * (1 - 1e-9):
        return
    equal = math.isclose(static, running, rel_tol=1e-9)
    wrong = (
        "is the static pressure too: a test without a drop tells no loss"
        if equal
        else "is over the static pressure, and water that runs loses some"
    )
    hint = (
        "let more flow, until the gauge falls by a tenth or so"
        if equal
        else "static_pressure is the gauge with nothing running in the house or outside"
    )
    field = _FIELDS["running_pressure"]
    reading.problems.append(
        places.problem(field, wrong, "less than static_pressure", hint)
    )


def _meter(reading: Reading, places: _Places, size_mm: float | None) -> Meter | None:
    if size_mm is None:
        return None
    written_in_inches = folded(places.name(_FIELDS["meter"])) == "meterin"
    size_in = size_mm / units.MM_PER_IN
    for meter in meters():
        nominal = not written_in_inches and math.isclose(size_mm, meter.size_mm)
        if nominal or abs(size_in - meter.size_in) <= _SIZE_WITHIN * meter.size_in:
            return meter
    if written_in_inches:
        written, known = size_in, [meter.size_in for meter in meters()]
    else:
        written, known = size_mm, [meter.size_mm for meter in meters()]
    *first, last = (f"{size:g}" for size in known)
    reading.problems.append(
        places.problem(
            _FIELDS["meter"],
            f"{shown_number(written)} is no size of the table of meters",
            f"{', '.join(first)} or {last}",
            "the size is cast on the meter: a 5/8 x 3/4 meter is one of 0.625 in"
            if written_in_inches
            else "",
        )
    )
    return None


def _pipe_material(
    reading: Reading, places: _Places, keys: Mapping[str, Any]
) -> PipeMaterial | None:
    field, word = _FIELDS["pipe_material"], keys["pipe_material"]
    if word is None:
        if keys["pipe_diameter_mm"] is None or keys["pipe_length_m"] is None:
            return None
        reading.assumed.append(Assumed("site.toml", field, MATERIAL_ASSUMED))
        word = MATERIAL_ASSUMED
    return _named(reading, places, field, word, pipe_materials())


def _backflow(
    reading: Reading, places: _Places, keys: Mapping[str, Any]
) -> BackflowDevice | None:
    word = keys["backflow_device"]
    if word is None:
        return None
    field = _FIELDS["backflow_device"]
    return _named(reading, places, field, word, backflow_devices())


def _named(
    reading: Reading,
    places: _Places,
    field: Field,
    word: str,
    table: Sequence[_Row],
) -> _Row | None:
    """Row of a table by its name; a name that it does not have is a Problem."""
    by_fold = {folded(row.name): row for row in table}
    found = by_fold.get(folded(word))
    if found is None:
        names = [row.name for row in table]
        reading.problems.append(
            places.problem(field, f'"{word}" is not {field.noun}', ", ".join(names),
                           hint_nearest(word, names))
        )  # fmt: skip
    return found
