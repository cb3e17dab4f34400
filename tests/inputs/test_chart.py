"""Checks the nozzle chart: any order, gaps, what contradicts itself."""

import numpy as np
import pytest

from scheduler import units
from scheduler.errors import InputError
from scheduler.inputs.chart import read_chart, read_charts
from scheduler.inputs.forms.fields import HEAD_KINDS

HEADER = "nozzle,arc_deg,pressure_psi,flow_gpm,radius_ft\n"


@pytest.fixture
def chart(tmp_path):
    """Function from the content of a chart to the chart."""

    def read(content):
        (tmp_path / "nozzles.csv").write_text(content, encoding="utf-8")
        return read_chart(tmp_path / "nozzles.csv")

    return read


@pytest.fixture
def problems(tmp_path):
    """Function from the content of a chart to its problems, the path left out."""

    def read(content):
        path = tmp_path / "nozzles.csv"
        path.write_text(content, encoding="utf-8")
        with pytest.raises(InputError) as caught:
            read_chart(path)
        texts = [str(problem) for problem in caught.value.problems]
        return [text.replace(str(path), "nozzles.csv") for text in texts]

    return read


ROWS = ["a,90,30,0.6,12", "a,90,20,0.5,11", "b,,30,2.4,13", "a,180,30,1.2,12"]


@pytest.mark.parametrize("order", [[0, 1, 2, 3], [3, 2, 1, 0], [2, 1, 3, 0]])
def test_rows_in_any_order_make_the_same_nozzles(chart, order):
    read = chart(HEADER + "\n".join(ROWS[i] for i in order) + "\n")

    found = {
        (name, "any" if np.isnan(arc) else float(arc)): (p, q, r)
        for name, arc, p, q, r in zip(
            read.nozzle,
            read.arc_deg,
            read.pressure_kpa,
            read.flow_l_min,
            read.radius_m,
            strict=True,
        )
    }
    assert set(found) == {("a", 90.0), ("b", "any"), ("a", 180.0)}
    pressure, flow, radius = found["a", 90.0]
    # Exact factors: psi, US gallon, foot.
    np.testing.assert_allclose(pressure, np.array([20, 30]) * units.KPA_PER_PSI)
    np.testing.assert_allclose(flow, [0.5 * 3.785411784, 0.6 * 3.785411784])
    np.testing.assert_allclose(radius, [11 * 0.3048, 12 * 0.3048])


def test_a_pressure_alone_and_a_blank_arc_are_enough(chart):
    read = chart(HEADER + "b,,30,2.4,13\n")

    assert read.nozzle == ("b",)
    assert np.isnan(read.arc_deg[0])
    assert not read.low_angle[0]
    assert read.head_kind[0] == -1


def test_rows_that_say_the_same_again_are_dropped(chart):
    read = chart(HEADER + "a,90,30,0.6,12\na,90,30,0.6,\nA,90,30,0.60,12.0\n")

    assert read.nozzle == ("a",)
    assert len(read.flow_l_min[0]) == 1
    assert read.radius_m[0][0] == pytest.approx(12 * 0.3048)


def test_a_gap_in_the_table_is_let_be(chart):
    read = chart(HEADER + "a,90,20,0.5,11\na,90,30,,\na,90,40,0.7,13\n")

    assert len(read.pressure_kpa[0]) == 2


def test_a_missing_throw_is_not_known(chart):
    read = chart("nozzle,pressure_psi,flow_gpm\na,20,0.5\n")

    assert np.isnan(read.radius_m[0]).all()


def test_low_angle_and_kind_hold_for_all_rows_of_a_nozzle(chart):
    read = chart(
        "nozzle,pressure_bar,flow_l_min,low_angle,head_kind\n"
        "a,2,5,,\na,3,6,yes,multi stream\nb,2,5,no,\n"
    )

    assert read.low_angle.tolist() == [True, False]
    assert read.head_kind.tolist() == [HEAD_KINDS.index("multi-stream"), -1]


def test_decimal_commas_are_read_beside_semicolons(chart):
    read = chart("nozzle;pressure_bar;flow_l_min;radius_m\na;2,5;5,25;9,1\n")

    assert read.pressure_kpa[0][0] == pytest.approx(250)
    assert read.flow_l_min[0][0] == pytest.approx(5.25)


PROBLEMS = {
    "no rows": (
        HEADER,
        "nozzles.csv: has no nozzles\n  accepted: a row for each nozzle and pressure",
    ),
    "no pressure": (
        "nozzle,flow_gpm\na,1\n",
        "nozzles.csv:1: pressure_kpa or pressure_psi or pressure_bar: "
        "column is missing",
    ),
    "flow without unit": (
        "nozzle,pressure_psi,flow\na,30,1\n",
        "nozzles.csv:1: flow: its unit is missing\n"
        "  accepted: flow_l_min or flow_gpm or flow_m3_h or flow_l_h or flow_gph",
    ),
    "blank flow beside a throw": (
        HEADER + "a,90,30,,12\n",
        "nozzles.csv:2: flow_gpm: is blank\n  accepted: the flow of this row\n"
        "  hint: leave flow and radius blank where the chart has a gap",
    ),
    "blank pressure": (
        HEADER + "a,90,,0.6,12\n",
        "nozzles.csv:2: pressure_psi: is blank\n"
        "  accepted: the pressure of this row\n"
        "  hint: leave flow and radius blank where the chart has a gap",
    ),
    "gaps only": (HEADER + "a,90,30,,\n", "nozzles.csv: no row has a flow"),
    "two flows at a pressure": (
        HEADER + "a,90,30,0.6,12\nb,90,30,0.9,12\na,90,30,0.7,12\n",
        "nozzles.csv:4: flow_gpm: nozzle a has another flow at this pressure in "
        "line 2\n  accepted: one row for each nozzle, arc and pressure",
    ),
    "two throws at a pressure": (
        HEADER + "a,90,30,0.6,12\na,90,30,0.6,13\n",
        "nozzles.csv:3: radius_ft: nozzle a has another throw at this pressure in "
        "line 2\n  accepted: one row for each nozzle, arc and pressure",
    ),
    "flow that falls with pressure": (
        HEADER + "a,90,40,0.5,12\na,90,30,0.6,12\n",
        "nozzles.csv:2: flow_gpm: nozzle a has less flow here than at the lower "
        "pressure of line 3\n  accepted: a flow that rises with pressure, or stays\n"
        "  hint: look for a digit typed wrong, or rows of two nozzles under one name",
    ),
    "low angle and not": (
        "nozzle,pressure_psi,flow_gpm,low_angle\na,30,1,yes\na,40,2,no\n",
        "nozzles.csv:3: low_angle: nozzle a is something else in line 2\n"
        "  accepted: one answer for all rows of a nozzle",
    ),
    "a kind that is none": (
        "nozzle,pressure_psi,flow_gpm,head_kind\na,30,1,rotr\n",
        'nozzles.csv:2: head_kind: "rotr" is not a head kind\n'
        "  accepted: rotor, spray, multi-stream, drip, bubbler\n"
        "  hint: did you mean rotor?",
    ),
}


@pytest.mark.parametrize(("content", "text"), PROBLEMS.values(), ids=PROBLEMS)
def test_problem_says_where_and_what_helps(problems, content, text):
    assert problems(content) == [text]


def test_every_problem_of_a_chart_is_told_at_once(problems):
    found = problems(HEADER + "a,90,30,0.6,\na,90,40,0.5,\nb,90,30,,9\n")

    assert [text.splitlines()[0].split(": ")[0] for text in found] == [
        "nozzles.csv:4",
        "nozzles.csv:3",
    ]


def test_a_chart_that_is_not_there_is_a_problem(tmp_path):
    with pytest.raises(InputError, match="no such file"):
        read_chart(tmp_path / "none.csv")


# A flow that stays the same belongs to a nozzle that holds its own pressure.
def test_a_flow_that_stays_is_no_problem(chart):
    assert len(chart(HEADER + "a,90,30,0.6,12\na,90,40,0.6,12\n")) == 1


def test_several_charts_are_one_and_a_name_stands_in_one_of_them(tmp_path):
    head = "nozzle,pressure_kpa,flow_l_min,radius_m\n"
    for name, rows in (("a", "A,200,4,5\n"), ("b", "B,300,8,9\n"), ("c", "a,9,4,5\n")):
        (tmp_path / f"{name}.csv").write_text(head + rows, encoding="utf-8")

    both = read_charts([tmp_path / "a.csv", tmp_path / "b.csv"])

    assert both.nozzle == ("A", "B")
    assert [float(flow[0]) for flow in both.flow_l_min] == [4, 8]
    with pytest.raises(InputError, match=r"is in .*a\.csv too"):
        read_charts([tmp_path / "a.csv", tmp_path / "c.csv"])
