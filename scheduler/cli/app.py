"""The command: options that verbs share, and errors into exit statuses."""

from __future__ import annotations

import contextlib
import io
import os
import sys
import traceback
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from scheduler.errors import Caution
    from scheduler.plan.site import SitePlan

INPUT_IS_WRONG = 2
FAULT_OF_OURS = 1
LIMIT_NOT_MET = 3

app = typer.Typer(
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
        print(error, file=sys.stderr)
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
PictureOption = Annotated[
    Path | None, typer.Option("--picture", help="file for a picture, .png or .svg")
]
UnitsOption = Annotated[
    Units | None, typer.Option("--units", help="units to show, instead of the site's")
]


def check_out(format_: StrEnum, out: Path | None) -> None:
    """Refuse a workbook that is to be printed."""
    if format_ == "xlsx" and out is None:
        raise typer.BadParameter(
            "a workbook is not printed: name its file with --out FILE.xlsx",
            param_hint="--format",
        )


def style_of(format_: Format) -> str:
    """Style in which tables of text and markdown are drawn."""
    return "pipe" if format_ is Format.markdown else "simple"


def read_and_plan(folder: Path, units: Units | None) -> tuple[SitePlan, str]:
    """Plan of a site folder, and the units to show it in."""
    from scheduler.inputs.folder import read_site
    from scheduler.plan.site import plan_site

    site = read_site(folder)
    return plan_site(site), units.value if units else site.units


def give(
    result: str | bytes,
    out: Path | None,
    cautions: Iterable[Caution],
    format_: StrEnum,
    units: str,
    pictures: Mapping[Path, bytes] | None = None,
) -> None:
    """Print or write a result, and pictures; exit 3 where a hard limit cannot be met.

    Where the result is not read on the screen, or has no place for cautions, the hard
    ones go to standard error.
    """
    from scheduler.errors import HARD_LIMITS
    from scheduler.report.words.sentences import grouped
    from scheduler.write import write_all

    files: dict[Path, str | bytes] = {**(pictures or {})}
    if out is not None:
        files[out] = result
    write_all(files)
    if out is None and isinstance(result, str):
        print_result(result)
    hard = [caution for caution in cautions if caution.code in HARD_LIMITS]
    if hard:
        if out is not None or format_ == Format.csv:
            for line in grouped(hard, units):
                typer.echo(line, err=True)
        raise typer.Exit(LIMIT_NOT_MET)


def print_result(result: str) -> None:
    """Print a result; whoever reads it may close the pipe before the end."""
    try:
        typer.echo(result, nl=False)
    except BrokenPipeError:
        with contextlib.suppress(OSError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
