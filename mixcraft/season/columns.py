"""The columns of the day loop: what is constant of every planting.

The plantings of the mixture come first and are followed by two twins of each: the same plants without the others (`lone`), and
the crop alone on the whole bed at its own best density (`sole`), so that what a mixture costs or gains is computed in the same
weather.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from mixcraft.crops.clock import PIECES, PLANTED, STANDING, head_start, nursery_weeks
from mixcraft.crops.development import nursery_thermal_time
from mixcraft.crops.model import Crop
from mixcraft.recipe.constants import constant as recipe_constant
from mixcraft.recipe.plan import Planned

from .constants import constant
from .dilution import dilution, fixes_g_m2
from .tables import TRAITS, Table

Floats = NDArray[np.float64]

MIXTURE, LONE, SOLE = "mixture", "lone", "sole"


class Column(NamedTuple):
    """One column of the day loop: the planting it grows (an index), as what, on how much ground [m2], and its plants."""

    planting: int
    kind: str
    area_m2: float
    plants: float


def columns_of(plantings: Sequence[Planned], kind: str, bed_m2: float) -> list[Column]:
    """Columns of all plantings of a plan, as mixture or twins of one kind; vines have the ground outside the bed over which they
    run as well."""
    if kind == SOLE:
        return [Column(i, kind, bed_m2 + p.stand.beyond_alone_m2, sole_density(p) * bed_m2) for i, p in enumerate(plantings)]
    return [Column(i, kind, p.stand.area_m2 + p.stand.beyond_m2, p.stand.plants) for i, p in enumerate(plantings)]


def beyond_of(column: Column, planned: Planned) -> float:
    """Ground of a column outside the bed [m2]."""
    return planned.stand.beyond_alone_m2 if column.kind == SOLE else planned.stand.beyond_m2


def traits_of(columns: Sequence[Column], plantings: Sequence[Planned], own: Mapping[int, Own]) -> Table:
    """Numbers of columns, a table of `tables.TRAITS`; `own` are the `own_traits` of the plantings that they grow."""
    grown, made = sorted(own), []
    for column in columns:
        leaf, plant, needs = own[column.planting]
        place = (column.area_m2, column.plants)
        made.append((grown.index(column.planting), *leaf, *place, *plant, *_of_place(column, plantings), *needs))
    return np.array(made, dtype=TRAITS).view(np.recarray)


Own = tuple[tuple[float, ...], ...]


def own_traits(planned: Planned) -> Own:
    """Numbers of one planting, whichever column it stands in, in the order of `tables.TRAITS`: of its leaf, its plants, its
    needs."""
    crop = planned.planting.crop
    resprouts = "frost.crown" in crop.records
    cut = resprouts or any(h.method in ("cut", "leaf") for h in planned.harvests)
    leaf = (crop["canopy.k"], crop["canopy.sla"] / 1000.0, crop["canopy.leaf_share"], crop["canopy.lai_max"])
    ways = (crop.in_soil, resprouts, cut, sheds_leaf(planned), sets_from(crop), *grain_set(crop), stretch_power(crop))
    of_plant = (start_leaf_m2(planned), most_leaf_m2(crop))
    plant = (sole_density(planned), planned.sown_factor, thinning_rounds(planned), *of_plant, *ways)
    needs = (*dilution(crop), fixes_g_m2(crop), crop["root.kc_mid"] - constant("basal_less"), crop["root.depletion"])
    return leaf, plant, needs


def _of_place(column: Column, plantings: Sequence[Planned]) -> tuple[float, ...]:
    """Numbers that depend on where a planting stands: whether it climbs free, whether it is a pole for those that do, the
    leaf area index from which leaf dies of shade, and the ground on which its young plants stand."""
    planned = plantings[column.planting]
    crop = planned.planting.crop
    critical = max(crop["canopy.lai_max"], constant("shade_death_depth") / crop["canopy.k"])
    ground = min(column.area_m2, column.plants / crop["spacing.density"])
    pole = column.kind == MIXTURE and is_pole(crop) and any(climbs_free(p) for p in plantings)
    return float(column.kind != SOLE and climbs_free(planned)), float(pole), critical, ground


def most_leaf_m2(crop: Crop) -> float:
    """Greatest leaf of a plant however much room it has [m2].

    A crop may say how much more than in its best stand alone (maize neither branches nor tillers); a rosette that is eaten as
    leaf spreads no further than the widest that is published, or than its place in the best stand alone.
    """
    place = 1.0 / crop["spacing.density"]
    if "canopy.leaf_most" in crop.records:
        return crop["canopy.leaf_most"] * crop["canopy.lai_max"] * place
    widest = crop.records["canopy.spread"].high
    if crop.form == "rosette" and crop.main_part.pool == "leaf" and widest:
        return crop["canopy.lai_max"] * max(place, math.pi / 4.0 * widest**2)
    return math.inf


def sheds_leaf(planned: Planned) -> bool:
    """Whether leaf that makes room for new leaf falls: it does where a planting's main part is picked leaf by leaf, or is cut
    again and again and is leaf alone (rosettes and alliums), so that no head and no stems are made of it."""
    crop = planned.planting.crop
    ways = {h.method for h in planned.harvests if h.part.role == "main"}
    return "leaf" in ways or ("cut" in ways and (crop.form == "rosette" or crop.family == "Amaryllidaceae"))


def sets_from(crop: Crop) -> float:
    """Share of the open sky's light from which all of a crop's fruit, tubers and heads set."""
    return crop.number("harvest.sets_from", constant("sets_whole"))


def grain_set(crop: Crop) -> tuple[float, float, float]:
    """Growth of a plant about its flower at which it sets no grain and as many as it fills [g/d], and the most that it sets over
    these; zeros where a crop sets in proportion to its growth."""
    if "harvest.grain_set.full" not in crop.records:
        return 0.0, 0.0, 0.0
    return crop["harvest.grain_set.none"], crop["harvest.grain_set.full"], crop["harvest.grain_set.most"]


def thinning_rounds(planned: Planned) -> int:
    """Rounds, a week apart, in which surplus seedlings go: several where they are eaten and the recipe gives no day."""
    return int(recipe_constant("thinning_rounds")) if planned.thins_in_rounds else 1


def stretch_power(crop: Crop) -> float:
    """Power to which a crop grows taller in shade: stems of upright and bushy crops, leaf stalks of others, not climbers, whose
    height is that of what holds them."""
    if crop.form == "climber":
        return 0.0
    return constant("stem_stretch" if crop.form in ("upright", "bush") else "stalk_stretch")


def climbs_free(planned: Planned) -> bool:
    """Whether a planting climbs and has no support of its own."""
    return planned.planting.crop.form == "climber" and not planned.support_m


def is_pole(crop: Crop) -> bool:
    """Whether a crop is sturdy and tall enough for climbers to climb it."""
    return crop.form == "upright" and crop["canopy.height"] >= constant("pole_height")


def reached_m(planned: Planned) -> float:
    """Height [m] that a planting can reach: the crop's; on a support a climber comes no higher than that, and stems that would
    lie on the ground stand up: vines of the cucumber family as high as it is, others as high as they are long."""
    crop = planned.planting.crop
    full = crop["canopy.height"]
    if not planned.support_m:
        return full
    if crop.form == "climber":
        return min(full, planned.support_m)
    if crop.form != "sprawling":
        return full
    stems = planned.support_m if crop.family == "Cucurbitaceae" else full + 0.5 * crop["canopy.spread"]
    return max(full, min(stems, planned.support_m))


def sole_density(planned: Planned) -> float:
    """Best density alone [plants/m2]: of a thick stand if it is sown and its leaves are picked, else of the crop."""
    crop = planned.planting.crop
    cut = any(h.method in ("cut", "leaf") for h in planned.harvests)
    sown_thick = planned.planting.establish in ("broadcast", "drills")
    if cut and sown_thick and "spacing.cutting_density" in crop.records:
        return crop["spacing.cutting_density"]
    return crop["spacing.density"]


def start_leaf_m2(planned: Planned) -> float:
    """Leaf area of one plant [m2] at emergence or planting out.

    A seedling's leaf grows with the seed's mass, but less than in proportion; a module has grown at the crop's young rate
    through its nursery weeks, as far as its cell or pot has room; a planted piece sprouts leaf in proportion to its mass.  What
    stands from the year before has a share of its full leaf, bushes, which keep it, a good part, others what sprouts, which has
    grown since then at the crop's young rate, the less the nearer it is to its full leaf (a logistic curve).
    """
    planting = planned.planting
    crop = planting.crop
    sla = crop["canopy.sla"] / 1000.0
    full = crop["canopy.lai_max"] / crop["spacing.density"]
    if planting.comes == STANDING:
        return full * _grown_since(planned, constant("evergreen_leaf" if crop.form == "bush" else "sprouting_leaf"))
    pieces = planting.establish == "plant" and "seed.per_gram" not in crop.records
    if pieces or planting.establish in PIECES:
        sprouts = crop.number("seed.propagule_mass", constant("propagule_mass")) * constant("propagule_to_leaf") * sla
        return full * _grown_since(planned, min(sprouts / full, 1.0)) if planting.stands else sprouts
    seed_g = 1.0 / crop.number("seed.per_gram", constant("seeds_per_gram"))
    leaf = constant("first_leaf_at_gram") * seed_g ** constant("first_leaf_power")
    if planting.establish in PLANTED:
        raised = nursery_thermal_time(crop, nursery_weeks(crop))
        grown = leaf * np.exp(min(crop["canopy.rgr"] * raised, 12.0))
        return float(min(grown, max(crop.number("seed.module_leaf", constant("module_leaf_max")), leaf)))
    return float(leaf)


def _grown_since(planned: Planned, share: float) -> float:
    """Share of its full leaf that a plant which stands has when the season begins, from the `share` with which its year began."""
    crop, clock, day = planned.planting.crop, planned.clock, max(planned.start, 0)
    had = float((clock.thermal - clock.rate)[0, day]) - head_start(crop, planned.planting.comes)
    grown = float(np.exp(min(crop["canopy.rgr"] * max(had, 0.0), 12.0)))
    return share * grown / (1.0 + share * (grown - 1.0))


def safe(a: Floats, b: Floats, otherwise: float = 0.0) -> Floats:
    """a / b where b is above 0, else `otherwise`; shape of `a`."""
    return np.divide(a, b, out=np.full_like(a, otherwise), where=b > 0.0)
