"""A site in a workbook: the same site as its files, the same errors with cells."""

import dataclasses
import datetime

import numpy as np
import openpyxl
import pytest

from scheduler.inputs.folder import read_site
from scheduler.inputs.forms.fields import FILES, SITE_TABLES
from scheduler.inputs.forms.names import SHEETS

ALL_SHEETS = ", ".join(SHEETS)
MADE_A_DATE = (
    "\n  hint: spreadsheets turn what looks like a date into one: format the cell as "
    "text, and type it again"
)


def assert_same(first, second):
    """Two records are equal, arrays and all."""
    for field in dataclasses.fields(first):
        one, two = getattr(first, field.name), getattr(second, field.name)
        if field.name == "names":
            continue
        if dataclasses.is_dataclass(one) and not isinstance(one, type):
            assert_same(one, two)
        elif isinstance(one, np.ndarray):
            np.testing.assert_array_equal(one, two)
        elif isinstance(one, tuple) and any(isinstance(i, np.ndarray) for i in one):
            assert len(one) == len(two)
            for a, b in zip(one, two, strict=True):
                np.testing.assert_array_equal(a, b)
        else:
            assert one == two, field.name


# Cells as people have them.


def test_workbook_reads_as_the_same_site_as_its_files(book, files):
    assert_same(book.read(), files)


def test_numbers_may_be_text_and_text_numbers(book, files):
    book["zones"]["A2"] = 1.0
    book["zones"]["F2"] = "1000"
    book["heads"]["A2"] = "1"
    book["heads"]["C2"] = " 90 "
    book["site"]["C3"] = "40.0"

    assert_same(book.read(), files)


def test_percentages_are_shares_but_where_percents_are_meant(book, files):
    assert [book["zones"].cell(1, k).value for k in (5, 8)] == [
        "slope_percent", "uniformity"]  # fmt: skip
    for cell, value in (("H2", 0.62), ("E2", 0.02)):
        book["zones"][cell] = value
        book["zones"][cell].number_format = "0.0 %"
    book["site"].append(["plan", "dry_days_percent", 0.07])
    book["site"].cell(book["site"].max_row, 3).number_format = "0%"
    site = book.read()

    assert_same(site.zones, files.zones)
    assert site.dry_share == pytest.approx(0.07)


def test_times_of_day_may_be_time_values(book):
    book["windows"]["B2"] = datetime.time(20, 30)
    book["windows"]["D1"] = "closes"
    book["windows"]["D2"] = datetime.datetime(1900, 1, 1)
    site = book.read()

    # A time of 24:00 is one whole day, which the format's calendar shows as its first
    # date, 1 January 1900.
    assert (site.windows[0].opens, site.windows[0].closes) == ("20:30", "24:00")


@pytest.mark.parametrize("written", ["mon wed", "mon, wed", "Wednesday; Monday"])
def test_lists_stand_in_a_cell_as_people_write_them(book, written):
    book["windows"]["A2"] = written
    book["windows"]["D1"] = "head_kinds"
    book["windows"]["D2"] = "multi stream" if ";" in written else "rotor, multi-stream"
    (window,) = book.read().windows

    assert window.weekdays == ("mon", "wed")
    assert window.months == (4, 5)
    assert window.head_kinds[-1] == "multi-stream"


def test_dates_and_yes_may_be_values_of_the_spreadsheet(book):
    planted = datetime.datetime(2026, 3, 5)
    for column, (name, value) in enumerate(
        [("planted", planted), ("stage", "sod"), ("regulated", True)], 9
    ):
        book["zones"].cell(1, column).value = name
        book["zones"].cell(2, column).value = value
    site = book.read()

    assert site.zones.regulated.tolist() == [True, False]
    assert site.zones.planted == (planted.date(), None)


def test_layout_of_a_sheet_does_not_matter(book, files):
    zones = book["zones"]
    zones.title = " Zones "
    zones.sheet_state = "hidden"
    zones.insert_rows(1, 2)
    zones.insert_rows(5, 3)
    zones["A1"] = "# as walked in March"
    zones.row_dimensions[4].hidden = True
    zones["C4"] = "\u00a0Cool-season\u00a0turf "
    zones["A4"].comment = openpyxl.comments.Comment("ask", "me")
    zones["A1048576"].number_format = "0.00"
    zones["AB9"].number_format = "0.00"
    site = book.read()

    # Rows that are not seen count, so they are told.
    assert site.hidden == ((" Zones ", (4,)),)
    assert_same(dataclasses.replace(site, hidden=()), files)


def test_climate_may_be_a_sheet(book, files):
    book["site"].delete_rows(5)
    assert [c.value for c in book["site"][4]][:2] == ["site", "longitude"]
    sheet = book.book.create_sheet("climate")
    for line in book.site.text("climate.csv").splitlines():
        sheet.append([float(c) if c[0].isdigit() else c for c in line.split(",")])
    (book.site.path / "climate.csv").unlink()
    site = book.read()

    assert site.climate.source == "site.xlsx: climate"
    np.testing.assert_array_equal(site.climate.et0_mm_day, files.climate.et0_mm_day)
    np.testing.assert_array_equal(site.climate.rain_mm, files.climate.rain_mm)


def test_days_of_weather_may_be_a_sheet(book):
    book["site"]["C5"] = None
    sheet = book.book.create_sheet("Climate")
    sheet.append(["date", "et0_mm", "rain_mm"])
    day = datetime.datetime(2023, 1, 1)
    for number in range(365):
        sheet.append([day + datetime.timedelta(number), 3.5, "T" if number else None])
    sheet["C9"] = "M"
    site = book.read()

    assert len(site.climate) == 365
    assert site.climate.date[-1] == np.datetime64("2023-12-31")
    assert np.isnan(site.climate.rain_mm).sum() == 2


def test_climate_file_goes_before_the_sheet_which_is_told(book):
    book.book.create_sheet("climate").append(["month", "et0_mm_day"])

    assert book.read().unread == ("climate",)


def test_sheets_that_are_no_site_s_are_told(book):
    book.book.create_sheet("Notes")["A1"] = "=1/0"
    book.book.create_sheet("Zones (2)")

    assert book.read().unread == ("Notes", "Zones (2)")


def test_door_lines_are_read_beside_an_empty_sheet_of_parts(book):
    door, parts = book.book.create_sheet("Door"), book.book.create_sheet("parts")
    for row in (["key", "value"], ["shut_off", "left of the gate"]):
        door.append(row)
    parts.append(["zone", "part", "share"])

    assert book.read().door == (("shut_off", "left of the gate"),)


def test_name_is_the_folder_s_or_else_the_workbook_s(book):
    assert book.read().name == "us_site"

    book.path.rename(book.path.with_name("Elm Street.xlsx"))
    assert read_site(book.path.with_name("Elm Street.xlsx")).name == "Elm Street"


# What goes wrong: whole messages.

ZONE_COLUMNS = ", ".join(n for field in FILES["zones.csv"] for n in field.names)


@pytest.mark.parametrize(
    ("sheet", "cell", "value", "problem"),
    [
        ("heads", "C4", 400,
         "site.xlsx: heads!C4: arc_deg: 400 is not an arc\n"
         "  accepted: a number over 0 and up to 360\n"
         "  hint: write 360 for a full circle"),
        ("heads", "C4", datetime.datetime(2026, 5, 3),
         "site.xlsx: heads!C4: arc_deg: 2026-05-03 is not a number\n"
         "  accepted: a number over 0 and up to 360" + MADE_A_DATE),
        ("heads", "B4", datetime.datetime(2026, 5, 3),
         "site.xlsx: heads!B4: nozzle: 2026-05-03 is not text\n"
         "  accepted: text" + MADE_A_DATE),
        ("windows", "C2", datetime.datetime(2026, 4, 5),
         "site.xlsx: windows!C2: months: 2026-04-05 is not a list of months\n"
         '  accepted: months by number or name, as [4, 5, 6], "4-6" or "Apr-Oct"'
         + MADE_A_DATE),
        ("windows", "A2", "mon foo",
         'site.xlsx: windows!A2: days: "foo" is not a weekday\n'
         '  accepted: "any", "odd", "even", or a list of mon, tue, wed, thu, fri, sat, '
         "sun"),
        ("windows", "B2", 21,
         'site.xlsx: windows!B2: opens: "21" is not a time of day\n'
         "  accepted: a time of day, as 21:00\n"
         '  hint: write "21:00"'),
        ("windows", "B1", "open",
         "site.xlsx: windows!B2: open: unknown key\n"
         "  accepted: months, head_kinds, days, opens, closes, most_days_a_week, "
         "stages, stage_days\n"
         "  hint: did you mean opens?"),
        ("tiers", "B3", "$4.00",
         'site.xlsx: tiers!B3: price: "$4.00" is not a number\n'
         "  accepted: a number from 0 to 1000000"),
        ("tiers", "A3", 5,
         "site.xlsx: tiers!A3: tier 2 ends at 5, before it begins\n"
         "  accepted: a row for each tier, to and price; the last has price alone"),
        ("tiers", "A4", 30,
         "site.xlsx: tiers!A4: tier 3 takes price alone, as the last\n"
         "  accepted: a row for each tier, to and price; the last has price alone"),
        ("site", "C3", 95,
         "site.xlsx: site!C3: site.latitude: 95 is not a latitude\n"
         "  accepted: a number from -90 to 90"),
        ("site", "C3", "95 N",
         'site.xlsx: site!C3: site.latitude: "95 N" is not a number\n'
         "  accepted: a number from -90 to 90\n"
         "  hint: write the number alone"),
        ("site", "C3", None,
         "site.xlsx: site: site.latitude: is missing\n"
         "  accepted: a number from -90 to 90"),
        ("site", "A3", "sites",
         "site.xlsx: site!A3: sites: unknown table\n"
         "  accepted: site, climate, plan, supply, window, controller, water, door\n"
         "  hint: did you mean site?"),
        ("site", "B3", "latitud",
         "site.xlsx: site!C3: site.latitud: unknown key\n  accepted: "
         + ", ".join(n for field in SITE_TABLES["site"] for n in field.names)
         + "\n  hint: did you mean latitude?"),
        ("site", "A3", None,
         "site.xlsx: site!A3: latitude: its table is blank\n  accepted: site"),
        ("site", "B3", None,
         "site.xlsx: site!B3: site: value has no key\n  accepted: a key of the table"),
        ("site", "C1", "what",
         "site.xlsx: site!A1: value: column is missing\n  accepted: table, key, value\n"
         "  hint: the first filled row names the columns: take a title out, or begin "
         "its row with #"),
        ("heads", "A4", 9,
         'site.xlsx: heads!A4: zone: "9" is not a zone of sheet zones\n'
         "  accepted: 1, 2"),
        ("zones", "A3", 1,
         'site.xlsx: zones!A3: zone: "1" is named twice (first in row 2)\n'
         "  accepted: a name of its own for each zone"),
        ("zones", "F1", "area",
         "site.xlsx: zones!F1: area: its unit is missing\n"
         "  accepted: area_m2 or area_ft2"),
        ("zones", "K3", 12,
         "site.xlsx: zones!K3: column K has a cell but no name\n"
         "  hint: name the column, or empty it"),
        ("zones", "E2", "=1+1",
         "site.xlsx: zones!E2: is a formula without a stored value\n"
         "  hint: open the workbook in a spreadsheet and save it, or type the value"),
        ("zones", "E2", "#DIV/0!",
         "site.xlsx: zones!E2: #DIV/0! is what a formula fails with\n"
         "  hint: mend the formula, or type the value"),
        ("zones", "D2", None,
         "site.xlsx: zones!D2: soil: is blank\n"
         "  accepted: soil texture, from the table of soils or sheet soils"),
    ],
)  # fmt: skip
def test_problem_names_sheet_and_cell(book, sheet, cell, value, problem):
    book[sheet][cell] = value
    told = book.problems()

    assert problem in told
    # What is missing for it is told beside it, and nothing else.
    assert len(told) <= 3


def test_a_row_of_a_sheet_is_no_line(book):
    column = book["zones"].max_column + 1
    for row, value in enumerate(("station", 5, 5), 1):
        book["zones"].cell(row, column).value = value

    (told,) = book.problems()

    assert 'station: 5 is the station of zone "1" too (row 2)\n' in told


def test_unit_of_the_bill_that_is_missing_is_told_of_the_sheet(book):
    rows = {row[1].value: row[0].row for row in book["site"].iter_rows()}
    book["site"].delete_rows(rows["billing_unit"])

    assert book.problems() == [
        "site.xlsx: site: water.billing_unit: is missing: a price is for some unit\n"
        "  accepted: ccf, kgal, m3\n"
        "  hint: the bill names it"
    ]


@pytest.mark.parametrize(
    ("row", "problem"),
    [
        (["site", "latitude", 41],
         "site.xlsx: site!A9: site.latitude: is there twice\n"
         "  accepted: one row for a key"),
        (["water", "tiers", "10 3"],
         "site.xlsx: site!A9: water.tiers: has a sheet of its own, tiers\n"
         "  accepted: a row of sheet tiers"),
        (["window", "opens", "21:00"],
         "site.xlsx: site!A9: window.opens: has a sheet of its own, windows\n"
         "  accepted: a row of sheet windows"),
        (["door", "shut_off", "gate"],
         "site.xlsx: site!A9: door.shut_off: has a sheet of its own, door\n"
         "  accepted: a row of sheet door"),
        (["supply", "pipe_material", "tin"],
         "site.xlsx: site!C9: supply.pipe_material: the pipe's inside diameter is not "
         "given\n  accepted: pipe_diameter_mm or pipe_diameter_in beside it"),
    ],
)  # fmt: skip
def test_row_of_sheet_site_that_will_not_do(book, row, problem):
    assert book["site"].max_row == 6
    book["site"].append([None])
    book["site"].append(["# a remark"])
    book["site"].append(row)

    assert book.problems()[0].startswith(problem)


def test_merged_cells_are_named(book):
    book["zones"].merge_cells("C2:C3")
    book["zones"].merge_cells("A1:B1")
    book["zones"].merge_cells("A9:H9")

    assert sorted(book.problems()) == [
        f"site.xlsx: zones!{first}: cells {cells} are merged\n"
        "  accepted: a value in each cell that has one\n"
        "  hint: unmerge them"
        for first, cells in (("A1", "A1:B1"), ("C2", "C2:C3"))
    ]


def test_many_merged_ranges_are_counted(book):
    book["zones"].delete_rows(2, 2)
    for row in range(2, 17):
        book["zones"].cell(row, 1).value = f"z{row}"
        book["zones"].merge_cells(
            start_row=row, end_row=row, start_column=2, end_column=3
        )
    told = book.problems()

    assert len(told) == 11
    assert told[-1].splitlines()[0] == (
        "site.xlsx: zones!B14: and 5 more ranges are merged"
    )


def test_title_above_the_table_is_told(book):
    book["zones"].insert_rows(1)
    book["zones"]["A1"] = "Our garden"

    assert book.problems() == [
        "site.xlsx: zones!A1: names no column that is known\n"
        f"  accepted: {ZONE_COLUMNS}\n"
        "  hint: the first filled row names the columns: take a title out, or begin "
        "its row with #"
    ]


def test_help_beside_the_keys_may_hold_anything(book, files):
    book["site"]["D2"] = "=1+1"
    book["site"].merge_cells("D3:E5")
    book["site"]["G4"] = "see the plan"

    assert_same(book.read(), files)


def test_missing_sheets_are_told_with_the_nearest(book):
    book["zones"].title = "zone list"
    book["site"].title = "sit"

    assert book.problems() == [
        f"site.xlsx: has no sheet site\n  accepted: {ALL_SHEETS}\n"
        '  hint: if sheet "sit" is meant, rename it site',
        f"site.xlsx: has no sheet zones\n  accepted: {ALL_SHEETS}\n"
        '  hint: if sheet "zone list" is meant, rename it zones',
    ]


def test_empty_workbook_has_no_sheets_of_a_site(book):
    book.book = openpyxl.Workbook()

    assert book.problems() == [
        f"site.xlsx: has no sheet {name}\n  accepted: {ALL_SHEETS}"
        for name in ("site", "zones")
    ]


def test_empty_sheet_is_told(book):
    book["heads"].delete_rows(1, 9)

    assert book.problems() == [
        "site.xlsx: heads: is empty\n  hint: the first row names the columns"
    ]


def test_sheet_of_a_nearly_known_name_is_told(book):
    book.book.create_sheet("Outlines")

    assert book.problems() == [
        'site.xlsx: sheet "Outlines" is none of a site\'s\n'
        f"  accepted: {ALL_SHEETS}\n  hint: did you mean outline?"
    ]


def test_two_sheets_of_one_name_are_told(book):
    book.book.create_sheet("ZONES_")

    assert book.problems() == [
        'site.xlsx: has two sheets for zones: "zones" and "ZONES_"\n'
        "  accepted: one sheet of that name"
    ]


def test_chart_sheet_in_place_of_a_table_is_told(book):
    book.book.remove(book["heads"])
    chart = book.book.create_chartsheet("heads")
    chart.add_chart(openpyxl.chart.BarChart())

    assert book.problems()[0] == (
        'site.xlsx: sheet "heads" is a chart\n  accepted: a sheet of cells'
    )


def test_zone_without_heads_names_the_sheet(book):
    book.book.remove(book["heads"])
    book.book.create_sheet("what stands where")

    assert book.problems() == [
        f"site.xlsx: zones!A{row}: zone: the zone's flow is not known\n"
        "  accepted: heads with flow and spacing, or a flow and an area, or a rate and "
        "an area or flow, or emitters and an area or plants with canopies\n"
        "  hint: there is no sheet heads"
        for row in (2, 3)
    ]
