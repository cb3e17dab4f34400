"""The card as it is keyed in: lengths of starts, dates, how to try the rounding."""

import datetime
import json
import math
import re
from dataclasses import replace
from fractions import Fraction

import pytest
from cards import KEYED_IN, cards_of, half_up, plan_of, read_visits, zones_of

from scheduler.calendar import ODD
from scheduler.report import blocks
from scheduler.report.data import to_json
from scheduler.report.views import card as report
from scheduler.report.views.controller import keyed


@pytest.fixture(scope="module", params=["home", "southern_garden"])
def planned(request):
    return plan_of(request.param), cards_of(request.param)


def text_of(plan, card, units):
    return blocks.text(report.blocks(plan, card, units), units)


def data_of(plan, card):
    return json.loads(to_json(keyed.to_data(plan, card)))


# How long a start lasts is what its runs add up to in the month of most, each rounded
# as the controller does, with pauses between valves and one more after the last.
def test_longest_start_is_the_sum_of_its_runs(planned):
    plan, cards = planned
    step = Fraction(float(plan.site.controller.minute_step))
    gap_min = Fraction(plan.site.controller.gap_s) / 60
    found = 0
    for card in cards.values():
        text = text_of(plan, card, "us")
        lasts = map(int, re.findall(r"each takes up to (\d+) min", text))
        programs = [p for visit in read_visits(text) for p in visit.programs]
        for program, longest in zip(programs, lasts, strict=True):
            sums = []
            for percent in program.percent.values():
                runs = [half_up(run * percent / 100, step)
                        for run in program.runs.values()]  # fmt: skip
                sums.append(sum(run + gap_min for run in runs if run))
            found += 1

            assert longest == math.ceil(max(sums))
    assert found


def test_no_date_of_a_card_is_past(planned):
    plan, cards = planned
    for card in cards.values():
        text = text_of(plan, card, "us")
        dates = re.findall(r"\d{1,2} [A-Z][a-z]{2} \d{4}", text)

        assert dates
        for date in dates:
            assert datetime.datetime.strptime(date, "%d %b %Y").date() >= KEYED_IN


def check_later(told, dates, runs):
    """Dates after the first that water: all up to six, else the next and each month's.

    `dates` are those of the interval, in months at 0 % too; `runs` the months that run.
    """
    dates = [dates[0], *(date for date in dates[1:] if date.month in runs)]
    if len(dates) > 7:
        opening = {}
        for date in dates:
            opening.setdefault((date.year, date.month), date)
        kept = {dates[1], *(d for d in opening.values() if d.month in runs)} - {
            dates[0]
        }
        assert told == ", ".join(f"{d.day} {d:%b} …" for d in sorted(kept))
        return
    by_month = re.findall(r"([\d, and]+) ([A-Z]..)", told)
    named = [(int(day), month) for days, month in by_month
             for day in re.findall(r"\d+", days)]  # fmt: skip
    assert named == [(date.day, f"{date:%b}") for date in dates[1:]]


def test_first_dates_are_to_come_on_a_day_that_waters_in_a_month_that_runs(planned):
    plan, cards = planned
    found = 0
    for card in cards.values():
        for visit in read_visits(text_of(plan, card, "us")):
            for program in visit.programs:
                if "every " not in program.days or program.days == "every day":
                    assert "first" not in program.days
                    continue
                runs = [m for m in visit.months if program.percent[m]]
                if "off until the next visit" in program.days:
                    at = visit.months.index(visit.date.month)
                    assert not {*runs} & {*visit.months[at:]}
                    continue
                found += 1
                told = re.fullmatch(
                    r"every (\d+) days, first on (...) (\d+ ... \d{4})"
                    r"(?: \(at 0 %\))?(?:, then (.*))?",
                    program.days,
                )
                every = datetime.timedelta(int(told[1]))
                first = datetime.datetime.strptime(told[3], "%d %b %Y").date()

                assert ("at 0 %" in program.days) == (first.month not in runs)
                assert visit.date <= first <= visit.date + every
                assert first.strftime("%a") == told[2]
                dates, at = [first], visit.months.index(first.month)
                within = visit.months if len(visit.months) == 12 else visit.months[at:]
                while (dates[-1] + every).month in within and (
                    dates[-1] + every - first
                ).days < 365:
                    dates.append(dates[-1] + every)
                assert any(date.month in runs for date in dates)
                check_later(told[4] or "", dates, runs)
        for visit in data_of(plan, card)["visits"]:
            for program in visit["programs"]:
                if program["first_date"]:
                    first = datetime.date.fromisoformat(program["first_date"])
                    assert first.strftime("%a").lower() in program["days"]
    assert found


# Three short runs without soak are one long one, keyed in three times.
@pytest.mark.parametrize("example", ["home", "southern_garden", "business_park"])
def test_table_splits_no_watering_without_soak(example):
    months = [m for zone in zones_of(plan_of(example)).values() for m in zone["months"]]

    assert any(month["cycles"] > 1 for month in months)
    assert all(m["soak_minutes"] > 0 for m in months if m["cycles"] > 1)


# By hand: 5 steps at half are 2.5, a half up 3; at steps of 20 % none comes to a half.
@pytest.mark.parametrize(
    ("minute_step", "percent_step", "told"),
    [
        (1.0, 5.0, "in 5 min, set 50 % and start it: 2.5 min are to run as 3."),
        (2.0, 10.0, "in 10 min, set 50 % and start it: 5 min are to run as 6."),
        (1.0, 15.0, "in 10 min, set 45 % and start it: 4.5 min are to run as 5."),
        (1.0, 20.0, ""),
    ],
)
def test_how_to_try_the_rounding_is_told(minute_step, percent_step, told):
    plan = plan_of("home")
    controller = replace(
        plan.site.controller, minute_step=minute_step, percent_step=percent_step
    )
    changed = replace(plan, site=replace(plan.site, controller=controller))
    card = cards_of("home")[1]
    last = report.how_to(changed, card, card.visits)[-1]

    if told:
        assert told in last
    else:
        assert last.endswith("to the nearest minute.")


# Only some of the weekdays on odd dates: not every controller can leave weekdays out.
@pytest.mark.parametrize(("weekdays", "parity"), [(127, ODD), (31, 0), (31, ODD)])
def test_weekdays_left_out_on_odd_dates_are_told_in_the_head(weekdays, parity):
    card = cards_of("home")[1]
    (visit,) = card.visits
    pattern = replace(visit.programs[0].pattern, weekdays=weekdays, parity=parity)
    program = replace(visit.programs[0], pattern=pattern)
    changed = replace(card, visits=(replace(visit, programs=(program,)),))
    lines = report.how_to(plan_of("home"), changed, changed.visits)

    told = any("leaves weekdays out on odd or even dates" in line for line in lines)
    assert told == (weekdays != 127 and parity == ODD)
