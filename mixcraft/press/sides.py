"""What stands on the two sides of a card: drawings and words for the templates, and how much room they take."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

from mixcraft.recipe.plan import Plan, Planned
from mixcraft.recipe.steps import Step
from mixcraft.season.result import Season
from mixcraft.words.amounts import Units, length_words, litres_words, thousands
from mixcraft.words.card import (
    botanical_sentence,
    card_title,
    circles_words,
    client_words,
    failing_sentence,
    gap_sentence,
    jobs_heading,
    labels,
    marks_words,
    part_name,
    phase_words,
    plants_words,
    source_sentence,
    water_sentence,
)
from mixcraft.words.catalogue import Catalogue
from mixcraft.words.crop_names import crop_name, in_language
from mixcraft.words.dates import day_words, short_day, short_month, whole_day
from mixcraft.words.places import from_to, where_words
from mixcraft.words.plain import capital, listed, under_words
from mixcraft.words.steps import step_amount, step_sentence

from .cautions import Caution, card_cautions
from .code import drawn_code
from .dates import real_date
from .heights import MARGIN, PAD, balanced, bed_width, estimate_front, pick_widths, step_widths
from .jobs import failing, jobs
from .marks import swatch
from .options import Options, day_printed, logo_uri
from .picking import Picking, pickings
from .plan_drawing import DrawnPlan, Style, draw_plan
from .plan_view import phases, sections, view
from .plan_words import Words
from .provenance import Provenance, assumptions, provenance, recipe_bytes
from .svg import DECIMAL
from .time_drawing import draw_time, strip_weeks

if TYPE_CHECKING:
    from mixcraft.scoring.model import Score

PLAN_SHARE = 0.36
"""Greatest share of the page height for one plan."""
NOTE_LINE = 20.0
"""Distance of the lines for notes [pt]."""
NOTES_FROM = 75.0
"""Room left on the first side from which lines for notes are drawn [pt]."""


@dataclass(frozen=True)
class LegendEntry:
    """A planting in the legend: number, sample, name, crop and cultivar where they say more, plants and place, and whether it
    gives nothing in most years."""

    number: int
    sample: str
    name: str
    kind: str
    plants: str
    fails: bool = False


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
    """All that a card says, for any size of text."""

    season: Season
    score: Score | None
    options: Options

    @property
    def plan(self) -> Plan:
        """The plan behind the season."""
        return self.season.plan

    @property
    def units(self) -> Units:
        """Units of the card."""
        return self.options.units

    @cached_property
    def t(self) -> Catalogue:
        """Language of the card."""
        return self.options.t

    @property
    def width(self) -> float:
        """Width of the paper [pt]."""
        return self.options.size[0]

    @property
    def height(self) -> float:
        """Height of the paper [pt]."""
        return self.options.size[1]

    @property
    def inner(self) -> float:
        """Width between the margins [pt]."""
        return self.width - 2 * MARGIN

    @property
    def attached(self) -> bool:
        """Whether the recipe goes into the PDF."""
        return self.options.attach

    @cached_property
    def labels(self) -> Mapping[str, str]:
        """Short texts."""
        return labels(self.t)

    @property
    def title(self) -> str:
        """Name of the recipe."""
        return self.plan.recipe.name

    @property
    def file_title(self) -> str:
        """Title of the file."""
        return card_title(self.title, self.plan.bed.name, self.t)

    def local(self, text: str) -> str:
        """A text with the decimals of the language."""
        return DECIMAL.sub(",", text) if self.options.comma else text

    @property
    def bed_line(self) -> str:
        """Bed and its size."""
        bed = self.plan.bed
        size = f"{length_words(bed.length_m, self.units)} × {length_words(bed.width_m, self.units)}"
        return ", ".join(filter(None, (bed.name, self.local(size), under_words(bed.under, self.t))))

    @property
    def place_line(self) -> str:
        """Garden and place."""
        garden, place = self.plan.garden.name, self.plan.place.name
        return garden if garden == place else f"{garden}, {place}"

    @property
    def client_line(self) -> str:
        """For whom and when it was made."""
        return client_words(self.options.client, day_printed(self.options.day, self.t), self.t)

    @property
    def logo(self) -> str:
        """The logo inside the page, nothing without one."""
        return logo_uri(self.options.logo) if self.options.logo else ""

    @cached_property
    def source(self) -> Provenance:
        """Versions and hashes."""
        return provenance(self.plan)

    @property
    def file_name(self) -> str:
        """Name of the attached recipe."""
        return self.source.file or "recipe.recipe.yaml"

    @cached_property
    def jobs(self) -> tuple[Step, ...]:
        """All jobs."""
        return jobs(self.season, self.score)

    @cached_property
    def steps(self) -> tuple[SaidStep, ...]:
        """Jobs in words, but for the watering."""
        return tuple(self._said(step) for step in self.jobs if step.kind != "water")

    def _said(self, step: Step) -> SaidStep:
        what = step_sentence(step, self.plan, self.units, self.t, dated=self.options.year is not None)
        amount = step_amount(step, self.plan, self.t, self.units)
        numbers = () if step.whole_bed else step.numbers
        return SaidStep(step.day, numbers, self.local(what), self.local(amount), step.note)

    @cached_property
    def water(self) -> str:
        """Water a week by month, the first of a year after that of the first planting told as such."""

        def year(day: int) -> int:
            return int(self.plan.date(day).astype("datetime64[Y]").astype(int))

        found = [s for s in self.jobs if s.kind == "water"]
        months = [
            (short_month(self.plan.date(s.day), self.t) if "rain_litres" in s.amounts else "",
             litres_words(s.amounts["litres"], self.units, self.t), year(s.day)) for s in found
        ]  # fmt: skip
        return water_sentence(months, year(min(p.start for p in self.plan.plantings)), self.t)

    @cached_property
    def failing(self) -> tuple[int, ...]:
        """Indices of plantings that give nothing in most years."""
        return failing(self.season, self.score)

    @property
    def warning(self) -> str:
        """What the front says of plantings that fail; nothing where none does."""
        names = [capital(self.plan.plantings[i].name) for i in self.failing]
        return failing_sentence(listed(names, self.t), len(names), self.t) if names else ""

    @cached_property
    def pickings(self) -> tuple[Picking, ...]:
        """Harvest lines."""
        found = pickings(self.season, self.score, self.units, self.t)
        return tuple(replace(p, how=self.local(p.how), amount=self.local(p.amount)) for p in found)

    @cached_property
    def cautions(self) -> tuple[Caution, ...]:
        """Cautions, in full or in short."""
        found = card_cautions(self.plan, self.t)
        return tuple(replace(c, text=c.short) for c in found) if self.options.cautions == "short" else found

    @cached_property
    def assumptions(self) -> tuple[str, ...]:
        """Assumptions."""
        said = *assumptions(self.season, self.units, self.t), botanical_sentence(self.plan, self.t)
        return tuple(self.local(line) for line in said)

    @cached_property
    def drawn(self) -> tuple[DrawnPlan, ...]:
        """The bed plans: one for each part of the year that has its own, in sections where the bed is long."""
        parts = phases(self.season, self.score)
        cuts = sections(self.plan, self.inner, self.options.paper)
        found = []
        for part in parts:
            for x0, x1 in cuts:
                when = phase_words(day_words(self.plan.date(part.day), self.t), self.t) if len(parts) > 1 else ""
                where = self.local(from_to(x0, x1, self.units, self.t)) if len(cuts) > 1 else ""
                caption = capital(", ".join(words for words in (when, where) if words))
                style = Style(self.units, self.options.least, caption, x0, Words(self.t, self.options.comma))
                found.append(draw_plan(view(self.plan, x0, x1, part.plantings), self.inner, PLAN_SHARE * self.height, style))
        return tuple(found)

    @cached_property
    def kinds(self) -> Mapping[int, str]:
        """How each planting is drawn, on the first plan that shows it."""
        return {i: kind for drawn in reversed(self.drawn) for i, kind in enumerate(drawn.kinds) if kind}

    @cached_property
    def marks_note(self) -> str:
        """What marks and circles mean."""
        counts = [n for d in self.drawn for n, kind in zip(d.per_mark, d.kinds, strict=True) if kind == "sown"]
        circles = circles_words(self.t) if "plants" in self.kinds.values() else ""
        return " ".join(words for words in (marks_words(counts, self.t), circles) if words)

    @cached_property
    def code(self) -> tuple[str, float]:
        """The QR code and its side [pt]; nothing and 0 without one."""
        if not (self.options.code and self.attached):
            return "", 0.0
        return drawn_code(recipe_bytes(self.plan), self.labels["scan"])

    @cached_property
    def dated(self) -> list[tuple[str, SaidStep]]:
        """Steps with their date, given once for the steps of one day."""
        return dated(self.steps, self)

    @cached_property
    def gaps(self) -> str:
        """Wanted weeks without a picking."""
        return gap_words(self)

    @cached_property
    def score_line(self) -> list[tuple[str, str]]:
        """Overall and part scores."""
        return score_words(self)

    @cached_property
    def source_line(self) -> str:
        """Hashes and versions."""
        return source_words(self)

    def date_words(self, day: int) -> str:
        """A day index as the card prints it."""
        return day_words(self.plan.date(day), self.t)

    def front(self, size: float, detail: int) -> Mapping[str, Any]:
        """Values for the first side."""
        entries = [self.legend_entry(p, detail) for p in self.plan.plantings]
        columns = self.legend_columns(size)
        left = self.height - estimate_front(self, size, detail)
        return {
            "size": size, "detail": detail, "plans": [drawn.svg for drawn in self.drawn], "columns": columns,
            "halves": bed_width(self, size) > self.inner / 2,
            "legend": [entries[i : i + columns] for i in range(0, len(entries), columns)],
            "steps": self.dated, "heading": jobs_heading(self.options.year, self.t),
            "widths": step_widths(self, size), "pad": PAD[detail],
            "notes": int((left - 2.2 * size) / NOTE_LINE) if left > NOTES_FROM else 0,
        }  # fmt: skip

    def back(self, size: float, detail: int, code: bool = True) -> Mapping[str, Any]:
        """Values for the second side."""
        calendar = draw_time(
            self.season, self.score, self.inner, self.row_height(size, detail), size, self.units, self.t, self.options.least
        )
        svg, side = self.code if code else ("", 0.0)
        return {
            "size": size, "detail": detail, "calendar": calendar.svg(), "gaps": self.gaps,
            "cautions": balanced(self.cautions, size, self.caution_width(size), detail) if detail < 2 else (),
            "all_cautions": self.cautions, "pickings": self.pickings, "code": svg, "code_side": side,
            "score": self.score_line, "widths": pick_widths(self, size), "pad": PAD[detail],
            "wanted": any(w.wanted for w in strip_weeks(self.season, self.score)),
            "covers": any(p.laid for p in self.plan.plantings),
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

    def legend_entry(self, planned: Planned, detail: int) -> LegendEntry:
        """The legend's words for a planting."""
        planting, crop = planned.planting, planned.planting.crop
        usual = crop_name(crop, self.t)
        more = [] if planting.name.casefold() == usual.casefold() else [usual]
        more += [planting.cultivar] if planting.cultivar else []
        plants = round(planned.stand.plants)
        where = self.local(where_words(self.plan, planned, self.units, self.t)) if detail == 0 else ""
        words = plants_words(plants, thousands(plants), self.t)
        sample = swatch(planned.index, self.kinds.get(planned.index, "sown"), least=self.options.least).svg()
        return LegendEntry(
            planned.index + 1, sample, capital(planting.name), ", ".join(more), f"{words}, {where}" if where else words,
            planned.index in self.failing,
        )  # fmt: skip


def content_of(season: Season, score: Score | None, options: Options) -> Content:
    """The content of a card, its crops called as in its language."""
    return Content(in_language(season, options.t), score, options)


def dated(steps: Sequence[SaidStep], content: Content) -> list[tuple[str, SaidStep]]:
    """Steps with their date, given once for the steps of one day, with its year where a new one begins."""
    result: list[tuple[str, SaidStep]] = []
    last = ""
    for i, step in enumerate(steps):
        date = content.date_words(step.day)
        year = content.options.year
        if year is not None:
            now = real_date(content.plan, step.day, year)
            before = real_date(content.plan, steps[i - 1].day, year).year if i else year
            date = whole_day(now, content.t) if now.year != before else date
        result.append((date if date != last else "", step))
        last = date
    return result


def gap_words(content: Content) -> str:
    """Weeks of the wanted window without a picking, in a sentence."""
    score, t = content.score, content.t
    if score is None or not (score.gaps or any(w.wanted for w in score.strip)):
        return ""
    spans = [(short_day(g.start, t), short_day(g.end, t)) for g in score.gaps]
    return gap_sentence(sum(g.weeks for g in score.gaps), spans, t)


def score_words(content: Content) -> list[tuple[str, str]]:
    """Overall and part scores; nothing where they are not to be shown."""
    score = content.score if content.options.show_score else None
    if score is None:
        return []
    return [("overall", f"{score.overall:.0f}"), *((part_name(p.name, content.t), f"{p.score:.0f}") for p in score.parts)]


def source_words(content: Content) -> str:
    """Hashes, versions, author and licence in a line."""
    source = content.source
    said = {key: getattr(source, key) for key in ("recipe", "author", "licence", "crops", "engine")}
    return source_sentence(said, content.attached, content.t)


__all__ = ["Content", "LegendEntry", "content_of"]
