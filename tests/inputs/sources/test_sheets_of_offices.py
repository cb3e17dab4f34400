"""Workbooks as offices keep them: sums below, notes beside, spans in words."""

import numpy as np
import pytest

MONTHS = ("Jan", "Feb", "Mar", "April", "May", "June", "Jul", "Aug")


def test_row_of_sums_is_told_as_one_problem_with_what_to_do(book):
    zones = book["zones"]
    row = zones.max_row + 1
    zones.cell(row, 1).value, zones.cell(row, 6).value = "Total:", 3000

    assert book.problems() == [
        f'site.xlsx: zones!A{row}: looks like a row of sums: "Total:"\n'
        "  hint: begin it with # to have it left out"
    ]


# As a spreadsheet's sum button leaves it: the sum alone, under its column.
def test_sum_without_a_word_is_told_as_one_problem_and_other_numbers_are_not(book):
    zones = book["zones"]
    row = zones.max_row + 1
    areas = [zones.cell(r, 6).value for r in range(2, row)]
    zones.cell(row, 6).value = sum(area for area in areas if area)

    (told,) = book.problems()
    assert told.startswith(f"site.xlsx: zones!A{row}: looks like a sum: ")
    assert told.endswith("hint: begin it with # to have it left out")
    zones.cell(row, 6).value += 1
    assert "looks like a sum" not in "".join(book.problems())


def test_thousands_points_before_a_decimal_comma_are_no_unit(book):
    book["zones"]["F2"] = "1.243,0"
    (told,) = book.problems()

    assert told.startswith('site.xlsx: zones!F2: area_ft2: "1.243,0" is not a number\n')
    assert told.endswith(
        "  hint: write 1243.0, with a decimal point and nothing between thousands"
    )


def test_words_to_the_right_are_notes_and_numbers_are_not(book, files):
    book["zones"]["L2"] = "measured by hand"
    book["heads"]["X3"] = "ask"
    book["zones"]["L3"] = "2 heads were broken"

    read = book.read()
    assert read.zones.name == files.zones.name
    np.testing.assert_array_equal(read.zones.area_m2, files.zones.area_m2)
    np.testing.assert_array_equal(read.heads.radius_m, files.heads.radius_m)


def test_a_column_of_ones_own_begins_with_a_sign_and_others_are_told(book, files):
    at = book["zones"].max_column + 1
    for row, text in enumerate(("# Remarks", "old valve", 3), 1):
        book["zones"].cell(row, at).value = text
    np.testing.assert_array_equal(book.read().zones.area_m2, files.zones.area_m2)

    book["zones"].cell(1, at).value = "Remarks"
    (told,) = book.problems()
    assert "Remarks: unknown column" in told
    assert told.endswith("hint: begin its name with # to keep a column for yourself")


@pytest.mark.parametrize(
    ("days", "months"), [("Mon-Wed", "Apr - May"), ("Monday to Wednesday", "Apr…May")]
)
def test_spans_of_days_and_months_are_taken(book, days, months):
    book["windows"]["A2"] = days
    at = [cell.value for cell in book["windows"][1]].index("months") + 1
    book["windows"].cell(2, at).value = months
    (window,) = book.read().windows

    assert window.weekdays == ("mon", "tue", "wed")
    assert window.months == (4, 5)


def test_months_of_a_climate_may_have_names(book, files):
    book["site"].delete_rows(5)
    sheet = book.book.create_sheet("climate")
    names = iter(
        [
            "Jan",
            "Feb",
            "Mar",
            "April",
            "May",
            "June",
            "Jul",
            "Aug",
            "Sept",
            "Oct",
            "Nov",
            "December",
        ]
    )
    for line in book.site.text("climate.csv").splitlines():
        row = [float(c) if c[0].isdigit() else c for c in line.split(",")]
        sheet.append([next(names), *row[1:]] if row[0] != "month" else row)
    (book.site.path / "climate.csv").unlink()
    climate = book.read().climate

    np.testing.assert_array_equal(climate.et0_mm_day, files.climate.et0_mm_day)
