"""Laws that hold for every site, over sites drawn at random and written to files."""

from __future__ import annotations

import contextlib
import csv
import dataclasses
import datetime
import functools
import io
import itertools
import json
import math
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, event, given, settings
from hypothesis import strategies as st

import scheduler
from scheduler import cli
from scheduler.errors import HARD_LIMITS
from scheduler.inputs.folder import read_site
from scheduler.plan.sites import plan_site
from scheduler.report import data

PACKAGE = Path(scheduler.__file__).parent
DAYS_IN_MONTH = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
DRIP = ("drip", "bubbler")
SYSTEMS = ("us", "metric")
# Exact factors: foot, inch, US gallon of 231 in³; pound-force on a square inch.
FT, IN, GAL, PSI = 0.3048, 25.4, 231 * 0.254**3, 0.45359237 * 9.80665 / 0.0254**2 / 1e3
# What is drawn is in SI: name of the column, and how it is written in either system.
SPELLINGS = {
    "area": ("area_ft2", FT**2, "area_m2"),
    "flow": ("flow_gpm", GAL, "flow_l_min"),
    "rate": ("rate_in_h", IN, "rate_mm_h"),
    "root_depth": ("root_depth_in", IN, "root_depth_mm"),
    "radius": ("radius_ft", FT, "radius_m"),
    "spacing": ("spacing_ft", FT, "spacing_m"),
    "row_spacing": ("row_spacing_ft", FT, "row_spacing_m"),
    "pressure": ("pressure_psi", PSI, "pressure_kpa"),
    "design_flow": ("design_flow_gpm", GAL, "design_flow_l_min"),
    "elevation": ("elevation_ft", FT, "elevation_m"),
    "rain": ("rain_in", IN, "rain_mm"),
    "et0": ("et0_in_day", IN, "et0_mm_day"),
    "tmin": ("tmin_f", 1 / 1.8, "tmin_c"),
    "emitter_flow": ("emitter_flow_gph", GAL / 60, "emitter_flow_l_min"),
    "emitter_spacing": ("emitter_spacing_ft", FT, "emitter_spacing_m"),
    "emitter_row_spacing": ("emitter_row_spacing_ft", FT, "emitter_row_spacing_m"),
}

Row = dict[str, Any]


@dataclass(frozen=True)
class Drawn:
    """A site as drawn, in SI; rows as people write them, less the units."""

    site: Row
    climate: tuple[Row, ...]
    supply: Row
    rain: Row
    windows: tuple[Row, ...]
    controller: Row
    water: Row
    zones: tuple[Row, ...]
    heads: tuple[Row, ...]


def written(name: str, value: Any, system: str) -> tuple[str, str]:
    """Column and cell of a value in a system of units."""
    if name in SPELLINGS:
        us, factor, metric = SPELLINGS[name]
        shift = 32.0 if name == "tmin" else 0.0
        if system == "us":
            return us, repr(value / factor + shift)
        return metric, repr(value)
    return name, str(value)


def csv_text(rows: Sequence[Row], system: str) -> str:
    cells = [
        dict(written(*item, system) for item in row.items() if item[1] is not None)
        for row in rows
    ]
    columns = list(dict.fromkeys(name for row in cells for name in row))
    stream = io.StringIO()
    writer = csv.DictWriter(stream, columns, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(cells)
    return stream.getvalue()


def toml_text(drawn: Drawn, system: str) -> str:
    lines = [f'units = "{system}"']
    tables = [("[site]", drawn.site), ("[climate]", {"file": "climate.csv",
              **drawn.rain}), ("[supply]", drawn.supply),
              ("[controller]", drawn.controller), ("[water]", drawn.water)]  # fmt: skip
    tables += [("[[window]]", window) for window in drawn.windows]
    for title, keys in tables:
        lines.append(title)
        for key, value in keys.items():
            if key in SPELLINGS:
                lines.append(" = ".join(written(key, value, system)))
            else:
                lines.append(f"{key} = {json.dumps(value)}")
    return "\n".join(lines) + "\n"


@contextlib.contextmanager
def folder(drawn: Drawn, system: str = "metric") -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "site"
        path.mkdir()
        (path / "site.toml").write_text(toml_text(drawn, system), "utf-8")
        (path / "climate.csv").write_text(csv_text(drawn.climate, system), "utf-8")
        (path / "zones.csv").write_text(csv_text(drawn.zones, system), "utf-8")
        if drawn.heads:
            (path / "heads.csv").write_text(csv_text(drawn.heads, system), "utf-8")
        yield path


def run(*arguments: object) -> tuple[int, str]:
    """Status and output of a verb; to standard error go only limits not met."""
    out, error = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(error):
        status = cli.status([*map(str, arguments)])
    told = {line.split(":")[0] for line in error.getvalue().splitlines()}
    assert told <= (HARD_LIMITS if status == cli.LIMIT_NOT_MET else set())
    return status, out.getvalue()


def table(drawn: Drawn, system: str = "metric") -> dict[str, Any]:
    """The watering table of a site, as JSON."""
    with folder(drawn, system) as path:
        plan = plan_site(read_site(path))
    return json.loads(data.to_json(data.watering_table(plan, system)))


def number(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False).map(
        lambda value: float(f"{value:.5g}")
    )


def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | strategy


PLANTS = ("cool-season turf", "warm-season turf", "annual flowers", "vegetables",
          "shrubs low water", "shrubs moderate water", "trees very low water",
          "desert plants", "citrus trees", "groundcover high water")  # fmt: skip
SOILS = ("sand", "loamy sand", "sandy loam", "loam", "clay loam", "silty clay", "clay")


@st.composite
def head_rows(draw: st.DrawFn, zone: str) -> list[Row]:
    rows = []
    for place in range(draw(st.integers(1, 3))):
        spacing = draw(number(2, 16))
        rows.append({
            "zone": zone,
            "head": f"h{place}",
            "count": draw(st.integers(1, 12)),
            "arc_deg": draw(st.sampled_from((45, 90, 135, 180, 270, 360))),
            "radius": spacing,
            "flow": draw(number(0.5, 30)),
            "pressure": draw(maybe(number(150, 450))),
            "spacing": spacing,
            "row_spacing": draw(maybe(number(2, 16))),
            "pattern": draw(st.sampled_from(("square", "triangular"))),
        })  # fmt: skip
    return rows


@st.composite
def zone_rows(draw: st.DrawFn, zone: str, station: int) -> tuple[Row, list[Row]]:
    """A row of zones.csv and the rows of its heads: four ways to know a rate."""
    kind = draw(st.sampled_from(("rotor", "spray", "multi-stream", *DRIP)))
    row: Row = {
        "zone": zone,
        "station": station,
        "plant": draw(st.sampled_from(PLANTS)),
        "soil": draw(st.sampled_from(SOILS)),
        "slope_percent": draw(st.sampled_from((0, 2, 3, 5, 9, 12, 20))),
        "root_depth": draw(maybe(number(40, 900))),
        "microclimate_factor": draw(maybe(number(0.5, 1.4))),
        "density_factor": draw(maybe(number(0.5, 1.3))),
        "head_kind": kind,
        "uniformity": draw(maybe(number(0.3, 0.95))),
        "depletion": draw(maybe(number(0.15, 0.8))),
        "longest_gap_days": draw(maybe(st.integers(1, 60))),
    }
    ways = ("heads", "flow", "rate", "emitters" if kind in DRIP else "heads")
    way = draw(st.sampled_from(ways))
    heads: list[Row] = []
    if way == "heads":
        heads = draw(head_rows(zone))
        row["area"] = draw(maybe(number(10, 900)))
    elif way == "flow":
        row["area"] = draw(number(5, 900))
        # Between 2 and 60 mm/h.
        row["flow"] = float(f"{row['area'] * draw(number(2, 60)) / 60:.5g}")
    elif way == "rate":
        row["area"], row["rate"] = draw(number(5, 900)), draw(number(1, 80))
    else:
        row["area"] = draw(number(5, 400))
        row["emitter_flow"] = draw(number(0.01, 0.1))
        row["emitter_spacing"] = draw(number(0.2, 0.6))
        row["emitter_row_spacing"] = draw(number(0.2, 0.8))
    return row, heads


@st.composite
def windows(draw: st.DrawFn) -> list[Row]:
    rows = []
    for _ in range(draw(st.integers(0, 2))):
        some = st.lists(st.sampled_from(WEEKDAYS), min_size=1, max_size=7, unique=True)
        row: Row = {
            "days": draw(st.sampled_from(("any", "odd", "even")) | some),
            "most_days_a_week": draw(st.integers(1, 7)),
        }
        if draw(st.booleans()):
            months = st.lists(st.integers(1, 12), min_size=6, unique=True)
            row["months"] = sorted(draw(months))
        rows.append(row)
    if rows:
        kinds = draw(st.sampled_from((None, ("drip", "bubbler"), ("rotor", "spray"))))
        if kinds:
            rows[0]["head_kinds"] = list(kinds)
    return rows


@st.composite
def sites(draw: st.DrawFn, rain_methods: Sequence[str] = ("tr21", "share", "none")):
    zones, heads = [], []
    for place in range(draw(st.integers(1, 3))):
        row, of_zone = draw(zone_rows(f"z{place}", place + 1))
        zones.append(row)
        heads += of_zone
    cold = draw(st.booleans())
    climate = []
    for month in range(1, 13):
        row = {
            "month": month,
            "et0": draw(number(0.2, 11)),
            # Most months have little rain, some none, some more than plants need.
            "rain": draw(st.just(0.0) | number(0, 25) | number(20, 250)),
        }
        if cold:
            row["tmin"] = draw(st.integers(-120, 200)) / 10
        climate.append(row)
    supply: Row = {}
    if draw(st.booleans()):
        supply = {
            "design_flow": draw(number(5, 400)),
            "pressure": draw(number(150, 450)),
        }
    return Drawn(
        site={"latitude": draw(number(-60, 60)), "longitude": draw(number(-179, 179)),
              "elevation": draw(number(0, 2500))},
        climate=tuple(climate),
        supply=supply,
        rain={"effective_rain": draw(st.sampled_from(rain_methods)),
              "rain_share": draw(number(0.1, 1)),
              "water_in_frost": draw(st.booleans())},
        windows=tuple(draw(windows())),
        controller={"longest_run_min": draw(st.sampled_from((20, 60, 99, 240, 600))),
                    "minute_step": draw(st.sampled_from((0.1, 0.5, 1, 2, 5))),
                    "starts": draw(st.integers(1, 8)),
                    "intervals": draw(st.booleans()),
                    "shortest_soak_min": draw(st.sampled_from((0, 10, 30, 45))),
                    "soak_built_in": draw(st.booleans())},
        water={"salinity_ds_m": draw(st.just(0.0) | number(0, 4))},
        zones=tuple(zones),
        heads=tuple(heads),
    )  # fmt: skip


def bounded(examples: int):
    return settings(
        deadline=None,
        max_examples=examples,
        derandomize=True,
        database=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )


def cells(content: dict[str, Any]) -> Iterator[tuple[Row, Row]]:
    for zone in content["zones"]:
        for month in zone["months"]:
            yield zone, month


def coded(content: dict[str, Any], code: str) -> set[tuple[str | None, int | None]]:
    return {(c["zone"], c["month"]) for c in content["cautions"] if c["code"] == code}


# Every verb answers.


@bounded(12)
@given(sites(), st.sampled_from(SYSTEMS))
def test_no_site_stops_a_verb(drawn, system):
    with folder(drawn, system) as path:
        for format_ in ("text", "markdown", "csv", "json"):
            for verb in ("table", "check"):
                status, out = run(verb, path, "--format", format_)
                assert status in (0, 3)
                assert out
            assert run("climate", path, "--format", format_)[0] == 0
            asked = ("--zone", "z0", "--month", 7, "--format", format_)
            assert run("explain", path, *asked)[0] == 0
        status, out = run("table", path, "--format", "json")
        hard = {c["code"] for c in json.loads(out)["cautions"]} & HARD_LIMITS
        assert status == (3 if hard else 0)
        # `rates` tells of the supply, and of no other limit.
        over = "flow-over-supply" in hard
        for format_ in ("text", "markdown", "csv", "json"):
            status, out = run("rates", path, "--format", format_)
            assert status == (3 if over else 0)
            assert out
        event(f"status {status}")
        for verb in ("table", "check", "rates", "climate"):
            for line in run(verb, path)[1].split("\n"):
                assert len(line) <= 100, line


# The arithmetic of the method, step 11: a minute, a rate, a flow.


@bounded(35)
@given(sites())
def test_totals_are_minutes_times_rate_and_flow(drawn):
    for zone, month in cells(table(drawn)):
        days = DAYS_IN_MONTH[month["month"] - 1]
        minutes = month["minutes_per_week"] * days / 7

        assert month["minutes_per_day"] == pytest.approx(
            month["cycles"] * month["cycle_minutes"], rel=1e-12
        )
        assert month["minutes_per_week"] == pytest.approx(
            month["minutes_per_day"] * month["days_per_week"], rel=1e-12
        )
        assert month["applied_mm"] == pytest.approx(
            minutes * zone["rate_mm_h"] / 60, rel=1e-9
        )
        assert month["volume_l"] == pytest.approx(
            minutes * zone["flow_l_min"], rel=1e-9
        )


@functools.cache
def accumulation_mm(soil: str, slope_percent: float) -> float:
    """Allowed surface accumulation of the package's own table, read here anew."""
    with (PACKAGE / "tables" / "slopes.csv").open(encoding="utf-8") as stream:
        for row in csv.DictReader(stream):
            upper = float(row["slope_to_percent"] or "inf")
            low = float(row["slope_over_percent"])
            # A slope of none belongs to the first class, which has no lower limit.
            if row["soil"] == soil and slope_percent <= upper and (
                slope_percent > low or low == 0
            ):  # fmt: skip
                return float(row["accumulation_in"]) * IN
    raise KeyError(soil)


# Steps 9 and 10. Water may stand on the ground up to the allowed accumulation:
# minutes · (peak rate − intake) / 60 is what stands after them.
@bounded(35)
@given(sites())
def test_no_cycle_is_longer_than_its_limit(drawn):
    content = table(drawn)
    too_short = {zone for zone, _ in coded(content, "cycle-too-short")}
    written_ = {row["zone"]: row for row in drawn.zones}
    step = drawn.controller["minute_step"]
    for zone, month in cells(content):
        cycle, row = month["cycle_minutes"], written_[zone["zone"]]
        if not month["cycles"]:
            continue
        assert cycle <= drawn.controller["longest_run_min"] + 1e-9
        assert cycle <= zone["longest_cycle_min"] + 1e-9
        assert cycle >= step - 1e-9
        if row["head_kind"] in DRIP:
            continue
        excess = zone["peak_rate_mm_h"] - zone["intake_mm_h"]
        allowed = accumulation_mm(row["soil"], row["slope_percent"])
        stands = cycle * max(excess, 0) / 60
        if zone["zone"] in too_short:
            event("cycle-too-short")
            assert 60 * allowed / excess < max(2, step)
            assert cycle <= max(2, step) + 1e-9
        else:
            assert stands <= allowed * (1 + 1e-9)
        if month["soak_minutes"]:
            # What stands has gone in before the next cycle.
            assert month["cycles"] > 1
            gone = month["soak_minutes"] * zone["intake_mm_h"] / 60
            assert gone >= stands * (1 - 1e-9)
            assert month["soak_minutes"] >= drawn.controller["shortest_soak_min"]
        elif month["cycles"] > 1:
            # All of the day's water may fall at one go.
            assert month["minutes_per_day"] * max(excess, 0) / 60 <= allowed * (
                1 + 1e-6
            )


@bounded(35)
@given(sites())
def test_minutes_are_whole_steps(drawn):
    step = drawn.controller["minute_step"]
    for _, month in cells(table(drawn)):
        steps = month["cycle_minutes"] / step

        assert steps == pytest.approx(round(steps), abs=1e-6)


# Step 9: n · c is at least 0.95 of the minutes wanted. So what is applied is at least
# 0.95 of the gross need, less the part that the root zone cannot hold.
@bounded(35)
@given(sites())
def test_what_is_applied_meets_the_need_but_for_a_twentieth(drawn):
    for _, month in cells(table(drawn)):
        if month["cycles"]:
            net = month["net_need_mm"] + month["carried_in_mm"]
            share = 1 - month["unmet_mm"] / net

            assert month["applied_mm"] >= 0.95 * month["gross_need_mm"] * share - 1e-6


@bounded(35)
@given(sites())
def test_months_keep_their_needs_whether_they_run_or_not(drawn):
    content = table(drawn)
    off = 0
    for zone, month in cells(content):
        et0 = content["climate"]["months"][month["month"] - 1]["et0_mm_day"]
        rain = content["climate"]["months"][month["month"] - 1]["rain_mm"]
        need = et0 * month["landscape_coefficient"] * DAYS_IN_MONTH[month["month"] - 1]

        assert month["plant_need_mm"] == pytest.approx(need, rel=1e-9)
        assert 0 <= month["effective_rain_mm"] <= min(rain, need) * (1 + 1e-9)
        assert month["net_need_mm"] == pytest.approx(
            need - month["effective_rain_mm"], abs=1e-9
        )
        if month["cycles"]:
            assert month["minutes_per_week"] > 0
            assert month["days"]
        else:
            off += 1
            assert month["days"] == []
            assert (month["parity"], month["every_days"]) == (None, None)
            for key in ("days_per_week", "minutes_per_day", "cycle_minutes", "volume_l",
                        "soak_minutes", "minutes_per_week", "applied_mm"):  # fmt: skip
                assert month[key] == 0
        assert zone["run_time_multiplier"] >= 1
    event(f"some off: {off > 0}")


# Steps 7 and 8.


def window_for(drawn: Drawn, head_kind: str, month: int) -> Row | None:
    """First window that fits; a site without any has one that is always open."""
    for window in drawn.windows:
        if month in window.get("months", range(1, 13)) and head_kind in window.get(
            "head_kinds", (head_kind,)
        ):
            return window
    return None if drawn.windows else {"days": "any", "most_days_a_week": 7}


@functools.cache
def watered_dates(days: tuple[str, ...], parity: str | None) -> list[datetime.date]:
    """Dates of eight years, leap days and turns of the year among them."""
    first = datetime.date(2023, 1, 1)
    dates = [first + datetime.timedelta(days=i) for i in range(8 * 365 + 2)]
    rest = {"odd": 1, "even": 0}.get(parity or "")
    return [
        date for date in dates
        if WEEKDAYS[date.weekday()] in days and (rest is None or date.day % 2 == rest)
    ]  # fmt: skip


@functools.cache
def longest_gap(days: tuple[str, ...], parity: str | None) -> int:
    dates = watered_dates(days, parity)
    return max((b - a).days for a, b in itertools.pairwise(dates))


@functools.cache
def busiest_week(days: tuple[str, ...], parity: str | None) -> int:
    """Most watered dates from a Monday to the Sunday after it."""
    weeks: dict[tuple[int, int], int] = {}
    for date in watered_dates(days, parity):
        year, week, _ = date.isocalendar()
        weeks[year, week] = weeks.get((year, week), 0) + 1
    return max(weeks.values())


@bounded(60)
@given(sites())
def test_watering_falls_on_permitted_days_and_gaps_keep_to_the_limit(drawn):
    content = table(drawn)
    kinds = {row["zone"]: row["head_kind"] for row in drawn.zones}
    too_few, forbidden = coded(content, "days-too-few"), coded(content, "not-permitted")
    for zone, month in cells(content):
        place = zone["zone"], month["month"]
        window = window_for(drawn, kinds[zone["zone"]], month["month"])
        if window is None:
            assert month["cycles"] == 0
        if not month["cycles"]:
            continue
        assert place not in forbidden
        days, parity = tuple(month["days"]), month["parity"]
        permitted = window["days"]
        assert set(days) <= (
            set(permitted) if isinstance(permitted, list) else set(WEEKDAYS)
        )
        assert parity == (permitted if permitted in ("odd", "even") else None)
        if month["every_days"]:
            event("interval")
            assert drawn.controller["intervals"]
            assert parity is None
            gap = month["every_days"]
        else:
            gap = longest_gap(days, parity)
            assert busiest_week(days, parity) <= window["most_days_a_week"]
        if gap > month["gap_limit_days"]:
            assert place in too_few
        elif parity is None:
            # Odd and even dates are counted over 400 years, of which eight are here.
            assert place not in too_few


@bounded(35)
@given(sites())
def test_gap_limit_is_within_what_the_roots_stand(drawn):
    """Never past a tenth over the allowed depletion, but for waterings too light."""
    for zone, month in cells(table(drawn)):
        need_day = month["plant_need_mm"] / DAYS_IN_MONTH[month["month"] - 1]
        lasts = 1.1 * zone["allowed_depletion_mm"] / need_day
        event_day = month["net_need_mm"] + month["carried_in_mm"]
        event_day /= DAYS_IN_MONTH[month["month"] - 1]
        light = 2.5 / event_day if event_day else math.inf
        limit = month["gap_limit_days"]

        assert limit >= 1
        if month["cycles"] and limit > max(1, lasts + 1e-6):
            # Raised to a watering of 2.5 mm: in whole weeks over seven days.
            assert limit <= 28
            assert limit < (light + 1 if light <= 7 else light + 7) + 1e-6
            assert limit * event_day <= zone["allowed_depletion_mm"] * (1 + 1e-6)


# One site in two spellings, and in another order.


def alike(a: dict[str, Any], b: dict[str, Any], but: Sequence[str] = ()) -> None:
    """Two tables are the same: numbers to float error, what is keyed in to the step."""
    by_zone = {zone["zone"]: zone for zone in b["zones"]}
    assert len(a["zones"]) == len(b["zones"])
    for zone in a["zones"]:
        other = by_zone[zone["zone"]]
        for key in set(zone) - {"months", *but}:
            same(zone[key], other[key], key)
        for month, again in zip(zone["months"], other["months"], strict=True):
            for key in month:
                same(month[key], again[key], key)


def same(a: Any, b: Any, key: str) -> None:
    if isinstance(a, float) or isinstance(b, float):
        assert a == pytest.approx(b, rel=1e-9, abs=1e-9), key
    else:
        assert a == b, key


@bounded(35)
@given(sites())
def test_us_and_metric_spellings_give_one_table(drawn):
    us, metric = table(drawn, "us"), table(drawn, "metric")
    alike(us, metric)

    codes = [[(c["code"], c["zone"], c["month"]) for c in t["cautions"]]
             for t in (us, metric)]  # fmt: skip
    assert codes[0] == codes[1]


@bounded(35)
@given(sites(), st.randoms(use_true_random=False))
def test_order_of_zones_and_heads_does_not_matter(drawn, random):
    zones, heads = list(drawn.zones), list(drawn.heads)
    random.shuffle(zones)
    random.shuffle(heads)
    shuffled = dataclasses.replace(drawn, zones=tuple(zones), heads=tuple(heads))

    alike(table(drawn), table(shuffled))


@bounded(30)
@given(sites())
def test_a_zone_is_planned_as_if_it_were_alone(drawn):
    """Zones share water and clock, but not (yet) in this table."""
    assume(len(drawn.zones) > 1)
    first = drawn.zones[0]["zone"]
    alone = dataclasses.replace(
        drawn,
        zones=drawn.zones[:1],
        heads=tuple(head for head in drawn.heads if head["zone"] == first),
    )
    together = table(drawn)
    together["zones"] = together["zones"][:1]

    alike(together, table(alone))


# More ET0 never means fewer gross millimeters.
#
# Gross need is net need (and what is carried in) times the multiplier over 1 less the
# leaching requirement; the last two do not hang on ET0. Net need rises with ET0: with a
# share of the rain it is need − min(share · rain, need); with TR-21 effective rain
# rises by 0.00220 of itself for each mm of need, so by less than a mm a mm as long as
# it is under 454 mm.
#
# Where rain is not counted, no month's net need is 0, the store carries nothing, and
# the law holds month by month. Where it is counted, a small need may be carried into
# the next month, so the law holds over the year: with more ET0 fewer months need
# nothing, so fewer are carried; a month that paid for another still needs water and
# still pays, unless its run falls under half a step because it now has more days.


def with_more_et0(drawn: Drawn, factor: float, months: set[int]) -> Drawn:
    climate = tuple(
        {**row, "et0": row["et0"] * (factor if row["month"] in months else 1)}
        for row in drawn.climate
    )
    return dataclasses.replace(drawn, climate=climate)


MONTHS = st.sets(st.integers(1, 12), min_size=1)


@bounded(35)
@given(sites(rain_methods=("none",)), number(1.01, 2), MONTHS)
def test_more_et0_never_means_less_in_any_month_without_rain(drawn, factor, months):
    before, after = table(drawn), table(with_more_et0(drawn, factor, months))
    for (_, a), (_, b) in zip(cells(before), cells(after), strict=True):
        assert b["gross_need_mm"] >= a["gross_need_mm"] * (1 - 1e-12)
        if a["month"] in months:
            assert b["gross_need_mm"] == pytest.approx(
                a["gross_need_mm"] * factor, rel=1e-9
            )


@bounded(35)
@given(sites(rain_methods=("tr21", "share")), number(1.01, 2), MONTHS)
def test_more_et0_never_means_less_over_the_year(drawn, factor, months):
    before, after = table(drawn), table(with_more_et0(drawn, factor, months))
    under = {zone for zone, _ in coded(after, "under-a-step")}
    for a, b in zip(before["zones"], after["zones"], strict=True):
        for key in ("plant_need_mm", "net_need_mm"):
            for x, y in zip(a["months"], b["months"], strict=True):
                assert y[key] >= x[key] - 1e-9
        if a["zone"] not in under:
            less = sum(month["gross_need_mm"] for month in a["months"])
            more = sum(month["gross_need_mm"] for month in b["months"])
            assert more >= less * (1 - 1e-12)


# More rain never means a larger net need; a better uniformity never more water.


@bounded(30)
@given(sites(rain_methods=("tr21", "share")), number(1, 60))
def test_more_rain_never_means_a_larger_net_need(drawn, more_mm):
    climate = tuple({**row, "rain": row["rain"] + more_mm} for row in drawn.climate)
    wetter = table(dataclasses.replace(drawn, climate=climate))
    for (_, a), (_, b) in zip(cells(table(drawn)), cells(wetter), strict=True):
        assert b["net_need_mm"] <= a["net_need_mm"] + 1e-9


@bounded(30)
@given(sites(), number(0.2, 0.6), number(0.05, 0.35))
def test_a_better_uniformity_never_means_a_larger_gross_need(drawn, low, better):
    def with_uniformity(value: float) -> Drawn:
        zones = tuple({**row, "uniformity": value} for row in drawn.zones)
        return dataclasses.replace(drawn, zones=zones)

    worse, good = table(with_uniformity(low)), table(with_uniformity(low + better))
    for a, b in zip(worse["zones"], good["zones"], strict=True):
        assert a["run_time_multiplier"] == pytest.approx(
            1 / (0.4 + 0.6 * a["uniformity"]), rel=1e-12
        )
        assert b["uniformity"] <= low + better
        assert b["run_time_multiplier"] <= a["run_time_multiplier"]
        for x, y in zip(a["months"], b["months"], strict=True):
            if x["carried_in_mm"] == y["carried_in_mm"]:
                assert y["gross_need_mm"] <= x["gross_need_mm"] * (1 + 1e-12)
