"""Checks the keys, tables, windows and defaults of site.toml."""

import numpy as np
import pytest

from scheduler.calendar import ALL_DATES, ODD, WEEKDAYS
from scheduler.inputs.forms.fields import HEAD_KINDS, SITE_TABLES

TABLES = "site, climate, plan, supply, window, controller, water, door"


def names_of(table):
    return ", ".join(name for field in SITE_TABLES[table] for name in field.names)


def test_empty_site_toml_lacks_what_is_required(us):
    us.write("site.toml", "")

    assert us.problems() == [
        "site.toml: site.latitude: is missing\n  accepted: a number from -90 to 90",
        "site.toml: site.longitude: is missing\n  accepted: a number from -180 to 180",
        "site.toml: climate.file: is missing\n"
        "  accepted: climate file, seen from the site folder",
    ]


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        (
            "[controler]\nstarts = 4\n",
            f"site.toml:7: controler: unknown table\n  accepted: {TABLES}\n"
            "  hint: did you mean controller?",
        ),
        (
            "[[windows]]\n",
            f"site.toml:7: windows: unknown table\n  accepted: {TABLES}\n"
            "  hint: did you mean window?",
        ),
        (
            "[controller]\nprogrammes = 4\n",
            "site.toml:8: controller.programmes: unknown key\n"
            f"  accepted: {names_of('controller')}\n  hint: did you mean programs?",
        ),
        (
            "[supply]\npressure = 45\n",
            "site.toml:8: supply.pressure: its unit is missing\n"
            "  accepted: pressure_kpa or pressure_psi or pressure_bar",
        ),
        (
            "[supply]\npressure_psi = 45\npressure_kpa = 310\n",
            "site.toml:9: supply.pressure_kpa: pressure_psi is filled in too\n"
            "  accepted: one of the two",
        ),
        (
            '[supply]\npressure_psi = "45"\n',
            'site.toml:8: supply.pressure_psi: "45" is text, not a number\n'
            # 2000 kPa are 2000 / 6.894757… = 290.07… psi.
            "  accepted: a number over 0 and up to 290\n"
            "  hint: write the number alone, without quotes",
        ),
        (
            "[supply]\npressure_psi = true\n",
            "site.toml:8: supply.pressure_psi: true is not a number\n"
            "  accepted: a number over 0 and up to 290",
        ),
        (
            "[supply]\npressure_psi = 400\n",
            "site.toml:8: supply.pressure_psi: 400 is not a pressure\n"
            "  accepted: a number over 0 and up to 290\n"
            "  hint: for 400 kPa write pressure_kpa",
        ),
        (
            '[supply]\npipe_diameter_in = 1\npipe_material = " "\n',
            "site.toml:9: supply.pipe_material: is blank\n"
            "  accepted: service pipe, as copper, pvc or galvanized steel\n"
            "  hint: leave the key out for its default",
        ),
        (
            "[supply]\npipe_diameter_in = 1\npipe_material = true\n",
            "site.toml:9: supply.pipe_material: true is not text\n  accepted: text",
        ),
        (
            "[[window]]\nmonths = \"4-13\"\n",
            'site.toml:8: window[1].months: "13" is not a month\n'
            '  accepted: months by number or name, as [4, 5, 6], "4-6" or "Apr-Oct"',
        ),
        (
            "[[window]]\n[[window]]\nopens = \"6:00\"\ncloses = 06:00:00\n",
            "site.toml:8: window[2].closes: opens and closes are the same\n"
            '  accepted: for the whole day, opens = "00:00" and closes = "24:00"',
        ),
        (
            "[[window]]\ndays = []\n",
            "site.toml:8: window[1].days: no day is named\n"
            '  accepted: "any", "odd", "even", or a list of mon, tue, wed, thu, fri, '
            "sat, sun",
        ),
        (
            "[window]\ndays = \"any\"\n",
            "site.toml:7: window: is not a list of tables\n"
            "  accepted: [[window]], once for each window",
        ),
        (
            "[controller]\nstarts = 4.5\n",
            "site.toml:8: controller.starts: 4.5 is not a whole number\n"
            "  accepted: a whole number from 1 to 99",
        ),
        (
            "[controller]\nlongest_run_min = 2\nminute_step = 5\n",
            "site.toml:8: controller.longest_run_min: is shorter than minute_step\n"
            "  accepted: a longest run of at least one step",
        ),
        (
            "[water]\ntiers = [{to = 9, price = 3}, {to = 5, price = 4}, {price = 5}]",
            "site.toml:8: water.tiers: tier 2 ends at 5, before it begins\n"
            "  accepted: [{to = 10, price = 3.10}, {price = 4.50}]",
        ),
        (
            "[door]\nshut_off = 3\n",
            "site.toml:8: door.shut_off: 3 is not text\n"
            '  accepted: lines of text, as shut_off = "left of the gate"',
        ),
        (
            "[[supply]]\npressure_psi = 45\n",
            "site.toml:7: supply: is not a table\n"
            "  accepted: [supply] and its keys below it",
        ),
    ],
)  # fmt: skip
def test_mistake_in_a_table_gives_one_problem(us, text, problem):
    us.append("site.toml", text)

    assert us.problems() == [problem]


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        (
            'units = "imperial"',
            'site.toml:1: units: "imperial" is not a system of units\n'
            "  accepted: us, metric",
        ),
        (
            'unit = "us"',
            "site.toml:1: unit: unknown key\n  accepted: units, windows_file\n"
            "  hint: did you mean units?",
        ),
        (
            "supply = 30",
            "site.toml:1: supply: is not a table\n"
            "  accepted: [supply] and its keys below it",
        ),
        (
            "window = []",
            "site.toml:1: window: is empty\n"
            "  accepted: [[window]], once for each window",
        ),
        (
            'window = "any"',
            "site.toml:1: window: is not a list of tables\n"
            "  accepted: [[window]], once for each window",
        ),
        (
            "door = 5",
            "site.toml:1: door: 5 is not text\n"
            '  accepted: lines of text, as shut_off = "left of the gate"',
        ),
        (
            'windows_file = "district.toml"',
            "district.toml: no such file\n  hint: check the name",
        ),
    ],
)
def test_mistake_above_the_tables_gives_one_problem(us, line, problem):
    us.replace("site.toml", 'units = "us"', line)

    assert us.problems() == [problem]


@pytest.mark.parametrize(
    ("zone", "hint"),
    [("Etc/GMT+88", "\n  hint: did you mean Etc/GMT+8?"), ("0", "")],
)
def test_time_zone_that_is_none_is_refused(us, zone, hint):
    us.replace("site.toml", "[climate]", f'timezone = "{zone}"\n[climate]')

    assert us.problems() == [
        f'site.toml:5: site.timezone: "{zone}" is not a time zone\n'
        f"  accepted: an IANA name, such as Etc/GMT+8 (8 hours behind UTC){hint}"
    ]


def test_defaults_are_filled_in_and_noted(us):
    site = us.site()
    controller = site.controller

    # Defaults of design.md, Files a person writes.
    assert site.name == "us_site"
    assert site.elevation_m == 0
    assert site.wind_height_m == 2
    assert not site.water_in_frost
    assert (site.rain_rule.method, site.rain_rule.given) == ("tr21", False)
    assert controller.starts == 4
    assert controller.longest_run_min == 240
    assert controller.minute_step == 1
    assert controller.intervals
    assert controller.shortest_soak_min == 30
    assert not controller.soak_built_in
    assert controller.rain_shutoff_mm is None
    assert site.supply.pressure_kpa is None
    noted = {a.field.name for a in site.assumed if a.file == "site.toml"}
    assert noted == {
        "elevation",
        "water_in_frost",
        "starts",
        "longest_run_min",
        "minute_step",
        "intervals",
        "shortest_soak_min",
        "soak_built_in",
        "days",
    }


def test_what_is_written_is_not_noted_as_assumed(us):
    us.append("site.toml", "[controller]\nstarts = 4\nintervals = true\n")
    noted = {a.field.name for a in us.site().assumed}

    assert not noted & {"starts", "intervals"}


def test_rain_shut_off_means_that_rain_is_not_counted_unless_said(us):
    us.append("site.toml", "[controller]\nrain_shutoff_in = 0.25\n")
    site = us.site()

    assert (site.rain_rule.method, site.rain_rule.given) == ("none", False)
    # Exact: 0.25 * 25.4.
    assert site.controller.rain_shutoff_mm == pytest.approx(6.35, rel=1e-12)

    us.replace("site.toml", "[climate]", '[climate]\neffective_rain = "Share"')
    rule = us.site().rain_rule

    assert (rule.method, rule.share, rule.given) == ("share", 0.5, True)


def test_keys_are_read_without_case_and_hyphens(us):
    us.replace("site.toml", "latitude", "Latitude")
    us.append("site.toml", "[supply]\nPressure-PSI = 40\n")

    # psi of NIST SP 811: 0.45359237 * 9.80665 / 0.0254² Pa, 40 of them.
    assert us.site().supply.pressure_kpa == pytest.approx(
        40 * 0.45359237 * 9.80665 / 0.0254**2 / 1000, rel=1e-12
    )


def test_one_open_window_stands_where_none_is_written(us):
    (window,) = us.site().windows

    assert window.months == tuple(range(1, 13))
    assert window.head_kinds == HEAD_KINDS
    assert (window.weekdays, window.parity) == (WEEKDAYS, ALL_DATES)
    assert (window.opens, window.closes) == ("21:00", "06:00")
    assert window.most_days_a_week == 7


def test_own_windows_stand_before_shared_ones(us):
    us.replace("site.toml", 'units = "us"', 'windows_file = "district.toml"')
    us.append("site.toml", '[[window]]\nmonths = "6-8"\ndays = ["sat", "Mon"]\n')
    us.write(
        "district.toml",
        '[[window]]\ndays = "Odd"\ncloses = "sunrise"\nhead_kinds = ["drip"]\n'
        "most_days_a_week = 3\n",
    )
    own, shared = us.site().windows

    assert (own.months, own.weekdays) == ((6, 7, 8), ("mon", "sat"))
    assert (shared.weekdays, shared.parity, shared.closes) == (
        WEEKDAYS,
        ODD,
        "sunrise",
    )
    assert (shared.head_kinds, shared.most_days_a_week) == (("drip",), 3)


def test_shared_windows_file_may_hold_windows_alone(us):
    us.replace("site.toml", 'units = "us"', 'windows_file = "district.toml"')
    us.write("district.toml", "[controller]\nstarts = 2\n[[window]]\ndays = 3\n")

    assert us.problems() == [
        "district.toml:4: window[1].days: 3 is not a rule for days\n"
        '  accepted: "any", "odd", "even", or a list of mon, tue, wed, thu, fri, sat, '
        "sun",
        "district.toml:1: controller: does not belong in a file of windows\n"
        "  accepted: [[window]]",
    ]


@pytest.mark.parametrize("text", ["", "# nothing yet\n"])
def test_shared_windows_file_without_a_window_is_refused(us, text):
    us.replace("site.toml", 'units = "us"', 'windows_file = "district.toml"')
    us.write("district.toml", text)

    assert us.problems() == [
        "district.toml: window: is missing\n"
        "  accepted: [[window]], once for each window"
    ]


def test_door_lines_keep_the_order_of_the_file_and_blank_ones_are_left_out(us):
    us.append(
        "site.toml",
        '[door]\nshut_off = "left of the gate"\n"Call first" = " <b>Ana</b> "\n'
        'blank = ""\n',
    )

    assert us.site().door == (
        ("shut_off", "left of the gate"),
        ("Call first", "<b>Ana</b>"),
    )


def test_plan_is_by_days_and_ten_in_a_hundred_may_be_dry_unless_said(us):
    site = us.site()

    assert (site.plan_by, site.dry_share) == ("days", 0.1)
    assert np.isnan(site.zones.dry_share).tolist() == [True, True]


def test_plan_and_a_zone_may_say_their_dry_days(us):
    us.append("site.toml", '[plan]\nby = "Days"\ndry_days_percent = 5\n')
    us.replace("zones.csv", "uniformity", "uniformity,dry_days_percent")
    us.replace("zones.csv", "0.62", "0.62,20")
    site = us.site()

    assert (site.plan_by, site.dry_share) == ("days", 0.05)
    assert site.zones.dry_share[0] == 0.2
    assert np.isnan(site.zones.dry_share[1])


@pytest.mark.parametrize(
    ("key", "problem"),
    [
        ("dry_days_percent = 60",
         "dry_days_percent: 60 is not a share of dry days\n"
         "  accepted: a number from 0.5 to 50, or 0\n"
         "  hint: 10: plants may go short on one day in ten"),
        ('by = "weeks"',
         'by: "weeks" is not a way of planning\n  accepted: days, months'),
    ],
)  # fmt: skip
def test_plan_that_cannot_be_is_refused(us, key, problem):
    us.append("site.toml", f"[plan]\n{key}\n")

    assert us.problems() == [f"site.toml:8: plan.{problem}"]


@pytest.mark.parametrize("written", ['"1 Nov"', '"Nov 1"', '"11-01"', "2026-11-01",
                                     '"1. november"', '"2026-11-01"'])  # fmt: skip
def test_lines_are_drained_and_filled_on_days_of_the_year(us, written):
    days = f'[climate]\ndrained_on = {written}\nfilled_on = "29 Feb"'
    us.replace("site.toml", "[climate]", days)
    site = us.site()

    assert site.lines_empty == ((11, 1), (2, 29))
    assert site.lines_can_freeze


@pytest.mark.parametrize(
    ("keys", "problem"),
    [('drained_on = "1 Nov"', "climate.drained_on: is of no use without filled_on\n"
      "  accepted: filled_on beside it"),
     ('filled_on = "31 Apr"\ndrained_on = "1 Nov"',
      'climate.filled_on: "31 Apr" is no day of the calendar\n'
      '  accepted: a day of the year, as "1 Nov"'),
     ('filled_on = "1 Arp"\ndrained_on = "1 Nov"',
      'climate.filled_on: "Arp" is not a month'),
     ('filled_on = "spring"\ndrained_on = "1 Nov"',
      'climate.filled_on: "spring" is not a day of filling'),
     ('drained_on = "1 Nov"\nfilled_on = "Nov 1"',
      "climate.filled_on: is the day of drained_on"),
     ('drained_on = "1 Nov"\nfilled_on = "1 Apr"\nlines_can_freeze = false',
      "climate.drained_on: is of lines that lines_can_freeze says cannot freeze"),
     ("lines_can_freeze = true\nwater_in_frost = true",
      "climate.water_in_frost: is true, though lines are empty in frost"),
     ('lines_can_freeze = "maybe"', 'climate.lines_can_freeze: "maybe" is neither')],
)  # fmt: skip
def test_what_is_said_of_frost_must_hold_together(us, keys, problem):
    us.replace("site.toml", "[climate]", f"[climate]\n{keys}")

    assert any(problem in told for told in us.problems()), us.problems()
