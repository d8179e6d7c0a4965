"""What stands on the two sides of a card: drawings and words for the templates, and how much room they take."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from mixcraft.recipe.plan import Plan, Planned
from mixcraft.season.result import Season

from .cautions import Caution, card_cautions
from .marks import swatch
from .picking import Picking, pickings
from .places import where_words
from .plan_drawing import DrawnPlan, draw_plan
from .provenance import Provenance, assumptions, provenance
from .steps import Step, sowing_steps
from .svg import text_width
from .time_drawing import draw_time, strip_weeks
from .words import Units, length_words, thousands

if TYPE_CHECKING:
    from mixcraft.score.model import Score

MARGIN = 28.0
"""Margin of the page [pt], about a centimetre: what most printers leave."""
PLAN_SHARE = (0.31, 0.22, 0.18)
"""Greatest share of the page height for the plan, by level of detail."""


@dataclass(frozen=True)
class LegendEntry:
    """A planting in the legend: number, sample, name, crop and cultivar where they say more, plants, place."""

    number: int
    sample: str
    name: str
    kind: str
    plants: str
    where: str


@dataclass(frozen=True)
class Content:
    """All that a card says, for any size of text; `width` and `height` of the paper [pt]."""

    season: Season
    score: Score | None
    units: Units
    width: float
    height: float

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
    def steps(self) -> tuple[Step, ...]:
        """Sowing steps."""
        return sowing_steps(self.plan, self.units)

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

    def drawn(self, detail: int) -> DrawnPlan:
        """The bed plan."""
        return draw_plan(self.plan, self.inner, PLAN_SHARE[detail] * self.height, self.units)

    def date_words(self, day: int) -> str:
        """A day index as the card prints it."""
        from mixcraft.recipe.calendar import day_words

        return day_words(self.plan.date(day))

    def front(self, size: float, detail: int) -> Mapping[str, Any]:
        """Values for the first side."""
        drawn = self.drawn(detail)
        entries = [self.legend_entry(p, drawn.kinds[p.index], detail) for p in self.plan.plantings]
        return {
            "size": size, "detail": detail, "plan": drawn.svg, "legend": entries, "columns": self.legend_columns(size),
            "steps": dated(self.steps, self), "marks_note": marks_note(drawn, self.plan),
        }  # fmt: skip

    def back(self, size: float, detail: int) -> Mapping[str, Any]:
        """Values for the second side."""
        calendar = draw_time(self.season, self.score, self.inner, self.row_height(size), size, self.units)
        return {
            "size": size, "detail": detail, "calendar": calendar.svg(), "gaps": gap_words(self.score),
            "cautions": self.cautions, "pickings": self.pickings, "score": score_words(self.score),
            "wanted": any(w.wanted for w in strip_weeks(self.season, self.score)),
            "covers": any(p.covers for p in self.plan.plantings),
            "indoors": any(p.planting.establish == "module" for p in self.plan.plantings),
        }  # fmt: skip

    def row_height(self, size: float) -> float:
        """Height of a calendar row [pt]."""
        return 1.42 * size

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
        return LegendEntry(
            planned.index + 1, swatch(planned.index, kind).svg(), planting.name, ", ".join(more),
            f"{thousands(plants)} plant{'' if plants == 1 else 's'}", where,
        )  # fmt: skip


def content_of(season: Season, score: Score | None, units: Units, paper: tuple[float, float]) -> Content:
    """The content of a card."""
    return Content(season, score, units, *paper)


def dated(steps: Sequence[Step], content: Content) -> list[tuple[str, Step]]:
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
    from .words import short_day

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


def lines_of(text: str, size: float, width: float) -> int:
    """Lines that `text` takes in a column of `width` [pt], a little on the safe side."""
    return max(1, math.ceil(1.04 * text_width(text, size) / max(width, 10.0)))


def estimate_front(content: Content, size: float, detail: int) -> float:
    """Height of the first side [pt], from its words."""
    drawn = content.drawn(detail)
    columns = content.legend_columns(size)
    column = content.inner / columns - 4.6 * size - 12
    rows = 0.0
    for start in range(0, len(content.plan.plantings), columns):
        entries = [
            content.legend_entry(p, drawn.kinds[p.index], detail)
            for p in content.plan.plantings[start : start + columns]
        ]
        rows += max(_entry_lines(e, size, column) for e in entries) * 1.22 * size + 0.32 * size
    room = content.inner - 17.0 * size
    steps = 0.0
    for step in content.steps:
        text = step.what + (" " + step.note if step.note else "")
        tall = max(lines_of(text, size, room), lines_of(step.amount, size, 8.2 * size) if step.amount else 1)
        steps += tall * 1.22 * size + 0.36 * size
    return 2 * MARGIN + 4.6 * size + drawn.height + rows + steps + 5.6 * size


def _entry_lines(entry: LegendEntry, size: float, width: float) -> int:
    first = lines_of(entry.name + (", " + entry.kind if entry.kind else ""), 1.04 * size, width)
    return first + lines_of(entry.plants + (", " + entry.where if entry.where else ""), size, width)


def estimate_back(content: Content, size: float, detail: int) -> float:
    """Height of the second side [pt], from its words."""
    calendar = 13 + content.row_height(size) * len(content.plan.plantings) + 62
    wide = content.inner
    picks = sum(
        max(lines_of(p.how, size, 0.34 * wide), lines_of(p.amount, size, 0.2 * wide), lines_of(f"{p.name} {p.part}", size, 0.24 * wide))
        * 1.22 * size + 0.3 * size
        for p in content.pickings
    )  # fmt: skip
    cautions = sum(
        lines_of(f"{c.title}. {c.short if detail else c.text} {', '.join(c.names)}", size, wide / 2 - 8) * 1.22 * size
        + 0.3 * size
        for c in content.cautions
    ) / 2  # fmt: skip
    small = max(0.84 * size, 6.0)
    notes = sum(lines_of(a, small, wide) for a in content.assumptions) * 1.22 * small
    return 2 * MARGIN + calendar + picks + cautions + notes + 13.5 * size


__all__ = ["Content", "LegendEntry", "content_of", "estimate_back", "estimate_front"]
