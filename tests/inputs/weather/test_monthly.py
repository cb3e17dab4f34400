"""Checks monthly climate files: twelve whole months in any order, or a refusal."""

import numpy as np
import pytest

HEADER = "month,et0_in_day,tmin_f,tmax_f,wind_mph,rain_in\n"
ROW = "{},0.1,50,77,5,1.5\n"


def months(*numbers):
    return HEADER + "".join(ROW.format(number) for number in numbers)


ALL = tuple(range(1, 13))


@pytest.mark.parametrize(
    ("content", "problems"),
    [
        (
            months(*ALL[:11]),
            [
                "climate.csv: month: has 11 months; missing: 12\n"
                "  accepted: a row for each of 12 months"
            ],
        ),
        (
            months(*ALL, 13),
            [
                "climate.csv:14: month: 13 is not a month\n"
                "  accepted: a month, 1 to 12 or by name"
            ],
        ),
        (
            months(*ALL, 3),
            ["climate.csv:14: month: month 3 is there twice (first in line 4)"],
        ),
        (
            months(*ALL[:11], 3),
            [
                "climate.csv:13: month: month 3 is there twice (first in line 4)",
                "climate.csv: month: has 11 months; missing: 12\n"
                "  accepted: a row for each of 12 months",
            ],
        ),
        (
            HEADER,
            [
                "climate.csv: month: has 0 months; missing: 1, 2, 3, 4, 5, 6, 7, 8, 9, "
                "10, 11, 12\n  accepted: a row for each of 12 months"
            ],
        ),
        ("", ["climate.csv: is empty\n  hint: the first row names the columns"]),
        (
            months("", *ALL[1:]),
            ["climate.csv:2: month: is blank\n  accepted: a month, 1 to 12 or by name"],
        ),
        (
            months("Janury", *ALL[1:]),
            [
                'climate.csv:2: month: "Janury" is not a number\n'
                "  accepted: a month, 1 to 12 or by name"
            ],
        ),
        (
            months(*ALL).replace("5,0.1,50", "5,0.1,78"),
            [
                "climate.csv:6: tmin_f: tmin is above tmax\n"
                "  hint: were the two columns swapped?"
            ],
        ),
        (
            months(*ALL).replace("77,5,1.5\n6", "77,,1.5\n6"),
            [
                "climate.csv:6: wind_mph: is blank\n"
                "  accepted: a value in all 12 months, or in none"
            ],
        ),
        (
            months(*ALL).replace("rain_in", "rain"),
            [
                "climate.csv:1: rain: its unit is missing\n"
                "  accepted: rain_mm or rain_in"
            ],
        ),
        (
            "month,rain_in\n" + "".join(f"{month},1\n" for month in ALL),
            [
                "climate.csv: has neither ET0 nor tmin and tmax\n"
                "  accepted: et0_in_day or et0_mm_day, et0_month_in or et0_month_mm, "
                "or tmin_* and tmax_*\n"
                "  hint: ET0 is computed from temperatures, better with dew point, "
                "wind and solar"
            ],
        ),
        (
            "month,tmin_f,rain_in\n" + "".join(f"{month},40,1\n" for month in ALL),
            [
                "climate.csv: has neither ET0 nor tmin and tmax\n"
                "  accepted: et0_in_day or et0_mm_day, et0_month_in or et0_month_mm, "
                "or tmin_* and tmax_*\n"
                "  hint: ET0 is computed from temperatures, better with dew point, "
                "wind and solar"
            ],
        ),
        (
            "month,et0_in_day\n" + "".join(f"{month},0.1\n" for month in ALL),
            [
                "climate.csv: rain_in or rain_mm: no rain is given\n"
                "  accepted: a rain column, or [climate] rain_file in site.toml\n"
                '  hint: to plan with none, set effective_rain = "none"'
            ],
        ),
    ],
)
def test_climate_that_is_not_whole_is_refused(us, content, problems):
    us.write("climate.csv", content)

    assert us.problems() == problems


def test_every_problem_of_a_climate_is_told_at_once(us):
    rows = months(*ALL[:11]).replace("2,0.1,50,77", "2,0.1,50,770")
    us.write("climate.csv", rows.replace("3,0.1,50,77", "3,0.1,78,77"))

    # 60 °C is 140 °F, -60 °C is -76 °F; 770 °F is no temperature in °C either.
    assert us.problems() == [
        "climate.csv:3: tmax_f: 770 is not a tmax\n"
        "  accepted: a number from -76 to 140",
        "climate.csv: month: has 11 months; missing: 12\n"
        "  accepted: a row for each of 12 months",
        "climate.csv:4: tmin_f: tmin is above tmax\n"
        "  hint: were the two columns swapped?",
    ]


def test_fahrenheit_under_a_celsius_name_gets_a_hint_and_is_not_guessed(us):
    us.replace("climate.csv", HEADER, HEADER.replace("tmax_f", "tmax_c"))
    us.write("climate.csv", us.text("climate.csv").replace(",77,", ",95,"))

    assert us.problems() == [
        f"climate.csv:{line}: tmax_c: 95 is not a tmax\n"
        "  accepted: a number from -60 to 60\n  hint: for 95 °F write tmax_f"
        for line in range(2, 14)
    ]


def test_dew_point_above_tmax_is_refused(us):
    rows = "".join(f"{month},40,60,50,1\n" for month in ALL)
    us.write(
        "climate.csv",
        "month,tmin_f,tmax_f,dew_point_f,rain_in\n"
        + rows.replace("12,40,60,50", "12,40,60,61"),
    )

    assert us.problems() == [
        "climate.csv:13: dew_point_f: dew point is above tmax\n"
        "  accepted: a dew point up to the day's maximum temperature"
    ]


def test_months_may_stand_in_any_order(us):
    rows = [f"{month},0.{month:02d},{month / 2}\n" for month in (*ALL[6:], *ALL[:6])]
    us.write("climate.csv", "month,et0_in_day,rain_in\n" + "".join(rows))
    climate = us.site().climate

    # Exact: hundredths and halves of an inch, 25.4 mm each inch, January first.
    assert climate.et0_mm_day == pytest.approx(
        [0.254 * month for month in ALL], rel=1e-12
    )
    assert climate.rain_mm == pytest.approx([12.7 * month for month in ALL], rel=1e-12)
    assert not climate.has("tmin_c")
    assert np.isnan(climate.wind_m_s).all()


def test_column_left_blank_all_year_is_as_if_not_there(us):
    us.write("climate.csv", months(*ALL).replace(",5,1.5", ",,1.5"))

    assert not us.site().climate.has("wind_m_s")


def test_rain_may_come_from_a_file_of_its_own(us):
    us.replace("site.toml", "[climate]", '[climate]\nrain_file = "rain.csv"')
    us.write("rain.csv", "month,rain_mm\n" + "".join(f"{m},{m}\n" for m in ALL[::-1]))

    assert us.site().climate.rain_mm.tolist() == list(ALL)


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        (
            "month\n" + "".join(f"{m}\n" for m in ALL),
            "rain.csv: rain_in or rain_mm: column is missing",
        ),
        (
            "month,rain_mm\n" + "".join(f"{m},{m}\n" for m in ALL[1:]),
            "rain.csv: month: has 11 months; missing: 1\n"
            "  accepted: a row for each of 12 months",
        ),
        (
            "month,rain_mm\n" + "".join(f"{m},{m % 12 or ''}\n" for m in ALL),
            "rain.csv:13: rain_mm: is blank\n"
            "  accepted: a value in all 12 months, or in none",
        ),
        (
            "date,rain_mm\n2026-01-01,2\n",
            "rain.csv:1: date: holds days, not months\n"
            "  accepted: a monthly CSV: a column month, and a row for each of 12 "
            "months",
        ),
    ],
)
def test_rain_file_that_is_not_whole_is_refused(us, content, problem):
    us.replace("site.toml", "[climate]", '[climate]\nrain_file = "rain.csv"')
    us.write("rain.csv", content)

    assert us.problems() == [problem]


def test_no_rain_is_needed_where_none_is_counted(us):
    us.replace("site.toml", "[climate]", '[climate]\neffective_rain = "none"')
    us.write(
        "climate.csv",
        "month,et0_in_day\n" + "".join(f"{month},0.1\n" for month in ALL),
    )

    assert us.site().climate.rain_mm.tolist() == [0] * 12


def test_wind_height_and_rain_share_are_noted_only_where_they_count(us):
    us.write(
        "climate.csv", months(*ALL).replace("et0_in_day,", "").replace(",0.1,", ",")
    )
    us.replace("site.toml", "[climate]", '[climate]\neffective_rain = "share"')
    us.append("site.toml", '[plan]\nby = "months"\n')

    assert {"wind_height", "rain_share"} <= {a.field.name for a in us.site().assumed}

    us.replace("site.toml", '"share"', '"tr21"')
    us.write("climate.csv", months(*ALL))

    assert not {"wind_height", "rain_share"} & {a.field.name for a in us.site().assumed}


@pytest.mark.parametrize(
    ("old", "new", "problem"),
    [
        (
            "month,et0_in_day",
            "month,et0_month_in,et0_in_day",
            "climate.csv:2: et0_month_in: et0_in_day is filled in too\n"
            "  accepted: one of the two: a day's mean or the month's total",
        ),
        (
            "rain_in",
            "rain_days",
            "climate.csv: rain_days: days of rain, but no rain is given\n"
            "  accepted: a column rain_in or rain_mm",
        ),
    ],
)
def test_columns_that_do_not_go_together_are_refused(us, old, new, problem):
    text = months(*ALL).replace(old, new)
    us.write("climate.csv", text.replace(",0.1,", ",3,0.1,") if "et0" in new else text)

    assert us.problems()[0] == problem


# Exact: 3.1 in over the 31 days of January is a tenth of an inch a day, 2.54 mm.
def test_et0_may_be_the_total_of_the_month(us):
    us.write("climate.csv", "month,et0_month_in,rain_mm\n"
             + "".join(f"{m},3.1,20\n" for m in ALL))  # fmt: skip
    climate = us.site().climate

    assert climate.et0_mm_day[0] == pytest.approx(2.54, rel=1e-12)
    assert climate.et0_mm_day[1] == pytest.approx(3.1 * 25.4 / 28, rel=1e-12)


@pytest.mark.parametrize(
    ("name", "value", "accepted", "hint"),
    [
        ("et0_in_day", 7, "0.9842",
         "for a month's total of 7 in write et0_month_in, "
         "for 7 mm/day write et0_mm_day"),
        ("et0_mm_day", 150, "25",
         "for a month's total of 150 mm write et0_month_mm"),
    ],
)  # fmt: skip
def test_et0_of_a_month_in_a_column_of_days_is_told_its_column(
    us, name, value, accepted, hint
):
    us.write("climate.csv", f"month,{name},rain_mm\n1,{value},20\n"
             + "".join(f"{m},0.1,20\n" for m in ALL[1:]))  # fmt: skip

    assert us.problems() == [
        f"climate.csv:2: {name}: {value} is not an et0\n"
        f"  accepted: a number from 0 to {accepted}\n  hint: {hint}"
    ]


def rainy(rain_mm, days, month=2):
    """Twelve months with ten days of 60 mm, but one."""
    rows = [(m, rain_mm, days) if m == month else (m, 60, 10) for m in ALL]
    return "month,et0_mm_day,rain_mm,rain_days\n" + "".join(
        f"{m},3,{rain},{of_rain}\n" for m, rain, of_rain in rows
    )


def test_days_of_rain_are_read_and_not_known_where_not_given(us):
    us.write("climate.csv", rainy(30, 4.5))
    assert us.site().climate.rain_days.tolist() == [10, 4.5, *[10] * 10]

    us.write("climate.csv", months(*ALL))
    assert not us.site().climate.has("rain_days")


def test_rain_file_brings_its_days_of_rain_and_drops_those_of_the_other(us):
    us.replace("site.toml", "[climate]", '[climate]\nrain_file = "rain.csv"')
    us.write("climate.csv", rainy(30, 4.5))
    us.write("rain.csv", "month,rain_mm,rain_days\n"
             + "".join(f"{m},{9 * m},{m}\n" for m in ALL))  # fmt: skip
    assert us.site().climate.rain_days.tolist() == list(ALL)

    us.write("rain.csv", "month,rain_mm\n" + "".join(f"{m},9\n" for m in ALL))
    assert not us.site().climate.has("rain_days")


@pytest.mark.parametrize(
    ("rain_mm", "days", "problem"),
    [
        (30, 29, "29 days of rain in a month of 28\n"
         "  accepted: a number from 0 to 28"),
        (30, 32, "32 is not a number of rain days\n"
         "  accepted: a number from 0 to 31"),
        (0, 3, "3 days of rain in a month without rain\n"
         "  accepted: 0, or the month's rain"),
        (30, 0, "no day of rain in a month with rain\n"
         "  accepted: the days of 1 mm (0.04 in) or more"),
        (30, "", "is blank\n  accepted: a value in all 12 months, or in none"),
    ],
)  # fmt: skip
def test_days_of_rain_that_cannot_be_are_refused(us, rain_mm, days, problem):
    us.write("climate.csv", rainy(rain_mm, days))

    assert us.problems() == [f"climate.csv:3: rain_days: {problem}"]


@pytest.mark.parametrize(("rain_mm", "days"), [(0, 0), (0, 0.3), (3, 0), (30, 28)])
def test_days_of_rain_of_dry_and_of_wet_months_are_taken(us, rain_mm, days):
    us.write("climate.csv", rainy(rain_mm, days))

    assert us.site().climate.rain_days[1] == days
