"""What the source of the water asks for; the rules are common practice."""

import pytest

from scheduler.findings.check import find
from scheduler.inputs.folder import read_site
from scheduler.plan.site import plan_site

CODES = {"spray-on-food", "recycled-by-day", "salinity-unknown", "recycled-signs",
         "filter-needed", "drinking-salty"}  # fmt: skip
ZONES = """zone,plant,soil,area_m2,flow_l_min,head_kind
lawn,tall fescue,loam,100,20,spray
greens,vegetables,loam,20,8,spray
beds,roses,loam,30,2,drip
"""


@pytest.fixture
def told(tmp_path):
    """Codes and zones that check tells of a source, in a site with these windows."""

    def tell(source, windows="", water=""):
        months = "".join(f"{month},3,40\n" for month in range(1, 13))
        (tmp_path / "climate.csv").write_text(f"month,et0_mm_day,rain_mm\n{months}")
        (tmp_path / "zones.csv").write_text(ZONES)
        (tmp_path / "site.toml").write_text(
            "[site]\nlatitude = 40\nlongitude = 10\n[climate]\nfile = 'climate.csv'\n"
            "[plan]\nby = 'months'\n"
            f"[supply]\npressure_kpa = 250\nsource = '{source}'\n[water]\n{water}\n"
            f"{windows}"
        )
        found = find(plan_site(read_site(tmp_path)))
        return [(f.caution.code, f.caution.zone) for f in found
                if f.caution.code in CODES]  # fmt: skip

    return tell


def test_drinking_water_asks_for_nothing(told):
    assert told("drinking") == []


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        ("well", {("salinity-unknown", None), ("filter-needed", "beds")}),
        ("pond", {("salinity-unknown", None), ("filter-needed", "beds"),
                  ("spray-on-food", "greens")}),
        ("recycled", {("salinity-unknown", None), ("filter-needed", "beds"),
                      ("spray-on-food", "greens"), ("recycled-signs", None)}),
    ],
)  # fmt: skip
def test_a_source_asks_for_its_care(told, source, expected):
    assert set(told(source)) == expected


# Nobody drinks more than 1000 mg/L of salts (WHO, from memory): 1.56 dS/m at 640 mg/L.
@pytest.mark.parametrize(("salinity", "doubted"), [(1.5, False), (1.6, True)])
def test_drinking_water_is_not_as_salty_as_that(told, salinity, doubted):
    codes = told("drinking", water=f"salinity_ds_m = {salinity}")

    assert codes == [("drinking-salty", None)] * doubted
    assert ("drinking-salty", None) not in told("well", water="salinity_ds_m = 3")


def test_a_measured_salinity_is_not_asked_for(told):
    codes = {code for code, _ in told("recycled", water="salinity_ds_m = 1.2")}

    assert "salinity-unknown" not in codes


@pytest.mark.parametrize(
    ("hours", "by_day"),
    [
        (("21:00", "06:00"), False),
        (("20:00", "08:00"), False),
        (("22:00", "sunrise"), False),
        (("05:00", "09:00"), True),
        (("16:00", "06:00"), True),
        (("10:00", "12:00"), True),
    ],
)
def test_recycled_water_is_kept_to_the_night(told, hours, by_day):
    opens, closes = hours
    window = f'[[window]]\nopens = "{opens}"\ncloses = "{closes}"\n'

    assert (("recycled-by-day", None) in told("recycled", window)) is by_day
    drip = '[[window]]\nhead_kinds = ["drip"]\nopens = "10:00"\ncloses = "16:00"\n'
    assert ("recycled-by-day", None) not in told("recycled", drip)


# The first window that fits holds (design, site.toml), and the site has no rotors.
@pytest.mark.parametrize("day", ["", 'head_kinds = ["rotor"]\n'])
def test_hours_that_hold_for_no_head_that_throws_are_not_told(told, day):
    windows = (
        '[[window]]\nhead_kinds = ["spray"]\nopens = "22:00"\ncloses = "05:00"\n'
        f'[[window]]\n{day}opens = "08:00"\ncloses = "16:00"\n'
    )

    assert ("recycled-by-day", None) not in told("recycled", windows)
