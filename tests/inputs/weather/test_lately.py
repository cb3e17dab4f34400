"""Weather of the last weeks: which days count, and what is refused."""

import datetime

import numpy as np
import pytest

from scheduler.errors import InputError
from scheduler.inputs.weather.lately import WeekTotals, read_lately, week_totals


def written(tmp_path, days, text="{day},5,0\n", head="date,et0_mm,rain_mm\n"):
    path = tmp_path / "lately.csv"
    path.write_text(head + "".join(text.format(day=d) for d in days), encoding="utf-8")
    return path


def july(*days):
    return [f"2026-07-{day:02d}" for day in days]


def test_the_date_is_the_day_after_the_weather_where_none_is_given(tmp_path):
    weather, date = read_lately(written(tmp_path, july(3, 4, 5)), None)

    assert date == datetime.date(2026, 7, 6)
    assert len(weather) == 3


def test_days_from_the_date_on_do_not_count(tmp_path):
    weather, date = read_lately(
        written(tmp_path, july(3, 4, 5)), datetime.date(2026, 7, 5)
    )

    assert date == datetime.date(2026, 7, 5)
    assert weather.date.tolist() == [datetime.date(2026, 7, d) for d in (3, 4)]


# Seven days in a row may be missing: 4 to 10 July. Of eight the weather before is left.
def test_weather_before_a_gap_of_more_than_a_week_is_left_out(tmp_path):
    kept, _ = read_lately(written(tmp_path, july(2, 3, 11, 12)), None)
    left, _ = read_lately(written(tmp_path, july(2, 3, 12, 13)), None)

    assert len(kept) == 4
    assert left.date.tolist() == [datetime.date(2026, 7, d) for d in (12, 13)]


def test_no_more_than_a_year_is_played(tmp_path):
    days = np.arange("2024-01-01", "2026-07-01", dtype="datetime64[D]")
    weather, _ = read_lately(written(tmp_path, days), None)

    assert len(weather) == 366


@pytest.mark.parametrize(
    ("days", "date", "told"),
    [
        ((3, 4), "2026-07-13",
         "lately.csv: --date: the weather before 2026-07-13 ends on 2026-07-04, 8 days "
         "short of it\n"
         "  accepted: weather to the day before the date; 7 days may be missing\n"
         "  hint: add the last days, or give an earlier --date"),
        ((3, 4), "2026-07-03",
         "lately.csv: --date: the weather begins on 2026-07-03, not before 2026-07-03\n"
         "  accepted: weather of the days before the date"),
    ],
)  # fmt: skip
def test_a_date_that_the_weather_does_not_reach_is_refused(tmp_path, days, date, told):
    path = written(tmp_path, july(*days))

    with pytest.raises(InputError) as error:
        read_lately(path, datetime.date.fromisoformat(date))
    assert str(error.value) == told


def test_seven_days_short_of_the_date_are_bridged(tmp_path):
    weather, _ = read_lately(written(tmp_path, july(3, 4)), datetime.date(2026, 7, 12))

    assert len(weather) == 2


def test_days_without_et0_and_temperatures_are_refused(tmp_path):
    # A minimum on one day and a maximum on the other make no day of ET0.
    head = "date,tmin_c,tmax_c\n2026-07-03,10,\n"
    path = written(tmp_path, july(4), "{day},,25\n", head)

    with pytest.raises(InputError) as error:
        read_lately(path, None)
    assert str(error.value) == (
        "lately.csv: date: no day has ET0, nor tmin and tmax to compute it\n"
        "  accepted: a day counts that has ET0, or tmin and tmax"
    )


def test_a_typical_year_is_not_the_weather_that_was(tmp_path):
    path = tmp_path / "year.epw"
    path.write_text("LOCATION,Somewhere\n", encoding="utf-8")

    with pytest.raises(InputError) as error:
        read_lately(path, None)
    assert str(error.value) == (
        "year.epw: holds a typical year, not the weather that was\n"
        "  accepted: a daily file of the last weeks"
    )


# 1.65 in are 41.91 mm.
def test_totals_are_read_in_either_unit():
    assert week_totals(None, None, None, None) is None
    assert week_totals(42.0, None, None, None) == WeekTotals(42.0, None)
    found = week_totals(None, 1.65, 12.0, None)
    assert found.et0_mm == pytest.approx(41.91)
    assert found.rain_mm == 12.0


@pytest.mark.parametrize(
    ("totals", "told"),
    [
        ((42, 1.65, 0, None), "scheduler: --et0-week-mm: --et0-week-in is given too\n"
         "  accepted: one of the two"),
        ((-1, None, 0, None), "scheduler: --et0-week-mm: -1 is no total of a week\n"
         "  accepted: a number from 0 to 150"),
        ((None, 42, None, None),
         "scheduler: --et0-week-in: 42 is no total of a week\n"
         "  accepted: a number from 0 to 6"),
        ((None, None, 3, None), "scheduler: --et0-week-mm: is missing\n"
         "  accepted: ET0 of the week, as --et0-week-mm 42 or --et0-week-in 1.65"),
        ((42, None, float("nan"), None),
         "scheduler: --rain-week-mm: nan is no total of a week\n"
         "  accepted: a number from 0 to 1500"),
    ],
)  # fmt: skip
def test_totals_that_cannot_be_are_refused(totals, told):
    with pytest.raises(InputError) as error:
        week_totals(*totals)
    assert str(error.value) == told
