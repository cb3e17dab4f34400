"""What people call the tables of a site: files of a folder, or sheets of a workbook."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.inputs.forms.fields import FILES

OWN_SHEETS = {"window": "windows", "water.tiers": "tiers", "door": "door"}
"""Parts of site.toml that have a sheet of their own in a workbook."""

LISTS = "lists"
"""Sheet of the words that drop-down lists offer; reading passes over it."""
SITE_FILES = ("site.toml", *(file for file in FILES if file.endswith(".csv")))
"""Files of a site folder whose names are set."""


def sheet_of(file: str) -> str:
    """Sheet that holds what a file of a folder does: `zones` for `zones.csv`."""
    return file.rpartition(".")[0]


@dataclass(frozen=True, slots=True)
class Names:
    """Names of a site's tables; `workbook` is its file, "" where it is a folder."""

    workbook: str = ""

    def bare(self, file: str) -> str:
        """Name alone: `zones.csv`, or `zones`."""
        return sheet_of(file) if self._holds(file) else file

    def told(self, file: str) -> str:
        """Name in a sentence: `zones.csv`, or `sheet zones`."""
        return f"sheet {sheet_of(file)}" if self._holds(file) else file

    def told_table(self, table: str, in_file: str) -> str:
        """Sheet of a part of site.toml that has one of its own, else `in_file`."""
        return f"sheet {OWN_SHEETS[table]}" if self.workbook else in_file

    def place(self, file: str) -> str:
        """Name before a Problem: `zones.csv`, or `site.xlsx: zones`."""
        return f"{self.workbook}: {sheet_of(file)}" if self._holds(file) else file

    def of_source(self, source: str) -> str:
        """Source of a value that begins with a file: `heads.csv, head 3`."""
        file, comma, rest = source.partition(",")
        return f"{self.told(file)}{comma}{rest}"

    def in_words(self, text: str) -> str:
        """Words of the registry, which names files, with the names used here."""
        for file in SITE_FILES:
            text = text.replace(file, self.told(file))
        return text

    def _holds(self, file: str) -> bool:
        return bool(self.workbook) and file in SITE_FILES


FOLDER = Names()

SHEETS = (
    "site",
    *OWN_SHEETS.values(),
    *(sheet_of(file) for file in SITE_FILES if file != "site.toml"),
    "climate",
)
"""Sheets of a workbook, in the order that they stand in a new one."""
