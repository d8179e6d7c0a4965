"""The catalogue of sentences: one for each language.

English stands in the code of `mixcraft.words`, as literal texts in calls of `t.gettext` and `t.ngettext`.  Every other language
is a gettext catalogue, ``locale/<language>/LC_MESSAGES/mixcraft.mo`` in this folder, whose template Babel makes with
``pybabel extract mixcraft/words``; no code changes for it.
"""

from __future__ import annotations

import gettext
from functools import lru_cache
from pathlib import Path

LOCALE = Path(__file__).with_name("locale")
Catalogue = gettext.NullTranslations
ENGLISH: Catalogue = gettext.NullTranslations()
"""The texts as they stand in the code."""


@lru_cache(maxsize=8)
def catalogue(language: str = "en") -> Catalogue:
    """The sentences of a language, such as ``en``; LookupError for a language without a catalogue."""
    if language == "en":
        return ENGLISH
    try:
        return gettext.translation("mixcraft", LOCALE, [language])
    except OSError:
        raise LookupError(f"there is no catalogue of the language {language!r}; there is en") from None
