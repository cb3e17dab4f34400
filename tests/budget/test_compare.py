"""Zones of two sites matched by name, then number; what changed is a difference."""

from types import SimpleNamespace

import pytest
from cards import plan_of

from scheduler.budget import compare


def zones(*pairs):
    numbers, names = zip(*pairs, strict=True)
    return SimpleNamespace(zone=numbers, name=names)


# By hand: a name goes before a number, what is written twice is no name, and no zone
# has two others.
@pytest.mark.parametrize(
    ("before", "now", "pairs"),
    [
        ([("1", "Lawn"), ("2", "Bed")], [("2", "lawn"), ("1", " Bed ")],
         ((0, 0), (1, 1))),
        ([("1", "Lawn"), ("2", "Bed")], [("1", "Meadow"), ("2", "Bed")],
         ((0, 0), (1, 1))),
        ([("1", "Lawn"), ("2", "Bed")], [("1", "Bed"), ("3", "Pots")], ((1, 0),)),
        ([("1", "Lawn"), ("2", "Lawn")], [("2", "Lawn"), ("1", "Lawn")],
         ((1, 0), (0, 1))),
        ([("1", "Lawn")], [("2", "Bed")], ()),
    ],
)  # fmt: skip
def test_zones_are_matched_by_name_then_number(before, now, pairs):
    assert compare.matched_zones(zones(*before), zones(*now)) == pairs


def test_changes_are_the_differences_and_every_zone_is_told_once():
    before, now = plan_of("southern_garden"), plan_of("home")
    found = compare.compare_sites(before, now)

    for (was, row), more in zip(found.pairs, found.more_l, strict=True):
        change = now.plan.volume_l[row].sum() - before.plan.volume_l[was].sum()
        assert more == pytest.approx(change)
    of_before = sorted([*found.only_before, *(was for was, _ in found.pairs)])
    of_now = sorted([*found.only_now, *(row for _, row in found.pairs)])
    assert of_before == list(range(len(before.site.zones)))
    assert of_now == list(range(len(now.site.zones)))
    sizes = [abs(found.more_l[found.pairs.index(pair)])
             for pair in found.largest_changes(3, 0.0)]  # fmt: skip
    assert sizes == sorted(abs(found.more_l), reverse=True)[:3]
