"""The sowing card: one sheet with two sides, as PDF/A-3a bytes with the recipe attached.

The card is set by Jinja2 and WeasyPrint from the templates ``card.html.j2`` and ``card.css.j2``.  Text is as large as two
sides allow; it steps down to the smallest size for the paper, and only then are details left out, in a fixed order.
"""

from __future__ import annotations

import base64
import contextlib
import hashlib
import io
import warnings
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from mixcraft.files import UsageError, resource
from mixcraft.season.result import Season
from mixcraft.words.plain import capital

from .libraries import advice, missing
from .provenance import garden_bytes, recipe_bytes
from .sides import CLOSING, Content, content_of, estimate_back, estimate_front, source_words

if TYPE_CHECKING:
    from mixcraft.scoring.model import Score

PAPERS = {"A4": (595.28, 841.89), "Letter": (612.0, 792.0), "A5": (419.53, 595.28)}
"""Width and height [pt]: ISO 216 A4 and A5, ANSI A (Letter, 8.5 x 11 in)."""
SIZES = {
    "A4": tuple(12.5 - 0.25 * i for i in range(17)),
    "Letter": tuple(12.5 - 0.25 * i for i in range(17)),
    "A5": tuple(10.5 - 0.25 * i for i in range(15)),
}
"""Text sizes to try [pt], from the largest: 12.5 to 8.5, on A5, which is held nearer to the eye, 10.5 to 7."""
DETAILS = 3
"""Levels of detail: 0 everything, 1 short cautions and a smaller plan, 2 lines that repeat others are left out."""
FIXED_DAY = datetime(2001, 1, 1, tzinfo=UTC)
"""A card carries no time of printing, so that the same input gives the same bytes; a PDF must carry one for its file."""


@dataclass(frozen=True)
class Setting:
    """Text size [pt] and level of detail of a side."""

    size: float
    detail: int


def settings(paper: str) -> tuple[Setting, ...]:
    """All settings of a side for `paper`, the fullest and largest first; a full side ends below the usual sizes."""
    sizes = SIZES[paper]
    least = sizes[-1]
    plain = [Setting(s, 0) for s in sizes]
    short = [Setting(least, d) for d in range(1, DETAILS)]
    return (*plain, *short, *(Setting(least - step, DETAILS - 1) for step in (0.5, 1.0, 1.5, 2.0, 2.5)))


def paper_of(name: str) -> str:
    """The paper called `name`, case ignored; raises `UsageError` for another."""
    for paper in PAPERS:
        if paper.casefold() == name.casefold():
            return paper
    raise UsageError(f"no paper is called {name!r}; choose {', '.join(PAPERS)}")


def press_card(
    season: Season, score: Score | None = None, *, paper: str = "A4", units: str = "metric", attach: bool = True
) -> bytes:
    """The sowing card of `season` as the bytes of a PDF/A-3a file with exactly two pages.

    ``score`` adds its part scores, gaps and wanted weeks; ``paper`` is A4, Letter or A5; ``units`` metric or us;
    ``attach`` embeds the recipe file.  Same input, same bytes.  Raises `UsageError` for another paper or unit, and when
    the plantings do not fit on one sheet of this paper.
    """
    sheet = paper_of(paper)
    if units not in ("metric", "us"):
        raise UsageError(f"no units are called {units!r}; choose metric or us")
    content = content_of(season, score, "us" if units == "us" else "metric", PAPERS[sheet], attach)
    document, html = _fitted(content, sheet)
    return _pdf(document, html, files_of(content) if attach else [])


def _fitted(content: Content, paper: str) -> tuple[Any, str]:
    """The rendered document that has two pages, at the best settings, and its HTML."""
    steps = settings(paper)
    height = PAPERS[paper][1]
    front = _guess(steps, lambda s: estimate_front(content, s.size, s.detail), height)
    back = _guess(steps, lambda s: estimate_back(content, s.size, s.detail), height)
    while front < len(steps) and back < len(steps):
        html = card_html(content, paper, steps[front], steps[back])
        document = _render(html)
        first, total = _pages(document)
        if first == 1 and total == 2:
            return document, html
        front += first > 1
        back += total - first > 1
    count = len(content.season.plan.plantings)
    larger = {"A5": "A4", "A4": "fewer plantings", "Letter": "fewer plantings"}[paper]
    raise UsageError(f"{count} plantings do not fit on one sheet of {paper}; take {larger}")


def _guess(steps: Sequence[Setting], height: Callable[[Setting], float], room: float) -> int:
    """First setting whose estimated height fits the page, `len(steps)` if none does; heights fall along the settings."""
    low, high = 0, len(steps)
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if height(steps[middle]) <= room else (middle + 1, high)
    return low


def _pages(document: Any) -> tuple[int, int]:
    """Pages before the second side, and all pages."""
    for i, page in enumerate(document.pages):
        if "back" in page.anchors:
            return max(i, 1), len(document.pages)
    return len(document.pages), len(document.pages)


@lru_cache(maxsize=1)
def _environment() -> Any:
    import jinja2

    folder = resource("templates", "card.html.j2").parent
    return jinja2.Environment(
        loader=jinja2.FileSystemLoader(folder), autoescape=jinja2.select_autoescape(("html.j2",)), trim_blocks=True,
        lstrip_blocks=True, undefined=jinja2.StrictUndefined,
    )  # fmt: skip


def card_html(content: Content, paper: str, front: Setting, back: Setting) -> str:
    """The card as HTML with its style sheet."""
    width, height = PAPERS[paper]
    environment = _environment()
    sides = content.front(front.size, front.detail), content.back(back.size, back.detail)
    style = environment.get_template("card.css.j2").render(
        width=width, height=height, front=sides[0], back=sides[1], fonts=resource("templates", "fonts").as_uri()
    )
    text = environment.get_template("card.html.j2").render(
        style=style, content=content, capital=capital, closing=CLOSING, source=source_words(content),
        front=sides[0], back=sides[1],
    )  # fmt: skip
    return str(text)


def _weasyprint() -> Any:
    """WeasyPrint; raises `UsageError` that names the system library that lacks, in place of its own page of text."""
    try:
        with contextlib.redirect_stdout(io.StringIO()):
            import weasyprint
    except OSError as error:
        lacking = missing()
        raise UsageError(advice(lacking) if lacking else f"the card cannot be drawn: {error}") from error
    return weasyprint


def _render(html: str) -> Any:
    weasyprint = _weasyprint()
    from weasyprint.text.fonts import FontConfiguration

    return weasyprint.HTML(string=html, url_fetcher=_bundled_only()).render(
        font_config=FontConfiguration(), pdf_tags=True, pdf_variant="pdf/a-3a", full_fonts=True
    )


def _bundled_only() -> Any:
    """A fetcher that opens the bundled fonts and data inside the page, and nothing else on disk or network."""
    from weasyprint.urls import FatalURLFetchingError, URLFetcher

    fonts = resource("templates", "fonts").as_uri() + "/"

    class Bundled(URLFetcher):  # type: ignore[misc]
        def fetch(self, url: str, headers: Any = None) -> Any:
            inside = url.startswith(fonts) and ".." not in url and "%" not in url[len(fonts) :]
            if not inside and not url.startswith("data:"):
                raise FatalURLFetchingError(f"the card asks for {url[:100]}, which is not one of its own files")
            return super().fetch(url, headers)

    return Bundled(allowed_protocols=("file", "data"), allow_redirects=False)


File = tuple[str, bytes, str]
"""Name, content and description of an attached file."""


def files_of(content: Content) -> list[File]:
    """Recipe and garden of a card, to be attached; a garden made in memory is not."""
    recipe, garden = recipe_bytes(content.plan), garden_bytes(content.plan)
    name = content.plan.garden.file.replace("\\", "/").rsplit("/", 1)[-1] or "garden.garden.yaml"
    found = [
        (content.file_name, recipe, "The recipe that this card was made from"),
        (name if name != content.file_name else f"garden-{name}", garden, "The garden that this card was made for"),
    ]
    return [file for file in found if file[1]]


def _attachment(weasyprint: Any, name: str, data: bytes, said: str) -> Any:
    return weasyprint.Attachment(
        url=f"data:application/yaml;base64,{base64.b64encode(data).decode('ascii')}", name=name, created=FIXED_DAY,
        modified=FIXED_DAY, description=said, relationship="Source",
    )  # fmt: skip


def _pdf(document: Any, html: str, files: Sequence[File]) -> bytes:
    weasyprint = _weasyprint()
    document.metadata.attachments = [_attachment(weasyprint, name, data, said) for name, data, said in files]
    sources = b"".join(data for _, data, _ in files)
    identifier = hashlib.sha256(html.encode("utf-8") + sources).hexdigest()[:32].encode("ascii")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ResourceWarning)  # WeasyPrint leaves closing its colour profile to the collector
        pdf: bytes = document.write_pdf(pdf_variant="pdf/a-3a", pdf_identifier=identifier, full_fonts=True)
    return pdf


__all__ = ["DETAILS", "PAPERS", "SIZES", "Setting", "card_html", "press_card", "settings"]
