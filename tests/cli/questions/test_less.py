"""`less` from the command line: what is refused, stages, and every format."""

import csv
import datetime
import io
import json
import re
import shutil
import types
from dataclasses import replace as replaced

import numpy as np
import pytest
from cards import plan_of
from cli_answers import EXAMPLES, ROOT, replace, rows_of
from questions import less_of

from scheduler.errors import InputError
from scheduler.inputs.settings import read_stage
from scheduler.report.data import to_csv
from scheduler.report.views.questions import less as view
from scheduler.report.views.questions.asked import Wanted, less_asked
from scheduler.report.words.questions import less as words

STAGES = """[[stage]]
name = "1"
percent = 10

[[stage]]
name = "2"
[[stage.window]]
days = ["mon"]

[[stage]]
name = "3"
no_watering = true
"""
ONE_OF = (
    "one of --percent, --volume-gal, --volume-l, --volume-m3 and --cost, and with it "
    "or alone --days or --stage"
)


@pytest.fixture
def home(tmp_path):
    """The example alone, in few invented days so that it is planned fast."""
    shutil.copytree(EXAMPLES / "home", tmp_path / "examples" / "home")
    shutil.copytree(ROOT / "climate_samples", tmp_path / "climate_samples")
    (tmp_path / "examples" / "home" / "stages.toml").write_text(STAGES)
    return tmp_path / "examples" / "home"


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ({"percent": -20},
         "less: --percent: -20 % less would be more water\n"
         "  accepted: 0 to 100, the share of the table's water to give up"),
        ({"percent": 120},
         "less: --percent: 120 % is more than there is\n"
         "  accepted: 0 to 100, the share of the table's water to give up"),
        ({"days": 9},
         "less: --days: 9 is no number of days in a week\n"
         "  accepted: 0 to 7 watering days a week; 0 is rain alone"),
        ({"stage": "4"},
         'stages.toml: --stage: "4" is not a stage\n  accepted: 1, 2, 3'),
        ({}, f"less: nothing is asked for\n  accepted: {ONE_OF}"),
        ({"percent": 5, "cost": 900},
         f"less: too much is asked for at once\n  accepted: {ONE_OF}"),
    ],
)  # fmt: skip
def test_what_cannot_be_asked_is_refused(home, asked, told):
    with pytest.raises(InputError) as refused:
        less_asked(plan_of("home"), Wanted(**asked), home, "us")

    assert str(refused.value) == told


def test_more_water_than_the_table_takes_is_refused(home):
    with pytest.raises(InputError, match=r"a year is over the .* nothing has to be"):
        less_asked(plan_of("home"), Wanted(volume_l=9e6), home, "us")


def test_bills_below_their_fixed_charges_are_refused(home):
    # 32.50 a bill, six bills a year: 195.00.
    with pytest.raises(InputError, match=r"accepted: \$195\.00, the year's fixed"):
        less_asked(plan_of("home"), Wanted(cost=194.99), home, "us")


def test_a_refusal_ends_with_status_2_and_prints_nothing(run, home):
    ran = run("less", home, "--percent", "120")

    assert (ran.status, ran.out) == (2, "")
    assert ran.err.startswith("less: --percent: 120 % is more than there is\n")


def test_a_plan_by_months_has_no_dry_days_to_weigh(run, home):
    replace(home, "site.toml", "[climate]", '[plan]\nby = "months"\n\n[climate]')
    ran = run("less", home, "--percent", 5)

    assert ran.status == 2
    assert ran.err.startswith("site.toml: plan.by: ")


def test_a_zone_kept_first_and_last_is_refused(run, home):
    replace(home, "zones.csv", "emitter_row_spacing_ft\n",
            "emitter_row_spacing_ft,keep\n")  # fmt: skip
    replace(home, "zones.csv", "rotor,no,,,,\n2", "rotor,no,,,,,first and last\n2")
    ran = run("less", home, "--percent", 5)

    assert ran.status == 2
    assert 'zones.csv:3: keep: "first and last"' in ran.err
    assert "accepted: first, last" in ran.err


def test_a_stage_without_a_day_tells_what_rain_alone_does(run, home):
    ran = run("less", home, "--stage", "3")

    assert "Watering is not permitted on any day in all zones." in ran.out
    assert 'Asked: "3", no watering day at all.' in ran.out
    assert "On rain alone plants go short, by zone: 1 on " in ran.out
    assert ran.status == 3, "not permitted is a hard limit"


def test_a_stage_of_a_site_without_such_a_file_says_what_to_write(run, home):
    (home / "stages.toml").unlink()
    ran = run("less", home, "--stage", "3")

    assert ran.status == 2
    assert ran.err == (
        "stages.toml: no such file beside the site's own\n"
        "  hint: write a [[stage]] with its name and percent into it\n"
    )


# The bermudagrass of zones 1 and 2 and the citrus of zone 4 have a known threshold of
# salt (6.9 and 1.7 dS/m, FAO-29, from memory), and a desert's rain does not wash it
# down; of the trees of zone 3 and the shrubs of zone 5 none is known.
def test_who_gives_up_water_that_washes_salt_down_is_warned():
    found = less_of("desert_garden", 20)
    less = found.after_l.sum(axis=1) < 0.995 * found.before_l.sum(axis=1)

    assert less[[0, 1, 3]].all()
    assert words.salt_said(found) == [
        "Zones 1, 2 and 4 give up water that washes salt down too: salt gathers about "
        "the roots. Have the soil's salt measured, and wash it down with deep "
        "waterings once water is permitted again."
    ]
    assert not words.salt_said(less_of("desert_garden", 0)), "nothing is given up"
    assert not words.salt_said(less_of("home", 20)), "no salt in the water"


def test_a_stage_of_one_day_a_week_holds_for_every_zone(run, home):
    ran = run("less", home, "--stage", "2", "--format", "json")
    data = json.loads(ran.out)

    assert {"target_l_year", "reached_l_year", "zones"} <= set(data)
    assert data["target_l_year"] is None
    zone = data["zones"][0]
    assert zone["dry_days_percent_after"] > zone["dry_days_percent_before"]


def test_a_stage_may_ask_for_a_percent_alone(home):
    stage = read_stage(home, "1")

    assert (stage.name, stage.windows, stage.percent) == ("1", (), 10)


def test_json_and_csv_tell_the_same_water():
    found = less_of("home", 20)
    data, rows = (
        view.to_data(found, ()),
        rows_of(to_csv(view.to_table(found), "metric")),
    )

    total = sum(zone["after_l_year"] for zone in data["zones"])
    assert data["reached_l_year"] == pytest.approx(total)
    assert total <= data["target_l_year"] * (1 + 1e-6)
    assert sum(float(row["after_year_l"]) for row in rows) == pytest.approx(
        total, rel=1e-5
    )


# Two places, each rounded by hand: 1 - 103 / 100 = -0.03.
@pytest.mark.parametrize(
    ("share", "told"),
    [(0.125, "12 %"), (0.0, "0 %"), (-0.004, "0 %"), (1 - 1.03, "3 % more"),
     (float("nan"), "")],
)  # fmt: skip
def test_what_is_less_by_a_negative_share_is_more(share, told):
    assert words.less_or_more(share) == told


def test_a_stage_says_what_it_asks_for_and_what_to_run_for_its_card(run, home):
    ran = run("less", home, "--stage", "1")

    assert 'Asked: "1", 10 % less than by the table. It is reached: ' in ran.out
    told = " ".join(ran.out.split())
    assert f'What to key in: scheduler card {home} --stage "1"' in told.replace(
        "--stage 1", '--stage "1"'
    )


def test_days_alone_claim_neither_less_water_nor_the_months_of_the_table(run, home):
    ran = run("less", home, "--days", 2)

    assert ran.out.startswith("With other watering days: ")
    assert "a week, the same for the whole site, on Mo and Fr." in ran.out
    assert "No zone gets more water" not in ran.out
    assert "--days 2" in ran.out


def test_two_stages_of_one_name_are_refused_with_the_other_errors(home):
    twice = STAGES.replace('"2"', '" 1 "').replace("percent = 10", "percent = 400")
    (home / "stages.toml").write_text(twice)
    with pytest.raises(InputError) as refused:
        read_stage(home, "1")

    assert "stages.toml:3: stage[1].percent: " in str(refused.value)
    assert "stages.toml:6: stage[2].name: " in str(refused.value)
    assert "accepted: a name of its own for each stage" in str(refused.value)


def test_card_keeps_the_days_of_a_stage_and_tells_what_it_takes(run, home):
    ran = run("card", home, "--stage", "2", "--less", 30, "--date", "2026-04-01",
              "--format", "json")  # fmt: skip
    data = json.loads(ran.out)

    days = {
        tuple(program["days"]) for v in data["visits"] for program in v["programs"]
        if program["days"]
    }  # fmt: skip
    assert days == {("mon",)}
    told = data["less"]
    assert (told["stage"], told["asked_percent"]) == ("2", 30)
    assert told["most_days_a_week"] == 1
    # Law: percent is what its two waters come to.
    assert told["less_percent"] == pytest.approx(
        100 * (1 - told["card_l_year"] / told["table_l_year"])
    )
    assert told["reached"] == (told["less_percent"] >= 29.5)


def test_card_says_what_was_asked_and_what_it_takes_and_asks_for_more(run, home):
    ran = run("card", home, "--less", 20, "--date", "2026-04-01")
    line = " ".join(ran.out.split())
    told = re.search(
        r"Asked: 20 % [^.]*\. This card, as it is keyed in, takes (\d+) % less", line
    )

    assert told is not None
    assert int(told[1]) >= 20


# What is asked stands in every form of the card, once; a spreadsheet has it beside the
# first row.
def test_rows_of_a_card_say_what_was_asked(run, home):
    asked = ("card", home, "--less", 20, "--date", "2026-04-01")
    text = " ".join(run(*asked).out.split())
    rows = list(csv.DictReader(io.StringIO(run(*asked, "--format", "csv").out)))

    assert rows[0]["asked"].startswith("Asked: 20 % less than by the table.")
    assert rows[0]["asked"] in text
    assert not any(row["asked"] for row in rows[1:])


def test_workbook_has_the_totals_of_the_year():
    found = less_of("home", 20)
    (_, year), (_, minutes) = view.sheets(found)
    columns = {column.name: column.values for column in year.columns}

    assert columns["water"] == pytest.approx(
        [found.before_l.sum(), found.after_l.sum()]
    )
    assert columns["less"][1] == pytest.approx(20, abs=1.5)
    assert columns["cost"][1] < columns["cost"][0]
    assert len(minutes.columns) == 13


# A drought stage stands alone: sod has the exception that it makes, and where it makes
# none, not the site's own either.
@pytest.mark.parametrize("excepted", [True, False])
def test_new_plantings_have_the_exceptions_of_the_stage(excepted):
    plan = plan_of("desert_garden")
    grown = replaced(plan.site.windows[-1], weekdays=("mon", "fri"))
    own = replaced(
        plan.site.exceptions[0], stages=("sod",), stage_days=None,
        weekdays=("tue", "thu", "sat"),
    )  # fmt: skip
    windows = (own, grown) if excepted else (grown,)
    asked = Wanted(percent=0, stage="dry", windows=windows)
    laid = datetime.date(2026, 6, 12)
    sod = less_asked(plan, asked, EXAMPLES, "us", laid).base.plantings[0]
    days = {date.weekday() for step in sod.steps for date in step.dates}

    assert sod.planted.stage == "sod"
    assert days == ({1, 3, 5} if excepted else {0, 4})


def test_days_are_planned_as_of_today():
    """What was planted before has no steps to come, whose limits would be broken."""
    plan = plan_of("desert_garden")
    late = datetime.date(2031, 1, 1)
    found = less_asked(plan, Wanted(days=2), EXAMPLES, "us", late)

    assert plan.plantings
    assert not found.after.plantings


# By hand, liters: 80 are 20 % below 100, 60 are 40 %; 25 % less than 100 are 75, which
# are 6.25 % less than 80.
@pytest.mark.parametrize(
    ("today_l", "percent", "told"),
    [
        (100.0, 25, "20 % below it, these settings are 40 % below it. 25 % less than "
                    "today asks for --percent 7."),
        (100.0, 20, "20 % below it, these settings are 40 % below it. The table "
                    "alone is 20 % and more below today."),
        (64.0, None, "25 % above it, these settings are 6 % below it."),
        (None, 20, "with today's runs in current.csv this says how far the table is "
                   "below that."),
    ],
)  # fmt: skip
def test_less_stands_beside_todays_use(today_l, percent, told):
    found = types.SimpleNamespace(
        today_l=today_l, table_l=80.0, before_l=np.array([80.0]),
        after_l=np.array([60.0]), today_beside_l=today_l,
    )  # fmt: skip

    assert words.beside_today(found, percent, "metric").endswith(told)
    if today_l:
        # A rain shut-off holds back more of today's 128 liters than of the table's.
        found.today_l = 128.0
        line = words.beside_today(found, percent, "metric")
        assert "runs 128 L a year" in line
        assert "After what the rain shut-off holds back of each, the table" in line
        assert line.endswith(told)


def test_one_zone_alone_is_not_hurt_most(run, home):
    for name in ("zones", "heads", "current", "outline"):
        path = home / f"{name}.csv"
        if path.exists():
            lines = path.read_text().splitlines(keepends=True)
            path.write_text("".join(x for x in lines if x[0] in "#z1"))
    told = run("less", home, "--percent", 20).out

    assert "Who gives up what" in told
    assert "is hurt most" not in told
