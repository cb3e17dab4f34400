"""Workbooks on the command line: written by verbs, read in place of files."""

import csv
import datetime
import io
import json
import re
import shutil
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from cards import months_of

from scheduler.inputs.weather import services
from scheduler.inputs.weather.daily import QUANTITIES, DailyWeather

ROOT = Path(__file__).parents[1]
EXAMPLES = ROOT / "examples"
SITES = ("home", "southern_garden", "business_park")


def copy_of(name: str, folder: Path) -> Path:
    """Copy of an example with its climate, which a test may change."""
    shutil.copytree(ROOT / "climate_samples", folder / "climate_samples")
    shutil.copytree(EXAMPLES / name, folder / "examples" / name)
    return folder / "examples" / name


def book_of(run, out, *asked):
    """Workbook that a verb writes for what is asked."""
    run(*asked, "--format", "xlsx", "--out", out)
    return openpyxl.load_workbook(out)


@pytest.mark.parametrize(
    ("name", "verb", "units"),
    [
        ("home", ["table"], "us"),
        ("business_park", ["table"], "metric"),
        ("home", ["budget"], "metric"),
        ("southern_garden", ["budget"], "us"),
        ("southern_garden", ["card", "--date", "2027-04-20"], "us"),
        ("home", ["card", "--date", "2027-04-20", "--compare-visits"], "metric"),
        ("home", ["check"], "us"),
        ("home", ["climate"], "metric"),
        ("home", ["night", "--month", "jul"], "us"),
    ],
)
def test_workbook_holds_the_cells_of_the_csv(run, tmp_path, name, units, verb):
    arguments = [verb[0], EXAMPLES / name, *verb[1:], "--units", units, "--format"]
    out = tmp_path / "out.xlsx"
    told = run(*arguments, "csv")
    ran = run(*arguments, "xlsx", "--out", out)
    rows = list(csv.reader(io.StringIO(told.out)))
    # Sums by zone and month, where there are some, come before it.
    *_, sheet = openpyxl.load_workbook(out).worksheets

    assert (ran.status, ran.out) == (told.status, "")
    # Who opens a workbook later has not read the screen: it tells warnings too.
    assert set(told.err.splitlines()) <= set(ran.err.splitlines())
    assert (sheet.max_row, sheet.max_column) == (len(rows), len(rows[0]))
    for cells, row in zip(sheet.iter_rows(min_row=2), rows[1:], strict=True):
        for cell, text, head in zip(cells, row, rows[0], strict=True):
            if head in ("month", "months") and text:
                assert months_of(cell.value) == [*map(int, text.split())]
            elif "T" in text and isinstance(cell.value, datetime.datetime):
                # The clock of the site, without its offset.
                assert cell.value.isoformat() == text[:19]
            else:
                assert as_csv(cell.value) == (number_of(text) if text else "")


def as_csv(value: object) -> object:
    if isinstance(value, bool):
        return str(value)
    if isinstance(value, datetime.datetime):
        return value.date().isoformat()
    return "" if value is None else number_of(str(value))


def number_of(text: str) -> object:
    try:
        return float(text)
    except ValueError:
        return text


@pytest.mark.parametrize("verb", ["table", "budget", "card", "check", "climate"])
def test_workbook_needs_a_file_to_go_to(run, verb):
    ran = run(verb, EXAMPLES / "home", "--format", "xlsx")

    assert (ran.status, ran.out) == (2, "")
    assert ran.err.endswith(
        "Error: Invalid value for --format: a workbook is not printed: name its file "
        "with --out FILE.xlsx\n"
    )


@pytest.mark.parametrize("verb", ["rates", "cans"])
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
    text += '\n[plan]\nby = "months"\n'
    (site / "site.toml").write_text(text, encoding="utf-8")
    told = run("table", site, "--format", "csv")
    ran = run("table", site, "--format", "xlsx", "--out", tmp_path / "x.xlsx")

    assert ran.status == told.status == 3
    assert "days-too-few" in ran.err
    assert set(told.err.splitlines()) <= set(ran.err.splitlines())
    assert (tmp_path / "x.xlsx").exists()


def test_card_that_breaks_limits_is_a_workbook_and_told_beside_it(run, tmp_path):
    site = copy_of("home", tmp_path)
    text = (site / "site.toml").read_text(encoding="utf-8")
    assert text.count("programs = 3\nstarts = 4\n") == 1
    text = text.replace("programs = 3\nstarts = 4\n", "programs = 1\nstarts = 1\n")
    (site / "site.toml").write_text(text, encoding="utf-8")
    asked = ("card", site, "--visits", 1, "--date", "2027-04-20")
    ran = run(*asked, "--format", "xlsx", "--out", tmp_path / "x.xlsx")
    told = run(*asked, "--format", "csv")

    assert ran.status == told.status == 3
    assert "card-" in ran.err
    assert set(told.err.splitlines()) <= set(ran.err.splitlines())
    assert ran.out == ""
    head, *rows = openpyxl.load_workbook(tmp_path / "x.xlsx").worksheets[-1].values
    cells = [dict(zip(head, row, strict=True)) for row in rows]
    of_csv = list(csv.DictReader(io.StringIO(told.out)))
    assert [(cell["zone"], float(cell["run (min)"])) for cell in cells] == [
        (int(row["zone"]), float(row["base_minutes"])) for row in of_csv
    ]


# A site in a workbook.


@pytest.mark.parametrize("name", SITES)
def test_table_of_a_workbook_is_that_of_its_files(run, tmp_path, put_workbook, name):
    site = copy_of(name, tmp_path)
    told = run("table", site, "--format", "json")
    put_workbook(site)

    for place in (site, site / "site.xlsx"):
        ran = run("table", place, "--format", "json")
        assert (ran.status, ran.out, ran.err) == (told.status, told.out, told.err)


@pytest.mark.parametrize(
    ("verb", "more"),
    [
        ("check", []),
        ("rates", []),
        ("coverage", []),
        ("climate", []),
        ("budget", []),
        ("night", ["--month", "7", "--date", "2027-07-09"]),
        ("nozzles", ["--chart", EXAMPLES / "home" / "nozzles.csv"]),
    ],
)
def test_every_verb_says_of_a_workbook_what_it_says_of_files(
    run, tmp_path, put_workbook, verb, more
):
    site = copy_of("home", tmp_path)
    told = run(verb, site, *more)
    put_workbook(site)
    ran = run(verb, site, *more)

    assert (ran.status, ran.err) == (told.status, told.err)
    # Lines break elsewhere where a sheet is named.
    said = told.out.replace("outline.csv", "sheet outline")
    assert ran.out.split() == said.split()


def test_explain_names_the_sheets_of_a_workbook(run, tmp_path, put_workbook):
    site = copy_of("home", tmp_path)
    arguments = ["--zone", "2", "--month", "7"]
    told = run("explain", site, *arguments).out
    put_workbook(site)
    out = run("explain", site, *arguments).out

    assert "heads.csv" in told
    assert "sheet heads, head" in out
    assert ".csv" not in out.replace("climate_samples/dry_summer_valley.csv", "")


def test_sheets_that_are_not_read_are_told_once(run, tmp_path, put_workbook):
    site = copy_of("home", tmp_path)
    path = put_workbook(site)
    book = openpyxl.load_workbook(path)
    book.create_sheet("Notes")
    book.create_sheet("Sketch")
    book.save(path)

    line = 'sheets "Notes" and "Sketch" of site.xlsx: not read'
    assert run("check", site).out.count(line) == 1
    cautions = json.loads(run("table", site, "--format", "json").out)["cautions"]
    assert [c["text"] for c in cautions if c["code"] == "sheets-not-read"] == [line]


def test_problems_of_a_workbook_end_in_2_and_name_the_cells(
    run, tmp_path, put_workbook
):
    site = copy_of("home", tmp_path)
    path = put_workbook(site)
    book = openpyxl.load_workbook(path)
    book["heads"]["E5"] = 400
    book["zones"]["I3"] = "sprey"
    book.save(path)
    ran = run("table", site)

    assert [book["heads"]["E1"].value, book["zones"]["I1"].value] == [
        "arc_deg", "head_kind"]  # fmt: skip
    assert (ran.status, ran.out) == (2, "")
    assert ran.err == (
        'site.xlsx: zones!I3: head_kind: "sprey" is not a head kind\n'
        "  accepted: rotor, spray, multi-stream, drip, bubbler\n"
        "  hint: did you mean spray?\n"
        "site.xlsx: heads!E5: arc_deg: 400 is not an arc\n"
        "  accepted: a number over 0 and up to 360\n"
        "  hint: write 360 for a full circle\n"
    )


def test_nozzles_are_not_written_into_a_workbook(run, tmp_path, put_workbook):
    site = copy_of("home", tmp_path)
    path = put_workbook(site)
    before = path.read_bytes()
    ran = run("nozzles", site, "--chart", site / "nozzles.csv", "--write")

    assert (ran.status, ran.out) == (2, "")
    assert ran.err == (
        "scheduler: --write: heads stand in site.xlsx, and nothing is written into a "
        "workbook\n"
        "  accepted: a site whose heads are in heads.csv\n"
        "  hint: leave --write out, and type what it shows into sheet heads\n"
    )
    assert path.read_bytes() == before


def test_cans_of_a_workbook_are_those_of_its_file(run, tmp_path, put_workbook):
    site = copy_of("southern_garden", tmp_path)
    told = run("cans", site / "cans.csv", "--format", "json")
    path = put_workbook(site)
    ran = run("cans", path, "--format", "json")

    assert (ran.status, ran.out, ran.err) == (told.status, told.out, told.err)


def test_cans_of_a_workbook_without_any_are_refused(run, tmp_path, put_workbook):
    site = copy_of("home", tmp_path)
    ran = run("cans", put_workbook(site))

    assert (ran.status, ran.out, ran.err) == (2, "", "site.xlsx: has no sheet cans\n")


def test_nozzle_chart_in_a_workbook_is_refused(run, tmp_path):
    site = copy_of("home", tmp_path)
    openpyxl.Workbook().save(tmp_path / "chart.xlsx")
    ran = run("nozzles", site, "--chart", tmp_path / "chart.xlsx")

    assert (ran.status, ran.out) == (2, "")
    assert ran.err == (
        f"{tmp_path / 'chart.xlsx'}: is not a text file\n  hint: save it as CSV UTF-8\n"
    )


@pytest.mark.parametrize("by_file", [False, True])
def test_fetched_weather_goes_beside_the_workbook(
    run, tmp_path, put_workbook, monkeypatch, by_file
):
    site = copy_of("home", tmp_path)
    path = put_workbook(site)
    asked = []

    def fetch(service, request):
        asked.append((request.latitude_deg, request.longitude_deg))
        return services.Fetched(weather(), ("Weather from nowhere", "Credit: none"))

    monkeypatch.setattr(services, "fetch", fetch)
    ran = run("climate", path if by_file else site, "--fetch", "nasa-power")

    assert ran.status == 0, ran.err
    assert asked == [(38.5, -120.0)]
    assert (site / "weather_nasa-power.csv").exists()
    assert ran.out.endswith(
        'In sheet site, under [climate], write: file = "weather_nasa-power.csv"\n'
    )


def weather() -> DailyWeather:
    days = np.arange("2023-01-01", "2024-01-01", dtype="datetime64[D]")
    values = {name: np.full(len(days), 3.0) for name in QUANTITIES}
    return DailyWeather(
        "nowhere", days, **values, rain_of_months_mm=np.full(12, np.nan)
    )


# An office reads the workbook alone: each table of the text is a sheet, but the steps
# from estimate to plan, and each sentence beside tables stands on the first one.
def test_budgets_workbook_tells_all_that_its_text_does(run, tmp_path):
    out = tmp_path / "out.xlsx"
    told = run("budget", EXAMPLES / "home")
    run("budget", EXAMPLES / "home", "--format", "xlsx", "--out", out)
    book = openpyxl.load_workbook(out)
    about = " ".join(str(cell.value) for cell in book["About"]["A"])
    said = told.out.partition("What that says\n")[2].partition("\n\n")[0]

    assert "What that says" in about
    assert all(line in about for line in said.splitlines()[1:])
    assert "makes up for heads that water unevenly" in about
    assert "Where today's water goes" in told.out
    # What the plan takes less than today, and each step, stand as numbers too.
    year = {row[0]: row[1:3] for row in book["The year"].values}
    less_gal, less = re.search(r"takes ([\d,]+) gal less.* costs \$([\d.]+) less",
                               " ".join(said.split())).groups()  # fmt: skip
    water_gal, cost = year["today less plan"]
    assert (f"{water_gal:,.0f}", f"{cost:.2f}") == (less_gal, less)
    steps = re.findall(r"^ *\d+\. .*?: ([\d,]+) gal a year, \$(\d+\.\d\d)",
                       told.out.replace("\n  ", " "), re.MULTILINE)  # fmt: skip
    rows = list(book["Savings"].values)[1:]
    told_rows = [(f"{gal:,.0f}", f"{money:.2f}") for *_, gal, money in rows]
    assert told_rows[: len(steps)] == steps
    assert len(rows) > 5
    for name, rows in (("Zones", ["all zones", "fixed charges"]),
                       ("Where water goes", ["all zones"])):  # fmt: skip
        sheet = book[name]
        first = [sheet.cell(row, 1).value for row in range(1, 4)]
        # Totals stand above the header, so that sorting leaves them where they are.
        assert {*first[: len(rows)]} == {*rows}
        assert first[len(rows)] == "zone"
        assert sheet.max_row == 1 + len(rows) + 5


# Who keys in from the workbook alone needs the dates of the text and what waits.
def test_cards_workbook_has_the_dates_and_the_water_of_its_text(run, tmp_path):
    asked = ("card", EXAMPLES / "business_park", "--date", "2026-11-27")
    told = " ".join(run(*asked).out.split())
    book = book_of(run, tmp_path / "out.xlsx", *asked)
    about = " ".join(str(cell.value) for cell in book["About"]["A"])
    head, *rows = book["Controller card"].values
    first, days, parity = map(head.index, ("first date", "days", "parity"))
    some = {r[first] for r in rows if r[parity] in ("odd", "even")
            and len(str(r[days]).split()) < 7}  # fmt: skip
    by_hand = {row[first] for row in rows if row[head.index("program")] == "by hand"}

    assert some
    assert None not in some | by_hand
    for date in some:
        assert re.search(rf"first on {date:%a} {date.day}\b", told)
    for date in by_hand:
        assert f"first on {date:%a} {date.day} {date:%b %Y}" in told
    visits = re.findall(r"Visit \d of \d:", told)
    assert len(visits) > 1
    assert all(visit in about for visit in visits)
    left_out = re.findall("In no program until the next visit: [^.]*", told)
    assert left_out
    assert all(line in about for line in left_out)
    totals = next(book["Water of a year"].values)
    assert f"The zones get {totals[1]:,.0f} gal" in told


def test_climates_workbook_tells_of_frost(run, tmp_path):
    out = tmp_path / "out.xlsx"
    run("climate", EXAMPLES / "home", "--format", "xlsx", "--out", out)
    about = [str(c.value) for c in openpyxl.load_workbook(out)["About"]["A"]]

    assert any(line.startswith("Nights at 32 °F or below") for line in about)


# Sod of the example was laid on 12 June 2026: its steps are what keeps it alive.
def test_cards_workbook_has_the_steps_of_new_plantings(run, tmp_path):
    asked = ("card", EXAMPLES / "desert_garden", "--date", "2026-06-20")
    told = " ".join(run(*asked).out.split())
    book = book_of(run, tmp_path / "out.xlsx", *asked)
    steps = [
        row
        for sheet in book.worksheets
        if sheet.title.startswith("New plantings")
        for row in list(sheet.values)[1:]
    ]

    assert len(steps) > 3
    for begins, ends, *_, minutes in steps:
        assert re.search(rf"{begins} {ends} .*?\b{minutes}\b", told)


# An office adds up numbers, and reads them in its own units.
def test_workbooks_of_questions_hold_numbers_and_units(run, tmp_path):
    out, home = tmp_path / "out.xlsx", EXAMPLES / "home"
    less = book_of(run, out, "less", home, "--percent", "10")
    _, *rows = less["Minutes a week"].values
    assert all(cell is None or cell > 0 for row in rows for cell in row[1:])

    told = " ".join(run("doubt", home).out.split())
    _, *rows = book_of(run, out, "doubt", home)["It hangs on"].values
    assert len(rows) > 5
    for _, what, low, plan, high, *_ in rows:
        assert f"{what} {low} {plan} {high}" in told
