"""The coverage of a site in words."""

from __future__ import annotations

from scheduler.inputs.site import Site
from scheduler.rates.coverage.grid import WINDOW_SHARE, Coverage
from scheduler.report import shown
from scheduler.report.counting import named
from scheduler.report.frames import Headings

COLUMNS = Headings(
    {
        "zone": "zone",
        "name": "name",
        "heads": "heads",
        "ground": "ground",
        "mean": "mean",
        "uniformity_lq": "DU",
        "christiansen_percent": "CU\n%",
        "scheduling_coefficient": "SC",
        "thrown_percent": "beyond\n%",
        "driest": "rate",
        "of_mean": "of mean\n%",
        "driest_x": "x",
        "driest_y": "y",
        "nearest_head": "nearest head",
        "nearest": "away",
    }
)
DRIEST = "The driest spot, x to the east and y to the north"
NEVER_THE_MEAN = "dry"
"""Coefficient of a zone whose driest window gets nothing."""
NEEDED = (
    "x_*, y_*, radius_* and flow_* of every head of a zone, facing_deg of part circles"
)
MEASURE = "measure from one corner of the property: x to the east, y to the north"
FLATTERS = (
    "Profiles are ideal and the air is still: wind is not modelled, nor slope, nor "
    "wear. Ideal profiles flatter, and a test with catch cans mostly comes out lower. "
    "So this DU may lower the one that the plan uses, never raise it; only a catch-can "
    "test may."
)
WINDOW = (
    "SC, the scheduling coefficient, is the mean rate over that of the driest square "
    f"window of {100 * WINDOW_SHARE:.0f} % of the ground: how many times as long to "
    "run for that window to get the mean."
)


def title(site: str) -> str:
    """Heading of the coverage."""
    return f"Coverage: {site}"


def no_places(zones: list[str]) -> str:
    """Zones of which it is not known where their heads stand."""
    return f"no places of the heads of {named('zone', zones)}"


def notes(site: Site, coverage: Coverage, units: str) -> list[str]:
    """What the model counts, what it leaves out, and zones not shown."""
    names = site.zones.zone
    hulls = [names[zone.zone] for zone in coverage.zones if not zone.outlined]
    cells = {
        shown.quantity(zone.grid.step_x_m, "length", units, 2)
        for zone in coverage.zones
    }
    notes = [
        f"Rate along the throw: {coverage.profile}. Grid: cells of "
        f"{shown.listed(sorted(cells))}. \"Beyond\" is the share of the water that is "
        "thrown beyond the ground that counts."
    ]  # fmt: skip
    if hulls:
        notes.append(
            f"No outline of {named('zone', hulls)}: "
            "what lies between the outermost heads counts. "
            f"{site.names.told('outline.csv')} gives the corners of the ground."
        )
    notes += [WINDOW, FLATTERS]
    if coverage.without:
        zones = [names[row] for row in coverage.without]
        notes.append(
            f"Not shown, for want of the heads' places: {named('zone', zones)}."
        )
    unknown = [c.zone or "" for c in coverage.cautions if c.code == "coverage-unknown"]
    if unknown:
        notes.append(
            f"Not shown, for what stands under Cautions: {named('zone', unknown)}."
        )
    return notes
