"""From a checked document to `Garden`: place, beds, what the household wants; every fault reported at once."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from mixcraft.crops import UnknownCrop, find_crop
from mixcraft.crops.library import AmbiguousCrop
from mixcraft.files import Document, FileFaults, load_document, parse_quantity
from mixcraft.files.frozen import FrozenMap
from mixcraft.files.migrate import up_to_date

from .constants import constant
from .model import PARTS, Bed, Beside, Feeding, Garden, Obstacle, Plate, Slope, Trellis, Watering
from .reader import PathTuple, Reader, checked
from .reading_place import read_place
from .rules_bed import LARGEST_M2, LONGEST_M, SHORTEST_M


def read_garden(document: Document) -> Garden:
    """The `Garden` of a document; raises `FileFaults` with all its faults."""
    document = up_to_date(document)
    data = checked(document, "garden").data
    reader = Reader(document)
    place = read_place(reader, data["place"])
    beds = tuple(_bed(reader, entry, ("beds", i)) for i, entry in enumerate(data["beds"]))
    names = [bed.name.casefold() for bed in beds]
    for i, name in enumerate(names):
        if name in names[:i]:
            reader.fault(
                ("beds", i, "name"), f"two beds are called {beds[i].name!r}", "bed.name_twice", found=beds[i].name,
                repair="give every bed its own name",
            )  # fmt: skip
    result = _plate(reader, data.get("plate"), ("plate",)) or Plate()
    weights = FrozenMap[str, float](data.get("weights") or {})
    if set(PARTS) <= set(weights) and not any(weights.values()):
        reader.fault(
            ("weights",), "no part score has any weight", "weights.none", found="0 for all", allowed="one above 0",
            repair=f"give at least one of {', '.join(PARTS)} a weight, or leave weights out",
        )  # fmt: skip
    if reader.faults or place is None:
        raise FileFaults(reader.faults)
    return Garden(data["name"], place, beds, result, weights, data.get("about", ""), document.name, document)


def _plate(reader: Reader, data: Mapping[str, Any] | None, path: PathTuple) -> Plate | None:
    if data is None:
        return None
    start, until = (reader.month_day(data[k], (*path, k)) if k in data else "" for k in ("from", "until"))
    if bool(start) != bool(until):
        reader.fault(
            path, "a window needs both its ends", "plate.window", found="from" if start else "until", allowed="from and until",
            repair="add the other one, such as `until: 10-31`",
        )  # fmt: skip
    return Plate(
        start, until, reader.quantity(data, "weekly", "mass", 0.0) / 1000.0, data.get("people", 0),
        float(data.get("portions", 0.0)), data.get("kinds", 0),
    )  # fmt: skip


def _bed(reader: Reader, data: Mapping[str, Any], path: PathTuple) -> Bed:
    length, width = parse_quantity(data["length"], "length"), parse_quantity(data["width"], "length")
    for key, value in (("length", length), ("width", width)):
        if not SHORTEST_M <= value <= LONGEST_M:
            reader.fault(
                (*path, key), f"a bed {value:g} m {'long' if key == 'length' else 'wide'} cannot be laid out",
                "bed.size", found=str(data[key]), allowed=f"{SHORTEST_M:g} m to {LONGEST_M:g} m", repair="check the unit",
            )  # fmt: skip
    if length <= LONGEST_M and width <= LONGEST_M and length * width > LARGEST_M2:
        reader.fault(
            (*path, "length"), f"a bed of {length:g} x {width:g} m has {length * width:.0f} m2", "bed.size",
            found=str(data["length"]), allowed=f"{LARGEST_M2:.0f} m2",
            repair="check the unit and the point (6 m, 60 cm), or divide the ground into beds that are reached from their paths",
        )  # fmt: skip
    watering = data.get("watering") or {"kind": "watered"}
    feeding = data.get("feeding") or {"kind": "usual"}
    history = tuple(
        (entry["years_ago"], tuple(_history_crop(reader, c, (*path, "history", i, "crops", j))))
        for i, entry in enumerate(data.get("history", ()))
        for j, c in enumerate(entry["crops"])
    )  # fmt: skip
    return Bed(
        name=data["name"], length_m=length, width_m=width, heading_deg=reader.quantity(data, "heading", "angle", 0.0) % 360,
        trellises=tuple(Trellis(t["edge"], parse_quantity(t["height"], "length")) for t in data.get("trellises", ())),
        obstacles=tuple(_obstacle(reader, o) for o in data.get("obstacles", ())),
        beside=tuple(
            Beside(b["side"], b["kind"], reader.quantity(b, "width", "length", constant("path_width")))
            for b in data.get("beside", ())
        ),
        slope=Slope(data["slope"]["falls"], parse_quantity(data["slope"]["angle"], "angle")) if "slope" in data else None,
        soil=data.get("soil", "loam"), soil_lead_mg_kg=data.get("soil_lead"), history=history,
        plate=_plate(reader, data.get("plate"), (*path, "plate")),
        feeding=Feeding(feeding["kind"], reader.quantity(feeding, "amount", "rain", 0.0)),
        watering=Watering(watering["kind"], reader.quantity(watering, "amount", "rain", 0.0)), recipe=data.get("recipe", ""),
        under=data.get("under", ""),
    )  # fmt: skip


def _obstacle(reader: Reader, data: Mapping[str, Any]) -> Obstacle:
    first, last = (parse_quantity(data[key], "length") if key in data else None for key in ("from", "to"))
    return Obstacle(
        data["side"], parse_quantity(data["distance"], "length"), parse_quantity(data["height"], "length"),
        reader.quantity(data, "opacity", "fraction", 1.0), first, last, reader.quantity(data, "depth", "length", 0.0),
    )  # fmt: skip


def _history_crop(reader: Reader, name: str, path: PathTuple) -> tuple[str, ...]:
    try:
        return (find_crop(name).id,)
    except AmbiguousCrop as error:
        meant = [find_crop(known) for known in error.suggestions]
        if len({crop.family for crop in meant}) == 1:
            return (meant[0].id,)
        meant_by = ", ".join(error.suggestions)
        reader.fault(path, str(error), "crop.several", found=name, allowed=meant_by, repair="write one of these")
        return ()
    except UnknownCrop as error:
        reader.fault(
            path, f"no crop called {name!r}", "crop.unknown", found=name, allowed="a crop of the library",
            repair=f"did you mean {' or '.join(error.suggestions)}?" if error.suggestions else "`mixcraft crops` lists them",
        )  # fmt: skip
        return ()


def load_garden(path: str | Path) -> Garden:
    """Read and check the garden file at `path`; raises `FileFaults` with every fault of the file."""
    return read_garden(load_document(path))
