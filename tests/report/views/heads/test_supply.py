"""The supply in words and data."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from scheduler import units
from scheduler.inputs.folder import read_site
from scheduler.inputs.pipework import meters, pipe_materials
from scheduler.inputs.site import Supply
from scheduler.plan.site import plan_site
from scheduler.rates.supply import find_supply
from scheduler.report import data
from scheduler.report.formulas import FUNCTIONS
from scheduler.report.views.heads import supply
from scheduler.report.views.workings import working
from scheduler.report.words import sentences
from scheduler.report.words.heads.supply import RULES

EXAMPLES = Path(__file__).parents[4] / "examples"
METER = meters()[0]
PVC = pipe_materials()[0]
GPM, PSI, FT, IN = (units.L_PER_GAL, units.KPA_PER_PSI, units.M_PER_FT,
                    units.MM_PER_IN)  # fmt: skip


def found(**values):
    """What follows from a supply of which nothing but these is known."""
    known = {"design_flow_l_min": None, "pressure_kpa": None, "wind_m_s": None}
    return find_supply(Supply(**{**known, **values}))


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
# pipe 1.27 psi at 2.86 ft/s (friction table), 2.31 ft of rise 1.0 psi:
# 83 - 3.7 - 1.3 - 1.0 = 77.0 psi.
def test_lines_show_the_figure_of_every_rule():
    lines = supply.lines(found(**MEASURED), "us")

    assert lines == [
        "Design flow: 10.0 gpm, the smallest of:",
        "  the bucket test (5.0 gal in 30 s): 10.0 gpm",
        "  meter loss of 10 % of static pressure (8.3 psi): 15.0 gpm",
        "  75 % of the meter's most flow (20.0 gpm): 15.0 gpm",
        "  5 ft/s (1.5 m/s) in the service pipe (1.195 in inside): 17.5 gpm",
        "Pressure at the heads: 77.0 psi at the design flow: static 83.0 psi, the "
        "meter takes 3.7 psi, the service pipe 1.3 psi (2.9 ft/s), the rise 1.0 psi. "
        "Valves, backflow device and the lines to the heads take more: put a gauge on "
        "a running head.",
    ]


# The same in SI: 10 gpm are 37.9 L/min, 8.3 psi 57.2 kPa, 15 gpm 56.8 L/min, 20 gpm
# 75.7 L/min, 1.195 in 30.4 mm; 2.31 ft of water 6.9 kPa.
def test_lines_show_metric_units():
    text = "\n".join(supply.lines(found(**MEASURED), "metric"))

    for figure in ("37.9 L/min, the smallest", "(57.2 kPa): 56.8 L/min",
                   "(75.7 L/min): 56.8 L/min", "(30.4 mm inside)", "the rise 6.9 kPa",
                   "(0.9 m/s)"):  # fmt: skip
        assert figure in text


def test_lines_let_what_is_given_win_and_show_the_rules_beside():
    lines = supply.lines(
        found(design_flow_l_min=12 * GPM, pressure_kpa=45 * PSI, meter=METER), "us"
    )

    assert lines[0] == "Design flow: 12.0 gpm, as given; by what was measured:"
    assert lines[1] == "  75 % of the meter's most flow (20.0 gpm): 15.0 gpm"
    assert lines[2].startswith("Pressure at the heads: 45.0 psi, as given; at the ")


def test_lines_of_a_given_supply_are_two():
    lines = supply.lines(found(design_flow_l_min=12 * GPM, pressure_kpa=45 * PSI), "us")

    assert lines == ["Design flow: 12.0 gpm, as given",
                     "Pressure at the heads: 45.0 psi, as given."]  # fmt: skip


def test_lines_of_an_unknown_supply_say_what_was_assumed_and_how_to_find_out():
    text = "\n".join(supply.lines(found(), "us"))

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
            "The service pipe is not known and not counted.",
        ),
        (
            {**MEASURED, "rise_to_heads_m": -2.31 * FT},
            "the fall to the heads gives 1.0",
        ),
        ({**MEASURED, "design_flow_l_min": 20 * GPM}, "(5.7 ft/s, fast)"),
        (
            {**MEASURED, "rise_to_heads_m": 231 * FT},
            "Pressure at the heads: none is left at the design flow: static 83.0 psi",
        ),
    ],
)
def test_lines_say_what_is_left_out_or_unusual(values, text):
    assert text in "\n".join(supply.lines(found(**values), "us"))


def test_to_data_is_in_si_and_null_where_not_known():
    known = json.loads(data.to_json({"supply": supply.to_data(found(**MEASURED))}))
    unknown = json.loads(data.to_json({"supply": supply.to_data(found())}))

    assert known["supply"]["design_flow_l_min"] == pytest.approx(10 * GPM)
    assert known["supply"]["design_flow_rule"] == "bucket"
    assert [rule["rule"] for rule in known["supply"]["rules"]] == list(RULES)
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


# 231 ft of rise are 100 psi.
def test_caution_of_no_pressure_left_in_words():
    values = {**MEASURED, "rise_to_heads_m": 231 * FT}
    (caution,) = found(**values).cautions

    assert sentences.sentence(caution, "us") == (
        "of 83 psi static pressure nothing is left at the heads: meter, pipe and rise "
        "take 105 psi at the design flow; check the numbers, or draw less"
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
def test_pressure_that_was_worked_out_reaches_the_heads(plan):
    heads = plan.site.heads
    row = heads.head.index("middle")
    pressure = plan.supply.pressure_kpa

    assert plan.supply.pressure_source == "static"
    assert plan.rates.heads.flow_l_min[row] == pytest.approx(
        heads.flow_l_min[row] * (pressure / heads.pressure_kpa[row]) ** 0.5
    )
    assert "pressure-assumed" not in {c.code for c in plan.cautions}


# 0.4085 * Q / 1.025² = 5 ft/s at 12.86 gpm: less than what the front lawn draws.
def test_design_flow_that_was_worked_out_is_held_against_the_zones(plan):
    over = {c.zone: c.values for c in plan.cautions if c.code == "flow-over-supply"}

    assert over["1"]["design_flow_l_min"] / GPM == pytest.approx(12.86, abs=0.005)


# Every formula of the working, as printed, gives the number printed behind it.
@pytest.mark.parametrize("shown", ["us", "metric"])
def test_working_of_the_supply_can_be_repeated_by_hand(plan, shown):
    steps = [s for s in working.explain(plan, "1", 7, shown) if s.section == "Supply"]
    with_numbers = [step for step in steps if step.numbers]

    assert len(with_numbers) == 5
    for step in with_numbers:
        formula = step.numbers.replace("×", "*").replace("−", "-").replace("^", "**")
        assert eval(formula, {"__builtins__": {}}, FUNCTIONS) == pytest.approx(
            float(step.value), rel=3e-4
        ), step
    assert steps[-1].name == "pressure at the heads"
