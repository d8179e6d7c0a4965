"""What random inputs have found, each as a small case."""

from __future__ import annotations

from strategies import grown, planting

from mixcraft.scoring import score


def test_a_bed_of_green_manure_alone_is_scored() -> None:
    """Nothing is eaten from it: no part of it is food."""
    season = grown(planting("winter-vetch"), years=1)
    assert not any(harvest.part.food for harvest in season.harvests)
    assert score(season).part("continuity").score == 0.0
