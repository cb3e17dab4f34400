"""What the pages inside the controller door say."""

from __future__ import annotations

import datetime

from scheduler.report.shown import MONTH_LABELS, date_text
from scheduler.report.words.pages import spoken

ALL_PROGRAMS = "All"
"""Heading of percents that the whole controller shares."""
OFF = "off"
CHANGES = "*"
"""Mark of a percent that another follows within the month."""


def next_page(date: str, visit: int) -> str:
    """When to take the page of the next visit."""
    return f"By {date}: visit {visit}, on its own page."


def next_year(date: str) -> str:
    """When the first visit is due again; its page has this year's dates."""
    return f"By {date}: visit 1 again, on a page printed anew, for dates move."


def waits(month: int, date: datetime.date) -> str:
    """That the percents of a month, 1 to 12, are set on a later date than its first."""
    label = MONTH_LABELS[month - 1]
    return f"{label}: off until {date_text(date)}, while dry ground is filled by hand."


def more_limits(count: int) -> str:
    """That there are more limits than a page has room for."""
    return f"And {count} more, none as bad: `scheduler card` tells them."


def after_rain(rain_mm: float, days_off: int, units: str, until: str = "") -> str:
    """The rule for rain, where there is no rain shut-off.

    Up to the date `until`, if there is one, new plantings must not go dry.
    """
    if until:
        return (
            f"No rain shut-off: after {spoken.rain(rain_mm, units)} of rain in a day "
            f"(rain gauge), {spoken.but_new(days_off, until)}"
        )
    return (
        f"No rain shut-off: after {spoken.rain(rain_mm, units)} of rain in a day (rain "
        f"gauge), turn the controller off for {spoken.days_after_rain(days_off)}, then "
        "on again."
    )


def key(name: str) -> str:
    """A key of the site's own lines, as a label."""
    words = " ".join(name.replace("_", " ").split())
    return words[:1].upper() + words[1:]


_WHO, _PERCENT, _HAND = "who", "percent", "hand"
CONTACT_WORDS = ("contact", "call", "phone", "ask", "help", "question", _WHO)
"""Words in the key of a line that say whom to call, or who does what."""


WINTER_WORDS = ("winter", "drain", "frost", "freez", "blow")
"""Words in the key of a line that say who empties the lines, or when."""


def contact(key_: str, text: str) -> str:
    """Whom to call, in a line."""
    return f"{key(key_)}: {text}"


def says_who(key_: str) -> bool:
    """Whether a line says who does something at the controller."""
    return _WHO in key_.casefold() and not says_who_drains(key_)


def says_who_drains(key_: str) -> bool:
    """Whether a line is of winter."""
    return any(word in key_.casefold() for word in WINTER_WORDS)


def says_who_starts(key_: str) -> bool:
    """Whether a line says who starts by hand."""
    return says_who(key_) and _HAND in key_.casefold()


def says_who_sets(key_: str) -> bool:
    """Whether a line says who sets the percents."""
    return says_who(key_) and _PERCENT in key_.casefold()
