"""What a card is asked for besides its season: paper, units, language, year, client, logo, how much of score and cautions."""

from __future__ import annotations

import base64
from dataclasses import dataclass, field
from pathlib import Path

from mixcraft.files import UsageError
from mixcraft.words.amounts import Units
from mixcraft.words.catalogue import COMMA, Catalogue, catalogue, language_of
from mixcraft.words.dates import whole_day

PAPERS = {"A4": (595.28, 841.89), "Letter": (612.0, 792.0), "A5": (419.53, 595.28)}
"""Width and height [pt]: ISO 216 A4 and A5, ANSI A (Letter, 8.5 x 11 in)."""
LEAST = {"A4": 8.0, "Letter": 8.0, "A5": 7.0}
"""Smallest type [pt]; A5 is held nearer to the eye."""
CAUTIONS = ("full", "short")
MAX_LOGO_BYTES = 2_000_000
MAX_LOGO_DOTS = 20_000_000
LOGO_KINDS = {b"\x89PNG\r\n\x1a\n": "image/png", b"\xff\xd8\xff": "image/jpeg"}
"""Pictures by their first bytes (PNG: W3C, section 5.2; JPEG: ISO 10918-1)."""


@dataclass(frozen=True)
class Options:
    """How a card is printed.  `day` is printed as it is given, `logo` a picture file's bytes, `year` that of the first sowing
    (None: dates without a year), `attach` whether recipe and garden go into the PDF, `code` whether a QR code may stand on it."""

    paper: str = "A4"
    units: Units = "metric"
    language: str = "en"
    year: int | None = None
    client: str = ""
    day: str = ""
    logo: bytes = field(default=b"", repr=False)
    show_score: bool = True
    cautions: str = "full"
    attach: bool = True
    code: bool = True

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the paper [pt]."""
        return PAPERS[self.paper]

    @property
    def least(self) -> float:
        """Smallest type on this paper [pt]."""
        return LEAST[self.paper]

    @property
    def t(self) -> Catalogue:
        """The catalogue of the card's language; dates of the United States with its units."""
        return catalogue("en_US" if self.language == "en" and self.units == "us" else self.language)

    @property
    def comma(self) -> bool:
        """Whether decimals are written with a comma."""
        return language_of(self.t) in COMMA


def checked(options: Options) -> Options:
    """The options with the paper called by its own name; raises `UsageError` for what is not known."""
    paper = next((p for p in PAPERS if p.casefold() == options.paper.casefold()), None)
    if paper is None:
        raise UsageError(f"no paper is called {options.paper!r}; choose {', '.join(PAPERS)}")
    if options.units not in ("metric", "us"):
        raise UsageError(f"no units are called {options.units!r}; choose metric or us")
    if options.cautions not in CAUTIONS:
        raise UsageError(f"cautions are {' or '.join(CAUTIONS)}, not {options.cautions!r}")
    try:
        _ = options.t
    except LookupError as error:
        raise UsageError(str(error.args[0])) from None
    if options.logo:
        logo_kind(options.logo)
    from dataclasses import replace

    return replace(options, paper=paper)


def logo_kind(data: bytes) -> str:
    """The media type of a logo; raises `UsageError` for what is no PNG or JPEG, or too large."""
    kind = next((kind for begins, kind in LOGO_KINDS.items() if data.startswith(begins)), None)
    if kind is None or len(data) > MAX_LOGO_BYTES:
        raise UsageError(f"a logo is a PNG or JPEG of at most {MAX_LOGO_BYTES / 1e6:.0f} MB")
    import io

    from PIL import Image

    try:
        with Image.open(io.BytesIO(data)) as picture:
            dots = picture.width * picture.height
            if dots <= MAX_LOGO_DOTS:
                picture.load()
    except (OSError, ValueError, SyntaxError) as error:
        raise UsageError("the logo cannot be read; save it anew as PNG") from error
    if dots > MAX_LOGO_DOTS:
        raise UsageError(f"the logo has {dots / 1e6:.0f} million dots; {MAX_LOGO_DOTS / 1e6:.0f} are enough")
    return kind


def logo_uri(data: bytes) -> str:
    """The logo inside the page."""
    return f"data:{logo_kind(data)};base64,{base64.b64encode(data).decode('ascii')}"


def read_logo(path: str | Path) -> bytes:
    """The bytes of a logo file, looked at before it is used."""
    try:
        with Path(path).open("rb") as file:
            data = file.read(MAX_LOGO_BYTES + 1)
    except (OSError, ValueError) as error:
        raise UsageError(f"{path}: the logo cannot be read: {getattr(error, 'strerror', None) or error}") from error
    logo_kind(data)
    return data


def day_printed(text: str, t: Catalogue) -> str:
    """A day given as YYYY-MM-DD in the words of the language; anything else as it is."""
    from datetime import date

    try:
        return whole_day(date.fromisoformat(text), t)
    except ValueError:
        return text
