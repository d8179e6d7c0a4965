"""What is to be known of a plan besides its dates and amounts: a sentence each."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from mixcraft.recipe.notes import Note
from mixcraft.recipe.plan import Plan

from .amounts import NBSP, Units, length_words
from .catalogue import ENGLISH, Catalogue
from .dates import day_words
from .plain import cover_words

ON_SCREEN = ("drills",)
"""Kinds that are told to whoever writes the recipe, and not on a card."""


def plan_notes(plan: Plan, units: Units = "metric", t: Catalogue = ENGLISH) -> tuple[str, ...]:
    """The notes of a plan that go on its card, in units and language of the card."""
    return tuple(SENTENCES[note.kind](note, units, t) for note in plan.notes if note.kind not in ON_SCREEN)


def note_sentence(note: Note, units: Units = "metric", t: Catalogue = ENGLISH) -> str:
    """A note in one plain sentence, without spaces that do not break; KeyError for a kind that has no words."""
    return SENTENCES[note.kind](note, units, t).replace(NBSP, " ")


def _large_cells(note: Note, units: Units, t: Catalogue) -> str:
    return t.gettext(
        "For a bed of this size and its plantings, light is followed in cells of {cell} instead of {usual}, so that the edges of "
        "plantings are blurred by as much."
    ).format(cell=length_words(note.numbers["cell_m"], units), usual=length_words(note.numbers["usual_m"], units))


def _other_size(note: Note, units: Units, t: Catalogue) -> str:
    names = ("drawn_length_m", "drawn_width_m", "length_m", "width_m")
    sides = dict(zip("abcd", (length_words(note.numbers[name], units) for name in names), strict=True))
    return t.gettext("Drawn for a bed of {a} × {b}; places and numbers are fitted to {c} × {d}.").format(**sides)


def _other_hemisphere(note: Note, units: Units, t: Catalogue) -> str:
    day = day_words(np.datetime64(note.names["day"][0]), t)
    said = t.gettext("{planting}: the date is moved by six months to this hemisphere, {day}.")
    return said.format(planting=note.plantings[0], day=day)


def _roofed(note: Note, units: Units, t: Catalogue) -> str:
    return t.gettext(
        "Under the {cover} no rain falls on the bed, and it is told that nobody waters it: say in the garden file how it is "
        "watered."
    ).format(cover=cover_words(note.names["cover"][0], t))


def _not_picked(note: Note, units: Units, t: Catalogue) -> str:
    said = t.gettext("{planting}: not picked this year; years since planting: {age}, first picked at {years}.")
    return said.format(planting=note.plantings[0], age=int(note.numbers["age"]), years=int(note.numbers["years"]))


def _establishing(note: Note, units: Units, t: Catalogue) -> str:
    years = int(note.numbers["years"])
    said = t.ngettext(
        "{planting}: pick little or nothing in the year it is planted; the amounts are those of an established plant.",
        "{planting}: pick little or nothing in its first {years} years; the amounts are those of an established plant.",
        years,
    )
    return said.format(planting=note.plantings[0], years=years)


def _stands(note: Note, units: Units, t: Catalogue) -> str:
    years = int(note.numbers["age"])
    said = t.ngettext(
        "{planting}: planted a year ago, it stands in the bed already.",
        "{planting}: planted {years} years ago, it stands in the bed already.",
        years,
    )
    return said.format(planting=note.plantings[0], years=years)


def _no_frost(note: Note, units: Units, t: Catalogue) -> str:
    return t.gettext("No frost is expected here: weeks from a frost are counted from the middle of the coldest month.")


def _drills(note: Note, units: Units, t: Catalogue) -> str:
    number, standing = int(note.numbers["plants"]), note.names["standing"][0]
    plants, whose = "a plant" if number == 1 else f"{number} plants", "its" if len(note.plantings) == 1 else "their"
    return (
        f"{', '.join(note.plantings)}: {whose} drills run through {plants} of {standing} that will be standing there; stop "
        "the drill a hand's breadth from each, or draw the row elsewhere "
        "(`place: {kind: row, at: [..], from: .., to: ..}`)."
    )


SENTENCES: dict[str, Callable[[Note, Units, Catalogue], str]] = {
    "large cells": _large_cells, "other size": _other_size, "other hemisphere": _other_hemisphere, "not picked": _not_picked,
    "establishing": _establishing, "stands": _stands, "no frost": _no_frost, "drills": _drills, "roofed": _roofed,
}  # fmt: skip
