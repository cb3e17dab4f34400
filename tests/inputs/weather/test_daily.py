"""Daily weather files: what is read, what is refused with its line, what is told."""

import datetime

import numpy as np
import pytest

from scheduler.inputs.weather.climates import read_climate
from scheduler.inputs.weather.daily import useful_days, whole_months

HEADER = "date,tmin_c,tmax_c,rain_mm\n"


def year(number=2023, row="{},10,25,1.5\n", leave=()):
    """A row for each day of a year but those to leave out."""
    first = datetime.date(number, 1, 1)
    days = [first + datetime.timedelta(n) for n in range(366)]
    return "".join(row.format(d) for d in days if d.year == number and d not in leave)


@pytest.fixture
def read(tmp_path):
    def read(content):
        path = tmp_path / "days.csv"
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        problems = []
        weather = read_climate(path, "days.csv", problems)
        assert (weather is None) == bool(problems) or problems
        return weather, [str(problem) for problem in problems]

    return read


def weather_of(read, content):
    weather, problems = read(content)
    assert problems == []
    return weather


def test_days_of_two_years_with_a_leap_day_are_read(read):
    weather = weather_of(read, HEADER + year(2023) + year(2024))

    # 2023 has 365 days, 2024 has 366 (calendar).
    assert len(weather) == 365 + 366
    leap = list(weather.date).index(np.datetime64("2024-02-29"))
    assert (weather.day_of_year[leap], weather.month[leap], weather.year[leap]) == (
        60, 1, 2024)  # fmt: skip
    assert weather.day_of_year[-1] == 366


def test_units_of_us_columns_are_converted(read):
    header = "date,tmin_f,tmax_f,dew_point_f,wind_mph,solar_w_m2,rain_in,et0_in\n"
    weather = weather_of(read, header + year(row="{},50,77,41,5,250,0.1,0.2\n"))

    # 50, 77, 41 °F are 10, 25, 5 °C; 1 mph 0.44704 m/s, 1 W/m² a day 0.0864 MJ/m²,
    # 1 in 25.4 mm, all exact.
    for name, value in (("tmin_c", 10), ("tmax_c", 25), ("dew_point_c", 5),
                        ("wind_m_s", 2.2352), ("solar_mj_m2_day", 21.6),
                        ("rain_mm", 2.54), ("et0_mm", 5.08)):  # fmt: skip
        assert getattr(weather, name) == pytest.approx([value] * 365, rel=1e-12)


def test_rows_out_of_order_are_sorted_and_told(read):
    rows = year().splitlines(keepends=True)
    weather = weather_of(read, HEADER + "".join(rows[::-1]))

    assert np.all(np.diff(weather.date) == np.timedelta64(1, "D"))
    assert weather.notes == ("rows were not in the order of their dates: put in order",)


def test_marks_of_missing_values_become_blanks_and_are_counted(read):
    text = year().replace("2023-03-04,10,25", "2023-03-04,-9999,NA")
    weather = weather_of(read, HEADER + text.replace("03-05,10,25,1.5", "03-05,10,25,"))

    assert np.isnan(weather.tmin_c).sum() == np.isnan(weather.tmax_c).sum() == 1
    assert np.isnan(weather.rain_mm).sum() == 1
    assert weather.notes == ("2 cells with -9999, na: taken as missing",)


def test_a_trace_of_rain_is_none_and_told(read):
    weather = weather_of(
        read, HEADER + year().replace("07-01,10,25,1.5", "07-01,10,25,T")
    )

    assert weather.rain_mm[list(weather.date).index(np.datetime64("2023-07-01"))] == 0
    assert weather.notes == ("1 days with a trace of rain: taken as none",)


def test_t_is_no_temperature(read):
    _, problems = read(HEADER + year().replace("07-01,10,", "07-01,T,"))

    assert problems == [
        'days.csv:183: tmin_c: "T" is not a number\n'
        "  accepted: a number from -60 to 50"
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("old", "new", "problem"),
    [
        (
            "2023-01-02,", "2023-01-01,",
            "days.csv:3: date: 2023-01-01 is there twice (first in line 2)\n"
            "  accepted: a row for a day\n"
            "  hint: hourly weather has to be made daily first",
        ),
        (
            "2023-02-28,", "2023-02-29,",
            'days.csv:60: date: "2023-02-29" is no day of the calendar\n'
            "  accepted: a date, as 2026-07-31\n"
            "  hint: dates are written year-month-day",
        ),
        (
            "2023-01-31,", "31/01/2023,",
            'days.csv:32: date: "31/01/2023" is not a date\n'
            "  accepted: a date, as 2026-07-31\n"
            "  hint: dates are written year-month-day",
        ),
        (
            "01-05,10,25", "01-05,10,95",
            "days.csv:6: tmax_c: 95 is not a tmax\n"
            "  accepted: a number from -60 to 60\n  hint: for 95 °F write tmax_f",
        ),
        (
            "01-05,10,25", "01-05,26,25",
            "days.csv:6: tmin_c: tmin is above tmax\n"
            "  hint: if only some days are wrong, blank both values",
        ),
        (
            "01-05,10,25,1.5", "01-05,10,25,999",
            "days.csv:6: rain_mm: a rain of 999 mm is a mark for missing\n"
            "  accepted: rain of the day, or blank where it is missing",
        ),
        (
            "2023-01-01,", "2023-01-01 00:00,",
            'days.csv:2: date: "2023-01-01 00:00" has a time of day\n'
            "  accepted: daily weather: a row a day, and the date alone, as "
            "2026-07-31\n"
            "  hint: make days of the hours first: least and highest temperature, mean "
            "dew point, wind and solar, sum of rain",
        ),
    ],
)  # fmt: skip
def test_a_wrong_row_is_told_with_its_line(read, old, new, problem):
    _, problems = read(HEADER + year().replace(old, new, 1))

    assert problems == [problem]


def test_a_column_that_is_wrong_all_over_is_told_in_a_few_lines(read):
    _, problems = read(HEADER + year(row="{:%d/%m/%Y},10,25,1\n"))

    assert len(problems) == 4
    assert problems[-1] == (
        "days.csv:5: date: and 362 more like these, the last in line 366"
    )


def test_hourly_radiation_summed_up_gets_a_hint(read):
    header = "date,tmin_c,tmax_c,rain_mm,solar_w_m2\n"
    text = header + year(row="{},10,25,1.5,250\n").replace(",250", ",6000", 1)

    assert read(text)[1] == [
        "days.csv:2: solar_w_m2: 6000 is not a solar radiation\n"
        "  accepted: a number from 0 to 520.8\n"
        "  hint: the mean over day and night; hourly values are not summed, but "
        "averaged"
    ]


def test_humidity_over_100_is_refused(read):
    header = "date,tmin_c,tmax_c,rain_mm,humidity_percent\n"
    _, problems = read(header + year(row="{},10,25,1.5,50\n").replace(",50", ",104", 1))

    assert problems == [
        "days.csv:2: humidity_percent: 104 is not a humidity\n"
        "  accepted: a number from 2 to 100"
    ]


def test_a_packed_file_is_told_to_be_unpacked(read):
    import gzip

    _, problems = read(gzip.compress((HEADER + year()).encode()))

    assert problems == [
        "days.csv: is packed (gzip)\n"
        "  hint: unpack it, and name the file that comes out"
    ]


def test_neither_et0_nor_temperatures_is_refused(read):
    _, problems = read("date,rain_mm\n" + year(row="{},1\n"))

    assert problems[0].startswith("days.csv: has neither ET0 nor tmin and tmax\n")


# Design: a month counts when at least 80 % of its days are there: 25 of 31, for
# 0.8 * 31 = 24.8, and 24 of 30.
@pytest.mark.parametrize(("lost", "counts"), [(6, True), (7, False)])
def test_a_month_counts_from_80_percent_of_its_days(read, lost, counts):
    days = range(1, lost + 1)
    leave = [datetime.date(y, 6, day) for y in (2023, 2024) for day in days]
    weather, problems = read(HEADER + year(leave=leave) + year(2024, leave=leave))

    if counts:
        assert problems == []
        whole = whole_months(weather, useful_days(weather))
        assert whole.counts.all()
        assert whole.days[0, 5] == 24
        assert whole.length[1, 1] == 29
    else:
        assert problems == [
            "days.csv: date: no year fills month 6\n"
            "  accepted: each month of the twelve with at least 80 % of its days in "
            "some year\n"
            "  hint: a day counts that has ET0, or tmin and tmax, and rain where the "
            "file has rain"
        ]


def test_a_day_without_rain_does_not_count_where_the_file_has_rain(read):
    blanked = year().replace("08-1", "08-1", 1)
    for day in range(1, 9):
        blanked = blanked.replace(f"08-0{day},10,25,1.5", f"08-0{day},10,25,")

    assert "no year fills month 8" in read(HEADER + blanked)[1][0]


def test_a_site_plans_from_days_as_from_months(us):
    us.write("climate.csv", "date,et0_mm,tmin_c,tmax_c,wind_m_s,rain_mm\n"
             + year(row="{},2.54,10,25,2.2,1.27\n"))  # fmt: skip
    us.append("site.toml", '[plan]\nby = "months"\n')
    site = us.site()

    assert site.climate.has("rain_mm")
    assert site.dry_year_percentile == 50
    assert "dry_year_percentile" in [a.field.name for a in site.assumed]


def test_rain_of_months_serves_days_without_rain(us):
    us.replace("site.toml", "[climate]", '[climate]\nrain_file = "rain.csv"')
    us.write(
        "rain.csv", "month,rain_mm\n" + "".join(f"{m},{m}\n" for m in range(1, 13))
    )
    us.write("climate.csv", "date,tmin_c,tmax_c\n" + year(row="{},10,25\n"))

    assert us.site().climate.rain_of_months_mm.tolist() == list(range(1, 13))


def test_days_without_any_rain_are_refused(us):
    us.write("climate.csv", "date,tmin_c,tmax_c\n" + year(row="{},10,25\n"))

    assert us.problems() == [
        "climate.csv: rain_in or rain_mm: no rain is given\n"
        "  accepted: a rain column, or [climate] rain_file in site.toml\n"
        '  hint: to plan with none, set effective_rain = "none"'
    ]


# Python takes these for numbers; a spreadsheet does not.
@pytest.mark.parametrize(
    "cell", ["1_0", "inf", "0x1F", "1e999", "１０", "1.2.3", "--5"]
)
def test_what_only_python_takes_for_a_number_is_refused(read, cell):
    _, problems = read(HEADER + year().replace("03-01,10,", f"03-01,{cell},"))

    assert problems[0].startswith(f'days.csv:61: tmin_c: "{cell}" is not a number\n')
