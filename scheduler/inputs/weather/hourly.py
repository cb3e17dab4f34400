"""A year of hours in the open formats that pvlib reads, into days.

pvlib is imported in here only, when such a file is met: it alone takes longer to load
than a plan takes to make.
"""

from __future__ import annotations

import csv
import re
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from scheduler.errors import Problem
from scheduler.inputs.forms.csvfiles import too_large
from scheduler.inputs.weather.daily import LEAST_SHARE_OF_DAYS, DailyWeather
from scheduler.units import MJ_M2_DAY_PER_W_M2

if TYPE_CHECKING:
    import pandas as pd

TYPICAL_YEAR = 2001
"""A common year that a year of hours is dated to, for it mixes months of many."""

# Wind stands at 10 m in these formats, the WMO's height; NSRDB does not tell it.
WMO_HEIGHT_M = 10.0
_LEAST_BYTES_OF_NAME = 4096
_LEAST_DAYS = 365
# What the readers stumble over in torn files.
_TORN = (ValueError, LookupError, TypeError, ArithmeticError, OSError, AttributeError,
         StopIteration, RecursionError, csv.Error)  # fmt: skip
_TMY2 = re.compile(rb" ?\d{5} .{22} .{2} +-?\d+ [NS] ")
# Rain that is taken for real (our choice, from memory of the wettest inhabited places
# and of rain gauges): no hour over 150 mm, no year over 4,000 mm, none without rain.
MOST_RAIN_OF_HOUR_MM = 150.0
MOST_RAIN_OF_YEAR_MM = 4000.0
_HOURS_TOLD = (
    "days are made of hours: the least and the highest hour stand for tmin and tmax, "
    "which makes their range a little small"
)


@dataclass(frozen=True, slots=True, eq=False)
class Hours:
    """Hours of one year by local standard time; `month` and `day` are the date's.

    Steps may be shorter than an hour. NaN where a value is missing. `rain_mm` is that
    of the step. The place is NaN where the file does not tell it.
    """

    kind: str
    month: np.ndarray
    day: np.ndarray
    temperature_c: np.ndarray
    dew_point_c: np.ndarray
    wind_m_s: np.ndarray
    solar_mj_m2_day: np.ndarray
    rain_mm: np.ndarray
    latitude_deg: float
    elevation_m: float
    wind_height_m: float


def kind_of_hours(path: Path) -> str:
    """Format of a year of hours by its first lines; "" where it is none."""
    try:
        if not path.is_file():
            return ""
        with path.open("rb") as stream:
            start = stream.read(_LEAST_BYTES_OF_NAME).removeprefix(b"\xef\xbb\xbf")
    except (OSError, ValueError):
        return ""
    first, _, rest = start.partition(b"\n")
    if first.startswith(b"LOCATION,"):
        return "EPW"
    if rest.lstrip(b'"').startswith(b"Date (MM/DD/YYYY)"):
        return "TMY3"
    if first.startswith(b"Latitude (decimal degrees)"):
        return "PVGIS CSV"
    if start.lstrip().startswith(b"{") and path.suffix.lower() == ".json":
        return "PVGIS JSON"
    if first.startswith(b"Source,Location ID"):
        return "NSRDB"
    return "TMY2" if _TMY2.match(first) else ""


def read_hours(
    path: Path, file: str, kind: str, problems: list[Problem]
) -> DailyWeather | None:
    """Days of a year of hours, or None with a Problem."""
    readers = {
        "EPW": _epw, "TMY3": _tmy3, "TMY2": _tmy2, "PVGIS CSV": _pvgis_csv,
        "PVGIS JSON": _pvgis_json, "NSRDB": _nsrdb,
    }  # fmt: skip
    if too_large(path, file, problems):
        return None
    try:
        with warnings.catch_warnings():
            # Of torn lines and mixed columns: what is no number is missing anyway.
            warnings.simplefilter("ignore")
            # pvlib takes what begins with http for an address, a file's name too.
            hours = readers[kind](path.absolute())
    except _TORN:
        problems.append(
            Problem(file, None, "", f"cannot be read as {kind}, which it begins as",
                    "the whole file as its maker gives it out",
                    "was the download cut short, or the file edited?")
        )  # fmt: skip
        return None
    return days_of_hours(hours, file, problems)


def days_of_hours(
    hours: Hours, file: str, problems: list[Problem]
) -> DailyWeather | None:
    """Days of the hours, or None with a Problem where they are no whole year."""
    leap = (hours.month == 2) & (hours.day == 29)
    label = hours.month * 100 + hours.day
    days, place = np.unique(label[~leap], return_inverse=True)
    if len(days) < _LEAST_DAYS:
        problems.append(
            Problem(file, None, "", f"has {len(label)} steps of {len(days)} days",
                    "a whole year: 8,760 hours of 365 days",
                    "was the download cut short?")
        )  # fmt: skip
        return None
    if not np.isfinite(hours.temperature_c).any():
        problems.append(
            Problem(file, None, "", "holds no air temperature",
                    "hours with temperature, and better with dew point, wind and sun")
        )  # fmt: skip
        return None
    group = _Groups(place, len(days))
    first = np.datetime64(f"{TYPICAL_YEAR}-01-01")
    blank = np.full(len(days), np.nan)
    rain, why_not = _believed_rain(hours, ~leap, group)
    weather = DailyWeather(
        file,
        np.arange(first, first + len(days)),
        blank,
        group.extreme(hours.temperature_c[~leap], np.minimum),
        group.extreme(hours.temperature_c[~leap], np.maximum),
        group.mean(hours.dew_point_c[~leap]),
        blank,
        group.mean(hours.wind_m_s[~leap]),
        # A missing hour of sun is no mean hour: then the day has no radiation.
        group.mean(hours.solar_mj_m2_day[~leap], 1.0),
        blank,
        rain,
        np.full(12, np.nan),
        notes=(_HOURS_TOLD,),
        typical_year=True,
        latitude_deg=hours.latitude_deg,
        elevation_m=hours.elevation_m,
        wind_height_m=hours.wind_height_m,
        no_rain_because=why_not,
    )
    return weather


class _Groups:
    """Steps by their day: means and extremes where enough steps are there."""

    def __init__(self, place: np.ndarray, count: int) -> None:
        self.place, self.count = place, count
        self.steps = np.bincount(place, minlength=count)

    def _enough(self, there: np.ndarray, share: float) -> np.ndarray:
        found = np.bincount(self.place[there], minlength=self.count)
        enough: np.ndarray = found >= np.maximum(share * self.steps - 1e-9, 1)
        return enough

    def mean(
        self, values: np.ndarray, share: float = LEAST_SHARE_OF_DAYS
    ) -> np.ndarray:
        there = np.isfinite(values)
        found = np.bincount(self.place[there], minlength=self.count)
        total = np.bincount(self.place[there], values[there], self.count)
        mean = total / np.maximum(found, 1)
        return np.where(self._enough(there, share), mean, np.nan)

    def total(self, values: np.ndarray) -> np.ndarray:
        return self.mean(values) * self.steps

    def extreme(self, values: np.ndarray, least: Any) -> np.ndarray:
        there = np.isfinite(values)
        start = np.inf if least is np.minimum else -np.inf
        found = np.full(self.count, start)
        least.at(found, self.place[there], values[there])
        return np.where(self._enough(there, LEAST_SHARE_OF_DAYS), found, np.nan)


def _believed_rain(
    hours: Hours, kept: np.ndarray, group: _Groups
) -> tuple[np.ndarray, str]:
    """Rain of the days, or NaN and the reason why it cannot be believed."""
    none = np.full(group.count, np.nan)
    rain = hours.rain_mm[kept]
    there = np.isfinite(rain)
    if not there.any():
        return none, f"{hours.kind} has none here"
    month = hours.month[kept]
    steps = np.bincount(month, minlength=13).clip(1)
    share = np.bincount(month[there], minlength=13) / steps
    year_mm = float(rain[there].sum())
    if share[1:].min() < LEAST_SHARE_OF_DAYS:
        return none, f"{100 * there.mean():.0f} % of the hours have a value"
    if year_mm == 0:
        return none, "it is 0 in every hour, which stands for missing"
    if year_mm > MOST_RAIN_OF_YEAR_MM or rain[there].max() > MOST_RAIN_OF_HOUR_MM:
        return none, (
            f"{year_mm:,.0f} mm in the year cannot be: another unit than the format's?"
        )
    return group.total(rain), ""


def _within(values: Any, low: float, high: float) -> np.ndarray:
    """Numbers in a range; fill values and text become NaN."""
    import pandas as pd

    series = pd.to_numeric(pd.Series(np.asarray(values)), errors="coerce")
    numbers = series.to_numpy(dtype=np.float64)
    return np.where((numbers >= low) & (numbers <= high), numbers, np.nan)


def _hours(
    kind: str,
    when: pd.DatetimeIndex,
    frame: pd.DataFrame,
    names: dict[str, str],
    place: tuple[Any, Any],
    wind_height_m: float = WMO_HEIGHT_M,
) -> Hours:
    """Hours of a frame; `names` gives the column of each quantity, if there is one.

    `when` labels the start of each step in local standard time.
    """

    def column(name: str, low: float, high: float) -> np.ndarray:
        if names.get(name) not in frame:
            return np.full(len(frame), np.nan)
        return _within(frame[names[name]], low, high)

    temperature = column("temperature", -90, 60)
    dew = column("dew", -90, 60)
    humidity = column("humidity", 0.1, 110)
    if np.isnan(dew).any() and np.isfinite(humidity).any():
        from pvlib.atmosphere import tdew_from_rh

        dew = np.where(
            np.isnan(dew), tdew_from_rh(temperature, np.minimum(humidity, 100)), dew
        )
    return Hours(
        kind,
        when.month.to_numpy(),
        when.day.to_numpy(),
        temperature,
        np.minimum(dew, temperature),
        column("wind", 0, 60),
        column("solar", 0, 1500) * MJ_M2_DAY_PER_W_M2,
        column("rain", 0, 900),
        float(place[0]),
        float(place[1]),
        wind_height_m,
    )


_MAPPED = {"temperature": "temp_air", "dew": "temp_dew", "solar": "ghi",
           "humidity": "relative_humidity", "wind": "wind_speed"}  # fmt: skip


def _epw(path: Path) -> Hours:
    """EPW: pvlib labels hours by their start."""
    from pvlib.iotools import read_epw

    frame, meta = read_epw(path)
    names = {**_MAPPED, "rain": "liquid_precipitation_depth"}
    place = meta["latitude"], meta["altitude"]
    return _hours("EPW", frame.index, frame, names, place)


def _tmy3(path: Path) -> Hours:
    """TMY3: pvlib labels hours by their end, the last one midnight of the next year."""
    import pandas as pd
    from pvlib.iotools import read_tmy3

    frame, meta = read_tmy3(path, coerce_year=TYPICAL_YEAR, map_variables=True)
    names = {**_MAPPED, "rain": "Lprecip depth (mm)"}
    when = frame.index - pd.Timedelta(hours=1)
    return _hours("TMY3", when, frame, names, (meta["latitude"], meta["altitude"]))


def _tmy2(path: Path) -> Hours:
    """TMY2: pvlib labels hours by their start; tenths of °C and of m/s."""
    from pvlib.iotools import read_tmy2

    frame, meta = read_tmy2(path)
    frame = frame.assign(
        temp_air=_within(frame["DryBulb"], -900, 600) / 10,
        temp_dew=_within(frame["DewPoint"], -900, 600) / 10,
        wind_speed=_within(frame["Wspd"], 0, 600) / 10,
        ghi=frame["GHI"],
        relative_humidity=frame["RHum"],
    )
    place = meta["latitude"], meta["altitude"]
    return _hours("TMY2", frame.index, frame, _MAPPED, place)


def _pvgis_csv(path: Path) -> Hours:
    return _pvgis(path, "csv")


def _pvgis_json(path: Path) -> Hours:
    return _pvgis(path, "json")


def _pvgis(path: Path, form: str) -> Hours:
    from pvlib.iotools import read_pvgis_tmy

    frame, meta = read_pvgis_tmy(path, pvgis_format=form, map_variables=True)
    place = meta["inputs"].get("location", meta["inputs"])
    return pvgis_hours(frame, place["latitude"], place["longitude"], place["elevation"])


def pvgis_hours(
    frame: pd.DataFrame, latitude: float, longitude: float, elevation_m: float
) -> Hours:
    """Hours of a PVGIS typical year, whose labels are in UTC.

    They are turned to the zone of the longitude, the year taken round: what falls
    into the year before stands at the end of this one.
    """
    shift = round(longitude / 15)
    turned = frame.iloc[np.roll(np.arange(len(frame)), shift)]
    start = np.datetime64(f"{TYPICAL_YEAR}-01-01T00")
    import pandas as pd

    when = pd.DatetimeIndex(start + np.arange(len(frame)).astype("timedelta64[h]"))
    return _hours("PVGIS", when, turned, _MAPPED, (latitude, elevation_m))


def _nsrdb(path: Path) -> Hours:
    """NSRDB: labels in the file's zone, turned to the place's standard time."""
    import pandas as pd
    from pvlib.iotools import read_nsrdb_psm4

    frame, meta = read_nsrdb_psm4(path, map_variables=True)
    hours = meta["Local Time Zone"] - meta["Time Zone"]
    when = frame.index + pd.Timedelta(hours=hours)
    place = meta["latitude"], meta["altitude"]
    return _hours("NSRDB", when, frame, _MAPPED, place, float("nan"))
