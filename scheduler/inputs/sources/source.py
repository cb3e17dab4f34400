"""Where a site's tables come from: files of a folder, or sheets of a workbook."""

from __future__ import annotations

from pathlib import Path
from typing import Protocol

from scheduler.errors import InputError, Problem
from scheduler.inputs.forms import csvfiles, tomlfiles
from scheduler.inputs.forms.csvfiles import RawTable
from scheduler.inputs.forms.fields import STAGES_FILE
from scheduler.inputs.forms.names import FOLDER, SITE_FILES, Names
from scheduler.inputs.forms.tomlfiles import Document
from scheduler.inputs.weather.climates import read_climate
from scheduler.inputs.weather.daily import DailyWeather
from scheduler.inputs.weather.monthly import Climate

WORKBOOK = "site.xlsx"
"""Workbook that stands for a folder's files."""
FIELD_BOOK = "field.xlsx"
"""Field sheet's workbook, found under this name in the folder of a site."""
WORKBOOK_ENDINGS = (".xlsx", ".xlsm", ".xls", ".xlsb", ".ods")
"""Endings of workbooks; what is no .xlsx is refused with a word on it."""


class Source(Protocol):
    """Tables of a site, whatever they are written in.

    `problems` are those of the source as a whole, `unread` its sheets that are no
    table of a site, `hidden` the rows of its sheets that are read though not shown.
    """

    folder: Path
    usual_name: str
    names: Names
    problems: list[Problem]
    unread: tuple[str, ...]
    hidden: tuple[tuple[str, tuple[int, ...]], ...]

    def has(self, file: str) -> bool:
        """Whether it has what a file of a folder holds."""
        ...

    def apart(self) -> list[str]:
        """Names in it that no table of a site has."""
        ...

    def table(self, file: str, problems: list[Problem]) -> RawTable | None:
        """What a CSV of a folder holds, or None with a Problem."""
        ...

    def document(self, problems: list[Problem]) -> Document | None:
        """What site.toml holds, or None with a Problem."""
        ...

    def climate(
        self, file: str, problems: list[Problem]
    ) -> Climate | DailyWeather | None:
        """Climate of the file that the settings name, or None with Problems."""
        ...

    def placed(self, problems: list[Problem]) -> list[Problem]:
        """The same Problems with the cell of each, where there are cells."""
        ...


class FolderSource:
    """A folder of site.toml and CSV files."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.usual_name = folder.resolve().name
        self.names = FOLDER
        self.problems: list[Problem] = []
        self.unread: tuple[str, ...] = ()
        self.hidden: tuple[tuple[str, tuple[int, ...]], ...] = ()

    def has(self, file: str) -> bool:
        """Whether the file is there."""
        return (self.folder / file).exists()

    def apart(self) -> list[str]:
        """Files of the folder that the registry does not know."""
        names = (item.name for item in self.folder.iterdir())
        return sorted(name for name in names if name not in SITE_FILES)

    def table(self, file: str, problems: list[Problem]) -> RawTable | None:
        """CSV of the folder."""
        return csvfiles.read_table(self.folder / file, file, problems)

    def document(self, problems: list[Problem]) -> Document | None:
        """The folder's site.toml."""
        return tomlfiles.read_document(self.folder / "site.toml", "site.toml", problems)

    def climate(
        self, file: str, problems: list[Problem]
    ) -> Climate | DailyWeather | None:
        """Climate of a file, seen from the folder."""
        return read_climate(self.folder / file, file, problems)

    def placed(self, problems: list[Problem]) -> list[Problem]:
        """The Problems as they are: files have lines."""
        return problems


def open_source(site: Path) -> Source:
    """Source of a site's folder, or of a workbook; InputError where it is neither."""
    try:
        workbook = workbook_of(site)
        if workbook is None:
            wrong = _wrong_with_folder(site)
        elif site != workbook or site.name == WORKBOOK:
            wrong = _wrong_with_both(workbook)
        else:
            wrong = None
    except OSError as error:
        wrong = _no_site(site, f"cannot be read: {error.strerror or error}")
    if wrong is not None:
        raise InputError([wrong])
    if workbook is None:
        return FolderSource(site)
    return open_sheets(workbook)


def open_sheets(workbook: Path) -> Source:
    """Sheets of a workbook; InputError where it cannot be read."""
    from scheduler.inputs.sources.sheets import WorkbookSource

    return WorkbookSource(workbook)


def workbook_of(site: Path) -> Path | None:
    """Workbook that a path of a site names, itself or by its folder; None for files."""
    if site.is_dir():
        if (site / WORKBOOK).exists():
            return site / WORKBOOK
        if not (site / "site.toml").exists():
            others = [WORKBOOK[:-5] + ending for ending in WORKBOOK_ENDINGS[1:]]
            return next((site / o for o in others if (site / o).exists()), None)
        return None
    return site if is_workbook(site) and site.exists() else None


def is_workbook(path: Path) -> bool:
    """Whether a path has the ending of a workbook, and is no folder."""
    return path.suffix.lower() in WORKBOOK_ENDINGS and not path.is_dir()


def files_of(site: Path) -> list[Path]:
    """Files that a site may have, there or not, its workbook's neighbours too.

    None of what is neither a folder nor a workbook.
    """
    folder = folder_of(site)
    if not folder.is_dir():
        return []
    names = [*SITE_FILES, STAGES_FILE, WORKBOOK, FIELD_BOOK]
    return [*(folder / name for name in names), *_climate_of(folder)]


def _climate_of(folder: Path) -> list[Path]:
    """The climate file that a site.toml names."""
    document = tomlfiles.read_document(folder / "site.toml", "site.toml", [])
    table = document.content.get("climate") if document else None
    named = table.get("file") if isinstance(table, dict) else None
    return [folder / named] if isinstance(named, str) else []


def names_of(site: Path) -> Names:
    """What people call the tables of a site that is there."""
    workbook = workbook_of(site)
    return FOLDER if workbook is None else Names(workbook.name)


def folder_of(site: Path) -> Path:
    """Folder of a site that may be named by its workbook."""
    return site.parent if is_workbook(site) else site


def _wrong_with_folder(folder: Path) -> Problem | None:
    if not folder.is_dir():
        wrong = "is not a folder" if folder.exists() else "no such folder"
        if is_workbook(folder):
            wrong = "no such workbook"
        return _no_site(folder, wrong)
    if not (folder / "site.toml").exists():
        return _no_site(folder, f"has no site.toml and no {WORKBOOK}")
    return None


def _no_site(site: Path, wrong: str) -> Problem:
    return Problem(
        str(site), None, "", wrong,
        f"a folder with site.toml, zones.csv and heads.csv, or with {WORKBOOK}",
        "scheduler new FOLDER starts one",
    )  # fmt: skip


def _wrong_with_both(workbook: Path) -> Problem | None:
    """A workbook and files beside it would say two things."""
    beside = [file for file in SITE_FILES if (workbook.parent / file).exists()]
    if not beside:
        return None
    return Problem(
        workbook.name, None, "", f"stands beside {', '.join(beside)}",
        f"a folder with {WORKBOOK}, or with site.toml and its files",
        "keep the one that holds what is true, and move the other away",
    )  # fmt: skip
