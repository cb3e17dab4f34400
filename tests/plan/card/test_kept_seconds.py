"""Percents that round runs to nothing, and controllers that keep seconds instead."""

import datetime
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from scheduler.calendar import DAYS_IN_MONTH
from scheduler.inputs.folder import read_site
from scheduler.plan.card.plan import plan_cards
from scheduler.plan.card.settings import Group, Setting, off_where_nothing_runs
from scheduler.plan.site import plan_site

ROOT = Path(__file__).parents[3]


@pytest.fixture(scope="module", params=["program", "controller"])
def planned(request):
    site = read_site(ROOT / "examples" / "home")
    coarse = replace(site.controller, percent_by=request.param, minute_step=2.0)
    plan = plan_site(replace(site, controller=coarse, plan_by="months"))
    return plan, plan_cards(plan, datetime.date(2027, 1, 1))


def scaled(base_min, percent, step_min):
    """Steps of a run at a percent, not rounded, in exact arithmetic."""
    return Fraction(base_min) / Fraction(step_min) * Fraction(percent) / 100


# Exact: 4 minutes at 10 % are 0.4 min and at 5 % 0.2 min: no minute. 12 at 5 % are 0.6
# min: one minute; where one percent holds for all programs, it stays for those 12.
@pytest.mark.parametrize(
    ("percent_by", "expected"),
    [
        ("program", [[100, 0, 0], [100, 10, 5]]),
        ("controller", [[100, 10, 5], [100, 10, 5]]),
    ],
)
def test_a_percent_that_runs_nothing_is_keyed_as_off(percent_by, expected):
    percent = np.array([100.0, 10.0, 5.0])
    groups = [
        Group(None, 1, percent, (row,), np.array([base]))
        for row, base in enumerate((4.0, 12.0))
    ]
    setting = Setting((10, 11, 0), tuple(groups), (None, None), 0.0)

    keyed = off_where_nothing_runs(setting, percent_by)

    assert [group.percent.tolist() for group in keyed.groups] == expected


def test_every_percent_of_a_card_runs_some_zone(planned):
    plan, cards = planned
    step = plan.site.controller.minute_step
    for card in cards.cards:
        for visit in card.visits:
            for month in visit.months:
                runs = [
                    any(
                        scaled(base, program.percent[month], step) >= Fraction(1, 2)
                        for base in program.base_min
                    )
                    for program in visit.programs
                ]
                percents = [program.percent[month] for program in visit.programs]
                if plan.site.controller.percent_by == "controller":
                    assert any(runs) == any(percents)
                else:
                    assert runs == [percent > 0 for percent in percents]


# Definition: what a start gives is base times percent, and what a month gives is that
# times its starts; the dates of a weekday in a month are days of the month / 7.
def test_kept_seconds_are_what_the_unrounded_runs_of_the_card_give(planned):
    plan, cards = planned
    rate = plan.inputs.valve.rate_mm_h
    for card in cards.cards[:4]:
        given = np.zeros(card.need_mm.shape)
        longer_s = 0.0
        for visit in card.visits:
            for program in visit.programs:
                assert not program.pattern.parity
                dates = program.pattern.weekdays.bit_count() / 7
                if program.pattern.every_days:
                    dates = 1 / program.pattern.every_days
                for month, percent in program.percent.items():
                    starts = dates * DAYS_IN_MONTH[month - 1] * len(program.starts_min)
                    more_min = 0.0
                    for zone, base in zip(program.zones, program.base_min, strict=True):
                        run_min = base * percent / 100
                        more_min += run_min - 2 * np.floor(run_min / 2 + 0.5)
                        given[zone, month - 1] += run_min * starts * rate[zone] / 60
                    longer_s = max(longer_s, more_min * 60)
        need = card.need_mm
        wants = need > 0
        month = (1 - given[wants] / need[wants]).max()
        year = (1 - given.sum(axis=1) / need.sum(axis=1)).max()

        kept = card.if_seconds_kept
        assert kept.month_shortfall_percent == pytest.approx(max(100 * month, 0))
        assert kept.year_shortfall_percent == pytest.approx(max(100 * year, 0))
        assert kept.longer_s == pytest.approx(longer_s)
