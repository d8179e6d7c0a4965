"""Functions that tests hand out to other processes, which find them here by name."""

from __future__ import annotations

import os
import signal
from pathlib import Path


def squared(number: int) -> int:
    """The square."""
    return number * number


def squared_or_dead(task: tuple[int, str]) -> int:
    """The square; the process dies at 3, as often as there are lives in the folder of the task to take."""
    number, folder = task
    lives = sorted(Path(folder).glob("life*"))
    if number == 3 and lives:
        lives[0].unlink()
        os.kill(os.getpid(), signal.SIGKILL)
    return number * number


def failing(number: int) -> int:
    """Raises at 2."""
    if number == 2:
        raise ValueError("two is too many")
    return number


def process(_: int) -> int:
    """The process that this runs in."""
    return os.getpid()
