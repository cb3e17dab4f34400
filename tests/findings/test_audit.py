"""What an auditor tells beyond the plan: repairs, hours, wind, slope, coefficients."""

import pytest

from scheduler.cautions import Caution
from scheduler.findings.check import find
from scheduler.inputs.folder import read_site
from scheduler.plan.site import plan_site
from scheduler.report.views import check

SITE = """\
[site]
latitude = 38.0
longitude = -100.0
[climate]
file = "climate.csv"
[plan]
by = "months"
[supply]
pressure_psi = 45
{supply}
{window}
"""
CLIMATE = "month,et0_in_day,rain_in,tmin_f\n" + "".join(
    f"{month},{et0},0.3,45\n"
    for month, et0 in enumerate(
        (0.05, 0.07, 0.11, 0.16, 0.22, 0.27, 0.29, 0.26, 0.20, 0.12, 0.07, 0.04), 1
    )
)
ZONES = "zone,plant,soil,area_ft2,flow_gpm,head_kind,slope_percent,"
ZONES += "uniformity,microclimate_factor,regulated\n"
LAWN = "cool-season turf,sand,1000,10"


@pytest.fixture
def found(tmp_path):
    """Function from rows of zones.csv, a window and a supply to what is found."""

    def of(
        *rows, window='[[window]]\ndays = "any"', supply="", heads="", more_columns=""
    ):
        columns = ZONES.replace("\n", f"{more_columns}\n")
        files = {
            "site.toml": SITE.format(window=window, supply=supply),
            "climate.csv": CLIMATE,
            "zones.csv": columns + "".join(f"{row}\n" for row in rows),
        }
        if heads:
            files["heads.csv"] = heads
        for name, text in files.items():
            (tmp_path / name).write_text(text, encoding="utf-8")
        return find(plan_site(read_site(tmp_path)))

    return of


def only(findings, code) -> list[Caution]:
    return [f.caution for f in findings if f.caution.code == code]


# Common practice: 0.55 is the line under which heads are repaired first.
@pytest.mark.parametrize(("du", "told"), [("0.54", True), ("0.55", False), ("", False)])
def test_poor_uniformity_asks_for_repair(found, du, told):
    findings = found(f"1,{LAWN},rotor,0,{du},,")
    cautions = only(findings, "uniformity-low")

    assert bool(cautions) is told
    if told:
        (mended,) = [f for f in findings if f.caution is cautions[0]]
        assert mended.costs_l_year > 0


# The working ranges of the trade end at 40 psi for sprays and 30 for drip (from
# memory); 45 psi are at the heads. A regulated zone has its own pressure.
@pytest.mark.parametrize(
    ("kind", "regulated", "told"),
    [("spray", "", True), ("rotor", "", False), ("spray", "yes", False),
     ("drip", "yes", False)],
)  # fmt: skip
def test_pressure_that_sprays_do_not_stand_is_told(found, kind, regulated, told):
    cautions = only(found(f"1,{LAWN},{kind},0,,,{regulated}"), "pressure-too-high")

    assert [c.values["head_kind"] for c in cautions] == [kind] * told


# The pressure of the site stands before drip's regulator, a gauge on its zone after it.
@pytest.mark.parametrize(("psi", "told"), [("", 0), ("30", 0), ("31", 1)])
def test_a_gauge_on_drip_tells_whether_its_regulator_holds(found, psi, told):
    rows = f"1,{LAWN},drip,0,,,yes,{psi}"
    cautions = only(found(rows, more_columns=",pressure_psi"), "pressure-too-high")

    assert [c.values["head_kind"] for c in cautions] == ["drip"] * told


# Sprays of a chart at 30 psi mist at 45 by the chart (1.5 times), and by their kind
# (over 40): told once.
def test_a_pressure_over_chart_and_kind_is_told_once(found):
    heads = (
        "zone,head,arc_deg,radius_ft,flow_gpm,pressure_psi,spacing_ft\n"
        "1,all,360,15,3,30,15\n"
    )
    (caution,) = only(
        found("1,cool-season turf,sand,225,,spray,0,,,", heads=heads),
        "pressure-too-high",
    )

    assert "chart_kpa" in caution.values


# Common practice: sprinklers rest from 10 to 16 h.
@pytest.mark.parametrize(
    ("opens", "closes", "told"),
    [("21:00", "06:00", False), ("22:00", "sunrise", False), ("05:00", "10:00", False),
     ("05:00", "10:30", True), ("16:00", "23:00", False), ("15:30", "23:00", True),
     ("00:00", "24:00", True), ("18:00", "11:00", True), ("12:00", "06:00", True)],
)  # fmt: skip
def test_a_window_in_the_middle_of_the_day_is_told(found, opens, closes, told):
    window = f'[[window]]\nopens = "{opens}"\ncloses = "{closes}"'
    cautions = only(found(f"1,{LAWN},rotor,0,,,", window=window), "window-by-day")

    assert len(cautions) == told


# The first window that fits holds (design, site.toml): rotors keep to the night here.
@pytest.mark.parametrize(
    ("kinds", "months", "told"),
    [("rotor, spray", "1-12", 0), ("spray", "1-12", 1), ("rotor, spray", "4-9", 1)],
)
def test_a_window_that_stands_after_another_is_told_where_it_holds(
    found, kinds, months, told
):
    kinds = kinds.replace(", ", '", "')
    night = (
        f'[[window]]\nhead_kinds = ["{kinds}"]\nmonths = ["{months}"]\n'
        'opens = "22:00"\ncloses = "06:00"\n'
    )
    windows = night + '[[window]]\nopens = "08:00"\ncloses = "16:00"'
    cautions = only(found(f"1,{LAWN},rotor,0,,,", window=windows), "window-by-day")

    assert len(cautions) == told


def test_drip_may_run_at_noon(found):
    window = '[[window]]\nopens = "08:00"\ncloses = "20:00"'

    assert not only(found(f"1,{LAWN},drip,0,,,yes", window=window), "window-by-day")


@pytest.mark.parametrize(("wind_mph", "told"), [(10, False), (10.1, True)])
def test_wind_in_which_nothing_is_run_is_told_once_for_the_site(found, wind_mph, told):
    findings = found(f"1,{LAWN},rotor,0,,,", f"2,{LAWN},rotor,0,,,",
                     supply=f"wind_mph = {wind_mph}")  # fmt: skip

    assert len(only(findings, "too-windy")) == told


def test_lines_of_sprays_on_a_slope_drain_and_are_told_once(found):
    findings = found(f"1,{LAWN},spray,8,,,yes", f"2,{LAWN},rotor,8,,,",
                     f"3,{LAWN},spray,4.9,,,yes",
                     f"4,{LAWN},spray,5,,,yes")  # fmt: skip
    (caution,) = only(findings, "line-drains")

    assert caution.values["zones"] == ("1", "4")
    assert caution.values["slope_percent"] == 8
    assert caution.values["cycles"] > 0


# Turf takes 0.95 of ET0 at most in any handbook and more than 0.75 at its height: with
# a factor of 1.6 that is over 1.2, the most that FAO-56 has for a crop.
@pytest.mark.parametrize(("factor", "told"), [("1.6", True), ("1", False)])
def test_a_coefficient_that_no_planting_drinks_is_told(found, factor, told):
    findings = found(f"1,{LAWN},rotor,0,,{factor},")
    cautions = only(findings, "coefficient-high")

    assert len(cautions) == told
    for caution in cautions:
        most, plant = (caution.values[name] for name in
                       ("landscape_coefficient", "plant_coefficient"))  # fmt: skip
        assert most == pytest.approx(plant * float(factor))


# 10 gpm on 20 ft² are 48 in/h, which no rotor lays down.
def test_numbers_that_can_hardly_be_meant_come_before_hard_limits(found):
    findings = found("1,cool-season turf,clay,20,10,rotor,15,,,",
                     f"2,{LAWN},rotor,0,,,")  # fmt: skip

    codes = [f.caution.code for f in findings]
    doubts = [code.endswith("-doubtful") for code in codes]
    assert "rate-doubtful" in codes[: doubts.index(False)]
    assert "cycle-too-short" in codes[doubts.index(False) :]


# Soak in which another zone runs costs no time of the night.
def test_soak_is_not_priced_while_other_zones_run(found):
    clay = "cool-season turf,clay,1000,16,rotor,4,,,"
    alone = found(f"1,{clay}")
    among = found(*(f"{zone},{clay}" for zone in range(1, 31)))
    (priced,) = [f for f in alone if f.caution.code == "rate-over-intake"]
    free = [f for f in among if f.caution.code == "rate-over-intake"]

    assert priced.costs_min_week > 0
    assert len(free) == 30
    assert {f.costs_min_week for f in free} == {0}


# No rotor lays down under 0.25 in/h (common practice), so a lesser rate helps nobody.
def test_no_rate_is_told_that_no_head_of_the_kind_lays(found):
    clay = "cool-season turf,clay,1000,16,rotor,4,,,"
    (caution,) = only(found(f"1,{clay}"), "rate-over-intake")

    for name in ("one_cycle_mm_h", "two_cycles_mm_h"):
        value = caution.values[name]
        assert value is None or value >= 0.25 * 25.4 * (1 - 1e-9)


# A rotor of 30 ft and sprays of 10 ft on one valve: another nozzle mends nothing.
@pytest.mark.parametrize(("radius_ft", "mixed"), [(10, True), (25, False)])
def test_kinds_of_head_on_one_valve_are_not_told_to_go_with_the_arc(
    found, radius_ft, mixed
):
    heads = (
        "zone,head,arc_deg,radius_ft,flow_gpm,pressure_psi,spacing_ft\n"
        f"1,big,360,30,3,45,30\n1,small,360,{radius_ft},3,45,10\n"
    )
    (caution,) = only(
        found("1,cool-season turf,sand,1000,,rotor,0,,,", heads=heads),
        "unmatched-heads",
    )

    assert caution.values["mixed"] is mixed


# Two like zones alone on the site: each soaks longer than the other runs.
def test_like_zones_that_soak_are_one_line(found):
    clay = "cool-season turf,clay,1000,16,rotor,4,,,"
    findings = found(f"1,{clay}", f"2,{clay}")
    priced = [f for f in findings if f.caution.code == "rate-over-intake"]
    lines = check._finding_lines(findings, "", "us")

    assert [f.costs_min_week > 0 for f in priced] == [True, True]
    (line,) = [line for line in lines if line.startswith("rate-over-intake")]
    assert line.startswith("rate-over-intake: zones 1 and 2: ")
    assert line.endswith(f"up to {priced[0].costs_min_week:,.0f} min of soak a week.")
