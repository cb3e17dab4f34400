"""Workbooks on the command line: written by verbs, read in place of files."""

import csv
import datetime
import io
import shutil
from pathlib import Path

import openpyxl
import pytest

from scheduler import cli

ROOT = Path(__file__).parents[1]
EXAMPLES = ROOT / "examples"
SITES = ("home", "southern_garden", "business_park")


class Ran:
    """What a run of the command gave."""

    def __init__(self, status: int, out: str, err: str) -> None:
        self.status, self.out, self.err = status, out, err


@pytest.fixture
def run(capsys):
    def run_(*arguments: object) -> Ran:
        capsys.readouterr()
        status = cli.status([str(argument) for argument in arguments])
        captured = capsys.readouterr()
        return Ran(status, captured.out, captured.err)

    return run_


def copy_of(name: str, folder: Path) -> Path:
    """Copy of an example with its climate, which a test may change."""
    shutil.copytree(ROOT / "climate_samples", folder / "climate_samples")
    shutil.copytree(EXAMPLES / name, folder / "examples" / name)
    return folder / "examples" / name


@pytest.mark.parametrize(
    ("name", "verb", "units"),
    [
        ("home", ["table"], "us"),
        ("business_park", ["table"], "metric"),
        ("home", ["budget"], "metric"),
        ("southern_garden", ["budget"], "us"),
        ("southern_garden", ["card", "--year", "2027"], "us"),
        ("home", ["card", "--year", "2027", "--compare-visits"], "metric"),
    ],
)
def test_workbook_holds_the_cells_of_the_csv(run, tmp_path, name, units, verb):
    arguments = [verb[0], EXAMPLES / name, *verb[1:], "--units", units, "--format"]
    out = tmp_path / "out.xlsx"
    told = run(*arguments, "csv")
    ran = run(*arguments, "xlsx", "--out", out)
    rows = list(csv.reader(io.StringIO(told.out)))
    (sheet,) = openpyxl.load_workbook(out).worksheets

    assert (ran.status, ran.out) == (told.status, "")
    assert ran.err == told.err
    assert (sheet.max_row, sheet.max_column) == (len(rows), len(rows[0]))
    for cells, row in zip(sheet.iter_rows(min_row=2), rows[1:], strict=True):
        for cell, text in zip(cells, row, strict=True):
            assert as_csv(cell.value) == (number_of(text) if text else "")


def as_csv(value: object) -> object:
    if isinstance(value, datetime.datetime):
        return value.date().isoformat()
    return "" if value is None else number_of(str(value))


def number_of(text: str) -> object:
    try:
        return float(text)
    except ValueError:
        return text


@pytest.mark.parametrize("verb", ["table", "budget", "card"])
def test_workbook_needs_a_file_to_go_to(run, verb):
    ran = run(verb, EXAMPLES / "home", "--format", "xlsx")

    assert (ran.status, ran.out) == (2, "")
    assert ran.err.endswith(
        "Error: Invalid value for --format: a workbook is not printed: name its file "
        "with --out FILE.xlsx\n"
    )


@pytest.mark.parametrize("verb", ["check", "rates", "climate", "cans"])
def test_other_verbs_do_not_offer_workbooks(run, tmp_path, verb):
    ran = run(verb, EXAMPLES / "home", "--format", "xlsx", "--out", tmp_path / "x.xlsx")

    assert ran.status == 2
    assert "'xlsx' is not one of 'text', 'markdown', 'csv', 'json'" in ran.err
    assert list(tmp_path.iterdir()) == []


def test_out_with_that_ending_and_another_format_stays_what_it_is(run, tmp_path):
    run("table", EXAMPLES / "home", "--out", tmp_path / "x.xlsx")
    printed = run("table", EXAMPLES / "home")

    assert (tmp_path / "x.xlsx").read_text(encoding="utf-8") == printed.out


def test_hard_limits_are_told_beside_a_workbook(run, tmp_path):
    site = copy_of("home", tmp_path)
    text = (site / "site.toml").read_text(encoding="utf-8")
    assert text.count('days = ["mon", "wed", "fri", "sat"]') == 1
    text = text.replace('days = ["mon", "wed", "fri", "sat"]', 'days = ["mon"]')
    (site / "site.toml").write_text(text, encoding="utf-8")
    told = run("table", site, "--format", "csv")
    ran = run("table", site, "--format", "xlsx", "--out", tmp_path / "x.xlsx")

    assert ran.status == told.status == 3
    assert "days-too-few" in ran.err
    assert ran.err == told.err
    assert (tmp_path / "x.xlsx").exists()


def test_card_that_does_not_fit_is_told_and_no_workbook_written(run, tmp_path):
    site = copy_of("home", tmp_path)
    text = (site / "site.toml").read_text(encoding="utf-8")
    assert text.count("programs = 3\nstarts = 4\n") == 1
    text = text.replace("programs = 3\nstarts = 4\n", "programs = 1\nstarts = 1\n")
    (site / "site.toml").write_text(text, encoding="utf-8")
    ran = run("card", site, "--format", "xlsx", "--out", tmp_path / "x.xlsx")

    assert ran.status == 3
    assert "controller-too-small" in ran.err
    assert "This controller cannot be set for 4 visits" in ran.out
    assert not (tmp_path / "x.xlsx").exists()
