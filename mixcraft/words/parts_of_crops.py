"""Names of the parts of crops, as the crop files call them, for the catalogue of each language."""

from __future__ import annotations

from .catalogue import ENGLISH, Catalogue
from .plain import N_

PARTS = (
    N_("baby beets"), N_("baby carrots"), N_("baby leeks"), N_("blanched shoots"), N_("blanched stalks"),
    N_("budding stems"), N_("bulb"), N_("bulbils"), N_("carrot tops"), N_("chicons"), N_("curd"), N_("cut flowers"),
    N_("dry grain"), N_("dry seeds"), N_("ears"), N_("flower buds"), N_("flower buds and shoots"), N_("flower shoots"),
    N_("flower spikes"), N_("flower stalks"), N_("flowers"), N_("flowers and buds"), N_("fronds"), N_("fruit"),
    N_("green fruit"), N_("green garlic"), N_("green leaves"), N_("green pods"), N_("head"), N_("heads"), N_("leaf stalks"),
    N_("leaf tips"), N_("leaves"), N_("leaves and midribs"), N_("loose greens"), N_("male flowers"), N_("nuts"),
    N_("outer leaves"), N_("petals"), N_("pods"), N_("root"), N_("scapes"), N_("seed"), N_("shank"), N_("shell beans"),
    N_("shoot tips"), N_("shoots"), N_("side shoots"), N_("spears"), N_("spring shoots"),
    N_("spring shoots and flower spikes"), N_("sprout tops"), N_("sprouts"), N_("stalks"), N_("stem"), N_("stems"),
    N_("storage roots"), N_("thinnings"), N_("top growth"), N_("tops"), N_("tubers"), N_("turnip tops"), N_("unripe seeds"),
    N_("whole plant"), N_("young fruit"), N_("young leaves"), N_("young onions"), N_("young shoots"),
)  # fmt: skip


def part_words(part: str, t: Catalogue = ENGLISH) -> str:
    """A part of a crop; one that a recipe's own crop brings stays as it is written."""
    return t.gettext(part)
