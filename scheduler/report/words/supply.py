"""The rules for the design flow, in words."""

from __future__ import annotations

from scheduler.rates.supply import METER_FLOW_SHARE, METER_LOSS_SHARE

RULES = {
    "bucket": "the bucket test",
    "meter-loss": f"meter loss of {100 * METER_LOSS_SHARE:.0f} % of static pressure",
    "meter-share": f"{100 * METER_FLOW_SHARE:.0f} % of the meter's most flow",
    "pipe-velocity": "5 ft/s (1.5 m/s) in the service pipe",
}
"""Rules for the design flow, by code."""
