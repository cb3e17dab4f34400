"""Checks zones.csv and heads.csv: words, names, and whether a zone's water is known."""

import csv
from pathlib import Path

import numpy as np
import pytest

import scheduler

ENOUGH = (
    "\n  accepted: heads with flow and spacing, or a flow and an area, or a rate and "
    "an area or flow, or emitters and an area or plants with canopies"
)


def names_of_table(table, column):
    path = Path(scheduler.__file__).parent / "tables" / f"{table}.csv"
    with path.open(encoding="utf-8") as stream:
        return ", ".join(row[column] for row in csv.DictReader(stream))


# Names of the trade (common practice), and the row of the table that each is.
@pytest.mark.parametrize(
    ("typed", "row"),
    [
        ("Tall Fescue", "tall fescue"),
        ("fine-fescue", "fine fescue"),
        ("bermuda", "bermuda grass"),
        ("Bermudagrass", "bermuda grass"),
        ("zoysia", "zoysia grass"),
        ("buffalo", "buffalo grass"),
        ("buffalograss", "buffalo grass"),
        ("Kentucky blue grass", "kentucky bluegrass"),
        ("bluegrass", "kentucky bluegrass"),
        ("St. Augustine", "st augustine grass"),
        ("cactus", "succulents"),
        ("Cacti", "succulents"),
        ("orange trees", "citrus trees"),
        ("fruit tree", "fruit trees"),
        ("rose", "roses"),
        ("natives", "native plants"),
    ],
)
def test_plants_go_by_the_names_that_people_type(us, typed, row):
    us.replace("zones.csv", "cool-season turf", typed)
    site = us.site()

    assert site.plants.names[site.zones.plant[0]] == row


@pytest.mark.parametrize(
    ("typed", "several"),
    [
        ("turf", "cool-season turf, warm-season turf"),
        ("common turf", "cool-season turf, warm-season turf"),
        ("fescue", "tall fescue, fine fescue"),
        ("rye", "perennial ryegrass, overseeded turf"),
        ("Shrubs", "shrubs very low water, shrubs low water, shrubs moderate water, "
                   "shrubs high water"),
        ("trees", "trees very low water, trees low water, trees moderate water, "
                  "trees high water"),
        ("oaks", "native oaks, trees low water, trees moderate water"),
    ],
)  # fmt: skip
def test_a_name_of_several_plants_is_asked_about(us, typed, several):
    us.replace("zones.csv", "cool-season turf", typed)

    assert us.problems() == [
        f'zones.csv:2: plant: "{typed}" may be one of several\n  accepted: {several}'
    ]


def test_a_site_may_have_a_plant_of_a_name_that_the_trade_uses(us):
    us.write(
        "plants.csv", "plant,coefficient,root_depth_in,depletion\nturf,0.7,6,0.4\n"
    )
    us.replace("zones.csv", "cool-season turf", "turf")
    site = us.site()

    assert site.plants.names[site.zones.plant[0]] == "turf"


def test_unknown_plant_gets_the_nearest_and_the_list(us):
    us.replace("zones.csv", "cool-season turf", "cool season truf")

    assert us.problems() == [
        'zones.csv:2: plant: "cool season truf" is not a plant\n'
        f"  accepted: {names_of_table('plants', 'plant')}\n"
        "  hint: did you mean cool-season turf?"
    ]


# By hand: the words typed, in another order, are a row's; of several rows that have as
# many words in common none is left out.
@pytest.mark.parametrize(
    ("typed", "hint"),
    [
        ("low water trees", "trees low water"),
        ("dessert plants", "desert plants"),
        ("mixed trees", "conifer trees, fruit trees, citrus trees or olive trees"),
    ],
)
def test_unknown_plant_gets_the_rows_nearest_by_words(us, typed, hint):
    us.replace("zones.csv", "cool-season turf", typed)
    [problem] = us.problems()

    assert problem.endswith(f"\n  hint: did you mean {hint}?")


def test_unknown_soil_gets_the_nearest_and_the_list(us):
    us.replace("zones.csv", "clay loam", "clay lom")

    assert us.problems() == [
        'zones.csv:3: soil: "clay lom" is not a soil\n'
        f"  accepted: {names_of_table('soils', 'soil')}\n"
        "  hint: did you mean clay loam?"
    ]


def test_blank_plant_and_soil_are_asked_for(us):
    us.replace("zones.csv", "cool-season turf,loam", " ,")

    assert us.problems() == [
        "zones.csv:2: plant: is blank\n"
        "  accepted: plant, from the table of plants or plants.csv",
        "zones.csv:2: soil: is blank\n"
        "  accepted: soil texture, from the table of soils or soils.csv",
    ]


def test_words_are_read_in_any_case_with_hyphens_or_spaces(us):
    plain = us.site()
    us.replace("zones.csv", "cool-season turf,loam", "Cool Season Turf, LOAM ")
    us.replace("zones.csv", "warm-season turf,clay loam", "WARM_SEASON-TURF,Clay-Loam")
    us.replace("zones.csv", "area_ft2", " Area FT2 ")
    loose = us.site()

    assert loose.zones.plant.tolist() == plain.zones.plant.tolist()
    assert loose.zones.soil.tolist() == plain.zones.soil.tolist()
    assert loose.zones.area_m2.tolist() == plain.zones.area_m2.tolist()
    assert loose.plants.names[loose.zones.plant[1]] == "warm-season turf"
    assert loose.soils.names[loose.zones.soil[1]] == "clay loam"


def test_zone_named_twice_is_told_where_it_was_first(us):
    us.append("zones.csv", "# more\nA-1,,roses,loam,,1000,,\na1,,roses,loam,,1,,\n")
    us.append("heads.csv", "a 1,,360,,1,,15\n")
    us.replace("zones.csv", "1,Front", "a1,Front")

    problems = us.problems()

    assert problems[0] == (
        'zones.csv:5: zone: "A-1" is named twice (first in line 2)\n'
        "  accepted: a name of its own for each zone"
    )
    assert problems[1] == (
        'zones.csv:6: zone: "a1" is named twice (first in line 2)\n'
        "  accepted: a name of its own for each zone"
    )


ON_ONE_STATION = (
    "  accepted: a station of its own for each zone\n"
    "  hint: two valves wired to one station are one zone"
)


# Blank takes the row's number: 1, 2 and 3 here.
@pytest.mark.parametrize(
    ("stations", "wrong"),
    [
        (("7", "7", "8"), '3: station: 7 is the station of zone "a" too (line 2)'),
        (
            ("2", "", "9"),
            "3: station: blank is the row's number, 2, the station of zone "
            '"a" too (line 2)',
        ),
        (
            ("", "4", "1"),
            '4: station: 1 is the station of zone "a" too (line 2, blank there)',
        ),
    ],
)
def test_two_zones_on_one_station_are_told_by_both_rows(us, stations, wrong):
    one, two, three = stations
    us.write("heads.csv", "zone,arc_deg\n")
    us.write(
        "zones.csv",
        "zone,station,plant,soil,area_ft2,flow_gpm\n"
        f"a,{one},roses,loam,900,4\nb,{two},roses,loam,900,4\n"
        f"c,{three},roses,loam,900,4\n",
    )

    assert us.problems() == [f"zones.csv:{wrong}\n{ON_ONE_STATION}"]


def test_every_zone_after_the_first_on_a_station_is_told(us):
    us.write("heads.csv", "zone,arc_deg\n")
    rows = "".join(f"z{i},5,roses,loam,900,4\n" for i in range(3))
    us.write("zones.csv", f"zone,station,plant,soil,area_ft2,flow_gpm\n{rows}")

    assert us.problems() == [
        f'zones.csv:{line}: station: 5 is the station of zone "z0" too (line 2)\n'
        f"{ON_ONE_STATION}"
        for line in (3, 4)
    ]


# A cell that is no number, and a row that is left out, leave nothing to compare.
@pytest.mark.parametrize(
    ("first", "second"),
    [("a,x,roses,loam,900,4", "b,1,roses,loam,900,4"),
     ("a,9,roses,loam,900,4,5,6", "b,,roses,loam,900,4\nc,1,roses,loam,900,4")],
)  # fmt: skip
def test_station_that_cannot_be_read_is_not_taken_for_a_row_number(us, first, second):
    us.write("heads.csv", "zone,arc_deg\n")
    us.write("zones.csv", "zone,station,plant,soil,area_ft2,flow_gpm\n"
             f"{first}\n{second}\n")  # fmt: skip

    (problem,) = us.problems()
    assert "two valves" not in problem


def test_zone_number_written_twice_is_told_once_whatever_else_names_it(us):
    us.replace("zones.csv", "2,Back", "1,Back")
    us.write("current.csv", "zone,minutes,days_per_week\n1,10,3\n2,20,3\n")

    assert us.problems() == [
        'zones.csv:3: zone: "1" is named twice (first in line 2)\n'
        "  accepted: a name of its own for each zone"
    ]


def test_unknown_zone_is_told_once_with_the_number_of_its_rows(us):
    us.append("heads.csv", "7,x,360,30,4,45,30\n" * 2 + "8,x,360,30,4,45,30\n")

    assert us.problems() == [
        'heads.csv:5: zone: "7" is not a zone of zones.csv, here and in 1 more row\n'
        "  accepted: 1, 2",
        'heads.csv:7: zone: "8" is not a zone of zones.csv\n  accepted: 1, 2',
    ]


def test_head_of_an_unknown_zone_gets_the_zones_there_are(us):
    us.append("heads.csv", "22,x,360,30,4,45,30\n")

    assert us.problems() == [
        'heads.csv:5: zone: "22" is not a zone of zones.csv\n'
        "  accepted: 1, 2\n  hint: did you mean 2?"
    ]


def test_zones_file_with_a_header_alone_has_no_zones(us):
    us.write("zones.csv", "zone,plant,soil,area_ft2\n")
    us.write("heads.csv", "zone,arc_deg\n")

    assert us.problems() == ["zones.csv: has no zones\n  accepted: a row for each zone"]


def test_missing_zones_file_hides_no_problem_of_heads(us):
    (us.path / "zones.csv").unlink()
    us.replace("heads.csv", "360", "400")

    assert us.problems() == [
        "zones.csv: no such file\n  hint: check the name",
        "heads.csv:4: arc_deg: 400 is not an arc\n"
        "  accepted: a number over 0 and up to 360\n"
        "  hint: write 360 for a full circle",
    ]


COLUMNS = (
    "zone,plant,soil,area_ft2,flow_gpm,rate_in_h,emitter_flow_gph,emitter_spacing_ft,"
    "emitter_row_spacing_ft"
)


@pytest.mark.parametrize(
    ("cells", "wrong"),
    [
        (",,,,,", "nothing says how much water the zone gets"),
        (",4,,,,", "the zone's area is not known"),
        ("1000,,,,,", "the zone's flow is not known"),
        (",,0.5,,,", "neither the zone's flow nor its area is known"),
        (",,,1,1,1", "neither the zone's flow nor its area is known"),
    ],
)
def test_zone_without_heads_needs_two_of_flow_area_and_rate(us, cells, wrong):
    us.write("zones.csv", f"{COLUMNS}\n3,roses,loam,{cells}\n")
    (us.path / "heads.csv").unlink()

    assert us.problems() == [
        f"zones.csv:2: zone: {wrong}{ENOUGH}\n  hint: there is no heads.csv"
    ]


@pytest.mark.parametrize(
    "cells", ["1000,4,,,,", "1000,,0.5,,,", ",4,0.5,,,", "1000,,,1,1,1"]
)
def test_zone_without_heads_is_known_by_two_of_flow_area_and_rate(us, cells):
    us.write("zones.csv", f"{COLUMNS}\n3,roses,loam,{cells}\n")
    (us.path / "heads.csv").unlink()

    assert len(us.site().zones) == 1


@pytest.mark.parametrize(
    ("area", "heads", "wrong", "hint"),
    [
        (
            "",
            "zone,arc_deg,flow_gpm,spacing_ft\n3,90,1,15\n3,90,1,\n",
            "the zone's area is not known",
            "fill spacing_* of every head in heads.csv, or the zone's area_*",
        ),
        (
            "",
            "zone,arc_deg,flow_gpm,spacing_ft\n3,90,1,15\n3,90,,15\n",
            "the zone's flow is not known",
            "fill flow_* of every head in heads.csv, or the zone's flow_*",
        ),
        (
            "1000",
            "zone,arc_deg\n3,90\n",
            "the zone's flow is not known",
            "fill flow_* of every head in heads.csv, or the zone's flow_*",
        ),
        (
            "",
            "zone,arc_deg\n3,90\n",
            "neither the zone's flow nor its area is known",
            "fill flow_* and spacing_* of every head in heads.csv",
        ),
    ],
)
def test_zone_with_heads_needs_flow_and_area(us, area, heads, wrong, hint):
    us.write("zones.csv", f"zone,plant,soil,area_ft2\n3,roses,loam,{area}\n")
    us.write("heads.csv", heads)

    assert us.problems() == [f"zones.csv:2: zone: {wrong}{ENOUGH}\n  hint: {hint}"]


@pytest.mark.parametrize(
    ("cells", "wrong"),
    [("1,,,", "are only half described"), ("1,1,,", "are only half described"),
     (",1,1,", "have no flow"), (",,1,", "have no flow"), (",,,40", "have no flow"),
     ("1,1,,40", "are only half described")],
)  # fmt: skip
def test_emitters_half_described_are_refused(us, cells, wrong):
    us.write(
        "zones.csv",
        "zone,plant,soil,area_ft2,flow_gpm,emitter_flow_gph,emitter_spacing_ft,"
        f"emitter_row_spacing_ft,emitters\n3,roses,loam,1000,1,{cells}\n",
    )
    us.write("heads.csv", "zone,arc_deg\n")

    assert us.problems() == [
        f"zones.csv:2: zone: emitters {wrong}\n"
        "  accepted: emitter_flow_* with emitters, or with emitter_spacing_* and "
        "emitter_row_spacing_*"
    ]


@pytest.mark.parametrize(
    ("file", "old", "new", "problem"),
    [
        (
            "heads.csv",
            "0.5,30,15",
            "O.5,30,15",
            'heads.csv:2: flow_gpm: "O.5" is not a number\n'
            "  accepted: a number over 0 and up to 1320",
        ),
        (
            "heads.csv",
            "flow_gpm",
            "flow",
            "heads.csv:1: flow: its unit is missing\n"
            "  accepted: flow_l_min or flow_gpm or flow_m3_h or flow_l_h or flow_gph",
        ),
        (
            "heads.csv",
            "1,a,90,15,0.5,30,15",
            "1,a,90,15,0,5,30,15",
            "heads.csv:2: has 8 cells, but 7 columns are named\n"
            "  hint: a comma inside a cell splits it in two: put text in double "
            "quotes, write 0,7 as 0.7",
        ),
        (
            "zones.csv",
            "area_ft2",
            "area",
            "zones.csv:1: area: its unit is missing\n  accepted: area_m2 or area_ft2",
        ),
        (
            "zones.csv",
            "2,1000,spray",
            "2,1000,pray",
            'zones.csv:2: head_kind: "pray" is not a head kind\n'
            "  accepted: rotor, spray, multi-stream, drip, bubbler\n"
            "  hint: did you mean spray?",
        ),
        (
            "zones.csv",
            "1,Front,cool-season turf,loam,2",
            "1,Front,left,cool-season turf,loam,2",
            "zones.csv:2: has 9 cells, but 8 columns are named\n"
            "  hint: a comma inside a cell splits it in two: put text in double "
            "quotes, write 0,7 as 0.7",
        ),
    ],
)
def test_one_mistake_gives_one_problem(us, file, old, new, problem):
    us.replace(file, old, new)

    assert us.problems() == [problem]


def test_blanks_take_their_defaults_and_are_noted(us):
    us.write("zones.csv", "zone,plant,soil,area_m2\n7,roses,loam,10\nb,vines,sand,9\n")
    us.write("heads.csv", "zone,arc_deg,flow_l_min\nB,90,1\n7,90,1\nb,180,2\n")

    site = us.site()
    zones, heads = site.zones, site.heads

    # Defaults of design.md, Files a person writes.
    assert zones.station.tolist() == [1, 2]
    assert zones.name == ("Zone 7", "Zone b")
    assert zones.slope_percent.tolist() == [0, 0]
    assert zones.microclimate_factor.tolist() == [1, 1]
    assert zones.density_factor.tolist() == [1, 1]
    assert zones.head_kind.tolist() == [0, 0]
    assert zones.regulated.tolist() == [False, False]
    assert np.isnan(zones.uniformity).all()
    assert heads.zone.tolist() == [1, 0, 1]
    assert heads.head == ("1", "1", "2")
    assert heads.count.tolist() == [1, 1, 1]
    assert heads.triangular.tolist() == [False, False, False]
    assumed = {(a.file, a.field.name, a.value, a.zones) for a in site.assumed}
    assert {
        ("zones.csv", "slope_percent", 0, ("7", "b")),
        ("zones.csv", "microclimate_factor", 1, ("7", "b")),
        ("zones.csv", "head_kind", "rotor", ("7", "b")),
        ("heads.csv", "pattern", "square", ("B", "7", "b")),
    } <= assumed


def test_only_blank_cells_are_noted_as_assumed(us):
    us.replace("zones.csv", "loam,2,", "loam,,")
    us.replace("zones.csv", "2000,rotor,0.7", "2000,,0.7")

    site = us.site()
    assumed = {a.field.name: a.zones for a in site.assumed if a.file == "zones.csv"}

    assert assumed["slope_percent"] == ("1",)
    assert assumed["head_kind"] == ("2",)
    assert site.zones.slope_percent.tolist() == [0, 5]


def test_drip_and_bubblers_hold_their_own_pressure(us):
    us.write(
        "zones.csv",
        "zone,plant,soil,area_m2,flow_l_min,head_kind,regulated\n"
        "1,roses,loam,9,1,drip,\n2,roses,loam,9,1,bubbler,\n"
        "3,roses,loam,9,1,spray,yes\n4,roses,loam,9,1,spray,\n"
        "5,roses,loam,9,1,drip,no\n6,roses,loam,9,1,drip,yes\n",
    )
    us.write("heads.csv", "zone,arc_deg\n")

    # design.md, method, step 1: drip counts as regulated where its emitters compensate.
    assert us.site().zones.regulated.tolist() == [True] * 3 + [False, False, True]


def test_heads_under_another_file_name_are_pointed_out(us):
    (us.path / "heads.csv").rename(us.path / "head.csv")

    problems = us.problems()

    assert problems
    assert all(
        problem.endswith("hint: there is no heads.csv: did you mean head.csv?")
        for problem in problems
    )
