"""The brief: what a bed is to be designed for, read from a file with every fault at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from mixcraft.crops import UnknownCrop, find_crop
from mixcraft.crops.model import Crop
from mixcraft.files import Document, FileFaults, did_you_mean, load_document, parse_quantity
from mixcraft.files.migrate import up_to_date
from mixcraft.recipe.model import Bed, Garden, Plate, Recipe
from mixcraft.recipe.reader import PathTuple, Reader, checked
from mixcraft.recipe.reading import load_garden, load_recipe

from .constants import constant

SOWN_ONCE = "sown once"
"""The style in which everything is sown on one day."""
NO_PLATE = Plate()
"""A plate that says nothing."""


@dataclass(frozen=True, slots=True)
class Effort:
    """What the grower is ready to do: sowing days and plants raised at most, covers owned.  `transplants` None = any number."""

    sowing_days: int = int(constant("sowing_days"))
    transplants: int | None = None
    covers: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Brief:
    """What a bed is to be designed for.

    `plate` holds what the brief says of the plate and the garden does not; `at_hand` is empty where any usual crop may be taken;
    `height_limit_m` None = no limit.  `start_from` is a recipe to begin with.
    """

    garden: Garden
    bed: str
    name: str = ""
    style: str = "mixed"
    wishes: tuple[Crop, ...] = ()
    musts: tuple[Crop, ...] = ()
    nevers: tuple[Crop, ...] = ()
    at_hand: tuple[Crop, ...] = ()
    plate: Plate = NO_PLATE
    effort: Effort = Effort()
    most_crops: int = int(constant("most_crops"))
    height_limit_m: float | None = None
    start_from: Recipe | None = None

    @property
    def own_plate(self) -> bool:
        """Whether the brief asks for another plate than the garden."""
        return self.plate != NO_PLATE

    @property
    def sowing_days(self) -> int:
        """Days on which something is sown or planted, at most: one where everything is sown once."""
        return 1 if self.style == SOWN_ONCE else self.effort.sowing_days

    def asked(self) -> tuple[Garden, Bed]:
        """The garden and its bed with the plate that the brief asks for."""
        bed = self.garden.bed(self.bed)
        if not self.own_plate:
            return self.garden, bed
        old, new = bed.plate or self.garden.plate, self.plate
        start, until = (new.start, new.until) if new.start else (old.start, old.until)
        weekly_kg, portions = (0.0, new.portions) if new.portions else (old.weekly_kg, old.portions)
        wanted = replace(bed, plate=Plate(start, until, weekly_kg, old.people, portions, new.kinds or old.kinds))
        beds = tuple(wanted if b is bed else b for b in self.garden.beds)
        return replace(self.garden, beds=beds), wanted


def load_brief(path: str | Path) -> Brief:
    """Read and check the brief at `path`, and the garden and recipe that it names; raises `FileFaults` with every fault."""
    document = up_to_date(load_document(path))
    data = checked(document, "brief").data
    reader = Reader(document)
    beside = Path(document.name).parent
    garden = _other(reader, data, "garden", beside, load_garden)
    start_from = _other(reader, data, "start_from", beside, load_recipe)
    lists = {key: _crops(reader, data, key) for key in ("wishes", "musts", "nevers", "at_hand")}
    _clashes(reader, data, lists)
    window, effort = data.get("window") or {}, data.get("effort") or {}
    start, until = (reader.month_day(window[k], ("window", k)) if k in window else "" for k in ("from", "until"))
    bed = _bed(reader, data, garden)
    if reader.faults or garden is None:
        raise FileFaults(reader.faults)
    limit = data.get("height_limit")
    return Brief(
        garden, bed, data.get("name", ""), data.get("style", "mixed"), lists["wishes"], lists["musts"], lists["nevers"],
        lists["at_hand"], Plate(start, until, portions=float(data.get("portions", 0.0)), kinds=int(data.get("kinds", 0))),
        Effort(
            effort.get("sowing_days", Effort().sowing_days), effort.get("transplants"), tuple(effort.get("covers", ())),
        ),
        data.get("most_crops", int(constant("most_crops"))),
        None if limit is None else float(parse_quantity(limit, "length")), start_from,
    )  # fmt: skip


def _other(reader: Reader, data: Mapping[str, Any], key: str, beside: Path, load: Any) -> Any:
    """What another file holds; its faults are told with those of the brief."""
    if key not in data:
        return None
    path = beside / data[key]
    if not path.is_file():
        near = did_you_mean(path.name, [p.name for p in path.parent.glob("*.yaml")] if path.parent.is_dir() else [])
        kind = "garden" if key == "garden" else "recipe"
        reader.fault(
            (key,), f"there is no file {data[key]!r} beside this brief", "brief.file", found=data[key], allowed=f"a {kind} file",
            repair=f"did you mean {near[0]}?" if near else f"write one with `mixcraft new {kind} -o {path.name}`",
        )  # fmt: skip
        return None
    try:
        return load(path)
    except FileFaults as error:
        reader.faults += error.faults
        return None


def _bed(reader: Reader, data: Mapping[str, Any], garden: Garden | None) -> str:
    """The bed by its name in the garden."""
    if garden is None:
        return ""
    names = [bed.name for bed in garden.beds]
    given = data.get("bed", names[0] if len(names) == 1 else None)
    same = [name for name in names if given is not None and name.casefold() == str(given).casefold()]
    if same:
        return same[0]
    near = did_you_mean(str(given or ""), names)
    reader.fault(
        ("bed",), f"the garden has no bed called {given!r}" if given else "the garden has several beds and no line says which",
        "brief.bed", found=str(given or ""), allowed=", ".join(names), repair=f"write `bed: {near[0] if near else names[0]}`",
    )  # fmt: skip
    return ""


def _crops(reader: Reader, data: Mapping[str, Any], key: str) -> tuple[Crop, ...]:
    """The crops of a list, each once."""
    found: dict[str, Crop] = {}
    for i, name in enumerate(data.get(key, ())):
        path: PathTuple = (key, i)
        try:
            crop = find_crop(name)
            found.setdefault(crop.id, crop)
        except UnknownCrop as error:
            reader.fault(
                path, f"no crop called {name!r}", "crop.unknown", found=name, allowed="a crop of the library",
                repair=f"did you mean {' or '.join(error.suggestions)}?" if error.suggestions else "`mixcraft crops` lists them",
            )  # fmt: skip
    return tuple(found.values())


def _clashes(reader: Reader, data: Mapping[str, Any], lists: Mapping[str, tuple[Crop, ...]]) -> None:
    """A crop that is wanted and not wanted, or has to be there without being at hand."""
    nevers, at_hand = {c.id for c in lists["nevers"]}, {c.id for c in lists["at_hand"]}
    for key in ("musts", "wishes"):
        for i, name in enumerate(data.get(key, ())):
            try:
                crop = find_crop(name)
            except UnknownCrop:
                continue
            if crop.id in nevers:
                reader.fault(
                    (key, i), f"{crop.name} is asked for, and is among the nevers", "brief.never", found=name,
                    repair="take it out of one of the two lists",
                )  # fmt: skip
            elif at_hand and crop.id not in at_hand:
                reader.fault(
                    (key, i), f"{crop.name} is asked for, but is not at hand", "brief.at_hand", found=name,
                    repair=f"add {crop.name} to `at_hand`",
                )  # fmt: skip


def document_names(document: Document) -> tuple[str, ...]:
    """Files that a brief names, beside itself: nothing may be written over them."""
    beside, data = Path(document.name).parent, document.data
    return tuple(str(beside / data[key]) for key in ("garden", "start_from") if isinstance(data, dict) and key in data)
