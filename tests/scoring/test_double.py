"""A double of a process does what it is asked, and repairs are the same with and without one."""

from __future__ import annotations

import os
import signal
import sys
import threading
from pathlib import Path
from typing import Any

import pytest

import mixcraft
from mixcraft.scoring import double, repairs
from mixcraft.scoring.double import doubled, may_double

DEMO = Path(__file__).parents[2] / "recipes_demo"
pytestmark = [
    pytest.mark.skipif(sys.platform != "linux", reason="no safe fork"),
    pytest.mark.filterwarnings("ignore:.*multi-threaded.*:DeprecationWarning"),
]


@pytest.fixture(autouse=True)
def any_process(monkeypatch: pytest.MonkeyPatch) -> None:
    """Doubles are made in a test, whatever threads its runner has."""
    monkeypatch.setattr(double, "may_double", lambda: True)


def do(task: Any) -> Any:
    """What a test asks for."""
    if task == "fail":
        raise ValueError("no such thing")
    if task == "die":
        os.kill(os.getpid(), signal.SIGKILL)
    return os.getpid() if task == "who" else task


def test_tasks_are_done_in_another_process_with_what_this_one_knows() -> None:
    known = ["before"]
    with doubled(lambda task: (*known, do(task))) as other:
        assert other is not None
        known.append("after")
        assert other(7) == ("before", 7)
        assert other("who")[1] != os.getpid()


def test_what_a_task_raises_there_is_raised_here_and_the_next_is_done() -> None:
    with doubled(do) as other:
        assert other is not None
        with pytest.raises(ValueError, match="no such thing"):
            other("fail")
        assert other(2) == 2


def test_what_a_lost_double_was_asked_is_done_here() -> None:
    dies = [True]

    def once(task: Any) -> Any:
        return do("die") if dies[0] else do(task)

    with doubled(once) as other:
        assert other is not None
        dies[0] = False
        assert other("who") == os.getpid()
        assert other(3) == 3


def test_it_goes_with_the_block() -> None:
    with doubled(do) as other:
        assert other is not None
        number = other("who")
    with pytest.raises(ProcessLookupError):
        os.kill(number, 0)


def test_no_double_in_a_process_of_several_threads_or_of_one_processor(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(double, "processors", lambda: 2)
    for count, may in ((1, True), (2, False), (3, False)):
        monkeypatch.setattr(threading, "active_count", lambda count=count: count)
        assert may_double() is may
    monkeypatch.setattr(threading, "active_count", lambda: 1)
    monkeypatch.setattr(double, "processors", lambda: 1)
    assert not may_double()
    monkeypatch.setattr(double, "may_double", lambda: False)
    with doubled(do) as other:
        assert other is None


@pytest.mark.slow
def test_repairs_are_the_same_with_and_without_a_double(monkeypatch: pytest.MonkeyPatch) -> None:
    recipe = mixcraft.load_recipe(DEMO / "what-not-to-do.recipe.yaml")
    garden = mixcraft.load_garden(DEMO / "kiln-lane.garden.yaml")
    plain = mixcraft.score(mixcraft.grow(recipe, garden, "trellis bed", years=10))
    with_one = repairs.with_repairs(plain)
    monkeypatch.setattr(double, "may_double", lambda: False)
    without = repairs.with_repairs(plain)
    assert any(reason.repair for reason in with_one.reasons)
    assert [reason.repair for reason in with_one.reasons] == [reason.repair for reason in without.reasons]
