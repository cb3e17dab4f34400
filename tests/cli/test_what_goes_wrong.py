"""What goes wrong with a supply and its readings, tried as it is typed."""

import json

import pytest
from cli_answers import EXAMPLES

SITE = """\
[site]
latitude = 40
longitude = -100
[climate]
file = "climate.csv"
[plan]
by = "months"
[supply]
{supply}
"""
CLIMATE = "month,et0_in_day,tmin_f,tmax_f,rain_in\n" + "".join(
    f"{month},0.2,50,77,0\n" for month in range(1, 13)
)
ZONES = """\
zone,plant,soil,area_ft2,head_kind,pressure_psi
1,cool-season turf,sand,2700,rotor,{gauge}
"""
# 4 + 3 · 2 + 2 · 1 = 12 gpm at 45 psi.
HEADS = """\
zone,head,count,nozzle,arc_deg,radius_ft,flow_gpm,pressure_psi,spacing_ft
1,middle,1,4,360,34,4,45,30
1,sides,3,2,180,32,2,45,30
1,corners,2,1,90,30,1,45,30
"""
NO_WIND = "is not a wind to water in\n  accepted: a number from 0 to"
READ = "running_pressure_psi = 45\nrunning_flow_gpm = 12\n"


@pytest.fixture
def yard(tmp_path):
    """Function that writes a yard with a supply, a gauge and meter readings."""

    def of(supply, gauge="", meter=""):
        files = {
            "site.toml": SITE.format(supply=supply),
            "climate.csv": CLIMATE,
            "zones.csv": ZONES.format(gauge=gauge),
            "heads.csv": HEADS,
        }
        if meter:
            files["meter.csv"] = f"zone,start_gal,end_gal,minutes\n1,{meter}\n"
        for name, text in files.items():
            (tmp_path / name).write_text(text, encoding="utf-8")
        return tmp_path

    return of


@pytest.mark.parametrize(
    ("supply", "err"),
    [
        (
            "static_pressure_psi = 40\n" + READ,
            "site.toml:10: supply.running_pressure_psi: is over the static pressure, "
            "and water that runs loses some\n"
            "  accepted: less than static_pressure\n"
            "  hint: static_pressure is the gauge with nothing running in the house or "
            "outside\n",
        ),
        (
            "static_pressure_psi = 45\n" + READ,
            "site.toml:10: supply.running_pressure_psi: is the static pressure too: a "
            "test without a drop tells no loss\n"
            "  accepted: less than static_pressure\n"
            "  hint: let more flow, until the gauge falls by a tenth or so\n",
        ),
    ],
)
def test_a_flow_test_that_cannot_be_is_asked_back(yard, run, supply, err):
    told = run("table", yard(supply))

    assert (told.status, told.out, told.err) == (2, "", err)


# 45 psi at 12 gpm and 62 psi static: the heads' 12 gpm are what the plan has.
@pytest.mark.parametrize(
    ("meter", "err"),
    [
        (
            "48322,48210,10",
            "meter.csv:2: end_gal: 48210 is less than the start\n"
            "  accepted: a reading over the start, 48322\n"
            "  hint: are start and end the other way round?\n",
        ),
        (
            "99950,68,10",
            "meter.csv:2: end_gal: 68 is less than the start\n"
            "  accepted: a reading over the start, 99950\n"
            "  hint: if the dial rolled over, write 100068: put the digit in front "
            "that the dial has no room for\n",
        ),
        # 16 ft³ are 16 · 7.48 = 120 gal; as gallons they are 1.6 gpm.
        (
            "6420,6436,10",
            "meter.csv:2: end_gal: zone 1 would take 1.6 gpm, but its heads take 12 "
            "gpm\n"
            "  accepted: readings that make up to 3 times that, or a third\n"
            "  hint: 12 gpm if the dial counts ft³: write start_ft3 and end_ft3; 16 "
            "gpm if a printed 0 was left out: write the readings times 10\n",
        ),
    ],
)
def test_a_meter_that_cannot_be_is_asked_back_and_never_guessed(yard, run, meter, err):
    folder = yard("static_pressure_psi = 62\n" + READ, meter=meter)
    told = run("table", folder)

    assert (told.status, told.out, told.err) == (2, "", err)


# 3 psi for the valve (an allowance), and nothing else, out of 2.
def test_a_supply_without_a_root_says_that_nothing_flows(yard, run):
    told = run("check", yard("static_pressure_psi = 2\nmeter_in = 0.75"))
    said = " ".join(told.out.split())

    assert told.status == 3
    assert "no-pressure-left: of 2 psi static pressure nothing is left" in said
    assert "nothing flows" in said


def test_a_gauge_over_what_the_supply_gives_is_told(yard, run):
    told = run("check", yard("static_pressure_psi = 62\n" + READ, gauge="65"))

    assert (
        "reading-over-supply: zone 1: 65 psi is given at running heads, but with the "
        "static pressure and the rise not more than 62 psi can be there"
    ) in " ".join(told.out.split())


# A pump that must run at 20 gpm, and a zone of 12.
def test_a_zone_under_the_pump_s_least_flow_is_told_by_check(yard, run):
    supply = "static_pressure_psi = 62\nleast_flow_gpm = 20\n" + READ
    told = run("check", yard(supply))

    assert "flow-under-pump: zone 1: draws 12.0 gpm, the pump must run at 20.0" in (
        " ".join(told.out.split())
    )


# One row of a chart says nothing of other pressures but by the square-root law.
def test_a_chart_of_one_pressure_is_told_to_go_by_the_square_root(yard, run):
    folder = yard(
        "static_pressure_psi = 62\ndesign_flow_gpm = 12\nwind_mph = 3\n" + READ
    )
    chart = folder / "chart.csv"
    chart.write_text(
        "nozzle,pressure_psi,flow_gpm,radius_ft\n4,55,4,34\n2,55,2,32\n1,55,1,31\n",
        encoding="utf-8",
    )
    told = run("nozzles", folder, "--chart", chart)
    said = " ".join(told.out.split())

    assert told.status == 0
    assert "is beyond the chart's rows of 4, 2 and 1: flow by the square root" in said


# Emitters and regulated heads: flow stands until the pressure falls under their least.
def test_regulated_heads_keep_their_flow(yard, run):
    folder = yard("pressure_psi = 60\n")
    zones = folder / "zones.csv"
    zones.write_text(
        "zone,plant,soil,area_ft2,head_kind,regulated\n"
        "1,cool-season turf,sand,2700,rotor,yes\n",
        encoding="utf-8",
    )
    (zone,) = json.loads(run("rates", folder, "--format", "json").out)["zones"]

    assert zone["flow_l_min"] / 3.785411784 == pytest.approx(12)


@pytest.mark.parametrize(
    ("options", "err"),
    [
        (["--wind-mph", "5"], "--wind-from-deg: is missing\n  accepted: 0 to 360: "
         "where the wind comes from, 90 for east, clockwise from north\n"),
        (["--wind-from-deg", "90"], "--wind-from-deg: is given, but no wind\n"
         "  accepted: --wind-mph or --wind-m-s with it\n"),
        (["--wind-mph", "5", "--wind-m-s", "2", "--wind-from-deg", "90"],
         "--wind-mph: --wind-m-s is given too\n  accepted: one of the two\n"),
        (["--wind-mph", "80", "--wind-from-deg", "90"],
         f"--wind-mph: 80 {NO_WIND} 20\n"),
        (["--wind-m-s", "-1", "--wind-from-deg", "90"],
         f"--wind-m-s: -1 {NO_WIND} 8.9\n"),
        (["--wind-mph", "nan", "--wind-from-deg", "90"],
         f"--wind-mph: nan {NO_WIND} 20\n"),
        (["--wind-mph", "5", "--wind-from-deg", "400"],
         "--wind-from-deg: 400 is no direction\n  accepted: 0 to 360: where the wind "
         "comes from, 90 for east, clockwise from north\n"),
    ],
)  # fmt: skip
def test_a_wind_that_cannot_be_is_refused(run, options, err):
    told = run("coverage", EXAMPLES / "home", *options)

    assert (told.status, told.out, told.err) == (2, "", f"scheduler: {err}")


# A site's files are only read: what is written over one of them would be lost.
@pytest.mark.parametrize("name", ["zones.csv", "climate.csv", "site.toml"])
def test_no_file_of_the_site_is_written_over(yard, run, name):
    folder = yard("pressure_psi = 60\n")
    before = (folder / name).read_bytes()
    out = folder / name
    told = run("table", folder, "--format", "csv", "--out", out)

    assert told.status == 2
    assert f"{name} is read here" in told.err.replace("\n", "")
    assert out.read_bytes() == before
    assert run("table", folder, "--out", folder / "new.txt").status == 0
    assert run("table", folder, "--out", folder / "new.txt").status == 0


# Readings that somebody took in the garden stand in the field sheet's workbook, beside
# a folder's files as beside a site's workbook.
@pytest.mark.parametrize("kind", [(), ("--workbook",)])
def test_no_field_sheet_is_written_over(tmp_path, run, kind):
    folder = tmp_path / "garden"
    assert run("new", folder, *kind).status == 0
    site = next(folder.glob("site.xlsx"), folder)
    assert (site == folder) == (not kind)
    book = folder / "field.xlsx"
    assert run("field", site, "--format", "xlsx", "--out", book).status == 0
    before = book.read_bytes()
    for verb in ("field", "table", "budget"):
        told = run(verb, site, "--format", "xlsx", "--out", book)
        assert told.status == 2, verb
        assert book.read_bytes() == before
