"""Daily ET0 and reading daily weather: python tests/bench/daily_et0.py

ET0 of 100 stations by 30 years of days on one core: this package, refet its best way,
ETo and one plain numpy expression, in turn on the same numbers. Then a site that plans
from ten years of daily CSV, against reading that file with pandas plus the plain table.
"""

from __future__ import annotations

import os

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import refet
from eto import ETo

from scheduler.demand.et0 import daily
from scheduler.demand.et0 import equations as et0

ROOT = Path(__file__).parents[2]
STATIONS, REPEATS = 100, 7
DATES = np.arange("1990-01-01", "2020-01-01", dtype="datetime64[D]")
DAY_OF_YEAR = (DATES - DATES.astype("datetime64[Y]")).astype(int) + 1


class Weather:
    """Random days of stations, seeded; (station, day), possible in nature."""

    def __init__(self) -> None:
        draw = np.random.default_rng(30)
        shape = STATIONS, len(DATES)
        self.latitude = draw.uniform(-55, 55, STATIONS)
        self.elevation = draw.uniform(0, 2000, STATIONS)
        self.tmin = draw.uniform(-10, 22, shape)
        self.tmax = self.tmin + draw.uniform(3, 18, shape)
        self.vapor = 0.6108 * np.exp(17.27 * self.tmin / (self.tmin + 237.3))
        self.vapor *= draw.uniform(0.5, 1, shape)
        self.wind = draw.uniform(0.5, 6, shape)
        self.outer = daily.extraterrestrial_radiation_of_days(
            self.latitude, DAY_OF_YEAR
        )
        self.solar = self.outer * draw.uniform(0.2, 0.75, shape)

    def ours(self) -> np.ndarray:
        outer = daily.extraterrestrial_radiation_of_days(self.latitude, DAY_OF_YEAR)
        wind = et0.wind_at_2_m(self.wind, 2.0)
        return daily.et0_penman_monteith_of_days(
            self.tmin, self.tmax, self.vapor, wind, self.solar, outer, self.elevation
        )

    def by_refet(self) -> np.ndarray:
        """Broadcast arrays: the fastest of its ways that was found."""
        return refet.Daily(
            tmin=self.tmin, tmax=self.tmax, ea=self.vapor, rs=self.solar,
            uz=self.wind, zw=2.0, elev=self.elevation[:, None],
            lat=self.latitude[:, None], doy=DAY_OF_YEAR[None, :], method="asce",
        ).eto()  # fmt: skip

    def by_eto(self) -> np.ndarray:
        """A loop over stations: it takes one at a time."""
        return np.stack(
            [
                ETo(
                    {"T_min": self.tmin[k], "T_max": self.tmax[k],
                     "e_a": self.vapor[k], "R_s": self.solar[k], "U_z": self.wind[k]},
                    freq="D", z_msl=self.elevation[k], lat=self.latitude[k],
                    z_u=2.0, day_of_year=DAY_OF_YEAR,
                ).eto_fao(max_ETo=None, min_ETo=None, decimals=None)
                for k in range(STATIONS)
            ]
        )  # fmt: skip

    def plain(self) -> np.ndarray:
        """FAO-56 written down once over the whole arrays."""
        angle = 2 * np.pi / 365 * DAY_OF_YEAR
        tilt, phi = 0.409 * np.sin(angle - 1.39), np.radians(self.latitude)[:, None]
        set_ = np.arccos(np.clip(-np.tan(phi) * np.tan(tilt), -1, 1))
        height = set_ * np.sin(phi) * np.sin(tilt)
        height = height + np.cos(phi) * np.cos(tilt) * np.sin(set_)
        outer = 37.58603 * (1 + 0.033 * np.cos(angle)) * height
        z = self.elevation[:, None]
        gamma = 0.665e-3 * 101.3 * ((293 - 0.0065 * z) / 293) ** 5.26
        mean = (self.tmin + self.tmax) / 2

        def e0(t: np.ndarray) -> np.ndarray:
            return 0.6108 * np.exp(17.27 * t / (t + 237.3))

        slope = 4098 * e0(mean) / (mean + 237.3) ** 2
        deficit = (e0(self.tmin) + e0(self.tmax)) / 2 - self.vapor
        clear = np.clip(self.solar / ((0.75 + 2e-5 * z) * outer), 0.3, 1)
        lost = 4.903e-9 / 2 * ((self.tmax + 273.16) ** 4 + (self.tmin + 273.16) ** 4)
        lost = lost * (0.34 - 0.14 * np.sqrt(self.vapor)) * (1.35 * clear - 0.35)
        wind = np.maximum(self.wind * 4.87 / np.log(67.8 * 2 - 5.42), 0.5)
        top = 0.408 * slope * (0.77 * self.solar - lost)
        top = top + gamma * 900 / (mean + 273) * wind * deficit
        return np.maximum(top / (slope + gamma * (1 + 0.34 * wind)), 0)


def seconds(work: Callable[[], object], repeats: int = REPEATS) -> list[float]:
    """Time of each run, sorted."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return sorted(times)


def main() -> None:
    """Print a line for each way, and the two ratios."""
    weather = Weather()
    ways = {
        "this package": weather.ours,
        "refet, broadcast": weather.by_refet,
        "plain numpy": weather.plain,
        "ETo, by station": weather.by_eto,
    }
    base = weather.ours()
    # In turn, so that what else the machine does falls on all of them.
    turns = [{name: seconds(way, 1)[0] for name, way in ways.items()} for _ in range(9)]
    for name, way in ways.items():
        apart = np.abs(np.maximum(way(), 0) - base).max()
        times = sorted(turn[name] for turn in turns)
        middle = statistics.median(times)
        print(
            f"{name:17} best {1e3 * times[0]:6.1f} ms, median {1e3 * middle:6.1f} ms, "
            f"{base.size / middle / 1e6:5.1f} M days/s, apart {apart:.4f} mm"
        )
    ratios = [turn["refet, broadcast"] / turn["this package"] for turn in turns]
    ratio = statistics.median(ratios)
    print(f"refet over this package: {ratio:.1f} (aim: 2 or more)")
    _reading()


def _reading() -> None:
    """Whole processes, as people run them: interpreter, imports and all."""
    sample = ROOT / "climate_samples" / "dry_summer_valley_daily.csv"
    with tempfile.TemporaryDirectory() as folder:
        shutil.copytree(ROOT / "climate_samples", Path(folder) / "climate_samples")
        for name in ("plain", "daily"):
            place = Path(folder) / "examples" / name
            shutil.copytree(ROOT / "examples" / "home", place)
        toml = place / "site.toml"
        text = toml.read_text(encoding="utf-8")
        toml.write_text(text.replace("valley.csv", "valley_daily.csv"), "utf-8")
        sites = Path(folder) / "examples"
        code = f"import pandas; pandas.read_csv({str(sample)!r}, comment='#')"
        table = [sys.executable, "-m", "scheduler", "table"]
        read = _process([sys.executable, "-c", code])
        plain = _process([*table, str(sites / "plain")])
        from_days = _process([*table, str(sites / "daily")])
    print(
        f"read_csv {1e3 * read:.0f} ms + plain table {1e3 * plain:.0f} ms; table from "
        f"ten years of days {1e3 * from_days:.0f} ms: "
        f"{from_days / (read + plain):.2f} of the sum (aim: under 2)"
    )


def _process(command: list[str]) -> float:
    def run() -> None:
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)

    return statistics.median(seconds(run))


if __name__ == "__main__":
    main()
