"""Speed of the evaluator, beside the time of 2 million exponentials in the same run.  ``pytest -m bench tests/bench -s -n 0``.

The design asks, warm on one core, for plan, season and score of eight plantings over eight years in 12 ms by layers and 60 ms by
voxels, for thirty years by voxels in 90 ms, and for ten plantings in one season with the full light model in 50 ms.
"""

from __future__ import annotations

import multiprocessing
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from functools import lru_cache, partial
from multiprocessing.synchronize import Barrier
from pathlib import Path

import numpy as np
import pytest
from cases import DEMO, case_garden
from measuring import children_seconds, own_seconds
from strategies import SOWN, bed, garden, planting, recipe

from mixcraft.recipe.model import Density, Recipe
from mixcraft.recipe.moves import SetAmount
from mixcraft.recipe.reading import load_recipe
from mixcraft.scoring.build import overall_of
from mixcraft.season.evaluator import Evaluator

pytestmark = pytest.mark.bench
SLACK = 1.5
COUNT = 2_000_000
BLOCK, BLOCKS = 1000, 8000
CHUNK, PATIENCE_S, TURNS = 20, 120.0, 5


@lru_cache(maxsize=1)
def bare() -> float:
    """Seconds of 2 million exponentials."""
    values, room = np.random.default_rng(1).uniform(-1.0, 0.0, COUNT), np.empty(COUNT)
    return own_seconds(lambda: np.exp(values, out=room))


def say(what: str, seconds: float) -> None:
    print(f"\n{what}: {1e3 * seconds:.1f} ms, {seconds / bare():.1f} x {COUNT} exponentials ({1e3 * bare():.1f} ms)")


def neighbours(times: int) -> list[Recipe]:
    """The demonstration's trellis bed with ever so little more spinach."""
    one = load_recipe(DEMO / "trellis-summer.recipe.yaml")
    return [SetAmount("spinach", Density(25.0 + 0.01 * n)).changed(one) for n in range(times)]


def timed(run: Callable[[Recipe], object], times: int = 8) -> float:
    """Least time of one neighbour after the other, none of which was seen before."""
    todo = iter(neighbours(times + 1))
    return own_seconds(lambda: run(next(todo)), times)


@pytest.mark.parametrize(("years", "voxels"), [(8, False), (8, True), (30, True)], ids=["layers", "voxels", "thirty"])
def test_a_neighbour_from_plan_to_score(years: int, voxels: bool) -> None:
    known = Evaluator(case_garden("kiln-lane"), "trellis bed", years)
    what = f"eight plantings, {years} years, {'voxels' if voxels else 'layers'}"
    say(f"{what}: plan", timed(partial(known.plan, draw=voxels)))
    say(f"{what}: plan and season", timed(partial(known.season, voxels=voxels)))
    say(f"{what}: plan to score", timed(lambda one: overall_of(known.season(one, voxels=voxels))))


@pytest.mark.parametrize("more", [[], ["--no-repairs"], ["card"]], ids=["score", "no-repairs", "card"])
def test_a_command_from_a_cold_start(more: list[str], tmp_path: Path) -> None:
    """Processor time of a second run of the command, whose compiled code and crops are kept."""
    files = [str(DEMO / "trellis-summer.recipe.yaml"), "-g", str(DEMO / "kiln-lane.garden.yaml"), "-b", "trellis bed"]
    asked = ["card", *files, "-o", str(tmp_path / "card.pdf")] if more == ["card"] else ["score", *files, *more]

    def run() -> None:
        subprocess.run([sys.executable, "-c", "from mixcraft.cli import entry; entry()", *asked], check=True, capture_output=True)

    say(f"cold: {' '.join(more) or 'score'}", own_seconds(run, 3, children_seconds))


def test_corrections_of_a_neighbour_save_the_asking() -> None:
    known = Evaluator(case_garden("kiln-lane"), "trellis bed", 8)
    known_light = known.season(neighbours(1)[0]).corrections
    asked, reused = timed(known.season, 4), timed(partial(known.season, corrections=known_light), 4)
    say("asked", asked)
    say("reused", reused)
    assert reused < asked


def sown(count: int, length_m: float = 3.0) -> tuple[Evaluator, Recipe]:
    stands = [planting(SOWN[n % len(SOWN)], f"planting {n}") for n in range(count)]
    return Evaluator(garden(bed(length_m, 1.2)), "bed", 1), recipe(*stands, length_m=length_m, width_m=1.2)


def test_ten_plantings_in_one_season() -> None:
    known, one = sown(10)
    say("ten plantings, one year, voxels", own_seconds(lambda: known.season(one)))


@pytest.mark.parametrize("grows", ["plantings", "years", "area"])
def test_cost_grows_no_worse_than_linear(grows: str) -> None:
    runs = []
    for n in (1, 4):
        years = 8 * n if grows == "years" else 8
        known, one = sown(3 * n if grows == "plantings" else 3, 2.0 * n if grows == "area" else 2.0)
        known = Evaluator(known.garden, "bed", years)
        runs.append(own_seconds(partial(known.season, one, voxels=grows == "area")))
    say(f"{grows}: one", runs[0])
    say(f"{grows}: four times as many", runs[1])
    assert runs[1] < SLACK * 4.0 * runs[0]


def _season(known: Evaluator, one: Recipe) -> float:
    return float(known.season(one, voxels=False).picked_kg.sum())


def _exponentials(_: Recipe) -> float:
    """As many exponentials as take about as long as a season, a few at a time so that they stay at the processor."""
    values, room = np.linspace(-1.0, 0.0, BLOCK), np.empty(BLOCK)
    for _ in range(BLOCKS):
        np.exp(values, out=room)
    return float(room.sum())


def _warmed(work: Callable[[Recipe], float], todo: list[Recipe], all_warm: Barrier) -> None:
    """A process does some work before its time counts, as do the others."""
    for one in todo:
        work(one)
    all_warm.wait(PATIENCE_S)


def _spent(work: Callable[[Recipe], float], one: Recipe) -> float:
    """Processor seconds of some work."""
    began = time.process_time()
    work(one)
    return time.process_time() - began


def shared_out(work: Callable[[Recipe], float], todo: list[Recipe], count: int) -> tuple[float, float]:
    """Wall and processor seconds of work on all of `todo` in so many processes, each of which is warm."""
    all_warm = multiprocessing.Barrier(count + 1)
    with ProcessPoolExecutor(count, initializer=_warmed, initargs=(work, todo[:8], all_warm)) as pool:
        for _ in range(count):
            pool.submit(os.getpid)
        all_warm.wait(PATIENCE_S)
        began = time.perf_counter()
        own = sum(pool.map(partial(_spent, work), todo, chunksize=CHUNK))
        return time.perf_counter() - began, own


@pytest.mark.skipif((os.cpu_count() or 1) < 2, reason="one core")
def test_two_processes_do_nearly_twice_as_much() -> None:
    """How much more two warm processes do than one: by wall time, on which other work on the machine counts, and by the
    processor time that the same work takes, which says what they take from one another.  Beside it the same of bare
    exponentials, which share nothing but the machine: what two of its cores can do at all.  In turns, middles printed."""
    known, todo = Evaluator(case_garden("kiln-lane"), "trellis bed", 8), neighbours(200)
    works = {"seasons": partial(_season, known), "bare exponentials": _exponentials}
    found: dict[str, list[tuple[float, float]]] = {name: [] for name in works}
    for _ in range(TURNS):
        for name, work in works.items():
            (wall_1, own_1), (wall_2, own_2) = (shared_out(work, todo, count) for count in (1, 2))
            found[name].append((wall_1 / wall_2, 2.0 * own_1 / own_2))
    for name, ratios in found.items():
        for kind, each in zip(("wall", "processor time"), zip(*ratios, strict=True), strict=True):
            every = ", ".join(f"{ratio:.2f}" for ratio in each)
            print(f"\ntwo processes over one, {name}, by {kind}: {statistics.median(each):.2f} ({every})")
