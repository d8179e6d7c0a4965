"""What must not matter to the score: order and names of plantings, and left and right of a bed that is mirrored with its sky."""

from __future__ import annotations

from dataclasses import replace

import pytest
from strategies import bed, grown, planting

from mixcraft.recipe.model import AtTrellis, Count, Obstacle, OnDate, Planting, Plate, Points, Span, Strip, Trellis, Zone
from mixcraft.scoring import score

SAME = 1e-6
DRAWN = 0.02
"""Points that mirrored beds may differ by where the engine itself draws the places of the plants: it begins at one side."""
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
    assert left == pytest.approx(right, abs=DRAWN)


@pytest.mark.parametrize("heading", [0.0, 40.0])
def test_a_mirrored_trellis_scores_the_mirrored_result(heading: float) -> None:
    """Beans on the trellis to the left of lettuces, and in a bed that heads as far the other way on that to their right."""
    beans = planting("bean-climbing", "beans", start=OnDate("05-18"), establish="stations", count=8)
    rows = tuple((0.25 + 0.5 * i, y) for i in range(4) for y in (0.35, 0.65))
    left, right = (
        overall(
            replace(beans, where=AtTrellis(edge)), at(MIXTURE[0], rows), voxels=True, heading_deg=head % 360.0,
            trellises=(Trellis(edge, 2.0),),
        )
        for edge, head in (("west", heading), ("east", -heading))
    )  # fmt: skip
    assert left == pytest.approx(right, abs=SAME)


LOW = tuple((0.25 + 0.5 * i, y) for i in range(4) for y in (0.55, 0.85))
TALL = tuple((0.3 + 0.35 * i, 0.2) for i in range(5))


def at(crop: Planting, places: tuple[tuple[float, float], ...]) -> Planting:
    """A planting at these places [m]."""
    return replace(crop, where=Points(tuple((Span(x), Span(y)) for x, y in places)), amount=Count(len(places)))


@pytest.mark.parametrize("voxels", [False, True])
@pytest.mark.parametrize(
    ("heading", "wall"), [(0.0, None), (0.0, "west"), (90.0, None), (90.0, "east"), (30.0, None), (30.0, "north")]
)
def test_mirrored_about_the_meridian_nothing_changes(heading: float, wall: str | None, voxels: bool) -> None:
    """A bed, and the same seen in a mirror that stands north and south, with its walls and its plants at given places: it
    heads as far to the west as the other to the east, and what stood on its left stands on its right."""
    other = {"west": "east", "east": "west"}
    walls = [(Obstacle(side, 0.5, 2.0),) if side else () for side in (wall, other.get(wall or "", wall))]
    mirrored = [tuple((x, 1.0 - y) for x, y in places) for places in (TALL, LOW)]
    left, right = (
        overall(at(MIXTURE[2], tall), at(MIXTURE[0], low), voxels=voxels, heading_deg=head, obstacles=side)
        for (tall, low), head, side in zip(((TALL, LOW), mirrored), (heading, (360.0 - heading) % 360.0), walls, strict=True)
    )
    assert left == pytest.approx(right, abs=SAME)
