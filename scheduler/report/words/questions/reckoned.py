"""How settings with less water are reckoned, in sentences."""

from __future__ import annotations

from scheduler.budget.less.less import Less
from scheduler.report import shown
from scheduler.report.words.replay import PLAYED_WATER

LOOKS = (
    "Then turf dulls, folds its blades and keeps footprints; it browns later, and "
    "dormant turf greens up with water (common practice)."
)
CARD_ASKS = (
    " Where a controller cannot hold every setting, the card asks for more to be given "
    "up, and says what it comes to."
)
DAYS_IN_COMMON = (
    "Days are the same for the whole site: of those that the windows permit, the most "
    "even; a window of odd or even dates keeps to them. Other days are a stage of "
    'stages.toml: a [[stage]] with name = "two days"; below it a [[stage.window]] with '
    'head_kinds = ["drip", "bubbler"] for what the rule leaves free, and one with '
    'days = ["mon", "thu"] for the rest.'
)


def _counted(found: Less, units: str) -> str:
    """What the table comes to in its own count, and why a card's is another again."""
    played, table = (
        shown.quantity(litres, "volume", units)
        for litres in (float(found.before_l.sum()), found.table_l)
    )
    whole = ""
    if found.before.site.controller.rain_shutoff_mm is not None:
        whole = ", with the days that the rain shut-off holds back"
    return (
        f"The table's {played} here are {table} there, on the card and on the sheet"
        f"{whole}. A card holds the zones' settings in a few programs, so that what is "
        "keyed in comes to another sum again, and the card says to which."
    )


def notes(found: Less, key_in: str, in_common: bool, units: str) -> list[str]:
    """How it is reckoned, and what to run for the card; see `on_card`."""
    most = (
        "Days are other than the table's: each watering has to last until the next "
        "permitted day, so a zone may get more water in a month than before."
        if found.days_taken
        else "No zone gets more water in a month than the table gives it; a watering "
        "stays one that reaches the roots."
    )
    return [
        "Water is what the valves deliver in a mean of the years played, days that a "
        "rain shut-off holds back left out. Plants go short on a dry day: the ground "
        "ends it drier than they stand well. The quarter of a zone that gets least "
        "water is not counted. "
        f"{LOOKS}",
        f"{PLAYED_WATER} {_counted(found, units)}",
        "A dry day counts by its ground, by the ET0 of its month, by how much of that "
        "month is dry (one after the other hurts far more than one now and then), and "
        "by what the plant stands (tolerance of the table of plants: lawns by their "
        "trials with less water, trees before lawns, and vegetables give up last); "
        "keep in zones.csv, first or last, goes before that. So there may be more dry "
        "days than by budget's tenth less in summer, but in mild months and apart.",
        "Most is given up where the water spares fewest such days: by heads that water "
        "unevenly, in ground that holds little, and by plants that stand drought.",
        most,
        *([DAYS_IN_COMMON] if in_common else []),
        f"What to key in: {key_in} (sheet takes the same options)."
        + ("" if found.target_l is None else CARD_ASKS),
    ]
