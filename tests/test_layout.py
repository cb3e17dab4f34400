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
from functools import cache
from pathlib import Path

import pytest
from rooms import (
    FILES,
    MODULES,
    PACKAGE,
    ROOMS,
    ROOT,
    floor_of,
    imports_of,
    module_name,
    number_of,
    room_of,
    tree_of,
)

import scheduler
from scheduler.lines import Line
from scheduler.report.formulas import FUNCTIONS, METHOD, QUANTITIES

TEST_FILES = sorted((ROOT / "tests").rglob("*.py"))

MOST_MODULES = 12
"""Modules on one floor; more, and the room wants another floor, named by its noun."""
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
    "_mm_min": "mm/min",
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


@cache
def modules() -> list[str]:
    """Every module of the package but the one that runs it."""
    found = pkgutil.walk_packages(scheduler.__path__, "scheduler.")
    return [module.name for module in found if module.name != "scheduler.__main__"]


@cache
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


def imports() -> dict[str, set[str]]:
    """Modules that each module imports when it runs."""
    return {name: {*imports_of(path)} - {name} for name, path in MODULES.items()}


def test_rooms_import_one_way():
    wrong = []
    for importer, imported in imports().items():
        here = room_of(importer)
        for module in sorted(imported):
            room = room_of(module)
            if room != here and number_of(room) >= number_of(here) > 0:
                wrong.append(f"{importer} imports {module}")
            if room != here and here == "tables":
                wrong.append(f"{importer} imports {module}")

    assert wrong == []


def test_the_top_of_the_package_imports_no_room():
    wrong = [
        f"{importer} imports {module}"
        for importer, imported in imports().items()
        for module in sorted(imported)
        if room_of(importer) == "" and room_of(module) not in ("", "tables")
    ]

    # The names of the public library, when one of them is first asked for.
    assert wrong == ["scheduler imports scheduler.library"]


def test_floors_of_a_room_import_one_way():
    wrong = []
    for importer, imported in imports().items():
        room = room_of(importer)
        _, floors = ROOMS[room]
        if MODULES[importer].stem == "__init__":
            continue  # It gives others the names of its floors.
        for module in sorted(imported):
            if room_of(module) != room or MODULES[module].stem == "__init__":
                continue
            here, there = floor_of(importer), floor_of(module)
            if floors.index(there) > floors.index(here):
                wrong.append(f"{importer} imports {module}")

    assert wrong == []


def in_circles(imported: dict[str, set[str]]) -> list[str]:
    """Modules that import themselves by way of others, and those between two such.

    What none of the rest imports, and what imports none of the rest, is in no circle:
    it is taken away until nothing of the kind is left.
    """
    rest = {name: set(names) for name, names in imported.items()}
    while True:
        named = {name for names in rest.values() for name in names}
        ends = {n for n, names in rest.items() if not names or n not in named}
        if not ends:
            return sorted(rest)
        rest = {n: names - ends for n, names in rest.items() if n not in ends}


def test_no_module_imports_itself_by_way_of_others():
    assert in_circles(imports()) == []


def test_a_circle_is_found():
    drawn = {"a": {"b"}, "b": {"c"}, "c": {"b"}, "d": {"a"}, "e": set()}

    assert in_circles(drawn) == ["b", "c"]
    assert in_circles({"a": {"b"}, "b": set()}) == []


def test_a_room_has_the_floors_that_are_named():
    for room, (_, floors) in ROOMS.items():
        folder = PACKAGE / room
        found = {path.parent.name for path in folder.glob("*/__init__.py")}
        if room:
            assert found == set(floors) - {""}, room


def test_no_floor_has_over_a_dozen_modules():
    counts: dict[str, int] = {}
    for path in FILES:
        if path.stem == "__init__":
            continue
        floor = str(path.parent.relative_to(ROOT))
        counts[floor] = counts.get(floor, 0) + 1

    assert {floor: n for floor, n in counts.items() if n > MOST_MODULES} == {}


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
        if path.parent == PACKAGE:
            continue  # It gives the names of the library when they are asked for.
        body = tree_of(path).body

        assert isinstance(body[0], ast.Expr), path
        assert all(isinstance(n, ast.ImportFrom | ast.Assign) for n in body[1:]), path


def test_only_cli_catches_every_exception():
    found = []
    for path in FILES:
        for node in ast.walk(tree_of(path)):
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


def unit_of(name: str) -> str:
    """Unit that a name ends in, or ""."""
    return next((unit for end, unit in UNITS.items() if name.endswith(end)), "")


def names_in(path: Path) -> set[str]:
    """Names that a file's code uses."""
    nodes = list(ast.walk(tree_of(path)))
    names = {node.id for node in nodes if isinstance(node, ast.Name)}
    return names | {node.attr for node in nodes if isinstance(node, ast.Attribute)}


@cache
def fields_of_records() -> set[str]:
    """Fields with a unit in their name, of public records that cross rooms.

    A record crosses where another room imports it or its module and uses its name. What
    stays in a room is explained by its own docstring; rows on it here would be noise.
    """
    uses = [(room_of(module_name(p)), imports_of(p), names_in(p)) for p in FILES]
    found = set()
    for name in modules():
        for record, value in vars(importlib.import_module(name)).items():
            if not dataclasses.is_dataclass(value) or value.__module__ != name:
                continue
            crosses = any(
                room != room_of(name) and record in names and name in imported
                for room, imported, names in uses
            )
            if crosses and not record.startswith("_"):
                fields = {f.name for f in dataclasses.fields(value)}
                found |= {field for field in fields if unit_of(field)}
    return found


def test_records_that_cross_rooms_are_found():
    assert {"allowed_depletion_mm", "rate_mm_h", "starts_min"} <= fields_of_records()
    assert {"west_m", "apart_min"} & fields_of_records() == set()


def test_every_field_that_crosses_rooms_with_a_unit_is_in_the_glossary():
    rows = re.findall(r"^\| (`.*`) \| (.*?) \|", developers("Glossary"), re.MULTILINE)
    units = {word: unit for cell, unit in rows for word in re.findall(r"`(\w+)`", cell)}
    wrong = []
    for name in sorted(fields_of_records()):
        end = next(end for end in UNITS if name.endswith(end))
        told = units.get(name, units.get(name.removesuffix(end)))
        if told != UNITS[end]:
            wrong.append(f"{name}: {told}")

    assert wrong == []


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
