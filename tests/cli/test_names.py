"""Names that people give come through every format as they are."""

import json
import re
from pathlib import Path

import pytest
from cli_answers import VERBS, WIDTH, arguments_of, markdown_tables, replace, rows_of

NAMES = {
    "bar": "Front | back",
    "quotes": "The \"old\" lawn, 'east'",
    "comma": "Lawn, north; beds",
    "backslash": "a\\|b \\ c",
    "accents": "Jardín façade ½ naïve Größe",
    "right to left": "حديقة الورد",
    "emoji": "🌳 trees 👨‍👩‍👧",
    "long": "x" * 200,
    "long words": "lawn by the pond " * 12,
    "markup": "<script>alert(1)</script>",
    "formula": "=1+1",
    "plus": "+ lawn",
    "minus": "-north",
    "at": "@gate",
    "hash": "a # b",
    "percent": "100% {name} %s {0}",
    "nothing": "None",
    "not a number": "nan",
    "number": "-12",
}


def csv_cell(text: str) -> str:
    return '"' + text.replace('"', '""') + '"'


@pytest.fixture
def named(site):
    def named_(name: str) -> Path:
        toml = name.replace("\\", "\\\\").replace('"', '\\"')
        replace(site, "site.toml", "A small site", toml)
        replace(site, "zones.csv", "1,Lawn,", f"1,{csv_cell(name)},")
        replace(site, "zones.csv", "2,Beds,", f"{csv_cell('z' + name)},Beds,")
        return site

    return named_


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_names_come_through_json_as_they_are(run, named, name):
    ran = run("table", named(name), "--format", "json")
    content = json.loads(ran.out)
    name = name.strip()

    assert ran.status == 0
    assert content["site"]["name"] == name
    assert content["zones"][0]["name"] == name
    assert content["zones"][1]["zone"] == f"z{name}"


# Text that a spreadsheet would take for a formula gets an apostrophe, the usual guard;
# all else, numbers too, comes through as it is.
@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_names_come_through_csv(run, named, name):
    site = named(name)
    name = name.strip()
    guarded = name in ("=1+1", "+ lawn", "-north", "@gate")
    for verb in ("table", "check", "rates"):
        ran = run(verb, site, "--format", "csv")
        assert ran.status == 0
        for row in rows_of(ran.out):
            for cell in row.values():
                assert not re.match(r"[=@]|[+-](?!\d)", cell or "")
    rows = rows_of(run("table", site, "--format", "csv").out)

    assert len(rows) == 24
    assert rows[0]["name"] == (f"'{name}" if guarded else name)
    assert rows[12]["zone"] == f"z{name}"
    assert rows[12]["name"] == "Beds"


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_names_keep_the_columns_of_markdown(run, named, name):
    site = named(name)
    for verb in VERBS:
        ran = run(*arguments_of(verb, site), "--format", "markdown")
        assert ran.status == 0
        assert "<script>" not in ran.out.replace("\\<script>", "")
        for table in markdown_tables(ran.out):
            assert len({len(cells) for cells in table}) == 1, table[0]


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_names_leave_the_text_whole(run, named, name):
    site = named(name)
    flat = re.sub(r"\s+", "", run("table", site).out)
    told = re.sub(r"\s+", "", name)

    assert f"Wateringtable:{told}" in flat
    assert f"Zone1:{told}" in flat
    for verb in VERBS:
        assert run(*arguments_of(verb, site)).status == 0
    # A heading may be as long as a name; tables and sentences keep to the page.
    replace(site, "zones.csv", csv_cell(f"z{name}"), "2b")
    for verb in VERBS:
        for line in run(*arguments_of(verb, site)).out.split("\n"):
            assert len(line) <= WIDTH or name.strip() in line or set(line) == {"="}, (
                line
            )


def test_names_are_found_by_explain(run, named):
    site = named(NAMES["right to left"])
    zone = f"z{NAMES['right to left']}"

    assert run("explain", site, "--zone", zone, "--month", "7").status == 0
