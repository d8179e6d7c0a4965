"""Rain and covers: what a cover keeps out does not reach the soil."""

from __future__ import annotations

import numpy as np
import pytest
from strategies import bed, grown, planned, planting

from mixcraft.place import cover
from mixcraft.recipe.model import AtEvent, CoverUse, OnDate, Span, Strip, Watering, WholeBed
from mixcraft.season.columns import LONE, SOLE, Column
from mixcraft.season.water import rain_passed

RAIN = Watering("rain")


def under(kind: str, where: object = None):  # type: ignore[no-untyped-def]
    """Tomatoes under a cover for eighty days, or in the open."""
    covers = (CoverUse(kind, AtEvent("start"), AtEvent("start", 80.0)),) if kind else ()
    return planting(
        "tomato-bush", "tomatoes", where or WholeBed(), OnDate("05-25"), establish="module", density_per_m2=3.0, covers=covers
    )  # type: ignore[arg-type]


def test_a_glasshouse_keeps_the_rain_out() -> None:
    """Without watering, tomatoes under glass dry out; in the open, in the same weather, rain keeps them going."""
    dry, wet = (grown(under(kind), one=bed(watering=RAIN, soil="sand")) for kind in ("glasshouse", ""))
    assert cover("glasshouse").rain == 0.0
    lost, lost_in_the_open = (float((1.0 - season.water[60:80]).mean()) for season in (dry, wet))
    assert lost > max(4.0 * lost_in_the_open, 0.01)


def test_a_glasshouse_over_a_watered_bed_is_no_drought() -> None:
    assert grown(under("glasshouse")).water.min() == 1.0


@pytest.mark.parametrize("kind", ["glasshouse", "fleece"])
def test_rain_passes_as_the_cover_lets_it_and_only_on_its_own_ground(kind: str) -> None:
    half = Strip((Span(0.0, True), Span(0.5, True)))
    plan = planned(under(kind, half), planting("carrot-maincrop", "carrots", Strip((Span(0.5, True), Span(1.0, True)))))
    start, passed = plan.plantings[0].start, cover(kind).rain
    mixture = rain_passed(plan)
    assert mixture[start : start + 80] == pytest.approx(0.5 + 0.5 * passed)
    assert mixture[start + 80 :] == pytest.approx(1.0)
    lone, sole = (rain_passed(plan, Column(0, twin, 1.0, 1.0))[start] for twin in (LONE, SOLE))
    assert (lone, sole) == (pytest.approx(0.5 + 0.5 * passed), pytest.approx(passed))
    assert np.array_equal(rain_passed(plan, Column(1, SOLE, 1.0, 1.0)), np.ones(plan.days))
