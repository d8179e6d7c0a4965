"""Commands that print or take apart what is printed: calendar, table, unpack, log, book."""

from __future__ import annotations

import os
import sys
from argparse import ArgumentParser, Namespace, _SubParsersAction
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from mixcraft.files import UsageError, check_output
from mixcraft.files.write import write_atomically

from .commands import _output, _season

if TYPE_CHECKING:
    from mixcraft.press.options import Options
    from mixcraft.recipe.model import Garden
    from mixcraft.season.result import Season


def now() -> datetime:
    """The time of printing: ``SOURCE_DATE_EPOCH`` where it is set, so that a build can be repeated, else the clock."""
    given = os.environ.get("SOURCE_DATE_EPOCH", "")
    return datetime.fromtimestamp(int(given), UTC) if given.isdecimal() else datetime.now(UTC).replace(microsecond=0)


def year_of(season: Season, given: int | None) -> int:
    """The year asked for, else the one of the season that is near."""
    from mixcraft.press.dates import season_year

    return given if given is not None else season_year(season.plan, now().date())


def card(args: Namespace) -> int:
    """Print the sowing card."""
    from mixcraft.press import press_card
    from mixcraft.press.jobs import failing
    from mixcraft.scoring import score as build

    _output(args, ".pdf")
    options = options_of(args)
    season = _season(args)
    score, options = build(season), replace(options, year=year_of(season, args.year))
    data = press_card(season, score, options)
    write_atomically(args.output, data)
    print(f"{args.output}: card of {season.plan.recipe.name!r} for {season.plan.bed.name!r}, {len(data) // 1024} kB")
    for index in failing(season, score):
        name = season.plan.plantings[index].name
        print(f"{name} gives nothing in most years here; the card says so in red", file=sys.stderr)
    return 0


def calendar(args: Namespace) -> int:
    """Write the jobs of a bed as an iCalendar file."""
    from mixcraft.press.calendar_file import calendar_bytes, library
    from mixcraft.scoring import score as build
    from mixcraft.words.catalogue import catalogue

    _output(args, ".ics")
    library()
    season = _season(args)
    said = catalogue(args.language), args.language
    data = calendar_bytes([(season, build(season))], year_of(season, args.year), now(), args.units, *said)
    write_atomically(args.output, data)
    print(f"{args.output}: {data.count(b'BEGIN:VEVENT')} jobs of {season.plan.bed.name!r}")
    return 0


def table(args: Namespace) -> int:
    """Write harvest, seed list or tasks as a table."""
    from mixcraft.press.tables import ENDINGS, KINDS, harvest_table, seed_table, table_bytes, task_table
    from mixcraft.scoring import score as build

    _output(args, *ENDINGS)
    ending = Path(args.output).suffix.lower()
    kinds = [args.what] if args.what else list(KINDS) if ending == ".xlsx" else ["harvest"]
    season = _season(args)
    year, judged = year_of(season, args.year), build(season) if "tasks" in kinds else None
    made = {
        "harvest": lambda: harvest_table(season, year), "seed": lambda: seed_table(season),
        "tasks": lambda: task_table(season, judged, year, args.units),
    }  # fmt: skip
    tables = {kind: made[kind]() for kind in kinds}
    write_atomically(args.output, table_bytes(tables, ending))
    rows = ", ".join(f"{kind} {len(next(iter(t.values())))} rows" for kind, t in tables.items())
    print(f"{args.output}: {rows}")
    return 0


def unpack(args: Namespace) -> int:
    """Take recipe and garden out of a card, or all of a book into a folder."""
    from mixcraft.press.unpacking import attached, is_garden

    found = attached(args.card)
    recipes = {name: data for name, data in found.items() if not is_garden(data)}
    gardens = {name: data for name, data in found.items() if is_garden(data)}
    target = Path(args.output)
    if target.is_dir():
        files = {str(target / name): data for name, data in found.items()}
    elif len(recipes) == 1:
        files = {args.output: next(iter(recipes.values()))}
        stem = target.name.removesuffix(target.suffix).removesuffix(".recipe")
        files |= {str(target.with_name(f"{stem}.garden.yaml")): data for data in gardens.values()}
    else:
        raise UsageError(f"{args.card} holds {len(recipes)} recipes ({', '.join(recipes)}): make a folder and name it with -o")
    _write_all(files, args.card)
    return 0


def _write_all(files: dict[str, bytes], card: str) -> None:
    """Write files that are not there yet, or nothing at all."""
    for name, data in files.items():
        path = check_output(name, (card,))
        if path.exists() and path.read_bytes() != data:
            raise UsageError(f"{name} is there already and another one; give another name, nothing was written")
    for name, data in files.items():
        write_atomically(name, data)
        print(f"{name}: {len(data)} bytes")


def log(args: Namespace) -> int:
    """Add a picking to the log of a garden, or show what was picked beside what was expected."""
    from mixcraft.recipe.reading import load_garden
    from mixcraft.season.logbook import log_file

    garden = load_garden(args.garden)
    path = log_file(args.garden)
    if args.picked is not None:
        return _add(args, garden, path)
    return _show(args, garden, path)


def _add(args: Namespace, garden: Garden, path: Path) -> int:
    from mixcraft.files import QuantityError, parse_quantity
    from mixcraft.files.text import read_text
    from mixcraft.season.logbook import Picked, with_entry

    from .inputs import bed_name

    if args.planting is None:
        raise UsageError('say what was picked: --planting lettuce --picked "350 g"')
    try:
        kg = parse_quantity(args.picked, "mass") / 1000.0
        day = date.fromisoformat(args.on) if args.on else now().date()
    except (QuantityError, ValueError) as error:
        raise UsageError(f'give the weight as "350 g" or "1 lb" and the day as 2027-06-12: {error}') from None
    entry = Picked(day, bed_name(args, garden), args.planting, args.part or "", kg)
    text = read_text(path, str(path)) if path.exists() else ""
    write_atomically(path, with_entry(text, str(path), garden.name, entry, args.picked))
    print(f"{path}: {entry.planting}, {args.picked} on {day.isoformat()}")
    return 0


def _show(args: Namespace, garden: Garden, path: Path) -> int:
    from mixcraft.season.logbook import beside, harvest_of, read_log
    from mixcraft.words.logbook import beside_text

    from .inputs import bed_name

    bed = garden.bed(bed_name(args, garden))
    recipe = args.recipe or (str(Path(args.garden).parent / bed.recipe) if bed.recipe else None)
    if recipe is None:
        raise UsageError(f"the garden names no recipe for {bed.name!r}: add `recipe:` to the bed, or --recipe FILE")
    log_ = read_log(path) if path.exists() else ()
    args.recipe, args.bed = recipe, bed.name
    season = _season(args)
    year = args.year if args.year is not None else log_[0].on.year if log_ else year_of(season, None)
    until = date.fromisoformat(args.on) if args.on else log_[-1].on if log_ else now().date()
    mains = {h.planting: i for i, h in reversed(list(enumerate(season.harvests)))}
    own = [p for p in log_ if p.bed.casefold() == bed.name.casefold() and p.on <= until]
    strange = sorted({f"{p.planting} {p.part}".strip() for p in own if harvest_of(season, p, mains) is None})
    print(beside_text(beside(season, own, until, year), until, strange, args.units))
    return 0


def book(args: Namespace) -> int:
    """Print the book of a garden."""
    from mixcraft.press.book import grown_beds, press_book
    from mixcraft.press.dates import season_year
    from mixcraft.recipe.plan import plan
    from mixcraft.recipe.reading import load_garden, load_recipe

    check_output(args.output, (args.garden,))
    if not args.output.lower().endswith(".pdf"):
        raise UsageError(f"{args.output}: write a file ending in .pdf")
    garden = load_garden(args.garden)
    first = next((bed for bed in garden.beds if bed.recipe), None)
    if args.year is None and first is not None:
        recipe = load_recipe(Path(args.garden).parent / first.recipe)
        args.year = season_year(plan(recipe, garden, first.name, draw=False), now().date())
    options = options_of(args)
    pages = grown_beds(garden, options, args.years, args.seed, _progress)
    _say("setting the book")
    data = press_book(garden, pages, options)
    _say("")
    write_atomically(args.output, data)
    bare = [bed.name for bed in garden.beds if not bed.recipe]
    more = f"; without a recipe: {', '.join(bare)}" if bare else ""
    print(f"{args.output}: {len(pages)} beds, {len(data) // 1024} kB{more}")
    return 0


def _say(text: str) -> None:
    """A line on the screen that the next one takes the place of; nothing where nobody looks."""
    if sys.stderr.isatty():
        print(f"\r{text:60s}", end="" if text else "\r", file=sys.stderr, flush=True)


def _progress(done: int, total: int) -> None:
    filled = round(30 * done / total)
    _say(f"beds {'#' * filled}{'.' * (30 - filled)} {done} of {total}")


def options_of(args: Namespace) -> Options:
    """The options of a card or a book that the arguments ask for; raises `UsageError` for what is not known."""
    from mixcraft.press.options import Options, checked, read_logo

    return checked(
        Options(
            args.paper,
            args.units,
            args.language,
            args.year,
            args.client or "",
            args.date or "",
            read_logo(args.logo) if args.logo else b"",
            not args.no_score,
            args.cautions,
        )
    )


def printing_arguments(parser: ArgumentParser, years: Any) -> None:
    """The arguments that cards and books share."""
    parser.add_argument("--paper", choices=["A4", "Letter", "A5"], default="A4", help="paper size (A4)")
    parser.add_argument("--units", choices=["metric", "us"], default="metric", help="units (metric)")
    parser.add_argument("--language", default="en", help="language: en, de, fr, nl, es (en)")
    parser.add_argument("--year", type=years, metavar="YEAR", help="year of the first sowing (the season that is near)")
    parser.add_argument("--client", metavar="NAME", help="for whom it is printed")
    parser.add_argument("--date", metavar="DAY", help="a date to print, such as 2027-02-01")
    parser.add_argument("--logo", metavar="FILE", help="your own logo, PNG or JPEG")
    parser.add_argument("--no-score", action="store_true", help="leave the score out")
    parser.add_argument("--cautions", choices=["full", "short"], default="full", help="cautions in full or in short (full)")


def add_commands(sub: _SubParsersAction[ArgumentParser], recipe_in_bed: Any, years: Any) -> None:
    """The parsers of these commands."""
    dated: Sequence[ArgumentParser] = [
        sub.add_parser("calendar", help="write the jobs of a bed for a calendar (.ics)"),
        sub.add_parser("table", help="write harvest by week, seed list or tasks as a table (.csv, .xlsx, .parquet)"),
    ]
    for parser, run in zip(dated, (calendar, table), strict=True):
        recipe_in_bed(parser)
        parser.add_argument("-o", "--output", required=True, metavar="FILE", help="file to write")
        parser.set_defaults(run=run)
    dated[1].add_argument("--what", choices=["harvest", "seed", "tasks"], help="which table (harvest; a workbook holds all)")
    dated[0].add_argument("--language", default="en", help="language: en, de, fr, nl, es (en)")

    booked = sub.add_parser("book", help="print all beds of a garden in one PDF: plan, order list, work by month, every card")
    booked.add_argument("garden", help="garden file whose beds name their recipes")
    booked.add_argument("-o", "--output", required=True, metavar="FILE", help="PDF file to write")
    booked.add_argument("--years", type=int, default=30, metavar="N", help="weather years (30)")
    booked.add_argument("--seed", type=int, default=None, metavar="N", help="seed of the weather years")
    printing_arguments(booked, years)
    booked.set_defaults(run=book)

    unpacked = sub.add_parser("unpack", help="take recipe and garden out of a printed card, byte for byte")
    unpacked.add_argument("card", help="card or book in PDF")
    unpacked.add_argument("-o", "--output", required=True, metavar="FILE", help="recipe file to write, or a folder for all files")
    unpacked.set_defaults(run=unpack)

    logged = sub.add_parser("log", help="note what was picked, or show it beside what was expected")
    logged.add_argument("garden", help="garden file; the log stands beside it")
    logged.add_argument("--bed", "-b", help="name of the bed; needed when the garden has several")
    logged.add_argument("--planting", help="what was picked, as the recipe calls it")
    logged.add_argument("--part", help="part that was picked, if the planting gives several")
    logged.add_argument("--picked", metavar="AMOUNT", help='fresh weight to add to the log, such as "350 g"')
    logged.add_argument("--on", metavar="DAY", help="the day, such as 2027-06-12 (today)")
    logged.add_argument("--recipe", help="recipe file, where the garden names none for the bed")
    logged.set_defaults(run=log, weather=None, seed=None)
    logged.add_argument("--years", type=int, default=30, metavar="N", help="weather years (30)")
    for parser in (*dated, logged):
        parser.add_argument("--year", type=years, metavar="YEAR", help="year of the first sowing (the season that is near)")
        parser.add_argument("--units", choices=["metric", "us"], default="metric", help="units (metric)")
