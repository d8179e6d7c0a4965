"""What the engine says to each fact of the trade (tests/outside/data/trade_facts.csv)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
from alone import DAYS, FLOWERS_KG_M2, LEAST_KG_M2, SIDE_M, Alone, grow_alone, place_of, planting, rows, way
from numpy.typing import NDArray

from mixcraft.crops import load_crop
from mixcraft.crops.clock import Clock
from mixcraft.crops.development import NEVER
from mixcraft.files.shelf import Shelf
from mixcraft.place import Place
from mixcraft.place.places import reference_place, reference_places
from mixcraft.recipe.model import Bed, Density, Garden, HarvestUse, Planting, Recipe, Thinning, Watering
from mixcraft.recipe.plan import plan
from mixcraft.season.grow import grow
from mixcraft.season.setting import clock_under

DATA = Path(__file__).parent / "outside" / "data"
YEARS, SEED = 30, 7
MIXED = ("radish", "garden-cress", "rocket", "mustard-leaf", "lettuce-loose-leaf", "beetroot", "chard", "carrot-maincrop",
         "parsnip", "kale")  # fmt: skip
"""A bed sown once: quick salad first, then leaves, then roots and kale."""
SOWN_THICK = 4.0
"""How many times its usual number a crop is sown of which the thinnings are eaten."""
Row = Mapping[str, str]
Floats = NDArray[np.float64]


def facts() -> list[dict[str, str]]:
    """All facts."""
    return rows(DATA / "trade_facts.csv")


@cache
def place(name: str) -> Place:
    """A reference place, or one of the facts' own places."""
    if name in reference_places():
        return reference_place(name)
    return next(place_of(row) for row in rows(DATA / "trade_facts_places.csv") if row["place"] == name)


def days_after(start: str, until: str) -> int:
    """Days from a month-day to the next other one."""
    return int((np.datetime64(f"2001-{until}") - np.datetime64(f"2001-{start}")).astype(int)) % 365


@cache
def alone(crop: str, where: str, how: str, start: str, cover: str = "") -> Alone:
    """The crop grown alone from one start."""
    return grow_alone(load_crop(crop), place(where), how, [start], YEARS, SEED, cover)


def _grown(row: Row, start: str = "", cover: str | None = None) -> Alone:
    return alone(row["crop"], row["place"], row["how"], start or row["start"], row["cover"] if cover is None else cover)


@cache
def part_kg(crop_id: str, where: str, how: str, start: str) -> tuple[int, Floats]:
    """Start and daily kilograms a square metre of one part (D, Y) of a crop alone; `how` is its way, then > and part/method,
    after a + beside the main part."""
    way_in, _, wanted = how.partition(">")
    name, method = wanted.lstrip("+").split("/")
    crop = load_crop(crop_id)
    main, use = crop.main_part, HarvestUse(name, method)
    item = planting(crop, way(crop, way_in), start, "bed")
    usual = Density(crop["spacing.density"])
    item = replace(item, amount=usual, thin=Thinning(SOWN_THICK * usual.per_m2) if method == "thin" else None)
    uses = (HarvestUse(main.name, main.methods[0]), use) if method == "thin" or wanted.startswith("+") else (use,)
    garden = Garden("part", place(where), (Bed("bed", SIDE_M, SIDE_M),))
    recipe = Recipe("part", SIDE_M, SIDE_M, (replace(item, harvest=uses),))
    season = grow(plan(recipe, garden, "bed", most_days=DAYS), YEARS, SEED, voxels=False)
    picked = [season.picked_kg[:, :, i] for i, h in enumerate(season.plan.harvests) if h.part.name == name]
    return season.plan.plantings[0].start, np.asarray(sum(picked)) / SIDE_M**2


@cache
def _kg(crop_id: str, where: str, how: str, start: str, watering: str) -> float:
    """Middle yield of the main part [kg/m2] of a crop alone on loam that is watered some way."""
    crop = load_crop(crop_id)
    item = planting(crop, way(crop, how), start, "bed")
    item = replace(item, harvest=(HarvestUse(crop.main_part.name, crop.main_part.methods[0]),))
    bed = Bed("bed", SIDE_M, SIDE_M, watering=Watering(watering))
    recipe = Recipe("dry", SIDE_M, SIDE_M, (item,))
    season = grow(plan(recipe, Garden("dry", place(where), (bed,)), "bed", most_days=DAYS), YEARS, SEED, voxels=False)
    return float(np.median(season.picked_kg.sum(axis=(0, 2)))) / SIDE_M**2


def _dry(row: Row) -> float:
    asked = (row["crop"], row["place"], row["how"], row["start"])
    return _kg(*asked, "rain") / max(_kg(*asked, "watered"), LEAST_KG_M2)


def _part_first(row: Row) -> Floats:
    """Days from the start to the first picking of a part, (Y,); nan where nothing is picked."""
    start, kg = part_kg(row["crop"], row["place"], row["how"], row["start"])
    name = row["how"].partition(">")[2].lstrip("+").split("/")[0]
    side = next(p for p in load_crop(row["crop"]).parts if p.name == name).pool == "side"
    picked = kg >= (FLOWERS_KG_M2 if side else LEAST_KG_M2)
    return np.where(picked.any(axis=0), picked.argmax(axis=0) - float(start), np.nan)


def _first(row: Row) -> float:
    return _middle(_part_first(row) if ">" in row["how"] else _grown(row).first()[:, 0])


def _years(row: Row) -> float:
    if ">" in row["how"]:
        return float(np.isfinite(_part_first(row)).mean())
    return float((_grown(row).yields >= LEAST_KG_M2).mean())


def _middle(values: Floats) -> float:
    """Median of the years that have a value, if half of them do."""
    return float(np.nanmedian(values)) if np.isfinite(values).mean() >= 0.5 else float("nan")


def _life(row: Row) -> tuple[Clock, int]:
    """The clock of the planting, whether it has been cut by then or not, and the day until which a fact asks of it."""
    setting = _grown(row).setting
    planned = setting.plan.plantings[0]
    clock = clock_under(planned, setting.plan, setting.weather, setting.offset, Shelf())[0]
    return clock, setting.offset + planned.start + days_after(row["start"], row["by"])


def _bolted(row: Row) -> float:
    """Share of the years in which the crop came up in which it has bolted."""
    clock, limit = _life(row)
    up = clock.emergence < NEVER
    return float((clock.bolt[up] <= limit).mean()) if up.any() else float("nan")


def _alive(row: Row) -> float:
    """Share of all years in which the crop lives: it comes up at some time, and is not dead by the day."""
    clock, limit = _life(row)
    return float(((clock.emergence < NEVER) & (clock.death > limit)).mean())


def _weeks(row: Row) -> float:
    grown = _grown(row)
    return _middle((grown.last() - grown.first())[:, 0]) / 7.0


def _times(row: Row) -> float:
    one, other = (float(np.median(_grown(row, s).yields)) for s in (row["start"], row["by"]))
    return one / max(other, LEAST_KG_M2)


def _gain(row: Row, name: str, sign: float) -> float:
    """Days that a cover gains; none where only what is covered gives anything, which costs no time."""
    with_cover, without = (_middle(getattr(_grown(row, cover=c), name)()[:, 0]) for c in (row["cover"], ""))
    return 0.0 if np.isnan(without) and not np.isnan(with_cover) else sign * (with_cover - without)


@cache
def _mixed(where: str, start: str, names: tuple[str, ...], how: str) -> tuple[int, Floats]:
    """Start and daily kilograms a square metre of all parts (D, Y) of crops sown together at a share of the usual number."""
    length, width = 2.0, 1.0
    plantings = []
    for name in names:
        crop = load_crop(name)
        one = planting(crop, how if how in crop.establish else way(crop, "seed"), start, name)
        plantings.append(_thick(one, 1.0 / len(names)))
    garden = Garden("mixed", place(where), (Bed("mixed", length, width),))
    recipe = Recipe("mixed", length, width, tuple(plantings))
    season = grow(plan(recipe, garden, "mixed", most_days=DAYS), YEARS, SEED, voxels=False)
    return season.plan.plantings[0].start, season.picked_kg.sum(axis=2) / (length * width)


def _thick(one: Planting, share: float) -> Planting:
    """A planting at a share of its density, sown as thick as for cutting where the crop is, and eaten as it is thinned."""
    assert isinstance(one.amount, Density)
    crop = one.crop
    thick = crop.number("spacing.cutting_density", crop["spacing.density"])
    main = crop.main_part
    uses = (HarvestUse(main.name, main.methods[0]),)
    thinned = next((p for p in crop.parts if "thin" in p.methods and p.pool == "leaf"), None)
    if thinned is None:
        return replace(one, amount=Density(one.amount.per_m2 * share), harvest=uses)
    return replace(
        one, amount=Density(crop["spacing.density"] * share), thin=Thinning(thick * share),
        harvest=(HarvestUse(thinned.name, "thin"), *uses),
    )  # fmt: skip


def _any_first(row: Row) -> float:
    """Days to the first picking; of several crops, which are thinned on days of their own, to the first week's worth of one."""
    names = MIXED if row["crop"] == "mixed" else (row["crop"],)
    start, kg = _mixed(row["place"], row["start"], names, row["how"])
    if len(names) > 1:
        total = np.cumsum(kg, axis=0)
        kg = np.concatenate([total[:7], total[7:] - total[:-7]])
    return float(np.median((kg >= LEAST_KG_M2).argmax(axis=0))) - start


def _gap(row: Row) -> float:
    start, kg = _mixed(row["place"], row["start"], MIXED, row["how"])
    until = start + days_after(row["start"], row["by"])
    gaps = []
    for year in (kg[: until + 1] >= LEAST_KG_M2).T:
        days = np.append(np.flatnonzero(year), until)
        gaps.append(float(np.diff(days).max()))
    return float(np.median(gaps))


CHECKS: Mapping[str, Callable[[Row], float]] = {
    "first": _first,
    "last": lambda row: _middle(_grown(row).last()[:, 0]),
    "yield": lambda row: float(np.median(_grown(row).yields)),
    "years": _years,
    "weeks": _weeks,
    "bolted": _bolted,
    "alive": _alive,
    "times": _times,
    "dry": _dry,
    "gain_first": lambda row: _gain(row, "first", -1.0),
    "gain_last": lambda row: _gain(row, "last", 1.0),
    "any_first": _any_first,
    "gap": _gap,
}


def said(row: Row) -> float:
    """The engine's answer: days after the start for dates, else the number in the fact's unit."""
    return CHECKS[row["check"]](row)


def limits(row: Row) -> tuple[float, float]:
    """Range of the fact in the unit of `said`."""
    if row["check"] in ("first", "last"):
        low = days_after(row["start"], row["low"])
        return low, low + (days_after(row["low"], row["high"]))
    return float(row["low"]), float(row["high"])


def holds(row: Row) -> bool:
    """Whether the engine agrees."""
    low, high = limits(row)
    return bool(low <= said(row) <= high)


def words(row: Row) -> str:
    """A fact beside the engine's answer."""
    value, (low, high) = said(row), limits(row)
    shown = f"{value:.2f} not {low:g}..{high:g}"
    if row["check"] in ("first", "last"):
        date = "never" if np.isnan(value) else str(np.datetime64(f"2001-{row['start']}") + int(value))[5:]
        shown = f"{date} not {row['low']}..{row['high']}"
    named = f"{row['id']:>4} {row['place']:12} {row['crop']:18} {row['how']:9} {row['start']} {row['check']:9}"
    return f"{named} {shown}  ({row['fact']})"


def main() -> None:
    """Print the facts that do not hold."""
    import sys

    chosen = [r for r in facts() if len(sys.argv) < 2 or r["crop"] in sys.argv[1:] or r["place"] in sys.argv[1:]]
    failed = [r for r in chosen if not holds(r)]
    for row in failed:
        print(words(row))
    print(len(chosen) - len(failed), "of", len(chosen), "hold")
    print("failed:", " ".join(r["id"] for r in failed))


if __name__ == "__main__":
    main()
