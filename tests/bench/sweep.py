"""A large sweep, timed: makes recipes and places, sweeps them, and prints rows a second and the memory of every worker.

usage: python tests/bench/sweep.py FOLDER [--recipes 1000] [--places 30] [--years 10] [--workers 2] [--scheduler tcp://...]

What is in the folder already is not done again, so a run that was stopped goes on; its rows a second are those that it made.
"""

from __future__ import annotations

import argparse
import os
import random
import threading
import time
from collections import defaultdict
from pathlib import Path

from mixcraft.cli.main import main
from mixcraft.design.constants import usual_crops
from mixcraft.place.places import reference_places

LETTERS = 4


def recipe_text(number: int) -> str:
    """A mixture of two to eight usual crops in strips side by side, sown from March to August."""
    chance = random.Random(number)
    length, width, count = chance.choice((2.0, 3.0, 4.0)), chance.choice((0.8, 1.0, 1.2)), chance.randint(2, 8)
    lines = [
        "format: mixcraft-recipe/1", f"name: Mixture {number}", f"bed: {{length: {length} m, width: {width} m}}", "plantings:",
    ]  # fmt: skip
    for n, crop in enumerate(chance.sample(sorted(usual_crops()), count)):
        first, last = 100.0 * n / count, 100.0 * (n + 1) / count
        day = f"{chance.randint(3, 8):02d}-{chance.randint(1, 28):02d}"
        lines.append(
            f"  - {{crop: {crop}, establish: {_way(crop)}, place: {{kind: strip, from: {first:.4g} %, to: {last:.4g} %}}, "
            f"start: {{kind: date, on: {day}, hemisphere: north}}{_support(crop)}}}"
        )
    return "\n".join(lines) + "\n"


def _way(crop: str) -> str:
    from mixcraft.crops import load_crop

    return load_crop(crop).establish[0]


def _support(crop: str) -> str:
    from mixcraft.crops import load_crop

    return ", support: canes" if load_crop(crop).form == "climber" else ""


def make(folder: Path, recipes: int, places: int) -> None:
    """Write the recipes, numbered from 0, and the places, spread over the built-in ones."""
    (folder / "recipes").mkdir(parents=True, exist_ok=True)
    for number in range(recipes):
        (folder / "recipes" / f"{number:0{LETTERS}d}.yaml").write_text(recipe_text(number), "utf-8")
    every = reference_places()
    chosen = [every[len(every) * n // places] for n in range(places)]
    (folder / "places.csv").write_text("name\n" + "".join(f'"{name}"\n' for name in chosen), "utf-8")


def resident_mb(process: int) -> float | None:
    """Memory of a process [MB]; None once it has ended."""
    try:
        pages = int(Path(f"/proc/{process}/statm").read_text().split()[1])
    except (OSError, IndexError):
        return None
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def children() -> list[int]:
    """Processes that this one has started."""
    listed = Path(f"/proc/{os.getpid()}/task").glob("*/children")
    return [int(number) for file in listed for number in file.read_text().split()]


def watch(seen: dict[int, list[float]], stop: threading.Event, every_s: float = 5.0) -> None:
    """Note the memory of every worker now and then."""
    while not stop.wait(every_s):
        for process in children():
            memory = resident_mb(process)
            if memory is not None and memory > 50.0:  # not the tracker of resources
                seen[process].append(memory)


def run(folder: Path, years: int, more: list[str]) -> None:
    """Sweep, and print what it took."""
    os.chdir(folder)
    seen: dict[int, list[float]] = defaultdict(list)
    stop, began = threading.Event(), time.monotonic()
    threading.Thread(target=watch, args=(seen, stop), daemon=True).start()
    before = rows()
    code = main(["sweep", "recipes/*.yaml", "--places", "places.csv", "--years", str(years), "--layers", "-o", "results", *more])
    stop.set()
    seconds, made = time.monotonic() - began, rows() - before
    print(
        f"status {code}: {made} rows in {seconds:.0f} s: {made / seconds:.1f} rows, {made * years / seconds:.0f} recipe-years a s"
    )
    for process, noted in seen.items():
        quarters = [noted[(len(noted) - 1) * n // 4] for n in range(5)]
        print(
            f"worker {process}: {', '.join(f'{memory:.0f}' for memory in quarters)} MB at each quarter, {max(noted):.0f} at most"
        )


def rows() -> int:
    """Rows that are there."""
    import pyarrow.parquet as pq

    return sum(pq.ParquetFile(part).metadata.num_rows for part in Path("results").glob("place=*/*.parquet"))


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--recipes", type=int, default=1000)
    parser.add_argument("--places", type=int, default=30)
    parser.add_argument("--years", type=int, default=10)
    parser.add_argument("--workers", default="2")
    parser.add_argument("--scheduler")
    args = parser.parse_args()
    make(args.folder, args.recipes, args.places)
    given = ["--scheduler", args.scheduler] if args.scheduler else ["--workers", args.workers]
    run(args.folder, args.years, given)
