"""How well the numbers of the library are sourced, and finding crops by trait."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from mixcraft.files.constants import QUALITIES

from .layers import height_layer, root_class
from .model import Crop


@dataclass(frozen=True)
class Coverage:
    """Counts of records by field and quality; `fields` maps a dotted field (or ``parts.<name>``) to its counts."""

    crops: int
    fields: Mapping[str, Mapping[str, int]]

    @property
    def totals(self) -> Mapping[str, int]:
        """Counts by quality over all fields."""
        total: Counter[str] = Counter()
        for counts in self.fields.values():
            total.update(counts)
        return {quality: total[quality] for quality in QUALITIES}


def coverage(crops: Iterable[Crop]) -> Coverage:
    """Count published, derived, common-practice and recalled numbers by field."""
    fields: dict[str, Counter[str]] = {}
    number = 0
    for crop in crops:
        number += 1
        for name, record in crop.records.items():
            fields.setdefault(name, Counter())[record.quality] += 1
        if crop.emergence_table is not None:
            fields.setdefault("emergence.table", Counter())[crop.emergence_table.quality] += 1
        for part in crop.parts:
            for name, record in part.records.items():
                fields.setdefault(f"parts.{name}", Counter())[record.quality] += 1
    return Coverage(number, {name: dict(fields[name]) for name in sorted(fields)})


def traits(crop: Crop) -> frozenset[str]:
    """Words that describe a crop, for finding: kinds, form, life, family, and what its numbers say."""
    words = {*crop.kinds, crop.form, crop.life, crop.family.casefold(), crop.root_form, *crop.establish}
    words |= {part.name.casefold() for part in crop.parts}
    words.add("-".join(height_layer(crop["canopy.height"]).split()))
    words.add({"bears": "shade-bearing", "moderate": "half-shade", "sun": "sun-loving"}[crop.shade])
    words.add("frost-hardy" if crop["frost.grown"] <= -6.0 else "frost-tender" if crop["frost.grown"] > -1.5 else "half-hardy")
    words.add(f"{root_class(crop['root.depth'])}-rooted")
    days = crop["development.days_to_harvest"]
    words.add("quick" if days <= 50 else "slow" if days >= 110 else "medium")
    feeding = {"fixes": "nitrogen-fixing", "low": "light-feeding", "medium": "medium-feeding", "high": "heavy-feeding"}
    words.add(feeding[crop.nitrogen])
    if crop.visitors:
        words.add("feeds-pollinators")
    if any("cut" in part.methods for part in crop.parts):
        words.add("cut-and-come-again")
    return frozenset(words)


def find_by_traits(crops: Iterable[Crop], wanted: Iterable[str]) -> tuple[Crop, ...]:
    """Crops that have every wanted trait; "tender" finds "frost-tender", "hardy" only "frost-hardy"."""
    asked = ["-".join(word.casefold().split()) for word in wanted]
    return tuple(crop for crop in crops if all(_has(traits(crop), word) for word in asked))


def _has(have: frozenset[str], word: str) -> bool:
    short = {"hardy": "frost-hardy", "tender": "frost-tender", "leaves": "leaf", "shade": "shade-bearing", "sun": "sun-loving"}
    word = short.get(word, word)
    return word in have or any(h == word + "s" or h + "s" == word for h in have)


def all_traits(crops: Iterable[Crop]) -> tuple[str, ...]:
    """Every trait that some crop has, sorted."""
    return tuple(sorted(frozenset().union(*(traits(crop) for crop in crops))))
