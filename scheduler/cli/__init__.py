"""The verbs, in the order of `scheduler --help`."""

from scheduler.cli import (  # noqa: I001, F401  (imported in the order of the help)
    new as _new,
    check as _check,
    rates as _rates,
    nozzles as _nozzles,
    coverage as _coverage,
    climate as _climate,
    table as _table,
    explain as _explain,
    night as _night,
    card as _card,
    replay as _replay,
    budget as _budget,
    sheet as _sheet,
    cans as _cans,
)
from scheduler.cli.handbook import (  # noqa: F401
    fields as _fields,
    plants as _plants,
    soils as _soils,
    method as _method,
)
from scheduler.cli.app import Format, Units, app, run, status
from scheduler.cli.app import FAULT_OF_OURS, INPUT_IS_WRONG, LIMIT_NOT_MET

__all__ = [
    "FAULT_OF_OURS",
    "INPUT_IS_WRONG",
    "LIMIT_NOT_MET",
    "Format",
    "Units",
    "app",
    "run",
    "status",
]
