"""The library gives what the verbs print, frozen, with units in every column's name."""

from __future__ import annotations

import dataclasses
import datetime
import io
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import scheduler
from scheduler import cli
from scheduler.calendar import Days

ROOT = Path(__file__).parents[1]
HOME = ROOT / "examples" / "home"

# Bare names: counts, factors, text, and minutes, days or percents that say so.
BARE = {
    "cycles", "cycle", "density_factor", "depletion", "every_days", "head_kind",
    "microclimate_factor", "month", "months", "name", "parity", "plant", "plant_factor",
    "program", "regulated", "soil", "station", "starts", "uniformity", "visit",
    "wetted_share", "dry_share", "zone", "date", "start", "end", "days", "first_date",
    "planted", "stage", "keep", "cost", "emitters", "plants", "part",
}  # fmt: skip
UNIT_ENDINGS = (
    "_mm", "_mm_day", "_mm_h", "_l", "_l_min", "_kpa", "_m", "_m2", "_percent", "_days",
    "_per_week", "_per_day", "minutes", "minutes_over",
)  # fmt: skip


@pytest.fixture(scope="module")
def site():
    return scheduler.read_site(HOME)


@pytest.fixture(scope="module")
def plan(site):
    return scheduler.plan(site)


def printed(capsys: pytest.CaptureFixture[str], *arguments: str) -> pd.DataFrame:
    """CSV of a verb in metric units, as pandas reads it."""
    capsys.readouterr()
    assert cli.status([*arguments, "--format", "csv", "--units", "metric"]) == 0
    return pd.read_csv(
        io.StringIO(capsys.readouterr().out), dtype={"zone": str, "months": str}
    )


def assert_same(frame: pd.DataFrame, told: pd.DataFrame) -> None:
    """The frame holds the CSV's columns and cells; six digits are shown there."""
    assert list(frame.columns) == list(told.columns)
    assert len(frame) == len(told) > 0
    for name in frame.columns:
        ours, theirs = frame[name], told[name]
        assert list(ours.isna()) == list(theirs.isna()), name
        if pd.api.types.is_numeric_dtype(theirs):
            expected = theirs.to_numpy(float)
            np.testing.assert_array_equal(ours.to_numpy(float), expected, name)
        else:
            assert list(map(str, ours.dropna())) == list(map(str, theirs.dropna()))


def test_plan_has_the_numbers_of_table(plan, capsys):
    assert_same(plan.to_frame(), printed(capsys, "table", str(HOME)))


def test_night_of_a_date_has_the_numbers_of_night(plan, capsys):
    date = datetime.date(2026, 7, 6)
    told = printed(capsys, "night", str(HOME), "--month", "7", "--date", str(date))

    assert_same(scheduler.night(plan, date).to_frame(), told)


def test_night_of_a_month_is_its_fullest(plan):
    found = scheduler.night(plan, 7, year=2026)

    assert found.fits
    # The first date of the month on which the table waters for the most minutes.
    days = Days.of_calendar(datetime.date(2026, 7, 1), 31)
    minutes = plan.record.plan.schedule.minutes(days, 5).sum(axis=0)
    assert found.record.night.date.day == 1 + int(np.argmax(minutes))


def test_card_has_the_numbers_of_card(plan, capsys):
    told = printed(capsys, "card", str(HOME), "--visits", "2", "--year", "2026")

    assert_same(scheduler.card(plan, 2, 2026).to_frame(), told)


def test_budget_has_the_numbers_of_budget(plan, capsys):
    assert_same(scheduler.budget(plan).to_frame(), printed(capsys, "budget", str(HOME)))


def test_a_us_frame_is_the_metric_one_in_other_units(plan):
    us, metric = plan.to_frame("us"), plan.to_frame()

    # A US gallon is 231 in³ of 25.4³ mm³ (NIST Handbook 44, Appendix C): exact, but
    # both are printed to six digits.
    gallon_l = 231 * 25.4**3 / 1e6
    np.testing.assert_allclose(us.volume_gal * gallon_l, metric.volume_l, rtol=1e-5)


def test_site_frame_has_the_zones_as_they_were_written(site):
    frame = site.to_frame()
    written = pd.read_csv(HOME / "zones.csv", comment="#", dtype={"zone": str})

    assert list(frame.zone) == list(written.zone)
    assert list(frame.plant) == list(written.plant)
    assert list(frame.head_kind) == list(written.head_kind)
    # A foot is 0.3048 m by definition.
    given = written.area_ft2.notna()
    np.testing.assert_allclose(
        frame.area_m2[given], written.area_ft2[given] * 0.3048**2, rtol=1e-12
    )


def results(plan):
    return [
        plan,
        scheduler.night(plan, 7, 2026),
        scheduler.card(plan, 1, 2026),
        scheduler.budget(plan),
    ]


def test_every_column_ends_in_its_unit(site, plan):
    for result in [site, *results(plan)]:
        for name in result.to_frame().columns:
            assert name in BARE or name.endswith(UNIT_ENDINGS), name


def test_every_result_is_frozen(site, plan):
    for result in [site, *results(plan)]:
        with pytest.raises(dataclasses.FrozenInstanceError):
            result.record = None


def test_every_public_name_tells_what_goes_in_and_out():
    for name in set(scheduler.__all__) - {"InputError"}:
        text = getattr(scheduler, name).__doc__

        for heading in ("Parameters", "Returns", "Raises"):
            assert f"{heading}\n    ---" in text, (name, heading)


def test_input_error_holds_its_problems_as_data(tmp_path):
    (tmp_path / "site.toml").write_text("[site]\nlatitude = 95\n", encoding="utf-8")

    with pytest.raises(scheduler.InputError) as caught:
        scheduler.read_site(tmp_path)

    latitude = [p for p in caught.value.problems if p.field == "site.latitude"]
    assert [(p.file, p.line, p.wrong) for p in latitude] == [
        ("site.toml", 2, "95 is not a latitude")
    ]


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda plan: scheduler.night(plan, 13), "when must be a month from 1 to 12"),
        (lambda plan: scheduler.card(plan, 0), "visits must be from 1 to 12, got 0"),
        (lambda plan: plan.to_frame("imperial"), "units must be metric or us"),
    ],
)
def test_arguments_outside_what_is_taken_are_refused(plan, call, message):
    with pytest.raises(ValueError, match=message):
        call(plan)


def test_a_card_that_keeps_no_limits_is_there_all_the_same_and_says_so():
    site = scheduler.read_site(HOME)
    small = dataclasses.replace(
        site.record,
        controller=dataclasses.replace(site.record.controller, programs=1, starts=1),
    )
    plan = scheduler.plan(dataclasses.replace(site, record=small))
    found = scheduler.card(plan, 1, 2026)
    frame = found.to_frame()
    told = {c.code for c in found.cautions} - {c.code for c in plan.cautions}

    # One program with one start, and what is left for the hand.
    assert set(frame[frame.program != "by hand"].program) == {"A"}
    assert not frame.starts.str.contains(" ").any()
    assert told
    assert told <= {"card-dry", "card-shallow", "card-deep"}
    assert {c.zone for c in found.cautions if c.code in told} <= set(plan_zones(plan))


def plan_zones(plan):
    return plan.to_frame().zone.astype(str)


def run(code: str) -> list[str]:
    """Lines that a fresh interpreter prints."""
    ended = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True
    )
    assert (ended.returncode, ended.stderr) == (0, "")
    return ended.stdout.splitlines()


def test_importing_costs_nothing_heavy_until_asked():
    code = (
        "import sys, scheduler\n"
        "heavy = [m for m in ('numpy', 'pandas', 'typer') if m in sys.modules]\n"
        "print(heavy, scheduler.InputError.__name__ in dir(scheduler))\n"
        "plan = scheduler.plan(scheduler.read_site('examples/home'))\n"
        "print('numpy' in sys.modules, 'pandas' in sys.modules)\n"
        "frame = plan.to_frame()\n"
        "print('pandas' in sys.modules)\n"
    )

    assert run(code) == ["[] True", "True False", "True"]


def test_a_function_stays_itself_when_the_room_of_its_name_is_imported():
    code = (
        "import scheduler\n"
        "from scheduler.plan import site\n"
        "from scheduler import plan\n"
        "print(plan is scheduler.plan, plan.__module__, site.__name__)\n"
    )

    assert run(code) == ["True scheduler.library scheduler.plan.site"]


def test_an_unknown_name_is_an_attribute_error():
    with pytest.raises(AttributeError, match="has no attribute 'irrigate'"):
        _ = scheduler.irrigate
