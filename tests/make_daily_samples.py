"""Makes the two daily climate samples, to the byte: python tests/make_daily_samples.py

Both stations are invented. A first-order chain of wet and dry days carries the rest:
clouds, the daily range, and the damp. Mean temperatures swing about the month's mean
from day to day (a lag-one memory of 0.7) and from year to year; years differ in rain,
so that there are dry ones. Only `random.Random.random` is drawn from, whose sequence
Python promises to keep for a seed; everything else is arithmetic written out here.
"""

from __future__ import annotations

import datetime
import math
import random
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

FOLDER = Path(__file__).parents[1] / "climate_samples"
FIRST, LAST = datetime.date(2011, 1, 1), datetime.date(2020, 12, 31)
MEMORY = 0.7
# Shape of the rain of a wet day: many small, few large (a Weibull of exponent 1/1.3).
RAIN_SPREAD = 1.3


@dataclass(frozen=True)
class Station:
    """Monthly means of a station, January first, and how it writes them."""

    file: str
    seed: int
    heading: tuple[str, ...]
    latitude_deg: float
    elevation_m: float
    tmin_c: tuple[float, ...]
    tmax_c: tuple[float, ...]
    rain_mm: tuple[float, ...]
    wet_days: tuple[float, ...]
    wind_m_s: tuple[float, ...]
    dry_depression_c: tuple[float, ...]
    clear_dry: tuple[float, ...]
    us: bool


DRY = Station(
    "dry_summer_valley_daily.csv", 20111,
    ("Invented station, not a real place.",
     "Climate: Dry-summer valley, inland: hot, rainless summers; mild, wet winters.",
     "Ten invented years of days, made by tests/make_daily_samples.py.",
     "Units: degrees F, miles an hour, MJ/m2 a day, inches a day.",
     "Wind measured at 2 m above the ground."),
    38.5, 20.0,
    (2.9, 4.4, 6.1, 8.3, 11.5, 14.5, 16.0, 15.5, 13.4, 9.6, 5.5, 2.8),
    (12.0, 15.5, 18.8, 22.8, 27.6, 32.0, 34.9, 34.3, 31.2, 25.1, 17.6, 12.1),
    (78, 71, 57, 27, 11, 2.5, 0.3, 0.5, 5, 22, 41, 69),
    (10, 9, 8.5, 5, 2.5, 0.8, 0.15, 0.25, 1.2, 3, 6.5, 9),
    (1.9, 2.1, 2.3, 2.4, 2.5, 2.5, 2.3, 2.2, 2.0, 1.8, 1.7, 1.8),
    (0.4, 0.8, 1.3, 2.0, 2.6, 3.0, 3.2, 3.0, 2.6, 1.8, 0.9, 0.4),
    (0.78, 0.85, 0.89, 0.92, 0.94, 0.96, 0.97, 0.96, 0.95, 0.92, 0.84, 0.76),
    True,
)  # fmt: skip

HUMID = Station(
    "humid_subtropical_coast_daily.csv", 20112,
    ("Invented station, not a real place.",
     "Climate: Humid subtropical coast: hot, wet summers; mild winters with frosts.",
     "Ten invented years of days, made by tests/make_daily_samples.py.",
     "Units: degrees C, percent, m/s, hours of sunshine, mm a day.",
     "Wind measured at 2 m above the ground."),
    31.0, 10.0,
    (4.0, 5.5, 9.0, 13.0, 17.5, 21.5, 23.0, 22.8, 20.5, 14.5, 8.8, 5.2),
    (15.5, 17.5, 21.5, 25.3, 29.0, 31.7, 32.6, 32.4, 30.4, 26.0, 20.9, 16.8),
    (115, 105, 120, 95, 110, 160, 180, 165, 130, 80, 95, 110),
    (9.5, 9, 9, 7, 8, 12, 14.5, 13.5, 9.5, 6, 7.5, 9.5),
    (2.6, 2.8, 2.9, 2.7, 2.3, 2.0, 1.8, 1.7, 2.0, 2.1, 2.3, 2.5),
    (0.9, 1.0, 1.0, 0.9, 0.7, 0.5, 0.4, 0.4, 0.6, 0.9, 0.9, 0.9),
    (0.82, 0.83, 0.85, 0.88, 0.88, 0.87, 0.85, 0.85, 0.86, 0.89, 0.86, 0.82),
    False,
)  # fmt: skip


def main() -> None:
    for station in (DRY, HUMID):
        (FOLDER / station.file).write_bytes(content(station).encode("utf-8"))


def content(station: Station) -> str:
    """The whole file."""
    lines = [f"# {line}" for line in station.heading]
    lines += [f"# latitude = {station.latitude_deg:g}",
              f"# elevation_m = {station.elevation_m:g}"]  # fmt: skip
    if station.us:
        lines.append("date,tmin_f,tmax_f,dew_point_f,wind_mph,solar_mj_m2_day,rain_in")
    else:
        lines.append("date,tmin_c,tmax_c,humidity_percent,wind_m_s,sunshine_h,rain_mm")
    lines += days(station)
    return "\n".join(lines) + "\n"


def days(station: Station) -> Iterator[str]:
    """A row for each day."""
    chance = random.Random(station.seed)
    day, wet, swing = FIRST, False, 0.0
    rain_of_year = warmth_of_year = 0.0
    while day <= LAST:
        if (day.month, day.day) == (1, 1):
            rain_of_year = math.exp(0.30 * normal(chance) - 0.045)
            warmth_of_year = 0.6 * normal(chance)
        wet = falls(station, chance, day, wet)
        rain = depth(station, chance, day) * rain_of_year if wet else 0.0
        swing = MEMORY * swing + math.sqrt(1 - MEMORY**2) * normal(chance)
        yield written(station, chance, day, rain, warmth_of_year, swing)
        day += datetime.timedelta(days=1)


def falls(
    station: Station, chance: random.Random, day: datetime.date, was_wet: bool
) -> bool:
    """Whether it rains: likelier after a wet day, so often in the month as it should.

    With w the share of wet days and r the excess after a wet day, wet days follow each
    other with w + r (1 - w) and dry ones end with w (1 - r): the share stays w.
    """
    share, excess = of_month(station.wet_days, day) / 30.4, 0.35
    likely = share + excess * (1 - share) if was_wet else share * (1 - excess)
    return chance.random() < likely


def depth(station: Station, chance: random.Random, day: datetime.date) -> float:
    """Rain of a wet day, with the month's mean."""
    mean = of_month(station.rain_mm, day) / of_month(station.wet_days, day)
    drawn = (-math.log(1 - chance.random())) ** RAIN_SPREAD
    return mean * drawn / math.gamma(1 + RAIN_SPREAD)


def written(
    station: Station,
    chance: random.Random,
    day: datetime.date,
    rain_mm: float,
    warmth_of_year: float,
    swing: float,
) -> str:
    """The day's row."""
    wet = rain_mm > 0.1
    tmin, tmax = of_month(station.tmin_c, day), of_month(station.tmax_c, day)
    middle = (tmin + tmax) / 2 + warmth_of_year + 2.7 * swing - (0.6 if wet else 0)
    usual = (tmax - tmin) * (0.72 if wet else 1.05)
    span = max(usual * (1 + 0.16 * normal(chance)), 2.0)
    low, high = middle - span / 2, middle + span / 2
    depression = 0.1 if wet else of_month(station.dry_depression_c, day)
    dew = min(low - depression + 0.8 * normal(chance), low + 0.8)
    wind = of_month(station.wind_m_s, day) * math.exp(0.35 * normal(chance) - 0.06)
    clearness = of_month(station.clear_dry, day) + 0.07 * normal(chance)
    if wet:
        clearness *= 0.40 + 0.45 * chance.random()
    clearness = min(max(clearness, 0.20), 1.0)
    outer, daylight = sun(station.latitude_deg, day)
    solar = clearness * (0.75 + 2e-5 * station.elevation_m) * outer
    if station.us:
        cells = (f"{fahrenheit(low):.0f}", f"{fahrenheit(high):.0f}",
                 f"{fahrenheit(dew):.0f}", f"{wind / 0.44704:.1f}", f"{solar:.1f}",
                 f"{rain_mm / 25.4:.2f}")  # fmt: skip
    else:
        # Sunshine from FAO-56, eq. 35: Rs = (0.25 + 0.50 n/N) Ra.
        sunshine = min(max((solar / outer - 0.25) / 0.5, 0.0), 1.0) * daylight
        humidity = 100 * vapor(dew) * 2 / (vapor(low) + vapor(high))
        cells = (f"{low:.1f}", f"{high:.1f}", f"{min(humidity, 100):.0f}",
                 f"{wind:.1f}", f"{sunshine:.1f}", f"{rain_mm:.1f}")  # fmt: skip
    return ",".join((day.isoformat(), *cells))


def of_month(values: tuple[float, ...], day: datetime.date) -> float:
    """Value of a day, on straight lines between the middles of the months."""
    place = (day.timetuple().tm_yday - 0.5) / 365.25 * 12 - 0.5
    before = math.floor(place)
    share = place - before
    return values[before % 12] * (1 - share) + values[(before + 1) % 12] * share


def normal(chance: random.Random) -> float:
    """A standard normal number, by Box and Muller."""
    radius = math.sqrt(-2 * math.log(1 - chance.random()))
    return radius * math.cos(2 * math.pi * chance.random())


def sun(latitude_deg: float, day: datetime.date) -> tuple[float, float]:
    """Extraterrestrial radiation in MJ/m2 and daylight in hours: FAO-56, ch. 3."""
    angle = 2 * math.pi / 365 * day.timetuple().tm_yday
    latitude, tilt = math.radians(latitude_deg), 0.409 * math.sin(angle - 1.39)
    sunset = math.acos(-math.tan(latitude) * math.tan(tilt))
    height = sunset * math.sin(latitude) * math.sin(tilt)
    height += math.cos(latitude) * math.cos(tilt) * math.sin(sunset)
    outer = 24 * 60 / math.pi * 0.0820 * (1 + 0.033 * math.cos(angle)) * height
    return outer, 24 / math.pi * sunset


def vapor(temperature_c: float) -> float:
    """Saturation vapor pressure in kPa: FAO-56, eq. 11."""
    return 0.6108 * math.exp(17.27 * temperature_c / (temperature_c + 237.3))


def fahrenheit(temperature_c: float) -> float:
    return temperature_c * 1.8 + 32


if __name__ == "__main__":
    main()
