"""A whole recipe: which trellis climbers stand on decides how much light the low crop behind them keeps.

Sources: plain geometry of the sun's path (north of the tropics the sun crosses the south by day, south of them the north),
and Mead & Willey 1980 only through the engine's own score. Advice to put tall crops where they do not shade the low ones is
common practice, no source. Invented beds: beans on one of two trellises, a strip of summer lettuce midway between them.
"""

from __future__ import annotations

import dataclasses
from functools import lru_cache

import numpy as np
import pytest
from strategies import bed, planned, planting

from mixcraft.recipe.calendar import MONTHS
from mixcraft.recipe.model import AtTrellis, OnDate, Span, Trellis, Zone
from mixcraft.recipe.plan import plan
from mixcraft.scoring.build import score
from mixcraft.scoring.model import Score
from mixcraft.scoring.repairs import grown_as, with_repairs
from mixcraft.season.grow import grow
from mixcraft.season.result import Season
from mixcraft.words import reason_sentence, repair_sentence

YEARS = 3
SEED = 11
LENGTH_M, WIDTH_M = 3.0, 1.2
MIDDLE = (Span(0.35), Span(0.85))


@lru_cache(maxsize=8)
def season(edge: str, where: str = "Oxford", heading: float = 90.0) -> Season:
    """Beans on the trellis at `edge`, lettuce planted in midsummer in a strip between the trellises."""
    south = where != "Oxford"
    one = bed(
        LENGTH_M, WIDTH_M, heading_deg=heading, trellises=(Trellis("south", 2.0), Trellis("north", 2.0))
    )  # fmt: skip
    beans = planting(
        "runner-bean", "beans", AtTrellis(edge=edge), OnDate("11-15" if south else "05-15"),
        establish="stations",
    )  # fmt: skip
    strip = Zone(x=(Span(0.0, True), Span(1.0, True)), y=MIDDLE)
    lettuce = planting("lettuce-butterhead", "lettuce", strip, OnDate("01-05" if south else "07-05"), establish="module")
    return grow(planned(beans, lettuce, one=one, where=where), YEARS, SEED)


def lost_share(found: Season) -> float:
    """Share of the lettuce's light that the beans take over its life."""
    return float(found.taken_mj[:, 1, 0].sum() / np.median(found.alone_mj[:, :, 1], axis=1).sum())


@lru_cache(maxsize=4)
def scored(edge: str) -> Score:
    return score(season(edge))


@pytest.mark.parametrize(("where", "sunny", "dark"), [("Oxford", "south", "north"), ("Melbourne", "north", "south")])
def test_climbers_on_the_sunny_trellis_take_more_of_the_lettuces_light(where: str, sunny: str, dark: str) -> None:
    before, after = season(sunny, where), season(dark, where)
    assert lost_share(before) > 1.25 * lost_share(after) > 0.0
    assert np.median(before.planting_kg()[:, 1]) < np.median(after.planting_kg()[:, 1])


def test_turning_the_bed_half_round_changes_nothing() -> None:
    """The compass decides, not the side of the bed: heading 270 mirrors heading 90 and the strip lies in the middle."""
    for edge in ("south", "north"):
        assert lost_share(season(edge, heading=270.0)) == pytest.approx(lost_share(season(edge)), rel=0.1)


def test_the_reason_says_who_takes_the_light_and_when() -> None:
    reason = next(r for r in scored("south").reasons if r.cause == "sunny side")
    assert reason.plantings == ("lettuce", "beans")
    assert "beans on the sunny side of lettuce" in reason_sentence(reason)
    named = [m for m in MONTHS if m in reason_sentence(reason)]
    assert set(named) & {"July", "August"}
    assert reason.weeks is not None
    first, last = (int(str(d)[5:7]) for d in reason.weeks)
    assert MONTHS[first - 1] in named
    assert MONTHS[last - 1] in named
    assert not [r for r in scored("north").reasons if r.cause == "sunny side"]


def test_moving_the_climbers_to_the_other_trellis_raises_the_score() -> None:
    """Changed by hand: the recipe with `edge: north` scores higher, in its canopy and over all."""
    before = scored("south")
    recipe = before.season.plan.recipe
    beans = recipe.planting("beans")
    moved = dataclasses.replace(beans, where=dataclasses.replace(beans.where, edge="north"))
    settled = plan(dataclasses.replace(recipe, plantings=(moved, recipe.planting("lettuce"))), before.season.plan.garden, "bed")
    after = score(grow(settled, YEARS, SEED))
    assert after.overall > before.overall + 1.0
    assert after.part("canopy").score > before.part("canopy").score + 1.0
    assert after.kept["lettuce"] > before.kept["lettuce"] + 0.05  # 0.1 before light use saturated


def test_the_repair_that_moves_the_trellis_is_offered() -> None:
    reasons = with_repairs(scored("south"), grown_as(season("south"), SEED), most=20).reasons
    repairs = [r.repair for r in reasons if r.cause == "sunny side" and r.repair]
    assert len(repairs) == 1
    assert "beans" in repair_sentence(repairs[0])
    assert "opposite" in repair_sentence(repairs[0])
    assert repairs[0].recipe.planting("beans").where == AtTrellis("north")
    assert repairs[0].overall_after > repairs[0].overall_before
