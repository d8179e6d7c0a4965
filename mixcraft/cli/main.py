"""Arguments, exit codes and error messages.

Exit codes: 0 done; 1 the answer is "no" (a score under `--fail-under`); 2 bad input, with one clear message each.
"""

from __future__ import annotations

import argparse
import gc
import math
import sys
from collections.abc import Callable, Sequence
from typing import Any

from mixcraft import __version__
from mixcraft.files import FileFaults, UsageError

from . import commands, design, places, printed
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


def _years(text: str) -> int:
    """Weather years."""
    if not text.strip().isdecimal() or not 1 <= int(text) <= 1000:
        raise argparse.ArgumentTypeError(f"{text}: give a number of years from 1 to 1000")
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
    parser.add_argument("--garden", "-g", required=True, help="garden file")
    parser.add_argument("--bed", "-b", help="name of the bed; needed when the garden has several")
    parser.add_argument(
        "--weather", metavar="FILE",
        help="your own weather instead of weather years: a daily .csv with the columns date, tmax_c, tmin_c, rain_mm, or an .epw",
    )  # fmt: skip
    parser.add_argument("--years", type=int, default=30, metavar="N", help="weather years (30)")
    parser.add_argument("--seed", type=_seed, default=None, metavar="N", help="seed of the weather years")


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
    score.add_argument("--all", action="store_true", help="print every reason, not only the worst ten")
    score.set_defaults(run=commands.score)

    graph = sub.add_parser("graph", help="write the interaction graph of a recipe in a bed")
    _recipe_in_bed(graph)
    graph.add_argument("-o", "--output", help="file to write (.json or .graphml); without it, print a list")
    graph.set_defaults(run=commands.graph)

    light = sub.add_parser("light", help="show the light on the bed and on each planting, month by month")
    _recipe_in_bed(light)
    light.add_argument("-o", "--output", help="SVG picture to write")
    light.set_defaults(run=commands.light)

    card = sub.add_parser("card", help="print the sowing card as PDF")
    _recipe_in_bed(card)
    card.add_argument("-o", "--output", required=True, help="PDF file to write")
    printed.printing_arguments(card, _year)
    card.set_defaults(run=printed.card)

    printed.add_commands(sub, _recipe_in_bed, _year)
    _design_commands(sub)

    crops = sub.add_parser("crops", help="list the crops, or show one with its sources")
    crops.add_argument("name", nargs="*", help="crop, by any of its names")
    crops.add_argument("--table", action="store_true", help="compare several crops, names separated by commas")
    crops.add_argument("--find", metavar="TRAITS", help='crops with all these traits: "low, shade-bearing, frost-hardy, leaf"')
    crops.add_argument("--coverage", action="store_true", help="count how well the numbers are sourced")
    crops.add_argument("--trial", action="store_true", help="grow the crop alone at several places, beside its published ranges")
    crops.add_argument("--all", action="store_true", help="with --trial: the crop, or every crop, in six climates, a line each")
    crops.set_defaults(run=commands.crops)

    near = sub.add_parser("places", help="list the built-in places, or show one, the nearest to a spot, or that of a garden")
    near.add_argument("name", nargs="?", help="place, country or garden file")
    near.add_argument("--near", nargs="+", metavar="WHERE", help="latitude and longitude, such as 44.9 N 93.2 W 260 m")
    near.set_defaults(run=places.places)

    new = sub.add_parser("new", help="write a first recipe, garden or brief, commented and valid as it stands")
    new.add_argument("kind", choices=["recipe", "garden", "crop", "brief"], help="kind of file")
    new.add_argument("-o", "--output", help="file to write; without it, print")
    new.set_defaults(run=commands.new)

    schema = sub.add_parser("schema", help="print a JSON Schema")
    kinds = ["recipe", "garden", "crop", "brief", "log", "score"]
    schema.add_argument("kind", choices=kinds, help="kind of file; score is what --json prints")
    schema.set_defaults(run=commands.schema)

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
    for parser in (made, mended, fitted):
        parser.add_argument("--seed", type=_seed, default=1, metavar="N", help="seed of the search (1); same seed, same answer")
        parser.add_argument("--time", type=_seconds, default=30.0, metavar="30s", help="how long to search, about (30s)")
        parser.add_argument("--years", type=_years, default=30, metavar="N", help="weather years of the final score (30)")


def entry() -> None:
    """The installed command: `main` in a process of its own.

    SciPy, if it happens to be installed, is kept out: nothing here uses it, but numba would import it and double the start-up.
    The collector of reference cycles is off: a command lives for seconds, and looking for cycles would cost a good part of them.
    """
    gc.disable()
    sys.modules.setdefault("scipy", None)  # type: ignore[arg-type]
    prepare()
    try:
        code = main()
    finally:
        finish()
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
        count = len(faults.faults)
        print(f"{count} fault{'s' if count != 1 else ''}.", file=sys.stderr)
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
