"""A verb run in process, and a site folder written as a workbook."""

import csv
import gc
import tomllib
from pathlib import Path

import openpyxl
import pytest
import remembered

from scheduler import cli
from scheduler.inputs.forms.csvfiles import delimiter_of

remembered.remember()
# Thousands of tests are read that all stay: nothing of them is rubbish to look for.
gc.disable()


def pytest_collection_finish():
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)
    gc.enable()


def rows_of_csv(text: str) -> list[list[object]]:
    """Cells of a CSV; numbers as numbers, whatever their decimal sign.

    Names of nozzles are left as text, as a column is formatted whose 6.0 is to stay.
    """
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    mark, _ = delimiter_of("\n".join(lines))
    rows = list(csv.reader(lines, delimiter=mark, skipinitialspace=True))
    names = [name.strip() for name in rows[0]]
    return [
        names,
        *(
            [
                cell.strip() or None if name == "nozzle" else as_typed(cell, mark)
                for name, cell in zip(names, row, strict=False)
            ]
            for row in rows[1:]
        ),
    ]


def as_typed(cell: str, mark: str = ",") -> object:
    """What a spreadsheet makes of a cell that is typed in."""
    cell = cell.strip()
    if not cell:
        return None
    number = cell.replace(",", ".") if mark == ";" else cell
    try:
        return int(number)
    except ValueError:
        pass
    try:
        return float(number)
    except ValueError:
        return cell


def book_of(folder: Path) -> openpyxl.Workbook:
    """Workbook with the sheets that the files of a folder would make."""
    content = tomllib.loads((folder / "site.toml").read_text(encoding="utf-8"))
    book = openpyxl.Workbook()
    sheets = {"site": [["table", "key", "value", "help"]]}
    windows = content.pop("window", [])
    tiers = content.get("water", {}).pop("tiers", [])
    door = content.pop("door", {})
    for table, keys in content.items():
        if not isinstance(keys, dict):
            sheets["site"].append([None, table, keys])
            continue
        for key, value in keys.items():
            sheets["site"].append([table, key, value, "some help"])
    if windows:
        names = list(dict.fromkeys(name for window in windows for name in window))
        rows = [[in_a_cell(window.get(name)) for name in names] for window in windows]
        sheets["windows"] = [names, *rows]
    if tiers:
        rows = [[tier.get("to"), tier["price"]] for tier in tiers]
        sheets["tiers"] = [["to", "price"], *rows]
    if door:
        sheets["door"] = [["key", "value"], *([k, v] for k, v in door.items())]
    for path in sorted(folder.glob("*.csv")):
        if path.stem not in ("nozzles", "climate", "rain", "last_weeks"):
            sheets[path.stem] = rows_of_csv(path.read_text(encoding="utf-8"))
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    return book


def in_a_cell(value: object) -> object:
    """A list of site.toml as people write it into one cell."""
    return " ".join(map(str, value)) if isinstance(value, list) else value


def put_book(folder: Path, name: str = "site.xlsx") -> Path:
    """Write a folder's files as a workbook in their place."""
    book = book_of(folder)
    for path in folder.iterdir():
        if path.name == "site.toml" or path.stem in book.sheetnames:
            path.unlink()
    book.save(folder / name)
    return folder / name


@pytest.fixture(scope="session")
def as_book():
    return book_of


@pytest.fixture(scope="session")
def put_workbook():
    return put_book


class Ran:
    """What a run of the command gave."""

    def __init__(self, status: int, out: str, err: str) -> None:
        self.status, self.out, self.err = status, out, err


@pytest.fixture
def run(capsys):
    def run_(*arguments: object) -> Ran:
        capsys.readouterr()
        status = cli.status([str(argument) for argument in arguments])
        captured = capsys.readouterr()
        return Ran(status, captured.out, captured.err)

    return run_


@pytest.fixture(scope="session", autouse=True)
def _cards_are_made_once(request, tmp_path_factory):
    if hasattr(request.config, "workerinput"):
        folder = tmp_path_factory.getbasetemp().parent / "cards"
        folder.mkdir(exist_ok=True)
        remembered.share_in(folder)
