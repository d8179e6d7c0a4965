"""Rules a crop file must keep that its schema cannot say: order of stages, values inside ranges, parts that can be picked."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Protocol

from mixcraft.files import Document, Fault

from .clock import SOWN
from .keys import CropKey

Path_ = tuple[str | int, ...]


class Faulting(Protocol):
    """Whatever can make a `Fault` at a path: a document, or a part of one."""

    def fault(self, path: Path_, message: str, *, rule: str, found: str = "", allowed: str = "", repair: str = "") -> Fault:
        """A fault at `path`."""


Rule = Callable[[Faulting, Mapping[str, Any]], Iterator[Fault]]


def crop_faults(document: Document, data: Mapping[str, Any] | None = None) -> list[Fault]:
    """Every rule's faults in a crop document that has passed its schema."""
    found = data if data is not None else document.data
    return [fault for rule in RULES for fault in rule(document, found)]


@dataclass(frozen=True)
class _Inner:
    """A document seen from one of its inner paths."""

    document: Document
    path: Path_

    def fault(self, path: Path_, message: str, *, rule: str, found: str = "", allowed: str = "", repair: str = "") -> Fault:
        return self.document.fault((*self.path, *path), message, rule=rule, found=found, allowed=allowed, repair=repair)


def crop_faults_at(document: Document, path: Path_, data: Mapping[str, Any]) -> list[Fault]:
    """`crop_faults` of a crop given inside another file at `path`."""
    return [fault for rule in RULES for fault in rule(_Inner(document, path), data)]


def _records(node: Any, path: Path_ = ()) -> Iterator[tuple[Path_, Mapping[str, Any]]]:
    if isinstance(node, Mapping):
        if "value" in node and "unit" in node:
            yield path, node
            return
        for key, value in node.items():
            yield from _records(value, (*path, key))
    elif isinstance(node, list):
        for i, value in enumerate(node):
            yield from _records(value, (*path, i))


def ranges(document: Faulting, data: Mapping[str, Any]) -> Iterator[Fault]:
    """A value lies inside its own range, and the range runs upwards."""
    for path, record in _records(data):
        low, high = record.get("range", (record["value"], record["value"]))
        if low > high:
            yield document.fault(
                (*path, "range"), f"the range runs from {low:g} down to {high:g}", rule="record.range", repair="swap the two ends"
            )
        elif not low - 1e-9 <= record["value"] <= high + 1e-9:
            yield document.fault(
                (*path, "value"), f"{record['value']:g} lies outside its range", rule="record.outside",
                found=f"{record['value']:g}", allowed=f"{low:g} to {high:g}", repair="mend the value or the range",
            )  # fmt: skip


RISING: tuple[tuple[CropKey, ...], ...] = (
    ("development.t_base", "development.t_optimum_from", "development.t_optimum", "development.t_ceiling"),
    ("development.ready", "development.end"),
    ("emergence.t_min", "emergence.t_optimum", "emergence.t_max"),
)  # fmt: skip
"""Cardinal temperatures and stages of a crop in rising order; `t_optimum_from` may be left out."""

CARDINALS: tuple[CropKey, ...] = (
    "development.bolting.chill_least", "development.bolting.chill_from", "development.bolting.chill_until",
    "development.bolting.chill_below",
)  # fmt: skip
"""Cardinal temperatures of vernalisation in rising order: of a crop that is chilled below a threshold, the last alone."""

RISING_TABLES: tuple[tuple[CropKey, ...], ...] = (
    ("development.light_use.none_below", "development.light_use.all_from", "development.light_use.all_until",
     "development.light_use.none_above"),
    ("development.podding.short_day", "development.podding.long_day"),
    ("development.setting.none_below", "development.setting.all_from", "development.setting.all_until",
     "development.setting.none_above"),
    ("development.filling.all_until", "development.filling.none_above"),
)  # fmt: skip
"""Temperatures and day lengths of tables in rising order, which a crop has whole or not at all, but for `setting`, of which it
may have one side alone."""

MAY_BE_LEVEL: frozenset[CropKey] = frozenset({"development.bolting.chill_until", "development.light_use.all_until"})
"""Values that may equal the one before them: a best temperature may be a single one."""


def falls(key: CropKey, value: float, before: float) -> bool:
    """Whether the value of `key` is too low after `before`, that of the key which it follows in its row of `RISING`."""
    return value < before or (value == before and key not in MAY_BE_LEVEL)


def allowed_after(key: CropKey, before: float) -> str:
    """What the value of `key` may be after `before`: ``above 5`` or ``at least 5``."""
    return f"{'at least' if key in MAY_BE_LEVEL else 'above'} {before:g}"


def _rising(document: Faulting, data: Mapping[str, Any], keys: tuple[CropKey, ...], rule: str) -> Iterator[Fault]:
    """Faults of values, all of them given, that do not rise."""
    for a, b in pairwise(keys):
        low, high = _at(data, a), _at(data, b)
        if falls(b, high, low):
            first, second = a.rsplit(".", 1)[1], b.rsplit(".", 1)[1]
            yield document.fault(
                (*b.split("."), "value"), f"{second} must come after {first}", rule=rule, found=f"{high:g}",
                allowed=allowed_after(b, low), repair=f"mend {first} or {second}",
            )  # fmt: skip


def _at(data: Mapping[str, Any], key: CropKey) -> float:
    node: Any = data
    for name in key.split("."):
        node = node[name]
    return float(node["value"])


def stages(document: Faulting, data: Mapping[str, Any]) -> Iterator[Fault]:
    """Cardinal temperatures and stages in their order."""
    development, harvest = data["development"], data["harvest"]
    for keys in RISING:
        given = tuple(key for key in keys if key.rsplit(".", 1)[1] in data[key.split(".")[0]])
        yield from _rising(document, data, given, "stage.order")
    if "organ_start" in harvest and harvest["organ_start"]["value"] >= development["end"]["value"]:
        yield document.fault(
            ("harvest", "organ_start", "value"), "the organ starts after the crop's life has ended", rule="stage.order",
            found=f"{harvest['organ_start']['value']:g}", allowed=f"below {development['end']['value']:g}",
            repair="mend organ_start or development.end",
        )  # fmt: skip


def crown(document: Faulting, data: Mapping[str, Any]) -> Iterator[Fault]:
    """A rootstock that outlives its tops is a perennial's, or a cereal's crown, and hardier than they are."""
    frost = data["frost"]
    if "crown" not in frost:
        return
    if data["life"] != "perennial" and data.get("family") != "Poaceae":
        yield document.fault(
            ("frost", "crown"), f"a rootstock that sprouts again is a perennial's or a cereal's, but life is {data['life']}",
            rule="frost.crown", repair="leave crown out, or write `life: perennial`",
        )  # fmt: skip
    if frost["crown"]["value"] > frost["grown"]["value"]:
        yield document.fault(
            ("frost", "crown", "value"), "the rootstock dies before the tops do", rule="frost.crown",
            found=f"{frost['crown']['value']:g}", allowed=f"at most {frost['grown']['value']:g}", repair="mend crown or grown",
        )  # fmt: skip


def bloom(document: Faulting, data: Mapping[str, Any]) -> Iterator[Fault]:
    """A frost that ends a crop in flower needs an annual that flowers, and is milder than what kills the leaf."""
    frost = data["frost"]
    if "bloom" not in frost:
        return
    if data["life"] != "annual" or "flower" not in data["development"]:
        yield document.fault(
            ("frost", "bloom"), "a frost ends at their flowers only annuals with a time of flowering", rule="frost.bloom",
            repair="leave bloom out, or write development.flower and `life: annual`",
        )  # fmt: skip
    if frost["bloom"]["value"] < frost["grown"]["value"]:
        yield document.fault(
            ("frost", "bloom", "value"), "flowers freeze before the leaf does", rule="frost.bloom",
            found=f"{frost['bloom']['value']:g}", allowed=f"at least {frost['grown']['value']:g}", repair="mend bloom or grown",
        )  # fmt: skip


def parts(document: Faulting, data: Mapping[str, Any]) -> Iterator[Fault]:
    """One main part; every part has the numbers that its pool and methods need."""
    entries = data["harvest"]["parts"]
    mains = [i for i, part in enumerate(entries) if part["role"] == "main"]
    if len(mains) != 1:
        yield document.fault(
            ("harvest", "parts"), f"{len(mains)} parts are main; one must be", rule="part.main",
            repair="give one part `role: main`",
        )  # fmt: skip
    for i, part in enumerate(entries):
        for need, why in _needs(part, data):
            if need not in part:
                yield document.fault(
                    ("harvest", "parts", i), f"{part['part']}: {need} is missing", rule="part.missing", allowed=why,
                    repair=f"add `{need}: {{value: ..., unit: ..., source: ..., at: ..., quality: ...}}`",
                )  # fmt: skip
        if part["pool"] == "organ" and not {"organ_start", "harvest_index"} <= set(data["harvest"]):
            yield document.fault(
                ("harvest", "parts", i, "pool"), f"{part['part']} is an organ, but harvest has no organ_start and harvest_index",
                rule="part.organ", repair="add both to harvest",
            )  # fmt: skip
        for event in (part["opens"], part["closes"]):
            if event == "flower" and "flower" not in data["development"]:
                yield document.fault(
                    ("harvest", "parts", i), f"{part['part']} waits for flower, but development has no flower",
                    rule="part.event", repair="add development.flower",
                )  # fmt: skip


def _needs(part: Mapping[str, Any], data: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    if part["pool"] == "side" and "stored" not in part:
        yield "share", "needed for the pool side, but for what the rootstock sends up (`stored`)"
    if part["pool"] == "leaf":
        yield "take", "needed for the pool leaf"
    if {"pick", "leaf", "cut", "pull"} & set(part["methods"]):
        yield "interval", "needed for picking again and again"
    if part["methods"][0] == "cut":
        yield "cuts", "needed for cutting"
        yield "cut_height", "needed for cutting"


def seed(document: Faulting, data: Mapping[str, Any]) -> Iterator[Fault]:
    """A sown crop has seed numbers; one raised in modules has their age; emergence has a table or a thermal time."""
    table, ways = data["seed"], set(data["establish"])
    wanted: list[tuple[str, str]] = []
    if ways & {*SOWN, "module"}:
        wanted += [(key, "needed for a crop raised from seed") for key in ("per_gram", "germination", "field_factor")]
    if "module" in ways:
        wanted.append(("module_age", "needed for planting out"))
    for key, why in wanted:
        if key not in table:
            yield document.fault(
                ("seed",), f"seed.{key} is missing", rule="seed.missing", allowed=why, repair=f"add {key} to seed"
            )
    if "table" not in data["emergence"] and not {"thermal_time", "t_base"} <= set(data["emergence"]):
        yield document.fault(
            ("emergence",), "emergence has neither a table nor thermal_time and t_base", rule="emergence.missing",
            repair="add thermal_time and t_base, or a table of days by temperature",
        )  # fmt: skip
    days = data["emergence"].get("table", {})
    if days and len(days["temperatures"]) != len(days["days"]):
        yield document.fault(
            ("emergence", "table", "days"), f"{len(days['temperatures'])} temperatures but {len(days['days'])} days",
            rule="emergence.table", repair="give one number of days, or null, for each temperature",
        )  # fmt: skip


BOLTING_NEEDS: Mapping[str, tuple[str, ...]] = {
    "none": (), "long_day": ("critical_daylength", "thermal_time"), "chill": ("chill_below", "chill_days", "thermal_time"),
    "chill_long_day": ("critical_daylength", "chill_below", "chill_days", "thermal_time"),
}  # fmt: skip


WINTER = ("winter_days", "winter_time")
"""What a winter's cold does to a crop that else waits for long days."""


def bolting(document: Faulting, data: Mapping[str, Any]) -> Iterator[Fault]:
    """Running to seed has the numbers that its kind needs; only chilling waits for the end of the juvenile phase."""
    table = data["development"]["bolting"]
    kind = table["kind"]
    for need in BOLTING_NEEDS[kind]:
        if need not in table:
            yield document.fault(
                ("development", "bolting"), f"bolting.{need} is missing", rule="bolting.missing", allowed=f"needed for {kind}",
                repair=f"add {need} to bolting",
            )  # fmt: skip
    given = [name for name in WINTER if name in table]
    if given and (len(given) < len(WINTER) or not kind.endswith("long_day")):
        yield document.fault(
            ("development", "bolting", given[0]), f"{' and '.join(WINTER)} go together, where long days are waited for",
            rule="bolting.winter", found=kind, allowed="long_day or chill_long_day", repair=f"write both, or delete {given[0]}",
        )  # fmt: skip
    if "winter_daylength" in table and not given:
        yield document.fault(
            ("development", "bolting", "winter_daylength"), "bolting.winter_daylength is for crops that a winter makes shoot",
            rule="bolting.winter", found="winter_daylength", allowed="beside winter_days and winter_time",
            repair="write winter_days and winter_time, or delete winter_daylength",
        )  # fmt: skip
    if "juvenile" in table and not kind.startswith("chill"):
        yield document.fault(
            ("development", "bolting", "juvenile"), f"a juvenile phase delays chilling, but bolting is {kind}",
            rule="bolting.juvenile", found=kind, allowed="chill or chill_long_day", repair="mend kind or delete juvenile",
        )  # fmt: skip


def cardinals(document: Faulting, data: Mapping[str, Any]) -> Iterator[Fault]:
    """The cardinal temperatures of vernalisation are whole and rise; `chill_below` alone is a threshold."""
    table = data["development"]["bolting"]
    names = [key.rsplit(".", 1)[1] for key in CARDINALS]
    given = [name for name in names[:-1] if name in table]
    if not given:
        return
    for name in names:
        if name not in table:
            yield document.fault(
                ("development", "bolting"), f"bolting.{name} is missing", rule="bolting.cardinals",
                allowed=f"needed with {given[0]}", repair=f"add {name} to bolting, or delete {' and '.join(given)}",
            )  # fmt: skip
            return
    yield from _rising(document, data, CARDINALS, "bolting.cardinals")


def tables(document: Faulting, data: Mapping[str, Any]) -> Iterator[Fault]:
    """The turning points of light use, podding, setting and filling rise."""
    for keys in RISING_TABLES:
        name = keys[0].split(".")[1]
        given = data["development"].get(name, {})
        yield from _rising(document, data, tuple(key for key in keys if key.rsplit(".", 1)[1] in given), f"{name}.order")


RULES: tuple[Rule, ...] = (ranges, stages, crown, bloom, parts, seed, bolting, cardinals, tables)
