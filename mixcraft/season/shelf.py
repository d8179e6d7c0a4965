"""What is kept from one season to the next, so that it is made once."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from threading import Lock
from typing import Any


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


__all__ = ["Shelf"]
