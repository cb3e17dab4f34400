"""Watering days of a whole site: of all windows together, by hand and brute force."""

import calendar
import datetime
import itertools

import pytest

from scheduler.calendar import WEEKDAYS, weekday_bits, weekday_names
from scheduler.inputs.site import Window
from scheduler.plan.times.common_days import common_days, with_common_days

YEAR = tuple(range(1, 13))
KINDS = ("spray", "drip")


def window(days, kinds=KINDS, months=YEAR, parity=0, most=7):
    weekdays = WEEKDAYS if days == "any" else tuple(days.split())
    return Window(months, tuple(kinds), weekdays, parity, "21:00", "06:00", most)


def names(windows, most):
    found = common_days(tuple(windows), KINDS, most)
    return [(weekday_names(one.weekdays), one.parity, one.without) for one in found]


# By hand: of two days of seven the gaps are 3 and 4 at best, Monday and Thursday first;
# of Monday, Wednesday, Friday and Saturday Mo Fr and We Sa leave 4 days, others more.
@pytest.mark.parametrize(
    ("spray", "drip", "most", "days"),
    [
        ("any", "any", 2, "mon thu"),
        ("mon wed fri sat", "any", 2, "mon fri"),
        ("mon wed fri sat", "any", 4, "mon wed fri sat"),
        ("sat", "any", 1, "sat"),
        ("tue sat", "any", 3, "tue thu sat"),
        ("mon", "sat", 2, "mon sat"),
    ],
)
def test_days_are_those_that_leave_the_smallest_gap_to_every_window(
    spray, drip, most, days
):
    windows = (window(drip, ["drip"]), window(spray))

    assert names(windows, most) == [(tuple(days.split()), 0, ())]


def widest(days, own):
    """Longest way round the week from a day that a window permits to the next."""
    rows = [WEEKDAYS.index(day) for day in days if day in own]
    ends = [*rows[1:], rows[0] + 7] if rows else []
    return max((b - a for a, b in zip(rows, ends, strict=True)), default=99)


@pytest.mark.parametrize("most", [1, 2, 3, 4])
def test_no_other_set_leaves_a_smaller_gap(most):
    permitted = (("mon", "tue", "fri", "sun"), ("mon", "wed", "thu", "fri", "sat"))
    windows = tuple(
        window(" ".join(days), [kind])
        for days, kind in zip(permitted, KINDS, strict=True)
    )
    sets = itertools.combinations(WEEKDAYS, most)
    best = min(max(widest(days, own) for own in permitted) for days in sets)
    ((days, _, _),) = names(windows, most)

    assert len(days) <= most
    assert max(widest(days, own) for own in permitted) == best


def dates(windows):
    """Every date of some years on which any window permits watering."""
    for year, month in itertools.product(range(2023, 2031), YEAR):
        for day in range(1, calendar.monthrange(year, month)[1] + 1):
            date = datetime.date(year, month, day)
            if any(
                month in one.months
                and WEEKDAYS[date.weekday()] in one.weekdays
                and one.parity in (0, 2 - day % 2)
                for one in windows
            ):
                yield date


@pytest.mark.parametrize("most", [1, 2, 3])
@pytest.mark.parametrize("drip", [0, 1, 2])
def test_odd_dates_stay_odd_and_no_week_holds_more_days(most, drip):
    given = (window("any", ["drip"], parity=drip), window("any", parity=1))
    found = with_common_days(given, KINDS, most)

    assert [one.parity for one in found][-1] == 1
    held = [date.toordinal() for date in dates(found)]
    assert max(sum(a <= b < a + 7 for b in held[i : i + 8])
               for i, a in enumerate(held)) <= most  # fmt: skip
    assert all(one.weekdays for one in found)


# In summer Wednesday alone, in winter Saturday alone: no one day serves both.
def test_days_go_by_season_where_no_set_serves_the_year():
    summer, winter = (4, 5, 6, 7, 8, 9), (1, 2, 3, 10, 11, 12)
    windows = (window("wed", months=summer), window("sat", months=winter))

    assert names(windows, 1) == [(("sat",), 0, ()), (("wed",), 0, ())]
    assert names(windows, 2) == [(("wed", "sat"), 0, ())]


def test_windows_without_a_day_in_common_are_told():
    windows = (window("wed", ["drip"]), window("sat"))

    assert names(windows, 1) == [(("wed",), 0, ("spray",))]
    left = with_common_days(windows, KINDS, 1)
    assert [weekday_bits(one.weekdays) for one in left] == [0b100, 0]
