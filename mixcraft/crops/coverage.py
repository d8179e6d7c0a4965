"""How well the numbers of the library are sourced, and finding crops by trait."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from mixcraft.files.constants import QUALITIES

from .constants import constant
from .layers import height_layer, root_class
from .library import AmbiguousCrop, UnknownCrop, find_crop_id, index, plain_name
from .model import Crop, EmergenceTable, Record

DECIDES: Mapping[str, tuple[str, ...]] = {
    "dates": (
        "emergence", "development.t_", "development.days", "development.ref", "development.ready", "development.end",
        "development.flower", "harvest.organ_start", "harvest.establishing", "parts.after", "parts.hold", "parts.stands",
        "seed.module_age",
    ),
    "deaths": ("frost",),
    "bolting": ("development.bolting", "development.bulbing", "development"),
    "yields": (
        "harvest", "canopy.rue", "canopy.leaf_share", "parts.dry_matter", "parts.share",
    ),
    "portions": ("parts.portion", "parts.keeps", "parts.market_least"),
    "picking": ("parts",),
    "space": ("spacing", "canopy.height", "canopy.spread"),
    "leaf and light": ("canopy",),
    "roots and water": ("root",),
    "seed": ("seed",),
    "feeding": ("nutrition",),
}  # fmt: skip
"""What a number decides, by the beginning of its field; the first that fits is meant."""

WINTER_C = constant("winter_standing")
"""Crops whose grown plants stand this frost are picked through an ordinary winter."""
WEIGHTY = ("dates", "deaths", "bolting", "yields", "portions")
"""What must rest on published numbers."""

BIBLIOGRAPHY = Path(__file__).with_name("bibliography.yaml")


@dataclass(frozen=True)
class Coverage:
    """Counts of records by field and quality; `fields` maps a dotted field (or ``parts.<name>``) to its counts.

    ``classes``: counts by the class of the work that a record cites.
    """

    crops: int
    fields: Mapping[str, Mapping[str, int]]
    classes: Mapping[str, int]

    @property
    def totals(self) -> Mapping[str, int]:
        """Counts by quality over all fields."""
        return _sum(self.fields.values())

    @property
    def decided(self) -> Mapping[str, Mapping[str, int]]:
        """Counts by quality of what the numbers decide, in the order of `DECIDES`."""
        groups = {name: decides(name) for name in self.fields}
        return {what: _sum(self.fields[name] for name, group in groups.items() if group == what) for what in DECIDES}

    @property
    def weighty(self) -> Mapping[str, int]:
        """Counts by quality of the numbers that decide dates, deaths, bolting, yields and portions."""
        return _sum(self.decided[what] for what in WEIGHTY)


def _sum(counts: Iterable[Mapping[str, int]]) -> Mapping[str, int]:
    total: Counter[str] = Counter()
    for one in counts:
        total.update(one)
    return {quality: total[quality] for quality in QUALITIES}


def decides(name: str) -> str:
    """What the field `name` decides; see `DECIDES`."""
    return next(what for what, heads in DECIDES.items() if name.startswith(heads))


@lru_cache(maxsize=1)
def source_classes() -> Mapping[str, str]:
    """Class of each work of the bibliography by its key: science, statistics, extension, standard, handbook, ..."""
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    entries: Mapping[str, Mapping[str, Any]] = yaml.load(BIBLIOGRAPHY.read_bytes(), Loader=loader)
    return {key: str(entry["class"]) for key, entry in entries.items()}


def _cited(crop: Crop) -> Iterator[tuple[str, Record | EmergenceTable]]:
    yield from crop.records.items()
    if crop.emergence_table is not None:
        yield "emergence.table", crop.emergence_table
    for part in crop.parts:
        for name, record in part.records.items():
            yield f"parts.{name}", record


def coverage(crops: Iterable[Crop]) -> Coverage:
    """Count the numbers by field and quality, and by the class of the work that they cite."""
    fields: dict[str, Counter[str]] = {}
    classes: Counter[str] = Counter()
    number = 0
    for crop in crops:
        number += 1
        for name, record in _cited(crop):
            fields.setdefault(name, Counter())[record.quality] += 1
            classes[source_classes().get(record.source, "own")] += 1
    return Coverage(number, {name: dict(fields[name]) for name in sorted(fields)}, dict(classes.most_common()))


def traits(crop: Crop) -> frozenset[str]:
    """Words that describe a crop, for finding: kinds, form, life, family, and what its numbers say."""
    words = {*crop.kinds, crop.form, crop.life, crop.family.casefold(), crop.root_form, *crop.establish}
    words |= {part.name.casefold() for part in crop.parts}
    words.add("-".join(height_layer(crop["canopy.height"]).split()))
    words.add({"bears": "shade-bearing", "moderate": "half-shade", "sun": "sun-loving"}[crop.shade])
    hardy, tender = crop["frost.grown"] <= constant("frost_hardy"), crop["frost.grown"] > constant("frost_tender")
    words.add("frost-hardy" if hardy else "frost-tender" if tender else "half-hardy")
    words.add(f"{root_class(crop['root.depth'])}-rooted")
    days = crop["development.days_to_harvest"]
    words.add("quick" if days <= constant("quick_most") else "slow" if days >= constant("slow_least") else "medium")
    feeding = {"fixes": "nitrogen-fixing", "low": "light-feeding", "medium": "medium-feeding", "high": "heavy-feeding"}
    words.add(feeding[crop.nitrogen])
    if crop["frost.grown"] <= WINTER_C and crop.life != "perennial":
        words.add("winter-standing")
    if set(crop.establish) & {"broadcast", "drills", "stations"}:
        words.add("sown")
    if crop.visitors:
        words.add("feeds-pollinators")
    if any("cut" in part.methods for part in crop.parts):
        words.add("cut-and-come-again")
    return frozenset(words)


EVERYDAY_TRAITS: Mapping[str, str] = {
    "hardy": "frost-hardy", "tender": "frost-tender", "leaves": "leaf", "leafy": "leaf", "roots": "root",
    "shade": "shade-bearing", "shady": "shade-bearing", "part-shade": "half-shade", "sun": "sun-loving", "full-sun": "sun-loving",
    "climbing": "climber", "climbers": "climber", "vine": "climber", "trellis": "climber", "fast": "quick", "early": "quick",
    "winter": "winter-standing", "overwintering": "winter-standing", "pollinators": "feeds-pollinators",
    "bees": "feeds-pollinators", "nitrogen": "nitrogen-fixing", "hungry": "heavy-feeding", "cut-and-come": "cut-and-come-again",
    "transplant": "module", "plugs": "module", "seed": "sown",
}  # fmt: skip
"""What growers call a trait, and the trait."""


def trait_of(word: str, known: Iterable[str]) -> str:
    """The trait that a word means, of those known ("tender" is "frost-tender", "climbing" "climber"); nothing for no trait."""
    plain = "-".join(word.casefold().split())
    plain = EVERYDAY_TRAITS.get(plain, plain)
    return next((trait for trait in known if trait == plain or trait == plain + "s" or trait + "s" == plain), "")


def find_by_traits(crops: Iterable[Crop], wanted: Iterable[str]) -> tuple[Crop, ...]:
    """Crops that have every wanted trait; "tender" finds "frost-tender", "hardy" only "frost-hardy"."""
    asked = list(wanted)
    return tuple(crop for crop in crops if all(trait_of(word, traits(crop)) for word in asked))


def find_by_names(word: str) -> tuple[str, ...]:
    """Ids of the crops that a name may mean: the one it is, those that it asks about, else those whose names hold it."""
    try:
        return (find_crop_id(word),)
    except AmbiguousCrop as error:
        return tuple(find_crop_id(name) for name in error.suggestions)
    except UnknownCrop:
        plain = f" {plain_name(word)} "
        return tuple(key for key, entry in index().items() if any(plain in f" {name} " for name in entry["words"]))


def all_traits(crops: Iterable[Crop]) -> tuple[str, ...]:
    """Every trait that some crop has, sorted."""
    return tuple(sorted(frozenset().union(*(traits(crop) for crop in crops))))
