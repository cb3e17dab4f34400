"""Doubtful rates and throws: right numbers in columns of the wrong unit."""

import pytest

from scheduler.findings.audit import with_audited_minutes
from scheduler.findings.check import find
from scheduler.inputs.chart import read_chart
from scheduler.inputs.folder import read_site
from scheduler.plan.choosing import choose_nozzles
from scheduler.plan.site import plan_site
from scheduler.report.words import sentences

SITE = """[site]
latitude = 40
longitude = 10
[supply]
pressure_psi = 45
[climate]
file = "climate.csv"
[[window]]
days = "any"
"""
CLIMATE = "month,et0_mm_day,rain_mm\n" + "".join(f"{m},4,20\n" for m in range(1, 13))
# Four quarter circles on the corners of a square of 30 ft: 96.25 * 4 gpm / 900 ft² is
# 0.43 in/h, as rotors lay it down.
ZONES = """zone,plant,soil,area_ft2,head_kind{more}
1,cool-season turf,loam,900,{kind}{cell}
"""
HEADS = """zone,head,count,nozzle,arc_deg,radius_ft,flow_gpm,pressure_psi,spacing_ft
1,corner,4,a,90,32,1,45,30
"""
# Ten cans that caught 0.14 in each in 20 minutes: 0.42 in/h.
CANS = "zone,{catch},minutes\n" + "1,0.14,20\n" * 10


@pytest.fixture
def site(tmp_path):
    def write(heads=HEADS, kind="rotor", cans="", more="", cell=""):
        (tmp_path / "site.toml").write_text(SITE)
        (tmp_path / "climate.csv").write_text(CLIMATE)
        zones = ZONES.format(kind=kind, more=more, cell=cell)
        (tmp_path / "zones.csv").write_text(zones)
        (tmp_path / "heads.csv").write_text(heads)
        if cans:
            (tmp_path / "cans.csv").write_text(cans)
        return plan_site(read_site(tmp_path))

    return write


def doubts(plan):
    """Codes and sentences of what is doubted, in US units."""
    cautions = [finding.caution for finding in find(plan)]
    return [
        (c.code, sentences.sentence(c, "us"))
        for c in cautions
        if c.code.endswith("-doubtful")
    ]


def test_a_site_in_its_right_units_is_not_doubted(site):
    assert doubts(site()) == []
    assert doubts(site(cans=CANS.format(catch="catch_in"))) == []


# 1 L/min for 1 gpm: a gallon is 3.785 L, so 0.43 in/h becomes 0.11 in/h, under half of
# 0.25.
def test_flow_in_the_wrong_unit_is_doubted_by_the_kind_of_head(site):
    plan = site(HEADS.replace("flow_gpm", "flow_l_min"))

    assert doubts(plan) == [
        (
            "rate-doubtful",
            "0.11 in/h is far less than a rotor head lays down, 0.25 to 1.00 as a "
            "rule: look first at the units in the column names flow_*, area_* and "
            "spacing_*, then at head_kind",
        )
    ]


# The ends are exact: half of 0.25 in/h and twice 1.0 in/h (common practice), as the
# rate that zones.csv gives, with flow and area left to follow from it.
@pytest.mark.parametrize(
    ("rate_in_h", "doubted"),
    [(0.1249, True), (0.1251, False), (1.999, False), (2.001, True)],
)
def test_rates_are_doubted_outside_half_the_low_and_twice_the_high_end(
    site, rate_in_h, doubted
):
    heads = "zone,arc_deg\n1,90\n"
    plan = site(heads, more=",rate_in_h", cell=f",{rate_in_h}")

    assert [code for code, _ in doubts(plan)] == ["rate-doubtful"] * doubted


# Four emitters of 2 gal/h, by a desert tree that has 400 ft² for itself: 8 gph are
# 96.25 * 8 / 60 / 400 = 0.032 in/h, as such plantings are.
def test_sparse_drip_is_not_doubted(site):
    heads = "zone,arc_deg\n1,90\n"
    plan = site(heads, kind="drip", more=",rate_in_h", cell=",0.032")

    assert doubts(plan) == []


# 0.14 mm where inches were meant are 25.4 times less than flow over area gives.
def test_cans_are_doubted_where_flow_over_area_is_another(site):
    found = doubts(site(cans=CANS.format(catch="catch_in").replace("0.14", "1.4")))

    assert [code for code, _ in found] == ["rate-doubtful"]
    assert found[0][1].startswith(
        "the cans say 4.20 in/h, and the plan goes by it, but flow over area is 0.43 "
        "in/h: look first at the units in the column names catch_* and can_diameter_*"
    )


# 32 m is 105 ft, 3.5 times the 30 ft to the next head; 60 ft is twice, and let pass.
@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        (
            "radius_ft",
            "radius_m",
            [
                (
                    "throw-doubtful",
                    "head corner throws 105.0 ft but stands 30.0 ft apart: look first "
                    "at the units in the column names radius_* and spacing_*",
                )
            ],
        ),
        ("90,32", "90,60", []),
    ],
)
def test_throw_past_twice_the_spacing_is_doubted(site, old, new, expected):
    assert doubts(site(HEADS.replace(old, new))) == expected


def test_a_chart_in_the_wrong_unit_is_doubted_where_it_fits(site, tmp_path):
    plan = site()
    chart = tmp_path / "chart.csv"
    for unit, doubted in (("gpm", []), ("l_min", ["rate-doubtful"])):
        chart.write_text(
            f"nozzle,pressure_psi,flow_{unit},radius_ft\na,40,0.94,31\na,50,1.05,33\n"
        )
        found = choose_nozzles(plan, read_chart(chart))

        assert found.fits
        assert [c.code for c in found.cautions if "doubt" in c.code] == doubted


# A measured rate a fifth off flow over area is told (common practice). 96.25 * 4 / 900
# is 0.42778 in/h: 0.34222 is a fifth less, 0.51333 a fifth more; over twice that it is
# doubted instead.
@pytest.mark.parametrize(
    ("rate_in_h", "words"),
    [(0.3424, None), (0.3420, "20 % less"), (0.5131, None), (0.5135, "20 % more"),
     (0.9, None)],
)  # fmt: skip
def test_a_measured_rate_a_fifth_off_flow_over_area_is_told(site, rate_in_h, words):
    plan = site(more=",rate_in_h", cell=f",{rate_in_h}")

    told = [sentences.sentence(c, "us") for c in plan.cautions if c.code == "rate-off"]
    assert len(told) == (words is not None)
    if words:
        assert (
            f"rate_* says {rate_in_h:.2f} in/h, {words} than flow over area, "
            in (told[0])
        )
        assert "read the meter while the zone runs" in told[0]


# Homes that were audited measured 0.49 with rotors (Baum, Dukes and Miller 2005): the
# minutes are those of the same site whose zones.csv says 0.49.
def test_an_assumed_uniformity_is_told_with_its_minutes_planned_anew(site):
    plan, anew = site(), site(more=",uniformity", cell=",0.49")
    (plain,) = [c for c in plan.cautions if c.code == "uniformity-assumed"]
    told = with_audited_minutes(plan)
    (caution,) = [c for c in told.cautions if c.code == "uniformity-assumed"]
    now, then = (p.plan.schedule.minutes_per_week[0].max() for p in (plan, anew))

    assert "minutes" not in plain.values
    assert caution.values["zones"] == ("1",)
    assert caution.values["minutes"] == pytest.approx(now)
    assert caution.values["minutes_measured"] == pytest.approx(then)
    assert f"{now:.0f} minutes come to {then:.0f}" in sentences.sentence(caution, "us")


@pytest.mark.parametrize("known", ["given", "tested", "drip"])
def test_a_uniformity_that_is_known_or_not_audited_is_not_told(site, known):
    if known == "given":
        plan = site(more=",uniformity", cell=",0.7")
    elif known == "tested":
        plan = site(cans=CANS.format(catch="catch_in"))
    else:
        plan = site("zone,arc_deg\n1,90\n", "drip", more=",rate_in_h", cell=",0.4")

    assert "uniformity-assumed" not in {c.code for c in plan.cautions}
