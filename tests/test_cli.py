"""Each verb, run in process: exit status, standard output, standard error."""

import csv
import errno
import io
import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from scheduler import cli

ROOT = Path(__file__).parents[1]
EXAMPLES = ROOT / "examples"
SITES = ("home", "southern_garden", "business_park")
FORMATS = ("text", "markdown", "csv", "json")
UNITS = ("us", "metric")
WIDTH = 100
# Exact: inch; US gallon of 231 cubic inches, in liters; square of the foot.
MM_PER_IN, L_PER_GAL, M2_PER_FT2 = 25.4, 231 * 0.254**3, 0.3048**2


class Ran:
    """What a run of the command gave."""

    def __init__(self, status: int, out: str, err: str) -> None:
        self.status, self.out, self.err = status, out, err


@pytest.fixture
def run(capsys):
    def run_(*arguments: object) -> Ran:
        capsys.readouterr()
        status = cli.status([str(argument) for argument in arguments])
        captured = capsys.readouterr()
        return Ran(status, captured.out, captured.err)

    return run_


def arguments_of(verb: str, site: Path) -> list[object]:
    """The verb with what it needs."""
    return [verb, site, "--zone", "1", "--month", "7"] if verb == "explain" else [
        verb, site]  # fmt: skip


VERBS = ("check", "rates", "climate", "table", "explain")

CLIMATE = "month,et0_in_day,rain_in,tmin_f,tmax_f\n" + "".join(
    f"{month},{et0},0.4,45,75\n"
    for month, et0 in enumerate(
        (0.05, 0.07, 0.11, 0.16, 0.22, 0.27, 0.29, 0.26, 0.20, 0.12, 0.07, 0.04), 1
    )
)
SITE_TOML = """\
units = "us"
[site]
name = "A small site"
latitude = 38.0
longitude = -100.0
[climate]
file = "climate.csv"
[supply]
design_flow_gpm = 20
pressure_psi = 45
[[window]]
days = "any"
[controller]
minute_step = 1
"""
ZONES = """\
zone,name,plant,soil,slope_percent,area_ft2,flow_gpm,head_kind
1,Lawn,cool-season turf,loam,2,2000,15,rotor
2,Beds,shrubs moderate water,loam,2,800,4,drip
"""


@pytest.fixture
def site(tmp_path) -> Path:
    folder = tmp_path / "site"
    folder.mkdir()
    for name, text in (
        ("site.toml", SITE_TOML),
        ("zones.csv", ZONES),
        ("climate.csv", CLIMATE),
    ):
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def replace(folder: Path, file: str, old: str, new: str) -> None:
    text = (folder / file).read_text(encoding="utf-8")
    assert text.count(old) == 1, f"{old!r} is not once in {file}"
    (folder / file).write_text(text.replace(old, new), encoding="utf-8")


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def markdown_tables(text: str) -> list[list[list[str]]]:
    """Cells of every markdown table; a bar after a backslash is none."""
    tables: list[list[list[str]]] = []
    before = ""
    for line in text.split("\n"):
        if line.startswith("|"):
            cells = re.split(r"(?<!\\)\|", line)[1:-1]
            if not before.startswith("|"):
                tables.append([])
            tables[-1].append([cell.strip() for cell in cells])
        before = line
    return tables


# Every verb, format and system of units on every example.


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("format_", FORMATS)
@pytest.mark.parametrize("verb", VERBS)
@pytest.mark.parametrize("name", SITES)
def test_verb_answers_for_every_example(run, name, verb, format_, units):
    ran = run(*arguments_of(verb, EXAMPLES / name),
              "--format", format_, "--units", units)  # fmt: skip

    assert ran.status == 0
    assert ran.err == ""
    assert ran.out.endswith("\n")
    assert not re.search(r"\b(nan|inf|None)\b", ran.out, re.IGNORECASE)
    if format_ == "text":
        assert max(map(len, ran.out.split("\n"))) <= WIDTH
    elif format_ == "json":
        assert next(iter(json.loads(ran.out))) == "format"
    elif format_ == "csv":
        rows = rows_of(ran.out)
        assert rows
        assert all(None not in row and None not in row.values() for row in rows)
    elif verb != "explain":
        for table in markdown_tables(ran.out):
            assert len({len(cells) for cells in table}) == 1


@pytest.mark.parametrize("verb", VERBS)
def test_verb_takes_the_site_s_units_where_none_are_asked_for(run, verb):
    site = EXAMPLES / "southern_garden"
    usual = run(*arguments_of(verb, site))

    assert usual.out == run(*arguments_of(verb, site), "--units", "metric").out
    assert usual.out != run(*arguments_of(verb, site), "--units", "us").out


@pytest.mark.parametrize("name", SITES)
def test_json_does_not_hang_on_units_but_for_their_name_and_texts(run, name):
    us, metric = (
        json.loads(run("table", EXAMPLES / name, "--format", "json", "--units", u).out)
        for u in UNITS
    )

    assert us["site"].pop("units") == "us"
    assert metric["site"].pop("units") == "metric"
    for content in (us, metric):
        for caution in content["cautions"]:
            caution.pop("text")
    assert us == metric


# Output to a file.


@pytest.mark.parametrize("format_", FORMATS)
def test_out_writes_what_would_be_printed(run, tmp_path, site, format_):
    printed = run("table", site, "--format", format_)
    out = tmp_path / "table.out"
    written = run("table", site, "--format", format_, "--out", out)

    assert written.status == printed.status == 0
    assert written.out == written.err == ""
    assert out.read_bytes() == printed.out.encode("utf-8")


def test_out_into_a_folder_that_is_not_there_writes_nothing(run, tmp_path, site):
    ran = run("table", site, "--out", tmp_path / "none" / "table.txt")

    assert ran.status == 2
    assert ran.out == ""
    assert "none/table.txt: cannot be written: No such file or directory" in ran.err
    assert not (tmp_path / "none").exists()


def test_out_onto_a_folder_leaves_the_folder(run, tmp_path, site):
    target = tmp_path / "target"
    target.mkdir()
    ran = run("table", site, "--out", target)

    assert ran.status == 2
    assert ran.out == ""
    assert "target: cannot be written: Is a directory" in ran.err
    assert sorted(os.listdir(tmp_path)) == ["site", "target"]
    assert os.listdir(target) == []


def test_out_keeps_the_old_file_where_the_disk_is_full(
    run, tmp_path, site, monkeypatch
):
    out = tmp_path / "table.txt"
    out.write_text("old\n")

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "replace", full)
    ran = run("table", site, "--out", out)

    assert ran.status == 2
    assert "cannot be written: No space left on device" in ran.err
    assert out.read_text() == "old\n"
    assert sorted(os.listdir(tmp_path)) == ["site", "table.txt"]


def test_out_says_when_the_folder_may_not_be_written_to(
    run, tmp_path, site, monkeypatch
):
    def forbidden(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr("tempfile.mkstemp", forbidden)
    ran = run("table", site, "--out", tmp_path / "table.txt")

    assert ran.status == 2
    assert ran.out == ""
    assert ran.err == (
        f"{tmp_path / 'table.txt'}: cannot be written: Permission denied\n"
        "  hint: choose a folder that exists and that you may write to\n"
    )
    assert os.listdir(tmp_path) == ["site"]


def test_out_leaves_nothing_half_written_where_our_own_fault_stops_it(
    run, tmp_path, site, monkeypatch
):
    def fault(*_: object) -> None:
        raise RuntimeError("stopped in the middle")

    monkeypatch.setattr(os, "chmod", fault)
    ran = run("table", site, "--out", tmp_path / "table.txt")

    assert ran.status == 1
    assert os.listdir(tmp_path) == ["site"]


def test_out_does_not_replace_a_pipe(run, tmp_path, site):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    ran = run("table", site, "--out", pipe)

    assert ran.status == 2
    assert "it is a device or a pipe, not a file" in ran.err
    assert pipe.is_fifo()


def test_out_is_written_where_a_hard_limit_is_not_met_too(run, tmp_path, site):
    replace(site, "site.toml", "design_flow_gpm = 20", "design_flow_gpm = 10")
    ran = run("table", site, "--out", tmp_path / "table.txt")

    assert ran.status == 3
    assert "flow-over-supply" in (tmp_path / "table.txt").read_text("utf-8")


# Wrong command lines.


@pytest.mark.parametrize(
    ("arguments", "wrong"),
    [
        (["waterings", "{site}"], "No such command 'waterings'"),
        (["table", "{site}", "--colour", "red"], "No such option"),
        (["table", "{site}", "--format", "yaml"], "'--format'"),
        (["table", "{site}", "--units", "imperial"], "'--units'"),
        (["table"], "Missing argument 'SITE'"),
        (["table", "{site}", "{site}"], "unexpected extra argument"),
        (["explain", "{site}", "--month", "7"], "Missing option '--zone'"),
        (["explain", "{site}", "--zone", "1"], "Missing option '--month'"),
        (["explain", "{site}", "--zone", "1", "--month", "0"], "--month"),
        (["explain", "{site}", "--zone", "1", "--month", "13"], "--month"),
        (["explain", "{site}", "--zone", "1", "--month", "Juli"], "--month"),
    ],
)
def test_wrong_command_line_ends_in_2(run, site, arguments, wrong):
    ran = run(*[argument.format(site=site) for argument in arguments])

    assert ran.status == 2
    assert ran.out == ""
    assert wrong in ran.err
    assert "Traceback" not in ran.err


@pytest.mark.parametrize("verb", ["new", *VERBS])
def test_every_verb_has_help(run, verb):
    ran = run(verb, "--help")

    assert ran.status == 0
    assert ran.out.startswith(f"Usage: scheduler {verb} [OPTIONS]")
    assert verb in run("--help").out


# Wrong input.


@pytest.mark.parametrize("format_", FORMATS)
@pytest.mark.parametrize("verb", VERBS)
def test_wrong_input_ends_in_2_and_prints_nothing(run, site, verb, format_):
    replace(site, "zones.csv", "cool-season turf", "cool season tuft")
    replace(site, "zones.csv", "2,800,4", "2,-800,4")
    ran = run(*arguments_of(verb, site), "--format", format_)

    assert ran.status == 2
    assert ran.out == ""
    assert 'zones.csv:2: plant: "cool season tuft" is not a plant' in ran.err
    assert "hint: did you mean cool-season turf?" in ran.err
    assert "zones.csv:3: area_ft2: -800 is not an area" in ran.err


def test_wrong_input_writes_no_file(run, tmp_path, site):
    replace(site, "zones.csv", "cool-season turf", "moss")
    out = tmp_path / "table.csv"
    out.write_text("old\n")
    ran = run("table", site, "--out", out)

    assert ran.status == 2
    assert out.read_text() == "old\n"


@pytest.mark.parametrize("verb", VERBS)
def test_folder_that_is_not_there_ends_in_2(run, tmp_path, verb):
    ran = run(*arguments_of(verb, tmp_path / "none"))

    assert ran.status == 2
    assert ran.out == ""
    assert ran.err == (
        f"{tmp_path / 'none'}: no such folder\n"
        "  accepted: a folder with site.toml, zones.csv and heads.csv, or with "
        "site.xlsx\n"
        "  hint: scheduler new FOLDER starts one\n"
    )


def test_explain_of_no_zone_names_the_nearest(run, site):
    replace(site, "zones.csv", "2,Beds", "Beds,Beds")
    ran = run("explain", site, "--zone", "bed", "--month", "7")

    assert ran.status == 2
    assert ran.out == ""
    assert ran.err == (
        'zones.csv: --zone: "bed" is not a zone\n'
        "  accepted: 1, Beds\n"
        "  hint: did you mean Beds?\n"
    )


# Hard limits: 3, the table all the same, and where and by how much.


def limit_lines(text: str, code: str) -> str:
    """Text of one caution, put back into one line."""
    flat = re.sub(r"\n  ", " ", text)
    lines = [line for line in flat.split("\n") if line.startswith(f"{code}: zone")]
    assert lines, text
    return lines[0]


def run_limit(run, site: Path, code: str) -> str:
    """Line of a hard limit in the table's text; all formats end in 3."""
    ran = run("table", site)
    assert ran.status == 3
    assert ran.err == ""
    assert "Minutes a week" in ran.out
    for format_ in FORMATS:
        other = run("table", site, "--format", format_)
        assert other.status == 3
        assert other.out
        if format_ == "json":
            codes = [c["code"] for c in json.loads(other.out)["cautions"]]
            assert code in codes
    checked = run("check", site)
    assert checked.status == 3
    # The hard limits come first; the one made here may share its place with another.
    first = re.findall(r"^[12]\. ([a-z-]+):", checked.out, re.MULTILINE)
    assert code in first
    # `rates` tells of the supply, and of no other limit.
    rates = run("rates", site)
    assert rates.status == (3 if code == "flow-over-supply" else 0)
    assert (code in rates.out) == (code == "flow-over-supply")
    assert run("climate", site).status == 0
    return limit_lines(ran.out, code)


# 15 gpm against 12: 3.0 gpm over.
def test_limit_flow_over_the_design_flow(run, site):
    replace(site, "site.toml", "design_flow_gpm = 20", "design_flow_gpm = 12")
    line = run_limit(run, site, "flow-over-supply")

    assert "zone 1" in line
    assert "15.0 gpm" in line
    assert "3.00 gpm more" in line
    assert "12.0 gpm" in line


def test_flow_at_the_design_flow_is_no_limit(run, site):
    replace(site, "site.toml", "design_flow_gpm = 20", "design_flow_gpm = 15")

    assert run("table", site).status == 0


# Loam, 8 in of roots, 0.4 of 0.17 in/in: 0.544 in, a tenth over 0.598 in. July takes
# 0.29 · 0.8 in a day, so roots stand 2 days; with one day a week the gap is 7.
def test_limit_too_few_days(run, site):
    replace(site, "site.toml", 'days = "any"', 'days = ["mon"]')
    line = run_limit(run, site, "days-too-few")

    assert line.startswith("days-too-few: zone 1, ")
    assert "2 days" in line
    assert "Jul" in line or "-" in line


# Clay takes 0.10 in/h and holds 0.10 in on 15 %: at 96.25 · 15 / 900 = 1.604 in/h that
# is full after 60 · 0.10 / 1.504 = 3.99 min; at 4 in/h and more it is under 2 min.
def test_limit_cycle_too_short(run, site):
    replace(site, "zones.csv", "loam,2,2000,15", "clay,15,360,15")
    line = run_limit(run, site, "cycle-too-short")

    # 96.25 · 15 / 360 = 4.0104 in/h; 60 · 0.10 / 3.9104 = 1.534 min.
    assert line.startswith("cycle-too-short: zone 1: ")
    assert "after 1.5 min" in line
    assert "2 min" in line


def test_limit_not_permitted_in_some_months(run, site):
    replace(site, "site.toml", 'days = "any"', 'days = "any"\nmonths = "10-6"')
    line = run_limit(run, site, "not-permitted")
    table = json.loads(run("table", site, "--format", "json").out)

    assert "zone 1" in line
    assert "Jul-Sep" in line
    # The worst of the three: July's 0.29 · 0.8 · 31 = 7.192 in less the rain counted.
    assert "up to " in line
    rain = table["zones"][0]["months"][6]["effective_rain_mm"] / MM_PER_IN
    assert f"{0.29 * 0.8 * 31 - rain:.2f} in" in line
    for zone in table["zones"]:
        for cell in zone["months"]:
            off = cell["month"] in (7, 8, 9)
            assert (cell["cycles"] == 0) >= off
            assert cell["net_need_mm"] >= 0
            if off:
                assert cell["unmet_mm"] > 0
                assert cell["days"] == []


# 1 in of roots in loam hold 0.17 in; with one day a week July asks for 7 · 0.232 in.
def test_limit_need_unmet(run, site):
    replace(site, "site.toml", 'days = "any"', 'days = ["mon"]')
    replace(site, "zones.csv", "slope_percent", "root_depth_in,slope_percent")
    replace(site, "zones.csv", "turf,loam,", "turf,loam,1,")
    replace(site, "zones.csv", "water,loam,", "water,loam,,")
    line = run_limit(run, site, "need-unmet")
    table = json.loads(run("table", site, "--format", "json").out)
    july = table["zones"][0]["months"][6]
    # Weeks of the month times (net depth a week − 0.17 in).
    unmet_in = 31 / 7 * (july["net_need_mm"] / MM_PER_IN * 7 / 31 - 0.17)

    assert july["unmet_mm"] / MM_PER_IN == pytest.approx(unmet_in, rel=1e-9)
    assert f"up to {unmet_in:.2f} in a month" in line


def test_no_hard_limit_no_3(run, site):
    for verb in VERBS:
        assert run(*arguments_of(verb, site)).status == 0


# Faults of our own.


def test_own_fault_ends_in_1_and_one_line(run, site, monkeypatch):
    def fault(_: object) -> None:
        raise ZeroDivisionError("a divisor of zero")

    monkeypatch.setattr("scheduler.plan.sites.plan_site", fault)
    monkeypatch.delenv("SCHEDULER_TRACEBACK", raising=False)
    ran = run("table", site)

    assert ran.status == 1
    assert ran.out == ""
    assert ran.err == (
        "scheduler: a fault of the program (ZeroDivisionError: a divisor of zero); "
        "set SCHEDULER_TRACEBACK=1 to see where\n"
    )


def test_own_fault_shows_where_on_demand(run, site, monkeypatch):
    def fault(_: object) -> None:
        raise ZeroDivisionError("a divisor of zero")

    monkeypatch.setattr("scheduler.plan.sites.plan_site", fault)
    monkeypatch.setenv("SCHEDULER_TRACEBACK", "1")
    ran = run("table", site)

    assert ran.status == 1
    assert "Traceback (most recent call last)" in ran.err
    assert "a fault of the program (ZeroDivisionError" in ran.err


def test_pipe_closed_by_its_reader_is_no_fault(run, site, monkeypatch):
    def closed(*_: object, **__: object) -> None:
        raise BrokenPipeError(errno.EPIPE, os.strerror(errno.EPIPE))

    monkeypatch.setattr("typer.echo", closed)
    ran = run("table", site)

    assert ran.status == 0
    assert ran.err == ""


def test_pipe_closed_by_its_reader_is_quiet_in_a_shell():
    """More than a pipe holds, and a reader who takes the first line only."""
    command = [sys.executable, "-m", "scheduler", "table",
               str(EXAMPLES / "business_park"), "--format", "json"]  # fmt: skip
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        assert process.stdout
        assert process.stderr
        assert process.stdout.readline() == b"{\n"
        process.stdout.close()
        error = process.stderr.read()
        assert process.wait() == 0

    assert error == b""


def test_output_to_a_program_is_utf_8_whatever_the_system_s_habit():
    command = [sys.executable, "-m", "scheduler", "explain", str(EXAMPLES / "home"),
               "--zone", "1", "--month", "7"]  # fmt: skip
    environment = {**os.environ, "PYTHONIOENCODING": "cp1252"}
    ran = subprocess.run(command, capture_output=True, env=environment, check=False)

    assert ran.returncode == 0, ran.stderr
    assert "0.4 + 0.6 × " in ran.stdout.decode("utf-8")
    assert "−" in ran.stdout.decode("utf-8")


# new


@pytest.mark.parametrize("units", UNITS)
def test_new_makes_a_folder_that_runs_as_it_is(run, tmp_path, units):
    folder = tmp_path / "mine"
    made = run("new", folder, "--units", units)

    assert made.status == 0
    assert made.err == ""
    assert made.out == (
        f"{folder}: made. Fill in the files, then: scheduler table {folder}\n"
    )
    assert sorted(os.listdir(folder)) == [
        "climate.csv", "heads.csv", "site.toml", "zones.csv"]  # fmt: skip
    for verb in VERBS:
        ran = run(*arguments_of(verb, folder), "--format", "json")
        assert ran.status == 0
        assert ran.err == ""
        cautions = json.loads(ran.out).get("cautions", [])
        cautions += json.loads(ran.out).get("findings", [])
        assert {c["code"] for c in cautions} <= {
            "value-assumed",
            "not-used-yet",
            # The template's lawn stands on clay loam, which asks for a soak.
            "rate-over-intake",
        }
    table = json.loads(run("table", folder, "--format", "json").out)
    assert table["site"]["units"] == units
    assert any(cell["cycles"] for cell in table["zones"][0]["months"])


def test_new_says_the_same_site_in_both_systems(run, tmp_path):
    tables = []
    for units in UNITS:
        run("new", tmp_path / units, "--units", units)
        tables.append(
            json.loads(run("table", tmp_path / units, "--format", "json").out)
        )
    us, metric = ([zone["months"][6] for zone in t["zones"]] for t in tables)

    for a, b in zip(us, metric, strict=True):
        # The templates' metric numbers are rounded to about two digits.
        assert b["gross_need_mm"] == pytest.approx(a["gross_need_mm"], rel=0.03)
        assert b["minutes_per_week"] == pytest.approx(a["minutes_per_week"], rel=0.1)


def test_new_explains_every_key_in_its_templates(run, tmp_path):
    run("new", tmp_path / "mine")
    text = (tmp_path / "mine" / "site.toml").read_text("utf-8")

    for table in ("site", "climate", "supply", "controller", "water", "door"):
        assert f"[{table}]" in text
    for line in text.split("\n"):
        if re.match(r"(# )?[a-z_0-9]+ = ", line) and "shut_off" not in line:
            assert re.search(r"  # \S", line), line


def test_new_refuses_a_folder_that_holds_something(run, tmp_path):
    folder = tmp_path / "mine"
    folder.mkdir()
    (folder / "notes.txt").write_text("keep me")
    ran = run("new", folder)

    assert ran.status == 2
    assert ran.out == ""
    assert ran.err == (
        f"{folder}: is there already\n"
        "  accepted: a folder that does not exist yet, or an empty one\n"
    )
    assert os.listdir(folder) == ["notes.txt"]


def test_new_refuses_a_file(run, tmp_path):
    (tmp_path / "mine").write_text("keep me")
    ran = run("new", tmp_path / "mine")

    assert ran.status == 2
    assert (tmp_path / "mine").read_text() == "keep me"


def test_new_fills_an_empty_folder_and_makes_folders_above_it(run, tmp_path):
    (tmp_path / "empty").mkdir()

    assert run("new", tmp_path / "empty").status == 0
    assert run("new", tmp_path / "a" / "b" / "c").status == 0
    assert (tmp_path / "a" / "b" / "c" / "site.toml").exists()


@pytest.mark.parametrize("there", [True, False])
def test_new_writes_nothing_where_it_fails(run, tmp_path, monkeypatch, there):
    folder = tmp_path / "mine"
    if there:
        folder.mkdir()
    replace_, calls = os.replace, []

    def full_after_two(*arguments: str) -> None:
        calls.append(arguments)
        if len(calls) > 2:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        replace_(*arguments)

    monkeypatch.setattr(os, "replace", full_after_two)
    ran = run("new", folder)

    assert ran.status == 2
    assert ran.out == ""
    assert "No space left on device" in ran.err
    assert len(calls) == 3
    assert (os.listdir(folder) == []) if there else not folder.exists()


# Names that people give.

NAMES = {
    "bar": "Front | back",
    "quotes": "The \"old\" lawn, 'east'",
    "comma": "Lawn, north; beds",
    "backslash": "a\\|b \\ c",
    "accents": "Jardín façade ½ naïve Größe",
    "right to left": "حديقة الورد",
    "emoji": "🌳 trees 👨‍👩‍👧",
    "long": "x" * 200,
    "long words": "lawn by the pond " * 12,
    "markup": "<script>alert(1)</script>",
    "formula": "=1+1",
    "plus": "+ lawn",
    "minus": "-north",
    "at": "@gate",
    "hash": "a # b",
    "percent": "100% {name} %s {0}",
    "nothing": "None",
    "not a number": "nan",
    "number": "-12",
}


def csv_cell(text: str) -> str:
    return '"' + text.replace('"', '""') + '"'


@pytest.fixture
def named(site):
    def named_(name: str) -> Path:
        toml = name.replace("\\", "\\\\").replace('"', '\\"')
        replace(site, "site.toml", "A small site", toml)
        rows = ZONES.replace("1,Lawn,", f"1,{csv_cell(name)},")
        rows = rows.replace("2,Beds,", f"{csv_cell('z' + name)},Beds,")
        (site / "zones.csv").write_text(rows, encoding="utf-8")
        return site

    return named_


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_names_come_through_json_as_they_are(run, named, name):
    ran = run("table", named(name), "--format", "json")
    content = json.loads(ran.out)
    name = name.strip()

    assert ran.status == 0
    assert content["site"]["name"] == name
    assert content["zones"][0]["name"] == name
    assert content["zones"][1]["zone"] == f"z{name}"


# Text that a spreadsheet would take for a formula gets an apostrophe, the usual guard;
# all else, numbers too, comes through as it is.
@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_names_come_through_csv(run, named, name):
    site = named(name)
    name = name.strip()
    guarded = name in ("=1+1", "+ lawn", "-north", "@gate")
    for verb in ("table", "check", "rates"):
        ran = run(verb, site, "--format", "csv")
        assert ran.status == 0
        for row in rows_of(ran.out):
            for cell in row.values():
                assert not re.match(r"[=@]|[+-](?!\d)", cell or "")
    rows = rows_of(run("table", site, "--format", "csv").out)

    assert len(rows) == 24
    assert rows[0]["name"] == (f"'{name}" if guarded else name)
    assert rows[12]["zone"] == f"z{name}"
    assert rows[12]["name"] == "Beds"


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_names_keep_the_columns_of_markdown(run, named, name):
    site = named(name)
    for verb in VERBS:
        ran = run(*arguments_of(verb, site), "--format", "markdown")
        assert ran.status == 0
        assert "<script>" not in ran.out.replace("\\<script>", "")
        for table in markdown_tables(ran.out):
            assert len({len(cells) for cells in table}) == 1, table[0]


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_names_leave_the_text_whole(run, named, name):
    site = named(name)
    flat = re.sub(r"\s+", "", run("table", site).out)
    told = re.sub(r"\s+", "", name)

    assert f"Wateringtable:{told}" in flat
    assert f"Zone1:{told}" in flat
    for verb in VERBS:
        assert run(*arguments_of(verb, site)).status == 0
    # A heading may be as long as a name; tables and sentences keep to the page.
    replace(site, "zones.csv", csv_cell(f"z{name}"), "2b")
    for verb in VERBS:
        for line in run(*arguments_of(verb, site)).out.split("\n"):
            assert len(line) <= WIDTH or name.strip() in line or set(line) == {"="}, (
                line
            )


def test_names_are_found_by_explain(run, named):
    site = named(NAMES["right to left"])
    zone = f"z{NAMES['right to left']}"

    assert run("explain", site, "--zone", zone, "--month", "7").status == 0


# What the output of one verb says in several formats.


def approx(value: float) -> object:
    # CSV carries six digits: half a unit of the sixth is at most 5e-6 of the number.
    return pytest.approx(value, rel=5e-6, abs=1e-9)


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("name", SITES)
def test_csv_and_json_of_the_table_agree(run, name, units):
    site = EXAMPLES / name
    content = json.loads(run("table", site, "--format", "json").out)
    rows = rows_of(run("table", site, "--format", "csv", "--units", units).out)
    depth, volume = ("in", "gal") if units == "us" else ("mm", "l")
    mm = MM_PER_IN if units == "us" else 1
    liters = L_PER_GAL if units == "us" else 1
    cells = [(z, c) for z in content["zones"] for c in z["months"]]

    assert len(rows) == len(cells)
    for row, (zone, cell) in zip(rows, cells, strict=True):
        et0 = content["climate"]["months"][cell["month"] - 1]["et0_mm_day"]
        assert (row["zone"], row["name"]) == (zone["zone"], zone["name"])
        assert int(row["station"]) == zone["station"]
        assert int(row["month"]) == cell["month"]
        assert float(row[f"et0_{depth}_day"]) * mm == approx(et0)
        for key in ("plant_need", "effective_rain", "net_need", "gross_need",
                    "carried_in", "applied", "unmet"):  # fmt: skip
            assert float(row[f"{key}_{depth}"]) * mm == approx(cell[f"{key}_mm"])
        assert float(row[f"volume_{volume}"]) * liters == approx(cell["volume_l"])
        assert row["days"].split() == cell["days"]
        assert row["parity"] == (cell["parity"] or "")
        assert row["every_days"] == str(cell["every_days"] or "")
        for key in ("gap_limit_days", "days_per_week", "minutes_per_day", "cycles",
                    "cycle_minutes", "soak_minutes", "minutes_per_week"):  # fmt: skip
            assert float(row[key]) == approx(cell[key])


MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov",
          "Dec")  # fmt: skip
WEEKDAYS = {"Mo": "mon", "Tu": "tue", "We": "wed", "Th": "thu", "Fr": "fri",
            "Sa": "sat", "Su": "sun"}  # fmt: skip


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("name", SITES)
def test_text_and_json_of_the_table_agree(run, name, units):
    site = EXAMPLES / name
    content = json.loads(run("table", site, "--format", "json").out)
    ran = run("table", site, "--format", "markdown", "--units", units)
    tables = markdown_tables(ran.out)[1:]
    mm, digits = (MM_PER_IN, 2) if units == "us" else (1, 0)
    liters = L_PER_GAL if units == "us" else 1

    assert len(tables) == len(content["zones"])
    for zone, table in zip(content["zones"], tables, strict=True):
        for cell, shown in zip(zone["months"], table[2:], strict=True):
            month, _, need, rain, apply, days, day, cycles, soak, week, volume = shown
            assert month == MONTHS[cell["month"] - 1]
            assert need == f"{cell['plant_need_mm'] / mm:,.{digits}f}"
            assert rain == f"{cell['effective_rain_mm'] / mm:,.{digits}f}"
            assert volume == f"{cell['volume_l'] / liters:,.0f}"
            if not cell["cycles"]:
                assert days.startswith("off: ")
                assert (apply, day, cycles, soak, week) == ("",) * 5
                continue
            assert apply == f"{cell['gross_need_mm'] / mm:,.{digits}f}"
            assert day == f"{cell['minutes_per_day']:g}"
            assert cycles == f"{cell['cycles']} x {cell['cycle_minutes']:g}"
            assert soak == (f"{cell['soak_minutes']:g}" if cell["soak_minutes"] else "")
            assert week == f"{cell['minutes_per_week']:,.0f}"
            if days == "every day":
                assert len(cell["days"]) == 7
            elif days.endswith(" dates"):
                assert days == f"{cell['parity']} dates"
                assert len(cell["days"]) == 7
            else:
                words = days.replace(",", "").split()
                assert [WEEKDAYS[w] for w in words if w in WEEKDAYS] == cell["days"]
                assert (cell["parity"] or "") in ("", words[0])
                assert (f"every {cell['every_days']} days" in days) == bool(
                    cell["every_days"]
                )


@pytest.mark.parametrize("name", SITES)
def test_overview_adds_the_zones_up(run, name):
    content = json.loads(run("table", EXAMPLES / name, "--format", "json").out)
    markdown = run("table", EXAMPLES / name, "--format", "markdown").out
    *zones, total = markdown_tables(markdown)[0][2:]

    for month in range(12):
        weekly = [z["months"][month]["minutes_per_week"] for z in content["zones"]]
        shown = [row[month + 1] for row in zones]
        assert shown == [f"{m:,.0f}" if m else "-" for m in weekly]
        assert total[month + 1] == f"{sum(weekly) / 60:.1f}"


@pytest.mark.parametrize("units", UNITS)
@pytest.mark.parametrize("name", SITES)
def test_csv_and_json_of_climate_agree(run, name, units):
    site = EXAMPLES / name
    content = json.loads(run("climate", site, "--format", "json").out)
    rows = rows_of(run("climate", site, "--format", "csv", "--units", units).out)
    mm = MM_PER_IN if units == "us" else 1
    depth = "in" if units == "us" else "mm"

    for row, month in zip(rows, content["months"], strict=True):
        assert int(row["month"]) == month["month"]
        assert float(row[f"rain_{depth}"]) * mm == approx(month["rain_mm"])
        assert float(row[f"et0_{depth}_day"]) * mm == approx(month["et0_mm_day"])
        assert float(row[f"effective_rain_{depth}"]) * mm == approx(
            month["effective_rain_mm"]
        )
        assert (row["frost"] == "True") == month["frost"]
        if units == "us":
            assert (float(row["tmin_f"]) - 32) / 1.8 == pytest.approx(
                month["tmin_c"], abs=1e-3
            )
        else:
            assert float(row["tmin_c"]) == approx(month["tmin_c"])


@pytest.mark.parametrize("name", SITES)
def test_csv_and_json_of_rates_agree(run, name):
    site = EXAMPLES / name
    content = json.loads(run("rates", site, "--format", "json").out)
    rows = rows_of(run("rates", site, "--format", "csv", "--units", "us").out)
    heads = [(z["zone"], h) for z in content["zones"] for h in z["heads"]]
    by_place = {(zone, head["head"]): head for zone, head in heads}

    assert len(rows) == len(heads)
    for row in rows:
        head = by_place[row["zone"], row["head"]]
        assert int(row["count"]) == head["count"]
        if head["rate_mm_h"] is None:
            assert row["rate_in_h"] == ""
        else:
            assert float(row["rate_in_h"]) * MM_PER_IN == approx(head["rate_mm_h"])


@pytest.mark.parametrize("name", SITES)
def test_csv_and_json_of_check_agree(run, name):
    site = EXAMPLES / name
    ran = run("check", site, "--format", "json", "--units", "us")
    found = json.loads(ran.out)["findings"]
    rows = rows_of(run("check", site, "--format", "csv", "--units", "us").out)

    assert len(rows) == len(found)
    for row, finding in zip(rows, found, strict=True):
        assert row["code"] == finding["code"]
        assert row["zone"] == (finding["zone"] or "")
        assert row["month"] == str(finding["month"] or "")
        assert row["text"] == finding["text"]
        water = float(row["costs_year_gal"]) * L_PER_GAL
        assert water == approx(finding["costs_l_year"])


def test_a_copied_example_needs_nothing_but_its_climate(run, tmp_path):
    shutil.copytree(EXAMPLES / "home", tmp_path / "examples" / "home")
    shutil.copytree(ROOT / "climate_samples", tmp_path / "climate_samples")

    there = run("table", tmp_path / "examples" / "home")
    assert there.status == 0
    assert there.out == run("table", EXAMPLES / "home").out
