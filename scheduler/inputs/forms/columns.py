"""Cells that people wrote into checked arrays in SI, a column at a time.

The same check serves a column of a thousand rows and a single key of site.toml.
"""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from scheduler.calendar import WEEKDAYS
from scheduler.errors import Problem
from scheduler.inputs.forms.alike import folded, hint_nearest
from scheduler.inputs.forms.alike import quoted as quoted
from scheduler.inputs.forms.dates import (
    ITEMS,
    month_by_name,
    read_day_of_year,
    read_days,
    read_months,
)
from scheduler.inputs.forms.dimensions import Unit
from scheduler.inputs.forms.field import Field
from scheduler.inputs.forms.slips import other_units_hint, value_hint
from scheduler.inputs.forms.vocabulary import Words

_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?", re.ASCII)
_DECIMAL_COMMA = re.compile(r"[+-]?\d*,\d+([eE][+-]?\d+)?", re.ASCII)
_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2}(,\d{3})+(\.\d+)?", re.ASCII)
_THOUSANDS_POINTS = re.compile(r"[+-]?[1-9]\d{0,2}(\.\d{3})+(,\d+)?", re.ASCII)
_FRACTION = re.compile(r"(\d+[\s-]+)?\d+\s*/\s*\d+", re.ASCII)
_CLOCK = re.compile(r"([01]?\d|2[0-4]):([0-5]\d)", re.ASCII)
_PLAIN_LETTERS = frozenset("0123456789.+-eE")
PLAIN_UNIT = Unit("", "", 1.0)
MADE_A_DATE = (
    "spreadsheets turn what looks like a date into one: format the cell as text, and "
    "type it again"
)

Cell = str | datetime.date
"""A cell of a table: its text, or a date where a workbook has one."""
Fault = tuple[int, Problem]
"""A row, from 0, and what is wrong in it."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column as written: its header, its cells, and the line of each."""

    file: str
    header: str
    cells: Sequence[Any]
    lines: Sequence[int | None]
    decimal_comma: bool = False
    in_sheet: bool = False

    def fault(self, row: int, wrong: str, accepted: str, hint: str = "") -> Fault:
        """What is wrong with the cell of a row."""
        if self.in_sheet and isinstance(self.cells[row], datetime.date):
            hint = MADE_A_DATE
        line = self.lines[row]
        return row, Problem(self.file, line, self.header, wrong, accepted, hint)


def is_blank(cell: Any) -> bool:
    """Whether a cell was left empty."""
    return cell is None or (isinstance(cell, str) and not cell.strip())


def shown_number(value: float) -> str:
    """Number as short as it can be said, to four digits or to the unit."""
    if not math.isfinite(value):
        return str(value)
    if value == round(value) or abs(value) >= 1000:
        return str(round(value))
    return f"{value:.4g}"


def _shown_limit(value: float, inward: Callable[[float], int]) -> str:
    """Limit of four digits at most, rounded to the side that is accepted."""
    if not math.isfinite(value) or value == 0:
        return shown_number(value)
    places = 3 - math.floor(math.log10(abs(value)))
    nearest_short = round(value, places)
    if math.isclose(value, nearest_short, rel_tol=1e-12):
        return shown_number(nearest_short)
    return shown_number(inward(value * 10**places) / 10**places)


def accepted_text(field: Field, unit: Unit = PLAIN_UNIT) -> str:
    """What a field takes, in words, with limits in the unit that was written."""
    if field.name == "month":
        return "a month, 1 to 12 or by name"
    if field.kind in ("number", "whole", "share"):
        noun = "a whole number" if field.kind == "whole" else "a number"
        low = _shown_limit(unit.from_si(field.low), math.ceil)
        high = _shown_limit(unit.from_si(field.high), math.floor)
        if field.smallest:
            least = f"{field.smallest:g}"
            return f"{noun} from {least} to {high}" + ", or 0" * (not field.above)
        if field.above:
            return f"{noun} over {low} and up to {high}"
        return f"{noun} from {low} to {high}"
    return {
        "word": ", ".join(field.words),
        "flag": "yes or no",
        "date": "a date, as 2026-07-31",
        "day": 'a day of the year, as "1 Nov"',
        "clock": "a time of day, as 21:00"
        + "".join(f', or "{word}"' for word in field.words),
        "days": f'"any", "odd", "even", or a list of {", ".join(WEEKDAYS)}',
        "months": 'months by number or name, as [4, 5, 6], "4-6" or "Apr-Oct"',
        "kinds": ", ".join(field.words),
        "stages": ", ".join(field.words),
        "tiers": "[{to = 10, price = 3.10}, {price = 4.50}]",
        "text": field.help,
    }[field.kind]


def read_numbers(
    field: Field, unit: Unit, column: Column
) -> tuple[np.ndarray, list[Fault]]:
    """Column of numbers in SI, NaN where blank or faulty; and its faults."""
    faults: list[Fault] = []
    values = _plain_numbers(field, unit, column)
    if values is None:
        values = np.full(len(column.cells), np.nan)
        for row, cell in enumerate(column.cells):
            if is_blank(cell):
                continue
            number = _number(field, unit, column, row, cell)
            if isinstance(number, float):
                values[row] = unit.to_si(number)
            else:
                faults.append(number)
    slack = 1e-9
    outside = (values > field.high + slack * abs(field.high)) | (
        values <= field.low if field.above else values < field.low - slack
    )
    outside |= (values > 0) & (values < field.smallest - slack)
    for row in np.flatnonzero(outside).tolist():
        faults.append(_out_of_range(field, unit, column, row))
    values[outside] = np.nan
    return values, faults


def _plain_numbers(field: Field, unit: Unit, column: Column) -> np.ndarray | None:
    """Column in SI where every cell is a plain number or blank; None where not.

    Ten years of days are read in a tenth of the time that looking at each cell takes.
    """
    if field.kind == "whole":
        return None
    try:
        letters = "".join(column.cells)
    except TypeError:  # a workbook's cells are numbers, not text
        return None
    if not _PLAIN_LETTERS.issuperset(letters):
        return None
    try:
        written = np.array([float(cell) if cell else np.nan for cell in column.cells])
    except ValueError:
        return None
    return None if np.isinf(written).any() else (written + unit.shift) * unit.factor


def _number(
    field: Field,
    unit: Unit,
    column: Column,
    row: int,
    cell: Any,
) -> float | Fault:
    """Number of a cell as it is written, or what is wrong with it."""
    number: float | None = None
    slip = ""
    hint = field.hint_in(unit.suffix)
    if isinstance(cell, bool) or not isinstance(cell, (int, float, str)):
        pass
    elif isinstance(cell, (int, float)):
        number = float(cell)
    else:
        text = cell.strip()
        if column.decimal_comma and _DECIMAL_COMMA.fullmatch(text):
            text = text.replace(",", ".")
        if _NUMBER.fullmatch(text):
            number = float(text)
        elif field.name == "month" and text[:1].isalpha():
            number = month_by_name(text)
        else:
            slip = _number_hint(field, text, column.decimal_comma)
    if number is None or not math.isfinite(number):
        wrong = f"{quoted(cell)} is not a number"
        return column.fault(row, wrong, accepted_text(field, unit), slip or hint)
    if field.kind == "whole" and number != round(number):
        wrong = f"{quoted(cell)} is not a whole number"
        return column.fault(row, wrong, accepted_text(field, unit), hint)
    return number


def _number_hint(field: Field, text: str, decimal_comma: bool) -> str:
    if decimal_comma and _THOUSANDS_POINTS.fullmatch(text):
        return f"write {text.replace('.', '')} without thousands points"
    if "," in text and _THOUSANDS_POINTS.fullmatch(text):
        point = text.replace(".", "").replace(",", ".")
        return f"write {point}, with a decimal point and nothing between thousands"
    if _THOUSANDS.fullmatch(text):
        whole = text.replace(",", "")
        if text.count(",") == 1 and "." not in text:
            point = text.replace(",", ".")
            return f"write {whole}, or {point} if the comma is a decimal comma"
        return f"write {whole} without thousands commas"
    if _DECIMAL_COMMA.fullmatch(text):
        return f"write {text.replace(',', '.')} with a decimal point"
    if _FRACTION.fullmatch(text):
        return "write a fraction as a decimal, as 0.5 for 1/2"
    percent = text.removesuffix("%").strip()
    if field.kind == "share" and percent != text and _NUMBER.fullmatch(percent):
        return f"write {float(percent) / 100:g} for {percent} %"
    if not _NUMBER.match(text):
        return ""
    unit = "; the unit stands in the column's name" if field.dimension else ""
    return "write the number alone" + unit


def _out_of_range(field: Field, unit: Unit, column: Column, row: int) -> Fault:
    cell = column.cells[row]
    written = cell.strip() if isinstance(cell, str) else str(cell)
    return column.fault(
        row,
        f"{written} is not {field.noun}",
        accepted_text(field, unit),
        _range_hint(field, unit, column, row),
    )


def _range_hint(field: Field, unit: Unit, column: Column, row: int) -> str:
    text = str(column.cells[row]).strip()
    number = float(text.replace(",", ".") if column.decimal_comma else text)
    if 0 < number < field.smallest:
        return f"write {100 * number:g} for {100 * number:g} %"
    if told := field.hint_in(unit.suffix):
        return told
    if field.kind == "share" and 5 <= number <= 100:
        return f"write {number / 100:g} for {number:g} %"
    return other_units_hint(field, unit, number)


def read_words(
    field: Field,
    words: Iterable[str],
    column: Column,
) -> tuple[list[str], list[Fault]]:
    """Column of known words as the table spells them, "" where blank; its faults.

    Another name of one word is that word; of several, the fault lists them.
    """
    known = list(words)
    by_fold = {folded(word): word for word in known}
    found: list[str] = []
    faults: list[Fault] = []
    for row, cell in enumerate(column.cells):
        if is_blank(cell):
            found.append("")
            continue
        word = by_fold.get(folded(cell)) if isinstance(cell, str) else None
        meant: tuple[str, ...] = ()
        if word is None and isinstance(words, Words):
            meant = words.meant(folded(str(cell)))
            word = meant[0] if len(meant) == 1 else None
        if len(meant) > 1:
            wrong = f"{quoted(cell)} may be one of several"
            faults.append(column.fault(row, wrong, ", ".join(meant)))
        elif word is None:
            wrong = f"{quoted(cell)} is not {field.noun}"
            hint = hint_nearest(str(cell), known)
            faults.append(column.fault(row, wrong, ", ".join(known), hint))
        found.append(word or "")
    return found, faults


def read_texts(column: Column) -> tuple[list[str], list[Fault]]:
    """Column of free text, stripped, "" where blank; and its faults."""
    found: list[str] = []
    faults: list[Fault] = []
    for row, cell in enumerate(column.cells):
        if cell is None or isinstance(cell, str):
            found.append(" ".join((cell or "").split()))
        elif isinstance(cell, int) and not isinstance(cell, bool):
            found.append(str(cell))
        else:
            faults.append(column.fault(row, f"{quoted(cell)} is not text", "text"))
            found.append("")
    return found, faults


def read_flags(field: Field, column: Column) -> tuple[list[bool | None], list[Fault]]:
    """Column of yes and no, None where blank; and its faults."""
    answers = {"yes": True, "y": True, "true": True, "no": False, "n": False,
               "false": False}  # fmt: skip
    found: list[bool | None] = []
    faults: list[Fault] = []
    for row, cell in enumerate(column.cells):
        if is_blank(cell):
            found.append(None)
        elif isinstance(cell, bool):
            found.append(cell)
        elif isinstance(cell, str) and folded(cell) in answers:
            found.append(answers[folded(cell)])
        else:
            wrong = f"{quoted(cell)} is neither yes nor no"
            faults.append(column.fault(row, wrong, accepted_text(field)))
            found.append(None)
    return found, faults


def read_one(field: Field, column: Column) -> tuple[list[Any], list[Fault]]:
    """Column of dates, clocks, days, months, lists of words or tiers; its faults."""
    parse = {
        "date": _date,
        "day": read_day_of_year,
        "clock": _clock,
        "days": read_days,
        "months": read_months,
        "kinds": lambda cell: _listed(cell, field.words, "kind of head"),
        "stages": lambda cell: _listed(cell, field.words, "stage"),
        "tiers": _tiers,
    }[field.kind]
    found: list[Any] = []
    faults: list[Fault] = []
    for row, cell in enumerate(column.cells):
        if is_blank(cell):
            found.append(None)
            continue
        try:
            value = parse(cell)
            if value == "sunrise" and value not in field.words:
                raise ValueError
            found.append(value)
        except ValueError as error:
            wrong = str(error) or f"{quoted(cell)} is not {field.noun}"
            hint = field.hint or value_hint(field, cell) or getattr(error, "hint", "")
            faults.append(column.fault(row, wrong, accepted_text(field), hint))
            found.append(None)
    return found, faults


def _date(cell: Any) -> datetime.date:
    if isinstance(cell, datetime.datetime):
        raise ValueError
    if isinstance(cell, datetime.date):
        return cell
    if isinstance(cell, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", cell.strip()):
        try:
            return datetime.date.fromisoformat(cell.strip())
        except ValueError as error:
            raise ValueError(f"{quoted(cell)} is no day of the calendar") from error
    raise ValueError


def _clock(cell: Any) -> str:
    if isinstance(cell, datetime.time):
        return f"{cell.hour:02d}:{cell.minute:02d}"
    if isinstance(cell, str):
        if folded(cell) == "sunrise":
            return "sunrise"
        match = _CLOCK.fullmatch(cell.strip())
        if match and (match[1] != "24" or match[2] == "00"):
            return f"{int(match[1]):02d}:{match[2]}"
    raise ValueError


def _listed(cell: Any, words: Sequence[str], noun: str) -> tuple[str, ...]:
    """Words that a cell lists, each a `noun`."""
    by_fold = {folded(word): word for word in words}
    items = cell if isinstance(cell, list) else [cell]
    if isinstance(cell, str) and folded(cell) not in by_fold:
        items = [item for item in ITEMS.split(cell) if item]
    if not items:
        raise ValueError(f"no {noun} is named")
    for item in items:
        if not isinstance(item, str) or folded(item) not in by_fold:
            raise ValueError(f"{quoted(item)} is not a {noun}")
    return tuple(by_fold[folded(item)] for item in items)


def _tiers(cell: Any) -> tuple[tuple[float, float], ...]:
    if not isinstance(cell, list) or not cell:
        raise ValueError
    if fault := wrong_tier(cell):
        raise ValueError(fault[1])
    return tuple((float(tier.get("to", math.inf)), float(tier["price"]))
                 for tier in cell)  # fmt: skip


def wrong_tier(tiers: Sequence[Any]) -> tuple[int, str] | None:
    """Number of the first tier that won't do and what is wrong with it, or None."""
    below = 0.0
    for number, item in enumerate(tiers, 1):
        last = number == len(tiers)
        wanted = {"price"} if last else {"to", "price"}
        if not isinstance(item, dict) or set(item) != wanted:
            takes = "price alone, as the last" if last else "to and price"
            return number, f"tier {number} takes {takes}"
        for key, value in item.items():
            if isinstance(value, bool) or not isinstance(value, (int, float)):
                return number, f"tier {number}: {key} is not a number"
            if not (math.isfinite(value) and value >= 0):
                return number, f"tier {number}: {key} must be 0 or more"
        limit = math.inf if last else float(item["to"])
        if limit <= below:
            return number, f"tier {number} ends at {limit:g}, before it begins"
        below = limit
    return None
