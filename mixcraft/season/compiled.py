"""Compiling the kernels, and keeping what was compiled from one run to the next, so that nothing about a cache stops a command.

Kernels are written so that Python runs them as they are, slowly; with numba they are compiled to machine code (`native`), for
which numba is imported only when something has to be compiled.  Machine code is kept as `mixcraft.files.keeping` says, in files
named after the sources and the processor, so that code made from other sources or for another machine is never loaded.  Where
nothing can be written the code is compiled for this process alone, after one notice; where machine code cannot be loaded, numba
calls it.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib.util
import logging
import os
import pickle
import sys
from collections.abc import Callable, Iterator
from functools import lru_cache, update_wrapper
from pathlib import Path
from threading import Lock
from types import FunctionType
from typing import Any, TypeVar, cast

from mixcraft.files import keeping

from .native import Native, flattened, loaded, processor, types_of

F = TypeVar("F", bound=Callable[..., Any])
HERE = Path(__file__).parent
NOTICE = logging.getLogger("mixcraft")
_OPTIONS: dict[str, Any] = {"nogil": True, "error_model": "numpy", "_nrt": False}
"""Kernels are given every array that they need and make none: no references are counted, which would take most of the time."""
_INLINE: dict[str, Any] = {"forceinline": True}
"""Parts stand where they are called: each takes dozens of arrays, and handing them on would take a third of the time, most of it
on days on which nothing lives."""
_BARE: dict[str, Any] = {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}
"""Machine code that numba itself need not call."""
INTRINSIC = "llvm."
OF_THE_C_LIBRARY = ("exp", "log", "pow", "sin", "cos")
"""Intrinsic functions that may become calls of the C library."""


def _there(name: str) -> bool:
    """Whether a package can be imported, without importing it."""
    try:
        return importlib.util.find_spec(name) is not None
    except ValueError:
        return False


COMPILED = _there("numba") and _there("llvmlite") and os.environ.get("NUMBA_DISABLE_JIT", "0") == "0"
_parts: dict[FunctionType, dict[str, Any]] = {}
"""Parts of kernels, and how numba is to compile them."""


def compiled(function: F) -> F:
    """A part of a kernel, compiled together with what calls it."""
    _parts[cast(FunctionType, function)] = {}
    return function


def fast(function: F) -> F:
    """As `compiled`, where sums may be taken in any order and nothing is infinite or not a number."""
    _parts[cast(FunctionType, function)] = {"fastmath": True}
    return function


def kept(*sources: str, fastmath: bool = False) -> Callable[[F], F]:
    """A kernel that is called from Python: compiled on its first call, and kept for the next process.

    `sources` are the modules of this package, by name, that its compiled code is made from.
    """

    def decorate(function: F) -> F:
        return cast("F", Kernel(cast(FunctionType, function), sources, {"fastmath": fastmath}))

    return decorate


class Kernel:
    """A kernel, called as the function that it is made from; `made` counts what had to be compiled in this process."""

    def __init__(self, function: FunctionType, sources: tuple[str, ...], options: dict[str, Any]) -> None:
        update_wrapper(self, function)
        self.function, self.sources, self.options, self.made = function, sources, options, 0
        self._ready: dict[tuple[Any, ...], Callable[..., Any]] = {}
        self._lock = Lock()

    def __call__(self, *arguments: Any) -> Any:
        """What the function gives."""
        if not COMPILED:
            return self.function(*arguments)
        flat, kinds = flattened(arguments)
        return self._for(arguments, flat, kinds)(flat, arguments)

    def hold(self, *last: Any) -> Callable[..., Any]:
        """The kernel with its last arguments held, to be called with the first ones, which saves laying out the last anew."""
        if not COMPILED:
            return lambda *first: self.function(*first, *last)
        held, held_kinds = flattened(last)

        def call(*first: Any) -> Any:
            flat, kinds = flattened(first)
            arguments = (*first, *last)
            flat += held
            return self._for(arguments, flat, kinds + held_kinds)(flat, arguments)

        return call

    def _for(self, arguments: tuple[Any, ...], flat: list[Any], kinds: tuple[Any, ...]) -> Callable[..., Any]:
        """The code for arguments of these kinds."""
        ready = self._ready.get(kinds)
        if ready is None:
            with self._lock:
                ready = self._ready[kinds] = self._ready.get(kinds) or self._prepared(arguments, flat, kinds)
        return ready

    @property
    def ready(self) -> bool:
        """Whether it has been compiled or loaded in this process."""
        return bool(self._ready)

    @property
    def stamp(self) -> str:
        """Beginning of the names of the kernel's files."""
        return f"{self.function.__name__}.{_digest(self.sources)}"

    def _prepared(self, arguments: tuple[Any, ...], flat: list[Any], kinds: tuple[Any, ...]) -> Callable[..., Any]:
        """What is called with flat arguments, and the arguments themselves."""
        try:
            code = self._machine_code(arguments, flat, kinds)
        except Exception as error:  # a numba, or a machine, that does it in another way: slower to start, but right
            _say(f"compiled code cannot be kept here, so every run compiles it anew ({error})")
            self.made += 1
            by_numba = _by_numba(self.function, self.options)
            return lambda _, arguments: by_numba(*arguments)
        return lambda flat, _: code(flat)

    def _machine_code(self, arguments: tuple[Any, ...], flat: list[Any], kinds: tuple[Any, ...]) -> Callable[..., Any]:
        """Machine code that was kept, else made now and kept."""
        name = f"{self.stamp}.{hashlib.sha256(repr(kinds).encode()).hexdigest()}.code"
        for data in keeping.kept_in(folders(), name):
            with contextlib.suppress(Exception):
                return loaded(pickle.loads(data), types_of(flat))
        self.made += 1
        code = _machine_code(self.function, self.options, arguments)
        if not keeping.keep_in(folders(), name, pickle.dumps(code)):
            _say("compiled code can be kept nowhere, so every run compiles it anew; make the folder ~/.cache writable")
        return loaded(code, types_of(flat))


def _by_numba(function: FunctionType, options: dict[str, Any]) -> Any:
    """Numba's own form of a function, and with it of all parts that it may call, in name spaces of their own."""
    import numba

    spaces: dict[int, dict[str, Any]] = {}
    made: dict[Any, Any] = {}
    for part, own in {**{part: {**_INLINE, **own} for part, own in _parts.items()}, function: options}.items():
        space = spaces.setdefault(id(part.__globals__), dict(part.__globals__))
        again = FunctionType(part.__code__, space, part.__name__, part.__defaults__, part.__closure__)
        made[part] = numba.njit(**_OPTIONS, **own)(again)
    for space in spaces.values():
        for name, value in space.items():
            if isinstance(value, FunctionType) and value in made:
                space[name] = made[value]
    return made[function]


def _machine_code(function: FunctionType, options: dict[str, Any], arguments: tuple[Any, ...]) -> Native:
    """Machine code of a kernel for these kinds of arguments."""
    import numba

    made = _by_numba(function, {**options, **_BARE})
    kinds = tuple(numba.typeof(one) for one in arguments)
    made.compile(kinds)
    found = made.overloads[kinds]
    _, form, (code, _) = found.library.serialize_using_object_code()
    assert form == "object"
    outside = [one.name for one in found.library._final_module.functions if one.is_declaration]
    return Native(found.fndesc.llvm_func_name, code, tuple(sorted(_symbols(outside))), str(found.signature.return_type))


def _symbols(names: list[str]) -> set[str]:
    """Functions of the C library among those that code calls, intrinsic ones by what they may become."""
    plain = {name for name in names if not name.startswith(INTRINSIC)}
    intrinsic = {name.split(".")[1] for name in names if name.startswith(INTRINSIC)}
    return plain | (intrinsic & set(OF_THE_C_LIBRARY))


def hold(kernel: Callable[..., Any], *last: Any) -> Callable[..., Any]:
    """A `kept` kernel with its last arguments held, to be called with the first ones."""
    assert isinstance(kernel, Kernel)
    return kernel.hold(*last)


def is_kept(function: Callable[..., Any]) -> bool:
    """Whether code of a `kept` kernel lies in a folder, made from the present sources, or has been compiled in this process."""
    if not COMPILED or not isinstance(function, Kernel):
        return False
    with contextlib.suppress(Exception):
        return function.ready or any(any(folder.glob(f"{function.stamp}.*.code")) for folder in folders())
    return False


@lru_cache(maxsize=32)
def _say(text: str) -> None:
    """One notice, once."""
    NOTICE.warning("mixcraft: %s", text)


def folders() -> Iterator[Path]:
    """Folders in which compiled code may be kept, the best first."""
    return keeping.folders(HERE)


@lru_cache(maxsize=16)
def _digest(sources: tuple[str, ...]) -> str:
    """Digest of the sources that code is made from, of what makes it, and of what runs it."""
    found = hashlib.sha256(f"{_version('numba')} {_version('llvmlite')} {sys.version} {processor()}".encode())
    for name in ("compiled.py", "native.py", "constants.yaml", *(f"{source}.py" for source in sorted(sources))):
        found.update((HERE / name).read_bytes())
    return found.hexdigest()


def _version(package: str) -> str:
    """What tells one version of a package from another, without importing it."""
    spec = importlib.util.find_spec(package)
    origin = Path(spec.origin) if spec is not None and spec.origin is not None else Path(__file__)
    try:
        return origin.with_name("_version.py").read_text("utf-8")
    except OSError:
        return f"{origin} {origin.stat().st_mtime_ns}"
