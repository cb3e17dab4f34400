"""Checks CSV files as spreadsheets save them, and what is said of those they spoil."""

import os
import pathlib

import pytest

from scheduler.inputs.forms import csvfiles
from scheduler.inputs.forms.fields import FILES

HEADS = FILES["heads.csv"]


@pytest.fixture
def read(tmp_path):
    """Function from the content of heads.csv to its rows and problems."""

    def read_content(content):
        if isinstance(content, str):
            content = content.encode("utf-8")
        (tmp_path / "heads.csv").write_bytes(content)
        problems = []
        table = csvfiles.read_table(tmp_path / "heads.csv", "heads.csv", problems)
        rows = None if table is None else csvfiles.read_rows(table, HEADS, problems)
        return rows, [str(problem) for problem in problems]

    return read_content


PLAIN = "zone,nozzle,arc_deg,flow_gpm\n1,a,90,0.5\n1,b,180,1.25\n"
SHAPES = {
    "plain": PLAIN,
    "with BOM": "\ufeff" + PLAIN,
    "CRLF": PLAIN.replace("\n", "\r\n"),
    "CR alone": PLAIN.replace("\n", "\r"),
    "BOM and CRLF": "\ufeff" + PLAIN.replace("\n", "\r\n"),
    "no line end at the end": PLAIN.rstrip("\n"),
    "semicolons and decimal commas": PLAIN.replace(",", ";").replace(".", ","),
    "semicolons and decimal points": PLAIN.replace(",", ";"),
    "tabs": PLAIN.replace(",", "\t"),
    "sep line": "sep=;\n" + PLAIN.replace(",", ";").replace(".", ","),
    "sep line of commas": "sep=,\r\n" + PLAIN,
    "sep line of tabs": "SEP=\t\n" + PLAIN.replace(",", "\t"),
    "all quoted": "".join(
        ",".join(f'"{cell}"' for cell in line.split(",")) + "\n"
        for line in PLAIN.splitlines()
    ),
    "empty columns and rows": "zone,nozzle,arc_deg,flow_gpm,,\n1,a,90,0.5,,\n,,,,,\n"
    "1,b,180,1.25\n,,\n\n",
    "empty column in between": "zone,,nozzle,arc_deg,flow_gpm\n1,,a,90,0.5\n"
    "1,,b,180,1.25\n",
    "stray spaces and capitals": " Zone , NOZZLE,Arc Deg,flow-GPM \n 1 ,a , 90,0.5\n"
    "1,\tb,180 ,1.25 \n",
    "spaces before quotes": 'zone, "nozzle", arc_deg, flow_gpm\n1, "a", 90, 0.5\n'
    '1, "b", 180, 1.25\n',
    "comments": "# measured in May; 3 rows, or so\n# see \"plan\"\n" + PLAIN,
    "comments after the header": "zone,nozzle,arc_deg,flow_gpm\n# a, \"half\n"
    "1,a,90,0.5\n  # it's, \"\n1,b,180,1.25\n#\n",
    "comment in quotes": '"# a, b; c"\n' + PLAIN,
    "columns in another order": "flow_gpm,arc_deg,zone,nozzle\n0.5,90,1,a\n"
    "1.25,180,1,b\n",
}  # fmt: skip


@pytest.mark.parametrize("content", SHAPES.values(), ids=SHAPES)
def test_every_shape_of_a_file_gives_the_same_rows(read, content):
    rows, problems = read(content)

    assert problems == []
    assert rows.values["zone"] == ["1", "1"]
    assert rows.values["nozzle"] == ["a", "b"]
    assert rows.values["arc_deg"].tolist() == [90, 180]
    # Exact: a US gallon is 3.785411784 L.
    assert rows.values["flow_l_min"] == pytest.approx(
        [0.5 * 3.785411784, 1.25 * 3.785411784], rel=1e-12
    )


def test_quoted_cells_may_hold_separators_quotes_and_line_ends(read):
    rows, problems = read(
        '# first line\nzone,nozzle,arc_deg\n1,"a, ""long""\nname",90\n\n2,b,400\n'
    )

    # White space inside a name is one space: it has to stand in a table.
    assert rows.values["nozzle"] == ['a, "long" name', "b"]
    # Lines counted by hand: comment 1, header 2, first row 3 and 4, blank 5.
    assert rows.lines == (3, 6)
    assert problems == [
        "heads.csv:6: arc_deg: 400 is not an arc\n"
        "  accepted: a number over 0 and up to 360\n"
        "  hint: write 360 for a full circle"
    ]


def test_line_that_begins_with_a_number_sign_inside_a_quoted_cell_is_no_comment(read):
    rows, problems = read('zone,nozzle,arc_deg\n1,"a\n# b",90\n')

    assert problems == []
    assert rows.values["nozzle"] == ["a # b"]


def test_line_numbers_count_comments_and_the_sep_line(read):
    rows, _ = read("sep=;\n# comment\nzone;arc_deg\n# comment\n1;90\n")

    assert rows.lines == (5,)


@pytest.mark.parametrize(
    ("content", "problems"),
    [
        ("", ["heads.csv: is empty\n  hint: the first row names the columns"]),
        ("\n ,,\n", ["heads.csv: is empty\n  hint: the first row names the columns"]),
        ("# zone\n", ["heads.csv: is empty\n  hint: the first row names the columns"]),
        (
            "sep=;\n",
            ["heads.csv: is empty\n  hint: the first row names the columns"],
        ),
        (
            b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR",
            ["heads.csv: is not a text file\n  hint: save it as CSV UTF-8"],
        ),
        (
            PLAIN.encode("utf-16"),
            ["heads.csv: is UTF-16 text\n  hint: save it as CSV UTF-8"],
        ),
        (
            PLAIN.encode("utf-16-be"),
            ["heads.csv: is not a text file\n  hint: save it as CSV UTF-8"],
        ),
        (
            "zone,nozzle,arc_deg\n1,a,90\n1,é,90\n".encode("latin-1"),
            ["heads.csv:3: is not UTF-8 text\n  hint: save it as CSV UTF-8"],
        ),
        (
            'zone,nozzle,arc_deg\n1,a,90\n1,"b,90\n1,c,90\n',
            [
                "heads.csv:3: is not readable as CSV: unexpected end of data\n"
                "  hint: look for a quote that is never closed, or that stands alone "
                "inside a quoted cell"
            ],
        ),
        (
            'zone,nozzle,arc_deg\n1,"12" long",90\n',
            [
                "heads.csv:2: is not readable as CSV: ',' expected after '\"'\n"
                "  hint: look for a quote that is never closed, or that stands alone "
                "inside a quoted cell"
            ],
        ),
        (
            "zone,arc_deg,Arc Deg\n1,90,180\n",
            ["heads.csv:1: Arc Deg: column is named twice"],
        ),
        (
            "zone,,arc_deg\n1,a,90\n",
            [
                "heads.csv:1: column 2 has cells but no name\n"
                "  hint: name the column, or empty it"
            ],
        ),
        (
            "nozzle,flow_gpm\na,1\n",
            [
                "heads.csv:1: zone: column is missing",
                "heads.csv:1: arc_deg: column is missing",
            ],
        ),
        (
            "zone,arc_deg\n,90\n1,\n",
            [
                "heads.csv:2: zone: is blank\n  accepted: zone of zones.csv",
                "heads.csv:3: arc_deg: is blank\n"
                "  accepted: a number over 0 and up to 360",
            ],
        ),
    ],
)
def test_file_that_cannot_be_read_is_told_so(read, content, problems):
    assert read(content)[1] == problems


def test_decimal_comma_in_a_comma_file_is_told_from_a_column(read):
    rows, problems = read(
        'zone,arc_deg,flow_gpm\n1,90,0,5\n1,90,"0,5"\n1,90,"1,500"\n1,400,1\n'
    )

    assert rows.lines == (3, 4, 5)
    # 5000 L/min is 5000 / 3.785411784 = 1320.8… gal/min.
    assert problems == [
        "heads.csv:2: has 4 cells, but 3 columns are named\n"
        "  hint: a comma inside a cell splits it in two: put text in double quotes, "
        "write 0,7 as 0.7",
        "heads.csv:5: arc_deg: 400 is not an arc\n"
        "  accepted: a number over 0 and up to 360\n"
        "  hint: write 360 for a full circle",
        'heads.csv:3: flow_gpm: "0,5" is not a number\n'
        "  accepted: a number over 0 and up to 1320\n"
        "  hint: write 0.5 with a decimal point",
        'heads.csv:4: flow_gpm: "1,500" is not a number\n'
        "  accepted: a number over 0 and up to 1320\n"
        "  hint: write 1500, or 1.500 if the comma is a decimal comma",
    ]


def test_row_too_long_in_a_file_of_semicolons_is_refused(read):
    assert read("zone;arc_deg\n1;90;7\n")[1] == [
        "heads.csv:2: has 3 cells, but 2 columns are named\n"
        "  hint: put text that holds the separator in double quotes"
    ]


def test_unknown_column_gets_the_nearest_name_and_the_list(read):
    names = ", ".join(name for field in HEADS for name in field.names)

    assert read("zone,arc_degrees,arc_deg\n1,90,90\n")[1] == [
        f"heads.csv:1: arc_degrees: unknown column\n  accepted: {names}\n"
        "  hint: did you mean arc_deg?"
    ]


def test_column_in_a_unit_that_it_does_not_take_gets_one_of_the_same_system(read):
    assert read("zone,arc_deg,spacing_in,radius_cm\n1,90,180,450\n")[1] == [
        "heads.csv:1: spacing_in: unknown column\n  accepted: spacing_m or spacing_ft\n"
        "  hint: did you mean spacing_ft?",
        "heads.csv:1: radius_cm: unknown column\n  accepted: radius_m or radius_ft\n"
        "  hint: did you mean radius_m?",
    ]


def test_column_without_its_unit_is_told_the_units(read):
    assert read("# x\nzone,arc_deg,Flow\n1,90,1\n")[1] == [
        "heads.csv:2: Flow: its unit is missing\n"
        "  accepted: flow_l_min or flow_gpm or flow_m3_h or flow_l_h or flow_gph"
    ]


@pytest.mark.parametrize(
    ("headers", "cells", "pairs"),
    [
        ("flow_gpm,flow_l_min", "1,3.8", [("flow_gpm", "flow_l_min")]),
        ("flow_gpm,flow_l_min,flow_l_h", "1,,228", [("flow_gpm", "flow_l_h")]),
        (
            "flow_gpm,flow_l_min,flow_l_h",
            "1,3.8,228",
            [
                ("flow_gpm", "flow_l_min"),
                ("flow_gpm", "flow_l_h"),
                ("flow_l_min", "flow_l_h"),
            ],
        ),
    ],
)
def test_one_thing_in_two_units_is_refused(read, headers, cells, pairs):
    assert read(f"zone,arc_deg,{headers}\n1,90,{cells}\n")[1] == [
        f"heads.csv:2: {second}: {first} is filled in too\n  accepted: one of the two"
        for first, second in pairs
    ]


def test_units_may_change_from_row_to_row(read):
    rows, problems = read(
        "zone,arc_deg,flow_gpm,flow_l_min,flow_l_h\n1,90,1,,\n1,90,,2,\n1,90,,,180\n"
    )

    assert problems == []
    # Exact: a US gallon is 3.785411784 L; 180 L/h are 3 L/min.
    assert rows.values["flow_l_min"] == pytest.approx([3.785411784, 2, 3], rel=1e-12)


def test_header_alone_gives_no_rows(read):
    rows, problems = read("zone,arc_deg\n")

    assert problems == []
    assert len(rows) == 0


@pytest.fixture
def text_problems():
    """Function from a path to what is said of it; nothing else may be raised."""

    def read_path(path):
        problems = []
        assert csvfiles.read_text(path, path.name, problems) is None
        return [str(problem) for problem in problems]

    return read_path


# 50 MB of nothing: the file is sparse and takes no room on the disk.
def test_file_of_50_mb_is_refused_unread(tmp_path, text_problems, monkeypatch):
    path = tmp_path / "heads.csv"
    path.touch()
    os.truncate(path, 50_000_000)
    monkeypatch.setattr(pathlib.Path, "read_bytes", None)

    assert text_problems(path) == [
        "heads.csv: holds 50 MB, more than such a file can\n"
        "  hint: the largest that is read is 25 MB"
    ]


def test_folder_in_place_of_a_file_is_refused(tmp_path, text_problems):
    (tmp_path / "heads.csv").mkdir()

    assert text_problems(tmp_path / "heads.csv") == [
        "heads.csv: is a folder\n  hint: a file is needed here"
    ]


# Reading a pipe waits for a writer that never comes.
def test_pipe_in_place_of_a_file_is_refused(tmp_path, text_problems):
    os.mkfifo(tmp_path / "heads.csv")

    assert text_problems(tmp_path / "heads.csv") == [
        "heads.csv: is not a file\n  hint: a file is needed here"
    ]


def test_missing_file_gets_no_name_that_is_alike_in_its_ending_alone(
    tmp_path, text_problems
):
    for name in ("cans_ok.csv", "nopes.toml"):
        (tmp_path / name).touch()

    assert text_problems(tmp_path / "nope.csv") == [
        "nope.csv: no such file\n  hint: check the name"
    ]


def test_missing_file_gets_the_name_of_one_nearby(tmp_path, text_problems):
    (tmp_path / "climates.csv").touch()

    assert text_problems(tmp_path / "climate.csv") == [
        "climate.csv: no such file\n  hint: did you mean climates.csv?"
    ]
    assert text_problems(tmp_path / "x.toml") == [
        "x.toml: no such file\n  hint: check the name"
    ]
    assert text_problems(tmp_path / "none" / "climate.csv") == [
        "climate.csv: no such file\n  hint: check the path"
    ]
    assert text_problems(tmp_path / "no\0ne" / "climate.csv") == [
        "climate.csv: no such file\n  hint: check the path"
    ]


def test_name_too_long_for_the_disk_is_refused(tmp_path, text_problems):
    name = "a" * 5000

    assert text_problems(tmp_path / name) == [
        f"{name}: cannot be read: File name too long"
    ]


def test_file_that_may_not_be_read_is_told_so(tmp_path, text_problems, monkeypatch):
    def refuse(path):
        raise PermissionError(13, "Permission denied", str(path))

    (tmp_path / "heads.csv").touch()
    monkeypatch.setattr(pathlib.Path, "read_bytes", refuse)

    assert text_problems(tmp_path / "heads.csv") == [
        "heads.csv: cannot be read: Permission denied"
    ]


# By hand: row 2 has an arc over 360, row 3 no zone and a flow in letters, row 4 a flow
# in two units.
def test_rows_and_cells_that_have_a_fault_are_marked(read):
    rows, problems = read(
        "zone,arc_deg,flow_gpm,flow_l_min\n1,90,0.5,\n1,400,0.5,\n,90,x,\n1,90,0.5,2\n"
    )

    assert len(problems) == 4
    assert rows.faulty.tolist() == [False, True, True, True]
    assert rows.faulty_cells["zone"].tolist() == [False, False, True, False]
    assert rows.faulty_cells["arc_deg"].tolist() == [False, True, False, False]
    assert rows.faulty_cells["flow_l_min"].tolist() == [False, False, True, True]
    assert rows.complete


@pytest.mark.parametrize(
    ("content", "complete"),
    [
        ("zone,arc_deg\n1,90\n", True),
        ("zone,arc_deg\n1,x\n", True),
        ("zone,arc_deg\n1,90\n1,90,7\n", False),
        ("zone,arc_deg,ark\n1,90,7\n", False),
        ("zone,arc_deg,\n1,90,7\n", False),
        ("zone,arc_deg,arc_deg\n1,90,90\n", False),
        ("arc_deg\n90\n", False),
        ("zone,arc_deg,ark\n", True),
    ],
    ids=["sound", "cell", "row", "column", "nameless", "twice", "missing", "no rows"],
)
def test_rows_are_complete_unless_a_row_or_a_filled_column_is_left_out(
    read, content, complete
):
    rows, _ = read(content)

    assert rows.complete is complete


def test_marking_a_row_leaves_the_rows_of_before_as_they_were(read):
    before, _ = read("zone,arc_deg\n1,90\n1,90\n")
    found = []

    after = before.marked([(1, before.problem(1, "arc_deg", "is odd"))], found)

    assert after.faulty.tolist() == [False, True]
    assert before.faulty.tolist() == [False, False]
    assert [str(problem) for problem in found] == ["heads.csv:3: arc_deg: is odd"]
