"""The verb `nozzles`: one zone, several charts, and each set at its own pressure."""

import json

import pytest
from cli_answers import EXAMPLES

HOME = EXAMPLES / "home"
CHART = HOME / "nozzles.csv"


def test_one_zone_is_chosen_for_as_among_all(run):
    every = json.loads(run("nozzles", HOME, "--chart", CHART, "--format", "json").out)
    one = run("nozzles", HOME, "--chart", CHART, "--zone", "2", "--format", "json")
    (found,) = json.loads(one.out)["zones"]

    assert one.status == 0
    assert found == next(zone for zone in every["zones"] if zone["zone"] == "2")


def test_a_chart_in_two_files_is_the_chart_in_one(run, tmp_path):
    header, *rows = [line for line in CHART.read_text(encoding="utf-8").splitlines()
                     if not line.startswith("#")]  # fmt: skip
    by_name = {}
    for row in rows:
        by_name.setdefault(row.split(",")[0], []).append(row)
    names = list(by_name)  # Of equal sets the first of the chart is taken.
    parts = names[: len(names) // 2], names[len(names) // 2 :]
    charts = []
    for place, part in enumerate(parts):
        lines = [header, *(row for name in part for row in by_name[name])]
        path = tmp_path / f"chart_{place}.csv"
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        charts += ["--chart", path]
    whole = json.loads(run("nozzles", HOME, "--chart", CHART, "--format", "json").out)
    split = json.loads(run("nozzles", HOME, *charts, "--format", "json").out)

    assert split["zones"] == whole["zones"]


def test_an_unknown_zone_is_refused(run):
    told = run("nozzles", HOME, "--chart", CHART, "--zone", "9")

    assert (told.status, told.out) == (2, "")
    assert '"9" is not a zone' in told.err


def test_zones_whose_heads_are_not_listed_are_told_what_is_missing(run):
    told = " ".join(run("nozzles", EXAMPLES / "desert_garden", "--chart", CHART).out
                    .split())  # fmt: skip

    assert "Zones whose heads throw have no rows in heads.csv" in told
    assert "without rows in heads.csv: 1 and 2." in told
    assert "without heads that throw: 3, 4 and 5." in told


# Exact: the busiest week's minutes times the flow, 264 * 13.5 and 268 * 12 gal.
def test_what_a_set_gains_is_told_in_water_too(run):
    told = run("nozzles", HOME, "--chart", CHART, "--zone", "2").out
    row = next(line.split() for line in told.splitlines() if "Back lawn" in line)
    flow_now, flow = map(float, row[4:6])
    minutes_now, minutes, water_now, water = (
        float(cell.replace(",", "")) for cell in row[-4:]
    )

    assert water_now == pytest.approx(minutes_now * flow_now, abs=1)
    assert water == pytest.approx(minutes * flow, abs=1)


GPM, PSI = 3.785411784, 6.894757293168361
SITE = """\
[site]
latitude = 40
longitude = -100
[climate]
file = "climate.csv"
[plan]
by = "months"
[supply]
static_pressure_psi = 60
running_pressure_psi = 45
running_flow_gpm = 8
design_flow_gpm = 12
wind_mph = 3
"""
CLIMATE = "month,et0_in_day,tmin_f,tmax_f,rain_in\n" + "".join(
    f"{month},0.2,50,77,0\n" for month in range(1, 13)
)
ZONES = """\
zone,plant,soil,area_ft2,head_kind
1,cool-season turf,sand,2700,rotor
"""
# The corners have the middle's nozzle.
HEADS = """\
zone,head,count,nozzle,arc_deg,radius_ft,flow_gpm,pressure_psi,spacing_ft
1,middle,1,2,360,32,2,45,30
1,sides,3,1,180,32,1,45,30
1,corners,2,2,90,32,2,45,30
"""
SIZES = (0.5, 0.75, 1, 1.5, 2, 3)
SMALL = "nozzle,pressure_psi,flow_gpm,radius_ft\n" + "".join(
    f"{size},45,{size},32\n" for size in SIZES
)


@pytest.fixture
def lawn(tmp_path):
    """A lawn on a gauge's two readings, and its chart."""
    files = {"site.toml": SITE, "climate.csv": CLIMATE, "zones.csv": ZONES,
             "heads.csv": HEADS, "chart.csv": SMALL}  # fmt: skip
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def zone_of(folder, run, *options):
    chart = folder / "chart.csv"
    told = run("nozzles", folder, "--chart", chart, "--format", "json", *options)
    (zone,) = json.loads(told.out)["zones"]
    return zone


# 3, 1.5 and 0.75 gpm at 45 psi are 9 gpm. The supply gives 60 psi, less 15 at 8 gpm:
# they stand where p = 60 - 15 (q / 8)^1.85 and q = 9 √(p / 45) (square-root law).
def test_each_set_stands_at_the_pressure_that_its_own_flow_leaves(lawn, run):
    zone = zone_of(lawn, run)

    flow, pressure = zone["flow_l_min"] / GPM, zone["pressure_kpa"] / PSI
    sizes = [float(head["nozzle"]) for head in zone["heads"]]
    at_chart = sizes[0] + 3 * sizes[1] + 2 * sizes[2]
    assert pressure == pytest.approx(60 - 15 * (flow / 8) ** 1.85, abs=1e-3)
    assert flow == pytest.approx(at_chart * (pressure / 45) ** 0.5, rel=1e-6)
    # No set of the chart that matches draws more within the 12 gpm of the site.
    assert sizes == [3, 1.5, 0.75]


def test_what_is_written_stands_where_the_choice_said(lawn, run):
    zone = zone_of(lawn, run, "--write")
    rates = json.loads(run("rates", lawn, "--format", "json").out)["zones"][0]

    # Flows are written to four digits, rounded down.
    assert rates["flow_l_min"] == pytest.approx(zone["flow_l_min"], rel=2e-3)
    assert rates["pressure_kpa"] == pytest.approx(zone["pressure_kpa"], rel=2e-3)
    before = (lawn / "heads.csv").read_bytes()
    zone_of(lawn, run, "--write")
    assert (lawn / "heads.csv").read_bytes() == before


# Middle and sides stay at 2 and 1; the two corners get 0.5.
def test_the_set_of_fewest_changes_is_written_where_it_is_asked_for(lawn, run):
    told = run("nozzles", lawn, "--chart", lawn / "chart.csv", "--write",
               "--fewest-changes")  # fmt: skip
    rows = (lawn / "heads.csv").read_text(encoding="utf-8").splitlines()[1:]

    assert told.status == 0
    assert "Fewest changes, as asked: 2 of 6 heads" in " ".join(told.out.split())
    assert [row.split(",")[3] for row in rows] == ["2", "1", "0.5"]


def test_fewest_changes_write_nothing_where_no_set_fits(lawn, run):
    chart = lawn / "chart.csv"
    chart.write_text("nozzle,pressure_psi,flow_gpm,radius_ft\n2,45,2,32\n")
    told = run("nozzles", lawn, "--chart", chart, "--write", "--fewest-changes")

    assert told.status == 3
    assert (lawn / "heads.csv").read_text(encoding="utf-8") == HEADS
