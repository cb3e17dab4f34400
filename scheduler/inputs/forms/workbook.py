"""Workbooks as people really save them: sheets as rows of cells, whatever is in them.

Nothing in a workbook is run: macros are not loaded, links to elsewhere not followed,
and of a formula only the value that the spreadsheet stored is read.
"""

from __future__ import annotations

import datetime
import io
import re
import struct
import warnings
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import ParseError

from scheduler.errors import InputError, Problem
from scheduler.inputs.forms.alike import folded
from scheduler.inputs.forms.columns import Cell
from scheduler.inputs.forms.csvfiles import LARGEST_BYTES, column_letters

MOST_UNPACKED_BYTES = 4 * LARGEST_BYTES
"""What the parts of a workbook may unpack to."""
MOST_CELLS = 1_000_000
"""Filled cells that are read: three centuries of daily weather."""
MOST_ROWS = 1_048_576
"""Rows that a sheet of the format has."""
MOST_COLUMNS = 256
"""Columns that are looked at; no table has a third of them."""
MOST_TOLD = 10
"""Merged ranges of a sheet that are told one by one."""

_UNREADABLE = (
    zipfile.BadZipFile, zlib.error, ParseError, OSError, EOFError, LookupError,
    ValueError, TypeError, AttributeError, ArithmeticError, NotImplementedError,
    RuntimeError, AssertionError, struct.error, zipfile.LargeZipFile,
)  # fmt: skip
"""What the parsers raise over a damaged workbook, but for openpyxl's own."""
_COMPOUND = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_ENCRYPTED = "EncryptedPackage".encode("utf-16-le")
_SAVE_AS = "save it as a workbook of the kind .xlsx"
_PART = 1 << 16
_OVERLAP = 256
_MERGE = re.compile(rb'<(?:\w+:)?mergeCell\s[^>]*?ref="([A-Z]+[0-9]+:[A-Z]+[0-9]+)"')
_FORMULA = re.compile(rb"<(?:\w+:)?f[\s/>]")
_ROW = re.compile(rb"<(?:\w+:)?row\s[^>]*>")
_ROW_NUMBER = re.compile(rb'\sr="([0-9]+)"')
_HIDDEN = re.compile(rb'\shidden="(?:1|true)"')
_PERCENT = re.compile(r'"[^"]*"|\\.|\[[^\]]*\]')


@dataclass(frozen=True, slots=True)
class Percent:
    """A number in a cell that shows it as a percentage: 0.62 for 62 %."""

    share: float


Written = Cell | Percent


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with one cell, whatever column it is in."""

    wrong: str
    hint: str


@dataclass(slots=True)
class Sheet:
    """Filled rows of a sheet: row numbers from 1, cells from column A on.

    `faults` are cells that cannot be read, by row and column; `merged` are ranges as
    first column, first row, last column, last row; `hidden` are the numbers of filled
    rows that a spreadsheet does not show, by hand or by a filter.
    """

    title: str
    rows: list[tuple[int, list[Written]]] = field(default_factory=list)
    faults: dict[tuple[int, int], Fault] = field(default_factory=dict)
    merged: list[tuple[int, int, int, int]] = field(default_factory=list)
    is_table: bool = True
    hidden: tuple[int, ...] = ()


class _TooLargeError(ValueError):
    """More cells than are read."""


def read_workbook(path: Path, wanted: Sequence[str]) -> list[Sheet]:
    """Sheets of a workbook in order; those that are not `wanted` come without rows.

    Raises InputError where the file is no workbook that can be read.
    """
    from openpyxl.utils.exceptions import CellCoordinatesException, InvalidFileException

    own = (CellCoordinatesException, InvalidFileException)
    content, wrong, hint = _content(path)
    if not wrong:
        try:
            with warnings.catch_warnings():
                # Styles and drawings that the library passes over are none of ours.
                warnings.simplefilter("ignore")
                return _sheets(content, {folded(name) for name in wanted})
        except _TooLargeError:
            wrong = f"holds more than {MOST_CELLS:,} filled cells"
            hint = "keep long weather in a CSV file, and name it in sheet site"
        except (*_UNREADABLE, *own) as error:
            wrong = f"cannot be read as a workbook ({type(error).__name__})"
            hint = f"open it in a spreadsheet and {_SAVE_AS}"
    raise InputError([Problem(path.name, None, "", wrong, hint=hint)])


def _content(path: Path) -> tuple[bytes, str, str]:
    """Bytes of a file, and where it is no workbook, what it is and a hint."""
    try:
        if not path.is_file():
            return b"", "is not a file", "a workbook is needed here"
        size = path.stat().st_size
        if size > LARGEST_BYTES:
            return b"", *_too_large(size, "holds")
        content = path.read_bytes()
    except OSError as error:
        return b"", f"cannot be read: {error.strerror or error}", ""
    return content, *_not_a_workbook(content, path.suffix.lower())


def _not_a_workbook(content: bytes, ending: str) -> tuple[str, str]:
    """What a file is in place of a workbook, and a hint; "" where it may be one."""
    if content.startswith(_COMPOUND):
        if _ENCRYPTED in content:
            return "is protected by a password", "save a copy without the password"
        return "is a workbook of the old kind, .xls", _SAVE_AS
    if ending == ".xlsm":
        return "is a workbook with macros, which are never run", _SAVE_AS
    if not content.startswith(b"PK"):
        return "is not a workbook", _SAVE_AS
    if ending != ".xlsx":
        return f"is a workbook of another kind, {ending}", _SAVE_AS
    return _unpacked_too_large(content)


def _unpacked_too_large(content: bytes) -> tuple[str, str]:
    """What is wrong where the parts would unpack to more than is read."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as parts:
            size = sum(part.file_size for part in parts.infolist())
    except _UNREADABLE as error:
        kind = type(error).__name__
        return f"cannot be read as a workbook ({kind})", "is the file whole?"
    if size > MOST_UNPACKED_BYTES:
        return _too_large(size, "unpacks to")
    return "", ""


def _too_large(size: float, verb: str) -> tuple[str, str]:
    most = LARGEST_BYTES if verb == "holds" else MOST_UNPACKED_BYTES
    return (
        f"{verb} {size / 1e6:.0f} MB, more than such a workbook can",
        f"the largest that is read {verb} {most / 1e6:.0f} MB; delete rows and "
        "columns that are empty but formatted",
    )


def _sheets(content: bytes, wanted: set[str]) -> list[Sheet]:
    from openpyxl import load_workbook

    options: Any = {"read_only": True, "keep_links": False}
    values = load_workbook(io.BytesIO(content), data_only=True, **options)
    formulas: Any = None
    try:
        found = []
        left = MOST_CELLS
        for title in values.sheetnames:
            sheet = Sheet(title)
            found.append(sheet)
            cells: Any = values[title]
            if not hasattr(cells, "iter_rows"):
                sheet.is_table = False
            elif folded(title.strip()) in wanted:
                sheet.merged, has_formulas, hidden = _scan(content, cells)
                if has_formulas and formulas is None:
                    stream = io.BytesIO(content)
                    formulas = load_workbook(stream, data_only=False, **options)
                beside = formulas[title] if has_formulas else None
                left -= _read_cells(sheet, cells, beside, left)
                filled = (row for row, _ in sheet.rows)
                sheet.hidden = tuple(row for row in filled if row in hidden)
        return found
    finally:
        values.close()
        if formulas is not None:
            formulas.close()


def _scan(
    content: bytes, cells: Any
) -> tuple[list[tuple[int, int, int, int]], bool, set[int]]:
    """Merged ranges of a sheet, whether it has formulas, and the rows that are hidden.

    All from its XML: the rows are read without their looks.
    """
    from openpyxl.utils import range_boundaries

    merged: dict[bytes, None] = {}
    has_formulas = False
    hidden: set[int] = set()
    with (
        zipfile.ZipFile(io.BytesIO(content)) as parts,
        parts.open(cells._worksheet_path) as stream,
    ):
        before = b""
        while part := stream.read(_PART):
            text = before + part
            has_formulas = has_formulas or bool(_FORMULA.search(text))
            merged.update(dict.fromkeys(_MERGE.findall(text)))
            for row in _ROW.findall(text):
                if _HIDDEN.search(row) and (number := _ROW_NUMBER.search(row)):
                    hidden.add(int(number[1]))
            before = text[-_OVERLAP:]
    ranges = [range_boundaries(reference.decode("ascii")) for reference in merged]
    whole = [(a, b, c, d) for a, b, c, d in ranges if a and b and c and d]
    return whole, has_formulas, hidden


def _read_cells(sheet: Sheet, cells: Any, formulas: Any, most: int) -> int:
    """Fill a sheet's rows and faults; how many cells were filled."""
    bounds = {"max_row": MOST_ROWS, "max_col": MOST_COLUMNS}
    cells.reset_dimensions()
    beside: Iterator[Any] = iter(())
    if formulas is not None:
        formulas.reset_dimensions()
        beside = formulas.iter_rows(**bounds)
    count = 0
    passed: Any = None
    for number, row in enumerate(cells.iter_rows(**bounds), 1):
        twins = next(beside, None)
        if row is passed:
            continue  # Rows that the file leaves out are one and the same record.
        passed = row
        written: list[Written] = []
        for place, cell in enumerate(row):
            twin = twins[place] if twins is not None else None
            if cell.value is None and twin is None:
                continue
            fault = _fault(cell, twin)
            if fault is not None:
                sheet.faults[number, place + 1] = fault
            elif cell.value is None:
                continue
            count += 1
            written += [""] * (place - len(written))
            written.append("" if fault else _written(cell))
        if written:
            sheet.rows.append((number, written))
        if count > most:
            raise _TooLargeError
    return count


def _fault(cell: Any, twin: Any) -> Fault | None:
    """What is wrong with a formula's cell; `twin` is the cell with the formula."""
    if cell.value is None:
        # A formula whose text came out empty stores that as a text of no letters.
        if twin is None or twin.value is None or twin.data_type != "f":
            return None
        if cell.data_type == "str":
            return None
        return Fault(
            "is a formula without a stored value",
            "open the workbook in a spreadsheet and save it, or type the value",
        )
    if cell.data_type == "e":
        return Fault(
            f"{cell.value} is what a formula fails with",
            "mend the formula, or type the value",
        )
    return None


def _written(cell: Any) -> Written:
    """Value of a cell as the text that a CSV would have, or as a date."""
    value = cell.value
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, (int, float)):
        if "%" in _PERCENT.sub("", cell.number_format or ""):
            return Percent(float(value))
        return number_text(value)
    if isinstance(value, datetime.datetime):
        return _moment(value)
    if isinstance(value, datetime.date):
        return value
    if isinstance(value, datetime.time):
        value = datetime.timedelta(hours=value.hour, minutes=value.minute,
                                   seconds=value.second)  # fmt: skip
    if isinstance(value, datetime.timedelta):
        return _clock(value)
    return str(value).strip()


def number_text(value: float) -> str:
    """Number as it would be typed: 1 for 1.0."""
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return repr(value)


def _moment(value: datetime.datetime) -> Written:
    if value == datetime.datetime(1900, 1, 1):
        return "24:00"  # One whole day, shown as a time.
    if (value.hour, value.minute, value.second) == (0, 0, 0):
        return value.date()
    return f"{value:%Y-%m-%d %H:%M}"


def _clock(since_midnight: datetime.timedelta) -> str:
    minutes = round(since_midnight.total_seconds() / 60)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def range_text(merged: tuple[int, int, int, int]) -> str:
    """Range as spreadsheets name it: B2:C3."""
    left, top, right, bottom = merged
    return f"{column_letters(left)}{top}:{column_letters(right)}{bottom}"
