"""The coverage of a site in words."""

from __future__ import annotations

from scheduler.inputs.site import Site
from scheduler.rates.coverage.grid import Coverage
from scheduler.rates.coverage.patch import PATCH_SHARE, Mend, Patch
from scheduler.rates.coverage.wind import Wind
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
        "christiansen_percent": "Christi-\nansen %",
        "scheduling_coefficient": "SC",
        "thrown_percent": "beyond\n%",
        "driest": "rate",
        "driest_x": "x",
        "driest_y": "y",
        "patch_percent": "driest\npatch %",
        "patch_x": "patch\nx",
        "patch_y": "patch\ny",
        "minutes_for_hour": "min for\nan hour",
        "under_70_percent": "under\n70 %",
        "from_70_to_90_percent": "70 to\n90 %",
        "from_90_to_110_percent": "90 to\n110 %",
        "from_110_to_130_percent": "110 to\n130 %",
        "over_130_percent": "over\n130 %",
    }
)
BAND_NAMES = (
    "under_70_percent", "from_70_to_90_percent", "from_90_to_110_percent",
    "from_110_to_130_percent", "over_130_percent",
)  # fmt: skip
BANDS = "Share of the ground, in percent, by its water as a share of the zone's mean"
NEVER = "never"
"""Run time after which ground without water has what the rest gets."""
_COMPASS = ("north", "northeast", "east", "southeast", "south", "southwest", "west",
            "northwest")  # fmt: skip
_NEAR_M = 0.6
NEEDED = (
    "x_*, y_*, radius_* and flow_* of every head of a zone, facing_deg of part circles"
)
MEASURE = "measure from one corner of the property: x to the east, y to the north"
FLATTERS = (
    "Profiles are ideal: slope and wear are not modelled. Ideal profiles flatter, and "
    "a test with catch cans mostly comes out lower. So this DU may lower the one that "
    "the plan uses, never raise it; only a catch-can test may."
)
PATCH = (
    "The driest patch is the square that holds "
    f"{100 * PATCH_SHARE:.0f} % of the ground and gets least, as a share of the mean; "
    "then the minutes of run that would give it what the mean gets in an hour. The "
    "plan does not run so long, for the rest would drown: mend the patch."
)
STILL = "The air is still; --wind-mph or --wind-m-s shows the same in wind."


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
    notes += [PATCH, _air(site, coverage, units), FLATTERS]
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


def wind_told(wind: Wind, units: str) -> str:
    """How fast the wind is, and where it comes from."""
    speed = shown.quantity(wind.speed_m_s, "wind", units)
    return f"{speed} from the {compass(wind.from_deg)} ({wind.from_deg:g}°)"


def compass(toward_deg: float) -> str:
    """Nearest of eight names of a direction."""
    return _COMPASS[round(toward_deg / 45) % 8]


def to_do(zone: str, head: str, patch: Patch, mend: Mend, units: str) -> str:
    """Where the driest patch of a zone is, what it gets, and what to do about it."""
    away = shown.quantity(mend.away_m, "length", units, 0)
    place = (
        f"around head {head}"
        if mend.away_m < _NEAR_M
        else f"{away} {compass(mend.toward_deg)} of head {head}"
    )
    gets = f"gets {100 * patch.share:.0f} % of the mean" if patch.share else "stays dry"
    do = {
        "even": "No head has to move",
        "nozzle": (
            f"Fit a larger nozzle there, for head {head} lays {100 * mend.share:.0f} % "
            "of what the others lay on their arcs"
        ),
        "unreached": "No head reaches it: move the row, or put in a head more",
        "one-head": "One head alone reaches it: move the row, or put in a head more",
        "far": (
            "Only the thin ends of throws reach it: set the heads closer, or fit "
            "nozzles that throw farther"
        ),
    }[mend.why]
    return f"Zone {zone}: the driest patch, {place}, {gets}. {do}."


def _air(site: Site, coverage: Coverage, units: str) -> str:
    """What air the water falls through, and what the plan makes of the site's wind."""
    if coverage.wind is not None:
        air = (
            f"Wind of {wind_told(coverage.wind, units)}: water drifts downwind by 2 % "
            "of the distance thrown for each mile an hour (a rule of thumb), and the "
            "throw is 2 % narrower across it (as the trade's table of spacing by wind)."
        )
    else:
        air = STILL
    if site.supply.wind_m_s:
        wind = shown.quantity(site.supply.wind_m_s, "wind", units)
        air += (
            f" The plan takes the lowest DU of still air and {wind} from four sides, "
            "as [supply] gives it."
        )
    return air
