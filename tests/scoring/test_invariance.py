"""What must not matter to the score: order and names of plantings, and left and right of a bed that is mirrored with its sky."""

from __future__ import annotations

from dataclasses import replace

import pytest
from strategies import bed, grown, planting

from mixcraft.recipe.model import Obstacle, OnDate, Planting, Plate, Span, Strip, Zone
from mixcraft.scoring import score

SAME = 1e-6
MIRRORED = 0.25
"""Points of the overall score that mirrored beds may differ by: sky directions and weather through the day are not symmetric."""
THIRDS = [Strip(x=(Span(a / 3, True), Span((a + 1) / 3, True))) for a in range(3)]
MIXTURE = (
    planting("lettuce-loose-leaf", "lettuce", THIRDS[0], OnDate("04-10"), establish="module", count=8),
    planting("carrot-maincrop", "carrots", THIRDS[1], OnDate("04-15")),
    planting("sweet-corn", "corn", THIRDS[2], OnDate("05-12"), establish="stations", density_per_m2=6.0),
    planting("radish", "radish", THIRDS[1], OnDate("04-01"), density_per_m2=40.0),
)
PLATE = Plate("05-15", "10-15", portions=6.0)


def overall(*plantings: Planting, voxels: bool = False, **more: object) -> float:
    one = bed(plate=PLATE, **more)  # type: ignore[arg-type]
    return score(grown(*plantings, one=one, years=2, voxels=voxels)).overall


@pytest.mark.parametrize("voxels", [False, True])
def test_order_and_names_of_plantings_change_nothing(voxels: bool) -> None:
    known = overall(*MIXTURE, voxels=voxels)
    assert overall(*MIXTURE[::-1], voxels=voxels) == pytest.approx(known, abs=SAME)
    named = [replace(p, name=f"{9 - i} {p.name[::-1]}") for i, p in enumerate(MIXTURE)]
    assert overall(*named, voxels=voxels) == pytest.approx(known, abs=SAME)


def across(low: float, high: float) -> Zone:
    """A part of the width over the whole length."""
    return Zone(x=(Span(0.0, True), Span(1.0, True)), y=(Span(low, True), Span(high, True)))


@pytest.mark.parametrize("wall", [None, "west", "east"])
def test_a_mirrored_bed_scores_the_mirrored_result(wall: str | None) -> None:
    """A bed that runs north with corn at its west side, and the same with corn at its east side;
    walls are mirrored too."""
    corn, lettuce = MIXTURE[2], MIXTURE[0]
    walls = {side: (Obstacle(side, 0.5, 2.0),) if wall else () for side in ("west", "east")}
    other = {"west": "east", "east": "west"}
    side = wall or "west"
    left = overall(replace(corn, where=across(0.0, 0.4)), replace(lettuce, where=across(0.4, 1.0)), voxels=True,
                   obstacles=walls[side])  # fmt: skip
    right = overall(replace(corn, where=across(0.6, 1.0)), replace(lettuce, where=across(0.0, 0.6)), voxels=True,
                    obstacles=walls[other[side]])  # fmt: skip
    assert left == pytest.approx(right, abs=MIRRORED)
