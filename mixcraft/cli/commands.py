"""One function per command: read, call the library, show."""

from __future__ import annotations

import json
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from mixcraft.files import (
    Fault,
    FileFaults,
    UsageError,
    check_output,
    check_schema,
    did_you_mean,
    kind_of,
    load_document,
    resource,
    schema_text,
)
from mixcraft.files.migrate import up_to_date
from mixcraft.files.write import write_atomically

if TYPE_CHECKING:
    from mixcraft.crops.model import Crop
    from mixcraft.recipe.plan import Plan
    from mixcraft.scoring.model import Score
    from mixcraft.scoring.trials import Regrow
    from mixcraft.season.result import Season


def check(args: Namespace) -> int:
    """Check files of any kind; every fault of every file is reported."""
    from mixcraft.crops import crop_from_mapping
    from mixcraft.crops.checking import crop_faults
    from mixcraft.design.brief import load_brief
    from mixcraft.recipe.reading import read_garden, read_recipe
    from mixcraft.words.plain import counted

    from .show_crops import quality_text, trial_text

    faults: list[Fault] = []
    for name in args.files:
        try:
            document = up_to_date(load_document(name))
            kind, _ = kind_of(document)
            if kind == "recipe":
                recipe = read_recipe(document)
                said = f"recipe, {counted(len(recipe.plantings), 'planting')}"
            elif kind == "garden":
                garden = read_garden(document)
                said = f"garden, {counted(len(garden.beds), 'bed')} at {garden.place.name}"
            elif kind == "brief":
                said = f"brief for {load_brief(name).bed!r}"
            else:
                found = check_schema(document, kind)
                found = found or (crop_faults(document) if kind == "crop" else [])
                if found:
                    raise FileFaults(found)
                said = kind
            print(f"{name}: good ({said})")
            if kind == "crop":
                crop = crop_from_mapping(document.data)
                print(quality_text(crop))
                print(trial_text(crop, most=3))
        except FileFaults as error:
            faults += error.faults
    if faults:
        raise FileFaults(faults)
    return 0


def _settled(args: Namespace) -> tuple[Plan, Regrow]:
    """The plan that the arguments ask for, and how it, or a changed one, is grown."""
    from mixcraft.season.evaluator import Evaluator
    from mixcraft.season.grow import SEED, grow
    from mixcraft.season.own_weather import own_weather

    from .inputs import recipe_in_bed

    if not 1 <= args.years <= 1000:
        raise UsageError(f"--years {args.years}: give a number of years from 1 to 1000")
    recipe, garden, bed = recipe_in_bed(args)
    known = Evaluator(garden, bed, args.years, SEED if args.seed is None else args.seed)

    def regrow(changed: Plan) -> Season:
        return known.grow(changed) if args.weather is None else grow(changed, weather=own_weather(args.weather, changed))

    return known.plan(recipe), regrow


def _season(args: Namespace) -> Season:
    """The season that the arguments ask for."""
    settled, grown = _settled(args)
    return grown(settled)


def _output(args: Namespace, *endings: str) -> None:
    """Refuse a file to write whose name says that it is of another kind, that is read as well, or that cannot be written, before
    anything is computed."""
    if args.output is None:
        return
    if not args.output.lower().endswith(endings):
        raise UsageError(f"{args.output}: write a file ending in {' or '.join(endings)}")
    check_output(args.output, (args.recipe, args.garden, args.weather))


def score(args: Namespace) -> int:
    """Score a recipe in a bed."""
    from mixcraft.scoring import score as build
    from mixcraft.scoring.repairs import with_repairs

    from .screen import show
    from .show import score_text
    from .show_json import score_json

    _apply_is_whole(args)
    settled, regrow = _settled(args)
    result = build(regrow(settled))
    if not args.no_repairs:
        result = with_repairs(result, regrow, grown=(args.years, args.seed) if args.weather is None else None)
    if args.apply is not None:
        return _apply(args, result)
    if args.json:
        print(json.dumps(score_json(result), ensure_ascii=False, indent=1))
    else:
        show(score_text(result, every=args.all, units=args.units))
    return 1 if args.fail_under is not None and result.overall < args.fail_under else 0


def compare(args: Namespace) -> int:
    """Set two recipes side by side in one bed."""
    from mixcraft.scoring import score as build
    from mixcraft.scoring.compare import compare as side_by_side

    from .screen import show
    from .show_compare import compare_json, compare_text

    first = build(_season(args))
    args.recipe = args.other
    found = side_by_side(first, build(_season(args)))
    if args.json:
        print(json.dumps(compare_json(found), ensure_ascii=False, indent=1))
    else:
        show(compare_text(found, args.units))
    return 0


def _apply_is_whole(args: Namespace) -> None:
    """Refuse `--apply` without a file to write, and a file to write without it, before anything is computed."""
    if (args.apply is None) != (args.output is None):
        raise UsageError("--apply N and -o FILE go together: the recipe with repair N is written to FILE")
    if args.apply is not None and args.no_repairs:
        raise UsageError("--apply needs the repairs: leave --no-repairs out")
    _output(args, ".yaml", ".yml")


def _apply(args: Namespace, result: Score) -> int:
    """Write the recipe with the repair of one reason."""
    from mixcraft.recipe.saving import save_recipe
    from mixcraft.words import repair_sentence

    known = {number: reason.repair for number, reason in enumerate(result.reasons, 1) if reason.repair is not None}
    repair = known.get(args.apply)
    if repair is None:
        there = f"there are repairs for {', '.join(map(str, known))}" if known else "no repair is known"
        raise UsageError(f"--apply {args.apply}: conflict {args.apply} has no repair; {there}")
    if repair.bed is not None:
        raise UsageError(f"--apply {args.apply}: this repair changes the garden and not the recipe: {repair_sentence(repair)}")
    save_recipe(repair.recipe, args.output)
    print(f"{args.output}: {repair_sentence(repair)} Overall {repair.overall_before:.1f} to {repair.overall_after:.1f}.")
    return 0


def graph(args: Namespace) -> int:
    """List the interactions, or write them as a graph or a picture."""
    from mixcraft.graph import graphml, interactions, link_data
    from mixcraft.words.plain import counted

    from .screen import show
    from .show_light import graph_text

    _output(args, ".json", ".graphml", ".svg")
    season = _season(args)
    made = interactions(season)
    if args.output is None:
        show(graph_text(made, every=args.all))
        return 0
    name = args.output.lower()
    if name.endswith(".svg"):
        from mixcraft.press.graph_drawing import graph_svg

        write_atomically(args.output, graph_svg(season, made, args.units))
    elif name.endswith(".graphml"):
        write_atomically(args.output, graphml(made))
    else:
        write_atomically(args.output, json.dumps(link_data(made), ensure_ascii=False, indent=1) + "\n")
    nodes, edges = counted(made.number_of_nodes(), "planting"), counted(made.number_of_edges(), "interaction")
    print(f"{args.output}: {nodes}, {edges}")
    return 0


def show_bed(args: Namespace) -> int:
    """Draw the bed month by month."""
    from mixcraft.press.bed_months import bed_svg, scenes
    from mixcraft.words.plain import counted

    _output(args, ".svg")
    season = _season(args)
    write_atomically(args.output, bed_svg(season, args.units))
    print(f"{args.output}: {counted(len(scenes(season)), 'month')} of {season.plan.recipe.name!r}, from above and from the side")
    return 0


def light(args: Namespace) -> int:
    """Show the light on the bed by month."""
    from mixcraft.press.light_drawing import light_svg
    from mixcraft.season.daylight import light_by_month

    from .screen import show
    from .show_light import light_text

    _output(args, ".svg")
    season = _season(args)
    months = light_by_month(season)
    show(light_text(season, months))
    if args.output is not None:
        write_atomically(args.output, light_svg(season, months))
        print(f"{args.output}: light on the soil by month")
    return 0


def crops(args: Namespace) -> int:
    """List crops or show one."""
    from mixcraft.crops import UnknownCrop, find_crop
    from mixcraft.crops.library import index

    from .crop_page import crop_page
    from .screen import show
    from .show_crops import crop_records

    name = " ".join(args.name)
    if args.coverage or args.find is not None or args.table or args.trial:
        return _crops_many(args, name)
    if not name:
        for key, entry in index().items():
            print(f"{key:24s} {entry['name']:26s} {', '.join(entry['kinds'])}")
        print(f"{len(index())} crops")
        return 0
    try:
        crop = find_crop(name)
        show(crop_records(crop) if args.sources else crop_page(crop, name, args.units))
    except UnknownCrop as error:
        raise UsageError(str(error)) from None
    return 0


def _crops_many(args: Namespace, name: str) -> int:
    from mixcraft.crops import UnknownCrop, all_crops, find_crop
    from mixcraft.crops.coverage import coverage

    from .show_crops import climates_text, coverage_text, crop_table, trial_text

    try:
        chosen = tuple(find_crop(word.strip()) for word in name.split(",") if word.strip()) or all_crops()
    except UnknownCrop as error:
        raise UsageError(str(error)) from None
    if args.coverage:
        print(coverage_text(coverage(chosen)))
    elif args.find is not None:
        found = _found(args.find, chosen)
        print(crop_table(found) if found else "no crop has all of these traits")
    elif args.trial:
        if args.all:
            for crop in chosen:
                print(climates_text(crop))
            return 0
        if not name:
            raise UsageError("name the crop to try, such as mixcraft crops radish --trial, or add --all")
        for crop in chosen:
            print(trial_text(crop))
    else:
        print(crop_table(chosen))
    return 0


def _found(asked: str, chosen: tuple[Crop, ...]) -> tuple[Crop, ...]:
    """Crops with all traits asked for; a word that is no trait is a name."""
    from mixcraft.crops.coverage import EVERYDAY_TRAITS, all_traits, find_by_names, find_by_traits, trait_of

    words, known = [word.strip() for word in asked.split(",") if word.strip()], all_traits(chosen)
    named = [word for word in words if not trait_of(word, known)]
    for word in named:
        ids = find_by_names(word)
        if not ids:
            near = did_you_mean(word, [*EVERYDAY_TRAITS, *known])
            hint = f"did you mean {near[0]}?" if near else f"try {', '.join(EVERYDAY_TRAITS)}, a family or a part"
            raise UsageError(f"no crop has the trait or the name {word!r}: {hint}")
        chosen = tuple(crop for crop in chosen if crop.id in ids)
    return find_by_traits(chosen, [word for word in words if word not in named])


def new(args: Namespace) -> int:
    """Write a first file of a kind."""
    text = resource("templates", f"new.{args.kind}.yaml").read_text("utf-8")
    if args.kind != "crop":  # a crop file goes into the library, where the schema lies beside it
        text = _with_schema(text, args.kind)
    if args.output is None:
        print(text, end="")
        return 0
    if check_output(args.output).exists():
        raise UsageError(f"{args.output} is there already; give another name, nothing was changed")
    write_atomically(args.output, text)
    print(f"{args.output}: a first {args.kind}; change what you like, then run mixcraft check {args.output}")
    return 0


def _with_schema(text: str, kind: str) -> str:
    """A starter file whose line for editors names the schema where it is installed: it is found wherever the file lies."""
    first, _, rest = text.partition("\n")
    return f"{first.partition('$schema=')[0]}$schema={resource('schemas', f'{kind}.schema.json').as_uri()}\n{rest}"


def schema(args: Namespace) -> int:
    """Print a JSON Schema."""
    print(schema_text(args.kind), end="")
    return 0


def demo(args: Namespace) -> int:
    """Run the main job on the demonstration garden: check, score, card."""
    from .demo import run_demo

    return run_demo(Path(args.output))
