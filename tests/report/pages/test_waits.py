"""The day on which waiting percents are set, the same on every page of a sheet."""

import re
from pathlib import Path

from typer.testing import CliRunner

from scheduler.cli import app

PARK = Path(__file__).parents[3] / "examples" / "business_park"


def test_owner_and_door_tell_one_date_for_percents_that_wait_for_fillings(tmp_path):
    out = tmp_path / "sheet.html"
    told = ["sheet", str(PARK), "--date", "2026-11-27", "--out", str(out)]
    CliRunner().invoke(app, told)
    text = out.read_text(encoding="utf-8")
    waits = re.findall(r"(\w{3}): off until ([^<,]+), while dry ground", text)
    percents = re.search(r"Percents, by the page in the door: ([^<]*)", text)[1]
    first = percents.partition(";")[0]

    assert waits
    assert all(date in percents for _, date in waits)
    assert not any(month in first for month, _ in waits)
