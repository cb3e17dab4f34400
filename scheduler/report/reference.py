"""Templates of `new`, and the glossary that DEVELOPERS.md shows."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from scheduler.inputs.forms.dimensions import DIMENSIONS
from scheduler.inputs.forms.field import Field
from scheduler.inputs.forms.fields import FILES, SITE_TABLES
from scheduler.report import shown
from scheduler.report.formulas import QUANTITIES

_INVENTED = "# Invented to start from: put your own numbers in."

# What the templates fill in; everything else is a comment with its default.
_SITE: dict[str, dict[str, dict[str, str]]] = {
    "us": {
        "": {"units": '"us"'},
        "site": {"latitude": "38.5", "longitude": "-121.5", "elevation_ft": "65"},
        "climate": {"file": '"climate.csv"'},
        "supply": {"design_flow_gpm": "18", "pressure_psi": "45"},
        "window": {"days": '["mon", "wed", "fri", "sat"]', "opens": '"22:00"'},
    },
    "metric": {
        "": {"units": '"metric"'},
        "site": {"latitude": "38.5", "longitude": "-121.5", "elevation_m": "20"},
        "climate": {"file": '"climate.csv"'},
        "supply": {"design_flow_l_min": "70", "pressure_kpa": "310"},
        "window": {"days": '["mon", "wed", "fri", "sat"]', "opens": '"22:00"'},
    },
}

_ZONES = {
    "us": """zone,name,plant,soil,slope_percent,area_ft2,head_kind
1,Lawn,cool-season turf,clay loam,2,2700,rotor
2,Shrubs,shrubs moderate water,clay loam,4,400,drip
""",
    "metric": """zone,name,plant,soil,slope_percent,area_m2,head_kind
1,Lawn,cool-season turf,clay loam,2,248,rotor
2,Shrubs,shrubs moderate water,clay loam,4,37,drip
""",
}
_ZONES_EMITTERS = {
    "us": ("emitter_flow_gph,emitter_spacing_ft,emitter_row_spacing_ft",
           "0.6,1,1.5"),
    "metric": ("emitter_flow_l_h,emitter_spacing_m,emitter_row_spacing_m",
               "2.3,0.3,0.45"),
}  # fmt: skip

_HEADS = {
    "us": """zone,head,count,nozzle,arc_deg,radius_ft,flow_gpm,pressure_psi,spacing_ft
1,full,1,6.0,360,30,6.0,45,30
1,half,3,3.0,180,30,3.0,45,30
1,quarter,2,1.5,90,30,1.5,45,30
""",
    "metric": """zone,head,count,nozzle,arc_deg,radius_m,flow_l_min,pressure_kpa,\
spacing_m
1,full,1,6.0,360,9.1,22.8,310,9.1
1,half,3,3.0,180,9.1,11.4,310,9.1
1,quarter,2,1.5,90,9.1,5.7,310,9.1
""",
}

_CLIMATE = {
    "us": """month,et0_in_day,rain_in,tmin_f
1,0.05,3.4,38
2,0.08,3.1,41
3,0.12,2.5,44
4,0.17,1.2,47
5,0.22,0.5,52
6,0.27,0.1,57
7,0.28,0.0,60
8,0.25,0.0,59
9,0.20,0.2,57
10,0.13,0.8,51
11,0.07,1.9,44
12,0.05,2.9,38
""",
    "metric": """month,et0_mm_day,rain_mm,tmin_c
1,1.3,86,3.3
2,2.0,79,5.0
3,3.0,64,6.7
4,4.3,30,8.3
5,5.6,13,11.1
6,6.9,3,13.9
7,7.1,0,15.6
8,6.4,0,15.0
9,5.1,5,13.9
10,3.3,20,10.6
11,1.8,48,6.7
12,1.3,74,3.3
""",
}


def site_templates(units: str) -> dict[str, str]:
    """Files of a new site, by name: they run as they are."""
    header, values = _ZONES_EMITTERS[units]
    first, lawn, shrubs = _ZONES[units].splitlines()
    zones = f"{first},{header}\n{lawn},,,\n{shrubs},{values}\n"
    climate = _columns("monthly climate", units) + _CLIMATE[units]
    return {
        "site.toml": _site_toml(units),
        "zones.csv": f"{_INVENTED}\n{_columns('zones.csv', units)}{zones}",
        "heads.csv": f"{_INVENTED}\n{_columns('heads.csv', units)}{_HEADS[units]}",
        "climate.csv": f"{_INVENTED}\n{climate}",
    }


def _columns(file: str, units: str) -> str:
    lines = ["# Columns that this file may have:"]
    for field in FILES[file]:
        lines.append(f"#   {' | '.join(field.names)}: {told(field, units)}")
    return "\n".join(lines) + "\n"


def told(field: Field, units: str) -> str:
    """What a field is, its words, and what leaving it blank means."""
    needed = "needed" if field.required else f"blank: {default_text(field, units)}"
    words = f" ({', '.join(field.words)})" if field.words else ""
    return f"{field.help}{words}; {needed}"


def default_text(field: Field, units: str) -> str:
    """What leaving a field blank means, with its unit."""
    if field.otherwise:
        return field.otherwise
    if field.default is None:
        return "not known"
    if field.dimension:
        unit = DIMENSIONS[field.dimension].shown(units)
        return f"{unit.from_si(field.default):.3g} {unit.symbol}"
    return shown.value_text(field.default)


_WINDOW_TOLD = (
    "# Days are dates: every minute of a run falls on a permitted one. Across midnight",
    '# a date that stands alone has two pieces: "mon", 22:00 to 06:00 is Monday until',
    "# 06:00 and Monday from 22:00 to 24:00. For Monday night to Tuesday morning, name",
    "# both days.",
)


def _site_toml(units: str) -> str:
    lines = [_INVENTED, "# A # before a key leaves it at its default."]
    for table, fields in SITE_TABLES.items():
        filled = _SITE[units].get(table, {})
        if table:
            lines += ["", f"[[{table}]]" if table == "window" else f"[{table}]"]
        if table == "window":
            lines += _WINDOW_TOLD
        lines += [_toml_line(field, filled, units) for field in fields]
    lines += ["", "[door]", "# Lines for the page inside the controller door, as",
              '# shut_off = "left of the gate"']  # fmt: skip
    return "\n".join(lines) + "\n"


def name_in_template(field: Field, filled: Collection[str], units: str) -> str:
    """Name of a field as a template fills it in, else in the units that are shown."""
    for name in field.names:
        if name in filled:
            return name
    if not field.dimension:
        return field.name
    return f"{field.name}_{DIMENSIONS[field.dimension].shown(units).suffix}"


def _toml_line(field: Field, filled: Mapping[str, str], units: str) -> str:
    name = name_in_template(field, filled, units)
    if name in filled:
        return f"{name} = {filled[name]}  # {field.help}"
    return f"# {name} = {_toml_default(field, units)}  # {told(field, units)}"


def _toml_default(field: Field, units: str) -> str:
    value: Any = field.default
    if value is None:
        return "..."
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, tuple):
        return str(list(value)).replace("'", '"')
    if isinstance(value, str):
        return f'"{value}"'
    if field.dimension:
        value = round(DIMENSIONS[field.dimension].shown(units).from_si(value), 2)
    return f"{value:g}"


def glossary() -> str:
    """Every quantity of the working with its unit and meaning, as markdown."""
    rows = ["| name | unit | meaning |", "|---|---|---|"]
    for name, (meaning, unit) in QUANTITIES.items():
        symbol = DIMENSIONS[unit].si.symbol if unit in DIMENSIONS else unit or "-"
        rows.append(f"| `{name}` | {symbol} | {meaning} |")
    return "\n".join(rows) + "\n"
