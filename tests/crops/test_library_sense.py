"""Every crop agrees with itself and with common sense: distances, depth of seed, height, roots, warmth and frost.

The rules stand in ``library_sense.py``.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from library_sense import RULES, seed_diameter_cm

from mixcraft.crops import Crop, crop_ids, load_crop


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.__name__)
def test_every_crop_makes_sense(rule: Callable[[Crop], list[str]]) -> None:
    assert {name: said for name in crop_ids() if (said := rule(load_crop(name)))} == {}


def test_rules_notice_what_they_are_for() -> None:
    """Each rule has something against a crop made absurd in its own field."""
    absurd = {
        "distances": {"spacing.density": 2000.0}, "sowing_depth": {"seed.depth": 13.0}, "height": {"canopy.height": 3.0},
        "roots": {"root.depth": 2.9}, "germination": {"seed.germination": 12.0}, "coldest_soil": {"emergence.t_min": 21.0},
        "frost": {"frost.grown": 4.0}, "rootstock": {"frost.crown": -2.0},
    }  # fmt: skip
    assert set(absurd) == {rule.__name__ for rule in RULES}
    for rule in RULES:
        crop = load_crop("mint" if rule.__name__ == "rootstock" else "carrot-maincrop")
        assert rule(crop) == []
        assert rule(crop.with_values(absurd[rule.__name__], "test")), rule.__name__


def test_diameter_of_a_seed_by_hand() -> None:
    """A sphere of 1 g at 1 g/cm3 is 1.24 cm thick; of a carrot seed, 882 to the gram, 0.13 cm."""
    assert seed_diameter_cm(load_crop("carrot-maincrop").with_values({"seed.per_gram": 1.0}, "test")) == pytest.approx(
        1.2407, abs=1e-4
    )
    assert seed_diameter_cm(load_crop("carrot-maincrop").with_values({"seed.per_gram": 882.0}, "test")) == pytest.approx(
        0.129, abs=1e-3
    )
