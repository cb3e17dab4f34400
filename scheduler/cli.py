"""The verbs: each reads, plans, renders and prints."""

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
    from collections.abc import Iterable

    from scheduler.errors import Caution
    from scheduler.plan.sites import SitePlan

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


class Units(StrEnum):
    """Units that people are shown."""

    us = "us"
    metric = "metric"


SiteFolder = Annotated[Path, typer.Argument(help="folder of the site", metavar="SITE")]
FormatOption = Annotated[Format, typer.Option("--format", help="how to print it")]
OutOption = Annotated[
    Path | None, typer.Option("--out", help="file to write instead of printing")
]
UnitsOption = Annotated[
    Units | None, typer.Option("--units", help="units to show, instead of the site's")
]


@app.command()
def new(
    folder: Annotated[Path, typer.Argument(help="folder to make", metavar="FOLDER")],
    units: Annotated[Units, typer.Option("--units", help="units to write")] = Units.us,
) -> None:
    """Start a site folder with templates that already run."""
    from scheduler.report.reference import site_templates
    from scheduler.write import write_folder

    write_folder(folder, site_templates(units.value))
    typer.echo(f"{folder}: made. Fill in the files, then: scheduler table {folder}")


@app.command()
def check(
    site: SiteFolder,
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Say whether the plan is sound, worst first."""
    from scheduler.findings.check import find
    from scheduler.report import data, text

    plan, shown = _plan(site, units)
    found = find(plan)
    if format_ is Format.json:
        result = data.to_json(data.findings(found, shown))
    elif format_ is Format.csv:
        result = data.to_csv(data.findings_table(found, shown), shown)
    elif format_ is Format.markdown:
        result = text.grid(data.findings_table(found, shown), shown, "pipe") + "\n"
    else:
        result = text.findings(plan, found, shown)
    _give(result, out, plan.cautions, format_, shown)


@app.command()
def rates(
    site: SiteFolder,
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Show precipitation rates, and what imbalance costs."""
    from scheduler.report import data, frames, text

    plan, shown = _plan(site, units)
    if format_ is Format.json:
        result = data.to_json(data.rates(plan, shown))
    elif format_ is Format.csv:
        result = data.to_csv(frames.head_rates(plan), shown)
    else:
        result = text.rates(plan, shown, _style(format_))
    _give(result, out, plan.rates.cautions, format_, shown)


@app.command()
def climate(
    place: Annotated[
        Path,
        typer.Argument(help="folder of the site, or a weather file", metavar="SITE"),
    ],
    daily: Annotated[
        bool, typer.Option("--daily", help="print the days, as CSV or JSON")
    ] = False,
    latitude: Annotated[
        float | None,
        typer.Option("--latitude", min=-90, max=90, help="of a file: north positive"),
    ] = None,
    elevation: Annotated[
        float | None,
        typer.Option("--elevation", min=-430, max=6000, help="of a file: m"),
    ] = None,
    wind_height: Annotated[
        float | None,
        typer.Option("--wind-height", min=0.5, max=100, help="of a file's gauge: m"),
    ] = None,
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Show ET0, rain and effective rain by month."""
    from scheduler.report import climate as report
    from scheduler.report import data

    if place.is_file():
        view = report.view_of_file(place, latitude, elevation, wind_height)
        shown = units.value if units else Units.metric.value
    else:
        plan, shown = _plan(place, units)
        view = report.view_of_site(plan)
    if daily:
        if format_ is Format.json:
            result = data.to_json(report.days_data(view))
        else:
            result = data.to_csv(report.days_table(view), shown)
    elif format_ is Format.json:
        result = data.to_json(report.to_data(view))
    elif format_ is Format.csv:
        result = data.to_csv(report.months_table(view.months), shown)
    else:
        result = report.to_text(view, shown, _style(format_))
    _give(result, out, (), format_, shown)


@app.command()
def table(
    site: SiteFolder,
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Print the month-by-month watering table."""
    from scheduler.report import data, frames, text

    plan, shown = _plan(site, units)
    if format_ is Format.json:
        result = data.to_json(data.watering_table(plan, shown))
    elif format_ is Format.csv:
        result = data.to_csv(frames.table_rows(plan), shown)
    elif format_ is Format.markdown:
        result = text.watering_markdown(plan, shown)
    else:
        result = text.watering_table(plan, shown)
    _give(result, out, plan.cautions, format_, shown)


@app.command()
def explain(
    site: SiteFolder,
    zone: Annotated[str, typer.Option("--zone", help="zone of zones.csv")],
    month: Annotated[int, typer.Option("--month", min=1, max=12, help="1 to 12")],
    format_: FormatOption = Format.text,
    out: OutOption = None,
    units: UnitsOption = None,
) -> None:
    """Show the working of one zone and month."""
    from scheduler.report import data, explained, working

    plan, shown = _plan(site, units)
    steps = working.explain(plan, zone, month, shown)
    title = working.title(plan, zone, month)
    if format_ is Format.json:
        result = data.to_json(explained.to_data(zone, month, steps))
    elif format_ is Format.csv:
        result = data.to_csv(explained.to_table(steps), shown)
    elif format_ is Format.markdown:
        result = explained.to_markdown(title, steps)
    else:
        result = explained.to_text(title, steps)
    _give(result, out, (), format_, shown)


def _style(format_: Format) -> str:
    return "pipe" if format_ is Format.markdown else "simple"


def _plan(folder: Path, units: Units | None) -> tuple[SitePlan, str]:
    from scheduler.inputs.folder import read_site
    from scheduler.plan.sites import plan_site

    site = read_site(folder)
    return plan_site(site), units.value if units else site.units


def _give(
    result: str,
    out: Path | None,
    cautions: Iterable[Caution],
    format_: Format,
    units: str,
) -> None:
    """Print or write a result; exit 3 where a hard limit cannot be met.

    Where the result is not read on the screen, or has no place for cautions, the hard
    ones go to standard error.
    """
    from scheduler.errors import HARD_LIMITS
    from scheduler.report.sentences import grouped
    from scheduler.write import write_whole

    if out is None:
        _print(result)
    else:
        write_whole(out, result)
    hard = [caution for caution in cautions if caution.code in HARD_LIMITS]
    if hard:
        if out is not None or format_ is Format.csv:
            for line in grouped(hard, units):
                typer.echo(line, err=True)
        raise typer.Exit(LIMIT_NOT_MET)


def _print(result: str) -> None:
    """Print a result; whoever reads it may close the pipe before the end."""
    try:
        typer.echo(result, nl=False)
    except BrokenPipeError:
        with contextlib.suppress(OSError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
