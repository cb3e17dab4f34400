"""A site folder, or a workbook in its place, into one validated Site."""

from __future__ import annotations

import dataclasses
import datetime
import math
from collections.abc import Iterable, Sequence
from pathlib import Path

import numpy as np

from scheduler.errors import InputError, Problem
from scheduler.inputs import library
from scheduler.inputs.canfile import read_site_cans
from scheduler.inputs.current import read_current, read_meter
from scheduler.inputs.forms.field import Field
from scheduler.inputs.forms.fields import FOR_MONTHS
from scheduler.inputs.parts import read_parts
from scheduler.inputs.positions import check_positions, read_outlines
from scheduler.inputs.settings import (
    Tables,
    defaults_taken,
    rain_rule,
    read_door,
    read_settings,
    read_water,
    read_windows,
)
from scheduler.inputs.site import (
    Assumed,
    Cans,
    Controller,
    Current,
    Heads,
    Metered,
    Parts,
    Site,
    Supply,
    Water,
    Window,
    Zones,
)
from scheduler.inputs.sources.field_book import open_with_readings
from scheduler.inputs.sources.reading import Reading, record
from scheduler.inputs.supplies import read_supply
from scheduler.inputs.weather.daily import DailyWeather, with_rain_of_months
from scheduler.inputs.weather.monthly import (
    NO_RAIN,
    Climate,
    MonthlyRain,
    read_monthly_rain,
)
from scheduler.inputs.zones import (
    assumed_of_zones,
    check_water_is_known,
    read_heads,
    read_zones,
)


def read_other_site(folder: Path, today: datetime.date | None = None) -> Site:
    """Site read beside another one: its Problems name its folder too."""
    try:
        return read_site(folder, today)
    except InputError as error:
        whole = str(folder)
        raise InputError(
            problem
            if problem.file.startswith(whole)
            else dataclasses.replace(problem, file=str(folder / problem.file))
            for problem in error.problems
        ) from error


def read_site(folder: Path, today: datetime.date | None = None) -> Site:
    """Site of a folder or workbook; raises InputError with every Problem of it.

    With `today` dates of planting are looked at: none is to come, nor long ago.
    """
    reading = Reading(open_with_readings(folder))
    source = reading.source
    reading.problems += source.problems
    document = source.document(reading.problems)
    plants = library.site_plants(source, reading.problems)
    soils = library.site_soils(source, reading.problems)
    zones = read_zones(reading, plants, soils, today)
    heads = read_heads(reading, zones)
    cans, tested = read_site_cans(reading, zones)
    zones, metered = read_meter(reading, zones, heads[0])
    check_water_is_known(reading, zones, heads, tested)
    check_positions(reading, zones, heads)
    outlines = read_outlines(reading, zones)
    parts = read_parts(reading, zones, plants, soils)
    current = read_current(reading, zones)
    tables, left_blank = read_settings(reading, document)
    windows = read_windows(reading, document, tables)
    water = read_water(reading, document, tables)
    door = read_door(reading, document)
    climate = _read_climate(reading, tables)
    supply = read_supply(reading, document, tables)
    if (
        reading.problems
        or not tables
        or zones is None
        or climate is None
        or supply is None
        or water is None
    ):
        raise InputError(source.placed(reading.problems))
    return _site(
        reading,
        tables,
        climate,
        supply,
        windows,
        (zones[0], parts, heads[0], outlines, cans, metered),
        (water, current, door),
        (plants, soils),
        (left_blank, assumed_of_zones(zones[1], heads[1], tested)),
    )


def _site(
    reading: Reading,
    tables: Tables,
    climate: Climate | DailyWeather,
    supply: Supply,
    windows: tuple[Window, ...],
    ground: tuple[Zones, Parts, Heads, tuple[np.ndarray, ...], Cans, Metered],
    use: tuple[Water, Current | None, tuple[tuple[str, str], ...]],
    own_tables: tuple[library.Plants, library.Soils],
    blanks: tuple[Sequence[Field], Iterable[Assumed]],
) -> Site:
    zones, parts, heads, outlines, cans, metered = ground
    plants, soils = own_tables
    left_blank, of_zones = blanks
    idle = _idle_settings(tables, climate)
    in_use = [field for field in left_blank if field.name not in idle]
    place = tables["site"]
    ends = (tables["climate"][name] for name in ("drained_on", "filled_on"))
    empty = [day for day in ends if day is not None]
    return Site(
        name=place["name"] or reading.source.usual_name,
        units=tables[""]["units"],
        latitude=place["latitude"],
        longitude=place["longitude"],
        timezone=place["timezone"] or "",
        elevation_m=place["elevation_m"],
        wind_height_m=_wind_height_m(tables, climate, left_blank),
        climate=climate,
        dry_year_percentile=tables["climate"]["dry_year_percentile"],
        plan_by=tables["plan"]["by"],
        dry_share=tables["plan"]["dry_days_percent"] / 100,
        rain_rule=rain_rule(tables),
        water_in_frost=tables["climate"]["water_in_frost"],
        lines_can_freeze=True if empty else tables["climate"]["lines_can_freeze"],
        lines_empty=(empty[0], empty[1]) if empty else None,
        supply=supply,
        windows=tuple(window for window in windows if not window.stages),
        exceptions=tuple(window for window in windows if window.stages),
        controller=record(Controller, tables["controller"]),
        salinity_ds_m=tables["water"]["salinity_ds_m"] or 0.0,
        zones=zones,
        parts=parts,
        heads=heads,
        outlines=outlines,
        cans=cans,
        metered=metered,
        water=use[0],
        current=use[1],
        door=use[2],
        plants=plants,
        soils=soils,
        assumed=(*of_zones, *defaults_taken(in_use), *reading.assumed),
        unread=reading.source.unread,
        hidden=reading.source.hidden,
        names=reading.source.names,
        for_months=tuple(reading.for_months),
        replaced=tuple(reading.replaced),
    )


def _read_climate(reading: Reading, tables: Tables) -> Climate | DailyWeather | None:
    if not tables or not tables["climate"]["file"]:
        return None
    keys = tables["climate"]
    told = reading.source.names.told("site.toml")
    climate = reading.source.climate(keys["file"], reading.problems)
    if keys["rain_file"]:
        rain = read_monthly_rain(
            reading.folder / keys["rain_file"], keys["rain_file"], reading.problems
        )
        if climate is not None and rain is not None:
            climate = _with_rain(climate, rain)
    if climate is None:
        return None
    if not climate.has("rain_mm"):
        if rain_rule(tables).method != "none":
            reading.problems.append(
                Problem(keys["file"], None, "rain_in or rain_mm",
                        _no_rain(climate),
                        f"a rain column, or [climate] rain_file in {told}",
                        'to plan with none, set effective_rain = "none"')
            )  # fmt: skip
            return None
        climate = _with_rain(climate, NO_RAIN)
        # Here it is what allows a climate without rain, so it has its use.
        kept = [n for n in reading.for_months if not n.endswith(".effective_rain")]
        reading.for_months = kept
    return climate


def _no_rain(climate: Climate | DailyWeather) -> str:
    why = climate.no_rain_because if isinstance(climate, DailyWeather) else ""
    return f"no rain that can be believed: {why}" if why else "no rain is given"


def _with_rain(
    climate: Climate | DailyWeather, rain: MonthlyRain
) -> Climate | DailyWeather:
    if isinstance(climate, DailyWeather):
        return with_rain_of_months(climate, rain)
    return dataclasses.replace(climate, rain_mm=rain.rain_mm, rain_days=rain.rain_days)


def _wind_height_m(
    tables: Tables, climate: Climate | DailyWeather, left_blank: Sequence[Field]
) -> float:
    """Height of the wind gauge: as site.toml says, else as the weather file's kind."""
    written: float = tables["climate"]["wind_height_m"]
    blank = any(field.name == "wind_height" for field in left_blank)
    told = _told_height_m(climate)
    return told if blank and math.isfinite(told) else written


def _told_height_m(climate: Climate | DailyWeather) -> float:
    """Height of the wind gauge that the file's kind tells; NaN where it tells none."""
    return climate.wind_height_m if isinstance(climate, DailyWeather) else math.nan


def _idle_settings(tables: Tables, climate: Climate | DailyWeather) -> set[str]:
    """Settings whose default nothing comes to use, with this climate."""
    idle = set(FOR_MONTHS if tables["plan"]["by"] == "days" else ())
    if rain_rule(tables).method != "share":
        idle.add("rain_share")
    no_wind = not climate.has("wind_m_s") or _all_et0_given(climate)
    if no_wind or math.isfinite(_told_height_m(climate)):
        idle.add("wind_height")
    if not isinstance(climate, DailyWeather) or climate.typical_year:
        idle.add("dry_year_percentile")
    return idle


def _all_et0_given(climate: Climate | DailyWeather) -> bool:
    if isinstance(climate, DailyWeather):
        return bool(np.isfinite(climate.et0_mm).all())
    return climate.has("et0_mm_day")
