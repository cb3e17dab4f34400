"""The handbook's titles, headings and closing words."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.calendar import MONTHS
from scheduler.report.frames import Headings

FIELDS = Headings(
    {
        "file": "file",
        "table": "table",
        "names": "names",
        "help": "help",
        "takes": "takes",
        "blank": "blank",
    }
)
FIELDS_TITLE = "Fields of the files"
FIELDS_CLOSING = (
    "A name with a unit is listed once for each unit: write the one that you "
    "measured in. Blank takes what is said there, and the output tells of it."
)
ABOVE_TABLES = "above the first table"
TEXT, NAME_OF_TABLE, NEEDED = "text", "a name of the table", "needed"
SHEET_CLIMATE = "the sheet climate"

PLANTS = Headings(
    {
        "plant": "plant",
        "coefficient": "coefficient",
        **{f"coefficient_{month}": month for month in MONTHS},
        "root_depth": "root\ndepth",
        "depletion": "depletion",
        "gap_days": "gap\ndays",
        "longest_gap_days": "longest gap\ndays",
        "shortest_gap_days": "shortest gap\ndays",
        "salt_threshold_ds_m": "salt threshold\ndS/m",
        "status": "values",
        "source": "source",
    }
)
PLANTS_TITLE = "Plants"
PLANTS_CLOSING = (
    "Coefficients are of ET0, in northern months; a gap is the longest time without "
    "water, with the shortest before it where there is one. Values are read in their "
    "source, second-hand, or from memory; --format csv names the sources. Rows of your "
    "own go into plants.csv."
)

_SOILS = {
    "soil": "soil",
    "available_water": "available\nwater",
    "intake": "intake",
    "status": "values",
    "source": "source",
}
SOILS_TITLE = "Soils"
SOILS_CLOSING = (
    "Available water is what a depth of soil holds for plants. Intake is how fast "
    "water goes into ground that is already wet. Below each slope stands how deep "
    "water may stand before it runs off. Values are read in their source, "
    "second-hand, or from memory; --format csv names the sources. Rows of your own "
    "go into soils.csv."
)

METHOD = Headings(
    {"section": "section", "name": "name", "text": "text", "source": "source"}
)
METHOD_TITLE, RULES = "The method", "Rules"
METHOD_CLOSING = (
    "In US units depths are inches, rates inches an hour, flows gallons a "
    "minute, areas square feet, volumes gallons; in metric units mm, mm/h, L/min, "
    "m² and L. Second-hand: read in a text that quotes the source. From memory: "
    "not looked up yet. DEVELOPERS.md lists the sources in full; explain prints "
    "these lines with the numbers of a zone."
)


def no_file(quoted: str) -> str:
    """A file that a site does not have."""
    return f"{quoted} is not a file of a site"


def field_told(help_: str, takes: str, blank: str | None) -> str:
    """What a field is, takes ("" for any text), and is where blank; None if needed."""
    told = f"; {takes}" if takes else ""
    return f"{help_}{told}; {NEEDED if blank is None else f'blank: {blank}'}"


def soils(slopes: Sequence[str], limits: Sequence[str]) -> Headings:
    """Headings of soils, with the names of the classes of slope by their limits."""
    told = [*(f"up to {limit} %" for limit in limits), f"over {limits[-1]} %"]
    by_slope = {name: f"slope\n{text}" for name, text in zip(slopes, told, strict=True)}
    return Headings({**_SOILS, **by_slope})
