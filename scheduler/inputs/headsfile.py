"""New cells for heads.csv, every other byte of the file kept as it was."""

from __future__ import annotations

import math
import os
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from scheduler.errors import InputError, Problem
from scheduler.inputs.forms.alike import folded
from scheduler.inputs.forms.columns import PLAIN_UNIT
from scheduler.inputs.forms.csvfiles import delimiter_of
from scheduler.inputs.forms.dimensions import DIMENSIONS, Unit
from scheduler.inputs.forms.field import Field
from scheduler.inputs.forms.fields import FILES
from scheduler.inputs.forms.names import Names

HEADS = "heads.csv"
_FIELDS = {field.name: field for field in FILES[HEADS]}
_DECIMALS = re.compile(r"[+-]?\d*([.,])\d+", re.ASCII)
_NUMBER_COLUMNS = {
    folded(name) for f in FILES[HEADS] if f.kind == "number" for name in f.names
}
_DIGITS = 4
_SAME = 1e-6


@dataclass(frozen=True, slots=True)
class NewHead:
    """What a row of heads.csv is to say; a `radius_m` of NaN leaves the throw."""

    nozzle: str
    flow_l_min: float
    radius_m: float
    pressure_kpa: float
    low_angle: bool


@dataclass(frozen=True, slots=True)
class _Cell:
    """Place of a cell's content in the text, without quotes and stray spaces."""

    start: int
    end: int
    quoted: bool


def with_new_heads(path: Path, new: Mapping[int, NewHead], units: str) -> str:
    """Text of a heads.csv that was read without a Problem, with new cells in some rows.

    `new` goes by row, as in `Heads`. Comments, order, separator, line ends, quotes and
    the mark at the file's beginning stay, and so does a cell that says the same
    already. Flows are rounded down, so that no zone comes to draw more than its
    supply gives. A column that is missing is added at the right, in the `units` of
    the site. Raises InputError where the file may not be written.
    """
    _check_writable(path)
    text = path.read_bytes().decode("utf-8")
    editor = _Editor(text, units)
    for row, head in sorted(new.items()):
        editor.set_text(row, _FIELDS["nozzle"], head.nozzle)
        editor.set_number(row, _FIELDS["flow"], head.flow_l_min, down=True)
        editor.set_number(row, _FIELDS["radius"], head.radius_m)
        editor.set_number(row, _FIELDS["pressure"], head.pressure_kpa)
        editor.set_flag(row, _FIELDS["low_angle"], head.low_angle)
    return editor.text()


def check_kept_in_file(names: Names) -> None:
    """InputError where the heads stand in a workbook, which is nobody's to rewrite."""
    if names.workbook:
        raise InputError(
            [Problem("scheduler", None, "--write",
                     f"heads stand in {names.workbook}, and nothing is written into a "
                     "workbook", "a site whose heads are in heads.csv",
                     "leave --write out, and type what it shows into sheet heads")]
        )  # fmt: skip


def _check_writable(path: Path) -> None:
    if path.stat().st_mode & 0o222 and os.access(path, os.W_OK):
        return
    problem = Problem(
        HEADS, None, "", "is read-only, so nothing was written",
        hint="allow writing to the file, or leave out --write",
    )  # fmt: skip
    raise InputError([problem])


class _Editor:
    """Cells of a CSV text, and what replaces them."""

    def __init__(self, text: str, units: str) -> None:
        self.original = text
        self.units = units
        self.delimiter, skip_first = delimiter_of(text.removeprefix("\ufeff"))
        self.header, *self.rows = _records(text, self.delimiter, skip_first)
        self.names = [folded(self.read(cell)) for cell in self.header]
        while not self.names[-1]:
            self.names.pop()
        self.added: list[str] = []
        self.cells: dict[tuple[int, int], str] = {}
        self.mark = self._decimal_mark()

    def read(self, cell: _Cell) -> str:
        """Content of a cell as it was written."""
        content = self.original[cell.start : cell.end]
        return (content.replace('""', '"') if cell.quoted else content).strip()

    def value(self, row: int, place: int) -> str:
        """Content of a row's cell, "" where the row ends before."""
        cells = self.rows[row]
        return self.read(cells[place]) if place < len(cells) else ""

    def set_text(self, row: int, field: Field, text: str) -> None:
        """Put text into a row."""
        place, _ = self.column(row, field)
        if folded(self.value(row, place)) == folded(text):
            return
        if place == 0 and text.startswith("#"):
            raise InputError(
                [Problem(HEADS, None, field.name,
                         f'"{text}" in the first column would be read as a comment',
                         hint="put another column first, or name it otherwise")]
            )  # fmt: skip
        self.cells[row, place] = text

    def set_flag(self, row: int, field: Field, flag: bool) -> None:
        """Put yes or no into a row, where it says otherwise or nothing means that."""
        known = any(folded(name) in self.names for name in field.names)
        if not known and not flag:
            return
        place, _ = self.column(row, field)
        said = folded(self.value(row, place)) in ("yes", "y", "true")
        if said is not flag:
            self.cells[row, place] = "yes" if flag else "no"

    def set_number(self, row: int, field: Field, si: float, down: bool = False) -> None:
        """Put a number into a row, in the unit that the row has it in."""
        if math.isnan(si):
            return
        place, unit = self.column(row, field)
        now = self.value(row, place)
        if self.delimiter == ";":
            now = now.replace(",", ".")
        if now and math.isclose(unit.to_si(float(now)), si, rel_tol=_SAME):
            return
        number = _short(unit.from_si(si), down)
        self.cells[row, place] = number.replace(".", self.mark)

    def column(self, row: int, field: Field) -> tuple[int, Unit]:
        """Place and unit of a field's column: the one that the row has filled in."""
        units = DIMENSIONS[field.dimension].units if field.dimension else (PLAIN_UNIT,)
        places = []
        for name, unit in zip(field.names, units, strict=True):
            if folded(name) in self.names:
                places.append((self.names.index(folded(name)), unit))
        if not places:
            shown = units[0]
            if field.dimension:
                shown = DIMENSIONS[field.dimension].shown(self.units)
            self.added.append(field.names[units.index(shown)])
            self.names.append(folded(self.added[-1]))
            return len(self.names) - 1, shown
        filled = [found for found in places if self.value(row, found[0])]
        return min(filled or places, key=lambda found: found[0])

    def text(self) -> str:
        """The text with what was put in; edits come in the order of the text."""
        edits: list[tuple[int, int, str]] = []
        first_added = len(self.names) - len(self.added)
        heading = {first_added + i: name for i, name in enumerate(self.added)}
        edits += self._edits(self.header, heading)
        by_row: dict[int, dict[int, str]] = {}
        for (row, place), value in self.cells.items():
            by_row.setdefault(row, {})[place] = value
        for row, mine in sorted(by_row.items()):
            edits += self._edits(self.rows[row], mine)
        parts, at = [], 0
        for start, end, content in edits:
            parts += [self.original[at:start], content]
            at = end
        return "".join([*parts, self.original[at:]])

    def _edits(
        self, cells: Sequence[_Cell], values: Mapping[int, str]
    ) -> list[tuple[int, int, str]]:
        edits, tail, place = [], "", len(cells)
        for at, value in sorted(values.items()):
            if at < len(cells):
                cell = cells[at]
                content = value.replace('"', '""') if cell.quoted else self._safe(value)
                edits.append((cell.start, cell.end, content))
            else:
                tail += self.delimiter * (at - place + 1) + self._safe(value)
                place = at + 1
        if tail:
            end = cells[-1].end + cells[-1].quoted
            line = re.compile(r"[^\r\n]*").match(self.original, end)
            end = line.end() if line else end
            edits.append((end, end, tail))
        return edits

    def _safe(self, value: str) -> str:
        if any(mark in value for mark in (self.delimiter, '"', "\r", "\n")):
            return '"' + value.replace('"', '""') + '"'
        return value

    def _decimal_mark(self) -> str:
        """Mark that this file's numbers have: a comma only beside semicolons."""
        if self.delimiter != ";":
            return "."
        for cells in self.rows:
            for place, cell in enumerate(cells[: len(self.names)]):
                found = _DECIMALS.fullmatch(self.read(cell))
                if found and self.names[place] in _NUMBER_COLUMNS:
                    return found[1]
        return ","


def _short(number: float, down: bool) -> str:
    """Number to four digits, without needless zeros."""
    places = _DIGITS - 1 - math.floor(math.log10(number))
    scaled = number * 10**places
    # A number of four digits stays what it is, whatever the last bit says.
    whole = math.floor(scaled + _SAME) if down else round(scaled)
    text = f"{whole / 10**places:.{max(places, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _records(text: str, delimiter: str, skip_first: bool) -> list[list[_Cell]]:
    """Cells of the heading and of every row, as `csvfiles.read_table` takes them."""
    records = []
    at = 1 if text.startswith("\ufeff") else 0
    if skip_first:
        at = _line_end(text, at)
    while at < len(text):
        end = _line_end(text, at)
        if text[at:end].lstrip().startswith("#"):
            at = end
            continue
        cells, at = _record(text, at, delimiter)
        contents = [text[cell.start : cell.end].strip() for cell in cells]
        if any(contents) and not contents[0].startswith("#"):
            records.append(cells)
    return records


def _record(text: str, at: int, delimiter: str) -> tuple[list[_Cell], int]:
    """Cells from a place on, and the start of the next line."""
    cells = []
    while True:
        while text[at : at + 1] == " ":
            at += 1
        if text[at : at + 1] == '"':
            end = at + 1
            while text[end] != '"' or text[end : end + 2] == '""':
                end += 2 if text[end] == '"' else 1
            cells.append(_Cell(at + 1, end, True))
            at = end + 1
        else:
            end = at
            while end < len(text) and text[end] not in (delimiter, "\r", "\n"):
                end += 1
            content = text[at:end]
            start = at + len(content) - len(content.lstrip())
            cells.append(_Cell(start, start + len(content.strip()), False))
            at = end
        if text[at : at + 1] != delimiter:
            return cells, _line_end(text, at)
        at += 1


def _line_end(text: str, at: int) -> int:
    """Start of the line after a place."""
    found = re.compile(r"[^\r\n]*(\r\n|\r|\n)?").match(text, at)
    return found.end() if found else len(text)
