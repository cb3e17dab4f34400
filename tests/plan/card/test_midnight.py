"""Sides of midnight on a card, minute by minute, against the hours of the night."""

import datetime
import random
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from scheduler.calendar import ALL_DATES, EVEN, ODD, WEEKDAYS
from scheduler.inputs.folder import read_site
from scheduler.inputs.forms.fields import HEAD_KINDS
from scheduler.inputs.site import Window
from scheduler.plan.card.midnight import sides_of, use_of
from scheduler.plan.card.needs import card_needs
from scheduler.plan.night.hours import SiteHours
from scheduler.plan.site import plan_site
from scheduler.plan.times.patterns import days_to_choose

HOME = Path(__file__).parents[3] / "examples" / "home"
YEAR = 2027
DAY_MIN = 1440
# Latitude, longitude, time zone: by longitude; a clock that the sunrise of a year
# passes at noon (seven hours off the sun's); and where the sun hardly sets in June.
PLACES = [(38.0, -120.0, ""), (45.0, -105.0, "Etc/UTC"), (65.5, 25.0, "")]
# The last two open after most sunrises, or after all of them.
OPENS = ("00:00", "04:00", "20:00", "21:30", "12:30", "07:00", "11:00")
CLOSES = ("06:00", "24:00", "00:00", "09:00", "sunrise", "sunrise", "sunrise")


@pytest.fixture(scope="module")
def home():
    return read_site(HOME)


def drawn_window(draw, months):
    days = draw.sample(WEEKDAYS, draw.choice([3, 5, 7, 7]))
    return Window(
        months, HEAD_KINDS, tuple(day for day in WEEKDAYS if day in days),
        draw.choice([ALL_DATES, ALL_DATES, ODD, EVEN]), draw.choice(OPENS),
        draw.choice(CLOSES), draw.choice([3, 7, 7]),
    )  # fmt: skip


def minutes_of_night(site, head_kind):
    """Whether each minute of the year may be watered, by date and minute."""
    hours = SiteHours(site)
    first = datetime.date(YEAR, 1, 1)
    midnight = datetime.datetime.combine(first, datetime.time(), hours.zone)
    may = np.zeros(366 * DAY_MIN, bool)
    for day in range(-1, 366):
        for begin, end in hours.spans(head_kind, first + datetime.timedelta(day)):
            since = [(s - midnight.timestamp()) / 60 for s in (begin, end)]
            may[max(round(since[0]), 0) : max(round(since[1]), 0)] = True
    return may


def dates_of(pattern, months):
    """Days of the year on which a pattern may water, but its last: what comes after
    it is of another year."""
    for day in range(364):
        date = datetime.date(YEAR, 1, 1) + datetime.timedelta(day)
        parity = 1 if date.day % 2 else 2
        falls = pattern.weekdays >> date.weekday() & 1
        if falls and date.month - 1 in months and pattern.parity in (0, parity):
            yield day


# Every minute of a side is one of the night's on every date of the pattern; and every
# minute of a date that is one of the night's on all of them is on a side.
@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("seed", range(2))
def test_sides_are_the_minutes_that_every_night_permits(home, place, seed):
    draw = random.Random(seed)
    latitude, longitude, timezone = place
    all_year = drawn_window(draw, tuple(range(1, 13)))
    summer = drawn_window(draw, tuple(range(4, 10)))
    # Of those drawn, and one that the sunrise of a clock in UTC passes.
    passed = replace(all_year, opens="12:30", closes="sunrise")
    windows = [(summer, all_year), (all_year,), (passed,)][seed % 3]
    site = replace(
        home, latitude=latitude, longitude=longitude, timezone=timezone, windows=windows
    )
    needs = card_needs(plan_site(site), YEAR)
    may = minutes_of_night(site, HEAD_KINDS[site.zones.head_kind[0]])
    drawn = [pattern for d in days_to_choose(windows, True) for pattern in d.alike]
    for pattern in draw.sample(drawn, min(20, len(drawn))):
        first = draw.randrange(12)
        months = [(first + m) % 12 for m in range(draw.choice([1, 3, 6, 12]))]
        sides = sides_of(needs, pattern, use_of(needs, [0], months))
        if not all(pattern.permitted(windows[needs.window[0, m]]) for m in months):
            assert sides == ()
            continue

        dates = [*dates_of(pattern, months)]
        on_a_side = np.zeros(DAY_MIN, bool)
        for side in sides:
            on_a_side[side.opens_min : side.closes_min] = True
            for day in dates:
                begin = day * DAY_MIN
                assert may[begin + side.opens_min : begin + side.closes_min].all()
        always = np.all([may[d * DAY_MIN :][:DAY_MIN] for d in dates], axis=0)
        np.testing.assert_array_equal(on_a_side, always)


# A window to sunrise that opens at 09:00, when the sun is up, has no hours at all; it
# is not one from 09:00 round to the next sunrise.
def test_morning_window_that_opens_after_sunrise_has_no_side(home):
    late = Window(
        tuple(range(1, 13)), HEAD_KINDS, WEEKDAYS, ALL_DATES, "09:00", "sunrise", 7
    )
    needs = card_needs(plan_site(replace(home, windows=(late,))), YEAR)
    every_day = next(d.first for d in days_to_choose((late,), True) if d.first.daily)

    assert sides_of(needs, every_day, use_of(needs, [0], range(12))) == ()
