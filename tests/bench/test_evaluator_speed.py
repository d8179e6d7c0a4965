"""Speed of the evaluator, beside the time of 2 million exponentials in the same run.  ``pytest -m bench tests/bench -s -n 0``.

The design asks, warm on one core, for plan, season and score of eight plantings over eight years in 12 ms by layers and 60 ms by
voxels, for thirty years by voxels in 90 ms, and for ten plantings in one season with the full light model in 50 ms.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from functools import lru_cache, partial
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


@pytest.mark.skipif((os.cpu_count() or 1) < 2, reason="one core")
def test_two_processes_do_nearly_twice_as_much() -> None:
    """Wall time of many neighbours in one process and in two; printed, since other work on the machine counts."""
    known, todo = Evaluator(case_garden("kiln-lane"), "trellis bed", 8), neighbours(200)
    spent = {}
    for count in (1, 2):
        with ProcessPoolExecutor(count) as pool:
            list(pool.map(partial(_season, known), todo[:8]))
            began = time.perf_counter()
            list(pool.map(partial(_season, known), todo, chunksize=100 // count))
            spent[count] = time.perf_counter() - began
    print(f"\ntwo processes over one: {spent[1] / spent[2]:.2f}")
