"""The book of a garden: all its beds in one PDF, with what is to be done in the whole garden before the card of each bed.

Beds are grown and put into words in processes of their own; one document is set from what they say.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from mixcraft.files import Fault, FileFaults, UsageError
from mixcraft.recipe.model import Bed, Garden
from mixcraft.tasks import processors, scheduler
from mixcraft.words.plain import capital

from .card import File, Setting, environment, files_of, pdf_of, render, settings, sides_html, style_sheet
from .garden_drawing import BedWeeks, draw_garden, draw_weeks
from .heights import estimate_back, estimate_front
from .jobs import failing
from .options import Options, checked
from .orders import Order, merged, orders_of
from .sides import Content, content_of

MOST_PROCESSES = 8
MARGIN_PT = 8.0
"""Room left free on a side, since the book sets each card once and does not try [pt]."""


@dataclass(frozen=True)
class Task:
    """A job of a bed in words: its day, last day where it is done again, bed, kind, what and amount."""

    day: date
    bed: str
    kind: str
    what: str
    amount: str


@dataclass(frozen=True)
class BedPages:
    """What a bed gives to the book; `html` its card."""

    bed: str
    recipe: str
    html: str
    tasks: tuple[Task, ...]
    orders: tuple[Order, ...]
    weeks: BedWeeks
    files: tuple[File, ...]
    failing: tuple[str, ...]


def recipe_path(garden: Garden, bed: Bed) -> Path:
    """The recipe file of a bed, seen from the garden file."""
    return Path(garden.file).parent / bed.recipe


def bed_pages(garden: Garden, bed: str, mark: str, options: Options, years: int, seed: int | None) -> BedPages:
    """Grow one bed of a garden and put its card into words; what runs in a process of its own.

    Raises `FileFaults` for a recipe that is not good.
    """
    import mixcraft
    from mixcraft.recipe.reading import load_recipe

    recipe = load_recipe(recipe_path(garden, garden.bed(bed)))
    season = mixcraft.grow(recipe, garden, bed, years=years, seed=seed)
    score = mixcraft.score(season)
    return pages_of(content_of(season, score, options), mark)


def pages_of(content: Content, mark: str) -> BedPages:
    """The pages of a bed from the content of its card."""
    plan = content.plan
    front, back, code = guessed(content)
    return BedPages(
        plan.bed.name, plan.recipe.name, sides_html(content, front, back, code, mark), tasks_of(content),
        orders_of(plan), BedWeeks.of(content), tuple(files_of(content)) if content.options.attach else (),
        tuple(plan.plantings[i].name for i in failing(content.season, content.score)),
    )  # fmt: skip


def guessed(content: Content) -> tuple[Setting, Setting, bool]:
    """Settings of a card by its estimated heights alone."""
    room = content.height - MARGIN_PT
    fronts, backs = settings(content.options.paper, 2), settings(content.options.paper)
    front = next((s for s in fronts if estimate_front(content, s.size, s.detail) <= room), fronts[-1])
    code = next((s for s in backs if content.code[1] > 0.0 and estimate_back(content, s.size, s.detail) <= room), backs[-1])
    if content.code[1] > 0.0 and code.detail == 0 and not code.spread:
        return front, code, True
    return front, next((s for s in backs if estimate_back(content, s.size, s.detail, False) <= room), backs[-1]), False


def tasks_of(content: Content) -> tuple[Task, ...]:
    """All jobs of a bed as tasks of the book."""
    from mixcraft.words import step_amount, step_sentence

    from .dates import real_date

    plan, t, units = content.plan, content.t, content.units
    assert content.options.year is not None
    return tuple(
        Task(
            real_date(plan, step.day, content.options.year), plan.bed.name, step.kind,
            content.local(step_sentence(step, plan, units, t, dated=True)), content.local(step_amount(step, plan, t, units)),
        )
        for step in content.jobs
    )  # fmt: skip


Told = Callable[[int, int], None]


def grown_beds(
    garden: Garden, options: Options, years: int = 30, seed: int | None = None, told: Told | None = None, processes: int = 0
) -> list[BedPages]:
    """The pages of all beds that name a recipe, in the order of the garden; `told` hears how many of how many are done."""
    beds = [bed for bed in garden.beds if bed.recipe]
    if not beds:
        raise UsageError(f"{garden.file}: no bed names its recipe; add a line such as `recipe: salad.recipe.yaml` to each bed")
    asked = [(garden, bed.name, f"-{i}", options, years, seed) for i, bed in enumerate(beds)]
    runner = scheduler(processes or min(MOST_PROCESSES, processors(), len(beds)))
    found: dict[int, BedPages] = {}
    faults: list[Fault] = []
    for count, done in enumerate(runner.run(_pages_or_faults, asked), 1):
        if done.result is None:
            raise UsageError(f"{beds[done.number].name}: {done.fault}")
        if isinstance(done.result, BedPages):
            found[done.number] = done.result
        else:
            faults += [fault for fault in done.result if fault not in faults]
        if told is not None:
            told(count, len(asked))
    if faults:
        raise FileFaults(faults)
    return [found[i] for i in sorted(found)]


def _pages_or_faults(asked: tuple[Any, ...]) -> BedPages | tuple[Fault, ...]:
    """The pages of a bed, or what is wrong with its recipe: all faults of all recipes are told together."""
    try:
        return bed_pages(*asked)
    except FileFaults as error:
        return error.faults


def press_book(garden: Garden, beds: Sequence[BedPages], options: Options) -> bytes:
    """The book of a garden as the bytes of a PDF/A-3a file, with the garden and every recipe attached."""
    chosen = checked(options)
    if chosen.year is None:
        raise UsageError("a book is for a year: give it")
    html = book_html(garden, beds, chosen)
    return pdf_of(render(html), html, list(_files(beds)))


def _files(beds: Iterable[BedPages]) -> Iterable[File]:
    """Attached files, each once; another one of the same name gets a number."""
    taken: dict[str, bytes] = {}
    for bed in beds:
        for name, data, said in bed.files:
            number, free = 1, name
            while free in taken and taken[free] != data:
                number += 1
                stem, dot, ending = name.partition(".")
                free = f"{stem}-{number}{dot}{ending}"
            if free not in taken:
                taken[free] = data
                yield free, data, said


def book_html(garden: Garden, beds: Sequence[BedPages], options: Options) -> str:
    """The book as HTML with its style sheet."""
    from mixcraft.words.book import book_words
    from mixcraft.words.dates import day_words

    from .options import logo_uri

    t = options.t
    width = options.size[0] - 56.0
    size = 10.0 if options.paper != "A5" else 8.5
    tasks = sorted((task for bed in beds for task in bed.tasks), key=lambda task: task.day)
    values = {
        "words": book_words(garden.name, options.year or 0, t), "garden": garden, "beds": beds, "size": size, "capital": capital,
        "plan": draw_garden(garden, {b.bed: b.recipe for b in beds}, width, 0.5 * options.size[1], options).svg(),
        "calendar": draw_weeks([b.weeks for b in beds], width, options).svg(), "language": options.language,
        "orders": merged([order for bed in beds for order in bed.orders], options),
        "indoors": [task for task in tasks if task.kind == "indoors"], "months": months_of(tasks, options),
        "day": lambda when: day_words(when, t), "logo": logo_uri(options.logo) if options.logo else "", "options": options,
        "style": style_sheet(options, numbered=True), "least": options.least,
    }  # fmt: skip
    return str(environment().get_template("book.html.j2").render(**values))


def months_of(tasks: Sequence[Task], options: Options) -> list[tuple[str, list[Task]]]:
    """The work month by month; watering once for each month and bed."""
    from mixcraft.words.dates import month_name

    found: dict[tuple[int, int], list[Task]] = {}
    for task in tasks:
        found.setdefault((task.day.year, task.day.month), []).append(task)
    return [(f"{capital(month_name(date(y, m, 1), options.t))} {y}", found[y, m]) for y, m in sorted(found)]


def with_year(options: Options, year: int) -> Options:
    """The options for a year."""
    return replace(options, year=year)
