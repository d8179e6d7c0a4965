"""The crop: identity, numbers with their sources, and edible parts.

Every number of a crop is a `Record` (`mixcraft.crops.records`), its own or one of a habit that it shares
(`mixcraft.crops.habits`); a crop holds them under dotted names such as ``canopy.k``.  The model never keeps a bare number
without its source, so that a card or a report can always say where a value came from.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, cast

from mixcraft.files.frozen import FrozenMap
from mixcraft.files.shelf import Shelf

from .constants import constant
from .habits import habit_records
from .keys import CropKey, PartKey
from .records import Record as Record
from .records import record_from

PART_DEFAULTS = Path(__file__).with_name("part_defaults.yaml")
SECTIONS = ("emergence", "development", "canopy", "root", "frost", "seed", "spacing", "harvest", "nutrition")


@dataclass(frozen=True, slots=True)
class EmergenceTable:
    """Days to emergence at constant soil temperatures; ``nan`` days mean that nothing emerges."""

    temperatures_c: tuple[float, ...]
    days: tuple[float, ...]
    source: str
    at: str
    quality: str

    def __post_init__(self) -> None:
        # one and the same nan, so that tables are equal and hash alike after a journey to another process
        object.__setattr__(self, "days", tuple(math.nan if math.isnan(day) else day for day in self.days))

    def __reduce__(self) -> tuple[type[EmergenceTable], tuple[Any, ...]]:
        return EmergenceTable, (self.temperatures_c, self.days, self.source, self.at, self.quality)


BURIED = ("tap", "tuberous", "bulb")
"""Root forms of which an organ may sit in the soil."""
GROWN_IN_SOIL = frozenset({"root", "bulb", "tuber"})
"""What a crop is grown for that does."""


@dataclass(frozen=True, slots=True)
class Part:
    """An edible part of a crop: when its window opens and closes and how it may be picked.

    ``pool`` says which dry matter it comes from: ``organ`` (storage organ or fruit), ``leaf`` (standing leaves) or
    ``side`` (a share of the daily growth while the window is open).  ``methods`` lists the ways of picking, the
    usual one first.  `food` is False for what is not eaten, such as green manure, `ripe_only`
    True for fruit of which the unripe is not, `in_soil` for what ripens in the soil though it is no root, bulb or tuber.  Some
    records are only there where they are known: ``portion`` and ``market_least`` [g], ``keeps`` and ``stands`` [d].
    """

    name: str
    role: str
    pool: str
    methods: tuple[str, ...]
    opens: str
    closes: str
    records: Mapping[PartKey, Record]
    cautions: tuple[str, ...] = ()
    food: bool = True
    ripe_only: bool = False
    in_soil: bool = False

    def number(self, name: PartKey, default: float | None = None) -> float:
        """Value of the record `name`; `default` if the part has none (KeyError if that is None)."""
        record = self.records.get(name)
        if record is not None:
            return record.value
        if default is None:
            raise KeyError(f"part {self.name} has no {name}")
        return default


@dataclass(frozen=True, slots=True)
class Disease:
    """A disease that a crop hosts; ``years`` without a host advised for a soil-borne one, None if not known."""

    name: str
    soil_borne: bool
    years: float | None
    source: str


@dataclass(frozen=True, slots=True)
class Crop:
    """A crop of the library or of a recipe.  `crop["canopy.k"]` is a value, `crop.records[...]` its record."""

    id: str
    names: Mapping[str, tuple[str, ...]]
    botanical: str
    family: str
    group: str
    life: str
    kinds: tuple[str, ...]
    form: str
    establish: tuple[str, ...]
    about: str
    records: Mapping[CropKey, Record]
    parts: tuple[Part, ...]
    emergence_table: EmergenceTable | None
    bolting: str
    shade: str
    root_form: str
    nitrogen: str
    pollination: str
    visitors: bool
    pests: tuple[str, ...]
    diseases: tuple[Disease, ...]
    cautions: tuple[str, ...]
    counted_from: str = "sowing"
    origin: str = field(default="library", compare=False)

    def __reduce__(self) -> tuple[Callable[..., Crop], tuple[Any, ...]]:
        """In another process it is one and the same however often it is sent there, so that what is kept for it is found."""
        return _received, tuple(getattr(self, item.name) for item in fields(self))

    @property
    def name(self) -> str:
        """Usual English name."""
        return self.names["en"][0]

    @property
    def in_soil(self) -> bool:
        """Whether what it is grown for is an organ that sits in the soil and outlives the tops."""
        part = self.main_part
        below = part.in_soil or not GROWN_IN_SOIL.isdisjoint(self.kinds)
        return part.pool == "organ" and below and self.root_form in BURIED

    @property
    def main_part(self) -> Part:
        """The part the crop is usually grown for."""
        return next(part for part in self.parts if part.role == "main")

    def __getitem__(self, name: CropKey) -> float:
        return self.records[name].value

    def number(self, name: CropKey, default: float) -> float:
        """Value of the record `name`, or `default` if the crop has none."""
        record = self.records.get(name)
        return default if record is None else record.value

    def part(self, name: str) -> Part | None:
        """The part called `name`, case and number ignored ("leaf" finds "leaves"), or None."""
        wanted = _plain_part(name)
        return next((part for part in self.parts if _plain_part(part.name) == wanted), None)

    def with_values(self, values: Mapping[str, float], source: str) -> Crop:
        """A copy with some records replaced (a cultivar's or a recipe's own values), keeping units."""
        records = dict(self.records)
        for name, value in values.items():
            key = cast(CropKey, name)
            old = records[key]
            records[key] = replace(old, value=value, source=source, at="given in the recipe", low=None, high=None)
        return replace(self, records=FrozenMap(records))


_sent = Shelf(1000)
"""Crops that were sent to this process or read from where they are kept, the last ones."""


def _received(*values: Any) -> Crop:
    made = Crop(*values)
    found: Crop = _sent((made, made.origin), lambda: made)
    return found


def _plain_part(name: str) -> str:
    words = name.casefold().replace("leaves", "leaf").split()
    return " ".join(word.removesuffix("s") for word in words)


def _records(data: Mapping[str, Any]) -> Mapping[CropKey, Record]:
    found: dict[str, Record] = {}
    for section in SECTIONS:
        for key, entry in (data.get(section) or {}).items():
            if not isinstance(entry, Mapping):
                continue
            if "value" in entry:
                found[f"{section}.{key}"] = record_from(entry)
            elif key in ("bolting", "bulbing", "filling", "light_use", "photoperiod", "podding", "setting"):
                for inner, value in entry.items():
                    if isinstance(value, Mapping):
                        found[f"{section}.{key}.{inner}"] = record_from(value)
    for name, record in habit_records(str(data["id"]), str(data["botanical"])).items():
        found.setdefault(name, record)
    _bear_their_warmest_month(found)
    return FrozenMap(cast(dict[CropKey, Record], found))


def _bear_their_warmest_month(found: dict[str, Record]) -> None:
    """A crop that grows well in a month grows in a warmer one yet: its ceiling lies `CEILING_ABOVE_C` above its warmest month."""
    warmest, ceiling = found.get("development.heat_above"), found.get("development.t_ceiling")
    if warmest is None or ceiling is None or ceiling.value >= warmest.value + CEILING_ABOVE_C:
        return
    found["development.t_ceiling"] = replace(
        warmest, value=warmest.value + CEILING_ABOVE_C, at=f"{CEILING_ABOVE_C:g} C above: {warmest.at}", quality="derived"
    )


CEILING_ABOVE_C = constant("ceiling_above")
"""Degrees by which growth ends at the least above the warmest month in which a crop grows well."""


@lru_cache(maxsize=1)
def _part_defaults() -> Mapping[str, Mapping[PartKey, Record]]:
    """Portion and keeping by what a crop is grown for; only read for a crop that does not say."""
    import yaml

    found = yaml.load(PART_DEFAULTS.read_bytes(), Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    return {kind: {cast(PartKey, name): record_from(entry) for name, entry in given.items()} for kind, given in found.items()}


def _part(data: Mapping[str, Any], kinds: Sequence[str]) -> Part:
    """A part from its mapping; a portion and days of keeping that it lacks are those of its crop's kind."""
    records = {cast(PartKey, key): record_from(value) for key, value in data.items() if isinstance(value, Mapping)}
    if data.get("food", True) and not ("portion" in records and "keeps" in records):
        kind = next((kind for kind in kinds if kind in _part_defaults()), None)
        records = {**(_part_defaults()[kind] if kind else {}), **records}
    return Part(
        str(data["part"]), str(data["role"]), str(data["pool"]), tuple(data["methods"]), str(data["opens"]),
        str(data["closes"]), FrozenMap(records), tuple(data.get("cautions", ())),
        bool(data.get("food", True)),
        bool(data.get("ripe_only", False)),
        bool(data.get("in_soil", False)),
    )  # fmt: skip


def _table(data: Mapping[str, Any] | None) -> EmergenceTable | None:
    if data is None:
        return None
    days = tuple(math.nan if day is None else float(day) for day in data["days"])
    temperatures = tuple(float(t) for t in data["temperatures"])
    return EmergenceTable(temperatures, days, str(data["source"]), str(data["at"]), str(data["quality"]))


def crop_from_mapping(data: Mapping[str, Any], origin: str = "library") -> Crop:
    """Build a `Crop` from the mapping of a crop file that has passed its schema."""
    rotation = data["rotation"]
    diseases = tuple(
        Disease(str(d["name"]), bool(d.get("soil_borne", False)), d.get("years"), str(d.get("source", "")))
        for d in rotation["diseases"]
    )
    return Crop(
        id=str(data["id"]),
        names=FrozenMap({lang: tuple(words) for lang, words in data["names"].items()}),
        botanical=str(data["botanical"]),
        family=str(data["family"]),
        group=str(data.get("group", "")),
        life=str(data["life"]),
        kinds=tuple(data["kinds"]),
        form=str(data["form"]),
        establish=tuple(data["establish"]),
        about=str(data["about"]),
        records=_records(data),
        parts=tuple(_part(part, data["kinds"]) for part in data["harvest"]["parts"]),
        emergence_table=_table(data["emergence"].get("table")),
        bolting=str(data["development"]["bolting"]["kind"]),
        shade=str(data["canopy"]["shade"]),
        root_form=str(data["root"]["form"]),
        nitrogen=str(data["nutrition"]["nitrogen"]),
        pollination=str(data["pollination"]["kind"]),
        visitors=bool(data["pollination"]["visitors"]),
        pests=tuple(rotation["pests"]),
        diseases=diseases,
        cautions=tuple(data["cautions"]),
        counted_from=str(data["development"]["days_to_harvest"].get("counted_from", "sowing")),
        origin=origin,
    )
