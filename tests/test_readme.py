"""README.md shows what the program prints, takes and does today.

After a change of texts, `python tests/test_readme.py` writes the shown output anew, and
in DEVELOPERS.md the map of the rooms and the glossary; look at the difference before
you keep it.
"""

from __future__ import annotations

import contextlib
import difflib
import io
import json
import os
import re
import shlex
import shutil
import sys
import tempfile
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
import typer

from scheduler import cli
from scheduler.inputs.forms.fields import FILES
from scheduler.report.reference import glossary

# Found by pytest already; here for whoever runs this file by itself.
sys.path.append(str(Path(__file__).parent / "given"))
from rooms import room_map

ROOT = Path(__file__).parents[1]
README = ROOT / "README.md"
DEVELOPERS = ROOT / "DEVELOPERS.md"
CONSOLE = re.compile(r"^```console\n(.*?)^```$", re.MULTILINE | re.DOTALL)
CUT = "..."
PYTHON = re.compile(r"^```python\n(.*?)^```$", re.MULTILINE | re.DOTALL)
MOST_LINES = 464
# Parts of DEVELOPERS.md that are made from the package.
GENERATED = {"map": room_map, "glossary": glossary}
# Headings of the README, in the order that it is read in.
HEADINGS = [
    "Start",
    "A session",
    "In a notebook",
    "The commands",
    "The files",
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
        os.chdir(folder)
        try:
            yield
        finally:
            os.chdir(before)


def pattern_of(shown: list[str]) -> str:
    """Pattern of an output; a line of dots stands for any lines, or none."""
    return "".join(
        r"(?:.*\n)*?" if line == CUT else re.escape(line) + r"\n" for line in shown
    )


def difference(command: str, shown: list[str], printed: list[str]) -> list[str]:
    """What the README shows of a command and should not; empty where all is well."""
    text = "".join(f"{line}\n" for line in printed)
    if re.fullmatch(pattern_of(shown), text):
        return []
    today = refreshed(shown, printed)
    if today == shown:
        today = printed
    return [f"$ {command}", *difflib.unified_diff(shown, today, "README", "today")]


def test_console_blocks_show_what_is_printed():
    session = Session()
    wrong = []
    with copy_of_the_examples():
        for block in CONSOLE.findall(readme()):
            for command, shown in commands_of(block):
                wrong += difference(command, shown, session.run(command))

    if wrong:
        pytest.fail("\n".join(["python tests/test_readme.py mends:", *wrong]))


def test_every_difference_is_told():
    lines = ["a", CUT, "c"]

    assert difference("v", lines, ["a", "b", "c"]) == []
    told = difference("v", lines, ["x", "b", "d"])
    assert {"-a", "+x", "-c"} <= {line.rstrip() for line in told}
    assert "+b" in {line.rstrip() for line in difference("v", ["a"], ["a", "b"])}


def test_the_notebook_runs_and_prints_what_the_verbs_say():
    (code,) = PYTHON.findall(readme())
    printed = io.StringIO()
    names: dict[str, object] = {}
    with copy_of_the_examples(), contextlib.redirect_stdout(printed):
        exec(code, names)
        text = "\n".join(Session().run("scheduler table examples/home --format json"))

    assert len([line for line in code.splitlines() if line.strip()]) <= 18
    zones = json.loads(text)["zones"]
    total_l = sum(month["volume_l"] for zone in zones for month in zone["months"])
    assert names["table"].volume_l.sum() == pytest.approx(total_l, rel=1e-5)
    assert "True" in printed.getvalue()


def test_readme_is_short_enough_to_read():
    assert len(readme().splitlines()) <= MOST_LINES


def test_contents_lead_to_headings():
    headings = re.findall(r"^###? (.*)$", readme(), re.MULTILINE)
    anchors = {heading.lower().replace(" ", "-") for heading in headings}

    links = re.findall(r"\]\(#([^)]*)\)", readme())
    assert len(links) > len(HEADINGS)
    assert set(links) <= anchors
    assert {h.lower().replace(" ", "-") for h in HEADINGS} - set(links) == {"start"}


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


def test_every_path_that_the_guide_names_is_there():
    text = DEVELOPERS.read_text(encoding="utf-8")
    named = set(re.findall(r"`([a-z_]+/[\w/.-]*)`", text))
    roots = ROOT, ROOT / "scheduler"
    there = {path for path in named if any((root / path).exists() for root in roots)}

    assert len(there) > 20
    assert sorted(named - there) == ["cli/VERB.py", "report/views/VERB.py"]


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
    part = re.search(generated_pattern(name), DEVELOPERS.read_text(encoding="utf-8"))

    assert part
    told = difflib.unified_diff(
        part[0].splitlines(), generated(name).splitlines(), "DEVELOPERS", "today"
    )
    assert "\n".join(told) == "", "python tests/test_readme.py mends it"


def generated(name: str) -> str:
    """A generated part with its marks."""
    content = GENERATED[name]()
    return f"<!-- generated: {name} -->\n\n{content}\n<!-- end of generated -->"


def generated_pattern(name: str) -> str:
    return rf"(?s)<!-- generated: {name} -->.*?<!-- end of generated -->"


def test_every_file_of_a_site_is_named():
    text = section("The files")

    for name in FILES:
        if name.endswith(".csv"):
            assert f"`{name}`" in text, name


def test_pictures_are_there_and_small():
    pictures = re.findall(r"^!\[[^\]]+\]\((.*)\)$", readme(), re.MULTILINE)

    assert pictures == [
        f"examples/home/{n}.png" for n in ("coverage", "table", "sheet")
    ]
    for picture, most in zip(pictures, (120_000, 60_000, 90_000), strict=True):
        assert (ROOT / picture).stat().st_size < most


def test_exit_statuses_are_told():
    text = readme().partition("| status |")[2].partition("\n## ")[0]

    rows = re.findall(r"^\| (\d) \|", text, re.MULTILINE)
    told = {0, cli.INPUT_IS_WRONG, cli.LIMIT_NOT_MET, cli.FAULT_OF_OURS}
    assert {int(row) for row in rows} == told


def test_lines_of_options_name_every_format_and_system_of_units():
    text = section("A session")

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
    text = DEVELOPERS.read_text(encoding="utf-8")
    for name in GENERATED:
        text = re.sub(generated_pattern(name), lambda _, n=name: generated(n), text)
    DEVELOPERS.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    refresh()
