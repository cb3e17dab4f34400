"""What a report is made of, and how text, markdown and html draw it.

A view makes blocks from records, in plain words; what a format needs around them, and
what it may not take as it stands, is known here alone.
"""

from __future__ import annotations

import html as markup
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from textwrap import wrap

import tabulate

from scheduler.report import shown
from scheduler.report.frames import Table

# Columns need no room beyond their cells; 100 columns have to hold a zone's months.
tabulate.MIN_PADDING = 0

WIDTH = 100
INDENT = "  "


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading with the lines right under it: 1 for a report, 2 a part, 3 a table.

    Where it `runs_on`, text has it and its lines as one paragraph.
    """

    text: str
    level: int
    lines: Sequence[str] = ()
    runs_on: bool = False


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Sentences that belong together; text begins a line for each."""

    lines: Sequence[str]
    indent: str = INDENT


@dataclass(frozen=True, slots=True)
class Notes:
    """A list, with its heading if it has one."""

    lines: Sequence[str]
    title: str = ""
    indent: str = INDENT
    numbered: bool = False


@dataclass(frozen=True, slots=True)
class Terms:
    """Names, each with what is told of it."""

    entries: Sequence[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Entry:
    """Something to key in: its name, labels with what they say, and a table."""

    title: str
    labelled: Sequence[tuple[str, str]]
    table: Table


@dataclass(frozen=True, slots=True)
class Formula:
    """A value with its source; in words and numbers where it is worked out."""

    name: str
    value: str
    source: str
    words: str
    numbers: str


@dataclass(frozen=True, slots=True)
class Formulas:
    """One part of a working."""

    title: str
    steps: Sequence[Formula]


Block = Heading | Paragraph | Notes | Terms | Entry | Formulas | Table
"""All that reports are made of."""


def around(blocks: Iterable[Block]) -> list[str]:
    """What is told beside the tables, a line each.

    What stands between them is told under the heading that it has in the text.
    """
    parts = list(blocks)
    tables = [row for row, one in enumerate(parts) if isinstance(one, Table | Entry)]
    first, last = (tables[0], tables[-1]) if tables else (len(parts), len(parts))
    told: list[str] = []
    heading: list[str] = []
    for row, one in enumerate(parts):
        match one:
            case Notes(lines, title) if title or not first < row < last:
                told += [*([title] if title else []), *lines]
            case Heading(said, level, lines) if level == 1:
                told += [said, *lines]
            case Heading(said):
                heading = [said]
            case Paragraph(lines):
                told += [*(heading if first < row < last else []), *lines]
                heading = []
    return told


def noted(blocks: Iterable[Block], title: str) -> list[str]:
    """Lines of the list under a title."""
    return [
        line
        for block in blocks
        if isinstance(block, Notes) and block.title == title
        for line in block.lines
    ]


def sections(parts: Iterable[tuple[str, Sequence[str]]]) -> list[Block]:
    """Notes for each title that has lines."""
    return [Notes(lines, title) for title, lines in parts if lines]


def text(blocks: Iterable[Block], units: str) -> str:
    """Blocks as plain text within 100 columns."""
    return "\n\n".join(_text(block, units) for block in blocks) + "\n"


def _text(block: Block, units: str) -> str:
    clean = shown.visible
    match block:
        case Table():
            return grid(block, units)
        case Heading(said, _, lines, True):
            return "\n".join(_wrapped([clean(" ".join([said, *lines]))]))
        case Heading(said, level, lines):
            return "\n".join(
                [*_headed(clean(said), level), *_wrapped(map(clean, lines))]
            )
        case Paragraph(lines, indent):
            return "\n".join(_wrapped(map(clean, lines), indent))
        case Notes(lines, title, indent, numbered):
            head = _headed(clean(title), 2) if title else []
            told = _numbered(lines) if numbered else lines
            return "\n".join([*head, *_wrapped(map(clean, told), indent)])
        case Terms(entries):
            rows = [row for entry in entries for row in _term(*map(clean, entry))]
            return "\n".join(rows)
        case Entry(title, labelled, table):
            rows = [row for pair in labelled for row in _labelled(*map(clean, pair))]
            drawn = grid(table, units).split("\n")
            return "\n".join([clean(title), *rows, *(INDENT + row for row in drawn)])
        case Formulas(title, steps):
            rows = [line for step in steps for line in _step_lines(step)]
            return "\n".join(
                [
                    *_headed(clean(title), 2),
                    *_wrapped(map(clean, rows), 6 * " ", whole_words=True),
                ]
            )


def _headed(said: str, level: int) -> list[str]:
    if level < 3:
        return [said, "=-"[level - 1] * len(said)]
    return _wrapped([said])


def _numbered(lines: Iterable[str]) -> list[str]:
    return [f"{number}. {line}" for number, line in enumerate(lines, 1)]


def _wrapped(
    lines: Iterable[str], indent: str = INDENT, *, whole_words: bool = False
) -> list[str]:
    """Lines of the report's width."""
    return [
        row
        for line in lines
        for row in wrap(
            line,
            WIDTH,
            subsequent_indent=indent,
            break_on_hyphens=False,
            break_long_words=not whole_words,
        )
    ]


def _term(name: str, told: str) -> list[str]:
    """A name, and what is told of it set in below."""
    indent = 2 * INDENT
    return [
        *wrap(name, WIDTH, subsequent_indent=INDENT),
        *wrap(told, WIDTH, initial_indent=indent, subsequent_indent=indent),
    ]


def _labelled(label: str, said: str) -> list[str]:
    """Text beside its label, wrapped under itself, a number on the line of its %."""
    start = f"{INDENT}{label:<10}"
    kept = said.replace(" %", "\u00a0%")
    rows = [
        row.replace("\u00a0", " ")
        for row in wrap(kept, WIDTH - len(start), break_on_hyphens=False)
    ]
    blank = " " * len(start)
    return [(blank if row else start) + line for row, line in enumerate(rows)]


def _step_lines(step: Formula) -> list[str]:
    """The formula in words, then with the numbers put in."""
    if not step.numbers:
        return [f"{step.name}: {step.value}  [{step.source}]"]
    return [
        f"{step.name} = {step.words}",
        f"    = {step.numbers} = {step.value}  [{step.source}]",
    ]


def grid(table: Table, units: str, style: str = "simple") -> str:
    """A table drawn with plain characters; numbers to the right."""
    titles = [column.title(units) for column in table.columns]
    clean = shown.visible
    if style == "pipe":
        clean = shown.for_markdown
        titles = [title.replace("\n", " ") for title in titles]
    columns = [column.cells(units) for column in table.columns]
    return tabulate.tabulate(
        [tuple(map(clean, row)) for row in zip(*columns, strict=True)],
        ["\n".join(map(clean, title.split("\n"))) for title in titles],
        tablefmt=style,
        disable_numparse=True,
        colalign=[alignment(cells) for cells in columns],
    )


def alignment(cells: Sequence[str]) -> str:
    """Side to which a column is set: numbers right, words left."""
    filled = [cell for cell in cells if cell not in ("", "-")]
    numeric = all(cell[0].isdigit() or cell[0] in "-+." for cell in filled)
    return "right" if filled and numeric else "left"


def markdown(blocks: Iterable[Block], units: str) -> str:
    """Blocks as markdown; nothing that people wrote becomes markup."""
    parts = [part for block in blocks for part in _markdown(block, units)]
    return "\n\n".join(parts) + "\n"


def _markdown(block: Block, units: str) -> Iterator[str]:
    clean = shown.for_markdown
    match block:
        case Table():
            yield grid(block, units, "pipe")
        case Heading(said, level, lines):
            yield f"{'#' * min(level, 2)} {clean(said)}"
            if lines:
                yield "  \n".join(map(clean, lines))
        case Paragraph(lines):
            yield " ".join(map(clean, lines))
        case Notes(lines, title, _, numbered):
            if title:
                yield f"## {clean(title)}"
            told = [*map(clean, lines)]
            yield "\n".join(
                _numbered(told) if numbered else [f"- {line}" for line in told]
            )
        case Terms(entries):
            yield "\n".join(f"- **{clean(a)}**: {clean(b)}" for a, b in entries)
        case Entry(title, labelled, table):
            yield f"### {clean(title)}"
            yield "\n".join(f"- {clean(a)}: {clean(b)}" for a, b in labelled)
            yield grid(table, units, "pipe")
        case Formulas(title, steps):
            yield f"## {clean(title)}"
            yield "\n".join(map(_step_item, steps))


def _step_item(step: Formula) -> str:
    name, words, numbers, value, source = map(
        shown.for_markdown,
        (step.name, step.words, step.numbers, step.value, step.source),
    )
    worked_out = f"{words} = {numbers} = " if numbers else ""
    return f"- {name} = {worked_out}**{value}** ({source})"


def html(blocks: Iterable[Block], units: str) -> str:
    """Blocks as a piece of HTML, for a page to hold."""
    return "".join(f"{part}\n" for block in blocks for part in _html(block, units))


def _html(block: Block, units: str) -> Iterator[str]:
    match block:
        case Table():
            yield _html_table(block, units)
        case Heading(said, level, lines):
            yield _element(f"h{min(level, 2)}", said)
            yield from (_element("p", line) for line in lines)
        case Paragraph(lines):
            yield _element("p", " ".join(lines))
        case Notes(lines, title, _, numbered):
            if title:
                yield _element("h2", title)
            yield _html_list(lines, "ol" if numbered else "ul")
        case Terms(entries):
            yield _html_list(f"{name}: {told}" for name, told in entries)
        case Entry(title, labelled, table):
            yield _element("h3", title)
            yield _html_list(f"{label}: {said}" for label, said in labelled)
            yield _html_table(table, units)
        case Formulas(title, steps):
            yield _element("h2", title)
            yield _html_list(" ".join(_step_lines(step)) for step in steps)


def _element(name: str, said: str) -> str:
    return f"<{name}>{markup.escape(shown.visible(said))}</{name}>"


def _html_list(lines: Iterable[str], kind: str = "ul") -> str:
    return f"<{kind}>{''.join(_element('li', line) for line in lines)}</{kind}>"


def _html_table(table: Table, units: str) -> str:
    titles = [column.title(units).replace("\n", " ") for column in table.columns]
    rows = "".join(_html_row("td", row) for row in table.rows(units))
    head = _html_row("th", titles)
    return f"<table><thead>{head}</thead><tbody>{rows}</tbody></table>"


def _html_row(kind: str, cells: Iterable[str]) -> str:
    return f"<tr>{''.join(_element(kind, cell) for cell in cells)}</tr>"
