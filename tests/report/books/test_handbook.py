"""The pages of fields, plants, soils and the method hold all that the package knows."""

from __future__ import annotations

import csv
import io
import json
from importlib import resources

import pytest

from scheduler import cli
from scheduler.calendar import MONTHS
from scheduler.inputs.forms.dimensions import DIMENSIONS
from scheduler.inputs.forms.fields import FILES, SITE_TABLES
from scheduler.report.formulas import METHOD
from scheduler.report.words.rules import RULES

VERBS = ("fields", "plants", "soils", "method")


@pytest.fixture
def answer(capsys):
    """Output of a verb that ends well."""

    def printed(*arguments: str) -> str:
        capsys.readouterr()
        assert cli.status([*arguments]) == 0
        ran = capsys.readouterr()
        assert ran.err == ""
        return ran.out

    return printed


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def package_rows(table: str) -> list[dict[str, str]]:
    """Rows of a table of the package, as they are written there."""
    place = resources.files("scheduler.tables") / f"{table}.csv"
    return rows_of(place.read_text(encoding="utf-8"))


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("verb", VERBS)
def test_text_is_within_100_columns_and_without_blanks_at_the_end(answer, verb, units):
    lines = answer(verb, "--units", units).splitlines()

    assert max(map(len, lines)) <= 100
    assert [line for line in lines if line != line.rstrip()] == []


@pytest.mark.parametrize("verb", VERBS)
def test_csv_and_json_have_as_many_rows(answer, verb):
    told = json.loads(answer(verb, "--format", "json"))
    (rows,) = (value for key, value in told.items() if key != "format")

    assert told["format"] == 1
    assert len(rows) == len(rows_of(answer(verb, "--format", "csv"))) > 10


@pytest.mark.parametrize("verb", VERBS)
def test_markdown_has_a_title_and_no_bare_tags(answer, verb):
    text = answer(verb, "--format", "markdown")

    assert text.startswith("# ")
    assert "<" not in text.replace("\\<", "")


def test_every_name_of_every_field_stands_under_its_file(answer):
    told = {(r["file"], r["table"]): "" for r in rows_of(answer("fields", "--format",
                                                                "csv"))}  # fmt: skip
    for row in rows_of(answer("fields", "--format", "csv")):
        told[row["file"], row["table"]] += f" {row['names']} "

    for table, fields in SITE_TABLES.items():
        for field in fields:
            for name in field.names:
                assert f" {name} " in told["site.toml", table]
    for file, fields in FILES.items():
        for field in fields:
            for name in field.names:
                assert f" {name} " in told[file, ""]


def test_every_unit_is_written_somewhere(answer):
    text = answer("fields")

    for dimension in DIMENSIONS.values():
        for unit in dimension.units:
            assert f"_{unit.suffix}" in text


def test_a_file_alone_is_asked_for_with_or_without_its_ending(answer):
    short, whole = answer("fields", "zones"), answer("fields", "Zones.csv")

    assert short == whole
    assert "zones.csv\n---------" in short
    assert "heads.csv" not in short.replace("from heads.csv", "").partition("\n\n")[2]


def test_limits_are_told_in_the_units_asked_for(answer):
    us, metric = answer("fields", "zones"), answer("fields", "zones", "--units",
                                                   "metric")  # fmt: skip

    # Roots may be 5000 mm deep: 5000 / 25.4 = 196.85 in, rounded to what is accepted.
    assert "up to 196.8 in" in us
    assert "up to 5000 mm" in metric


def test_an_unknown_file_gets_the_nearest_as_a_hint(capsys):
    assert cli.status(["fields", "zone.csv"]) == cli.INPUT_IS_WRONG

    ran = capsys.readouterr()
    assert ran.out == ""
    head, accepted, hint = ran.err.splitlines()
    assert head == 'scheduler: FILE: "zone.csv" is not a file of a site'
    assert accepted.startswith("  accepted: site.toml, zones.csv, heads.csv")
    assert hint == "  hint: did you mean zones.csv?"


def test_plants_have_the_values_of_the_table(answer):
    told = rows_of(answer("plants", "--format", "csv"))

    written = package_rows("plants")
    assert [row["plant"] for row in told] == [row["plant"] for row in written]
    for ours, row in zip(told, written, strict=True):
        assert float(ours["root_depth_in"]) == pytest.approx(
            float(row["root_depth_in"])
        )
        assert float(ours["depletion"]) == float(row["depletion"])
        assert ours["source"] == row["source"]
        for month in MONTHS:
            expected = float(row[month] or row["coefficient"])
            assert float(ours[f"coefficient_{month}"]) == expected


def test_soils_have_the_values_of_the_tables(answer):
    told = rows_of(answer("soils", "--format", "csv"))
    slopes = package_rows("slopes")

    written = package_rows("soils")
    assert [row["soil"] for row in told] == [row["soil"] for row in written]
    for ours, row in zip(told, written, strict=True):
        stands = [s["accumulation_in"] for s in slopes if s["soil"] == row["soil"]]
        depths = [v for k, v in ours.items() if k.startswith("accumulation_")]
        expected = [row["available_water_in_in"], row["intake_in_h"], *stands]
        shown = [ours["available_water_in_in"], ours["intake_in_h"], *depths]
        # Both went through SI; six digits are printed.
        assert [*map(float, shown)] == pytest.approx([*map(float, expected)], rel=1e-6)


def test_the_method_has_every_line_with_its_source_and_every_rule(answer):
    rows = rows_of(answer("method", "--format", "csv"))

    sources = [row["source"] for row in rows if row["section"] != "Rules"]
    assert sources == [line.source for _, group in METHOD for line in group]
    names = [row["name"] for row in rows if row["section"] == "Rules"]
    assert names == [name for name, _ in RULES]


def test_formulas_are_told_in_the_units_asked_for(answer):
    # 60 * 231 / 144 = 96.25: gallons a minute on square feet into inches an hour.
    assert "rate of the head = 96.25 × flow" in answer("method")
    assert "rate of the head = 60 × flow" in answer("method", "--units", "metric")
