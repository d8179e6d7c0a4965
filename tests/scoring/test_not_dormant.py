"""What is said of a rootstock that is set out when none is dormant."""

from __future__ import annotations

from mixcraft.crops import load_crop
from mixcraft.design.apart import grown_apart
from mixcraft.place import reference_place
from mixcraft.recipe.model import Bed, Density, Garden, OnDate, Planting, Recipe, WholeBed
from mixcraft.recipe.plan import plan
from mixcraft.scoring.fates import fates
from mixcraft.scoring.parts.timing import cold_soil
from mixcraft.season.grow import grow
from mixcraft.words.reasons import reason_sentence


def said_of(start: str) -> list[str]:
    """What is said of asparagus that is set out on a day."""
    crop = load_crop("asparagus")
    crowns = Planting("asparagus", crop, "crown", WholeBed(), OnDate(start), amount=Density(crop["spacing.density"]))
    garden = Garden("g", reference_place("Oxford"), (Bed("bed", 2.0, 1.0),))
    season = grow(plan(Recipe("r", 2.0, 1.0, (crowns,)), garden, "bed"), 6)
    return [reason_sentence(reason) for _, _, reason in cold_soil(season, fates(season))]


def test_crowns_of_june_wait_for_spring_and_not_for_warmer_soil() -> None:
    """It was said of June that its soil was too cold."""
    assert said_of("06-15") == ["asparagus: set out in mid-June, when no rootstock is dormant; it comes up in the next spring."]
    assert said_of("11-15") == said_of("04-10") == []


def test_plants_that_cannot_be_set_out_are_not_told_of_seed() -> None:
    """Kale for the first of February at Winnipeg, where the ground is frozen a metre deep; it was said that nothing came up."""
    crop = load_crop("kale")
    plants = Planting("kale", crop, "module", WholeBed(), OnDate("02-01"), amount=Density(crop["spacing.density"]))
    garden = Garden("g", reference_place("Winnipeg"), (Bed("bed", 2.0, 1.0),))
    season = grow(plan(Recipe("r", 2.0, 1.0, (plants,)), garden, "bed"), 6)
    told = [reason_sentence(reason) for _, _, reason in cold_soil(season, fates(season))]
    assert told == ["kale: set out in early February; in 100 % of years the ground is frozen then."]
    (found,) = grown_apart([(crop, "module")], garden, "02-01", years=6)
    assert dict(found.lost) == {"ground": 1.0}
