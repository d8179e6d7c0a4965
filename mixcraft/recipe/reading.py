"""From checked documents to `Recipe`, with every fault reported at once; gardens are read in `reading_garden`.

The JSON Schema has its say first; what it cannot express (does the crop exist, is one amount given, are moments
moments, do names repeat) is a list of small rules here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, cast

from mixcraft.crops import UnknownCrop, crop_from_mapping, find_crop
from mixcraft.crops.checking import crop_faults_at
from mixcraft.crops.clock import DORMANT
from mixcraft.crops.keys import CropKey
from mixcraft.crops.model import Crop
from mixcraft.files import Document, Fault, FileFaults, check_schema, load_document, parse_quantity
from mixcraft.files.near import did_you_mean

from .model import (
    After,
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
    Moment,
    OnDate,
    OnDay,
    Planting,
    Points,
    Recipe,
    Rows,
    SeedRate,
    Span,
    SpringFrost,
    Start,
    Strip,
    Thinning,
    Usual,
    WarmSoil,
    Where,
    WholeBed,
    Zone,
)
from .reader import PathTuple, Reader, checked
from .reading_garden import load_garden, read_garden

__all__ = ["load_garden", "load_recipe", "read_garden", "read_recipe"]

UNIT_DIMENSIONS: Mapping[str, str] = {
    "C": "temperature", "cm": "length", "m": "length", "d": "duration", "wk": "duration", "1/m2": "density",
}  # fmt: skip
_BASE_PER_UNIT: Mapping[str, float] = {"cm": 0.01, "wk": 7.0}
"""Base units (metres, days) in one unit of the crop files."""


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
    data = checked(document, "recipe", _unknown_crops).data
    reader = Reader(document)
    own = _own_crops(reader, data.get("crops") or {})
    plantings = tuple(
        _planting(reader, entry, ("plantings", i), own) for i, entry in enumerate(data["plantings"])
    )  # fmt: skip
    plantings = _referred(_named_apart(reader, plantings, data["plantings"]))
    _check_references(reader, plantings)
    if reader.faults:
        raise FileFaults(reader.faults)
    return Recipe(
        name=data["name"], author=data.get("author", ""), licence=data.get("licence", ""), about=data.get("about", ""),
        length_m=parse_quantity(data["bed"]["length"], "length"), width_m=parse_quantity(data["bed"]["width"], "length"),
        plantings=plantings, document=document,
    )  # fmt: skip


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
    except UnknownCrop as error:
        near = [*error.suggestions, *did_you_mean(name, list(own))]
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
        value = _override_value(reader, given, record.unit, (*path, key))
        if value is not None and value <= 0.0 and not _may_be_zero(key, record.unit):
            reader.fault(
                (*path, key), f"{key} of {crop.name} must be more than nothing", "override.positive", found=str(given),
                allowed=f"above 0; the library has {record.value:g} {record.unit}", repair="mend the number or leave it out",
            )  # fmt: skip
        elif value is not None:
            values[key] = value
    if "development.days_to_harvest" in values and "development.ready" not in values:
        share = values["development.days_to_harvest"] / crop["development.days_to_harvest"]
        values["development.ready"] = crop["development.ready"] * share
    return crop.with_values(values, "recipe") if values else crop


def _override_value(reader: Reader, given: Any, unit: str, path: PathTuple) -> float | None:
    if isinstance(given, int | float) and not isinstance(given, bool):
        if unit in ("1", "C d", "m2/m2", "g/MJ", "m2/kg", "1/(C d)", "kg/m2", "mol/m2/d", "1/g", "%"):
            return float(given)
    else:
        text = str(given).strip()
        try:
            if unit in UNIT_DIMENSIONS:
                return parse_quantity(text, UNIT_DIMENSIONS[unit]) / _BASE_PER_UNIT.get(unit, 1.0)
            if text.endswith(unit):
                return float(text.removesuffix(unit))
        except ValueError:
            pass
    reader.fault(
        path, f"{given!r} is no value in {unit}", "override.unit", found=str(given), allowed=f"a value in {unit}",
        repair=f'write the number with its unit, such as "1 {unit}"',
    )  # fmt: skip
    return None


def _may_be_zero(name: str, unit: str) -> bool:
    """Whether a crop's value may be nothing: temperatures, and thermal times at which something starts."""
    return unit == "C" or name in ("harvest.organ_start", "seed.depth")


def _planting(reader: Reader, data: Mapping[str, Any], path: PathTuple, own: Mapping[str, Crop]) -> Planting:
    crop = _crop(reader, data["crop"], (*path, "crop"), own)
    crop = _overridden(reader, crop, data.get("overrides") or {}, (*path, "overrides"))
    planting = Planting(
        name=data.get("name") or crop.name, crop=crop, cultivar=data.get("cultivar", ""),
        establish=data["establish"], where=_where(reader, data["place"], (*path, "place")),
        start=_start(reader, data["start"], (*path, "start")), end=_end(reader, data.get("end"), (*path, "end")),
        amount=_amount(reader, data),
        thin=_thinning(reader, data.get("thin"), (*path, "thin")),
        covers=tuple(_cover(reader, c, (*path, "cover", i)) for i, c in enumerate(data.get("cover", ()))),
        support=(data.get("support") or {}).get("kind", ""),
        support_height_m=reader.quantity(data.get("support") or {}, "height", "length"),
        harvest=tuple(
            _harvest(reader, h, (*path, "harvest", i), crop) for i, h in enumerate(data.get("harvest", ()))
        ),
        depth_m=reader.quantity(data, "depth", "length"), note=data.get("note", ""), path=path,
    )  # fmt: skip
    _check_amount(reader, data, planting, path)
    _check_establish(reader, planting, path)
    return planting


def _amount(reader: Reader, data: Mapping[str, Any]) -> Amount:
    if "count" in data:
        return Count(data["count"])
    if "density" in data:
        return Density(reader.quantity(data, "density", "density"))
    return SeedRate(reader.quantity(data, "seed_rate", "seed_rate")) if "seed_rate" in data else Usual()


def _check_amount(reader: Reader, data: Mapping[str, Any], planting: Planting, path: PathTuple) -> None:
    given = [key for key in ("count", "density", "seed_rate") if key in data]
    points = isinstance(planting.where, Points)
    if len(given) > 1 or (not given and not points):
        reader.fault(
            path, f"{planting.name}: {'one amount is needed' if not given else 'more than one amount is given'}",
            "amount.one", found=", ".join(given) or "none", allowed="one of count, density, seed_rate",
            repair='keep one, for example `density: 40 plants/m2`',
        )  # fmt: skip
    if points and given:
        reader.fault(
            (*path, given[0]), f"{planting.name}: drawn points already say how many", "amount.points", found=given[0],
            repair=f"delete {given[0]}",
        )  # fmt: skip
    if "seed_rate" in data and "seed.per_gram" not in planting.crop.records:
        reader.fault(
            (*path, "seed_rate"), f"{planting.crop.name} is not raised from seed", "amount.seedless", found="seed_rate",
            repair="give a count or a density",
        )  # fmt: skip
    best = planting.crop["spacing.density"]
    density = planting.amount.per_m2 if isinstance(planting.amount, Density) else None
    limit = max(
        planting.crop.records["spacing.density"].high or 0.0, planting.crop.number("spacing.cutting_density", 0.0), best
    )
    if density is not None and density > 10.0 * limit:
        reader.fault(
            (*path, "density"), f"{density:g} plants of {planting.crop.name} do not fit on a square metre",
            "amount.absurd", found=str(data["density"]), allowed=f"at most {10 * limit:g} plants/m2; {best:g} is usual",
            repair=f'write `density: {best:g} plants/m2`',
        )  # fmt: skip


def _check_establish(reader: Reader, planting: Planting, path: PathTuple) -> None:
    crop, way = planting.crop, planting.establish
    sown = way not in DORMANT
    if (sown and "seed.per_gram" not in crop.records) or (not sown and way != "plant" and way not in crop.establish):
        reader.fault(
            (*path, "establish"), f"{crop.name} is not established as {way}", "establish.way", found=way,
            allowed=", ".join(crop.establish), repair=f"write `establish: {crop.establish[0]}`",
        )  # fmt: skip


def _thinning(reader: Reader, data: Mapping[str, Any] | None, path: PathTuple) -> Thinning | None:
    if not data:
        return None
    return Thinning(parse_quantity(data["sown"], "density"), reader.moment(data["at"], (*path, "at")))


def _cover(reader: Reader, data: Mapping[str, Any], path: PathTuple) -> CoverUse:
    on, off = _span_of_time(reader, data, ("on", "off"), path)
    assert on is not None
    assert off is not None
    return CoverUse(data["kind"], on, off)


def _span_of_time(
    reader: Reader, data: Mapping[str, Any], keys: tuple[str, str], path: PathTuple
) -> tuple[Moment | None, Moment | None]:
    """Two moments, None where none is given; refused if the second comes before the first whatever the place."""
    noted = len(reader.faults)
    first, then = (reader.moment(data[key], (*path, key)) if key in data else None for key in keys)
    if len(reader.faults) > noted or first is None or then is None:
        return first, then
    if isinstance(first, OnDay) or isinstance(then, OnDay) or first.event != then.event or then.days > first.days:
        return first, then
    from_, until = data[keys[0]], data[keys[1]]
    later = f"{first.event} + {first.days / 7 + 3:.0f} weeks" if first.days > -21.0 else first.event
    reader.fault(
        (*path, keys[1]), f"{until!r} does not come after {from_!r}", "moment.order", found=until,
        allowed=f"later than {from_!r}", repair=f'for example "{later}"',
    )  # fmt: skip
    return first, then


def _harvest(reader: Reader, data: Mapping[str, Any], path: PathTuple, crop: Crop) -> HarvestUse:
    part = crop.part(data["part"])
    if part is None:
        names = [p.name for p in crop.parts]
        near = did_you_mean(data["part"], names)
        reader.fault(
            (*path, "part"), f"{crop.name} has no edible part called {data['part']!r}", "harvest.part",
            found=data["part"], allowed=", ".join(names), repair=f"did you mean {near[0]}?" if near else "take one of these",
        )  # fmt: skip
    elif part is not None and part.pool == "organ" and data.get("method") in ("leaf", "cut"):
        reader.fault(
            (*path, "method"), f"{crop.name}: {part.name} cannot be picked by the method {data['method']}",
            "harvest.method", found=data["method"], allowed=", ".join(part.methods),
            repair=f"write `method: {part.methods[0]}`",
        )  # fmt: skip
    start, until = _span_of_time(reader, data, ("from", "until"), path)
    return HarvestUse(
        data["part"], data.get("method"), reader.quantity(data, "every", "duration"), data.get("cuts"), start, until
    )


def _where(reader: Reader, data: Mapping[str, Any], path: PathTuple) -> Where:
    kind = data["kind"]

    def pair(key_a: PathTuple, a: str, key_b: PathTuple, b: str) -> tuple[Span, Span]:
        return reader.span(a, (*path, *key_a)), reader.span(b, (*path, *key_b))

    build: dict[str, Callable[[], Where]] = {
        "whole": WholeBed,
        "strip": lambda: Strip(pair(("from",), data["from"], ("to",), data["to"])),
        "zone": lambda: Zone(
            pair(("x", 0), data["x"][0], ("x", 1), data["x"][1]), pair(("y", 0), data["y"][0], ("y", 1), data["y"][1])
        ),
        "row": lambda: Rows(data["along"], tuple(reader.span(at, (*path, "at", i)) for i, at in enumerate(data["at"]))),
        "points": lambda: Points(tuple(pair(("at", i, 0), p[0], ("at", i, 1), p[1]) for i, p in enumerate(data["at"]))),
        "edge": lambda: Border(data["edge"], parse_quantity(data.get("depth", "30 cm"), "length")),
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


def _named_apart(reader: Reader, plantings: tuple[Planting, ...], entries: list[Any]) -> tuple[Planting, ...]:
    """Give unnamed repeats a number and refuse names given twice."""
    seen: dict[str, int] = {}
    given = {entry["name"] for entry in entries if "name" in entry}
    result = []
    for i, (planting, entry) in enumerate(zip(plantings, entries, strict=True)):
        name = planting.name
        seen[name] = seen.get(name, 0) + 1
        if seen[name] > 1:
            if "name" in entry:
                reader.fault(
                    ("plantings", i, "name"), f"two plantings are called {name!r}", "planting.name_twice", found=name,
                    repair=f"call one of them {name!r} and the other {name + ' again'!r}",
                )  # fmt: skip
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


def _check_references(reader: Reader, plantings: tuple[Planting, ...]) -> None:
    names = [p.name for p in plantings]
    after = {p.name: p.start.planting for p in plantings if isinstance(p.start, After)}
    for planting in plantings:
        if not isinstance(planting.start, After):
            continue
        other, path = planting.start.planting, (*planting.path, "start", "planting")
        if other not in names:
            near = did_you_mean(other, names)
            reader.fault(
                path, f"no planting is called {other!r}", "after.unknown", found=other, allowed=", ".join(names),
                repair=f"did you mean {near[0]}?" if near else "take one of these names",
            )  # fmt: skip
            continue
        chain, step = [planting.name], other
        while step in after and step not in chain:
            chain.append(step)
            step = after[step]
        if step == planting.name:
            reader.fault(
                path, f"{' waits for '.join([*chain, step])}: the start never comes", "after.circle", found=other,
                repair="give one of them a start of its own, such as `kind: frost, weeks: -2`",
            )  # fmt: skip


def load_recipe(path: str | Path) -> Recipe:
    """Read and check the recipe file at `path`; raises `FileFaults` with every fault of the file."""
    return read_recipe(load_document(path))
