"""The verbs in the order of the help; each is imported when it is asked for."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer
from typer.core import TyperCommand, TyperGroup

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

VERBS = {
    "new": ("", "Start a site folder with templates that already run."),
    "check": ("", "Say whether the plan is sound, worst first."),
    "rates": ("heads", "Show precipitation rates, and what imbalance costs."),
    "nozzles": ("heads", "Choose a nozzle for each head: matched, within the supply."),
    "coverage": ("heads", "Show where the water falls, from where heads stand."),
    "field": ("heads", "Print the sheet to take along: what each zone must show."),
    "climate": ("", "Show ET0, rain and effective rain by month."),
    "table": ("", "Print the month-by-month watering table."),
    "explain": ("", "Show the working of one zone and month."),
    "night": ("", "Put one watering night on the clock: what runs when."),
    "card": ("", "Say what to key into the controller."),
    "replay": ("", "Play table, card and today's settings through years of days."),
    "adjust": ("season", "Give this week's percent from the weather that was."),
    "budget": ("", "Show a year's water and cost, against allowance and today."),
    "less": ("questions", "Give up so much water, or days: who goes short."),
    "doubt": (
        "questions",
        "Say what the answer hangs on, and which measurement is worth the drive.",
    ),
    "sheet": (
        "",
        "Write a page for the owner, and one a visit for the controller door.",
    ),
    "cans": ("heads", "Show rate and uniformity of a catch-can test."),
    "fields": ("handbook", "List every column and key of the files."),
    "plants": ("handbook", "List the plants and their usual values."),
    "soils": ("handbook", "List the soils and their usual values."),
    "method": ("handbook", "Print the method: every formula with its source."),
}
"""Floor of `cli/` that the module of each verb stands on, and its line of help."""


class Verbs(TyperGroup):
    """The verbs of `VERBS`; help and hints need no module of a verb."""

    def __init__(self, **attributes: Any) -> None:
        told = {
            name: TyperCommand(name, help=help_) for name, (_, help_) in VERBS.items()
        }
        super().__init__(**{**attributes, "commands": told})

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """The verb with its options; None where there is no such verb."""
        return command(cmd_name) if cmd_name in VERBS else None

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """List the verbs with their lines of help."""
        TyperGroup(commands=dict(self.commands)).format_commands(ctx, formatter)


class Verb(TyperCommand):
    """A verb, which writes over no file that it is given, or that is the site's."""

    def invoke(self, ctx: Any) -> Any:
        """Run it, unless what it is to write is there to be read."""
        out = ctx.params.get("out")
        given = [path for name, path in ctx.params.items()
                 if name != "out" and isinstance(path, Path)]  # fmt: skip
        if isinstance(out, Path) and out.exists() and _is_read(out, given):
            raise typer.BadParameter(
                f"{out} is read here and would be lost: name another file",
                param_hint="--out",
            )
        return super().invoke(ctx)


def _is_read(out: Path, given: Sequence[Path]) -> bool:
    """Whether a file is one of some paths, or of a site's folder among them."""
    from scheduler.inputs.sources.source import files_of

    read = [file for path in given for file in (path, *files_of(path))]
    return any(file.exists() and file.samefile(out) for file in read)


def function(name: str) -> Callable[..., None]:
    """Function of a verb, from the module that has its name."""
    place = ".".join(part for part in ("scheduler.cli", VERBS[name][0], name) if part)
    return getattr(importlib.import_module(place), name)


def command(name: str) -> Any:
    """A verb as a command with options."""
    alone = typer.Typer(
        add_completion=False, pretty_exceptions_enable=False, rich_markup_mode=None
    )
    alone.command(name, cls=Verb)(function(name))
    return typer.main.get_command(alone)
