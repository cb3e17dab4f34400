"""No site stops a verb."""

import contextlib
import io
import json

from drawn_sites import SYSTEMS, bounded, folder, sites
from hypothesis import event, given
from hypothesis import strategies as st

from scheduler import cli
from scheduler.cautions import HARD_LIMITS


def run(*arguments: object) -> tuple[int, str]:
    """Status and output of a verb; to standard error go only limits not met."""
    out, error = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(error):
        status = cli.status([*map(str, arguments)])
    told = {line.split(":")[0] for line in error.getvalue().splitlines()}
    assert told <= (HARD_LIMITS if status == cli.LIMIT_NOT_MET else set())
    return status, out.getvalue()


@bounded(8)
@given(sites(), st.sampled_from(SYSTEMS))
def test_no_site_stops_a_verb(drawn, system):
    with folder(drawn, system) as path:
        for format_ in ("text", "markdown", "csv", "json"):
            for verb in ("table", "check"):
                status, out = run(verb, path, "--format", format_)
                assert status in (0, 3)
                assert out
            assert run("climate", path, "--format", format_)[0] == 0
            asked = ("--zone", "z0", "--month", 7, "--format", format_)
            assert run("explain", path, *asked)[0] == 0
        status, out = run("table", path, "--format", "json")
        hard = {c["code"] for c in json.loads(out)["cautions"]} & HARD_LIMITS
        assert status == (3 if hard else 0)
        # `rates` tells of the supply, and of no other limit.
        low = bool(hard & {"pressure-too-low", "no-pressure-left"})
        for format_ in ("text", "markdown", "csv", "json"):
            status, out = run("rates", path, "--format", format_)
            assert status == (3 if low else 0)
            assert out
        event(f"status {status}")
        for verb in ("table", "check", "rates", "climate"):
            for line in run(verb, path)[1].split("\n"):
                assert len(line) <= 100, line
