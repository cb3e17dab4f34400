"""parts.csv: shares of a zone's ground, and what a part leaves to its zone."""

import dataclasses

import numpy as np
import pytest

from scheduler.inputs.parts import zones_by_part

HEADER = "zone,part,share,plant,soil,slope_percent,microclimate_factor,root_depth_mm\n"


def test_a_zone_without_parts_is_one_part(us):
    parts = us.site().parts

    assert parts.zone.tolist() == [0, 1]
    assert parts.part == ("", "")
    assert parts.share.tolist() == [1, 1]


def test_parts_stand_by_their_zone_whatever_their_order(us):
    us.write("parts.csv", HEADER + "2,a,0.3,,,,,\n1,x,1,,,,,\n2,b,0.7,,,,,\n")
    parts = us.site().parts

    assert parts.zone.tolist() == [0, 1, 1]
    assert parts.part == ("x", "a", "b")
    np.testing.assert_allclose(parts.share, [1, 0.3, 0.7])


# Exact: what 0.25 and 0.35 leave is 0.4; and shares that make 0.995 are within 0.01.
@pytest.mark.parametrize(
    ("shares", "expected"),
    [(["0.25", "", "0.35"], [0.25, 0.4, 0.35]),
     (["", ""], [0.5, 0.5]),
     (["0.595", "0.4"], [0.595 / 0.995, 0.4 / 0.995])],
)  # fmt: skip
def test_blank_shares_are_what_the_others_leave(us, shares, expected):
    rows = "".join(f"1,{turn},{share},,,,,\n" for turn, share in enumerate(shares))
    us.write("parts.csv", HEADER + rows)
    parts = us.site().parts

    np.testing.assert_allclose(parts.share[parts.zone == 0], expected)


def test_a_blank_of_a_part_is_its_zones_and_the_rest_is_its_own(us):
    us.write("parts.csv", HEADER + "1,sun,0.5,,,,,\n1,bed,0.5,hedges,clay,9,0.6,500\n")
    site = us.site()
    rows, zones = zones_by_part(site.zones, site.parts), site.zones

    for field in dataclasses.fields(rows):
        of_sun = getattr(rows, field.name)[0]
        of_zone = getattr(zones, field.name)[0]
        assert of_sun == of_zone or (np.isnan(of_sun) and np.isnan(of_zone))
    own = ("slope_percent", "root_depth_mm", "microclimate_factor")
    bed = {name: getattr(rows, name)[1] for name in own}
    assert site.plants.names[rows.plant[1]] == "hedges"
    assert site.soils.names[rows.soil[1]] == "clay"
    assert bed == {"slope_percent": 9, "root_depth_mm": 500, "microclimate_factor": 0.6}


# A lawn's own coefficient is none of the tree's that stands in it.
def test_a_part_of_another_plant_takes_that_plants_numbers(us):
    names = "uniformity,plant_factor,longest_gap_days,shortest_gap_days"
    us.replace("zones.csv", "uniformity", names)
    us.replace("zones.csv", "0.62", "0.62,0.9,2,1")
    us.write("parts.csv", HEADER + "1,lawn,0.5,,,,,\n1,bed,0.5,hedges,,,,\n")
    site = us.site()
    rows = zones_by_part(site.zones, site.parts)

    assert rows.plant_factor[:1].tolist() == [0.9]
    assert rows.longest_gap_days[:1].tolist() == [2]
    assert rows.shortest_gap_days[:1].tolist() == [1]
    own = rows.plant_factor, rows.longest_gap_days, rows.shortest_gap_days
    assert np.isnan([values[1] for values in own]).all()


@pytest.mark.parametrize(
    ("rows", "problem"),
    [("1,sun,0.7,,,,,\n1,shade,0.4,,,,,\n",
      "parts.csv:3: share: the parts of zone 1 make 1.1\n"
      "  accepted: shares that make 1, to 0.01\n"
      "  hint: a blank share is what the others leave"),
     ("1,sun,0.7,,,,,\n1,shade,0.2,,,,,\n",
      "parts.csv:3: share: the parts of zone 1 make 0.9\n"
      "  accepted: shares that make 1, to 0.01\n"
      "  hint: a blank share is what the others leave"),
     ("1,sun,0.7,,,,,\n1,shade,0.3,,,,,\n1,wall,,,,,,\n",
      "parts.csv:4: share: the parts of zone 1 make 1 and leave nothing for the blank "
      "one\n  accepted: shares that make 1, to 0.01\n"
      "  hint: a blank share is what the others leave"),
     ("1,sun,0.7,,,,,\n1,Sun,0.3,,,,,\n",
      'parts.csv:3: part: "Sun" is a part of that zone already (line 2)\n'
      "  accepted: a name of its own for each part of a zone"),
     ("7,sun,1,,,,,\n",
      'parts.csv:2: zone: "7" is not a zone of zones.csv\n  accepted: 1, 2'),
     # The part that is missing may be the one with the typo: that alone is told.
     ("1,sun,0.7,,,,,\n7,shade,0.3,,,,,\n",
      'parts.csv:3: zone: "7" is not a zone of zones.csv\n  accepted: 1, 2'),
     ("1,sun,1,grass,,,,\n", None),
     ("1,,1,,,,,\n", None)],
)  # fmt: skip
def test_what_is_wrong_with_parts_is_told_with_its_row(us, rows, problem):
    us.write("parts.csv", HEADER + rows)
    problems = us.problems()

    assert len(problems) == 1
    assert problems[0].startswith("parts.csv:")
    if problem is not None:
        assert problems == [problem]


def test_rates_of_some_parts_alone_are_refused(us):
    us.write("parts.csv", "zone,part,share,rate_mm_h\n1,sun,0.5,12\n1,shade,0.5,\n")

    assert us.problems() == [
        "parts.csv:3: rate: other parts of the zone have a rate, this one has none\n"
        "  accepted: a rate for every part of the zone, or for none"
    ]
