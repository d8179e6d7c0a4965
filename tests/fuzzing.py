"""Inputs that nobody would write, and what becomes of them: files of every kind changed at random in their bytes or in their
structure, drawn from the schemas, or extreme and yet right.

Every input has a number, from which it can be made again. What is wanted of each: it is read, or refused by `FileFaults` or
`UsageError`; what is read can be grown and scored, and said in all ways that there are; nothing else is raised.
``python tests/fuzzing.py FIRST LAST [FILE]`` tries a range of numbers in batches and adds the counts of each to a file.
"""

from __future__ import annotations

import copy
import csv
import gc
import json
import random
import re
import resource as usage
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any

import extremes
import yaml
from from_schemas import Maker

from mixcraft.crops import crop_from_mapping
from mixcraft.crops.checking import crop_faults
from mixcraft.crops.library import DATA
from mixcraft.design.brief import load_brief
from mixcraft.files import FileFaults, UsageError, check_schema, load_document, parse_document, resource
from mixcraft.place import weather_from_csv
from mixcraft.press import press_card
from mixcraft.press.options import Options
from mixcraft.press.unpacking import attached
from mixcraft.recipe.model import Garden, Recipe, Usual, WholeBed
from mixcraft.recipe.plan import plan
from mixcraft.recipe.reading import load_garden, load_recipe, read_garden, read_recipe
from mixcraft.scoring import Score, score
from mixcraft.season.grow import grow
from mixcraft.season.logbook import beside, read_log
from mixcraft.season.result import Season

KINDS = ("recipe", "recipe", "recipe", "garden", "garden", "crop", "brief", "log", "weather")
CARDS = 100
"""One in so many of the inputs is a card in PDF, to be unpacked."""
ENDINGS = {"weather": "csv", "pdf": "pdf"}
PRINTED = 40
"""One in so many of the seasons is printed as well."""
GROWN = (10_000, 5)
"""After so many inputs, one in so many of what is read is grown: reading is where most inputs end, growing what takes long."""
VOXELS = 23
"""One in so many is grown by voxels."""
BATCH = 250
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


LOG = """\
format: mixcraft-log/1
garden: Kiln Lane
picked:
  - {on: 2027-06-12, bed: long bed, planting: lettuce, amount: 350 g}
  - {on: 2027-06-19, bed: long bed, planting: radish, part: root, amount: 0.5 lb, note: small}
"""


@lru_cache(maxsize=1)
def seeds() -> dict[str, tuple[bytes, ...]]:
    """Good files by kind."""
    demo = resource("recipes_demo", "kiln-lane.garden.yaml").parent
    templates = resource("templates", "new.recipe.yaml").parent
    days = "\n".join(f"{date(2023, 1, 1) + timedelta(d)},{d % 9},{9 + d % 11},{d % 4}" for d in range(730))
    return {
        "recipe": tuple(p.read_bytes() for p in (*sorted(demo.glob("*.recipe.yaml")), templates / "new.recipe.yaml")),
        "garden": ((demo / "kiln-lane.garden.yaml").read_bytes(), (templates / "new.garden.yaml").read_bytes()),
        "crop": tuple((DATA / f"{name}.yaml").read_bytes() for name in ("radish", "potato-early", "rhubarb")),
        "brief": tuple(p.read_bytes() for p in sorted(demo.glob("*.brief.yaml"))),
        "log": (LOG.encode(),),
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


def rows_changed(chance: random.Random, data: bytes) -> bytes:
    """One to four values of a table scaled or replaced, or a row left out, doubled or moved."""
    rows = [line.split(",") for line in data.decode().splitlines()]
    for _ in range(chance.randint(1, 4)):
        at, kind = chance.randrange(1, len(rows)), chance.randrange(8)
        if kind == 0:
            del rows[at]
        elif kind == 1:
            rows.insert(chance.randrange(1, len(rows)), rows[at])
        else:
            column = chance.randrange(len(rows[at]))
            value = rows[at][column]
            rows[at][column] = _scaled(chance, value) if kind > 3 else str(chance.choice((*NUMBERS, *WORDS)))
    return "\n".join(",".join(row) for row in rows).encode("utf-8", "surrogatepass")


@lru_cache(maxsize=1)
def card() -> bytes:
    """A card as it is printed, with its recipe and garden attached."""
    season = _good_season()
    return press_card(season, score(season), Options("A4", "metric", "en", 2027))


def structure_changed(chance: random.Random, data: bytes) -> bytes:
    """One to three values, keys or items of the tree changed, and the file written anew."""
    return written(_changed(chance, copy.deepcopy(_tree(data))))


@lru_cache(maxsize=40)
def _tree(data: bytes) -> Any:
    return parse_document(data.decode(), "seed").data


def written(tree: Any) -> bytes:
    """The text of a file of a tree."""
    try:
        return yaml.dump(tree, Dumper=getattr(yaml, "CSafeDumper", yaml.SafeDumper), allow_unicode=True, sort_keys=False).encode()
    except UnicodeEncodeError:
        return yaml.dump(tree, allow_unicode=True, sort_keys=False).encode("utf-8", "surrogatepass")


def _changed(chance: random.Random, tree: Any) -> Any:
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        spots: list[tuple[Any, Any]] = []
        _collect(tree, spots)
        if spots:
            _change(chance, *chance.choice(spots), spots)
    return tree


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
    """Kind and bytes of the input of a number: a third is changed, a third drawn from a schema, a third extreme."""
    chance = random.Random(number)
    if number % CARDS == CARDS - 1:
        return "pdf", bytes_changed(chance, card()) if chance.random() < 0.8 else card()[: chance.randrange(len(card()))]
    kind = chance.choice(KINDS)
    how = chance.choice(("changed", "drawn", "extreme"))
    if kind == "weather" and chance.random() < 0.5:
        return kind, rows_changed(chance, chance.choice(seeds()[kind]))
    if kind == "weather" or (how == "changed" and chance.random() < 0.5):
        return kind, bytes_changed(chance, chance.choice(seeds()[kind]))
    if how == "changed":
        return kind, structure_changed(chance, chance.choice(seeds()[kind]))
    if how == "extreme" and hasattr(extremes, kind):
        return kind, written(getattr(extremes, kind)(chance))
    tree = Maker(chance, chance.choice((0.05, 0.2, 0.6)), chance.choice((0.0, 0.0, 0.01, 0.1))).document(kind)
    return kind, written(tree if chance.random() < 0.8 else _changed(chance, tree))


def tried(numbers: range, folder: Path) -> Tally:
    """Give every input to the engine."""
    tally = Tally()
    for name in ("good.garden.yaml", "kiln-lane.garden.yaml"):
        (folder / name).write_bytes(seeds()["garden"][0])
    (folder / "good.recipe.yaml").write_bytes(seeds()["recipe"][0])
    for number in numbers:
        kind, data = made(number)
        path = folder / f"input.{ENDINGS.get(kind, 'yaml')}"
        path.write_bytes(data)
        tally.counts[kind] += 1
        try:
            USES[kind](path, number, tally.counts)
        except (FileFaults, UsageError) as refusal:
            tally.counts[f"{kind} refused"] += 1
            if not str(refusal).strip():
                tally.wrong[number] = f"{kind}: refused without a word"
        except Exception as error:
            at = traceback.extract_tb(error.__traceback__)[-1]
            tally.wrong[number] = f"{kind}: {type(error).__name__}: {error} ({Path(at.filename).name}:{at.lineno})"
    return tally


@lru_cache(maxsize=1)
def good() -> tuple[Recipe, Garden]:
    """A recipe and a garden as they should be."""
    recipe, garden = seeds()["recipe"][0].decode(), seeds()["garden"][0].decode()
    return read_recipe(parse_document(recipe, "recipe")), read_garden(parse_document(garden, "garden"))


def _use(recipe: Recipe, garden: Garden, number: int, counts: Counter[str]) -> None:
    counts["read"] += 1
    if number >= GROWN[0] and number % GROWN[1]:
        return
    bed = garden.beds[number % len(garden.beds)]
    season = grow(plan(recipe, garden, bed.name), years=1, voxels=number // 5 % VOXELS == 0)
    result = score(season)
    assert 0.0 <= result.overall <= 100.0
    assert (season.picked_kg >= 0.0).all()
    counts["grown"] += 1
    if number // 5 % 4 == 0:
        _said(season, result, number)
        counts["said"] += 1
    if number // 5 % PRINTED == 0:
        papers, languages = ("A4", "Letter", "A5"), ("en", "de", "fr", "nl", "es")
        options = Options(papers[number // 200 % 3], ("metric", "us")[number // 600 % 2], languages[number // 1200 % 5], 2027)
        assert press_card(season, result, options).startswith(b"%PDF")
        counts["printed"] += 1


def _said(season: Season, result: Score, number: int) -> None:
    """The season on the screen, as a graph, a drawing, a calendar and a table."""
    from mixcraft.cli.show import score_text
    from mixcraft.cli.show_json import score_json
    from mixcraft.cli.show_light import graph_text, light_text
    from mixcraft.graph import graphml, interactions
    from mixcraft.press.bed_months import bed_svg
    from mixcraft.press.calendar_file import calendar_bytes
    from mixcraft.press.tables import harvest_table, seed_table, task_table
    from mixcraft.season.daylight import light_by_month

    units = ("metric", "us")[number // 20 % 2]
    json.dumps(score_json(result), allow_nan=False)
    assert score_text(result, every=True, units=units)
    graph = interactions(season)
    assert graphml(graph)
    assert graph_text(graph, every=True)
    assert light_text(season, light_by_month(season))
    if number // 5 % 16 == 0:
        assert bed_svg(season, units)
        assert calendar_bytes([(season, result)], 2027, datetime(2027, 1, 1, tzinfo=UTC), units)
        assert harvest_table(season, 2027)
        assert seed_table(season)
        assert task_table(season, result, 2027, units)


def _use_recipe(path: Path, number: int, counts: Counter[str]) -> None:
    recipe = load_recipe(path)
    if number % 3 == 0:
        try:
            garden = read_garden(parse_document(written(extremes.garden(random.Random(-number))).decode(), "garden"))
        except FileFaults:
            garden = good()[1]
        return _use(recipe, garden, number, counts)
    return _use(recipe, good()[1], number, counts)


def _use_garden(path: Path, number: int, counts: Counter[str]) -> None:
    recipe = good()[0]
    _use(replace(recipe, plantings=recipe.plantings[:2]), load_garden(path), number, counts)


def _use_crop(path: Path, number: int, counts: Counter[str]) -> None:
    document = load_document(str(path))
    faults = check_schema(document, "crop") or crop_faults(document)
    if faults:
        raise FileFaults(faults)
    recipe, crop = good()[0], crop_from_mapping(document.data, "recipe")
    one = replace(recipe.plantings[0], crop=crop, establish=crop.establish[0], harvest=(), amount=Usual(), where=WholeBed())
    _use(replace(recipe, plantings=(one,)), good()[1], number, counts)


def _use_brief(path: Path, number: int, counts: Counter[str]) -> None:
    load_brief(path).asked()
    counts["asked"] += 1


@lru_cache(maxsize=1)
def _good_season() -> Season:
    recipe, garden = good()
    return grow(plan(recipe, garden, "long bed"), years=1, voxels=False)


def _use_log(path: Path, number: int, counts: Counter[str]) -> None:
    log = read_log(path)
    until = log[-1].on if log else date(2027, 7, 1)
    assert len(beside(_good_season(), log, until, until.year)) == len(_good_season().harvests)
    counts["set beside"] += 1


def _use_weather(path: Path, number: int, counts: Counter[str]) -> None:
    weather_from_csv(path, 52.0)


def _use_pdf(path: Path, number: int, counts: Counter[str]) -> None:
    assert attached(path)
    counts["unpacked"] += 1


USES: dict[str, Callable[[Path, int, Counter[str]], None]] = {
    "recipe": _use_recipe, "garden": _use_garden, "crop": _use_crop, "brief": _use_brief, "log": _use_log,
    "weather": _use_weather, "pdf": _use_pdf,
}  # fmt: skip


def batches(first: int, last: int, record: Path) -> int:
    """Try the inputs from `first` up to `last`, and add a line for each batch to a file; the number of those that went wrong."""
    wrong = 0
    for start in range(first, last, BATCH):
        before = time.process_time()
        with tempfile.TemporaryDirectory() as folder:
            tally = tried(range(start, min(start + BATCH, last)), Path(folder))
        gc.collect()
        memory = usage.getrusage(usage.RUSAGE_SELF).ru_maxrss // 1024
        counts = " ".join(f"{key.replace(' ', '-')}={count}" for key, count in sorted(tally.counts.items()))
        with record.open("a", newline="", encoding="utf-8") as handle:
            line = (start, min(start + BATCH, last), f"{time.process_time() - before:.1f}", memory, counts)
            csv.writer(handle).writerow((*line, len(tally.wrong), *(f"{n}: {said[:300]}" for n, said in tally.wrong.items())))
        wrong += len(tally.wrong)
    return wrong


if __name__ == "__main__":
    file = Path(sys.argv[3] if len(sys.argv) > 3 else "fuzz.csv")
    sys.exit(min(batches(int(sys.argv[1]), int(sys.argv[2]), file), 1))
