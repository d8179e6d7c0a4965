"""Rules that every recipe keeps, whether read from a file, built in memory or changed by a move.

Each rule looks at a recipe, or at one planting of it, and names what is wrong by its path in a recipe file, what was found,
what is allowed and the repair.  A recipe that was read from a file has line and column added; nothing else differs.
Bounds and words come from the recipe's JSON Schema.  Whether a recipe fits a bed and a place is for the plan to say.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from mixcraft.crops.model import Crop
from mixcraft.files import Fault, FileFaults
from mixcraft.files.faults import PathTuple, path_text
from mixcraft.files.near import did_you_mean
from mixcraft.files.shelf import Same, Shelf
from mixcraft.files.text import unseen_character

from .limits import limits
from .model import After, Planting, Recipe


@dataclass(frozen=True, slots=True)
class Breach:
    """A rule that a recipe breaks: `path` as in a recipe file, the rule's short name, and the words of a `Fault`."""

    path: PathTuple
    rule: str
    message: str
    found: str = ""
    allowed: str = ""
    repair: str = ""


def check(recipe: Recipe, keep: Shelf | None = None) -> None:
    """Raises `FileFaults` with every rule that `recipe` breaks; `keep` holds which plantings were found to break none."""
    faults = faults_of(recipe, keep)
    if faults:
        raise FileFaults(faults)


def faults_of(recipe: Recipe, keep: Shelf | None = None) -> list[Fault]:
    """Every rule that `recipe` breaks, as faults."""
    return [fault_at(recipe, breach) for breach in breaches(recipe, keep)]


def breaches(recipe: Recipe, keep: Shelf | None = None) -> list[Breach]:
    """Every rule that `recipe` breaks: the recipe's own, then planting after planting."""
    from .rules_planting import PLANTING_RULES

    found = [breach for rule in RECIPE_RULES for breach in rule(recipe)]
    for i, planting in enumerate(recipe.plantings):
        key = "sound", Same(planting)
        if keep is not None and keep.get(key):
            continue
        if not isinstance(planting.crop, Crop):
            found.append(_no_crop(planting.crop, ("plantings", i, "crop")))
            continue
        broken = [breach for planting_rule in PLANTING_RULES for breach in planting_rule(planting, ("plantings", i))]
        if keep is not None and not broken:
            keep.put(key, True)
        found += broken
    return found


def _no_crop(found: object, path: PathTuple) -> Breach:
    said = f"find_crop({found!r})" if isinstance(found, str) else "find_crop('radish')"
    return Breach(path, "crop.kind", f"{type(found).__name__} is not a crop", repr(found), "a Crop", f"give a crop: {said}")


def fault_at(recipe: Recipe, breach: Breach) -> Fault:
    """The fault of a breach: with line and column if its planting was read from a file, else with the path alone."""
    path = breach.path
    document = recipe.document
    if len(path) > 1 and path[0] == "plantings" and isinstance(path[1], int):
        origin = recipe.plantings[path[1]].path
        path = (*(origin or path[:2]), *path[2:])
        document = document if origin else None
    if document is not None:
        return document.fault(
            path, breach.message, rule=breach.rule, found=breach.found and (document.written(path) or breach.found),
            allowed=breach.allowed, repair=breach.repair,
        )  # fmt: skip
    where = path_text(path)
    return Fault(
        recipe.file or recipe.name or "recipe", 0, 0, where, breach.rule, f"{where}: {breach.message}", breach.found,
        breach.allowed, breach.repair,
    )  # fmt: skip


def text_breach(text: str, path: PathTuple, most: int | None, *, needed: bool = False, lines: bool = False) -> Iterator[Breach]:
    """A text is not too long, holds no invisible character, and stands on one line unless it may have several."""
    label = str(path[-1])
    if not isinstance(text, str) or (needed and not text.strip()):
        yield Breach(path, "text.empty", f"{label} is missing", repr(text), "a text", f"write a {label}")
        return
    breaks = [] if lines else [c for c in text if c in "\n\r\t\x85\u2028\u2029"]
    unseen = unseen_character(text) or (f"U+{ord(breaks[0]):04X}" if breaks else "")
    if unseen:
        yield Breach(
            path, "text.character", f"{label} holds a control or direction character", unseen, "letters, figures and signs",
            "delete the character (it may be invisible)",
        )  # fmt: skip
    if most is not None and len(text) > most:
        yield Breach(
            path, "text.long", f"{label} is too long", f"{len(text)} characters", f"up to {most} characters", "shorten it"
        )  # fmt: skip


def head(recipe: Recipe) -> Iterator[Breach]:
    """Name and other texts of the recipe."""
    yield from text_breach(recipe.name, ("name",), limits("name").most, needed=True)
    yield from text_breach(recipe.author, ("author",), limits("author").most)
    yield from text_breach(recipe.licence, ("licence",), limits("licence").most)
    yield from text_breach(recipe.about, ("about",), limits("about").most, lines=True)


def bed(recipe: Recipe) -> Iterator[Breach]:
    """Size of the reference bed."""
    from .rules_planting import number

    yield from number(recipe.length_m, ("bed", "length"), limits("bed", "length"))
    yield from number(recipe.width_m, ("bed", "width"), limits("bed", "width"))


def serves(recipe: Recipe) -> Iterator[Breach]:
    """The part of the year is two month-days that every year has."""
    from .rules_planting import month_day

    if recipe.serves is not None:
        yield from month_day(recipe.serves.start, ("serves", "from"))
        yield from month_day(recipe.serves.until, ("serves", "until"))


def how_many(recipe: Recipe) -> Iterator[Breach]:
    """At least one planting, and not more than can be followed."""
    most, count = limits("plantings").most, len(recipe.plantings)
    if not count or (most is not None and count > most):
        yield Breach(
            ("plantings",), "plantings.count", f"a recipe has 1 to {most} plantings", str(count), f"1 to {most}",
            "add a planting" if not count else "make two recipes of it",
        )  # fmt: skip


def names_apart(recipe: Recipe) -> Iterator[Breach]:
    """No two plantings have one name."""
    seen: Counter[str] = Counter()
    for i, planting in enumerate(recipe.plantings):
        seen[planting.name] += 1
        if seen[planting.name] > 1:
            name = planting.name
            yield Breach(
                ("plantings", i, "name"), "planting.name_twice", f"two plantings are called {name!r}", name,
                repair=f"call one of them {name!r} and the other {name + ' again'!r}",
            )  # fmt: skip


def references(recipe: Recipe) -> Iterator[Breach]:
    """A planting waits for one that there is, and not, over whatever others, for itself."""
    names = [p.name for p in recipe.plantings]
    after = {p.name: p.start.planting for p in recipe.plantings if isinstance(p.start, After)}
    for i, planting in enumerate(recipe.plantings):
        if not isinstance(planting.start, After):
            continue
        other, path = planting.start.planting, ("plantings", i, "start", "planting")
        if other not in names:
            near = did_you_mean(str(other), names)
            yield Breach(
                path, "after.unknown", f"no planting is called {other!r}", str(other), ", ".join(names),
                f"did you mean {near[0]}?" if near else "take one of these names",
            )  # fmt: skip
            continue
        chain, step = [planting.name], other
        while step in after and step not in chain:
            chain.append(step)
            step = after[step]
        if step == planting.name:
            yield Breach(
                path, "after.circle", f"{' waits for '.join([*chain, step])}: the start never comes", other,
                repair="give one of them a start of its own, such as `kind: frost, weeks: -2`",
            )  # fmt: skip


RECIPE_RULES: tuple[Callable[[Recipe], Iterator[Breach]], ...] = (head, serves, bed, how_many, names_apart, references)

PlantingRule = Callable[[Planting, PathTuple], Iterator[Breach]]
