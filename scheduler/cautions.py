"""What a plan cannot promise: every code there is, declared once with its values.

To add one: a line in `_KINDS`, its sentence in the module of `report/words/cautions/`
that its noun is in, a sample in tests/report/words/test_sentences.py. Making one of
another code, or with other values than declared, is an error of ours: ValueError.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import IntEnum, StrEnum
from types import MappingProxyType
from typing import Any


class Weight(IntEnum):
    """How much a caution asks of people; they are told in this order."""

    ASK = 0
    """What can hardly be meant: all else may hang on it."""
    HARD = 1
    """A limit that the plan cannot keep: the verb ends with exit status 3."""
    MEND = 2
    """Something to mend, or to look at."""
    GROUND = 3
    """What lies in the ground or the climate: to know, seldom to mend."""
    TOLD = 4
    """What was taken for granted or left out: told, no more."""


class Value(StrEnum):
    """What stands under a name; the unit of a number ends the name."""

    NUMBER = "number in SI"
    MAYBE = "number in SI, or None"
    COUNT = "whole number"
    FLAG = "yes or no"
    TEXT = "text"
    NAMES = "names, one at least"
    DATE = "date"
    RECORD = "record of the room that makes it"


Values = Mapping[str, Value | tuple[str, ...]]
"""Names of values, and what stands under each; a tuple holds the words there are."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A code of cautions.

    A caution of it comes with the values of one of `shapes`. Of several alike the worst
    is told: the one with the most of the value named `most`, or the least of `least`.
    """

    code: str
    weight: Weight
    shapes: tuple[Values, ...]
    most: str = ""
    least: str = ""


_ASK, _HARD, _MEND, _GROUND, _TOLD = Weight
_NUMBER, _MAYBE, _COUNT, _FLAG, _TEXT, _NAMES, _DATE, _RECORD = Value


def _kind(
    code: str, weight: Weight, *shapes: Values, most: str = "", least: str = ""
) -> Kind:
    return Kind(code, weight, shapes or ({},), most, least)


_RATE: Values = {
    "rate_mm_h": _NUMBER,
    "rate_source": ("catch-can", "measured", "emitters", "flow and area"),
}
_STAGES = ("seed", "sod", "plugs", "container", "bare-root")
_WHEN: Values = {"stage": _STAGES, "first": _DATE, "last": _DATE}
_WEEK: Values = {"minutes_over": _NUMBER, "zones": _NAMES}

_UNIFORMITY: Values = {"zones": _NAMES, "head_kind": _TEXT, "uniformity": _NUMBER,
                       "measured_uniformity": _NUMBER}  # fmt: skip

_RULES = ("bucket", "meter-loss", "meter-share", "pipe-velocity")

_KINDS = (
    # The plan and the clock.
    _kind(
        "card-dry", _HARD, {"dry_share": _NUMBER, "most_dry": _NUMBER}, most="dry_share"
    ),
    _kind("card-shallow", _HARD, {"share_of_table": _NUMBER}, least="share_of_table"),
    _kind("card-deep", _HARD, {"share_of_table": _NUMBER}, most="share_of_table"),
    _kind("cycle-too-short", _HARD,
          {"runoff_limit_min": _NUMBER, "longest_cycle_min": _NUMBER}),
    _kind("days-too-few", _HARD, {"gap_limit_days": _COUNT}, least="gap_limit_days"),
    _kind("need-unmet", _HARD, {"unmet_mm": _NUMBER}, most="unmet_mm"),
    _kind(
        "not-permitted",
        _HARD,
        {"unmet_mm": _NUMBER},
        # Where windows stand in a workbook: its sheet.
        {"unmet_mm": _NUMBER, "windows": _TEXT},
        most="unmet_mm",
    ),
    _kind("stays-dry", _MEND, {"dry_share": _NUMBER, "most_dry": _NUMBER},
          {"dry_share": _NUMBER, "most_dry": _NUMBER, "shortest_gap_days": _COUNT},
          {"dry_share": _NUMBER, "most_dry": _NUMBER, "night_minutes": _NUMBER},
          most="dry_share"),
    _kind("store-under-a-day", _MEND,
          {"allowed_mm": _NUMBER, "need_mm_day": _NUMBER}, most="need_mm_day"),
    _kind("watered-too-often", _MEND,
          {"shortest_gap_days": _COUNT, "longest_gap_days": _COUNT},
          {"shortest_gap_days": _COUNT, "longest_gap_days": _COUNT,
           "seldom": _TEXT, "often": _TEXT}),
    _kind("starts-too-few", _MEND, {"cycles": _COUNT, "starts": _COUNT}, most="cycles"),
    _kind("under-a-step", _MEND, {"minute_step": _NUMBER}),
    _kind("window-too-short", _HARD,
          {**_WEEK, "open_min": _NUMBER},
          {**_WEEK, "cycles": _COUNT, "day_min": _NUMBER},
          {**_WEEK, "date": _DATE, "nights": _COUNT, "proven": _FLAG},
          most="minutes_over"),
    _kind("window-by-day", _MEND, {"opens": _TEXT, "closes": _TEXT}),
    _kind("too-windy", _MEND, {"wind_m_s": _NUMBER}),
    # New plantings.
    _kind("planting-not-permitted", _HARD, _WHEN),
    _kind("planting-days-too-few", _HARD,
          {**_WHEN, "every_days": _COUNT, "gap_days": _COUNT,
           "missing_mm_week": _NUMBER}, most="gap_days"),
    _kind("planting-hours-too-few", _HARD,
          {**_WHEN, "starts": _COUNT, "given": _COUNT, "opens": _TEXT,
           "closes": _TEXT}, most="starts"),
    _kind("planting-store-small", _MEND,
          {**_WHEN, "need_mm": _NUMBER, "holds_mm": _NUMBER}, most="need_mm"),
    _kind("planted-lately", _GROUND,
          {"stage": _STAGES, "planted": _DATE, "grown_in": _DATE}),
    _kind("grown-in", _TOLD, {"planted": _DATE}),
    # The supply.
    _kind("over-design-flow", _MEND,
          {"flow_l_min": _NUMBER, "design_flow_l_min": _NUMBER,
           "rule": ("given", *_RULES)}),
    _kind("flow-under-pump", _MEND,
          {"flow_l_min": _NUMBER, "least_flow_l_min": _NUMBER},
          {"minutes": _NUMBER, "least_flow_l_min": _NUMBER}),
    _kind("design-flow-high", _MEND,
          {"design_flow_l_min": _NUMBER, "flow_l_min": _NUMBER,
           "rule": _RULES}),
    _kind("reading-over-supply", _MEND,
          {"pressure_kpa": _NUMBER, "most_kpa": _NUMBER},
          {"flow_l_min": _NUMBER, "most_flow_l_min": _NUMBER}),
    _kind("no-pressure-left", _HARD,
          {"static_pressure_kpa": _NUMBER, "lost_kpa": _NUMBER}),
    _kind("pressure-assumed", _MEND, {"pressure_kpa": _NUMBER, "printed": _FLAG}),
    _kind("pressure-too-high", _MEND, {"pressure_kpa": _NUMBER, "chart_kpa": _NUMBER},
          {"pressure_kpa": _NUMBER, "most_kpa": _NUMBER, "head_kind": _TEXT}),
    _kind("chart-pressure-unknown", _MEND, {"heads": _NAMES}, {}),
    _kind("emitters-on-slope", _MEND,
          {"slope_percent": _NUMBER, "fall_m": _NUMBER, "more_kpa": _NUMBER,
           "flow_share": _NUMBER}),
    _kind("pressure-too-low", _HARD,
          {"pressure_kpa": _NUMBER, "least_kpa": _NUMBER, "flow_l_min": _NUMBER,
           "valves": _MAYBE, "valves_kpa": _MAYBE, "most_flow_l_min": _MAYBE,
           "chart_flow_l_min": _MAYBE, "chart_kpa": _MAYBE, "pipe_mm": _MAYBE}),
    # Heads, and the ground they water.
    _kind("unmatched-heads", _MEND,
          {"lowest_share": _NUMBER, "highest_share": _NUMBER, "heads": _NAMES,
           "mixed": _FLAG}),
    _kind("area-mismatch", _MEND, {"area_m2": _NUMBER, "head_area_m2": _NUMBER}),
    _kind("spacing-too-wide", _MEND,
          {"heads": _NAMES, "spacing_m": _NUMBER, "longest_spacing_m": _NUMBER,
           "radius_m": _NUMBER, "wind_m_s": _MAYBE}),
    _kind("wind-standard-angle", _MEND, {"wind_m_s": _NUMBER}),
    _kind("mixed-heads", _MEND, {"least_m": _NUMBER, "most_m": _NUMBER}),
    _kind("coverage-unknown", _MEND,
          {"missing": ("place", "facing", "radius", "flow"), "heads": _NAMES},
          {"missing": ("spray", "ground")}),
    _kind("head-outside", _MEND, {"heads": _NAMES, "distance_m": _NUMBER}),
    _kind("ground-dry", _MEND, {"share": _NUMBER}),
    _kind("uniformity-low", _MEND,
          {"uniformity": _NUMBER,
           "source": ("catch-can", "given", "coverage model")}),
    _kind("line-drains", _MEND,
          {"zones": _NAMES, "slope_percent": _NUMBER, "cycles": _COUNT}),
    # Readings of meter and gauge.
    _kind("meter-off", _MEND,
          {"flow_l_min": _NUMBER, "planned_flow_l_min": _NUMBER, "gauged": _FLAG}),
    # Catch-can tests.
    _kind("cans-too-few", _MEND, {"cans": _COUNT, "enough": _COUNT}),
    _kind("cans-over-given", _MEND,
          {"rate_mm_h": _MAYBE, "uniformity": _MAYBE,
           "tested_rate_mm_h": _NUMBER, "tested_uniformity": _NUMBER}),
    _kind("driest-quarter-dry", _MEND, {"cans": _COUNT}),
    _kind("rate-off", _MEND, {**_RATE, "by_flow_mm_h": _NUMBER}),
    # What can hardly be meant.
    _kind("climate-doubtful", _ASK,
          {"what": ("rain",), "rain_mm": _NUMBER},
          {"what": ("rain-even", "rain-little"), "rain_mm": _NUMBER},
          {"what": ("et0",), "et0_mm": _NUMBER},
          {"what": ("cold",), "tmax_c": _NUMBER},
          {"what": ("leap",), "et0_mm_day": _NUMBER, "beside_mm_day": _NUMBER},
          {"what": ("seasons",), "latitude_deg": _NUMBER}),
    _kind("place-doubtful", _ASK, {"longitude_deg": _NUMBER}),
    _kind("rate-doubtful", _ASK,
          {**_RATE, "head_kind": _TEXT, "low_mm_h": _NUMBER, "high_mm_h": _NUMBER},
          {**_RATE, "by_flow_mm_h": _NUMBER}),
    _kind("area-doubtful", _ASK, {"area_m2": _NUMBER, "head_area_m2": _NUMBER}),
    _kind("throw-doubtful", _ASK,
          {"heads": _NAMES, "radius_m": _NUMBER, "spacing_m": _NUMBER}),
    # Nozzles to be chosen.
    _kind("supply-taken", _MEND, {"design_flow_l_min": _NUMBER}),
    _kind("pressure-taken", _MEND, {"pressure_kpa": _NUMBER}),
    _kind("beyond-chart", _MEND, {"nozzles": _NAMES, "pressure_kpa": _NUMBER}),
    _kind("throw-too-far", _MEND, {"heads": _NAMES}),
    _kind("throw-short", _MEND,
          {"heads": _NAMES, "radius_m": _NUMBER, "spacing_m": _NUMBER}),
    _kind("throw-unknown", _MEND, {"nozzles": _NAMES}),
    _kind("spacing-unknown", _MEND, {"heads": _NAMES}),
    _kind("measured-before", _MEND, {"names": _NAMES}),
    _kind("tested-before", _MEND),
    # Rain, salt, frost and soil.
    _kind("no-rain-shutoff", _MEND, {"rain_shutoff_mm": _NUMBER}),
    _kind("rain-counted-twice", _MEND,
          {"method": ("tr21", "share"), "rain_shutoff_mm": _NUMBER}),
    _kind("coefficient-high", _MEND,
          {"landscape_coefficient": _NUMBER, "plant_coefficient": _NUMBER,
           "most": _NUMBER}),
    _kind("salinity-high", _MEND,
          {"salinity_ds_m": _NUMBER, "salt_threshold_ds_m": _NUMBER,
           "soil_ds_m": _NUMBER}),
    _kind("salt-tolerance-unknown", _MEND, {"salinity_ds_m": _NUMBER}),
    _kind("spray-on-food", _MEND, {"source": _TEXT}),
    _kind("recycled-by-day", _MEND, {"opens": _TEXT, "closes": _TEXT}),
    _kind("salinity-unknown", _MEND, {"source": _TEXT}),
    _kind("drinking-salty", _MEND, {"salinity_ds_m": _NUMBER}),
    _kind("recycled-signs", _GROUND),
    _kind("filter-needed", _GROUND, {"source": _TEXT}),
    _kind("rate-over-intake", _GROUND,
          {"cycles": _COUNT, "forced_cycles": _COUNT, "month": _COUNT,
           "peak_rate_mm_h": _NUMBER, "one_cycle_mm_h": _MAYBE,
           "two_cycles_mm_h": _MAYBE},
          most="cycles"),
    _kind("summer-dry", _GROUND),
    _kind("frost-month", _GROUND, {"tmin_c": _NUMBER}, least="tmin_c"),
    _kind("frost-nights", _GROUND,
          {"nights": _NUMBER, "season": _RECORD,
           "lines_can_freeze": ("yes", "no", "not said")},
          most="nights"),
    _kind("parts-share-valve", _MEND,
          {"decides": _TEXT, "part": _TEXT, "too_much_l": _NUMBER,
           "too_much_share": _NUMBER, "apart_saves_l": _NUMBER,
           "heads_save_l": _MAYBE, "heads_mm_h": _MAYBE}),
    # Plants on drip and bubblers.
    _kind("basin-as-ground", _MEND,
          {"area_m2": _NUMBER, "canopies_m2": _NUMBER, "month": _COUNT,
           "canopies_l": _NUMBER, "area_l": _NUMBER}),
    _kind("canopy-unknown", _MEND,
          {"area_m2": _NUMBER, "month": _COUNT, "volume_l": _NUMBER},
          {"area_m2": _NUMBER, "month": _COUNT, "volume_l": _NUMBER,
           "canopy_m2": _NUMBER, "canopy_l": _NUMBER}),
    _kind("emitters-too-few", _MEND,
          {"emitters": _NUMBER, "wanted": _COUNT, "canopy_m2": _NUMBER,
           "wetted_share": _NUMBER}),
    _kind("canopy-grows", _GROUND,
          {"canopy_m2": _NUMBER, "grown_canopy_m2": _NUMBER, "emitters": _NUMBER,
           "wanted": _COUNT, "month": _COUNT, "week_l": _NUMBER,
           "grown_week_l": _NUMBER}),
    # What was taken for granted, and what was left out.
    _kind("uniformity-assumed", _TOLD, _UNIFORMITY,
          {**_UNIFORMITY, "minutes": _NUMBER, "minutes_measured": _NUMBER}),
    _kind("salt-washed", _TOLD,
          {"by": ("water", "sprinklers", "rain"), "share": _NUMBER}),
    _kind("value-assumed", _TOLD, {"assumed": _RECORD}, {"climate": _RECORD}),
    _kind("key-replaced", _TOLD, {"name": _TEXT, "by": _TEXT}),
    _kind("not-used-by-days", _TOLD, {"names": _NAMES}),
    _kind("sheets-not-read", _TOLD, {"workbook": _TEXT, "sheets": _NAMES}),
    _kind("rows-hidden", _TOLD, {"workbook": _TEXT, "sheet": _TEXT, "rows": _NAMES}),
)  # fmt: skip

KINDS: Mapping[str, Kind] = MappingProxyType({kind.code: kind for kind in _KINDS})
"""Every code that a caution can have, in the order in which the last ones are told."""

HARD_LIMITS = frozenset(kind.code for kind in _KINDS if kind.weight is _HARD)
"""Codes of cautions that make a verb end with exit status 3."""
ONLY_TOLD = frozenset(kind.code for kind in _KINDS if kind.weight is _TOLD)
"""Codes that say what was taken for granted; nothing is to be mended."""

_RANKS = {
    kind.code: (kind.weight, place if kind.weight > _MEND else 0)
    for place, kind in enumerate(_KINDS)
}


@dataclass(frozen=True, slots=True)
class Caution:
    """Something the plan cannot promise: a declared code, where, and values in SI.

    `zone` and `month` (1 to 12) are None where the caution is for the site or the year.
    """

    code: str
    zone: str | None = None
    month: int | None = None
    values: Mapping[str, Any] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Refuse a code or values that the registry does not have.

        Raises ValueError.
        """
        kind = KINDS.get(self.code)
        if kind is None:
            raise ValueError(f"{self.code} is no code of a caution")
        if not any(self.values.keys() == shape.keys() for shape in kind.shapes):
            declared = " or ".join(", ".join(shape) or "none" for shape in kind.shapes)
            raise ValueError(
                f"values of {self.code} are {declared}; got {', '.join(self.values)}"
            )


def rank(code: str) -> tuple[int, int]:
    """Place of a code among others; what is to be mended ranks alike."""
    return _RANKS[code]


def badness(caution: Caution) -> float:
    """How bad a caution is among those of its code; the largest is the worst."""
    kind = KINDS[caution.code]
    if kind.most:
        return float(caution.values[kind.most])
    return -float(caution.values[kind.least]) if kind.least else 0.0
