"""The command: options that verbs share, and errors into exit statuses."""

from __future__ import annotations

import contextlib
import datetime
import io
import os
import sys
import traceback
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from scheduler.cli.verbs import Verbs

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from scheduler.cautions import Caution
    from scheduler.plan.site import SitePlan
    from scheduler.report.blocks import Block
    from scheduler.report.books.handbook import Page
    from scheduler.report.frames import Table
    from scheduler.report.views.questions.asked import Wanted

INPUT_IS_WRONG = 2
FAULT_OF_OURS = 1
LIMIT_NOT_MET = 3

app = typer.Typer(
    cls=Verbs,
    callback=lambda: None,
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Run times for sprinkler controllers, from nozzle plan, soil and climate.",
)


def run() -> None:
    """Run the verbs; end with their exit status.

    Text that goes to a file or another program is UTF-8 whatever the system's habit;
    a terminal keeps its own, with "?" for a sign that it lacks.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            encoding = None if stream.isatty() else "utf-8"
            stream.reconfigure(encoding=encoding, errors="replace")
    sys.exit(status(sys.argv[1:]))


def status(arguments: list[str]) -> int:
    """Exit status of the verbs run with these arguments."""
    from scheduler.errors import InputError

    try:
        app(arguments, prog_name="scheduler")
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else FAULT_OF_OURS
    except InputError as error:
        from scheduler.report.shown import visible

        print(visible(str(error)), file=sys.stderr)
        return INPUT_IS_WRONG
    except Exception as error:
        if os.environ.get("SCHEDULER_TRACEBACK"):
            traceback.print_exc()
        name = type(error).__name__
        print(
            f"scheduler: a fault of the program ({name}: {error}); "
            "set SCHEDULER_TRACEBACK=1 to see where",
            file=sys.stderr,
        )
        return FAULT_OF_OURS
    return 0


class Format(StrEnum):
    """How a result is printed."""

    text = "text"
    markdown = "markdown"
    csv = "csv"
    json = "json"


class BookFormat(StrEnum):
    """How a result is printed, or written as a workbook."""

    text = "text"
    markdown = "markdown"
    csv = "csv"
    json = "json"
    xlsx = "xlsx"


class CardFormat(StrEnum):
    """How a card is printed, or written as a workbook or a calendar."""

    text = "text"
    markdown = "markdown"
    csv = "csv"
    json = "json"
    xlsx = "xlsx"
    ics = "ics"


class FieldFormat(StrEnum):
    """How a field sheet is printed, or written as a page or a workbook."""

    text = "text"
    markdown = "markdown"
    csv = "csv"
    json = "json"
    html = "html"
    pdf = "pdf"
    xlsx = "xlsx"


class Units(StrEnum):
    """Units that people are shown."""

    us = "us"
    metric = "metric"


SiteFolder = Annotated[
    Path, typer.Argument(help="folder of the site, or its workbook", metavar="SITE")
]
FormatOption = Annotated[Format, typer.Option("--format", help="how to print it")]
BookFormatOption = Annotated[
    BookFormat, typer.Option("--format", help="how to print it; xlsx needs --out")
]
MonthOption = Annotated[str, typer.Option("--month", help="1 to 12, or jan to dec")]
OutOption = Annotated[
    Path | None, typer.Option("--out", help="file to write instead of printing")
]
VisitsOption = Annotated[
    int, typer.Option("--visits", min=1, max=12, help="visits a year, 1 to 12")
]
YearOption = Annotated[
    int | None,
    typer.Option("--year", min=1970, max=2999, help="of first dates [to come]"),
]
DateOption = Annotated[
    str | None,
    typer.Option("--date", help="as if it were this day, as 2026-04-01 [today]"),
]
ZoneOption = Annotated[
    str | None, typer.Option("--zone", help="one zone, or its name, not all")
]
PictureOption = Annotated[
    Path | None, typer.Option("--picture", help="file for a picture, .png or .svg")
]
UnitsOption = Annotated[
    Units | None, typer.Option("--units", help="units to show, instead of the site's")
]
LessOption = Annotated[
    float | None, typer.Option("--less", help="with so many percent less water")
]
DaysOption = Annotated[
    int | None, typer.Option("--days", help="most watering days a week, 0 to 7")
]
StageOption = Annotated[
    str | None, typer.Option("--stage", help="a stage of stages.toml, by its name")
]


@dataclass(frozen=True, slots=True)
class Answer:
    """What a verb found, in the forms that it may be asked for; made when asked.

    A form that is not there is answered with the text.
    `book` names the sheet of the table and the site, `sheets` are those before it.
    `keeps_limits` are the formats that tell which hard limits cannot be met.
    """

    blocks: Callable[[], Sequence[Block]]
    data: Callable[[], dict[str, Any]] | None = None
    table: Callable[[], Table] | None = None
    book: tuple[str, str] = ("", "")
    sheets: Callable[[], Sequence[tuple[str, Table]]] = tuple
    calendar: Callable[[], str] | None = None
    page: Callable[[], str] | None = None
    workbook: Callable[[], bytes] | None = None
    keeps_limits: tuple[str, ...] = ("text", "markdown", "json")


@dataclass(frozen=True, slots=True)
class Asked:
    """How an answer is to be given: its format, its file, its units."""

    format_: StrEnum
    out: Path | None
    units: str


def answer(
    found: Answer,
    asked: Asked,
    limits: Sequence[str] = (),
    files: Mapping[Path, str | bytes] | None = None,
) -> None:
    """Print or write what a verb found, in the format asked for."""
    told = asked.format_ in found.keeps_limits
    if asked.format_ == "xlsx" and not found.workbook:
        from scheduler.report.blocks import noted
        from scheduler.report.shown import visible
        from scheduler.report.words.sentences import CAUTIONS

        # Who opens a workbook later does not read the screen, and the other way round.
        for line in noted(found.blocks(), CAUTIONS):
            if line not in limits:
                typer.echo(visible(line), err=True)
    give(_formed(found, asked), asked.out, limits, told, files)


def answer_with_page(
    page_in: Callable[[str], Page],
    format_: Format,
    out: Path | None,
    units: Units | None,
) -> None:
    """Print or write a page of the handbook, which is made in some units."""
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


def _formed(found: Answer, asked: Asked) -> str | bytes:
    from scheduler.report import blocks, shown

    format_, units = asked.format_, asked.units
    if format_ == "json" and found.data:
        from scheduler.report.data import to_json

        return to_json(found.data())
    if format_ == "csv" and found.table:
        from scheduler.report.data import to_csv

        return to_csv(found.table(), units)
    if format_ == "xlsx" and found.workbook:
        return found.workbook()
    if format_ == "html" and found.page:
        return found.page()
    if format_ == "pdf" and found.page and asked.out:
        from scheduler import browser

        return browser.printed(found.page(), asked.out)
    if format_ == "xlsx" and found.table:
        from scheduler.report.books.workbook import to_workbook
        from scheduler.report.words.books import workbook as words

        about = [
            *words.made(found.book[1], datetime.date.today()),
            *blocks.around(found.blocks()),
        ]
        return to_workbook(found.table(), units, *found.book, found.sheets(), about)
    if format_ == "ics" and found.calendar:
        return shown.visible(found.calendar())
    draw = blocks.markdown if format_ == "markdown" else blocks.text
    return draw(found.blocks(), units)


def check_out(format_: StrEnum, out: Path | None) -> None:
    """Refuse a workbook or a PDF that is to be printed."""
    if format_ == "xlsx" and out is None:
        raise typer.BadParameter(
            "a workbook is not printed: name its file with --out FILE.xlsx",
            param_hint="--format",
        )
    if format_ == "pdf" and out is None:
        raise typer.BadParameter(
            "a PDF is not printed here: name its file with --out FILE.pdf",
            param_hint="--format",
        )


def asked_for(
    folder: Path, less: float | None, days: int | None, stage: str | None
) -> Wanted | None:
    """What is asked for beside a card, its stage read; None for the table's own."""
    from scheduler.report.views.questions.asked import Wanted, with_stage

    wanted = Wanted(percent=less, days=days, stage=stage)
    return None if wanted.nothing else with_stage(wanted, folder)


def read_and_plan(
    folder: Path, units: Units | None, date: datetime.date | None = None
) -> tuple[SitePlan, str]:
    """Plan of a site folder as of a date or today, and the units to show it in."""
    from scheduler.inputs.folder import read_site
    from scheduler.plan.site import plan_site

    today = datetime.date.today()
    site = read_site(folder, max(date or today, today))
    return plan_site(site, date or today), units.value if units else site.units


def hard_limits(cautions: Iterable[Caution], units: str) -> list[str]:
    """Hard limits that cannot be met, in words."""
    from scheduler.cautions import HARD_LIMITS
    from scheduler.report.words.sentences import grouped

    return grouped([c for c in cautions if c.code in HARD_LIMITS], units)


def give(
    result: str | bytes,
    out: Path | None,
    limits: Sequence[str] = (),
    told: bool = True,
    files: Mapping[Path, str | bytes] | None = None,
) -> None:
    """Print or write a result, and more files; exit 3 where a limit cannot be met.

    Where the result is not read on the screen, or has not `told` the limits, they go
    to standard error.
    """
    from scheduler.report.shown import visible
    from scheduler.write import write_all

    write_all({**({} if out is None else {out: result}), **(files or {})})
    if out is None and isinstance(result, str):
        print_result(result)
    if out is not None or not told:
        for line in limits:
            typer.echo(visible(line), err=True)
    if limits:
        raise typer.Exit(LIMIT_NOT_MET)


def print_result(result: str) -> None:
    """Print a result; whoever reads it may close the pipe before the end."""
    try:
        typer.echo(result, nl=False)
    except BrokenPipeError:
        with contextlib.suppress(OSError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
