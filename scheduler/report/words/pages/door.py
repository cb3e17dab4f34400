"""What the pages inside the controller door say."""

from __future__ import annotations

ALL_PROGRAMS = "All"
"""Heading of percents that the whole controller shares."""
OFF = "off"


def next_page(month: str, visit: int) -> str:
    """When to take the page of the next visit."""
    return f"By 1 {month}: visit {visit}, on its own page."


def key(name: str) -> str:
    """A key of the site's own lines, as a label."""
    words = " ".join(name.replace("_", " ").split())
    return words[:1].upper() + words[1:]
