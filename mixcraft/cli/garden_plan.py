"""`mixcraft plan`: recipes for all beds of a garden over some years."""

from __future__ import annotations

import json
import re
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from mixcraft.files import UsageError, check_output
from mixcraft.files.write import write_atomically

if TYPE_CHECKING:
    from mixcraft.design.years import GardenYear


def plan(args: Namespace) -> int:
    """Write a recipe for each bed and year, and print one table."""
    from mixcraft.design.years import garden_years
    from mixcraft.recipe.reading import load_garden
    from mixcraft.tasks import scheduler
    from mixcraft.words.years import planned_text, years_lines

    from .design import clear, progress
    from .questions import crops_named

    garden = load_garden(args.garden)
    folder = Path(args.output)
    files = {(bed.name, year): folder / f"{slug(bed.name)}-year-{year}.recipe.yaml"
             for bed in garden.beds for year in range(1, args.years + 1)}  # fmt: skip
    if folder.exists() and not folder.is_dir():
        raise UsageError(f"{folder} is a file: give a folder for the recipes")
    folder.mkdir(parents=True, exist_ok=True)
    for target in files.values():
        check_output(str(target), (args.garden,))
    with scheduler(args.workers, args.scheduler) as runner:
        made = garden_years(
            garden, args.years, crops=crops_named(args.crops), nevers=crops_named(args.without), seconds=args.time,
            seed=args.seed, told=progress(), runner=runner,
        )  # fmt: skip
    clear()
    for year in made:
        for one in year.beds:
            if one.recipe is not None:
                write_atomically(str(files[one.bed.name, one.year]), planned_text(one, garden.name))
    if args.json:
        print(json.dumps(plan_json(made, {k: str(v) for k, v in files.items()}), ensure_ascii=False, indent=1))
    else:
        print("\n".join([*years_lines(made), f"{folder}: the recipes, one for each bed and year"]))
    return 0


def slug(name: str) -> str:
    """A name as part of a file's name."""
    return re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-") or "bed"


def plan_json(years: tuple[GardenYear, ...], files: dict[tuple[str, int], str]) -> dict[str, Any]:
    """The plan as plain data."""
    return {
        "years": [
            {
                "year": year.year, "portions_a_week": round(year.portions, 1),
                "weeks": [
                    {"from": str(day)[5:10], "served": round(share, 2), "kinds": round(kinds, 1)}
                    for day, share, kinds in zip(year.weeks, year.served, year.kinds, strict=True)
                ],
                "beds": [
                    {"bed": one.bed.name, "recipe": files[one.bed.name, one.year] if one.recipe is not None else None,
                     "crops": list(one.crops), "winter_cover": one.cover or None} for one in year.beds
                ],
            }
            for year in years
        ]
    }  # fmt: skip
