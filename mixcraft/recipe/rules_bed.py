"""Rules that a bed keeps, whether read from a garden file or made in memory: its numbers are numbers, its words are known."""

from __future__ import annotations

import math
from collections.abc import Iterator

from mixcraft.files import Fault, FileFaults
from mixcraft.files.near import did_you_mean

from .limits import garden_words
from .model import Bed

SHORTEST_M, LONGEST_M = 0.2, 60.0
"""Sides of a bed that can be laid out."""
LARGEST_M2 = 500.0
"""Largest bed: a plot of 20 x 25 m. Larger ground is a field; a slip of the point (60 m for 6) ends here too."""


def check_bed(bed: Bed) -> None:
    """Raises `FileFaults` with every rule that a bed breaks."""
    faults = [*_sizes(bed), *_words(bed)]
    if faults:
        raise FileFaults(faults)


def _fault(bed: Bed, key: str, rule: str, message: str, found: object, allowed: str, repair: str) -> Fault:
    return Fault(f"bed {bed.name!r}", 0, 0, key, rule, f"{key}: {message}", str(found), allowed, repair)


def _sizes(bed: Bed) -> Iterator[Fault]:
    sides = f"{SHORTEST_M:g} m to {LONGEST_M:g} m"
    for key, side in (("length", bed.length_m), ("width", bed.width_m)):
        if not SHORTEST_M <= side <= LONGEST_M:
            yield _fault(bed, key, "bed.size", "a bed of that side cannot be laid out", f"{side:g} m", sides, "check the unit")
    if bed.area_m2 > LARGEST_M2:
        yield _fault(
            bed, "length", "bed.size", "the bed is too large", f"{bed.area_m2:.0f} m2", f"{LARGEST_M2:.0f} m2",
            "divide the ground into beds that are reached from their paths",
        )  # fmt: skip
    for key, value in (
        ("heading", bed.heading_deg), ("watering", bed.watering.mm_per_week), ("feeding", bed.feeding.litres_m2),
        *(("trellises", trellis.height_m) for trellis in bed.trellises),
    ):  # fmt: skip
        if not math.isfinite(value):
            yield _fault(bed, key, "number.kind", "it is not a number", value, "a number", "write a number")


def _words(bed: Bed) -> Iterator[Fault]:
    words = [("soil", bed.soil), ("watering", bed.watering.kind), ("feeding", bed.feeding.kind)]
    for key, word in [*words, ("under", bed.under)] if bed.under else words:
        known = garden_words(key)
        if word not in known:
            near = did_you_mean(str(word), known)
            yield _fault(bed, key, "word", "it is not one of the words that are known here", word, ", ".join(known),
                         f"did you mean {near[0]}?" if near else "write one of the allowed words")  # fmt: skip
