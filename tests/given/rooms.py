"""The rooms of the package and their floors, in the order that data flows in."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "scheduler"
FILES = sorted(PACKAGE.rglob("*.py"))

# Number and floors of each room. "" is the room's own floor; a floor imports from those
# named before it, never from those after it.
ROOMS: dict[str, tuple[int, tuple[str, ...]]] = {
    "": (0, ("",)),
    "tables": (0, ("",)),
    "inputs": (1, ("forms", "weather", "sources", "")),
    "rates": (2, ("", "coverage", "choice")),
    "demand": (2, ("et0", "")),
    "soil": (2, ("",)),
    "balance": (3, ("",)),
    "plan": (4, ("times", "plantings", "", "night", "card")),
    "budget": (5, ("", "less")),
    "findings": (6, ("",)),
    "report": (7, ("", "words", "views", "pictures", "pages", "books")),
    "cli": (8, ("", "heads", "season", "questions", "handbook")),
}
# Modules at the top of the package that stand in the last room.
LAST = ("library", "__main__")


def module_name(path: Path) -> str:
    """Dotted name of a file of the package."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(part for part in parts if part != "__init__")


MODULES = {module_name(path): path for path in FILES}


def room_of(module: str) -> str:
    """Room of a module of the package; "" for what stands at its top."""
    parts = module.split(".")
    name = parts[1] if len(parts) > 1 else ""
    if name in LAST:
        return "cli"
    return name if name in ROOMS else ""


def floor_of(module: str) -> str:
    """Floor that a module stands on; "" for the room's own."""
    folder = MODULES[module].parent.relative_to(PACKAGE).parts
    return folder[1] if len(folder) > 1 else ""


def number_of(room: str) -> int:
    """Number of a room."""
    return ROOMS[room][0]


@cache
def tree_of(path: Path) -> ast.Module:
    """A file's code, read once."""
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def imports_of(path: Path) -> tuple[str, ...]:
    """Modules of the package that a file imports when it runs, wherever in it."""
    return tuple(_imported(path))


def _imported(path: Path) -> Iterator[str]:
    for node in _running(tree_of(path)):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            assert node.level == 0, f"{path.name} imports relatively"
            names = [f"{node.module}.{alias.name}" for alias in node.names]
        else:
            continue
        for name in names:
            while name not in MODULES and "." in name:
                name = name.rpartition(".")[0]
            if name in MODULES:
                yield name


def _running(node: ast.AST) -> Iterator[ast.AST]:
    """Nodes below a node, without what only a checker of types reads."""
    for child in ast.iter_child_nodes(node):
        checked = isinstance(child, ast.If) and "TYPE_CHECKING" in ast.unparse(
            child.test
        )
        if not checked:
            yield child
            yield from _running(child)


def about(path: Path) -> str:
    """First line of a module's docstring."""
    text = ast.get_docstring(tree_of(path)) or ""
    return text.partition("\n")[0]


def room_map() -> str:
    """Every room, floor and module of the package with what it is about, as markdown.

    A room, a floor and a module have a line each: its name, and its docstring's first.
    """
    lines: list[str] = []
    for room, (number, floors) in ROOMS.items():
        if room == "tables":
            continue
        name = f"{number} {room}/" if room else f"{number} scheduler/"
        lines += ["", _line(name, about(PACKAGE / room / "__init__.py"), 0)]
        for floor in floors:
            lines += _folder_lines(PACKAGE / room / floor, 2, floor)
        if not room:
            lines.append(_line("tables/", about(PACKAGE / "tables" / "__init__.py"), 2))
        if room == "cli":
            lines += [_line(f"../{name}.py", about(PACKAGE / f"{name}.py"), 2)
                      for name in LAST]  # fmt: skip
    return "\n".join(["```text", *lines[1:], "```", ""])


def _folder_lines(folder: Path, indent: int, floor: str) -> Iterator[str]:
    """Modules of a folder; those of a floor stand under its name, with its folders."""
    if floor:
        yield _line(f"{floor}/", about(folder / "__init__.py"), indent)
        indent += 2
    for path in sorted(folder.glob("*.py")):
        last = folder == PACKAGE and path.stem in LAST
        if path.stem != "__init__" and not last:
            yield _line(path.name, about(path), indent)
    if floor:
        for package in sorted(folder.glob("*/__init__.py")):
            yield from _folder_lines(package.parent, indent, package.parent.name)


def _line(name: str, told: str, indent: int) -> str:
    return f"{' ' * indent}{name}".ljust(26) + told
