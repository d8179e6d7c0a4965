"""Words that sentences are made of: parts of months, spans, shares, lists, counts, covers."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .catalogue import ENGLISH, Catalogue

MIDDLE_FROM, LATE_FROM = 11, 21
"""Days of a month from which it is called its middle and its end."""


def N_(text: str) -> str:  # noqa: N802 - the name that tools look for
    """Marks a text for the catalogue that is looked up later."""
    return text


MONTHS = (
    N_("January"), N_("February"), N_("March"), N_("April"), N_("May"), N_("June"), N_("July"), N_("August"), N_("September"),
    N_("October"), N_("November"), N_("December"),
)  # fmt: skip


def month_words(date: np.datetime64, t: Catalogue = ENGLISH) -> str:
    """The month of a date."""
    return t.gettext(MONTHS[int(str(date.astype("datetime64[D]"))[5:7]) - 1])


def date_words(date: np.datetime64, t: Catalogue = ENGLISH) -> str:
    """A date as part of a month: ``early June``, ``mid-June``, ``late June``."""
    day, month = int(str(date.astype("datetime64[D]"))[8:10]), month_words(date, t)
    if day < MIDDLE_FROM:
        return t.gettext("early {month}").format(month=month)
    return (t.gettext("mid-{month}") if day < LATE_FROM else t.gettext("late {month}")).format(month=month)


def span_words(first: np.datetime64, last: np.datetime64, t: Catalogue = ENGLISH) -> str:
    """A span as ``from late June to early August``, or ``in late June``."""
    a, b = date_words(first, t), date_words(last, t)
    return t.gettext("in {when}").format(when=a) if a == b else t.gettext("from {first} to {last}").format(first=a, last=b)


def percent(share: float, t: Catalogue = ENGLISH) -> str:
    """A share as whole per cent."""
    return t.gettext("{number} %").format(number=f"{100.0 * share:.0f}")


def listed(names: Sequence[str], t: Catalogue = ENGLISH) -> str:
    """Names as ``a``, ``a and b`` or ``a, b and c``."""
    names = list(names)
    if len(names) <= 1:
        return "".join(names)
    return t.gettext("{names} and {last}").format(names=", ".join(names[:-1]), last=names[-1])


def counted(number: int, what: str) -> str:
    """``1 bed``, ``2 beds``: an English noun counted, for what only English names."""
    return f"{number} {what}{'' if number == 1 else 's'}"


def weeks_words(weeks: int, t: Catalogue = ENGLISH) -> str:
    """``1 week`` or ``n weeks``."""
    return t.ngettext("{number} week", "{number} weeks", weeks).format(number=weeks)


def two_figures(number: float) -> str:
    """A number above zero to two figures, without an exponent: ``0.35``, ``1.2``, ``300``."""
    rounded = float(f"{number:.2g}")
    return f"{rounded:.0f}" if rounded >= 10.0 else f"{rounded:g}"


def grams(kg: float) -> str:
    """A weight of food in grams to two figures, or in kilograms from one up: ``350 g``, ``1.2 kg``, ``120 kg``."""
    return f"{two_figures(kg)} kg" if kg >= 1.0 else f"{float(f'{1000.0 * kg:.2g}'):.0f} g"


COVERS = {
    "fleece": N_("fleece"), "fleece-light": N_("light fleece"), "fleece-heavy": N_("heavy fleece"), "mesh": N_("insect mesh"),
    "low-tunnel": N_("low tunnel"), "cloche": N_("cloche"), "cold-frame": N_("cold frame"), "polytunnel": N_("polytunnel"),
    "glasshouse": N_("glasshouse"), "shade-cloth": N_("shade cloth"),
}  # fmt: skip


def cover_words(kind: str, t: Catalogue = ENGLISH) -> str:
    """A kind of cover in everyday words."""
    return t.gettext(COVERS.get(kind, kind.replace("-", " ")))


def under_words(kind: str, t: Catalogue = ENGLISH) -> str:
    """The structure in which a bed stands, as it follows what it is and its size; nothing under the open sky."""
    return t.gettext("under {cover}").format(cover=cover_words(kind, t)) if kind else ""


EDGE_WORDS = {"north": N_("north"), "east": N_("east"), "south": N_("south"), "west": N_("west")}


def edge_words(edge: str, t: Catalogue = ENGLISH) -> str:
    """An edge of a bed by its compass name."""
    return t.gettext(EDGE_WORDS.get(edge, edge))


def capital(text: str) -> str:
    """The text with its first letter large."""
    return text[:1].upper() + text[1:]
