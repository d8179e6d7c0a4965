"""Rain and covers: what a cover keeps out does not reach the soil."""

from __future__ import annotations

import numpy as np
import pytest
from strategies import bed, grown, planned, planting

from mixcraft.place import cover
from mixcraft.recipe.model import AtEvent, CoverUse, Span, Strip, Watering, WholeBed
from mixcraft.season.columns import LONE, SOLE, Column
from mixcraft.season.water import rain_passed

RAIN = Watering("rain")


def under(kind: str, where: object = None):  # type: ignore[no-untyped-def]
    use = CoverUse(kind, AtEvent("start"), AtEvent("start", 60.0))
    return planting("spinach", "spinach", where or WholeBed(), covers=(use,))  # type: ignore[arg-type]


def test_a_glasshouse_keeps_the_rain_out() -> None:
    """Without watering, spinach under glass for its first sixty days dries; in the open, in the same weather, it does not."""
    dry, wet = (grown(one, one=bed(watering=RAIN)) for one in (under("glasshouse"), planting("spinach", "spinach")))
    assert cover("glasshouse").rain == 0.0
    assert dry.water[30:60].mean() < wet.water[30:60].mean() - 0.05
    assert dry.picked_kg.sum() < wet.picked_kg.sum()


def test_a_glasshouse_over_a_watered_bed_is_no_drought() -> None:
    assert grown(under("glasshouse")).water.min() == 1.0


@pytest.mark.parametrize("kind", ["glasshouse", "fleece"])
def test_rain_passes_as_the_cover_lets_it_and_only_on_its_own_ground(kind: str) -> None:
    half = Strip(Span(0.0, True), Span(0.5, True))
    plan = planned(under(kind, half), planting("carrot-maincrop", "carrots", Strip(Span(0.5, True), Span(1.0, True))))
    start, passed = plan.plantings[0].start, cover(kind).rain
    mixture = rain_passed(plan)
    assert mixture[start : start + 60] == pytest.approx(0.5 + 0.5 * passed)
    assert mixture[start + 60 :] == pytest.approx(1.0)
    lone, sole = (rain_passed(plan, Column(0, twin, 1.0, 1.0))[start] for twin in (LONE, SOLE))
    assert (lone, sole) == (pytest.approx(0.5 + 0.5 * passed), pytest.approx(passed))
    assert np.array_equal(rain_passed(plan, Column(1, SOLE, 1.0, 1.0)), np.ones(plan.days))
