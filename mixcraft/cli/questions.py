"""Questions of one crop, one gap, one pair, without a recipe: fill, pair, amounts."""

from __future__ import annotations

import json
import math
import re
import sys
from argparse import Namespace
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from mixcraft.files import UsageError, load_document, parse_quantity

if TYPE_CHECKING:
    from mixcraft.crops.model import Crop
    from mixcraft.design.amounts import Amounts
    from mixcraft.design.fill import Fill
    from mixcraft.design.pair import Pair
    from mixcraft.recipe.model import Garden

USUAL_PLACE = "Oxford"
"""Where a pair is grown if nobody says where: a mild place of the middle latitudes.  Common practice, no source."""


def fill(args: Namespace) -> int:
    """Rank what can go in now: in a bed, at a place, or into the gap of a recipe."""
    from mixcraft.design.fill import fill as find
    from mixcraft.design.fill import fill_recipe
    from mixcraft.words.answers import fill_lines

    crops, beside, history = (crops_named(text) for text in (args.crops, args.beside, args.after))
    if _is_recipe(args.where):
        if not args.garden:
            raise UsageError(f"{args.where} is a recipe: add --garden FILE, and --bed if the garden has several")
        if args.light < 1.0 or args.beside or args.after or args.area:
            raise UsageError("light, neighbours, history and ground come from the recipe and its garden; leave those options out")
        from .inputs import recipe_in_bed

        args.recipe = args.where
        recipe, garden, bed = recipe_in_bed(args)
        answer = fill_recipe(recipe, garden, bed, month_day=args.on or "", crops=crops)
    else:
        garden, bed = _garden_and_bed(args)
        if not args.on:
            raise UsageError("add --on with the day on which something is to go in, such as --on 07-15")
        answer = find(
            garden, bed, args.on, until=args.until or "", area_m2=_area(args.area), light=args.light, beside=beside,
            history=history, crops=crops,
        )  # fmt: skip
    print(json.dumps(fill_json(answer), ensure_ascii=False, indent=1) if args.json else "\n".join(fill_lines(answer, args.most)))
    return 0


def pair(args: Namespace) -> int:
    """Say whether two crops may share a bed, how near, who gains, and on what evidence."""
    from mixcraft.design.curves import NothingGrows
    from mixcraft.design.pair import pair as find
    from mixcraft.words.answers import pair_lines

    first, second = _crop(args.first), _crop(args.second)
    if first.id == second.id:
        raise UsageError(f"{first.name} twice: give two crops")
    garden = _garden(args.at or USUAL_PLACE)
    try:
        answer = find(first, second, garden)
    except NothingGrows as error:
        raise UsageError(f"{_nothing(str(error), garden)}; ask of another place with --at") from None
    print(json.dumps(pair_json(answer), ensure_ascii=False, indent=1) if args.json else "\n".join(pair_lines(answer)))
    return 0


def amounts(args: Namespace) -> int:
    """From portions a week to sowings, plants, ground and seed; or back from ground, plants or seed."""
    from mixcraft.design.amounts import amounts as find
    from mixcraft.design.curves import NothingGrows
    from mixcraft.words.answers import amounts_lines

    given = [name for name in ("area", "plants", "seed") if getattr(args, name) is not None]
    if len(given) > 1 or (given and args.portions is not None):
        raise UsageError("give one of --portions, --area, --plants and --seed")
    if bool(args.start) != bool(args.until):
        raise UsageError("--from and --until go together")
    garden, made, nothing = _garden(args.at), [], []
    for crop in crops_named(args.crop):
        try:
            if given:
                made.append(_from_ground(crop, garden, args))
            else:
                made.append(find(crop, garden, args.portions or 1.0, start=args.start or "", until=args.until or ""))
        except NothingGrows:
            nothing.append(_nothing(crop.name, garden))
    if not made:
        raise UsageError("; ".join(nothing))
    for said in nothing:
        print(f"mixcraft: {said}", file=sys.stderr)
    if args.json:
        print(json.dumps([amounts_json(one) for one in made], ensure_ascii=False, indent=1))
    else:
        print("\n".join(line for one in made for line in amounts_lines(one)))
    return 0


def _nothing(name: str, garden: Garden) -> str:
    return f"{name} gives nothing in time at {garden.place.name}, from any start"


def _from_ground(crop: Crop, garden: Garden, args: Namespace) -> Amounts:
    from mixcraft.design.amounts import area_of_plants, area_of_seed, from_ground

    if args.plants is not None:
        area = area_of_plants(crop, args.plants)
    else:
        area = _area(args.area) if args.area is not None else area_of_seed(crop, _grams(args.seed))
    return from_ground(crop, garden, area, month_day=args.on or "")


# Arguments ------------------------------------------------------------------------------------------


def _is_recipe(name: str) -> bool:
    if not name.lower().endswith((".yaml", ".yml")):
        return False
    data = load_document(name).data
    return isinstance(data, dict) and str(data.get("format", "")).startswith("mixcraft-recipe")


def _garden(where: str) -> Garden:
    """The garden of a file, or a bare one at a place."""
    from mixcraft.place import UnknownPlace, reference_place
    from mixcraft.recipe.model import Bed, Garden
    from mixcraft.recipe.reading import load_garden

    if where.lower().endswith((".yaml", ".yml")):
        return load_garden(where)
    try:
        place = reference_place(where)
    except UnknownPlace as error:
        raise UsageError(str(error)) from None
    return Garden(place.name, place, (Bed("bed", 1.0, 1.0),))


def _garden_and_bed(args: Namespace) -> tuple[Garden, str]:
    from .inputs import bed_name

    garden = _garden(args.where)
    args.garden = args.where
    return garden, bed_name(args, garden)


def _crop(name: str) -> Crop:
    from mixcraft.crops import UnknownCrop, find_crop

    try:
        return find_crop(name.strip())
    except UnknownCrop as error:
        near = f"did you mean {' or '.join(error.suggestions)}?" if error.suggestions else "`mixcraft crops` lists them"
        raise UsageError(f"no crop called {name.strip()!r}: {near}") from None


def crops_named(text: str | Sequence[str]) -> tuple[Crop, ...]:
    """Crops named with commas between them."""
    words = text if isinstance(text, str) else " ".join(text)
    return tuple(dict.fromkeys(_crop(name) for name in words.split(",") if name.strip()))


def _area(text: str | None) -> float:
    """An area such as ``0.5 m2`` or ``6 sqft`` [m2]; 0 for none."""
    if not text:
        return 0.0
    found = re.fullmatch(r"\s*([\d.]+)\s*(m2|m²|sqft|sq ft|ft2)?\s*", text)
    try:
        value = float(found[1]) * (0.09290304 if found[2] and "f" in found[2] else 1.0) if found else math.nan
    except ValueError:
        value = math.nan
    if not 0.0 < value <= 500.0:
        raise UsageError(f"{text}: give an area up to 500 m2, such as '1.5 m2' or '16 sqft'")
    return value


def _grams(text: str) -> float:
    from mixcraft.files import QuantityError

    try:
        return float(parse_quantity(text, "mass"))
    except QuantityError as error:
        raise UsageError(f"--seed {text}: {error}") from None


# JSON -----------------------------------------------------------------------------------------------


def fill_json(answer: Fill) -> dict[str, Any]:
    """What can go here as plain data."""
    from mixcraft.words.answers import against_words

    return {
        "from": str(answer.gap.start)[5:10], "until": str(answer.gap.until)[5:10] if answer.gap.until is not None else None,
        "area_m2": round(answer.gap.area_m2, 2), "free": answer.gap.free,
        "crops": [
            {
                "crop": f.grown.crop.id, "establish": f.grown.establish, "first": str(f.grown.first)[5:10],
                "last": str(f.grown.last)[5:10], "portions": round(f.portions, 1), "portions_band": [round(v, 1) for v in f.band],
                "eaten": round(f.useful, 1), "gain": None if f.gain is None else round(f.gain, 1),
                "against": [against_words(a) for a in f.against],
            }
            for f in answer.found
        ],
        "nothing": list(answer.nothing),
    }  # fmt: skip


def pair_json(answer: Pair) -> dict[str, Any]:
    """Whether two crops may share a bed as plain data."""
    return {
        "crops": [c.id for c in answer.crops], "place": answer.place, "starts": list(answer.starts), "near_m": answer.near_m,
        "rows": [
            {"distance_m": round(r.distance_m, 2), "first_sunny": r.first_sunny, "kept": [round(k, 3) for k in r.kept]}
            for r in answer.rows
        ],
        "half_each": [round(s, 3) for s in answer.share], "land_equivalent_ratio": round(answer.ratio, 3),
        "interactions": [
            {"from": answer.crops[e.source].id, "to": answer.crops[e.target].id, "kind": e.kind, "strength": round(e.strength, 3),
             "evidence": e.evidence} for e in answer.edges
        ],
        "published": [
            {"kept": [None if math.isnan(k) else k for k in p.kept], "ratio": None if math.isnan(p.ratio) else p.ratio,
             "source": p.source} for p in answer.published
        ],
    }  # fmt: skip


def amounts_json(answer: Amounts) -> dict[str, Any]:
    """The sowings of a crop as plain data."""
    return {
        "crop": answer.crop.id, "portions_a_week": answer.portions_a_week or None, "portion_g": answer.portion_g,
        "area_m2": round(answer.area_m2, 2),
        "sowings": [
            {"on": s.month_day, "establish": s.establish, "area_m2": s.area_m2, "plants": s.plants, "seeds": round(s.seeds),
             "seed_g": round(s.seed_g, 2), "first": str(s.first)[5:10], "last": str(s.last)[5:10],
             "portions": round(s.portions, 1)}
            for s in answer.sowings
        ],
        "not_served": [str(day)[5:10] for day in answer.unserved],
    }  # fmt: skip
