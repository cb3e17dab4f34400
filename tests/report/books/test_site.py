"""The workbook of a new site, read back by another library and by the program."""

import io
import json

import openpyxl
import pytest

from scheduler import cli
from scheduler.inputs.folder import read_site
from scheduler.inputs.forms.fields import FILES, HEAD_KINDS, SITE_TABLES, TIERS
from scheduler.inputs.library import package_plants, package_soils
from scheduler.report.books.site import site_workbook
from scheduler.report.reference import told

FIELDS = {
    "windows": SITE_TABLES["window"],
    "tiers": TIERS,
    "zones": FILES["zones.csv"],
    "heads": FILES["heads.csv"],
    "climate": FILES["monthly climate"],
}


@pytest.fixture(scope="module", params=["us", "metric"])
def book(request):
    return openpyxl.load_workbook(io.BytesIO(site_workbook(request.param)))


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "garden"


def table_of(capsys, *arguments):
    capsys.readouterr()
    status = cli.status([str(argument) for argument in arguments])
    captured = capsys.readouterr()
    return status, captured.out, captured.err


def test_sheets_are_those_that_reading_takes(book):
    assert book.sheetnames == [
        "site", "windows", "tiers", "door", "zones", "heads", "current", "climate",
            "lists",
    ]  # fmt: skip


@pytest.mark.parametrize("units", ["us", "metric"])
def test_new_workbook_gives_the_table_of_new_files(capsys, tmp_path, units):
    tables = []
    for kind, option in (("files", []), ("book", ["--workbook"])):
        folder = tmp_path / kind / "garden"
        made = table_of(capsys, "new", folder, "--units", units, *option)
        assert (made[0], made[2]) == (0, "")
        status, out, err = table_of(capsys, "table", folder, "--format", "json")
        assert (status, err) == (0, "")
        tables.append(json.loads(out))
    sources = [table["climate"].pop("source") for table in tables]

    assert sources == ["climate.csv", "site.xlsx: climate"]
    assert tables[0] == tables[1]


def test_new_workbook_is_alone_in_its_folder_and_says_what_to_do(capsys, folder):
    assert table_of(capsys, "new", folder, "--workbook") == (
        0,
        f"{folder}: made. Fill in site.xlsx, then: scheduler table {folder}\n",
        "",
    )
    assert [path.name for path in folder.iterdir()] == ["site.xlsx"]


def test_new_workbook_goes_into_no_folder_that_holds_something(capsys, folder):
    folder.mkdir()
    (folder / "notes.txt").touch()

    assert table_of(capsys, "new", folder, "--workbook")[0] == 2
    assert [path.name for path in folder.iterdir()] == ["notes.txt"]


@pytest.mark.parametrize("verb", ["check", "rates", "climate", "budget", "card"])
def test_new_workbook_runs_in_every_verb(capsys, folder, verb):
    table_of(capsys, "new", folder, "--workbook")
    status, out, err = table_of(capsys, verb, folder)

    assert (status, err) == (0, "")
    assert "not read" not in out


@pytest.mark.parametrize("name", FIELDS)
def test_headers_tell_every_field_in_a_comment(book, name):
    units = "us" if book["site"]["C2"].value == "us" else "metric"
    heads = list(book[name][1])

    assert len(heads) == len(FIELDS[name])
    for head, field in zip(heads, FIELDS[name], strict=True):
        assert head.value in field.names
        assert head.comment.text == told(field, units)
        needed = head.fill.fill_type == "solid"
        assert needed is field.required


def test_sheet_site_has_every_key_once_with_its_help(book):
    rows = [[cell.value for cell in row] for row in book["site"].iter_rows(min_row=2)]
    keys = [
        (table or None, field)
        for table, fields in SITE_TABLES.items()
        for field in fields
        if table != "window" and field.name != "tiers"
    ]

    assert [row[0] for row in rows] == [table for table, _ in keys]
    for row, (_, field) in zip(rows, keys, strict=True):
        assert row[1] in field.names
        assert row[3].startswith(field.help)


def offers_of(sheet):
    """Words that each header's column offers, or each key of sheet site."""
    found = {}
    for offer in sheet.data_validations.dataValidation:
        first = str(offer.sqref).split(":")[0]
        letter = first.rstrip("0123456789")
        row = int(first.removeprefix(letter))
        name = sheet.cell(row, 2).value if sheet.title == "site" else (
            sheet[f"{letter}1"].value)  # fmt: skip
        found[name] = offer
    return found


def test_fields_of_fixed_words_offer_them(book):
    zones, heads = offers_of(book["zones"]), offers_of(book["heads"])
    site = offers_of(book["site"])

    assert zones["head_kind"].formula1 == f'"{",".join(HEAD_KINDS)}"'
    assert zones["regulated"].formula1 == '"yes,no"'
    assert heads["pattern"].formula1 == '"square,triangular"'
    assert site["percent_by"].formula1 == '"program,controller,none"'
    # The format holds 255 letters of words in a list (from memory).
    for offers in (zones, heads, site):
        assert all(len(offer.formula1) <= 255 for offer in offers.values())


def test_plants_and_soils_are_offered_and_others_may_be_typed(book):
    zones, lists = offers_of(book["zones"]), book["lists"]

    for name, letter, words in (
        ("plant", "A", package_plants().names),
        ("soil", "B", package_soils().names),
    ):
        assert zones[name].formula1 == f"lists!${letter}$2:${letter}${len(words) + 1}"
        assert [c.value for c in lists[letter][1 : len(words) + 1]] == list(words)
        assert not zones[name].showErrorMessage


def test_cells_that_are_no_numbers_stay_as_they_are_typed(book):
    zones, windows = book["zones"], book["windows"]
    names = [cell.value for cell in zones[1]]

    assert zones.column_dimensions["A"].number_format == "@"
    assert zones.cell(2, names.index("zone") + 1).data_type == "s"
    assert zones.cell(2, names.index("slope_percent") + 1).data_type == "n"
    assert windows["D2"].number_format == "@"


def test_headers_are_frozen_and_columns_wide_enough(book):
    for name in FIELDS:
        sheet = book[name]
        assert sheet.freeze_panes in ("A2", "B2")
        for cell in sheet[1]:
            assert sheet.column_dimensions[cell.column_letter].width > len(cell.value)


def test_rows_that_are_added_are_read(capsys, folder):
    table_of(capsys, "new", folder, "--workbook")
    book = openpyxl.load_workbook(folder / "site.xlsx")
    zones = book["zones"]
    names = [cell.value for cell in zones[1]]
    for name, value in {"zone": 3, "plant": "roses", "soil": "loam", "area_ft2": 100,
                        "flow_gpm": 1.5, "head_kind": "Bubbler"}.items():  # fmt: skip
        zones.cell(5, names.index(name) + 1).value = value
    book.save(folder / "site.xlsx")

    assert read_site(folder).zones.zone == ("1", "2", "3")


def test_bytes_do_not_depend_on_the_clock(monkeypatch):
    first = site_workbook("us")
    monkeypatch.setattr("time.time", lambda: 2e9)

    assert site_workbook("us") == first
