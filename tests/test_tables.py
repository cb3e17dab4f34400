"""Checks the package's tables against published values and the calendar."""

import csv
import importlib.resources
import itertools
import re

import pytest

MONTHS = [
    "jan",
    "feb",
    "mar",
    "apr",
    "may",
    "jun",
    "jul",
    "aug",
    "sep",
    "oct",
    "nov",
    "dec",
]
WEEKDAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
STATUSES = ("read", "second-hand", "from memory")
SOURCED_TABLES = (
    "plants", "soils", "slopes", "head_kinds", "spacing", "meters", "pipes",
    "backflow",
)  # fmt: skip

COLUMNS = {
    "plants": (
        "plant,group,coefficient,jan,feb,mar,apr,may,jun,jul,aug,sep,oct,nov,dec,"
        "root_depth_in,depletion,longest_gap_days,salt_threshold_ds_m,source,status,note"
    ),
    "soils": "soil,available_water_in_in,intake_in_h,source,status,note",
    "slopes": (
        "soil,slope_over_percent,slope_to_percent,accumulation_in,source,status"
    ),
    "head_kinds": (
        "head_kind,uniformity,pressure_psi,wetted_share,source,status,drips,"
        "reachable_uniformity,least_rate_in_h,most_rate_in_h,least_pressure_psi,"
        "least_cycle_min,limits_source,limits_status,measured_uniformity,"
        "measured_source,measured_status"
    ),
    "parity_days": "parity,weekdays,dates,most_in_week,longest_gap_days,squared_gaps",
}

# USDA Soil Survey Manual, chapter 3: the twelve texture classes.
USDA_TEXTURES = {
    "sand",
    "loamy sand",
    "sandy loam",
    "loam",
    "silt loam",
    "silt",
    "sandy clay loam",
    "clay loam",
    "silty clay loam",
    "sandy clay",
    "silty clay",
    "clay",
}

# University of California, page "Soil Characteristics": loams and silt loams are one
# group; clay loams, silty clay loams and sandy clay loams another; sandy clays, silty
# clays and clays a third, of which clay has the lower intake. The page has no silt;
# FAO-56, table 19, p. 144, has it next to silt loam in available water.
NEIGHBOURS = {
    "silt loam": "loam",
    "silt": "loam",
    "sandy clay loam": "clay loam",
    "silty clay loam": "clay loam",
    "sandy clay": "clay",
}


def table_text(name: str) -> str:
    path = importlib.resources.files("scheduler") / "tables" / f"{name}.csv"
    return path.read_bytes().decode("utf-8")


def read_table(name: str) -> list[dict[str, str]]:
    lines = table_text(name).splitlines()
    return list(csv.DictReader(lines, restkey="too many", strict=True))


def read_by(name: str, key: str) -> dict[str, dict[str, str]]:
    rows = read_table(name)
    by_key = {row[key]: row for row in rows}
    assert len(by_key) == len(rows)
    return by_key


def coefficients(row: dict[str, str]) -> list[float]:
    if row["coefficient"]:
        return [float(row["coefficient"])] * 12
    return [float(row[month]) for month in MONTHS]


def source_parts(row: dict[str, str]) -> dict[str, tuple[str, str]]:
    """Split `name (value, value[, status]); …` into value -> (name, status)."""
    found: dict[str, tuple[str, str]] = {}
    for part in row["source"].split("; "):
        match = re.fullmatch(r"([^()]+) \(([^()]+)\)", part)
        assert match, part
        words = match[2].split(", ")
        status = words.pop() if words[-1] in STATUSES else "read"
        for value in words:
            assert value not in found, (row, value)
            found[value] = (match[1], status)
    return found


# Every table


@pytest.mark.parametrize("name", COLUMNS)
def test_table_is_plain_comma_csv_with_its_columns_and_no_ragged_row(name):
    text = table_text(name)
    rows = read_table(name)

    assert text.splitlines()[0] == COLUMNS[name]
    assert text.endswith("\n")
    assert "\r" not in text
    assert all("too many" not in row and None not in row.values() for row in rows)
    assert all(cell == cell.strip() for row in rows for cell in row.values())


@pytest.mark.parametrize("name", SOURCED_TABLES)
def test_table_has_source_and_status_in_every_row(name):
    for row in read_table(name):
        assert row["source"]
        assert row["status"] in STATUSES


# Plants


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
        assert all(0 < value <= 1.3 for value in coefficients(row))
        # Landscape handbooks: annuals from 6 in to trees down to 36 in (from memory).
        assert 6 <= float(row["root_depth_in"]) <= 36
        # FAO-56, p. 162: the depletion share is limited to 0.1 to 0.8.
        assert 0.1 <= float(row["depletion"]) <= 0.8
        if row["salt_threshold_ds_m"]:
            assert 0 < float(row["salt_threshold_ds_m"]) < 10


# Common practice: the longest gap by kind of plant.
def test_plants_longest_gap_follows_the_group():
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
        assert int(row["longest_gap_days"]) == gap_days[row["group"]], row["plant"]


def test_plants_source_says_where_each_value_is_from():
    for row in read_table("plants"):
        values = {"coefficient", "depletion", "root depth", "gap"}
        if row["salt_threshold_ds_m"]:
            values.add("salt threshold")

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
# bean 1.0, blackberry 1.5, plum 1.5.
@pytest.mark.parametrize(
    ("plant", "printed"),
    [
        ("cool-season turf", 3.9),
        ("warm-season turf", 6.9),
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


# Soils and slopes


def test_soils_and_slopes_are_the_twelve_usda_textures():
    assert set(read_by("soils", "soil")) == USDA_TEXTURES
    assert {row["soil"] for row in read_table("slopes")} == USDA_TEXTURES


# Available water, in/in: single landscape values in common auditor use (USDA-NRCS NEH
# 652, chapter 2, family; from memory). Intake, in/h: Irrigation Association scheduling
# tables (second-hand).
@pytest.mark.parametrize(
    ("soil", "available_water_in_in", "intake_in_h"),
    [
        ("clay", 0.17, 0.10),
        ("silty clay", 0.17, 0.15),
        ("clay loam", 0.18, 0.20),
        ("loam", 0.17, 0.35),
        ("sandy loam", 0.12, 0.40),
        ("loamy sand", 0.08, 0.50),
        ("sand", 0.06, 0.60),
    ],
)
def test_soils_have_the_landscape_values(soil, available_water_in_in, intake_in_h):
    row = read_by("soils", "soil")[soil]

    assert float(row["available_water_in_in"]) == available_water_in_in
    assert float(row["intake_in_h"]) == intake_in_h
    assert "taken as" not in row["note"]


# FAO-56, table 19, p. 144: available water in m³/m³, the same number in in/in. The
# landscape clay loam has no row there. The landscape set must lie in these ranges.
@pytest.mark.parametrize(
    ("soil", "low", "high"),
    [
        ("sand", 0.05, 0.11),
        ("loamy sand", 0.06, 0.12),
        ("sandy loam", 0.11, 0.15),
        ("loam", 0.13, 0.18),
        ("silt loam", 0.13, 0.19),
        ("silt", 0.16, 0.20),
        ("silty clay loam", 0.13, 0.18),
        ("silty clay", 0.13, 0.19),
        ("clay", 0.12, 0.20),
    ],
)
def test_soils_available_water_is_within_fao56(soil, low, high):
    row = read_by("soils", "soil")[soil]

    assert low <= float(row["available_water_in_in"]) <= high


@pytest.mark.parametrize(("soil", "neighbour"), NEIGHBOURS.items())
def test_soils_and_slopes_without_own_values_equal_their_neighbour(soil, neighbour):
    soils = read_by("soils", "soil")
    slopes = {
        key: [
            {
                name: value
                for name, value in row.items()
                if name not in ("soil", "source")
            }
            for row in read_table("slopes")
            if row["soil"] == key
        ]
        for key in (soil, neighbour)
    }

    for column in ("available_water_in_in", "intake_in_h", "status"):
        assert soils[soil][column] == soils[neighbour][column]
    assert soils[soil]["note"].split(":")[0] == f"taken as {neighbour}"
    assert slopes[soil] == slopes[neighbour]


# Irrigation Association, Landscape Irrigation Scheduling and Water Management, 2005:
# allowed surface accumulation, in, at 0-3, 4-6, 7-12 and over 12 %. First column
# second-hand, the other three from memory.
@pytest.mark.parametrize(
    ("soil", "printed"),
    [
        ("clay", [0.20, 0.15, 0.10, 0.10]),
        ("silty clay", [0.23, 0.19, 0.16, 0.13]),
        ("clay loam", [0.26, 0.22, 0.18, 0.15]),
        ("loam", [0.30, 0.25, 0.21, 0.17]),
        ("sandy loam", [0.33, 0.29, 0.24, 0.20]),
        ("loamy sand", [0.36, 0.30, 0.26, 0.22]),
        ("sand", [0.40, 0.35, 0.30, 0.25]),
    ],
)
def test_slopes_have_the_published_accumulations(soil, printed):
    rows = [row for row in read_table("slopes") if row["soil"] == soil]

    assert [float(row["accumulation_in"]) for row in rows] == printed
    assert [row["status"] for row in rows] == ["second-hand"] + ["from memory"] * 3


@pytest.mark.parametrize("soil", sorted(USDA_TEXTURES))
def test_slopes_tile_from_level_up_and_accumulation_never_grows(soil):
    rows = [row for row in read_table("slopes") if row["soil"] == soil]
    accumulations = [float(row["accumulation_in"]) for row in rows]

    assert [row["slope_over_percent"] for row in rows] == ["0", "3", "6", "12"]
    assert [row["slope_to_percent"] for row in rows] == ["3", "6", "12", ""]
    assert all(a >= b for a, b in itertools.pairwise(accumulations))
