"""Which zone is asked for on the command line, and what is said of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from scheduler.cautions import KINDS, Caution, Weight
from scheduler.errors import InputError, Problem
from scheduler.inputs.forms.alike import folded, hint_nearest
from scheduler.inputs.site import Site


def zone_row(site: Site, asked: str) -> int:
    """Row of a zone, by its number or by a name that no other zone has.

    Raises InputError where it is neither.
    """
    zones, wanted = site.zones, folded(asked)
    numbers = [row for row, zone in enumerate(zones.zone) if folded(zone) == wanted]
    names = [row for row, name in enumerate(zones.name) if folded(name) == wanted]
    if numbers or len(names) == 1:
        return (numbers or names)[0]
    wrong = "is the name of several zones" if names else "is not a zone"
    raise InputError(
        [
            Problem(
                site.names.place("zones.csv"),
                None,
                "--zone",
                f'"{asked}" {wrong}',
                ", ".join(zones.zone),
                hint_nearest(asked, (*zones.zone, *zones.name)) * (not names),
            )
        ]
    )


def part_row(site: Site, zone: int, asked: str) -> int:
    """Row of ground of a zone's part, by its name; raises InputError for none such."""
    rows = [row for row, of in enumerate(site.parts.zone.tolist()) if of == zone]
    names = [site.parts.part[row] for row in rows]
    found = [row for row in rows if folded(site.parts.part[row]) == folded(asked)]
    if found and any(names):
        return found[0]
    known = [name for name in names if name]
    wrong = f'"{asked}" is not a part of zone {site.zones.zone[zone]}'
    accepted = ", ".join(known) or "no --part: the zone is one"
    file = site.names.place("parts.csv" if known else "zones.csv")
    hint = hint_nearest(asked, known)
    raise InputError([Problem(file, None, "--part", wrong, accepted, hint)])


def cautions_of_zone(cautions: Iterable[Caution], zone: str) -> Iterator[Caution]:
    """Cautions that are about a zone, alone or with others; doubts about the site too.

    What was assumed for several zones is told of the one.
    """
    for caution in cautions:
        assumed = caution.values.get("assumed")
        if assumed is not None:
            if zone in assumed.zones:
                yield replace(
                    caution,
                    values={
                        **caution.values,
                        "assumed": replace(assumed, zones=(zone,)),
                    },
                )
        elif zone in (caution.zone, *caution.values.get("zones", ())) or (
            caution.zone is None and KINDS[caution.code].weight is Weight.ASK
        ):
            yield caution
