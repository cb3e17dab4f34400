"""Pages that say what the program knows: fields of files, plants, soils, the method."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from scheduler.calendar import MONTHS
from scheduler.errors import InputError, Problem
from scheduler.inputs import library
from scheduler.inputs.forms.columns import accepted_text, folded, hint_nearest, quoted
from scheduler.inputs.forms.dimensions import DIMENSIONS
from scheduler.inputs.forms.fields import FILES, SITE_TABLES, UNUSED_FILES, Field
from scheduler.report import shown
from scheduler.report.blocks import Block, Heading, Paragraph, Terms
from scheduler.report.formulas import METHOD, in_words, label
from scheduler.report.frames import Column, Table
from scheduler.report.reference import default_text
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
    columns = (
        Column("file", "file", [name for name, _, _ in flat]),
        Column("table", "table", [table for _, table, _ in flat]),
        Column("names", "names", [" ".join(f.names) for *_, f in flat]),
        Column("help", "help", [f.help for *_, f in flat]),
        Column("takes", "takes", [_takes(f, units) for *_, f in flat]),
        Column("blank", "blank", [_blank(f, units) for *_, f in flat]),
        Column("used", "used", [f.used for *_, f in flat]),
    )
    content = {"fields": [_field_data(*row) for row in flat]}
    closing = (
        "A name with a unit is listed once for each unit: write the one that you "
        "measured in. Blank takes what is said there, and the output tells of it."
    )
    return Page("Fields of the files", parts, Table(columns), content, closing)


def _groups() -> Iterator[tuple[str, str, tuple[Field, ...]]]:
    """File, table and fields, in the order of the registry."""
    for table, fields in SITE_TABLES.items():
        yield SITE_FILE, table, fields
    for file, fields in FILES.items():
        yield file, "", fields


def _known(file: str) -> str:
    """Name of a file as the registry has it; ".csv" may be left out."""
    names = list(dict.fromkeys(name for name, *_ in _groups()))
    for name in names:
        if folded(file) in (folded(name), folded(name.partition(".")[0])):
            return name
    wrong = f"{quoted(file)} is not a file of a site"
    hint = hint_nearest(file, names)
    raise InputError(
        [Problem("scheduler", None, "FILE", wrong, ", ".join(names), hint)]
    )


def _group_title(file: str, table: str) -> str:
    if file == SITE_FILE:
        brackets = f"[[{table}]]" if table == "window" else f"[{table}]"
        return f"{file}, {brackets if table else 'above the first table'}"
    later = ", read and checked, not used yet" if file in UNUSED_FILES else ""
    return file + later


def _told(field: Field, units: str) -> tuple[str, str]:
    later = " (not used yet)" if not field.used else ""
    takes = "" if field.kind == "text" else f"; {_takes(field, units)}"
    blank = "needed" if field.required else f"blank: {_blank(field, units)}"
    return " ".join(field.names), f"{field.help}{later}{takes}; {blank}"


def _takes(field: Field, units: str) -> str:
    if field.kind == "text":
        return "text"
    if field.kind == "word" and not field.words:
        return "a name of the table"
    if not field.dimension:
        return accepted_text(field)
    unit = DIMENSIONS[field.dimension].shown(units)
    return f"{accepted_text(field, unit)} {unit.symbol}"


def _blank(field: Field, units: str) -> str:
    return "needed" if field.required else default_text(field, units)


def _field_data(file: str, table: str, field: Field) -> dict[str, Any]:
    values = asdict(field)
    return {
        "file": file,
        "table": table or None,
        "names": field.names,
        **{key: values[key] for key in ("help", "kind", "words", "required", "used")},
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
    names = Column("plant", "plant", plants.names)
    usual = (
        Column("root_depth", "root\ndepth", plants.root_depth_mm.tolist(), "depth"),
        Column("depletion", "depletion", plants.depletion.tolist(), text=two),
        Column("longest_gap_days", "longest gap\ndays",
               plants.longest_gap_days.tolist(), text=shown.minutes),
        Column("salt_threshold_ds_m", "salt threshold\ndS/m",
               plants.salt_threshold_ds_m.tolist(), text=_or_blank),
        Column("status", "values", plants.statuses),
    )  # fmt: skip
    by_month = [
        Column(f"coefficient_{month}", month, coefficient[:, m].tolist())
        for m, month in enumerate(MONTHS)
    ]
    sources = Column("source", "source", plants.sources)
    table = Table((names, Column("coefficient", "coefficient", told), *usual))
    rows = Table((names, *by_month, *usual, sources))
    closing = (
        "Coefficients are of ET0, in northern months. Values are read in their source, "
        "second-hand, or from memory; --format csv names the sources. Rows of your own "
        "go into plants.csv."
    )
    content = {"plants": _records(rows)}
    return Page("Plants", (Part("", table),), rows, content, closing)


def _range(low: float, high: float) -> str:
    return f"{low:.2f}" if high <= low else f"{low:.2f}-{high:.2f}"


def _or_blank(value: float) -> str:
    return f"{value:.1f}" if np.isfinite(value) else ""


def soil_page() -> Page:
    """The package's soils, with what may stand on the ground by slope."""
    soils = library.package_soils()
    limits = [f"{limit:g}" for limit in library.slope_limits_percent()]
    classes = [
        *(f"to_{limit}_percent" for limit in limits),
        f"over_{limits[-1]}_percent",
    ]
    labels = [*(f"up to {limit} %" for limit in limits), f"over {limits[-1]} %"]
    columns = (
        Column("soil", "soil", soils.names),
        Column("available_water", "available\nwater",
               soils.available_water_mm_m.tolist(), "storage"),
        Column("intake", "intake", soils.intake_mm_h.tolist(), "rate"),
        *(Column(f"accumulation_{name}", f"slope\n{told}",
                 soils.accumulation_mm[:, i].tolist(), "depth")
          for i, (name, told) in enumerate(zip(classes, labels, strict=True))),
        Column("status", "values", soils.statuses),
    )  # fmt: skip
    rows = Table((*columns, Column("source", "source", soils.sources)))
    closing = (
        "Available water is what a depth of soil holds for plants. Intake is how fast "
        "water goes into ground that is already wet. Below each slope stands how deep "
        "water may stand before it runs off. Values are read in their source, "
        "second-hand, or from memory; --format csv names the sources. Rows of your own "
        "go into soils.csv."
    )
    content = {"soils": _records(rows)}
    return Page("Soils", (Part("", Table(columns)),), rows, content, closing)


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
    sections = [*(section for section, _ in lines), *("Rules" for _ in RULES)]
    rows = Table(
        (
            Column("section", "section", sections),
            Column("name", "name", [*(label(line.name) for _, line in lines),
                                    *(name for name, _ in RULES)]),
            Column("text", "text", [*(texts[line] for _, line in lines),
                                    *(text for _, text in RULES)]),
            Column("source", "source", [*(line.source for _, line in lines),
                                        *("" for _ in RULES)]),
        )
    )  # fmt: skip
    closing = (
        "In US units depths are inches, rates inches an hour, flows gallons a "
        "minute, areas square feet, volumes gallons; in metric units mm, mm/h, L/min, "
        "m² and L. Second-hand: read in a text that quotes the source. From memory: "
        "not looked up yet. DEVELOPERS.md lists the sources in full; explain prints "
        "these lines with the numbers of a zone."
    )
    content = {"method": _records(rows)}
    parts = (*formulas, Part("Rules", None, RULES))
    return Page("The method", parts, rows, content, closing)
