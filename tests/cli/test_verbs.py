"""The table of verbs agrees with their modules, and help imports none of them."""

from __future__ import annotations

import inspect
import subprocess
import sys
from pathlib import Path

import pytest
import typer

from scheduler import cli
from scheduler.cli.verbs import VERBS, function

CLI = Path(cli.__file__).parent
LOADED = (
    "import sys; from scheduler.cli import status; status({arguments!r}); "
    "print(*sorted(m for m in sys.modules if m.startswith('scheduler.cli.')))"
)


def test_every_module_of_a_verb_is_in_the_table():
    found = {
        path.stem: path.parent.name if path.parent != CLI else ""
        for path in CLI.rglob("*.py")
        if path.stem not in ("__init__", "app", "verbs")
    }

    assert found == {name: floor for name, (floor, _) in VERBS.items()}


@pytest.mark.parametrize("name", VERBS)
def test_the_line_of_help_is_that_of_the_verb_itself(name):
    assert inspect.getdoc(function(name)) == VERBS[name][1]


@pytest.mark.parametrize(
    ("arguments", "verbs"),
    [
        (["--help"], []),
        (["tabel"], []),
        (["table", "--help"], ["scheduler.cli.table"]),
        (["rates", "--help"], ["scheduler.cli.heads", "scheduler.cli.heads.rates"]),
    ],
)
def test_only_the_verb_asked_for_is_imported(arguments, verbs):
    ended = subprocess.run(
        [sys.executable, "-c", LOADED.format(arguments=arguments)],
        capture_output=True, text=True, check=True,
    )  # fmt: skip

    loaded = set(ended.stdout.splitlines()[-1].split())
    assert loaded - {"scheduler.cli.app", "scheduler.cli.verbs"} == set(verbs)


def test_verbs_are_listed_in_the_order_of_the_table():
    group = typer.main.get_command(cli.app)

    assert list(group.commands) == list(VERBS)


def test_a_verb_of_another_name_is_refused_with_the_nearest(capsys):
    assert cli.status(["tabel"]) == 2
    assert "No such command 'tabel'. Did you mean 'table'?" in capsys.readouterr().err
