"""The ladder and one played day of `explain`, parsed from what is printed."""

import calendar
import datetime
import itertools
import re

import numpy as np
import pytest
from calculator import faults
from questions import plan_of

from scheduler.calendar import DAYS_IN_MONTH
from scheduler.errors import InputError
from scheduler.inputs.folder import read_site
from scheduler.inputs.forms.dates import read_played_date
from scheduler.plan.site import plan_site
from scheduler.report import blocks
from scheduler.report.views.workings import explained, working
from scheduler.report.views.workings.day import QUARTERS, explain_day

STARTS = np.cumsum(DAYS_IN_MONTH) - DAYS_IN_MONTH


@pytest.fixture
def folder(site):
    """The small site, planned by days."""
    path = site / "site.toml"
    text = path.read_text(encoding="utf-8").replace('"months"', '"days"')
    path.write_text(text, encoding="utf-8")
    return site


def printed(run, folder, *options):
    ran = run("explain", folder, "--zone", "1", "--month", "7", *options)
    assert (ran.status, ran.err) == (0, "")
    return ran.out


def number(text, label):
    """Value of a quantity as it is printed, given or worked out."""
    flat = re.sub(r"\n {6}", " ", text)
    match = re.search(
        rf"^{re.escape(label)}(?:: | = [^\n]*\n    = [^\n]* = )(-?[\d.]+)", flat, re.M
    )
    assert match, label
    return float(match[1])


@pytest.mark.parametrize("units", ["us", "metric"])
def test_lines_of_a_working_by_days_hold(folder, units):
    plan = plan_site(read_site(folder))
    for zone, month in itertools.product(("1", "2"), range(1, 13)):
        steps = working.explain(plan, zone, month, units)
        count, wrong = faults(blocks.text(explained.blocks("Working", steps), units))

        assert not wrong
        assert count >= 6


@pytest.mark.parametrize("quarter", QUARTERS)
def test_days_in_a_row_are_worked_again_from_what_is_printed(folder, quarter):
    plan = plan_site(read_site(folder))
    end = None
    watered = 0
    for day in range(1, 15):
        date = f"0004-07-{day:02d}"
        steps = explain_day(plan, "1", 7, date, quarter, "metric")
        text = blocks.text(explained.blocks("Day", steps), "metric")
        count, wrong = faults(text)
        assert not wrong
        assert count == 11
        told = re.search(r"day of the week: (\w+)", text)[1]
        # Days of the years follow one another from a Monday on, each year of 365.
        assert told == calendar.day_name[(3 * 365 + 181 + day - 1) % 7]
        start = number(text, "depletion at the start")
        if end is not None:
            assert start == end
        # FAO-56, eq. 84 to 86 with the drainage of example 38, in plain arithmetic.
        water = number(text, "watered on the quarter")
        rain, need = number(text, "rain of the day"), number(text, "need of the day")
        total = number(text, "total available water")
        allowed = number(text, "allowed depletion")
        after = max(0.0, start - water - rain)
        stress = min(1.0, (total - after) / (total - allowed))
        end = number(text, "depletion at the end")
        assert end == pytest.approx(after + min(need * stress, total - after), rel=2e-4)
        watered += water > 0
        over = after + need > 1.1 * max(allowed, need)
        assert ("the quarter is: dry" in text) == over
    assert watered


# Both stores of a bed of which emitters wet half, over a fortnight of spring with rain:
# worked again from what is printed, by FAO-56, eq. 84 and 85; the unwetted half gives
# its half of the need by its own water, and the wetted half is asked for the rest.
def test_days_of_drip_are_worked_again_from_what_is_printed():
    plan = plan_of("home")
    years = np.flatnonzero(plan.years.rain_mm[:, 95:102].sum(axis=1) > 10)
    year, ends, rained = int(years[0]) + 1, None, 0
    for day in range(5, 17):
        date = f"{year:04d}-04-{day:02d}"
        steps = explain_day(plan, "4", 4, date, "second", "metric")
        text = blocks.text(explained.blocks("Day", steps), "metric")
        count, wrong = faults(text)
        assert not wrong
        assert count == 19
        of_unwetted = "depletion of the unwetted ground at the start"
        starts = number(text, "depletion at the start"), number(text, of_unwetted)
        assert ends is None or starts == ends
        rain, need = number(text, "rain of the day"), number(text, "need of the day")
        wetted = number(text, "wetted share")
        total = number(text, "total available water")
        allowed = number(text, "allowed depletion")
        # The store of the other half is as large.
        assert wetted == 0.5
        left = max(0.0, starts[1] - rain * 0.5)
        gives = need * 0.5 * min(1.0, (total - left) / (total - allowed))
        gives = min(gives, total - left)
        asked = number(text, "need asked of the wetted ground")
        assert asked == pytest.approx(need - gives, rel=2e-4)
        after = starts[0] - number(text, "watered on the quarter") - rain * 0.5
        after = max(0.0, after)
        takes = asked * min(1.0, (total - after) / (total - allowed))
        ends = number(text, "depletion at the end"), left + gives
        assert ends[0] == pytest.approx(after + min(takes, total - after), rel=2e-4)
        over = after + asked > 1.1 * max(allowed, asked)
        assert ("the quarter is: dry" in text) == over
        ends = ends[0], pytest.approx(ends[1], rel=2e-4)
        rained += rain > 0
    assert rained


def rungs(text):
    """Rows of the printed ladder as numbers: minutes, water, dry, left dry."""
    table = text.split("The ladder\n")[1].split("\n\nKept ")[0]
    found = []
    for line in table.splitlines():
        match = re.match(r"(kept)? +(\S.*?) {2,}(\d+)? +(?:(\d+) x (\S+))? +"
                         r"([\d.]+) +([\d.]+) +([\d.]+) +(yes|no)$", line)  # fmt: skip
        if match:
            found.append(match.groups())
    return found


def test_printed_ladder_marks_one_rung_that_suffices_with_least_water(run, folder):
    rows = rungs(printed(run, folder, "--units", "metric"))
    kept = [row for row in rows if row[0]]
    enough = [float(row[5]) for row in rows if row[8] == "yes"]

    assert len(kept) == 1
    assert len(rows) >= 8
    assert kept[0][8] == "yes"
    # 1.05 of the least and 0.5 mm (rule of this program); printed to whole mm.
    assert float(kept[0][5]) <= 1.05 * min(enough) + 0.5 + 1
    for row in rows:
        assert (float(row[6]) <= 10.05 and float(row[7]) <= 25.05) or row[8] == "no"
        if row[2]:
            assert int(row[2]) == int(row[3]) * float(row[4])


@pytest.mark.parametrize(
    ("date", "told"),
    [
        ("0031-07-01", '"0031-07-01" is in no year that was played'),
        ("0000-07-01", '"0000-07-01" is not a date'),
        ("0003-08-01", '"0003-08-01" is not in month 7'),
        ("0003-07-32", '"0003-07-32" is not a date'),
        ("0004-02-29", '"0004-02-29" is not played: years of days have 365'),
        ("someday", '"someday" is not a date'),
    ],
)
def test_a_date_that_was_not_played_is_told(run, folder, date, told):
    ran = run("explain", folder, "--zone", "1", "--month", "7", "--date", date)

    assert (ran.status, ran.out) == (2, "")
    assert ran.err.startswith(f"scheduler: --date: {told}\n  accepted: a date of month")


def test_a_date_tells_its_month(run, folder):
    dated = "--zone", "1", "--date", "0003-07-14"

    assert run("explain", folder, *dated).out == (
        run("explain", folder, *dated, "--month", "jul").out
    )
    wrong = run("explain", folder, "--zone", "1", "--date", "14 July")
    assert (wrong.status, wrong.out) == (2, "")
    assert '--date: "14 July" is not a date' in wrong.err
    neither = run("explain", folder, "--zone", "1")
    assert neither.status == 2
    assert "name a month, or a day with --date" in neither.err


@pytest.mark.parametrize("option", [["--date", "0001-07-01"], ["--picture", "a.png"]])
def test_what_only_days_tell_is_refused_by_months(run, site, option, monkeypatch):
    monkeypatch.chdir(site)
    ran = run("explain", ".", "--zone", "1", "--month", "7", *option)

    assert (ran.status, ran.out) == (2, "")
    assert "the table is by months" in ran.err
    assert not (site / "a.png").exists()


# The calendar: day of a common year by Python's own.
def test_read_played_date_finds_year_and_day_of_a_common_year():
    years = (2003, 2005, 2008)
    for year in years:
        for month in range(1, 13):
            for day in (1, 17, int(DAYS_IN_MONTH[month - 1])):
                found = read_played_date(f"{year}-{month:02d}-{day:02d}", month, years)
                common = datetime.date(2001, month, day).timetuple().tm_yday - 1
                assert found == (years.index(year), common)


def test_a_year_that_was_left_out_is_named():
    with pytest.raises(InputError) as told:
        read_played_date("2004-07-01", 7, (2003, 2005, 2008))

    assert str(told.value).endswith(
        '"2004-07-01" is in no year that was played\n'
        "  accepted: a date of month 7, as 2003-07-05\n"
        "  hint: years are 2003 to 2008 without 2004, 2006, 2007"
    )


def test_picture_of_a_ladder_is_drawn_and_the_same_twice(run, folder, tmp_path):
    for name in ("a.svg", "b.svg"):
        printed(run, folder, "--picture", tmp_path / name)

    assert (tmp_path / "a.svg").read_bytes() == (tmp_path / "b.svg").read_bytes()
