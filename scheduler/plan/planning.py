"""The watering table of ground and valves, by days or by months."""

from __future__ import annotations

from scheduler.plan.by_days import plan_by_days
from scheduler.plan.by_months import plan_by_months
from scheduler.plan.inputs import PlanInput
from scheduler.plan.table import Plan, along_valves


def plan_zones(inputs: PlanInput) -> Plan:
    """Table of all ground and periods: by days where the input has years of days."""
    return plan_by_days(inputs) if inputs.years else plan_by_months(inputs)


def plan_valves(inputs: PlanInput) -> Plan:
    """Table of all valves and periods; the parts of each run as one."""
    return along_valves(
        plan_zones(inputs), inputs.ground, inputs.valve, inputs.periods.days
    )
