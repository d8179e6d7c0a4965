"""Writing files whole or not at all. `edit_document` (from ``edit.py``) is offered here as well."""

from __future__ import annotations

import contextlib
import os
import stat
import tempfile
from pathlib import Path

from mixcraft.files.edit import REMOVE, edit_document
from mixcraft.files.faults import UsageError

__all__ = ["REMOVE", "edit_document", "write_atomically"]


def write_atomically(path: str | os.PathLike[str], data: bytes | str) -> None:
    """Write a file so that at every moment either the old or the new content is there in full.

    The data goes to a new file in the same folder, to the disk, and then takes the place of the old
    file, whose permissions it keeps; a symbolic link keeps pointing where it did. On any fault the
    old file is untouched and no other file is left. Text is written as UTF-8, line ends as they are.
    Raises UsageError if the folder is missing, the path is a folder, or writing is not possible.
    """
    target = Path(os.path.realpath(path))
    content = data.encode("utf-8") if isinstance(data, str) else data
    if target.is_dir():
        raise UsageError(f"cannot write {path}: it is a folder; name a file")
    if target.exists() and not target.is_file():
        raise UsageError(f"cannot write {path}: it is not an ordinary file; name another")
    if not target.parent.is_dir():
        raise UsageError(f"cannot write {path}: there is no folder {target.parent.name or target.parent}; make it first")
    try:
        if target.exists() and not os.access(target, os.W_OK):
            raise PermissionError(13, "the file is write-protected")
        _replace(target, content)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise UsageError(f"cannot write {path}: {reason}; the file is as it was") from error


def _replace(target: Path, content: bytes) -> None:
    """Write beside the target, then put it in its place."""
    handle, name = tempfile.mkstemp(prefix=f".{target.name[:40]}.", suffix=".part", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as stream:
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
