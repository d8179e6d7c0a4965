"""How much room the words of a card take, reckoned from the widths of their letters before anything is set."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from mixcraft.words.card import closing_words

from .cautions import Caution
from .time_drawing import drawn_height
from .type import LINE, line_count, text_width

if TYPE_CHECKING:
    from .sides import Content, LegendEntry, SaidStep

MARGIN = 28.0
"""Margin of the page [pt], about a centimetre: what most printers leave."""
PAD = (0.15, 0.1, 0.06)
"""Room above and below the lines of steps and harvest, in units of the text size, by level of detail."""
SAMPLE = 13.0
"""Height of a sample in the legend [pt]."""
LOGO = 36.0
"""Height of a logo [pt]."""
LOGO_WIDTH = 110.0
CODE_GAP = 10.0
"""Room between the foot's words and the code [pt]."""


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
    day = max(text_width(date, size, True) for date, _ in content.dated) + 0.8 * size
    amount = min(max(text_width(s.amount, size, True) for s in content.steps) + 0.6 * size, 0.3 * content.inner)
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
    note = small(content, 0.9 * size) * LINE * (
        line_count(content.marks_note, small(content, 0.9 * size), content.inner) if content.marks_note and not detail else 0
    )  # fmt: skip
    warning = line_count(content.warning, size, content.inner, 999) * LINE * size if content.warning else 0.0
    water = line_count(content.water, size, content.inner) * LINE * size + 0.4 * size if content.water else 0.0
    room = step_widths(content, size)[3] - 0.5 * size
    steps = sum((_step_lines(s, size, room) * LINE + 2 * PAD[detail]) * size + 0.4 for s in content.steps)
    plans = sum(drawn.height + 2.0 for drawn in content.drawn)
    tops = _head_height(content, size) + plans + _legend_height(content, size, detail) + note + warning
    return 2 * MARGIN + tops + _heading(size) + steps + water


def _legend_height(content: Content, size: float, detail: int) -> float:
    columns, plantings = content.legend_columns(size), content.plan.plantings
    column = content.inner / columns - 2.3 * size - 34.0
    legend = 0.2 * size
    for start in range(0, len(plantings), columns):
        entries = [content.legend_entry(p, detail) for p in plantings[start : start + columns]]
        tall = max(_entry_lines(e, content, size, column, detail) for e in entries) * LINE * size
        legend += max(tall, SAMPLE + 0.1 * size) + 0.3 * size
    return legend


def small(content: Content, size: float) -> float:
    """A size for small print, not below the least of the paper."""
    return max(size, content.options.least)


def _head_height(content: Content, size: float) -> float:
    bed, lines = bed_width(content, size), 2
    if bed > content.inner / 2:
        bed = content.inner / 2
        room = bed - size
        lines = line_count(content.bed_line, size, room, len(content.bed_line)) + line_count(content.place_line, size, room)
    room = content.inner - bed - (LOGO_WIDTH if content.options.logo else 0.0)
    title = line_count(content.title, 1.75 * size, room, len(content.title)) * 1.75 * 1.05
    title += line_count(content.client_line, size, room) * LINE if content.client_line else 0.0
    return max(title * size, lines * LINE * size, LOGO if content.options.logo else 0.0) + 0.5 * size


def bed_width(content: Content, size: float) -> float:
    """Width of the words for bed and place, each on one line [pt]."""
    return max(text_width(content.bed_line, size, True), text_width(content.place_line, size)) + size


def _heading(size: float) -> float:
    """Height of a heading with its rule and margins [pt]."""
    return (LINE + 0.1 + 0.6 + 0.1) * size + 1.1


def _step_lines(step: SaidStep, size: float, width: float) -> int:
    text = f"{step.what}. {step.note}".strip() + " 00" * (len(step.numbers) if len(step.numbers) > 1 else 0)
    return line_count(text, size, width)


def _entry_lines(entry: LegendEntry, content: Content, size: float, width: float, detail: int) -> int:
    first = f"{entry.name}, {entry.kind}" if entry.kind else entry.name
    first += f" {content.labels['fails']}" if entry.fails else ""
    if detail:
        return line_count(f"{first}, {entry.plants}", size, width, len(entry.name))
    return line_count(first, size, width, len(entry.name)) + line_count(entry.plants, size, width)


def estimate_back(content: Content, size: float, detail: int, code: bool = True) -> float:
    """Height of the second side [pt], from its words."""
    note = small(content, 0.9 * size)
    running = note * LINE + 0.35 * note
    calendar = drawn_height(len(content.plan.plantings), content.row_height(size, detail))
    keys = note * LINE * _key_lines(content, note) + 0.1 * size
    gaps = content.gaps
    keys += line_count(gaps, note, content.inner) * note * LINE if gaps else 0.0
    _, what, how, when, _ = (w - 0.5 * size for w in pick_widths(content, size))
    picks = sum(
        max(
            line_count(p.how, size, how), line_count(p.when, size, when + 0.5 * size),
            line_count(f"{p.name}, {p.part}", size, what, len(p.name)),
        ) * LINE * size + 2 * PAD[detail] * size + 0.4
        for p in content.pickings
    )  # fmt: skip
    cautions = _cautions_height(content, size, detail)
    return 2 * MARGIN + running + calendar + keys + 2 * _heading(size) + picks + cautions + _foot_height(content, size, code)


def _key_lines(content: Content, size: float) -> int:
    said = ("ground", "picking", "cover", "indoors", "wanted")
    wide = sum(text_width(content.labels[key], size) + 16.0 + 1.6 * size for key in said)
    return 1 if wide <= content.inner else 2


def _foot_height(content: Content, size: float, code: bool) -> float:
    least = small(content, 0.84 * size)
    side = content.code[1] if code else 0.0
    wide = content.inner - (side + CODE_GAP if side else 0.0)
    lines = [*content.assumptions, closing_words(content.t), content.source_line]
    foot = sum((line_count(a, least, wide) * LINE + 0.15) * least for a in lines)
    if content.score_line:
        said = " ".join(f"{name} {value}" for name, value in content.score_line)
        foot += 1.08 * least * LINE * line_count(said + "m" * len(content.score_line), 1.08 * least, wide) + 0.15 * least
    return max(foot, side + least) + 0.7 * least + 1.1


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
