"""Sentences, headings and labels stand in `report/words/`, nowhere else in `report/`.

design.md, Rooms: words/ holds every sentence; views make blocks from records.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import jinja2
import pytest
from rooms import PACKAGE

REPORT = PACKAGE / "report"
TEMPLATES = sorted((REPORT / "pages" / "templates").glob("*.html"))
WORDLESS = ("views", "pages", "pictures", "books")
"""Floors of the report that hold no words of their own."""

NO_WORDS = {
    "DejaVu Sans": "a font",
    "Glyph .* missing from": "a warning of the drawing library",
    "-//scheduler//controller card//EN": "an identifier by RFC 5545",
}
"""Text that is no language, and what it is."""

BLOCKS = {"Heading", "Paragraph", "Notes", "Terms", "Entry", "Formulas", "Column"}
SPOKEN_ATTRIBUTES = {"alt", "aria-label", "placeholder", "title"}
LETTERS = re.compile(r"[^\W\d_]{2,}")
TWO_WORDS = re.compile(r"[^\W\d_]{2,}[^\w\n]*\s+[^\w\n]*[^\W\d_]{2,}")
A_WORD_BESIDE_A_SPACE = re.compile(r"[^\W\d_]{2,}[^\w\s]*\s|\s[^\w\s]*[^\W\d_]{2,}")


def modules() -> list[Path]:
    """Modules of the floors without words."""
    return [
        path for floor in WORDLESS for path in sorted((REPORT / floor).rglob("*.py"))
    ]


def words_in(source: str) -> list[str]:
    """Text of a module that people would read: sentences, and what blocks say.

    Docstrings are for whoever carries the program on; what is compared or looked up by
    is a code.
    """
    tree = ast.parse(source)
    silent = {id(node) for node in _silent(tree)}
    found = [
        text
        for node in ast.walk(tree)
        if id(node) not in silent
        for text in [_text(node)]
        if text is not None and _is_read(node, text)
    ]
    return found + [text for text in _said_by_blocks(tree) if text not in found]


def _silent(tree: ast.AST) -> Iterator[ast.AST]:
    """Docstrings, what is compared or looked up by, and the pieces of an f-string."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef):
            yield from (n.value for n in node.body if isinstance(n, ast.Expr))
        elif isinstance(node, ast.Compare):
            yield from (node.left, *node.comparators)
        elif isinstance(node, ast.Subscript):
            yield node.slice
        elif isinstance(node, ast.JoinedStr):
            yield from (part for part in node.values if isinstance(part, ast.Constant))
            formats = (n for n in ast.walk(node) if isinstance(n, ast.FormattedValue))
            yield from (n.format_spec for n in formats if n.format_spec)


def _text(node: ast.AST) -> str | None:
    """Text that a node writes, with `{}` for what is put in; None for other nodes."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(
            str(part.value) if isinstance(part, ast.Constant) else "{}"
            for part in node.values
        )
    return None


def _is_read(node: ast.AST, text: str) -> bool:
    """Whether text is words, not a name: in an f-string one word beside a space."""
    if text in NO_WORDS:
        return False
    words = A_WORD_BESIDE_A_SPACE if isinstance(node, ast.JoinedStr) else TWO_WORDS
    return bool(words.search(text))


def _said_by_blocks(tree: ast.AST) -> Iterator[str]:
    """Text given to a block as it stands, in a call or in a list for `sections`."""
    for call in ast.walk(tree):
        if not isinstance(call, ast.Call) or not isinstance(call.func, ast.Name):
            continue
        if call.func.id in BLOCKS:
            texts = [_text(argument) for argument in call.args]
        elif call.func.id == "sections":
            texts = [
                _text(pair.elts[0])
                for pair in ast.walk(call)
                if isinstance(pair, ast.Tuple) and pair.elts
            ]
        else:
            continue
        yield from (text for text in texts if text and LETTERS.search(text))


class _Page(HTMLParser):
    """Text that a reader of a page is shown or read out."""

    def __init__(self) -> None:
        super().__init__()
        self.said: list[str] = []
        self.element = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.element = tag
        self.said += [
            value or ""
            for name, value in attrs
            if name in SPOKEN_ATTRIBUTES and LETTERS.search(value or "")
        ]

    def handle_endtag(self, tag: str) -> None:
        self.element = ""

    def handle_data(self, data: str) -> None:
        if self.element != "style" and LETTERS.search(data):
            self.said.append(data.strip())


def words_of_template(source: str) -> list[str]:
    """Words of a template: letters outside tags, blocks and names of data."""
    page, inside = "", ""
    for _, kind, value in jinja2.Environment().lex(source):
        if kind in ("block_begin", "variable_begin"):
            inside = kind
        elif kind in ("block_end", "variable_end"):
            inside = ""
        elif kind == "data" or (kind == "string" and inside == "variable_begin"):
            page += value if kind == "data" else str(ast.literal_eval(value))
    parser = _Page()
    parser.feed(page)
    parser.close()
    return parser.said


def test_floors_without_words_hold_none():
    paths = modules()
    found = {
        str(path.relative_to(REPORT)): words
        for path in paths
        if (words := words_in(path.read_text(encoding="utf-8")))
    }

    assert len(paths) > 20
    assert found == {}


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_templates_hold_no_words(path):
    assert words_of_template(path.read_text(encoding="utf-8")) == []


def test_there_are_templates():
    assert [path.name for path in TEMPLATES] == [
        "agency.html",
        "field.html",
        "sheet.html",
    ]


@pytest.mark.parametrize(
    ("source", "words"),
    [
        ('"""About it all."""', []),
        ('name = "base_minutes"', []),
        ('if source == "head imbalance": pass', []),
        ('FILES["monthly climate"]', []),
        ('f"{cycles} x {minutes:.0f}"', []),
        ('f"{month}_percent"', []),
        ('text = "No zone runs."', ["No zone runs."]),
        ('text = f"{count} zones"', ["{} zones"]),
        ('Heading("Supply", 3)', ["Supply"]),
        ('Column("flow", "supply", [])', ["flow", "supply"]),
        ('sections([("Cautions", lines)])', ["Cautions"]),
        ("sections([(words.CAUTIONS, lines)])", []),
    ],
)
def test_words_in_finds_what_people_would_read(source, words):
    assert words_in(source) == words


@pytest.mark.parametrize(
    ("source", "words"),
    [
        ('<p class="key{{ " many" if many }}">{{ line | join(" ") }}</p>', []),
        ("<style>p { color: red }</style>{% if a %}<br>{% endif %}", []),
        ("{# A note. #}<h2>{{ words.TITLE }}</h2>", []),
        ("<h2>Title</h2>", ["Title"]),
        ('<p>{{ "off" if off }}</p>', ["off"]),
        ('<svg aria-label="A year"></svg>', ["A year"]),
    ],
)
def test_words_of_template_finds_what_readers_are_shown(source, words):
    assert words_of_template(source) == words
