"""Checks what [supply] says of a running reading, and of what is on the way."""

import pytest

from scheduler import units

STATIC = "static_pressure_psi = 60\n"
PSI, GPM = units.KPA_PER_PSI, units.L_PER_GAL
DEVICES = (
    "none, atmospheric vacuum breaker, pressure vacuum breaker, double check, "
    "reduced pressure"
)


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        (
            STATIC + "running_pressure_psi = 61\nrunning_flow_gpm = 8\n",
            "site.toml:9: supply.running_pressure_psi: is over the static pressure, "
            "and water that runs loses some\n"
            "  accepted: less than static_pressure\n"
            "  hint: static_pressure is the gauge with nothing running in the house or "
            "outside",
        ),
        (
            STATIC + "running_pressure_psi = 60\nrunning_flow_gpm = 8\n",
            "site.toml:9: supply.running_pressure_psi: is the static pressure too: a "
            "test without a drop tells no loss\n"
            "  accepted: less than static_pressure\n"
            "  hint: let more flow, until the gauge falls by a tenth or so",
        ),
        (
            "static_pressure_psi = 60\nrunning_pressure_psi = 45\n",
            "site.toml:9: supply.running_pressure_psi: the flow while the gauge showed "
            "it is not given\n"
            "  accepted: running_flow_l_min or running_flow_gpm or "
            "running_flow_m3_h or running_flow_l_h or running_flow_gph beside it",
        ),
        (
            "running_pressure_psi = 45\nrunning_flow_gpm = 8\n",
            "site.toml:8: supply.running_pressure_psi: the pressure with nothing "
            "running is not given\n"
            "  accepted: static_pressure_kpa or static_pressure_psi or "
            "static_pressure_bar beside it",
        ),
        (
            "running_flow_gpm = 8\n",
            "site.toml:8: supply.running_flow_gpm: the pressure while it flowed is not "
            "given\n"
            "  accepted: running_pressure_kpa or running_pressure_psi or "
            "running_pressure_bar beside it",
        ),
        (
            'backflow_device = "double chek"\n',
            'site.toml:8: supply.backflow_device: "double chek" is not a backflow '
            f"device\n  accepted: {DEVICES}\n  hint: did you mean double check?",
        ),
    ],
)
def test_supply_that_does_not_fit_together(us, text, problem):
    us.append("site.toml", "[supply]\n" + text)

    assert us.problems() == [problem]


def test_supply_is_read_in_si(us):
    us.append(
        "site.toml",
        "[supply]\nstatic_pressure_psi = 60\nrunning_pressure_psi = 45\n"
        'running_flow_gpm = 8\nbackflow_device = "Double-Check"\nother_loss_psi = 4\n',
    )

    supply = us.site().supply
    assert supply.running_pressure_kpa == pytest.approx(45 * PSI)
    assert supply.running_flow_l_min == pytest.approx(8 * GPM)
    assert supply.other_loss_kpa == pytest.approx(4 * PSI)
    # Losses of a double check of 1 in: 3 and 7 psi (from memory).
    assert supply.backflow.loss_at_10_gpm_kpa == pytest.approx(3 * PSI)
    assert supply.backflow.loss_at_20_gpm_kpa == pytest.approx(7 * PSI)
