"""The commands of the design engine: design, mend, fit."""

from __future__ import annotations

import sys
from argparse import Namespace
from collections.abc import Callable, Sequence

from mixcraft.files import UsageError, check_output
from mixcraft.files.write import write_atomically

from .streams import below


def design(args: Namespace) -> int:
    """Design a recipe from a brief."""
    from mixcraft.design.brief import document_names, load_brief
    from mixcraft.design.choice import Clash
    from mixcraft.design.compose import compose
    from mixcraft.files import load_document
    from mixcraft.tasks import scheduler
    from mixcraft.words.designs import clash_sentence

    brief = load_brief(args.brief)
    targets = _targets(args.output, args.alternatives)
    for target in targets:
        _writable(target, (args.brief, *document_names(load_document(args.brief))))
    with_progress = progress()
    try:
        with scheduler(args.workers, args.scheduler) as runner:
            designs = compose(
                brief, seed=args.seed, seconds=args.time, alternatives=args.alternatives, told=with_progress, years=args.years,
                runner=runner,
            )  # fmt: skip
    except Clash as clash:
        clear()
        raise UsageError(f"{args.brief}: {clash_sentence(clash.demands)}.") from None
    except TimeoutError:
        clear()
        raise UsageError(f"{args.brief}: no design was found in {args.time:g} s; give more, such as --time 60s") from None
    clear()
    for target, made in zip(targets, designs, strict=False):
        from mixcraft.words.design_file import designed_text

        write_atomically(target, designed_text(made, brief))
    from .show_design import design_text

    print(design_text(designs, targets, brief))
    return 0


def mend(args: Namespace) -> int:
    """List moves that mend a recipe; write the recipe with one of them, or with the best sequence."""
    from mixcraft.design.mend import mend as find
    from mixcraft.design.mend import rescored
    from mixcraft.recipe.saving import save_recipe

    from .inputs import recipe_in_bed
    from .show_design import mend_text

    if (args.apply is None) != (args.output is None):
        raise UsageError("--apply N and -o FILE go together: the recipe with move N, or with all, is written to FILE")
    if args.output is not None:
        _writable(args.output, (args.recipe, args.garden))
    recipe, garden, bed = recipe_in_bed(args)
    mended = find(recipe, garden, bed, seconds=args.time, seed=args.seed, years=args.years, told=progress())
    clear()
    print(mend_text(mended))
    if args.apply is None:
        return 0
    changed, overall = mended.recipe, mended.after.overall
    if args.apply != "all":
        number = int(args.apply)
        if not 1 <= number <= len(mended.moves):
            there = f"there are moves 1 to {len(mended.moves)}" if mended.moves else "no move is known that helps"
            raise UsageError(f"--apply {args.apply}: there is no such move; {there}")
        changed = mended.moves[number - 1].move.changed(recipe)
        overall = rescored(changed, garden, bed, args.years)
    save_recipe(changed, args.output)
    print(f"{args.output}: written, overall {overall:.1f} (before {mended.before.overall:.1f})")
    return 0


def fit(args: Namespace) -> int:
    """Fit a recipe to another bed and place."""
    from mixcraft.design.fit import fit as find
    from mixcraft.recipe.saving import save_recipe

    from .inputs import recipe_in_bed
    from .show_design import fit_text

    _writable(args.output, (args.recipe, args.garden))
    recipe, garden, bed = recipe_in_bed(args)
    fitted = find(recipe, garden, bed, seconds=args.time, seed=args.seed, years=args.years, told=progress())
    clear()
    save_recipe(fitted.recipe, args.output)
    print(fit_text(fitted, args.output, bed))
    return 0


def _targets(output: str, count: int) -> list[str]:
    """Files of the design and its alternatives: out.yaml, out-2.yaml, ..."""
    stem, dot, ending = output.rpartition(".")
    stem, dot, ending = (stem, dot, ending) if stem else (output, "", "")
    middle = ".recipe" if stem.endswith(".recipe") else ""
    stem = stem.removesuffix(".recipe")
    return [output, *(f"{stem}-{n}{middle}{dot}{ending}" for n in range(2, count + 1))]


def _writable(target: str, read: Sequence[str]) -> None:
    """Refuse a file that is no YAML file, that is read as well, or that cannot be written, before anything is computed."""
    if not target.lower().endswith((".yaml", ".yml")):
        raise UsageError(f"{target}: write a file ending in .yaml or .yml")
    check_output(target, tuple(read))


def progress() -> Callable[[str, int, int, float], None]:
    """A line on the error stream that says how far the work has come; nothing where it is not a terminal."""
    shown = sys.stderr.isatty()

    def told(what: str, done: int, of: int, best: float) -> None:
        if shown:
            score = f", best so far {best:.1f}" if best > 0.0 else ""
            stops = "keeps the best" if score else "stops"
            print(f"\r\x1b[K{what}: {done} of {of}{score}  (Ctrl-C {stops})", end="", file=below(sys.stderr), flush=True)

    return told


def clear() -> None:
    """Take the line of progress away."""
    if sys.stderr.isatty():
        print("\r\x1b[K", end="", file=below(sys.stderr), flush=True)
