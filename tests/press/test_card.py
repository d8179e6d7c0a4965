"""The card as a file: two sides, archive marks, the recipe inside, the same bytes, the words."""

from __future__ import annotations

import hashlib
import io
import itertools
import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pypdf
import pytest

import mixcraft
from mixcraft.files import UsageError
from mixcraft.press import press_card
from mixcraft.press.card import PAPERS, SIZES, Options, card_html, settings
from mixcraft.press.heights import estimate_back, estimate_front
from mixcraft.press.sides import content_of
from mixcraft.recipe.edits import recipe_text
from mixcraft.recipe.model import Density
from mixcraft.recipe.moves import SetAmount
from mixcraft.recipe.plan import Plan
from mixcraft.recipe.reading import load_recipe
from mixcraft.scoring.model import Score
from mixcraft.season.result import Season

DATA = Path(__file__).parent / "data"
GOLDEN = DATA / "fixed.card.txt"
ONE_POINT = 1.0


@pytest.mark.parametrize(
    ("count", "paper"),
    [
        (1, "A5"), *(pytest.param(*case, marks=pytest.mark.slow) for case in ((6, "A4"), (6, "Letter"), (12, "A5"))),
        *(pytest.param(*case, marks=pytest.mark.bench)
          for case in ((1, "A4"), (12, "A4"), (20, "A4"), (20, "A5"), (20, "Letter"))),
    ],
)  # fmt: skip
def test_two_sides_where_they_hold_it(
    count: int, paper: str, mixture: Callable[[int], Season], by_hand: Callable[[Season], Score]
) -> None:
    """Six plantings fit two sides of A4 and Letter; more, and A5, may take further sides.  `test_sizes` sets sixteen and thirty;
    twenty are a bench."""
    season = mixture(count)
    reader = pypdf.PdfReader(io.BytesIO(press_card(season, by_hand(season), paper=paper, attach=False)))
    most = 2 if (count <= 6 and paper != "A5") or count == 1 else 6 if paper != "A5" else 9
    assert 2 <= len(reader.pages) <= most
    for page in reader.pages:
        size = float(page.mediabox.width), float(page.mediabox.height)
        assert size == pytest.approx(PAPERS[paper], abs=ONE_POINT)
    text = " ".join(page.extract_text() for page in reader.pages).casefold()
    assert all(p.name.casefold().split()[0] in text for p in season.plan.plantings)


def test_details_go_only_after_the_text_is_small() -> None:
    """The settings are tried in order: text gets smaller to the least size, then details go, then further sides are taken."""
    for paper, sizes in SIZES.items():
        *tried, last = settings(paper)
        assert [s.size for s in tried[: len(sizes)]] == list(sizes)
        assert all(s.detail == 0 for s in tried[: len(sizes)])
        assert all(a.detail <= b.detail for a, b in itertools.pairwise(tried))
        assert last.spread
        assert last.detail == 0
        assert last.size > sizes[-1]


def test_estimate_is_the_height_that_is_set(fixed: SimpleNamespace) -> None:
    """A side set on an endless page ends where the estimate says: to six points, or a line less, since the estimate
    knows no kerning.
    """
    from mixcraft.press.card import Setting, render

    content = content_of(fixed.season, fixed.score, Options())
    for size in (8.5, 10.0, 11.0, 12.0):
        setting = Setting(size, 0)
        html = card_html(content, setting, setting).replace("841.89pt", "3000pt")
        html = re.sub(r'<div class="notes">.*?</div>', "", html, flags=re.DOTALL)
        front, back = (_bottom(page._page_box) * 0.75 + 28.0 for page in render(html).pages)
        assert -3.0 - 1.3 * size <= back - estimate_back(content, size, 0) <= 6.0
        assert -3.0 - 1.3 * size <= front - estimate_front(content, size, 0) <= 6.0


def _bottom(box: object) -> float:
    children = [_bottom(child) for child in getattr(box, "children", ())]
    own = 0.0
    if getattr(box, "element_tag", None) not in ("html", "body", None) and not isinstance(box.height, str):  # type: ignore[attr-defined]
        own = box.position_y + (box.height or 0.0)  # type: ignore[attr-defined]
    return max([own, *children])


def test_archive_marks(fixed: SimpleNamespace) -> None:
    """ISO 19005-3 level A: part and conformance in the XMP, tags, language, output intent, every font embedded."""
    reader = pypdf.PdfReader(io.BytesIO(fixed.card))
    root = reader.trailer["/Root"]
    xmp = root["/Metadata"].get_data().decode()
    assert 'pdfaid:part="3"' in xmp
    assert 'pdfaid:conformance="A"' in xmp
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert root["/OutputIntents"][0].get_object()["/S"] == "/GTS_PDFA1"
    assert "/StructTreeRoot" in root
    assert "/ID" in reader.trailer
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():
            descriptor = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
            assert "/FontFile2" in descriptor
            assert "Card-Sans" in descriptor["/FontName"]


def test_pictures_have_words(fixed: SimpleNamespace) -> None:
    """Every figure of the tag tree carries an alternative text."""
    reader = pypdf.PdfReader(io.BytesIO(fixed.card))
    found: list[str] = []

    def walk(node: object) -> None:
        node = node.get_object() if hasattr(node, "get_object") else node
        if isinstance(node, list):
            for kid in node:
                walk(kid)
        elif isinstance(node, dict):
            if node.get("/S") == "/Figure":
                found.append(str(node.get("/Alt", "")))
            walk(node.get("/K", []))

    walk(reader.trailer["/Root"]["/StructTreeRoot"])
    assert any("Plan of the bed" in alt for alt in found)
    assert any("Calendar" in alt for alt in found)
    assert all(found)


def test_recipe_is_attached_as_it_is(fixed: SimpleNamespace) -> None:
    reader = pypdf.PdfReader(io.BytesIO(fixed.card))
    assert sorted(reader.attachments) == ["fixed.garden.yaml", "fixed.recipe.yaml"]
    assert reader.attachments["fixed.recipe.yaml"] == [fixed.path.read_bytes()]
    filespec = reader.trailer["/Root"]["/AF"][0].get_object()
    assert filespec["/AFRelationship"] == "/Source"
    assert filespec["/EF"]["/F"].get_object()["/Subtype"] == "/application/yaml"


@pytest.mark.parametrize("read", [True, False], ids=["changed", "made"])
def test_a_recipe_of_memory_is_attached_as_the_file_that_it_would_be(fixed: SimpleNamespace, tmp_path: Path, read: bool) -> None:
    """A recipe changed since it was read, with its comments, and one that was never in a file: both read as what was grown."""
    before = fixed.season.plan.recipe
    changed = SetAmount(before.plantings[0].name, Density(12.0)).changed(before)
    recipe = changed if read else replace(changed, document=None)
    season = replace(fixed.season, plan=replace(fixed.season.plan, recipe=recipe))
    reader = pypdf.PdfReader(io.BytesIO(press_card(season, fixed.score)))
    name = "fixed.recipe.yaml" if read else "recipe.recipe.yaml"
    (data,) = reader.attachments[name]
    path = tmp_path / name
    path.write_bytes(data)
    assert load_recipe(path) == recipe
    assert data.decode() == recipe_text(recipe)
    assert season.plan.recipe != before


@pytest.mark.slow
def test_without_attachment(fixed: SimpleNamespace, text_of: Callable[[bytes], list[str]]) -> None:
    card = press_card(fixed.season, fixed.score, attach=False)
    assert not pypdf.PdfReader(io.BytesIO(card)).attachments
    assert "attached" not in text_of(card)[1]


def test_same_bytes_later(fixed: SimpleNamespace) -> None:
    time.sleep(1.1)  # times in a PDF and in its fonts have seconds
    assert press_card(fixed.season, fixed.score) == fixed.card


@pytest.mark.slow
def test_same_bytes_in_another_process(fixed: SimpleNamespace) -> None:
    """Another process with another order of sets and another time zone."""
    script = (
        "import hashlib, sys; from pathlib import Path; sys.path.insert(0, sys.argv[2])\n"
        "from mixcraft.recipe.plan import plan\nfrom mixcraft.recipe.reading import load_garden, load_recipe\n"
        "from mixcraft.press import press_card\nimport conftest as c\n"
        "d = Path(sys.argv[1])\n"
        "s = c.quiet_season(plan(load_recipe(d / 'fixed.recipe.yaml'), load_garden(d / 'fixed.garden.yaml'), 'test bed'))\n"
        "print(hashlib.sha256(press_card(s, c.hand_score(s))).hexdigest())\n"
    )
    here = Path(__file__).parent
    environment = os.environ | {"PYTHONHASHSEED": "7", "TZ": "Pacific/Auckland", "PYTHONPATH": str(here.parents[1])}
    run = subprocess.run(
        [sys.executable, "-c", script, str(DATA), str(here)], env=environment, capture_output=True, text=True, check=True
    )
    assert run.stdout.strip() == hashlib.sha256(fixed.card).hexdigest()


@pytest.mark.slow
def test_nothing_is_warned_of(fixed: SimpleNamespace, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level("WARNING"):
        press_card(fixed.season, fixed.score, paper="A5", units="us")
    assert not caplog.records


def test_words_of_the_fixed_card(
    fixed: SimpleNamespace, text_of: Callable[[bytes], list[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The golden of all words on both sides; a line for each side.  Write the file anew after a wanted change."""
    monkeypatch.setattr(mixcraft, "__version__", "0.0.0")
    text = "\n".join(text_of(press_card(fixed.season, fixed.score))) + "\n"
    if os.environ.get("MIXCRAFT_WRITE_GOLDEN"):
        GOLDEN.write_text(text, "utf-8")
    assert text == GOLDEN.read_text("utf-8")


def test_provenance_is_printed(fixed: SimpleNamespace, text_of: Callable[[bytes], list[str]]) -> None:
    back = text_of(fixed.card)[1]
    assert f"Recipe {hashlib.sha256(fixed.path.read_bytes()).hexdigest()[:12]} by mixcraft tests, CC0-1.0" in back
    assert f"mixcraft {mixcraft.__version__}" in back


def test_card_without_a_score(fixed: SimpleNamespace, text_of: Callable[[bytes], list[str]]) -> None:
    """The season alone gives the windows and the amounts; scores and gaps are left away."""
    front, back = text_of(press_card(fixed.season))
    assert front == text_of(fixed.card)[0]
    assert "Score" not in back
    assert "Nothing to pick" not in back
    assert "lift the whole crop at once" in back


@pytest.mark.slow
def test_other_papers_and_units_are_refused(fixed: SimpleNamespace) -> None:
    with pytest.raises(UsageError, match="choose A4, Letter, A5"):
        press_card(fixed.season, fixed.score, paper="A3")
    with pytest.raises(UsageError, match="choose metric or us"):
        press_card(fixed.season, fixed.score, units="imperial")
    assert press_card(fixed.season, fixed.score, paper="letter") == press_card(fixed.season, fixed.score, paper="Letter")


@pytest.mark.slow
def test_us_units_print_inches_and_pounds(fixed: SimpleNamespace, text_of: Callable[[bytes], list[str]]) -> None:
    front, back = text_of(press_card(fixed.season, fixed.score, units="us"))
    assert "8 ft 2 in × 3 ft 3 in" in front
    assert " cm" not in front.replace("1.1 g per m²", "")
    assert " lb" in back
    assert " kg" not in back


@pytest.mark.slow
def test_names_are_printed_as_they_are(fixed: SimpleNamespace, text_of: Callable[[bytes], list[str]]) -> None:
    """Signs that mean something in HTML, and other scripts, in every name that people give."""
    bed = replace(fixed.plan.bed, name="bed <1> & 'more'")
    garden = replace(fixed.plan.garden, name="Сад Łódź")
    first = fixed.plan.plantings[0]
    bean = replace(first, planting=replace(first.planting, name="beans <i>&amp;", cultivar='"Ὀρφεύς"', note="1 < 2"))
    recipe = replace(fixed.plan.recipe, name="Peas & <b>beans</b>")
    plan = replace(fixed.plan, bed=bed, garden=garden, recipe=recipe, plantings=(bean, *fixed.plan.plantings[1:]))
    front, back = text_of(press_card(replace(fixed.season, plan=plan)))
    for words in ("Peas & <b>beans</b>", "bed <1> & 'more'", "Сад Łódź", "Beans <i>&amp;", '"Ὀρφεύς"', "1 < 2"):
        assert words in front
    assert "beans <i>&amp;" in back


@pytest.mark.parametrize(
    ("paper", "name"),
    [("A4", "b" * 90), *(pytest.param("A5", name, marks=pytest.mark.slow) for name in ("b" * 60, "the bed by the wall " * 6))],
)
def test_the_name_of_a_bed_may_be_long(
    paper: str, name: str, mixture: Callable[[int], Season], text_of: Callable[[bytes], list[str]]
) -> None:
    """It is broken inside its half of the head, and printed in full."""
    season = mixture(3)
    bed = replace(season.plan.bed, name=name)
    garden = replace(season.plan.garden, name="G" * 80, beds=(bed,))
    long = replace(season, plan=replace(season.plan, bed=bed, garden=garden))
    pages = text_of(press_card(long, paper=paper))
    assert len(pages) == 2
    for page in pages:
        assert name.replace(" ", "") in page.replace(" ", "")


@pytest.mark.slow
def test_a_crop_that_is_not_eaten(fixed: SimpleNamespace, text_of: Callable[[bytes], list[str]]) -> None:
    """A bed without any harvest still has its card."""
    import numpy as np

    plan = replace(fixed.plan, plantings=tuple(replace(p, harvests=()) for p in fixed.plan.plantings))
    none = np.zeros((plan.days, 2, 0))
    season = replace(fixed.season, plan=plan, picked_kg=none, lone_kg=none, sole_kg=none)
    assert "Tall bean" in text_of(press_card(season))[1]


@pytest.mark.slow
def test_many_plantings_go_on_further_sides(fixed: SimpleNamespace, quiet: Callable[[Plan], Season]) -> None:
    salad = fixed.plan.plantings[3]
    many = tuple(replace(salad, index=i, harvests=tuple(replace(h, planting=i) for h in salad.harvests)) for i in range(40))
    season = quiet(replace(fixed.plan, plantings=many))
    pages = pypdf.PdfReader(io.BytesIO(press_card(season, paper="A5", attach=False))).pages
    assert len(pages) > 3
    assert f"{len(pages)} / {len(pages)}" in pages[-1].extract_text()


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="pdftoppm is not installed")
def test_printed_in_black_and_white_only(fixed: SimpleNamespace, tmp_path: Path) -> None:
    """Every dot of the page is grey: a black and white printer loses nothing."""
    import numpy as np
    from PIL import Image

    (tmp_path / "card.pdf").write_bytes(fixed.card)
    subprocess.run(["pdftoppm", "-r", "60", "-png", str(tmp_path / "card.pdf"), str(tmp_path / "page")], check=True)
    pictures = sorted(tmp_path.glob("page*.png"))
    assert len(pictures) == 2
    for picture in pictures:
        dots = np.asarray(Image.open(picture).convert("RGB")).astype(int)
        assert (np.ptp(dots, axis=2) <= 1).all()
        assert dots.min() == 0
