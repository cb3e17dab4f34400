"""The field sheet's workbook: what must be read, and sheets to fill in."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from scheduler.findings.field import FieldCheck
from scheduler.inputs.forms.dimensions import Unit
from scheduler.plan.site import SitePlan
from scheduler.rates.cans import ENOUGH_CANS
from scheduler.report.books.workbook import (
    align,
    fill_sheet,
    fit_widths,
    lay_out,
    put,
    to_bytes,
)
from scheduler.report.frames import Table
from scheduler.report.words.heads import field as words

_PRESSURE = {"us": "pressure_psi", "metric": "pressure_kpa"}
_DIAMETER = {"us": "can_diameter_in", "metric": "can_diameter_cm"}


def field_book(
    plan: SitePlan, check: FieldCheck, table: Table, dial: Unit, units: str
) -> bytes:
    """Workbook of three sheets; meter and cans are read back when they are filled in.

    `table` is what must be read, a zone a row.
    """
    from openpyxl import Workbook

    book = Workbook()
    sheet: Any = book.active
    sheet.title = "field"
    fill_sheet(sheet, table, units, plan.site.name)
    zones, minutes = plan.site.zones.zone, check.minutes
    meter = ("zone", f"start_{dial.suffix}", f"end_{dial.suffix}", "minutes",
             _PRESSURE[units])  # fmt: skip
    _add(book, "meter", meter, [(z, None, None, minutes, None) for z in zones], units)
    cans = ("zone", "can", "catch_ml", "minutes", _DIAMETER[units])
    with_cans = np.flatnonzero(np.isfinite(check.can_mean_mm)).tolist()
    rows = [
        (zones[row], str(can), None, minutes, None)
        for row in with_cans
        for can in range(1, ENOUGH_CANS + 1)
    ]
    if rows:
        _add(book, "cans", cans, rows, units)
    return to_bytes(book, words.SHEET)


def _add(
    book: Any, name: str, headers: Sequence[str], rows: Sequence[Sequence[Any]],
    units: str,
) -> None:  # fmt: skip
    """Sheet of blanks under the names that the program reads."""
    sheet = book.create_sheet(name)
    for place, values in enumerate([headers, *rows], 1):
        for column, value in enumerate(values, 1):
            put(sheet.cell(place, column), value)
    align(sheet)
    columns = zip(headers, *rows, strict=True)
    told = [[str(value or "") for value in column] for column in columns]
    fit_widths(sheet, told)
    lay_out(sheet, units, 1)
