"""Writing files whole or not at all. `edit_document` (from ``edit.py``) is offered here as well."""

from __future__ import annotations

import contextlib
import os
import stat
import tempfile
import time
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import BinaryIO

from mixcraft.files.edit import REMOVE, edit_document
from mixcraft.files.faults import UsageError

__all__ = ["REMOVE", "check_output", "edit_document", "write_atomically"]

BEGINNING, ENDING = ".mixcraft-", ".part"
"""Names of files that are being written."""
LEFT_BEHIND_S = 60.0
"""A file that was being written is swept away when nobody holds it and it is older than this."""
SHOWN_NAME = 100


def write_atomically(path: str | os.PathLike[str], data: bytes | str) -> None:
    """Write a file so that at every moment either the old or the new content is there in full.

    The data goes to a new file in the same folder, to the disk, and then takes the place of the old
    file, whose permissions it keeps; a symbolic link keeps pointing where it did. On any fault the
    old file is untouched and no other file is left; what a killed process left in the folder is
    swept away by the next one. Text is written as UTF-8, line ends as they are.
    Raises UsageError if the folder is missing, the path is a folder, or writing is not possible.
    """
    content = data.encode("utf-8") if isinstance(data, str) else data
    target = check_output(path)
    try:
        _sweep(target.parent)
        _replace(target, content)
    except OSError as error:
        raise _refusal(path, error, "the file is as it was") from error


def check_output(path: str | os.PathLike[str], inputs: Iterable[str | os.PathLike[str] | None] = ()) -> Path:
    """The real path of a file to write, looked at before anything is done for it.

    Raises UsageError if it is a folder or no ordinary file, if its folder is missing, if it may not be written,
    and if it is one of the `inputs`, under whatever name.
    """
    try:
        target = Path(os.path.realpath(path))
        status = _status(target)
        if status is None and not target.parent.is_dir():
            raise UsageError(f"cannot write {path}: there is no folder {target.parent.name or target.parent}; make it first")
        if not os.access(target if status is not None else target.parent, os.W_OK):
            raise PermissionError(13, f"the {'file' if status is not None else 'folder'} is write-protected")
    except (OSError, ValueError) as error:
        raise _refusal(path, error, "nothing was written") from error
    if status is not None and stat.S_ISDIR(status.st_mode):
        raise UsageError(f"cannot write {path}: it is a folder; name a file")
    if status is not None and not stat.S_ISREG(status.st_mode):
        raise UsageError(f"cannot write {path}: it is not an ordinary file; name another")
    for name in inputs:
        if status is not None and name is not None and _is(status, name):
            raise UsageError(f"cannot write {path}: it is the file that is read; name another")
    return target


def _status(target: Path) -> os.stat_result | None:
    with contextlib.suppress(FileNotFoundError, NotADirectoryError):
        return os.stat(target)
    return None


def _is(status: os.stat_result, name: str | os.PathLike[str]) -> bool:
    """Whether `name` leads to the file of `status`, through links too."""
    try:
        return os.path.samestat(status, os.stat(name))
    except (OSError, ValueError):
        return False


def _refusal(path: str | os.PathLike[str], error: OSError | ValueError, end: str) -> UsageError:
    shown, said = os.fspath(path), getattr(error, "strerror", None) or str(error)
    if len(shown) > SHOWN_NAME:
        shown = f"{shown[: SHOWN_NAME // 2]}...{shown[-SHOWN_NAME // 4 :]}"
    return UsageError(f"cannot write {shown}: {said.lower()}; {end}")


def _replace(target: Path, content: bytes) -> None:
    """Write beside the target, then put it in its place."""
    handle, name = tempfile.mkstemp(prefix=BEGINNING, suffix=ENDING, dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as stream, _held(stream):
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(name, _mode(target))
        os.replace(name, target)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(name)
        raise
    _sync_folder(target.parent)


def _sweep(folder: Path) -> None:
    """Take away what killed processes have left in a folder: our own names only, not young, and held by nobody."""
    with contextlib.suppress(OSError), os.scandir(folder) as entries:
        for entry in entries:
            if entry.name.startswith(BEGINNING) and entry.name.endswith(ENDING):
                with contextlib.suppress(OSError):
                    _sweep_one(entry)


def _sweep_one(entry: os.DirEntry[str]) -> None:
    if not entry.is_file(follow_symlinks=False) or time.time() - entry.stat().st_mtime < LEFT_BEHIND_S:
        return
    with open(entry.path, "rb") as stream, _held(stream):
        pass  # nobody writes it: what a living process writes cannot be held twice
    os.unlink(entry.path)


@contextlib.contextmanager
def _held(stream: BinaryIO) -> Iterator[None]:
    """Hold an open file for this process, until it is closed or the process ends; OSError if another holds it.

    Where the system has no such locks, or the folder's file system none, nothing is held; an open file cannot be taken away on
    Windows anyway.
    """
    try:
        import fcntl
    except ImportError:
        yield
        return
    try:
        fcntl.flock(stream.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        raise
    except OSError:
        pass
    yield


def _mode(target: Path) -> int:
    """The permissions of the file that is replaced, or those a new file would get."""
    with contextlib.suppress(FileNotFoundError):
        return stat.S_IMODE(target.stat().st_mode)
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _sync_folder(folder: Path) -> None:
    """Make the new name last through a power cut, where the system can."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
