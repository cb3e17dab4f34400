"""Why a month is off, on sites whose climate leaves one reason."""

from pathlib import Path

from scheduler.inputs.folder import read_site
from scheduler.plan import table
from scheduler.plan.site import plan_site
from scheduler.plan.table import Off, why_off
from scheduler.report.words import table as words

ROOT = Path(__file__).parents[2]
SITE = """[site]
latitude = 40
longitude = 10
[climate]
file = "climate.csv"
[plan]
by = "months"
[[window]]
days = "any"
"""
ZONES = """zone,plant,soil,slope_percent,area_m2,head_kind
1,cool-season turf,loam,2,80,spray
"""
HEADS = """zone,head,count,arc_deg,flow_l_min,spacing_m
1,quarters,4,90,5,4
"""


def planned(folder: Path, december_rain_mm: float):
    """One lawn under 1 mm a day; a dry year, but wet in January, and in December."""
    months = ["month,et0_mm_day,rain_mm", "1,1,200"]
    months += [f"{month},1,0" for month in range(2, 12)]
    months.append(f"12,1,{december_rain_mm}")
    (folder / "climate.csv").write_text("\n".join(months) + "\n")
    (folder / "site.toml").write_text(SITE)
    (folder / "zones.csv").write_text(ZONES)
    (folder / "heads.csv").write_text(HEADS)
    return plan_site(read_site(folder))


# In January the rain counts for all that the lawn needs, so net need is 0; December is
# left a little short, which the soil carries and January would pay if it watered.
def test_a_month_without_net_need_is_off_for_rain_whatever_it_would_pay(tmp_path):
    plan = planned(tmp_path, 55)
    december, january = plan.plan.net_need_mm[0, [11, 0]]

    assert january == 0 < december
    assert why_off(plan.plan.flags[0, 11]) is Off.CARRIED
    assert why_off(plan.plan.flags[0, 0]) is Off.NO_NEED


def test_why_off_has_frost_before_all_else():
    assert why_off(table.FROST | table.NOT_PERMITTED | table.NO_NEED) is Off.FROST
    assert why_off(table.NOT_PERMITTED | table.NO_NEED) is Off.NOT_PERMITTED
    assert why_off(table.LIGHT | table.NO_NEED) is Off.NO_NEED
    assert why_off(table.LIGHT) is Off.LIGHT
    assert why_off(table.UNDER_STEP) is Off.UNDER_STEP


def test_every_reason_has_words_of_its_own():
    told = {words.off(why) for why in Off}

    assert len(told) == len(Off)
