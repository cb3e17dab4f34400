"""Blocks on the clock: pauses between them."""

import itertools

import pytest

from scheduler.calendar import ALL_WEEK
from scheduler.plan.card.starts import Blocks, Side, as_late, place
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
