"""A replay as a workbook: numbers, units in headers, the digits of its text."""

import io

import openpyxl
import pytest
from cards import cards_of, plan_of

from scheduler.budget import replay as replays
from scheduler.report.books.workbook import to_workbook
from scheduler.report.views import replay as view

# Headers of numbers, each with its unit and the decimals that text has: whole days, a
# percent, and depths to a hundredth of an inch or to the millimeter.
WHOLE = ("dry days of 100", "longest dry run (days)", "adequacy (%)", "excess (%)")
DEPTHS = ("irrigation", "rain", "rain used", "percolation", "runoff", "taken up",
          "need")  # fmt: skip


@pytest.fixture(scope="module")
def found():
    return replays.replay(plan_of("home"), cards_of("home")[4])


@pytest.mark.parametrize(
    ("units", "depth", "digits", "volume"),
    [("us", "in", "0.00", "gal"), ("metric", "mm", "0", "L")],
)
def test_replay_is_a_workbook_of_numbers(found, units, depth, digits, volume):
    table = view.to_table(found)
    book = openpyxl.load_workbook(
        io.BytesIO(to_workbook(table, units, "Years played", "home"))
    )
    (sheet,) = book.worksheets
    head, *rows = sheet.iter_rows()
    columns = {cell.value: place for place, cell in enumerate(head)}

    formats = dict.fromkeys(WHOLE, "0")
    formats |= {f"{name} ({depth})": digits for name in DEPTHS}
    formats[f"water ({volume})"] = "0"
    assert set(columns) == {"zone", "name", "watered by", "worst year", *formats}
    assert len(rows) == 5 * len(found.ways)
    for name, shown in formats.items():
        cells = [row[columns[name]] for row in rows]
        assert {cell.data_type for cell in cells} == {"n"}
        assert {cell.number_format.removeprefix("#,##") for cell in cells} == {shown}


# What text, CSV and workbook tell of a zone and a way is one number.
def test_workbook_of_a_replay_holds_what_its_text_shows(found):
    table = view.to_table(found)
    content = to_workbook(table, "us", "Years played", "home")
    sheet = openpyxl.load_workbook(io.BytesIO(content)).active
    heads, *rows = sheet.iter_rows(values_only=True)
    shown = view.zone_table(found, 0)
    water = {c.name: c.cells("us") for c in shown.columns}

    for row, told in zip(rows, range(len(found.ways)), strict=False):
        cells = dict(zip(heads, row, strict=True))
        assert f"{cells['irrigation (in)']:,.2f}" == water["irrigation"][told]
        assert f"{cells['water (gal)']:,.0f}" == water["water"][told]
        assert f"{cells['dry days of 100']:.0f}" == water["dry"][told]
