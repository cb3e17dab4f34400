"""Names that would work on a terminal or a browser come out as plain signs."""

import json
import re
import shutil
from pathlib import Path

import pytest
from cli_answers import EXAMPLES, ROOT, replace

# ECMA-48: ESC [ 2 J clears a screen and ESC ] 0 ; … BEL names a window; U+009B is
# ESC [ in one code. None of them may reach a terminal.
CODES = "a\x1b[2J\x1b]0;b\x07\x9b31mc\x7fd"
# CommonMark 0.31 sections 6.3, 6.4 and 6.6: a link, a picture, raw HTML and emphasis.
MARKUP = "[x](javascript:f) ![y](z) <img src=q onerror=f> **b** _i_ `c`"
VERBS = {
    "check": [],
    "rates": [],
    "nozzles": ["--chart", "nozzles.csv"],
    "coverage": [],
    "climate": [],
    "table": [],
    "explain": ["--zone", "1", "--month", "7"],
    "night": ["--month", "7", "--date", "2026-07-17"],
    "card": ["--date", "2027-04-20"],
    "card of visits": ["--compare-visits", "--date", "2027-04-20"],
    "budget": [],
    "cans": [],
}


NAME = f"{CODES} {MARKUP}"
NOT_FOR_A_TERMINAL = re.compile(r"(?!\r\n)[\x00-\x08\x0b-\x1f\x7f-\x9f]")


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Home with its site, a zone, a head and a nozzle named so; cans beside it."""
    return with_name(tmp_path_factory.mktemp("names"), NAME)


def with_name(parent: Path, name: str) -> Path:
    """A copy of home beside a file of cans."""
    folder = parent / "home"
    shutil.copytree(EXAMPLES / "home", folder)
    toml = "".join(
        c if c.isascii() and c.isprintable() else f"\\u{ord(c):04x}" for c in name
    )
    replace(folder, "site.toml", "Home with two lawns", toml)
    replace(folder, "site.toml", "../../climate_samples", f"{ROOT}/climate_samples")
    replace(folder, "zones.csv", "1,Front lawn,", f'1,"{name}",')
    replace(folder, "heads.csv", "1,middle,1,6.0,", f'1,"{name}",1,6.0,')
    chart = (folder / "nozzles.csv").read_text(encoding="utf-8")
    chart = re.sub(r"^3\.0,rotor", f'"{name}",rotor', chart, flags=re.MULTILINE)
    (folder / "nozzles.csv").write_text(chart, encoding="utf-8")
    (parent / "cans.csv").write_text(
        "zone,can,catch_ml,minutes,can_diameter_cm\n"
        + "".join(f'"{name}",A{can},{catch},30,11\n' for can, catch in
                  enumerate((33, 30, 28, 30, 31, 29, 27, 3), 1)),
        encoding="utf-8",
    )  # fmt: skip
    return folder


def asked(verb: str, folder: Path) -> list[object]:
    words = [folder / word if word.endswith(".csv") else word for word in VERBS[verb]]
    place = folder.parent / "cans.csv" if verb == "cans" else folder
    return [verb.split()[0], place, *words]


@pytest.mark.parametrize(
    ("verb", "format_"),
    [
        *((verb, "text") for verb in VERBS),
        *((verb, "csv") for verb in ("table", "coverage", "nozzles", "cans")),
        *((verb, "json") for verb in ("table", "coverage", "nozzles", "cans")),
        ("card", "ics"),
    ],
)
def test_no_code_of_a_name_reaches_the_terminal(run, folder, verb, format_):
    ran = run(*asked(verb, folder), "--format", format_)

    assert ran.status == 0, ran.err
    assert NOT_FOR_A_TERMINAL.search(ran.out + ran.err) is None


def test_a_name_is_seen_with_its_codes_and_is_whole_for_programs(run, folder):
    text, data = run("table", folder), run("table", folder, "--format", "json")

    # Unicode's control pictures of ESC and BEL; U+FFFD for what has none.
    assert "a\u241b[2J\u241b]0;b\u2407\ufffd31mc\u2421d" in text.out
    assert json.loads(data.out)["site"]["name"] == NAME


def test_no_code_of_a_name_reaches_the_terminal_with_what_is_wrong(run, tmp_path):
    folder = with_name(tmp_path, NAME)
    replace(folder, "zones.csv", "2,Back lawn,", '"2\x1b[2J",Back lawn,')
    ran = run("check", folder)

    assert ran.status == 2
    assert "\u241b" in ran.err
    assert "\x1b" not in ran.err


# CommonMark 0.31 section 2.4: punctuation after a backslash is that sign and no markup.
@pytest.mark.parametrize("verb", VERBS)
def test_no_name_becomes_markup(run, folder, verb):
    ran = run(*asked(verb, folder), "--format", "markdown")
    bare = re.sub(r"\\[!-/:-@\[-`{-~]", "", ran.out)

    assert ran.status == 0, ran.err
    assert NOT_FOR_A_TERMINAL.search(ran.out + ran.err) is None
    # What `check` finds here names zones by number alone.
    assert verb == "check" or "javascript:f" in ran.out
    assert not re.search(r"<|`|\]\(|\*\*b|_i|i_", bare)
