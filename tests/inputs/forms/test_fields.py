"""Checks the registry of fields, and its units against pint."""

import math
import re

import pint
import pytest

from scheduler.inputs.forms import alike, columns, csvfiles, tomlfiles
from scheduler.inputs.forms.dimensions import DIMENSIONS
from scheduler.inputs.forms.fields import FILES, SITE_TABLES

REGISTRY = pint.UnitRegistry()
NUMBERS = ("number", "whole", "share")

# Suffixes of names in the words of pint, an independent library of units.
PINT_UNITS = {
    "mm": "mm",
    "in": "inch",
    "cm": "cm",
    "m": "m",
    "ft": "foot",
    "m2": "m**2",
    "ft2": "foot**2",
    "mm2": "mm**2",
    "cm2": "cm**2",
    "in2": "inch**2",
    "l": "liter",
    "gal": "gallon",
    "ft3": "foot**3",
    "m3": "m**3",
    "l_min": "liter/minute",
    "gpm": "gallon/minute",
    "m3_h": "m**3/hour",
    "l_h": "liter/hour",
    "gph": "gallon/hour",
    "kpa": "kPa",
    "psi": "psi",
    "bar": "bar",
    "m_s": "m/s",
    "mph": "mile/hour",
    "km_h": "km/hour",
    "c": "degC",
    "f": "degF",
    "mm_h": "mm/hour",
    "in_h": "inch/hour",
    "mm_day": "mm/day",
    "in_day": "inch/day",
    "mj_m2_day": "MJ/m**2/day",
    "w_m2": "W/m**2",
    "mm_m": "mm/m",
    "in_in": "inch/inch",
    "in_ft": "inch/foot",
}

PLACES = [(file, "", field) for file, fields in FILES.items() for field in fields] + [
    ("site.toml", table, field)
    for table, fields in SITE_TABLES.items()
    for field in fields
]
NUMBER_FIELDS = [place for place in PLACES if place[2].kind in NUMBERS]


def measured_in(field):
    """What decides how a number is read: its dimension, else its kind."""
    return field.dimension or field.kind


def first_of_each(places, key):
    """The first field of each kind in CSV files, and the first in site.toml."""
    found = {}
    for place in places:
        reader = "toml" if place[0] == "site.toml" else "csv"
        found.setdefault(f"{reader} {key(place[2])}", place)
    return [pytest.param(*place, id=name) for name, place in found.items()]


MEASURES = sorted({measured_in(field) for _, _, field in NUMBER_FIELDS})
FILES_AND_TABLES = {**FILES, **SITE_TABLES}
OTHERS = [place for place in PLACES if place[2].kind not in NUMBERS]
# What a person may write in a CSV, the same in TOML, and what is read.
SAMPLES = {
    "text": ("Front, left", '"Front, left"', "Front, left"),
    "flag": ("Yes", "true", True),
    "clock": ("5:30", '"5:30"', "05:30"),
    "day": ("1 Nov", '"November 1"', (11, 1)),
    "days": ("Monday", '["fri", "Monday"]', ("mon", "fri")),
    "months": ("11-2", '"11-2"', (1, 2, 11, 12)),
    "stages": ("Sod", '["Sod", "bare root"]', ("sod", "bare-root")),
    "kinds": ("Drip", '["Drip", "multi stream"]', ("drip", "multi-stream")),
    "tiers": ("", "[{to = 10, price = 3}, {price = 4}]", ((10, 3), (math.inf, 4))),
}


def written_in_si_and_in_its_unit(field, place):
    """A number within a field's range, in SI and in the unit of one of its names."""
    low, high = max(field.low, -1e6), min(field.high, 1e6)
    value = low + 0.3125 * (high - low)
    if field.kind == "whole":
        value = round(value)
    if not field.dimension:
        return float(value), float(value)
    si = PINT_UNITS[DIMENSIONS[field.dimension].si.suffix]
    suffix = DIMENSIONS[field.dimension].units[place].suffix
    number = REGISTRY.Quantity(value, si).to(PINT_UNITS[suffix]).magnitude
    return float(value), float(number)


def read_back(tmp_path, file, table, field, name, csv_text, toml_text):
    """Value that a file with one cell or one key gives."""
    problems = []
    if file == "site.toml":
        key = f"{name} = {toml_text}\n"
        heading = f"[{table}]\n" if table else ""
        (tmp_path / file).write_text(heading + key, encoding="utf-8")
        document = tomlfiles.read_document(tmp_path / file, file, problems)
        content = document.content[table] if table else document.content
        keys = tomlfiles.read_keys(document, content, table, [field], problems)
        value = keys.values[field.si_name]
    else:
        (tmp_path / "table.csv").write_text(f'{name}\n"{csv_text}"\n', encoding="utf-8")
        table = csvfiles.read_table(tmp_path / "table.csv", file, problems)
        words = {field.name: field.words or ("clay loam", "silt")}
        rows = csvfiles.read_rows(table, [field], problems, words)
        value = rows.values[field.si_name][0]
    assert problems == []
    return value


def test_every_unit_of_a_dimension_has_a_name_in_pint():
    suffixes = {unit.suffix for d in DIMENSIONS.values() for unit in d.units}

    assert suffixes == set(PINT_UNITS)


@pytest.mark.parametrize(
    ("file", "table", "field"), first_of_each(NUMBER_FIELDS, measured_in)
)
def test_number_is_converted_as_pint_converts_it(tmp_path, file, table, field):
    for place, name in enumerate(field.names):
        expected, number = written_in_si_and_in_its_unit(field, place)
        text = f"{number!r}"

        value = read_back(tmp_path, file, table, field, name, text, text)

        # Float error alone; temperatures lose digits where they pass by 0.
        assert value == pytest.approx(expected, rel=1e-12, abs=1e-12), name


@pytest.mark.parametrize("measure", MEASURES)
def test_limits_named_in_the_error_text_are_accepted(measure):
    for file, _, field in NUMBER_FIELDS:
        if measured_in(field) == measure:
            units = [columns.PLAIN_UNIT]
            if field.dimension:
                units = DIMENSIONS[field.dimension].units
            for name, unit in zip(field.names, units, strict=True):
                assert_limits_are_accepted(file, field, name, unit)


def assert_limits_are_accepted(file, field, name, unit):
    limits = re.findall(r"-?[0-9.]+", columns.accepted_text(field, unit))
    written = limits[1:] if field.above else limits

    column = columns.Column(file, name, written, [2] * len(written))
    values, faults = columns.read_numbers(field, unit, column)

    assert [str(problem) for _, problem in faults] == []
    assert len(limits) == (3 if field.smallest and not field.above else 2)
    values = values[values > 0] if field.smallest else values
    # Limits are shown to four digits, so they are within a thousandth of the range's.
    assert unit.from_si(values[-1]) == pytest.approx(
        unit.from_si(field.high), rel=1.01e-3
    ), f"{file}: {name}"


@pytest.mark.parametrize(
    ("file", "table", "field"), first_of_each(OTHERS, lambda field: field.kind)
)
def test_field_that_is_no_number_is_read_as_written(tmp_path, file, table, field):
    if field.kind == "word":
        word = (field.words or ("clay loam",))[0]
        loose = word.upper().replace("-", " ")
        value = read_back(tmp_path, file, table, field, field.name, loose, f'"{loose}"')

        assert value == word
        return
    if field.kind == "date":
        value = read_back(tmp_path, file, table, field, field.name, "2024-02-29", "")

        assert value.isoformat() == "2024-02-29"
        return
    csv_text, toml_text, expected = SAMPLES[field.kind]

    assert (
        read_back(tmp_path, file, table, field, field.name, csv_text, toml_text)
        == expected
    )


@pytest.mark.parametrize(
    ("file", "field"),
    [pytest.param(file, field, id=f"{file}:{table}.{field.name}")
     for file, table, field in OTHERS if field.kind == "word" and field.words],
)  # fmt: skip
def test_words_of_a_field_are_told_apart(file, field):
    loose = [word.upper().replace("-", " ") for word in field.words]
    column = columns.Column(file, field.name, loose, range(len(loose)))

    assert columns.read_words(field, field.words, column) == (list(field.words), [])


@pytest.mark.parametrize(
    "fields", [*FILES.values(), *SITE_TABLES.values()], ids=[*FILES, *SITE_TABLES]
)
def test_names_of_a_file_or_table_are_its_own(fields):
    names = [alike.folded(name) for field in fields for name in field.names]

    assert len(names) == len(set(names))


@pytest.mark.parametrize("place", FILES_AND_TABLES)
def test_default_is_what_a_person_could_have_written(tmp_path, place):
    file, table = (place, "") if place in FILES else ("site.toml", place)
    for field in FILES_AND_TABLES[place]:
        if field.default is None:
            assert not (field.required and field.otherwise), field.name
        else:
            assert_default_may_be_written(tmp_path, file, table, field)


def assert_default_may_be_written(tmp_path, file, table, field):
    default = field.default
    if field.kind in NUMBERS:
        assert field.low <= default <= field.high, field.name
        assert default > field.low or not field.above, field.name
    elif field.kind == "word":
        assert default in field.words, field.name
    elif field.kind == "flag":
        assert isinstance(default, bool), field.name
    else:
        csv_text, toml_text = default, f'"{default}"'
        if field.kind not in ("days", "clock", "text"):
            csv_text, toml_text = "1-12", str(list(default)).replace("'", '"')
        name = field.name
        value = read_back(tmp_path, file, table, field, name, csv_text, toml_text)

        assert value == default, name


@pytest.mark.parametrize("place", FILES_AND_TABLES)
def test_fields_are_explained_in_a_line(place):
    for field in FILES_AND_TABLES[place]:
        assert field.help, field.name
        assert "\n" not in field.help, field.name
