"""Checks a site's own plants.csv and soils.csv over the package's tables."""

import csv
from pathlib import Path

import numpy as np
import pytest

import scheduler
from scheduler.inputs import library

MONTHS = "jan,feb,mar,apr,may,jun,jul,aug,sep,oct,nov,dec"
SOILS = ", ".join(library.package_soils().names)


def row_of_table(table, name):
    path = Path(scheduler.__file__).parent / "tables" / f"{table}.csv"
    with path.open(encoding="utf-8") as stream:
        return next(row for row in csv.DictReader(stream) if name in row.values())


def test_own_plant_is_added_to_the_table(us):
    us.write(
        "plants.csv",
        "plant,group,coefficient,root_depth_in,depletion\nHerb bed,annual,0.7,10,0.4\n",
    )
    us.replace("zones.csv", "cool-season turf", "herb-bed")
    site = us.site()
    row = site.zones.plant[0]

    assert site.plants.names[row] == "Herb bed"
    assert site.plants.coefficient[row].tolist() == [0.7] * 12
    # Exact: 10 * 25.4. Gap of annuals: design.md, method, step 7.
    assert site.plants.root_depth_mm[row] == pytest.approx(254, rel=1e-12)
    assert site.plants.depletion[row] == 0.4
    assert site.plants.longest_gap_days[row] == 4
    assert np.isnan(site.plants.salt_threshold_ds_m[row])
    assert site.plants.sources[row] == "the site's plants.csv"
    assert len(site.plants.names) == len(library.package_plants().names) + 1


def test_own_row_takes_the_place_of_the_tables(us):
    us.write(
        "plants.csv",
        f"plant,{MONTHS},root_depth_mm,depletion,longest_gap_days,source\n"
        "Cool Season TURF,.1,.2,.3,.4,.5,.6,.7,.8,.9,1,1.1,1.2,150,0.5,5,own meter\n",
    )
    site = us.site()
    row, other = site.zones.plant

    assert site.plants.coefficient[row].tolist() == [
        0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1, 1.1, 1.2,
    ]  # fmt: skip
    assert site.plants.root_depth_mm[row] == 150
    assert site.plants.longest_gap_days[row] == 5
    assert site.plants.sources[row] == "own meter"
    assert len(site.plants.names) == len(library.package_plants().names)
    # The rest of the table stands as before, each plant with its own numbers.
    turf = row_of_table("plants", "warm-season turf")
    assert site.plants.names[other] == "warm-season turf"
    assert site.plants.coefficient[other].tolist() == [float(turf["coefficient"])] * 12
    assert site.plants.root_depth_mm[other] == pytest.approx(
        float(turf["root_depth_in"]) * 25.4, rel=1e-12
    )
    assert site.plants.sources[other] == turf["source"]


@pytest.mark.parametrize(
    ("coefficients", "problem"),
    [
        ("," * 12, "plants.csv:2: coefficient: plant needs its coefficient once"),
        (
            "0.5" + ",0.5" * 12,
            "plants.csv:2: coefficient: plant needs its coefficient once",
        ),
        (
            ",0.5" * 11 + ",",
            "plants.csv:2: coefficient: plant needs its coefficient once",
        ),
    ],
)
def test_own_plant_needs_one_coefficient_or_twelve(us, coefficients, problem):
    us.write(
        "plants.csv",
        f"plant,root_depth_in,depletion,coefficient,{MONTHS}\nfern,8,0.4,{coefficients}\n",
    )

    assert us.problems() == [
        f"{problem}\n  accepted: coefficient, or all of jan to dec"
    ]


def test_mistakes_in_own_plants_are_told_once_each(us):
    us.write(
        "plants.csv",
        "plant,group,coefficient,root_depth_in,depletion,longest_gap_days\n"
        "fern,shrub,60,8,0.4,\nFern,tree,0.5,8,40,\nrush,weed,0.5,8,0.4,0\n,,0.5,,,\n",
    )

    assert us.problems() == [
        "plants.csv:5: plant: is blank\n  accepted: name to use in zones.csv",
        "plants.csv:4: group: \"weed\" is not a group\n"
        "  accepted: turf, annual, vegetable, groundcover, shrub, perennial, tree, "
        "desert",
        "plants.csv:2: coefficient: 60 is not a coefficient\n"
        "  accepted: a number from 0 to 1.5",
        "plants.csv:5: root_depth_in: is blank\n"
        # 5000 mm are 196.85… in.
        "  accepted: a number over 0 and up to 196.8",
        "plants.csv:3: depletion: 40 is not a depletion\n"
        "  accepted: a number over 0 and up to 0.9\n  hint: write 0.4 for 40 %",
        "plants.csv:5: depletion: is blank\n  accepted: a number over 0 and up to 0.9",
        "plants.csv:4: longest_gap_days: 0 is not a longest gap\n"
        "  accepted: a whole number from 1 to 60",
        'plants.csv:3: plant: "Fern" is named twice (first in line 2)',
    ]  # fmt: skip


def test_own_soil_takes_intake_from_its_row_and_accumulation_from_its_like(us):
    us.write(
        "soils.csv",
        "soil,available_water_in_ft,intake_in_h,like,note\n"
        "Hill side,1.8,0.2,Clay Loam,dug in May\nLOAM,2,0.3,,\n",
    )
    us.replace("zones.csv", "warm-season turf,clay loam", "warm-season turf,hillside")
    soils, zones = us.site().soils, us.site().zones
    package = library.package_soils()
    loam, hill = zones.soil

    # Exact: 1.8 in/ft is 1.8 / 12 * 1000 mm/m = 150; 0.2 in/h is 5.08 mm/h.
    assert soils.names[hill] == "Hill side"
    assert soils.available_water_mm_m[hill] == pytest.approx(150, rel=1e-12)
    assert soils.intake_mm_h[hill] == pytest.approx(5.08, rel=1e-12)
    clay_loam = package.names.index("clay loam")
    assert (soils.accumulation_mm[hill] == package.accumulation_mm[clay_loam]).all()
    assert soils.notes[hill] == "dug in May"
    assert soils.names[loam] == "LOAM"
    assert soils.intake_mm_h[loam] == pytest.approx(7.62, rel=1e-12)
    own_loam = package.names.index("loam")
    assert (soils.accumulation_mm[loam] == package.accumulation_mm[own_loam]).all()
    assert len(soils.names) == len(package.names) + 1


def test_own_soil_needs_a_texture_like_it(us):
    us.write("soils.csv", "soil,available_water_in_in,intake_in_h\nlome,0.2,0.3\n")

    assert us.problems() == [
        "soils.csv:2: like: a soil of your own needs a texture like it\n"
        f"  accepted: {SOILS}\n  hint: did you mean loam?"
    ]


def test_mistakes_in_own_soils_are_told_once_each(us):
    us.write(
        "soils.csv",
        "soil,available_water_in_in,intake_in_h,like\nbank,0.2,0.3,clay loom\n"
        "fill,0.2,30,loam\nfill,2,0.3,loam\n",
    )

    # 500 mm/h are 19.68… in/h, 400 mm/m are 0.4 in/in.
    assert us.problems() == [
        "soils.csv:4: available_water_in_in: 2 is not an available water\n"
        "  accepted: a number over 0 and up to 0.4\n"
        "  hint: for 2 mm/m write available_water_mm_m",
        "soils.csv:3: intake_in_h: 30 is not an intake\n"
        "  accepted: a number over 0 and up to 19.68\n"
        "  hint: for 30 mm/h write intake_mm_h",
        'soils.csv:2: like: "clay loom" is not a soil of the table\n'
        f"  accepted: {SOILS}\n  hint: did you mean clay loam?",
        'soils.csv:4: soil: "fill" is named twice (first in line 3)',
    ]


@pytest.mark.parametrize(
    ("file", "column"), [("plants.csv", "salt_threshold"), ("soils.csv", "intake")]
)
def test_unknown_column_of_own_tables_hides_nothing_else(us, file, column):
    us.write(file, f"plant,soil,{column}\nx,y,3\n")
    problems = us.problems()

    assert all(problem.startswith(f"{file}:1: ") for problem in problems)
    assert len(problems) == len(set(problems)) > 2
