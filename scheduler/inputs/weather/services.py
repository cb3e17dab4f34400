"""Weather of a point on the map from keyless services: the one place with a network.

PVGIS and ACIS are asked through pvlib. NASA POWER is asked here: pvlib's function takes
no time-out, so that a silent service would hold it for ever, and it knows the hourly
answer alone, twenty-four times as long as the daily one that is needed.
"""

from __future__ import annotations

import datetime
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from scheduler.errors import InputError, Problem
from scheduler.inputs.weather.daily import QUANTITIES, DailyWeather
from scheduler.inputs.weather.hourly import days_of_hours, pvgis_hours

if TYPE_CHECKING:
    import pandas as pd

URLS: dict[str, str] = {
    "nasa-power": "https://power.larc.nasa.gov/api/temporal/daily/point",
    "pvgis": "https://re.jrc.ec.europa.eu/api/v5_3/",
    "acis": "https://data.rcc-acis.org/GridData",
}
"""Where each service is asked, by the name that the option takes."""

CREDITS = {
    "nasa-power": "NASA POWER project, NASA Langley Research Center; free to use, "
    "credit asked for",
    "pvgis": "PVGIS (c) European Communities; reuse allowed where the source is named",
    "acis": "NOAA Regional Climate Centers, ACIS, NRCC interpolated grid; credit the "
    "Northeast Regional Climate Center",
}
NAMES = {"nasa-power": "NASA POWER", "pvgis": "PVGIS", "acis": "ACIS"}

USUAL_YEARS = 10
TIMEOUT_S = 60.0
TRIES = 3
FIRST_WAIT_S = 2.0
_BUSY = (429, 500, 502, 503, 504)

_POWER = {
    "T2M_MIN": ("tmin_c", "C"), "T2M_MAX": ("tmax_c", "C"),
    "T2MDEW": ("dew_point_c", "C"), "WS2M": ("wind_m_s", "m/s"),
    "ALLSKY_SFC_SW_DWN": ("solar_mj_m2_day", "MJ/m^2/day"),
    "PRECTOTCORR": ("rain_mm", "mm/day"),
}  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class Fetched:
    """Weather that a service gave, and the lines that say whose it is."""

    weather: DailyWeather
    heading: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Request:
    """What is asked: the place, and the first and last year of the days."""

    latitude_deg: float
    longitude_deg: float
    first_year: int
    last_year: int


def request(
    latitude_deg: float,
    longitude_deg: float,
    first_year: int | None,
    last_year: int | None,
    today: datetime.date,
) -> Request:
    """Request for years that are over; the last ten where none are named."""
    last = today.year - 1 if last_year is None else last_year
    first = last - (USUAL_YEARS - 1) if first_year is None else first_year
    if first > last or last >= today.year:
        raise InputError(
            [Problem("--from, --to", None, "", f"{first} to {last} cannot be fetched",
                     f"years from the first to the last, up to {today.year - 1}")]
        )  # fmt: skip
    return Request(latitude_deg, longitude_deg, first, last)


class _ChangedError(Exception):
    """The answer is not in the form that is known."""


def fetch(
    service: str, asked: Request, wait: Callable[[float], None] = time.sleep
) -> Fetched:
    """Daily weather of a place; raises InputError when the service does not give it.

    A service that is busy or silent is asked again, after 2 and after 4 s.
    """
    import requests

    ask = {"nasa-power": _nasa_power, "pvgis": _pvgis, "acis": _acis}[service]
    pause = FIRST_WAIT_S
    for attempt in range(1, TRIES + 1):
        last = attempt == TRIES
        try:
            weather = ask(asked, URLS[service])
        except requests.HTTPError as error:
            status = getattr(error.response, "status_code", None)
            if status not in _BUSY or last:
                raise _refused(service, status, error) from error
        except (_ChangedError, ValueError, KeyError, TypeError, IndexError) as error:
            raise _changed(service) from error
        except requests.RequestException as error:
            if last:
                raise _silent(service) from error
        else:
            _check_any(service, weather)
            return Fetched(weather, _heading(service, asked, weather))
        wait(pause)
        pause *= 2
    raise AssertionError("the last attempt returns or raises")


def _silent(service: str) -> InputError:
    return InputError(
        [Problem(NAMES[service], None, "", "does not answer",
                 hint=f"asked {TRIES} times; is there a network here? Everything else "
                 "works without one")]
    )  # fmt: skip


def _refused(service: str, status: int | None, error: Exception) -> InputError:
    # PVGIS and ACIS say in words what they miss, such as land where there is sea.
    said = str(error) if status in (None, 200) else f"status {status}"
    return InputError(
        [Problem(NAMES[service], None, "", f"refuses the request: {said[:200]}",
                 hint="does the service know this place and these years?")]
    )  # fmt: skip


def _changed(service: str) -> InputError:
    return InputError(
        [Problem(NAMES[service], None, "",
                 "answers in a form that this program does not know",
                 hint="the service may have changed; fetch by hand and write a daily "
                 "CSV, or try another service")]
    )  # fmt: skip


def _check_any(service: str, weather: DailyWeather) -> None:
    if not (weather.has("tmin_c") and weather.has("tmax_c")):
        raise InputError(
            [Problem(NAMES[service], None, "", "has no weather for this place and time",
                     hint="ACIS covers the United States, PVGIS most land but the "
                     "poles, NASA POWER the whole world")]
        )  # fmt: skip


def _heading(service: str, asked: Request, weather: DailyWeather) -> tuple[str, ...]:
    place = f"latitude {asked.latitude_deg:g}, longitude {asked.longitude_deg:g}"
    if np.isfinite(weather.elevation_m):
        place += f"; elevation of the service {weather.elevation_m:.0f} m"
    period = f"{weather.date[0]} to {weather.date[-1]}"
    if weather.typical_year:
        period = "a typical year, dated 2001"
    return (
        f"Weather from {NAMES[service]}, {URLS[service]}",
        f"Place: {place}",
        f"Period: {period}",
        f"Credit: {CREDITS[service]}",
    )


def _get(url: str, parameters: Mapping[str, Any]) -> Any:
    import requests

    response = requests.get(url, params=dict(parameters), timeout=TIMEOUT_S)
    response.raise_for_status()
    return response.json()


def _nasa_power(asked: Request, url: str) -> DailyWeather:
    """Days by local solar time, with the units that the answer itself states."""
    answer = _get(
        url,
        {
            "parameters": ",".join(_POWER),
            "community": "AG",
            "latitude": asked.latitude_deg,
            "longitude": asked.longitude_deg,
            "start": f"{asked.first_year}0101",
            "end": f"{asked.last_year}1231",
            "time-standard": "LST",
            "format": "JSON",
        },
    )
    series = answer["properties"]["parameter"]
    fill = float(answer["header"]["fill_value"])
    stamps = sorted(series["T2M_MIN"])
    date = np.array([f"{s[:4]}-{s[4:6]}-{s[6:]}" for s in stamps], "datetime64[D]")
    columns = {}
    for parameter, (name, unit) in _POWER.items():
        if answer["parameters"][parameter]["units"] != unit:
            raise _ChangedError(parameter)
        values = np.array([float(series[parameter][stamp]) for stamp in stamps])
        columns[name] = np.where(values == fill, np.nan, values)
    return _weather(date, columns, float(answer["geometry"]["coordinates"][2]))


def _pvgis(asked: Request, url: str) -> DailyWeather:
    """Days of the typical year; PVGIS has no rain."""
    from pvlib.iotools import get_pvgis_tmy

    frame, meta = get_pvgis_tmy(
        asked.latitude_deg, asked.longitude_deg, outputformat="json", url=url,
        timeout=TIMEOUT_S, coerce_year=None,
    )  # fmt: skip
    place = meta["inputs"]["location"]
    hours = pvgis_hours(
        frame, asked.latitude_deg, asked.longitude_deg, place["elevation"]
    )
    problems: list[Problem] = []
    weather = days_of_hours(hours, NAMES["pvgis"], problems)
    if weather is None:
        raise _ChangedError("no whole year")
    return weather


def _acis(asked: Request, url: str) -> DailyWeather:
    """Temperatures and rain of an interpolated grid of the United States."""
    from pvlib.iotools import get_acis_nrcc

    frame, meta = get_acis_nrcc(
        asked.latitude_deg, asked.longitude_deg, f"{asked.first_year}-01-01",
        f"{asked.last_year}-12-31", grid=1, url=url, timeout=TIMEOUT_S,
    )  # fmt: skip
    date = frame.index.to_numpy().astype("datetime64[D]")
    names = {"tmin_c": "temp_air_min", "tmax_c": "temp_air_max",
             "rain_mm": "precipitation"}  # fmt: skip
    columns = {name: _numbers(frame[theirs]) for name, theirs in names.items()}
    return _weather(date, columns, float(meta.get("altitude", np.nan)))


def _numbers(column: pd.Series[Any]) -> np.ndarray:
    import pandas as pd

    return pd.to_numeric(column, errors="coerce").to_numpy(dtype=np.float64)


def _weather(
    date: np.ndarray, columns: Mapping[str, np.ndarray], elevation_m: float
) -> DailyWeather:
    """Days from columns, without days whose minimum is over the maximum."""
    values = {name: np.full(len(date), np.nan) for name in QUANTITIES} | dict(columns)
    swapped = values["tmin_c"] > values["tmax_c"]
    for name in ("tmin_c", "tmax_c"):
        values[name] = np.where(swapped, np.nan, values[name])
    values["dew_point_c"] = np.minimum(values["dew_point_c"], values["tmax_c"])
    order = np.argsort(date)
    return DailyWeather(
        "", date[order], **{name: column[order] for name, column in values.items()},
        rain_of_months_mm=np.full(12, np.nan), elevation_m=elevation_m,
    )  # fmt: skip
