"""What is to be known of a plan besides its dates and amounts, as facts; `mixcraft.words.notes` says them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from mixcraft.files.facts import Facts, Names, Numbers
from mixcraft.place import cover

from .calendar import Almanac
from .layout import CELL_M, Grid
from .model import AutumnFrost, Bed, OnDate, Planting, Recipe, SpringFrost

COARSE_M2 = 1.6 * CELL_M**2
"""Cells that are larger are told of."""
SAME_M = 0.01
"""Beds whose sides differ by less are of one size [m]."""


@dataclass(frozen=True)
class Note:
    """Something to be known: what `kind` of thing, of which `plantings`, and the facts of it."""

    kind: str
    plantings: tuple[str, ...] = ()
    numbers: Numbers = field(default_factory=Facts)
    names: Names = field(default_factory=Facts)


def notes_of(recipe: Recipe, bed: Bed, grid: Grid, sky: Almanac, starts: Sequence[int]) -> Iterator[Note]:
    """What is to be known of a recipe in a bed whose plantings start on days `starts` of the normal year: light in large cells, a
    bed of another size, dates of the other hemisphere, what must establish first, weeks from a frost that does not come, a roof
    over a bed that lives on rain."""
    if grid.cell_m2 > COARSE_M2:
        yield Note("large cells", (), Facts(cell_m=max(grid.dx_m, grid.dy_m), usual_m=CELL_M))
    if abs(recipe.length_m - bed.length_m) > SAME_M or abs(recipe.width_m - bed.width_m) > SAME_M:
        drawn = Facts(drawn_length_m=recipe.length_m, drawn_width_m=recipe.width_m, length_m=bed.length_m, width_m=bed.width_m)
        yield Note("other size", (), drawn)
    for planting, day in zip(recipe.plantings, starts, strict=True):
        if isinstance(planting.start, OnDate) and planting.start.hemisphere not in ("", sky.hemisphere):
            yield Note("other hemisphere", (planting.name,), Facts(), Facts(day=(str(sky.date(day)),)))
    for planting in recipe.plantings:
        yield from _establishing(planting)
    if sky.last_spring_frost is None and any(isinstance(p.start, SpringFrost | AutumnFrost) for p in recipe.plantings):
        yield Note("no frost")
    if bed.under and bed.watering.kind == "rain" and cover(bed.under).rain == 0.0:
        yield Note("roofed", (), Facts(), Facts(cover=(bed.under,)))


def _establishing(planting: Planting) -> Iterator[Note]:
    """Perennials of which nothing or little is picked in their first years."""
    years, age = planting.crop.number("harvest.establishing", 0.0), planting.years
    if planting.stands:
        yield Note("stands", (planting.name,), Facts(age=float(planting.years or 0)))
    if age is not None and age < years:
        yield Note("not picked", (planting.name,), Facts(years=years, age=float(age)))
    elif years and age is None:
        yield Note("establishing", (planting.name,), Facts(years=years))
