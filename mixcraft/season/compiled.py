"""Compiling the kernels, and keeping what was compiled from one run to the next, so that nothing about a cache stops a command.

Kernels are written so that Python runs them as they are, slowly; with numba they are compiled.  Compiled code is kept as
`mixcraft.files.keeping` says, in files named after the sources, so that code made from other sources is never loaded.  Where
nothing can be written the code is compiled for this process alone, after one notice.
"""

from __future__ import annotations

import contextlib
import hashlib
import logging
import pickle
import sys
from collections.abc import Callable, Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar, cast

from mixcraft.files import keeping

F = TypeVar("F", bound=Callable[..., Any])
HERE = Path(__file__).parent
NOTICE = logging.getLogger("mixcraft")
_OPTIONS: dict[str, Any] = {"nogil": True, "error_model": "numpy", "_nrt": False}
"""Kernels are given every array that they need and make none: no references are counted, which would take most of the time."""

try:
    import numba
    from numba.core import caching
    from numba.core.serialize import dumps

    COMPILED = not getattr(numba.config, "DISABLE_JIT", False)
except ImportError:
    COMPILED = False


def compiled(function: F) -> F:
    """A part of a kernel, compiled together with what calls it; the function itself where there is no numba."""
    return cast("F", numba.njit(**_OPTIONS)(function)) if COMPILED else function


def fast(function: F) -> F:
    """As `compiled`, where sums may be taken in any order and nothing is infinite or not a number."""
    return cast("F", numba.njit(fastmath=True, **_OPTIONS)(function)) if COMPILED else function


def kept(*sources: str, fastmath: bool = False) -> Callable[[F], F]:
    """A kernel that is called from Python: compiled on its first call, and kept for the next process.

    `sources` are the modules of this package, by name, that its compiled code is made from.
    """

    def decorate(function: F) -> F:
        if not COMPILED:
            return function
        made: Any = numba.njit(fastmath=fastmath, **_OPTIONS)(function)
        try:
            made._cache = _kept_code(function, sources)
        except Exception as error:  # a numba that keeps code in another way: compiled in every process, but right
            _say(f"compiled code cannot be kept with this version of numba ({error})")
        return cast("F", made)

    return decorate


def is_kept(function: Callable[..., Any]) -> bool:
    """Whether code of a `kept` kernel lies in a folder, made from the present sources, or has been compiled in this process."""
    cache = getattr(function, "_cache", None)
    if cache is None or getattr(function, "signatures", None):
        return COMPILED and bool(getattr(function, "signatures", None))
    stamp = getattr(getattr(cache, "_cache_file", None), "name", None)
    return stamp is not None and any(any(folder.glob(f"{stamp}.*.code")) for folder in folders())


@lru_cache(maxsize=32)
def _say(text: str) -> None:
    """One notice, once."""
    NOTICE.warning("mixcraft: %s", text)


def folders() -> Iterator[Path]:
    """Folders in which compiled code may be kept, the best first."""
    return keeping.folders(HERE)


def _digest(sources: tuple[str, ...]) -> str:
    """Digest of the sources that code is made from and of what makes it."""
    found = hashlib.sha256(f"{numba.__version__} {sys.version}".encode())
    for name in ("compiled.py", "constants.yaml", *(f"{source}.py" for source in sorted(sources))):
        found.update((HERE / name).read_bytes())
    return found.hexdigest()


class _Files:
    """Compiled code in files, one for each kernel and kind of arguments."""

    def __init__(self, name: str) -> None:
        self.name = name

    def _file(self, key: object) -> str:
        return f"{self.name}.{hashlib.sha256(repr(key).encode()).hexdigest()}.code"

    def load(self, key: object) -> Any:
        """The code kept for `key`, or None if there is none that is whole."""
        for data in keeping.kept_in(folders(), self._file(key)):
            with contextlib.suppress(Exception):
                return pickle.loads(data)
        return None

    def save(self, key: object, code: object) -> None:
        """Keep code for `key` in the first folder that can be written."""
        if not keeping.keep_in(folders(), self._file(key), dumps(code)):
            _say("compiled code can be kept nowhere, so every run compiles it anew; make the folder ~/.cache writable")

    def flush(self) -> None:
        """Nothing is thrown away."""


def _kept_code(function: Callable[..., Any], sources: tuple[str, ...]) -> Any:
    """What numba asks for code that is kept, and gives code to keep to; in no case does an error come through."""

    class Locator(caching._CacheLocator):
        _py_file = __file__

        def get_cache_path(self) -> str:
            return ""

        def ensure_cache_path(self) -> None:
            """Folders are tried when something is kept."""

        def get_source_stamp(self) -> str:
            return ""

        def get_disambiguator(self) -> str:
            return ""

        @classmethod
        def from_function(cls, py_func: object, py_file: object) -> Any:
            return cls()

    class Code(caching.CompileResultCacheImpl):
        _locator_classes: list[type[object]] = [Locator]  # noqa: RUF012 -- as its base has it

    class Kept(caching.FunctionCache):
        _impl_class = Code

        def __init__(self, py_func: Callable[..., Any]) -> None:
            super().__init__(py_func)
            self._cache_file: Any = _Files(f"{py_func.__name__}.{_digest(sources)}")

        def load_overload(self, sig: Any, target_context: Any) -> Any:
            try:
                return super().load_overload(sig, target_context)
            except Exception:
                return None

        def save_overload(self, sig: Any, data: Any) -> None:
            try:
                super().save_overload(sig, data)
            except Exception as error:
                _say(f"compiled code could not be kept ({error})")

    return Kept(function)
