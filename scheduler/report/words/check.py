"""What `check` says of its findings, in sentences."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from scheduler.findings.check import Finding
from scheduler.findings.dryness import Tried
from scheduler.report import shown
from scheduler.report.counting import counted
from scheduler.report.frames import Headings

COLUMNS = Headings(
    {
        "code": "code",
        "zone": "zone",
        "month": "month",
        "costs_year": "costs a year",
        "costs_min_week": "costs a week min",
        "costs_dry_days": "dry days a year",
        "text": "finding",
    }
)
NOTHING = "Nothing to mend was found."


def title(site: str) -> str:
    """Heading of the findings."""
    return f"Check: {site}"


def costs(found: Sequence[Finding], currency: str, units: str) -> str:
    """What findings that are told together cost; "" where that is nothing."""
    parts = []
    water = sum(finding.costs_l_year for finding in found)
    if water >= 0.5:
        parts.append(f"{shown.quantity(water, 'volume', units)} a year")
    money = [f.costs_money for f in found if f.costs_money is not None]
    if money and sum(money) >= Decimal("0.01"):
        parts[-1] += f" ({shown.money(sum(money, Decimal(0)), currency)})"
    minutes = max(finding.costs_min_week for finding in found)
    if minutes >= 0.5:
        soak = found[0].caution.code == "rate-over-intake"
        what = "of soak " if soak else ""
        parts.append(f"up to {shown.number(minutes)} min {what}a week")
    days = sum(finding.costs_dry_days for finding in found)
    if days > 0:
        many = counted(max(round(days), 1), "dry day")
        parts.append(f"{many} a year over what is let pass")
    return f"It costs {' and '.join(parts)}." if parts else ""


def tried(found: Sequence[Tried]) -> str:
    """What would help a zone that stays dry; "" where nothing was tried or helps."""
    if not found:
        return ""
    told = "; ".join(f"{_change(one)} {_days(one.dry_days)}" for one in found)
    return f"Planned once more, so many would be left: {told}."


def _days(days: float) -> str:
    return f"{days:.0f}" if days < 0.05 or days >= 0.95 else "under 1"


def _change(one: Tried) -> str:
    if one.what == "days":
        return "on any day of the week"
    if one.what == "uniformity":
        return f"at a uniformity of {one.value:.2f}"
    return "with roots half as deep again"
