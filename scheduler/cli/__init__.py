"""The verbs of the command, and what runs them."""

from scheduler.cli.app import (
    FAULT_OF_OURS,
    INPUT_IS_WRONG,
    LIMIT_NOT_MET,
    Format,
    Units,
    app,
    run,
    status,
)

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
