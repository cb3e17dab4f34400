"""What a replay says, in sentences."""

from __future__ import annotations

import numpy as np

from scheduler.balance.years import Years
from scheduler.budget.rain_rules import HandRule, ShutOffSaving
from scheduler.budget.replay import Replay, Replayed
from scheduler.report import shown
from scheduler.report.counting import counted, of_hundred
from scheduler.report.frames import Headings

OF_SITE = Headings({"of": "", "dry": "dry days\nof 100", "water": "water"})
OF_ZONE = Headings(
    {
        **OF_SITE.labels,
        "longest": "longest\ndry run\ndays",
        "irrigation": "irrigation",
        "percolation": "percolation",
        "runoff": "runoff",
        "water": "water\na year",
    }
)
ROWS = Headings(
    {
        "zone": "zone",
        "name": "name",
        "part": "part",
        "of": "watered by",
        "dry_days_percent": "dry days of 100",
        "longest_dry_days": "longest dry run days",
        "worst_year": "worst year",
        "adequacy_percent": "adequacy %",
        "excess_percent": "excess %",
        "irrigation_year": "irrigation",
        "rain_year": "rain",
        "rain_used_year": "rain used",
        "percolation_year": "percolation",
        "runoff_year": "runoff",
        "et_year": "taken up",
        "need_year": "need",
        "water_year": "water",
    }
)
WEEK_BY_WEEK = "Adjusted every week"
ALL_ZONES_SHEET = "All zones"
ALL_ZONES, WHEN_IT_RAINS = "All zones, a year", "When it rains"
WAYS = {
    "table": "this table",
    "card": "the card",
    "today": "today's settings",
    "one-setting": "one setting all year",
    "weekly-adjusted": "this table, adjusted every week",
    "perfect-hand": "a perfect hand",
}
DRY_LIMIT = "limit"
MEAN_DEPLETION = "how dry the root zone is, mean of the ground"
RAIN, WATERING = "rain", "watering"
PICTURE_NOTES = (
    "Line: depletion of the root zone at the end of the day, mean of the ground. "
    "Dashed: what may be used between waterings, and a tenth; past it a day is dry. "
    "Pale (orange): dry days, on which ground ends drier than that; the quarter that "
    "heads water least is left out.",
)


def years_text(years: Years) -> str:
    """How many years stand behind it, and whose they are."""
    if years.invented:
        return f"{len(years)} years of days invented from the climate's months"
    return f"{counted(len(years), 'measured year')}, {years.first} to {years.last}"


def title(site: str) -> str:
    """Heading of the replay."""
    return f"Replay: {site}"


def zone(zone: str, name: str, part: str) -> str:
    """Heading of a zone, or of a part of it; `part` is "" where it is one."""
    title = shown.zone_title(zone, name)
    return f"{title}, {part}" if part else title


def facts(replay: Replay) -> str:
    """What is played, and on what."""
    return (
        f"Each way to water is played through the same years: "
        f"{years_text(replay.stage.years)}."
    )


def said(replay: Replay, units: str, area_m2: np.ndarray) -> list[str]:
    """What the table gains against the others, all zones together."""
    table = replay.way("table")
    return [
        _against(table, other, units, area_m2)
        for other in replay.ways
        if other.of in ("today", "one-setting", "perfect-hand")
    ]


def mean_dry_percent(way: Replayed, area_m2: np.ndarray) -> float:
    """Dry days of a hundred, mean of the zones by their ground."""
    return float(100 * np.average(way.dry_share, weights=area_m2))


def _against(table: Replayed, other: Replayed, units: str, area_m2: np.ndarray) -> str:
    less = float(other.volume_l_year.sum() - table.volume_l_year.sum())
    word = "less" if less >= 0 else "more"
    ours, theirs = (mean_dry_percent(way, area_m2) for way in (table, other))
    return (
        f"The table takes {shown.quantity(abs(less), 'volume', units)} a year {word} "
        f"than {WAYS[other.of]}; plants go short on {of_hundred(ours / 100)} "
        f"against {theirs:.0f}."
    )


def rain_rules(saving: ShutOffSaving, rule: HandRule | None, units: str) -> list[str]:
    """What a rain shut-off saves, and what a rule for the hand would."""
    return [_shut_off(saving, units), _hand(saving, rule, units)]


def weekly(replay: Replay, units: str, area_m2: np.ndarray) -> str:
    """What adjusting the table every week would save."""
    table, adjusted = replay.way("table"), replay.way("weekly-adjusted")
    before, after = (float(way.volume_l_year.sum()) for way in (table, adjusted))
    now, then = (mean_dry_percent(way, area_m2) for way in (table, adjusted))
    less = shown.quantity(abs(before - after), "volume", units)
    share = 100 * abs(before - after) / max(before, 1e-9)
    return (
        f"A percent every week, as `adjust` gives it, would take {less} a year "
        f"{'less' if after <= before else 'more'} than the table as it stands "
        f"({share:.0f} %); plants go short on {of_hundred(then / 100)} in place of "
        f"{now:.0f}."
    )


def _shut_off(saving: ShutOffSaving, units: str) -> str:
    setting = shown.quantity(saving.rain_shutoff_mm, "depth", units)
    saves = shown.quantity(saving.saves_l_year, "volume", units)
    share = saving.saves_l_year / max(float(saving.without_l_year.sum()), 1e-9)
    change = _worst(saving.dry_without, saving.dry_with)
    if saving.on_site:
        return (
            f"The rain shut-off, set to {setting}, saves {saves} a year "
            f"({100 * share:.0f} %); {change}."
        )
    text = (
        f"A rain shut-off set to {setting} would save {saves} a year of this table's "
        f"water ({100 * share:.0f} %), nobody lifting a hand; {change}."
    )
    if saving.planned_l_year is None:
        return text
    planned = shown.quantity(abs(saving.planned_l_year), "volume", units)
    less = "less" if saving.planned_l_year >= 0 else "more"
    return (
        f"{text} A table planned with it, as short on water as may be and no "
        f"more, takes {planned} a year {less} than this one."
    )


def _hand(saving: ShutOffSaving, rule: HandRule | None, units: str) -> str:
    beside = " beside the shut-off" if saving.on_site else ""
    if rule is None:
        return f"No rule by hand saves water{beside} without drying some zone out."
    rain = shown.quantity(rule.rain_mm, "depth", units)
    saves = shown.quantity(rule.saves_l_year, "volume", units)
    return (
        f"By hand{beside}: after {rain} of rain in a day, turn the controller off for "
        f"{counted(rule.days_off, 'day')}. Followed all year that saves {saves}; "
        f"{_worst(rule.dry_before, rule.dry_after)}."
    )


def _worst(before: np.ndarray, after: np.ndarray) -> str:
    """Dry days of the zone that feels it most."""
    most = int(np.argmax(after - before))
    then, now = f"{100 * after[most]:.0f}", f"{100 * before[most]:.0f}"
    alone = len(after) == 1
    if then == now:
        if alone:
            return "plants go short on no more days for it"
        return "no zone goes short on more days for it"
    who = "plants then go" if alone else "the zone that feels it most goes"
    return f"{who} short on {of_hundred(after[most])} in place of {now}"


PLAYED_WATER = (
    "Water is that of the days played, whose months begin on any weekday; table and "
    "budget take so many sevenths of a week as a month has days, so that the same plan "
    "may come to a little more or less there."
)


def notes(replay: Replay) -> list[str]:
    """How the figures are reckoned."""
    lines = [
        "A dry day: some of the ground ends it a tenth below what may be used between "
        "waterings or, where it holds less than a day's need, does not begin it nearly "
        "full. The quarter that heads water least is left out: even heads mend it, not "
        "minutes. Months of frost do not count.",
        "A perfect hand looks at the ground on the morning of each watering day, "
        "without a forecast. It waters where ground would else go dry, that quarter "
        "apart, and fills what the ground lacks, times the run-time multiplier. It "
        "lets plants go short on no day that it can help; a table that may can take "
        "less water. A rain shut-off holds back all others, where the site has one.",
        PLAYED_WATER,
        "Percolation is what passes the roots, of rain and irrigation; runoff is "
        "irrigation's alone, cycle by cycle.",
    ]
    if any(way.of == "one-setting" for way in replay.ways):
        lines.append(
            "One setting: the busiest month's days and minutes in all months but frost."
        )
    return lines


def picture_title(zone: str, site: str) -> str:
    """Title of a year of a zone."""
    return f"{site} · {zone}"


def picture_facts(replay: Replay, year: int, named: bool, dry_days: int) -> str:
    """Which year is drawn, and how dry it was."""
    years = replay.stage.years
    which = f"Invented year {year} of {len(years)}" if years.invented else f"{year}"
    why = "" if named else ", in the middle of all by dry days"
    return f"{which}{why}: {counted(dry_days, 'dry day')} under {WAYS['table']}"
