"""Why a month is off, on sites whose climate leaves one reason."""

from pathlib import Path

from scheduler.inputs.folder import read_site
from scheduler.plan.site import plan_site
from scheduler.report import frames

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
    assert frames.off_reason(plan, 0, 11) == "off: soil carries"
    assert frames.off_reason(plan, 0, 0) == "off: rain suffices"
