"""A small invented site."""

from pathlib import Path

import pytest

CLIMATE = "month,et0_in_day,rain_in,tmin_f,tmax_f\n" + "".join(
    f"{month},{et0},0.4,45,75\n"
    for month, et0 in enumerate(
        (0.05, 0.07, 0.11, 0.16, 0.22, 0.27, 0.29, 0.26, 0.20, 0.12, 0.07, 0.04), 1
    )
)
SITE_TOML = """\
units = "us"
[site]
name = "A small site"
latitude = 38.0
longitude = -100.0
[climate]
file = "climate.csv"
[plan]
by = "months"
[supply]
design_flow_gpm = 20
pressure_psi = 45
[[window]]
days = "any"
[controller]
minute_step = 1
"""
ZONES = """\
zone,name,plant,soil,slope_percent,area_ft2,flow_gpm,head_kind
1,Lawn,cool-season turf,loam,2,2000,15,rotor
2,Beds,shrubs moderate water,loam,2,800,4,drip
"""


@pytest.fixture
def site(tmp_path) -> Path:
    folder = tmp_path / "site"
    folder.mkdir()
    for name, text in (
        ("site.toml", SITE_TOML),
        ("zones.csv", ZONES),
        ("climate.csv", CLIMATE),
    ):
        (folder / name).write_text(text, encoding="utf-8")
    return folder
