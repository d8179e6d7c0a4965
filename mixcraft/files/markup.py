"""Texts inside XML and HTML: escaped, and without the characters that no XML can hold."""

from __future__ import annotations

import html
import re
from functools import lru_cache

NO_XML = "[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]"
"""What XML 1.0 (production 2, Char) leaves out: most control characters, surrogates, U+FFFE and U+FFFF."""
REPLACEMENT = "\ufffd"


def without_controls(text: str) -> str:
    """`text` with a replacement character for each that XML cannot hold, not even escaped."""
    return _no_xml().sub(REPLACEMENT, text)


@lru_cache(maxsize=1)
def _no_xml() -> re.Pattern[str]:
    """Compiled when it is first needed, since that takes milliseconds."""
    return re.compile(NO_XML)


def escape(text: str) -> str:
    """`text` as it stands in XML or HTML, in element or attribute."""
    return html.escape(without_controls(text))
