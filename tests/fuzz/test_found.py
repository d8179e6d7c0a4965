"""What random inputs have found, each as a small case."""

from __future__ import annotations

import pytest
from strategies import grown, place, planting

from mixcraft.files import FileFaults, parse_document
from mixcraft.files.quantity import QuantityError, parse_quantity
from mixcraft.recipe.model import Bed, Garden
from mixcraft.recipe.plan import plan
from mixcraft.recipe.reading import read_recipe
from mixcraft.scoring import score
from mixcraft.scoring.evidence import Evidence
from mixcraft.season.grow import grow


def test_a_bed_of_green_manure_alone_is_scored() -> None:
    """Nothing is eaten from it: no part of it is food."""
    season = grown(planting("winter-vetch"), years=1)
    assert not any(harvest.part.food for harvest in season.harvests)
    assert score(season).part("continuity").score == 0.0


def test_a_number_without_a_unit_may_be_too_large_for_a_float() -> None:
    with pytest.raises(QuantityError, match="has no unit"):
        parse_quantity("99" + "0" * 18 + "e300", "length")


def test_a_border_without_a_depth_is_refused() -> None:
    text = """\
format: mixcraft-recipe/1
name: Border
bed: 3 m x 1.2 m
plantings:
  - {crop: radish, establish: seed, place: {kind: edge, edge: south, depth: 0 m}, start: April 15, spacing: 5 cm}
"""
    with pytest.raises(FileFaults, match="too small"):
        read_recipe(parse_document(text, "border.yaml"))


def test_a_planting_that_would_begin_after_the_last_day_is_scored() -> None:
    """Beans wait for the last picking of a perennial and then for years: they are not ready in any year, and nothing fails."""
    text = """\
format: mixcraft-recipe/1
name: Much later
bed: 3 m x 1.2 m
plantings:
  - {name: first, crop: daylily, establish: division, place: whole, start: September 1}
  - {name: then, crop: soybean, establish: stations, place: whole,
     start: {kind: after, planting: first, event: last-harvest, wait: 400 days}}
"""
    recipe = read_recipe(parse_document(text, "later.yaml"))
    season = grow(plan(recipe, Garden("rome", place("Rome"), (Bed("bed", 3.0, 1.2),)), "bed"), years=2, voxels=False)
    result = score(season)
    assert 0.0 <= result.overall <= 100.0
    assert Evidence(season).fates.unready[:, 1].all()
