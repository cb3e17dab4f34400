"""Weather from a service as a file of the site, and what to do with it."""

from __future__ import annotations

import numpy as np

from scheduler.demand.et0.equations import wind_at_2_m
from scheduler.inputs.weather.daily import QUANTITIES
from scheduler.inputs.weather.services import Fetched
from scheduler.report.words.books import fetched as words


def fetched_file(fetched: Fetched, today: str) -> str:
    """Daily CSV of weather from a service, its first lines saying whose it is.

    Wind is brought to 2 m, the height that a daily file is taken to be at.
    """
    weather = fetched.weather
    lines = [*fetched.heading, words.fetched(today)]
    names = [name for name in QUANTITIES if weather.has(name)]
    columns = {name: getattr(weather, name) for name in names}
    if "wind_m_s" in columns and np.isfinite(weather.wind_height_m):
        columns["wind_m_s"] = wind_at_2_m(columns["wind_m_s"], weather.wind_height_m)
        lines.append(words.wind_brought(weather.wind_height_m))
    if "rain_mm" not in columns:
        lines.append(words.NO_RAIN)
    texts = [
        ["" if np.isnan(value) else f"{value:.2f}" for value in columns[name]]
        for name in names
    ]
    rows = zip((str(day) for day in weather.date), *texts, strict=True)
    text = [f"# {line}" for line in lines]
    text += [",".join(["date", *names]), *(",".join(row) for row in rows)]
    return "\n".join(text) + "\n"


def fetched_text(fetched: Fetched, path: str, name: str, settings: str) -> str:
    """What was written, and what to do with it; `settings` is where it is named."""
    weather = fetched.weather
    return words.written(path, len(weather), fetched.heading[-1]) + words.to_write(
        settings, name, weather.has("rain_mm")
    )
