"""Steps of new plantings, against the leaflets as they are printed and against laws."""

import datetime
import itertools

import numpy as np
import pytest
from plantings import DESERT, HIGH_PLAINS, SOUTH, lawn, trees

from scheduler.inputs.folder import read_site
from scheduler.plan.site import plan_site
from scheduler.report.words import plantings as words
from scheduler.units import L_PER_GAL

DAY = datetime.timedelta(days=1)


def planned(folder, today=None):
    """Plan of a folder as of a date."""
    return plan_site(read_site(folder), today)


def runs_a_day(planting, day):
    """Days to the next watering, and waterings, on a day from planting on, first 1."""
    step = planting.step_on(planting.planted.date + (day - 1) * DAY)
    return None if step is None else (step.every_days, step.wanted)


# UF/IFAS, L. Williams, 2012 and 2019: sod or seed gets 2-3 short runs a day for 7-10
# days; then once a day for 7-10 days; then 2-3 times a week for about 7 days; then
# normal. Total 3-4 weeks. MESA: 4 a day on overseeded ryegrass.
@pytest.mark.parametrize(("stage", "most"), [("sod", 3), ("seed", 4)])
def test_new_lawn_steps_down_as_the_leaflet_prints_it(tmp_path, stage, most):
    folder = lawn(tmp_path, plant="warm-season turf", soil="loam", stage=stage)
    [new] = planned(folder).plantings
    days = (new.grown_in - new.planted.date).days

    assert all(runs_a_day(new, d)[0] == 1 for d in range(1, 21))
    assert all(2 <= runs_a_day(new, d)[1] <= most for d in range(1, 11))
    assert all(runs_a_day(new, d)[1] == 1 for d in range(11, 21))
    assert all(2 <= 7 / runs_a_day(new, d)[0] <= 3 for d in range(21, days + 1))
    assert 21 <= days <= 28
    assert runs_a_day(new, days + 1) is None


# Ayers and Westcot (FAO-29): 6 dS/m on bermuda of 6.9 asks for 6 / (5 · 6.9 - 6) =
# 0.2105 of the water, so a day has 1 / (1 - 0.2105) = 1.267 times the minutes; those of
# each start are whole.
def test_steps_have_water_against_salt_on_top_as_the_table_has(tmp_path):
    months, salty = '[plan]\nby = "months"\n', "[water]\nsalinity_ds_m = 6\n"
    [fresh] = planned(lawn(tmp_path, months)).plantings
    [on_top] = planned(lawn(tmp_path, months + salty)).plantings

    for plain, more in zip(fresh.steps[:2], on_top.steps[:2], strict=True):
        rounded = len(plain.starts_min), len(more.starts_min)
        least = 1.267 * (plain.minutes_per_day - rounded[0])
        assert (
            least <= more.minutes_per_day <= 1.267 * plain.minutes_per_day + rounded[1]
        )
        assert more.minutes_per_day > plain.minutes_per_day
        assert more.missing_mm_week == plain.missing_mm_week


# Southern Nevada Water Authority, days between waterings in summer and else: weeks 1-2
# 1-2 / 3-4; weeks 3-4 3-4 / 6-7; weeks 5-6 4-6 / 7-10; weeks 7-8 7 / 10-14.
SUMMER = [(1, 2), (3, 4), (4, 6), (7, 7)]
REST = [(3, 4), (6, 7), (7, 10), (10, 14)]


@pytest.mark.parametrize(
    ("planted", "place", "printed"),
    [
        ("2026-05-01", DESERT, SUMMER),
        ("2026-10-01", DESERT, REST),
        ("2026-11-01", SOUTH, SUMMER),
        ("2026-05-01", SOUTH, REST),
    ],
)
def test_container_plants_wait_as_long_as_the_authority_prints(
    tmp_path, planted, place, printed
):
    folder = lawn(tmp_path, plant="shrubs low water", stage="container",
                  planted=planted, place=place)  # fmt: skip
    plan = planned(folder)
    [new] = plan.plantings

    for fortnight, (least, most) in enumerate(printed):
        for day in range(14 * fortnight + 1, 14 * fortnight + 15):
            every, starts = runs_a_day(new, day)
            month = (new.planted.date + (day - 1) * DAY).month - 1
            per_week = plan.plan.schedule.days_per_week[0, month]
            # Never more seldom than the same plants get once they have grown in.
            own = np.ceil(7 / per_week - 1e-9) if per_week else np.inf
            assert min(least, own) <= every <= most
            assert starts >= 1
    assert (new.grown_in - new.planted.date).days == 56


# By trunk: days of daily watering, then of every 2nd (UMN: every 2-3 days), gallons an
# inch each time, months an inch until it stands on its own roots.
# UMN: daily weeks 1-2, every 2-3 days weeks 3-12, 1-1.5 gal, 1.5 years.
# UF/IFAS Charlotte County 2024, to 2 in: 2 weeks, 2 months, 2 gal, 3-4 months.
# Florida Urban Forestry Council and Gilman, 2-4 in: 1 month, 3 months; over 4 in:
# 6 weeks, 5 months; 2-3 gal, 3-4 months.
TREES = [
    (2, HIGH_PLAINS, 14, 70, 1, 1.5, 18),
    (6, HIGH_PLAINS, 14, 70, 1, 1.5, 18),
    (1, DESERT, 14, 60, 2, 2, 4),
    (2, DESERT, 14, 60, 2, 2, 4),
    (3, DESERT, 30, 90, 2, 3, 4),
    (6, DESERT, 42, 150, 2, 3, 4),
]


@pytest.mark.parametrize("tree", TREES)
def test_trees_are_watered_by_their_trunk_as_printed(tmp_path, tree):
    inches, place, daily, second, least, most, months = tree
    plan = planned(trees(tmp_path, inches, "2026-06-01", place))
    [new] = plan.plantings
    assert all(runs_a_day(new, d)[0] == 1 for d in range(1, daily + 1))
    both = range(daily + 1, daily + second + 1)
    assert all(2 <= runs_a_day(new, d)[0] <= 3 for d in both)
    assert runs_a_day(new, daily + second + 1) is None
    assert (new.established - new.planted.date).days == pytest.approx(
        inches * months * 30.44, abs=2
    )
    first = new.steps[0]
    per_tree = first.l_per_plant / L_PER_GAL
    week = plan.plan.schedule.minutes_per_week[0, 5]
    own = week / 7 * plan.rates.flow_l_min[0] / 2 / L_PER_GAL

    # Minutes are whole, and never fewer than grown-in plants get in as long.
    step = plan.rates.flow_l_min[0] / 2 / L_PER_GAL
    assert inches * least - 1e-9 <= per_tree <= max(inches * most, own) + step


# Florida Urban Forestry Council and Gilman: drop the daily stage in winter.
def test_trees_of_a_mild_winter_have_no_daily_watering(tmp_path):
    [new] = planned(trees(tmp_path, 2, "2026-01-10")).plantings

    assert all(step.every_days >= 2 for step in new.steps)


# Laws.

DRAWN = [
    (stage, soil, planted, place)
    for (stage, soil), (planted, place) in itertools.product(
        [("seed", "sand"), ("sod", "clay"), ("plugs", "loam"), ("sod", "sand")],
        [("2026-03-20", DESERT), ("2026-06-12", HIGH_PLAINS), ("2026-11-05", SOUTH)],
    )
]


@pytest.mark.parametrize(("stage", "soil", "planted", "place"), DRAWN)
def test_steps_lead_from_planting_to_the_table_without_a_gap(
    tmp_path, stage, soil, planted, place
):
    plan = planned(lawn(tmp_path, "", "cool-season turf", soil, planted, stage, place))
    [new] = plan.plantings
    schedule, steps = plan.plan.schedule, new.steps
    limits = plan.plan

    assert steps[0].first == new.planted.date
    assert steps[-1].last + DAY == new.grown_in
    for before, after in itertools.pairwise(steps):
        assert before.last + DAY == after.first
        assert before.root_depth_mm <= after.root_depth_mm
        assert before.every_days <= after.every_days
    roots = plan.stands_on.roots.root_depth_mm[0]
    for step in steps:
        month = step.first.month - 1
        # Roots are never deeper than once grown in, and no start runs off.
        assert step.root_depth_mm <= roots
        assert step.minutes <= limits.longest_cycle_min[0]
        # Waterings are never farther apart than the table's own.
        if schedule.cycles[0, month]:
            assert step.every_days <= np.ceil(7 / schedule.days_per_week[0, month])
        own_week = min(schedule.minutes_per_week[0, m - 1]
                       for m in range(step.first.month, step.last.month + 1)
                       )  # fmt: skip
        a_week = 7 / step.every_days * step.minutes_per_day
        assert a_week >= own_week * (1 - 1e-9)
        assert all(step.first <= date <= step.last for date in step.dates)
        gaps = [(b - a).days for a, b in itertools.pairwise(step.dates)]
        assert all(gap == step.every_days for gap in gaps)


# The day on which it has grown in, everything is the table's own: to the bit that of
# the same site without a planting.
def test_steps_end_in_the_setting_of_the_table(tmp_path):
    new = planned(lawn(tmp_path))
    (tmp_path / "grown").mkdir()
    grown = planned(lawn(tmp_path / "grown", planted="", stage=""))
    end = new.plantings[0].grown_in

    assert np.array_equal(
        new.plan.schedule.minutes_per_day, grown.plan.schedule.minutes_per_day
    )
    assert np.array_equal(new.plan.schedule.weekdays, grown.plan.schedule.weekdays)
    assert grown.plantings == ()
    assert planned(tmp_path, end - DAY).plantings[0].step_on(end - DAY) is not None
    assert planned(tmp_path, end).plantings == ()
    codes = {caution.code for caution in planned(tmp_path, end).cautions}
    assert "grown-in" in codes
    assert "planted-lately" not in codes


def test_steps_that_are_over_are_left_out(tmp_path):
    lawn(tmp_path)
    whole = planned(tmp_path).plantings[0].steps
    today = whole[1].first + 2 * DAY

    assert [s.first for s in planned(tmp_path, today).plantings[0].steps] == [
        s.first for s in whole[1:]
    ]


# What a start lays on beyond the intake stays within what the surface holds: the law
# of the runoff limit, reckoned here from the rate alone.
def test_starts_on_clay_are_cycles_that_do_not_run_off(tmp_path):
    plan = planned(lawn(tmp_path, soil="clay"))
    ground, valve = plan.inputs.ground, plan.inputs.valve
    left = valve.peak_rate_mm_h[0] - ground.intake_mm_h[0]

    for step in plan.plantings[0].steps:
        assert step.minutes / 60 * left <= ground.accumulation_mm[0] + 1e-9
        soaks = np.diff(step.starts_min) - step.minutes
        assert (
            soaks >= step.minutes / 60 * left / ground.intake_mm_h[0] * 60 - 1
        ).all()


NIGHT = """
[[window]]
opens = "22:00"
closes = "06:00"
"""
TWO_DAYS = """
[[window]]
days = ["tue", "sat"]
opens = "05:00"
closes = "18:00"
most_days_a_week = 2
"""
EXCEPTION = """
[[window]]
stages = ["sod"]
stage_days = {days}
opens = "05:00"
closes = "18:00"
"""


def codes_of(folder):
    """Codes of cautions about plantings."""
    return {c.code for c in planned(folder).cautions if c.code.startswith("planting-")}


@pytest.mark.parametrize(
    ("window", "code"),
    [
        (NIGHT, "planting-hours-too-few"),
        (TWO_DAYS, "planting-days-too-few"),
        ('[[window]]\nmonths = [1, 2]\n', "planting-not-permitted"),
    ],
)  # fmt: skip
def test_window_that_forbids_what_sod_needs_is_told(tmp_path, window, code):
    assert code in codes_of(lawn(tmp_path, window, soil="loam"))


def test_exception_for_new_plantings_holds_for_its_days_alone(tmp_path):
    window = EXCEPTION.format(days=20) + TWO_DAYS
    plan = planned(lawn(tmp_path, window, soil="loam"))
    [new] = plan.plantings
    first, *_, last = new.steps
    free = new.planted.date + 20 * DAY

    assert codes_of(tmp_path) <= {"planting-days-too-few", "planting-store-small"}
    assert len(first.dates) == (first.last - first.first).days + 1
    # Weekdays: Monday is 0; Tuesday 1 and Saturday 5 are permitted.
    assert all(d.weekday() in (1, 5) for s in new.steps for d in s.dates if d >= free)
    assert last.window.stages == ()


@pytest.mark.parametrize("window", [NIGHT, TWO_DAYS, EXCEPTION.format(days=5) + NIGHT])
def test_every_minute_of_a_new_planting_is_permitted(tmp_path, window):
    for step in planned(lawn(tmp_path, window, soil="clay")).plantings[0].steps:
        opens, closes = (
            int(t[:2]) * 60 for t in (step.window.opens, step.window.closes)
        )
        for start in step.starts_min:
            end = start % 1440 + step.minutes
            if opens < closes:
                assert opens <= start
                assert end <= closes
            else:
                evening = start % 1440 >= opens and end <= 1440
                assert evening or end <= closes


# By hand: nothing runs at once, on a controller that runs one zone at a time.
def test_new_plantings_of_different_kinds_do_not_run_at_once(tmp_path):
    lawn(tmp_path)
    rows = (tmp_path / "zones.csv").read_text().splitlines()
    other = rows[1].replace("1,", "2,", 1).replace("sod", "seed")
    like = rows[1].replace("1,", "3,", 1)
    (tmp_path / "zones.csv").write_text("\n".join([*rows, other, like]) + "\n")
    found = planned(tmp_path).plantings
    programs = {new.zone: new.program for new in found}
    runs = []
    date = found[0].planted.date
    for program in {*programs.values()}:
        [first, *rest] = [new.step_on(date) for new in found if new.program == program]
        assert all(step.starts_min == first.starts_min for step in rest)
        whole = sum(step.minutes for step in (first, *rest))
        runs += [(start, start + whole) for start in first.starts_min]

    assert programs[0] == programs[2] != programs[1]
    assert all(a[1] <= b[0] for a, b in itertools.pairwise(sorted(runs)))


# Germination, from memory: Kentucky bluegrass comes up in 14 to 30 days; its seedbed
# is not left to dry before.
def test_slow_seed_is_kept_moist_until_it_is_up(tmp_path):
    folder = lawn(tmp_path, plant="kentucky bluegrass", soil="loam", stage="seed")
    [new] = planned(folder).plantings

    assert all(runs_a_day(new, day)[1] >= 2 for day in range(1, 31))
    assert runs_a_day(new, 31)[1] == 1


THREE_DAYS = """
[[window]]
days = ["tue", "thu", "sat"]
opens = "05:00"
closes = "18:00"
"""


# A program holds weekdays or an interval, never both: three weekdays, two or three days
# apart, are every third day or oftener, and no rule is to blame.
def test_steps_on_permitted_weekdays_are_weekdays_whose_gaps_are_short_enough(tmp_path):
    plan = planned(lawn(tmp_path, THREE_DAYS, soil="loam"))
    [new] = plan.plantings
    last = new.steps[-1]
    gaps = [(b - a).days for a, b in itertools.pairwise(last.dates)]
    blamed = [c.values["first"] for c in plan.cautions
              if c.code == "planting-days-too-few"]  # fmt: skip

    assert last.every_days > 1
    assert all("every" not in words.days(step) for step in new.steps)
    assert max(gaps) <= last.every_days
    assert last.first not in blamed
    assert new.steps[0].first in blamed


# Law: what a week needs is laid down on the days that remain, or told as missing.
@pytest.mark.parametrize("window", [THREE_DAYS, TWO_DAYS])
@pytest.mark.parametrize("soil", ["sand", "loam", "clay"])
def test_days_taken_away_make_waterings_deeper_or_are_told(tmp_path, window, soil):
    (tmp_path / "free").mkdir()
    cut = planned(lawn(tmp_path, window, soil=soil))
    open_ = '[[window]]\nopens = "05:00"\ncloses = "18:00"\n'
    free = planned(lawn(tmp_path / "free", open_, soil=soil))
    net = 60 * float(cut.inputs.valve.run_time_multiplier[0])
    rate = float(cut.inputs.valve.rate_mm_h[0])
    days = len(cut.site.windows[0].weekdays)

    for step in cut.plantings[0].steps:
        like = free.plantings[0].step_on(step.first)
        want = 7 / like.every_days * like.minutes_per_day * rate / net
        gets = days * step.minutes_per_day * rate / net
        # A minute a start and watering is what whole minutes may take or add.
        whole = (7 * len(like.starts_min) + days * len(step.starts_min)) * rate / net
        assert gets + step.missing_mm_week >= want - whole
        # Where the rule leaves too few days, no more than roots hold is laid down.
        if step.longest_gap_days > step.leaflet.every_days[1]:
            assert step.missing_mm_week >= want - whole - days * step.holds_mm
