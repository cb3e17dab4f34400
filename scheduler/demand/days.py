"""Reference ET of every day of a weather file, by the best method the day allows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.demand import daily, et0, radiation, sun, vapor
from scheduler.inputs.weather.daily import DailyWeather

WIND_WHERE_UNKNOWN_M_S = 2.0
"""Mean of about 2,000 stations (FAO56, p. 63)."""

# A degree of latitude is 111 km: farther off, the weather is another (our choice).
FAR_DEG = 1.0

GIVEN = "given"
HARGREAVES = "Hargreaves-Samani, from temperatures alone"
PENMAN_MONTEITH = "FAO-56 Penman-Monteith"

# A sum of what a gauge may err and the simple declination misses (our choice): more
# than this share of Ra at the ground is another unit or another place.
MOST_OF_OUTER = 1.05


@dataclass(frozen=True, slots=True, eq=False)
class ReferenceDays:
    """ET0 of each day of a weather file, NaN where it cannot be known.

    `assumptions` are sentences about what the method had to take for granted.
    """

    weather: DailyWeather
    et0_mm: np.ndarray
    method: str
    assumptions: tuple[str, ...]


def reference_days(
    weather: DailyWeather, latitude_deg: float, elevation_m: float, wind_height_m: float
) -> ReferenceDays:
    """ET0 of every day: given, or by Penman-Monteith, or from temperatures alone."""
    assumptions: list[str] = list(weather.notes)
    if abs(weather.latitude_deg - latitude_deg) > FAR_DEG:
        assumptions.append(
            f"the weather file is of latitude {weather.latitude_deg:.1f}, the place of "
            f"{latitude_deg:.1f}"
        )
    known = np.isfinite(weather.et0_mm)
    values = weather.et0_mm.copy()
    temperatures = np.isfinite(weather.tmin_c) & np.isfinite(weather.tmax_c)
    open_ = ~known & temperatures
    method = GIVEN if known.any() else ""
    if open_.any():
        part = _Part(weather, open_, latitude_deg, elevation_m, wind_height_m)
        if _only_temperatures(weather):
            computed = HARGREAVES
            values[open_] = et0.et0_hargreaves(part.tmin_c, part.tmax_c, part.outer)
        else:
            computed = f"{PENMAN_MONTEITH}, daily"
            values[open_] = part.penman_monteith()
            assumptions += part.assumptions
        if known.any():
            assumptions.append(
                f"ET0 is given on {_days(known)} and computed on {_days(open_)} "
                f"({computed})"
            )
        method = method or computed
    return ReferenceDays(weather, values, method, tuple(assumptions))


def _only_temperatures(weather: DailyWeather) -> bool:
    others = ("dew_point_c", "humidity_percent", "wind_m_s", "solar_mj_m2_day",
              "sunshine_h")  # fmt: skip
    return not any(weather.has(name) for name in others)


def _days(marks: np.ndarray) -> str:
    count = int(np.count_nonzero(marks))
    return "1 day" if count == 1 else f"{count:,} days"


class _Part:
    """Days whose ET0 is to be computed, with what has to be assumed on the way."""

    def __init__(
        self,
        weather: DailyWeather,
        days: np.ndarray,
        latitude_deg: float,
        elevation_m: float,
        wind_height_m: float,
    ) -> None:
        self.weather, self.days = weather, days
        self.latitude_deg, self.elevation_m = latitude_deg, elevation_m
        self.wind_height_m = wind_height_m
        self.assumptions: list[str] = []
        self.tmin_c, self.tmax_c = weather.tmin_c[days], weather.tmax_c[days]
        self.day_of_year = weather.day_of_year[days]
        self.outer = daily.extraterrestrial_radiation_of_days(
            latitude_deg, self.day_of_year
        )

    def penman_monteith(self) -> np.ndarray:
        return daily.et0_penman_monteith_of_days(
            self.tmin_c,
            self.tmax_c,
            self._vapor_pressure(),
            self._wind(),
            self._solar_radiation(),
            self.outer,
            self.elevation_m,
        )

    def _column(self, name: str) -> np.ndarray:
        values: np.ndarray = getattr(self.weather, name)[self.days]
        return values

    def _say(self, wanting: np.ndarray, what: str, instead: str) -> None:
        """Tell what was taken instead, and on how many days if not on all."""
        if wanting.all():
            self.assumptions.append(f"no {what}: {instead}")
        elif wanting.any():
            self.assumptions.append(f"no {what} on {_days(wanting)}: {instead}")

    def _vapor_pressure(self) -> np.ndarray:
        dew, humidity = self._column("dew_point_c"), self._column("humidity_percent")
        values = vapor.vapor_pressure_from_dew_point(dew)
        from_humidity = vapor.vapor_pressure_from_mean_humidity(
            self.tmin_c, self.tmax_c, humidity
        )
        values = np.where(np.isnan(values), from_humidity, values)
        wanting = np.isnan(values)
        self._say(
            wanting, "humidity",
            "the dew point is taken as the minimum temperature (FAO56, eq. 48, p. 58); "
            "in dry country that makes ET0 a little low",
        )  # fmt: skip
        at_tmin = vapor.vapor_pressure_from_minimum_temperature(self.tmin_c)
        return np.where(wanting, at_tmin, values)

    def _wind(self) -> np.ndarray:
        wind = self._column("wind_m_s")
        wanting = np.isnan(wind)
        if not self.weather.has("wind_m_s"):
            self._say(wanting, "wind", "2 m/s all year (FAO56, p. 63)")
            return np.full(len(wind), WIND_WHERE_UNKNOWN_M_S)
        if wanting.any():
            self._say(wanting, "wind", "the mean of the month in this file")
            all_days, month = self.weather.wind_m_s, self.weather.month
            there = np.isfinite(all_days)
            count = np.bincount(month[there], minlength=12)
            total = np.bincount(month[there], all_days[there], 12)
            everywhere = float(all_days[there].mean())
            means = np.where(count > 0, total / np.maximum(count, 1), everywhere)
            wind = np.where(wanting, means[month[self.days]], wind)
        return et0.wind_at_2_m(wind, self.wind_height_m)

    def _solar_radiation(self) -> np.ndarray:
        solar = self._column("solar_mj_m2_day")
        over = solar > MOST_OF_OUTER * self.outer + 0.1
        if over.any():
            self.assumptions.append(
                f"solar radiation is more than the sun sends on {_days(over)}: check "
                "its unit, the latitude and the dates"
            )
        sunshine = self._column("sunshine_h")
        daylight = sun.daylight_hours(self.latitude_deg, self.day_of_year)
        long = sunshine > daylight + radiation.SUNSHINE_OVER_DAYLIGHT_H
        if long.any():
            self.assumptions.append(
                f"sunshine above the day's length on {_days(long)} is held to it"
            )
        from_sunshine = radiation.solar_radiation_from_sunshine(
            np.minimum(sunshine, daylight), daylight, self.outer
        )
        solar = np.where(np.isnan(solar), from_sunshine, solar)
        wanting = np.isnan(solar)
        self._say(
            wanting, "radiation or sunshine",
            "from the daily temperature range, 0.16 inland (FAO56, eq. 50, p. 60); "
            "on a coast that makes ET0 a little low",
        )  # fmt: skip
        from_range = np.minimum(
            radiation.solar_radiation_from_temperature(
                self.tmin_c, self.tmax_c, self.outer
            ),
            radiation.clear_sky_radiation(self.outer, self.elevation_m),
        )
        return np.where(wanting, from_range, solar)
