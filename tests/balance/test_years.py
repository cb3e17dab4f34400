"""Years of days: whole ones of a file, and invented ones."""

import datetime
import subprocess
import sys

import numpy as np
import pytest
from scipy import special

from scheduler.balance import years as years_
from scheduler.calendar import DAYS_IN_MONTH, Days
from scheduler.inputs.library import package_table

MONTH = Days.of_common_years(1).month
ET0 = np.array([1.0, 1.5, 2.5, 3.5, 4.5, 5.5, 6.0, 5.5, 4.2, 2.8, 1.6, 1.0])
RAIN = np.array([120, 90, 80, 60, 40, 30, 20, 25, 50, 80, 120, 130.0])
RAIN_DAYS = np.array([16, 13, 13, 11, 9, 8, 5, 6, 8, 12, 16, 17.0])


def by_month(days):
    """Totals of each month of each year, (year, month)."""
    return np.stack([days[:, month == MONTH].sum(axis=1) for month in range(12)], 1)


def test_the_quantiles_of_the_package_are_scipys():
    rows = package_table("quantiles")
    read = {name: np.array([float(row[name]) for row in rows]) for name in rows[0]}
    share = read["probability"]

    np.testing.assert_allclose(read["normal"], special.ndtri(share), rtol=1e-6)
    np.testing.assert_allclose(
        read["gamma_of_shape_0_6"], special.gammaincinv(0.6, share) / 0.6, rtol=1e-6
    )
    np.testing.assert_allclose(
        read["gamma_of_shape_4"], special.gammaincinv(4, share) / 4, rtol=1e-6
    )


def test_invented_months_have_the_means_they_were_asked_for():
    found = years_.invented_years(ET0, RAIN, RAIN_DAYS)

    np.testing.assert_allclose(by_month(found.rain_mm).mean(axis=0), RAIN, rtol=1e-12)
    np.testing.assert_allclose(
        by_month(found.et0_mm).mean(axis=0), ET0 * DAYS_IN_MONTH, rtol=1e-12
    )
    assert len(found) == 30
    assert found.invented
    assert (found.et0_mm > 0).all()
    assert (found.rain_mm >= 0).all()


# Geng and others 1986: the chain keeps the share of wet days, and a mean wet spell
# lasts 1 / (0.75 (1 - f)) days. Many years, one month's climate all the year; without
# the spread between years the chain is the plain one.
def test_wet_days_come_as_often_and_in_spells_as_long_as_asked(monkeypatch):
    monkeypatch.setattr(years_, "WETNESS_OF_DAYS", 0.0)
    share = 0.3
    found = years_.invented_years(
        np.full(12, 3.0), 8.0 * share * DAYS_IN_MONTH, share * DAYS_IN_MONTH, count=400
    )
    wet = (found.rain_mm > 0).ravel()
    begins = wet & ~np.roll(wet, 1)

    # 146,000 days; deviations of the estimates by the chain's memory of 0.25.
    assert wet.mean() == pytest.approx(share, abs=0.006)
    assert wet.sum() / begins.sum() == pytest.approx(1 / (0.75 * 0.7), rel=0.03)


# Gamma of shape 0.6 above 1 mm, mean 8: coefficient of variation of the part above is
# 1 / sqrt(0.6) (a law of the gamma).
def test_depths_of_wet_days_are_a_gamma_above_a_millimeter(monkeypatch):
    monkeypatch.setattr(years_, "WETNESS_OF_DEPTH", 0.0)
    found = years_.invented_years(
        np.full(12, 3.0), 2.4 * DAYS_IN_MONTH, 0.3 * DAYS_IN_MONTH, count=400
    )
    depth = found.rain_mm[found.rain_mm > 0]
    over = depth / depth.mean() * 8 - 1

    assert over.min() > -0.2
    assert over.std() / over.mean() == pytest.approx(1 / np.sqrt(0.6), rel=0.04)


# The noise asked for: deviation 0.2, memory 0.5 (first order), on top of which a
# month's ET0 spreads by 0.10 from year to year. No rain, so that nothing else moves it.
def test_et0_of_invented_days_has_the_spread_and_memory_asked_for():
    found = years_.invented_years(np.full(12, 4.0), np.zeros(12), count=400)
    share = found.et0_mm / 4.0
    of_month = np.stack([share[:, m == MONTH].mean(axis=1) for m in range(12)], 1)
    noise = share - of_month[:, MONTH]

    # A month's mean of the noise takes some of it: of 30 days of memory 0.5 about
    # 0.2 * sqrt(3 / 30.4) = 0.063, which adds to 0.10 as squares do.
    assert of_month.std() == pytest.approx(np.hypot(0.10, 0.063), rel=0.05)
    assert noise.std() == pytest.approx(np.sqrt(0.2**2 - 0.063**2), rel=0.03)
    pairs = np.corrcoef(share[:, :-1].ravel(), share[:, 1:].ravel())[0, 1]
    total = 0.1**2 + 0.2**2
    # Within a month the factor is shared; between months, one day in thirty, it is not.
    assert pairs == pytest.approx((0.1**2 + 0.5 * 0.2**2) / total, abs=0.02)


def test_dry_days_take_more_et0_than_wet_ones_by_three_tenths_of_the_mean():
    found = years_.invented_years(ET0, RAIN, RAIN_DAYS, count=400)
    for month in range(12):
        days = found.et0_mm[:, month == MONTH] / ET0[month]
        wet = found.rain_mm[:, month == MONTH] > 0
        assert days[~wet].mean() - days[wet].mean() == pytest.approx(0.3, abs=0.06)


def test_without_days_of_rain_a_wet_day_has_seven_millimeters():
    found = years_.invented_years(ET0, RAIN)

    np.testing.assert_allclose(found.rain_days, RAIN / 7)
    assert not found.rain_days_given


def test_a_month_that_hardly_rains_keeps_its_rain_and_a_dry_one_has_none():
    rain = np.array([0.4, *[0.0] * 11])
    found = years_.invented_years(ET0, rain)

    totals = by_month(found.rain_mm)
    assert totals[:, 0].mean() == pytest.approx(0.4, rel=1e-12)
    assert totals[:, 1:].max() == 0


def test_more_days_of_rain_than_the_month_has_are_held_to_four_fifths():
    found = years_.invented_years(ET0, RAIN, np.full(12, 30.0))

    np.testing.assert_allclose(found.rain_days, 0.8 * DAYS_IN_MONTH)


def test_the_same_bytes_are_invented_in_every_process():
    code = (
        "import hashlib, numpy as np\n"
        "from scheduler.balance.years import invented_years\n"
        f"y = invented_years(np.array({ET0.tolist()}), np.array({RAIN.tolist()}))\n"
        "b = np.round(np.stack([y.et0_mm, y.rain_mm]), 6).tobytes()\n"
        "print(hashlib.sha256(b).hexdigest())"
    )
    run = [sys.executable, "-W", "error", "-c", code]
    first, second = (
        subprocess.run(run, capture_output=True, text=True, check=True).stdout
        for _ in range(2)
    )

    assert first == second


def series(first, last):
    """Every day from one date to another, ET0 its day of the year, rain its month."""
    date = np.arange(np.datetime64(first), np.datetime64(last) + 1)
    of_year = (date - date.astype("datetime64[Y]").astype("datetime64[D]")).astype(int)
    month = date.astype("datetime64[M]").astype(int) % 12
    return date, of_year.astype(float), month.astype(float)


def test_whole_years_need_eight_and_leave_out_those_with_gaps():
    date, et0, rain = series("2001-03-01", "2010-12-31")
    assert years_.whole_years(date, et0, rain).first == 2002

    et0[date == np.datetime64("2004-06-15")] = np.nan
    gap = (date >= np.datetime64("2005-02-01")) & (date < np.datetime64("2005-02-10"))
    et0[gap] = np.nan
    found = years_.whole_years(date, et0, rain)

    # 2005 has 19 of 28 days in February, under 80 %: eight are left.
    assert (found.first, found.last, len(found)) == (2002, 2010, 8)
    # The missing 15 June has the mean of its month over all years.
    june = found.et0_mm[2, MONTH == 5]
    assert june[14] == pytest.approx(np.mean(found.et0_mm[:, MONTH == 5]), rel=1e-3)

    shorter = date < np.datetime64("2010-01-01")
    assert years_.whole_years(date[shorter], et0[shorter], rain[shorter]) is None


def test_rain_of_a_leap_day_goes_to_the_28th():
    date, et0, rain = series("2000-01-01", "2008-12-31")
    rain[:] = 0
    rain[date == np.datetime64("2004-02-28")] = 3.0
    rain[date == np.datetime64("2004-02-29")] = 11.0
    rain[date == np.datetime64("2004-12-31")] = 2.0
    found = years_.whole_years(date, et0, rain)

    year = found.rain_mm[4]
    assert year[58] == 14.0
    assert year[364] == 2.0
    assert year.sum() == 16.0
    assert datetime.date(2004, 3, 1).timetuple().tm_yday == 61


def test_days_that_a_counted_year_lacks_are_told_and_filled():
    date, et0, rain = series("2001-01-01", "2009-12-31")
    july = (date >= np.datetime64("2003-07-04")) & (date < np.datetime64("2003-07-07"))
    et0[july] = np.nan
    rain[date == np.datetime64("2003-07-20")] = np.nan
    found = years_.whole_years(date, et0, rain)
    gone = ~(july | (date == np.datetime64("2008-12-31")))
    without = years_.whole_years(date[gone], et0[gone], rain[gone])

    # Three days without ET0 and one without rain; then one more that is not there.
    assert found.filled_days == 4
    assert without.filled_days == 5
    assert found.rain_mm[2, 200] == 0.0
    of_july = MONTH == 6
    there = np.ones(found.et0_mm.shape, dtype=bool)
    there[2, 184:187] = False
    known = found.et0_mm[:, of_july][there[:, of_july]]
    np.testing.assert_allclose(found.et0_mm[2, 184:187], known.mean(), rtol=1e-12)
    assert years_.whole_years(*series("2001-01-01", "2009-12-31")).filled_days == 0


# By hand: rain on 20 December of one year and 10 January of the next that counts: 11
# and 9 days of dry. They are one spell of 20 only where the one follows the other.
@pytest.mark.parametrize(
    ("numbers", "longest"), [((2003, 2004), 20), ((2003, 2005), 11)]
)
def test_a_dry_spell_does_not_go_on_over_a_year_that_is_left_out(numbers, longest):
    rain = np.full((2, 365), 2.0)
    rain[0, -11:], rain[1, :9] = 0.0, 0.0
    years = years_.Years(
        np.ones((2, 365)), rain, numbers[0], numbers[1], numbers=numbers
    )

    assert years_.played_months(years).longest_dry_spell_days == longest


# Seattle, New York: see tests/demand/test_real_days.py. Here: a year that begins late.
def test_a_series_without_a_whole_year_gives_none():
    date, et0, rain = series("2003-02-01", "2003-12-31")

    assert years_.every_whole_year(date, et0, rain) is None
