"""The catalogue of sentences: one for each language.

English stands in the code of `mixcraft.words`, as literal texts in calls of `t.gettext` and `t.ngettext`.  Every other language
is a gettext catalogue, ``locale/<language>.po`` in this folder, whose template Babel makes with
``pybabel extract mixcraft/words``; no code changes for it.  ``en_US`` is English with the dates of the United States.
"""

from __future__ import annotations

import gettext
import io
from functools import lru_cache
from pathlib import Path

LOCALE = Path(__file__).with_name("locale")
Catalogue = gettext.NullTranslations
ENGLISH: Catalogue = gettext.NullTranslations()
"""The texts as they stand in the code."""
COMMA = ("de", "fr", "nl", "es")
"""Languages that write decimals with a comma (CLDR)."""


class American(gettext.NullTranslations):
    """English with the dates of the United States."""

    def info(self) -> dict[str, str]:
        """What the catalogue says of itself."""
        return {"language": "en_US"}


def language_of(t: Catalogue) -> str:
    """The language of a catalogue, such as ``de``."""
    return t.info().get("language", "en")


def languages() -> tuple[str, ...]:
    """Languages that there are catalogues of."""
    return ("en", *sorted(path.stem for path in LOCALE.glob("*.po")))


@lru_cache(maxsize=8)
def catalogue(language: str = "en") -> Catalogue:
    """The sentences of a language, such as ``en``; LookupError for a language without a catalogue."""
    if language == "en":
        return ENGLISH
    if language == "en_US":
        return American()
    path = LOCALE / f"{language}.po"
    if not language.isalpha() or not path.exists():
        raise LookupError(f"there is no catalogue of the language {language!r}; there is {', '.join(languages())}")
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po

    with path.open("rb") as file:
        messages = read_po(file, locale=language)
    packed = io.BytesIO()
    write_mo(packed, messages)
    packed.seek(0)
    return gettext.GNUTranslations(packed)
