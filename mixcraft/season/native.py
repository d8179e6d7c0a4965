"""Machine code that numba made, loaded and called without numba: llvmlite alone, which takes a tenth of the time to import.

A kernel is called with arrays, numbers and tuples of them.  Its machine code takes them laid out flat, as numba's own calling
convention has it: an array as owner, parent, items, bytes of an item, address, lengths and strides; a tuple as what it holds.
"""

from __future__ import annotations

import ctypes
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

RETURNS = {"none": ctypes.c_int64, "int64": ctypes.c_int64, "float64": ctypes.c_double, "bool": ctypes.c_uint8}
"""Types of what a kernel gives back, by numba's names."""
LAYOUTS = ("A", "F", "C", "C")
"""Names of layouts: of neither, in the order of Fortran, of C, of both."""
_engines: list[Any] = []
"""What holds the machine code of the process."""


@dataclass(frozen=True)
class Native:
    """Machine code `made` for this processor, with the function `name` in it, the outside `symbols` that it calls, and the type
    that it `returns`."""

    name: str
    made: bytes
    symbols: tuple[str, ...]
    returns: str


class NotLoadedError(RuntimeError):
    """Machine code cannot be loaded in this process."""


def flattened(arguments: Sequence[Any]) -> tuple[list[Any], tuple[Any, ...]]:
    """Arguments laid out flat, and what kinds they are: two calls of the same kinds use the same code.

    Raises `TypeError` for what is neither an array nor a number nor a tuple of them.
    """
    flat: list[Any] = []
    kinds: list[Any] = []
    _flatten(arguments, flat, kinds)
    return flat, tuple(kinds)


def _flatten(arguments: Sequence[Any], flat: list[Any], kinds: list[Any]) -> None:
    for one in arguments:
        if isinstance(one, np.ndarray):
            array = one if type(one) is np.ndarray else np.asarray(one)  # attributes of tables of records are slow to come by
            flags, shape = array.flags, array.shape
            flat += (0, 0, array.size, array.itemsize, array.ctypes.data, *shape, *array.strides)
            kinds += (len(shape), array.dtype.str, LAYOUTS[2 * flags.c_contiguous + flags.f_contiguous])
        elif isinstance(one, tuple):
            kinds.append(len(one))
            _flatten(one, flat, kinds)
        elif isinstance(one, bool | np.bool_):
            flat.append(bool(one))
            kinds.append("bool")
        elif isinstance(one, int | np.integer):
            flat.append(int(one))
            kinds.append("int")
        elif isinstance(one, float):
            flat.append(float(one))
            kinds.append("float")
        else:
            raise TypeError(f"a kernel takes no {type(one).__name__}")


def types_of(flat: Sequence[Any]) -> list[Any]:
    """The C type of each of flat arguments."""
    kinds = {bool: ctypes.c_uint8, float: ctypes.c_double}
    return [kinds.get(type(one), ctypes.c_int64) for one in flat]


@lru_cache(maxsize=1)
def processor() -> str:
    """Name and abilities of the processor that machine code is made for."""
    import llvmlite.binding as llvm

    return f"{llvm.get_process_triple()} {llvm.get_host_cpu_name()} {llvm.get_host_cpu_features().flatten()}"


def _missing(symbols: Sequence[str]) -> list[str]:
    """Symbols that are nowhere in this process, even once numba has brought its own."""
    import llvmlite.binding as llvm

    missing = [name for name in symbols if not llvm.address_of_symbol(name)]
    if missing:
        import numba  # noqa: F401

        missing = [name for name in missing if not llvm.address_of_symbol(name)]
    return missing


def loaded(code: Native, types: Sequence[Any]) -> Callable[[Sequence[Any]], Any]:
    """The function of machine code, called with flat arguments of these C types.  Raises `NotLoadedError`."""
    import llvmlite.binding as llvm

    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    engine = llvm.create_mcjit_compiler(llvm.parse_assembly(""), llvm.Target.from_default_triple().create_target_machine())
    missing = _missing(code.symbols)  # an engine has made the symbols of the process known
    if missing:
        raise NotLoadedError(f"{', '.join(missing)} not found")
    engine.add_object_file(llvm.ObjectFileRef.from_data(code.made))
    engine.finalize_object()
    address = engine.get_function_address(code.name)
    if not address:
        raise NotLoadedError(f"{code.name} not found")
    _engines.append(engine)
    result: Any = RETURNS[code.returns]
    function = ctypes.CFUNCTYPE(ctypes.c_int32, ctypes.c_void_p, ctypes.c_void_p, *types)(address)

    def call(flat: Sequence[Any]) -> Any:
        found, fault = result(), ctypes.c_void_p()
        if function(ctypes.addressof(found), ctypes.addressof(fault), *flat):
            raise RuntimeError("a compiled kernel failed")
        return None if code.returns == "none" else bool(found.value) if code.returns == "bool" else found.value

    return call
