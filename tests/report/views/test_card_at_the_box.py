"""The card as it is keyed in: lengths of starts, dates, how to try the rounding."""

import datetime
import math
import re
from dataclasses import replace
from fractions import Fraction

import pytest
from cards import KEYED_IN, cards_of, half_up, plan_of, read_visits, zones_of

from scheduler.report import blocks
from scheduler.report.views import card as report


@pytest.fixture(scope="module", params=["home", "southern_garden"])
def planned(request):
    return plan_of(request.param), cards_of(request.param)


def text_of(plan, card, units):
    return blocks.text(report.blocks(plan, card, units), units)


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
    last = report.how_to(changed, cards_of("home")[1])[-1]

    assert last.endswith(told or "to the nearest minute.")
