"""cans.csv, in a site and by itself, and [supply] of site.toml."""

from __future__ import annotations

import numpy as np
import pytest

from scheduler.errors import InputError
from scheduler.inputs.canfile import read_can_file

ML = [33, 42, 49, 53, 45, 37, 39, 52]


def rows(catches, first="10,30,4", rest="", zone="1"):
    """Lines of a zone: the catches, and other cells of the first line and the rest."""
    return "".join(
        f"{zone},{catch},{first if i == 0 else rest}\n"
        for i, catch in enumerate(catches)
    )


@pytest.fixture
def can_file(tmp_path):
    """Function that reads a text as a file of cans, or gives its problems."""
    path = tmp_path / "test.csv"

    def read(text):
        path.write_text(text, encoding="utf-8")
        return read_can_file(path)

    return read


def problems_of(read, text):
    with pytest.raises(InputError) as caught:
        read(text)
    return [str(p).partition("test.csv")[2] for p in caught.value.problems]


# Exact: a diameter of 4 in is 101.6 mm, its circle π/4 * 101.6² = 8107.32 mm².
def test_read_can_file_fills_what_is_written_once(can_file):
    cans = can_file("zone,catch_ml,minutes,can_diameter_in\n" + rows(ML, "30,4", ","))

    assert cans.zones == ("1",)
    assert cans.catch_ml.tolist() == ML
    assert cans.minutes.tolist() == [30] * 8
    assert cans.can_area_mm2 == pytest.approx(np.full(8, 8107.32), abs=0.005)
    assert np.isnan(cans.catch_mm).all()


def test_read_can_file_takes_several_zones_in_any_order_and_unit(can_file):
    text = "zone,can,catch_ml,catch_in,minutes,can_area_cm2\n" + "".join(
        f"Front,a{i},{40 + i},,20,100\nback ,b{i},,0.{i + 10},15,\n" for i in range(8)
    )
    cans = can_file(text.replace("back ,b3", "BACK,b3"))

    assert cans.zones == ("Front", "back")
    assert cans.zone.tolist() == [0, 1] * 8
    assert cans.can[:2] == ("a0", "b0")
    # 0.10 in is 2.54 mm.
    assert cans.catch_mm[1] == pytest.approx(2.54)
    assert cans.can_area_mm2[0] == pytest.approx(10_000)


def test_read_can_file_refuses_fewer_than_eight_cans(can_file):
    text = "zone,catch_mm,minutes\n" + rows([5, 6], "30", "30")

    assert problems_of(can_file, text) == [
        ":2: zone: zone 1 has 2 cans\n"
        "  accepted: 8 cans or more a zone\n"
        "  hint: spread 24 or more over the zone, evenly, edges and corners too"
    ]


def test_read_can_file_refuses_a_zone_without_water(can_file):
    text = "zone,catch_mm,minutes\n" + rows([0] * 9, "30", "30")

    assert problems_of(can_file, text) == [
        ":2: catch_mm: every can of zone 1 is dry\n"
        "  accepted: a catch in some can\n"
        "  hint: did the zone run? leave an untested zone out of the file"
    ]


# By hand: 47 mm in 15 min are 188 mm/h. As mL over a can of 100 cm² 47 are 4.7 mm, 18.8
# mm/h; without the can's size nobody can say.
def test_read_can_file_asks_whether_mm_are_milliliters(can_file):
    bare = problems_of(can_file, "zone,catch_mm,minutes\n" + rows([47] * 8, "15", "15"))
    sized = problems_of(
        can_file,
        "zone,catch_mm,minutes,can_area_cm2\n" + rows([47] * 8, "15,100", "15,100"),
    )

    first = (
        ":2: catch_mm: zone 1 would get 188 mm/h, more than any sprinkler lays\n"
        "  accepted: catches that make 1 mm/h to 150 mm/h\n"
    )
    assert bare == [first + "  hint: if they are mL: write catch_ml and the can's size"]
    assert sized == [first + "  hint: 18.8 mm/h if they are mL: write catch_ml"]


# By hand: 8 in in 15 min are 32 in/h; 8 mm in 15 min are 32 mm/h, 1.26 in/h.
def test_read_can_file_asks_whether_inches_are_mm(can_file):
    text = "zone,catch_in,minutes\n" + rows([8] * 8, "15", "15")

    assert problems_of(can_file, text) == [
        ":2: catch_in: zone 1 would get 32 in/h, more than any sprinkler lays\n"
        "  accepted: catches that make 0.04 in/h to 5.91 in/h\n"
        "  hint: if they are mL: write catch_ml and the can's size; "
        "1.26 in/h if they are mm: write catch_mm"
    ]


def test_read_can_file_says_what_else_a_catch_of_47_inches_may_be(can_file):
    text = "zone,catch_in,minutes\n" + rows([47] + [0.2] * 8, "15", "15")

    assert problems_of(can_file, text) == [
        ":2: catch_in: 47 is not a catch\n"
        "  accepted: a number from 0 to 19.68\n"
        "  hint: write catch_mm for mm, or catch_ml and the can's size for mL"
    ]


# By hand: 0.2 mm in 20 min are 0.6 mm/h; 0.2 in are 5.08 mm, 15.24 mm/h.
def test_read_can_file_asks_whether_mm_are_inches(can_file):
    text = "zone,catch_mm,minutes\n" + rows([0.2] * 8, "20", "20")

    assert problems_of(can_file, text) == [
        ":2: catch_mm: zone 1 would get 0.6 mm/h, less than any sprinkler lays\n"
        "  accepted: catches that make 1 mm/h to 150 mm/h\n"
        "  hint: 15.2 mm/h if they are inches: write catch_in"
    ]


# By hand: 43 mL over a circle of 4 cm, 12.566 cm², stand 34.2 mm deep; in 10 min 205.3
# mm/h. Over 4 in, 6.4516 times the ground, 31.8 mm/h.
def test_read_can_file_asks_whether_the_can_was_measured_in_inches(can_file):
    text = "zone,catch_ml,minutes,can_diameter_cm\n" + rows([43] * 8, "10,4", ",")

    assert problems_of(can_file, text) == [
        ":2: catch_ml: zone 1 would get 205.3 mm/h, more than any sprinkler lays\n"
        "  accepted: catches that make 1 mm/h to 150 mm/h\n"
        "  hint: 31.8 mm/h if they are right and the can was measured in inches: "
        "write can_diameter_in"
    ]


# Where every can of a zone is far off, and no other unit makes sense of it.
def test_read_can_file_asks_to_check_what_no_unit_explains(can_file):
    text = "zone,catch_ml,minutes,can_area_cm2\n" + rows([90_000] * 8, "1,1", ",")

    assert problems_of(can_file, text) == [
        ":2: catch_ml: zone 1 would get 54000000 mm/h, more than any sprinkler lays\n"
        "  accepted: catches that make 1 mm/h to 150 mm/h\n"
        "  hint: check the minutes, the catches and the can's size"
    ]


# By hand: 60 mm in 20 min are 180 mm/h; the other cans make 15.
def test_read_can_file_asks_about_a_single_absurd_can(can_file):
    text = "zone,catch_mm,minutes\n" + rows([5] * 8 + [60], "20", "20")

    assert problems_of(can_file, text) == [
        ":10: catch_mm: the can would get 180 mm/h, more than any sprinkler lays\n"
        "  accepted: a catch that makes up to 150 mm/h\n"
        "  hint: check the catch, or leave the can out"
    ]


def test_read_can_file_wants_one_catch_and_one_size_a_can(can_file):
    head = "zone,catch_ml,catch_mm,minutes,can_diameter_cm,can_area_cm2\n"
    text = head + "1,40,5,30,11,\n1,40,,30,11,95\n1,,,30,11,\n" + "1,40,,30,11,\n" * 6

    assert problems_of(can_file, text) == [
        ":2: catch_mm: catch_ml is filled in too\n  accepted: one of the two",
        ":3: can_area_cm2: can_diameter_cm is filled in too\n"
        "  accepted: one of the two",
        ":4: catch_ml: is blank\n"
        "  accepted: what the can caught, 0 for a dry one\n"
        "  hint: leave out the row of a can that fell over",
    ]


def test_read_can_file_wants_minutes_and_the_size_of_the_can(can_file):
    text = "zone,catch_ml\n" + "".join(f"1,{catch}\n" for catch in ML)

    assert problems_of(can_file, text) == [
        ":2: minutes: is blank\n"
        "  accepted: the minutes it ran\n"
        "  hint: once for a zone is enough",
        ":2: can_diameter_mm: is blank\n"
        "  accepted: can_diameter_* or can_area_*\n"
        "  hint: once for a zone is enough",
    ]


def test_read_can_file_does_not_guess_between_different_minutes(can_file):
    text = "zone,catch_mm,minutes\n" + "1,5,20\n1,5,30\n" + "1,5,\n" * 7

    assert problems_of(can_file, text) == [
        ":4: minutes: is blank, and the zone's rows differ\n"
        "  accepted: the minutes it ran"
    ]


def test_read_can_file_names_each_zone_that_is_wrong(can_file):
    text = "zone,catch_mm,minutes\n" + rows([5] * 3, "20", "20", "front")
    text += rows([5] * 8, "20", "20", "good") + rows([0] * 8, "20", "20", "back")

    assert [p.split("\n")[0] for p in problems_of(can_file, text)] == [
        ":2: zone: zone front has 3 cans",
        ":13: catch_mm: every can of zone back is dry",
    ]


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("zone,catch_mm,minutes\n", ": has no cans\n  accepted: a row for each"),
        (
            "zone,minutes\n1,20\n",
            ":1: catch_ml or catch_in or catch_mm: no can has a catch\n"
            "  accepted: what each can caught, 0 for a dry one",
        ),
        (
            "zone,catch,minutes\n1,5,20\n",
            ":1: catch: its unit is missing\n"
            "  accepted: catch_ml or catch_mm or catch_in",
        ),
        (
            "catch_mm,minutes\n" + "5,20\n" * 8,
            ":1: zone: column is missing",
        ),
    ],
)
def test_read_can_file_says_what_is_missing(can_file, text, problem):
    assert problem in problems_of(can_file, text)


def test_read_can_file_says_that_there_is_none(tmp_path):
    with pytest.raises(InputError, match=r"none\.csv: no such file"):
        read_can_file(tmp_path / "none.csv")


# In a site


CANS = "zone,catch_mm,minutes\n" + rows([4, 5, 5, 5, 6, 6, 6, 7], "20", "20")


def test_site_reads_cans_by_the_zones_of_zones_csv(us):
    us.write("cans.csv", CANS.replace("1,", "front,"))
    us.replace("zones.csv", "1,Front", "FRONT,Front")
    us.write("heads.csv", us.text("heads.csv").replace("\n1,", "\nfront,"))
    site = us.site()

    assert site.cans.zones == ("FRONT", "2")
    assert site.cans.zone.tolist() == [0] * 8


def test_site_without_cans_has_none(us):
    assert len(us.site().cans) == 0


def test_site_refuses_cans_of_an_unknown_zone(us):
    us.write("cans.csv", CANS.replace("1,", "3,"))

    assert us.problems() == [
        'cans.csv:2: zone: "3" is not a zone of zones.csv, here and in 7 more rows\n'
        "  accepted: 1, 2"
    ]


def test_catches_without_a_unit_are_told_once(us):
    us.write("cans.csv", CANS.replace("catch_mm", "catch"))

    assert us.problems() == [
        "cans.csv:1: catch: its unit is missing\n"
        "  accepted: catch_ml or catch_mm or catch_in"
    ]


def test_tested_zone_is_not_said_to_have_an_assumed_uniformity(us):
    us.write("zones.csv", us.text("zones.csv").replace(",0.62", ",").replace(
        "rotor,0.7", "rotor,"))  # fmt: skip
    us.write("cans.csv", CANS)
    assumed = {a.field.name: a.zones for a in us.site().assumed}

    assert assumed["uniformity"] == ("2",)


# A test gives a rate, so an area beside it is enough, as with rate_*.
def test_tested_zone_needs_nothing_but_an_area(us):
    us.replace("zones.csv", "\n2,", "\n3,Side,cool-season turf,loam,0,500,spray,\n2,")
    assert len(us.problems()) == 1

    us.write("cans.csv", CANS.replace("1,", "3,"))
    assert us.site().cans.zones == ("1", "3", "2")


# [supply]


SUPPLY_US = """\
[supply]
static_pressure_psi = 65
bucket_gal = 5
bucket_s = 18
meter_in = 0.625
pipe_material = "Galvanized-Steel"
pipe_diameter_in = 1
pipe_length_ft = 60
rise_to_heads_ft = 8
"""
# The same, exact but for psi (0.45359237 * 9.80665 / 0.0254² Pa).
SUPPLY_METRIC = """\
[supply]
static_pressure_kpa = 448.1592240559450
bucket_l = 18.92705892
bucket_s = 18
meter_mm = 15
pipe_material = "galvanized steel"
pipe_diameter_mm = 25.4
pipe_length_m = 18.288
rise_to_heads_m = 2.4384
"""


def test_supply_measured_in_metric_units_is_that_measured_in_us_units(us, metric):
    us.append("site.toml", SUPPLY_US)
    metric.append("site.toml", SUPPLY_METRIC)
    first, second = us.site().supply, metric.site().supply

    assert first.meter is second.meter
    assert first.pipe is second.pipe
    assert first.pipe.name == "galvanized steel"
    for name in ("static_pressure_kpa", "bucket_l", "pipe_diameter_mm",
                 "pipe_length_m", "rise_to_heads_m"):  # fmt: skip
        assert getattr(first, name) == pytest.approx(getattr(second, name), rel=1e-12)


# Nominal metric sizes of the trade, common practice; in inches as cast or rounded.
@pytest.mark.parametrize(
    ("written", "inches"),
    [("meter_in = 0.625", 0.625), ("meter_in = 0.63", 0.625), ("meter_in = 1", 1),
     ("meter_mm = 15", 0.625), ("meter_mm = 20", 0.75), ("meter_mm = 25", 1),
     ("meter_mm = 40", 1.5), ("meter_mm = 50", 2), ("meter_mm = 25.4", 1)],
)  # fmt: skip
def test_supply_takes_meters_by_the_sizes_of_the_trade(us, written, inches):
    us.append("site.toml", f"[supply]\n{written}\n")

    assert us.site().supply.meter.size_in == inches


@pytest.mark.parametrize(
    ("written", "problem"),
    [
        (
            "meter_in = 0.7",
            "site.toml:8: supply.meter_in: 0.7 is no size of the table of meters\n"
            "  accepted: 0.625, 0.75, 1, 1.5 or 2\n"
            "  hint: the size is cast on the meter: a 5/8 x 3/4 meter is one of 0.625 "
            "in",
        ),
        (
            "meter_mm = 30",
            "site.toml:8: supply.meter_mm: 30 is no size of the table of meters\n"
            "  accepted: 15, 20, 25, 40 or 50",
        ),
        (
            "bucket_gal = 5",
            "site.toml:8: supply.bucket_gal: the time to fill the bucket is not given\n"
            "  accepted: bucket_s beside it",
        ),
        (
            "bucket_s = 20",
            "site.toml:8: supply.bucket_s: the bucket's volume is not given\n"
            "  accepted: bucket_l or bucket_gal or bucket_ft3 or bucket_m3 beside it",
        ),
        (
            "pipe_length_ft = 60",
            "site.toml:8: supply.pipe_length_ft: the pipe's inside diameter is not "
            "given\n  accepted: pipe_diameter_mm or pipe_diameter_in beside it",
        ),
        (
            'pipe_material = "coper"\npipe_diameter_in = 1',
            'site.toml:8: supply.pipe_material: "coper" is not a pipe material\n'
            "  accepted: pvc, cpvc, polyethylene, pex, plastic, copper, brass, ductile "
            "iron, asbestos cement, galvanized steel, steel, cast iron\n"
            "  hint: did you mean copper?",
        ),
    ],
)
def test_supply_that_does_not_fit_together_is_refused(us, written, problem):
    us.append("site.toml", f"[supply]\n{written}\n")

    assert us.problems() == [problem]


def test_supply_says_which_pipe_was_assumed(us):
    us.append("site.toml", "[supply]\npipe_diameter_in = 1\npipe_length_ft = 60\n")
    site = us.site()
    (assumed,) = [a for a in site.assumed if a.field.name == "pipe_material"]

    assert (assumed.file, assumed.value) == ("site.toml", "galvanized steel")
    assert site.supply.pipe.name == "galvanized steel"


def test_supply_assumes_no_pipe_where_none_is_given(us):
    us.append("site.toml", "[supply]\npipe_diameter_in = 1\n")
    site = us.site()

    assert site.supply.pipe is None
    assert "pipe_material" not in {a.field.name for a in site.assumed}
