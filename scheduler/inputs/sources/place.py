"""Where a site lies, read alone: its other files need not be there yet."""

from __future__ import annotations

from pathlib import Path

from scheduler.errors import InputError, Problem
from scheduler.inputs.forms import tomlfiles
from scheduler.inputs.forms.fields import SITE_TABLES
from scheduler.inputs.sources.source import open_source

MARK = "# Weather from "
"""How a file of fetched weather begins; no other file is written over."""


def read_place(site: Path) -> tuple[float, float]:
    """Latitude and longitude of a site; raises InputError with what is wrong there."""
    problems: list[Problem] = []
    source = open_source(site)
    document = source.document(problems)
    if document is not None:
        content = document.content.get("site")
        keys = tomlfiles.read_keys(
            document,
            content if isinstance(content, dict) else {},
            "site",
            SITE_TABLES["site"],
            problems,
        )
        if not problems:
            return float(keys.values["latitude"]), float(keys.values["longitude"])
    raise InputError(source.placed(problems or source.problems))


def check_may_be_written(path: Path) -> None:
    """InputError where a file of that name was not fetched, but is somebody's own."""
    if not path.exists():
        return
    try:
        with path.open("rb") as stream:
            ours = stream.read(len(MARK)) == MARK.encode()
    except OSError:
        ours = False
    if not ours:
        raise InputError(
            [Problem(str(path), None, "", "is there already, and was not fetched",
                     hint="choose another name with --out, or move it away")]
        )  # fmt: skip
