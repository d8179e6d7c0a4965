"""What is dear to make, kept in files from one run to the next, so that nothing about such a file stops a command.

Things are kept in the first of these folders that can be written: ``__pycache__`` beside the source, the user's cache folder, a
folder of the user's own among the temporary files.  A file holds a digest of itself, so that one that is damaged or half written
is never read: what it held is made anew, and the file replaced by an atomic rename, since others may be doing the same.
"""

from __future__ import annotations

import contextlib
import hashlib
import logging
import os
import pickle
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import lru_cache
from pathlib import Path
from typing import TypeVar

T = TypeVar("T")
FOR_THE_USER, WRITTEN_BY_OTHERS = 0o700, 0o022
"""Modes of files."""
DIGEST = hashlib.sha256().digest_size
NOTICE = logging.getLogger("mixcraft")
Folders = Callable[[], Iterable[Path]]


def folders(beside: Path) -> Iterator[Path]:
    """Folders in which things may be kept, the best first; those of the user are made where that can be done."""
    yield beside / "__pycache__"
    for folder in _user_folders():
        try:
            folder.mkdir(mode=FOR_THE_USER, parents=True, exist_ok=True)
            if _own(folder):
                yield folder
        except OSError:
            continue


def _user_folders() -> Iterator[Path]:
    cache = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA")
    with contextlib.suppress(RuntimeError, OSError):
        yield (Path(cache) if cache else Path.home() / ".cache") / "mixcraft"
    with contextlib.suppress(OSError):
        yield Path(tempfile.gettempdir()) / f"mixcraft-{os.getuid() if hasattr(os, 'getuid') else 'cache'}"


def _own(folder: Path) -> bool:
    """Whether a folder is the user's own and nobody else can write to it, so that what lies in it can be trusted."""
    if not hasattr(os, "getuid"):
        return True
    found = folder.stat()
    return found.st_uid == os.getuid() and not found.st_mode & WRITTEN_BY_OTHERS


def kept_in(where: Iterable[Path], name: str) -> Iterator[bytes]:
    """What files of this name hold, those that are whole, the best folder's first."""
    for folder in where:
        with contextlib.suppress(OSError):
            data = (folder / name).read_bytes()
            if hashlib.sha256(data[DIGEST:]).digest() == data[:DIGEST]:
                yield data[DIGEST:]
            else:
                say_once(f"what was kept in {folder} is damaged; it is made anew")


@lru_cache(maxsize=32)
def say_once(text: str) -> None:
    """A notice on standard error, once in a process."""
    NOTICE.warning("mixcraft: %s", text)


def find_a_cache() -> None:
    """Where the user's cache folder cannot be written (a read-only home, none at all), take one among the temporary files, for
    all libraries of this process, and say so once."""
    given = os.environ.get("XDG_CACHE_HOME")
    try:
        cache = Path(given) if given else Path.home() / ".cache"
        cache.mkdir(parents=True, exist_ok=True)
        if os.access(cache, os.W_OK):
            return
    except (OSError, RuntimeError):
        pass
    elsewhere = next((folder for folder in _user_folders() if _can_be_written(folder)), None)
    if elsewhere is not None:
        os.environ["XDG_CACHE_HOME"] = str(elsewhere)
        say_once(f"your cache folder cannot be written; {elsewhere} is used for what is kept between runs")


def _can_be_written(folder: Path) -> bool:
    try:
        folder.mkdir(mode=FOR_THE_USER, parents=True, exist_ok=True)
        return _own(folder) and os.access(folder, os.W_OK)
    except OSError:
        return False


def keep_in(where: Iterable[Path], name: str, data: bytes) -> bool:
    """Keep a file in the first folder that can be written; whether there was one."""
    for folder in where:
        with contextlib.suppress(OSError):
            _write(folder / name, hashlib.sha256(data).digest() + data)
            return True
    return False


def kept_thing(where: Folders, name: str, key: bytes, kind: type[T], make: Callable[[], T]) -> T:
    """What was made of `key`, the digest of all that it is made of: as it was kept, else made now, and kept in place of what was
    made of another key."""
    for data in kept_in(where(), name):
        with contextlib.suppress(Exception):
            found_key, thing = pickle.loads(data)
            if found_key == key and isinstance(thing, kind):
                return thing
    thing = make()
    keep_in(where(), name, pickle.dumps((key, thing)))
    return thing


class Ledger:
    """Small things by their marks, kept together in the file `name`, the newest `most` of them.

    They are of use as long as `made_with` says the same: the digest of all code and data that they depend on.  The file is read
    once in a process, which writes it at most `writes` times: a search over thousands of things need not.
    """

    def __init__(self, where: Folders, name: str, made_with: Callable[[], bytes], most: int, writes: int) -> None:
        self.where, self.name, self.made_with, self.most, self.writes = where, name, made_with, most, writes
        self._known: dict[str, bytes] | None = None

    def get(self, mark: str) -> bytes | None:
        """What is kept under a mark."""
        if self._known is None:
            self._known = self.read()
        return self._known.get(mark)

    def keep(self, new: Mapping[str, bytes]) -> None:
        """Keep things by their marks, beside what other processes have kept meanwhile."""
        if not new:
            return
        self._known = {**(self.read() if self._known is None else self._known), **new}
        if self.writes > 0:
            self.writes -= 1
            known = {mark: thing for mark, thing in self.read().items() if mark not in new} | dict(new)
            newest = dict(list(known.items())[-self.most :])
            keep_in(self.where(), self.name, pickle.dumps((self.made_with(), newest)))

    def read(self) -> dict[str, bytes]:
        """What the file holds, the oldest first."""
        for data in kept_in(self.where(), self.name):
            with contextlib.suppress(Exception):
                made_with, found = pickle.loads(data)
                if made_with == self.made_with():
                    return {str(mark): bytes(thing) for mark, thing in found.items()}
        return {}

    def forget(self) -> None:
        """Read the file again at the next asking."""
        self._known = None


@lru_cache(maxsize=1)
def reader() -> bytes:
    """Digest of what reads documents."""
    return digest_of(Path(__file__).parent, "*.py")


def digest_of(folder: Path, *patterns: str) -> bytes:
    """Digest of the files of a folder that are called so."""
    found = hashlib.sha256()
    for path in sorted({path for pattern in patterns for path in folder.glob(pattern)}):
        found.update(path.name.encode() + path.read_bytes())
    return found.digest()


def _write(path: Path, data: bytes) -> None:
    """Write a file as a whole or not at all."""
    path.parent.mkdir(exist_ok=True)
    number, name = tempfile.mkstemp(dir=path.parent, prefix=f"{path.name}.")
    try:
        with os.fdopen(number, "wb") as file:
            file.write(data)
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
