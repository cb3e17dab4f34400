"""A report's tables as a workbook, a sheet each, ready to print."""

from __future__ import annotations

import datetime
import io
import itertools
import re
import zipfile
from collections.abc import Sequence
from decimal import Decimal
from textwrap import wrap
from typing import TYPE_CHECKING, Any

from scheduler.report import shown
from scheduler.report.frames import Column, Table
from scheduler.report.words.books import workbook as words

if TYPE_CHECKING:
    from openpyxl.cell.cell import Cell
    from openpyxl.workbook import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

PAPER = {"us": 1, "metric": 9}
"""Letter and A4, as the format numbers them."""
NAMING = ("zone", "station", "name", "month")
"""Columns that say what a row is of: frozen where a table begins with them."""
NUMBERED = ("zone",)
"""Columns of keys that stand as numbers where all of them are whole numbers."""
MONTHLY = ("month", "months")
"""Columns of months by number."""
NARROWEST, WIDEST = 6, 42
"""Widths of columns, in letters; what is longer is broken over lines."""
ABOUT_WIDTH = 90
"""Width of the sheet of lines, in letters."""
LINE_HEIGHT = 14.0
"""Height of a line of the headers, in points."""
NO_CLOCK = (1980, 1, 1, 0, 0, 0)
"""The earliest time that a zip file knows: the same plan gives the same bytes."""
LONGEST_FOOTER_NAME = 80
"""Letters; the format holds 255 in a footer, its codes among them."""

_NOT_IN_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
_UNITS_IN_LABELS = (
    (re.compile("(min)"), r"run (\1)"),
    (re.compile("(min) (a .*)"), r"watering \2 (\1)"),
    (re.compile("(min) (.*)"), r"\2 (\1)"),
    (re.compile("(.*) (min|%|days)"), r"\1 (\2)"),
)
"""Labels that hold a unit that is no dimension: `min a day`, `soak min`, `Jan %`."""
_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d\d:\d\d")
_CLOCK = " ".join(("yyyy-mm-dd", "hh:mm"))
_SHOWN_NUMBER = re.compile(r"-?[\d,]+(?:\.(\d+))?", re.ASCII)
_WIDE = re.compile(
    "[\u1100-\u11ff\u2e80-\ua4cf\uac00-\ud7a3\uf900-\ufaff\uff00-\uff60]"
)


def to_workbook(
    table: Table,
    units: str,
    title: str,
    site: str,
    before: Sequence[tuple[str, Table]] = (),
    about: Sequence[str] = (),
) -> bytes:
    """Workbook whose last sheet has the rows and columns of the CSV, told in words.

    `title` names that sheet and the book, `site` stands in the footer of every page;
    `before` are sheets that come before it, with their names; `about` are lines of a
    sheet before them all: of which site and day the book is, and its cautions.
    """
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.worksheets[0])
    sheet: Any
    if about:
        sheet = book.create_sheet(words.ABOUT)
        _fill_about(sheet, about, units)
        _set_footer(sheet, site)
    for name, own in (*before, (title, table)):
        sheet = book.create_sheet(name)
        fill_sheet(sheet, own, units, site)
    return to_bytes(book, title)


def fill_sheet(sheet: Any, table: Table, units: str, site: str) -> None:
    """Put a table on a sheet, laid out for paper: headers, with totals above them.

    So sorting and filtering leave the totals where they are, and count nothing twice.
    """
    titles = [header(column, units) for column in table.columns]
    texts = [
        list(map(str, _told(column, units)))
        if column.name in MONTHLY
        else [_TIME.sub(_CLOCK, text) for text in column.cells(units)]
        for column in table.columns
    ]
    count = len(texts[0]) if texts else 0
    totals = sorted(row % count for row in table.totals)
    head = 1 + len(totals)
    rest = [row for row in range(count) if row not in totals]
    rows = {old: new for new, old in enumerate(totals, 1)}
    rows |= {old: new for new, old in enumerate(rest, head + 1)}
    for place, column in enumerate(table.columns, 1):
        put(sheet.cell(head, place), titles[place - 1])
        told = zip(_told(column, units), texts[place - 1], strict=True)
        for row, (value, text) in enumerate(told):
            cell = sheet.cell(rows[row], place)
            put(cell, value)
            if isinstance(value, (int, float, Decimal)):
                cell.number_format = _format(column, text)
            if isinstance(value, datetime.datetime):
                cell.number_format = _CLOCK
    align(sheet, head)
    fit_widths(
        sheet, [[top, *cells] for top, cells in zip(titles, texts, strict=True)], head
    )
    names = [column.name for column in table.columns]
    naming = itertools.takewhile(lambda name: name in NAMING, names)
    lay_out(sheet, units, len(list(naming)), head)
    sheet.auto_filter.ref = f"A{head}:{sheet.dimensions.rpartition(':')[2]}"
    _set_footer(sheet, site)


def header(column: Column, units: str) -> str:
    """Label of a column in words, with its unit in brackets."""
    label = " ".join((column.label or column.name).split())
    if column.dimension:
        return f"{label} ({shown.symbol(column.dimension, units)})"
    if column.label.count("\n") and column.unit:
        return f"{label.removesuffix(column.unit).rstrip()} ({column.unit})"
    for pattern, told in _UNITS_IN_LABELS:
        if found := pattern.fullmatch(label):
            return found.expand(told)
    return label


def _told(column: Column, units: str) -> list[Any]:
    """Values of a column; months, which the CSV numbers, by their names."""
    values = column.data(units)
    if column.name in NUMBERED:
        return _numbered(values)
    if column.name in MONTHLY:
        return [_month_names(value) for value in values]
    return [_clock_time(value) for value in values]


def _numbered(keys: list[Any]) -> list[Any]:
    """Keys as numbers where all but those of totals are whole numbers as written."""
    whole = [isinstance(k, str) and k.isascii() and k.isdigit() for k in keys]
    plain = [ok and str(int(k)) == k for k, ok in zip(keys, whole, strict=True)]
    words_only = all(
        ok or k in (words.ALL_ZONES, "", None)
        for k, ok in zip(keys, plain, strict=True)
    )
    if not words_only:
        return keys
    return [int(k) if ok else k for k, ok in zip(keys, plain, strict=True)]


def _fill_about(sheet: Any, lines: Sequence[str], units: str) -> None:
    """Lines down a sheet, broken within its width; the first is its heading."""
    from openpyxl.styles import Alignment, Font

    for row, line in enumerate(lines, 1):
        cell = sheet.cell(row, 1)
        put(cell, line)
        cell.alignment = Alignment(vertical="top", wrap_text=True)
        sheet.row_dimensions[row].height = LINE_HEIGHT * max(
            1, len(wrap(line, ABOUT_WIDTH - 6))
        )
    sheet["A1"].font = Font(bold=True)
    sheet.column_dimensions["A"].width = ABOUT_WIDTH
    sheet.page_setup.paperSize = PAPER[units]
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True


def _clock_time(value: Any) -> Any:
    """A time of the site's clock that a CSV writes with its offset; else as it is."""
    if isinstance(value, str) and _TIME.fullmatch(value):
        return datetime.datetime.fromisoformat(value).replace(tzinfo=None)
    return value


def _month_names(value: Any) -> Any:
    """A month, or months with spaces between, by name: 1 to 12; else as it is."""
    numbers = str(value).split()
    if not numbers or any(not n.isdigit() or not 1 <= int(n) <= 12 for n in numbers):
        return value
    if len(numbers) == 1:
        return shown.MONTH_LABELS[int(numbers[0]) - 1]
    return shown.months_text([int(number) for number in numbers])


def put(cell: Cell, value: Any) -> None:
    """Put a value into a cell; text is text, whatever sign it begins with."""
    if not isinstance(value, str):
        cell.value = value
        return
    text = _NOT_IN_XML.sub("", value)
    if not text:
        return
    cell.value = text
    cell.data_type = "s"
    if text.startswith(_FORMULA_STARTS):
        cell.quotePrefix = True


def _format(column: Column, text: str) -> str:
    """Number format that shows as many digits as people are shown."""
    if text.endswith(" %"):
        return "0 %"
    found = _SHOWN_NUMBER.fullmatch(text)
    if not found:
        return "General"
    whole = "#,##0" if column.dimension or column.unit else "0"
    return f"{whole}.{'0' * len(found[1])}" if found[1] else whole


def align(sheet: Worksheet, head: int = 1) -> None:
    """Headers of numbers stand at the right, and words keep off the number before."""
    from openpyxl.styles import Alignment

    for place, column in enumerate(sheet.iter_cols(min_row=1), 1):
        cells = [cell for cell in column if cell.row != head]
        kinds = {cell.data_type for cell in cells if cell.value is not None}
        if kinds == {"n"}:
            sheet.cell(head, place).alignment = Alignment(horizontal="right")
        else:
            for cell in cells:
                cell.alignment = Alignment(horizontal="left", indent=1)


def fit_widths(
    sheet: Worksheet, columns: Sequence[Sequence[str]], head: int = 1
) -> None:
    """Make columns as wide as their longest cell, within bounds; headers may break."""
    from openpyxl.styles import Alignment
    from openpyxl.utils import get_column_letter

    lines = 1
    for place, cells in enumerate(columns, 1):
        words = max(map(_width, cells[0].split()), default=0)
        longest = max([words, *map(_width, cells[1:])])
        width = min(max(longest + 3, NARROWEST), WIDEST)
        sheet.column_dimensions[get_column_letter(place)].width = width
        lines = max(lines, len(wrap(cells[0], width - 3)))
        if longest + 3 > WIDEST:
            for row in {*range(1, len(cells) + 1)} - {head}:
                sheet.cell(row, place).alignment = Alignment(
                    horizontal="left", indent=1, vertical="top", wrap_text=True
                )
    sheet.row_dimensions[head].height = LINE_HEIGHT * lines


def _width(text: str) -> int:
    """Letters that a text takes; those of East Asia are twice as wide."""
    return len(text) + len(_WIDE.findall(text))


def lay_out(sheet: Worksheet, units: str, frozen_columns: int, head: int = 1) -> None:
    """Headers bold and frozen; pages lie across, with the headers on each."""
    from openpyxl.styles import Alignment, Border, Font, Side
    from openpyxl.utils import get_column_letter

    for row in range(1, head):
        for cell in sheet[row]:
            cell.font = Font(bold=True)
    for cell in sheet[head]:
        cell.font = Font(bold=True)
        side = cell.alignment.horizontal or "left"
        indent = 0 if side == "right" else 1
        cell.alignment = Alignment(
            horizontal=side, indent=indent, vertical="bottom", wrap_text=True
        )
        cell.border = Border(bottom=Side("thin"))
    sheet.freeze_panes = f"{get_column_letter(frozen_columns + 1)}{head + 1}"
    sheet.print_title_rows = f"{head}:{head}"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = PAPER[units]
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True  # type: ignore[union-attr]


def _set_footer(sheet: Worksheet, site: str) -> None:
    """Name of the site at the left of each page's foot, page numbers at the right."""
    name = shown.cut(_NOT_IN_XML.sub("", site), LONGEST_FOOTER_NAME)
    footer: Any = sheet.oddFooter
    footer.left.text = name.replace("&", "&&")
    footer.right.text = "&P / &N"


def to_bytes(book: Workbook, title: str) -> bytes:
    """A workbook as a file whose bytes do not depend on the clock."""
    from openpyxl.writer.excel import ExcelWriter

    book.properties.title = title
    book.properties.creator = "scheduler"
    book.properties.created = datetime.datetime(*NO_CLOCK)
    book.properties.modified = book.properties.created
    with_clock, without = io.BytesIO(), io.BytesIO()
    ExcelWriter(book, zipfile.ZipFile(with_clock, "w", zipfile.ZIP_DEFLATED)).save()
    with (
        zipfile.ZipFile(with_clock) as old,
        zipfile.ZipFile(without, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for part in old.namelist():
            info = zipfile.ZipInfo(part, NO_CLOCK)
            info.compress_type = zipfile.ZIP_DEFLATED
            new.writestr(info, old.read(part))
    return without.getvalue()
