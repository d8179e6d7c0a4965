"""Inputs that nobody would write: files of every kind, changed at random in their bytes or in their structure, and what becomes
of them.

Every input has a number, from which it can be made again. What is wanted of each: it is read, or refused by `FileFaults` or
`UsageError`; what is read can be grown and scored, some of it printed; nothing else is raised.
"""

from __future__ import annotations

import copy
import random
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from mixcraft.crops.checking import crop_faults
from mixcraft.crops.library import DATA
from mixcraft.files import FileFaults, UsageError, check_schema, load_document, parse_document, resource
from mixcraft.place import weather_from_csv
from mixcraft.press import press_card
from mixcraft.recipe.model import Garden, Recipe
from mixcraft.recipe.plan import plan
from mixcraft.recipe.reading import load_garden, load_recipe, read_garden, read_recipe
from mixcraft.scoring import score
from mixcraft.season.grow import grow

KINDS = ("recipe", "recipe", "recipe", "garden", "garden", "crop", "weather")
PRINTED = 25
"""One in so many of the seasons is printed as well."""
WORDS = (
    "", "0", "-1", "1e300", "nan", ".nan", ".inf", "-0", "null", "~", "true", "no", "5 m", "-5 m", "0.2 m", "60 m", "1e9 m",
    "0 %", "100 %", "101 %", "9 C", "-300 C", "4 g/m2", "1e-300 kg", "02-30", "12-31", "0.1 days", "400 weeks",
    "x" * 81, "x" * 20_000,
    "\u202egnp.exe", "\x1b[2J", "畑", "\ud83c\udf31", "<b>&amp;</b>", "=1+1", "../../etc/passwd", "radish", "sweet potato",
    "date", "strip", "trellis", "last harvest", "any", "whole", "seed_rate", "overrides", "thin",
)  # fmt: skip
NUMBERS = (0, -1, 1, 2, 7, 60, 61, 1000, 10**9, 2**63, -(2**63), 1e300, -1e300, 5e-324, 0.5, float("nan"), float("inf"))
BITS = (
    b"", b"\0", b"\xff", b"\xc3", b"\xef\xbb\xbf", b"\r\n", b"\t", b"\n", b": ", b"- ", b"&a ", b"*a ", b"<<: ",
    b"!!python/object:os.system ", b"!!binary ", b"[" * 50, b"{" * 50, b"---\n", b"...\n", b"'", b'"', b"#",
    b"%YAML 9.9\n", b"|\n", b">\n",
    b"\xe2\x80\xae", b"\x1b[2J", b"1e999", b"\xed\xa0\x80",
)  # fmt: skip


@lru_cache(maxsize=1)
def seeds() -> dict[str, tuple[bytes, ...]]:
    """Good files by kind."""
    demo = resource("recipes_demo", "kiln-lane.garden.yaml").parent
    templates = resource("templates", "new.recipe.yaml").parent
    days = "\n".join(f"2023-{1 + d // 28:02d}-{1 + d % 28:02d},{d % 9},{9 + d % 11},{d % 4}" for d in range(12))
    return {
        "recipe": tuple(p.read_bytes() for p in (*sorted(demo.glob("*.recipe.yaml")), templates / "new.recipe.yaml")),
        "garden": ((demo / "kiln-lane.garden.yaml").read_bytes(), (templates / "new.garden.yaml").read_bytes()),
        "crop": tuple((DATA / f"{name}.yaml").read_bytes() for name in ("radish", "potato-early", "rhubarb")),
        "weather": (f"date,tmin_c,tmax_c,rain_mm\n{days}\n".encode(),),
    }


def bytes_changed(chance: random.Random, data: bytes) -> bytes:
    """One to four changes anywhere: cut, doubled, swapped or with something put in."""
    for _ in range(chance.randint(1, 4)):
        a, b = sorted(chance.randrange(len(data) + 1) for _ in range(2))
        b = min(b, a + chance.choice((1, 4, 40, 4000)))
        bit = chance.choice(BITS)
        front, middle, back = data[:a], data[a:b], data[b:]
        data = front + chance.choice((bit + middle, b"", middle + middle, bit)) + back
    return data


def structure_changed(chance: random.Random, data: bytes) -> bytes:
    """One to three values, keys or items of the tree changed, and the file written anew."""
    tree = copy.deepcopy(parse_document(data.decode(), "seed").data)
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        spots: list[tuple[Any, Any]] = []
        _collect(tree, spots)
        if spots:
            _change(chance, *chance.choice(spots), spots)
    return yaml.dump(tree, allow_unicode=True, sort_keys=False).encode("utf-8", "surrogatepass")


def _collect(node: Any, spots: list[tuple[Any, Any]]) -> None:
    for key in list(node) if isinstance(node, dict) else range(len(node)) if isinstance(node, list) else ():
        spots.append((node, key))
        _collect(node[key], spots)


def _change(chance: random.Random, holder: Any, key: Any, spots: list[tuple[Any, Any]]) -> None:
    kind = chance.randrange(16)
    if kind == 0:
        del holder[key]
    elif kind == 1 and isinstance(holder, list):
        holder.extend([holder[key]] * chance.choice((1, 5, 70)))
    elif kind == 2 and isinstance(holder, dict):
        holder[chance.choice(WORDS)] = holder.pop(key)
    elif kind == 3:
        other, its = chance.choice(spots)
        there = its < len(other) if isinstance(other, list) else its in other
        holder[key] = copy.deepcopy(other[its]) if there else None
    elif kind == 4:
        holder[key] = chance.choice(([], {}, [[]], {"kind": "whole"}, None, True))
    elif kind == 5:
        holder[key] = chance.choice(NUMBERS)
    elif kind in (6, 7):
        holder[key] = chance.choice(WORDS)
    else:
        holder[key] = _scaled(chance, holder[key])


def _scaled(chance: random.Random, value: Any) -> Any:
    """A number, or the first number of a text, changed a little or much: what may still be right, up to the bounds."""
    factor = chance.choice((0.5, 0.9, 1.1, 2.0, 5.0, 20.0))
    if isinstance(value, str):
        return re.sub(r"\d+(\.\d+)?", lambda found: f"{float(found[0]) * factor:.6g}", value, count=1)
    if isinstance(value, int) and not isinstance(value, bool):
        return round(value * factor)
    return value * factor if isinstance(value, float) else value


@dataclass
class Tally:
    """What became of the inputs, and those that ended in another way than wanted, by number."""

    counts: Counter[str] = field(default_factory=Counter)
    wrong: dict[int, str] = field(default_factory=dict)


def made(number: int) -> tuple[str, bytes]:
    """Kind and bytes of the input of a number."""
    chance = random.Random(number)
    kind = chance.choice(KINDS)
    data = chance.choice(seeds()[kind])
    change = bytes_changed if kind == "weather" or chance.random() < 0.4 else structure_changed
    return kind, change(chance, data)


def tried(numbers: range, folder: Path) -> Tally:
    """Give every input to the engine."""
    tally = Tally()
    for number in numbers:
        kind, data = made(number)
        path = folder / ("input.csv" if kind == "weather" else "input.yaml")
        path.write_bytes(data)
        tally.counts[kind] += 1
        try:
            USES[kind](path, number, tally.counts)
        except (FileFaults, UsageError) as refusal:
            tally.counts[f"{kind} refused"] += 1
            if not str(refusal).strip():
                tally.wrong[number] = f"{kind}: refused without a word"
        except Exception as error:
            tally.wrong[number] = f"{kind}: {type(error).__name__}: {error}"
    return tally


@lru_cache(maxsize=1)
def good() -> tuple[Recipe, Garden]:
    """A recipe and a garden as they should be."""
    recipe, garden = seeds()["recipe"][0].decode(), seeds()["garden"][0].decode()
    return read_recipe(parse_document(recipe, "recipe")), read_garden(parse_document(garden, "garden"))


def _use(recipe: Recipe, garden: Garden, number: int, counts: Counter[str]) -> None:
    bed = garden.beds[number % len(garden.beds)]
    season = grow(plan(recipe, garden, bed.name), years=1, voxels=number % 7 == 0)
    result = score(season)
    assert 0.0 <= result.overall <= 100.0
    counts["grown"] += 1
    if number % PRINTED == 0:
        assert press_card(season, result).startswith(b"%PDF")
        counts["printed"] += 1


def _use_recipe(path: Path, number: int, counts: Counter[str]) -> None:
    _use(load_recipe(path), good()[1], number, counts)


def _use_garden(path: Path, number: int, counts: Counter[str]) -> None:
    recipe = good()[0]
    _use(replace(recipe, plantings=recipe.plantings[:2]), load_garden(path), number, counts)


def _use_crop(path: Path, number: int, counts: Counter[str]) -> None:
    document = load_document(str(path))
    faults = check_schema(document, "crop") or crop_faults(document)
    if faults:
        raise FileFaults(faults)


def _use_weather(path: Path, number: int, counts: Counter[str]) -> None:
    weather_from_csv(path, 52.0)


USES: dict[str, Callable[[Path, int, Counter[str]], None]] = {
    "recipe": _use_recipe, "garden": _use_garden, "crop": _use_crop, "weather": _use_weather,
}  # fmt: skip
