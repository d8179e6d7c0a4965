"""From a choice to a recipe: places in round distances, whole numbers, names, starts that a person can keep."""

from __future__ import annotations

import math
from collections.abc import Sequence

from mixcraft.crops.clock import PLANTED
from mixcraft.recipe.model import (
    Amount,
    AtTrellis,
    Count,
    Density,
    HarvestUse,
    OnDate,
    Planting,
    Recipe,
    Where,
    WholeBed,
)
from mixcraft.recipe.moves import free_name

from .choice import Placed, trellis_m2
from .constants import constant
from .curves import Option, density_range, eaten_thinnings
from .ground import Ground


def drawn(chosen: Sequence[Placed], ground: Ground, name: str) -> Recipe:
    """The recipe of what was chosen for the bed of `ground`."""
    plantings: list[Planting] = []
    for placed in chosen:
        plantings.append(_planting(placed, ground, [p.name for p in plantings]))
    bed = ground.bed
    return Recipe(name, bed.length_m, bed.width_m, tuple(plantings))


def mixed(chosen: Sequence[Placed], ground: Ground, name: str) -> Recipe:
    """The recipe of what was chosen, all sown over the whole bed: each at the density that its pieces of ground would hold."""
    bed, plantings = ground.bed, []
    taken: list[str] = []
    for placed in chosen:
        option, share = placed.option, len(placed.cells) / constant("most_cells")
        taken.append(free_name(option.crop.name, taken))
        plantings.append(planting_of(option, WholeBed(), bed.area_m2, taken[-1], share=share))
    return Recipe(name, bed.length_m, bed.width_m, tuple(plantings))


def _planting(placed: Placed, ground: Ground, taken: list[str]) -> Planting:
    option = placed.option
    at_trellis = not placed.cells
    where: Where = AtTrellis(ground.trellis) if at_trellis else ground.where(placed.cells)
    area = trellis_m2(option, ground) if at_trellis else sum(ground.area_m2(c) for c in placed.cells)
    return planting_of(option, where, area, free_name(option.crop.name, taken), at_trellis=at_trellis)


def planting_of(
    option: Option, where: Where, area_m2: float, name: str, *, share: float = 1.0, at_trellis: bool = False
) -> Planting:
    """An option as a planting on so much ground, at a `share` of its usual density."""
    crop, part = option.crop, option.crop.main_part
    climber = crop.form == "climber"
    method = "pull" if part.methods[0] == "once" and "pull" in part.methods else part.methods[0]
    thinnings = eaten_thinnings(crop, option.establish)
    return Planting(
        name, crop, option.establish, where, OnDate(option.month_day), amount=amount_of(option, area_m2, share),
        covers=option.covers, support=("trellis" if at_trellis else "canes") if climber else "",
        support_height_m=constant("stake_height") if climber and not at_trellis else None,
        harvest=(HarvestUse(part.name, method), *((HarvestUse(thinnings.name, "thin"),) if thinnings else ())),
    )  # fmt: skip


def amount_of(option: Option, area_m2: float, share: float = 1.0) -> Amount:
    """A whole number of plants where they are set or dropped one by one, else a round density."""
    density = option.density * share
    if option.establish in PLANTED or option.establish == "stations" or density * area_m2 < constant("counted_up_to"):
        return Count(whole_plants(option, density, area_m2, among=share < 1.0))
    return Density(round_density(density))


def whole_plants(option: Option, density: float, area_m2: float, *, among: bool) -> int:
    """A whole number of plants, as near as can be to a density, in the usual range if there is such a number."""
    low, high = density_range(option.crop)
    most, least = math.floor(high * area_m2 + 1e-6), 1 if among else math.ceil(low * area_m2 - 1e-6)
    return max(1, min(max(round(density * area_m2), least), most))


def round_density(per_m2: float) -> float:
    """A density that a person can sow: two figures at most, steps of five from fifty on."""
    return float(f"{per_m2:.2g}") if per_m2 < 50.0 else 5.0 * round(per_m2 / 5.0)


def start_dates(recipe: Recipe) -> tuple[str, ...]:
    """Month-days on which something is sown or planted, each once."""
    return tuple(sorted({p.start.month_day for p in recipe.plantings if isinstance(p.start, OnDate)}))


def crops_of(recipe: Recipe) -> tuple[str, ...]:
    """Crops of a recipe by id, each once."""
    return tuple(dict.fromkeys(p.crop.id for p in recipe.plantings))
