"""What a harvest leaves standing: sprouts whose tops are taken, radishes for their pods, roots that are too small."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from strategies import grown, planting

from mixcraft.crops import load_crop
from mixcraft.crops.windows import grows_on
from mixcraft.recipe.model import HarvestUse, OnDate
from mixcraft.season.constants import constant
from mixcraft.season.result import Season


def season_of(crop: str, *uses: tuple[str, str], way: str = "drills", start: str = "04-10", density: float = 60.0) -> Season:
    item = planting(crop, establish=way, start=OnDate(start), density_per_m2=density)
    return grown(replace(item, harvest=tuple(HarvestUse(*use) for use in uses)), years=2)


def test_tops_do_not_end_the_sprouts() -> None:
    """The rosette is cut once; sprouts are picked for weeks after it."""
    season = season_of("brussels-sprouts", ("sprouts", "pick"), ("sprout tops", "once"), way="module", start="05-20", density=3.0)
    for year in range(2):
        sprouts, tops = (np.flatnonzero(season.picked_kg[:, year, i]) for i in range(2))
        assert len(tops) == 1
        assert sprouts[-1] > tops[0] + 28


def test_some_radishes_are_left_to_make_pods() -> None:
    """A tenth of the plants stays when the others have been pulled, and is picked for its pods when it has run to seed."""
    alone = season_of("radish", ("root", "pull")).picked_kg.sum(axis=0)
    both = season_of("radish", ("root", "pull"), ("green pods", "pick"))
    assert (both.picked_kg.sum(axis=0)[:, 1] > 0.0).all()
    assert (both.picked_kg.sum(axis=0)[:, 0] >= (1.0 - 2.0 * constant("spared_for_seed")) * alone[:, 0]).all()
    for year in range(2):
        roots, pods = (np.flatnonzero(both.picked_kg[:, year, i]) for i in range(2))
        assert pods[0] > roots[-1]


def test_turnips_that_are_too_small_are_left_to_grow() -> None:
    """Curds, bulbs and radishes are not: they go by, or their tops fall."""
    assert all(grows_on(load_crop(c), load_crop(c).main_part) for c in ("turnip", "beetroot", "cabbage-summer", "leek"))
    assert not any(grows_on(load_crop(c), load_crop(c).main_part) for c in ("cauliflower", "radish", "onion", "tomato-bush"))
