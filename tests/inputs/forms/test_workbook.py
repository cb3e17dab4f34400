"""Files that are no workbook, or none that is read; bounds on what is."""

import datetime
import io
import re
import zipfile

import openpyxl
import pytest

from scheduler.errors import InputError
from scheduler.inputs.folder import read_site
from scheduler.inputs.forms import workbook
from scheduler.inputs.forms.workbook import number_text, read_workbook

SAVE_AS = "\n  hint: save it as a workbook of the kind .xlsx"

OPEN_IT = SAVE_AS.replace("save", "open it in a spreadsheet and save", 1)


def problems_of(path):
    with pytest.raises(InputError) as caught:
        read_site(path)
    return [str(problem) for problem in caught.value.problems]


@pytest.fixture
def put(us, put_workbook):
    """The small site of conftest.py with these bytes in place of its workbook."""

    def put_(content, name="site.xlsx"):
        path = put_workbook(us.path)
        if callable(content):
            content = content(path.read_bytes())
        path.unlink()
        path.with_name(name).write_bytes(content)
        return us.path

    return put_


def with_parts(change):
    """Bytes of a workbook with each part changed; a part of None is left out."""

    def changed(content):
        out = io.BytesIO()
        with (
            zipfile.ZipFile(io.BytesIO(content)) as old,
            zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new,
        ):
            for part in old.namelist():
                text = change(part, old.read(part))
                if text is not None:
                    new.writestr(part, text)
        return out.getvalue()

    return changed


# [MS-CFB] 2.2 (from memory): the mark at the beginning of a compound file, in which
# both old workbooks and encrypted ones come; [MS-OFFCRYPTO] 2.3.4.4 (from memory): the
# latter have a stream EncryptedPackage.
COMPOUND = bytes.fromhex("d0cf11e0a1b11ae1") + bytes(600)


@pytest.mark.parametrize(
    ("content", "name", "told"),
    [
        (b"", "site.xlsx", f"is not a workbook{SAVE_AS}"),
        (b"zone,name\n1,Lawn\n", "site.xlsx", f"is not a workbook{SAVE_AS}"),
        (COMPOUND, "site.xlsx", f"is a workbook of the old kind, .xls{SAVE_AS}"),
        (COMPOUND, "site.xls", f"is a workbook of the old kind, .xls{SAVE_AS}"),
        (COMPOUND + "EncryptedPackage".encode("utf-16-le"), "site.xlsx",
         "is protected by a password\n  hint: save a copy without the password"),
        (lambda content: content, "site.xlsm",
         f"is a workbook with macros, which are never run{SAVE_AS}"),
        (lambda content: content, "site.ods",
         f"is a workbook of another kind, .ods{SAVE_AS}"),
        (b"PK\3\4" + bytes(50), "site.xlsx",
         "cannot be read as a workbook (BadZipFile)\n  hint: is the file whole?"),
        (lambda content: content[:2000], "site.xlsx",
         "cannot be read as a workbook (BadZipFile)\n  hint: is the file whole?"),
        (with_parts(lambda part, text: None if "Content" in part else text),
         "site.xlsx",
         f"cannot be read as a workbook (KeyError){OPEN_IT}"),
        (with_parts(lambda part, text: text[:300] if "sheet2" in part else text),
         "site.xlsx",
         f"cannot be read as a workbook (ParseError){OPEN_IT}"),
    ],
)  # fmt: skip
def test_what_is_no_workbook_is_told(put, content, name, told):
    assert problems_of(put(content, name)) == [f"{name}: {told}"]


def test_folder_in_place_of_the_workbook_is_told(us):
    for path in us.path.iterdir():
        path.unlink()
    (us.path / "site.xlsx").mkdir()

    assert problems_of(us.path) == [
        "site.xlsx: is not a file\n  hint: a workbook is needed here"
    ]


def test_workbook_and_files_side_by_side_are_told(us, put_workbook):
    put_workbook(us.path)
    us.write("site.toml", "")
    us.write("cans.csv", "zone\n")

    told = [
        "site.xlsx: stands beside site.toml, cans.csv\n"
        "  accepted: a folder with site.xlsx, or with site.toml and its files\n"
        "  hint: keep the one that holds what is true, and move the other away"
    ]
    assert problems_of(us.path) == told
    assert problems_of(us.path / "site.xlsx") == told


def test_workbook_of_another_name_may_stand_beside_files(us, put_workbook, as_book):
    as_book(us.path).save(us.path / "Copy of it.xlsx")
    site = read_site(us.path / "Copy of it.xlsx")

    assert site.names.workbook == "Copy of it.xlsx"
    assert site.zones.zone == us.site().zones.zone


def test_workbook_that_is_not_there_is_told(us):
    assert problems_of(us.path / "none.xlsx") == [
        f"{us.path}/none.xlsx: no such workbook\n"
        "  accepted: a folder with site.toml, zones.csv and heads.csv, or with "
        "site.xlsx\n"
        "  hint: scheduler new FOLDER starts one"
    ]


def test_workbook_that_unpacks_to_too_much_is_not_unpacked(put, monkeypatch):
    bomb = with_parts(
        lambda part, text: text + b" " * 101_000_000 if "styles" in part else text
    )
    path = put(bomb)
    assert (path / "site.xlsx").stat().st_size < 1_000_000
    monkeypatch.setattr("openpyxl.load_workbook", None)

    assert problems_of(path) == [
        "site.xlsx: unpacks to 101 MB, more than such a workbook can\n"
        "  hint: the largest that is read unpacks to 100 MB; delete rows and columns "
        "that are empty but formatted"
    ]


def test_workbook_that_is_too_large_is_not_read(put, monkeypatch):
    monkeypatch.setattr(workbook, "LARGEST_BYTES", 1000)

    (told,) = problems_of(put(lambda content: content))
    assert re.match(r"site\.xlsx: holds 0 MB, more than such a workbook can\n", told)


def test_more_cells_than_are_read_are_told(put, monkeypatch):
    monkeypatch.setattr(workbook, "MOST_CELLS", 50)

    assert problems_of(put(lambda content: content)) == [
        "site.xlsx: holds more than 50 filled cells\n"
        "  hint: keep long weather in a CSV file, and name it in sheet site"
    ]


def test_sheets_that_are_not_wanted_are_not_read(tmp_path, monkeypatch):
    book = openpyxl.Workbook()
    book.active.title = "zones"
    book.create_sheet("much").append([1] * 200)
    book.save(tmp_path / "x.xlsx")
    monkeypatch.setattr(workbook, "MOST_CELLS", 100)
    sheets = read_workbook(tmp_path / "x.xlsx", ["zones"])

    assert [(sheet.title, sheet.rows) for sheet in sheets] == [
        ("zones", []),
        ("much", []),
    ]


def test_rows_far_below_and_columns_far_right_cost_nothing(tmp_path):
    book = openpyxl.Workbook()
    book.active.append(["zone"])
    book.active["A1048576"].number_format = "0.00"
    book.active["XFD1"].number_format = "0.00"
    book.save(tmp_path / "x.xlsx")
    (sheet,) = read_workbook(tmp_path / "x.xlsx", ["Sheet"])

    assert sheet.rows == [(1, ["zone"])]


# 0.5 of a day is 12:00; a number that a cell shows as a date is days since 1900.
@pytest.mark.parametrize(
    ("value", "number_format", "text"),
    [
        (1.0, "General", "1"),
        (1.5, "General", "1.5"),
        (-0.001, "0.00", "-0.001"),
        ("  ٣ \u00a0", "General", "٣"),
        ("=1+1 ", "General", "=1+1"),
        (True, "General", "TRUE"),
        (datetime.time(21, 0), "h:mm", "21:00"),
        (datetime.timedelta(hours=24), "[h]:mm", "24:00"),
        (datetime.datetime(2026, 7, 31), "d mmm", datetime.date(2026, 7, 31)),
        (datetime.datetime(2026, 7, 31, 14, 30), "General", "2026-07-31 14:30"),
        (0.62, '0.0" % of it"', "0.62"),
        (0.62, "0.0 %", workbook.Percent(0.62)),
        (0.5, "h:mm", "12:00"),
    ],
)
def test_value_of_a_cell_is_what_would_be_typed(tmp_path, value, number_format, text):
    book = openpyxl.Workbook()
    cell = book.active["A1"]
    cell.value = value
    if isinstance(value, str):
        cell.data_type = "s"
    if number_format != "General":
        cell.number_format = number_format
    book.save(tmp_path / "x.xlsx")
    (sheet,) = read_workbook(tmp_path / "x.xlsx", ["Sheet"])

    assert sheet.rows == [(1, [text])]


@pytest.mark.parametrize("number", [0.1, 1e-7, 123456.789, 2.068427187950490, 1e22, 7])
def test_number_text_reads_as_the_same_number(number):
    assert float(number_text(number)) == number


def test_macros_and_links_are_not_loaded(put):
    path = put(
        with_parts(
            # The type of a workbook that may hold macros (from memory).
            lambda part, text: text.replace(
                b"vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml",
                b"vnd.ms-excel.sheet.macroEnabled.main+xml",
            )
        )
    )

    assert read_site(path).zones.zone == ("1", "2")


# A stored value stands beside its formula in the XML (ECMA-376 part 1, 18.3.1.4, from
# memory); openpyxl writes none, so it is put there.
def test_formula_is_read_by_its_stored_value(tmp_path):
    book = openpyxl.Workbook()
    book.active.append(["arc_deg", "=45+45", "=45+46"])
    stream = io.BytesIO()
    book.save(stream)
    stored = re.compile(rb"<f>45\+45</f><v\s*(/>|></v>)")

    def store(part, text):
        return stored.sub(b"<f>45+45</f><v>90</v>", text)

    (tmp_path / "x.xlsx").write_bytes(with_parts(store)(stream.getvalue()))
    (sheet,) = read_workbook(tmp_path / "x.xlsx", ["Sheet"])

    assert sheet.rows == [(1, ["arc_deg", "90", ""])]
    assert list(sheet.faults) == [(1, 3)]
