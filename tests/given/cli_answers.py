"""What tests of verbs go by: the examples, the options, and answers taken apart."""

import csv
import io
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "examples"
SITES = ("home", "southern_garden", "business_park")
FORMATS = ("text", "markdown", "csv", "json")
UNITS = ("us", "metric")
WIDTH = 100
# Exact: inch; US gallon of 231 cubic inches, in liters; square of the foot.
MM_PER_IN, L_PER_GAL, M2_PER_FT2 = 25.4, 231 * 0.254**3, 0.3048**2
VERBS = ("check", "rates", "climate", "table", "explain")


def arguments_of(verb: str, site: Path) -> list[object]:
    """The verb with what it needs."""
    return [verb, site, "--zone", "1", "--month", "7"] if verb == "explain" else [
        verb, site]  # fmt: skip


def replace(folder: Path, file: str, old: str, new: str) -> None:
    text = (folder / file).read_text(encoding="utf-8")
    assert text.count(old) == 1, f"{old!r} is not once in {file}"
    (folder / file).write_text(text.replace(old, new), encoding="utf-8")


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def markdown_tables(text: str) -> list[list[list[str]]]:
    """Cells of every markdown table; a bar after a backslash is none."""
    tables: list[list[list[str]]] = []
    before = ""
    for line in text.split("\n"):
        if line.startswith("|"):
            cells = re.split(r"(?<!\\)\|", line)[1:-1]
            if not before.startswith("|"):
                tables.append([])
            tables[-1].append([cell.strip() for cell in cells])
        before = line
    return tables


def approx(value: float) -> object:
    # CSV carries six digits: half a unit of the sixth is at most 5e-6 of the number.
    return pytest.approx(value, rel=5e-6, abs=1e-9)
