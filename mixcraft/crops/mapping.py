"""From a crop to the mapping of a crop file: the way back from `crop_from_mapping`, for recipes with crops of their own."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from .model import SECTIONS, Crop, Disease, Part
from .records import Record


def crop_to_mapping(crop: Crop) -> dict[str, Any]:
    """The mapping of a crop file that `crop_from_mapping` reads as an equal crop; without its `format`."""
    data: dict[str, Any] = {
        "id": crop.id, "names": {language: list(words) for language, words in crop.names.items()},
        "botanical": crop.botanical, "family": crop.family, **({"group": crop.group} if crop.group else {}),
        "life": crop.life, "kinds": list(crop.kinds), "form": crop.form, "establish": list(crop.establish),
        "about": crop.about, **{section: {} for section in SECTIONS},
    }  # fmt: skip
    for key, record in crop.records.items():
        table = data
        *sections, name = key.split(".")
        for section in sections:
            table = table.setdefault(section, {})
        table[name] = _record(record)
    _words(crop, data)
    data["harvest"]["parts"] = [_part(part) for part in crop.parts]
    data["pollination"] = {"kind": crop.pollination, "visitors": crop.visitors}
    data["rotation"] = {"pests": list(crop.pests), "diseases": [_disease(d) for d in crop.diseases]}
    data["cautions"] = list(crop.cautions)
    return data


def _words(crop: Crop, data: dict[str, Any]) -> None:
    """Those values of a crop's sections that are words or tables."""
    table = crop.emergence_table
    if table is not None:
        data["emergence"]["table"] = {
            "temperatures": list(table.temperatures_c), "days": [None if math.isnan(day) else day for day in table.days],
            "source": table.source, "at": table.at, "quality": table.quality,
        }  # fmt: skip
    data["development"].setdefault("bolting", {})["kind"] = crop.bolting
    if crop.counted_from != "sowing":
        data["development"]["days_to_harvest"]["counted_from"] = crop.counted_from
    data["canopy"]["shade"], data["root"]["form"], data["nutrition"]["nitrogen"] = crop.shade, crop.root_form, crop.nitrogen


def _record(record: Record) -> dict[str, Any]:
    ends = {} if record.low is None or record.high is None else {"range": [record.low, record.high]}
    return {
        "value": record.value,
        "unit": record.unit,
        **ends,
        "source": record.source,
        "at": record.at,
        "quality": record.quality,
    }


def _part(part: Part) -> dict[str, Any]:
    flags = ({} if part.food else {"food": False}) | {name: True for name in ("ripe_only", "in_soil") if getattr(part, name)}
    return {
        "part": part.name, "role": part.role, "pool": part.pool, "methods": list(part.methods), "opens": part.opens,
        "closes": part.closes, **{key: _record(record) for key, record in part.records.items()},
        "cautions": list(part.cautions), **flags,
    }  # fmt: skip


def _disease(disease: Disease) -> Mapping[str, Any]:
    years = {} if disease.years is None else {"years": disease.years}
    source = {"source": disease.source} if disease.source else {}
    return {"name": disease.name, "soil_borne": disease.soil_borne, **years, **source}
