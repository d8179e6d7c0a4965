"""Twelve recipes broken on purpose, each in one way that growers know, for the trellis bed of the demonstration."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from mixcraft.crops import load_crop
from mixcraft.files import resource
from mixcraft.recipe.model import AtTrellis, Count, Density, OnDate, Planting, Recipe, Span, Strip, Zone
from mixcraft.recipe.reading import load_recipe


def plant(crop: str, way: str, start: str, x: tuple[float, float], amount: Count | Density) -> Planting:
    """A planting on a strip of a bed."""
    found = load_crop(crop)
    return Planting(f"{found.name} {start} {x[0]:g}", found, way, Strip((Span(x[0]), Span(x[1]))), OnDate(start), amount=amount)


def summer() -> Recipe:
    """The demonstration's summer bed, 4 m by 1.2 m."""
    return load_recipe(resource("recipes_demo", "trellis-summer.recipe.yaml"))


def changed(recipe: Recipe, name: str, **values: object) -> Recipe:
    """The recipe with a planting changed."""
    plantings = tuple(replace(p, **values) if p.name == name else p for p in recipe.plantings)  # type: ignore[arg-type]
    return replace(recipe, plantings=plantings, document=None)


def wrong_trellis_end() -> Recipe:
    """The beans on the southern trellis, before everything else."""
    return changed(summer(), "beans", where=AtTrellis("south"))


def too_dense() -> Recipe:
    """Twice as much of everything that is counted or sown."""

    def more(p: Planting) -> Planting:
        amount = p.amount
        if isinstance(amount, Count):
            return replace(p, amount=Count(2 * amount.plants))
        return replace(p, amount=Density(1.8 * amount.per_m2)) if isinstance(amount, Density) else p

    return replace(summer(), plantings=tuple(more(p) for p in summer().plantings), document=None)


def beds(*plantings: Planting) -> Recipe:
    """A recipe of strips on 4 m by 1.2 m."""
    return Recipe("broken", 4.0, 1.2, plantings)


def one_family() -> Recipe:
    """Nothing but cabbages and their kin."""
    return beds(
        plant("radish", "drills", "04-09", (0.0, 0.8), Density(200.0)),
        plant("mizuna", "drills", "05-07", (0.8, 1.6), Density(60.0)),
        plant("kohlrabi", "module", "05-07", (1.6, 2.8), Count(20)),
        plant("kale", "module", "06-04", (2.8, 4.0), Count(5)),
    )  # fmt: skip


def tender_too_early() -> Recipe:
    """Courgettes and beans in March and April."""
    return beds(
        plant("courgette", "stations", "03-20", (0.0, 1.2), Count(1)),
        plant("bean-bush", "drills", "04-01", (1.2, 2.0), Density(30.0)),
        plant("lettuce-loose-leaf", "module", "04-09", (2.0, 3.0), Count(18)),
        plant("chard", "drills", "04-23", (3.0, 4.0), Count(10)),
    )  # fmt: skip


def gap_in_july() -> Recipe:
    """Early leaves, and roots for the autumn; nothing between."""
    return beds(
        plant("radish", "drills", "03-26", (0.0, 1.0), Density(200.0)),
        plant("spinach", "drills", "03-26", (1.0, 2.0), Density(40.0)),
        plant("parsnip", "drills", "04-23", (2.0, 3.0), Density(30.0)),
        plant("leek", "module", "06-18", (3.0, 4.0), Count(25)),
    )  # fmt: skip


def all_in_one_week() -> Recipe:
    """Five crops that are all ready at once and then over."""
    return beds(
        plant("radish", "drills", "05-21", (0.0, 0.8), Density(200.0)),
        plant("lettuce-cos", "module", "05-07", (0.8, 1.6), Count(14)),
        plant("kohlrabi", "module", "05-07", (1.6, 2.4), Count(16)),
        plant("turnip", "drills", "05-07", (2.4, 3.2), Density(40.0)),
        plant("pak-choi", "module", "05-21", (3.2, 4.0), Count(14)),
    )  # fmt: skip


def shade_lovers_in_full_sun() -> Recipe:
    """Spinach, lettuce and coriander through the heat of the summer."""
    return beds(
        plant("spinach", "drills", "06-04", (0.0, 1.4), Density(40.0)),
        plant("coriander", "drills", "06-04", (1.4, 2.4), Density(60.0)),
        plant("lettuce-butterhead", "module", "06-18", (2.4, 4.0), Count(20)),
    )  # fmt: skip


def slow_under_fast() -> Recipe:
    """Carrots and onions under a full stand of mizuna and potatoes."""
    where = Zone((Span(0.0), Span(2.0)), (Span(0.0), Span(1.2)))
    other = Zone((Span(2.0), Span(4.0)), (Span(0.0), Span(1.2)))
    return beds(
        replace(plant("carrot-early", "drills", "04-09", (0.0, 2.0), Density(100.0)), where=where),
        replace(plant("mizuna", "drills", "04-09", (0.0, 2.0), Density(60.0)), where=where, name="mizuna"),
        replace(plant("onion", "set", "04-09", (2.0, 4.0), Density(40.0)), where=other, name="onion"),
        replace(plant("potato-early", "tuber", "04-09", (2.0, 4.0), Count(10)), where=other, name="potato"),
    )  # fmt: skip


def too_late() -> Recipe:
    """Summer crops that are started when their time is nearly over."""
    return beds(
        plant("courgette", "stations", "07-25", (0.0, 1.2), Count(1)),
        plant("bean-bush", "drills", "08-10", (1.2, 2.4), Density(30.0)),
        plant("beetroot", "drills", "08-20", (2.4, 3.2), Density(60.0)),
        plant("lettuce-loose-leaf", "drills", "08-13", (3.2, 4.0), Count(13)),
    )  # fmt: skip


def tall_in_front() -> Recipe:
    """Sweet corn at the southern end, low crops behind it."""
    return beds(
        plant("sweet-corn", "stations", "05-21", (0.0, 1.4), Count(12)),
        plant("lettuce-loose-leaf", "module", "05-07", (1.4, 2.2), Count(14)),
        plant("bean-bush", "drills", "05-21", (2.2, 3.0), Density(30.0)),
        plant("beetroot", "drills", "05-07", (3.0, 4.0), Density(60.0)),
    )  # fmt: skip


def half_empty() -> Recipe:
    """Two crops on half of the bed."""
    return beds(
        plant("lettuce-loose-leaf", "module", "05-07", (0.0, 1.0), Count(18)),
        plant("bean-bush", "drills", "05-21", (1.0, 2.0), Density(30.0)),
    )  # fmt: skip


def against_the_history() -> Recipe:
    """Kale and leeks where kale and leeks grew last year."""
    return beds(
        plant("kale", "module", "06-04", (0.0, 1.2), Count(5)),
        plant("leek", "module", "06-18", (1.2, 2.4), Count(30)),
        plant("lettuce-loose-leaf", "module", "05-07", (2.4, 3.2), Count(14)),
        plant("chard", "drills", "05-07", (3.2, 4.0), Count(8)),
    )  # fmt: skip


BROKEN: tuple[Callable[[], Recipe], ...] = (
    wrong_trellis_end, too_dense, one_family, tender_too_early, gap_in_july, all_in_one_week, shade_lovers_in_full_sun,
    slow_under_fast, too_late, tall_in_front, half_empty, against_the_history,
)  # fmt: skip
