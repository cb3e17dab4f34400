"""One lawn through a whole year, worked by hand from the tape measure to the minutes.

A lawn of cool-season turf on clay loam, sloping 8 %, in light shade: nine rotors at 30
ft, square, four quarters of 1 gpm, four halves of 2 and one full circle of 4, all at 45
psi by the chart and 40 psi on site. Watering is permitted on Tuesdays, Thursdays and
Saturdays. Climate and place are invented.

The arithmetic is in US units, as on paper, with each intermediate result kept in full
and shown to the digits printed. Each printed number is held to half a unit of its last
digit. Values taken from tables: clay loam 0.18 in/in and 0.20 in/h; cool-season turf
0.80, roots 8 in, allowed depletion 0.40, longest gap 7 days; rotors 0.70 uniformity;
clay loam at 7 to 12 % may hold 0.18 in on the surface.

Rates
  flow at 40 psi    √(40 / 45) = 0.942809;  16 gpm · 0.942809 = 15.084945 gpm
  ground            (4 · 1/4 + 4 · 1/2 + 1) · 30 ft · 30 ft = 3600 ft²
  rate              96.25 · 15.084945 / 3600 = 0.403313 in/h, of each head as well
  multiplier        1 / (0.4 + 0.6 · 0.70) = 1 / 0.82 = 1.219512
Soil
  total available   0.18 · 8 = 1.44 in;  allowed depletion 1.44 · 0.40 = 0.576 in
  runoff limit      60 · 0.18 / (0.403313 - 0.20) = 53.120 min;  longest cycle 53 min
Plant
  landscape coefficient  0.80 · 0.9 · 1 = 0.72
Rain, SCS TR-21
  storage 0.576 in is held to 0.75: 0.531747 + 0.295164 · 0.75 - 0.057697 · 0.5625 +
  0.003804 · 0.421875 = 0.722270
  usable = 0.722270 · (0.70917 · rain^0.82416 - 0.11556) · 10^(0.02426 · need)

Needs of the months, in
            ET0 · 0.72 · days  need     rain   usable                       net
  January   0.05 · 0.72 · 31 = 1.11600  4.0  0.722270 · 2.107464 · 1.064325 = 1.620071,
            held to the need                                                0
  February  0.08 · 0.72 · 28 = 1.61280  3.4  · 1.828788 · 1.094275 = 1.445405  0.167395
  March     0.12 · 0.72 · 31 = 2.67840  2.8  · 1.541278 · 1.161390 = 1.292882  1.385518
  April     0.17 · 0.72 · 30 = 3.67200  1.3  · 0.764795 · 1.227673 = 0.678153  2.993847
  May       0.21 · 0.72 · 31 = 4.68720  0.6  · 0.349931 · 1.299306 = 0.328393  4.358807
  June      0.25 · 0.72 · 30 = 5.40000  0.2  · 0.072669 · 1.352085 = 0.070967  5.329033
  July      0.26 · 0.72 · 31 = 5.80320  0    -0.11556 · …, so 0                5.803200
  August    0.23 · 0.72 · 31 = 5.13360  0.1  -0.009246 · …, so 0               5.133600
  September 0.18 · 0.72 · 30 = 3.88800  0.3  · 0.147355 · 1.242576 = 0.132247  3.755753
  October   0.12 · 0.72 · 31 = 2.67840  1.1  · 0.651562 · 1.161390 = 0.546555  2.131845
  November  0.07 · 0.72 · 30 = 1.51200  2.6  · 1.443112 · 1.088131 = 1.134177  0.377823
  December  0.05 · 0.72 · 31 = 1.11600  1.2  · 0.708594 · 1.064325 = 0.544718  0.571282

Months that are off
  January needs nothing. February's 0.167395 is under half of 0.576 and stands beside a
  month of 0: the store carries it, gross need 0, and March pays. December's mean
  minimum is 31 °F, frost; its gross need of 0.571282 · 1.219512 = 0.696686 stays shown.

Days: store lasts 1.1 · 0.576 = 0.6336 in over the need a day
  March     0.6336 / 0.0864 =  7.333 ->  7, one day: Tuesday
  April     0.6336 / 0.1224 =  5.176 ->  5: Tuesday and Saturday, 4 and 3 days apart
  May       0.6336 / 0.1512 =  4.190 ->  4: Tuesday and Saturday
  June      0.6336 / 0.18   =  3.520 ->  3: all three, 2, 2 and 3 days apart
  July      0.6336 / 0.1872 =  3.385 ->  3: all three
  August    0.6336 / 0.1656 =  3.826 ->  3: all three
  September 0.6336 / 0.1296 =  4.889 ->  4: Tuesday and Saturday
  October   0.6336 / 0.0864 =  7.333 ->  7: Tuesday
  November  0.6336 / 0.0504 = 12.571 -> 12, the plant's longest is 7; 2.5 mm (0.098425
            in) at 0.377823 / 30 = 0.012594 a day take 7.815 days -> 8 -> two weeks,
            well within the store (0.576 / 0.012594 = 45 days): Tuesdays, every 14 days
  In all other months 2.5 mm take less than the gap (March 1.97 days, the rest less).

Minutes: gross need; a week; minutes of a day, 60 / 0.403313 of the depth; cycles
  March     (1.385518 + 0.167395) · 1.219512 = 1.893796; · 7/31 = 0.427631; 63.61784 min
            0.95 · 63.61784 / 53 = 1.14 -> 2 of 32 = 64, 1.006 of it
  April     2.993847 · 1.219512 = 3.651033; · 7/30 = 0.851908; / 2: 63.36827 min
            1.14 -> 2 of 32 = 64, 1.010
  May       4.358807 · 1.219512 = 5.315618; · 7/31 = 1.200301; / 2: 89.28313 min
            1.60 -> 2 of 45 = 90, 1.008
  June      5.329033 · 1.219512 = 6.498821; · 7/30 = 1.516392; / 3: 75.19681 min
            1.35 -> 2 of 38 = 76, 1.011
  July      5.803200 · 1.219512 = 7.077073; · 7/31 = 1.598049; / 3: 79.24613 min
            1.42 -> 2 of 40 = 80, 1.010
  August    5.133600 · 1.219512 = 6.260488; · 7/31 = 1.413659; / 3: 70.10235 min
            1.26 -> 2 of 35 = 70, 0.999
  September 3.755753 · 1.219512 = 4.580186; · 7/30 = 1.068710; / 2: 79.49490 min
            1.42 -> 2 of 40 = 80, 1.006
  October   2.131845 · 1.219512 = 2.599811; · 7/31 = 0.587054; 87.33483 min
            1.57 -> 2 of 44 = 88, 1.008
  November  0.377823 · 1.219512 = 0.460759; · 7/30 = 0.107511; / 0.5: 31.98824 min
            0.57 -> 1 of 32 = 32, 1.000

Soak: minutes of a cycle · 0.203313 / 0.20, up to fives, 30 at least; each day of two
cycles is over the 53.12 min of the runoff limit
  32 -> 32.53 -> 35;  45 -> 45.75 -> 50;  38 -> 38.63 -> 40;  40 -> 40.66 -> 45;
  35 -> 35.58 -> 40;  44 -> 44.73 -> 45

Totals: minutes a week; of the month, · days / 7; inches, · 0.403313 / 60; gallons, ·
15.084945
  March     1 · 64 =  64;  283.42857;  1.905173 in;   4275.5043 gal
  April     2 · 64 = 128;  548.57143;  3.687431 in;   8275.1696 gal
  May       2 · 90 = 180;  797.14286;  5.358298 in;  12024.8559 gal
  June      3 · 76 = 228;  977.14286;  6.568236 in;  14740.1459 gal
  July      3 · 80 = 240; 1062.85714;  7.144397 in;  16033.1412 gal
  August    3 · 70 = 210;  930.00000;  6.251348 in;  14028.9985 gal
  September 2 · 80 = 160;  685.71429;  4.609289 in;  10343.9621 gal
  October   1 · 88 =  88;  389.71429;  2.619612 in;   5878.8184 gal
  November  0.5 · 32 = 16;  68.57143;  0.460929 in;   1034.3962 gal
"""

from decimal import Decimal

import numpy as np
import pytest

from scheduler import units
from scheduler.calendar import weekday_names
from scheduler.inputs.folder import read_site
from scheduler.plan import site as sites
from scheduler.plan import table
from scheduler.plan.by_months import plan_by_months

SITE = """
units = "us"

[site]
name = "By hand"
latitude = 38.5
longitude = -121.5

[climate]
file = "climate.csv"

[plan]
by = "months"

[supply]
pressure_psi = 40

[[window]]
days = ["tue", "thu", "sat"]
"""
CLIMATE = """month,et0_in_day,rain_in,tmin_f,tmax_f
1,0.05,4.0,36,54
2,0.08,3.4,39,61
3,0.12,2.8,42,66
4,0.17,1.3,45,73
5,0.21,0.6,51,81
6,0.25,0.2,56,89
7,0.26,0.0,59,94
8,0.23,0.1,58,93
9,0.18,0.3,56,88
10,0.12,1.1,49,78
11,0.07,2.6,41,63
12,0.05,1.2,31,54
"""
ZONES = """zone,plant,soil,slope_percent,microclimate_factor,head_kind
1,cool-season turf,clay loam,8,0.9,rotor
"""
HEADS = """zone,head,count,arc_deg,flow_gpm,pressure_psi,spacing_ft
1,corners,4,90,1,45,30
1,sides,4,180,2,45,30
1,middle,1,360,4,45,30
"""

# The lines above as columns. Depths in inches; blank days: off.
#   month need net gross gap days every minutes cycles length soak week applied gallons
YEAR = """
1  1.11600 0.000000 0.000000  7 -           0  0        0  0  0   0 0        0
2  1.61280 0.167395 0.000000  7 -           0  0        0  0  0   0 0        0
3  2.67840 1.385518 1.893796  7 tue         0 63.61784  2 32 35  64 1.905173 4275.5043
4  3.67200 2.993847 3.651033  5 tue+sat     0 63.36827  2 32 35 128 3.687431 8275.1696
5  4.68720 4.358807 5.315618  4 tue+sat     0 89.28313  2 45 50 180 5.358298 12024.8559
6  5.40000 5.329033 6.498821  3 tue+thu+sat 0 75.19681  2 38 40 228 6.568236 14740.1459
7  5.80320 5.803200 7.077073  3 tue+thu+sat 0 79.24613  2 40 45 240 7.144397 16033.1412
8  5.13360 5.133600 6.260488  3 tue+thu+sat 0 70.10235  2 35 40 210 6.251348 14028.9985
9  3.88800 3.755753 4.580186  4 tue+sat     0 79.49490  2 40 45 160 4.609289 10343.9621
10 2.67840 2.131845 2.599811  7 tue         0 87.33483  2 44 45  88 2.619612 5878.8184
11 1.51200 0.377823 0.460759 14 tue        14 31.98824  1 32  0  16 0.460929 1034.3962
12 1.11600 0.571282 0.696686  7 -           0  0        0  0  0   0 0        0
"""
NAMES = ("month need net gross gap days every minutes cycles length soak week applied "
         "gallons")  # fmt: skip


def printed(text):
    """The number as it is written, give or take half a unit of its last digit."""
    number = Decimal(text)
    half = Decimal(1).scaleb(number.as_tuple().exponent) / 2
    return pytest.approx(float(number), rel=0, abs=float(half) if number else 1e-9)


@pytest.fixture(scope="module")
def lawn(tmp_path_factory):
    folder = tmp_path_factory.mktemp("by_hand")
    files = {"site.toml": SITE, "climate.csv": CLIMATE, "zones.csv": ZONES,
             "heads.csv": HEADS}  # fmt: skip
    for name, text in files.items():
        (folder / name).write_text(text)
    return sites.plan_site(read_site(folder))


@pytest.fixture(params=YEAR.strip().splitlines(), ids=lambda line: line.split()[0])
def month(request):
    """A line of the year, by name of column."""
    return dict(zip(NAMES.split(), request.param.split(), strict=True))


def test_rates_are_those_by_hand(lawn):
    rates = lawn.rates

    assert rates.flow_l_min[0] / units.L_PER_GAL == printed("15.084945")
    assert rates.area_m2[0] / units.M2_PER_FT2 == pytest.approx(3600, rel=1e-12)
    assert rates.rate_mm_h[0] / units.MM_PER_IN == printed("0.403313")
    assert rates.peak_rate_mm_h[0] / units.MM_PER_IN == printed("0.403313")
    assert rates.uniformity[0] == 0.70
    assert rates.run_time_multiplier[0] == printed("1.219512")


def test_soil_and_plant_are_those_by_hand(lawn):
    plan = lawn.plan

    assert lawn.stands_on.roots.total_available_water_mm[
        0
    ] / units.MM_PER_IN == printed("1.4400")
    assert lawn.stands_on.roots.allowed_depletion_mm[0] / units.MM_PER_IN == printed(
        "0.57600"
    )
    assert plan.runoff_limit_min[0] == printed("53.120")
    assert plan.longest_cycle_min[0] == 53
    np.testing.assert_allclose(
        lawn.inputs.ground.landscape_coefficient, np.full((1, 12), 0.72), rtol=1e-12
    )


def test_needs_are_those_by_hand(lawn, month):
    row = int(month["month"]) - 1
    plan = lawn.plan

    def inches(depth_mm):
        return depth_mm[0, row] / units.MM_PER_IN

    assert inches(plan.plant_need_mm) == printed(month["need"])
    assert inches(plan.net_need_mm) == printed(month["net"])
    assert inches(plan.gross_need_mm) == printed(month["gross"])
    assert inches(plan.carried_in_mm) == printed("0.167395" if row == 2 else "0")
    assert inches(plan.unmet_mm) == 0


def test_days_are_those_by_hand(lawn, month):
    row = int(month["month"]) - 1
    schedule = lawn.plan.schedule
    names = () if month["days"] == "-" else tuple(month["days"].split("+"))
    every = int(month["every"])

    assert weekday_names(int(schedule.weekdays[0, row])) == names
    assert schedule.every_days[0, row] == every
    assert schedule.days_per_week[0, row] == (0.5 if every else len(names))
    assert schedule.parity[0, row] == 0
    if names:
        assert lawn.plan.gap_limit_days[0, row] == int(month["gap"])


def test_minutes_are_those_by_hand(lawn, month):
    row = int(month["month"]) - 1
    plan, schedule = lawn.plan, lawn.plan.schedule

    assert plan.event_minutes[0, row] == printed(month["minutes"])
    assert schedule.cycles[0, row] == int(month["cycles"])
    assert schedule.cycle_min[0, row] == int(month["length"])
    assert schedule.soak_min[0, row] == int(month["soak"])
    assert schedule.minutes_per_week[0, row] == int(month["week"])
    assert plan.applied_mm[0, row] / units.MM_PER_IN == printed(month["applied"])
    assert plan.volume_l[0, row] / units.L_PER_GAL == printed(month["gallons"])


def test_months_are_off_for_the_reasons_by_hand(lawn):
    flags = lawn.plan.flags[0]

    assert (np.flatnonzero(flags & table.FROST) + 1).tolist() == [12]
    assert (np.flatnonzero(flags & table.CARRIED) + 1).tolist() == [2]
    assert (np.flatnonzero(flags & table.NO_NEED) + 1).tolist() == [1]
    assert not (flags & (table.LIGHT | table.TOLD)).any()
    # March pays for February.
    assert (np.flatnonzero(flags & table.PAYS) + 1).tolist() == [3]


# Nights below freezing by a table of the normal law, deviation 5.2 - 0.13 T: in March
# T = 5.56 °C, z = -1.24, 31 * 0.107 = 3.3; April 7.22, -1.69, 30 * 0.045 = 1.4;
# November 5.00, -1.10, 30 * 0.136 = 4.1; October 9.44, -2.38, 31 * 0.009 = 0.3 only.
def test_cautions_are_those_by_hand(lawn):
    told = ("value-assumed", "uniformity-assumed")
    codes = [(c.code, c.month) for c in lawn.cautions if c.code not in told]

    nights = [("frost-nights", month) for month in (3, 4, 11)]
    assert codes == [("frost-month", 12), *nights]


# The one call that plans a zone gives what the site gives.
def test_plan_zones_on_the_same_input_is_the_plan_of_the_site(lawn):
    again = plan_by_months(lawn.inputs)

    np.testing.assert_array_equal(
        again.schedule.cycle_min, lawn.plan.schedule.cycle_min
    )
    np.testing.assert_array_equal(again.applied_mm, lawn.plan.applied_mm)
