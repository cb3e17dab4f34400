"""Files written whole or not at all."""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import stat
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path

from scheduler.errors import InputError, Problem


def write_whole(path: Path, content: str | bytes) -> None:
    """Write text as UTF-8, or bytes, to `path`, replacing it in one step.

    Raises InputError where the place cannot be written; the old file then stays.
    """
    write_all({path: content})


def write_all(files: Mapping[Path, str | bytes]) -> None:
    """Write several files, or none where one of the places cannot be written.

    A link keeps its place: what it points to is written. A file that was there keeps
    its rights, and is put back where a later one fails.
    """
    with contextlib.ExitStack() as leftovers:
        steps = []
        for path, content in files.items():
            with _telling(path):
                target = path.resolve() if path.is_symlink() else path
                steps.append(
                    (_written_beside(target, content, leftovers),
                     _kept(target, leftovers) if len(files) > 1 else None,
                     target, path)
                )  # fmt: skip
        with contextlib.ExitStack() as undo:
            for temporary, old, target, path in steps:
                with _telling(path):
                    os.replace(temporary, target)
                undo.callback(_put_back, old, target)
            undo.pop_all()
        for folder in {target.parent for _, _, target, _ in steps}:
            _sync_folder(folder)


def _written_beside(
    path: Path, content: str | bytes, leftovers: contextlib.ExitStack
) -> str:
    """A new file in the folder of `path` that holds what is to stand there."""
    if path.is_dir():
        raise OSError(errno.EISDIR, os.strerror(errno.EISDIR))
    if path.exists() and not path.is_file():
        # Never put a file in the place of a device or a pipe.
        raise OSError("it is a device or a pipe, not a file")
    mode = stat.S_IMODE(path.stat().st_mode) if path.exists() else _usual_mode()
    if isinstance(content, str):
        content = content.encode("utf-8", errors="replace")
    temporary = _new_file(path, leftovers)
    with open(temporary, "wb") as stream:
        stream.write(content)
        stream.flush()
        # Else a power cut after the rename may leave an empty file in the place.
        os.fsync(stream.fileno())
    os.chmod(temporary, mode)
    return temporary


def _new_file(path: Path, leftovers: contextlib.ExitStack) -> str:
    """Empty file beside `path`, taken away at the end where it still stands there."""
    handle, temporary = tempfile.mkstemp(
        dir=path.parent, prefix=f".{path.name[:40]}.", suffix=".part"
    )
    leftovers.callback(_remove, temporary)
    os.close(handle)
    return temporary


def _kept(path: Path, leftovers: contextlib.ExitStack) -> str | None:
    """Copy of the file that is there, with its rights and times; None without one."""
    if not path.exists():
        return None
    copy = _new_file(path, leftovers)
    shutil.copy2(path, copy)
    return copy


def _put_back(old: str | None, path: Path) -> None:
    """Undo a write: the file of before, or none."""
    with contextlib.suppress(OSError):
        if old is None:
            path.unlink()
        else:
            os.replace(old, path)


def _sync_folder(folder: Path) -> None:
    """Make renames last through a power cut, on systems that open folders."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _remove(temporary: str) -> None:
    """Take away a file that has not gone to its place."""
    with contextlib.suppress(OSError):
        os.unlink(temporary)


@contextlib.contextmanager
def _telling(path: Path) -> Iterator[None]:
    """Errors of the system as a Problem of the file."""
    try:
        yield
    except OSError as error:
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


def write_folder(folder: Path, files: Mapping[str, str | bytes]) -> None:
    """Make a folder with these files, or nothing at all.

    Raises InputError where the folder already holds something or cannot be made.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise InputError(
            [
                Problem(
                    str(folder),
                    None,
                    "",
                    "is there already",
                    "a folder that does not exist yet, or an empty one",
                )
            ]
        )
    missing = [place for place in (folder, *folder.parents) if not place.exists()]
    with contextlib.ExitStack() as undo:
        try:
            for place in reversed(missing):
                place.mkdir()
                undo.callback(_remove_folder, place)
        except OSError as error:
            reason = error.strerror or str(error)
            problem = Problem(str(folder), None, "", f"cannot be made: {reason}")
            raise InputError([problem]) from error
        write_all({folder / name: content for name, content in files.items()})
        undo.pop_all()


def _remove_folder(folder: Path) -> None:
    """Take away a folder that was made for files which could not be written."""
    with contextlib.suppress(OSError):
        folder.rmdir()
