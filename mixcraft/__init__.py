"""mixcraft: from a recipe and a garden to a season, its clashes and gaps, a score with reasons, and a sowing card.

The steps, in the order in which data flows: `load_recipe` and `load_garden` read and check files; `grow` settles the recipe
in a bed and computes the season day by day; `interactions` is the graph of who does what to whom; `score` says what is good
and what is lost, and why; `with_repairs` tries what would mend it; `press_card` prints the card.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pathlib import Path

    import networkx as nx

    from mixcraft.design.brief import Brief
    from mixcraft.design.compose import Design
    from mixcraft.design.fit import Fitted
    from mixcraft.design.mend import Mended
    from mixcraft.place import Weather
    from mixcraft.recipe.model import Garden, Recipe
    from mixcraft.recipe.plan import Plan
    from mixcraft.scoring.model import Score
    from mixcraft.season.evaluator import Evaluator
    from mixcraft.season.result import Season
    from mixcraft.season.sharing import Corrections

__version__ = "0.1.0"
__all__ = [
    "compose", "evaluator", "fit", "grow", "interactions", "load_brief", "load_garden", "load_recipe", "mend", "plan",
    "press_card", "save_recipe", "score", "with_repairs",
]  # fmt: skip


def load_recipe(path: str | Path) -> Recipe:
    """Read and check a recipe file; raises `mixcraft.files.FileFaults` with every fault of the file."""
    from mixcraft.recipe.reading import load_recipe as load

    return load(path)


def save_recipe(recipe: Recipe, path: str | Path) -> None:
    """Write `recipe` to the file at `path`, whole or not at all.

    A recipe that was read from a file keeps that file's comments and order.  Raises `mixcraft.files.FileFaults` for a recipe
    that breaks a rule, `mixcraft.files.UsageError` for a path that cannot be written.
    """
    from mixcraft.recipe.saving import save_recipe as save

    save(recipe, path)


def load_garden(path: str | Path) -> Garden:
    """Read and check a garden file; raises `mixcraft.files.FileFaults` with every fault of the file."""
    from mixcraft.recipe.reading import load_garden as load

    return load(path)


def plan(recipe: Recipe, garden: Garden, bed: str) -> Plan:
    """Settle `recipe` in the bed called `bed`: every date, number and place, in the place's normal year.

    Raises `mixcraft.files.FileFaults` for plants that do not fit or a start that never comes, KeyError for an unknown bed.
    """
    from mixcraft.recipe.plan import plan as settle

    return settle(recipe, garden, bed)


def grow(
    recipe: Recipe,
    garden: Garden,
    bed: str,
    *,
    years: int = 30,
    seed: int | None = None,
    weather: Weather | None = None,
    voxels: bool = True,
    corrections: Corrections | None = None,
) -> Season:
    """Settle `recipe` in the bed called `bed` and grow it over `years` weather years, or in the given `weather`.

    `voxels` shares light in three dimensions, else by the layered canopy, which is faster and blind to place; `corrections` of a
    neighbouring recipe's season save asking for it where they still hold.

    Raises `mixcraft.files.FileFaults` for plants that do not fit or a start that never comes, KeyError for an unknown bed,
    ValueError for weather that does not hold the season.
    """
    from mixcraft.season.grow import SEED
    from mixcraft.season.grow import grow as run

    settled, drawn = plan(recipe, garden, bed), SEED if seed is None else seed
    return run(settled, years, drawn, weather, voxels=voxels, corrections=corrections)


def evaluator(garden: Garden, bed: str, *, years: int = 30, seed: int | None = None) -> Evaluator:
    """What grows one recipe after the other in the bed called `bed`, over the same weather years, and keeps all that does not
    depend on the mixture.  Raises KeyError for an unknown bed."""
    from mixcraft.season.evaluator import Evaluator as Made
    from mixcraft.season.grow import SEED

    return Made(garden, bed, years, SEED if seed is None else seed)


def interactions(season: Season) -> nx.MultiDiGraph:
    """The interaction graph of a season."""
    from mixcraft.graph import interactions as build

    return build(season)


def score(season: Season) -> Score:
    """The score of a season: part scores, reasons worst first, harvest strip, amounts."""
    from mixcraft.scoring import score as build

    return build(season)


def with_repairs(score: Score, *, seed: int | None = None) -> Score:
    """The score with tried repairs at the worst reasons: each a changed recipe and the overall score that it gives.

    `seed` is the one that `grow` was given, so that what a repair promises is what growing and scoring its recipe gives.
    Write a repaired recipe with `save_recipe(reason.repair.recipe, path)`.
    """
    from mixcraft.scoring.repairs import grown_as, with_repairs

    return with_repairs(score, grown_as(score.season, seed))


def press_card(
    season: Season, score: Score | None = None, *, paper: str = "A4", units: str = "metric", attach: bool = True, **options: Any
) -> bytes:
    """The sowing card of a season as PDF/A-3a bytes, with recipe and garden attached unless `attach` is false.

    Further `options` are the fields of `mixcraft.press.options.Options`, such as ``language="de"`` or ``year=2027``.
    """
    from mixcraft.press import press_card as press

    return press(season, score, paper=paper, units=units, attach=attach, **options)


def load_brief(path: str | Path) -> Brief:
    """Read and check a brief; raises `mixcraft.files.FileFaults` with every fault of it and of the files that it names."""
    from mixcraft.design.brief import load_brief as load

    return load(path)


def compose(
    brief: Brief, *, seed: int = 1, seconds: float = 30.0, alternatives: int = 1, years: int = 30, patience: float = 2.0,
    workers: int = 1,
) -> tuple[Design, ...]:  # fmt: skip
    """Designs for a brief, the best first: each a recipe with its score.

    The search takes about `seconds`; the clock ends it after `patience` times as many, and only then may the same seed give
    another recipe.  More than one of `workers` are processes started afresh, for which a script needs its
    ``if __name__ == "__main__":``.

    Raises `mixcraft.design.choice.Clash` with the smallest set of demands that cannot be met together.
    """
    from mixcraft.design.compose import compose as make
    from mixcraft.tasks import scheduler

    with scheduler(workers) as runner:
        return make(brief, seed=seed, seconds=seconds, alternatives=alternatives, years=years, patience=patience, runner=runner)


def mend(
    recipe: Recipe, garden: Garden, bed: str, *, seed: int = 1, seconds: float = 30.0, years: int = 30, patience: float = 2.0
) -> Mended:
    """Moves that mend a recipe, listed by gain, and the best sequence of them with the recipe that it gives."""
    from mixcraft.design.mend import mend as find

    return find(recipe, garden, bed, seed=seed, seconds=seconds, years=years, patience=patience)


def fit(
    recipe: Recipe, garden: Garden, bed: str, *, seed: int = 1, seconds: float = 30.0, years: int = 30, patience: float = 2.0
) -> Fitted:
    """A recipe fitted to another bed and place, with what no longer works there and its substitutes."""
    from mixcraft.design.fit import fit as find

    return find(recipe, garden, bed, seed=seed, seconds=seconds, years=years, patience=patience)
