"""Arguments, exit codes and error messages.

Exit codes: 0 done; 1 the answer is "no" (a score under `--fail-under`); 2 bad input, with one clear message each.
"""

from __future__ import annotations

import argparse
import datetime
import gc
import math
import re
import sys
from collections.abc import Callable, Sequence
from typing import Any

from mixcraft import __version__
from mixcraft.files import FileFaults, UsageError
from mixcraft.files.faults import of_one_cause
from mixcraft.files.keeping import find_a_cache

from . import commands, design, garden_plan, keys, places, printed, questions, sweep
from .streams import finish, guarded, prepare

Command = Callable[[argparse.Namespace], int]


def _seed(text: str) -> int:
    """A seed of random numbers: a whole number from 0 up."""
    if not text.strip().isdecimal():
        raise argparse.ArgumentTypeError(f"{text}: give a whole number from 0 up")
    return int(text)


def _points(text: str) -> float:
    """A score to compare with; not "nan", which no score is under."""
    try:
        points = float(text)
    except ValueError:
        points = math.nan
    if not math.isfinite(points):
        raise argparse.ArgumentTypeError(f"{text}: give a number from 0 to 100")
    return points


def _month_day(text: str) -> str:
    """A month-day, MM-DD."""
    word = text.strip()
    try:
        if not re.fullmatch(r"\d\d?-\d\d?", word):
            raise ValueError
        month, day = (int(part) for part in word.split("-"))
        return f"{datetime.date(2001, month, day):%m-%d}"
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text}: give a month and a day, such as 07-15") from None


def _share(text: str) -> float:
    """A share of the open sky's light, as per cent or as a number up to 1."""
    word = text.strip()
    try:
        share = float(word.removesuffix("%")) / (100.0 if word.endswith("%") else 1.0)
    except ValueError:
        share = math.nan
    if not 0.05 <= share <= 1.0:
        raise argparse.ArgumentTypeError(f"{text}: give a share of the open sky's light from 5 % to 100 %, such as 60%")
    return share


def _positive(text: str) -> float:
    """A number above nothing."""
    try:
        number = float(text)
    except ValueError:
        number = math.nan
    if not 0.0 < number <= 100_000.0:
        raise argparse.ArgumentTypeError(f"{text}: give a number above 0")
    return number


def _seconds(text: str) -> float:
    """A time for a search: seconds, with or without their unit."""
    word = text.strip().lower()
    times = next((n for unit, n in (("min", 60.0), ("s", 1.0), ("", 1.0)) if word.endswith(unit)), 1.0)
    try:
        seconds = float(word.removesuffix("min").removesuffix("s")) * times
    except ValueError:
        seconds = math.nan
    if not 1.0 <= seconds <= 3600.0:
        raise argparse.ArgumentTypeError(f"{text}: give a time from 1 s to 60 min, such as 30s")
    return seconds


def _move_number(text: str) -> str:
    """The number of a move in the list, or all."""
    word = text.strip().lower()
    if word != "all" and not (word.isdecimal() and int(word) >= 1):
        raise argparse.ArgumentTypeError(f"{text}: give the number of a move, from 1 up, or all")
    return word


def _count(text: str) -> int:
    """How many designs."""
    if not text.strip().isdecimal() or not 1 <= int(text) <= 9:
        raise argparse.ArgumentTypeError(f"{text}: give a number from 1 to 9")
    return int(text)


def _plan_years(text: str) -> int:
    """Years of a plan."""
    if not text.strip().isdecimal() or not 1 <= int(text) <= 4:
        raise argparse.ArgumentTypeError(f"{text}: give a number of years from 1 to 4")
    return int(text)


def _years(text: str) -> int:
    """Weather years."""
    if not text.strip().isdecimal() or not 1 <= int(text) <= 1000:
        raise argparse.ArgumentTypeError(f"{text}: give a number of years from 1 to 1000")
    return int(text)


def _workers(text: str) -> int:
    """How many processes."""
    if not text.strip().isdecimal() or not 1 <= int(text) <= 1024:
        raise argparse.ArgumentTypeError(f"{text}: give a number of processes from 1 to 1024")
    return int(text)


def _year(text: str) -> int:
    """A year of the calendar."""
    if not text.strip().isdecimal() or not 1900 <= int(text) <= 2200:
        raise argparse.ArgumentTypeError(f"{text}: give a year, such as 2027")
    return int(text)


def _number(text: str) -> int:
    """The number of a conflict in the list."""
    if not text.strip().isdecimal() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"{text}: give the number of a conflict, from 1 up")
    return int(text)


def _recipe_in_bed(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("recipe", help="recipe file")
    _bed(parser)


def _bed(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--garden", "-g", required=True, help="garden file")
    parser.add_argument("--bed", "-b", help="name of the bed; needed when the garden has several")
    parser.add_argument(
        "--weather", metavar="FILE",
        help="your own weather instead of weather years: a daily .csv with the columns date, tmax_c, tmin_c, rain_mm, or an .epw",
    )  # fmt: skip
    parser.add_argument("--years", type=int, default=30, metavar="N", help="weather years (30)")
    parser.add_argument("--seed", type=_seed, default=None, metavar="N", help="seed of the weather years")


def _units(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--units", choices=["metric", "us"], default="metric", help="units (metric)")


def build_parser() -> argparse.ArgumentParser:
    """The parser of the command line."""
    parser = argparse.ArgumentParser(prog="mixcraft", description="Design, score and print mixed vegetable beds.")
    parser.add_argument("--version", action="version", version=f"mixcraft {__version__}")
    sub = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")

    check = sub.add_parser("check", help="check recipe, garden and crop files")
    check.add_argument("files", nargs="+", help="files to check")
    check.set_defaults(run=commands.check)

    score = sub.add_parser("score", help="grow a recipe in a bed and say what is good, what clashes and what is missing")
    _recipe_in_bed(score)
    score.add_argument("--json", action="store_true", help="print JSON instead of text")
    score.add_argument("--fail-under", type=_points, metavar="N", help="exit with 1 if the overall score is below N")
    score.add_argument("--no-repairs", action="store_true", help="do not try repairs")
    score.add_argument("--apply", type=_number, metavar="N", help="write the recipe with the repair of conflict N to -o FILE")
    score.add_argument("-o", "--output", metavar="FILE", help="recipe file to write with --apply")
    score.add_argument("--all", action="store_true", help="print everything: every reason, the lines of repairs, every week")
    _units(score)
    score.set_defaults(run=commands.score)

    two = sub.add_parser("compare", help="set two recipes side by side in one bed: parts, conflicts, food and weeks")
    two.add_argument("recipe", metavar="A", help="recipe file")
    two.add_argument("other", metavar="B", help="recipe file")
    _bed(two)
    two.add_argument("--json", action="store_true", help="print JSON instead of text")
    _units(two)
    two.set_defaults(run=commands.compare)

    graph = sub.add_parser("graph", help="say, or draw, who takes whose light, roots beside whom, makes room for whom")
    _recipe_in_bed(graph)
    graph.add_argument("-o", "--output", help="file to write: a picture (.svg) or the graph (.json, .graphml)")
    graph.add_argument("--all", action="store_true", help="print every interaction, not only the twenty strongest")
    _units(graph)
    graph.set_defaults(run=commands.graph)

    light = sub.add_parser("light", help="show the light on the bed and on each planting, month by month")
    _recipe_in_bed(light)
    light.add_argument("-o", "--output", help="SVG picture to write")
    light.set_defaults(run=commands.light)

    bed = sub.add_parser("show", help="draw the bed month by month, from above and from the side")
    _recipe_in_bed(bed)
    bed.add_argument("-o", "--output", required=True, metavar="FILE", help="SVG picture to write")
    _units(bed)
    bed.set_defaults(run=commands.show_bed)

    card = sub.add_parser("card", help="print the sowing card as PDF")
    _recipe_in_bed(card)
    card.add_argument("-o", "--output", required=True, help="PDF file to write")
    printed.printing_arguments(card, _year)
    card.set_defaults(run=printed.card)

    printed.add_commands(sub, _recipe_in_bed, _year)
    _design_commands(sub)
    _questions(sub)

    crops = sub.add_parser("crops", help="list the crops, or show one with its sources")
    crops.add_argument("name", nargs="*", help="crop, by any of its names")
    crops.add_argument("--table", action="store_true", help="compare several crops, names separated by commas")
    crops.add_argument("--find", metavar="TRAITS", help='crops with all these traits: "low, shade-bearing, frost-hardy, leaf"')
    crops.add_argument("--sources", action="store_true", help="with a crop: every number with its source")
    _units(crops)
    crops.add_argument("--coverage", action="store_true", help="count how well the numbers are sourced")
    crops.add_argument("--trial", action="store_true", help="grow the crop alone at several places, beside its published ranges")
    crops.add_argument("--all", action="store_true", help="with --trial: the crop, or every crop, in six climates, a line each")
    crops.set_defaults(run=commands.crops)

    near = sub.add_parser("places", help="list the built-in places, or show one, the nearest to a spot, or that of a garden")
    near.add_argument("name", nargs="?", help="place, country or garden file")
    near.add_argument("--near", nargs="+", metavar="WHERE", help="latitude and longitude, such as 44.9 N 93.2 W 260 m")
    _units(near)
    near.set_defaults(run=places.places)

    known = sub.add_parser("keys", help="every key of a recipe, a garden or a brief: meaning, values, default, example")
    known.add_argument("kind", choices=["recipe", "garden", "brief"], help="kind of file")
    known.add_argument("key", nargs="?", help="one key, such as place")
    known.set_defaults(run=keys.keys)

    new = sub.add_parser("new", help="write a first recipe, garden or brief, commented and valid as it stands")
    new.add_argument("kind", choices=["recipe", "garden", "crop", "brief"], help="kind of file")
    new.add_argument("-o", "--output", help="file to write; without it, print")
    new.set_defaults(run=commands.new)

    schema = sub.add_parser("schema", help="print a JSON Schema")
    kinds = ["recipe", "garden", "crop", "brief", "log", "score"]
    schema.add_argument("kind", choices=kinds, help="kind of file; score is what --json prints")
    schema.set_defaults(run=commands.schema)

    _sweep_command(sub)

    demo = sub.add_parser("demo", help="check, score and print the demonstration garden")
    demo.add_argument("-o", "--output", default="demo-output", help="folder for the cards (demo-output)")
    demo.set_defaults(run=commands.demo)
    return parser


def _design_commands(sub: Any) -> None:
    """Commands of the design engine."""
    made = sub.add_parser("design", help="design a recipe from a brief")
    made.add_argument("brief", help="brief file")
    made.add_argument("-o", "--output", required=True, metavar="FILE", help="recipe file to write")
    made.add_argument("--alternatives", type=_count, default=1, metavar="N", help="so many designs of different crops (1)")
    made.set_defaults(run=design.design)

    mended = sub.add_parser("mend", help="try moves that mend a recipe, and list them by gain")
    mended.add_argument("--apply", type=_move_number, metavar="N", help="write the recipe with move N, or all, to -o FILE")
    mended.add_argument("-o", "--output", metavar="FILE", help="recipe file to write with --apply")
    mended.set_defaults(run=design.mend)

    fitted = sub.add_parser("fit", help="fit a recipe to another bed and place")
    fitted.add_argument("-o", "--output", required=True, metavar="FILE", help="recipe file to write")
    fitted.set_defaults(run=design.fit)
    for parser in (mended, fitted):
        parser.add_argument("recipe", help="recipe file")
        parser.add_argument("--garden", "-g", required=True, help="garden file")
        parser.add_argument("--bed", "-b", help="name of the bed; needed when the garden has several")
    plan = sub.add_parser("plan", help="recipes for all beds of a garden over some years, rotation kept")
    plan.add_argument("garden", help="garden file")
    plan.add_argument("-o", "--output", required=True, metavar="FOLDER", help="folder for the recipes")
    plan.add_argument("--years", type=_plan_years, default=3, metavar="N", help="how many years, 1 to 4 (3)")
    plan.add_argument("--crops", default="", metavar="CROPS", help="only these, with commas (usual crops of kitchen gardens)")
    plan.add_argument("--without", default="", metavar="CROPS", help="none of these, with commas")
    plan.add_argument("--seed", type=_seed, default=1, metavar="N", help="seed of the search (1); same seed, same answer")
    plan.add_argument("--time", type=_seconds, default=120.0, metavar="2min", help="how long to search, about (2min)")
    plan.add_argument("--json", action="store_true", help="print JSON instead of text")
    plan.set_defaults(run=garden_plan.plan)
    for parser in (made, plan):
        _spread(parser)
    for parser in (made, mended, fitted):
        parser.add_argument("--seed", type=_seed, default=1, metavar="N", help="seed of the search (1); same seed, same answer")
        parser.add_argument("--time", type=_seconds, default=30.0, metavar="30s", help="how long to search, about (30s)")
        parser.add_argument("--years", type=_years, default=30, metavar="N", help="weather years of the final score (30)")


def _spread(parser: argparse.ArgumentParser) -> None:
    """The arguments of commands whose work is spread over processes or machines."""
    parser.add_argument("--workers", type=_workers, default=None, metavar="N", help="local processes (one for each processor)")
    parser.add_argument("--scheduler", metavar="tcp://...", help="give the work to the Dask cluster at this address")


def _questions(sub: Any) -> None:
    """Questions of one crop, one gap, one pair."""
    fill = sub.add_parser("fill", help="rank what can go in now: in a bed, at a place, or into the gap of a recipe")
    fill.add_argument("where", help="garden file, recipe file (with --garden), or the name of a place")
    fill.add_argument("--garden", "-g", help="garden file, where a recipe is to be filled")
    fill.add_argument("--bed", "-b", help="name of the bed; needed when the garden has several")
    fill.add_argument("--on", type=_month_day, metavar="MM-DD", help="the day (a recipe: its largest gap if left out)")
    fill.add_argument("--until", type=_month_day, metavar="MM-DD", help="the day by which it is to be cleared")
    fill.add_argument("--area", metavar="AREA", help="ground, such as '0.5 m2' (the whole bed)")
    fill.add_argument("--light", type=_share, default=1.0, metavar="SHARE", help="share of the open sky's light (100%%)")
    fill.add_argument("--beside", default="", metavar="CROPS", help="what grows beside it, with commas")
    fill.add_argument("--after", default="", metavar="CROPS", help="what grew there last year, with commas")
    fill.add_argument("--crops", default="", metavar="CROPS", help="only these, with commas (usual crops of kitchen gardens)")
    fill.add_argument("--most", type=_years, default=15, metavar="N", help="so many crops (15)")
    fill.set_defaults(run=questions.fill)

    pair = sub.add_parser("pair", help="may two crops share a bed, how near, who gains, on what evidence")
    pair.add_argument("first", help="a crop")
    pair.add_argument("second", help="another crop")
    pair.add_argument("--at", metavar="WHERE", help=f"garden file or place ({questions.USUAL_PLACE})")
    pair.set_defaults(run=questions.pair)

    amounts = sub.add_parser("amounts", help="from portions a week to sowings, plants, ground and seed; and back")
    amounts.add_argument("crop", nargs="+", help="crop, or several with commas")
    amounts.add_argument("--at", required=True, metavar="WHERE", help="garden file or place")
    amounts.add_argument("--portions", type=_positive, metavar="N", help="portions a week (1)")
    amounts.add_argument("--from", dest="start", type=_month_day, metavar="MM-DD", help="first day on which it is wanted")
    amounts.add_argument("--until", type=_month_day, metavar="MM-DD", help="last day on which it is wanted")
    amounts.add_argument("--area", metavar="AREA", help="back: what so much ground gives, such as '1 m2'")
    amounts.add_argument("--plants", type=_positive, metavar="N", help="back: what so many plants give")
    amounts.add_argument("--seed", metavar="WEIGHT", help="back: what so much seed gives, such as '2 g'")
    amounts.add_argument("--on", type=_month_day, metavar="MM-DD", help="back: started about this day (the best one)")
    amounts.set_defaults(run=questions.amounts)
    for parser in (fill, pair, amounts):
        parser.add_argument("--json", action="store_true", help="print JSON instead of text")


def _sweep_command(sub: Any) -> None:
    """The command for many recipes at many places."""
    many = sub.add_parser("sweep", help="grow many recipes at many places into Parquet files")
    many.add_argument("recipes", nargs="+", help="recipe files, or patterns in quotes such as 'recipes/*.yaml'")
    many.add_argument("--places", required=True, metavar="FILE", help="CSV of places: name, or name,latitude,longitude,height")
    many.add_argument("-o", "--output", required=True, metavar="FOLDER", help="folder of results; what is there is kept")
    many.add_argument("--garden", "-g", help="garden whose bed is set at every place; else a bed of each recipe's size")
    many.add_argument("--bed", "-b", help="name of that bed; needed when the garden has several")
    many.add_argument("--years", type=_years, default=30, metavar="N", help="weather years (30)")
    many.add_argument("--seed", type=_seed, default=None, metavar="N", help="seed of the weather years")
    many.add_argument("--layers", action="store_true", help="light by layers alone: faster, and blind to who stands where")
    _spread(many)
    many.set_defaults(run=sweep.sweep)


def entry() -> None:
    """The installed command: `main` in a process of its own.

    SciPy is kept out until a design wants it (`design.relaxing`): numba would import it, and double the start-up.
    The collector of reference cycles is off: a command lives for seconds, and looking for cycles would cost a good part of them.
    What there is at the end is kept out of the search for cycles that the interpreter makes as it ends.
    """
    gc.disable()
    sys.modules.setdefault("scipy", None)  # type: ignore[arg-type]
    prepare()
    find_a_cache()
    try:
        code = main()
    finally:
        finish()
        gc.freeze()
    sys.exit(code)


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line; returns the exit code."""
    with guarded():
        return _run(argv)


def _run(argv: Sequence[str] | None) -> int:
    try:
        args = build_parser().parse_args(argv)
        code = int(args.run(args))
        sys.stdout.flush()
        return code
    except FileFaults as faults:
        print(faults, file=sys.stderr)
        count, causes = len(faults.faults), len(of_one_cause(faults.faults))
        said = f"{count} fault{'s' if count != 1 else ''}"
        print(said + (f" of {causes} cause{'s' if causes != 1 else ''}." if causes < count else "."), file=sys.stderr)
        return 2
    except UsageError as error:
        print(f"mixcraft: {error}", file=sys.stderr)
        return 2
    except BrokenPipeError:
        return 0  # the reader has seen enough
    except OSError as error:
        what = "cannot write the output" if error.filename is None else f"cannot use {error.filename}"
        print(f"mixcraft: {what}: {(error.strerror or str(error)).lower()}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("mixcraft: stopped; nothing was written.", file=sys.stderr)
        return 130
