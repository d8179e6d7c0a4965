"""What random inputs have found, each as a small case."""

from __future__ import annotations

from strategies import grown, planting

from mixcraft.scoring import score


def test_a_bed_of_green_manure_alone_is_scored() -> None:
    """Nothing is eaten from it."""
    season = grown(planting("winter-vetch"), years=1)
    assert season.picked_kg.shape[2] == 0
    assert 0.0 <= score(season).overall <= 100.0
