"""CSV files as spreadsheets really save them, into columns with their lines.

Rows of a workbook's sheet come the same way once they are a RawTable.
"""

from __future__ import annotations

import csv
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
from scheduler.inputs.forms.columns import Cell, Column, folded
from scheduler.inputs.forms.dimensions import DIMENSIONS, US_SUFFIXES, Unit
from scheduler.inputs.forms.fields import FILES, Field

LARGEST_BYTES = 25_000_000
"""More than a century of daily weather; anything larger is not such a file."""


@dataclass(frozen=True, slots=True)
class RawTable:
    """A table as written: its headers, and rows with their line numbers.

    A sheet of a workbook has `in_sheet`; its lines are rows, and cells may be dates.
    """

    file: str
    header_line: int
    headers: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    lines: tuple[int, ...]
    decimal_comma: bool = False
    in_sheet: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """Checked rows: a column for each field of the registry, by its SI name.

    Numbers are float arrays with NaN where blank; words and text are lists with "";
    flags and the rest are lists with None.
    """

    file: str
    lines: tuple[int, ...]
    values: Mapping[str, Any]
    filled: frozenset[str]
    headers: Mapping[str, str]
    in_sheet: bool = False

    def where(self, row: int) -> str:
        """Line or row, in words, of a row of the table."""
        return f"{'row' if self.in_sheet else 'line'} {self.lines[row]}"

    def __len__(self) -> int:
        return len(self.lines)

    def faulty_lines(self, problems: Sequence[Problem]) -> set[int | None]:
        """Lines of the file that have a Problem already."""
        return {problem.line for problem in problems if problem.file == self.file}

    def incomplete(self, problems: Sequence[Problem]) -> bool:
        """Whether a row or column was left out: what seems missing may be there."""
        first_row = min(self.lines, default=0)
        return any(
            problem.line is None or problem.line < first_row or not problem.field
            for problem in problems
            if problem.file == self.file
        )

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
    near = columns.nearest(path.stem, stems)
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
) -> RawTable | None:
    """Table of stripped cells with their line numbers, or None with a Problem.

    A sheet of a workbook has no delimiter.
    """
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
            problems.append(_too_many(file, line, cells, headers, delimiter))
            continue
        rows.append((*cells, *[""] * (len(headers) - len(cells))))
        lines.append(line)
    if not headers:
        problems.append(
            Problem(file, None, "", "is empty", hint="the first row names the columns")
        )
        return None
    in_sheet = not delimiter
    headers = _checked_headers(file, header_line, headers, rows, problems, in_sheet)
    return RawTable(
        file, header_line, tuple(headers), tuple(rows), tuple(lines),
        delimiter == ";", in_sheet,
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
        column = column_letters(len(cells))
        return Problem(
            file, line, "", f"column {column} has a cell but no name",
            hint="name the column, or empty it", cell=f"{column}{line}",
        )  # fmt: skip
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
    places = _columns_of_fields(table, fields, problems)
    values: dict[str, Any] = {}
    filled: set[str] = set()
    headers: dict[str, str] = {}
    for field in fields:
        parts = places[field.name]
        headers[field.si_name] = parts[0][0].header if parts else field.si_name
        values[field.si_name] = _read_field(
            table, field, parts, problems, (words or {}).get(field.name, field.words)
        )
        if any(not columns.is_blank(c) for column, _ in parts for c in column.cells):
            filled.add(field.name)
        if field.required:
            _check_required(table, field, parts, problems)
    return Rows(
        table.file, table.lines, values, frozenset(filled), headers, table.in_sheet
    )


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
        if not header:
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
        accepted=", ".join(names), hint=columns.hint_nearest(name, names),
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
    problems: list[Problem],
    words: Sequence[str],
) -> Any:
    count = len(table.rows)
    if field.kind in ("number", "whole", "share"):
        values = np.full(count, np.nan)
        _check_one_unit(parts, problems)
        for column, unit in parts:
            numbers = columns.read_numbers(field, unit, column, problems)
            values = np.where(np.isnan(numbers), values, numbers)
        return values
    column = (
        parts[0][0]
        if parts
        else Column(table.file, field.name, [""] * count, table.lines)
    )
    return read_cells(field, column, problems, words)


def read_cells(
    field: Field, column: Column, problems: list[Problem], words: Sequence[str]
) -> list[Any]:
    """Column of a field that is not a number."""
    if field.kind == "word":
        return list(columns.read_words(field, words, column, problems))
    if field.kind == "text":
        return list(columns.read_texts(column, problems))
    if field.kind == "flag":
        return list(columns.read_flags(field, column, problems))
    return columns.read_one(field, column, problems)


def _check_one_unit(parts: list[tuple[Column, Unit]], problems: list[Problem]) -> None:
    for (first, _), (second, _) in itertools.combinations(parts, 2):
        for row, (a, b) in enumerate(zip(first.cells, second.cells, strict=True)):
            if not columns.is_blank(a) and not columns.is_blank(b):
                problems.append(
                    second.problem(
                        row, f"{first.header} is filled in too", "one of the two"
                    )
                )


def _check_required(
    table: RawTable,
    field: Field,
    parts: list[tuple[Column, Unit]],
    problems: list[Problem],
) -> None:
    if not parts:
        problems.append(
            Problem(table.file, table.header_line, " or ".join(field.names),
                    "column is missing")
        )  # fmt: skip
        return
    for row in range(len(table.rows)):
        if all(columns.is_blank(column.cells[row]) for column, _ in parts):
            column, unit = parts[0]
            accepted = columns.accepted_text(field, unit) or field.help
            problems.append(column.problem(row, "is blank", accepted))
