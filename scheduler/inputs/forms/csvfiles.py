"""CSV files as spreadsheets really save them, into columns with their lines.

Rows of a workbook's sheet come the same way once they are a RawTable.
"""

from __future__ import annotations

import csv
import dataclasses
import io
import itertools
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from scheduler.errors import Problem
from scheduler.inputs.forms import columns
from scheduler.inputs.forms.alike import folded, hint_column, nearest
from scheduler.inputs.forms.columns import Cell, Column, Fault
from scheduler.inputs.forms.dimensions import DIMENSIONS, US_SUFFIXES, Unit
from scheduler.inputs.forms.field import Field
from scheduler.inputs.forms.fields import FILES
from scheduler.inputs.forms.names import FOLDER, Names
from scheduler.inputs.forms.slips import without_sums

LARGEST_BYTES = 25_000_000
"""More than a century of daily weather; anything larger is not such a file."""


@dataclass(frozen=True, slots=True)
class RawTable:
    """A table as written: its headers, and rows with their line numbers.

    A sheet of a workbook has the `names` of one; its lines are rows, and cells may be
    dates. It is `whole` where every row and header could be taken as written.
    """

    file: str
    header_line: int
    headers: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    lines: tuple[int, ...]
    decimal_comma: bool = False
    names: Names = FOLDER
    whole: bool = True

    @property
    def in_sheet(self) -> bool:
        """Whether it is a sheet of a workbook."""
        return bool(self.names.workbook)


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """Checked rows: a column for each field of the registry, by its SI name.

    Numbers are float arrays with NaN where blank; words and text are lists with "";
    flags and the rest are lists with None. `faulty` (row,) marks rows in which
    something is wrong, `faulty_cells` by field the cells; `complete` says that no row
    or column was left out, so that what seems missing is missing.
    """

    table: RawTable
    values: Mapping[str, Any]
    filled: frozenset[str]
    headers: Mapping[str, str]
    faulty_cells: Mapping[str, np.ndarray]
    faulty: np.ndarray
    complete: bool

    @property
    def file(self) -> str:
        """Name of the file or sheet."""
        return self.table.file

    @property
    def lines(self) -> tuple[int, ...]:
        """Line of each row."""
        return self.table.lines

    def where(self, row: int) -> str:
        """Line or row, in words, of a row of the table."""
        return f"{'row' if self.table.in_sheet else 'line'} {self.lines[row]}"

    def __len__(self) -> int:
        return len(self.lines)

    def marked(self, faults: Iterable[Fault], problems: list[Problem]) -> Rows:
        """The same rows, those with these faults marked; what is wrong is told."""
        faulty = self.faulty.copy()
        for row, problem in faults:
            faulty[row] = True
            problems.append(problem)
        return dataclasses.replace(self, faulty=faulty)

    def named_twice(self, name: str, accepted: str = "") -> Iterator[Fault]:
        """Rows whose name an earlier row has."""
        seen: dict[str, int] = {}
        for row, written in enumerate(self.values[name]):
            first = seen.setdefault(folded(written), row)
            if written and first != row:
                wrong = f'"{written}" is named twice (first in {self.where(first)})'
                yield row, self.problem(row, name, wrong, accepted)

    def problem(
        self, row: int, name: str, wrong: str, accepted: str = "", hint: str = ""
    ) -> Problem:
        """Problem with a row, under the header that the user wrote."""
        header = self.headers.get(name, name)
        return Problem(self.file, self.lines[row], header, wrong, accepted, hint)


def too_large(path: Path, file: str, problems: list[Problem]) -> bool:
    """Whether a file that is there is over the largest read; then with a Problem."""
    size = path.stat().st_size
    if size > LARGEST_BYTES:
        problems.append(
            Problem(file, None, "",
                    f"holds {size / 1e6:.0f} MB, more than such a file can",
                    hint=f"the largest that is read is {LARGEST_BYTES / 1e6:.0f} MB")
        )  # fmt: skip
    return size > LARGEST_BYTES


def read_text(path: Path, file: str, problems: list[Problem]) -> str | None:
    """Text of a UTF-8 file, or None with a Problem."""
    wrong = hint = ""
    try:
        if path.is_dir():
            wrong, hint = "is a folder", "a file is needed here"
        elif not path.exists():
            wrong = "no such file"
            hint = _hint_file_nearby(path)
        elif not path.is_file():
            wrong, hint = "is not a file", "a file is needed here"
        elif too_large(path, file, problems):
            return None
        else:
            content = path.read_bytes()
            if content.startswith((b"\xff\xfe", b"\xfe\xff")):
                wrong, hint = "is UTF-16 text", _hint_utf8(file)
            elif b"\0" in content:
                wrong, hint = "is not a text file", _hint_utf8(file)
            else:
                return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = error.object.count(b"\n", 0, error.start) + 1
        problems.append(
            Problem(file, line, "", "is not UTF-8 text", hint=_hint_utf8(file))
        )
        return None
    except OSError as error:
        wrong = f"cannot be read: {error.strerror or error}"
    problems.append(Problem(file, None, "", wrong, hint=hint))
    return None


def _hint_utf8(file: str) -> str:
    kind = "plain text in UTF-8" if file.lower().endswith(".toml") else "CSV UTF-8"
    return f"save it as {kind}"


def _hint_file_nearby(path: Path) -> str:
    try:
        names = sorted(item.name for item in path.parent.iterdir() if item.is_file())
    except (OSError, ValueError):
        return "check the path"
    # Only stems are compared: an ending is like every other.
    stems = {
        Path(name).stem: name
        for name in names
        if name not in (*FILES, "site.toml") and name.endswith(path.suffix)
    }
    near = nearest(path.stem, stems)
    return f"did you mean {stems[near]}?" if near else "check the name"


def read_table(path: Path, file: str, problems: list[Problem]) -> RawTable | None:
    """CSV file split into headers and rows, or None with a Problem.

    Takes commas, semicolons (then with decimal commas) or tabs; skips lines that
    begin with #, blank lines, and empty cells at the right. Rows with too many cells
    and columns named twice are left out, each with a Problem.
    """
    text = read_text(path, file, problems)
    return None if text is None else _split(text, file, problems)


def _split(text: str, file: str, problems: list[Problem]) -> RawTable | None:
    delimiter, skip_first = delimiter_of(text)
    source = _Lines(text)
    reader = csv.reader(source, delimiter=delimiter, skipinitialspace=True, strict=True)
    records: list[tuple[int, list[Cell]]] = []
    last = 0
    try:
        for cells in reader:
            line, last = last + 1, reader.line_num
            source.inside_row = False
            if skip_first and line == 1:
                continue
            records.append((line, [cell.strip() for cell in cells]))
    except csv.Error as error:
        problems.append(
            Problem(file, last + 1, "", f"is not readable as CSV: {error}",
                    hint="look for a quote that is never closed, or that stands alone "
                    "inside a quoted cell")
        )  # fmt: skip
        return None
    return table_of(file, records, problems, delimiter)


def table_of(
    file: str,
    records: Iterable[tuple[int, list[Cell]]],
    problems: list[Problem],
    delimiter: str = "",
    names: Names = FOLDER,
) -> RawTable | None:
    """Table of stripped cells with their line numbers, or None with a Problem.

    A sheet of a workbook has no delimiter.
    """
    wrong: list[Problem] = []
    headers: list[str] = []
    header_line = 0
    rows: list[tuple[Cell, ...]] = []
    lines: list[int] = []
    for line, cells in records:
        if not any(cells) or str(cells[0]).startswith("#"):
            continue
        while cells and not cells[-1]:
            cells.pop()
        if not headers:
            headers, header_line = [str(cell) for cell in cells], line
            continue
        if len(cells) > len(headers):
            wrong.append(_too_many(file, line, cells, headers, delimiter))
            continue
        rows.append((*cells, *[""] * (len(headers) - len(cells))))
        lines.append(line)
    if not headers:
        hint = "the first row names the columns"
        problems.append(Problem(file, None, "", "is empty", hint=hint))
        return None
    headers = _checked_headers(file, header_line, headers, rows, wrong, not delimiter)
    problems += wrong
    return RawTable(
        file, header_line, tuple(headers), tuple(rows), tuple(lines),
        delimiter == ";", names, not wrong,
    )  # fmt: skip


class _Lines:
    """Lines of a text for the CSV reader, comments between rows made blank."""

    def __init__(self, text: str) -> None:
        self._stream = io.StringIO(text, newline="")
        self.inside_row = False

    def __iter__(self) -> Iterator[str]:
        for line in self._stream:
            comment = not self.inside_row and line.lstrip().startswith("#")
            self.inside_row = True
            yield "\n" if comment else line


def delimiter_of(text: str) -> tuple[str, bool]:
    """Mark between cells, and whether the first line only names it."""
    for number, line in enumerate(text.splitlines()):
        if number == 0 and re.fullmatch(r"(?i)sep=[,;\t]", line):
            return line[4], True
        if line.strip(" ,;\t") and not line.lstrip(' "').startswith("#"):
            counts = {mark: line.count(mark) for mark in (",", ";", "\t")}
            best = max(counts, key=lambda mark: counts[mark])
            return (best if counts[best] else ","), False
    return ",", False


def _too_many(
    file: str, line: int, cells: list[Cell], headers: list[str], delimiter: str
) -> Problem:
    if not delimiter:
        column, hint = column_letters(len(cells)), "name the column, or empty it"
        wrong = f"column {column} has a cell but no name"
        return Problem(file, line, "", wrong, hint=hint, cell=f"{column}{line}")
    hint = "put text that holds the separator in double quotes"
    if delimiter == ",":
        hint = (
            "a comma inside a cell splits it in two: put text in double quotes, "
            "write 0,7 as 0.7"
        )
    return Problem(
        file, line, "", f"has {len(cells)} cells, but {len(headers)} columns are named",
        hint=hint,
    )  # fmt: skip


def _checked_headers(
    file: str,
    line: int,
    headers: list[str],
    rows: list[tuple[Cell, ...]],
    problems: list[Problem],
    in_sheet: bool,
) -> list[str]:
    """Headers, "" in place of one that is there before."""
    kept: list[str] = []
    seen: set[str] = set()
    for place, header in enumerate(headers):
        if not header and any(row[place] for row in rows):
            column = column_letters(place + 1) if in_sheet else str(place + 1)
            problems.append(
                Problem(file, line, "", f"column {column} has cells but no name",
                        hint="name the column, or empty it")
            )  # fmt: skip
        if header and folded(header) in seen:
            problems.append(Problem(file, line, header, "column is named twice"))
        kept.append("" if folded(header) in seen else header)
        seen.add(folded(header))
    return kept


def column_letters(number: int) -> str:
    """Letters of a spreadsheet's column: A for 1, AA for 27."""
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def read_rows(
    table: RawTable,
    fields: Sequence[Field],
    problems: list[Problem],
    words: Mapping[str, Sequence[str]] | None = None,
) -> Rows:
    """Checked rows of a table.

    `words` gives the known words of fields whose list is not in the registry.
    """
    unknown: list[Problem] = []
    places = _columns_of_fields(table, fields, unknown)
    problems += unknown
    values: dict[str, Any] = {}
    filled: set[str] = set()
    headers: dict[str, str] = {}
    faulty: dict[str, np.ndarray] = {}
    told: list[Fault] = []
    every_column = not unknown
    for field in fields:
        parts, name = places[field.name], field.si_name
        headers[name] = parts[0][0].header if parts else name
        values[name], faults = _read_field(
            table, field, parts, (words or {}).get(field.name, field.words)
        )
        if any(not columns.is_blank(c) for column, _ in parts for c in column.cells):
            filled.add(field.name)
        if field.required and parts:
            faults += _blanks(table, field, parts)
        elif field.required:
            every_column = False
            names = " or ".join(field.names)
            line = table.header_line
            problems.append(Problem(table.file, line, names, "column is missing"))
        faulty[name] = np.zeros(len(table.rows), bool)
        faulty[name][[row for row, _ in faults]] = True
        told += faults
    problems += without_sums(table.rows, told)
    any_faulty = np.any(list(faulty.values()), axis=0)
    # Where there are no rows, a column that was left out would have held nothing.
    complete = table.whole and (every_column or not table.rows)
    return Rows(table, values, frozenset(filled), headers, faulty, any_faulty, complete)


def _columns_of_fields(
    table: RawTable, fields: Sequence[Field], problems: list[Problem]
) -> dict[str, list[tuple[Column, Unit]]]:
    known: dict[str, tuple[Field, Unit]] = {}
    for field in fields:
        if field.dimension:
            for unit in DIMENSIONS[field.dimension].units:
                known[folded(f"{field.name}_{unit.suffix}")] = field, unit
        else:
            known[folded(field.name)] = field, columns.PLAIN_UNIT
    found: dict[str, list[tuple[Column, Unit]]] = {field.name: [] for field in fields}
    for place, header in enumerate(table.headers):
        if not header or header.startswith("#"):
            continue
        if folded(header) not in known:
            problems.append(
                unknown_name(table.file, table.header_line, header, "column", fields)
            )
            continue
        field, unit = known[folded(header)]
        cells = [row[place] for row in table.rows]
        column = Column(
            table.file, header, cells, table.lines, table.decimal_comma, table.in_sheet
        )
        found[field.name].append((column, unit))
    return found


def unknown_name(
    file: str, line: int | None, name: str, what: str, fields: Sequence[Field],
    shown: str = "",
) -> Problem:  # fmt: skip
    """Problem with a column or key that the registry does not have."""
    names = [written for field in fields for written in field.names]
    for field in fields:
        if field.dimension and folded(name) == folded(field.name):
            alike = (f for f in fields if f is field or f.label == field.name)
            with_unit = [written for other in alike for written in other.names]
            return Problem(
                file, line, shown or name, "its unit is missing",
                accepted=" or ".join(with_unit),
            )  # fmt: skip
        if near := _same_system(field, name):
            return Problem(
                file, line, shown or name, f"unknown {what}",
                accepted=" or ".join(field.names), hint=f"did you mean {near}?",
            )  # fmt: skip
    return Problem(
        file, line, shown or name, f"unknown {what}",
        accepted=", ".join(names), hint=hint_column(name, names),
    )  # fmt: skip


def _same_system(field: Field, name: str) -> str:
    """Name of a field in the system of units of a suffix that it does not take."""
    stem, written = folded(f"{field.name}_"), folded(name)
    if not field.dimension or not written.startswith(stem):
        return ""
    suffix = written.removeprefix(stem)
    for dimension in DIMENSIONS.values():
        for unit in dimension.units:
            if folded(unit.suffix) == suffix:
                system = "us" if unit.suffix in US_SUFFIXES else "metric"
                own = DIMENSIONS[field.dimension].shown(system)
                return f"{field.name}_{own.suffix}"
    return ""


def _read_field(
    table: RawTable,
    field: Field,
    parts: list[tuple[Column, Unit]],
    words: Sequence[str],
) -> tuple[Any, list[Fault]]:
    count = len(table.rows)
    if field.kind in ("number", "whole", "share"):
        values = np.full(count, np.nan)
        faults = list(_two_units(parts))
        for column, unit in parts:
            numbers, wrong = columns.read_numbers(field, unit, column)
            values = np.where(np.isnan(numbers), values, numbers)
            faults += wrong
        return values, faults
    column = (
        parts[0][0]
        if parts
        else Column(table.file, field.name, [""] * count, table.lines)
    )
    return read_cells(field, column, words)


def read_cells(
    field: Field, column: Column, words: Sequence[str]
) -> tuple[list[Any], list[Fault]]:
    """Column of a field that is not a number, and its faults."""
    if field.kind == "word":
        return columns.read_words(field, words, column)
    if field.kind == "text":
        return columns.read_texts(column)
    if field.kind == "flag":
        return columns.read_flags(field, column)
    return columns.read_one(field, column)


def _two_units(parts: list[tuple[Column, Unit]]) -> Iterator[Fault]:
    for (first, _), (second, _) in itertools.combinations(parts, 2):
        for row, (a, b) in enumerate(zip(first.cells, second.cells, strict=True)):
            if not columns.is_blank(a) and not columns.is_blank(b):
                yield second.fault(row, f"{first.header} is filled in too",
                                   "one of the two")  # fmt: skip


def _blanks(
    table: RawTable, field: Field, parts: list[tuple[Column, Unit]]
) -> Iterator[Fault]:
    """Blanks of a column that has to be filled."""
    first, unit = parts[0]
    accepted = columns.accepted_text(field, unit) or field.help
    for row in range(len(table.rows)):
        if all(columns.is_blank(column.cells[row]) for column, _ in parts):
            yield first.fault(row, "is blank", table.names.in_words(accepted))
