"""Reports for programs: JSON in SI, and CSV."""

from __future__ import annotations

import csv
import io
import json
import re
from typing import Any

import numpy as np

from scheduler.report import shown
from scheduler.report.frames import Table

FORMAT = 1

_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
_HIGH_CODES = re.compile(r"[\x7f-\x9f]")
"""Control codes that JSON lets through as they are."""
_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?", re.ASCII)


def to_csv(table: Table, units: str) -> str:
    """Table as CSV, units in the headers."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow([column.header(units) for column in table.columns])
    columns = [map(_cell, column.data(units)) for column in table.columns]
    writer.writerows(zip(*columns, strict=True))
    return shown.visible(stream.getvalue())


def _cell(value: Any) -> Any:
    """Value for a spreadsheet, which must not take text for a formula.

    Text that begins as a formula would gets an apostrophe in front; numbers, and text
    that is one, stay.
    """
    if not isinstance(value, str) or not value.startswith(_FORMULA_STARTS):
        return value
    return value if _NUMBER.fullmatch(value) else f"'{value}"


def to_json(content: dict[str, Any]) -> str:
    """JSON text with the format number first; NaN becomes null."""
    text = json.dumps(
        {"format": FORMAT, **_plain(content)}, indent=1, ensure_ascii=False,
        allow_nan=False,
    )  # fmt: skip
    return _HIGH_CODES.sub(lambda code: f"\\u{ord(code[0]):04x}", text) + "\n"


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple, np.ndarray)):
        return [_plain(item) for item in value]
    if isinstance(value, (bool, np.bool_)):
        return bool(value)
    if isinstance(value, (int, np.integer)):
        return int(value)
    if isinstance(value, (float, np.floating)):
        return float(value) if np.isfinite(value) else None
    return value
