"""Sites drawn at random to be put on a controller: climate, zones, windows, controller.

Rates are those that the trade expects of each kind of head (common practice); the rest
is drawn widely, so that some sites cannot be held.
"""

from __future__ import annotations

import datetime
import random
import tempfile
from pathlib import Path

from scheduler.inputs.folder import read_site
from scheduler.inputs.site import Site

SAMPLES = Path(__file__).parents[2] / "climate_samples"
# Latitude and longitude stand for a climate, not for a place.
CLIMATES = {"cold_high_plains": 40.5, "cool_marine": 47.0, "dry_summer_valley": 38.5,
            "hot_desert": 32.0, "humid_subtropical_coast": 30.5,
            "southern_temperate": -35.0}  # fmt: skip
RATES_MM_H = {"spray": (30, 50), "rotor": (8, 18), "multi-stream": (8, 14),
              "drip": (5, 25), "bubbler": (20, 60)}  # fmt: skip
LAWNS = ("cool-season turf", "warm-season turf", "tall fescue", "bermuda grass")
BEDS = ("shrubs moderate water", "shrubs low water", "trees moderate water", "roses",
        "citrus trees", "vegetables", "groundcover low water", "desert plants",
        "native plants")  # fmt: skip
SOILS = ("sand", "sandy loam", "loam", "clay loam", "clay")
WEEK = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def drawn_site(seed: int) -> tuple[Site, datetime.date]:
    """A site, and the day on which its card is keyed in."""
    draw = random.Random(seed)
    climate = draw.choice(list(CLIMATES))
    rows = [_zone(draw, row) for row in range(draw.randint(2, 8))]
    most = max(float(row[6]) for row in rows)
    header = "zone,plant,soil,slope_percent,head_kind,area_m2,flow_l_min,uniformity"
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "drawn"
        folder.mkdir()
        lines = [header, *(",".join(map(str, row)) for row in rows)]
        (folder / "zones.csv").write_text("\n".join(lines) + "\n")
        (folder / "site.toml").write_text(_settings(draw, climate, most))
        site = read_site(folder)
    return site, datetime.date(2027, 1, 1) + datetime.timedelta(draw.randrange(365))


def _zone(draw: random.Random, row: int) -> tuple[str, ...]:
    kind = draw.choice(("rotor", "spray", "multi-stream", "drip", "drip", "bubbler"))
    beds = kind in ("drip", "bubbler") or draw.random() < 0.2
    area = draw.randint(15, 400)
    flow = area * draw.uniform(*RATES_MM_H[kind]) / 60
    return (
        f"z{row + 1}", draw.choice(BEDS if beds else LAWNS), draw.choice(SOILS),
        str(draw.choice((0, 1, 3, 6, 10))), kind, str(area), f"{flow:.1f}",
        f"{draw.uniform(0.5, 0.9):.2f}",
    )  # fmt: skip


def _settings(draw: random.Random, climate: str, most_flow: float) -> str:
    at_once = draw.choice((1, 1, 1, 2, 3))
    lines = [
        "[site]", f"latitude = {CLIMATES[climate]}", "longitude = 0.0",
        'timezone = "Etc/GMT"',
        "[climate]", f'file = "{SAMPLES / climate}.csv"',
        f"water_in_frost = {str(draw.random() < 0.1).lower()}",
        "[supply]", f"design_flow_l_min = {most_flow * draw.uniform(1, 2):.1f}",
        "pressure_kpa = 280",
        "[controller]", f"programs = {draw.choice((1, 2, 3, 4, 6))}",
        f"starts = {draw.choice((1, 2, 3, 4, 8))}",
        f"longest_run_min = {draw.choice((20, 60, 99, 240))}",
        f"minute_step = {draw.choice((0.5, 1, 1, 1, 5))}",
        f"percent_step = {draw.choice((1, 5, 10, 20))}",
        f"percent_most = {draw.choice((100, 150, 200))}",
        f'percent_by = "{draw.choice(("program", "program", "controller", "none"))}"',
        f"intervals = {str(draw.random() < 0.6).lower()}",
        f"zones_at_once = {at_once}", f"gap_s = {draw.choice((0, 0, 10, 60))}",
        f"shortest_soak_min = {draw.choice((0, 30, 60))}",
        f"soak_built_in = {str(draw.random() < 0.3).lower()}",
    ]  # fmt: skip
    if draw.random() < 0.4:
        lines += ["[[window]]", 'head_kinds = ["drip", "bubbler"]',
                  f'opens = "{draw.choice(("00:00", "18:00", "20:00"))}"',
                  f'closes = "{draw.choice(("10:00", "24:00"))}"']  # fmt: skip
    if draw.random() < 0.3:
        lines += ["[[window]]", "months = [5, 6, 7, 8]", f"days = {_days(draw)}",
                  'opens = "21:00"', 'closes = "06:00"']  # fmt: skip
    if draw.random() < 0.8:
        lines += ["[[window]]", f"days = {_days(draw)}",
                  f'opens = "{draw.choice(("00:00", "02:00", "20:00", "22:30"))}"',
                  f'closes = "{draw.choice(("05:30", "08:00", "sunrise"))}"',
                  f"most_days_a_week = {draw.choice((2, 3, 4, 7, 7))}"]  # fmt: skip
    if draw.random() < 0.2:
        place = lines.index("[controller]") + 1
        lines.insert(place, f"longest_day_min = {draw.choice((30, 60, 120))}")
    return "\n".join(lines) + "\n"


def _days(draw: random.Random) -> str:
    if draw.random() < 0.5:
        return f'"{draw.choice(("any", "odd", "even"))}"'
    days = sorted(draw.sample(WEEK, draw.choice((1, 2, 3, 5))), key=WEEK.index)
    return "[" + ", ".join(f'"{day}"' for day in days) + "]"
