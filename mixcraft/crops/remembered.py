"""Remembering what was last made of the same arrays: several crops stand in the same air, and what the air alone decides is made
once."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, TypeVar, cast

import numpy as np

from mixcraft.files.shelf import Same, Shelf

F = TypeVar("F", bound=Callable[..., Any])
MOST = 12
"""So many results of a function are kept."""


def remembered(function: F) -> F:
    """A pure function of arrays (or other things that do not change) and numbers that gives the array that it gave last for the
    very same ones; that array cannot be written to.

    Arrays are known by identity, so that a caller gains by asking with the same array, and those last asked with are kept.
    """
    kept = Shelf(MOST)

    def made(arguments: tuple[Any, ...]) -> Any:
        result = function(*arguments)
        if isinstance(result, np.ndarray):
            result.setflags(write=False)
        return result

    @wraps(function)
    def asked(*arguments: Any) -> Any:
        key = tuple(a if isinstance(a, int | float | str) else Same(a) for a in arguments)
        return kept(key, lambda: made(arguments))

    return cast("F", asked)
