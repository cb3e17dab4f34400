"""The package's tables as their bytes say, without the package's own reader."""

import csv
import importlib.resources
import re

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov",
          "dec")  # fmt: skip
STATUSES = ("read", "second-hand", "from memory")


def table_text(name: str) -> str:
    path = importlib.resources.files("scheduler") / "tables" / f"{name}.csv"
    return path.read_bytes().decode("utf-8")


def read_table(name: str) -> list[dict[str, str]]:
    lines = table_text(name).splitlines()
    return list(csv.DictReader(lines, restkey="too many", strict=True))


def read_by(name: str, key: str) -> dict[str, dict[str, str]]:
    rows = read_table(name)
    by_key = {row[key]: row for row in rows}
    assert len(by_key) == len(rows)
    return by_key


def coefficients(row: dict[str, str]) -> list[float]:
    if row["coefficient"]:
        return [float(row["coefficient"])] * 12
    return [float(row[month]) for month in MONTHS]


def source_parts(row: dict[str, str]) -> dict[str, tuple[str, str]]:
    """Split `name (value, value[, status]); …` into value -> (name, status)."""
    found: dict[str, tuple[str, str]] = {}
    for part in row["source"].split("; "):
        match = re.fullmatch(r"([^()]+) \(([^()]+)\)", part)
        assert match, part
        words = match[2].split(", ")
        status = words.pop() if words[-1] in STATUSES else "read"
        for value in words:
            assert value not in found, (row, value)
            found[value] = (match[1], status)
    return found
