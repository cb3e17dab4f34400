"""Checks what is said of a choice of nozzles: text, markdown, CSV and JSON."""

import csv
import io
import json
from pathlib import Path

import pytest

from scheduler.inputs.chart import read_chart
from scheduler.inputs.folder import read_site
from scheduler.plan.choosing import choose_nozzles
from scheduler.plan.site import plan_site
from scheduler.rates.choice.heads import new_heads
from scheduler.report import blocks, data
from scheduler.report.blocks import WIDTH
from scheduler.report.views.heads import nozzles

ROOT = Path(__file__).parents[4]
GPM, FT = 3.785411784, 0.3048
SITE = """\
units = "us"
[site]
latitude = 40.0
longitude = -100.0
[climate]
file = "climate.csv"
[plan]
by = "months"
[supply]
{supply}
"""
CLIMATE = "month,et0_in_day,tmin_f,tmax_f,wind_mph,rain_in\n" + "".join(
    f"{month},0.25,50,77,5,0\n" for month in range(1, 13)
)
ZONES = """\
zone,name,plant,soil,area_ft2,head_kind
1,Front,cool-season turf,sand,3675,rotor
"""
HEADS = """\
zone,head,count,nozzle,arc_deg,radius_ft,flow_gpm,pressure_psi,spacing_ft
1,middle,1,x,360,40,1,45,35
1,sides,3,x,180,40,1,45,35
1,corners,2,x,90,40,1,45,35
"""
SUPPLY = "design_flow_gpm = {gpm}\npressure_psi = 45\nwind_mph = 3"
HEAD_LINE = "nozzle,pressure_psi,flow_gpm,radius_ft\n"
CHART = HEAD_LINE + "".join(f"{q:g},45,{q},40\n" for q in (8, 6, 4, 3, 2, 1.5))


@pytest.fixture
def chosen(tmp_path):
    """Function from a supply and a chart to the choice."""

    def choose(supply, chart=CHART, heads=HEADS):
        files = {
            "site.toml": SITE.format(supply=supply),
            "climate.csv": CLIMATE,
            "zones.csv": ZONES,
            "heads.csv": heads,
            "chart.csv": chart,
        }
        for name, text in files.items():
            (tmp_path / name).write_text(text, encoding="utf-8")
        plan = plan_site(read_site(tmp_path))
        return choose_nozzles(plan, read_chart(tmp_path / "chart.csv"))

    return choose


def part(text, title):
    """Lines of a report from a title to the next blank line, joined."""
    lines = text.split(title, 1)[1].split("\n\n", 1)[0].splitlines()
    return " ".join(line.strip() for line in lines).strip()


@pytest.mark.parametrize("example", ["home", "southern_garden", "business_park"])
@pytest.mark.parametrize("units", ["us", "metric"])
def test_examples_are_told_within_the_width(example, units):
    folder = ROOT / "examples" / example
    plan = choose_nozzles(
        plan_site(read_site(folder)), read_chart(folder / "nozzles.csv")
    )
    text = blocks.text(nozzles.blocks(plan, units), units)

    assert max(map(len, text.splitlines())) <= WIDTH
    assert "Every zone fits." in " ".join(text.split())
    for choice in plan.choices:
        assert f"Zone {plan.before.site.zones.zone[choice.offer.zone]}" in text
    assert "backflow" in text
    assert "{" not in text
    assert "nan" not in text.split()


# The contract of the JSON: these keys, in this order, and no others.
def test_data_are_those_of_the_contract(chosen):
    plan = chosen(SUPPLY.format(gpm=18))
    content = json.loads(data.to_json(nozzles.to_data(plan)))

    assert list(content) == ["format", "zones"]
    (zone,) = content["zones"]
    assert list(zone) == ["zone", "fits", "flow_l_min", "pressure_kpa",
                          "design_flow_l_min", "worst_share", "heads", "valves",
                          "fewest_changes", "would_do"]  # fmt: skip
    assert zone["fewest_changes"] is None
    assert zone["would_do"] == {}
    assert zone["zone"] == "1"
    assert zone["fits"] is True
    # Exact: 6 + 3 · 3 + 2 · 1.5 = 18 US gallons a minute, and 40 ft.
    assert zone["flow_l_min"] == pytest.approx(18 * GPM)
    assert zone["design_flow_l_min"] == pytest.approx(18 * GPM)
    assert zone["worst_share"] == pytest.approx(1.0)
    assert zone["valves"] == [["middle", "sides", "corners"]]
    assert [list(head) for head in zone["heads"]] == [
        ["head", "nozzle", "flow_l_min", "radius_m"]
    ] * 3
    middle = zone["heads"][0]
    assert (middle["head"], middle["nozzle"]) == ("middle", "6")
    assert middle["flow_l_min"] == pytest.approx(6 * GPM)
    assert middle["radius_m"] == pytest.approx(40 * FT)


def test_data_name_a_row_on_each_valve_that_has_some_of_it(chosen):
    (zone,) = nozzles.to_data(chosen(SUPPLY.format(gpm=15)))["zones"]

    assert zone["fits"] is False
    assert len(zone["valves"]) == 2
    assert set(zone["valves"][0]) | set(zone["valves"][1]) == {
        "middle",
        "sides",
        "corners",
    }
    assert "sides" in set(zone["valves"][0]) & set(zone["valves"][1])


def test_data_have_null_where_the_chart_has_no_nozzle(chosen):
    chart = "nozzle,arc_deg,pressure_psi,flow_gpm\nF,360,45,6\nH,180,45,3\n"
    content = json.loads(
        data.to_json(nozzles.to_data(chosen(SUPPLY.format(gpm=18), chart)))
    )

    corners = content["zones"][0]["heads"][2]
    assert corners == {"head": "corners", "nozzle": None, "flow_l_min": None,
                       "radius_m": None}  # fmt: skip
    assert content["zones"][0]["heads"][0]["radius_m"] is None


def test_what_fits_is_told_with_flow_supply_and_match(chosen):
    text = blocks.text(nozzles.blocks(chosen(SUPPLY.format(gpm=20)), "us"), "us")

    assert part(text, "Zone 1: Front (fits)") == (
        "18.0 gpm at 45 psi, of 20.0 gpm that the supply gives; heads lay 100 % of the "
        "mean"
    )
    assert "Cautions" not in text


def test_a_supply_too_small_is_told_with_both_next_steps(chosen):
    text = blocks.text(nozzles.blocks(chosen(SUPPLY.format(gpm=15)), "us"), "us")
    told = part(text, "Zone 1: Front (does not fit)")

    # The smallest matched set draws 18; two valves of 15 carry 24: 12 on each.
    assert (
        "supply: the smallest set that matches draws 18.0 gpm, 3.00 gpm more than the "
        "supply gives: 6 on middle; 3 on sides; 1.5 on corners" in told
    )
    assert "The best that one valve carries: 15.0 gpm" in told
    assert "Split over 2 valves, each for the same minutes" in told
    assert "valve 1, 12.0 gpm: middle and 1 of sides" in told
    assert "valve 2, 12.0 gpm: 2 of sides and corners" in told


def test_no_match_is_told_with_a_valve_for_each_arc(chosen):
    plan = chosen(SUPPLY.format(gpm=18), HEAD_LINE + "3,45,3,40\n")
    told = part(
        blocks.text(nozzles.blocks(plan, "us"), "us"), "Zone 1: Front (does not fit)"
    )

    assert "match: no set of nozzles brings every head within 10 % of the mean" in told
    # 3 gpm on every head of 12 quarters of ground lay 50, 100 and 200 % of 1.5 gpm.
    best = "18.0 gpm at 45 psi, heads lay 50 to 200 % of the mean: 3 on middle, sides"
    assert best in told
    assert "Split over 3 valves, each with minutes of its own" in told
    assert "valve 3, 6.00 gpm: corners" in told


LIMITS = {
    "arc": (
        "nozzle,arc_deg,pressure_psi,flow_gpm,radius_ft\nF,360,45,6,40\nH,180,45,3,40\n",
        "arc: the chart has no nozzle of this kind of head for 90° (corners): add its "
        "rows, or take a nozzle of adjustable arc",
    ),
    "too short": (
        CHART.replace(",40\n", ",28\n"),
        "throw: from middle, sides and corners the farthest nozzle throws 28.0 ft, too "
        "short for 35.0 ft to the next head in wind of 3 mph: heads between, more "
        "pressure, or heads that throw farther",
    ),
    # Exact: 30 ft of the 35 / 1.1 = 31.8 ft that the rule asks; 30 · 1.1 = 33 ft apart.
    "a little short": (
        CHART.replace("1.5,45,1.5,40", "1.5,45,1.5,30"),
        "throw: 6, 3 and 1.5 match, 18.0 gpm at 45 psi; 1.5 on corners throws "
        "30.0 ft of 31.8 ft: accept it, or bring the heads nearer by 2.0 ft",
    ),
    "too far": (
        CHART.replace(",40\n", ",71\n"),
        "throw: on middle, sides and corners even the shortest nozzle throws 71.0 ft, "
        "too far for 35.0 ft to the next head: heads of another kind",
    ),
    "a head alone": (
        HEAD_LINE + "90,45,90,40\n45,45,45,40\n22.5,45,22.5,40\n",
        "supply: one head alone draws 90.0 gpm, the supply gives 18.0 gpm: smaller "
        "nozzles, or more supply",
    ),
}


@pytest.mark.parametrize(("chart", "line"), LIMITS.values(), ids=LIMITS)
def test_limit_that_binds_is_told_with_what_to_do(chosen, chart, line):
    text = blocks.text(nozzles.blocks(chosen(SUPPLY.format(gpm=18), chart), "us"), "us")

    assert line in part(text, "Zone 1: Front (does not fit)")


CAUTIONS = {
    "supply-taken": (
        "pressure_psi = 45",
        CHART + "1,45,1,40\n0.5,45,0.5,40\n",
        "supply-taken: the supply is not known; taken as what the largest zone draws "
        "today, 6.00 gpm: try it, and look at the stream",
    ),
    "pressure-taken": (
        "design_flow_gpm = 18",
        CHART,
        "pressure-taken: zone 1: the pressure at the heads is not known; taken as "
        "usual for the kind of head, 45 psi: read it at a running head",
    ),
    "beyond-chart": (
        "design_flow_gpm = 18\npressure_psi = 40",
        CHART,
        "beyond-chart: zone 1: 40 psi is beyond the chart's rows of 6, 3 and 1.5: flow "
        "by the square root of the pressure, the throw is a guess; try one",
    ),
    "throw-too-far": (
        SUPPLY.format(gpm=18),
        CHART.replace(",40\n", ",43\n"),
        "throw-too-far: zone 1: nothing that throws shorter suits middle, sides and "
        "corners: turn it down, and see that the stream stays even",
    ),
    "throw-unknown": (
        SUPPLY.format(gpm=18),
        "nozzle,pressure_psi,flow_gpm\n6,45,6\n3,45,3\n1.5,45,1.5\n",
        "throw-unknown: zone 1: the chart gives no throw for 6, 3 and 1.5: see that it "
        "reaches the next head",
    ),
    "wind": (
        SUPPLY.format(gpm=18).replace("wind_mph = 3", "wind_mph = 9"),
        CHART,
        "wind-standard-angle: zone 1: standard-angle nozzles drift in wind of 9 mph: "
        "low-angle nozzles hold better, or water when it is calm",
    ),
}


@pytest.mark.parametrize(("supply", "chart", "line"), CAUTIONS.values(), ids=CAUTIONS)
def test_caution_is_told_in_words(chosen, supply, chart, line):
    assert line in nozzles.caution_lines(chosen(supply, chart), "us")


# Halves of 4 gpm and a full of 8 are right already: only the corners change, though
# what the supply gives would carry more.
def test_fewest_changes_are_told_beside_the_best_set(chosen):
    heads = HEADS.replace("middle,1,x", "middle,1,6").replace("sides,3,x", "sides,3,3")
    plan = chosen(SUPPLY.format(gpm=24), heads=heads)
    text = blocks.text(nozzles.blocks(plan, "us"), "us")
    (zone,) = nozzles.to_data(plan)["zones"]

    assert [head["nozzle"] for head in zone["heads"]] == ["8", "4", "2"]
    assert zone["fewest_changes"]["changed_heads"] == 2
    fewest = [head["nozzle"] for head in zone["fewest_changes"]["heads"]]
    assert fewest == ["6", "3", "1.5"]
    assert (
        "Fewest changes, 2 of 6 heads, not 6: 1.5 on corners; 18.0 gpm at 45 psi, "
        "heads lay 100 % of the mean. Taken with --fewest-changes"
    ) in part(text, "Zone 1: Front (fits)")


def test_more_cycles_are_offered_with_what_they_give():
    folder = ROOT / "examples" / "business_park"
    plan = choose_nozzles(
        plan_site(read_site(folder)), read_chart(folder / "nozzles.csv")
    )
    text = " ".join(blocks.text(nozzles.blocks(plan, "us"), "us").split())

    offered = [c for c in plan.choices if c.with_more_cycles]
    assert offered
    assert text.count("with --allow-more-cycles:") == len(offered)


def test_markdown_says_what_the_text_says(chosen):
    plan = chosen(SUPPLY.format(gpm=15))
    markdown = blocks.markdown(nozzles.blocks(plan, "us"), "us")

    assert markdown.startswith("# Nozzles: ")
    assert "## Zone 1: Front (does not fit)" in markdown
    assert "Split over 2 valves" in markdown
    assert "| middle" in markdown


def test_csv_has_a_row_for_each_row_of_heads(chosen):
    plan = chosen(SUPPLY.format(gpm=18))
    text = data.to_csv(nozzles.heads_table(plan), "us")
    rows = list(csv.DictReader(io.StringIO(text)))

    assert [row["nozzle"] for row in rows] == ["6", "3", "1.5"]
    assert [row["zone"] for row in rows] == ["1"] * 3
    assert [float(row["flow_gpm"]) for row in rows] == [6, 3, 1.5]
    assert float(rows[0]["radius_ft"]) == 40
    # Exact: 96.25 · 6 / 35² in/h, to the six digits that are written.
    assert float(rows[0]["rate_in_h"]) == pytest.approx(96.25 * 6 / 35**2, rel=1e-5)


def test_csv_is_blank_where_there_is_no_nozzle(chosen):
    chart = "nozzle,arc_deg,pressure_psi,flow_gpm\nF,360,45,6\nH,180,45,3\n"
    text = data.to_csv(nozzles.heads_table(chosen(SUPPLY.format(gpm=18), chart)), "us")

    corners = list(csv.DictReader(io.StringIO(text)))[2]
    assert (corners["nozzle"], corners["flow_gpm"], corners["radius_ft"]) == ("",) * 3


def test_only_zones_that_fit_are_written(chosen):
    none = chosen(SUPPLY.format(gpm=15))
    assert new_heads(none.choices, none.chart) == {}
    plan = chosen(SUPPLY.format(gpm=18))
    written = new_heads(plan.choices, plan.chart)

    assert [head.nozzle for head in written.values()] == ["6", "3", "1.5"]
    assert list(written) == [0, 1, 2]


def test_limits_have_a_line_each_for_output_without_a_place_for_them(chosen):
    assert nozzles.limit_lines(chosen(SUPPLY.format(gpm=18)), "us") == []
    assert nozzles.limit_lines(chosen(SUPPLY.format(gpm=15)), "us") == [
        "zone 1: supply: the smallest set that matches draws 18.0 gpm, 3.00 gpm more "
        "than the supply gives: 6 on middle; 3 on sides; 1.5 on corners"
    ]
