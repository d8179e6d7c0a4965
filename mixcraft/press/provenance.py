"""Where the numbers of a card come from: assumptions, versions and hashes."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import yaml

import mixcraft
from mixcraft.crops.library import DATA
from mixcraft.files.shelf import Same, Shelf
from mixcraft.place import Place, frost_dates, ground_frost_dates
from mixcraft.recipe.edits import recipe_text
from mixcraft.recipe.plan import Plan
from mixcraft.season.nitrogen import nitrogen_need
from mixcraft.season.result import Season
from mixcraft.words.amounts import INCH_M, Units, area_words, length_words
from mixcraft.words.catalogue import ENGLISH, Catalogue
from mixcraft.words.climate import frost_words, taken_from_words
from mixcraft.words.notes import plan_notes
from mixcraft.words.plain import N_, under_words

BIBLIOGRAPHY = DATA.parent / "bibliography.yaml"
HASH_LENGTH = 12
WATERING = {
    "watered": N_("watered whenever it needs it"), "rain": N_("rain only, never watered"),
    "weekly": N_("watered with {amount} a week"),
}  # fmt: skip
SOILS = {
    "sand": N_("sand"), "loamy sand": N_("loamy sand"), "sandy loam": N_("sandy loam"), "loam": N_("loam"),
    "silt loam": N_("silt loam"), "silt": N_("silt"), "clay loam": N_("clay loam"), "silty clay": N_("silty clay"),
    "clay": N_("clay"), "raised bed mix": N_("raised bed mix"),
}  # fmt: skip
BAND_FROM = 5
"""Fewer weather years than this have no range."""


@dataclass(frozen=True)
class Provenance:
    """Versions and hashes (hexadecimal, shortened) of what a card was made from."""

    engine: str
    crops: str
    recipe: str
    author: str
    licence: str
    file: str


_texts = Shelf(8)


def recipe_bytes(plan: Plan) -> bytes:
    """The recipe as a file: that which it was read from, byte for byte; edited if the recipe was changed since, and written anew
    if it was made in memory."""
    recipe, document = plan.recipe, plan.recipe.document
    text: str = _texts(Same(recipe), lambda: recipe_text(recipe))
    return document.source if document is not None and document.text == text else text.encode("utf-8")


def garden_bytes(plan: Plan) -> bytes:
    """The garden file byte for byte; empty for a garden made in memory."""
    return plan.garden.document.source if plan.garden.document else b""


def crop_hash(plan: Plan) -> str:
    """Hash of the crop files of the library that the recipe uses; words where it brings all its crops along."""
    digest = hashlib.sha256()
    used = sorted({p.planting.crop.id for p in plan.plantings if p.planting.crop.origin == "library"})
    paths = [path for path in (DATA / f"{crop_id}.yaml" for crop_id in used) if path.exists()]
    for path in paths:
        digest.update(path.stem.encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()[:HASH_LENGTH] if paths else "of the recipe"


def provenance(plan: Plan) -> Provenance:
    """Versions and hashes of `plan`."""
    source = recipe_bytes(plan)
    return Provenance(
        mixcraft.__version__, crop_hash(plan), hashlib.sha256(source).hexdigest()[:HASH_LENGTH] if source else "none",
        plan.recipe.author, plan.recipe.licence, plan.recipe.file.replace("\\", "/").rsplit("/", 1)[-1],
    )  # fmt: skip


def assumptions(season: Season, units: Units, t: Catalogue = ENGLISH) -> tuple[str, ...]:
    """What the dates and amounts rest on, a sentence each."""
    plan, bed = season.plan, season.plan.bed
    place = plan.place
    water = t.gettext(WATERING[bed.watering.kind]).format(amount=_water(bed.watering.mm_per_week, units))
    normals = f"{taken_from_words(place.taken_from, t, units)}," if place.taken_from else t.gettext("normals")
    dates = t.gettext(
        "Dates are for the normal year of {place} ({where}); {normals} from {sources}. A late or early spring moves them: go by "
        "the soil and the sky."
    ).format(place=place.name, where=_where(place, units, t), normals=normals, sources=_normals(plan, t))
    ground = filter(None, (under_words(bed.under, t), t.gettext(SOILS.get(bed.soil, bed.soil))))
    band = t.gettext(", with the range of eight years in ten") if season.years >= BAND_FROM else ""
    amounts = t.gettext(
        "Amounts are the middle of {years} weather years{band}, as fresh weight; {soil}, {water}; pests, diseases and weeds are "
        "not counted."
    ).format(years=season.years, band=band, soil=", ".join(ground), water=water)
    frost = frost_words(frost_dates(place), ground_frost_dates(place), t)
    said = (dates, frost, amounts, _feed(season, units, t), *_over_the_edge(plan, units, t), *plan_notes(plan, units, t))
    return tuple(s for s in said if s)


LITRES_PER_CUBIC_FOOT = 1000.0 * (12.0 * INCH_M) ** 3
"""By definition of the inch."""


def _feed(season: Season, units: Units, t: Catalogue) -> str:
    """What the bed wants of nitrogen, and the compost that would give it."""
    need = nitrogen_need(season)
    litres = need.compost_l_m2 * season.plan.bed.area_m2
    if litres < 1.0:
        return t.gettext("Feed: soil and legumes give the nitrogen that these crops want.")
    cubic_feet = f"{litres / LITRES_PER_CUBIC_FOOT:.1f}"
    compost = f"{litres:.0f}\u00a0l" if units == "metric" else t.gettext("{number} cubic feet").format(number=cubic_feet)
    return t.gettext(
        "Feed: these crops want {wanted} g of nitrogen to the square metre, soil and legumes give {given}; {amount} of garden "
        "compost over the bed make up the rest."
    ).format(wanted=f"{need.wanted:.0f}", given=f"{need.soil + need.fixed:.0f}", amount=compost)


def _over_the_edge(plan: Plan, units: Units, t: Catalogue) -> list[str]:
    """Plantings whose vines run over the edge of the bed, with the ground that they take there."""
    said = t.gettext("{planting} runs over the edge of the bed and takes {area} of what lies beside it; lead the tips there.")
    return [said.format(planting=p.name, area=area_words(p.stand.beyond_m2, units)) for p in plan.plantings if p.stand.beyond_m2]


def _degrees(value: float, positive: str, negative: str) -> str:
    return f"{abs(value):.2f}° {positive if value >= 0 else negative}"


def _elevation(metres: float, units: Units) -> str:
    return f"{metres:.0f} m" if units == "metric" else f"{metres / (12 * INCH_M):.0f} ft"


def _water(millimetres: float, units: Units) -> str:
    return f"{millimetres:g} mm" if units == "metric" else length_words(millimetres / 1000.0, units)


def _where(place: Place, units: Units, t: Catalogue) -> str:
    """Where a place lies; a longitude that is not known (NaN) is left out."""
    east = "" if math.isnan(place.longitude_deg) else f"{_degrees(place.longitude_deg, 'E', 'W')}, "
    at = f"{_degrees(place.latitude_deg, 'N', 'S')}, {east}{_elevation(place.elevation_m, units)}"
    return t.gettext("{where} above the sea").format(where=at)


def _normals(plan: Plan, t: Catalogue) -> str:
    """The sources of the place's normals, each once, with their years."""
    found: dict[str, set[str]] = {}
    for line in plan.place.normals.sources:
        name, colon, rest = line.partition(": ")
        parts = [p.strip() for p in (rest if colon else name).split(",")]
        period = next((p for p in reversed(parts) if p[:4].isdigit() and "-" in p), "")
        found.setdefault(_cited(parts[0]), set()).add(period)
    if not any(found):
        return t.gettext("the garden file")
    return "; ".join(f"{name} {', '.join(sorted(p for p in periods if p))}".strip() for name, periods in found.items())


@lru_cache(maxsize=1)
def _bibliography() -> Mapping[str, Mapping[str, Any]]:
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    found: dict[str, dict[str, Any]] = yaml.load(BIBLIOGRAPHY.read_bytes(), Loader=loader) if BIBLIOGRAPHY.exists() else {}
    return found


def _cited(key: str) -> str:
    """Author and title of a source, or its key where the bibliography has none."""
    record = _bibliography().get(key)
    if record is None:
        return key
    return ", ".join(str(record[part]) for part in ("authors", "title") if record.get(part) not in (None, "", "-")) or key
