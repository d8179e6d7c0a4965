"""Facts as data: a small mapping that cannot be changed, for numbers and names that sentences are made of later."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TypeVar

T_co = TypeVar("T_co", covariant=True)


class Facts(Mapping[str, T_co]):
    """A mapping by name that cannot be changed; it can be hashed and pickled if its values can.

    ``Facts(share=0.3)`` or ``Facts({"share": 0.3})``; the order of the names is kept and does not matter when two are compared.
    """

    __slots__ = ("_items",)
    _items: tuple[tuple[str, T_co], ...]

    def __init__(self, known: Mapping[str, T_co] | Iterable[tuple[str, T_co]] = (), /, **more: T_co) -> None:
        object.__setattr__(self, "_items", tuple({**dict(known), **more}.items()))

    def __getitem__(self, name: str) -> T_co:
        for key, value in self._items:
            if key == name:
                return value
        raise KeyError(name)

    def __iter__(self) -> Iterator[str]:
        return (key for key, _ in self._items)

    def __len__(self) -> int:
        return len(self._items)

    def __hash__(self) -> int:
        return hash(frozenset(self._items))

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"facts cannot be changed: {name}")

    def __reduce__(self) -> tuple[type[Facts[T_co]], tuple[tuple[tuple[str, T_co], ...]]]:
        return type(self), (self._items,)

    def __repr__(self) -> str:
        return f"Facts({dict(self._items)!r})"


Numbers = Facts[float]
"""Quantities by name, with the unit in the name where they have one."""
Names = Facts[tuple[str, ...]]
"""Names by what they are: plantings, crops, pests, covers."""
