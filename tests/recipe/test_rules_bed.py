"""A bed made in memory keeps the rules of one from a file: each fault is told with what is allowed and the repair."""

from __future__ import annotations

import math

import pytest
from strategies import bed, garden, planting, recipe

from mixcraft.files import FileFaults
from mixcraft.recipe.model import Bed, Feeding, Trellis, Watering
from mixcraft.recipe.plan import plan
from mixcraft.recipe.rules_bed import LARGEST_M2, LONGEST_M, SHORTEST_M, check_bed

WRONG = {
    "nan m": bed(math.nan, 1.0), "-1 m": bed(2.0, -1.0), "60.1 m": bed(LONGEST_M + 0.1, 1.0), "525 m2": bed(35.0, 15.0),
    "heading: it is not a number": bed(heading_deg=math.nan), "moon": bed(soil="moon"),
    "never": bed(watering=Watering("never")), "trellises: it is": bed(trellises=(Trellis("north", math.inf),)),
    "feeding: it is not a number": bed(feeding=Feeding("compost", math.nan)), "guano": bed(feeding=Feeding("guano")),
}  # fmt: skip


@pytest.mark.parametrize("said", sorted(WRONG))
def test_a_bed_of_memory_that_breaks_a_rule_is_refused(said: str) -> None:
    with pytest.raises(FileFaults) as told:
        plan(recipe(planting("radish")), garden(WRONG[said]), "bed")
    assert said in str(told.value)
    assert len(told.value.faults) == 1
    assert told.value.faults[0].allowed
    assert told.value.faults[0].repair


@pytest.mark.parametrize(
    "one", [bed(SHORTEST_M, SHORTEST_M), bed(50.0, LARGEST_M2 / 50.0), bed(LONGEST_M, 1.0), bed(soil="clay loam")]
)
def test_a_bed_at_the_limits_is_good(one: Bed) -> None:
    check_bed(one)
