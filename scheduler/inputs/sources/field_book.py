"""The field sheet's workbook beside a site: its filled-in sheets are readings."""

from __future__ import annotations

from pathlib import Path

from scheduler.errors import InputError, Problem
from scheduler.inputs.forms.csvfiles import RawTable
from scheduler.inputs.forms.tomlfiles import Document
from scheduler.inputs.sources.sheets import WorkbookSource
from scheduler.inputs.sources.source import FIELD_BOOK, Source, open_source
from scheduler.inputs.weather.daily import DailyWeather
from scheduler.inputs.weather.monthly import Climate

FIELD_FILES = {
    "meter.csv": ("zone", "minutes"),
    "cans.csv": ("zone", "can", "minutes", "can_diameter_in", "can_diameter_cm"),
}
"""What its sheets stand for, and the columns that are given before any reading."""


def open_with_readings(site: Path) -> Source:
    """Source of a site, with the field sheet's workbook where that lies beside it."""
    source = open_source(site)
    book = source.folder / FIELD_BOOK
    if source.names.workbook == FIELD_BOOK or not book.exists():
        return source
    return WithFieldBook(source, book)


def refuse_filled_in(out: Path) -> None:
    """InputError where a workbook to be written is there: it may hold readings."""
    if out.exists():
        raise InputError([
            Problem(str(out), None, "--out", "is there already, and may hold readings",
                    "the name of a new file", "move the old one away first")
        ])  # fmt: skip


class WithFieldBook:
    """A site's source, with the sheets meter and cans of the workbook beside it."""

    def __init__(self, site: Source, book: Path) -> None:
        self._site, self._book = site, WorkbookSource(book)
        self.folder, self.usual_name = site.folder, site.usual_name
        self.names, self.hidden = site.names, site.hidden
        self.problems = [*site.problems, *self._both()]

    def _both(self) -> list[Problem]:
        """Readings that stand in two places."""
        return [
            Problem(FIELD_BOOK, None, "", f"stands beside {self.names.told(file)}",
                    "readings in one of the two",
                    "move the rows over, or take the sheet out of the workbook")
            for file in FIELD_FILES
            if self._site.has(file) and self._in_book(file)
        ]  # fmt: skip

    @property
    def unread(self) -> tuple[str, ...]:
        """Sheets of the site's own workbook that are no table of a site."""
        return self._site.unread

    @unread.setter
    def unread(self, names: tuple[str, ...]) -> None:
        self._site.unread = names

    def has(self, file: str) -> bool:
        """Whether the site, or the field sheet, has what a file holds."""
        return self._site.has(file) or self._in_book(file)

    def apart(self) -> list[str]:
        """Names in the site that none of its tables has."""
        return [name for name in self._site.apart() if name != FIELD_BOOK]

    def table(self, file: str, problems: list[Problem]) -> RawTable | None:
        """Table of the site, or of the field sheet."""
        in_book = self._in_book(file) and not self._site.has(file)
        return (self._book if in_book else self._site).table(file, problems)

    def document(self, problems: list[Problem]) -> Document | None:
        """The site's settings."""
        return self._site.document(problems)

    def climate(
        self, file: str, problems: list[Problem]
    ) -> Climate | DailyWeather | None:
        """The site's climate."""
        return self._site.climate(file, problems)

    def placed(self, problems: list[Problem]) -> list[Problem]:
        """The same Problems with the cell of each that stands in a workbook."""
        return self._site.placed(self._book.placed(problems))

    def _in_book(self, file: str) -> bool:
        """Whether the field sheet has readings for a file; blank sheets are let be."""
        return file in FIELD_FILES and self._book.filled(file, FIELD_FILES[file])
