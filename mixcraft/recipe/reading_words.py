"""What a recipe says in a grower's words, as the model has it: rows and their distances, seed, the client's name of a crop."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from mixcraft.crops import UnknownCrop
from mixcraft.crops.library import find_part, plain_name
from mixcraft.crops.model import Crop
from mixcraft.files import parse_quantity

from .layout import row_on_trellis_m
from .model import Amount, AtTrellis, Border, Count, Density, Points, Rows, Span, Usual, Where
from .reader import PathTuple, Reader

SOWN_WAYS = ("broadcast", "drills", "stations")


def name_as_written(word: str, crop: Crop) -> str:
    """The name of a planting that has none of its own: the crop as the recipe calls it ("cilantro"), but the usual name for an
    identifier ("onion-salad") or a botanical name."""
    written = " ".join(word.split())
    botanical = plain_name(written) == plain_name(crop.botanical) or (
        written[:1].isupper() and plain_name(written).startswith(plain_name(crop.botanical).split()[0] + " ")
    )
    return crop.name if written == crop.id or botanical else written


def part_of_name(word: str) -> list[dict[str, Any]]:
    """The harvest that a name stands for where the recipe says nothing: turnip greens are a turnip's tops."""
    try:
        part = find_part(word)
    except UnknownCrop:
        return []
    return [{"part": part}] if part else []


def sown_way(way: str, crop: Crop, where: Where) -> str:
    """How `seed` is sown: in drills in rows, at stations where places are drawn, else in the crop's first way of sowing."""
    if way != "seed":
        return way
    ways = [known for known in crop.establish if known in SOWN_WAYS]
    if isinstance(where, Points):
        return "stations"
    if isinstance(where, Rows | AtTrellis | Border):
        return "drills" if "drills" in ways or "stations" not in ways else "stations"
    return ways[0] if ways else "broadcast"


def read_rows(reader: Reader, data: Mapping[str, Any], path: PathTuple, bed: tuple[float, float]) -> Rows:
    """Rows by their places, by their number, or by their distance; from one end to another."""
    along = data.get("along", "length")
    run_m, across_m = bed if along == "length" else bed[::-1]
    ends = None
    if "from" in data or "to" in data:
        ends = (reader.span(data.get("from", "0 cm"), (*path, "from")), reader.span(data.get("to", "100 %"), (*path, "to")))
        if ends[0].metres(run_m) >= ends[1].metres(run_m):
            reader.fault(
                (*path, "to" if "to" in data else "from"), "the rows end before they begin", "rows.ends",
                found=str(data.get("to", data.get("from"))), repair="swap `from` and `to`, or check the units",
            )  # fmt: skip
    if "at" in data:
        for key in ("rows", "apart"):
            if key in data and (key == "apart" or data[key] != len(data["at"])):
                reader.fault(
                    (*path, key), f"`at` says where the rows lie, so `{key}` has no use", "rows.twice", found=str(data[key]),
                    allowed="at, or rows and apart", repair=f"delete `{key}`, or `at`",
                )  # fmt: skip
        return Rows(along, tuple(reader.span(at, (*path, "at", i)) for i, at in enumerate(data["at"])), ends)
    if "rows" not in data and "apart" not in data:
        reader.fault(
            path, "nothing says where the rows lie", "rows.where", allowed="at, rows, apart",
            repair="write `at: [30 cm, 60 cm]`, `rows: 3`, or `apart: 30 cm`",
        )  # fmt: skip
        return Rows(along, (Span(0.5, True),), ends)
    return Rows(along, _offsets(reader, data, path, across_m), ends)


def _offsets(reader: Reader, data: Mapping[str, Any], path: PathTuple, across_m: float) -> tuple[Span, ...]:
    """Where so many rows, or as many as fit at a distance, lie across a bed: in its middle, half a distance from its edges."""
    apart = parse_quantity(data["apart"], "length") if "apart" in data else across_m / data["rows"]
    number = data.get("rows") or max(1, math.floor(across_m / apart + 1e-6))
    first = (across_m - (number - 1) * apart) / 2.0
    if first < -1e-9 or number > MOST_ROWS:
        reader.fault(
            (*path, "apart"), f"{number} rows {data['apart']} apart do not fit across {across_m:g} m", "rows.fit",
            found=str(data["apart"]), repair=f"write `apart: {100.0 * across_m / min(number, MOST_ROWS):.0f} cm`, or fewer rows",
        )  # fmt: skip
        return (Span(0.5, True),)
    return tuple(Span(round(first + i * apart, 4)) for i in range(number))


MOST_ROWS = 60


def amount_at(spacing_m: float, where: Where, crop: Crop, bed: tuple[float, float]) -> Amount:
    """How many plants stand so far apart: along each row, trellis or edge, else each on a square of that side."""
    if isinstance(where, Points):
        return Usual()
    if isinstance(where, Border):
        return Density(1.0 / (spacing_m * where.depth_m))
    if isinstance(where, AtTrellis):
        return Density(1.0 / (spacing_m * row_on_trellis_m(crop)))
    if isinstance(where, Rows):
        run_m = bed[0] if where.along == "length" else bed[1]
        if where.ends is not None:
            run_m = where.ends[1].metres(run_m) - where.ends[0].metres(run_m)
        return Count(len(where.at) * max(1, round(max(run_m, 0.0) / spacing_m)))
    return Density(spacing_m**-2)
