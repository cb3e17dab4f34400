"""The verb `table`: its formats agree, and hard limits end in 3."""

import json
import re
import shutil
from pathlib import Path

import pytest
from cli_answers import (
    EXAMPLES,
    FORMATS,
    L_PER_GAL,
    MM_PER_IN,
    ROOT,
    SITES,
    UNITS,
    approx,
    markdown_tables,
    replace,
    rows_of,
)


@pytest.mark.parametrize("name", SITES)
def test_json_does_not_hang_on_units_but_for_their_name_and_texts(run, name):
    us, metric = (
        json.loads(run("table", EXAMPLES / name, "--format", "json", "--units", u).out)
        for u in UNITS
    )

    assert us["site"].pop("units") == "us"
    assert metric["site"].pop("units") == "metric"
    for content in (us, metric):
        for caution in content["cautions"]:
            caution.pop("text")
    assert us == metric


# Hard limits: 3, the table all the same, and where and by how much.


def limit_lines(text: str, code: str) -> str:
    """Text of one caution, put back into one line."""
    flat = re.sub(r"\n  ", " ", text)
    lines = [line for line in flat.split("\n") if line.startswith(f"{code}: zone")]
    assert lines, text
    return lines[0]


def run_limit(run, site: Path, code: str) -> str:
    """Line of a hard limit in the table's text; all formats end in 3."""
    ran = run("table", site)
    assert ran.status == 3
    assert ran.err == ""
    assert "Minutes a week" in ran.out
    for format_ in FORMATS:
        other = run("table", site, "--format", format_)
        assert other.status == 3
        assert other.out
        if format_ == "json":
            codes = [c["code"] for c in json.loads(other.out)["cautions"]]
            assert code in codes
    checked = run("check", site)
    assert checked.status == 3
    # The hard limits come first, but for numbers that can hardly be meant; the one made
    # here may share its place with another.
    told = re.findall(r"^\d+\. ([a-z-]+):", checked.out, re.MULTILINE)
    assert code in [c for c in told if not c.endswith("-doubtful")][:2]
    # `rates` tells of the supply, and of no other limit.
    rates = run("rates", site)
    assert rates.status == (3 if code == "pressure-too-low" else 0)
    assert (code in rates.out) == (code == "pressure-too-low")
    assert run("climate", site).status == 0
    return limit_lines(ran.out, code)


# Rotors need 25 psi, drip 8 (common practice).
def test_limit_pressure_under_the_least_of_the_heads(run, site):
    replace(site, "site.toml", "pressure_psi = 45", "pressure_psi = 24")
    line = run_limit(run, site, "pressure-too-low")

    assert "zone 1" in line
    assert "24 psi at the heads" in line
    assert "under 25 psi they do not do their work" in line
    assert "zone 2" not in line


# 15 gpm against 12: 3.0 gpm over. The design flow is a rule of design: the plan stands.
def test_flow_over_the_design_flow_is_a_caution_only(run, site):
    replace(site, "site.toml", "design_flow_gpm = 20", "design_flow_gpm = 12")

    for verb in ("table", "check", "rates"):
        assert run(verb, site).status == 0
    told = " ".join(run("rates", site).out.split())
    assert "over-design-flow: zone 1: takes 15.0 gpm, 3.00 gpm more than the " in told
    assert "design flow of 12.0 gpm, as given" in told


def test_flow_at_the_design_flow_is_no_limit(run, site):
    replace(site, "site.toml", "design_flow_gpm = 20", "design_flow_gpm = 15")

    assert run("table", site).status == 0


# Loam, 8 in of roots, 0.4 of 0.17 in/in: 0.544 in, a tenth over 0.598 in. July takes
# 0.29 · 0.8 in a day, so roots stand 2 days; with one day a week the gap is 7.
def test_limit_too_few_days(run, site):
    replace(site, "site.toml", 'days = "any"', 'days = ["mon"]')
    line = run_limit(run, site, "days-too-few")

    assert line.startswith("days-too-few: zone 1, ")
    assert "2 days" in line
    assert "Jul" in line or "-" in line


# Clay takes 0.10 in/h and holds 0.10 in on 15 %: at 96.25 · 15 / 900 = 1.604 in/h that
# is full after 60 · 0.10 / 1.504 = 3.99 min; at 4 in/h and more it is under 2 min.
def test_limit_cycle_too_short(run, site):
    replace(site, "zones.csv", "loam,2,2000,15", "clay,15,360,15")
    line = run_limit(run, site, "cycle-too-short")

    # 96.25 · 15 / 360 = 4.0104 in/h; 60 · 0.10 / 3.9104 = 1.534 min.
    assert line.startswith("cycle-too-short: zone 1: ")
    assert "after 1.5 min" in line
    assert "2 min" in line


def test_limit_not_permitted_in_some_months(run, site):
    replace(site, "site.toml", 'days = "any"', 'days = "any"\nmonths = "10-6"')
    line = run_limit(run, site, "not-permitted")
    table = json.loads(run("table", site, "--format", "json").out)

    assert "zone 1" in line
    assert "Jul-Sep" in line
    # The worst of the three: July's 0.29 · 0.8 · 31 = 7.192 in less the rain counted.
    assert "up to " in line
    rain = table["zones"][0]["months"][6]["effective_rain_mm"] / MM_PER_IN
    assert f"{0.29 * 0.8 * 31 - rain:.2f} in" in line
    for zone in table["zones"]:
        for cell in zone["months"]:
            off = cell["month"] in (7, 8, 9)
            assert (cell["cycles"] == 0) >= off
            assert cell["net_need_mm"] >= 0
            if off:
                assert cell["unmet_mm"] > 0
                assert cell["days"] == []


# 1 in of roots in loam hold 0.17 in; with one day a week July asks for 7 · 0.232 in.
def test_limit_need_unmet(run, site):
    replace(site, "site.toml", 'days = "any"', 'days = ["mon"]')
    replace(site, "zones.csv", "slope_percent", "root_depth_in,slope_percent")
    replace(site, "zones.csv", "turf,loam,", "turf,loam,1,")
    replace(site, "zones.csv", "water,loam,", "water,loam,,")
    line = run_limit(run, site, "need-unmet")
    table = json.loads(run("table", site, "--format", "json").out)
    july = table["zones"][0]["months"][6]
    # Weeks of the month times (net depth a week − 0.17 in).
    unmet_in = 31 / 7 * (july["net_need_mm"] / MM_PER_IN * 7 / 31 - 0.17)

    assert july["unmet_mm"] / MM_PER_IN == pytest.approx(unmet_in, rel=1e-9)
    assert f"up to {unmet_in:.2f} in a month" in line


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("name", SITES)
def test_csv_and_json_of_the_table_agree(run, name, units):
    site = EXAMPLES / name
    content = json.loads(run("table", site, "--format", "json").out)
    rows = rows_of(run("table", site, "--format", "csv", "--units", units).out)
    depth, volume = ("in", "gal") if units == "us" else ("mm", "l")
    mm = MM_PER_IN if units == "us" else 1
    liters = L_PER_GAL if units == "us" else 1
    cells = [(z, c) for z in content["zones"] for c in z["months"]]

    assert len(rows) == len(cells)
    for row, (zone, cell) in zip(rows, cells, strict=True):
        et0 = content["climate"]["months"][cell["month"] - 1]["et0_mm_day"]
        assert (row["zone"], row["name"]) == (zone["zone"], zone["name"])
        assert int(row["station"]) == zone["station"]
        assert int(row["month"]) == cell["month"]
        assert float(row[f"et0_{depth}_day"]) * mm == approx(et0)
        for key in ("plant_need", "effective_rain", "net_need", "gross_need",
                    "applied"):  # fmt: skip
            assert float(row[f"{key}_{depth}"]) * mm == approx(cell[f"{key}_mm"])
        for key, of_json in (
            (f"carried_in_{depth}", "carried_in_mm"),
            (f"unmet_{depth}", "unmet_mm"),
            ("gap_limit_days", "gap_limit_days"),
        ):
            assert row[key] == ""
            assert cell[of_json] is None
        assert float(row[f"volume_{volume}"]) * liters == approx(cell["volume_l"])
        assert row["days"].split() == cell["days"]
        assert row["parity"] == (cell["parity"] or "")
        assert row["every_days"] == str(cell["every_days"] or "")
        for key in ("days_per_week", "minutes_per_day", "cycles",
                    "cycle_minutes", "soak_minutes", "minutes_per_week"):  # fmt: skip
            assert float(row[key]) == approx(cell[key])


MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov",
          "Dec")  # fmt: skip
WEEKDAYS = {"Mo": "mon", "Tu": "tue", "We": "wed", "Th": "thu", "Fr": "fri",
            "Sa": "sat", "Su": "sun"}  # fmt: skip


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("name", SITES)
def test_text_and_json_of_the_table_agree(run, name, units):
    site = EXAMPLES / name
    content = json.loads(run("table", site, "--format", "json").out)
    ran = run("table", site, "--format", "markdown", "--units", units)
    tables = markdown_tables(ran.out)[1:]
    mm, digits = (MM_PER_IN, 2) if units == "us" else (1, 0)
    liters = L_PER_GAL if units == "us" else 1

    assert len(tables) == len(content["zones"])
    for zone, table in zip(content["zones"], tables, strict=True):
        for cell, shown in zip(zone["months"], table[2:], strict=True):
            (month, _, need, rain, apply, days, day, cycles, soak, week, dry,
             volume) = shown  # fmt: skip
            share = cell["dry_days_percent"]
            assert dry == ("" if share is None else f"{share:.0f}")
            assert month == MONTHS[cell["month"] - 1]
            assert need == f"{cell['plant_need_mm'] / mm:,.{digits}f}"
            assert rain == f"{cell['effective_rain_mm'] / mm:,.{digits}f}"
            assert volume == f"{cell['volume_l'] / liters:,.0f}"
            if not cell["cycles"]:
                assert days.startswith("off: ")
                assert (apply, day, cycles, soak, week) == ("",) * 5
                continue
            assert apply == f"{cell['gross_need_mm'] / mm:,.{digits}f}"
            assert day == f"{cell['minutes_per_day']:g}"
            assert cycles == f"{cell['cycles']} x {cell['cycle_minutes']:g}"
            assert soak == (f"{cell['soak_minutes']:g}" if cell["soak_minutes"] else "")
            assert week == f"{cell['minutes_per_week']:,.0f}"
            if days == "every day":
                assert len(cell["days"]) == 7
            elif days.startswith("every "):
                assert days == f"every {cell['every_days']} days"
            elif days.endswith(" dates"):
                assert days == f"{cell['parity']} dates"
                assert len(cell["days"]) == 7
            else:
                words = days.replace(",", "").split()
                assert [WEEKDAYS[w] for w in words if w in WEEKDAYS] == cell["days"]
                assert (cell["parity"] or "") in ("", words[0])
                assert (f"every {cell['every_days']} days" in days) == bool(
                    cell["every_days"]
                )


@pytest.mark.parametrize("name", SITES)
def test_overview_adds_the_zones_up(run, name):
    content = json.loads(run("table", EXAMPLES / name, "--format", "json").out)
    markdown = run("table", EXAMPLES / name, "--format", "markdown").out
    *zones, total = markdown_tables(markdown)[0][2:]

    for month in range(12):
        weekly = [z["months"][month]["minutes_per_week"] for z in content["zones"]]
        shown = [row[month + 1] for row in zones]
        assert shown == [f"{m:,.0f}" if m else "-" for m in weekly]
        assert total[month + 1] == f"{sum(weekly) / 60:.1f}"


def test_a_copied_example_needs_nothing_but_its_climate(run, tmp_path):
    shutil.copytree(EXAMPLES / "home", tmp_path / "examples" / "home")
    shutil.copytree(ROOT / "climate_samples", tmp_path / "climate_samples")

    there = run("table", tmp_path / "examples" / "home")
    assert there.status == 0
    assert there.out == run("table", EXAMPLES / "home").out
