"""A mapping that cannot be changed, can be hashed and can be sent to another process."""

from __future__ import annotations

from typing import Any, NoReturn, TypeVar

K = TypeVar("K")
V = TypeVar("V")


class FrozenMap(dict[K, V]):
    """A dictionary that refuses every change; equal to any mapping with the same items, hashed by its items.

    Reading is as fast as reading a dictionary.  Raises TypeError for a change, and for a hash if a value has none.
    """

    __slots__ = ("_hash",)

    def __hash__(self) -> int:  # type: ignore[override]
        """Hash of the items, whatever their order; computed once."""
        try:
            return self._hash
        except AttributeError:
            self._hash: int = hash(frozenset(self.items()))
            return self._hash

    def __reduce__(self) -> tuple[type[FrozenMap[K, V]], tuple[dict[K, V]]]:
        """Pickled as its items."""
        return type(self), (dict(self),)

    def _refuse(self, *_: Any, **__: Any) -> NoReturn:
        raise TypeError("a frozen mapping cannot be changed; make a new one")

    __setitem__ = __delitem__ = __ior__ = update = pop = popitem = clear = setdefault = _refuse

    def __copy__(self) -> FrozenMap[K, V]:
        """Itself, since it never changes."""
        return self
