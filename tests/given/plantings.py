"""A small site with a zone that was planted lately, for tests of new plantings."""

from pathlib import Path

CLIMATES = Path(__file__).parents[2] / "climate_samples"

SITE = """
units = "us"
[site]
latitude = {latitude}
longitude = {longitude}
timezone = "{timezone}"
[climate]
file = "{climate}"
[controller]
programs = {programs}
"""
LAWN = (
    "zone,plant,soil,area_ft2,flow_gpm,head_kind,uniformity,planted,stage\n"
    "1,{plant},{soil},1200,18,spray,0.7,{planted},{stage}\n"
)
TREES = (
    "zone,plant,soil,head_kind,uniformity,emitters,emitter_flow_gph,plants,canopy_ft2,"
    "planted,stage,caliper_in\n"
    "1,trees moderate water,loam,drip,0.9,12,2,2,20,{planted},container,{caliper}\n"
)
DESERT = {"climate": "hot_desert", "latitude": 32.0, "longitude": -112.0,
          "timezone": "Etc/GMT+7"}  # fmt: skip
HIGH_PLAINS = {"climate": "cold_high_plains", "latitude": 41.0, "longitude": -104.0,
               "timezone": "Etc/GMT+7"}  # fmt: skip
VALLEY = {"climate": "dry_summer_valley", "latitude": 38.5, "longitude": -120.0,
          "timezone": "Etc/GMT+8"}  # fmt: skip
SOUTH = {"climate": "southern_temperate", "latitude": -35.0, "longitude": 140.0,
         "timezone": "Etc/GMT-9"}  # fmt: skip


def lawn(folder, window="", plant="bermuda grass", soil="sandy loam",
         planted="2026-06-12", stage="sod", place=DESERT, programs=3):  # fmt: skip
    """Folder of a site with a lawn under one valve, planted on a date."""
    zones = LAWN.format(plant=plant, soil=soil, planted=planted, stage=stage)
    return _folder(folder, zones, window, place, programs)


def trees(folder, caliper, planted="2026-06-12", place=DESERT, window=""):
    """Folder of a site with two trees on drip, planted on a date."""
    zones = TREES.format(planted=planted, caliper=caliper)
    return _folder(folder, zones, window, place, 3)


def _folder(folder, zones, window, place, programs):
    climate = (CLIMATES / f"{place['climate']}.csv").as_posix()
    settings = SITE.format(**{**place, "climate": climate, "programs": programs})
    (folder / "site.toml").write_text(settings + window, encoding="utf-8")
    (folder / "zones.csv").write_text(zones, encoding="utf-8")
    return folder
