"""Headings and words of the book of a garden."""

from __future__ import annotations

from collections.abc import Mapping

from .catalogue import ENGLISH, Catalogue
from .plain import N_
from .steps import PIECES

HEADINGS = {
    "beds": N_("The beds"), "plan": N_("The garden"), "season": N_("What is picked, week by week"),
    "order": N_("Seed and plants to order"),
    "indoors": N_("Sowing indoors"), "months": N_("Work month by month"), "cards": N_("Cards of the beds"), "crop": N_("Crop"),
    "amount": N_("Needed"), "packets": N_("Packets"), "bed": N_("Bed"), "page": N_("page"), "recipe": N_("Recipe"),
    "plan_note": N_("The beds to one scale, north at the top, in the order of the garden file."),
    "packet_note": N_("Packets are reckoned by the usual number of seeds in one; merchants differ."),
    "fails": N_("gives nothing in most years"), "nothing": N_("Nothing is sown indoors."),
}  # fmt: skip


def book_words(garden: str, year: int, t: Catalogue = ENGLISH) -> Mapping[str, str]:
    """The headings of the book."""
    title = t.gettext("{garden}, {year}").format(garden=garden, year=year)
    return {key: t.gettext(text) for key, text in HEADINGS.items()} | {"title": title}


def packets_words(count: int, t: Catalogue = ENGLISH) -> str:
    """A number of packets of seed."""
    return t.ngettext("{number} packet", "{number} packets", count).format(number=count)


def sold_words(kind: str, count: int, t: Catalogue = ENGLISH) -> str:
    """A number of plants or pieces."""
    return PIECES[kind](t, count).format(number=count)
