"""A watering night on the clock: permitted minutes, soak, days, and what would help."""

import datetime
import itertools
import zoneinfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduler.calendar import (
    ALL_DATES,
    EVEN,
    ODD,
    WEEKDAYS,
    dates_of_month,
    weekday_bits,
)
from scheduler.plan.night.earliest_end import Limits, chain_end
from scheduler.plan.night.month import NightPlanner
from scheduler.plan.night.plan import plan_night

ALL = weekday_bits(WEEKDAYS)


def bits(*days):
    return weekday_bits(days)


def window(opens, closes, days='"any"', kinds=None, more=""):
    """A [[window]] of site.toml."""
    heads = f"head_kinds = {kinds}\n" if kinds else ""
    return (
        f'[[window]]\ndays = {days}\nopens = "{opens}"\ncloses = "{closes}"\n'
        f"{heads}{more}\n"
    )


def minute_is_permitted(site, kind, time, sunrise_min):
    """Whether watering is permitted at a moment, from the site's windows alone."""
    for own in site.windows:
        if time.month in own.months and kind in own.head_kinds:
            break
    else:
        return False
    if WEEKDAYS[time.weekday()] not in own.weekdays:
        return False
    if own.parity and (time.day % 2 == 1) != (own.parity == ODD):
        return False
    opens, closes = (
        sunrise_min if text == "sunrise" else int(text[:2]) * 60 + int(text[3:])
        for text in (own.opens, own.closes)
    )
    now = time.hour * 60 + time.minute
    if opens < closes:
        return opens <= now < closes
    return now >= opens or now < closes


def assert_lawful(plan, night, sunrise_min=None, zone="Etc/GMT+8"):
    """Every minute permitted, every cycle there, soak and pauses kept, no overlap."""
    schedule, site, month = plan.plan.schedule, plan.site, night.date.month - 1
    clock = zoneinfo.ZoneInfo(zone)
    gap = site.controller.gap_s
    for row in night.hours:
        own = [run for run in night.runs if run.zone == row]
        assert len(own) == schedule.cycles[row, month]
        for run in own:
            length = run.end_s - run.start_s
            assert length == pytest.approx(60 * schedule.cycle_min[row, month], abs=1)
            for second in range(run.start_s, run.end_s, 60):
                time = datetime.datetime.fromtimestamp(second, clock)
                kind = ("rotor", "spray", "multi-stream", "drip", "bubbler")[
                    site.zones.head_kind[row]
                ]
                assert minute_is_permitted(site, kind, time, sunrise_min), time
        for one, after in itertools.pairwise(own):
            soak = 60 * schedule.soak_min[row, month]
            assert after.start_s - one.end_s >= soak - 1
    runs = sorted((*night.runs, *night.kept_clear), key=lambda run: run.start_s)
    if site.controller.zones_at_once == 1:
        for one, after in itertools.pairwise(runs):
            assert after.start_s - one.end_s >= gap


def clock(planned, seconds):
    return planned.planner.hours.clock(seconds).strftime("%a %H:%M")


# 15 July 2026 is a Wednesday (calendar). Two zones of 30 minutes, from 21:00 to 22:00.
def test_plan_night_puts_runs_one_after_another(written_plan):
    plan = written_plan([(1, 30, 0), (1, 30, 0)], window("21:00", "06:00"))

    planned = plan_night(plan, 2026, 7, datetime.date(2026, 7, 15))
    night = planned.night
    assert [clock(planned, run.start_s) for run in night.runs] == [
        "Wed 21:00", "Wed 21:30"
    ]  # fmt: skip
    assert clock(planned, night.ends_s) == "Wed 22:00"
    assert night.least_end_s == night.ends_s
    assert night.fits
    assert planned.cautions == ()


def test_a_night_across_midnight_goes_on_where_the_next_date_is_permitted(written_plan):
    plan = written_plan([(1, 200, 0)], window("22:00", "06:00"))

    planned = plan_night(plan, 2026, 7, datetime.date(2026, 7, 15))
    assert clock(planned, planned.night.ends_s) == "Thu 01:20"
    assert_lawful(plan, planned.night)


# Only Wednesdays: 22:00 to 24:00 and 00:00 to 06:00 of the Wednesday itself.
def test_a_lone_date_has_two_pieces(written_plan):
    zones = [{"run": (2, 100, 0), "days": bits("wed")}]
    plan = written_plan(zones, window("22:00", "06:00", '["wed"]'))

    planned = plan_night(plan, 2026, 7, datetime.date(2026, 7, 15))
    pieces = [(clock(planned, a), clock(planned, b)) for a, b in planned.night.pieces]
    assert pieces == [("Wed 00:00", "Wed 06:00"), ("Wed 22:00", "Thu 00:00")]
    assert_lawful(plan, planned.night)


# Friday and Saturday permitted, Sunday not: Saturday's watering finds no room in the
# evening, and takes what Friday's night leaves of Saturday's small hours.
def test_the_last_of_permitted_dates_takes_its_own_small_hours(written_plan):
    days = {"days": bits("fri", "sat")}
    plan = written_plan([{"run": (1, 150, 0), **days}],
                   window("22:00", "06:00", '["fri", "sat"]'))  # fmt: skip

    planned = plan_night(plan, 2026, 7, datetime.date(2026, 7, 18))
    assert planned.night.fits
    assert clock(planned, planned.night.ends_s) == "Sat 02:30"
    assert_lawful(plan, planned.night)
    friday = plan_night(plan, 2026, 7, datetime.date(2026, 7, 17)).night
    assert_lawful(plan, friday)


# The 31st and the 1st are both odd, so that their night is one; else an odd date is
# followed by an even one (calendar).
def test_odd_dates_at_the_turn_of_the_month(written_plan):
    zones = [{"run": (1, 230, 0), "parity": ODD}]
    plan = written_plan(zones, window("21:00", "06:00", '"odd"'))

    planned = plan_night(plan, 2026, 7, datetime.date(2026, 7, 31))
    pieces = [(clock(planned, a), clock(planned, b)) for a, b in planned.night.pieces]
    assert pieces == [("Fri 00:00", "Fri 06:00"), ("Fri 21:00", "Sat 06:00")]
    first = plan_night(plan, 2026, 8, datetime.date(2026, 8, 1))
    assert_lawful(plan, first.night)
    assert first.night.fits
    third = plan_night(plan, 2026, 8, datetime.date(2026, 8, 3))
    pieces = [(clock(third, a), clock(third, b)) for a, b in third.night.pieces]
    assert pieces == [("Mon 00:00", "Mon 06:00"), ("Mon 21:00", "Tue 00:00")]


# After midnight of 31 July the hours are those of August, which close at 02:00.
def test_the_next_months_window_holds_after_midnight(written_plan):
    july = window("21:00", "06:00", more="months = [7]")
    august = window("23:00", "02:00", more="months = [8]")
    plan = written_plan([(1, 100, 0)], july + august)

    planned = plan_night(plan, 2026, 7, datetime.date(2026, 7, 31))
    (piece,) = planned.night.pieces
    assert (clock(planned, piece[0]), clock(planned, piece[1])) == (
        "Fri 21:00", "Sat 02:00"
    )  # fmt: skip


def test_kinds_of_head_have_hours_of_their_own(written_plan):
    zones = [{"run": (1, 60, 0)}, {"run": (1, 60, 0), "kind": "drip"}]
    hours = window("10:00", "12:00", kinds='["drip"]') + window("22:00", "23:00")
    plan = written_plan(zones, hours)

    planned = plan_night(plan, 2026, 7, datetime.date(2026, 7, 15))
    starts = {run.zone: clock(planned, run.start_s) for run in planned.night.runs}
    assert starts == {1: "Wed 10:00", 0: "Wed 22:00"}


# The drip of the night before runs until 00:40 of the Wednesday, whose small hours the
# lawn wants too: nothing overlaps.
def test_the_night_before_is_kept_clear_of(written_plan):
    zones = [
        {"run": (1, 90, 0), "days": bits("wed")},
        {"run": (1, 280, 0), "kind": "drip"},
    ]
    hours = window("20:00", "08:00", kinds='["drip"]')
    plan = written_plan(zones, hours + window("22:00", "06:00", '["wed"]'))

    planned = plan_night(plan, 2026, 7, datetime.date(2026, 7, 15))
    lawn = next(run for run in planned.night.runs if run.zone == 0)
    assert clock(planned, lawn.start_s) == "Wed 00:40"
    assert_lawful(plan, planned.night)


def test_a_window_of_the_whole_day(written_plan):
    plan = written_plan([(2, 300, 60)], window("00:00", "24:00"))

    planned = plan_night(plan, 2026, 7, datetime.date(2026, 7, 15))
    assert clock(planned, planned.night.ends_s) == "Wed 11:00"
    assert_lawful(plan, planned.night)


# United States: clocks go from 02:00 to 03:00 on 8 March 2026 and from 02:00 back to
# 01:00 on 1 November (15 U.S.C. 260a). From 21:00 to 06:00 there are 8 and 10 hours.
@pytest.mark.parametrize(
    ("date", "hours", "ends"),
    [("2026-03-07", 8, "Sun 04:00"), ("2026-10-31", 10, "Sun 02:00"),
     ("2026-07-15", 9, "Thu 03:00")],
)  # fmt: skip
def test_nights_in_which_the_clock_changes(written_plan, date, hours, ends):
    plan = written_plan([(1, 180, 0), (1, 180, 0)], window("21:00", "06:00"),
                   timezone='timezone = "America/Los_Angeles"')  # fmt: skip
    day = datetime.date.fromisoformat(date)

    planned = plan_night(plan, 2026, day.month, day)
    ((opens, closes),) = planned.night.pieces
    assert closes - opens == hours * 3600
    assert clock(planned, planned.night.ends_s) == ends
    assert planned.night.ends_s - opens == 6 * 3600
    assert_lawful(plan, planned.night, zone="America/Los_Angeles")


# 5 h of water fit 9 h of night, but not the 8 h of 7 March with the soak: 4 h + 4.5 h.
def test_the_short_night_of_spring_may_be_too_short(written_plan):
    plan = written_plan([(2, 120, 270)], window("21:00", "06:00"),
                   timezone='timezone = "America/Los_Angeles"')  # fmt: skip

    march = plan_night(plan, 2026, 3, datetime.date(2026, 3, 7))
    assert march.night.over_s == 30 * 60
    assert [night.date.day for night in march.month.too_short] == [7]
    assert plan_night(plan, 2026, 10, datetime.date(2026, 10, 31)).night.fits


def test_sunrise_closes_the_hours(written_plan):
    plan = written_plan([(1, 300, 0)], window("20:00", "sunrise"))

    planned = plan_night(plan, 2026, 7, datetime.date(2026, 7, 15))
    ((_, closes),) = planned.night.pieces
    rise = planned.sunrise_min
    # At 40° N the sun rises between 04:30 and 05:00 by the sun's time in July (from
    # memory of almanacs).
    assert 4 * 60 + 30 < rise < 5 * 60
    assert clock(planned, closes) == f"Thu {rise // 60:02d}:{rise % 60:02d}"
    assert_lawful(plan, planned.night, rise)


# At 78° N there is no sunrise in June: hours to sunrise close at noon, and it is said.
def test_no_sunrise_at_a_high_latitude(written_plan):
    plan = written_plan([(1, 30, 0)], window("20:00", "sunrise"),
                   place="latitude = 78.2\nlongitude = 15.6",
                   timezone='timezone = "Arctic/Longyearbyen"')  # fmt: skip

    planned = plan_night(plan, 2026, 6, datetime.date(2026, 6, 15))
    assert planned.to_sunrise
    assert planned.sunrise_min is None
    assert clock(planned, planned.night.pieces[0][1]) == "Tue 12:00"


# The sun is up at 05:00 in July here: a window that opens then has no hours.
def test_a_window_that_opens_after_sunrise_has_no_hours(written_plan):
    plan = written_plan([(1, 30, 0)], window("05:30", "sunrise"))

    planned = plan_night(plan, 2026, 7, datetime.date(2026, 7, 15))
    assert not planned.night.fits
    assert planned.night.over_s == 30 * 60


# By hand: on Wednesday it runs from 00:00 to 23:40; on Thursday not before what it left
# has gone in, 30 minutes, and the valve's pause is over, whichever is the longer.
@pytest.mark.parametrize(("gap_s", "starts"), [(0, "Thu 00:10"), (3600, "Thu 00:40")])
def test_a_zone_soaks_and_pauses_between_two_nights(written_plan, gap_s, starts):
    zones = [{"run": (1, 23 * 60 + 40, 0), "days": bits("wed", "thu")}]
    controller = f"[controller]\ngap_s = {gap_s}\nshortest_soak_min = 30"
    plan = written_plan(zones, window("00:00", "24:00") + controller)

    thursday = plan_night(plan, 2026, 7, datetime.date(2026, 7, 16)).night
    (run,) = thursday.runs
    planned = NightPlanner(plan)
    assert planned.hours.clock(run.start_s).strftime("%a %H:%M") == starts


def test_gaps_count_between_valves(written_plan):
    plan = written_plan(
        [(1, 10, 0)] * 3, window("21:00", "06:00") + "[controller]\ngap_s = 30"
    )

    planned = plan_night(plan, 2026, 7, datetime.date(2026, 7, 15))
    opens = planned.night.pieces[0][0]
    assert planned.night.ends_s - opens == 31 * 60
    assert_lawful(plan, planned.night)


# Every 14 days from the first Monday of the year: 5 January 2026, and so 6 and 20 July.
def test_intervals_count_from_the_first_weekday_of_the_year(written_plan):
    plan = written_plan([{"run": (1, 30, 0), "days": bits("mon"), "every": 14}],
                   window("21:00", "06:00"))  # fmt: skip

    assert plan_night(plan, 2026, 7).night.date == datetime.date(2026, 7, 6)
    watering = [
        date.day for date in dates_of_month(2026, 7)
        if NightPlanner(plan).night(date).runs
    ]  # fmt: skip
    assert watering == [6, 20]
    from_july = plan_night(plan, 2026, 7, counted_from=datetime.date(2026, 7, 7))
    assert from_july.night.date == datetime.date(2026, 7, 13)


# The default date has most minutes, the earliest of equals: Tuesdays have 90, the first
# of July 2026 is the 7th (calendar).
def test_the_date_shown_is_the_first_with_most_minutes(written_plan):
    zones = [{"run": (1, 60, 0), "days": bits("tue", "fri")},
             {"run": (1, 30, 0), "days": bits("tue", "sat")}]  # fmt: skip
    plan = written_plan(zones, window("21:00", "06:00"))

    assert plan_night(plan, 2026, 7).night.date == datetime.date(2026, 7, 7)


def test_a_date_without_watering_is_an_empty_night(written_plan):
    plan = written_plan(
        [{"run": (1, 60, 0), "days": bits("tue")}], window("21:00", "06:00")
    )

    planned = plan_night(plan, 2026, 7, datetime.date(2026, 7, 15))
    assert planned.night.runs == ()
    assert planned.night.fits
    assert planned.night.pieces == ()


# Four runs of 40 minutes in two hours: 40 minutes short, whatever the order.
def test_a_night_that_is_too_short_says_by_how_much(written_plan):
    zones = [{"run": (1, 40, 0), "days": bits("wed")}] * 4
    plan = written_plan(zones, window("20:00", "22:00", '["wed"]'))

    planned = plan_night(plan, 2026, 7)
    (caution,) = (c for c in planned.cautions if c.code == "window-too-short")
    assert caution.values["minutes_over"] == 40
    assert caution.values["proven"]
    assert planned.night.over_s == 40 * 60
    assert sum(run.over_s for run in planned.night.runs) >= 40 * 60


# 3 cycles of 5 with 90 minutes of soak take 195 of 120 minutes: no day helps.
def test_a_soak_that_alone_passes_the_window(written_plan):
    plan = written_plan([(3, 5, 90)], window("20:00", "22:00"))

    planned = plan_night(plan, 2026, 7)
    assert planned.night.over_s == 75 * 60
    assert planned.night.proven
    assert planned.moved == ()


def test_a_zone_under_a_pumps_least_flow_is_told(written_plan):
    zones = [(1, 30, 0), {"run": (1, 30, 0), "flow": 30}]
    plan = written_plan(zones, window("21:00", "06:00"), supply="least_flow_l_min = 20")

    (caution,) = plan_night(plan, 2026, 7).cautions
    assert (caution.code, caution.zone) == ("flow-under-pump", "1")


# With two at once, zones of 12 run together and a pump of 20 is content.
def test_two_zones_share_a_pump(written_plan):
    zones = [{"run": (1, 30, 0), "flow": 12}] * 2
    two = window("21:00", "06:00") + "[controller]\nzones_at_once = 2"
    plan = written_plan(
        zones, two, supply="least_flow_l_min = 20\ndesign_flow_l_min = 30"
    )

    planned = plan_night(plan, 2026, 7, datetime.date(2026, 7, 15))
    assert planned.cautions == ()
    assert clock(planned, planned.night.ends_s) == "Wed 21:30"


@st.composite
def sites(draw):
    """Zones and windows of every kind."""
    day_rules = ['"any"', '"odd"', '"even"', '["mon", "thu"]', '["fri", "sat", "sun"]']
    rule = draw(st.sampled_from(day_rules))
    opens = draw(st.sampled_from(["21:00", "00:00", "04:00", "22:30", "20:00"]))
    closes = draw(st.sampled_from(["06:00", "23:30", "05:15", "24:00", "sunrise"]))
    if rule.startswith("["):
        days = weekday_bits([day for day in WEEKDAYS if day in rule])
    else:
        days = ALL
    parity = {'"odd"': ODD, '"even"': EVEN}.get(rule, ALL_DATES)
    zones = draw(
        st.lists(
            st.tuples(st.integers(1, 3), st.integers(2, 50),
                      st.sampled_from([0, 30, 75])),
            min_size=1, max_size=5,
        )
    )  # fmt: skip
    gap = draw(st.sampled_from([0, 7]))
    hours = window(opens, closes, rule) + f"[controller]\ngap_s = {gap}\n"
    date = datetime.date(2026, 1, 1) + datetime.timedelta(draw(st.integers(0, 364)))
    return [{"run": z, "days": days, "parity": parity} for z in zones], hours, date


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(sites())
def test_any_night_that_fits_keeps_the_law(written_plan, drawn):
    zones, hours, date = drawn
    plan = written_plan(zones, hours, timezone='timezone = "America/Los_Angeles"')

    planner = NightPlanner(plan)
    night = planner.night(date, thorough=False)
    rise = planner.hours.sunrise_min(date.year, date.month)
    if not night.runs or not night.fits:
        return
    # The sunrise of the month in which the night ends holds after midnight.
    end = planner.hours.clock(night.ends_s)
    rise = min(rise, planner.hours.sunrise_min(end.year, end.month))
    assert_lawful(plan, night, rise, "America/Los_Angeles")


# Work and the longest chain are bounds that anyone can add up.
@settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
@given(sites())
def test_no_night_is_shorter_than_its_work_or_its_longest_zone(written_plan, drawn):
    zones, hours, date = drawn
    plan = written_plan(zones, hours)

    planner = NightPlanner(plan)
    night = planner.night(date, thorough=False)
    if night.runs:
        first = min(spans[0][0] for spans in night.hours.values())
        water = sum(run.end_s - run.start_s for run in night.runs)
        assert night.ends_s - first >= water
        assert night.least_end_s <= night.ends_s
        for row in night.hours:
            job = planner.job(row, date, wide=True)
            if night.fits:
                assert chain_end(job, job.cycles, -1) <= night.ends_s
    assert planner.limits == Limits(1, round(plan.site.controller.gap_s))
