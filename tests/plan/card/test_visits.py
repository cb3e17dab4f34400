"""Visits: what runs no more this month, where intervals go on, what limits cost."""

import datetime
from types import SimpleNamespace

import numpy as np
import pytest

from scheduler.plan.card.judged import worth_their_visits
from scheduler.plan.card.settings import Program, Visit


def _visit(today, *programs):
    """A visit of some days in November for November to February."""
    made = [
        Program(
            name, SimpleNamespace(weekdays=weekdays, parity=0, every_days=every),
            first, starts, (0,), (10.0,), (0.0,),
            (0.0,), 10, percent,
        )
        for name, weekdays, every, first, starts, percent in programs
    ]  # fmt: skip
    return Visit((11, 12, 1, 2), tuple(made), today)


# By hand, on the calendar of 2026: 27 November is a Friday, so that Mondays of November
# still come on the 30th, Wednesdays not; an interval from 2 December on waters in
# December first. On 30 November, a Monday, a start at 6:00 has gone by, one at 18:00
# has not.
@pytest.mark.parametrize(
    ("day", "told"), [(27, ["wednesdays", "interval"]), (30, ["mondays", "wednesdays"])]
)
def test_programs_that_run_no_more_this_month_are_named(day, told):
    always = dict.fromkeys((11, 12, 1, 2), 100.0)
    off = always | {11: 0.0}
    today = datetime.date(2026, 11, day)
    first = datetime.date(2026, 12, 2) if day == 27 else today
    visit = _visit(
        today,
        ("mondays", 1, 0, None, (360,), always),
        ("late", 1, 0, None, (360, 1080), always),
        ("wednesdays", 4, 0, None, (1080,), always),
        ("interval", 127, 14, first, (1080,), always),
        ("off", 4, 0, None, (1080,), off),
    )

    assert [program.name for program in visit.not_this_month()] == told


# By hand: every 14 days from 2 December on come 16, 30 December, 13, 27 January, 10 and
# 24 February; with January off it goes on on 10 February; with November and December
# off an interval from 2 December on goes on on 13 January.
@pytest.mark.parametrize(
    ("off", "told"), [((), []), ((1,), ["2027-02-10"]), ((11, 12), ["2027-01-13"]),
                      ((11, 12, 2), ["2027-01-13"]), ((12, 1, 2), [])]
)  # fmt: skip
def test_dates_after_months_at_0(off, told):
    percent = {month: 100.0 * (month not in off) for month in (11, 12, 1, 2)}
    first = datetime.date(2026, 12, 2)
    visit = _visit(datetime.date(2026, 11, 27), ("A", 127, 14, first, (360,), percent))

    found = [date.isoformat() for date in visit.programs[0].resumes()]
    assert found == told


# By hand: 133 liters less a twentieth are 126.4, so 100 are worth 0.84 days of a
# hundred over a limit; 105 less a twentieth are 99.75, so they are not. Where none
# keeps all limits a day more is let pass for any water over half a hundredth, two days
# are not.
@pytest.mark.parametrize(
    ("cards", "best"),
    [
        ([(0.0, 133.0), (0.84, 100.0)], 1),
        ([(0.0, 105.0), (0.84, 100.0)], 0),
        ([(0.84, 100.0), (0.0, 133.0)], 0),
        ([(0.84, 100.0), (0.0, 105.0)], 1),
        ([(0.0, 133.0), (1.5, 50.0)], 0),
        ([(2.0, 100.0), (2.9, 99.0)], 1),
        ([(2.0, 100.0), (2.9, 99.8)], 0),
        ([(2.0, 100.0), (4.0, 50.0)], 0),
    ],
)
def test_a_trifle_of_a_limit_is_not_kept_at_any_price(cards, best):
    judged = [
        SimpleNamespace(harm=harm, nights=0, water_l=np.array([water]))
        for harm, water in cards
    ]

    assert worth_their_visits(judged) == best


# Rule of ours: 20 zones that a hand fills on a night are as bad as a dry day in a
# hundred over a limit, which is let pass for less water; 24 are not.
@pytest.mark.parametrize(("nights", "best"), [(16, 1), (24, 0)])
def test_nights_of_filling_by_hand_count_against_visits(nights, best):
    judged = [
        SimpleNamespace(harm=harm, nights=own, water_l=np.array([water]))
        for harm, own, water in ((1.0, 0, 100.0), (1.0, nights, 90.0))
    ]

    assert worth_their_visits(judged) == best
