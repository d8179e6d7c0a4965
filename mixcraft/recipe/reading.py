"""From checked documents to `Recipe`, with every fault reported at once; gardens are read in `reading_garden`.

The JSON Schema has its say first.  Here stands what is a matter of how a file is written (is there such a crop, is a length a
length, is one amount given); what a recipe must keep, wherever it comes from, stands in `rules`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, cast

from mixcraft.crops import UnknownCrop, crop_from_mapping, find_crop
from mixcraft.crops.checking import crop_faults_at
from mixcraft.crops.keys import CropKey
from mixcraft.crops.library import AmbiguousCrop
from mixcraft.crops.model import Crop
from mixcraft.files import Document, Fault, FileFaults, check_schema, load_document, parse_quantity
from mixcraft.files.migrate import up_to_date
from mixcraft.files.near import did_you_mean

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
    SeedRate,
    Serves,
    Span,
    SpringFrost,
    Start,
    Strip,
    Thinning,
    Times,
    Until,
    Usual,
    WarmSoil,
    Where,
    WholeBed,
    Zone,
)
from .overrides import overridden, value_in
from .reader import PathTuple, Reader, checked
from .reading_garden import load_garden, read_garden
from .reading_words import amount_at, name_as_written, part_of_name, read_rows, sown_way
from .rules import faults_of

__all__ = ["load_garden", "load_recipe", "read_garden", "read_recipe"]


def _unknown_crops(document: Document) -> list[Fault]:
    """Crops that nobody knows, in a recipe whose schema has faults of its own, so that all are told at once."""
    reader = Reader(document)
    plantings = document.data.get("plantings")
    own = document.data.get("crops")
    known = {str(name).casefold() for name in own} if isinstance(own, Mapping) else set()
    for i, entry in enumerate(plantings if isinstance(plantings, list) else ()):
        name = entry.get("crop") if isinstance(entry, Mapping) else None
        if isinstance(name, str) and name.casefold() not in known:
            _crop(reader, name, ("plantings", i, "crop"), {})
    return reader.faults


def read_recipe(document: Document) -> Recipe:
    """The `Recipe` of a document; raises `FileFaults` with all its faults."""
    document = up_to_date(document)
    data = checked(document, "recipe", _unknown_crops).data
    reader = Reader(document)
    own = _own_crops(reader, data.get("crops") or {})
    bed = parse_quantity(data["bed"]["length"], "length"), parse_quantity(data["bed"]["width"], "length")
    plantings = tuple(_planting(reader, entry, ("plantings", i), own, bed) for i, entry in enumerate(data["plantings"]))
    plantings = _referred(_named_apart(plantings, data["plantings"]))
    recipe = Recipe(
        name=data["name"], author=data.get("author", ""), licence=data.get("licence", ""), about=data.get("about", ""),
        length_m=bed[0], width_m=bed[1],
        plantings=plantings, serves=_serves(reader, data.get("serves")), document=document,
    )  # fmt: skip
    faults = [*reader.faults, *_beside(reader.faults, faults_of(recipe))]
    if faults:
        raise FileFaults(faults)
    return recipe


def _serves(reader: Reader, data: Mapping[str, Any] | None) -> Serves | None:
    if data is None:
        return None
    start, until = (reader.month_day(data[key], ("serves", key)) for key in ("from", "until"))
    return Serves(start, until)


def _beside(noted: list[Fault], more: list[Fault]) -> list[Fault]:
    """The faults of the rules, without those of plantings whose crop nobody knows: they were looked at as some other crop."""
    doubtful = tuple(f.path.removesuffix("crop") for f in noted if f.rule == "crop.unknown")
    return [fault for fault in more if not fault.path.startswith(doubtful)] if doubtful else more


def _own_crops(reader: Reader, crops: Mapping[str, Any]) -> dict[str, Crop]:
    found: dict[str, Crop] = {}
    for name, data in crops.items():
        path = ("crops", name)
        entry = {"format": "mixcraft-crop/1", "id": re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-"), **data}
        faults = check_schema(reader.document, "crop", at=path, data=entry)
        faults = faults or crop_faults_at(reader.document, path, entry)
        reader.faults += faults
        if not faults:
            found[name.casefold()] = crop_from_mapping(entry, origin="recipe")
    return found


def _crop(reader: Reader, name: str, path: PathTuple, own: Mapping[str, Crop]) -> Crop:
    if name.casefold() in own:
        return own[name.casefold()]
    try:
        return find_crop(name)
    except AmbiguousCrop as error:
        meant_by = ", ".join(error.suggestions)
        reader.fault(path, str(error), "crop.unknown", found=name, allowed=meant_by, repair="write one of these")
        return find_crop(error.suggestions[0])
    except UnknownCrop as error:
        near = [*error.suggestions, *did_you_mean(name, list(own), names=True)]
        hint = f"did you mean {' or '.join(near[:3])}?" if near else "`mixcraft crops` lists the crops there are"
        reader.fault(
            path, f"no crop called {name!r}", "crop.unknown", found=name, allowed="a crop of the library or of this recipe",
            repair=hint,
        )  # fmt: skip
        return find_crop("radish")


def _overridden(reader: Reader, crop: Crop, overrides: Mapping[str, Any], path: PathTuple) -> Crop:
    values: dict[str, float] = {}
    for key, given in overrides.items():
        record = crop.records.get(cast(CropKey, key))
        if record is None:
            near = did_you_mean(key, list(crop.records))
            reader.fault(
                (*path, key), f"{crop.name} has no value called {key}", "override.unknown", found=key,
                repair=f"did you mean {near[0]}?" if near else f"`mixcraft crops {crop.id}` shows its values",
            )  # fmt: skip
            continue
        value = value_in(given, record.unit)
        if value is not None:
            values[key] = value
            continue
        reader.fault(
            (*path, key), f"{given!r} is no value in {record.unit}", "override.unit", found=str(given),
            allowed=f"a value in {record.unit}", repair=f'write the number with its unit, such as "1 {record.unit}"',
        )  # fmt: skip
    return overridden(crop, values)


def _planting(
    reader: Reader, data: Mapping[str, Any], path: PathTuple, own: Mapping[str, Crop], bed: tuple[float, float]
) -> Planting:
    """A planting of a recipe for a `bed` of this length and width [m]."""
    crop = _crop(reader, data["crop"], (*path, "crop"), own)
    where = _where(reader, data["place"], (*path, "place"), bed)
    crop = _overridden(reader, crop, data.get("overrides") or {}, (*path, "overrides"))
    planting = Planting(
        name=data.get("name") or name_as_written(data["crop"], crop), crop=crop, cultivar=data.get("cultivar", ""),
        establish=sown_way(data["establish"], crop, where), where=where,
        start=_start(reader, data["start"], (*path, "start")), end=_end(reader, data.get("end"), (*path, "end")),
        amount=_amount(reader, data, where, crop, bed), again=_again(reader, data.get("again"), (*path, "again")),
        thin=_thinning(reader, data.get("thin"), (*path, "thin")),
        covers=tuple(_cover(reader, c, (*path, "cover", i)) for i, c in enumerate(data.get("cover", ()))),
        support=(data.get("support") or {}).get("kind", ""),
        support_height_m=reader.quantity(data.get("support") or {}, "height", "length"),
        harvest=tuple(
            _harvest(reader, h, (*path, "harvest", i)) for i, h in enumerate(data.get("harvest", part_of_name(data["crop"])))
        ),
        depth_m=reader.quantity(data, "depth", "length"), years=data.get("years"), note=data.get("note", ""), path=path,
    )  # fmt: skip
    _one_amount(reader, data, planting.name, path)
    return planting


def _amount(reader: Reader, data: Mapping[str, Any], where: Where, crop: Crop, bed: tuple[float, float]) -> Amount:
    if "spacing" in data:
        return amount_at(reader.quantity(data, "spacing", "length"), where, crop, bed)
    if "count" in data:
        return Count(data["count"])
    if "density" in data:
        return Density(reader.quantity(data, "density", "density"))
    return SeedRate(reader.quantity(data, "seed_rate", "seed_rate")) if "seed_rate" in data else Usual()


def _again(reader: Reader, data: Mapping[str, Any] | None, path: PathTuple) -> Again | None:
    if data is None:
        return None
    until = data["until"]
    build: dict[str, Callable[[], Until]] = {
        "times": lambda: Times(until["times"]), "date": lambda: _date(reader, until, (*path, "until")),
        "autumn-frost": lambda: AutumnFrost(float(until["weeks"])),
    }  # fmt: skip
    return Again(reader.quantity(data, "every", "duration"), build[until["kind"]]())


def _one_amount(reader: Reader, data: Mapping[str, Any], name: str, path: PathTuple) -> None:
    given = [key for key in ("count", "density", "seed_rate", "spacing") if key in data]
    if len(given) > 1:
        reader.fault(
            path, f"{name}: more than one amount is given", "amount.one", found=", ".join(given),
            allowed="one of count, density, seed_rate, spacing", repair='keep one, for example `density: 40 plants/m2`',
        )  # fmt: skip


def _thinning(reader: Reader, data: Mapping[str, Any] | None, path: PathTuple) -> Thinning | None:
    if not data:
        return None
    at = reader.moment(data["at"], (*path, "at")) if "at" in data else None
    return Thinning(parse_quantity(data["sown"], "density"), at)


def _cover(reader: Reader, data: Mapping[str, Any], path: PathTuple) -> CoverUse:
    return CoverUse(data["kind"], *(reader.moment(data[key], (*path, key)) for key in ("on", "off")))


def _harvest(reader: Reader, data: Mapping[str, Any], path: PathTuple) -> HarvestUse:
    start, until = (reader.moment(data[key], (*path, key)) if key in data else None for key in ("from", "until"))
    return HarvestUse(
        data["part"],
        data.get("method"),
        reader.quantity(data, "every", "duration"),
        data.get("cuts"),
        start,
        until,
        reader.quantity(data, "cut_height", "length"),
    )


def _where(reader: Reader, data: Mapping[str, Any], path: PathTuple, bed: tuple[float, float]) -> Where:
    kind = data["kind"]

    def pair(key_a: PathTuple, a: str, key_b: PathTuple, b: str) -> tuple[Span, Span]:
        return reader.span(a, (*path, *key_a)), reader.span(b, (*path, *key_b))

    build: dict[str, Callable[[], Where]] = {
        "whole": WholeBed,
        "strip": lambda: Strip(pair(("from",), data["from"], ("to",), data["to"])),
        "zone": lambda: Zone(
            pair(("x", 0), data["x"][0], ("x", 1), data["x"][1]), pair(("y", 0), data["y"][0], ("y", 1), data["y"][1])
        ),
        "row": lambda: read_rows(reader, data, path, bed),
        "points": lambda: Points(tuple(pair(("at", i, 0), p[0], ("at", i, 1), p[1]) for i, p in enumerate(data["at"]))),
        "edge": lambda: Border(data["edge"], reader.quantity(data, "depth", "length", constant("border_depth"))),
        "trellis": lambda: AtTrellis(data.get("edge", "any")),
    }  # fmt: skip
    return build[kind]()


def _start(reader: Reader, data: Mapping[str, Any], path: PathTuple) -> Start:
    build: dict[str, Callable[[], Start]] = {
        "date": lambda: _date(reader, data, path),
        "soil": lambda: WarmSoil(
            reader.quantity(data, "at_least", "temperature"),
            reader.month_day(data["not_before"], (*path, "not_before")) if "not_before" in data else "",
        ),
        "frost": lambda: SpringFrost(float(data["weeks"])),
        "autumn-frost": lambda: AutumnFrost(float(data["weeks"])),
        "after": lambda: After(data["planting"], data["event"], reader.quantity(data, "wait", "duration", 0.0)),
    }  # fmt: skip
    return build[data["kind"]]()


def _end(reader: Reader, data: Mapping[str, Any] | None, path: PathTuple) -> End:
    if data is None:
        return Harvested()
    build: dict[str, Callable[[], End]] = {
        "harvested": Harvested,
        "date": lambda: _date(reader, data, path),
        "age": lambda: AtAge(reader.quantity(data, "time", "duration")),
        "autumn-frost": lambda: AutumnFrost(float(data["weeks"])),
    }
    return build[data["kind"]]()


def _date(reader: Reader, data: Mapping[str, Any], path: PathTuple) -> OnDate:
    return OnDate(reader.month_day(data["on"], (*path, "on")), data.get("hemisphere", ""))


def _named_apart(plantings: tuple[Planting, ...], entries: list[Any]) -> tuple[Planting, ...]:
    """Give unnamed repeats a number."""
    seen: dict[str, int] = {}
    given = {entry["name"] for entry in entries if "name" in entry}
    result = []
    for planting, entry in zip(plantings, entries, strict=True):
        name = planting.name
        seen[name] = seen.get(name, 0) + 1
        if seen[name] > 1 and "name" not in entry:
            while f"{name} {seen[name]}" in given:
                seen[name] += 1
            planting = replace(planting, name=f"{name} {seen[name]}")
        result.append(planting)
    return tuple(result)


def _referred(plantings: tuple[Planting, ...]) -> tuple[Planting, ...]:
    """Plantings that wait for another by any name of its crop ("lettuce"), if only one planting is of it, by its own name."""
    names = {p.name for p in plantings}
    result = []
    for planting in plantings:
        start = planting.start
        if isinstance(start, After) and start.planting not in names:
            same = [p.name for p in plantings if p.name.casefold() == start.planting.casefold()]
            meant = same or _of_crop(plantings, start.planting)
            if len(meant) == 1:
                planting = replace(planting, start=replace(start, planting=meant[0]))
        result.append(planting)
    return tuple(result)


def _of_crop(plantings: tuple[Planting, ...], name: str) -> list[str]:
    """Names of the plantings of the crop that is called `name`."""
    try:
        wanted = find_crop(name).id
    except UnknownCrop:
        return []
    return [p.name for p in plantings if p.crop.id == wanted]


def load_recipe(path: str | Path) -> Recipe:
    """Read and check the recipe file at `path`; raises `FileFaults` with every fault of the file."""
    return read_recipe(load_document(path))
