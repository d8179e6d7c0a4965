"""Beds that stand in an unheated polytunnel or glasshouse, or under shade cloth, all year."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from strategies import bed, garden, grown, planned, planting, recipe

from mixcraft.design.curves import options
from mixcraft.files import FileFaults, parse_document
from mixcraft.place import cover
from mixcraft.recipe.model import After, AtEvent, CoverUse, OnDate, WarmSoil, Watering
from mixcraft.recipe.plan import plan
from mixcraft.recipe.reading_garden import read_garden
from mixcraft.recipe.steps import sowing_steps
from mixcraft.season.daylight import light_by_month
from mixcraft.season.water import rain_passed
from mixcraft.words.notes import note_sentence

GARDEN = """format: mixcraft-garden/1
name: garden
place: {kind: reference, name: Oxford}
beds:
  - {name: bed, length: 2 m, width: 1 m, under: %s}
"""
TOMATO = planting("tomato-cordon", establish="module", count=2, start=OnDate("04-25"), support="canes", support_height_m=1.8)


NAMES = [("hoop house", "polytunnel"), ("greenhouse", "glasshouse"), ("shade net", "shade-cloth")]


@pytest.mark.parametrize(("said", "kind"), NAMES)
def test_a_structure_has_its_everyday_names(said: str, kind: str) -> None:
    assert read_garden(parse_document(GARDEN % said, "garden.yaml")).beds[0].under == kind


def test_a_structure_that_is_not_known_is_refused() -> None:
    with pytest.raises(FileFaults, match="polytunnel"):
        plan(recipe(TOMATO), garden(bed(under="igloo")), "bed")


def test_a_structure_is_a_cover_of_all_plantings_from_beginning_to_end() -> None:
    """What grows in a tunnel grows as under a tunnel that its own planting has all its life."""
    tunnel = CoverUse("polytunnel", AtEvent("start"), AtEvent("start", 700.0))
    inside = grown(TOMATO, one=bed(under="polytunnel"), years=4)
    covered = grown(replace(TOMATO, covers=(tunnel,)), years=4)
    assert inside.picked_kg.sum() == pytest.approx(covered.picked_kg.sum(), rel=1e-3)
    assert inside.death.tolist() == covered.death.tolist()
    assert inside.picked_kg.sum() > 1.1 * grown(TOMATO, years=4).picked_kg.sum()


def test_nobody_lays_a_structure_or_takes_it_off() -> None:
    settled = planned(TOMATO, one=bed(under="polytunnel"))
    assert {step.kind for step in sowing_steps(settled)}.isdisjoint({"cover", "uncover"})
    assert settled.plantings[0].laid == ()
    assert [span.kind for span in settled.plantings[0].covers] == ["polytunnel"]


def test_no_rain_falls_in_a_tunnel() -> None:
    """The whole bed is roofed, also beside the plants; shade cloth lets most of it through."""
    low = planting("lettuce-cos", establish="module", count=4)
    for under, passed in (("", 1.0), ("polytunnel", 0.0), ("shade-cloth", 0.95)):
        assert np.allclose(rain_passed(planned(low, one=bed(under=under))), passed)
    dry = grown(low, one=bed(under="polytunnel", watering=Watering("rain")), years=4)
    wet = grown(low, one=bed(under="polytunnel"), years=4)
    assert dry.growth_g.sum() < 0.7 * wet.growth_g.sum()


def test_crops_are_begun_sooner_in_a_tunnel() -> None:
    """Common practice, no source: tender crops go into a cold tunnel about a month before they go out of doors."""
    crop, window = TOMATO.crop, (150, 330)
    first = {
        under: min(o.week for o in options(crop, garden(), window, trellis=True, every=True, way="module", under=under))
        for under in ("", "polytunnel")
    }
    assert 2 <= first[""] - first["polytunnel"] <= 6


def test_start_rules_feel_the_structure() -> None:
    """Soil is warm sooner in a tunnel, and what waits for the picking of a crop begins sooner with it."""
    carrot = planting("carrot-early", start=WarmSoil(10.0))
    bean = planting("bean-bush", start=After("early carrot", "first-harvest", 0.0), where=carrot.where)
    inside, outside = (planned(carrot, bean, one=bed(under=under)) for under in ("polytunnel", ""))
    sooner = int((outside.start - inside.start).astype(int))
    assert 7 <= sooner <= 45
    dates = [p.date(p.plantings[1].start) for p in (inside, outside)]
    assert (dates[1] - dates[0]).astype(int) >= 0.5 * sooner


def test_the_light_of_a_month_is_that_inside() -> None:
    """Film keeps out three tenths of the open sky's light, of the leaves' and of the soil's."""
    low = planting("lettuce-cos", establish="module", count=4, start=OnDate("04-15"))
    inside, outside = (light_by_month(grown(low, one=bed(under=under), years=3, voxels=True)) for under in ("polytunnel", ""))
    assert inside[0].share[0] == pytest.approx(0.7 * outside[0].share[0], rel=0.01)
    assert inside[0].open_mol == pytest.approx(outside[0].open_mol, rel=0.05)
    assert max(float(m.ground.max()) for m in inside if m.ground is not None) <= cover("polytunnel").light


def test_a_roofed_bed_that_nobody_waters_is_told_of() -> None:
    """Not one that is watered, nor one under shade cloth, which lets the rain through."""
    told = {
        (under, kind): [note_sentence(n) for n in planned(TOMATO, one=bed(under=under, watering=Watering(kind))).notes]
        for under in ("polytunnel", "shade-cloth", "")
        for kind in ("rain", "watered")
    }
    (said,) = told.pop(("polytunnel", "rain"))
    assert said.startswith("Under the polytunnel no rain falls on the bed")
    assert not any(told.values())
