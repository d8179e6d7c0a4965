"""Tasks in processes of this machine: nothing is lost with a process, and no more is held than is worked at."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import at_work
import pytest

from mixcraft.tasks import scheduler
from mixcraft.tasks.local import Here, Processes
from mixcraft.tasks.model import AHEAD, TRIES


def results(runner, function, tasks):
    return {done.number: done.result for done in runner.run(function, tasks)}


def test_every_task_is_done_here_and_in_processes():
    expected = {n: n * n for n in range(12)}
    assert results(Here(), at_work.squared, range(12)) == expected
    assert results(Processes(2), at_work.squared, range(12)) == expected


def lives(folder: Path, count: int) -> list[tuple[int, str]]:
    for number in range(count):
        (folder / f"life{number}").touch()
    return [(n, str(folder)) for n in range(8)]


def test_a_process_that_is_killed_loses_nothing(tmp_path):
    assert results(Processes(2), at_work.squared_or_dead, lives(tmp_path, 1)) == {n: n * n for n in range(8)}
    assert not list(tmp_path.glob("life*"))


def test_a_task_that_kills_every_process_is_given_up_and_no_other(tmp_path):
    done = list(Processes(2).run(at_work.squared_or_dead, lives(tmp_path, 50)))
    assert {d.number: d.result for d in done} == {n: (n * n if n != 3 else None) for n in range(8)}
    assert [d.fault for d in done if d.number == 3] == [f"the process ended {TRIES} times over it"]


@pytest.mark.parametrize("runner", [Here(), Processes(2)], ids=["here", "processes"])
def test_what_a_task_raises_is_raised(runner):
    with pytest.raises(ValueError, match="two is too many"):
        list(runner.run(at_work.failing, range(6)))


def test_tasks_are_taken_as_workers_become_free():
    taken: list[int] = []

    def tasks() -> Iterator[int]:
        for number in range(40):
            taken.append(number)
            yield number

    most = 0
    for ended, _ in enumerate(Processes(2).run(at_work.squared, tasks())):
        most = max(most, len(taken) - ended)
    assert len(taken) == 40
    assert most <= 2 * AHEAD + 2


@pytest.mark.parametrize("runner", [Here(), Processes(2)], ids=["here", "processes"])
def test_a_task_may_be_followed_by_others_under_its_number(runner):
    seen: list[tuple[int, int]] = []

    def then(done):
        return done.result if done.result < 1000 else None

    for done in runner.run(at_work.squared, [2, 3, 40], then):
        seen.append((done.number, done.result))
    chains = {number: [result for n, result in seen if n == number] for number in range(3)}
    assert chains == {0: [4, 16, 256, 65536], 1: [9, 81, 6561], 2: [1600]}


def test_processes_stay_from_run_to_run_within_a_with_and_end_with_it():
    with Processes(1) as runner:
        first, second = ({done.result for done in runner.run(at_work.process, range(2))} for _ in range(2))
        assert first == second
        assert len(first) == 1
    assert runner._pool is None
    assert {done.result for done in runner.run(at_work.process, range(2))} != first
    assert runner._pool is None


def test_one_worker_needs_no_other_process():
    assert isinstance(scheduler(1), Here)
    assert scheduler(3).workers == 3
