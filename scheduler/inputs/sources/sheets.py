"""The sheets of a workbook as the tables and settings that a folder's files give."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Collection, Sequence, Set
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from scheduler.errors import Problem
from scheduler.inputs.forms import csvfiles
from scheduler.inputs.forms.alike import folded, nearest
from scheduler.inputs.forms.columns import Cell, wrong_tier
from scheduler.inputs.forms.csvfiles import RawTable, column_letters, table_of
from scheduler.inputs.forms.field import Field
from scheduler.inputs.forms.fields import FILES, SITE_TABLES, TIERS
from scheduler.inputs.forms.names import (
    LISTS,
    OWN_SHEETS,
    SHEETS,
    Names,
    sheet_of,
)
from scheduler.inputs.forms.tomlfiles import TABLES, Document
from scheduler.inputs.forms.workbook import (
    MOST_TOLD,
    Percent,
    Sheet,
    Written,
    number_text,
    range_text,
    read_workbook,
)
from scheduler.inputs.weather.climates import climate_of_table, read_climate
from scheduler.inputs.weather.daily import DailyWeather
from scheduler.inputs.weather.monthly import Climate

NEEDED = ("site", "zones")
SITE_COLUMNS = ("table", "key", "value")
DOOR_COLUMNS = ("key", "value")
FIRST_ROW = (
    "the first filled row names the columns: take a title out, or begin its row with #"
)
_CLIMATES = ("monthly climate", "daily climate")
_ALIKE = 0.81
"""How like a known name a sheet's name must be to be taken for a slip of the pen."""


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a setting stands: its sheet, its cell, and what to call it."""

    file: str
    cell: str
    field: str


class WorkbookSource:
    """A workbook whose sheets are named as a folder's files."""

    def __init__(self, path: Path) -> None:
        self.folder = path.parent
        named_for_folder = folded(path.stem) == "site"
        self.usual_name = path.resolve().parent.name if named_for_folder else path.stem
        self.names = Names(path.name)
        self.problems: list[Problem] = []
        self._sheets: dict[str, Sheet] = {}
        self._tables: dict[str, RawTable] = {}
        self._places: dict[str, _Place] = {}
        self._climate_named = ""
        unknown = self._sort(read_workbook(path, SHEETS))
        self.unread = tuple(unknown)
        self.hidden = tuple(
            (sheet.title, sheet.hidden)
            for sheet in self._sheets.values()
            if sheet.hidden
        )

    def _sort(self, sheets: Sequence[Sheet]) -> list[str]:
        """Put sheets to their names; names of those that are no site's."""
        known = {folded(name): name for name in SHEETS}
        unknown = []
        for sheet in sheets:
            name = known.get(folded(sheet.title.strip()))
            if name is None and folded(sheet.title) != LISTS:
                unknown.append(sheet.title)
            elif name is None:
                continue
            elif name in self._sheets:
                first = self._sheets[name].title
                self._add(f'has two sheets for {name}: "{first}" and "{sheet.title}"',
                          "one sheet of that name")  # fmt: skip
            else:
                self._sheets[name] = sheet
                if not sheet.is_table:
                    self._add(f'sheet "{sheet.title}" is a chart', "a sheet of cells")
        for name in NEEDED:
            if name not in self._sheets:
                near = nearest(name, unknown)
                hint = f'if sheet "{near}" is meant, rename it {name}' if near else ""
                self._add(f"has no sheet {name}", ", ".join(SHEETS), hint)
        for title in unknown:
            near = nearest(title, SHEETS, _ALIKE)
            if near and near not in self._sheets and near not in NEEDED:
                self._add(f'sheet "{title}" is none of a site\'s', ", ".join(SHEETS),
                          f"did you mean {near}?")  # fmt: skip
        return unknown

    def _add(self, wrong: str, accepted: str, hint: str = "") -> None:
        file = self.names.workbook
        self.problems.append(Problem(file, None, "", wrong, accepted, hint))

    def has(self, file: str) -> bool:
        """Whether the workbook has the sheet of a file."""
        return sheet_of(file) in self._sheets

    def filled(self, file: str, given: Collection[str]) -> bool:
        """Whether the sheet of a file has a cell in a column other than those given."""
        sheet = self._sheets.get(sheet_of(file))
        if sheet is None or not sheet.is_table:
            return sheet is not None
        rows = [cells for _, cells in sheet.rows if _is_filled(cells)]
        header = rows[0] if rows else ()
        mine = [n for n, head in enumerate(header) if folded(str(head)) not in given]
        return any(_is_filled([row[n] for n in mine if n < len(row)])
                   for row in rows[1:])  # fmt: skip

    def apart(self) -> list[str]:
        """Sheets that are none of a site's."""
        return list(self.unread)

    def table(self, file: str, problems: list[Problem]) -> RawTable | None:
        """Sheet of a CSV, or None with a Problem."""
        return self._table(sheet_of(file), FILES[file], problems)

    def climate(
        self, file: str, problems: list[Problem]
    ) -> Climate | DailyWeather | None:
        """Climate of the sheet, where no file is named; else of that file."""
        if file != self._label("climate") or self._climate_named:
            return read_climate(self.folder / file, file, problems)
        fields = [field for what in _CLIMATES for field in FILES[what]]
        table = self._table("climate", fields, problems)
        return None if table is None else climate_of_table(table, problems)

    def document(self, problems: list[Problem]) -> Document | None:
        """Settings of the sheets site, windows, tiers and door, as of a site.toml."""
        if "site" not in self._sheets:
            return None
        label = self._label("site")
        table = self._keyed("site", SITE_COLUMNS, problems)
        if table is None:
            return None
        content: dict[str, Any] = {}
        lines: dict[str, int] = {}
        self._read_keys(table, content, lines, problems)
        self._read_windows(content, lines, problems)
        self._read_tiers(content, lines, problems)
        self._read_door(content, lines, problems)
        climate = content.setdefault("climate", {})
        if isinstance(climate, dict):
            written = next((k for k in climate if folded(k) == "file"), "")
            self._climate_named = str(climate.get(written, ""))
            if not written and "climate" in self._sheets:
                climate["file"] = self._label("climate")
        if self._climate_named and "climate" in self._sheets:
            self.unread += (self._sheets["climate"].title,)
        return Document(label, content, lines, in_sheet=True)

    def placed(self, problems: list[Problem]) -> list[Problem]:
        """The same Problems with the cell of each."""
        return [self._placed(problem) for problem in problems]

    def _label(self, name: str) -> str:
        return f"{self.names.workbook}: {name}"

    def _placed(self, problem: Problem) -> Problem:
        place = self._places.get(problem.field)
        if problem.cell:
            return problem
        if problem.file == self._label("site"):
            if place is None:
                return dataclasses.replace(problem, line=None)
            return dataclasses.replace(
                problem, file=place.file, field=place.field, cell=place.cell
            )
        table = self._tables.get(problem.file)
        if table is None or problem.line is None:
            return problem
        headers = [folded(header) for header in table.headers]
        wanted = folded(problem.field)
        column = headers.index(wanted) + 1 if wanted in headers else 1
        return dataclasses.replace(
            problem, cell=f"{column_letters(column)}{problem.line}"
        )

    def _table(
        self, name: str, fields: Sequence[Field], problems: list[Problem]
    ) -> RawTable | None:
        """Sheet whose columns are fields of the registry, or None with Problems."""
        return self._checked(name, [n for f in fields for n in f.names], "", problems)

    def _keyed(
        self, name: str, columns: Sequence[str], problems: list[Problem]
    ) -> RawTable | None:
        """Sheet of a row a key; columns that are none of ours are let be."""
        table = self._checked(name, columns, "key", problems)
        if table is None:
            return None
        found = [folded(header) for header in table.headers]
        missing = [column for column in columns if column not in found]
        for column in missing:
            problems.append(
                Problem(table.file, table.header_line, column, "column is missing",
                        ", ".join(columns), FIRST_ROW, f"A{table.header_line}")
            )  # fmt: skip
        return None if missing else table

    def _checked(
        self, name: str, known: Sequence[str], key: str, problems: list[Problem]
    ) -> RawTable | None:
        """Rows of a sheet but those with faulty cells; None with Problems.

        `key` is the column of keys of a sheet that has a row a key, "" where there is
        a column a field; columns beside keys that are not known are dropped.
        """
        sheet, label = self._sheets.get(name), self._label(name)
        if sheet is None or not sheet.is_table:
            return None
        rows = [(number, cells) for number, cells in sheet.rows if _is_filled(cells)]
        if not rows:
            return table_of(label, [], problems)
        first, header = rows[0]
        headers = [cell if isinstance(cell, str) else "" for cell in header]
        folds = {folded(name) for name in known}
        ours = {place for place, head in enumerate(headers, 1)
                if head and (not key or folded(head) in folds)}  # fmt: skip
        faulty = _tell_faults(sheet, label, ours if key else None, problems)
        nameless = not any(folded(head) in folds for head in headers)
        if nameless and first not in faulty:
            problems.append(
                Problem(label, first, "", "names no column that is known",
                        ", ".join(known), FIRST_ROW, cell=f"A{first}")
            )  # fmt: skip
        merged = _tell_merged(sheet, label, (first, rows[-1][0]), ours, problems)
        if nameless or merged or first in faulty:
            return None
        kept = [(number, cells) for number, cells in rows if number not in faulty]
        if not key:
            kept = [(n, _without_notes(cells, headers)) for n, cells in kept]
        records = _records(kept, headers, ours if key else None, key)
        table = table_of(label, records, problems, names=self.names)
        if table is None:
            return None
        whole = table.whole and not faulty
        self._tables[label] = dataclasses.replace(table, whole=whole)
        return self._tables[label]

    def _read_keys(
        self,
        table: RawTable,
        content: dict[str, Any],
        lines: dict[str, int],
        problems: list[Problem],
    ) -> None:
        """Rows of sheet site into the tables of a site.toml."""
        at = _columns(table, SITE_COLUMNS)
        by_fold = {folded(name): name for name in TABLES}
        for line, row in zip(table.lines, table.rows, strict=True):
            written, key, value = (row[place] for place in at)
            name = folded(str(written).strip("[] "))
            name = by_fold.get(name, str(written).strip("[] "))
            dotted = f"{name}.{key}" if name else str(key)
            wrong = _wrong_with_key(name, str(key), value, dotted in lines)
            if wrong is not None:
                column = at[0] if key else at[1]
                cell = f"{column_letters(column + 1)}{line}"
                problems.append(
                    Problem(table.file, line, dotted.strip("."), *wrong, "", cell)
                )
                continue
            if name:
                lines.setdefault(name, line)
            if not value or not key:
                continue
            place = content.setdefault(name, {}) if name else content
            place[str(key)] = value
            lines[dotted] = line
            cell = f"{column_letters(at[2] + 1)}{line}"
            self._places[dotted] = _Place(table.file, cell, dotted)
            self._places.setdefault(name, _Place(table.file, f"A{line}", name))

    def _read_windows(
        self, content: dict[str, Any], lines: dict[str, int], problems: list[Problem]
    ) -> None:
        """Rows of sheet windows into [[window]]s."""
        if "windows" not in self._sheets:
            return
        table = self._table("windows", SITE_TABLES["window"], problems)
        if table is None or not table.rows:
            return
        known = {folded(field.name): field.name for field in SITE_TABLES["window"]}
        windows = []
        for number, line in enumerate(table.lines, 1):
            window: dict[str, Cell] = {}
            before = f"window[{number}]"
            lines[before] = line
            for name in known.values():
                self._places[f"{before}.{name}"] = _Place(table.file, f"A{line}", name)
            for place, header in enumerate(table.headers):
                cell = table.rows[number - 1][place]
                name = known.get(folded(header), "")
                # A name that is none is told once, not for each window.
                if header and (cell or (number == 1 and not name)):
                    window[header] = cell
                    address = f"{column_letters(place + 1)}{line}"
                    for written in (header, name or header):
                        dotted = f"{before}.{written}"
                        lines[dotted] = line
                        self._places[dotted] = _Place(table.file, address, header)
            windows.append(window)
        content["window"] = windows

    def _read_tiers(
        self, content: dict[str, Any], lines: dict[str, int], problems: list[Problem]
    ) -> None:
        """Rows of sheet tiers into the tiers of [water]."""
        if "tiers" not in self._sheets:
            return
        table = self._table("tiers", TIERS, problems)
        if table is None or not table.rows:
            return
        found: list[Problem] = []
        rows = csvfiles.read_rows(table, TIERS, found)
        problems += found
        if found:
            return
        tiers = []
        for to, price in zip(rows.values["to"], rows.values["price"], strict=True):
            limit = {} if math.isnan(to) else {"to": float(to)}
            tiers.append({**limit, "price": float(price)})
        if fault := wrong_tier(tiers):
            number, wrong = fault
            line = table.lines[number - 1]
            accepted = "a row for each tier, to and price; the last has price alone"
            problems.append(
                Problem(table.file, line, "", wrong, accepted, cell=f"A{line}")
            )
            return
        content.setdefault("water", {})["tiers"] = tiers
        lines["water.tiers"] = table.lines[0]

    def _read_door(
        self, content: dict[str, Any], lines: dict[str, int], problems: list[Problem]
    ) -> None:
        """Rows of sheet door into the lines of [door]."""
        if "door" not in self._sheets:
            return
        table = self._keyed("door", DOOR_COLUMNS, problems)
        if table is None:
            return
        key_at, value_at = _columns(table, DOOR_COLUMNS)
        for line, row in zip(table.lines, table.rows, strict=True):
            if row[value_at]:
                name = str(row[key_at] or f"line {line}")
                content.setdefault("door", {})[name] = str(row[value_at])
                lines[f"door.{name}"] = line


_NUMBER_WORDS = 2
"""Words of a number with its unit."""


def _is_filled(cells: Sequence[Written]) -> bool:
    """Whether a row is neither blank nor a comment."""
    return any(cells) and not str(cells[0]).startswith("#")


def _without_notes(cells: Sequence[Written], headers: Sequence[str]) -> list[Written]:
    """Cells of a row without the words to the right of the last column with a name.

    A number there is left, to be told: it may be a value whose name was forgotten.
    """
    last = max((k for k, head in enumerate(headers, 1) if head), default=0)
    beside = ["" if _is_note(cell) else cell for cell in cells[last:]]
    return [*cells[:last], *beside]


def _is_note(cell: Written) -> bool:
    """Whether a cell is words, and not meant for a number, or one with its unit."""
    if not isinstance(cell, str):
        return False
    return not cell.lstrip("+-. ,")[:1].isdigit() or len(cell.split()) > _NUMBER_WORDS


def _records(
    rows: Sequence[tuple[int, list[Written]]],
    headers: Sequence[str],
    ours: Set[int] | None,
    key: str,
) -> list[tuple[int, list[Cell]]]:
    """Rows as a table has them, without the columns that are not `ours`."""
    folds = [folded(header) for header in headers]
    records = []
    for number, cells in rows:
        names = [*headers, *[""] * (len(cells) - len(headers))]
        if key in folds:
            at = folds.index(key)
            names = [str(cells[at]) if at < len(cells) else ""] * len(cells)
        texts = [_text(cell, name) for cell, name in zip(cells, names, strict=False)]
        if ours is not None:
            texts = [text if k in ours else "" for k, text in enumerate(texts, 1)]
        records.append((number, texts))
    return records


def _text(cell: Written, name: str) -> Cell:
    """Cell as a table has it; a percentage is a share but where percents are meant."""
    if not isinstance(cell, Percent):
        return cell
    if "percent" in folded(name):
        return number_text(round(100 * cell.share, 10))
    return number_text(cell.share)


def _columns(table: RawTable, names: Sequence[str]) -> list[int]:
    """Place of each column in a row."""
    headers = [folded(header) for header in table.headers]
    return [headers.index(name) for name in names]


def _tell_faults(
    sheet: Sheet, label: str, ours: Set[int] | None, problems: list[Problem]
) -> set[int]:
    """Rows with a faulty cell, in any column or in `ours`; a Problem for each row."""
    faulty: set[int] = set()
    for (row, column), fault in sheet.faults.items():
        if row in faulty or (ours is not None and column not in ours):
            continue
        faulty.add(row)
        cell = f"{column_letters(column)}{row}"
        problems.append(
            Problem(label, row, "", fault.wrong, hint=fault.hint, cell=cell)
        )
    return faulty


def _tell_merged(
    sheet: Sheet,
    label: str,
    rows: tuple[int, int],
    ours: Set[int],
    problems: list[Problem],
) -> bool:
    """Whether ranges within a table are merged; Problems that name them."""
    first, last = rows
    within = [
        merged
        for merged in sheet.merged
        if merged[1] <= last
        and merged[3] >= first
        and any(merged[0] <= column <= merged[2] for column in ours)
    ]
    for number, merged in enumerate(within[: MOST_TOLD + 1]):
        wrong = f"cells {range_text(merged)} are merged"
        if number == MOST_TOLD:
            wrong = f"and {len(within) - MOST_TOLD} more ranges are merged"
        cell = f"{column_letters(merged[0])}{merged[1]}"
        problems.append(
            Problem(label, merged[1], "", wrong, "a value in each cell that has one",
                    "unmerge them", cell=cell)
        )  # fmt: skip
    return bool(within)


def _wrong_with_key(
    name: str, key: str, value: Cell, again: bool
) -> tuple[str, str] | None:
    """What is wrong with a row of sheet site, and what is accepted; None if nothing."""
    for part, sheet in OWN_SHEETS.items():
        if value and part in (name, f"{name}.{folded(key)}"):
            return f"has a sheet of its own, {sheet}", f"a row of sheet {sheet}"
    if value and not key:
        return "value has no key", "a key of the table"
    if again and value:
        return "is there twice", "one row for a key"
    if value and not name and folded(key) not in _TOP:
        tables = [table for table, fields in SITE_TABLES.items() if table and any(
            folded(key) in map(folded, field.names) for field in fields)]  # fmt: skip
        return "its table is blank", ", ".join(tables or TABLES)
    return None


_TOP = {folded(name) for field in SITE_TABLES[""] for name in field.names}
