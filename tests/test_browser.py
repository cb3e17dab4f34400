"""A browser that is missing, silent or slow is told; a page becomes a PDF."""

import subprocess
from pathlib import Path

import pypdf
import pytest

from scheduler import browser
from scheduler.errors import InputError

NEEDS_BROWSER = pytest.mark.skipif(
    browser.find_browser() is None,
    reason="no browser on this machine: apt-get install chromium",
)
HINT = "\n  hint: write a .html file, open it in a browser, and print it there to a PDF"


@pytest.fixture
def no_browser(monkeypatch, tmp_path):
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr(browser, "PLACES", ())


@pytest.mark.parametrize(
    ("name", "pdf"), [("a.html", False), ("a.HTM", False), ("a.pdf", True)]
)
def test_is_pdf_goes_by_the_ending(name, pdf):
    assert browser.is_pdf(Path(name)) is pdf


@pytest.mark.parametrize("name", ["a.docx", "a", "html"])
def test_is_pdf_refuses_other_endings(name):
    told = Path(name).suffix or name
    with pytest.raises(InputError) as error:
        browser.is_pdf(Path(name))

    assert str(error.value) == (
        f'{name}: --out: "{told}" is no kind of page written here\n'
        "  accepted: a file name that ends in .html or .pdf"
    )


def test_printed_names_the_remedy_where_no_browser_is(no_browser):
    with pytest.raises(InputError) as error:
        browser.printed("<p>x</p>", Path("a.pdf"))

    assert str(error.value) == (
        "a.pdf: --out: no browser that prints a PDF was found here" + HINT
    )


def test_printed_tells_of_a_browser_that_prints_nothing(monkeypatch, tmp_path):
    silent = tmp_path / "chromium"
    silent.write_text("#!/bin/sh\nexit 0\n", encoding="utf-8")
    silent.chmod(0o755)
    monkeypatch.setattr(browser, "find_browser", lambda: str(silent))
    with pytest.raises(InputError) as error:
        browser.printed("<p>x</p>", Path("a.pdf"))

    assert str(error.value) == f"a.pdf: --out: {silent} did not print it{HINT}"


def test_printed_tells_of_a_browser_that_takes_too_long(monkeypatch):
    def run(command, **_):
        raise subprocess.TimeoutExpired(command[0], browser.LONGEST_S)

    monkeypatch.setattr(browser, "find_browser", lambda: "slow")
    monkeypatch.setattr(subprocess, "run", run)
    with pytest.raises(InputError, match="slow did not print it: "):
        browser.printed("<p>x</p>", Path("a.pdf"))


# ISO 216: A4 is 210 x 297 mm; a PDF's unit is 1/72 in (ISO 32000-1, 8.3.2.3).
@NEEDS_BROWSER
def test_printed_takes_the_papers_size_from_the_page(tmp_path):
    page = "<style>@page { size: A4 }</style><p>Zone 1, Straße</p>"
    path = tmp_path / "a.pdf"
    path.write_bytes(browser.printed(page, path))
    printed = pypdf.PdfReader(path).pages

    assert len(printed) == 1
    assert "Zone 1, Straße" in printed[0].extract_text()
    wide, tall = printed[0].mediabox.width, printed[0].mediabox.height
    assert wide == pytest.approx(210 / 25.4 * 72, abs=1)
    assert tall == pytest.approx(297 / 25.4 * 72, abs=1)
