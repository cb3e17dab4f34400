"""Every verb alike: its formats and units, --out, exit status, errors and faults."""

import errno
import json
import os
import re
import subprocess
import sys

import pytest
from cli_answers import (
    EXAMPLES,
    FORMATS,
    SITES,
    UNITS,
    VERBS,
    WIDTH,
    arguments_of,
    markdown_tables,
    replace,
    rows_of,
)

from scheduler.plan import site as plan_site_module

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
    else:
        assert ran.out.startswith("# ")
        for table in markdown_tables(ran.out):
            assert len({len(cells) for cells in table}) == 1


@pytest.mark.parametrize("verb", VERBS)
def test_verb_takes_the_site_s_units_where_none_are_asked_for(run, verb):
    site = EXAMPLES / "southern_garden"
    usual = run(*arguments_of(verb, site))

    assert usual.out == run(*arguments_of(verb, site), "--units", "metric").out
    assert usual.out != run(*arguments_of(verb, site), "--units", "us").out


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
    replace(site, "site.toml", "pressure_psi = 45", "pressure_psi = 20")
    ran = run("table", site, "--out", tmp_path / "table.txt")

    assert ran.status == 3
    assert "pressure-too-low" in (tmp_path / "table.txt").read_text("utf-8")


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
        (["explain", "{site}", "--zone", "1"], "name a month, or a day with --date"),
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


def test_no_hard_limit_no_3(run, site):
    for verb in VERBS:
        assert run(*arguments_of(verb, site)).status == 0


# Faults of our own.


def test_own_fault_ends_in_1_and_one_line(run, site, monkeypatch):
    def fault(*_: object) -> None:
        raise ZeroDivisionError("a divisor of zero")

    monkeypatch.setattr(plan_site_module, "plan_site", fault)
    monkeypatch.delenv("SCHEDULER_TRACEBACK", raising=False)
    ran = run("table", site)

    assert ran.status == 1
    assert ran.out == ""
    assert ran.err == (
        "scheduler: a fault of the program (ZeroDivisionError: a divisor of zero); "
        "set SCHEDULER_TRACEBACK=1 to see where\n"
    )


def test_own_fault_shows_where_on_demand(run, site, monkeypatch):
    def fault(*_: object) -> None:
        raise ZeroDivisionError("a divisor of zero")

    monkeypatch.setattr(plan_site_module, "plan_site", fault)
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
