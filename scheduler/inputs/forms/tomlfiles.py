"""TOML files into checked keys, with the line of each."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from scheduler.errors import Problem
from scheduler.inputs.forms import columns
from scheduler.inputs.forms.alike import folded
from scheduler.inputs.forms.columns import Column
from scheduler.inputs.forms.csvfiles import read_cells, read_text, unknown_name
from scheduler.inputs.forms.dimensions import DIMENSIONS
from scheduler.inputs.forms.field import Field
from scheduler.inputs.forms.fields import SITE_TABLES
from scheduler.inputs.forms.slips import toml_hint

_TABLE = re.compile(r"\s*\[(\[?)\s*([^\]]+?)\s*\]")
_KEY = re.compile(r"""\s*("[^"]+"|'[^']+'|[A-Za-z0-9_.-]+)\s*=""")
_AT_LINE = re.compile(r"\s*\(at line (\d+), column \d+\)")


TABLES = (*(table for table in SITE_TABLES if table), "door")
"""Tables of site.toml."""
DEEPEST = 6
"""Tables, lists and values within each other: stages, stage, windows, window, days."""
TOO_DEEP = "holds lists or tables that are nested too deeply"
LARGEST_WHOLE = 10**18
"""TOML holds whole numbers of 64 bits."""


@dataclass(frozen=True, slots=True)
class Keys:
    """Checked keys of one TOML table, by SI name; None where not given."""

    table: str
    line: int | None
    values: Mapping[str, Any]
    filled: frozenset[str]


@dataclass(frozen=True, slots=True)
class Document:
    """A TOML file as parsed, with the line of each dotted key.

    The sheets of a workbook that stand for site.toml come the same way; there
    `in_sheet` says that values are cells, whose numbers may be text.
    """

    file: str
    content: Mapping[str, Any]
    lines: Mapping[str, int]
    in_sheet: bool = False


def read_document(path: Path, file: str, problems: list[Problem]) -> Document | None:
    """Parsed TOML, or None with a Problem."""
    text = read_text(path, file, problems)
    if text is None:
        return None
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        problems.append(_unreadable(file, text, str(error)))
        return None
    except RecursionError:
        problems.append(Problem(file, None, "", TOO_DEEP))
        return None
    except ValueError:
        problems.append(Problem(file, None, "", "holds a number of endless digits"))
        return None
    document = Document(file, content, _lines(text))
    return document if _check_depth_and_size(document, problems) else None


def _unreadable(file: str, text: str, error: str) -> Problem:
    match = _AT_LINE.search(error)
    line = int(match[1]) if match else text.count("\n") + 1
    wrong = _AT_LINE.sub("", error).replace("(at end of document)", "").strip()
    wrong = wrong[:1].lower() + wrong[1:]
    hint = toml_hint(text.split("\n")[line - 1])
    if hint:
        pass
    elif wrong.startswith(
        ("invalid value", "unterminated string", "illegal character")
    ):
        hint = 'text stands in double quotes, as name = "Front garden"'
    elif wrong.startswith("cannot declare"):
        wrong = "a table is there twice"
        hint = "put the keys of both under one heading; only [[window]] may repeat"
    elif wrong.startswith("cannot overwrite"):
        wrong, hint = "a key is there twice", "leave one of the two out"
    return Problem(file, line, "", f"is not readable as TOML: {wrong}", hint=hint)


def _check_depth_and_size(document: Document, problems: list[Problem]) -> bool:
    """Whether the content is as flat, and its numbers as small, as ours ever are."""
    queue: list[tuple[str, Any, int]] = [("", document.content, 0)]
    while queue:
        dotted, value, depth = queue.pop()
        if depth > DEEPEST:
            problems.append(Problem(document.file, None, "", TOO_DEEP))
            return False
        if isinstance(value, int) and abs(value) > LARGEST_WHOLE:
            line = document.lines.get(dotted)
            wrong = "is a number of more than 18 digits"
            problems.append(Problem(document.file, line, dotted, wrong))
            return False
        if isinstance(value, dict):
            for key, inner in value.items():
                name = f"{dotted}.{key}" if dotted else key
                queue.append((name, inner, depth + 1))
        elif isinstance(value, list):
            queue.extend((dotted, inner, depth + 1) for inner in value)
    return True


def _lines(text: str) -> dict[str, int]:
    lines: dict[str, int] = {}
    table = ""
    counts: dict[str, int] = {}
    for number, line in enumerate(text.split("\n"), 1):
        if match := _TABLE.match(line):
            table = match[2]
            if match[1]:
                counts[table] = counts.get(table, 0) + 1
                table = f"{table}[{counts[table]}]"
            lines.setdefault(table, number)
        elif match := _KEY.match(line):
            name = match[1].strip("\"'")
            lines.setdefault(f"{table}.{name}" if table else name, number)
    return lines


def read_keys(
    document: Document,
    content: Mapping[str, Any],
    table: str,
    fields: Sequence[Field],
    problems: list[Problem],
) -> Keys:
    """Checked keys of one table; defaults are not filled in."""
    written = _written_names(document, content, table, fields, problems)
    values: dict[str, Any] = {}
    filled: set[str] = set()
    for field in fields:
        names = written.get(field.name, [])
        values[field.si_name] = None
        if len(names) > 1:
            dotted, line = _place(document, table, names[1])
            problems.append(
                Problem(document.file, line, dotted, f"{names[0]} is filled in too",
                        "one of the two")
            )  # fmt: skip
        if names:
            filled.add(field.name)
            values[field.si_name] = _read_key(
                document, field, content[names[0]], table, names[0], problems
            )
        elif field.required:
            problems.append(
                Problem(document.file, document.lines.get(table),
                        f"{table}.{field.names[0]}", "is missing",
                        columns.accepted_text(field))
            )  # fmt: skip
    return Keys(table, document.lines.get(table), values, frozenset(filled))


def _written_names(
    document: Document,
    content: Mapping[str, Any],
    table: str,
    fields: Sequence[Field],
    problems: list[Problem],
) -> dict[str, list[str]]:
    known = {folded(name): field for field in fields for name in field.names}
    written: dict[str, list[str]] = {}
    for name in content:
        if folded(name) in known:
            written.setdefault(known[folded(name)].name, []).append(name)
        elif table or not (name in TABLES or isinstance(content[name], (dict, list))):
            dotted, line = _place(document, table, name)
            problems.append(
                unknown_name(document.file, line, name, "key", fields, dotted)
            )
    return written


def _place(document: Document, table: str, name: str) -> tuple[str, int | None]:
    dotted = f"{table}.{name}" if table else name
    return dotted, document.lines.get(dotted, document.lines.get(table))


def _read_key(
    document: Document,
    field: Field,
    value: Any,
    table: str,
    name: str,
    problems: list[Problem],
) -> Any:
    dotted, line = _place(document, table, name)
    if isinstance(value, str) and not value.strip():
        problems.append(
            Problem(document.file, line, dotted, "is blank",
                    columns.accepted_text(field), "leave the key out for its default")
        )  # fmt: skip
        return None
    column = Column(document.file, dotted, [value], [line], in_sheet=document.in_sheet)
    if field.kind in ("number", "whole", "share"):
        unit = columns.PLAIN_UNIT
        if field.dimension:
            suffixes = {folded(f"{field.name}_{unit.suffix}"): unit
                        for unit in DIMENSIONS[field.dimension].units}  # fmt: skip
            unit = suffixes[folded(name)]
        if isinstance(value, str) and not document.in_sheet:
            problems.append(
                Problem(document.file, line, dotted,
                        f"{columns.quoted(value)} is text, not a number",
                        columns.accepted_text(field, unit),
                        "write the number alone, without quotes")
            )  # fmt: skip
            return None
        (number,), faults = columns.read_numbers(field, unit, column)
        cell = float(number)
    else:
        (cell,), faults = read_cells(field, column, field.words)
    problems += [problem for _, problem in faults]
    return None if faults else cell
