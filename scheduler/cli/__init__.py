"""The verbs, in the order of `scheduler --help`."""

# Importing a verb registers it; the order is that of the help.
from scheduler.cli import new as _new  # noqa: F401, I001
from scheduler.cli import check as _check  # noqa: F401
from scheduler.cli.heads import rates as _rates  # noqa: F401
from scheduler.cli.heads import nozzles as _nozzles  # noqa: F401
from scheduler.cli.heads import coverage as _coverage  # noqa: F401
from scheduler.cli import climate as _climate  # noqa: F401
from scheduler.cli import table as _table  # noqa: F401
from scheduler.cli import explain as _explain  # noqa: F401
from scheduler.cli import night as _night  # noqa: F401
from scheduler.cli import card as _card  # noqa: F401
from scheduler.cli import budget as _budget  # noqa: F401
from scheduler.cli import sheet as _sheet  # noqa: F401
from scheduler.cli.heads import cans as _cans  # noqa: F401
from scheduler.cli.handbook import fields as _fields  # noqa: F401
from scheduler.cli.handbook import plants as _plants  # noqa: F401
from scheduler.cli.handbook import soils as _soils  # noqa: F401
from scheduler.cli.handbook import method as _method  # noqa: F401
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
