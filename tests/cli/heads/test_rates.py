"""The verb `rates`: CSV and JSON agree."""

import json

import pytest
from cli_answers import EXAMPLES, MM_PER_IN, SITES, approx, replace, rows_of


@pytest.mark.parametrize("name", SITES)
def test_csv_and_json_of_rates_agree(run, name):
    site = EXAMPLES / name
    content = json.loads(run("rates", site, "--format", "json").out)
    rows = rows_of(run("rates", site, "--format", "csv", "--units", "us").out)
    heads = [(z["zone"], h) for z in content["zones"] for h in z["heads"]]
    by_place = {(zone, head["head"]): head for zone, head in heads}

    assert len(rows) == len(heads)
    for row in rows:
        head = by_place[row["zone"], row["head"]]
        assert int(row["count"]) == head["count"]
        if head["rate_mm_h"] is None:
            assert row["rate_in_h"] == ""
        else:
            assert float(row["rate_in_h"]) * MM_PER_IN == approx(head["rate_mm_h"])


READING = """static_pressure_psi = 60
running_pressure_psi = 45
running_flow_gpm = 8"""
KPA_PER_PSI = 6.894757293168361


# By hand: 15 gpm were metered on the lawn; the reading's supply leaves
# 60 - 15 (15/8)^1.85 = 12.0 psi there, under the 25 rotors need; 25 psi are left at
# 8 (35/15)^(1/1.85) = 12.65 gpm; halves of 7.5 gpm would stand at
# 60 - 15 (7.5/8)^1.85 = 46.7 psi.
def test_rates_shows_the_point_of_each_zone_and_what_would_mend_it(run, site):
    replace(site, "site.toml", "pressure_psi = 45", READING)
    ran = run("rates", site)

    assert ran.status == 3
    text = " ".join(ran.out.split())
    assert "1 Lawn 15.0 metered 12 heads meet supply" in text
    assert (
        "pressure-too-low: zone 1: 12 psi at the heads, which take 15.0 gpm there; "
        "under 25 psi they do not do their work. Any of these mends it: split it into "
        "2 valves (47 psi at each); nozzles that take 12.6 gpm in all at 25 psi"
    ) in text
    assert "by the reading of 45.0 psi at 8.00 gpm" in text


def test_rates_tells_the_points_to_programs_in_si(run, site):
    replace(site, "site.toml", "pressure_psi = 45", READING)
    lawn, beds = json.loads(run("rates", site, "--format", "json").out)["zones"]

    assert lawn["pressure_kpa"] / KPA_PER_PSI == pytest.approx(12.0, abs=0.05)
    assert (lawn["pressure_source"], lawn["flow_source"]) == ("curve", "metered")
    assert lawn["chart_share"] is None
    # 4 gpm of drip leave 60 - 15 (4/8)^1.85 = 55.84 psi.
    assert beds["pressure_kpa"] / KPA_PER_PSI == pytest.approx(55.84, abs=0.01)


# Money, minutes and cards stand on the flow of the plan: a bucket of 10 gpm on heads
# that ask for 15 gives two thirds of the water a minute, and so does what runs today.
# Zone 2 is left out of it.
def test_today_stands_on_the_flow_at_the_operating_point(run, site):
    replace(site, "zones.csv", "2000,15,rotor", "2000,,rotor")
    (site / "heads.csv").write_text(
        "zone,count,arc_deg,flow_gpm,pressure_psi,spacing_ft\n1,10,360,1.5,45,14\n"
    )
    (site / "current.csv").write_text("zone,minutes,days_per_week\n1,30,3\n2,0,0\n")
    replace(site, "site.toml", "design_flow_gpm = 20\n", "")

    def today():
        content = json.loads(run("budget", site, "--format", "json").out)
        return content["site"]["today_l"]

    before = today()
    replace(site, "site.toml", "pressure_psi = 45",
            "pressure_psi = 45\nbucket_gal = 5\nbucket_s = 30")  # fmt: skip

    assert today() / before == pytest.approx(10 / 15, rel=1e-9)
