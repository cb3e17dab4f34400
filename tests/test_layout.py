"""The package is laid out as DEVELOPERS.md says: rooms, docstrings, units, sources."""

from __future__ import annotations

import ast
import csv
import dataclasses
import importlib
import inspect
import pkgutil
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import scheduler
from scheduler.lines import Line
from scheduler.report.formulas import FUNCTIONS, METHOD, QUANTITIES

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "scheduler"
FILES = sorted(PACKAGE.rglob("*.py"))
TEST_FILES = sorted((ROOT / "tests").rglob("*.py"))

# DEVELOPERS.md, Rooms. What stands at the top of the package is room 0, but for the
# verbs.
ROOMS = {
    "tables": 0,
    "inputs": 1,
    "rates": 2,
    "demand": 2,
    "soil": 2,
    "plan": 3,
    "proof": 4,
    "budget": 4,
    "findings": 5,
    "report": 6,
    "cli": 7,
    "__main__": 8,
}
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "scheduler",
    "tests",
    "climate_samples",
    "examples",
}
MOST_LINES = 500
FORMULA_ROOMS = ("rates", "demand", "soil")
# Parts of formulas, public only because another module takes them by name: one is shown
# by `explain`, the other counts water in whole units.
PARTS_OF_FORMULAS = ("driest_quarter", "water_units")
SECTIONS = ("Parameters", "Returns", "Raises", "Notes", "References", "Examples")
# Longest endings first: `_mm_h` before `_h`.
UNITS = {
    "_mj_m2_day": "MJ/m²/day",
    "_mm_day": "mm/day",
    "_l_min": "L/min",
    "_ds_m": "dS/m",
    "_mm_h": "mm/h",
    "_mm_m": "mm/m",
    "_m_s": "m/s",
    "_kpa": "kPa",
    "_percent": "%",
    "_deg": "°",
    "_rad": "rad",
    "_min": "min",
    "_mm": "mm",
    "_m2": "m²",
    "_m": "m",
    "_c": "°C",
    "_h": "h",
    "_l": "L",
}
# Sources that are no publication: their words say all there is to say.
NO_PUBLICATION = (
    "None",
    "calendar",
    "common practice",
    "definition",
    "geometry",
    "length of the month",
    "never above rain or need, never below 0",
    "rule of this program",
    "the root zone holds no more",
    "water balance",
)
# Keys in a source: capitals, digits and hyphens, or a part of the handbook.
KEY = re.compile(r"NEH \d+|[A-Z]{2,}\d*(?:-[A-Z]+\d*)*")


def room_of(module: str) -> str:
    """Room of a module of the package; "" for room 0 at the top."""
    parts = module.split(".")
    name = parts[1] if len(parts) > 1 else ""
    return name if name in ROOMS else ""


def number_of(room: str) -> int:
    """Number of a room."""
    return ROOMS.get(room, 0)


def module_name(path: Path) -> str:
    """Dotted name of a file of the package."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(part for part in parts if part != "__init__")


def imports_of(path: Path) -> Iterator[str]:
    """Modules of the package that a file imports, wherever in it."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            assert node.level == 0, f"{path.name} imports relatively"
            names = [f"{node.module}.{alias.name}" for alias in node.names]
        else:
            continue
        yield from (name for name in names if name.split(".")[0] == "scheduler")


def modules() -> list[str]:
    """Every module of the package but the one that runs it."""
    found = pkgutil.walk_packages(scheduler.__path__, "scheduler.")
    return [module.name for module in found if module.name != "scheduler.__main__"]


def lines_of_package() -> dict[str, Line]:
    """Every Line of the package by the name of its constant."""
    found = {}
    for name in modules():
        for constant, value in vars(importlib.import_module(name)).items():
            if isinstance(value, Line):
                found.setdefault(f"{name}.{constant}", value)
    return found


def formulas() -> list[tuple[str, object]]:
    """Public functions of the formula rooms that take arrays."""
    found = []
    for name in modules():
        if room_of(name) not in FORMULA_ROOMS or name.endswith(".domain"):
            continue
        for function, value in vars(importlib.import_module(name)).items():
            own = inspect.isfunction(value) and value.__module__ == name
            if function.startswith("_") or function in PARTS_OF_FORMULAS:
                continue
            if own and _is_formula(value):
                found.append((f"{name}.{function}", value))
    return found


def _is_formula(function: object) -> bool:
    """Whether it takes arrays only, no records: those are steps."""
    kinds = [str(p.annotation) for p in inspect.signature(function).parameters.values()]
    arrays = [bool(re.search("ArrayLike|ndarray|NDArray", kind)) for kind in kinds]
    return any(arrays) and all(
        is_array or kind in ("int", "float")
        for is_array, kind in zip(arrays, kinds, strict=True)
    )


def sections_of(function: object) -> dict[str, str]:
    """Text of a docstring's sections."""
    text = inspect.getdoc(function) or ""
    pieces = re.split(r"^(\w+)\n-{3,}\n", text, flags=re.MULTILINE)
    return dict(zip(pieces[1::2], pieces[2::2], strict=True))


def test_rooms_import_one_way():
    wrong = []
    for path in FILES:
        importer = room_of(module_name(path))
        for imported in imports_of(path):
            room = room_of(imported)
            if room == importer:
                continue
            if number_of(room) > number_of(importer) or (
                number_of(room) == number_of(importer) != 0
            ):
                wrong.append(f"{module_name(path)} imports {imported}")

    assert wrong == []


def test_every_folder_of_the_package_is_a_room():
    folders = {path.name for path in PACKAGE.iterdir() if path.is_dir()}

    assert folders - {"__pycache__"} <= set(ROOMS)


@pytest.mark.parametrize("paths", [FILES, TEST_FILES], ids=["modules", "tests"])
def test_no_file_is_over_500_lines(paths):
    counts = {
        str(path.relative_to(ROOT)): len(path.read_text(encoding="utf-8").splitlines())
        for path in paths
    }

    assert counts
    assert {name: n for name, n in counts.items() if n > MOST_LINES} == {}


def test_room_files_hold_a_docstring_and_re_exports_only():
    for path in PACKAGE.rglob("__init__.py"):
        body = ast.parse(path.read_text(encoding="utf-8")).body

        assert isinstance(body[0], ast.Expr), path
        assert all(isinstance(n, ast.ImportFrom | ast.Assign) for n in body[1:]), path


def test_only_cli_catches_every_exception():
    found = []
    for path in FILES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ExceptHandler):
                caught = "" if node.type is None else ast.unparse(node.type)
                if caught == "" or re.search(r"\b(Base)?Exception\b", caught):
                    found.append(module_name(path))

    assert found == ["scheduler.cli.app"]


def test_only_write_opens_files_for_writing():
    found = set()
    for path in FILES:
        text = path.read_text(encoding="utf-8")
        if re.search(r"write_text|write_bytes|open\([^)]*[\"'][wax]|fdopen", text):
            found.add(module_name(path))

    assert found == {"scheduler.write"}


def test_top_level_of_the_repository_holds_what_is_agreed():
    if not (ROOT / ".git").exists():
        pytest.skip("not a checkout")
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.splitlines()

    names = {name.split("/")[0] for name in listed}
    assert {name for name in names if not name.startswith(".")} <= TOP_LEVEL


@pytest.mark.parametrize(("name", "function"), formulas())
def test_formula_has_every_section_in_its_docstring(name, function):
    assert tuple(sections_of(function)) == SECTIONS


@pytest.mark.parametrize(("name", "function"), formulas())
def test_formula_tells_the_unit_that_its_names_end_in(name, function):
    text = sections_of(function)["Parameters"]
    told = dict(re.findall(r"^(\w+) : .*\n((?:    .*\n?)+)", text, flags=re.MULTILINE))

    assert list(told) == list(inspect.signature(function).parameters)
    for argument, meaning in told.items():
        unit = re.search(r"\[([^\]]+)\]\s*$", meaning)
        assert unit, f"{argument} has no unit"
        for ending, expected in UNITS.items():
            if argument.endswith(ending):
                assert unit[1] == expected, argument
                break


@pytest.mark.parametrize(("name", "function"), formulas())
def test_formula_tells_the_unit_of_what_it_returns(name, function):
    assert re.search(r"\[[^\]]+\]\s*$", sections_of(function)["Returns"])


def test_every_line_speaks_of_known_quantities():
    unknown = set()
    for line in lines_of_package().values():
        for formula in (line.si, line.us):
            unknown.update(re.findall(r"[a-z_]+[a-z_0-9]*", formula))
        unknown.add(line.name)

    assert unknown - set(QUANTITIES) - set(FUNCTIONS) == set()


def test_every_line_is_in_the_method():
    in_method = [line for _, lines in METHOD for line in lines]

    missing = [n for n, line in lines_of_package().items() if line not in in_method]
    assert missing == []


def developers(heading: str) -> str:
    """Text below a heading of DEVELOPERS.md."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    return re.search(rf"^## {heading}\n(.*?)(?=^## )", text, flags=re.M | re.S)[1]


def test_every_module_has_its_place_under_rooms():
    rooms = developers("Rooms")
    names = {path.name for path in FILES} - {"__init__.py"}

    assert [name for name in sorted(names) if f"`{name}`" not in rooms] == []


def test_rooms_have_their_numbers_under_rooms():
    told = {}
    for number, cell in re.findall(
        r"^\| (\d) \| ([^|]*) \|", developers("Rooms"), re.M
    ):
        told.update(dict.fromkeys(re.findall(r"`(\w+)/`", cell), int(number)))

    assert told == {
        room: number
        for room, number in ROOMS.items()
        if room not in ("tables", "cli", "__main__")
    }


def unit_of(name: str) -> str:
    """Unit that a name ends in, or ""."""
    return next((unit for end, unit in UNITS.items() if name.endswith(end)), "")


def names_in(path: Path) -> set[str]:
    """Names that a file's code uses."""
    nodes = list(ast.walk(ast.parse(path.read_text(encoding="utf-8"))))
    names = {node.id for node in nodes if isinstance(node, ast.Name)}
    return names | {node.attr for node in nodes if isinstance(node, ast.Attribute)}


def fields_of_records() -> set[str]:
    """Fields with a unit in their name, of public records that cross rooms.

    A record crosses where another room imports it or its module and uses its name. What
    stays in a room is explained by its own docstring; rows on it here would be noise.
    """
    uses = [(room_of(module_name(p)), {*imports_of(p)}, names_in(p)) for p in FILES]
    found = set()
    for name in modules():
        for record, value in vars(importlib.import_module(name)).items():
            if not dataclasses.is_dataclass(value) or value.__module__ != name:
                continue
            crosses = any(
                room != room_of(name)
                and record in names
                and {name, f"{name}.{record}"} & imported
                for room, imported, names in uses
            )
            if crosses and not record.startswith("_"):
                fields = {f.name for f in dataclasses.fields(value)}
                found |= {field for field in fields if unit_of(field)}
    return found


def test_records_that_cross_rooms_are_found():
    assert {"allowed_depletion_mm", "rate_mm_h", "starts_min"} <= fields_of_records()
    assert {"west_m", "apart_min"} & fields_of_records() == set()


@pytest.mark.parametrize("name", sorted(fields_of_records()))
def test_every_field_that_crosses_rooms_with_a_unit_is_in_the_glossary(name):
    end = next(end for end in UNITS if name.endswith(end))
    rows = re.findall(r"^\| (`.*`) \| (.*?) \|", developers("Glossary"), re.MULTILINE)
    units = {word: unit for cell, unit in rows for word in re.findall(r"`(\w+)`", cell)}

    told = units.get(name, units.get(name.removesuffix(end)))
    assert told == UNITS[end]


def source_rows() -> list[str]:
    """Rows of the table under Sources."""
    return re.findall(r"^\| `.*$", developers("Sources"), flags=re.MULTILINE)


def source_keys() -> list[str]:
    """Keys listed under Sources; a row may give a source two names."""
    cells = [row.split(" | ")[0] for row in source_rows()]
    return [key for cell in cells for key in re.findall(r"`([^`]+)`", cell)]


def test_every_source_is_listed_once_with_how_it_was_read():
    keys = source_keys()

    assert len(keys) == len(set(keys))
    for row in source_rows():
        assert re.search(r"\| (read|second-hand|from memory)\b[^|]*\|$", row), row


def sources_of_the_code() -> list[str]:
    """Sources of the lines and of the formulas' References."""
    texts = {line.source for line in lines_of_package().values()}
    for _, function in formulas():
        texts.add(" ".join(sections_of(function).get("References", "").split()))
    return sorted(texts - {""})


@pytest.mark.parametrize("text", sources_of_the_code())
def test_every_source_of_lines_and_references_is_listed(text):
    keys = source_keys()

    assert text.startswith((*keys, *NO_PUBLICATION))
    assert set(KEY.findall(text)) <= set(keys)


@pytest.mark.parametrize(
    "name",
    [
        "head_kinds.csv",
        "meters.csv",
        "pipes.csv",
        "plants.csv",
        "slopes.csv",
        "soils.csv",
        "spacing.csv",
    ],
)
def test_every_source_of_the_tables_is_listed(name):
    with (PACKAGE / "tables" / name).open(encoding="utf-8") as stream:
        sources = {row["source"] for row in csv.DictReader(stream)}
    known = tuple(source_keys())

    for source in sources:
        for part in source.split("; "):
            named = re.sub(r"^taken as [a-z ]+: ", "", part).replace("FAO-", "FAO")
            assert named.startswith(known) or "common practice" in part, part


def run_python(code: str) -> subprocess.CompletedProcess[str]:
    """A fresh interpreter at the root of the repository."""
    return subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True
    )


RUN = "import sys; from scheduler.cli import status; rc = status({arguments!r}); "
FAIL_IF_LOADED = (
    "bad = [m for m in {modules!r} if m in sys.modules]; sys.exit(rc or 9 * bool(bad))"
)


@pytest.mark.parametrize(
    "arguments", [["--help"], ["table", "--help"], ["explain", "--help"]]
)
def test_help_loads_neither_numpy_nor_anything_heavier(arguments):
    heavy = ["numpy", "pandas", "pvlib", "scipy", "matplotlib", "tabulate", "openpyxl"]
    code = RUN.format(arguments=arguments) + FAIL_IF_LOADED.format(modules=heavy)

    ended = run_python(code)
    assert (ended.returncode, ended.stderr) == (0, "")


@pytest.mark.parametrize(
    "arguments",
    [
        ["table", "examples/home"],
        ["check", "examples/home"],
        ["explain", "examples/home", "--zone", "1", "--month", "7"],
    ],
)
def test_a_single_site_needs_nothing_heavy_but_numpy(arguments):
    heavy = ["pandas", "pvlib", "scipy", "matplotlib", "openpyxl"]
    code = RUN.format(arguments=arguments) + FAIL_IF_LOADED.format(modules=heavy)

    ended = run_python(code)
    assert (ended.returncode, ended.stderr) == (0, "")
