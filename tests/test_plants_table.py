"""The package's plants against published values."""

import re

import pytest
from package_tables import (
    MONTHS,
    STATUSES,
    coefficients,
    read_by,
    read_table,
    source_parts,
)


def test_plants_are_unique_without_regard_to_case_hyphens_and_spaces():
    names = [row["plant"] for row in read_table("plants")]
    folded = [re.sub(r"[\s-]", "", name).casefold() for name in names]

    assert len(set(folded)) == len(names)
    assert all(re.fullmatch(r"[a-z0-9]+([ -][a-z0-9]+)*", name) for name in names)


def test_plants_have_one_coefficient_or_twelve_never_both():
    for row in read_table("plants"):
        months_filled = [bool(row[month]) for month in MONTHS]

        assert all(months_filled) if not row["coefficient"] else not any(months_filled)


def test_plants_numbers_are_within_sense():
    for row in read_table("plants"):
        # Oaks of dry summers want no water then (read: extension pages on oaks).
        least = 0 if row["plant"] == "native oaks" else 0.05
        assert all(least <= value <= 1.3 for value in coefficients(row))
        # Landscape handbooks: annuals from 6 in to trees down to 36 in (from memory).
        assert 6 <= float(row["root_depth_in"]) <= 36
        # FAO-56, p. 162: the depletion share is limited to 0.1 to 0.8.
        assert 0.1 <= float(row["depletion"]) <= 0.8
        if row["salt_threshold_ds_m"]:
            assert 0 < float(row["salt_threshold_ds_m"]) < 10


# Common practice: the longest gap by kind of plant. Where the Arizona water agencies'
# booklet for the desert says more (second-hand): low-use shrubs and ground covers up to
# 21 days in summer, high-use ground covers up to 10 in spring; dormant bermuda 14 in
# March (Mesa AZ, second-hand).
def test_plants_longest_gap_follows_the_group_or_the_desert_agencies():
    gap_days = {
        "annual": 4,
        "vegetable": 4,
        "turf": 7,
        "groundcover": 7,
        "shrub": 14,
        "perennial": 14,
        "tree": 28,
        "desert": 28,
    }

    for row in read_table("plants"):
        expected = gap_days[row["group"]]
        if "second-hand" in source_parts(row)["gap"][1]:
            expected = {"turf": 14, "desert": 28}.get(row["group"], 21)
            if row["plant"].startswith("groundcover") and row["coefficient"] > "0.20":
                expected = 10
        assert int(row["longest_gap_days"]) == expected, row["plant"]


# Arizona water agencies' booklet for the desert (second-hand), least of any season:
# desert trees, shrubs and ground covers 7 days, cacti 14. Trees that use more: twice a
# week at most (common practice); oaks of dry summers seldom (extension pages, read).
def test_plants_shortest_gap_is_that_of_the_desert_agencies():
    fourteen = {"succulents", "native oaks"}
    seven = {"native plants", "desert plants", "olive trees"}

    for row in read_table("plants"):
        name, given = row["plant"], row["shortest_gap_days"]
        if name in fourteen:
            assert given == "14"
        elif name in seven or name.endswith("low water"):
            assert given == "7", name
        else:
            assert given == ("3" if row["group"] == "tree" else ""), name
        assert int(given or 1) <= int(row["longest_gap_days"])


def test_plant_names_lead_to_rows_and_are_none_themselves():
    plants = {row["plant"] for row in read_table("plants")}
    names = [row["name"] for row in read_table("plant_names")]

    assert len({name.casefold() for name in names}) == len(names)
    assert not plants & set(names)
    for row in read_table("plant_names"):
        assert set(row["plants"].split("; ")) <= plants, row["name"]


# Harivandi and others 2009, UC ANR 8395 (read): shares of ET0 for the best look and
# for a deficit that is stood.
def test_plants_turf_by_quality_is_that_of_its_leaflet():
    by = read_by("plants", "plant")
    warm = ("bermuda grass", "st augustine grass", "seashore paspalum", "zoysia grass",
            "buffalo grass")  # fmt: skip
    cool = ("tall fescue", "perennial ryegrass", "kentucky bluegrass", "fine fescue")

    assert {by[name]["coefficient"] for name in warm} == {"0.60"}
    assert {by[name]["coefficient"] for name in cool} == {"0.80"}
    assert by["warm-season turf deficit"]["coefficient"] == "0.40"
    assert by["cool-season turf deficit"]["coefficient"] == "0.60"


# AZMET report of 18 Mar 2024 (read): bermuda 1 April to 14 October 0.73 acceptable and
# 0.83 high quality, rye 15 October to 31 March 0.70 and 0.80; October by its days.
@pytest.mark.parametrize(
    ("quality", "bermuda", "rye"), [("", 0.73, 0.70), (" high quality", 0.83, 0.80)]
)
def test_plants_overseeded_turf_is_that_of_the_desert_report(quality, bermuda, rye):
    found = coefficients(read_by("plants", "plant")[f"overseeded turf{quality}"])

    assert found[3:9] == [bermuda] * 6
    assert found[:3] == [*found[10:], rye] == [rye] * 3
    assert found[9] == pytest.approx((14 * bermuda + 17 * rye) / 31, abs=0.005)


def test_plants_source_says_where_each_value_is_from():
    for row in read_table("plants"):
        values = {"coefficient", "depletion", "root depth", "gap"}
        if row["salt_threshold_ds_m"]:
            values.add("salt threshold")
        if row["tolerance"]:
            values.add("tolerance")

        assert set(source_parts(row)) == values, row["plant"]


# The status of a row is the weakest of its coefficient and its depletion share; a
# salt threshold is used only where salinity is given and always says from memory.
def test_plants_status_is_the_weakest_of_coefficient_and_depletion():
    for row in read_table("plants"):
        parts = source_parts(row)
        weakest = max(
            parts["coefficient"][1], parts["depletion"][1], key=STATUSES.index
        )

        assert row["status"] == weakest, row["plant"]
        if row["salt_threshold_ds_m"]:
            assert parts["salt threshold"] == ("FAO-29", "from memory")


# University of California, Center for Landscape & Urban Horticulture, page
# "Turfgrass Crop Coefficients (Kc)", table 1; after Meyer, Gibeault and Youngner 1985.
# Warm-season January as printed there, 0.61.
@pytest.mark.parametrize(
    ("plant", "printed"),
    [
        (
            "cool-season turf california",
            "0.61 0.64 0.75 1.04 0.95 0.88 0.94 0.86 0.74 0.75 0.69 0.60",
        ),
        (
            "warm-season turf california",
            "0.61 0.54 0.76 0.72 0.79 0.68 0.71 0.71 0.62 0.54 0.58 0.55",
        ),
    ],
)
def test_plants_monthly_turf_sets_are_the_printed_ones(plant, printed):
    row = read_by("plants", "plant")[plant]

    assert coefficients(row) == [float(value) for value in printed.split()]


@pytest.mark.parametrize(
    ("plant", "printed"),
    [
        # Costello et al. 2000, chapter on special situations: turf coefficients from
        # 0.6 (warm-season) to 0.8 (cool-season).
        ("cool-season turf", 0.8),
        ("warm-season turf", 0.6),
        # FAO-56, table 12, p. 112, Kc mid.
        ("cool-season turf fao56", 0.95),
        ("warm-season turf fao56", 0.85),
        # FAO-56, table 12, p. 112-113, Kc mid; olives at 40 to 60 % cover.
        ("berry bushes", 1.05),
        ("olive trees", 0.70),
        # ANSI/ASABE S623.1: trees 0.5 in low-humidity climates (conference abstract
        # by the authors of its tree part); annual flowers, woody plants with
        # herbaceous perennials and desert plants from memory.
        ("conifer trees", 0.5),
        ("annual flowers", 0.8),
        ("mixed shrubs and perennials", 0.5),
        ("desert plants", 0.3),
    ],
)
def test_plants_coefficients_are_the_published_ones(plant, printed):
    row = read_by("plants", "plant")[plant]

    assert coefficients(row) == [printed] * 12


# California landscape ordinance, 23 CCR 2.7, plant factors: very low under 0.1, low 0.1
# to 0.3, moderate 0.4 to 0.6, high 0.7 to 1.0 (second-hand).
@pytest.mark.parametrize(
    ("words", "low", "high"),
    [
        ("very low", 0.0, 0.1),
        ("low", 0.1, 0.3),
        ("moderate", 0.4, 0.6),
        ("high", 0.7, 1.0),
    ],
)
@pytest.mark.parametrize("kind", ["perennials", "groundcover", "shrubs", "trees"])
def test_plants_by_water_use_lie_inside_their_class(kind, words, low, high):
    row = read_by("plants", "plant")[f"{kind} {words} water"]

    assert all(low < value < high for value in coefficients(row))


# FAO-56, table 22, p. 163-165; tomato: example 36, p. 166. Small vegetables are printed
# as a range, 0.20 to 0.45. Citrus (70 % canopy) from memory.
FAO56_DEPLETION = {
    **dict.fromkeys(
        (
            "cool-season turf deficit",
            "overseeded turf",
            "overseeded turf high quality",
            "kentucky bluegrass",
            "perennial ryegrass",
            "tall fescue",
            "fine fescue",
        ),
        (0.40, 0.40),
    ),
    **dict.fromkeys(
        (
            "warm-season turf deficit",
            "dormant turf",
            "dormant turf high quality",
            "bermuda grass",
            "zoysia grass",
            "buffalo grass",
            "st augustine grass",
            "seashore paspalum",
        ),
        (0.50, 0.50),
    ),
    "cool-season turf": (0.40, 0.40),
    "cool-season turf california": (0.40, 0.40),
    "cool-season turf fao56": (0.40, 0.40),
    "warm-season turf": (0.50, 0.50),
    "warm-season turf california": (0.50, 0.50),
    "warm-season turf fao56": (0.50, 0.50),
    "berry bushes": (0.50, 0.50),
    "conifer trees": (0.70, 0.70),
    "fruit trees": (0.50, 0.50),
    "citrus trees": (0.50, 0.50),
    "olive trees": (0.65, 0.65),
    "palms": (0.65, 0.65),
    "strawberries": (0.20, 0.20),
    "vegetables": (0.20, 0.45),
    "small vegetables": (0.20, 0.45),
    "tomatoes": (0.40, 0.40),
}


def test_plants_depletion_is_that_of_fao56_where_cited():
    cited = {
        row["plant"]: float(row["depletion"])
        for row in read_table("plants")
        if source_parts(row)["depletion"][0].startswith("FAO-56")
    }

    assert cited.keys() == FAO56_DEPLETION.keys()
    for plant, (low, high) in FAO56_DEPLETION.items():
        assert low <= cited[plant] <= high, plant


# Extension texts: lawn roots 6 to 12 in (a Colorado audit programme), 6 to 8 in, and
# tree and shrub roots 18 to over 24 in (University of Nevada Extension). Landscape
# handbooks, from memory: annual flowers 6 to 8, ground cover 12, shrubs 18 to 24,
# trees 24 to 36 in.
@pytest.mark.parametrize(
    ("group", "low", "high"),
    [
        ("turf", 6, 12),
        ("annual", 6, 8),
        ("groundcover", 12, 12),
        ("tree", 24, 36),
    ],
)
def test_plants_root_depths_are_those_of_managed_landscapes(group, low, high):
    depths = [
        float(row["root_depth_in"])
        for row in read_table("plants")
        if row["group"] == group
    ]

    assert depths
    assert all(low <= depth <= high for depth in depths)


# Ayers and Westcot 1985, FAO-29 rev. 1, table 4, ECe at full yield (from memory): tall
# fescue 3.9, bermuda grass 6.9, tomato 2.5, orange 1.7, strawberry 1.0, carrot 1.0,
# bean 1.0, blackberry 1.5, plum 1.5, perennial rye 5.6, date palm 4.0.
@pytest.mark.parametrize(
    ("plant", "printed"),
    [
        ("cool-season turf", 3.9),
        ("warm-season turf", 6.9),
        ("tall fescue", 3.9),
        ("bermuda grass", 6.9),
        ("perennial ryegrass", 5.6),
        ("palms", 4.0),
        ("tomatoes", 2.5),
        ("citrus trees", 1.7),
        ("fruit trees", 1.5),
        ("berry bushes", 1.5),
        ("strawberries", 1.0),
        ("vegetables", 1.0),
        ("small vegetables", 1.0),
    ],
)
def test_plants_salt_thresholds_are_those_of_fao29(plant, printed):
    row = read_by("plants", "plant")[plant]

    assert float(row["salt_threshold_ds_m"]) == printed
