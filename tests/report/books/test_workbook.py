"""Workbooks of reports: another library reads back what people are to see."""

import csv
import datetime
import io
import re
import zipfile
from types import SimpleNamespace

import hypothesis
import numpy as np
import openpyxl
import pytest
from hypothesis import strategies as st

from scheduler.report.books.workbook import NARROWEST, WIDEST, to_workbook
from scheduler.report.data import to_csv
from scheduler.report.frames import Column, Table
from scheduler.report.views.months import in_a_year

NAMES = [
    "=1+1",
    "=cmd|' /C calc'!A0",
    "+41 lawn",
    "-3",
    "@home",
    "<script>alert(1)</script>",
    "Johnson & Sons &P &D",
    "حديقة أمامية",
    "庭 🌱🌱",
    "x" * 200,
    "12 Elm",
    "'quoted",
    "[a]:b*c?/\\",
]  # fmt: skip


def small(*names):
    """A table of every kind of column."""
    count = len(names)
    return Table(
        (
            Column("zone", "zone", names),
            Column("depth", "to\napply", [25.4] * count, "depth"),
            Column("volume", "volume", [3785.411784 * 1234.5678] * count, "volume"),
            Column("minutes", "min a day", [7.5] * count, text="{:g}".format),
            Column("first", "first date", [datetime.date(2027, 3, 1)] * count),
            Column("blank", "nothing", [float("nan")] * count, "area"),
        )
    )


def sheet_of(content):
    book = openpyxl.load_workbook(io.BytesIO(content))
    assert len(book.worksheets) == 1
    return book.worksheets[0]


def read_back(table, units="us", site="Somewhere"):
    return sheet_of(to_workbook(table, units, "Watering table", site))


def test_headers_are_words_with_their_units():
    titles = {
        units: [cell.value for cell in read_back(small("1"), units)[1]]
        for units in ("us", "metric")
    }

    assert titles["us"] == [
        "zone", "to apply (in)", "volume (gal)", "watering a day (min)", "first date",
        "nothing (ft²)",
    ]  # fmt: skip
    assert titles["metric"][1:3] == ["to apply (mm)", "volume (L)"]


# 25.4 mm is 1 in, 3.785411784 L a gallon: both exact, so 1234567.8 gal.
def test_numbers_are_numbers_and_dates_dates_in_the_digits_people_are_shown():
    zone, depth, volume, minutes, first, blank = read_back(small("1"))[2]

    assert (zone.value, zone.data_type) == (1, "n")
    assert (depth.value, depth.number_format) == (1.0, "#,##0.00")
    assert volume.value == pytest.approx(1234567.8, rel=1e-5)
    assert volume.number_format == "#,##0"
    assert (minutes.value, minutes.number_format) == (7.5, "0.0")
    assert first.is_date
    assert first.value == datetime.datetime(2027, 3, 1)
    assert blank.value is None


def test_rows_are_those_of_the_csv():
    table = small("1", "2", "3")
    rows = list(csv.reader(io.StringIO(to_csv(table, "metric"))))[1:]
    sheet = read_back(table, "metric")

    assert sheet.max_row == 1 + len(rows)
    for cells, row in zip(sheet.iter_rows(min_row=2), rows, strict=True):
        for cell, text in zip(cells, row, strict=True):
            if cell.is_date:
                assert cell.value.date().isoformat() == text
            elif isinstance(cell.value, (int, float)):
                assert cell.value == float(text)
            else:
                assert (cell.value or "") == text


@pytest.mark.parametrize("name", NAMES)
def test_text_is_never_a_formula_and_reads_back_as_it_was(name):
    cell = read_back(small(name), site=name).cell(2, 1)

    assert (cell.value, cell.data_type) == (name, "s")
    assert bool(cell.quotePrefix) is (name[0] in "=+-@")


@hypothesis.given(st.text(max_size=30))
@hypothesis.settings(max_examples=60, deadline=None)
def test_any_text_reads_back_but_for_what_xml_cannot_hold(text):
    # XML 1.0, production 2 (Char), read: tab, line feed, carriage return, and from
    # U+0020 on all but surrogates, U+FFFE and U+FFFF; 2.11: a return is read as a line
    # feed.
    kept = "".join(
        letter
        for letter in text
        if letter in "\t\n\r" or (letter >= "\x20" and letter not in "\ufffe\uffff")
    )
    kept = "".join(c for c in kept if not "\ud800" <= c <= "\udfff")
    kept = kept.replace("\r\n", "\n").replace("\r", "\n")
    sheet = read_back(small("first", text), site=text)

    assert (sheet.cell(3, 1).value or "") == kept
    assert sheet.cell(3, 1).data_type != "f"


# ECMA-376 part 1, 18.3.1.46 (from memory): "&&" is an ampersand in a footer, and a
# footer holds 255 letters.
@pytest.mark.parametrize("name", NAMES)
def test_footer_has_the_site_s_name_with_its_codes_escaped(name):
    with zipfile.ZipFile(io.BytesIO(to_workbook(small("1"), "us", "T", name))) as parts:
        xml = parts.read("xl/worksheets/sheet1.xml").decode()
    footer = re.search(r"<oddFooter>(.*?)</oddFooter>", xml)[1]

    assert len(footer) <= 255
    told = footer.removeprefix("&amp;L").removesuffix("&amp;R&amp;P / &amp;N")
    told = told.replace("&amp;", "&").replace("&lt;", "<").replace("&gt;", ">")
    assert "&" not in told.replace("&&", "")
    cut = told.replace("&&", "&")
    first, _, last = cut.partition("…")
    assert cut == name or (len(cut) == 80 and name.startswith(first) and last
                           and name.endswith(last))  # fmt: skip


def test_months_have_names_and_times_are_the_clock_s():
    table = Table(
        (
            Column("month", "month", [1, 12, ""]),
            Column("months", "months", ["4 5 6", "12", "all"]),
            Column("start", "start", ["2027-07-13T21:00:00-07:00"] * 3),
        )
    )
    sheet = read_back(table)

    assert [c.value for c in sheet["A"]] == ["month", "Jan", "Dec", None]
    assert [c.value for c in sheet["B"]] == ["months", "Apr-Jun", "Dec", "all"]
    assert sheet["C2"].value == datetime.datetime(2027, 7, 13, 21, 0)


@pytest.mark.parametrize(
    ("label", "header"),
    [
        ("soak min", "soak (min)"),
        ("Jan %", "Jan (%)"),
        ("min\na week", "watering a week (min)"),
        ("min over", "over (min)"),
        ("min", "run (min)"),
        ("fill days", "fill (days)"),
        ("days a week", "days a week"),
        ("minutes", "minutes"),
    ],
)
def test_units_in_labels_stand_in_brackets(label, header):
    assert read_back(Table((Column("x", label, [1.0]),)))["A1"].value == header


# The sums by hand: a column's, a row's, and both.
def test_zones_by_months_have_their_totals_first():
    zones = SimpleNamespace(zone=("1", "2"), name=("Lawn", "Bed"))
    values = np.arange(24.0).reshape(2, 12)
    table = in_a_year(zones, values, "", "min")
    book = openpyxl.load_workbook(
        io.BytesIO(to_workbook(small("1"), "us", "T", "S", [("Minutes", table)]))
    )
    rows = list(book["Minutes"].iter_rows(values_only=True))

    assert book.sheetnames == ["Minutes", "T"]
    # Above the headers: sorting and filtering do not touch them.
    assert rows[0][:4] == ("all zones", None, 23 * 24 / 2, 0 + 12)
    assert rows[1][:4] == ("zone", "name", "year (min)", "Jan (min)")
    assert rows[2][:4] == (1, "Lawn", 11 * 12 / 2, 0)
    assert rows[3][2] == 23 * 24 / 2 - 11 * 12 / 2
    assert book["Minutes"].freeze_panes == "C3"
    assert book["Minutes"].auto_filter.ref == "A2:O4"


def test_keys_that_are_whole_numbers_stand_as_numbers_and_no_others():
    def keys(*zones):
        sheet = read_back(Table((Column("zone", "zone", zones),)))
        return [cell.value for cell in sheet["A"][1:]]

    assert keys("1", "12") == [1, 12]
    # A key of letters or of leading noughts keeps them all as they were written.
    assert keys("1", "12b") == ["1", "12b"]
    assert keys("01", "2") == ["01", "2"]


def test_the_first_sheet_tells_site_day_and_cautions_in_full_lines():
    about = ["Home", "Made 2 Apr 2027.", "=1+1 is told " + "as it is, " * 20]
    content = to_workbook(small("1"), "us", "Table", "Home", (), about)
    book = openpyxl.load_workbook(io.BytesIO(content))

    assert book.sheetnames == ["About", "Table"]
    assert [cell.value for cell in book["About"]["A"]] == about
    assert book["About"].row_dimensions[3].height > 2 * 14


def test_columns_that_name_a_row_stay_in_sight():
    names = ("zone", "station", "name", "month", "volume")
    table = Table(tuple(Column(name, name, [1]) for name in names))
    other = Table(tuple(Column(name, name, [1]) for name in ("visit", "zone")))

    assert read_back(table, "us").freeze_panes == "E2"
    assert read_back(other, "us").freeze_panes == "A2"


@pytest.mark.parametrize(("units", "paper"), [("us", 1), ("metric", 9)])
def test_page_lies_across_one_wide_with_headers_on_each(units, paper):
    sheet = read_back(small("1", "2"), units)

    assert sheet.freeze_panes == "B2"
    assert sheet.print_title_rows == "$1:$1"
    assert sheet.page_setup.orientation == "landscape"
    assert sheet.page_setup.paperSize == paper
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (1, 0)
    assert sheet.auto_filter.ref == "A1:F3"


def test_widths_fit_the_longest_cell_within_bounds():
    widths = read_back(small("1", "x" * 200)).column_dimensions

    assert widths["A"].width == WIDEST
    # "1,234,568" has 9 letters.
    assert widths["C"].width == 12
    assert all(NARROWEST <= width.width <= WIDEST for width in widths.values())


def test_bytes_do_not_depend_on_the_clock(monkeypatch):
    first = to_workbook(small("1"), "us", "Watering table", "Somewhere")
    monkeypatch.setattr("time.time", lambda: 2e9)
    again = to_workbook(small("1"), "us", "Watering table", "Somewhere")

    assert first == again
    with zipfile.ZipFile(io.BytesIO(first)) as parts:
        assert {part.date_time[0] for part in parts.infolist()} == {1980}
        assert b"1980-01-01" in parts.read("docProps/core.xml")
