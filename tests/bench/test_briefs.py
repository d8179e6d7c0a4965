"""Designs of eighteen briefs in six climates beside chance and greed, and read as a grower would.

`python tests/bench/test_briefs.py 3 7 --time 30 --random 200` designs the briefs of these numbers and prints a line each.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from briefs import CASES, Case, by_lot, complaints, task_for

from mixcraft.design.compose import compose
from mixcraft.design.drawing import drawn, mixed
from mixcraft.design.greedy import greedy, greedy_mixed
from mixcraft.design.search import Trial
from mixcraft.recipe.plan import plan
from mixcraft.recipe.reading import load_recipe
from mixcraft.recipe.rules import check
from mixcraft.scoring.build import overall_of
from mixcraft.season.grow import grow
from mixcraft.words.design_file import designed_text


def measured(case: Case, seconds: float, count: int, years: int = 30, patience: float = 3.0) -> dict[str, object]:
    """The design of a brief and what it is compared with."""
    brief = case.brief()
    made = compose(brief, seconds=seconds, years=years, patience=patience)[0]
    task = task_for(brief)
    trial, rng = Trial(brief.garden, "bed"), np.random.default_rng(5)
    lot = max((trial.score(by_lot(task.options, task.ground, rng, case.style)) for _ in range(count)), default=0.0)
    chosen, draw = (greedy(task), drawn) if case.style == "mixed" else (greedy_mixed(task), mixed)
    simple = draw(chosen, task.ground, "greedy")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "made.recipe.yaml"
        path.write_text(designed_text(made, brief), "utf-8")
        again = load_recipe(path)
    check(again)
    scored = overall_of(grow(plan(again, brief.garden, "bed"), years))
    return {
        "name": case.name, "design": made.score.overall, "few years": trial.score(made.recipe), "by lot": lot,
        "greedy": trial.score(simple) if simple.plantings else float("nan"),
        "gap": made.choice.gap if made.choice else float("nan"), "again": scored, "steps": len(made.steps),
        "stopped": made.stopped,
        "parts": {p.name: round(p.score) for p in made.score.parts}, "plantings": len(made.recipe.plantings),
        "complaints": complaints(made, brief), "crops": sorted({p.crop.id for p in made.recipe.plantings}),
    }  # fmt: skip


def line(found: dict[str, object]) -> str:
    """One line of figures, then the complaints."""
    head = "{name:24s} design {design:5.1f} ({few years:5.1f} over few years)  by lot {by lot:5.1f}  greedy {greedy:5.1f}"
    head += "  gap {gap:4.0%}"
    said = [head.format(**found) + f"  again {found['again']:5.1f}  {found['plantings']} plantings, {found['steps']} steps"]
    said.append(f"    {found['parts']} {found['stopped']}  {', '.join(found['crops'])}")  # type: ignore[arg-type]
    return "\n".join([*said, *(f"    - {c}" for c in found["complaints"])])  # type: ignore[attr-defined]


@pytest.mark.bench
@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_a_design_beats_chance_and_greed_and_a_grower_does_not_laugh(case: Case) -> None:
    found = measured(case, 60.0, 2000)
    print(line(found))
    assert found["few years"] > found["by lot"]  # type: ignore[operator]
    assert not found["few years"] < found["greedy"]  # type: ignore[operator]
    assert found["gap"] <= 0.05  # type: ignore[operator]
    assert abs(found["design"] - found["again"]) < 0.1  # type: ignore[operator]
    assert found["complaints"] == []


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("numbers", nargs="*", type=int)
    parser.add_argument("--time", type=float, default=30.0)
    parser.add_argument("--random", type=int, default=100)
    parser.add_argument("--years", type=int, default=30)
    parser.add_argument("--patience", type=float, default=10.0)
    given = parser.parse_args()
    for number in given.numbers or range(len(CASES)):
        print(number, line(measured(CASES[number], given.time, given.random, given.years, given.patience)), flush=True)
