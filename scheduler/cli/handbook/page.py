"""How a page of the handbook answers, in each form that it may be asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.cli.app import Answer, Asked, Format, Units, answer

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from scheduler.report.books.handbook import Page


def answer_with(
    page_in: Callable[[str], Page],
    format_: Format,
    out: Path | None,
    units: Units | None,
) -> None:
    """Print or write a page that is made in some units."""
    from scheduler.report.books.handbook import blocks_of

    shown = (units or Units.us).value
    page = page_in(shown)
    answer(
        Answer(
            blocks=lambda: blocks_of(page),
            data=lambda: dict(page.content),
            table=lambda: page.rows,
        ),
        Asked(format_, out, shown),
    )
