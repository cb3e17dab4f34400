"""Checks what is said of TOML that cannot be read, and in which line."""

import pytest

AFTER = (
    "is not readable as TOML: expected newline or end of document after a statement\n"
    "  hint: "
)
PATH = "in a path write / in place of \\, or put it in single quotes"
QUOTES = '\n  hint: text stands in double quotes, as name = "Front garden"'


@pytest.mark.parametrize(
    ("old", "new", "problem"),
    [
        (
            "latitude = 40.0",
            "latitude = 40° N",
            "site.toml:3: is not readable as TOML: expected newline or end of document "
            "after a statement",
        ),
        (
            '"climate.csv"',
            "climate.csv",
            f"site.toml:6: is not readable as TOML: invalid value{QUOTES}",
        ),
        (
            '"climate.csv"\n',
            '"climate.csv',
            f"site.toml:6: is not readable as TOML: unterminated string{QUOTES}",
        ),
        (
            "[climate]",
            "[climate",
            "site.toml:5: is not readable as TOML: expected ']' at the end of a table "
            "declaration",
        ),
        (
            "[climate]",
            "[site]",
            "site.toml:5: is not readable as TOML: a table is there twice\n"
            "  hint: put the keys of both under one heading; only [[window]] may "
            "repeat",
        ),
        (
            "[climate]",
            "latitude = 41\n[climate]",
            "site.toml:5: is not readable as TOML: a key is there twice\n"
            "  hint: leave one of the two out",
        ),
        (
            "[climate]",
            "[[window]]\nopens = 22:00\n[climate]",
            f'site.toml:6: {AFTER}a time of day stands in double quotes, as "22:00"',
        ),
        (
            "latitude = 40.0",
            "latitude = 40,5  # north",
            f"site.toml:3: {AFTER}write 40.5 with a decimal point",
        ),
        (
            "[climate]",
            "[supply]\ndesign_flow_gpm = 16 gpm\n[climate]",
            f"site.toml:6: {AFTER}write the number alone; the unit stands in the key's "
            "name",
        ),
        (
            '"climate.csv"',
            '"C:\\Users\\me\\climate.csv"',
            f"site.toml:6: is not readable as TOML: invalid hex value\n  hint: {PATH}",
        ),
        (
            '"climate.csv"',
            '"data\\climate.csv"',
            "site.toml:6: is not readable as TOML: unescaped '\\' in a string\n"
            f"  hint: {PATH}",
        ),
        (
            "[climate]",
            "name = " + "[" * 50_000 + "\n[climate]",
            "site.toml: holds lists or tables that are nested too deeply",
        ),
        (
            "[climate]",
            "name" + ".a" * 5_000 + " = 1\n[climate]",
            "site.toml: holds lists or tables that are nested too deeply",
        ),
        (
            "latitude = 40.0",
            "latitude = 1" + "0" * 5_000,
            "site.toml: holds a number of endless digits",
        ),
        (
            "latitude = 40.0",
            "latitude = 1" + "0" * 400,
            "site.toml:3: site.latitude: is a number of more than 18 digits",
        ),
        (
            "latitude = 40.0",
            "latitude = 0x" + "f" * 5_000,
            "site.toml:3: site.latitude: is a number of more than 18 digits",
        ),
    ],
)
def test_toml_that_cannot_be_read_is_told_where(us, old, new, problem):
    us.replace("site.toml", old, new)

    assert us.problems() == [problem]


@pytest.mark.parametrize(
    ("content", "problem"),
    [
        (
            "latitude = 'ä'".encode("latin-1"),
            "site.toml:1: is not UTF-8 text\n  hint: save it as plain text in UTF-8",
        ),
        (
            "[site]".encode("utf-16"),
            "site.toml: is UTF-16 text\n  hint: save it as plain text in UTF-8",
        ),
    ],
)
def test_toml_in_another_encoding_is_refused(us, content, problem):
    us.write("site.toml", content)

    assert us.problems() == [problem]


def test_lines_are_right_below_unusual_line_ends_in_text(us):
    us.replace("site.toml", 'units = "us"', "# next\u2028line\u0085and\u000a# next")
    us.replace("site.toml", "40.0", "95")

    assert us.problems() == [
        "site.toml:4: site.latitude: 95 is not a latitude\n"
        "  accepted: a number from -90 to 90"
    ]
