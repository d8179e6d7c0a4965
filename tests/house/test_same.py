"""The same result whatever the hash seed, the number of threads and processes, and with or without a compiler."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

SCRIPT = """
import json, sys
import mixcraft
from mixcraft.files import parse_document, resource
from mixcraft.recipe.reading import read_garden, read_recipe

garden = mixcraft.load_garden(resource("recipes_demo", "kiln-lane.garden.yaml"))
recipe = read_recipe(parse_document('''
format: mixcraft-recipe/1
name: Two
bed: {length: 1 m, width: 0.6 m}
plantings:
  - {crop: radish, establish: drills, place: {kind: strip, from: 0 %, to: 50 %}, start: {kind: date, on: 04-10}}
  - {crop: loose-leaf lettuce, establish: module, place: {kind: strip, from: 50 %, to: 100 %}, start: {kind: date, on: 04-20}}
''', "two.yaml"))
found = {}
for light in ("layers", "voxels"):
    season = mixcraft.grow(recipe, garden, "long bed", years=2, voxels=light == "voxels")
    score = mixcraft.score(season)
    graph = mixcraft.interactions(season)
    found[light] = [score.overall, *(part.score for part in score.parts), *season.picked_kg.sum(axis=0).ravel().tolist()]
    found[light + " said"] = [[r.part, r.cause, *r.plantings] for r in score.reasons]
    found[light + " graph"] = [list(map(str, edge[:2])) for edge in graph.edges]
json.dump(found, sys.stdout)
"""


def found(**environment: str) -> dict[str, list]:
    """What the script says in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT], env=os.environ | environment, capture_output=True, text=True, timeout=900, check=True
    )
    return json.loads(done.stdout)


def test_hash_seeds_and_threads_change_nothing() -> None:
    one = found(PYTHONHASHSEED="0", NUMBA_NUM_THREADS="1")
    assert one["voxels"][0] > 0.0
    assert found(PYTHONHASHSEED="4321", NUMBA_NUM_THREADS="2", OMP_NUM_THREADS="2") == one


@pytest.mark.slow
def test_threads_of_linear_algebra_change_the_last_digits_at_most() -> None:
    """The command takes one; with two, sums of the normal year's curves are taken in another order."""
    one, two = (found(OPENBLAS_NUM_THREADS=count) for count in ("1", "2"))
    for key, values in one.items():
        assert two[key] == (pytest.approx(values, rel=1e-9, abs=1e-9) if key in ("layers", "voxels") else values), key


@pytest.mark.slow
def test_without_a_compiler_it_is_the_same_to_the_last_digits() -> None:
    with_, without = found(), found(NUMBA_DISABLE_JIT="1")
    for key, values in with_.items():
        assert without[key] == (pytest.approx(values, rel=1e-9, abs=1e-9) if key in ("layers", "voxels") else values), key
