"""site.toml: settings with their defaults, and water windows."""

from __future__ import annotations

import datetime
import zoneinfo
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

from scheduler.calendar import ALL_DATES, PARITIES, WEEKDAYS
from scheduler.errors import InputError, Problem
from scheduler.inputs.forms import tomlfiles
from scheduler.inputs.forms.alike import folded, hint_nearest
from scheduler.inputs.forms.columns import quoted
from scheduler.inputs.forms.field import Field
from scheduler.inputs.forms.fields import (
    FOR_MONTHS,
    SITE_TABLES,
    STAGE,
    STAGES,
    STAGES_FILE,
)
from scheduler.inputs.site import Assumed, RainRule, Stage, Water, Window
from scheduler.inputs.sources.reading import Reading
from scheduler.inputs.sources.source import open_source

Tables = Mapping[str, Mapping[str, Any]]

MOST_SUN_APART_H = 4.0
"""Hours that clocks go off the sun: at most 3.4 where people live, in western China
(from memory)."""
MONTHS_PER_BILL = (1, 2, 3, 4, 6, 12)
"""Bills that fill a year."""


NEVER = Window((), (), (), ALL_DATES, "00:00", "24:00", 7)
"""A window that fits no month: where it stands alone, no watering is permitted."""
REPLACED = {"shortfall_percent": "plan.dry_days_percent"}
"""Keys of [controller] that are read and no longer used, and what took their place."""


def read_settings(
    reading: Reading, document: tomlfiles.Document | None
) -> tuple[dict[str, dict[str, Any]], list[Field]]:
    """Values of the tables of site.toml with defaults, and what took its default.

    Both are empty where site.toml cannot be read.
    """
    if document is None:
        return {}, []
    _check_table_names(reading, document)
    tables: dict[str, dict[str, Any]] = {}
    left_blank: list[Field] = []
    written: dict[str, frozenset[str]] = {}
    for table, fields in SITE_TABLES.items():
        if table == "window":
            continue
        content = document.content if table == "" else document.content.get(table, {})
        if isinstance(content, dict):
            keys = tomlfiles.read_keys(
                document, content, table, fields, reading.problems
            )
        else:
            line = document.lines.get(table, document.lines.get(f"{table}[1]"))
            reading.problems.append(
                Problem(document.file, line, table,
                        "is not a table", f"[{table}] and its keys below it")
            )  # fmt: skip
            none = {field.si_name: None for field in fields}
            keys = tomlfiles.Keys(table, line, none, frozenset())
        tables[table], blank = _with_defaults(keys, fields)
        left_blank += blank
        written[table] = keys.filled
    _check_site_keys(reading, document, tables)
    told = reading.source.names.told("site.toml")
    for name, by in REPLACED.items():
        if name in written["controller"]:
            reading.replaced.append((f"{told}: controller.{name}", by))
        del tables["controller"][name]
    if tables["plan"]["by"] == "days":
        idle = [name for name in FOR_MONTHS if name in written["climate"]]
        reading.for_months += [f"{told}: climate.{name}" for name in idle]
    return tables, left_blank


def _with_defaults(
    keys: tomlfiles.Keys, fields: Sequence[Field]
) -> tuple[dict[str, Any], list[Field]]:
    """Values with defaults in place of blanks, and the fields that are worth a word."""
    values = dict(keys.values)
    left_blank = []
    for field in fields:
        if values[field.si_name] is None and field.default is not None:
            values[field.si_name] = field.default
            if not field.quiet and field.name not in keys.filled:
                left_blank.append(field)
    return values, left_blank


def defaults_taken(left_blank: Iterable[Field]) -> Iterator[Assumed]:
    """Defaults of site.toml that stand in for these fields."""
    for field in left_blank:
        yield Assumed("site.toml", field, field.default)


def _check_table_names(reading: Reading, document: tomlfiles.Document) -> None:
    known = tomlfiles.TABLES
    top = {name for field in SITE_TABLES[""] for name in field.names}
    for name, content in document.content.items():
        if isinstance(content, (dict, list)) and name not in known and name not in top:
            line = document.lines.get(name, document.lines.get(f"{name}[1]"))
            reading.problems.append(
                Problem(document.file, line, name, "unknown table", ", ".join(known),
                        hint_nearest(name, known))
            )  # fmt: skip


def read_door(
    reading: Reading, document: tomlfiles.Document | None
) -> tuple[tuple[str, str], ...]:
    """Lines for the page inside the controller door: key and text, in file order."""
    if document is None:
        return ()
    door = document.content.get("door", {})
    lines = door if isinstance(door, dict) else {"": door}
    for name, value in lines.items():
        if not isinstance(value, str):
            dotted = f"door.{name}".rstrip(".")
            reading.problems.append(
                Problem(document.file, document.lines.get(dotted), dotted,
                        f"{quoted(value)} is not text",
                        'lines of text, as shut_off = "left of the gate"')
            )  # fmt: skip
    return tuple((name, str(text).strip()) for name, text in lines.items() if text)


def _is_time_zone(name: str) -> bool:
    """Whether IANA knows a zone; listing all their names takes longer than a site."""
    if name == "posixrules" or name.startswith(("posix/", "right/")):
        return False  # Files beside the zones, which zoneinfo does not list either.
    try:
        zoneinfo.ZoneInfo(name)
    except (OSError, ValueError, zoneinfo.ZoneInfoNotFoundError):
        return False
    return True


def _check_site_keys(
    reading: Reading,
    document: tomlfiles.Document,
    tables: Tables,
) -> None:
    zone = tables["site"]["timezone"]
    if zone and not _is_time_zone(zone):
        reading.problems.append(
            Problem(document.file, document.lines.get("site.timezone"), "site.timezone",
                    f'"{zone}" is not a time zone',
                    "an IANA name, such as Etc/GMT+8 (8 hours behind UTC)",
                    hint_nearest(zone, zoneinfo.available_timezones()))
        )  # fmt: skip
    elif zone and tables["site"]["longitude"] is not None:
        _check_meridian(reading, document, zone, tables["site"]["longitude"])
    _check_frost(reading, document, tables["climate"])
    controller = tables["controller"]
    for name in ("longest_run_min", "longest_day_min"):
        longest = controller[name]
        if longest is not None and longest < controller["minute_step"]:
            what = name.removesuffix("_min").replace("_", " ")
            reading.problems.append(
                Problem(document.file, document.lines.get(f"controller.{name}"),
                        f"controller.{name}", "is shorter than minute_step",
                        f"a {what} of at least one step")
            )  # fmt: skip


def _check_frost(
    reading: Reading, document: tomlfiles.Document, climate: Mapping[str, Any]
) -> None:
    """Problems where what is said of lines in frost contradicts itself."""

    def fault(name: str, wrong: str, accepted: str) -> None:
        line = document.lines.get(f"climate.{name}")
        reading.problems.append(
            Problem(document.file, line, f"climate.{name}", wrong, accepted)
        )

    named = [name for name in ("drained_on", "filled_on") if climate[name] is not None]
    empty = bool(named) or bool(climate["lines_can_freeze"])
    if len(named) == 1:
        other = "filled_on" if named == ["drained_on"] else "drained_on"
        fault(named[0], f"is of no use without {other}", f"{other} beside it")
    elif named and climate["drained_on"] == climate["filled_on"]:
        fault("filled_on", "is the day of drained_on", "another day")
    if named and climate["lines_can_freeze"] is False:
        fault(named[0], "is of lines that lines_can_freeze says cannot freeze",
              "one of them")  # fmt: skip
    if empty and climate["water_in_frost"]:
        fault("water_in_frost", "is true, though lines are empty in frost",
              "false, or lines that cannot freeze")  # fmt: skip


def _check_meridian(
    reading: Reading, document: tomlfiles.Document, zone: str, longitude_deg: float
) -> None:
    """Problem where a longitude's sun and a time zone's clock lie far apart."""
    year = datetime.datetime(2026, 1, 1, 12), datetime.datetime(2026, 7, 1, 12)
    clocks = [date.astimezone(zoneinfo.ZoneInfo(zone)).utcoffset() for date in (
        date.replace(tzinfo=datetime.UTC) for date in year
    )]  # fmt: skip
    hours = [clock.total_seconds() / 3600 for clock in clocks if clock is not None]

    def apart(longitude: float, sign: int = 1) -> float:
        """Hours between sun and clock, round the earth."""
        return min(abs((sign * h - longitude / 15 + 12) % 24 - 12) for h in hours)

    if apart(longitude_deg) <= MOST_SUN_APART_H:
        return
    hints = []
    if apart(-longitude_deg) <= MOST_SUN_APART_H:
        side = "west" if longitude_deg < 0 else "east"
        hints.append(
            f"write {-longitude_deg:g}: {longitude_deg:g} is {side} of Greenwich"
        )
    if apart(longitude_deg, -1) <= MOST_SUN_APART_H and zone.startswith("Etc/GMT"):
        other = zone.translate(str.maketrans("+-", "-+"))
        hints.append(f"Etc names count hours the other way round, as {other}")
    hint = ", or ".join(hints) or "check both"
    reading.problems.append(
        Problem(document.file, document.lines.get("site.longitude"), "site.longitude",
                f"at {longitude_deg:g} the sun is {apart(longitude_deg):.0f} hours off "
                f"the clock of {zone}",
                "a longitude, east positive, and a time zone that go together", hint)
    )  # fmt: skip


def read_windows(
    reading: Reading,
    document: tomlfiles.Document | None,
    tables: Tables,
) -> tuple[Window, ...]:
    """Water windows, the site's own before shared ones; one open window if none."""
    if document is None:
        return ()
    fields = SITE_TABLES["window"]
    windows = _windows_of(reading, document)
    shared = tables[""]["windows_file"] if tables else None
    if shared:
        path = reading.folder / shared
        other = tomlfiles.read_document(path, shared, reading.problems)
        if other is not None:
            if "window" not in other.content:
                reading.problems.append(
                    Problem(shared, None, "window", "is missing",
                            "[[window]], once for each window")
                )  # fmt: skip
            windows += _windows_of(reading, other)
            for name in other.content:
                if name != "window":
                    reading.problems.append(
                        Problem(shared, other.lines.get(name), name,
                                "does not belong in a file of windows", "[[window]]")
                    )  # fmt: skip
    elif not windows and "window" not in document.content:
        days = next(field for field in fields if field.name == "days")
        reading.assumed.append(Assumed("site.toml", days, "any"))
        usual = {field.si_name: field.default for field in fields}
        # Without a rule new plantings may be watered by day too, when seed dries out.
        by_day = {**usual, "opens": "00:00", "closes": "24:00", "stages": STAGES}
        windows = _window(usual), _window(by_day)
    return windows


def _windows_of(reading: Reading, document: tomlfiles.Document) -> tuple[Window, ...]:
    fields = SITE_TABLES["window"]
    content = document.content.get("window", [])
    if not isinstance(content, list) or not all(isinstance(c, dict) for c in content):
        reading.problems.append(
            Problem(document.file, document.lines.get("window"), "window",
                    "is not a list of tables", "[[window]], once for each window")
        )  # fmt: skip
        return ()
    if not content and "window" in document.content:
        reading.problems.append(
            Problem(document.file, document.lines.get("window"), "window",
                    "is empty", "[[window]], once for each window")
        )  # fmt: skip
    windows = []
    for number, keys_written in enumerate(content, 1):
        table = f"window[{number}]"
        keys = tomlfiles.read_keys(
            document, keys_written, table, fields, reading.problems
        )
        values, left_blank = _with_defaults(keys, fields)
        reading.assumed += defaults_taken(left_blank)
        window = _window(values)
        if window.opens == window.closes:
            reading.problems.append(
                Problem(document.file, keys.line, f"{table}.closes",
                        "opens and closes are the same",
                        "for the whole day, opens = \"00:00\" and closes = \"24:00\"")
            )  # fmt: skip
        if window.stage_days is not None and not window.stages:
            reading.problems.append(
                Problem(document.file, keys.line, f"{table}.stage_days",
                        "is for new plantings, and stages names none",
                        f"stages, a list of {', '.join(STAGES)}")
            )  # fmt: skip
        windows.append(window)
    return tuple(windows)


def _window(values: Mapping[str, Any]) -> Window:
    days = values["days"]
    parity = PARITIES.index(days) if days in PARITIES else ALL_DATES
    return Window(
        values["months"],
        values["head_kinds"],
        WEEKDAYS if isinstance(days, str) else days,
        parity,
        values["opens"],
        values["closes"],
        int(values["most_days_a_week"]),
        values["stages"] or (),
        values["stage_days"],
    )


def read_stage(site: Path, name: str) -> Stage:
    """A stage of the site's file of drought stages; InputError where it has none such.

    A stage is `[[stage]]` with its name, a percent if any, and `[[stage.window]]`s,
    which hold in place of all of the site's.
    """
    reading = Reading(open_source(site))
    if not (reading.folder / STAGES_FILE).exists():
        raise InputError(
            [Problem(STAGES_FILE, None, "", "no such file beside the site's own", "",
                     "write a [[stage]] with its name and percent into it")]
        )  # fmt: skip
    document = tomlfiles.read_document(
        reading.folder / STAGES_FILE, STAGES_FILE, reading.problems
    )
    stages = {} if document is None else _stages_of(reading, document)
    if document is not None and not reading.problems and name not in stages:
        known = {folded(written): stage for written, stage in stages.items()}
        if folded(name) in known:
            return known[folded(name)]
        reading.problems.append(
            Problem(STAGES_FILE, None, "--stage", f"{quoted(name)} is not a stage",
                    ", ".join(stages), hint_nearest(name, tuple(stages)))
        )  # fmt: skip
    if reading.problems:
        raise InputError(reading.problems)
    return stages[name]


def _stages_of(reading: Reading, document: tomlfiles.Document) -> dict[str, Stage]:
    """Stages by name, in file order."""
    content = document.content.get("stage")
    if not isinstance(content, list) or not all(isinstance(c, dict) for c in content):
        reading.problems.append(
            Problem(document.file, document.lines.get("stage"), "stage",
                    "is missing, or is not a list of tables",
                    "[[stage]], once for each stage")
        )  # fmt: skip
        return {}
    found: dict[str, Stage] = {}
    before = 0
    for number, written in enumerate(content, 1):
        windows = written.get("window", [])
        own = {key: value for key, value in written.items() if key != "window"}
        keys = tomlfiles.read_keys(
            document, own, f"stage[{number}]", STAGE, reading.problems
        )
        count = len(windows) if isinstance(windows, list) else 0
        lines = {
            name.replace(f"stage.window[{before + nth}]", f"window[{nth}]"): line
            for name, line in document.lines.items()
            for nth in range(1, count + 1)
            if name.startswith(f"stage.window[{before + nth}]")
        }
        before += count
        of_stage = tomlfiles.Document(document.file, {"window": windows}, lines)
        read = _windows_of(reading, of_stage) if "window" in written else ()
        name = keys.values["name"]
        if keys.values["no_watering"]:
            read = (NEVER,)
        if name and folded(name) in map(folded, found):
            reading.problems.append(
                Problem(document.file, document.lines.get(f"stage[{number}].name"),
                        f"stage[{number}].name", f"{quoted(name)} is there already",
                        "a name of its own for each stage")
            )  # fmt: skip
        elif name:
            found[name] = Stage(name, read, keys.values["percent"])
    return found


def rain_rule(tables: Tables) -> RainRule:
    """How rain is counted; not at all by default where a rain shut-off stops runs."""
    method = tables["climate"]["effective_rain"]
    shut_off = tables["controller"]["rain_shutoff_mm"] is not None
    return RainRule(
        method or ("none" if shut_off else "tr21"),
        tables["climate"]["rain_share"],
        method is not None,
    )


def read_water(
    reading: Reading, document: tomlfiles.Document | None, tables: Tables
) -> Water | None:
    """Price of the water and allowance; None where site.toml cannot be read."""
    if document is None or not tables:
        return None
    keys = tables["water"]
    months = int(keys["months_per_bill"])
    if months not in MONTHS_PER_BILL:
        reading.problems.append(
            Problem(document.file, document.lines.get("water.months_per_bill"),
                    "water.months_per_bill", f"bills of {months} months fill no year",
                    "1, 2, 3, 4, 6 or 12")
        )  # fmt: skip
    written = document.content.get("water", {})
    if keys["tiers"] and folded("billing_unit") not in map(folded, written):
        reading.problems.append(
            Problem(document.file, document.lines.get("water.tiers"),
                    "water.billing_unit", "is missing: a price is for some unit",
                    "ccf, kgal, m3", "the bill names it")
        )  # fmt: skip
    fixed = keys["fixed_charge"]
    return Water(
        keys["currency"] or "",
        keys["billing_unit"] or "",
        None if fixed is None else as_written(fixed),
        months,
        tuple((as_written(to), as_written(price)) for to, price in keys["tiers"] or ()),
        keys["allowance_factor"],
        keys["special_area_m2"],
    )


def as_written(number: float) -> Decimal:
    """Number as it was written, to the digit: its shortest form, not its binary one."""
    return Decimal(repr(number))
