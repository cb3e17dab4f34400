"""Checks new cells in heads.csv: they are read back, and every other byte stays."""

import math
import os
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduler.errors import InputError
from scheduler.inputs.forms import csvfiles
from scheduler.inputs.forms.fields import FILES
from scheduler.inputs.headsfile import NewHead, with_new_heads

PSI = 0.45359237 * 9.80665 / 0.0254**2 / 1000
GPM, FT = 3.785411784, 0.3048
# 0.75 gpm, 12 ft and 30 psi, exact factors.
NEW = NewHead("Z9", 0.75 * GPM, 12 * FT, 30 * PSI, False)


@pytest.fixture
def edit(tmp_path):
    """Function from a heads.csv and new heads to its new text."""

    def write(content, new, units="us"):
        path = tmp_path / "heads.csv"
        path.write_bytes(content.encode("utf-8"))
        return with_new_heads(path, new, units)

    return write


def rows_of(tmp_path, content):
    """Rows and problems of a heads.csv as the program reads it."""
    path = tmp_path / "again.csv"
    path.write_bytes(content.encode("utf-8"))
    problems = []
    table = csvfiles.read_table(path, "heads.csv", problems)
    rows = csvfiles.read_rows(table, FILES["heads.csv"], problems)
    assert problems == []
    return rows


PLAIN = (
    "# my heads, in order\n"
    "zone,head,nozzle,arc_deg,radius_ft,flow_gpm,pressure_psi,spacing_ft\n"
    "1,a,old,90,15,0.5,30,15\n"
    "# between\n"
    '1,"b, left",old,180,15,1.00,30,15\n'
    "\n"
    "2,c,old,360,30,4,45,30\n"
)
CHANGED = PLAIN.replace(
    '1,"b, left",old,180,15,1.00,30,15', '1,"b, left",Z9,180,12,0.75,30,15'
)
SHAPES = {
    "plain": lambda text: text,
    "byte-order mark": lambda text: "\ufeff" + text,
    "CRLF": lambda text: text.replace("\n", "\r\n"),
    "CR alone": lambda text: text.replace("\n", "\r"),
    "no line end at the end": lambda text: text.rstrip("\n"),
    "tabs": lambda text: text.replace(", left", "; left").replace(",", "\t"),
    "sep line": lambda text: "sep=,\n" + text,
    "empty columns": lambda text: re.sub(r"(?m)(ft|\d)$", r"\1,,", text),
    "semicolons and decimal commas": lambda text: (
        text.replace(", ", "~").replace(",", ";").replace("~", ", ")
        .replace("0.", "0,").replace("1.00", "1,00")
    ),
    "semicolons and decimal points": lambda text: (
        text.replace(", ", "~").replace(",", ";").replace("~", ", ")
    ),
    "spaces around cells": lambda text: text.replace("old", " old ").replace(
        "Z9", " Z9 "
    ),
    "quoted": lambda text: text.replace("old", '"old"').replace("Z9", '"Z9"'),
}  # fmt: skip


@pytest.mark.parametrize("shape", SHAPES.values(), ids=SHAPES)
def test_only_the_cells_of_the_row_change(edit, shape):
    assert edit(shape(PLAIN), {1: NEW}) == shape(CHANGED)


def test_cells_that_say_the_same_stay_as_they_are_written(edit):
    same = NewHead("OLD", 1.0 * GPM, 15 * FT, 30 * PSI, False)

    assert edit(PLAIN, {1: same}) == PLAIN
    assert edit(PLAIN, {}) == PLAIN


def test_a_number_goes_where_the_row_has_it(edit):
    content = "zone,arc_deg,flow_gpm,flow_l_min,nozzle\n1,90,0.5,,a\n1,90,,2,a\n"

    changed = edit(content, {0: NEW, 1: NEW})

    # 0.75 gpm is 2.839058838 L/min exactly; flows go down to four digits.
    lines = changed.splitlines()
    assert lines[1].startswith("1,90,0.75,,Z9,")
    assert lines[2].startswith("1,90,,2.839,Z9,")


def test_missing_columns_are_added_at_the_right(edit):
    content = "zone,arc_deg,flow_gpm\n1,90,0.5\n# note\n1,180,1\n1,90\n"

    assert edit(content, {0: NEW, 2: NEW}) == (
        "zone,arc_deg,flow_gpm,nozzle,radius_ft,pressure_psi\n"
        "1,90,0.75,Z9,12,30\n# note\n1,180,1\n1,90,0.75,Z9,12,30\n"
    )


def test_added_columns_are_in_the_units_of_the_site(edit):
    changed = edit("zone,arc_deg\n1,90\n", {0: NewHead("a", 3, 5, 250, True)}, "metric")

    assert changed == (
        "zone,arc_deg,nozzle,flow_l_min,radius_m,pressure_kpa,low_angle\n"
        "1,90,a,3,5,250,yes\n"
    )


def test_low_angle_is_put_right_either_way(edit):
    content = "zone,nozzle,arc_deg,low_angle\n1,a,90,yes\n1,a,90,\n"
    low = NewHead("a", math.nan, math.nan, math.nan, True)
    standard = NewHead("a", math.nan, math.nan, math.nan, False)

    assert edit(content, {0: standard, 1: low}) == (
        "zone,nozzle,arc_deg,low_angle\n1,a,90,no\n1,a,90,yes\n"
    )


def test_a_name_with_a_separator_or_quote_is_quoted(edit):
    changed = edit(
        "zone,nozzle\n1,a\n", {0: NewHead('1/2", q', *[math.nan] * 3, False)}
    )

    assert changed == 'zone,nozzle\n1,"1/2"", q"\n'


# A sum of flows rounded down never passes a supply that the flows themselves kept to.
@given(st.floats(1e-3, 4e3))
def test_flow_is_never_rounded_up(tmp_path_factory, flow):
    path = tmp_path_factory.mktemp("site") / "heads.csv"
    path.write_text("zone,flow_l_min\n1,\n", encoding="utf-8")

    text = with_new_heads(path, {0: NewHead("", flow, math.nan, math.nan, False)}, "us")

    written = float(text.splitlines()[1].split(",")[1])
    assert flow * (1 - 1.1e-3) <= written <= flow * (1 + 1e-9)


def test_a_read_only_file_is_refused(tmp_path):
    path = tmp_path / "heads.csv"
    path.write_text(PLAIN, encoding="utf-8")
    os.chmod(path, 0o444)

    with pytest.raises(InputError) as caught:
        with_new_heads(path, {1: NEW}, "us")

    assert str(caught.value) == (
        "heads.csv: is read-only, so nothing was written\n"
        "  hint: allow writing to the file, or leave out --write"
    )
    assert path.read_text(encoding="utf-8") == PLAIN


def test_a_name_that_would_become_a_comment_is_refused(edit):
    with pytest.raises(InputError, match="would be read as a comment"):
        edit("nozzle,zone\na,1\n", {0: NewHead("#5", *[math.nan] * 3, False)})


CELLS = st.text(
    st.characters(codec="utf-8", exclude_characters="\0\r", exclude_categories=["Cs"]),
    max_size=6,
).filter(lambda text: not text.strip().startswith("#"))


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    st.lists(st.tuples(CELLS, CELLS), min_size=1, max_size=5),
    st.sampled_from([",", ";", "\t"]),
    st.booleans(),
    st.text("abZ9-/,;\" '", min_size=1, max_size=8).filter(str.strip),
    st.data(),
)
def test_any_content_keeps_its_other_cells(
    tmp_path, names, separator, mark, nozzle, data
):
    def quoted(text):
        return '"' + text.replace('"', '""') + '"'

    lines = [separator.join(["zone", "head", "nozzle", "flow_gpm", "arc_deg"])]
    for head, old in names:
        lines.append(separator.join(["1", quoted(head), quoted(old), "2", "9"]))
    content = ("\ufeff" if mark else "") + "\n# c\n".join(lines) + "\n"
    row = data.draw(st.integers(0, len(names) - 1))
    path = tmp_path / "heads.csv"
    path.write_bytes(content.encode("utf-8"))

    new = NewHead(nozzle.strip(), 3 * GPM, math.nan, math.nan, False)
    changed = with_new_heads(path, {row: new}, "us")

    before, after = rows_of(tmp_path, content), rows_of(tmp_path, changed)
    assert after.values["head"] == before.values["head"]
    others = [i for i in range(len(names)) if i != row]
    for name in ("nozzle", "flow_l_min"):
        kept = [after.values[name][i] for i in others]
        assert kept == [before.values[name][i] for i in others]
    assert after.values["flow_l_min"][row] == pytest.approx(3 * GPM)
    same = csvfiles.folded
    assert same(after.values["nozzle"][row]) == same(nozzle.strip())
