"""Pages that say what the program knows: fields of files, plants, soils, the method."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from scheduler.calendar import MONTHS
from scheduler.errors import InputError, Problem
from scheduler.inputs import library
from scheduler.inputs.forms.alike import folded, hint_nearest
from scheduler.inputs.forms.columns import accepted_text, quoted
from scheduler.inputs.forms.dimensions import DIMENSIONS
from scheduler.inputs.forms.field import Field
from scheduler.inputs.forms.fields import FILES, SITE_TABLES, STAGE, STAGES_FILE
from scheduler.report.blocks import Block, Heading, Paragraph, Terms
from scheduler.report.formulas import METHOD, in_words, label
from scheduler.report.frames import Table
from scheduler.report.reference import default_text
from scheduler.report.words.books import handbook as words
from scheduler.report.words.rules import RULES

SITE_FILE = "site.toml"


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """A heading with a table below, or with entries: what is told of, and the telling.

    `title` is "" where the page's own title is enough.
    """

    title: str
    table: Table | None = None
    entries: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Page:
    """A page with all that its forms need: parts, the rows of the CSV, and data."""

    title: str
    parts: tuple[Part, ...]
    rows: Table
    content: Mapping[str, Any]
    closing: str = ""


def blocks_of(page: Page) -> list[Block]:
    """The blocks of a page."""
    found: list[Block] = [Heading(page.title, 1)]
    for part in page.parts:
        if part.title:
            found.append(Heading(part.title, 2))
        if part.table is not None:
            found.append(part.table)
        if part.entries:
            found.append(Terms(part.entries))
    if page.closing:
        found.append(Paragraph([page.closing], indent=""))
    return found


def field_page(file: str | None, units: str) -> Page:
    """Every column and key of a file, or of all files; InputError if there is none."""
    groups = [group for group in _groups() if file is None or group[0] == _known(file)]
    flat = [(name, table, field) for name, table, fields in groups for field in fields]
    parts = tuple(
        Part(_group_title(name, table), None, tuple(_told(f, units) for f in fields))
        for name, table, fields in groups
    )
    column = words.FIELDS.column
    columns = (
        column("file", [name for name, _, _ in flat]),
        column("table", [table for _, table, _ in flat]),
        column("names", [" ".join(f.names) for *_, f in flat]),
        column("help", [f.help for *_, f in flat]),
        column("takes", [_takes(f, units) for *_, f in flat]),
        column("blank", [_blank(f, units) for *_, f in flat]),
    )
    content = {"fields": [_field_data(*row) for row in flat]}
    return Page(
        words.FIELDS_TITLE, parts, Table(columns), content, words.FIELDS_CLOSING
    )


def _groups() -> Iterator[tuple[str, str, tuple[Field, ...]]]:
    """File, table and fields, in the order of the registry."""
    for table, fields in SITE_TABLES.items():
        yield SITE_FILE, table, fields
    for file, fields in FILES.items():
        yield file, "", fields
    yield STAGES_FILE, "stage", STAGE
    yield STAGES_FILE, "stage.window", SITE_TABLES["window"]


def _known(file: str) -> str:
    """Name of a file as the registry has it; ".csv" may be left out."""
    names = list(dict.fromkeys(name for name, *_ in _groups()))
    for name in names:
        if folded(file) in (folded(name), folded(name.partition(".")[0])):
            return name
    wrong, hint = words.no_file(quoted(file)), hint_nearest(file, names)
    raise InputError(
        [Problem("scheduler", None, "FILE", wrong, ", ".join(names), hint)]
    )


def _group_title(file: str, table: str) -> str:
    if file == SITE_FILE:
        brackets = f"[[{table}]]" if table == "window" else f"[{table}]"
        return f"{file}, {brackets if table else words.ABOVE_TABLES}"
    return f"{file}, [[{table}]]" if table else file


def _told(field: Field, units: str) -> tuple[str, str]:
    takes = "" if field.kind == "text" else _takes(field, units)
    blank = None if field.required else default_text(field, units)
    return " ".join(field.names), words.field_told(field.help, takes, blank)


def _takes(field: Field, units: str) -> str:
    if field.kind == "text":
        return words.TEXT
    if field.kind == "word" and not field.words:
        return words.NAME_OF_TABLE
    if not field.dimension:
        return accepted_text(field)
    unit = DIMENSIONS[field.dimension].shown(units)
    return f"{accepted_text(field, unit)} {unit.symbol}"


def _blank(field: Field, units: str) -> str:
    return words.NEEDED if field.required else default_text(field, units)


def _field_data(file: str, table: str, field: Field) -> dict[str, Any]:
    values = asdict(field)
    return {
        "file": file,
        "table": table or None,
        "names": field.names,
        **{key: values[key] for key in ("help", "kind", "words", "required")},
        "unit": DIMENSIONS[field.dimension].si.symbol if field.dimension else None,
        "low": field.low,
        "high": field.high,
        "default": field.default,
        "otherwise": field.otherwise or None,
    }


def plant_page() -> Page:
    """The package's plants with their usual values."""
    plants = library.package_plants()
    coefficient = plants.coefficient
    least, most = coefficient.min(axis=1).tolist(), coefficient.max(axis=1).tolist()
    told = [_range(low, high) for low, high in zip(least, most, strict=True)]
    two = "{:.2f}".format
    column = words.PLANTS.column
    names = column("plant", plants.names)
    salt = plants.salt_threshold_ds_m.tolist()
    shortest, longest = (gap.tolist() for gap in (
        plants.shortest_gap_days, plants.longest_gap_days
    ))  # fmt: skip
    gaps = [f"{low:.0f}-{high:.0f}" if low > 1 else f"{high:.0f}"
            for low, high in zip(shortest, longest, strict=True)]  # fmt: skip
    roots = (
        column("root_depth", plants.root_depth_mm.tolist(), "depth"),
        column("depletion", plants.depletion.tolist(), text=two),
    )
    last = (
        column("salt_threshold_ds_m", salt, text=_or_blank),
        column("status", plants.statuses),
    )
    by_gap = (
        column("longest_gap_days", longest),
        column("shortest_gap_days", shortest),
    )
    by_month = [
        column(f"coefficient_{month}", coefficient[:, m].tolist())
        for m, month in enumerate(MONTHS)
    ]
    apart = column("gap_days", gaps)
    table = Table((names, column("coefficient", told), *roots, apart, *last))
    sources = column("source", plants.sources)
    rows = Table((names, *by_month, *roots, *by_gap, *last, sources))
    content = {"plants": _records(rows)}
    parts = (Part("", table),)
    return Page(words.PLANTS_TITLE, parts, rows, content, words.PLANTS_CLOSING)


def _range(low: float, high: float) -> str:
    return f"{low:.2f}" if high <= low else f"{low:.2f}-{high:.2f}"


def _or_blank(value: float) -> str:
    return f"{value:.1f}" if np.isfinite(value) else ""


def soil_page() -> Page:
    """The package's soils, with what may stand on the ground by slope."""
    soils = library.package_soils()
    limits = [f"{limit:g}" for limit in library.slope_limits_percent()]
    slopes = [
        *(f"accumulation_to_{limit}_percent" for limit in limits),
        f"accumulation_over_{limits[-1]}_percent",
    ]
    column = words.soils(slopes, limits).column
    depths = soils.accumulation_mm.T.tolist()
    columns = (
        column("soil", soils.names),
        column("available_water", soils.available_water_mm_m.tolist(), "storage"),
        column("intake", soils.intake_mm_h.tolist(), "rate"),
        *(column(name, of, "depth") for name, of in zip(slopes, depths, strict=True)),
        column("status", soils.statuses),
    )
    rows = Table((*columns, column("source", soils.sources)))
    content = {"soils": _records(rows)}
    parts = (Part("", Table(columns)),)
    return Page(words.SOILS_TITLE, parts, rows, content, words.SOILS_CLOSING)


def _records(rows: Table) -> list[dict[str, Any]]:
    """Rows of a table as data in SI."""
    headers = [column.header("metric") for column in rows.columns]
    values: Sequence[Sequence[Any]] = [column.data("metric") for column in rows.columns]
    return [dict(zip(headers, row, strict=True)) for row in zip(*values, strict=True)]


def method_page(units: str) -> Page:
    """Every formula of the method with its source, and the rules beside them."""
    lines = [(section, line) for section, group in METHOD for line in group]
    texts = {line: f"{label(line.name)} = {in_words(line, units)}" for _, line in lines}
    formulas = [
        Part(section, None, tuple((texts[line], f"[{line.source}]") for line in group))
        for section, group in METHOD
    ]
    sections = [*(section for section, _ in lines), *(words.RULES for _ in RULES)]
    column = words.METHOD.column
    rows = Table(
        (
            column("section", sections),
            column("name", [*(label(line.name) for _, line in lines),
                            *(name for name, _ in RULES)]),
            column("text", [*(texts[line] for _, line in lines),
                            *(text for _, text in RULES)]),
            column("source", [*(line.source for _, line in lines),
                              *("" for _ in RULES)]),
        )
    )  # fmt: skip
    content = {"method": _records(rows)}
    parts = (*formulas, Part(words.RULES, None, RULES))
    return Page(words.METHOD_TITLE, parts, rows, content, words.METHOD_CLOSING)
