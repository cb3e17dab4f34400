"""The workbook of a new site: what its files would say, in sheets."""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from scheduler.inputs.forms.field import Field
from scheduler.inputs.forms.fields import FILES, SITE_TABLES, TIERS
from scheduler.inputs.forms.names import LISTS
from scheduler.inputs.library import package_plants, package_soils
from scheduler.inputs.sources.sheets import DOOR_COLUMNS, SITE_COLUMNS
from scheduler.report.books.workbook import align, fit_widths, lay_out, put, to_bytes
from scheduler.report.reference import name_in_template, site_templates, told
from scheduler.report.words.books.handbook import SHEET_CLIMATE, field_told

if TYPE_CHECKING:
    from openpyxl.workbook import Workbook

ROWS = 500
"""Rows that are ready for more zones and heads, with their lists and formats."""
HELP_WIDTH = 90
_NUMBERS = ("number", "whole", "share")
_NEEDED = "FFF2CC"
_FORMATS = {"number": "General", "whole": "0", "share": "0.00", "date": "yyyy-mm-dd"}
_AS_TEXT = "@"


def site_workbook(units: str) -> bytes:
    """Workbook of a new site, which runs as it is; same content as its files."""
    from openpyxl import Workbook

    files = site_templates(units)
    settings = tomllib.loads(files["site.toml"])
    windows = [
        {key: " ".join(value) if isinstance(value, list) else value
         for key, value in window.items()}
        for window in settings["window"]
    ]  # fmt: skip
    book = Workbook()
    book.remove(book.worksheets[0])
    _add_site(book, settings, units)
    _add_table(book, "windows", SITE_TABLES["window"], windows, units)
    _add_table(book, "tiers", TIERS, (), units)
    _add_keys(book, "door", DOOR_COLUMNS, units)
    for name in ("zones", "heads"):
        fields = FILES[f"{name}.csv"]
        _add_table(book, name, fields, _rows(files[f"{name}.csv"]), units)
    _add_table(book, "current", FILES["current.csv"], (), units)
    months = FILES["monthly climate"]
    _add_table(book, "climate", months, _rows(files["climate.csv"]), units)
    _add_lists(book)
    return to_bytes(book, "Site")


def _rows(text: str) -> list[dict[str, str]]:
    """Rows of a template's CSV."""
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


def _add_site(book: Workbook, settings: Mapping[str, Any], units: str) -> None:
    """Sheet of a row a setting, with its help at the right."""
    from openpyxl.styles import Alignment, PatternFill

    sheet: Any = book.create_sheet("site")
    columns: list[list[str]] = [[name] for name in (*SITE_COLUMNS, "help")]
    for table, field in _settings():
        filled = settings.get(table, {}) if table else settings
        name = name_in_template(field, filled, units)
        from_sheet = (table, field.name) == ("climate", "file")
        value = None if from_sheet else filled.get(name)
        help_ = told(field, units)
        if from_sheet:
            help_ = field_told(field.help, "", SHEET_CLIMATE)
        row = len(columns[0]) + 1
        for place, cell in enumerate((table, name, value, help_), 1):
            put(sheet.cell(row, place), cell)
            columns[place - 1].append("" if cell is None else str(cell))
        _offer(sheet, field, f"C{row}")
        if field.required and not from_sheet:
            sheet.cell(row, 2).fill = PatternFill("solid", start_color=_NEEDED)
    for place, names in enumerate(columns, 1):
        put(sheet.cell(1, place), names[0])
    align(sheet)
    fit_widths(sheet, columns)
    for row in range(2, len(columns[0]) + 1):
        sheet.cell(row, 4).alignment = Alignment(horizontal="left", indent=1)
    sheet.column_dimensions["C"].width = 26
    sheet.column_dimensions["D"].width = HELP_WIDTH
    lay_out(sheet, units, 2)


def _settings() -> Iterator[tuple[str, Field]]:
    """Tables and fields of sheet site; windows and tiers have sheets of their own."""
    for table, fields in SITE_TABLES.items():
        for field in fields:
            if table != "window" and field.kind != "tiers":
                yield table, field


def _add_keys(book: Workbook, name: str, columns: Sequence[str], units: str) -> None:
    """Sheet of a row a key, still without any."""
    sheet: Any = book.create_sheet(name)
    for place, column in enumerate(columns, 1):
        put(sheet.cell(1, place), column)
        sheet.column_dimensions[sheet.cell(1, place).column_letter].width = 30
    lay_out(sheet, units, 0)


def _add_table(
    book: Workbook,
    name: str,
    fields: Sequence[Field],
    rows: Sequence[Mapping[str, str]],
    units: str,
) -> None:
    """Sheet of a column a field, with its help in a comment on its header."""
    from openpyxl.comments import Comment
    from openpyxl.styles import PatternFill

    sheet: Any = book.create_sheet(name)
    filled = set().union(*rows) if rows else set()
    headers = [name_in_template(field, filled, units) for field in fields]
    columns: list[list[str]] = [[header] for header in headers]
    for place, (field, header) in enumerate(zip(fields, headers, strict=True), 1):
        head = sheet.cell(1, place)
        put(head, header)
        head.comment = Comment(told(field, units), "scheduler", height=90, width=260)
        if field.required:
            head.fill = PatternFill("solid", start_color=_NEEDED)
        letter = head.column_letter
        sheet.column_dimensions[letter].number_format = _format(field)
        for row, values in enumerate(rows, 2):
            written = values.get(header) or ""
            cell = sheet.cell(row, place)
            put(cell, float(written) if written and field.kind in _NUMBERS else written)
            cell.number_format = _format(field)
            columns[place - 1].append(written)
        _offer(sheet, field, f"{letter}2:{letter}{ROWS}")
    align(sheet)
    fit_widths(sheet, columns)
    lay_out(sheet, units, 1 if fields[0].name == "zone" else 0)


def _format(field: Field) -> str:
    """Number format of a field's cells; what is no number stays as it is typed."""
    return _FORMATS.get(field.kind, _AS_TEXT)


def _offer(sheet: Any, field: Field, cells: str) -> None:
    """Drop-down list of a field's words; for plants and soils any word may be typed."""
    from openpyxl.worksheet.datavalidation import DataValidation

    named = {"plant": _list_range("A", package_plants().names),
             "soil": _list_range("B", package_soils().names)}  # fmt: skip
    formula = named.get(field.name, "")
    if field.words and field.kind in ("word", "flag"):
        formula = f'"{",".join(field.words)}"'
    if formula:
        offer = DataValidation("list", formula1=formula, allow_blank=True)
        offer.showErrorMessage = bool(field.words)
        sheet.add_data_validation(offer)
        offer.add(cells)


def _list_range(column: str, words: Sequence[str]) -> str:
    return f"{LISTS}!${column}$2:${column}${len(words) + 1}"


def _add_lists(book: Workbook) -> None:
    """Sheet of the plants and soils that lists offer; reading passes over it."""
    sheet: Any = book.create_sheet(LISTS)
    columns = [
        ["plant", *package_plants().names],
        ["soil", *package_soils().names],
    ]
    for place, words in enumerate(columns, 1):
        for row, word in enumerate(words, 1):
            put(sheet.cell(row, place), word)
    fit_widths(sheet, columns)
