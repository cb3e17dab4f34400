"""Checks that no content of a workbook ever raises anything but InputError."""

import datetime
import io
import warnings
import zipfile

import hypothesis
import pytest
from hypothesis import strategies as st

from scheduler import cli
from scheduler.inputs.forms.names import SHEETS

VALUES = (
    st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=8)
    | st.integers(-(10**16), 10**16)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.booleans()
    | st.datetimes(datetime.datetime(1900, 3, 1), datetime.datetime(2999, 1, 1))
    | st.times()
    | st.sampled_from(["=1+1", "#REF!", "#N/A", "1e400", "0,5", "62 %", "4-6", "drip",
                       "mon wed", "sunrise", "#", "yes", "", None])
)  # fmt: skip
FORMATS = st.sampled_from(["General", "0.00", "0%", "yyyy-mm-dd", "h:mm", "[h]:mm"])
CHANGES = st.lists(
    st.tuples(
        st.integers(0, 9), st.integers(1, 15), st.integers(1, 13), VALUES, FORMATS
    ),
    min_size=1,
    max_size=8,
)


def many(examples):
    return hypothesis.settings(
        max_examples=examples,
        deadline=None,
        suppress_health_check=[hypothesis.HealthCheck.function_scoped_fixture],
    )


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    return tmp_path_factory.mktemp("site")


def ends_well(capsys, place, us, content):
    for path in place.iterdir():
        path.unlink()
    (place / "climate.csv").write_bytes((us.path / "climate.csv").read_bytes())
    (place / "site.xlsx").write_bytes(content)
    status = cli.status(["table", str(place), "--format", "csv"])
    told = capsys.readouterr()

    assert status in (0, 2, 3), told.err
    assert (status == 2) == (told.out == "")
    assert "fault of the program" not in told.err
    # A climate file that the workbook names may be told of as well.
    assert status != 2 or "site.xlsx: " in told.err or "climate.csv" in told.err


def bytes_of(book):
    stream = io.BytesIO()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        book.save(stream)
    return stream.getvalue()


@many(50)
@hypothesis.given(CHANGES)
def test_any_cells_are_read_or_refused(capsys, place, us, as_book, changes):
    book = as_book(us.path)
    book.create_sheet("windows").append(["days", "opens", "closes", "months"])
    book.create_sheet("tiers").append(["to", "price"])
    book.create_sheet("cans").append(["zone", "catch_ml", "minutes"])
    for sheet, row, column, value, number_format in changes:
        cell = book.worksheets[sheet % len(book.worksheets)].cell(row, column)
        cell.value = value
        cell.number_format = number_format

    ends_well(capsys, place, us, bytes_of(book))


@many(20)
@hypothesis.given(st.sampled_from(SHEETS), VALUES, FORMATS)
def test_any_cell_over_a_whole_sheet_is_read_or_refused(
    capsys, place, us, as_book, name, value, number_format
):
    book = as_book(us.path)
    sheet = book[name] if name in book.sheetnames else book.create_sheet(name)
    for row in range(1, 4):
        for column in range(1, 4):
            cell = sheet.cell(row, column)
            cell.value = value
            cell.number_format = number_format

    ends_well(capsys, place, us, bytes_of(book))


@many(50)
@hypothesis.given(st.data())
def test_any_damage_to_a_part_is_read_or_refused(capsys, place, us, as_book, data):
    content = bytes_of(as_book(us.path))
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(content)) as old,
        zipfile.ZipFile(out, "w") as new,
    ):
        chosen = data.draw(st.sampled_from(old.namelist()))
        for part in old.namelist():
            text = old.read(part)
            if part == chosen:
                at = data.draw(st.integers(0, len(text)))
                end = data.draw(st.integers(at, min(at + 40, len(text))))
                put = data.draw(
                    st.binary(max_size=6)
                    | st.sampled_from([b'"', b"<", b"-1", b"99999999", b"ZZZZ9", b"",
                                       b'r="A0"', b't="s"', b"<f>1</f>"])
                )  # fmt: skip
                text = text[:at] + put + text[end:]
            new.writestr(part, text)

    ends_well(capsys, place, us, out.getvalue())


@many(20)
@hypothesis.given(st.integers(0, 8000), st.binary(min_size=1, max_size=9))
def test_any_damage_to_the_file_is_read_or_refused(capsys, place, us, as_book, at, put):
    content = bytes_of(as_book(us.path))

    ends_well(capsys, place, us, content[:at] + put + content[at + len(put) :])
