"""Crops by their names in the language of a card.

German, French and Spanish names stand in the crop files, Dutch ones in ``crop_names_nl.yaml``.  A planting that the recipe gives
a name of its own, or calls in words that only its author uses, keeps that name.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import yaml

from mixcraft.crops.model import Crop
from mixcraft.recipe.plan import Plan, Planned

from .catalogue import ENGLISH, Catalogue, language_of

if TYPE_CHECKING:
    from mixcraft.season.result import Season


@lru_cache(maxsize=8)
def _more(language: str) -> Mapping[str, str]:
    """Names of a language that the crop files lack, by crop."""
    file = Path(__file__).with_name(f"crop_names_{language}.yaml")
    if not file.exists():
        return {}
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    found: dict[str, str] = yaml.load(file.read_bytes(), Loader=loader)["names"]
    return found


def crop_name(crop: Crop, t: Catalogue = ENGLISH) -> str:
    """The usual name of a crop in a language, the English one where it has none."""
    language = language_of(t)
    names = crop.names.get(language)
    return names[0] if names else _more(language).get(crop.id, crop.name)


def in_language(season: Season, t: Catalogue) -> Season:
    """The season with the plantings that the recipe calls by their crop's English name called as in the language of `t`, in the
    notes of its plan too."""
    if language_of(t) in ("en", "en_US"):
        return season
    plan = season.plan
    plantings = tuple(_renamed(planned, plan, t) for planned in plan.plantings)
    called = {old.name: new.name for old, new in zip(plan.plantings, plantings, strict=True)}
    notes = tuple(replace(note, plantings=tuple(called.get(name, name) for name in note.plantings)) for note in plan.notes)
    return replace(season, plan=replace(plan, plantings=plantings, notes=notes))


def _renamed(planned: Planned, plan: Plan, t: Catalogue) -> Planned:
    """A planting called in another language; the number of a later sowing ("radish 2") stays."""
    planting = planned.planting
    first, _, number = planting.name.rpartition(" ")
    base, number = (first, f" {number}") if number.isdecimal() and first else (planting.name, "")
    known = {name.casefold() for name in planting.crop.names.get("en", ())}
    if base.casefold() not in known:
        return planned
    return replace(planned, planting=replace(planting, name=crop_name(planting.crop, t) + number))
