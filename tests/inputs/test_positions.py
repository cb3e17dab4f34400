"""Places of heads and outlines of zones, and what is wrong with them."""

import numpy as np
import pytest

from scheduler.errors import InputError
from scheduler.inputs import positions

FT = 0.3048
SQUARE = "zone,x_ft,y_ft\n1,0,0\n1,10,0\n1,10,10\n1,0,10\n"


def place_heads(folder, *places):
    """Put x, y and facing in ft and degrees beside the rows of heads.csv."""
    lines = folder.text("heads.csv").splitlines()
    cells = ["x_ft,y_ft,facing_deg", *places]
    cells += [""] * (len(lines) - len(cells))
    folder.write(
        "heads.csv",
        "".join(f"{a},{b}\n" for a, b in zip(lines, cells, strict=True)),
    )


# 1 ft is 0.3048 m exactly.
def test_places_are_read_in_si_and_blank_is_nan(us):
    place_heads(us, "10,20,45", ",,", "-30,0,")

    heads = us.site().heads
    np.testing.assert_allclose(heads.x_m, [10 * FT, np.nan, -30 * FT], rtol=1e-12)
    np.testing.assert_allclose(heads.y_m, [20 * FT, np.nan, 0], rtol=1e-12)
    np.testing.assert_allclose(heads.facing_deg, [45, np.nan, np.nan])


def test_site_without_places_or_outlines_has_none(us):
    site = us.site()

    assert np.isnan(site.heads.x_m).all()
    assert [outline.shape for outline in site.outlines] == [(0, 2), (0, 2)]


@pytest.mark.parametrize(
    ("place", "field", "blank", "filled"),
    [("10,,45", "y_ft", "y", "x"), (",20,45", "x_ft", "x", "y")],
)
def test_half_a_place_is_a_problem(us, place, field, blank, filled):
    place_heads(us, place)

    assert us.problems() == [
        f"heads.csv:2: {field}: is blank, but {filled} is filled in\n"
        "  accepted: x_* and y_* together, or neither"
    ]


def test_several_heads_at_one_place_are_a_problem(us):
    us.replace("heads.csv", "zone,nozzle", "zone,count,nozzle")
    us.replace("heads.csv", "1,a,", "1,3,a,")
    us.replace("heads.csv", "1,b,", "1,,b,")
    us.replace("heads.csv", "2,c,", "2,2,c,")
    place_heads(us, "10,20,45")

    assert us.problems() == [
        "heads.csv:2: count: 3 heads at one place\n"
        "  accepted: 1, or blank, where x_* and y_* are filled in\n"
        "  hint: give each head a row of its own"
    ]


# 1,000 m is 3,280.8 ft; zone 1 has two rows, and the median lies halfway.
def test_head_far_from_the_rest_of_its_zone_is_a_problem(us):
    place_heads(us, "0,20,45", "4000,20,45")

    assert us.problems() == [
        "heads.csv:2: x_ft: stands too far from the rest of its zone\n"
        "  accepted: places within 1000 m (3,280 ft) of each other\n"
        "  hint: the unit of a place stands in the column's name"
    ]


def test_zones_may_be_far_from_each_other(us):
    place_heads(us, "0,20,45", "10,20,45", "90000,90000,")

    assert us.site().heads.x_m[2] == pytest.approx(90000 * FT)


def test_outline_is_read_in_order_and_in_si(us):
    us.write("outline.csv", SQUARE)

    first, second = us.site().outlines
    expected = np.array([[0, 0], [10, 0], [10, 10], [0, 10]]) * FT
    np.testing.assert_allclose(first, expected, rtol=1e-12)
    assert second.shape == (0, 2)


def test_outline_closed_by_its_first_corner_has_each_corner_once(us):
    us.write("outline.csv", SQUARE + "1,0,0\n")

    assert len(us.site().outlines[0]) == 4


def test_outlines_of_two_zones_may_alternate(us):
    us.write(
        "outline.csv",
        "zone,x_m,y_m\n1,0,0\n2,5,0\n1,1,0\n2,6,0\n1,1,1\n2,6,1\n2,5,1\n",
    )

    assert [len(outline) for outline in us.site().outlines] == [3, 4]


def test_outline_with_two_corners_is_a_problem(us):
    us.write("outline.csv", "zone,x_ft,y_ft\n1,0,0\n1,10,0\n")

    assert us.problems() == [
        'outline.csv:2: zone: outline of zone "1" has fewer than 3 corners\n'
        "  accepted: 3 corners or more, in the order in which you walk around them"
    ]


def test_outline_that_crosses_itself_is_a_problem(us):
    us.write("outline.csv", "zone,x_ft,y_ft\n1,0,0\n1,10,10\n1,10,0\n1,0,10\n")

    assert us.problems() == [
        'outline.csv:4: zone: outline of zone "1" crosses itself: the side from line 2 '
        "to 3 meets the side from line 4 to 5\n"
        "  accepted: corners in the order in which you walk around them"
    ]


def test_outline_with_more_corners_than_a_tape_measures_is_a_problem(us):
    turn = np.linspace(0, 2 * np.pi, 600, endpoint=False)
    rows = "".join(f"1,{50 * np.cos(t)},{50 * np.sin(t)}\n" for t in turn)
    us.write("outline.csv", "zone,x_ft,y_ft\n" + rows)

    assert us.problems() == [
        'outline.csv:2: zone: outline of zone "1" has 600 corners\n'
        "  accepted: up to 500 corners\n  hint: a corner every few steps is enough"
    ]


def test_outline_too_wide_is_a_problem(us):
    us.write("outline.csv", "zone,x_m,y_m\n1,0,0\n1,2000,0\n1,0,10\n")

    assert us.problems() == [
        'outline.csv:2: zone: outline of zone "1" is too wide\n'
        "  accepted: corners within 1000 m (3,280 ft) of each other\n"
        "  hint: the unit of a place stands in the column's name"
    ]


# 100 km is 328,083.99 ft.
def test_outline_of_no_zone_and_a_blank_corner_are_problems(us):
    us.write("outline.csv", "zone,x_ft,y_ft\n7,0,0\n1,10,\n1,10,10\n1,0,10\n")

    assert us.problems() == [
        "outline.csv:3: y_ft: is blank\n  accepted: a number from -328000 to 328000",
        'outline.csv:2: zone: "7" is not a zone of zones.csv\n  accepted: 1, 2',
    ]


def turned(corners, angle):
    c, s = np.cos(angle), np.sin(angle)
    return np.array(corners, float) @ np.array([[c, s], [-s, c]])


@pytest.mark.parametrize("angle", [0.0, 0.3, 2.0])
@pytest.mark.parametrize(
    "corners",
    [
        [(0, 0), (1, 0), (0, 1)],
        [(0, 0), (2, 0), (2, 1), (1, 1), (1, 2), (0, 2)],  # an L
        [(0, 0), (1, 0), (2, 0), (2, 2), (0, 2)],  # a corner in mid-side
        [(0, 0), (4, 0), (4, 3), (3, 3), (3, 1), (1, 1), (1, 3), (0, 3)],  # a U
    ],
)
def test_crossing_edges_finds_none_in_a_simple_outline(corners, angle):
    assert positions.crossing_edges(turned(corners, angle)) is None
    assert positions.crossing_edges(turned(corners[::-1], angle)) is None


@pytest.mark.parametrize("angle", [0.0, 0.3, 2.0])
@pytest.mark.parametrize(
    "corners",
    [
        [(0, 0), (2, 2), (2, 0), (0, 2)],  # a bow tie
        [(0, 0), (2, 0), (1, 0)],  # back along its own side
        [(0, 0), (2, 0), (4, 0), (1, 0), (1, 1)],  # overlaps itself
        [(0, 0), (2, 0), (2, 2), (1, 0), (0, 2)],  # a corner touches a side
        [(0, 0), (2, 0), (1, 1), (2, 2), (0, 2), (1, 1)],  # two corners touch
    ],
)
def test_crossing_edges_finds_what_crosses_touches_or_folds_back(corners, angle):
    assert positions.crossing_edges(turned(corners, angle)) is not None


# Brute force: every pair of sides that are not neighbours, by the sign of four areas.
@pytest.mark.parametrize("seed", range(40))
def test_crossing_edges_agrees_with_brute_force(seed):
    corners = np.random.default_rng(seed).uniform(0, 1, (seed % 5 + 4, 2))
    count = len(corners)

    def area(a, b, c):
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    crossed = False
    for i in range(count):
        for j in range(i + 2, count - (i == 0)):
            a, b = corners[i], corners[(i + 1) % count]
            c, d = corners[j], corners[(j + 1) % count]
            crossed |= (
                area(a, b, c) * area(a, b, d) < 0 and area(c, d, a) * area(c, d, b) < 0
            )
    assert (positions.crossing_edges(corners) is not None) == crossed


def test_read_cell_takes_either_unit():
    assert positions.read_cell(None, None) is None
    assert positions.read_cell(0.5, None) == 0.5
    assert positions.read_cell(None, 1.0) == pytest.approx(0.3048, rel=1e-12)


# 2 m is 6.5617 ft, 0.05 m is 0.16404 ft.
@pytest.mark.parametrize(
    ("cell_m", "cell_ft", "message"),
    [
        (3.0, None, "scheduler: --cell-m: 3 is not a size of cell\n"
         "  accepted: a number from 0.05 to 2"),
        (None, 0.1, "scheduler: --cell-ft: 0.1 is not a size of cell\n"
         "  accepted: a number from 0.17 to 6.5"),
        (float("nan"), None, "scheduler: --cell-m: nan is not a size of cell\n"
         "  accepted: a number from 0.05 to 2"),
        (1.0, 1.0, "scheduler: --cell-ft: --cell-m is given too\n"
         "  accepted: one of the two"),
    ],
)  # fmt: skip
def test_read_cell_refuses_what_is_no_cell(cell_m, cell_ft, message):
    with pytest.raises(InputError) as caught:
        positions.read_cell(cell_m, cell_ft)

    assert str(caught.value) == message
