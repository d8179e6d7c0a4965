"""What stands on the two sides of a card: drawings and words for the templates, and how much room they take."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from mixcraft.recipe.plan import Plan, Planned
from mixcraft.recipe.steps import sowing_steps
from mixcraft.season.result import Season
from mixcraft.words.amounts import Units, length_words, short_day, thousands
from mixcraft.words.places import where_words
from mixcraft.words.plain import capital
from mixcraft.words.steps import step_amount, step_sentence

from .cautions import Caution, card_cautions
from .marks import swatch
from .picking import Picking, pickings
from .plan_drawing import DrawnPlan, draw_plan
from .provenance import Provenance, assumptions, provenance
from .time_drawing import draw_time, drawn_height, strip_weeks
from .type import LINE, line_count, text_width

if TYPE_CHECKING:
    from mixcraft.scoring.model import Score

MARGIN = 28.0
"""Margin of the page [pt], about a centimetre: what most printers leave."""
PLAN_SHARE = (0.33, 0.27, 0.2)
"""Greatest share of the page height for the plan, by level of detail."""
PAD = (0.15, 0.1, 0.06)
"""Room above and below the lines of steps and harvest, in units of the text size, by level of detail."""
SAMPLE = 13.0
"""Height of a sample in the legend [pt]."""
NOTE_LINE = 20.0
"""Distance of the lines for notes [pt]."""
NOTES_FROM = 75.0
"""Room left on the first side from which lines for notes are drawn [pt]."""


@dataclass(frozen=True)
class LegendEntry:
    """A planting in the legend: number, sample, name, crop and cultivar where they say more, plants and place."""

    number: int
    sample: str
    name: str
    kind: str
    plants: str


@dataclass(frozen=True)
class SaidStep:
    """A sowing step as it is printed: day index, numbers of its plantings, what to do, what to have ready, the recipe's note."""

    day: int
    numbers: tuple[int, ...]
    what: str
    amount: str
    note: str


@dataclass(frozen=True)
class Content:
    """All that a card says, for any size of text; `width` and `height` of the paper [pt]."""

    season: Season
    score: Score | None
    units: Units
    width: float
    height: float
    attached: bool = True

    @property
    def plan(self) -> Plan:
        """The plan behind the season."""
        return self.season.plan

    @property
    def inner(self) -> float:
        """Width between the margins [pt]."""
        return self.width - 2 * MARGIN

    @property
    def title(self) -> str:
        """Name of the recipe."""
        return self.plan.recipe.name

    @property
    def bed_line(self) -> str:
        """Bed and its size."""
        bed = self.plan.bed
        return f"{bed.name}, {length_words(bed.length_m, self.units)} × {length_words(bed.width_m, self.units)}"

    @property
    def place_line(self) -> str:
        """Garden and place."""
        garden, place = self.plan.garden.name, self.plan.place.name
        return garden if garden == place else f"{garden}, {place}"

    @cached_property
    def source(self) -> Provenance:
        """Versions and hashes."""
        return provenance(self.plan)

    @property
    def file_name(self) -> str:
        """Name of the attached recipe."""
        return self.source.file or "recipe.recipe.yaml"

    @cached_property
    def steps(self) -> tuple[SaidStep, ...]:
        """Sowing steps in words."""
        return tuple(
            SaidStep(s.day, s.numbers, step_sentence(s, self.plan, self.units), step_amount(s, self.plan), s.note)
            for s in sowing_steps(self.plan)
        )

    @cached_property
    def pickings(self) -> tuple[Picking, ...]:
        """Harvest lines."""
        return pickings(self.season, self.score, self.units)

    @cached_property
    def cautions(self) -> tuple[Caution, ...]:
        """Cautions."""
        return card_cautions(self.plan)

    @cached_property
    def assumptions(self) -> tuple[str, ...]:
        """Assumptions."""
        return assumptions(self.season, self.units)

    @cached_property
    def _plans(self) -> dict[int, DrawnPlan]:
        return {}

    def drawn(self, detail: int) -> DrawnPlan:
        """The bed plan, drawn once for each level of detail."""
        if detail not in self._plans:
            self._plans[detail] = draw_plan(self.plan, self.inner, PLAN_SHARE[detail] * self.height, self.units)
        return self._plans[detail]

    def date_words(self, day: int) -> str:
        """A day index as the card prints it."""
        from mixcraft.recipe.calendar import day_words

        return day_words(self.plan.date(day))

    def front(self, size: float, detail: int) -> Mapping[str, Any]:
        """Values for the first side."""
        drawn = self.drawn(detail)
        entries = [self.legend_entry(p, drawn.kinds[p.index], detail) for p in self.plan.plantings]
        columns = self.legend_columns(size)
        left = self.height - estimate_front(self, size, detail)
        return {
            "size": size, "detail": detail, "plan": drawn.svg, "columns": columns,
            "halves": _bed_width(self, size) > self.inner / 2,
            "legend": [entries[i : i + columns] for i in range(0, len(entries), columns)],
            "steps": dated(self.steps, self), "marks_note": marks_note(drawn, self.plan),
            "widths": step_widths(self, size), "pad": PAD[detail],
            "notes": int((left - 2.2 * size) / NOTE_LINE) if left > NOTES_FROM else 0,
        }  # fmt: skip

    def back(self, size: float, detail: int) -> Mapping[str, Any]:
        """Values for the second side."""
        calendar = draw_time(self.season, self.score, self.inner, self.row_height(size, detail), size, self.units)
        return {
            "size": size, "detail": detail, "calendar": calendar.svg(), "gaps": gap_words(self.score),
            "cautions": balanced(self.cautions, size, self.caution_width(size), detail) if detail < 2 else (),
            "all_cautions": self.cautions, "pickings": self.pickings,
            "score": score_words(self.score), "widths": pick_widths(self, size), "pad": PAD[detail],
            "wanted": any(w.wanted for w in strip_weeks(self.season, self.score)),
            "covers": any(p.covers for p in self.plan.plantings),
            "indoors": any(p.planting.establish == "module" for p in self.plan.plantings),
        }  # fmt: skip

    def caution_width(self, size: float) -> float:
        """Width of a column of cautions [pt]."""
        return self.inner / 2 - 0.6 * size

    def row_height(self, size: float, detail: int) -> float:
        """Height of a calendar row [pt]."""
        return (1.42, 1.32, 1.24)[detail] * size

    def legend_columns(self, size: float) -> int:
        """Columns of the legend."""
        count = len(self.plan.plantings)
        return 1 if count == 1 or self.inner / size < 30 else 2 if self.inner / size < 58 or count < 9 else 3

    def legend_entry(self, planned: Planned, kind: str, detail: int) -> LegendEntry:
        """The legend's words for a planting."""
        planting, crop = planned.planting, planned.planting.crop
        more = [] if planting.name.casefold() == crop.name.casefold() else [crop.name]
        more += [planting.cultivar] if planting.cultivar else []
        plants = round(planned.stand.plants)
        where = where_words(self.plan, planned, self.units) if detail == 0 else ""
        words = f"{thousands(plants)} plant{'' if plants == 1 else 's'}"
        return LegendEntry(
            planned.index + 1, swatch(planned.index, kind).svg(), capital(planting.name), ", ".join(more),
            f"{words}, {where}" if where else words,
        )  # fmt: skip


def content_of(season: Season, score: Score | None, units: Units, paper: tuple[float, float], attached: bool = True) -> Content:
    """The content of a card."""
    return Content(season, score, units, paper[0], paper[1], attached)


def dated(steps: Sequence[SaidStep], content: Content) -> list[tuple[str, SaidStep]]:
    """Steps with their date, given once for the steps of one day."""
    result, last = [], ""
    for step in steps:
        date = content.date_words(step.day)
        result.append((date if date != last else "", step))
        last = date
    return result


def marks_note(drawn: DrawnPlan, plan: Plan) -> str:
    """What a mark of a sown planting stands for, when it is not one plant."""
    thinned = sorted(
        {n for p, n, kind in zip(plan.plantings, drawn.per_mark, drawn.kinds, strict=True) if kind == "sown" and n > 1}
    )
    if not any(kind == "sown" for kind in drawn.kinds):
        return ""
    if not thinned:
        return "Sown plantings: one mark for each plant, scattered evenly."
    return f"Sown plantings: one mark for {' or '.join(str(n) for n in thinned)} plants."


def gap_words(score: Score | None) -> str:
    """Weeks of the wanted window without a picking, in a sentence."""
    if score is None:
        return ""
    if not score.gaps:
        return "Something to pick in every wanted week." if any(w.wanted for w in score.strip) else ""
    spans = [f"{short_day(g.start)} to {short_day(g.end)}" for g in score.gaps]
    weeks = sum(g.weeks for g in score.gaps)
    return f"Nothing to pick in {weeks} wanted week{'' if weeks == 1 else 's'}: {', '.join(spans)}."


def score_words(score: Score | None) -> list[tuple[str, str]]:
    """Overall and part scores."""
    if score is None:
        return []
    return [("overall", f"{score.overall:.0f}"), *((p.name, f"{p.score:.0f}") for p in score.parts)]


def caution_words(caution: Caution, detail: int) -> tuple[str, int]:
    """A caution as the card prints it, and how many of its letters are bold."""
    head = f"{caution.title}{' (' + ', '.join(caution.names) + ')' if caution.names else ''}."
    return f"{head} {caution.short if detail else caution.text}", len(head)


def _caution_height(caution: Caution, size: float, width: float, detail: int) -> float:
    text, bold = caution_words(caution, detail)
    return line_count(text, size, width, bold) * LINE * size + 0.25 * size


def balanced(
    cautions: Sequence[Caution], size: float, width: float, detail: int
) -> tuple[tuple[Caution, ...], tuple[Caution, ...]]:
    """Cautions in two columns of like height, in order."""
    tall = [_caution_height(c, size, width, detail) for c in cautions]
    best = min(range(len(cautions) + 1), key=lambda i: (max(sum(tall[:i]), sum(tall[i:])), -i))
    return tuple(cautions[:best]), tuple(cautions[best:])


def step_widths(content: Content, size: float) -> tuple[float, ...]:
    """Widths of the columns of the steps: box, day, number, what, amount [pt]."""
    day = max(text_width(content.date_words(s.day), size, True) for s in content.steps) + 0.8 * size
    amount = max(text_width(s.amount, size, True) for s in content.steps) + 0.6 * size
    box, number = 1.25 * size, 1.9 * size
    return box, day, number, content.inner - box - day - number - amount, amount


def pick_widths(content: Content, size: float) -> tuple[float, ...]:
    """Widths of the columns of the harvest: number, what, how, when, amount [pt]."""
    number = 1.9 * size
    when = max((text_width(p.when, size) for p in content.pickings), default=0.0) + 0.8 * size
    amount = max((text_width(p.amount, size, True) for p in content.pickings), default=0.0) + 0.6 * size
    room = content.inner - number - when - amount
    names = max((text_width(f"{p.name}, {p.part}", size, True) for p in content.pickings), default=0.0) + 0.8 * size
    what = min(names, 0.5 * room)
    return number, what, room - what, when, amount


def estimate_front(content: Content, size: float, detail: int) -> float:
    """Height of the first side [pt], from its words."""
    drawn = content.drawn(detail)
    columns = content.legend_columns(size)
    column = content.inner / columns - 2.3 * size - 34.0
    plantings = content.plan.plantings
    legend = 0.2 * size
    for start in range(0, len(plantings), columns):
        entries = [content.legend_entry(p, drawn.kinds[p.index], detail) for p in plantings[start : start + columns]]
        tall = max(_entry_lines(e, size, column, detail) for e in entries) * LINE * size
        legend += max(tall, SAMPLE + 0.1 * size) + 0.3 * size
    note = 0.9 * LINE * size if marks_note(drawn, content.plan) and not detail else 0.0
    room = step_widths(content, size)[3] - 0.5 * size
    steps = sum((_step_lines(s, size, room) * LINE + 2 * PAD[detail]) * size + 0.4 for s in content.steps)
    return 2 * MARGIN + _head_height(content, size) + drawn.height + legend + note + _heading(size) + steps


def _head_height(content: Content, size: float) -> float:
    bed, lines = _bed_width(content, size), 2
    if bed > content.inner / 2:
        bed = content.inner / 2
        room = bed - size
        lines = line_count(content.bed_line, size, room, len(content.bed_line)) + line_count(content.place_line, size, room)
    title = line_count(content.title, 1.75 * size, content.inner - bed, len(content.title))
    return max(title * 1.75 * 1.05, lines * LINE) * size + 0.5 * size


def _bed_width(content: Content, size: float) -> float:
    """Width of the words for bed and place, each on one line [pt]."""
    return max(text_width(content.bed_line, size, True), text_width(content.place_line, size)) + size


def _heading(size: float) -> float:
    """Height of a heading with its rule and margins [pt]."""
    return (LINE + 0.1 + 0.6 + 0.1) * size + 1.1


def _step_lines(step: SaidStep, size: float, width: float) -> int:
    text = f"{step.what}. {step.note}".strip() + " 00" * (len(step.numbers) if len(step.numbers) > 1 else 0)
    return line_count(text, size, width)


def _entry_lines(entry: LegendEntry, size: float, width: float, detail: int) -> int:
    first = f"{entry.name}, {entry.kind}" if entry.kind else entry.name
    if detail:
        return line_count(f"{first}, {entry.plants}", size, width, len(entry.name))
    return line_count(first, size, width, len(entry.name)) + line_count(entry.plants, size, width)


def estimate_back(content: Content, size: float, detail: int) -> float:
    """Height of the second side [pt], from its words."""
    wide = content.inner
    running = 0.9 * (LINE + 0.35) * size
    calendar = drawn_height(len(content.plan.plantings), content.row_height(size, detail))
    keys = (0.9 * LINE + 0.1) * size + (0.9 * LINE * size if gap_words(content.score) else 0.0)
    _, what, how, _, _ = (w - 0.5 * size for w in pick_widths(content, size))
    picks = sum(
        max(line_count(p.how, size, how), line_count(f"{p.name}, {p.part}", size, what, len(p.name))) * LINE * size
        + 2 * PAD[detail] * size + 0.4
        for p in content.pickings
    )  # fmt: skip
    cautions = _cautions_height(content, size, detail)
    small = max(0.84 * size, 6.0)
    lines = [*content.assumptions, CLOSING, source_words(content)]
    foot = sum((line_count(a, small, wide) * LINE + 0.15) * small for a in lines) + 0.7 * small + 1.1
    foot += 1.08 * small * LINE + 0.15 * small if content.score is not None else 0.0
    return 2 * MARGIN + running + calendar + keys + 2 * _heading(size) + picks + cautions + foot


def _cautions_height(content: Content, size: float, detail: int) -> float:
    if detail > 1:
        words = " ".join(caution_words(c, detail)[0] for c in content.cautions)
        heads = sum(text_width(w[:n], size, True) - text_width(w[:n], size) for w, n in _heads(content, detail))
        return (line_count(words, size, content.inner) + int(heads / content.inner) + 1) * LINE * size + 0.1 * size
    column = content.caution_width(size)
    sides = balanced(content.cautions, size, column, detail)
    return max(sum(_caution_height(c, size, column, detail) for c in side) for side in sides) + 0.15 * size


def _heads(content: Content, detail: int) -> list[tuple[str, int]]:
    return [caution_words(c, detail) for c in content.cautions]


CLOSING = "The usual cautions, not advice on your case: local rules, a doctor, a pharmacist or a vet go before this card."


def source_words(content: Content) -> str:
    """Hashes, versions, author and licence in a line."""
    source = content.source
    by = f" by {source.author}" if source.author else ""
    licence = f", {source.licence}" if source.licence else ""
    attached = " · the recipe file is attached to the PDF" if content.attached else ""
    return f"Recipe {source.recipe}{by}{licence} · crop data {source.crops} · mixcraft {source.engine}{attached}"


__all__ = ["Content", "LegendEntry", "balanced", "content_of", "estimate_back", "estimate_front", "source_words"]
