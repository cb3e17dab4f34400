"""Weather from a service, in words: its file's first lines, and what to do with it."""

from __future__ import annotations

NO_RAIN = "No rain: name a monthly CSV with it as rain_file, by [climate]"


def fetched(today: str) -> str:
    """When it was fetched."""
    return f"Fetched: {today}"


def wind_brought(height_m: float) -> str:
    """From which height the wind was brought down."""
    return f"Wind brought from {height_m:g} m to 2 m (FAO56)"


def written(path: str, days: int, terms: str) -> str:
    """What was written, and on what terms it may be used."""
    return f"{path}: {days:,} days written. {terms}\n"


def to_write(settings: str, name: str, has_rain: bool) -> str:
    """What to write into the site's settings."""
    rain = "" if has_rain else ', and rain_file = "…" for the rain'
    return f'In {settings}, under [climate], write: file = "{name}"{rain}\n'
