"""Blocks on the clock: pauses between them."""

import itertools
from dataclasses import replace

import pytest

from scheduler.calendar import ALL_WEEK
from scheduler.plan.card.midnight import Side
from scheduler.plan.card.starts import (
    Blocks,
    as_late,
    midday_min,
    place,
    place_well,
)
from scheduler.plan.times.patterns import Pattern


# Common practice: a start on the very minute that another program ends may be left
# out. Exact: blocks of 60, 45 and twice 30 minutes with a minute between each two take
# 168, so they fit hours of 168 minutes and not those of 167.
@pytest.mark.parametrize(("open_min", "left"), [(168, 0), (167, 1)])
def test_place_keeps_a_minute_between_programs_and_starts(open_min, left):
    sides = (Side(0, open_min, open_min),)
    choices = ((Pattern(ALL_WEEK, 0, 0, 7.0, 1, 7, 7), (sides,)),)
    blocks = [Blocks(count, minutes, minutes + 1, choices)
              for count, minutes in ((1, 60), (1, 45), (2, 30))]  # fmt: skip
    layout = place(blocks)

    assert len(layout.left) == left
    if not left:
        late = as_late(blocks, layout.placed)
        for placed in (layout.placed, late):
            runs = sorted((start, start + program.minutes) for program in placed
                          for start in program.starts_min)  # fmt: skip
            assert all(end + 1 <= start for (_, end), (start, _)
                       in itertools.pairwise(runs))  # fmt: skip


# Common practice: as little as can be in the heat and wind of 10:00 to 18:00. By hand:
# lawns hold 00:00-07:00 of odd dates. Of beds that may run at any hour one of 179 min
# is done by 10:00, one of 180 is not; that goes to the evening, which holds one of 300
# min and not two, so that another begins at 07:05 (whole fives) and not at noon, or
# goes to even dates where these are open to it. One of 170 min leaves room for another
# to begin at 09:52.
@pytest.mark.parametrize(
    ("beds", "even", "told"),
    [
        ([179], False, (0, 0)),
        ([180], False, (0, 0)),
        ([300, 300], False, (0, 125)),
        ([300, 300], True, (0, 0)),
        ([170, 300, 300], False, (0, 292)),
        ([170, 300, 300], True, (0, 0)),
    ],
)
def test_place_well_keeps_starts_and_runs_out_of_midday(beds, even, told):
    odd, other = (Pattern(ALL_WEEK, parity, 0, 3.5, 3, 9, 4) for parity in (1, 2))
    night, day = (Side(0, 420, 420),), Side(0, 1440, 1439)
    ways = ((replace(day, closes_min=600),), (replace(day, opens_min=1080),), (day,))
    lawn = Blocks(1, 420, 421, ((odd, (night,)),))
    own = [Blocks(1, minutes, minutes + 1, ((odd, ways),)) for minutes in beds]
    more = [replace(bed, choices=((odd, ways), (other, ways))) for bed in own]
    found = place_well([lawn, *own], [lawn, *(more if even else own)])

    midday = [midday_min(one.starts_min, one.minutes) for one in found]
    assert tuple(map(sum, zip(*midday, strict=True))) == told
    for one, another in itertools.combinations(found, 2):
        begun, then = sorted((one, another), key=lambda p: p.starts_min)
        apart = one.pattern.parity != another.pattern.parity
        assert apart or begun.starts_min[0] + begun.minutes < then.starts_min[0]
