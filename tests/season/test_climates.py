"""Why a crop alone gives less or more than is published, in the words of the table of six climates."""

from __future__ import annotations

import pytest
from strategies import place

from mixcraft.cli.show_crops import WHY
from mixcraft.crops import load_crop
from mixcraft.season.climates import SMALL, at_place


@pytest.mark.parametrize(
    ("crop", "where", "causes"),
    [
        ("okra", "Oxford", {"cold", "chill"}), ("luffa", "Winnipeg", {"cold", "chill", "frost", "never"}),
        ("pea-dwarf", "Hyderabad", {"heat", "set", "hot", "hurried", "dull"}), ("kale", "Melbourne", {"long", "bright"}),
    ],
)  # fmt: skip
def test_what_is_outside_its_range_has_a_reason(crop: str, where: str, causes: set[str]) -> None:
    """Written down before the run: okra and luffa want warmth, peas fail in a hot spring
    (or, as it turned out, are hurried through a warm winter; at Hyderabad, since at Gainesville, where they were asked first,
    they give what is published now that they mind the length of days), kale is picked for ever in Melbourne."""
    line = at_place(load_crop(crop), place(where))
    assert not line.verdict.yield_fits
    assert line.why.cause in causes
    assert line.why.share >= SMALL


def test_what_is_inside_its_range_has_none() -> None:
    line = at_place(load_crop("lettuce-loose-leaf"), place("Oxford"))
    assert line.verdict.yield_fits
    assert line.why.cause == ""
    assert WHY[""] == ""
