"""Years of hours in open formats: the hour's label, the fill values, the rain.

The real files are those that pvlib brings along: Greensboro (TMY3), Sand Point (TMY3)
and Miami (TMY2), of the US National Renewable Energy Laboratory. All else is invented.
"""

import csv
import json
import shutil
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest

from scheduler.balance.years import played_months
from scheduler.calendar import DAYS_IN_MONTH
from scheduler.demand.months import reference_months
from scheduler.inputs.forms import csvfiles
from scheduler.inputs.weather.alone import read_weather_file
from scheduler.inputs.weather.climates import read_climate
from scheduler.inputs.weather.hourly import _tmy2, _tmy3
from scheduler.plan.site import plan_site
from scheduler.report.views.climate import view_of_file

DATA = Path(pvlib.__file__).parent / "data"
GREENSBORO, SAND_POINT = DATA / "723170TYA.CSV", DATA / "703165TY.csv"
MIAMI = DATA / "12839.tm2"
HOURS = pd.date_range("2001-01-01", periods=8760, freq="h")


def read(path):
    problems = []
    weather = read_climate(path, path.name, problems)
    return weather, [str(problem) for problem in problems]


def days_of(path):
    weather, problems = read(path)
    assert problems == []
    return weather


@pytest.fixture(scope="module")
def greensboro():
    return days_of(GREENSBORO)


def greensboro_rows():
    """The file as plain text: a dict a row, in order."""
    with GREENSBORO.open(encoding="utf-8", newline="") as stream:
        next(stream)
        return list(csv.DictReader(stream))


# A plain read of the text. Rows run 01:00 to 24:00 of one date: 24 rows a day.
@pytest.mark.parametrize("day", [0, 58, 59, 195, 364])
def test_days_of_tmy3_hold_the_24_rows_of_their_date(greensboro, day):
    rows = greensboro_rows()[24 * day : 24 * day + 24]
    assert [row["Time (HH:MM)"] for row in rows][::23] == ["01:00", "24:00"]

    def values(name):
        return np.array([float(row[name]) for row in rows])

    assert rows[0]["Date (MM/DD/YYYY)"][:5] == str(greensboro.date[day])[5:].replace(
        "-", "/"
    )
    assert greensboro.tmin_c[day] == values("Dry-bulb (C)").min()
    assert greensboro.tmax_c[day] == values("Dry-bulb (C)").max()
    assert greensboro.dew_point_c[day] == pytest.approx(
        np.minimum(values("Dew-point (C)"), values("Dry-bulb (C)")).mean(), rel=1e-12
    )
    assert greensboro.wind_m_s[day] == pytest.approx(values("Wspd (m/s)").mean())
    # 1 W/m² for an hour is 3,600 J/m² (exact).
    assert greensboro.solar_mj_m2_day[day] == pytest.approx(
        values("GHI (W/m^2)").sum() * 3600 / 1e6, rel=1e-12
    )


def test_energy_of_the_year_is_that_of_its_hours(greensboro):
    wh_m2 = sum(float(row["GHI (W/m^2)"]) for row in greensboro_rows())

    assert greensboro.solar_mj_m2_day.sum() == pytest.approx(wh_m2 * 0.0036, rel=1e-12)


# A plain read of the text: columns of the TMY2 manual, counted from 1: date 2-9, global
# radiation 18-21, dry bulb 68-71, wind speed 96-98, the last two in tenths.
@pytest.mark.parametrize("day", [0, 200, 364])
def test_days_of_tmy2_hold_the_24_rows_of_their_date(day):
    weather = days_of(MIAMI)
    lines = MIAMI.read_text(encoding="ascii").splitlines()[1:]
    lines = lines[24 * day : 24 * day + 24]
    dry = [int(line[67:71]) / 10 for line in lines]

    assert lines[0][3:7] == str(weather.date[day])[5:].replace("-", "")
    assert (weather.tmin_c[day], weather.tmax_c[day]) == (min(dry), max(dry))
    solar = sum(int(line[17:21]) for line in lines) * 0.0036
    assert weather.solar_mj_m2_day[day] == pytest.approx(solar, rel=1e-12)
    wind = sum(int(line[95:98]) for line in lines) / 240
    assert weather.wind_m_s[day] == pytest.approx(wind, rel=1e-12)


# The hour's label: the first hour with sun is the one in which the sun rises by pvlib's
# solar position (the other side: the last is the one in which it sets). At dawn a few
# W/m² may round to 0, so three days in four are asked for; with a label
# an hour off it is less than half.
@pytest.mark.parametrize(
    ("reader", "path", "place", "zone"),
    [(_tmy3, GREENSBORO, (36.1, -79.95), -5), (_tmy2, MIAMI, (25.8, -80.27), -5)],
)
def test_the_sun_rises_and_sets_within_the_hours_that_first_and_last_have_sun(
    reader, path, place, zone
):
    lit = reader(path).solar_mj_m2_day.reshape(365, 24) > 0
    first, last = lit.argmax(axis=1), 23 - lit[:, ::-1].argmax(axis=1)
    noon = pd.date_range("2001-01-01 12:00", periods=365, tz=f"Etc/GMT{-zone:+d}")
    sun = pvlib.solarposition.sun_rise_set_transit_spa(noon, *place)
    rise, set_ = (
        (sun[name].dt.hour + sun[name].dt.minute / 60).to_numpy()
        for name in ("sunrise", "sunset")
    )

    def share(hour, moment):
        return np.mean((moment >= hour - 0.1) & (moment <= hour + 1.1))

    assert share(first, rise) > 0.75
    assert share(last, set_) > 0.75
    assert share(first + 1, rise) < 0.5
    assert share(last - 1, set_) < 0.5


# from memory: 1991-2020 normals of the places, mean temperature of January and July,
# as known to about 1 °C; a typical year may differ by 2 °C. The year's ET0 in mm: the
# quick check of 1,120, 510 and 1,574 that was made without this package.
@pytest.mark.parametrize(
    ("path", "january_c", "july_c", "et0_mm"),
    [(GREENSBORO, 4.0, 26.0, 1120), (MIAMI, 20.0, 29.0, 1574),
     (SAND_POINT, 0.0, 11.5, 510)],
)  # fmt: skip
def test_real_files_show_what_is_known_of_their_places(path, january_c, july_c, et0_mm):
    months = view_of_file(read_weather_file(path, None, None, None)).months
    mean_c = (months.tmin_c + months.tmax_c) / 2

    assert mean_c[0] == pytest.approx(january_c, abs=4)
    assert mean_c[6] == pytest.approx(july_c, abs=2.5)
    year_mm = float(np.sum(months.et0_mm_day * DAYS_IN_MONTH))
    assert year_mm == pytest.approx(et0_mm, rel=0.02)


@pytest.mark.parametrize(
    ("path", "why"),
    # Greensboro's depths are in tenths of a mm: 3, 5, 8, 10, 13 for hundredths of an
    # inch; 834 mm in truth. Sand Point's are mostly the fill value -9900.
    [(GREENSBORO, "8,345 mm in the year cannot be: another unit than the format's?"),
     (SAND_POINT, "9 % of the hours have a value"), (MIAMI, "TMY2 has none here")],
)  # fmt: skip
def test_rain_that_cannot_be_is_not_taken(path, why):
    weather = days_of(path)

    assert weather.no_rain_because == why
    assert not weather.has("rain_mm")


def epw_text(frame, head="45.0,9.0,1.0,200.0"):
    """An EPW file of hours; pads what the format has and nothing here reads."""
    lines = [f"LOCATION,Nowhere,-,-,invented,0,{head}"]
    lines += ["DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0",
              "GROUND TEMPERATURES,0", "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
              "COMMENTS 1,invented", "COMMENTS 2,invented",
              "DATA PERIODS,1,1,Data,Sunday,1/1,12/31"]  # fmt: skip
    for when, row in zip(HOURS, frame.itertuples(), strict=False):
        lines.append(
            f"{2003 + when.month % 3},{when.month},{when.day},{when.hour + 1},0,?,"
            f"{row.temp},{row.dew},{row.rh},101325,0,0,300,{row.ghi},0,0,0,0,0,0,180,"
            f"{row.wind},5,5,9999,99999,9,999999999,100,0.1,0,88,0.2,{row.rain},1"
        )
    return "\n".join(lines) + "\n"


def invented_hours():
    """A year of hours with its sun from 6 to 18 h and its low at 5 h."""
    hour = HOURS.hour.to_numpy()
    season = 8 * np.sin(2 * np.pi * (HOURS.day_of_year.to_numpy() - 110) / 365)
    temp = np.round(12 + season + 6 * np.cos(2 * np.pi * (hour - 17) / 24), 1)
    ghi = np.round(600 * np.maximum(np.sin(np.pi * (hour - 5.5) / 12), 0)).astype(int)
    rain = np.where((HOURS.day_of_year % 9 == 0) & (hour == 20), 12.0, 0.0)
    return pd.DataFrame({"temp": temp, "dew": temp - 6, "rh": 66, "ghi": ghi,
                         "wind": 2.5, "rain": rain})  # fmt: skip


@pytest.fixture
def epw(tmp_path):
    def write(frame=None, cut=None, **columns):
        frame = (invented_hours() if frame is None else frame).assign(**columns)
        path = tmp_path / "invented.epw"
        path.write_text(epw_text(frame[:cut]), encoding="utf-8")
        return path

    return write


def test_epw_hours_are_labelled_by_their_start(epw):
    frame = invented_hours()
    # One hot hour, from 23 to 24 h of 30 June: row 24 of the day, hour number 24.
    place = HOURS.get_loc("2001-06-30 23:00")
    frame.loc[place, "temp"] = 48.0
    weather = days_of(epw(frame))

    day = list(weather.date).index(np.datetime64("2001-06-30"))
    assert weather.tmax_c[day] == 48
    assert weather.tmax_c[day + 1] < 40
    assert weather.wind_height_m == 10
    assert (weather.latitude_deg, weather.elevation_m) == (45.0, 200.0)


def test_epw_rain_that_can_be_is_taken(epw):
    weather = days_of(epw())

    # 12 mm on each ninth day: 40 days of 365.
    assert weather.rain_mm.sum() == pytest.approx(480)
    assert weather.no_rain_because == ""


@pytest.mark.parametrize(
    ("columns", "why"),
    [({"rain": 0.0}, "it is 0 in every hour, which stands for missing"),
     ({"rain": 999.0}, "EPW has none here")],
)  # fmt: skip
def test_epw_rain_of_fill_values_is_not_taken(epw, columns, why):
    assert days_of(epw(**columns)).no_rain_because == why


def test_epw_fill_values_are_missing_and_not_weather(epw):
    columns = {"temp": 99.9, "dew": 99.9, "rh": 999, "wind": 999, "ghi": 9999}
    frame = invented_hours()
    first = HOURS.day_of_year == 1
    for name, value in columns.items():
        frame[name] = np.where(first, value, frame[name])
    # One hour of the second day lacks its sun alone.
    frame.loc[36, "ghi"] = 9999
    weather = days_of(epw(frame))

    for name in ("tmin_c", "tmax_c", "dew_point_c", "wind_m_s", "solar_mj_m2_day"):
        assert np.isnan(getattr(weather, name)[0])
        assert np.isfinite(getattr(weather, name)[2:]).all()
    assert np.isnan(weather.solar_mj_m2_day[1])
    assert np.isfinite(weather.tmin_c[1])


# FAO-56, eq. 11: e°(dew) is humidity · e°(T); pvlib's own constants are a little other.
def test_humidity_serves_where_the_dew_point_is_missing(epw):
    weather = days_of(epw(temp=20.0, dew=99.9, rh=50))
    log = np.log(0.5) + 17.27 * 20 / (20 + 237.3)

    assert weather.dew_point_c == pytest.approx(237.3 * log / (17.27 - log), abs=0.1)


def test_the_same_hours_as_epw_and_as_tmy3_are_the_same_days(tmp_path, greensboro):
    rows = greensboro_rows()
    names = {"temp": "Dry-bulb (C)", "dew": "Dew-point (C)", "rh": "RHum (%)",
             "ghi": "GHI (W/m^2)", "wind": "Wspd (m/s)"}  # fmt: skip
    frame = pd.DataFrame({k: [row[v] for row in rows] for k, v in names.items()})
    path = tmp_path / "same.epw"
    path.write_text(epw_text(frame.assign(rain=999)), encoding="utf-8")
    weather = days_of(path)

    for name in ("tmin_c", "tmax_c", "dew_point_c", "wind_m_s", "solar_mj_m2_day"):
        assert np.array_equal(getattr(weather, name), getattr(greensboro, name))


@pytest.mark.parametrize(
    ("cut", "wrong"),
    [(24, "has 24 steps of 1 days"), (8000, "has 8000 steps of 334 days")],
)
def test_a_part_of_a_year_is_refused(epw, cut, wrong):
    assert read(epw(cut=cut)) == (
        None,
        [f"invented.epw: {wrong}\n  accepted: a whole year: 8,760 hours of 365 days\n"
         "  hint: was the download cut short?"],
    )  # fmt: skip


def test_a_torn_file_is_refused_without_the_words_of_the_library(tmp_path):
    path = tmp_path / "torn.epw"
    path.write_text("LOCATION,Nowhere,-\n", encoding="utf-8")

    assert read(path) == (
        None,
        ["torn.epw: cannot be read as EPW, which it begins as\n"
         "  accepted: the whole file as its maker gives it out\n"
         "  hint: was the download cut short, or the file edited?"],
    )  # fmt: skip


def pvgis(tmp_path, form, longitude):
    """A PVGIS typical year whose temperature is the hour of the day in UTC."""
    stamps = [f"{w:%Y%m%d:%H%M}" for w in HOURS]
    temp, ghi = HOURS.hour.to_numpy() * 1.0, HOURS.hour.to_numpy() * 10.0
    path = tmp_path / f"tmy.{form}"
    if form == "json":
        rows = [
            {"time(UTC)": s, "T2m": t, "RH": 60.0, "G(h)": g, "Gb(n)": 0.0,
             "Gd(h)": 0.0, "IR(h)": 0.0, "WS10m": 3.0, "WD10m": 0.0, "SP": 1e5}
            for s, t, g in zip(stamps, temp, ghi, strict=True)
        ]  # fmt: skip
        place = {"latitude": 45.0, "longitude": longitude, "elevation": 250.0}
        chosen = [{"month": m, "year": 2010} for m in range(1, 13)]
        outputs = {"months_selected": chosen, "tmy_hourly": rows}
        meta = {"inputs": {}}
        content = {"inputs": {"location": place}, "meta": meta, "outputs": outputs}
        path.write_text(json.dumps(content), encoding="utf-8")
        return path
    lines = ["Latitude (decimal degrees): 45.000",
             f"Longitude (decimal degrees): {longitude:.3f}", "Elevation (m): 250.0",
             "month,year", *(f"{m},2010" for m in range(1, 13)),
             "time(UTC),T2m,RH,G(h),Gb(n),Gd(h),IR(h),WS10m,WD10m,SP"]  # fmt: skip
    lines += [f"{s},{t},60.0,{g},0.0,0.0,0.0,3.0,0,100000"
              for s, t, g in zip(stamps, temp, ghi, strict=True)]  # fmt: skip
    path.write_bytes("\r\n".join([*lines, "", "T2m: air temperature", ""]).encode())
    return path


# At 90° E local time is six hours before UTC's clock: a day of it begins at 18 h UTC of
# the day before. A spike at 17 h UTC is at 23 h of the same day, one at 18 h UTC at 0 h
# of the next. At 120° W it is eight hours behind.
@pytest.mark.parametrize("form", ["csv", "json"])
@pytest.mark.parametrize(
    ("longitude", "utc_hour", "day"),
    [
        (90.0, 17, 180),
        (90.0, 18, 181),
        (-120.0, 7, 179),
        (-120.0, 8, 180),
        (0, 23, 180),
    ],
)
def test_pvgis_hours_are_turned_from_utc(tmp_path, form, longitude, utc_hour, day):
    path = pvgis(tmp_path, form, longitude)
    stamp = f"{HOURS[180 * 24 + utc_hour]:%Y%m%d:%H%M}"
    text = path.read_bytes().decode()
    old = (
        f'"{stamp}", "T2m": {utc_hour}.0' if form == "json" else f"{stamp},{utc_hour}.0"
    )
    assert text.count(old) == 1
    new = old.replace(f"{utc_hour}.0", "45.0")
    path.write_bytes(text.replace(old, new).encode())
    weather = days_of(path)

    assert int(weather.tmax_c.argmax()) == day
    assert weather.tmax_c.max() == 45
    assert (weather.latitude_deg, weather.elevation_m) == (45.0, 250.0)


def nsrdb(tmp_path, minutes=(30,), zone=0, local=-7):
    """An NSRDB year whose temperature is 30 °C in the hour from noon, local."""
    head = "Source,Location ID,City,State,Country,Latitude,Longitude,Time Zone,"
    lines = [head + "Elevation,Local Time Zone",
             f"NSRDB,1,-,-,-,40.0,-105.0,{zone},1600,{local}",
             "Year,Month,Day,Hour,Minute,GHI,Dew Point,Temperature,"
             "Wind Speed"]  # fmt: skip
    for when in HOURS:
        local_hour = (when.hour + local - zone) % 24
        temperature = 30 if local_hour == 12 else 10
        lines += [
            f"2023,{when.month},{when.day},{when.hour},{minute},240,5,{temperature},2"
            for minute in minutes
        ]
    path = tmp_path / "nsrdb.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


@pytest.mark.parametrize("minutes", [(30,), (0, 30)])
@pytest.mark.parametrize("zone", [0, -7])
def test_nsrdb_hours_are_turned_to_local_time(tmp_path, minutes, zone):
    weather = days_of(nsrdb(tmp_path, minutes, zone))

    assert weather.tmax_c == pytest.approx([30] * 365)
    # 240 W/m² all day are 240 · 86,400 J/m² (exact).
    assert weather.solar_mj_m2_day == pytest.approx([240 * 0.0864] * 365)
    assert np.isnan(weather.wind_height_m)


def test_hours_without_temperature_are_refused(epw):
    assert read(epw(temp=99.9)) == (
        None,
        ["invented.epw: holds no air temperature\n"
         "  accepted: hours with temperature, and better with dew point, wind and sun"],
    )  # fmt: skip


def test_a_month_without_temperature_is_refused(epw):
    temp = np.where(HOURS.month == 6, 99.9, invented_hours()["temp"])
    _, problems = read(epw(temp=temp))

    assert problems[0].startswith("invented.epw: date: no year fills month 6\n")


def test_a_southern_typical_year_has_its_frosts_in_the_middle(epw):
    weather = days_of(epw(temp=np.roll(invented_hours()["temp"] - 8, 4380)))
    months = reference_months(weather, -45.0, 0.0, 10.0)

    assert months.frost[6]
    assert not months.frost[0]


# Ra is 0 from the end of November to mid-January at 71° N; ET0 stays a number.
def test_polar_night_is_planned_as_any_other_month(epw):
    weather = days_of(epw())
    months = reference_months(weather, 71.0, 0.0, 10.0)

    assert np.isfinite(months.et0_mm_day).all()
    assert months.et0_mm_day[11] < months.et0_mm_day[6]


def copied(us, source, name):
    shutil.copy(source, us.path / name)
    us.replace("site.toml", 'file = "climate.csv"', f'file = "{name}"')


def test_a_site_with_a_typical_year_asks_for_rain(us):
    copied(us, GREENSBORO, "tmy3.csv")

    assert us.problems() == [
        "tmy3.csv: rain_in or rain_mm: no rain that can be believed: 8,345 mm in the "
        "year cannot be: another unit than the format's?\n"
        "  accepted: a rain column, or [climate] rain_file in site.toml\n"
        '  hint: to plan with none, set effective_rain = "none"'
    ]


@pytest.mark.parametrize(
    ("written", "height_m"), [("", 10.0), ("\nwind_height_m = 6", 6.0)]
)
def test_a_site_takes_the_wind_height_of_the_format(us, written, height_m):
    copied(us, GREENSBORO, "tmy3.csv")
    us.replace("site.toml", "[climate]", f'[climate]\neffective_rain = "none"{written}')
    site = us.site()

    assert site.wind_height_m == height_m
    assert "wind_height" not in [a.field.name for a in site.assumed]
    assert site.climate.rain_of_months_mm.tolist() == [0] * 12


# A typical year has no years to play: they are invented from its means, and from the
# rain and days of rain that stand beside it.
def test_days_of_rain_beside_a_typical_year_are_those_invented_with(us):
    copied(us, GREENSBORO, "tmy3.csv")
    rain_mm, rain_days = np.linspace(80, 25, 12), np.linspace(11, 4, 12)
    rows = zip(range(1, 13), rain_mm, rain_days, strict=True)
    us.write("rain.csv", "month,rain_mm,rain_days\n" + "".join(
        f"{month},{depth},{days}\n" for month, depth, days in rows
    ))  # fmt: skip
    us.replace("site.toml", "[climate]", '[climate]\nrain_file = "rain.csv"')
    years = plan_site(us.site()).years

    assert years.invented
    assert years.rain_days_given
    np.testing.assert_allclose(years.rain_days, rain_days)
    np.testing.assert_allclose(played_months(years).rain_mm, rain_mm, rtol=1e-9)


# A seeded sample of what a bad download or an editor does: never a fault of ours.
@pytest.mark.parametrize("seed", range(6))
def test_a_spoiled_file_is_read_or_refused(epw, seed):
    draw = np.random.default_rng(seed)
    path = epw()
    content = bytearray(path.read_bytes())
    for place in draw.integers(0, [700, len(content)][seed % 2], 20):
        content[place : place + 2] = draw.choice([b"x", b",", b"\n", b"", b"1e400"])
    path.write_bytes(bytes(content))
    weather, problems = read(path)

    assert (weather is None) <= bool(problems)
    if weather is not None and not problems:
        months = reference_months(weather, 45.0, 200.0, 10.0)
        assert np.isfinite(months.et0_mm_day).all()


def test_a_file_whose_name_begins_like_an_address_is_a_file(epw, tmp_path, monkeypatch):
    (tmp_path / "http_city.epw").write_bytes(epw().read_bytes())
    monkeypatch.chdir(tmp_path)

    weather, problems = read(Path("http_city.epw"))

    assert problems == []
    assert len(weather) == 365


def test_a_file_of_hours_that_is_too_large_is_not_read(epw, monkeypatch):
    monkeypatch.setattr(csvfiles, "LARGEST_BYTES", 100_000)

    weather, problems = read(epw())

    assert weather is None
    assert len(problems) == 1
    assert "more than such a file can" in problems[0]
