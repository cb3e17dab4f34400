"""Cards of all examples, played on a controller that knows nothing of the planner.

The controller here takes only the card as programs read it (days, starts, minutes,
percents) and does what controllers do. What it is held against is the site: windows,
precipitation rates, runoff limits, and the depths and dry days of its watering table.
Nothing of `plan/` that chooses, rounds, places or plays is called.
"""

import datetime
import itertools
import json
import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from cards import KEYED_IN, cards_of
from controller import DAY_S, DAYS, Controller
from drawn_cards import drawn_site
from walked import depths_of, dry_shares, run_min

from scheduler.calendar import ALL_DATES, EVEN, ODD, WEEKDAYS, Days
from scheduler.inputs.folder import read_site
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.site import Window
from scheduler.plan.card.plan import compare_cards
from scheduler.plan.site import plan_site
from scheduler.report.data import to_json
from scheduler.report.views.controller.keyed import to_data

NEW_YEAR = datetime.date(2027, 1, 1)
ROOT = Path(__file__).parents[3]
EXAMPLES = ("home", "business_park", "southern_garden")
NIGHTS = Window(
    tuple(range(1, 13)), HEAD_KINDS, WEEKDAYS, ALL_DATES, "21:30", "05:30", 7
)
# Common practice: shorter runs fill lines and raise heads, and water little. Minutes.
LEAST_RUN = {"spray": 2, "bubbler": 2, "rotor": 6, "multi-stream": 6, "drip": 10}
# Examples with other controllers and windows: what a card has to cope with.
VARIANTS = {
    "no percents on even dates": (
        "home", {"percent_by": "none"}, (replace(NIGHTS, parity=EVEN),)),
    "one percent in steps of ten, to sunrise, with daylight saving": (
        "home", {"percent_by": "controller", "percent_step": 10.0},
        (replace(NIGHTS, opens="22:00", closes="sunrise"),)),
    "one program before sunrise alone": (
        "home", {"programs": 1.0},
        (replace(NIGHTS, opens="01:00", closes="sunrise"),)),
    "one start, weekdays next to each other": (
        "home", {"starts": 1.0, "programs": 6.0},
        (replace(NIGHTS, weekdays=("thu", "fri", "sat", "sun")),)),
    "half minutes, pauses, an hour a day": (
        "home", {"minute_step": 0.5, "gap_s": 30.0, "longest_day_min": 60.0}, ()),
    "steps of five minutes, no intervals": (
        "southern_garden", {"minute_step": 5.0, "intervals": False}, ()),
    "every night": ("southern_garden", {}, (NIGHTS,)),
    "other days in summer": (
        "home", {}, (replace(NIGHTS, weekdays=("mon", "wed", "fri", "sun"),
                             months=(5, 6, 7, 8, 9)), NIGHTS)),
}  # fmt: skip


class Ground:
    """What the site asks of a card, from its files and its watering table."""

    def __init__(self, plan):
        site = plan.site
        self.site = site
        self.frost = {c.month for c in plan.cautions if c.code == "frost-month"}
        self.too_short = {c.zone for c in plan.cautions if c.code == "cycle-too-short"}
        self.played = {}
        self.zones = site.zones.zone
        self.kind = dict(zip(self.zones, [HEAD_KINDS[k] for k in site.zones.head_kind],
                             strict=True))  # fmt: skip
        self.rate = self.by_zone(plan.inputs.valve.rate_mm_h)
        self.flow = self.by_zone(plan.inputs.valve.flow_l_min)
        self.peak = self.by_zone(plan.inputs.valve.peak_rate_mm_h)
        self.intake = self.by_zone(plan.inputs.ground.intake_mm_h)
        self.runoff_min = self.by_zone(plan.plan.runoff_limit_min)
        minutes = plan.plan.schedule.minutes_per_day
        self.table_mm = self.by_zone(
            minutes * np.array(list(self.rate.values()))[:, None] / 60
        )
        self.limit = self.by_zone(plan.inputs.valve.most_dry)
        self.plan = plan

    def by_zone(self, values):
        return dict(zip(self.zones, values, strict=True))

    def window(self, zone, month):
        for window in self.site.windows:
            if month in window.months and self.kind[zone] in window.head_kinds:
                return window
        return None

    def permitted(self, zone, date, minute, sunrise):
        """Whether a minute after midnight of a date may be watered."""
        window = self.window(zone, date.month)
        if window is None or DAYS[date.weekday()] not in window.weekdays:
            return False
        if window.parity and (date.day % 2 == 1) != (window.parity == ODD):
            return False
        hour, rest = map(int, window.opens.split(":"))
        opens = hour * 60 + rest
        if window.closes == "sunrise":
            closes = sunrise[date]
        else:
            hour, rest = map(int, window.closes.split(":"))
            closes = hour * 60 + rest
        if opens < closes:
            return opens <= minute < closes
        return minute >= opens or minute < closes

    def soak_s(self, zone, cycle_s):
        """Time for what stands after a cycle to go in, up to whole five minutes."""
        stands = self.peak[zone] / self.intake[zone] - 1
        fives = math.ceil(cycle_s / 60 * stands / 5 - 1e-9) * 5
        return max(fives, self.site.controller.shortest_soak_min) * 60


def sunrises(site, year):
    """Minute of sunrise of every date of a year, by pvlib (NREL's SPA)."""
    import pandas as pd
    from pvlib import solarposition

    zone = site.timezone or "UTC"
    days = pd.date_range(f"{year}-01-01", f"{year + 1}-01-02", freq="D", tz=zone)
    rise = solarposition.sun_rise_set_transit_spa(days, site.latitude, site.longitude)
    return {day.date(): time.hour * 60 + time.minute
            for day, time in zip(days, rise["sunrise"], strict=True)}  # fmt: skip


@cache
def planned(name):
    """An example, planned once."""
    return plan_site(read_site(ROOT / "examples" / name))


@pytest.fixture(scope="module", params=[*EXAMPLES, *VARIANTS])
def example(request):
    if request.param in EXAMPLES:
        cards = cards_of(request.param)
        return told(planned(request.param), tuple(cards.values()))
    name, controller, windows = VARIANTS[request.param]
    daylight_saving = "daylight saving" in request.param
    site = read_site(ROOT / "examples" / name)
    site = replace(
        site,
        controller=replace(site.controller, **controller),
        windows=windows or site.windows,
        timezone="PST8PDT" if daylight_saving else site.timezone,
    )
    plan = plan_site(site)
    return told(plan, compare_cards(plan, NEW_YEAR, (1, 4)))


def told(plan, cards):
    """A site, and its cards as programs read them."""
    texts = [to_json(to_data(plan, card)) for card in cards]
    return Ground(plan), [json.loads(text) for text in dict.fromkeys(texts)]


def played(ground, card, year=2027):
    """Cycles of a year in their order; a card is played through a year once."""
    key = id(card), year
    if key not in ground.played:
        controller = ground.site.controller
        player = Controller(card, controller.minute_step, controller.gap_s)
        cycles = sorted(player.year(year), key=lambda cycle: cycle[2:])
        # The card is kept too, so that no other one comes to have its id.
        ground.played[key] = card, cycles
    return ground.played[key][1]


def test_visits_of_a_card_hold_every_month_once(example):
    _, cards = example

    assert all(
        sorted(month for visit in card["visits"] for month in visit["months"])
        == list(range(1, 13))
        for card in cards
    )


def test_card_keeps_within_what_the_controller_can_be_set_to(example):
    ground, cards = example
    can = ground.site.controller
    for visit in (v for c in cards for v in c["visits"]):
        assert len(visit["programs"]) <= can.programs
        for program in visit["programs"]:
            assert 1 <= len(program["starts"]) <= can.starts
            assert program["starts"] == sorted(set(program["starts"]))
            assert can.intervals or not program["every_days"]
            for zone in program["zones"]:
                steps = zone["base_minutes"] / can.minute_step
                assert steps == pytest.approx(round(steps))
                assert steps >= 1
                assert zone["base_minutes"] <= can.longest_run_min
                name = zone["zone"]
                # Where the ground takes less than the least run, that is the most.
                runoff = min(ground.runoff_min[name], can.longest_run_min)
                steps = math.floor(runoff / can.minute_step + 1e-9)
                longest = max(steps * can.minute_step, can.minute_step)
                least = min(LEAST_RUN[ground.kind[name]], longest)
                for percent in program["month_percent"].values():
                    run = run_min(can, zone, percent)
                    assert run == 0 or run >= least - 1e-9, (name, percent)
            for percent in program["month_percent"].values():
                steps = percent / can.percent_step
                assert steps == pytest.approx(round(steps))
                assert 0 <= percent <= can.percent_most
        if can.percent_by == "controller":
            months = [program["month_percent"] for program in visit["programs"]]
            assert all(percents == months[0] for percents in months)


@pytest.mark.parametrize("year", [2027, 2028])
def test_no_more_zones_run_at_once_than_controller_and_supply_let(example, year):
    ground, cards = example
    can, most = ground.site.controller, ground.site.supply.design_flow_l_min or math.inf
    for card in cards:
        running = []
        for date, zone, begins, ends in played(ground, card, year):
            running = [(own, end) for own, end in running if end + can.gap_s > begins]
            others = [own for own, _ in running]
            assert len(others) < can.zones_at_once, (date, zone, others)
            assert zone not in others, (date, zone)
            flow = sum(ground.flow[own] for own in (zone, *others))
            assert not others or flow <= most * (1 + 1e-9), (date, zone, others)
            running.append((zone, ends))


# In three hours: its zones draw 37, 33, 31, 9, 6 and 24 L/min, so that some can run two
# at once within 60 L/min.
def test_programs_run_side_by_side_where_controller_and_supply_let():
    site = planned("southern_garden").site
    site = replace(
        site,
        controller=replace(site.controller, zones_at_once=2.0),
        supply=replace(site.supply, design_flow_l_min=60.0),
        windows=(replace(NIGHTS, opens="02:00", closes="05:00"),),
    )
    plan = plan_site(site)
    example = told(plan, compare_cards(plan, NEW_YEAR, (4,)))
    cycles = played(example[0], example[1][0])

    assert any(one[3] > other[2] for one, other in itertools.pairwise(cycles))
    test_no_more_zones_run_at_once_than_controller_and_supply_let(example, 2027)
    test_every_minute_falls_on_a_permitted_date_within_the_hours(example)
    test_no_cycle_passes_the_runoff_limit_and_soaks_are_kept(example)


def test_every_minute_falls_on_a_permitted_date_within_the_hours(example):
    ground, cards = example
    sunrise = sunrises(ground.site, 2027)
    first = datetime.date(2027, 1, 1)
    for card in cards:
        known = {}
        for _, zone, begins, ends in played(ground, card):
            for minute in range(begins // 60, math.ceil(ends / 60)):
                days, of_day = divmod(minute, 1440)
                key = zone, days, of_day
                if key not in known:
                    date = first + datetime.timedelta(days=days)
                    known[key] = ground.permitted(zone, date, of_day, sunrise)
                assert known[key], (zone, first + datetime.timedelta(days), of_day)


def test_no_cycle_passes_the_runoff_limit_and_soaks_are_kept(example):
    ground, cards = example
    for card in cards:
        # Settings change with a visit: what ran the evening before is another watering.
        visit = {m: i for i, v in enumerate(card["visits"]) for m in v["months"]}
        by_zone = {}
        for date, zone, begins, ends in played(ground, card):
            # Under two minutes or a step no cycle can be kept to it, which is told.
            most = ground.runoff_min[zone] * 60 + 1e-6
            assert ends - begins <= most or zone in ground.too_short
            assert ends - begins <= ground.site.controller.longest_run_min * 60
            key = zone, visit[date.month]
            by_zone.setdefault(key, []).append((begins, ends))
        for (zone, _), cycles in by_zone.items():
            for night in nights(cycles):
                if sum(b - a for a, b in night) > ground.runoff_min[zone] * 60:
                    for (start, end), (again, _) in itertools.pairwise(night):
                        assert again - end >= ground.soak_s(zone, end - start)


def test_no_station_runs_longer_a_day_than_the_controller_lets_it(example):
    ground, cards = example
    longest = ground.site.controller.longest_day_min
    if longest is None:
        return
    for card in cards:
        seconds = {}
        for date, zone, begins, ends in played(ground, card):
            seconds[date, zone] = seconds.get((date, zone), 0) + ends - begins
        assert max(seconds.values(), default=0) <= longest * 60


def nights(cycles):
    """Cycles of a zone in one watering: less than 12 hours from one to the next."""
    night = []
    for begins, ends in sorted(cycles):
        if night and begins - night[-1][1] > DAY_S // 2:
            yield night
            night = []
        night.append((begins, ends))
    yield night


def test_waterings_lay_down_half_to_double_the_tables_depth_unless_told(example):
    ground, cards = example
    for card in cards:
        told_of = {
            (one["zone"], one["month"])
            for one in card["broken"]
            if one["limit"] in ("shallow", "deep")
        }
        by_hand = {(hand["zone"], hand["month"]) for hand in card["by_hand"]}
        for name, depths in depths_of(ground, card).items():
            for month, (mine, table) in enumerate(
                zip(depths, ground.table_mm[name], strict=True), 1
            ):
                if not mine or not table or (name, month) in by_hand:
                    continue
                # A hundredth of a depth is let pass.
                within = 0.49 <= mine / table <= 2.01
                assert within != ((name, month) in told_of), (name, month, mine / table)


def test_water_of_the_header_is_what_the_programs_lay_down(example):
    ground, cards = example
    can = ground.site.controller
    # The mean of the calendar is not quite even between weekdays: a month of 31 days
    # begins on one of them in 56 to 58 of 400 years, which moves its dates by up to
    # 3 * (58 - 400/7) / 400 in 31/7, under 0.2 %; odd and even dates by about twice.
    even = 0.004
    for card in cards:
        if card["by_hand"] or card["fills"]:
            continue
        got = Controller(card, can.minute_step, can.gap_s).month_mm(ground.rate)
        liters = sum(
            got[zone].sum() * ground.flow[zone] * 60 / ground.rate[zone]
            for zone in ground.zones
        )
        assert liters == pytest.approx(card["water_l_year"], rel=even)


def test_dry_days_of_the_card_are_those_of_a_plain_walk_through_the_days(example):
    ground, cards = example
    if ground.site.controller.rain_shutoff_mm is not None:
        return
    walked = dry_shares(ground, cards[:2], ground.plan.years)
    for card, found in zip(cards[:2], walked, strict=True):
        # Fillings and starts by hand are keyed by no program.
        apart = {one["zone"] for one in (*card["by_hand"], *card["fills"])}
        for row, zone in enumerate(card["zones"]):
            for month, told_of in enumerate(zone["months"]):
                if zone["zone"] in apart or told_of["dry_days_percent"] is None:
                    continue
                mine = 100 * found[row, month]
                assert mine == pytest.approx(told_of["dry_days_percent"], abs=1e-6)


def test_dry_days_stay_within_five_points_of_limit_or_table_unless_told(example):
    ground, cards = example
    for card in cards:
        told_of = {
            (one["zone"], one["month"])
            for one in card["broken"]
            if one["limit"] == "dry"
        }
        for zone in card["zones"]:
            limit = 100 * ground.limit[zone["zone"]]
            for month in zone["months"]:
                mine, table = month["dry_days_percent"], month["table_dry_days_percent"]
                if mine is not None:
                    # Half a day in a hundred is let pass.
                    over = mine > max(limit, table) + 5.5
                    cell = zone["zone"], month["month"]
                    assert over == (cell in told_of), (cell, mine, table)


def test_nothing_runs_in_months_off_for_frost(example):
    ground, cards = example
    for card in cards:
        months = {date.month for date, *_ in played(ground, card)}
        assert not months & ground.frost


# The controller plays 2028 date by date; what it runs each zone, and when it starts it,
# the schedule of the same card has to say of the same dates.
@pytest.mark.parametrize("name", [*EXAMPLES, "half minutes, pauses, an hour a day"])
def test_schedule_of_a_card_is_what_the_controller_plays(name):
    if name in EXAMPLES:
        plan = planned(name)
    else:
        site = planned("home").site
        own = replace(site.controller, **VARIANTS[name][1])
        plan = plan_site(replace(site, controller=own))
    cards = compare_cards(plan, KEYED_IN if name in EXAMPLES else NEW_YEAR, (1, 4))
    site = plan.site
    first, zones = datetime.date(2028, 1, 1), site.zones.zone
    days = Days.of_calendar(first, 366)
    for card in cards:
        keyed = json.loads(to_json(to_data(plan, card)))
        player = Controller(keyed, site.controller.minute_step, site.controller.gap_s)
        minutes, starts = np.zeros((len(zones), 366)), {}
        for date, zone, begins, ends in player.settings_of_year(2028):
            cell = zones.index(zone), (date - first).days
            minutes[cell] += (ends - begins) / 60
            starts.setdefault(cell, set()).add(begins - cell[1] * DAY_S)

        schedule = card.schedule
        assert schedule.minutes(days, len(zones)) == pytest.approx(minutes)
        for row, day in np.argwhere(schedule.waters(days)).tolist():
            own = [
                round(start * 60) for start in schedule.starts_min[row] if start >= 0
            ]
            assert {*own} <= starts[int(schedule.zone[row]), day]


def test_intervals_begin_before_the_next_visit(example):
    _, cards = example
    for card in cards:
        for visit in card["visits"]:
            keyed = datetime.date.fromisoformat(visit["date"])
            # Where nothing runs yet there is nothing to key in before the month that
            # runs; a year has no more days.
            runs = {
                int(month)
                for program in visit["programs"]
                for month, percent in program["month_percent"].items()
                if percent
            }
            after = [keyed + datetime.timedelta(days=k) for k in range(365)]
            keyed = next((day for day in after if day.month in runs), keyed)
            for program in visit["programs"]:
                if not program["first_date"]:
                    continue
                date = datetime.date.fromisoformat(program["first_date"])
                # Within one interval, whatever the percent: some take no more days.
                every = datetime.timedelta(days=program["every_days"])
                assert keyed <= date <= keyed + every
                percent, dates = program["month_percent"], [date]
                while str((dates[-1] + every).month) in percent and len(dates) < 366:
                    dates.append(dates[-1] + every)
                assert any(percent[str(date.month)] for date in dates)


def check_cards(site, date):
    """Play the cards of a site by every rule; there always is one."""
    plan = plan_site(site)
    example = told(plan, compare_cards(plan, date, (1, 3)))

    test_visits_of_a_card_hold_every_month_once(example)
    test_card_keeps_within_what_the_controller_can_be_set_to(example)
    for year in (2027, 2028):
        test_no_more_zones_run_at_once_than_controller_and_supply_let(example, year)
    test_every_minute_falls_on_a_permitted_date_within_the_hours(example)
    test_no_cycle_passes_the_runoff_limit_and_soaks_are_kept(example)
    test_no_station_runs_longer_a_day_than_the_controller_lets_it(example)
    test_waterings_lay_down_half_to_double_the_tables_depth_unless_told(example)
    test_water_of_the_header_is_what_the_programs_lay_down(example)
    test_dry_days_of_the_card_are_those_of_a_plain_walk_through_the_days(example)
    test_dry_days_stay_within_five_points_of_limit_or_table_unless_told(example)
    test_nothing_runs_in_months_off_for_frost(example)
    test_intervals_begin_before_the_next_visit(example)


# `python tests/bench/playing_cards.py` plays hundreds.
@pytest.mark.parametrize("seed", range(4))
def test_cards_of_drawn_sites_keep_every_rule(seed):
    check_cards(*drawn_site(seed))
