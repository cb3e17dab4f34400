"""README.md shows what the program prints, takes and does today.

After a change of texts, `python tests/test_readme.py` writes the shown output and the
generated parts anew, in DEVELOPERS.md too; look at the difference before you keep it.
"""

from __future__ import annotations

import contextlib
import csv
import difflib
import io
import os
import re
import shlex
import shutil
import tempfile
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
import typer

from scheduler import cli
from scheduler.inputs.forms.dimensions import DIMENSIONS
from scheduler.inputs.forms.fields import FILES, SITE_TABLES
from scheduler.report.reference import (
    file_reference,
    glossary,
    method_page,
    plant_table,
    soil_table,
)

ROOT = Path(__file__).parents[1]
README = ROOT / "README.md"
DEVELOPERS = ROOT / "DEVELOPERS.md"
CONSOLE = re.compile(r"^```console\n(.*?)^```$", re.MULTILINE | re.DOTALL)
CUT = "..."
GENERATED = {
    "file reference": (README, file_reference),
    "plants": (README, plant_table),
    "soils": (README, soil_table),
    "method": (README, method_page),
    "glossary": (DEVELOPERS, glossary),
}
# Headings of the README, in the order that it is read in.
HEADINGS = [
    "Start",
    "A first session",
    "The commands",
    "The files",
    "The method",
    "Take care",
    "Not there yet",
    "Changes",
]


def readme() -> str:
    """Text of the README; the tests are of a checkout."""
    return README.read_text(encoding="utf-8")


def section(heading: str) -> str:
    """Text below a heading of the second level."""
    found = re.search(rf"^## {heading}\n(.*?)(?=^## |\Z)", readme(), re.M | re.S)
    return found[1] if found else ""


def commands_of(block: str) -> list[tuple[str, list[str]]]:
    """Commands of a console block, each with the lines shown below it."""
    found: list[tuple[str, list[str]]] = []
    for line in block.splitlines():
        if line.startswith("$ "):
            found.append((line.removeprefix("$ "), []))
        else:
            found[-1][1].append(line)
    return found


def console_commands() -> list[str]:
    """Every command of the console blocks."""
    blocks = CONSOLE.findall(readme())
    return [command for block in blocks for command, _ in commands_of(block)]


class Session:
    """The commands of the README, run one after another in one folder."""

    def __init__(self) -> None:
        self.exit_status = 0

    def run(self, command: str) -> list[str]:
        """Lines that a command prints."""
        if command == "echo $?":
            return [str(self.exit_status)]
        name, *arguments = shlex.split(command)
        assert name == "scheduler", command
        printed = io.StringIO()
        with (
            contextlib.redirect_stdout(printed),
            contextlib.redirect_stderr(printed),
        ):
            self.exit_status = cli.status(arguments)
        return printed.getvalue().splitlines()


@contextlib.contextmanager
def copy_of_the_examples() -> Iterator[None]:
    """The working folder is a copy of what the README's commands need."""
    before = Path.cwd()
    with tempfile.TemporaryDirectory() as folder:
        for name in ("examples", "climate_samples"):
            shutil.copytree(ROOT / name, Path(folder) / name)
        put_measured_site(Path(folder) / "examples")
        os.chdir(folder)
        try:
            yield
        finally:
            os.chdir(before)


def put_measured_site(examples: Path) -> None:
    """The copy of a site with the [supply] that the README shows."""
    shutil.copytree(examples / "home", examples / "measured")
    shown = re.search(r"^```toml\n(\[supply\]\n.*?)^```$", readme(), re.M | re.S)
    assert shown
    file = examples / "measured" / "site.toml"
    text, count = re.subn(
        r"^\[supply\]\n(?:.+\n)+",
        shown[1],
        file.read_text(encoding="utf-8"),
        flags=re.M,
    )
    assert count == 1
    file.write_text(text, encoding="utf-8")


def pattern_of(shown: list[str]) -> str:
    """Pattern of an output; a line of dots stands for any lines, or none."""
    return "".join(
        r"(?:.*\n)*?" if line == CUT else re.escape(line) + r"\n" for line in shown
    )


def test_console_blocks_show_what_is_printed():
    session = Session()
    with copy_of_the_examples():
        for block in CONSOLE.findall(readme()):
            for command, shown in commands_of(block):
                printed = session.run(command)
                text = "".join(f"{line}\n" for line in printed)

                if not re.fullmatch(pattern_of(shown), text):
                    difference = difflib.unified_diff(shown, printed, "README", command)
                    pytest.fail("\n".join(difference))


def test_console_blocks_show_nothing_that_speaks_of_a_fault_of_the_program():
    assert not any("a fault of the program" in b for b in CONSOLE.findall(readme()))


def test_headings_stand_in_the_order_of_reading():
    assert re.findall(r"^## (.*)$", readme(), re.MULTILINE) == HEADINGS


def test_set_up_commands_are_two_and_the_second_is_the_one_of_ci():
    first, second = re.findall(r"^```sh\n(.*)\n```$", section("Start"), re.MULTILINE)
    ci = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()

    assert first == (
        "python3 -m venv .venv && .venv/bin/pip install -e . "
        "&& .venv/bin/scheduler table examples/home"
    )
    assert f"{second} || exit 1" in ci
    assert second.endswith(".venv-test/bin/python -m pytest")


def test_set_up_fits_pyproject():
    content = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    project = content["project"]

    assert "pytest" in str(project["optional-dependencies"]["test"])
    assert project["scripts"] == {"scheduler": "scheduler.cli:run"}
    least = project["requires-python"].removeprefix(">=")
    assert f"Python {least} or newer" in section("Start")
    assert f"- **{project['version']}**" in section("Changes")


def verbs() -> list[tuple[str, str]]:
    """Verbs of the command line with their one line of help."""
    group = typer.main.get_command(cli.app)
    return [(name, str(verb.help).strip()) for name, verb in group.commands.items()]


@pytest.mark.parametrize(("verb", "help_"), verbs())
def test_every_verb_has_its_line_with_an_example_that_runs(verb, help_):
    row = re.search(
        rf"^\| `{verb}` \| (.*) \| `(.*)` \|$", section("The commands"), re.M
    )

    assert row
    assert row[1] == help_
    assert row[2].split()[:2] == ["scheduler", verb]
    with copy_of_the_examples():
        session = Session()
        session.run(row[2])
        assert session.exit_status == 0


@pytest.mark.parametrize(("verb", "help_"), verbs())
def test_every_verb_is_shown_at_work(verb, help_):
    assert any(c.split()[:2] == ["scheduler", verb] for c in console_commands())


def test_verbs_stand_in_the_order_of_the_help():
    rows = re.findall(r"^\| `(\w+)` \|", section("The commands"), re.MULTILINE)

    assert rows == [verb for verb, _ in verbs()]


@pytest.mark.parametrize("name", list(GENERATED))
def test_generated_part_is_as_the_package_has_it(name):
    path, _ = GENERATED[name]

    assert generated(name) in path.read_text(encoding="utf-8")


def generated(name: str) -> str:
    """A generated part with its marks."""
    _, content_of = GENERATED[name]
    content = content_of()
    return f"<!-- generated: {name} -->\n\n{content}\n<!-- end of generated -->"


def test_every_field_of_the_registry_is_named():
    text = section("The files")
    fields = [f for group in (*FILES.values(), *SITE_TABLES.values()) for f in group]

    missing = [name for f in fields for name in f.names if f"`{name}`" not in text]
    assert missing == []


def test_every_file_of_the_registry_has_its_heading():
    text = section("The files")

    for name in FILES:
        assert (
            f"**{f'`{name}`' if name.endswith('.csv') else name.capitalize()}" in text
        )


def rows_of(table: str) -> list[dict[str, str]]:
    """Rows of a table of the package."""
    with (ROOT / "scheduler" / "tables" / table).open(encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def test_every_plant_is_listed_with_the_values_of_the_table():
    text = section("The files")

    for row in rows_of("plants.csv"):
        shown = re.search(
            rf"^\| {row['plant']} \| (.*?) \| (\d+) \(\d+\) \| (.*?) \| (\d+) \|$",
            text,
            re.M,
        )
        assert shown, row["plant"]
        assert shown[2] == row["root_depth_in"]
        assert float(shown[3]) == float(row["depletion"])
        if row["coefficient"]:
            assert float(shown[1]) == float(row["coefficient"])


def test_every_soil_is_listed_with_the_values_of_the_tables():
    text = section("The files")
    slopes = rows_of("slopes.csv")

    for row in rows_of("soils.csv"):
        shown = re.search(rf"^\| {row['soil']} \| ([\d.]+) \| (.*) \|$", text, re.M)
        assert shown, row["soil"]
        told = [float(cell.split()[0]) for cell in shown[2].split(" | ")]
        stands = [s["accumulation_in"] for s in slopes if s["soil"] == row["soil"]]
        assert float(shown[1]) == float(row["available_water_in_in"])
        assert told == [float(row["intake_in_h"]), *map(float, stands)]


def test_pictures_are_there_and_small():
    pictures = re.findall(r"^!\[[^\]]+\]\((.*)\)$", readme(), re.MULTILINE)

    assert pictures == [
        f"examples/home/{n}.png" for n in ("coverage", "table", "sheet")
    ]
    for picture, most in zip(pictures, (120_000, 60_000, 90_000), strict=True):
        assert (ROOT / picture).stat().st_size < most


def test_every_unit_is_written_somewhere():
    text = section("The files")
    suffixes = {u.suffix for d in DIMENSIONS.values() for u in d.units}

    assert [s for s in sorted(suffixes) if f"_{s}`" not in text] == []


def test_exit_statuses_are_told():
    text = readme().partition("### Exit status")[2].partition("\n## ")[0]

    rows = re.findall(r"^\| (\d) \|", text, re.MULTILINE)
    told = {0, cli.INPUT_IS_WRONG, cli.LIMIT_NOT_MET, cli.FAULT_OF_OURS}
    assert {int(row) for row in rows} == told


def test_lines_of_options_name_every_format_and_system_of_units():
    text = section("A first session")

    for word in [*cli.Format, *cli.Units]:
        assert f"`{word.value}`" in text or f"--units {word.value}" in text


def refreshed(shown: list[str], printed: list[str]) -> list[str]:
    """Shown lines with today's output: whole, or the same pieces of it."""
    if CUT not in shown:
        return printed
    result: list[str] = []
    start = 0
    pieces = "\n".join(["", *shown]).split(f"\n{CUT}")
    for number, piece in enumerate(pieces):
        lines = piece.strip("\n").split("\n") if piece.strip("\n") else []
        if number:
            result.append(CUT)
            if lines:
                start += _nearest(lines[0], printed[start:])
        result += printed[start : start + len(lines)]
        start += len(lines)
    return result


def _nearest(line: str, lines: list[str]) -> int:
    if line in lines:
        return lines.index(line)
    close = difflib.get_close_matches(line, lines, 1, 0.3)
    return lines.index(close[0]) if close else 0


def refresh() -> None:
    """Write the shown output and the generated parts anew."""
    session = Session()

    def block(match: re.Match[str]) -> str:
        lines = []
        for command, shown in commands_of(match[1]):
            lines += [f"$ {command}", *refreshed(shown, session.run(command))]
        return "```console\n" + "".join(f"{line}\n" for line in lines) + "```"

    with copy_of_the_examples():
        text = CONSOLE.sub(block, readme())
    for verb, help_ in verbs():
        text = re.sub(
            rf"^(\| `{verb}` \|) .* (\| `)", rf"\1 {help_} \2", text, flags=re.M
        )
    README.write_text(text, encoding="utf-8")
    for name, (path, _) in GENERATED.items():
        part = rf"<!-- generated: {name} -->.*?<!-- end of generated -->"
        text = path.read_text(encoding="utf-8")
        new = re.sub(part, lambda _, n=name: generated(n), text, flags=re.DOTALL)
        path.write_text(new, encoding="utf-8")


if __name__ == "__main__":
    refresh()
