"""Checks that no content of a file ever raises anything but InputError."""

import hypothesis
import pytest
from hypothesis import strategies as st

from scheduler.errors import InputError
from scheduler.inputs.folder import read_site
from scheduler.inputs.forms.fields import FILES, SITE_TABLES

SITE_FILES = ("site.toml", "climate.csv", "rain.csv", "district.toml",
              *(file for file in FILES if file.endswith(".csv")))  # fmt: skip
WORDS = ("1", "2", "0", "-1", "400", "1e400", "0,5", "1,234", "1.5", "62%", "nan",
         "yes", "odd", "loam", "clay loam", "vines", "drip", "4-6", "6-Apr", "#",
         "2026-02-30", '"', '""', "'", " ", "\u00a0", "\u2028", "\ufeff", "=", "[", "{",
         "é", "٣")  # fmt: skip
CELLS = st.sampled_from(WORDS) | st.text(max_size=5)
VALUES = st.recursive(
    st.booleans().map(lambda flag: str(flag).lower())
    | st.integers().map(str)
    | st.floats(allow_nan=False, allow_infinity=False).map(repr)
    | st.sampled_from(["nan", "-inf", "0x10", "21:00:00", "2026-07-31", "1" * 400])
    | st.sampled_from(["any", "25:00", "4-13", "no.csv", "a\\u0000b/c.csv", "."])
    .map(lambda word: f'"{word}"'),
    lambda inner: st.lists(inner, max_size=3).map(lambda list_: f"[{', '.join(list_)}]")
    | inner.map(lambda value: f"{{to = {value}, price = 1}}"),
    max_leaves=4,
)  # fmt: skip


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("site")


def assert_only_problems(folder, us, file, content):
    """Read the small site of conftest.py with one file of any content."""
    for path in folder.iterdir():
        path.unlink()
    for path in us.path.iterdir():
        (folder / path.name).write_bytes(path.read_bytes())
    toml = (
        'windows_file = "district.toml"\n[site]\nlatitude = 40\nlongitude = -100\n'
        '[climate]\nfile = "climate.csv"\nrain_file = "rain.csv"\n'
    )
    rain = "month,rain_mm\n" + "".join(f"{month},9\n" for month in range(1, 13))
    (folder / "site.toml").write_text(toml, encoding="utf-8")
    (folder / "rain.csv").write_text(rain, encoding="utf-8")
    (folder / "district.toml").write_text("[[window]]\n", encoding="utf-8")
    if isinstance(content, str):
        content = content.encode("utf-8", "surrogatepass")
    (folder / file).write_bytes(content)
    problems = ()
    try:
        site = read_site(folder)
    except InputError as error:
        problems = error.problems
    else:
        assert len(site.zones) > 0
        assert site.climate.has("rain_mm")
        return
    assert problems
    last_line = content.count(b"\n") + content.count(b"\r") + len(rain.splitlines())
    for problem in problems:
        assert problem.file
        assert problem.wrong
        assert str(problem).startswith(problem.file)
        assert problem.line is None or 1 <= problem.line <= last_line


def many(examples):
    return hypothesis.settings(
        max_examples=examples,
        deadline=None,
        suppress_health_check=[hypothesis.HealthCheck.function_scoped_fixture],
    )


@many(100)
@hypothesis.given(st.sampled_from(SITE_FILES), st.binary(max_size=200))
def test_any_bytes_are_read_or_refused(folder, us, file, content):
    assert_only_problems(folder, us, file, content)


@many(100)
@hypothesis.given(st.sampled_from(SITE_FILES), st.text(max_size=200))
def test_any_text_is_read_or_refused(folder, us, file, content):
    assert_only_problems(folder, us, file, content)


@many(130)
@hypothesis.given(
    st.sampled_from([file for file in SITE_FILES if file.endswith(".csv")]),
    st.sampled_from([",", ";", "\t"]),
    st.data(),
)
def test_any_cells_are_read_or_refused(folder, us, file, separator, data):
    what = {"climate.csv": "monthly climate", "rain.csv": "monthly rain"}.get(
        file, file
    )
    names = [name for field in FILES[what] for name in field.names]
    headers = data.draw(st.lists(st.sampled_from(names), min_size=1, max_size=12))
    rows = data.draw(
        st.lists(st.lists(CELLS, max_size=len(headers)), min_size=1, max_size=13)
    )
    lines = [separator.join(row) for row in [headers, *rows]]

    assert_only_problems(folder, us, file, "\n".join(lines))


@many(100)
@hypothesis.given(st.data())
def test_any_keys_are_read_or_refused(folder, us, data):
    tables = data.draw(st.lists(st.sampled_from(list(SITE_TABLES)), unique=True))
    lines = []
    for table in sorted(tables):
        heading = f"[[{table}]]" if table == "window" else f"[{table}]"
        lines += [heading] if table else []
        names = [name for field in SITE_TABLES[table] for name in field.names]
        for name in data.draw(st.lists(st.sampled_from(names), unique=True)):
            lines.append(f"{name} = {data.draw(VALUES)}")
    file = data.draw(st.sampled_from(["site.toml", "district.toml"]))

    assert_only_problems(folder, us, file, "\n".join(lines))


# Every name of the registry at once, each with the same cell.
@many(35)
@hypothesis.given(CELLS)
def test_any_cell_in_every_column_is_read_or_refused(folder, us, cell):
    for file in SITE_FILES:
        if file.endswith(".csv"):
            what = {"climate.csv": "monthly climate", "rain.csv": "monthly rain"}
            names = [n for field in FILES[what.get(file, file)] for n in field.names]
            quoted = '"' + cell.replace('"', '""') + '"'
            text = ",".join(names) + "\n" + ",".join([quoted] * len(names)) + "\n"

            assert_only_problems(folder, us, file, text)
