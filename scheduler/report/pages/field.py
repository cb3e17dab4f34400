"""The field sheet as one printable page."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.report.blocks import Block, html
from scheduler.report.pages.sheet import PAPERS, template
from scheduler.report.words.pages import sheet as words


def page(blocks: Sequence[Block], title: str, units: str) -> str:
    """A self-contained HTML page of blocks: no script, and nothing from elsewhere."""
    import markupsafe

    # Blocks escape what they draw.
    body = markupsafe.Markup(html(blocks, units))
    return template("field.html").render(
        language=words.LANGUAGE, title=title, body=body, paper=PAPERS[units]
    )
