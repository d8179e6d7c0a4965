"""What is kept from one plan or season to the next, so that it is made once."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from threading import Lock
from typing import Any


class Same:
    """A key that is equal to itself alone: of an object that does not change and that cannot be compared quickly."""

    __slots__ = ("it",)

    def __init__(self, it: object) -> None:
        self.it = it

    def __hash__(self) -> int:
        return id(self.it)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and other.it is self.it


class Shelf:
    """Things by key, the first kept going first when there are more than `most`; not pickled, since all can be made again."""

    def __init__(self, most: int = 1000) -> None:
        self.most = most
        self._things: dict[Hashable, Any] = {}
        self._lock = Lock()

    def __call__(self, key: Hashable, make: Callable[[], Any]) -> Any:
        """What is kept under `key`, made at the first asking."""
        found = self._things.get(key)
        if found is None:
            found = make()
            self.put(key, found)
        return found

    def get(self, key: Hashable) -> Any:
        """What is kept under `key`, or None."""
        return self._things.get(key)

    def put(self, key: Hashable, thing: Any) -> None:
        """Keep a thing."""
        with self._lock:
            while len(self._things) >= self.most:
                del self._things[next(iter(self._things))]
            self._things[key] = thing

    def __len__(self) -> int:
        return len(self._things)

    def __getstate__(self) -> int:
        return self.most

    def __setstate__(self, most: int) -> None:
        self.most, self._things, self._lock = most, {}, Lock()
