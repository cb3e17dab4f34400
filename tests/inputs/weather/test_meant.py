"""Numbers in the column of another unit: asked about before anything is planned."""

import pytest

# A climate like many, in degrees Celsius and millimeters.
TMIN = [-1, 0, 4, 8, 13, 17, 20, 19, 14, 8, 4, 0]
TMAX = [8, 10, 15, 20, 25, 29, 32, 31, 27, 20, 13, 9]
ET0 = [0.8, 1.2, 2.2, 3.4, 4.6, 5.6, 6.1, 5.3, 3.8, 2.3, 1.2, 0.8]
RAIN = [90, 80, 85, 80, 90, 95, 100, 95, 85, 75, 85, 90]
RAIN_DAYS = [9, 8, 9, 9, 10, 9, 9, 9, 8, 7, 8, 9]


def climate(**columns):
    """A monthly file of some columns."""
    rows = [",".join(["month", *columns])]
    for month, values in enumerate(zip(*columns.values(), strict=True), 1):
        rows.append(",".join(f"{value:g}" for value in (month, *values)))
    return "\n".join(rows) + "\n"


def problems(us, **columns):
    us.write("climate.csv", climate(**columns))
    return us.problems()


def test_a_climate_in_its_own_units_is_taken(us):
    us.write("climate.csv", climate(tmin_c=TMIN, tmax_c=TMAX, et0_mm_day=ET0,
                                    rain_mm=RAIN, rain_days=RAIN_DAYS))  # fmt: skip

    us.site()


# 32 °C as 32 °F is 0 °C: nowhere is a lawn watered that has no warmer month.
def test_celsius_under_fahrenheit_is_refused(us):
    assert problems(us, tmin_f=TMIN, tmax_f=TMAX, rain_mm=RAIN) == [
        "climate.csv:8: tmax_f: the warmest month has 32 °F\n"
        "  accepted: monthly means of a place where plants are watered\n"
        "  hint: for 32 °C write tmax_c"
    ]


# With ET0 given there may be minima alone: 20 °C as 20 °F is -7 °C, at 6 mm of ET0.
def test_celsius_minima_alone_under_fahrenheit_are_refused(us):
    assert problems(us, tmin_f=TMIN, et0_mm_day=ET0, rain_mm=RAIN) == [
        "climate.csv:8: tmin_f: the warmest month has a mean minimum of 20 °F\n"
        "  accepted: monthly means of a place where plants are watered\n"
        "  hint: for 20 °C write tmin_c"
    ]


def test_fahrenheit_under_celsius_is_refused(us):
    given = {
        "tmin_c": [v - 5 for v in (30, 32, 35, 38, 42, 46, 50, 48, 44, 38, 33, 30)]
    }

    assert problems(us, **given, et0_mm_day=ET0, rain_mm=RAIN) == [
        "climate.csv:8: tmin_c: no month's mean is 45 °C\n"
        "  accepted: monthly means of a place where plants are watered\n"
        "  hint: for 45 °F write tmin_f"
    ]


# A day's ET0 under the month's column: 37 mm, 1.5 in, a year.
def test_a_days_et0_as_the_months_is_refused(us):
    assert problems(us, et0_month_mm=ET0, rain_mm=RAIN) == [
        "climate.csv: et0_month_mm: comes to 37.3 mm (1.47 in) a year, as in no place "
        "that is watered\n"
        "  accepted: et0_mm_day or et0_in_day for a day's mean, et0_month_mm or "
        "et0_month_in for the month's total"
    ]


# A month's 7 in under the day's column: the range of the field says it.
def test_a_months_et0_as_the_days_is_refused(us):
    found = problems(us, et0_in_day=[v * 30 / 25.4 for v in ET0], rain_mm=RAIN)

    assert len(found) == 10
    assert found[0].startswith("climate.csv:3: et0_in_day: 1.41732 is not")
    assert "write et0_month_in" in found[0]


# 1,050 mm of rain in 104 days; a thirtieth of it would bring 0.3 mm a day of rain,
# which has 1 mm at least by definition.
def test_a_days_rain_as_the_months_is_refused(us):
    a_day = [mm / 30 for mm in RAIN]

    assert problems(us, et0_mm_day=ET0, rain_mm=a_day, rain_days=RAIN_DAYS) == [
        "climate.csv: rain_mm: 104 days of rain a year would bring 0.34 mm (0.013 in) "
        "each\n"
        "  accepted: the month's total; rain_days counts days of 1 mm (0.04 in) or "
        "more\n"
        "  hint: a day's mean times the days of the month is its total"
    ]


@pytest.mark.parametrize(
    ("longitude", "timezone", "hint"),
    [
        # Phoenix lies at 112° west, 7 hours behind Greenwich (an atlas).
        (112, "America/Phoenix", "write -112: 112 is east of Greenwich"),
        (-112, "Etc/GMT-7", "Etc names count hours the other way round, as Etc/GMT+7"),
        # Adelaide lies at 139° east, 9.5 hours ahead.
        (-139, "Australia/Adelaide", "write 139: -139 is west of Greenwich"),
        (10, "Etc/GMT+8", "check both"),
    ],
)
def test_a_longitude_far_off_its_clock_is_refused(us, longitude, timezone, hint):
    us.replace("site.toml", "longitude = -100.0",
               f'longitude = {longitude}\ntimezone = "{timezone}"')  # fmt: skip

    (found,) = us.problems()
    assert found.startswith("site.toml:4: site.longitude: at ")
    assert f"hours off the clock of {timezone}\n" in found
    assert hint in found.partition("hint: ")[2]


# Places whose clocks go far off the sun: Kashgar 76° east on the time of Beijing, Vigo
# 9° west on that of Paris, Anadyr 177° east, Kiritimati 157° west, 14 hours ahead (an
# atlas; the zones' own data).
@pytest.mark.parametrize(
    ("longitude", "timezone"),
    [(76, "Asia/Shanghai"), (-8.7, "Europe/Madrid"), (177.5, "Asia/Anadyr"),
     (-157.4, "Pacific/Kiritimati"), (-112, "Etc/GMT+7"), (140, "Etc/GMT-9")],
)  # fmt: skip
def test_clocks_that_there_are_are_taken(us, longitude, timezone):
    us.replace("site.toml", "longitude = -100.0",
               f'longitude = {longitude}\ntimezone = "{timezone}"')  # fmt: skip

    us.site()


# Drip emitters give 0.5 to 10 gph (common practice); 1 under the minute's column is 60.
def test_gallons_an_hour_under_gallons_a_minute_are_refused(us):
    us.write(
        "zones.csv",
        "zone,plant,soil,area_ft2,head_kind,emitter_flow_gpm,emitter_spacing_ft,"
        "emitter_row_spacing_ft\n1,roses,loam,500,drip,1,1.5,1.5\n",
    )
    us.write("heads.csv", "zone,arc_deg,flow_gpm,spacing_ft\n")

    assert us.problems() == [
        "zones.csv:2: emitter_flow_gpm: is more than any drip emitter gives\n"
        "  accepted: the flow of one emitter, up to 24 gph (90 L/h)\n"
        "  hint: emitters are sold by the hour: write emitter_flow_gph or "
        "emitter_flow_l_h; bubblers are head_kind bubbler"
    ]
