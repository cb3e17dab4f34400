"""The registry: every field of every file, declared once.

Reading, checking, templates, error texts and the command `fields` all come
from here. Limits are in SI; a default of None means there is none.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from scheduler.calendar import MONTHS
from scheduler.inputs.forms.field import (
    Field,
    flag,
    number,
    over_0,
    share,
    text,
    whole,
    word,
)

PLAN_BY = ("days", "months")
MOST_DEPLETION = 0.9
"""Ground is dry a tenth beyond the allowed depletion (balance/day.py): with more than
this it could hold no such lack and would never be watered. FAO-56 goes to 0.8."""
"""Ways of planning the table; the first is taken where none is said."""
FOR_MONTHS = ("effective_rain", "rain_share", "dry_year_percentile")
"""Keys of [climate] that only the plan by months uses."""
MOST_EMITTER_L_MIN = 7.6
"""What a bubbler gives, 2 gpm (common practice); more is no emitter's."""
HEAD_KINDS = ("rotor", "spray", "multi-stream", "drip", "bubbler")
STAGES = ("seed", "sod", "plugs", "container", "bare-root")
"""How a zone may have been planted lately."""
KEEP = ("first", "last")
"""What an owner may say of a zone where water is short."""


_FLOW: dict[str, Any] = {"dimension": "flow"}
_LENGTH: dict[str, Any] = {"dimension": "length"}
_DEPTH: dict[str, Any] = {"dimension": "depth"}
_PRESSURE: dict[str, Any] = {"dimension": "pressure"}
_TEMPERATURE: dict[str, Any] = {"dimension": "temperature"}
_PERCENT: dict[str, Any] = {"smallest": 0.5}
"""Percents under it are shares, as 0.02 for 2 %: nobody measures so finely."""

_ZONES = (
    text("zone", "the zone's number or short name", required=True),
    whole("station", 1, 999, "the controller's number for the zone, no two alike",
           otherwise="row number"),
    text("name", "what people call it", otherwise="the zone"),
    Field("plant", "plant, from the table of plants or plants.csv", kind="word",
          required=True),
    Field("soil", "soil texture, from the table of soils or soils.csv", kind="word",
          required=True),
    number("slope_percent", 0, 100, "steepest lasting slope", default=0.0,
            **_PERCENT),
    over_0("root_depth", 5000, "depth of the roots that are watered", **_DEPTH,
            otherwise="usual for the plant"),
    number("microclimate_factor", 0.2, 2,
            "shade under 1, walls and paving over 1", default=1.0),
    number("density_factor", 0.1, 2, "sparse planting under 1", default=1.0),
    over_0("area", 1e6, "ground that is watered, measured", dimension="area",
            otherwise="from the heads' spacing"),
    over_0("flow", 1e5, "flow of the zone, metered", **_FLOW,
            otherwise="sum of the heads"),
    over_0("rate", 500, "precipitation rate, measured with catch cans",
            dimension="rate", otherwise="flow over area"),
    over_0("pressure", 2000, "gauge at the zone's farthest head, running",
            **_PRESSURE, otherwise="where heads and supply meet"),
    word("head_kind", HEAD_KINDS, "kind of head", default="rotor"),
    flag("regulated", "heads or valve hold their own pressure", default=False,
          quiet=True, otherwise="no; drip and bubblers yes"),
    share("uniformity", "distribution uniformity, lower quarter",
           otherwise="usual for the kind of head"),
    over_0("plant_factor", 1.5, "one coefficient in place of the plant's",
            otherwise="usual for the plant"),
    share("depletion", "share of available water that may be used up",
           high=MOST_DEPLETION, otherwise="usual for the plant"),
    whole("longest_gap_days", 1, 60, "longest time without water",
           otherwise="usual for the plant"),
    whole("shortest_gap_days", 1, 60, "shortest time from watering to watering",
           otherwise="usual for the plant"),
    number("dry_days_percent", 0, 50,
            "days in a hundred that plants may go short here",
            otherwise="the plan's", label="share of dry days", **_PERCENT),
    word("keep", KEEP, "kept green first or last where water is short"),
    share("wetted_share", "share of the root zone that gets wet",
           otherwise="1; drip by emitters and soil, else 0.5"),
    over_0("emitter_flow", MOST_EMITTER_L_MIN, "flow of one emitter", **_FLOW),
    over_0("emitter_pressure", 2000,
            "pressure at which that flow holds, where emitters do not compensate",
            **_PRESSURE),
    over_0("emitter_spacing", 100, "between emitters on a line", **_LENGTH),
    over_0("emitter_row_spacing", 100, "between lines of emitters", **_LENGTH),
    whole("emitters", 1, 10**6, "how many emitters", label="number of emitters"),
    whole("plants", 1, 10**6, "how many plants", label="number of plants"),
    over_0("canopy", 5000, "ground under one plant's leaves", dimension="area"),
    over_0("grown_canopy", 5000, "the same once grown", dimension="area"),
    Field("planted", "date of planting, while it grows in", kind="date", label="date"),
    word("stage", STAGES, "how it was planted"),
    over_0("caliper", 500, "trunk of a new tree, 6 in (150 mm) above ground", **_DEPTH),
)  # fmt: skip

_HEADS = (
    text("zone", "zone of zones.csv", required=True),
    text("head", "head's number or name", otherwise="its place in the zone"),
    whole("count", 1, 10000, "how many heads alike", default=1, quiet=True),
    text("nozzle", "nozzle as the chart names it"),
    over_0("arc_deg", 360, "arc that the head waters", required=True,
            hint="write 360 for a full circle"),
    over_0("radius", 100, "throw radius", **_LENGTH),
    over_0("flow", 5000, "flow of one head", **_FLOW),
    over_0("pressure", 2000, "running pressure at which that flow holds",
            **_PRESSURE),
    over_0("spacing", 100, "distance to the next head in the row", **_LENGTH),
    over_0("row_spacing", 100,
            "distance between rows of heads; strip nozzles: twice the strip's width, "
            "at arc_deg 180, without x and y", **_LENGTH,
            otherwise="spacing; triangular 0.866 of it"),
    word("pattern", ("square", "triangular"), "how rows stand to each other",
          default="square"),
    flag("low_angle", "low-angle nozzle", default=False, quiet=True),
    number("x", -1e5, 1e5, "place on the plan, to the east", label="place",
            **_LENGTH),
    number("y", -1e5, 1e5, "place on the plan, to the north", label="place",
            **_LENGTH),
    number("facing_deg", -360, 360, "middle of the arc, clockwise from north"),
)  # fmt: skip

_PARTS = (
    text("zone", "zone of zones.csv", required=True),
    text("part", "name of the part", required=True),
    share("share", "share of the zone's ground; a zone's make 1",
           otherwise="what the others leave"),
    Field("plant", "plant of this part", kind="word", otherwise="the zone's"),
    Field("soil", "soil of this part", kind="word", otherwise="the zone's"),
    number("slope_percent", 0, 100, "slope of this part", otherwise="the zone's",
            **_PERCENT),
    number("microclimate_factor", 0.2, 2, "shade under 1, walls over 1",
            otherwise="the zone's"),
    over_0("root_depth", 5000, "depth of roots here", **_DEPTH,
            otherwise="the zone's"),
    over_0("rate", 500, "precipitation rate of the heads here", dimension="rate",
            otherwise="the zone's"),
)  # fmt: skip

_CANS = (
    text("zone", "zone of zones.csv", required=True),
    text("can", "can's number or place"),
    number("catch_ml", 0, 1e5, "water caught", label="catch"),
    number("catch", 0, 500, "depth caught", **_DEPTH,
            hint="write catch_mm for mm, or catch_ml and the can's size for mL"),
    over_0("minutes", 1440, "how long the zone ran", label="run time",
            otherwise="the zone's other rows"),
    over_0("can_diameter", 2000, "inside the rim, for catch_ml",
            dimension="can_length", otherwise="the zone's other rows"),
    over_0("can_area", 4e6, "opening of the can, for catch_ml", dimension="can_area",
            otherwise="the zone's other rows"),
)  # fmt: skip

_METER = (
    text("zone", "zone of zones.csv", required=True),
    number("start", 0, 1e10, "meter before", dimension="volume", label="reading"),
    number("end", 0, 1e10, "meter after", dimension="volume", label="reading"),
    over_0("minutes", 1440, "how long the zone ran", label="run time"),
    over_0("pressure", 2000, "gauge at its farthest head, running", **_PRESSURE),
)  # fmt: skip

_CURRENT = (
    text("zone", "zone of zones.csv", required=True),
    number("minutes", 0, 1440, "minutes at each start", required=True,
            label="run time"),
    whole("starts", 1, 24, "starts on a watering day", default=1, quiet=True,
           label="number of starts"),
    number("days_per_week", 0, 7, "watering days a week", required=True,
            label="number of days"),
    Field("months", "months this holds in", kind="months", default=tuple(range(1, 13)),
          otherwise="1-12", label="list of months"),
)  # fmt: skip

_OUTLINE = (
    text("zone", "zone of zones.csv", required=True),
    number("x", -1e5, 1e5, "corner on the plan, to the east", label="place",
            required=True, **_LENGTH),
    number("y", -1e5, 1e5, "corner on the plan, to the north", label="place",
            required=True, **_LENGTH),
)  # fmt: skip

_CHART = (
    text("nozzle", "nozzle as its maker names it", required=True),
    over_0("arc_deg", 360, "arc the row holds for", otherwise="any"),
    over_0("pressure", 2000, "pressure at the head", **_PRESSURE),
    over_0("flow", 5000, "flow at that pressure", **_FLOW),
    over_0("radius", 100, "throw at that pressure", **_LENGTH),
    flag("low_angle", "low-angle nozzle", default=False, quiet=True),
    word("head_kind", HEAD_KINDS, "kind of head that takes it", otherwise="any"),
)

_PLANTS = (
    text("plant", "name to use in zones.csv", required=True),
    word("group", ("turf", "annual", "vegetable", "groundcover", "shrub",
                    "perennial", "tree", "desert"),
          "kind of plant; sets the longest gap", default="shrub"),
    number("coefficient", 0, 1.5, "plant coefficient all year"),
    *(number(month, 0, 1.5, f"plant coefficient in month {nth}, here",
              label="plant coefficient")
      for nth, month in enumerate(MONTHS, 1)),
    over_0("root_depth", 5000, "usual depth of watered roots", **_DEPTH,
            required=True),
    share("depletion", "share of available water that may be used up",
           high=MOST_DEPLETION, required=True),
    whole("longest_gap_days", 1, 60, "longest time without water",
           otherwise="by group"),
    whole("shortest_gap_days", 1, 60, "shortest time from watering to watering",
           otherwise="none"),
    over_0("salt_threshold_ds_m", 50,
            "soil salinity (ECe) that it stands without loss"),
    number("tolerance", 0, 0.9, "share of its need that it may lack unharmed",
            otherwise="by group"),
    flag("food", "eaten, so that spray from ponds or recycled water is told of"),
    text("source", "where the numbers come from", default="the site's plants.csv"),
    word("status", ("read", "second-hand", "from memory"), "how the source was read",
          default="read"),
    text("note", "remark"),
)  # fmt: skip

STAGES_FILE = "stages.toml"
"""Drought stages of an agency, beside the files of a site."""
STAGE = (
    text("name", "name of the stage, as the agency has it", required=True),
    number("percent", 0, 100, "so much less water than the table takes",
            label="share of the water", **_PERCENT),
    flag("no_watering", "no day is permitted at all", default=False),
)  # fmt: skip
"""Keys of a drought stage beside its windows."""

_SOILS = (
    text("soil", "name to use in zones.csv", required=True),
    over_0("available_water", 400, "water a soil holds for plants",
            dimension="storage", required=True),
    over_0("intake", 500, "basic intake rate", dimension="rate", required=True),
    Field("like", "texture whose allowed accumulation is taken", kind="word",
          label="soil of the table",
          otherwise="the texture of that name"),
    text("source", "where the numbers come from", default="the site's soils.csv"),
    word("status", ("read", "second-hand", "from memory"), "how the source was read",
          default="read"),
    text("note", "remark"),
)  # fmt: skip

_WEATHER = (
    number("et0", 0, 25, "reference evapotranspiration", dimension="depth_day"),
    number("tmin", -60, 50, "mean daily minimum", **_TEMPERATURE),
    number("tmax", -60, 60, "mean daily maximum", **_TEMPERATURE),
    number("dew_point", -60, 40, "mean dew point", **_TEMPERATURE),
    over_0("humidity_percent", 100, "mean relative humidity", smallest=2.0),
    number("wind", 0, 40, "mean wind speed", dimension="wind", label="wind speed"),
    number("solar", 0, 45, "solar radiation", dimension="radiation",
            label="solar radiation"),
    number("sunshine_h", 0, 24, "hours of bright sunshine a day",
            label="sunshine_duration"),
)  # fmt: skip

_MONTHLY = (
    whole("month", 1, 12, "1 to 12", required=True),
    _WEATHER[0],
    number("et0_month", 0, 775, "reference evapotranspiration of the whole month",
            **_DEPTH),
    *_WEATHER[1:],
    number("rain", 0, 3000, "rain of the month", **_DEPTH),
    number("rain_days", 0, 31, "days of 1 mm (0.04 in) of rain or more",
            label="number of rain days", otherwise="rain / 7 mm (0.28 in)"),
)  # fmt: skip
_RAIN_MONTHLY = (_MONTHLY[0], *_MONTHLY[-2:])

_SUMMED = "the mean over day and night; hourly values are not summed, but averaged"
_DAILY = (
    Field("date", "day, as 2026-07-31", kind="date", required=True,
          hint="dates are written year-month-day"),
    number("et0", 0, 25, "reference evapotranspiration of the day", **_DEPTH),
    *(replace(field, hint=_SUMMED, hint_unit="w_m2") if field.name == "solar" else field
      for field in _WEATHER[1:]),
    number("rain", 0, 2000, "rain of the day", **_DEPTH),
)  # fmt: skip

# By table; "" holds the keys above the first one.
SITE_TABLES: dict[str, tuple[Field, ...]] = {
    "": (
        word("units", ("us", "metric"), "units that people are shown", default="us",
              quiet=True, label="system of units"),
        text("windows_file", "TOML of [[window]]s shared between sites"),
    ),
    "site": (
        text("name", "name of the property", otherwise="the folder's name"),
        number("latitude", -90, 90, "degrees, north positive", required=True),
        number("longitude", -180, 180, "degrees, east positive", required=True),
        number("elevation", -430, 6000, "above the sea", **_LENGTH, default=0.0),
        text("timezone", "IANA name; Etc/GMT+8 is 8 hours behind UTC",
              otherwise="from longitude"),
    ),
    "climate": (
        text("file", "climate file, seen from the site folder", required=True),
        text("rain_file", "monthly CSV with rain, where the climate file has none"),
        number("wind_height", 0.5, 100, "height of the wind gauge", **_LENGTH,
                default=2.0),
        word("effective_rain", ("tr21", "share", "none"), "how rain is counted",
              otherwise='"tr21"; "none" with a rain shut-off',
              label="rule for rain"),
        share("rain_share", 'share of rain counted with "share"', default=0.5),
        number("dry_year_percentile", 0, 100,
                "year to plan for, of daily files; 50: the mean of the years",
                default=50.0),
        flag("water_in_frost", "water in months with a mean minimum below freezing",
              default=False),
        flag("lines_can_freeze", "pipes, valves or backflow device freeze in winter",
              otherwise="asked on card and sheet"),
        Field("drained_on", "day on which lines are drained at the latest",
              kind="day", otherwise="by hard freezes of the climate",
              label="day of draining"),
        Field("filled_on", "day on which drained lines are filled again",
              kind="day", otherwise="by hard freezes of the climate",
              label="day of filling"),
    ),
    "plan": (
        word("by", PLAN_BY,
              "played through years of days, or the classic table of mean months",
              default=PLAN_BY[0], quiet=True, label="way of planning"),
        number("dry_days_percent", 0, 50,
                "days in a hundred that plants may go short", default=10.0,
                quiet=True, label="share of dry days",
                hint="10: plants may go short on one day in ten", **_PERCENT),
    ),
    "supply": (
        over_0("design_flow", 1e5, "most flow that the supply gives one zone",
                **_FLOW),
        over_0("pressure", 2000, "at the heads, running", **_PRESSURE),
        number("wind", 0, 40, "typical while watering", dimension="wind",
                label="wind speed"),
        over_0("static_pressure", 2000, "with nothing running", **_PRESSURE),
        over_0("running_pressure", 2000, "same gauge, while running_flow flows",
                label="running pressure", **_PRESSURE),
        over_0("running_flow", 1e5, "flow while the gauge shows running_pressure",
                label="running flow", **_FLOW),
        over_0("bucket", 1e4, "volume of the bucket test", dimension="volume"),
        number("bucket_s", 3, 3600, "seconds to fill it", label="time to fill",
                hint="under 3 seconds cannot be timed by hand: take a larger bucket; "
                "minutes are written in seconds"),
        over_0("meter", 200, "size of the water meter: 0.625, 0.75, 1, 1.5 or 2 in; "
                "15, 20, 25, 40 or 50 mm", label="meter size", **_DEPTH),
        text("pipe_material", "service pipe, as copper, pvc or galvanized steel",
              otherwise="galvanized steel, if the pipe is given",
              label="pipe material"),
        over_0("pipe_diameter", 500, "inside the service pipe", **_DEPTH),
        over_0("pipe_length", 5000, "service pipe", **_LENGTH),
        number("rise_to_heads", -200, 200, "heads above the meter", **_LENGTH,
                label="rise", otherwise="level"),
        text("backflow_device", "none, atmospheric vacuum breaker, pressure vacuum "
              "breaker, double check or reduced pressure",
              otherwise="not known, not counted", label="backflow device"),
        number("other_loss", 0, 1000, "valves, filter and fittings", **_PRESSURE,
                label="other loss",
                otherwise="3 psi (21 kPa) and a tenth of the pipe's"),
        over_0("least_flow", 1e5, "least that a pump may run at", **_FLOW),
        word("source", ("drinking", "well", "pond", "recycled"), "kind of water",
              default="drinking", quiet=True, label="source of water"),
    ),
    "window": (
        Field("months", "months it holds in", kind="months",
              default=tuple(range(1, 13)), otherwise="all", quiet=True,
              label="list of months"),
        Field("head_kinds", "kinds of head it holds for", kind="kinds",
              default=HEAD_KINDS, words=HEAD_KINDS, otherwise="all", quiet=True,
              label="list of kinds of head"),
        Field("days", 'permitted: "any", "odd", "even" or a list of weekdays',
              kind="days", default="any", label="rule for days"),
        Field("opens", "first minute", kind="clock", default="21:00",
              label="time of day"),
        Field("closes", 'last minute, or "sunrise"', kind="clock", default="06:00",
              words=("sunrise",), label="time of day"),
        whole("most_days_a_week", 1, 7, "most watering days a week of each zone",
               default=7, label="number of days"),
        Field("stages", "an exception for what was planted lately, of these stages",
              kind="stages", words=STAGES, otherwise="what has grown in",
              label="list of stages"),
        whole("stage_days", 1, 3650, "days from planting that the exception lasts",
               otherwise="until it has grown in", label="number of days"),
    ),
    "controller": (
        whole("programs", 1, 99, "programs it has", default=3, quiet=True,
               label="number of programs"),
        whole("starts", 1, 99, "start times a program has", default=4,
               label="number of starts"),
        number("longest_run_min", 1, 1440, "longest run it can be set to",
                default=240.0),
        number("longest_day_min", 1, 1440, "longest that it runs a station in a day",
                default=None, quiet=True),
        number("minute_step", 0.1, 60, "step of its run times", default=1.0),
        number("percent_step", 1, 100, "step of its month percents", default=5.0,
                quiet=True),
        number("percent_most", 100, 1000, "largest month percent", default=150.0,
                quiet=True, label="largest percent"),
        word("percent_by", ("program", "controller", "none"),
              "what one percent applies to", default="program", quiet=True,
              label="scope of a percent"),
        flag("intervals", "waters every so many days", default=True),
        flag("weekdays_on_odd_even", "leaves weekdays out on odd or even dates",
              default=True, quiet=True),
        whole("zones_at_once", 1, 99, "zones it runs at once", default=1, quiet=True,
               label="number of zones"),
        number("gap_s", 0, 3600, "pause between valves", default=0.0, quiet=True),
        number("shortest_soak_min", 0, 1440, "shortest soak", default=30.0),
        flag("soak_built_in", "splits runs into cycle and soak by itself",
              default=False),
        over_0("rain_shutoff", 100, "rain that stops it", **_DEPTH),
        number("shortfall_percent", 0, 50,
                "no longer used: [plan] dry_days_percent is", default=None, quiet=True),
    ),
    "water": (
        text("currency", "as on the bill: a sign or an ISO code"),
        word("billing_unit", ("ccf", "kgal", "m3"),
              "unit of the bill: 100 ft³, 1000 gal or m³; needed where tiers are given",
              label="billing unit"),
        number("fixed_charge", 0, 1e6, "each bill, whatever the water",
                otherwise="none"),
        whole("months_per_bill", 1, 12, "months on a bill, the first from January; "
               "1, 2, 3, 4, 6 or 12", default=1, quiet=True, label="number of months"),
        Field("tiers", "[{to, price}, …, {price}], in billing units on one bill",
              kind="tiers", label="list of tiers"),
        share("allowance_factor", "ET adjustment factor of the local rule",
               default=0.55, quiet=True),
        number("special_area", 0, 1e7, "special landscape area: part of the zones' "
                "ground that the local rule gives more water", dimension="area",
                otherwise="none"),
        number("salinity_ds_m", 0, 20, "salinity of the water (ECw)"),
    ),
}  # fmt: skip

FILES: dict[str, tuple[Field, ...]] = {
    "zones.csv": _ZONES,
    "heads.csv": _HEADS,
    "parts.csv": _PARTS,
    "cans.csv": _CANS,
    "meter.csv": _METER,
    "current.csv": _CURRENT,
    "outline.csv": _OUTLINE,
    "plants.csv": _PLANTS,
    "soils.csv": _SOILS,
    "nozzle chart": _CHART,
    "monthly climate": _MONTHLY,
    "monthly rain": _RAIN_MONTHLY,
    "daily climate": _DAILY,
}
"""Fields of each CSV, by its name or, where people choose that, by what it is."""

TIERS = (
    over_0("to", 1e12, "where the tier ends, in billing units on one bill",
            label="limit", otherwise="no limit: the last tier"),
    number("price", 0, 1e6, "price of a billing unit in it", required=True),
)  # fmt: skip
"""Columns of a workbook's sheet of tiers, which a site.toml has as one key."""
