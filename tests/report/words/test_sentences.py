"""Cautions in words: one sentence for each code, in both systems, merged for people."""

import datetime
import itertools

import pytest

from scheduler.cautions import KINDS, Caution, Value
from scheduler.demand.et0.assumptions import Assumption
from scheduler.demand.frost import FrostSeason
from scheduler.inputs.forms.fields import FILES, SITE_TABLES
from scheduler.inputs.site import Assumed
from scheduler.report import shown
from scheduler.report.words import sentences

WHEN = {"first": datetime.date(2026, 6, 12), "last": datetime.date(2026, 6, 21)}
SEASONS = (
    FrostSeason((10, 1), (10, 12), (4, 20), (4, 30), by_days=True),
    FrostSeason((12, 1), None, None, (2, 3), by_days=False),
)
SAMPLES = {
    # 100 L/min is 26.42 gpm, 76 L/min 20.08 gpm, 24 L/min 6.340 gpm.
    "over-design-flow": ({"flow_l_min": 100.0, "design_flow_l_min": 76.0,
                          "rule": "bucket"},
                         ("26.4 gpm", "20.1 gpm", "6.34 gpm", "by the bucket test"),
                         ("100.0 L/min", "76.0 L/min", "24.0 L/min")),
    "unmatched-heads": ({"lowest_share": 0.44, "highest_share": 1.78, "heads": ["a"],
                         "mixed": False},
                        ("44 to 178 %", "goes with the arc"), ("44 to 178 %",)),
    "uniformity-low": ({"uniformity": 0.48, "source": "catch-can"},
                       ("the cans found", "0.48", "repair before"), ("0.48",)),
    # A cylinder of 1 in and 100 ft holds π/4 · 1200 in³ = 942 in³ = 4.08 gal, one of
    # 25 mm and 10 m 4.91 L.
    "line-drains": ({"zones": ("3", "4"), "slope_percent": 8.0, "cycles": 1290},
                    ("zones 3 and 4 lie", "up to 8 %", "1,290 cycles", "4.1 gal"),
                    ("1,290 cycles", "4.9 L")),
    "window-by-day": ({"opens": "08:00", "closes": "12:00"}, ("08:00 to 12:00",),
                      ("08:00 to 12:00",)),
    # 5 m/s is 11.2 mph.
    "too-windy": ({"wind_m_s": 5.0}, ("11 mph",), ("5.0 m/s",)),
    "coefficient-high": ({"landscape_coefficient": 1.35, "plant_coefficient": 0.9,
                          "most": 1.2}, ("1.35", "plant 0.90", "over 1.2 of ET0"),
                         ("1.35",)),
    # 310 kPa is 44.96 psi, 200 kPa 29.01 psi.
    "pressure-assumed": ({"pressure_kpa": 310.0, "printed": True},
                         ("45 psi", "chart"), ("310 kPa", "chart")),
    # 100 kPa is 14.5 psi, 172 kPa 24.9 psi, 50 L/min 13.2 gpm, 30 mm 1.18 in.
    "pressure-too-low": (
        {"pressure_kpa": 100.0, "least_kpa": 172.0, "flow_l_min": 76.0, "valves": 2,
         "valves_kpa": 200.0, "most_flow_l_min": 60.0,
         "chart_flow_l_min": 50.0, "chart_kpa": 310.0, "pipe_mm": 30.0},
        ("15 psi", "20.1 gpm", "25 psi", "2 valves (29 psi at each)", "13.2 gpm in all",
         "pipe of 1.18 in"),
        ("100 kPa", "76.0 L/min", "2 valves (200 kPa",
         "50.0 L/min in all at the chart's 310", "of 30 mm"),
    ),
    "chart-pressure-unknown": ({"heads": ["a", "b"]}, ("heads a and b",),
                               ("heads a and b",)),
    # 3.048 m is 10 ft, 29.9 kPa 4.34 psi.
    "emitters-on-slope": ({"slope_percent": 12.0, "fall_m": 3.048, "more_kpa": 29.9,
                           "flow_share": 0.135},
                          ("12 %", "falls 10.0 ft", "4 psi more", "14 % more"),
                          ("falls 3.0 m", "30 kPa more")),
    "reading-over-supply": ({"pressure_kpa": 310.0, "most_kpa": 200.0},
                            ("45 psi", "29 psi"), ("310 kPa", "200 kPa")),
    # 12 mm/h is 0.47 in/h, 16 mm/h 0.63 in/h; 12 is a quarter less.
    "rate-off": ({"rate_mm_h": 12.0, "rate_source": "catch-can", "by_flow_mm_h": 16.0},
                 ("0.47 in/h, 25 % less", "0.63 in/h"), ("12.0 mm/h", "16.0 mm/h")),
    "uniformity-assumed": (
        {"zones": ["1", "2"], "head_kind": "rotor", "uniformity": 0.7,
         "measured_uniformity": 0.49, "minutes": 300.0, "minutes_measured": 354.3},
        ("zones 1 and 2", "0.70", "0.49", "300 minutes", "354"), ("0.70", "0.49"),
    ),
    "pressure-too-high": ({"pressure_kpa": 310.0, "chart_kpa": 200.0},
                          ("45 psi", "29 psi"), ("310 kPa", "200 kPa")),
    # 100 m² is 1,076.4 ft², 150 m² 1,614.6 ft².
    "area-mismatch": ({"area_m2": 100.0, "head_area_m2": 150.0},
                      ("1,076 ft²", "1,615 ft²"), ("100 m²", "150 m²")),
    "days-too-few": ({"gap_limit_days": 1}, ("1 day ",), ("1 day ",)),
    # 25.4 mm is an inch.
    "need-unmet": ({"unmet_mm": 25.4}, ("1.00 in",), ("25 mm",)),
    "not-permitted": ({"unmet_mm": 50.8, "windows": "sheet windows"},
                      ("2.00 in", "no row of sheet windows"), ("51 mm",)),
    "cycle-too-short": ({"runoff_limit_min": 1.53, "longest_cycle_min": 2.0},
                        ("1.5 min", "up to 2 min"), ("1.5 min", "up to 2 min")),
    "supply-taken": ({"design_flow_l_min": 75.708}, ("20.0 gpm",), ("75.7 L/min",)),
    "pressure-taken": ({"pressure_kpa": 310.26}, ("45 psi",), ("310 kPa",)),
    "beyond-chart": ({"pressure_kpa": 310.26, "nozzles": ["N1", "N2"]},
                     ("45 psi", "N1 and N2"), ("310 kPa", "N1 and N2")),
    "throw-too-far": ({"heads": ["a"]}, ("suits a",), ("suits a",)),
    "throw-short": ({"heads": ["a"], "radius_m": 8.5344, "spacing_m": 9.144},
                    ("throw of 28.0 ft", "30.0 ft"), ("throw of 8.5", "9.1")),
    "throw-unknown": ({"nozzles": ["N1"]}, ("for N1",), ("for N1",)),
    "spacing-unknown": ({"heads": ["a", "b"]}, ("for a and b",), ("for a and b",)),
    "measured-before": ({"names": ["flow", "rate"]}, ("flow and rate",),
                        ("flow and rate",)),
    "tested-before": ({}, ("catch-can test",), ("catch-can test",)),
    "starts-too-few": ({"cycles": 6, "starts": 4}, ("6 cycles", "4 starts"),
                       ("6 cycles", "4 starts")),
    # −10 °C is 14 °F.
    "under-a-step": ({"minute_step": 1.5}, ("1.5 min",), ("1.5 min",)),
    "frost-nights": (
        {"nights": 4.2, "season": SEASONS[0], "lines_can_freeze": "yes"},
        ("4 nights", "32 °F", "28 °F", "from 1 Oct on", "by 12 Oct", "after 20 Apr"),
        ("0 °C", "-2 °C")),
    # 92.90304 m² is 1,000 ft², 1,000 m² 10,764 ft².
    "area-doubtful": ({"area_m2": 1000.0, "head_area_m2": 92.90304},
                      ("10,764 ft²", "11 times over", "1,000 ft²"),
                      ("1,000 m²", "93")),
    "place-doubtful": ({"longitude_deg": 112.0}, ("longitude 112",), ("negative",)),
    # 10 ft is 3.048 m.
    "summer-dry": ({}, ("9.8 ft",), ("3.0 m",)),
    "watered-too-often": ({"shortest_gap_days": 14, "longest_gap_days": 28},
                          ("14 days at least",), ("neither the permitted days",)),
    "frost-month": ({"tmin_c": -10.0}, ("14 °F",), ("-10.0 °C",)),
    "no-rain-shutoff": ({"rain_shutoff_mm": 6.35}, ("0.25 in",), ("6 mm",)),
    "rain-counted-twice": ({"method": "tr21", "rain_shutoff_mm": 6.0}, ("tr21",),
                           ("tr21",)),
    "stays-dry": ({"dry_share": 0.23, "most_dry": 0.1},
                  ("23 days of a hundred", "10"), ("23 days of a hundred", "10")),
    "store-under-a-day": ({"allowed_mm": 2.54, "need_mm_day": 7.62},
                          ("0.10 in", "0.30 in that they need a day"),
                          ("3 mm", "8 mm that they need a day")),
    "salinity-high": ({"salinity_ds_m": 4.0, "salt_threshold_ds_m": 1.5,
                       "soil_ds_m": 3.21},
                      ("4 dS/m", "1.5 dS/m", "3.2 dS/m"), ("other water",)),
    "spray-on-food": ({"source": "recycled"}, ("recycled water", "eaten"), ("eaten",)),
    "recycled-by-day": ({"opens": "16:00", "closes": "06:00"}, ("16:00 to 06:00",),
                        ("16:00 to 06:00",)),
    "salinity-unknown": ({"source": "well"}, ("well water", "salinity_ds_m"),
                         ("well water",)),
    "drinking-salty": ({"salinity_ds_m": 2.5}, ("2.5 dS/m", "source"), ("2.5 dS/m",)),
    "recycled-signs": ({}, ("signs",), ("signs",)),
    "filter-needed": ({"source": "pond"}, ("pond water", "120 mesh"), ("130 microns",)),
    # A fifth of what is laid down is a quarter on top of what plants take.
    "salt-washed": ({"by": "water", "share": 0.2}, ("25 % more", "20 % of it"),
                    ("25 % more", "20 % of it")),
    "salt-tolerance-unknown": ({"salinity_ds_m": 4.0}, ("leaching",), ("leaching",)),
    "value-assumed": ({"climate": Assumption("no-wind", {"days": None})},
                      ("2 m/s",), ("2 m/s",)),
    "rows-hidden": ({"workbook": "site.xlsx", "sheet": "zones", "rows": (3, 7)},
                    ("rows 3 and 7 are hidden",), ("rows 3 and 7 are hidden",)),
    "sheets-not-read": ({"workbook": "site.xlsx", "sheets": ("Notes",)},
                        ('sheet "Notes" of site.xlsx: not read',),
                        ('sheet "Notes" of site.xlsx: not read',)),
    "not-used-by-days": (
        {"names": ("site.toml: climate.effective_rain",)},
        ("site.toml [climate] effective_rain",),
        ("site.toml [climate] effective_rain",),
    ),
    # 3.048 m is 10 ft; 4.572 m 15 ft, 6.096 m 20 ft; 4.4704 m/s 10 mph.
    "spacing-too-wide": ({"heads": ["a", "b"], "spacing_m": 6.096,
                          "longest_spacing_m": 4.572, "radius_m": 3.048,
                          "wind_m_s": 4.4704},
                         ("20.0 ft", "15.0 ft", "10.0 ft", "10 mph", "a and b"),
                         ("6.1 m", "4.6 m", "3.0 m", "4.5 m/s", "a and b")),
    "wind-standard-angle": ({"wind_m_s": 4.4704}, ("10 mph",), ("4.5 m/s",)),
    "mixed-heads": ({"least_m": 3.048, "most_m": 6.096}, ("10.0 ft", "20.0 ft"),
                    ("3.0 m", "6.1 m")),
    "coverage-unknown": ({"missing": "facing", "heads": ["a", "b"]},
                         ("facing_deg", "heads a and b"),
                         ("facing_deg", "heads a and b")),
    # 3.048 m is 10 ft.
    "head-outside": ({"heads": ["a"], "distance_m": 3.048}, ("head a", "10.0 ft"),
                     ("head a", "3.0 m")),
    "ground-dry": ({"share": 0.25}, ("25 %",), ("25 %",)),
    # 1,000 gal is 3,785.4 L; 12.7 mm/h is 0.5 in/h.
    "parts-share-valve": (
        {"decides": "sun", "part": "shade", "too_much_l": 3785.4,
         "too_much_share": 0.5, "apart_saves_l": 7570.8, "heads_save_l": 37854.0,
         "heads_mm_h": 12.7},
        ("runs for sun", "shade: 1,000 gal a year (50 %)", "2,000 gal",
         "0.50 in/h on shade 10,000 gal"),
        ("3,785 L a year", "12.7 mm/h"),
    ),
    # 9.2903 m² are 100 ft², 3,785.4 L 1,000 gal.
    "basin-as-ground": (
        {"area_m2": 9.2903, "canopies_m2": 92.903, "month": 7, "canopies_l": 3785.4,
         "area_l": 378.54},
        ("1,000 ft²", "100 ft²", "1,000 gal in Jul", "100 gal"),
        ("93 m²", "9 m²", "3,785 L"),
    ),
    "canopy-unknown": (
        {"area_m2": 9.2903, "month": 7, "volume_l": 378.54, "canopy_m2": 92.903,
         "canopy_l": 3785.4},
        ("100 ft²", "100 gal in Jul", "shades 1,000 ft²", "1,000 gal"),
        ("9 m²", "379 L", "93 m²", "3,785 L"),
    ),
    "emitters-too-few": (
        {"emitters": 2.0, "wanted": 6, "canopy_m2": 9.2903, "wetted_share": 0.18},
        ("2 emitters", "18 %", "100 ft²", "6 would"), ("9 m²",),
    ),
    "canopy-grows": (
        {"canopy_m2": 9.2903, "grown_canopy_m2": 92.903, "emitters": 6.0, "wanted": 57,
         "month": 7, "week_l": 37.854, "grown_week_l": 378.54},
        ("100 ft²", "1,000 ft²", "100 gal a week in Jul", "10 gal", "57 emitters"),
        ("9 m²", "93 m²", "379 L", "38 L"),
    ),
    # 25.4 mm/h is 1 in/h.
    "rate-over-intake": ({"cycles": 5, "forced_cycles": 3, "month": 7,
                          "peak_rate_mm_h": 25.4, "one_cycle_mm_h": 5.08,
                          "two_cycles_mm_h": 12.7},
                         ("1.00 in/h forces 3 cycles in Jul (5 are set", "0.20 in/h",
                          "0.50 in/h"),
                         ("25.4 mm/h forces 3 cycles in Jul (5 are set", "5.1 mm/h",
                          "12.7 mm/h")),
    # 25.4 mm/h is 1 in/h; 3.048 m is 10 ft, 30.48 m 100 ft.
    "rate-doubtful": ({"rate_mm_h": 254.0, "rate_source": "emitters",
                       "head_kind": "drip", "low_mm_h": 2.54, "high_mm_h": 50.8},
                      ("10.00 in/h is far more than drip", "0.10 to 2.00 as",
                       "emitter_flow_*"),
                      ("254.0 mm/h is far more than drip", "2.5 to 50.8 as",
                       "emitter_flow_*")),
    "throw-doubtful": ({"heads": ["a", "b"], "radius_m": 30.48, "spacing_m": 3.048},
                       ("heads a and b throw 100.0 ft", "10.0 ft", "radius_*"),
                       ("heads a and b throw 30.5 m", "3.0 m", "radius_*")),
    # 5,080 mm is 200 in.
    "climate-doubtful": ({"what": "rain", "rain_mm": 5080.0}, ("200.00 in",),
                         ("5,080 mm",)),
    # 25.4 mm/h is 1 in/h, 12.7 mm/h half of it.
    "cans-over-given": ({"rate_mm_h": 25.4, "tested_rate_mm_h": 12.7,
                         "uniformity": 0.8, "tested_uniformity": 0.6},
                        ("0.50 in/h, not 1.00 in/h", "0.60, not 0.80"),
                        ("12.7 mm/h, not 25.4 mm/h", "0.60, not 0.80")),
    # 75.708 L/min is 20 gpm, 60.567 L/min 16 gpm: 25 % more.
    "meter-off": ({"flow_l_min": 75.708, "planned_flow_l_min": 60.567, "gauged": True},
                  ("20.0 gpm, 25 % more than the 16.0 gpm", "larger nozzle", "leak"),
                  ("75.7 L/min, 25 % more than the 60.6 L/min", "broken head")),
    "cans-too-few": ({"cans": 12, "enough": 24}, ("12 cans", "24"), ("12 cans", "24")),
    "card-dry": ({"dry_share": 0.18, "most_dry": 0.15},
                 ("18 days of a hundred", "15 are let pass"),
                 ("18 days of a hundred", "15 are let pass")),
    "card-shallow": ({"share_of_table": 0.3}, ("0.30 of the table's",),
                     ("0.30 of the table's",)),
    "card-deep": ({"share_of_table": 2.09}, ("2.09 times the table's",),
                  ("2.09 times the table's",)),
    "key-replaced": ({"name": "site.toml: controller.shortfall_percent",
                      "by": "plan.dry_days_percent"},
                     ("site.toml [controller] shortfall_percent",
                      "plan.dry_days_percent"),
                     ("site.toml [controller] shortfall_percent",
                      "plan.dry_days_percent")),
    # 75.708 L/min is 20 gpm, 45.425 L/min 12 gpm.
    "design-flow-high": ({"design_flow_l_min": 75.708, "flow_l_min": 45.425,
                          "rule": "bucket"},
                         ("20.0 gpm", "12.0 gpm"), ("75.7 L/min", "45.4 L/min")),
    "driest-quarter-dry": ({"cans": 4}, ("4 cans",), ("4 cans",)),
    "flow-under-pump": ({"flow_l_min": 45.425, "least_flow_l_min": 75.708},
                        ("12.0 gpm", "20.0 gpm"), ("45.4 L/min", "75.7 L/min")),
    # 310.26 kPa is 45 psi, 344.74 kPa 50 psi.
    "no-pressure-left": ({"static_pressure_kpa": 310.26, "lost_kpa": 344.74},
                         ("45 psi", "50 psi"), ("310 kPa", "345 kPa")),
    "planting-not-permitted": ({**WHEN, "stage": "seed"}, ("seed", "12 Jun", "21 Jun"),
                               ("seed", 'stages = ["seed"]')),
    "planting-days-too-few": ({**WHEN, "stage": "sod", "every_days": 1, "gap_days": 4,
                               "missing_mm_week": 12.7},
                              ("every day", "4 days", "0.500 in a week are missing"),
                              ("every day", "4 days", "12.7 mm a week are missing")),
    "planting-hours-too-few": ({**WHEN, "stage": "sod", "starts": 3, "given": 1,
                                "opens": "22:00", "closes": "06:00"},
                               ("3 waterings", "22:00 to 06:00"),
                               ("3 waterings", "hours of 1")),
    # 5.08 mm is 0.2 in, 2.54 mm 0.1 in.
    "planting-store-small": ({**WHEN, "stage": "sod", "need_mm": 5.08,
                              "holds_mm": 2.54},
                             ("0.200 in", "0.100 in"), ("5.1 mm", "2.5 mm")),
    "planted-lately": ({"stage": "plugs", "planted": datetime.date(2026, 6, 12),
                        "grown_in": datetime.date(2026, 7, 24)},
                       ("plugs set 12 Jun 2026", "24 Jul 2026"), ("24 Jul 2026",)),
    "grown-in": ({"planted": datetime.date(2026, 6, 12)}, ("12 Jun 2026",),
                 ("12 Jun 2026",)),
    "window-too-short": ({"date": datetime.date(2026, 7, 3), "nights": 1,
                          "zones": ["1", "2"], "minutes_over": 12.0, "proven": True},
                         ("3 Jul", "12 min", "2 zones"), ("3 Jul", "12 min")),
}  # fmt: skip


def test_every_code_has_a_sentence_and_a_sample_here():
    assert set(sentences.SENTENCES) == set(KINDS)
    assert set(SAMPLES) == set(KINDS)


RECORDS = {
    "assumed": (Assumed("site.toml", SITE_TABLES["climate"][0], "any"),),
    "climate": (Assumption("no-wind", {"days": None}),),
    "season": (*SEASONS, None),
}
OF_A_KIND = {
    Value.NUMBER: (12.5,),
    Value.MAYBE: (12.5, None),
    Value.COUNT: (1, 7),
    Value.FLAG: (False, True),
    Value.TEXT: ("drip",),
    Value.NAMES: (("a",), ("a", "b")),
    Value.DATE: (datetime.date(2026, 7, 3),),
}


# A sentence that asks for a value which is not declared, or cannot say one that is,
# fails here and not before a reader.
@pytest.mark.parametrize(
    ("code", "shape"),
    [(kind.code, shape) for kind in KINDS.values() for shape in kind.shapes],
)
def test_sentence_takes_every_value_that_is_declared_and_no_other(code, shape):
    choices = [
        kind if isinstance(kind, tuple) else RECORDS.get(name) or OF_A_KIND[kind]
        for name, kind in shape.items()
    ]
    for picked in itertools.product(*choices):
        values = dict(zip(shape, picked, strict=True))
        text = sentences.sentence(Caution(code, "1", 7, values), "us")

        assert text.strip()


@pytest.mark.parametrize("code", SAMPLES)
def test_sentence_is_said_in_the_reader_s_units(code):
    values, us, metric = SAMPLES[code]
    caution = Caution(code, "1", 7, values)

    for units, parts in (("us", us), ("metric", metric)):
        text = sentences.sentence(caution, units)
        for part in parts:
            assert part in text
        assert text[0] == text[0].strip()
        assert not text.endswith(".")
        assert "nan" not in text


@pytest.mark.parametrize(
    ("months", "text"),
    [
        ([1], "Jan"),
        ([12], "Dec"),
        ([4, 5, 6], "Apr-Jun"),
        ([12, 1], "Dec-Jan"),
        ([1, 2, 11, 12], "Nov-Feb"),
        ([1, 2, 5, 11, 12], "May, Nov-Feb"),
        ([1, 3, 5], "Jan, Mar, May"),
        ([1, 2, 3, 4, 5, 7, 8, 9, 10, 11, 12], "Jul-May"),
        (list(range(1, 13)), "all months"),
        ([2, 1], "Jan-Feb"),
    ],
)
def test_months_text_runs_around_the_new_year(months, text):
    assert shown.months_text(months) == text


def frost(month: int, tmin_c: float) -> Caution:
    return Caution("frost-month", None, month, {"tmin_c": tmin_c})


def test_grouped_merges_months_and_tells_the_worst():
    lines = sentences.grouped(
        [frost(1, -8.0), frost(2, -3.0), frost(12, -9.5)], "metric"
    )

    assert len(lines) == 1
    assert lines[0].startswith("frost-month: Dec-Feb: ")
    assert "-9.5 °C" in lines[0]


def few(zone: str, month: int, days: int) -> Caution:
    return Caution("days-too-few", zone, month, {"gap_limit_days": days})


def test_grouped_merges_zones_that_are_told_the_same():
    cautions = [few(zone, month, 2) for zone in ("1", "2", "7") for month in (6, 7)]
    lines = sentences.grouped(cautions, "us")

    assert len(lines) == 1
    assert lines[0].startswith("days-too-few: zones 1, 2 and 7, Jun-Jul: ")
    assert "as few as 2 days" in lines[0]


def test_grouped_tells_an_owner_no_codes():
    lines = sentences.grouped([few("1", 6, 2), frost(1, -8.0)], "us", coded=False)

    assert [line.partition(": ")[0] for line in lines] == ["zone 1, Jun", "Jan"]


def test_assumptions_tell_a_default_of_several_windows_once():
    field = next(f for f in SITE_TABLES["window"] if f.name == "most_days_a_week")
    assumed = Caution(
        "value-assumed", values={"assumed": Assumed("site.toml", field, 7)}
    )

    assert sentences.assumptions([assumed] * 3, 2, "us") == ["site: most days a week 7"]


def test_assumptions_tell_of_salt_for_all_zones_that_share_it():
    salt = [Caution("salt-washed", zone, None, {"by": "rain", "share": 0.0})
            for zone in ("1", "3")]  # fmt: skip

    (line,) = sentences.assumptions(salt, 5, "us")
    assert line.startswith("zones 1 and 3: salt: rain")


def test_grouped_keeps_zones_apart_that_differ_in_months_or_values():
    lines = sentences.grouped([few("1", 6, 2), few("2", 7, 2), few("3", 6, 3)], "us")

    assert [line.split(": ")[1] for line in lines] == [
        "zone 1, Jun", "zone 2, Jul", "zone 3, Jun"]  # fmt: skip
    assert "2 days" in lines[0]
    assert "as few as" not in lines[0]


def test_grouped_tells_the_most_that_goes_unmet():
    values = ((5, 10.0), (6, 40.0), (7, 20.0))
    cautions = [
        Caution("need-unmet", "1", month, {"unmet_mm": unmet})
        for month, unmet in values
    ]
    lines = sentences.grouped(cautions, "metric")

    assert len(lines) == 1
    assert lines[0].startswith("need-unmet: zone 1, May-Jul: up to 40 mm a month")


def test_grouped_never_merges_codes():
    lines = sentences.grouped(
        [few("1", 6, 2), Caution("need-unmet", "1", 6, {"unmet_mm": 5.0})], "us"
    )

    assert [line.split(":")[0] for line in lines] == ["days-too-few", "need-unmet"]


def field(file: str, name: str):
    fields = FILES.get(file) or SITE_TABLES[file]
    return next(field for field in fields if field.name == name)


# 2 m is 6.56 ft; shares and factors have no unit.
def test_assumptions_gather_values_by_their_zones():
    assumed = [
        Assumed("site.toml", field("climate", "wind_height"), 2.0),
        Assumed(
            "zones.csv", field("zones.csv", "microclimate_factor"), 1.0, ("1", "2")
        ),
        Assumed("zones.csv", field("zones.csv", "slope_percent"), 0.0, ("2",)),
        Assumed("zones.csv", field("zones.csv", "root_depth"), None, ("2",)),
    ]
    cautions = [
        Caution("value-assumed", None, None, {"assumed": each}) for each in assumed
    ]
    lines = sentences.assumptions(cautions, 2, "us")

    assert lines[:2] == [
        "site: wind height 6.6 ft",
        "all zones: microclimate factor 1",
    ]
    assert len(lines) == 3
    assert lines[2].startswith("zone 2: slope 0 %, root depth ")
    assert "the plant" in lines[2]
    assert "2.0 m" in sentences.assumptions(cautions, 2, "metric")[0]


# design.md, Cautions that people see: where someone is sent to pipes or a live site.
def test_who_is_sent_to_heads_or_pipes_is_told_to_take_care():
    heads = Caution("wind-standard-angle", "1", None, SAMPLES["wind-standard-angle"][0])

    assert sentences.closing([heads]) == [sentences.WORK_SAFELY, sentences.WATCH]
    assert sentences.closing([Caution("summer-dry", "1")]) == [sentences.WATCH]
    assert sentences.closing([]) == [sentences.WATCH]


def test_assumptions_do_not_call_one_zone_all():
    salt = [Caution("salt-washed", "4", None, {"by": "rain", "share": 0.0})]

    (line,) = sentences.assumptions(salt, 1, "us")
    assert line.startswith("zone 4: salt: rain")


# To come to something is to change: 150 minutes do not come to 150.
def test_minutes_that_stay_are_told_to_stay():
    values = {"zones": ["3"], "head_kind": "spray", "uniformity": 0.65,
              "measured_uniformity": 0.41, "minutes": 150.0}  # fmt: skip
    cautions = [
        Caution("uniformity-assumed", None, None, {**values, "minutes_measured": then})
        for then in (150.2, 171.0)
    ]
    told = [sentences.sentence(caution, "us") for caution in cautions]

    assert "the busiest week's 150 minutes stay: a catch-can test" in told[0]
    assert "the busiest week's 150 minutes come to 171: a catch-can" in told[1]
