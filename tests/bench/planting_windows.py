"""Starts that planting guides advise, against what the engine makes of starts all round the year.

Usage: python tests/bench/planting_windows.py FOLDER [--region R] [--group G] [--crop C]; FOLDER holds windows.csv and places.csv,
as tests/outside/data/guides does.

*Served*: share of starts inside the windows that give at least 60 % of the year's best. *False*: share of starts more than 30
days from every window that do so. *Days*: middle days to the first picking beside the middle of the published range; of
potatoes that are not called early those of mature tubers, of leaf that is picked young as well those of full-grown plants. A
guide's "Lettuce" is all kinds, and its least days are those of leaf lettuce. *Unexplained*: share of false starts but for
crops of which tests/outside/data/planting_windows_reasons.csv says why the guides of the region leave them out (pests,
market, rains).
Three years (`--years 3`) are few: a frost of one year in five takes the middle one in one draw of ten, and the best of 36 is
a lucky one, so that 80 % are served by three years and 86 % by nine of the same engine.  Nine are few where winters are near the
limit: tomatoes that are set out in Phoenix in October die in six or seven winters of ten, in the nine that are drawn in four, and
bring all starts of spring down; thirty, as a score is grown over, show the published window (under two minutes).
"""

from __future__ import annotations

import argparse
import sys
from collections import defaultdict
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path
from typing import Literal

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))
from alone import Alone, Floats, grow_alone, place_of, rows, way

from mixcraft.crops import crop_ids, load_crop
from mixcraft.crops.clock import PLANTED
from mixcraft.crops.development import NEVER
from mixcraft.place import Place
from mixcraft.place.places import reference_place

REASONS = Path(__file__).parents[1] / "outside" / "data" / "planting_windows_reasons.csv"
STARTS, STEP, MARGIN, ENOUGH = 36, 10, 30, 0.6
GROUPS = {
    "fruit": "aubergine bitter-melon cape-gooseberry chilli courgette cucumber gherkin luffa melon okra pepper-sweet pumpkin"
    " sweet-corn tomatillo tomato-bush tomato-cherry tomato-cordon watermelon winter-squash butternut strawberry popcorn"
    " summer-squash-patty-pan",
    "legumes": "bean-bush bean-climbing broad-bean cowpea hyacinth-bean lima-bean mung-bean pea-dwarf pea-mangetout"
    " pea-sugar-snap pea-tall peanut runner-bean soybean yardlong-bean fenugreek chickpea lentil",
    "cole": "broccoli broccoli-sprouting brussels-sprouts cabbage-red cabbage-savoy cabbage-summer cabbage-winter cauliflower"
    " chinese-cabbage chinese-broccoli collards kale kale-tuscan kohlrabi pak-choi romanesco",
    "alliums": "chives garlic garlic-elephant leek onion onion-salad shallot welsh-onion",
    "roots": "beetroot carrot-early carrot-maincrop celeriac parsnip potato-early potato-maincrop radish radish-winter swede"
    " sweet-potato turnip jerusalem-artichoke salsify",
}


@cache
def explained() -> frozenset[tuple[str, str]]:
    """Region and crop of which it is said why guides leave out starts that would give a crop."""
    return frozenset((row["region"], row["crop"]) for row in rows(REASONS))


def group_of(crop: str) -> str:
    """Group of crops."""
    return next((g for g, names in GROUPS.items() if crop in names.split()), "leaf")


def day(text: str) -> int:
    """Day of the year 0..364 of a month-day."""
    return int((np.datetime64(f"2001-{text}") - np.datetime64("2001-01-01")).astype(int))


def month_day(day: int) -> str:
    """Month-day of a day of the year 0..364."""
    return str(np.datetime64("2001-01-01") + day)[5:]


def kind_for(crop: str, latitude_deg: float) -> str:
    """The kind of onion that is grown at a latitude: guides mean theirs."""
    if crop != "onion":
        return crop
    return "onion-short-day" if abs(latitude_deg) < 32 else "onion-intermediate" if abs(latitude_deg) < 39 else "onion"


def beyond(start: int, windows: Iterable[tuple[int, int]]) -> int:
    """Days from a start to the nearest window, 0 inside one."""
    found = []
    for a, b in windows:
        length = (b - a) % 365
        after = (start - a) % 365
        found.append(0 if after <= length else min(after - length, 365 - after))
    return min(found)


def verdict(key: tuple[str, str, str], mine: list[dict[str, str]], grown: Alone, starts: list[int]) -> dict[str, object]:
    """What the engine makes of one crop of a region, established one way."""
    windows = [(day(r["window_from"]), day(r["window_until"])) for r in mine]
    kg = np.median(grown.yields, axis=0)
    far = np.array([beyond(s, windows) for s in starts])
    inside, outside = far == 0, far > MARGIN
    good = kg >= ENOUGH * kg.max() if kg.max() > 1e-3 else np.zeros(len(kg), dtype=bool)
    called = mine[0]["crop"] if "crop_id" in mine[0] else ""
    wait = np.array([np.nan if np.isnan(days).all() else np.nanmedian(days) for days in ready(grown, called).T])
    return {
        "region": key[0], "crop": key[1], "how": key[2], "inside": int(inside.sum()), "served": int((inside & good).sum()),
        "outside": int(outside.sum()), "false": int((outside & good).sum()), "best": float(kg.max()),
        "unexplained": 0 if key[:2] in explained() else int((outside & good).sum()),
        "days": float(np.nanmedian(wait[inside])) if np.isfinite(wait[inside]).any() else np.nan,
        "published": _published(mine, grown), "marks": "".join(_mark(i, g) for i, g in zip(far, good, strict=True)),
    }  # fmt: skip


def ready(grown: Alone, called: str = "") -> Floats:
    """Days from the start to what published days mean, (Y, S): the first picking, or of potatoes that are not `called` early the
    death of their tops, and of leaf that is picked young as well not before its plants are full-grown."""

    def days_to(event: Literal["tops", "ready"]) -> Floats:
        days = np.stack([getattr(c, event) - start for c, start in zip(grown.clocks, grown.starts, strict=True)], axis=1)
        return np.where(days < NEVER // 2, days, np.nan)

    if grown.crop.id.startswith("potato") and "early" not in called:
        return days_to("tops")
    first = grown.first()
    if grown.crop.main_part.methods[0] in ("cut", "leaf"):
        return np.where(np.isnan(first), np.nan, np.fmax(first, days_to("ready")))
    return first


def _mark(far: int, good: bool) -> str:
    if far == 0:
        return "S" if good else "x"
    if far <= MARGIN:
        return "+" if good else "-"
    return "F" if good else "."


def _published(mine: list[dict[str, str]], grown: Alone) -> float:
    """Middle of the published days, counted from when the crop goes into the bed; of leaf lettuce, the quickest of the kinds that
    a guide calls lettuce and no more, the least."""
    found = [r for r in mine if r["days_low"]]
    if not found:
        return np.nan
    if grown.crop.id == "lettuce-loose-leaf" and mine[0]["crop"] in ("Lettuce", grown.crop.id):
        return float(np.mean([float(r["days_low"]) for r in found]))
    middle = float(np.mean([(float(r["days_low"]) + float(r["days_high"] or r["days_low"])) / 2 for r in found]))
    raised = way(grown.crop, mine[0]["how"]) in PLANTED and found[0]["days_from"] == "sowing"
    return middle - (7.0 * grown.crop.number("seed.module_age", 0.0) if raised else 0.0)


def verdicts(folder: Path, years: int, region: str = "", group: str = "", crop: str = "") -> list[dict[str, object]]:
    """Every crop of every region of a folder beside its windows; `region` and `group` are parts of names."""
    places = {r["region"]: reference_place(r["builtin"]) if r["builtin"] else place_of(r) for r in rows(folder / "places.csv")}
    by: dict[tuple[str, str, str], list[dict[str, str]]] = defaultdict(list)
    for row in rows(folder / "windows.csv"):
        asked_for = region in row["region"] and group in group_of(row["crop_id"]) and crop in ("", row["crop_id"])
        if asked_for and row["crop_id"] in crop_ids():
            by[row["region"], row["crop_id"], row["how"]].append(row)
    return beside(by, places, [STEP * i + 3 for i in range(STARTS)], years)


def beside(
    by: Mapping[tuple[str, str, str], list[dict[str, str]]], places: Mapping[str, Place], starts: list[int], years: int
) -> list[dict[str, object]]:
    """Each crop grown alone from `starts` beside its windows, which are given by region, crop and way."""
    names = [month_day(s) for s in starts]
    found = []
    for key, mine in by.items():
        region, crop, how = key
        grown = grow_alone(load_crop(kind_for(crop, places[region].latitude_deg)), places[region], how, names, years)
        found.append(verdict(key, mine, grown, starts))
    return found


def total(found: list[dict[str, object]], title: str) -> str:
    """One line of shares over rows."""

    def sum_of(name: str) -> float:
        return float(sum(float(r[name]) for r in found))  # type: ignore[arg-type]

    ratio = np.array([float(r["days"]) / float(r["published"]) for r in found])  # type: ignore[arg-type]
    off = ratio[np.isfinite(ratio)] - 1.0
    days = ""
    if len(off):
        days = f"{100 * np.abs(off).mean():4.0f} % (bias {100 * off.mean():+4.0f}, median {100 * np.median(np.abs(off)):3.0f})"
    served = sum_of("served") / max(sum_of("inside"), 1)
    false, unexplained = (sum_of(name) / max(sum_of("outside"), 1) for name in ("false", "unexplained"))
    shares = f"served {100 * served:4.0f} %  false {100 * false:4.0f} % ({100 * unexplained:3.0f} unexplained)"
    return f"{title:24} {len(found):4d}  {shares}  days off {days}"


def main() -> None:
    """Run and print."""
    asked = argparse.ArgumentParser()
    asked.add_argument("folder", type=Path)
    asked.add_argument("--region", default="")
    asked.add_argument("--group", default="")
    asked.add_argument("--crop", default="")
    asked.add_argument("--brief", action="store_true")
    asked.add_argument("--years", type=int, default=30)
    args = asked.parse_args()
    found = verdicts(args.folder, args.years, args.region, args.group, args.crop)
    for r in [] if args.brief else sorted(found, key=lambda r: (group_of(str(r["crop"])), str(r["crop"]))):
        named = f"{r['region']:22} {r['crop']:20} {r['how']:10} {r['marks']}"
        print(f"{named} best {r['best']:5.1f}  days {r['days']:5.0f} ({r['published']:4.0f})")
    for name in sorted({str(r["region"]) for r in found}):
        print(total([r for r in found if r["region"] == name], name))
    for name in sorted({group_of(str(r["crop"])) for r in found}):
        print(total([r for r in found if group_of(str(r["crop"])) == name], name))
    print(total(found, "all"))


if __name__ == "__main__":
    main()
