"""Checks the choice for a whole site: pressure, wind, cycles, and what is written."""

import dataclasses
import itertools
import shutil
from pathlib import Path

import numpy as np
import pytest

from scheduler.inputs.chart import read_chart
from scheduler.inputs.folder import read_site
from scheduler.inputs.headsfile import with_new_heads
from scheduler.plan.choosing import choose_nozzles
from scheduler.plan.site import plan_site
from scheduler.rates.choice.heads import new_heads
from scheduler.rates.soundness import MATCHED_WITHIN
from scheduler.rates.spacing import spacing_cautions

ROOT = Path(__file__).parents[2]
EXAMPLES = ("home", "southern_garden", "business_park")
GPM, FT, PSI = 3.785411784, 0.3048, 0.45359237 * 9.80665 / 0.0254**2 / 1000

SITE = """\
[site]
latitude = 40.0
longitude = -100.0
[climate]
file = "climate.csv"
[plan]
by = "months"
{supply}
"""
CLIMATE = "month,et0_in_day,tmin_f,tmax_f,wind_mph,rain_in\n" + "".join(
    f"{month},0.25,50,77,5,0\n" for month in range(1, 13)
)
ZONES = """\
zone,plant,soil,slope_percent,area_ft2,head_kind,emitter_flow_gph,emitter_spacing_ft,emitter_row_spacing_ft
1,cool-season turf,{soil},{slope},3675,{kind},,,
2,shrubs moderate water,loam,0,500,drip,0.6,1.5,1.5
"""
# One full, three halves and two quarters, 35 ft apart.
HEADS = """\
zone,head,count,nozzle,arc_deg,radius_ft,flow_gpm,pressure_psi,spacing_ft
1,middle,1,x,360,40,1,45,35
1,sides,3,x,180,40,1,45,35
1,corners,2,x,90,40,1,45,35
"""
FLOWS = (8, 6, 4, 3, 2, 1.5)
CHART = "nozzle,pressure_psi,flow_gpm,radius_ft\n" + "".join(
    f"{flow:g},45,{flow},40\n" for flow in FLOWS
)
SUPPLY = "[supply]\ndesign_flow_gpm = {gpm}\npressure_psi = 45\nwind_mph = 3\n"


@pytest.fixture
def chosen(tmp_path):
    """Function from a site and a chart to the choice, on ground that takes it all."""

    def choose(
        supply="",
        chart=CHART,
        soil="sand",
        slope=0,
        kind="rotor",
        heads=HEADS,
        more_zones="",
        **more,
    ):
        files = {
            "site.toml": SITE.format(supply=supply),
            "climate.csv": CLIMATE,
            "zones.csv": ZONES.format(soil=soil, kind=kind, slope=slope) + more_zones,
            "heads.csv": heads,
            "chart.csv": chart,
        }
        for name, text in files.items():
            (tmp_path / name).write_text(text, encoding="utf-8")
        plan = plan_site(read_site(tmp_path))
        return choose_nozzles(plan, read_chart(tmp_path / "chart.csv"), **more)

    return choose


def names(plan, zone=0):
    return [plan.chart.nozzle[pick] for pick in plan.choices[zone].chosen.nozzle]


def codes(plan):
    return [caution.code for caution in plan.cautions]


# Common practice: 8, 4 and 2 gpm of 24, and 6, 3 and 1.5 of 18.
@pytest.mark.parametrize(
    ("gpm", "nozzles"), [(24, ["8", "4", "2"]), (18, ["6", "3", "1.5"])]
)
def test_supply_of_the_site_sets_the_nozzles(chosen, gpm, nozzles):
    plan = chosen(SUPPLY.format(gpm=gpm))

    assert plan.fits
    assert names(plan) == nozzles
    assert codes(plan) == []
    # Drip is left as it is.
    assert len(plan.choices) == 1


# Exact: 30 psi on a chart of 45 psi: each flow is √(30/45) of what is printed.
def test_flow_is_that_of_the_running_pressure(chosen):
    plan = chosen("[supply]\ndesign_flow_gpm = 20\npressure_psi = 30\n")

    choice = plan.choices[0]
    assert names(plan) == ["8", "4", "2"]
    assert choice.chosen.total_flow_l_min == pytest.approx(24 * GPM * np.sqrt(30 / 45))
    assert "beyond-chart" in codes(plan)


def test_one_zone_alone_is_chosen_for_and_the_others_stay(chosen):
    heads = HEADS + "3,all,9,x,180,40,1,45,35\n"
    more = "3,cool-season turf,sand,0,5512.5,rotor,,,\n"
    plan = chosen(SUPPLY.format(gpm=24), heads=heads, more_zones=more, only=2)

    assert [choice.offer.zone for choice in plan.choices] == [2]
    assert plan.after.site.heads.nozzle[:3] == ("x", "x", "x")
    assert plan.after.site.heads.nozzle[3] != "x"


# Common practice (kinds of head): 45 psi for rotors, 30 for sprays.
@pytest.mark.parametrize(("kind", "psi"), [("rotor", 45), ("spray", 30)])
def test_a_pressure_not_given_is_that_of_the_kind_of_head(chosen, kind, psi):
    plan = chosen("[supply]\ndesign_flow_gpm = 24\n", kind=kind)

    assert plan.choices[0].offer.pressure_kpa == pytest.approx(psi * PSI)
    assert "pressure-taken" in codes(plan)


# The six heads draw 1 gpm each today.
def test_a_supply_not_given_is_what_the_largest_zone_draws(chosen):
    plan = chosen("[supply]\npressure_psi = 45\n", chart=CHART + "0.5,45,0.5,40\n"
                  "1,45,1,40\n")  # fmt: skip

    assert plan.choices[0].design_flow_l_min == pytest.approx(6 * GPM)
    assert names(plan) == ["2", "1", "0.5"]
    assert codes(plan) == ["supply-taken"]


# A supply that feeds the zone of nine heads at 1 gpm can feed the one of six as much:
# zones run one at a time, so the largest that runs today is what is known to be there.
def test_a_supply_not_given_is_the_largest_of_several_zones(chosen):
    heads = HEADS + "3,all,9,x,180,40,1,45,35\n"
    plan = chosen(
        "[supply]\npressure_psi = 45\n",
        chart=CHART + "1,45,1,40\n",
        heads=heads,
        more_zones="3,cool-season turf,sand,0,5512.5,rotor,,,\n",
    )

    assert [choice.offer.zone for choice in plan.choices] == [0, 2]
    for choice in plan.choices:
        assert choice.design_flow_l_min == pytest.approx(9 * GPM)
    (taken,) = (c for c in plan.cautions if c.code == "supply-taken")
    assert taken.values["design_flow_l_min"] == pytest.approx(9 * GPM)


def test_a_nozzle_of_another_kind_of_head_is_not_taken(chosen):
    chart = "nozzle,head_kind,pressure_psi,flow_gpm,radius_ft\n" + "".join(
        f"{flow:g},{'spray' if flow == 8 else 'rotor'},45,{flow},40\n" for flow in FLOWS
    )

    assert names(chosen(SUPPLY.format(gpm=24), chart=chart)) == ["6", "3", "1.5"]


# Trade table of spacing by wind: to 3 mph 55 % of the diameter, so 35 ft ask for a
# throw of 35 / 1.1 = 31.8 ft; to 7 mph 50 %, 35 ft; to 12 mph 45 %, 38.9 ft.
@pytest.mark.parametrize(
    ("wind_mph", "radius_ft", "fits"),
    [(3, 31.9, True), (3, 31.7, False), (7, 35, True), (7, 34.9, False),
     (10, 35, False), (10, 38.8, False), (10, 38.9, True)],
)  # fmt: skip
def test_throw_reaches_the_next_head_farther_in_wind(chosen, wind_mph, radius_ft, fits):
    supply = SUPPLY.format(gpm=24).replace("wind_mph = 3", f"wind_mph = {wind_mph}")

    plan = chosen(supply, chart=CHART.replace(",40\n", f",{radius_ft}\n"))

    assert plan.choices[0].fits == fits
    assert plan.choices[0].limits == (() if fits else ("throw",))
    # `check` finds a spacing too wide just where no nozzle is taken for its throw.
    heads = dataclasses.replace(
        plan.before.site.heads, radius_m=np.full(3, radius_ft * FT)
    )
    told = spacing_cautions(
        plan.before.site.zones, heads, plan.before.site.supply.wind_m_s
    )
    assert ("spacing-too-wide" in {caution.code for caution in told}) != fits


# The textbook answer, 4 : 2 : 1 by arc (common practice), though the corners' nozzle
# throws 28 of 30 ft: 30 ft are 54 % of its diameter, and 55 % may be had in calm air.
TEXTBOOK = HEADS.replace("45,35", "45,30")
SHORT_CORNERS = "nozzle,pressure_psi,flow_gpm,radius_ft\n" + "".join(
    f"{flow:.1f},45,{flow},{radius}\n"
    for flow, radius in ((6, 32), (4, 31), (3, 30), (2, 30), (1.5, 30), (1, 28))
)


def test_a_throw_short_of_the_next_head_yet_within_the_rule_is_told(chosen):
    plan = chosen(SUPPLY.format(gpm=12), heads=TEXTBOOK, chart=SHORT_CORNERS)

    assert plan.fits
    assert names(plan) == ["4.0", "2.0", "1.0"]
    (short,) = plan.cautions
    assert short.code == "throw-short"
    assert short.values["heads"] == ["corners"]
    assert short.values["radius_m"] == pytest.approx(28 * FT)


# A radius screw takes a quarter (common practice): 35 ft · 1.25 = 43.75 ft.
@pytest.mark.parametrize(("radius_ft", "fits"), [(43.7, True), (43.8, False)])
def test_no_nozzle_throws_farther_than_its_screw_turns_down(chosen, radius_ft, fits):
    plan = chosen(
        SUPPLY.format(gpm=24), chart=CHART.replace(",40\n", f",{radius_ft}\n")
    )

    assert plan.choices[0].fits == fits


# Common practice: sprays throw to about 18 ft, rotors from about 15 ft. A row that
# says its kind is taken at its word.
@pytest.mark.parametrize(
    ("kind", "said", "radius_ft", "fits"),
    [("spray", "", 15, True), ("spray", "", 18.5, False), ("rotor", "", 18.5, True),
     ("rotor", "", 14.5, False), ("rotor", "rotor", 14.5, True),
     ("spray", "spray", 18.5, True), ("spray", "rotor", 15, False),
     ("multi-stream", "", 14.5, True), ("multi-stream", "", 18.5, True)],
)  # fmt: skip
def test_a_nozzle_goes_only_into_a_body_that_takes_it(
    chosen, kind, said, radius_ft, fits
):
    chart = "nozzle,head_kind,pressure_psi,flow_gpm,radius_ft\n" + "".join(
        f"{flow:g},{said},45,{flow},{radius_ft}\n" for flow in FLOWS
    )
    plan = chosen(
        SUPPLY.format(gpm=24), heads=HEADS.replace("45,35", "45,15"), chart=chart,
        kind=kind,
    )  # fmt: skip

    assert plan.choices[0].limits == (() if fits else ("arc",))


# Nothing that throws 28 ft goes into a strip 4 ft wide, whatever its flow.
def test_a_rotor_nozzle_is_not_put_into_a_narrow_strip(chosen):
    heads = HEADS.replace("45,35", "45,4")
    plan = chosen(SUPPLY.format(gpm=24), heads=heads,
                  chart=CHART.replace(",40\n", ",28\n"))  # fmt: skip

    assert not plan.fits
    assert plan.choices[0].limits == ("throw",)


LOW = "nozzle,pressure_psi,flow_gpm,radius_ft,low_angle\n" + "".join(
    f"{mark}{flow:g},45,{flow},{radius},{low}\n"
    for mark, radius, low in (("", 40, "no"), ("L", 39, "yes"))
    for flow in FLOWS
)


# Common practice: low angle from the class of 8 mph on.
@pytest.mark.parametrize(
    ("wind_mph", "nozzles"), [(7, ["8", "4", "2"]), (8, ["L8", "L4", "L2"])]
)
def test_low_angle_is_taken_where_it_is_windy(chosen, wind_mph, nozzles):
    supply = SUPPLY.format(gpm=24).replace("wind_mph = 3", f"wind_mph = {wind_mph}")
    plan = chosen(supply, chart=LOW)

    assert names(plan) == nozzles
    assert codes(plan) == []


def test_standard_angle_in_wind_is_told_where_the_chart_has_no_other(chosen):
    supply = SUPPLY.format(gpm=24).replace("wind_mph = 3", "wind_mph = 9")

    assert codes(chosen(supply)) == ["wind-standard-angle"]


def test_an_arc_that_is_not_in_the_chart_is_told(chosen):
    chart = "nozzle,arc_deg,pressure_psi,flow_gpm,radius_ft\nF,360,45,8,40\n" + (
        "H,180,45,4,40\n"
    )
    plan = chosen(SUPPLY.format(gpm=24), chart=chart)

    assert plan.choices[0].limits == ("arc",)
    assert plan.choices[0].chosen.nozzle.tolist() == [0, 1, -1]


def test_a_chart_without_throw_is_let_pass_with_a_word(chosen):
    chart = "nozzle,pressure_psi,flow_gpm\n6,45,6\n3,45,3\n1.5,45,1.5\n"
    plan = chosen(SUPPLY.format(gpm=18), chart=chart)

    assert plan.fits
    assert codes(plan) == ["throw-unknown"]
    # The throw of heads.csv stays.
    assert plan.after.site.heads.radius_m == pytest.approx([40 * FT] * 3)


def test_heads_without_spacing_share_the_ground_by_arc(chosen):
    heads = HEADS.replace(",spacing_ft", "").replace(",45,35\n", ",45\n")
    plan = chosen(SUPPLY.format(gpm=18), heads=heads)

    assert plan.fits
    assert names(plan) == ["6", "3", "1.5"]
    assert codes(plan) == ["spacing-unknown"]


# Clay loam takes 0.2 in/h, and less may stand on a slope of 10 %.
def test_more_cycles_are_forced_only_where_asked_for(chosen):
    gentle = chosen(SUPPLY.format(gpm=24), soil="clay loam", slope=10)
    strong = chosen(
        SUPPLY.format(gpm=24), soil="clay loam", slope=10, allow_more_cycles=True
    )

    calm, most = gentle.choices[0].chosen, strong.choices[0].chosen
    assert names(strong) == ["8", "4", "2"]
    assert calm.cycles < most.cycles
    assert calm.total_flow_l_min < most.total_flow_l_min
    more = gentle.choices[0].with_more_cycles
    assert more.nozzle.tolist() == most.nozzle.tolist()
    # The table itself says so: it splits a day into more cycles with the stronger set.
    cycles = [p.after.plan.schedule.cycles[0].max() for p in (gentle, strong)]
    assert cycles[0] < cycles[1]


def best_by_planning(plan):
    """Most water of the matched sets that the table splits least, by planning all."""
    site, choice = plan.before.site, plan.choices[0]
    offer = choice.offer
    best = None
    for picks in itertools.product(range(len(plan.chart)), repeat=len(offer.rows)):
        flow = offer.flow_l_min[list(picks)]
        total = float((flow * offer.count).sum())
        shares = flow / offer.area_m2 * (offer.count * offer.area_m2).sum() / total
        if total > choice.design_flow_l_min * (1 + 1e-9):
            continue
        if np.abs(shares - 1).max() > MATCHED_WITHIN + 1e-9:
            continue
        heads = dataclasses.replace(
            site.heads, flow_l_min=flow, pressure_kpa=np.full(len(flow), np.nan)
        )
        planned = plan_site(dataclasses.replace(site, heads=heads))
        schedule, minutes = planned.plan.schedule, planned.plan.event_minutes[0]
        # Least cycles that the method begins with: ⌈0.95 x / L⌉, where soil binds.
        least = np.ceil(0.95 * minutes / planned.plan.longest_cycle_min[0] - 1e-9)
        forced = np.where(schedule.soak_min[0] > 0, least, 1).max()
        key = forced, -round(total, 6)
        best = key if best is None or key < best else best
    return best


@pytest.mark.parametrize("soil", ["sand", "clay loam", "clay"])
@pytest.mark.parametrize("slope", [0, 10])
def test_cycles_are_those_of_the_table(chosen, soil, slope):
    plan = chosen(SUPPLY.format(gpm=24), soil=soil, slope=slope)
    forced, water = best_by_planning(plan)

    assert plan.choices[0].chosen.cycles == forced
    assert plan.choices[0].chosen.total_flow_l_min == pytest.approx(-water, abs=1e-5)


@pytest.fixture(params=EXAMPLES)
def example(request):
    return ROOT / "examples" / request.param


def test_every_example_has_a_chart_on_which_all_zones_fit(example):
    plan = choose_nozzles(
        plan_site(read_site(example)), read_chart(example / "nozzles.csv")
    )

    assert plan.choices
    assert plan.fits
    after = {c.code for c in plan.after.cautions}
    assert not after & {"unmatched-heads", "over-design-flow"}
    site = plan.after.site
    wide = spacing_cautions(site.zones, site.heads, site.supply.wind_m_s)
    assert [c for c in wide if c.code == "spacing-too-wide"] == []


def test_a_lawn_with_one_nozzle_on_every_arc_is_mended():
    folder = ROOT / "examples" / "home"
    site = dataclasses.replace(read_site(folder), plan_by="months")
    plan = choose_nozzles(plan_site(site), read_chart(folder / "nozzles.csv"))

    assert "unmatched-heads" in {c.code for c in plan.before.cautions}
    weekly = [p.plan.schedule.minutes_per_week[1].max()
              for p in (plan.before, plan.after)]  # fmt: skip
    volume = [p.plan.volume_l[1].sum() for p in (plan.before, plan.after)]
    assert weekly[1] < weekly[0]
    assert volume[1] < volume[0]


@pytest.mark.parametrize("name", EXAMPLES[:2])
def test_what_is_written_makes_the_plan_that_was_shown(tmp_path, name):
    example = ROOT / "examples" / name
    folder = tmp_path / example.name
    shutil.copytree(example, folder)
    climate = folder.parents[1] / "climate_samples"
    if not climate.exists():
        shutil.copytree(ROOT / "climate_samples", climate)
    chart = read_chart(folder / "nozzles.csv")
    first = choose_nozzles(plan_site(read_site(folder)), chart)
    units = first.before.site.units

    text = with_new_heads(
        folder / "heads.csv", new_heads(first.choices, first.chart), units
    )
    (folder / "heads.csv").write_bytes(text.encode("utf-8"))

    heads, shown = read_site(folder).heads, first.after.site.heads
    assert heads.nozzle == shown.nozzle
    assert heads.low_angle.tolist() == shown.low_angle.tolist()
    for name in ("flow_l_min", "radius_m", "pressure_kpa"):
        # Four digits, the flow rounded down.
        np.testing.assert_allclose(
            getattr(heads, name), getattr(shown, name), rtol=1.1e-3
        )
    assert np.all(heads.flow_l_min <= shown.flow_l_min * (1 + 1e-9))
    # Choosing again changes nothing, not a byte.
    again = choose_nozzles(plan_site(read_site(folder)), chart)
    for one, two in zip(first.choices, again.choices, strict=True):
        assert one.chosen.nozzle.tolist() == two.chosen.nozzle.tolist()
    assert (
        with_new_heads(
            folder / "heads.csv", new_heads(again.choices, again.chart), units
        )
        == text
    )


def test_a_zone_measured_with_its_old_nozzles_is_told():
    folder = ROOT / "examples" / "southern_garden"
    site = read_site(folder)
    rate, uniformity = site.zones.rate_mm_h.copy(), site.zones.uniformity.copy()
    rate[1], uniformity[1] = 8.7, 0.62
    zones = dataclasses.replace(site.zones, rate_mm_h=rate, uniformity=uniformity)
    site = dataclasses.replace(site, zones=zones)
    plan = choose_nozzles(plan_site(site), read_chart(folder / "nozzles.csv"))

    told = [c for c in plan.cautions if c.code == "measured-before"]
    assert [(c.zone, c.values["names"]) for c in told] == [
        ("2", ["rate", "uniformity"])
    ]
    assert np.isnan(plan.after.site.zones.rate_mm_h[1])


# A catch-can test holds for the nozzles that it was made with.
def test_a_zone_tested_with_its_old_nozzles_is_told_and_planned_without_the_test():
    folder = ROOT / "examples" / "southern_garden"
    plan = choose_nozzles(
        plan_site(read_site(folder)), read_chart(folder / "nozzles.csv")
    )

    assert [c.zone for c in plan.cautions if c.code == "tested-before"] == ["2"]
    assert plan.before.rates.rate_source[1] == "catch-can"
    assert plan.after.rates.rate_source[1] == "flow and area"
    assert len(plan.after.site.cans) == 0
