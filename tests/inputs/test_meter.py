"""meter.csv: what the dial moved, and what is asked back."""

import pytest

L_PER_GAL, L_PER_FT3 = 231 * 0.254**3, 0.3048**3 * 1000


def meter(us, rows, unit="gal"):
    us.write("meter.csv", f"zone,start_{unit},end_{unit},minutes\n" + rows)


def heads_gpm(us):
    site = us.site()
    mine = site.heads.zone == 0
    flow = (site.heads.flow_l_min * site.heads.count)[mine].sum()
    return float(flow) / L_PER_GAL


# Exact: 10 min of the heads' own flow is 10 times it on the dial; a cubic foot is
# 1728 in³ and a gallon 231 in³, so 7.48052 gal.
def test_metered_flow_is_what_the_dial_moved_a_minute(us):
    gpm = heads_gpm(us)
    zone = us.site().zones.zone[0]

    meter(us, f"{zone},1000,{1000 + 10 * gpm},10\n")
    in_gallons = us.site().zones.flow_l_min[0]
    meter(us, f"{zone},1000,{1000 + 10 * gpm / 7.48052},10\n", "ft3")
    in_feet = us.site().zones.flow_l_min[0]

    assert in_gallons == pytest.approx(gpm * L_PER_GAL, rel=1e-9)
    assert in_feet == pytest.approx(in_gallons, rel=1e-5)
    assert pytest.approx(1728 / 231, rel=1e-12) == L_PER_FT3 / L_PER_GAL


# Exact: two runs of one zone are one reading, all water over all minutes.
def test_two_readings_of_a_zone_are_their_mean_over_the_minutes(us):
    gpm, zone = heads_gpm(us), us.site().zones.zone[0]
    meter(us, f"{zone},0,{10 * gpm},10\n{zone},0,{21 * gpm},20\n")

    assert us.site().zones.flow_l_min[0] == pytest.approx(31 / 30 * gpm * L_PER_GAL)


@pytest.mark.parametrize(
    ("rows", "part"),
    [
        ("1,99930,30,10\n", "write 100030"),
        ("1,500,400,10\n", "the other way round"),
        ("1,500,500,10\n", "the dial did not move"),
        ("1,500,520,0\n", "0 is not a run time"),
        ("1,500,,10\n", "end_gal: is blank"),
        ("nine,500,520,10\n", "is not a zone"),
    ],
)
def test_reading_that_cannot_be_is_asked_back(us, rows, part):
    zone = us.site().zones.zone[0]
    meter(us, rows.replace("1,", f"{zone},", 1) if rows[0] == "1" else rows)

    assert any(part in problem for problem in us.problems())


# Exact: gallons written for cubic feet make a flow 7.48 times too small.
def test_dial_in_the_other_unit_is_asked_back_and_never_guessed(us):
    gpm, zone = heads_gpm(us), us.site().zones.zone[0]
    meter(us, f"{zone},1000,{1000 + 10 * gpm / 7.48052},10\n")

    assert any("if the dial counts ft³: write start_ft3" in p for p in us.problems())


def test_row_without_a_reading_is_a_blank_of_the_sheet(us):
    zone, flow = us.site().zones.zone[0], us.site().zones.flow_l_min
    meter(us, f"{zone},,,10\n")

    assert str(us.site().zones.flow_l_min) == str(flow)
