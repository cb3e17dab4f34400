"""The supply in words and data."""

from __future__ import annotations

import dataclasses
import json
import re
from pathlib import Path

import numpy as np
import pytest

from scheduler import units
from scheduler.inputs.folder import read_site
from scheduler.inputs.library import backflow_devices, meters, pipe_materials
from scheduler.inputs.site import Supply
from scheduler.plan.site import plan_site
from scheduler.rates.curve import curve_of, pressure_left
from scheduler.rates.supply import find_supply
from scheduler.report import data
from scheduler.report.formulas import FUNCTIONS
from scheduler.report.views.heads import supply
from scheduler.report.views.workings import working
from scheduler.report.words import sentences

EXAMPLES = Path(__file__).parents[4] / "examples"
METER = meters()[0]
DEVICE = next(row for row in backflow_devices() if row.name == "double check")
PVC = pipe_materials()[0]
GPM, PSI, FT, IN = (units.L_PER_GAL, units.KPA_PER_PSI, units.M_PER_FT,
                    units.MM_PER_IN)  # fmt: skip


def measured(**values):
    """A supply of which nothing but these is known."""
    known = {"design_flow_l_min": None, "pressure_kpa": None, "wind_m_s": None}
    return Supply(**{**known, **values})


def found(**values):
    """What follows from such a supply."""
    return find_supply(measured(**values))


def lines_of(units_, **values):
    known = measured(**values)
    return supply.lines(find_supply(known), curve_of(known), units_)


def data_of(**values):
    known = measured(**values)
    return supply.to_data(find_supply(known), curve_of(known))


MEASURED = {
    "static_pressure_kpa": 83 * PSI,
    "bucket_l": 5 * GPM,
    "bucket_s": 30.0,
    "meter": METER,
    "pipe": PVC,
    "pipe_diameter_mm": 1.195 * IN,
    "pipe_length_m": 100 * FT,
    "rise_to_heads_m": 2.31 * FT,
}


# By hand: 5 gal in 30 s are 10 gpm; a tenth of 83 psi is 8.3 psi, which the printed
# AWWA table has at 15 gpm for 5/8 in; 75 % of 20 gpm are 15; 5 ft/s in 1.195 in:
# 5 * 1.195² / 0.4085 = 17.48 gpm. At 10 gpm the meter takes 3.7 psi (AWWA), 100 ft of
# pipe 1.27 psi at 2.86 ft/s (friction table), 2.31 ft of rise 1.0 psi, valve and
# fittings 3 and a tenth of 1.27: 83 - 3.7 - 1.27 - 3.13 - 1.0 = 73.9 psi.
def test_lines_show_the_figure_of_every_rule():
    lines = lines_of("us", **MEASURED)

    assert lines == [
        "Design flow: 10.0 gpm, the smallest of:",
        "  the bucket test (5.0 gal in 30 s): 10.0 gpm",
        "  meter loss of 10 % of static pressure (8.3 psi): 15.0 gpm",
        "  75 % of the meter's most flow (20.0 gpm): 15.0 gpm",
        "  5.0 ft/s in the service pipe (1.195 in inside): 17.5 gpm",
        "Pressure at the heads: each zone's own, where its heads take what the supply "
        "gives. Of 83.0 psi static, 10.0 gpm lose: the meter 3.7 psi, the service pipe "
        "1.3 psi (2.9 ft/s), valves and fittings 3.1 psi (an allowance), the rise 1.0 "
        "psi. That leaves 73.9 psi.",
        "Not known and not counted: backflow device. Lines to the heads take more: a "
        "gauge on a running head (pressure_* of zones.csv) beats all this.",
    ]


# The same in SI: 10 gpm are 37.9 L/min, 8.3 psi 57.2 kPa, 15 gpm 56.8 L/min, 20 gpm
# 75.7 L/min, 1.195 in 30.4 mm; 2.31 ft of water 6.9 kPa.
def test_lines_show_metric_units():
    text = "\n".join(lines_of("metric", **MEASURED))

    for figure in ("37.9 L/min, the smallest", "(57.2 kPa): 56.8 L/min",
                   "(75.7 L/min): 56.8 L/min", "(30.4 mm inside)", "the rise 6.9 kPa",
                   "(0.9 m/s)"):  # fmt: skip
        assert figure in text


def test_lines_let_what_is_given_win_and_show_the_rules_beside():
    lines = lines_of(
        "us", design_flow_l_min=12 * GPM, pressure_kpa=45 * PSI, meter=METER
    )

    assert lines[0] == "Design flow: 12.0 gpm, as given; by what was measured:"
    assert lines[1] == "  75 % of the meter's most flow (20.0 gpm): 15.0 gpm"
    assert lines[2] == "Pressure at the heads: 45.0 psi, as given."


def test_lines_of_a_given_supply_are_two():
    lines = lines_of("us", design_flow_l_min=12 * GPM, pressure_kpa=45 * PSI)

    assert lines == ["Design flow: 12.0 gpm, as given",
                     "Pressure at the heads: 45.0 psi, as given."]  # fmt: skip


def test_lines_of_an_unknown_supply_say_what_was_assumed_and_how_to_find_out():
    text = "\n".join(lines_of("us"))

    assert "It was assumed that the supply gives what each zone asks for." in text
    assert "Flows are those of the nozzle charts." in text
    assert "look at the stream" in text
    assert "bucket_s" in text
    assert "gauge" in text


@pytest.mark.parametrize(
    ("values", "text"),
    [
        ({"meter": METER}, "by the only rule that can be applied"),
        ({"static_pressure_kpa": 65 * PSI}, "65.0 psi says little without"),
        (
            {"static_pressure_kpa": 65 * PSI, "meter": METER},
            "Not known and not counted: service pipe and backflow device.",
        ),
        (
            {
                "static_pressure_kpa": 60 * PSI,
                "running_pressure_kpa": 45 * PSI,
                "running_flow_l_min": 8 * GPM,
                "design_flow_l_min": 8 * GPM,
            },
            "Of 60.0 psi static, 8.00 gpm lose: by the reading of 45.0 psi at 8.00 gpm "
            "15.0 psi. That leaves 45.0 psi.",
        ),
        ({**MEASURED, "backflow": DEVICE}, "the backflow device 3.0 psi"),
        ({**MEASURED, "other_loss_kpa": 5 * PSI}, "valves and fittings 5.0 psi, the"),
        (
            {**MEASURED, "rise_to_heads_m": -2.31 * FT},
            "the fall to the heads gives 1.0",
        ),
        ({**MEASURED, "design_flow_l_min": 20 * GPM}, "(5.7 ft/s, fast)"),
        (
            {**MEASURED, "rise_to_heads_m": 231 * FT},
            "none is left even before water flows: static 83.0 psi",
        ),
    ],
)
def test_lines_say_what_is_left_out_or_unusual(values, text):
    assert text in "\n".join(lines_of("us", **values))


def test_to_data_is_in_si_and_null_where_not_known():
    known = json.loads(data.to_json({"supply": data_of(**MEASURED)}))
    unknown = json.loads(data.to_json({"supply": data_of()}))

    assert known["supply"]["design_flow_l_min"] == pytest.approx(10 * GPM)
    assert known["supply"]["design_flow_rule"] == "bucket"
    assert [rule["rule"] for rule in known["supply"]["rules"]] == [
        "bucket", "meter-loss", "meter-share", "pipe-velocity",
    ]  # fmt: skip
    assert known["supply"]["meter_loss_kpa"] == pytest.approx(3.7 * PSI)
    assert known["supply"]["pressure_source"] == "static"
    assert known["supply"].keys() == unknown["supply"].keys()
    assert unknown["supply"]["rules"] == []
    assert unknown["supply"]["pressure_kpa"] is None
    assert unknown["supply"]["design_flow_rule"] is None


# By hand: 15 gpm is 75 % of the 20 that a 5/8 in meter may pass.
def test_caution_of_a_design_flow_over_a_rule_in_words():
    (caution,) = found(design_flow_l_min=18 * GPM, meter=METER).cautions

    assert sentences.sentence(caution, "us") == (
        "the design flow is given as 18.0 gpm, but 75 % of the meter's most flow "
        "allows 15.0 gpm: pressure will sink"
    )


# A site that gives what was measured, in place of the design flow and the pressure


SUPPLY = """[supply]
static_pressure_psi = 65
meter_in = 0.75
pipe_material = "copper"
pipe_diameter_in = 1.025
pipe_length_ft = 60
rise_to_heads_ft = 5
"""


@pytest.fixture(scope="module")
def home():
    return read_site(EXAMPLES / "home")


@pytest.fixture
def plan(tmp_path):
    """The plan of the home example with a measured supply."""
    for name in ("site.toml", "zones.csv", "heads.csv"):
        text = (EXAMPLES / "home" / name).read_text(encoding="utf-8")
        if name == "site.toml":
            text = re.sub(r"\[supply\]\n.*?\n\n", SUPPLY + "\n", text, flags=re.S)
            text = text.replace("../../", EXAMPLES.parent.as_posix() + "/")
        (tmp_path / name).write_text(text, encoding="utf-8")
    return plan_site(read_site(tmp_path))


# Orifice law: what each head of a free zone draws goes with the root of the pressure.
# What all of them draw is what the supply gives at that pressure.
def test_pressure_that_was_worked_out_reaches_the_heads(plan):
    heads, points = plan.site.heads, plan.points
    row = heads.head.index("middle")

    assert points.source[0] == "curve"
    assert plan.rates.heads.flow_l_min[row] == pytest.approx(
        heads.flow_l_min[row]
        * (points.pressure_kpa[0] / heads.pressure_kpa[row]) ** 0.5
    )
    left = pressure_left(points.curve, plan.rates.flow_l_min)
    assert left == pytest.approx(points.pressure_kpa, rel=1e-9)
    assert "pressure-assumed" not in {c.code for c in plan.cautions}


# 0.4085 * Q / 1.025² = 5 ft/s at 12.86 gpm: less than what the front lawn draws. Over
# a rule of design is a caution; the table stands on the flow at the operating point.
def test_design_flow_that_was_worked_out_is_held_against_the_zones(plan):
    over = {c.zone: c.values for c in plan.cautions if c.code == "over-design-flow"}

    assert over["1"]["design_flow_l_min"] / GPM == pytest.approx(12.86, abs=0.005)
    assert over["1"]["rule"] == "pipe-velocity"
    assert plan.inputs.valve.flow_l_min == pytest.approx(plan.rates.flow_l_min)


# Every formula of the working, as printed, gives the number printed behind it.
@pytest.mark.parametrize("shown", ["us", "metric"])
def test_working_of_the_supply_can_be_repeated_by_hand(plan, shown):
    steps = working.explain(plan, "1", 7, shown)
    steps = [s for s in steps if s.section in ("Supply", "Operating point")]
    with_numbers = [step for step in steps if step.numbers]

    # Two rules; loss in the pipe, in valve and fittings, of the rise; what is left.
    assert len(with_numbers) == 6
    for step in with_numbers:
        assert_repeats(step)
    assert steps[-1].name == "pressure at the heads"


def assert_repeats(step):
    formula = step.numbers.replace("×", "*").replace("−", "-").replace("^", "**")
    formula = formula.replace("√(", "sqrt(")
    assert eval(formula, {"__builtins__": {}}, FUNCTIONS) == pytest.approx(
        float(step.value.replace(",", "")), rel=3e-4
    ), step


# The home example with other readings: the whole way from them to the rate, repeated.
@pytest.mark.parametrize("shown", ["us", "metric"])
@pytest.mark.parametrize(
    ("values", "names"),
    [
        (
            {"static_pressure_kpa": 60 * PSI, "running_pressure_kpa": 45 * PSI,
             "running_flow_l_min": 12 * GPM, "backflow": DEVICE},
            {"loss by the running reading", "loss in the backflow device",
             "pressure at the heads", "flow of the head"},
        ),
        (
            {"pressure_kpa": 45 * PSI, "bucket_l": 5 * GPM, "bucket_s": 20.0},
            {"flow of the head", "flow"},
        ),
        ({"pressure_kpa": 20 * PSI}, {"flow of the head"}),
    ],
)  # fmt: skip
def test_working_of_the_rate_can_be_repeated_by_hand(home, values, names, shown):
    plan = plan_site(dataclasses.replace(home, supply=measured(**values)))
    told = set()
    for zone in ("1", "2", "3"):
        for step in working.explain(plan, zone, 7, shown):
            if step.section == "Need":
                break
            if step.numbers:
                assert_repeats(step)
                told.add(step.name)

    assert names <= told
    assert "uniformity between the heads" in told
    assert "run-time multiplier" in told


# Metered, with a measured rate: heads share the flow, and the rate scales the peak.
@pytest.mark.parametrize("shown", ["us", "metric"])
def test_working_of_measured_zones_can_be_repeated_by_hand(home, shown):
    zones = dataclasses.replace(
        home.zones,
        flow_l_min=np.where(np.arange(len(home.zones)) == 1, 12 * GPM, np.nan),
        rate_mm_h=np.where(np.arange(len(home.zones)) == 1, 10.0, np.nan),
    )
    plan = plan_site(dataclasses.replace(home, zones=zones))
    told = {}
    for step in working.explain(plan, "2", 7, shown):
        if step.numbers and step.section == "Precipitation rate":
            assert_repeats(step)
            told[step.name] = step

    assert {"flow of all heads", "flow of the head", "flow over area", "peak rate",
            "uniformity between the heads"} <= told.keys()  # fmt: skip
