"""The sowing card: one sheet with two sides, as PDF/A-3a bytes with recipe and garden attached.

The card is set by Jinja2 and WeasyPrint from the templates ``card.html.j2`` and ``card.css.j2``.  Text is as large as two
sides allow; it steps down to the smallest size for the paper, then cautions are shortened, and what still does not fit goes on
further sides in a size that reads well.
"""

from __future__ import annotations

import base64
import contextlib
import hashlib
import io
import re
import warnings
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from mixcraft.files import UsageError, resource
from mixcraft.season.result import Season
from mixcraft.words.card import closing_words
from mixcraft.words.plain import capital

from .heights import estimate_back, estimate_front
from .libraries import advice, by_file_alone, missing
from .options import PAPERS, Options, checked
from .provenance import garden_bytes, recipe_bytes
from .sides import Content, content_of
from .svg import picture
from .unpacking import SUFFIXES

if TYPE_CHECKING:
    from mixcraft.scoring.model import Score

SIZES = {
    "A4": tuple(12.5 - 0.25 * i for i in range(17)),
    "Letter": tuple(12.5 - 0.25 * i for i in range(17)),
    "A5": tuple(10.5 - 0.25 * i for i in range(15)),
}
"""Text sizes to try [pt], from the largest: 12.5 to 8.5, on A5, which is held nearer to the eye, 10.5 to 7."""
SPREAD = {"A4": 10.0, "Letter": 10.0, "A5": 8.0}
"""Text size [pt] of a side that goes on further sides, since it does not fit one in any size."""
FRONT_DETAILS, DETAILS = 2, 3
"""Levels of detail: 0 everything, 1 short cautions and lines of the legend, 2 cautions run together."""
CODE_FROM = 9.5
"""A code is left out where the words beside it would have to be smaller than this [pt]; on A5, by two points less."""
FIXED_DAY = datetime(2001, 1, 1, tzinfo=UTC)
"""A card carries no time of printing, so that the same input gives the same bytes; a PDF must carry one for its file."""


@dataclass(frozen=True)
class Setting:
    """Text size [pt] and level of detail of a side; `spread` over further sides where one does not hold it."""

    size: float
    detail: int
    spread: bool = False


def settings(paper: str, details: int = DETAILS) -> tuple[Setting, ...]:
    """All settings of a side for `paper`, the fullest and largest first, and last the one that goes on further sides."""
    sizes = SIZES[paper]
    plain = [Setting(s, 0) for s in sizes]
    short = [Setting(s, d) for d in range(1, details) for s in (sizes[-1] + 0.5, sizes[-1])]
    return (*plain, *short, Setting(SPREAD[paper], 0, True))


def paper_of(name: str) -> str:
    """The paper called `name`, case ignored; raises `UsageError` for another."""
    return checked(Options(paper=name)).paper


def press_card(season: Season, score: Score | None = None, options: Options | None = None, **said: Any) -> bytes:
    """The sowing card of `season` as the bytes of a PDF/A-3a file: two sides, and further ones for what they do not hold.

    ``score`` adds its part scores, gaps and wanted weeks; the fields of `Options` may be given by name.  Same input, same bytes.
    Raises `UsageError` for an option that is not known.
    """
    chosen = checked(replace(options or Options(), **said))
    content = content_of(season, score, chosen)
    document, html = fitted(content)
    return pdf_of(document, html, files_of(content) if chosen.attach else [])


def fitted(content: Content) -> tuple[Any, str]:
    """The rendered document at the best settings, and its HTML."""
    paper, height = content.options.paper, content.height
    fronts, backs = settings(paper, FRONT_DETAILS), settings(paper)
    front = _guess(fronts, lambda s: estimate_front(content, s.size, s.detail), height)
    code, back = _with_code(content, backs)
    while True:
        html = card_html(content, fronts[front], backs[back], code)
        document = render(html)
        first, total = _pages(document)
        long = first > 1 and not fronts[front].spread, total - first > 1 and not backs[back].spread
        if not any(long):
            return document, html
        front, back = front + long[0], back + long[1]


def _with_code(content: Content, backs: Sequence[Setting]) -> tuple[bool, int]:
    """Whether the second side has room for the code, and its first setting to try."""
    least = CODE_FROM - (2.0 if content.options.paper == "A5" else 0.0)
    if content.code[1] > 0.0:
        back = _guess(backs, lambda s: estimate_back(content, s.size, s.detail), content.height)
        if backs[back].size >= least and (backs[back].detail == 0):
            return True, back
    return False, _guess(backs, lambda s: estimate_back(content, s.size, s.detail, False), content.height)


def _guess(steps: Sequence[Setting], height: Callable[[Setting], float], room: float) -> int:
    """First setting whose estimated height fits the page, the last if none does."""
    return next((i for i, step in enumerate(steps) if height(step) <= room), len(steps) - 1)


def _pages(document: Any) -> tuple[int, int]:
    """Pages before the second side, and all pages."""
    for i, page in enumerate(document.pages):
        if "back" in page.anchors:
            return max(i, 1), len(document.pages)
    return len(document.pages), len(document.pages)


@lru_cache(maxsize=1)
def environment() -> Any:
    """The environment of the templates, which escapes whatever is put into them."""
    import jinja2

    folder = resource("templates", "card.html.j2").parent
    made = jinja2.Environment(
        loader=jinja2.FileSystemLoader(folder), autoescape=jinja2.select_autoescape(("html.j2",)), trim_blocks=True,
        lstrip_blocks=True, undefined=jinja2.StrictUndefined,
    )  # fmt: skip
    made.filters["picture"] = picture
    return made


def card_html(content: Content, front: Setting, back: Setting, code: bool = True) -> str:
    """The card as HTML with its style sheet."""
    style = style_sheet(content.options, front.spread or back.spread)
    sides = sides_html(content, front, back, code)
    language = content.options.language
    return str(environment().get_template("card.html.j2").render(style=style, content=content, sides=sides, language=language))


def sides_html(content: Content, front: Setting, back: Setting, code: bool = True, mark: str = "") -> str:
    """Both sides of a card as HTML without a page around them; `mark` ends the names of their anchors."""
    macro = environment().get_template("sides.html.j2").module.sides
    return str(macro(
        content, content.front(front.size, front.detail), content.back(back.size, back.detail, code), content.labels,
        closing_words(content.t), content.source_line, capital, mark,
    ))  # fmt: skip


def style_sheet(options: Options, numbered: bool = False) -> str:
    """The style sheet of cards and books on a paper; sides are `numbered` where there are more than two."""
    width, height = options.size
    return str(environment().get_template("card.css.j2").render(
        width=width, height=height, least=options.least, numbered=numbered, fonts=resource("templates", "fonts").as_uri(),
    ))  # fmt: skip


def _weasyprint() -> Any:
    """WeasyPrint; raises `UsageError` that names the system library that lacks, in place of its own page of text."""
    with contextlib.suppress(OSError), contextlib.redirect_stdout(io.StringIO()), by_file_alone():
        import weasyprint

        return weasyprint
    try:
        with contextlib.redirect_stdout(io.StringIO()):
            import weasyprint
    except OSError as error:
        lacking = missing()
        raise UsageError(advice(lacking) if lacking else f"the card cannot be drawn: {error}") from error
    return weasyprint


def render(html: str) -> Any:
    """Pages of HTML as WeasyPrint lays them out."""
    weasyprint = _weasyprint()
    from weasyprint.text.fonts import FontConfiguration

    return weasyprint.HTML(string=html, url_fetcher=_bundled_only()).render(
        font_config=FontConfiguration(), pdf_tags=True, pdf_variant="pdf/a-3a", full_fonts=_whole(html)
    )


SHAPED = re.compile("[\u0590-\u08ff\u2e80-\uffef]")
"""Letters of Hebrew, Arabic and their kin, and of Chinese and Japanese (Unicode blocks)."""


def _whole(html: str) -> bool:
    """Whether fonts are embedded whole, so that all cards share them; not where letters are joined, whose glyphs only a font cut
    down to what is written can name, and not for the large fonts of Japanese."""
    return SHAPED.search(html) is None


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
    name = _as_yaml(content.file_name, "recipe")
    of_garden = _as_yaml(content.plan.garden.file.replace("\\", "/").rsplit("/", 1)[-1] or "garden", "garden")
    found = [
        (name, recipe, "The recipe that this card was made from"),
        (of_garden if of_garden != name else f"garden-{of_garden}", garden, "The garden that this card was made for"),
    ]
    return [file for file in found if file[1]]


def _as_yaml(name: str, kind: str) -> str:
    """The name with an ending by which `unpack` knows the file again, whatever it was called on disk."""
    return name if name.casefold().endswith(SUFFIXES) else f"{name}.{kind}.yaml"


def _attachment(weasyprint: Any, name: str, data: bytes, said: str) -> Any:
    return weasyprint.Attachment(
        url=f"data:application/yaml;base64,{base64.b64encode(data).decode('ascii')}", name=name, created=FIXED_DAY,
        modified=FIXED_DAY, description=said, relationship="Source",
    )  # fmt: skip


def pdf_of(document: Any, html: str, files: Sequence[File]) -> bytes:
    """The PDF/A-3a bytes of laid-out pages, with files attached."""
    weasyprint = _weasyprint()
    document.metadata.attachments = [_attachment(weasyprint, name, data, said) for name, data, said in files]
    sources = b"".join(data for _, data, _ in files)
    identifier = hashlib.sha256(html.encode("utf-8") + sources).hexdigest()[:32].encode("ascii")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ResourceWarning)  # WeasyPrint leaves closing its colour profile to the collector
        pdf: bytes = document.write_pdf(pdf_variant="pdf/a-3a", pdf_identifier=identifier, full_fonts=_whole(html))
    return pdf


__all__ = ["DETAILS", "PAPERS", "SIZES", "Options", "Setting", "card_html", "fitted", "press_card", "settings"]
