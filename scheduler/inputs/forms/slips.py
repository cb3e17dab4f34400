"""Hints for slips of the pen that people often make in a value."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from typing import Any

from scheduler.calendar import DAY_MIN, FULL_WEEKDAYS, WEEKDAYS
from scheduler.errors import Problem
from scheduler.inputs.forms.alike import folded
from scheduler.inputs.forms.dimensions import DIMENSIONS, Unit
from scheduler.inputs.forms.field import Field

_CLOCK = re.compile(
    r"(?P<hour>\d{1,2})(?:[:.h]?(?P<minute>[0-5]\d))?\s*"
    r"(?P<half>[ap])?\.?(?(half)m?)\.?\s*h?",
    re.ASCII | re.IGNORECASE,
)
_SUMS = frozenset(
    ("total", "totals", "sum", "sums", "year", "annual", "mean", "average", "all")
)
"""What the first cell of a row under the rows of a table says of it."""
_TOML_VALUE = re.compile(r"[^=#]*=\s*(?P<value>[^#]*)")
_TOML_CLOCK = re.compile(r"\d{1,2}:\d{2}(?!\d*:)", re.ASCII)
_TOML_COMMA = re.compile(r"([+-]?\d+),(\d+)", re.ASCII)
_TOML_UNIT = re.compile(r"[+-]?\d+(\.\d+)?\s*[A-Za-z°%\"'/²³]+", re.ASCII)


def value_hint(field: Field, cell: Any) -> str:
    """What a time of day or a rule for days was likely meant to be, or ""."""
    if field.kind == "clock":
        return _clock_hint(str(cell))
    if field.kind == "days":
        return _days_hint(cell)
    return ""


_OF_A_DAY = re.compile(r"0?\.\d+", re.ASCII)
"""A time of day as spreadsheets count it: a fraction of the day."""


def _clock_hint(text: str) -> str:
    if _OF_A_DAY.fullmatch(text.strip()):
        hours, minutes = divmod(round(float(text) * DAY_MIN) % DAY_MIN, 60)
        return f'write "{hours:02d}:{minutes:02d}"'
    match = _CLOCK.fullmatch(text.strip())
    if not match:
        return ""
    hour, half = int(match["hour"]), (match["half"] or "").lower()
    if half and 1 <= hour <= 12:
        hour = hour % 12 + (12 if half == "p" else 0)
    elif half or hour > 23:
        return ""
    return f'write "{hour:02d}:{match["minute"] or "00"}"'


def _days_hint(cell: Any) -> str:
    """Weekdays cut short, from one to another, or a list in one text."""
    items = cell if isinstance(cell, list) else re.split(r"[\s,;/]+", str(cell))
    meant: list[str] = []
    for item in items:
        ends = [_day_row(end) for end in re.split("[-–]", str(item))]
        if None in ends or len(ends) > 2:
            return ""
        first, last = ends[0] or 0, ends[-1] or 0
        count = (last - first) % len(WEEKDAYS) + 1
        meant += [WEEKDAYS[(first + day) % len(WEEKDAYS)] for day in range(count)]
    listed = '", "'.join(meant)
    return f'write ["{listed}"]' if meant else ""


def _day_row(text: str) -> int | None:
    """Row of a weekday of which two letters or more are written; else None."""
    start = text.strip(" .").casefold()
    rows = [row for row, day in enumerate(FULL_WEEKDAYS)
            if len(start) >= 2 and day.startswith(start)]  # fmt: skip
    return rows[0] if rows else None


def other_units_hint(field: Field, unit: Unit, number: float) -> str:
    """Units in which a number out of range would be accepted; the usual ones if any."""
    if not field.dimension:
        return ""
    fits, hints = [], []
    dimension = DIMENSIONS[field.dimension]
    for other in dict.fromkeys((dimension.shown("us"), *dimension.units)):
        value = other.to_si(number)
        low_ok = value > field.low if field.above else value >= field.low
        if other.suffix != unit.suffix and low_ok and value <= field.high:
            fits.append(other)
    usual = [u for u in fits if u in (dimension.shown("us"), dimension.si)] or fits[:1]
    if field.dimension == "depth_day":
        of_month = unit.suffix.removesuffix("_day")
        hints = [f"for a month's total of {number:g} {of_month} "
                 f"write {field.name}_month_{of_month}"]  # fmt: skip
    return ", ".join(hints + [
        f"for {number:g} {u.symbol} write {field.name}_{u.suffix}" for u in usual
    ])  # fmt: skip


def toml_hint(line: str) -> str:
    """What a line that TOML cannot read was likely meant to be, or ""."""
    match = _TOML_VALUE.match(line)
    if not match:
        return ""
    value = match["value"].strip()
    if _TOML_CLOCK.fullmatch(value):
        return f'a time of day stands in double quotes, as "{value}"'
    if comma := _TOML_COMMA.fullmatch(value):
        return f"write {comma[1]}.{comma[2]} with a decimal point"
    if value.startswith('"') and "\\" in value:
        return "in a path write / in place of \\, or put it in single quotes"
    if _TOML_UNIT.fullmatch(value):
        return "write the number alone; the unit stands in the key's name"
    return ""


def _sums_above(rows: Sequence[Sequence[Any]], row: int) -> bool:
    """Whether a row holds nothing but numbers, and one that sums the two above or more.

    Its first cell is blank: there a row's own name would stand.
    """
    filled = [place for place, cell in enumerate(rows[row]) if str(cell or "").strip()]
    if not filled or filled[0] == 0:
        return False
    sums = [_number(rows[row][place]) for place in filled]
    if None in sums:
        return False
    for place, total in zip(filled, sums, strict=True):
        above = [_number(other[place]) for other in rows[:row] if place < len(other)]
        added = [number for number in above if number is not None]
        if len(added) > 1 and math.isclose(sum(added), total or 0.0, rel_tol=1e-6):
            return True
    return False


def _number(cell: Any) -> float | None:
    """A cell as a number; None where it is none."""
    try:
        return float(str(cell).strip())
    except ValueError:
        return None


def without_sums(
    rows: Sequence[Sequence[Any]], faults: Iterable[tuple[int, Problem]]
) -> list[Problem]:
    """Problems of faults; those of a row of sums as one, which says what to do."""
    told: set[int] = set()
    kept = []
    for row, problem in faults:
        first = next((str(cell) for cell in rows[row] if cell), "")
        named = folded(first.rstrip(": ")) in _SUMS
        if not named and not _sums_above(rows, row):
            kept.append(problem)
        elif row not in told:
            told.add(row)
            wrong = f'looks like a {"row of sums" if named else "sum"}: "{first}"'
            hint = "begin it with # to have it left out"
            kept.append(Problem(problem.file, problem.line, "", wrong, hint=hint))
    return kept
