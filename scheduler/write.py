"""Files written whole or not at all."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path

from scheduler.errors import InputError, Problem


def write_whole(path: Path, content: str) -> None:
    """Write text as UTF-8 to `path`, replacing it in one step.

    Raises InputError where the place cannot be written; the old file then stays.
    """
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(
            dir=path.parent, prefix=f".{path.name[:40]}.", suffix=".part"
        )
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as stream:
            stream.write(content)
        os.chmod(temporary, _usual_mode())
        os.replace(temporary, path)
    except OSError as error:
        if temporary:
            with contextlib.suppress(OSError):
                os.unlink(temporary)
        reason = error.strerror or str(error)
        raise InputError(
            [
                Problem(
                    str(path),
                    None,
                    "",
                    f"cannot be written: {reason}",
                    hint="choose a folder that exists and that you may write to",
                )
            ]
        ) from error


def _usual_mode() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
