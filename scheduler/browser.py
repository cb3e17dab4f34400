"""Pages printed to PDF by a browser that is installed here."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from pathlib import Path

from scheduler.errors import InputError, Problem
from scheduler.write import write_whole

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")
"""Commands of browsers that print without a window."""

PLACES = (
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge",
    r"C:\Program Files\Google\Chrome\Application\chrome.exe",
    r"C:\Program Files (x86)\Google\Chrome\Application\chrome.exe",
    r"C:\Program Files (x86)\Microsoft\Edge\Application\msedge.exe",
    r"C:\Program Files\Microsoft\Edge\Application\msedge.exe",
)
"""Where they lie on systems that do not put them on the path."""

LONGEST_S = 120


def is_pdf(path: Path) -> bool:
    """Whether a page is to be a PDF; InputError where it is no HTML either."""
    suffix = path.suffix.lower()
    if suffix not in (".html", ".htm", ".pdf"):
        wrong = f'"{path.suffix or path.name}" is no kind of page written here'
        accepted = "a file name that ends in .html or .pdf"
        raise InputError([Problem(str(path), None, "--out", wrong, accepted)])
    return suffix == ".pdf"


def find_browser() -> str | None:
    """Path of a browser that can print; None where there is none."""
    found = next(filter(None, map(shutil.which, NAMES)), None)
    return found or next((place for place in PLACES if os.path.exists(place)), None)


def printed(page: str, path: Path) -> bytes:
    """PDF of an HTML page; `path` is where it will go.

    Raises InputError where no browser is found, or it prints nothing.
    """
    browser = find_browser()
    if browser is None:
        raise _cannot(path, "no browser that prints a PDF was found here")
    with tempfile.TemporaryDirectory(prefix="scheduler-") as folder:
        source, target = Path(folder) / "page.html", Path(folder) / "page.pdf"
        write_whole(source, page)
        command = [
            browser, "--headless", "--disable-gpu", "--no-pdf-header-footer",
            f"--user-data-dir={folder}/profile", f"--print-to-pdf={target}",
            *_as_root(), source.as_uri(),
        ]  # fmt: skip
        try:
            subprocess.run(command, capture_output=True, check=False, timeout=LONGEST_S)
        except (OSError, subprocess.TimeoutExpired) as error:
            raise _cannot(path, f"{browser} did not print it: {error}") from error
        if not target.exists():
            raise _cannot(path, f"{browser} did not print it")
        return target.read_bytes()


def _as_root() -> list[str]:
    """A browser does not start in its sandbox as root; the page holds no script."""
    return ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []


def _cannot(path: Path, wrong: str) -> InputError:
    hint = "write a .html file, open it in a browser, and print it there to a PDF"
    return InputError([Problem(str(path), None, "--out", wrong, hint=hint)])
