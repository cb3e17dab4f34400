"""This week's percent: the ground to a date against a plain loop, and laws of water."""

import dataclasses
import datetime
import re
from pathlib import Path

import numpy as np
import pytest
from cards import KEYED_IN
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.balance.day import quarter_depths
from scheduler.budget import adjust as adjusting
from scheduler.budget.adjust import adjust, lately_of_file, lately_of_week
from scheduler.inputs.folder import read_site
from scheduler.inputs.weather.lately import WeekTotals, read_lately
from scheduler.plan.card.plan import plan_card
from scheduler.plan.site import plan_site
from scheduler.plan.table import first_dates
from scheduler.report.words import adjust as words

HOME = Path(__file__).parents[2] / "examples" / "home"
DATE = datetime.date(2026, 7, 13)
ONE_DAY = datetime.timedelta(days=1)


@pytest.fixture(scope="module")
def home():
    return plan_site(dataclasses.replace(read_site(HOME), plan_by="days"))


@pytest.fixture(scope="module")
def lately(home):
    return lately_of_file(home, *read_lately(HOME / "last_weeks.csv", None))


def with_weather(lately, et0_mm, rain_mm):
    return dataclasses.replace(lately, et0_mm=et0_mm, rain_mm=rain_mm)


def loop(found, part, quarter):
    """One quarter's days in plain Python, by date, from the table's own settings."""
    plan, lately = found.stage.plan, found.lately
    ground, valve, table = plan.inputs.ground, plan.inputs.valve, plan.plan.schedule
    share = quarter_depths(float(valve.uniformity[part]))[quarter]
    total = float(ground.total_available_water_mm[part].flat[0])
    allowed = float(ground.allowed_depletion_mm[part].flat[0])
    depletion = float(found.ground.start_mm[part, quarter])
    wetted = float(ground.wetted_share[part])
    beside, first = (1 - wetted) / wetted, lately.first.timetuple().tm_yday - 1
    dry = float(found.stage.season.unwetted_days.before_mm(first)[part].mean())
    for day in range(len(lately.days)):
        date = lately.first + ONE_DAY * day
        month = date.month - 1
        runs = int(table.weekdays[part, month]) >> date.weekday() & 1
        if every := int(table.every_days[part, month]):
            began = first_dates(table, date.year)[part, month]
            runs = (date - began).days % every == 0
        minutes = runs * float(table.minutes_per_day[part, month])
        depth = minutes * float(valve.rate_mm_h[part]) / 60 * share
        rain = float(lately.rain_mm[day])
        need = float(lately.et0_mm[day] * ground.landscape_coefficient[part, month])
        if wetted < 1:
            # Rain alone fills the rest of the ground, which gives its share first.
            dry = max(dry - rain * (1 - wetted), 0.0)
            stress = min(1.0, (total * beside - dry) / ((total - allowed) * beside))
            gives = min(need * (1 - wetted) * stress, total * beside - dry)
            need, dry = need - gives, dry + gives
        depletion = max(depletion - depth - rain * wetted, 0.0)
        stress = min(1.0, (total - depletion) / (total - allowed))
        depletion = min(depletion + need * stress, total)
    return depletion


def test_ground_on_the_date_is_that_of_a_plain_loop(home, lately):
    rain = np.zeros(len(lately.days))
    rain[[5, 20]] = 4.0, 12.0
    found = adjust(home, with_weather(lately, lately.et0_mm, rain))

    assert not (home.settings.fill_min[:, 5:7] > 0).any()
    for part in range(5):
        of_loop = [loop(found, part, quarter) for quarter in range(4)]
        assert found.ground.deficit_mm[part] == pytest.approx(np.mean(of_loop))


# What the ground lacks at the end is what it lacked, and what plants took and what
# drained, less rain and watering.
@pytest.mark.parametrize("of", ["table", "card", "today"])
def test_water_that_comes_is_water_that_goes_or_stays(home, lately, of):
    card = plan_card(home, KEYED_IN, 4)
    rain = np.where(np.arange(len(lately.days)) % 9 == 4, 14.0, 0.0)
    found = adjust(home, with_weather(lately, lately.et0_mm, rain), of, card)
    ground = found.ground

    came = (ground.water_mm + ground.rain_mm).sum(axis=1)
    wetted = home.inputs.ground.wetted_share
    assert ground.rain_mm.sum(axis=1) == pytest.approx(rain.sum() * wetted)
    went = (ground.et_mm + ground.drained_mm).sum(axis=1).mean(axis=1)
    start = ground.start_mm.mean(axis=1)
    assert ground.deficit_mm == pytest.approx(start + went - came)
    assert np.all(ground.et_mm.mean(axis=2) <= ground.need_mm + 1e-9)


def test_settings_that_are_not_there_are_refused(home, lately):
    with pytest.raises(ValueError, match="there is no card"):
        adjust(home, lately, "card")


def test_a_week_of_totals_is_a_file_of_seven_equal_days(home, tmp_path):
    path = tmp_path / "week.csv"
    days = [DATE - ONE_DAY * ago for ago in range(7, 0, -1)]
    rows = "".join(f"{day},6,2\n" for day in days)
    path.write_text(f"date,et0_mm,rain_mm\n{rows}", encoding="utf-8")
    of_file = adjust(home, lately_of_file(home, *read_lately(path, None)))
    of_week = adjust(home, lately_of_week(WeekTotals(42.0, 14.0), DATE))

    assert of_week.ground.deficit_mm == pytest.approx(of_file.ground.deficit_mm)
    assert of_week.percent.tolist() == of_file.percent.tolist()
    assert of_file.date == DATE


def test_two_dry_hot_weeks_ask_for_more_than_the_setting(home, lately):
    et0 = lately.et0_mm.copy()
    et0[-14:] *= 1.4
    hot = adjust(home, with_weather(lately, et0, lately.rain_mm))

    assert np.all(hot.percent > 100)
    assert np.all(hot.ground.deficit_mm > hot.usual_mm)
    assert hot.skip_until == (None,) * 5


# 40 mm yesterday is more than any zone lacked: full at dawn, and a day's need since.
# The lawn waters today, Monday, and on Wednesday: 6.3 mm and two days more without
# water would pass 1.1 x 13.8 = 15.2 mm. The shrubs water every five days, next on the
# 16th: that is left out, for the half of their ground that is wetted lasts to the 21st
# within 1.1 x 19.4 = 21.4 mm, with what the rain left in the other half, but not to
# the 26th.
def test_40_mm_of_rain_yesterday_leave_out_what_the_ground_can_miss(home, lately):
    rain = np.zeros(len(lately.days))
    rain[-1] = 40.0
    found = adjust(home, with_weather(lately, lately.et0_mm, rain))
    need = found.ground.need_mm[:, -1]
    a_day = home.months.et0_mm_day[6] * (
        home.plan.plant_need_mm[:, 6] / (31 * home.inputs.et0_mm_day[:, 6])
    )
    may = 1.1 * home.inputs.ground.allowed_depletion_mm[:, 0]

    assert found.ground.deficit_mm == pytest.approx(need)
    assert DATE.isoweekday() == 1
    assert need[0] + 2 * a_day[0] > may[0]
    assert found.skip_until[0] is None
    # Both halves hold twice what they may lose; each is asked for half of the need.
    lacks, other, half = (
        float(need[3]),
        float(found.ground.unwetted_mm[3]),
        may[3] / 1.1,
    )
    after = []
    for _ in range(13):
        gives = a_day[3] / 2 * min(1.0, (2 * half - other) / half)
        other, lacks = other + gives, lacks + a_day[3] - gives
        after.append(lacks)
    assert after[7] <= may[3] < after[12]
    assert found.skip_until[3] == DATE + 8 * ONE_DAY
    assert np.all(found.percent < 100)


def week_mm(found):
    """Water of the coming week, (valve,)."""
    water = found.water_mm[:, None, :7]
    return (water * found.week.factor(water)).sum(axis=(1, 2))


# Where no shut-off holds waterings back, more rain leaves the ground fuller every day.
# The week's water is what goes one way: with a watering left out the rest may be given
# a higher percent, and still be less.
@settings(max_examples=4, deadline=None)
@given(
    more=st.lists(st.floats(0, 25), min_size=28, max_size=28),
    hotter=st.lists(st.floats(1, 2), min_size=28, max_size=28),
)
def test_more_rain_never_means_more_water_nor_more_et0_less(home, lately, more, hotter):
    assert home.site.controller.rain_shutoff_mm is None
    rain = np.where(np.array(more) > 15, more, 0.0)
    plain = adjust(home, with_weather(lately, lately.et0_mm, 0.3 * rain))
    wetter = adjust(home, with_weather(lately, lately.et0_mm, rain))
    warmer = adjust(home, with_weather(lately, lately.et0_mm * hotter, 0.3 * rain))

    assert np.all(week_mm(wetter) <= week_mm(plain) + 1e-9)
    assert np.all(week_mm(warmer) >= week_mm(plain) - 1e-9)
    whole = np.array([w is None for w in wetter.skip_until]) & np.array(
        [p is None for p in plain.skip_until]
    )
    assert np.all((wetter.percent <= plain.percent)[whole])


def test_days_without_et0_have_the_month_s_usual_and_no_rain(home, tmp_path):
    path = tmp_path / "gap.csv"
    path.write_text(
        "date,et0_mm,rain_mm\n2026-07-06,7,0\n2026-07-08,7,3\n2026-07-10,,5\n",
        encoding="utf-8",
    )
    found = lately_of_file(home, *read_lately(path, datetime.date(2026, 7, 12)))

    usual = float(home.months.et0_mm_day[6])
    assert found.et0_mm.tolist() == pytest.approx([7, usual, 7, usual, usual, usual])
    assert found.rain_mm.tolist() == [0, 0, 3, 0, 5, 0]
    assert found.filled.tolist() == [False, True, False, True, True, True]


def test_minutes_to_key_in_keep_to_whole_steps_and_cycles(home, lately):
    site = dataclasses.replace(
        home.site,
        controller=dataclasses.replace(home.site.controller, percent_by="none"),
    )
    found = adjust(dataclasses.replace(home, site=site), lately)

    longest = found.stage.season.longest_cycle_min
    table = home.plan.schedule
    wanted = table.minutes_per_day[:, 6] * found.percent / 100
    assert np.all(found.cycle_min <= longest)
    assert found.cycle_min.tolist() == np.round(found.cycle_min).tolist()
    # A step is a minute: each cycle is off by half of one at most.
    keyed = found.cycles * found.cycle_min
    assert np.all(np.abs(keyed - wanted) <= 0.5 * found.cycles + 1e-9)


# What the controller holds back is what a controller that takes more would give.
def test_zones_that_the_controllers_most_holds_are_those_that_more_would_help(home):
    hot = lately_of_week(WeekTotals(et0_mm=86.0, rain_mm=0.0), DATE)

    def of(most):
        controller = dataclasses.replace(home.site.controller, percent_most=most)
        site = dataclasses.replace(home.site, controller=controller)
        return adjust(dataclasses.replace(home, site=site), hot)

    small, large = of(110.0), of(400.0)
    gains = large.percent > small.percent + 1e-9

    assert small.held_by_controller.any()
    assert np.array_equal(small.held_by_controller, gains)
    assert not large.held_by_controller.any()
    told = " ".join(words.said(small, "us"))
    assert "110 % is the most that is keyed in (percent_most)" in told
    assert "percent_most" not in " ".join(words.said(large, "us"))


# Drip lays water down slower than any ground takes it in: what binds is the clock.
def test_a_longer_run_would_flow_off_only_where_sprinklers_run(home):
    hot = lately_of_week(WeekTotals(et0_mm=86.0, rain_mm=0.0), DATE)
    controller = dataclasses.replace(home.site.controller, percent_most=4000.0)
    site = dataclasses.replace(home.site, controller=controller)
    drip = home.inputs.valve.drip
    longest = home.inputs.valve.longest_run_min.copy()
    longest[drip] = home.plan.schedule.cycle_min[drip, 6].min()
    valve = dataclasses.replace(home.inputs.valve, longest_run_min=longest)
    inputs = dataclasses.replace(home.inputs, valve=valve)
    found = adjust(dataclasses.replace(home, site=site, inputs=inputs), hot)
    lines = words.said(found, "us")

    assert found.held_by_runoff[drip].any()
    assert found.held_by_runoff[~drip].any()
    (clock,) = [line for line in lines if "longest_run_min" in line]
    (ground,) = [line for line in lines if "flow off" in line]
    assert f"{longest[drip][0]:.0f} min is the controller's longest run" in clock
    assert not any(z in ground.partition(":")[0] for z in ("4", "5"))


# What the card says of a program, "set it never above 80 %", holds for the week too.
def test_no_more_is_keyed_in_than_the_card_has_room_for(home):
    card = plan_card(home, datetime.date(2026, 1, 1), 4)
    visits = tuple(
        dataclasses.replace(
            visit,
            programs=tuple(
                dataclasses.replace(
                    program,
                    percent={m: min(p, 80.0) for m, p in program.percent.items()},
                )
                for program in visit.programs
            ),
        )
        for visit in card.visits
    )
    hot = lately_of_week(WeekTotals(et0_mm=86.0, rain_mm=0.0), DATE)
    found, free = (
        adjust(home, hot, "card", one)
        for one in (dataclasses.replace(card, visits=visits), card)
    )
    runs = np.isfinite(found.key_percent)

    assert runs.any()
    assert np.nanmax(free.key_percent) > 80.0
    assert np.all(found.key_percent[runs] <= 80.0 + 1e-9)
    assert found.held_by_controller.any()
    told = " ".join(words.said(found, "us"))
    assert "the card has no room for its runs above 80 %; run it once by hand" in told
    assert "percent_most" not in told


# 18 minutes at 75 % are 13.5: a half goes up, as the card has the controller do it.
def test_half_a_minute_is_keyed_in_as_a_whole_one(home, lately):
    stage, table = adjust(home, lately).stage, home.plan.schedule
    one = dataclasses.replace(
        table,
        cycles=np.ones_like(table.cycles),
        cycle_min=np.full_like(table.cycle_min, 18.0),
    )
    percent = np.full(len(home.inputs.valve), 75.0)
    cycles, minutes = adjusting._keyed_runs(stage, one, DATE.month - 1, percent)
    alone = cycles == 1

    assert alone.any()
    assert minutes[alone].tolist() == [14.0] * int(alone.sum())


# A zone that is to be run by hand is not left to whether its plants ask for it too.
def test_a_zone_is_told_one_thing_of_a_watering_by_hand():
    site = read_site(HOME.parent / "southern_garden")
    controller = dataclasses.replace(site.controller, percent_by="none")
    plan = plan_site(dataclasses.replace(site, controller=controller, plan_by="days"))
    dry = WeekTotals(et0_mm=58.0, rain_mm=0.0)
    hot = lately_of_week(dry, datetime.date(2027, 7, 13))
    lines = words.said(adjust(plan, hot), "us")
    by_hand = {line.split()[1] for line in lines if "run it once by hand" in line}
    (idle,) = [line for line in lines if "nothing is set to run this week" in line]

    assert by_hand
    assert not by_hand & set(re.findall(r"\d+", idle.partition(":")[0]))
