"""Weather of a point on the map from keyless services: the one place with a network.

All are asked here and not through pvlib, whose functions follow an answer wherever it
leads and read it however long it is. pvlib reads the typical year of PVGIS.
"""

from __future__ import annotations

import contextlib
import datetime
import io
import json
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from scheduler.errors import InputError, Problem
from scheduler.inputs.forms.csvfiles import LARGEST_BYTES
from scheduler.inputs.weather.daily import QUANTITIES, DailyWeather
from scheduler.inputs.weather.hourly import days_of_hours, pvgis_hours
from scheduler.units import M_PER_FT

if TYPE_CHECKING:
    import requests

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
LONGEST_ANSWER_S = 600.0
"""An answer that trickles in passes every time-out; after this it is given up."""
TRIES = 3
FIRST_WAIT_S = 2.0
_BUSY = (429, 500, 502, 503, 504)

_POWER = {
    "T2M_MIN": ("tmin_c", "C"), "T2M_MAX": ("tmax_c", "C"),
    "T2MDEW": ("dew_point_c", "C"), "WS2M": ("wind_m_s", "m/s"),
    "ALLSKY_SFC_SW_DWN": ("solar_mj_m2_day", "MJ/m^2/day"),
    "PRECTOTCORR": ("rain_mm", "mm/day"),
}  # fmt: skip
_ACIS = (("pcpn", "rain_mm", "mm"), ("maxt", "tmax_c", "degreeC"),
         ("mint", "tmin_c", "degreeC"))  # fmt: skip
_ACIS_MISSING = -999.0


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


@contextlib.contextmanager
def _known_form() -> Iterator[None]:
    """Taking an answer apart: what goes wrong in here alone is the service's doing."""
    try:
        yield
    except (ValueError, LookupError, TypeError, AttributeError) as error:
        raise _ChangedError from error


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
        except _ChangedError as error:
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


def _answer(url: str, asked: Mapping[str, Any], *, post: bool = False) -> Any:
    """JSON that a service gives; bounded in length and time, and from there alone."""
    import requests

    ask: dict[str, Any] = {"json" if post else "params": dict(asked)}
    with requests.request(
        "POST" if post else "GET", url, timeout=TIMEOUT_S, stream=True,
        allow_redirects=False, **ask,
    ) as response:  # fmt: skip
        if response.is_redirect:
            raise _ChangedError("sends elsewhere")
        content = _bounded(response)
        if not response.ok:
            with contextlib.suppress(ValueError, LookupError, TypeError):
                if response.status_code not in _BUSY:
                    raise requests.HTTPError(str(json.loads(content)["message"]))
            response.raise_for_status()
    with _known_form():
        return json.loads(content)


def _bounded(response: requests.Response) -> bytes:
    import requests

    end = time.monotonic() + LONGEST_ANSWER_S
    content = bytearray()
    for part in response.iter_content(65536):
        content += part
        if len(content) > LARGEST_BYTES:
            raise _ChangedError("longer than any answer")
        if time.monotonic() > end:
            raise requests.Timeout("an answer that does not end")
    return bytes(content)


def _nasa_power(asked: Request, url: str) -> DailyWeather:
    """Days by local solar time, with the units that the answer itself states."""
    answer = _answer(
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
    with _known_form():
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
        elevation_m = float(answer["geometry"]["coordinates"][2])
    return _weather(date, columns, elevation_m)


def _pvgis(asked: Request, url: str) -> DailyWeather:
    """Days of the typical year; PVGIS has no rain."""
    from pvlib.iotools import read_pvgis_tmy

    answer = _answer(
        f"{url}tmy",
        {"lat": asked.latitude_deg, "lon": asked.longitude_deg, "outputformat": "json"},
    )
    with _known_form():
        text = io.StringIO(json.dumps(answer))
        frame, meta = read_pvgis_tmy(text, pvgis_format="json", map_variables=True)
        elevation_m = float(meta["inputs"]["location"]["elevation"])
    hours = pvgis_hours(frame, asked.latitude_deg, asked.longitude_deg, elevation_m)
    problems: list[Problem] = []
    weather = days_of_hours(hours, NAMES["pvgis"], problems)
    if weather is None:
        raise _ChangedError("no whole year")
    return weather


def _acis(asked: Request, url: str) -> DailyWeather:
    """Temperatures and rain of an interpolated grid of the United States."""
    import requests

    elements = [
        {"name": theirs, "interval": "dly", "units": unit}
        for theirs, _, unit in _ACIS
    ]  # fmt: skip
    answer = _answer(
        url,
        {
            "loc": f"{asked.longitude_deg},{asked.latitude_deg}",
            "grid": 1,
            "sdate": f"{asked.first_year}-01-01",
            "edate": f"{asked.last_year}-12-31",
            "elems": elements,
            "meta": ["ll", "elev"],
            "output": "json",
        },
        post=True,
    )
    # It sends refusals as good answers.
    if isinstance(answer, dict) and "error" in answer:
        raise requests.HTTPError(str(answer["error"]))
    with _known_form():
        rows = answer["data"]
        if any(len(row) != 1 + len(_ACIS) for row in rows):
            raise _ChangedError("columns")
        date = np.array([row[0] for row in rows], "datetime64[D]")
        values = np.array([[_number(cell) for cell in row[1:]] for row in rows])
        values = np.where(values == _ACIS_MISSING, np.nan, values)
        elevation_m = M_PER_FT * float(answer["meta"].get("elev", np.nan))
    columns = {name: values[:, i] for i, (_, name, _) in enumerate(_ACIS)}
    return _weather(date, columns, elevation_m)


def _number(cell: Any) -> float:
    """Number of a cell; NaN for a letter that stands for a missing one."""
    try:
        return float(cell)
    except ValueError:
        return float("nan")


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
