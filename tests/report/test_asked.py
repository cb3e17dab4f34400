"""The zone that is asked for, by its number or its name."""

from dataclasses import replace
from pathlib import Path

import pytest

from scheduler.errors import InputError
from scheduler.inputs.folder import read_site
from scheduler.report.asked import zone_row

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def site():
    return read_site(EXAMPLES / "home")


def with_names(site, *names):
    """The site with these names for its first zones."""
    rest = site.zones.name[len(names) :]
    return replace(site, zones=replace(site.zones, name=(*names, *rest)))


@pytest.mark.parametrize("asked", ["2", " 2", "2 ", "Back lawn", "back-LAWN"])
def test_zone_is_found_by_number_and_by_name(site, asked):
    assert zone_row(site, asked) == 1


def test_number_goes_before_a_name(site):
    named = with_names(site, "2")

    assert zone_row(named, "2") == 1


def test_name_of_two_zones_is_refused(site):
    named = with_names(site, "Lawn", "Lawn")
    with pytest.raises(InputError) as caught:
        zone_row(named, "lawn")

    assert str(caught.value) == (
        'zones.csv: --zone: "lawn" is the name of several zones\n'
        "  accepted: 1, 2, 3, 4, 5"
    )


@pytest.mark.parametrize(
    ("asked", "hint"),
    [("9", ""), ("Bak lawn", "\n  hint: did you mean Back lawn?")],
)
def test_what_is_no_zone_is_refused(site, asked, hint):
    with pytest.raises(InputError) as caught:
        zone_row(site, asked)

    assert str(caught.value) == (
        f'zones.csv: --zone: "{asked}" is not a zone\n  accepted: 1, 2, 3, 4, 5{hint}'
    )
