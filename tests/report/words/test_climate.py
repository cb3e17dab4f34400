"""How ET0 was found and what that takes for granted: a sentence for each code."""

import ast
from pathlib import Path

import pytest

import scheduler
from scheduler.demand.et0 import reference
from scheduler.demand.et0.assumptions import Assumption
from scheduler.demand.series import LeftOut
from scheduler.report.words import climate

JULY = LeftOut(2015, 7, 24, 31)
# Wording is ours; what must stand in it is the number, and the source where one is
# followed: FAO-56 pp. 58, 60 and 63.
SENTENCES = [
    ("noted", {"text": "2 cells with na"}, "2 cells with na"),
    ("no-humidity", {"days": None}, "no humidity: the dew point is taken as the "
     "minimum temperature (FAO56, eq. 48, p. 58); in dry country that makes ET0 a "
     "little low"),
    ("no-wind", {"days": None}, "no wind: 2 m/s all year (FAO56, p. 63)"),
    ("wind-of-the-month", {"days": 1},
     "no wind on 1 day: the mean of the month in this file"),
    ("no-radiation", {"days": 1234}, "no radiation or sunshine on 1,234 days: from the "
     "daily temperature range, 0.16 inland (FAO56, eq. 50, p. 60); on a coast that "
     "makes ET0 a little low"),
    ("latitude-apart", {"file_deg": 36.11, "place_deg": 38.5},
     "the weather file is of latitude 36.1, the place of 38.5"),
    ("et0-partly-given",
     {"given_days": 1, "computed_days": 20, "method": "penman-monteith-daily"},
     "ET0 is given on 1 day and computed on 20 days (FAO-56 Penman-Monteith, daily)"),
    ("solar-over-outer", {"days": 3}, "solar radiation is more than the sun sends on "
     "3 days: check its unit, the latitude and the dates"),
    ("sunshine-held", {"days": None},
     "sunshine above the day's length is held to it"),
    ("sunshine-held", {"days": 2},
     "sunshine above the day's length on 2 days is held to it"),
    ("no-minimum", {}, "no minimum temperatures: no month is taken as frosty"),
    ("months-left-out", {"months": (JULY,)},
     "left out, because under 80 % of the days are there: 2015-07 (24 of 31)"),
    ("one-year", {"typical_year": False}, "dry_year_percentile is for daily files of "
     "several years; a monthly climate file holds one year"),
    ("one-year", {"typical_year": True}, "dry_year_percentile is for daily files of "
     "several years; a typical year holds one year"),
    ("dry-year", {"percentile": 80.0, "years": 5}, "ET0 and rain of each month are "
     "those of the year at percentile 80 by ET0 - rain, of 5 years or more"),
    ("north-taken", {}, "a place north of the equator (--latitude)"),
    ("sea-level-taken", {}, "elevation 0 m above the sea (--elevation)"),
    ("gauge-taken-at-2-m", {},
     "wind measured at 2 m above the ground (--wind-height)"),
    ("no-rain", {"because": "it is of another year"}, "no rain: it is of another year"),
]  # fmt: skip


@pytest.mark.parametrize(("code", "values", "sentence"), SENTENCES)
def test_an_assumption_is_told_in_a_sentence(code, values, sentence):
    assert climate.assumption_sentence(Assumption(code, values)) == sentence


def codes_in_the_package() -> set[str]:
    """Codes that the package's source makes assumptions of."""
    found = set()
    for path in Path(scheduler.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            name = getattr(getattr(node, "func", None), "id", "")
            if name in ("Assumption", "_say"):
                place = node.args[0 if name == "Assumption" else 1]
                found |= {place.value} if isinstance(place, ast.Constant) else set()
            # A weather file read alone hands on codes, for the view to make into one.
            func = getattr(node, "func", None)
            owner = getattr(getattr(func, "value", None), "id", "")
            if owner == "assumed" and getattr(func, "attr", "") == "append":
                found |= {a.value for a in node.args if isinstance(a, ast.Constant)}
    return found


def test_every_code_of_the_package_has_its_sentence():
    assert codes_in_the_package() == {code for code, _, _ in SENTENCES}


def test_many_months_left_out_are_counted_after_the_first_six():
    months = tuple(LeftOut(2015, month, 3, 30) for month in range(1, 10))
    told = climate.assumption_sentence(
        Assumption("months-left-out", {"months": months})
    )

    assert told.endswith("2015-06 (3 of 30) and 3 more")


@pytest.mark.parametrize(
    "code",
    [
        reference.GIVEN,
        reference.HARGREAVES,
        f"{reference.PENMAN_MONTEITH}-daily",
        f"{reference.PENMAN_MONTEITH}-monthly",
    ],
)
def test_every_method_has_its_words(code):
    assert climate.method_words(code)
