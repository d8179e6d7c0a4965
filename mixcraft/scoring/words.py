"""Plain sentences: weeks, shares and lists as people say them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from mixcraft.recipe.calendar import MONTHS


def date_words(date: np.datetime64) -> str:
    """A date as part of a month: ``early June``, ``mid-June``, ``late June``."""
    text = str(date.astype("datetime64[D]"))
    day, month = int(text[8:10]), MONTHS[int(text[5:7]) - 1]
    return f"early {month}" if day <= 10 else f"mid-{month}" if day <= 20 else f"late {month}"


def span_words(first: np.datetime64, last: np.datetime64) -> str:
    """A span as ``from late June to early August``, or ``in late June``."""
    a, b = date_words(first), date_words(last)
    return f"in {a}" if a == b else f"from {a} to {b}"


def percent(share: float) -> str:
    """A share as whole per cent."""
    return f"{100.0 * share:.0f} %"


def listed(names: Sequence[str]) -> str:
    """Names as ``a``, ``a and b`` or ``a, b and c``."""
    names = list(names)
    if len(names) <= 1:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def counted(number: int, what: str) -> str:
    """``1 bed``, ``2 beds``."""
    return f"{number} {what}{'' if number == 1 else 's'}"


def weeks_words(weeks: int) -> str:
    """``1 week`` or ``n weeks``."""
    return counted(weeks, "week")


def grams(kg: float) -> str:
    """A weight of food in grams to two figures, or in kilograms from one up: ``350 g``, ``1.2 kg``, ``120 kg``."""
    if kg >= 10.0:
        return f"{float(f'{kg:.2g}'):.0f} kg"
    return f"{kg:.2g} kg" if kg >= 1.0 else f"{float(f'{1000.0 * kg:.2g}'):.0f} g"


COVER_WORDS = {"fleece-light": "light fleece", "fleece-heavy": "heavy fleece", "mesh": "insect mesh"}


def cover_words(kind: str) -> str:
    """A kind of cover in everyday words."""
    return COVER_WORDS.get(kind, kind.replace("-", " "))


def capital(text: str) -> str:
    """The text with its first letter large."""
    return text[:1].upper() + text[1:]
