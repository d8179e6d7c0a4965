"""Words of a garden's plan over years: its table, and the head of each recipe."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from mixcraft.crops import load_crop
from mixcraft.recipe.edits import recipe_text

from .catalogue import ENGLISH, Catalogue
from .plain import date_words, percent, two_figures

if TYPE_CHECKING:
    from mixcraft.design.years import BedYear, GardenYear


def years_lines(years: Sequence[GardenYear], t: Catalogue = ENGLISH) -> list[str]:
    """One table: for each year and bed what grows there, and what all beds together put on the plate."""
    lines: list[str] = []
    for year in years:
        lines.append(t.gettext("Year {year}").format(year=year.year))
        width = max(len(one.bed.name) for one in year.beds)
        lines += [f"  {one.bed.name:{width}s}  {_bed_words(one, t)}" for one in year.beds]
        lines.append(f"  {_plate_words(year, t)}")
    return lines


def _bed_words(one: BedYear, t: Catalogue) -> str:
    if one.recipe is None:
        return t.gettext("nothing that the rotation allows would give anything here")
    names = list(dict.fromkeys(p.crop.name for p in one.recipe.plantings if p.crop.name != one.cover))
    said = ", ".join(names)
    return t.gettext("{crops}; over winter {cover}").format(crops=said, cover=one.cover) if one.cover else said


def _plate_words(year: GardenYear, t: Catalogue) -> str:
    """What the household eats from all beds together, and when least."""
    count = len(year.weeks)
    enough = sum(share >= 0.75 for share in year.served)
    told = t.gettext("together {enough} of {count} weeks with most of the {portions} portions wanted, {kinds:.1f} kinds")
    said = told.format(enough=enough, count=count, portions=two_figures(year.portions), kinds=sum(year.kinds) / max(count, 1))
    least = min(range(count), key=lambda w: year.served[w])
    return t.gettext("{said}; least, {share}, in {when}").format(
        said=said, share=percent(year.served[least], t), when=date_words(year.weeks[least], t)
    )


def planned_text(one: BedYear, garden: str) -> str:
    """The recipe file of a bed in one year, with the history that its garden file should have by then."""
    assert one.recipe is not None
    head = [f"# {one.bed.name}, year {one.year} of a plan for {garden}."]
    if one.bed.history:
        head.append("# By then the garden file should say of this bed:")
        for ago, names in _merged(one):
            head.append(f"#   - {{years_ago: {ago}, crops: [{', '.join(load_crop(key).name for key in names)}]}}")
    return "\n".join([*head, recipe_text(one.recipe)])


def _merged(one: BedYear) -> list[tuple[int, tuple[str, ...]]]:
    """The history with the crops of each year together."""
    found: dict[int, dict[str, None]] = {}
    for ago, names in one.bed.history:
        found.setdefault(ago, {}).update(dict.fromkeys(names))
    return [(ago, tuple(names)) for ago, names in sorted(found.items())]
