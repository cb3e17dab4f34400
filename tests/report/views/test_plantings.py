"""New plantings where people read them: table, card, night, calendar and pages."""

import csv
import datetime
import io
import itertools
import json
import re
from types import SimpleNamespace

import numpy as np
import pytest
from plantings import HIGH_PLAINS, VALLEY, lawn, trees
from rooms import ROOT

from scheduler.budget.rain_rules import HandRule
from scheduler.cautions import HARD_LIMITS
from scheduler.inputs.folder import read_site
from scheduler.plan.card.plan import plan_card
from scheduler.plan.site import plan_site
from scheduler.report.blocks import text
from scheduler.report.books.reminders import to_calendar
from scheduler.report.pages import door, times
from scheduler.report.views import card as card_view
from scheduler.report.views.controller import keyed
from scheduler.report.views.plantings import card as on_card
from scheduler.report.words import plantings as words
from scheduler.report.words.sentences import sentence

DAY = datetime.timedelta(days=1)
PLANTED = datetime.date(2026, 6, 12)
TODAY = datetime.date(2026, 6, 14)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return lawn(tmp_path_factory.mktemp("new"), soil="loam", stage="sod")


@pytest.fixture(scope="module")
def plan(folder):
    return plan_site(read_site(folder), TODAY)


@pytest.fixture(scope="module")
def card(plan):
    return plan_card(plan, TODAY, 1)


def test_table_tells_the_steps_in_every_format(run, folder, plan):
    [new] = plan.plantings
    grown = new.grown_in
    asked = ("table", folder, "--date", TODAY)
    text = run(*asked).out
    [zone] = json.loads(run(*asked, "--format", "json").out)["zones"]
    rows = list(csv.DictReader(io.StringIO(run(*asked, "--format", "csv").out)))
    told = [datetime.date.fromisoformat(step["first"]) for step in
            zone["planting"]["steps"]]  # fmt: skip

    assert "sod laid 12 Jun 2026" in text
    for step in new.steps:
        assert f"{step.first.day} Jun 2026" in text or f"{step.first.day} Jul" in text
    assert told == [step.first for step in new.steps]
    assert zone["planting"]["grown_in"] == grown.isoformat()
    assert {row["grown_in"] for row in rows} == {grown.isoformat()}


# A table that has grown in says nothing of plantings, nor has columns for them.
def test_table_after_the_steps_is_the_plain_one(run, folder, plan):
    asked = ("table", folder, "--date", plan.plantings[0].grown_in)
    ran = run(*asked, "--format", "csv")

    assert "grown_in" not in ran.out.splitlines()[0]
    assert "planting" not in json.loads(run(*asked, "--format", "json").out)["zones"][0]
    assert "New planting" not in run(*asked).out


def test_workbook_of_the_table_says_from_when_it_holds(run, folder, plan, tmp_path):
    openpyxl = pytest.importorskip("openpyxl")
    out = tmp_path / "table.xlsx"
    run("table", folder, "--date", TODAY, "--format", "xlsx", "--out", out)
    rows = list(openpyxl.load_workbook(out)["Watering table"].values)
    place = rows[0].index("holds from")

    assert rows[1][place] == plan.plantings[0].grown_in.isoformat()


def test_night_runs_the_step_and_not_the_table(run, folder, plan):
    [new] = plan.plantings
    step = new.steps[0]
    asked = ("night", folder, "--month", "6", "--date", TODAY, "--format", "json")
    found = json.loads(run(*asked).out)

    assert found["runs"] == []
    assert found["new_plantings"] == [
        {"zone": "1", "minutes": step.minutes,
         "starts": [f"{s // 60:02d}:{s % 60:02d}" for s in step.starts_min]}
    ]  # fmt: skip


# The card of grown-in plants stands as it is; steps go where nothing else runs.
def test_card_keys_steps_into_a_program_that_nothing_else_uses(plan, card):
    [group] = on_card.programs(plan, card)
    [entry] = keyed.to_data(plan, card)["new_plantings"]
    others = [
        p.zones for v in card.visits for p in v.programs if p.name == group.name
    ]  # fmt: skip

    assert group.name == entry["program"]
    assert all(set(zones) <= {0} for zones in others)


# A step is keyed in at 100 % (its minutes are what the leaflets ask for), and holds its
# program until the planting has grown in; from then on the card's own percents stand.
def test_data_and_rows_tell_what_is_keyed_while_steps_go_on(plan, card):
    [new], [group] = plan.plantings, on_card.programs(plan, card)
    months = {date.month for step in new.steps for date in step.dates
              if date >= TODAY}  # fmt: skip
    own = {m: p.percent[m] for v in card.visits for p in v.programs
           if p.name == group.name for m in v.months}  # fmt: skip
    programs = [p for visit in keyed.to_data(plan, card)["visits"]
                for p in visit["programs"] if p["program"] == group.name]  # fmt: skip
    told = {int(m): p for one in programs for m, p in one["month_percent"].items()}
    then = {int(m): p for one in programs
            for m, p in one.get("then_percent", {}).items()}  # fmt: skip
    until = new.grown_in

    assert own
    assert all(told[m] == 100 for m in months & set(own))
    assert all(told[m] == own[m] for m in set(own) - months - {until.month})
    assert set(then) <= {until.month}
    assert then.get(until.month, 100) == own.get(until.month, 100)
    assert {zone.get("from") for zone in programs[0]["zones"]} == {until.isoformat()}

    table = keyed.to_table(plan, card)
    columns = {column.name: column.values for column in table.columns}
    for row, name in enumerate(columns["program"]):
        if name == group.name and columns["visit"][row] == 1:
            assert columns["from"][row] == until
            assert columns["then_percent"][row] == then.get(until.month, "")


def test_card_without_a_free_program_says_by_hand(tmp_path):
    lawn(tmp_path, soil="loam", programs=1)
    other = "2,bermuda grass,loam,1200,18,spray,0.7,,\n"
    with (tmp_path / "zones.csv").open("a") as zones:
        zones.write(other)
    plan = plan_site(read_site(tmp_path), TODAY)
    card = plan_card(plan, TODAY, 1)
    [group] = on_card.programs(plan, card)

    assert group.name == ""
    assert any("No program is free" in line for line in group.told)


def test_calendar_has_a_day_for_each_step_and_the_last(plan, card):
    icalendar = pytest.importorskip("icalendar")
    calendar = icalendar.Calendar.from_ical(to_calendar(plan, card))
    [new] = plan.plantings
    days = {
        event.decoded("dtstart"): event
        for event in calendar.walk("VEVENT")
        if "Zone 1" in str(event["summary"])
    }

    firsts = [max(step.first, TODAY) for step in new.steps]
    assert sorted(days) == [*firsts, new.grown_in]
    assert "grown in" in str(days[new.grown_in]["summary"])


def test_door_and_owner_read_of_it(plan, card, run, folder, tmp_path):
    [new] = plan.plantings
    [block] = door.door_pages(plan, card, "us")[0].plantings
    page = " ".join(cell for row in block.steps.rows("us") for cell in row)
    out = tmp_path / "sheet.html"
    run("sheet", folder, "--date", TODAY, "--out", out)
    html = out.read_text(encoding="utf-8")

    for one, two in itertools.pairwise(new.steps):
        assert f"{one.last.day} Jun 2026" in page or f"{one.last.day} Jul 2026" in page
        assert two.first == one.last + DAY
    assert "Sod laid 12 Jun 2026" in html
    assert "planted-lately" not in html


# 14 weeks on all are past: the site still reads, and says that it has grown in.
def test_planting_that_has_grown_in_is_told_and_no_error(run, folder):
    ran = run("table", folder, "--date", "2026-09-18")

    assert ran.status == 0
    assert "grown in by now" in ran.out


def test_planting_of_tomorrow_may_be_looked_ahead_to(run, folder, tmp_path):
    day = datetime.date.today() + 5 * DAY
    lawn(tmp_path, soil="loam", planted=day.isoformat())
    refused = run("table", tmp_path)
    ahead = run("table", tmp_path, "--date", day)

    assert refused.status == 2
    assert f"planted: {day} is still to come" in refused.err
    assert ahead.status in (0, 3)


# The example's local rule lets new plantings be watered daily for 30 days; without it
# three nights a week are left, and the program says what to ask for.
def test_example_keeps_to_its_ordinance_by_the_exception_alone(tmp_path):
    example = ROOT / "examples" / "desert_garden"
    text = (example / "site.toml").read_text(encoding="utf-8")
    text = text.replace("../../climate_samples", (ROOT / "climate_samples").as_posix())
    before, _, after = text.partition("# An exception")
    for name in ("zones.csv", "parts.csv"):
        (tmp_path / name).write_text((example / name).read_text(encoding="utf-8"))
    (tmp_path / "site.toml").write_text(before + after[after.index("# Drip") :])
    with_it, without = (
        plan_site(read_site(folder), datetime.date(2026, 6, 20))
        for folder in (example, tmp_path)
    )
    hard = [c for c in without.cautions if c.code in HARD_LIMITS]

    assert [c for c in with_it.cautions if c.code in HARD_LIMITS] == []
    assert [new.zone for new in with_it.plantings] == [1, 2]
    assert {(c.code, c.zone) for c in hard} >= {("planting-days-too-few", "2")}
    assert 'stages = ["sod"]' in sentence(hard[0], "us")


# A stretch shorter than the interval may have no watering, and nobody forbids it.
def test_days_on_which_none_is_due_are_not_called_forbidden(tmp_path):
    window = '[[window]]\nstages = ["container"]\nstage_days = 30\n[[window]]\n'
    lawn(tmp_path, window, "hedges", "loam", "2026-05-10", "container", HIGH_PLAINS)
    [new] = plan_site(read_site(tmp_path)).plantings
    empty = [step for step in new.steps if not step.dates]

    assert all(words.days(step) == words.NONE_DUE for step in empty)
    assert empty, "no stretch of this site is without a watering"


# By hand: every 3 days from 12 July on falls on the 21st and 24th; who keys in on the
# 21st by day has missed a start at 05:00 and not one at 19:00. Without a day none is
# told, nor after the last.
@pytest.mark.parametrize(
    ("since", "start_min", "told"),
    [(20, 300, "first on 21 Jul"), (21, 300, "first on 24 Jul"),
     (21, 1140, "first on 21 Jul"), (25, 300, ""), (None, 300, "")],
)  # fmt: skip
def test_an_interval_of_a_step_has_a_first_date(since, start_min, told):
    dates = tuple(datetime.date(2026, 7, day) for day in range(12, 25, 3))
    step = SimpleNamespace(
        frost=False, window=SimpleNamespace(parity=0), starts_min=(start_min,),
        days=SimpleNamespace(weekdays=127, every_days=3), dates=dates,
    )  # fmt: skip
    day = since and datetime.date(2026, 7, since)
    assert words.days(step, day) == "every 3 days" + f", {told}" * bool(told)


def printed(plan, card):
    """Text of the card that is read at the controller."""
    return " ".join(text(card_view.blocks(plan, card, "us"), "us").split())


# By hand: sod laid in November is watered to the middle of December; percents that are
# off by then, or lower, would leave it dry.
def test_percents_of_a_program_hold_as_long_as_it_carries_steps(tmp_path, run):
    lawn(tmp_path, "", "warm-season turf", "loam", "2026-11-19", "sod", VALLEY)
    today = datetime.date(2026, 11, 19)
    plan = plan_site(read_site(tmp_path), today)
    card = plan_card(plan, today, 1)
    [new], [group] = plan.plantings, on_card.programs(plan, card)
    [page] = door.door_pages(plan, card, "us")
    [row] = [cells for name, cells in page.percents if name == group.name]
    cells = dict(zip(page.months, row, strict=True))
    off = [p.percent[12] for p in card.visits[0].programs if p.name == group.name]
    calendar = to_calendar(plan, card).replace("\r\n ", "")
    out = tmp_path / "sheet.html"
    run("sheet", tmp_path, "--date", today, "--out", out)
    html = out.read_text(encoding="utf-8")
    [nothing] = re.findall(r"Nothing runs in ([^.]*)\.", html) or [""]

    assert new.grown_in == datetime.date(2026, 12, 16)
    assert off in ([], [0.0])
    assert cells["Nov"] == "100"
    assert cells["Dec"] == "100*"
    assert cells["Jan"] == "off"
    assert any("until 16 Dec 2026, then off" in line for line in page.changes)
    assert "Dec 100 % until 16 Dec 2026, then off" in printed(plan, card)
    assert "Set percents for Dec" not in calendar
    assert f"Program {group.name}: 0 % (off)" in calendar
    assert "December" not in nothing
    assert "In December new plantings alone are watered" in html.replace(
        "November and ", ""
    )


def test_one_instruction_for_trees_until_they_have_roots(tmp_path, run):
    folder = trees(tmp_path, 2)
    plan = plan_site(read_site(folder), PLANTED)
    [new] = plan.plantings
    grown, final = new.grown_in, new.final
    told = (
        f"start it by hand for {final.minutes_per_day:g} min",
        f"From {grown.day} {grown:%b %Y} until about",
    )
    out = tmp_path / "sheet.html"
    run("sheet", folder, "--date", PLANTED, "--out", out)
    texts = [
        run("table", folder, "--date", PLANTED).out,
        run("card", folder, "--date", PLANTED).out,
        # Steps are over then, and what a hand gives is still told.
        run("table", folder, "--date", grown).out,
        out.read_text(encoding="utf-8"),
        to_calendar(plan, plan_card(plan, PLANTED, 1)).replace("\r\n ", ""),
    ]

    for one in texts:
        words_of = " ".join(one.replace("\\", "").split())
        assert all(part in words_of for part in told)
        assert "no week without water" not in words_of


def test_owner_reads_days_and_hours_of_every_step(plan, card):
    lines = times.times_story(plan, card)
    hours, permitted, comes, _percents = lines[:4]
    [new] = plan.plantings

    assert permitted.startswith("Permitted hours")

    for step in new.steps:
        assert f"{step.first.day} {step.first:%b %Y} to {step.last.day}" in hours
        for start in step.starts_min:
            assert f"{start // 60:02d}:{start % 60:02d}-" in hours
    for date in [step.first for step in new.steps[1:]] + [new.grown_in]:
        assert f"{date.day} {date:%b %Y}" in comes


# Sod of these days dries out in a day: five without water would kill it.
def test_rule_for_rain_does_not_switch_new_sod_off(plan):
    rule = HandRule(12.7, 5, 0.0, np.zeros(1), np.zeros(1))
    [told] = door.when_it_rains(plan, rule, "us")

    assert "turn the controller off" not in told
    assert f"until {plan.plantings[0].grown_in.day} Jul 2026 the controller" in told


# By hand: of the card's programs E alone, of the shrubs, runs at the sod's hours: its
# last start is at 07:00 and takes 120 min, over the sod's 08:00. Sod and young trees
# have programs of their own, which wait until they have grown in.
def test_example_is_keyed_in_top_to_bottom():
    today = datetime.date(2026, 6, 12)
    plan = plan_site(read_site(ROOT / "examples" / "desert_garden"), today)
    card = plan_card(plan, today, 2)
    page = door.door_pages(plan, card, "us")[0]
    ((title, cell),) = (
        (p.title, row[2]) for p in page.programs for row in p.run_times.rows("us")
        if row[1] == "New shade trees"
    )  # fmt: skip

    first, second = (block.title[:9] for block in page.plantings)
    assert (first, second[:8]) == ("Program B", "Program ")
    assert second != first
    # At 0 until its steps end, or in the program that holds them until then.
    assert "from 25 Aug 2026" in title or cell.startswith("0 until 25 Aug 2026, then ")
    assert any(p.title.startswith("Program B, from 9 Jul 2026") for p in page.programs)
    assert not any("may run at the hour" in line for block in page.plantings
                   for line in block.told)  # fmt: skip
    assert not any("0 until" in line or "New back lawn" in line for line in page.notes)
