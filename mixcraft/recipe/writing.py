"""From a recipe to the data and the text of a recipe file, such that reading the text gives an equal recipe.

Quantities are written in the unit that people would choose, as long as that unit gives the very same number back.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Any

from mixcraft.crops import UnknownCrop, find_crop, find_crop_id
from mixcraft.crops.library import index, load_crop
from mixcraft.crops.mapping import crop_to_mapping
from mixcraft.crops.model import Crop
from mixcraft.crops.records import Record
from mixcraft.files import format_quantity, parse_quantity
from mixcraft.files.edit import block_lines, flow_text

from .constants import constant
from .model import (
    After,
    Again,
    Amount,
    AtAge,
    AtTrellis,
    AutumnFrost,
    Border,
    Count,
    CoverUse,
    Density,
    End,
    Harvested,
    HarvestUse,
    OnDate,
    Planting,
    Points,
    Recipe,
    Rows,
    SeedRate,
    Serves,
    Span,
    SpringFrost,
    Start,
    Strip,
    Thinning,
    Times,
    WarmSoil,
    Where,
    WholeBed,
    Zone,
)
from .moments import moment_text
from .overrides import overridden, unit_text

FORMAT = "mixcraft-recipe/1"
_BASE = {
    "length": "m", "density": "plants/m2", "seed_rate": "g/m2", "temperature": "C", "duration": "days",
}  # fmt: skip
"""How the base unit of a dimension is written."""
MOST_LETTERS = 22
"""A US quantity longer than this was not written so by anyone."""
BORDER_M = constant("border_depth")
"""Depth of a border that a recipe does not give [m]."""


def recipe_data(recipe: Recipe) -> dict[str, Any]:
    """The data of a recipe file: dictionaries, lists, texts and numbers, in the order in which they are written."""
    own = own_crops(recipe)
    data: dict[str, Any] = {"format": FORMAT, "name": recipe.name}
    data |= {key: text for key in ("author", "licence", "about") if (text := getattr(recipe, key))}
    if recipe.serves:
        data["serves"] = serves_data(recipe.serves)
    data["bed"] = {"length": quantity_text(recipe.length_m, "length"), "width": quantity_text(recipe.width_m, "length")}
    data["plantings"] = [
        {**({"name": p.name} if named else {}), **planting_data(p, own)}
        for p, named in zip(recipe.plantings, _named(recipe), strict=True)
    ]
    if own:
        data["crops"] = {key: crop_to_mapping(crop) for crop, key in own.items()}
    return data


def serves_data(serves: Serves) -> dict[str, str]:
    """The part of the year as a recipe file has it."""
    return {"from": serves.start, "until": serves.until}


def canonical_text(recipe: Recipe) -> str:
    """The text of a recipe file, written anew."""
    lines: list[str] = []
    for key, value in recipe_data(recipe).items():
        if key == "bed":
            lines += ["", f"bed: {flow_text(value)}"]
        elif key == "plantings":
            lines += ["", "plantings:"]
            for entry in value:
                lines += [f"  {line}" for line in _entry_lines(entry)] + [""]
            lines.pop()
        elif key == "crops":
            lines += ["", *block_lines({key: value})]
        else:
            lines += block_lines({key: value})
    return "\n".join(lines) + "\n"


def _entry_lines(entry: Mapping[str, Any]) -> list[str]:
    """A planting as an item of a list, its small mappings on one line each."""
    rows: list[str] = []
    for key, value in entry.items():
        if isinstance(value, dict):
            rows.append(f"{key}: {flow_text(value)}")
        elif isinstance(value, list):
            rows += [f"{key}:", *(f"  - {flow_text(item)}" for item in value)]
        else:
            rows += block_lines({key: value})
    return [f"- {rows[0]}", *(f"  {row}" for row in rows[1:])]


def _named(recipe: Recipe) -> list[bool]:
    """Which plantings need their names written: all whose name is not simply that of a crop that stands there once."""
    words = Counter(word for p in recipe.plantings for word in {p.name, p.crop.name})
    return [p.name != p.crop.name or words[p.name] > 1 for p in recipe.plantings]


# Crops -----------------------------------------------------------------------------------------


def own_crops(recipe: Recipe) -> dict[Crop, str]:
    """Crops that the recipe must bring itself, each with the name that it has there."""
    own: dict[Crop, str] = {}
    for planting in recipe.plantings:
        crop = planting.crop
        if crop in own or _of_library(crop) is not None:
            continue
        name, number = crop.name, 1
        while name.casefold() in {key.casefold() for key in own.values()} or not name.strip():
            number += 1
            name = f"{crop.name} {number}"
        own[crop] = name
    return own


def _of_library(crop: Crop) -> dict[str, str] | None:
    """The overrides that make this crop of one of the library; None if nothing does."""
    if crop.id not in index():
        return None
    base = load_crop(crop.id)
    if base is crop or base == crop:
        return {}
    if set(base.records) != set(crop.records):
        return None
    changed: dict[str, Record] = {key: new for key, new in crop.records.items() if new != base.records[key]}
    texts = {key: unit_text(record.value, record.unit) for key, record in changed.items()}
    values = {key: record.value for key, record in changed.items()}
    return texts if values and overridden(base, values) == crop else None


def crop_data(crop: Crop, own: Mapping[Crop, str]) -> dict[str, Any]:
    """The keys `crop` and `overrides` of a planting."""
    if crop in own:
        return {"crop": own[crop]}
    taken = {name.casefold() for name in own.values()}
    name = crop.name
    if name.casefold() in taken or _means(name) != crop.id:
        name = crop.id if crop.id not in taken else crop.botanical
    overrides = _of_library(crop)
    return {"crop": name, **({"overrides": overrides} if overrides else {})}


def _means(name: str) -> str:
    try:
        return find_crop_id(name)
    except UnknownCrop:
        return ""


def same_crop(a: str, b: str) -> bool:
    """Whether two names mean the same crop of the library."""
    return _means(a) == _means(b) and find_crop(a) is not None


# Plantings -------------------------------------------------------------------------------------


def planting_data(planting: Planting, own: Mapping[Crop, str]) -> dict[str, Any]:
    """A planting as it is written, without its name."""
    data = crop_data(planting.crop, own)
    overrides = data.pop("overrides", None)
    data |= {"cultivar": planting.cultivar} if planting.cultivar else {}
    data |= {"establish": planting.establish, **amount_data(planting.amount), **thinning_data(planting.thin)}
    data |= {"place": where_data(planting.where), "start": start_data(planting.start), **end_data(planting.end)}
    data |= again_data(planting.again)
    data |= {"cover": [cover_data(use) for use in planting.covers]} if planting.covers else {}
    data |= support_data(planting)
    data |= {"harvest": [harvest_data(use) for use in planting.harvest]} if planting.harvest else {}
    data |= {"overrides": overrides} if overrides else {}
    data |= {} if planting.depth_m is None else {"depth": quantity_text(planting.depth_m, "length")}
    data |= {} if planting.years is None else {"years": planting.years}
    return data | ({"note": planting.note} if planting.note else {})


def quantity_text(value: float, dimension: str) -> str:
    """A quantity as people write it, metric or US, if that reads as exactly this value; else in the base unit with all its
    figures."""
    for system in ("metric", "us"):
        text = format_quantity(value, dimension, system)
        if parse_quantity(text, dimension) == value and (system == "metric" or len(text) < MOST_LETTERS):
            return text
    return f"{value!r} {_BASE[dimension]}"


def span_text(span: Span) -> str:
    """A length or a share of a side."""
    if not span.share:
        return quantity_text(span.value, "length")
    text = format_quantity(span.value, "fraction")
    if text.endswith("%") and parse_quantity(text, "fraction") == span.value:
        return text
    from decimal import Decimal

    return f"{Decimal(repr(span.value)) * 100} %"


def amount_data(amount: Amount) -> dict[str, Any]:
    """The key that says how many, if one does."""
    match amount:
        case Count(plants):
            return {"count": plants}
        case Density(per_m2):
            return {"density": quantity_text(per_m2, "density")}
        case SeedRate(g_per_m2):
            return {"seed_rate": quantity_text(g_per_m2, "seed_rate")}
    return {}


def thinning_data(thin: Thinning | None) -> dict[str, Any]:
    """The key `thin`, if there is thinning."""
    if thin is None:
        return {}
    at = {} if thin.at is None else {"at": moment_text(thin.at)}
    return {"thin": {"sown": quantity_text(thin.sown_per_m2, "density"), **at}}


def where_data(where: Where) -> dict[str, Any]:
    """A place as it is written."""
    data: dict[str, Any] = {"kind": where.kind}
    match where:
        case WholeBed():
            return data
        case Strip(x):
            return data | {"from": span_text(x[0]), "to": span_text(x[1])}
        case Zone(x, y):
            return data | {"x": [span_text(s) for s in x], "y": [span_text(s) for s in y]}
        case Rows(along, at, ends):
            run = {} if ends is None else {"from": span_text(ends[0]), "to": span_text(ends[1])}
            return data | {"along": along, "at": [span_text(s) for s in at], **run}
        case Points(at):
            return data | {"at": [[span_text(x), span_text(y)] for x, y in at]}
        case Border(edge, depth_m):
            return data | {"edge": edge} | ({} if depth_m == BORDER_M else {"depth": quantity_text(depth_m, "length")})
        case AtTrellis(edge):
            return data | ({} if edge == "any" else {"edge": edge})


def start_data(start: Start) -> dict[str, Any]:
    """A start rule as it is written."""
    data: dict[str, Any] = {"kind": start.kind}
    match start:
        case OnDate():
            return data | _date_data(start)
        case WarmSoil(at_least_c, not_before):
            least = {"at_least": quantity_text(at_least_c, "temperature")}
            return data | least | ({"not_before": not_before} if not_before else {})
        case SpringFrost(weeks) | AutumnFrost(weeks):
            return data | {"weeks": plain(weeks)}
        case After(planting, event, wait_days):
            wait = {"wait": quantity_text(wait_days, "duration")} if wait_days else {}
            return data | {"planting": planting, "event": event, **wait}


def end_data(end: End) -> dict[str, Any]:
    """The key `end`, unless the planting is cleared after its last harvest."""
    match end:
        case Harvested():
            return {}
        case OnDate():
            return {"end": {"kind": end.kind, **_date_data(end)}}
        case AtAge(days):
            return {"end": {"kind": end.kind, "time": quantity_text(days, "duration")}}
        case AutumnFrost(weeks):
            return {"end": {"kind": end.kind, "weeks": plain(weeks)}}


def again_data(again: Again | None) -> dict[str, Any]:
    """The key `again`, if there is a succession."""
    if again is None:
        return {}
    until: dict[str, Any] = {"kind": again.until.kind}
    match again.until:
        case Times(sowings):
            until |= {"times": sowings}
        case OnDate():
            until |= _date_data(again.until)
        case AutumnFrost(weeks):
            until |= {"weeks": plain(weeks)}
    return {"again": {"every": quantity_text(again.every_days, "duration"), "until": until}}


def _date_data(date: OnDate) -> dict[str, str]:
    return {"on": date.month_day} | ({"hemisphere": date.hemisphere} if date.hemisphere else {})


def cover_data(use: CoverUse) -> dict[str, Any]:
    """A cover and its time as they are written."""
    return {"kind": use.kind, "on": moment_text(use.on), "off": moment_text(use.off)}


def support_data(planting: Planting) -> dict[str, Any]:
    """The key `support`, if there is one."""
    if not planting.support:
        return {}
    height = planting.support_height_m
    return {"support": {"kind": planting.support} | ({} if height is None else {"height": quantity_text(height, "length")})}


def harvest_data(use: HarvestUse) -> dict[str, Any]:
    """How one part is picked, as it is written."""
    data: dict[str, Any] = {"part": use.part}
    data |= {} if use.method is None else {"method": use.method}
    data |= {} if use.every_days is None else {"every": quantity_text(use.every_days, "duration")}
    data |= {} if use.cuts is None else {"cuts": use.cuts}
    data |= {} if use.cut_height_m is None else {"cut_height": quantity_text(use.cut_height_m, "length")}
    data |= {} if use.start is None else {"from": moment_text(use.start)}
    return data | ({} if use.until is None else {"until": moment_text(use.until)})


def plain(value: float) -> int | float:
    """A number without a point where it has no need of one."""
    return int(value) if float(value).is_integer() else value
