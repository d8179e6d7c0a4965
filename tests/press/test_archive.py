"""The PDF as an archive, read by pikepdf, which is not ours: structure, fonts, attachments of PDF/A-3a (ISO 19005-3)."""

from __future__ import annotations

import io
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pikepdf
import pytest

from mixcraft.files import UsageError
from mixcraft.press import press_card
from mixcraft.press.options import MAX_LOGO_BYTES

DATA = Path(__file__).parent / "data"


@pytest.fixture(scope="module")
def document(fixed: SimpleNamespace) -> Any:
    with pikepdf.open(io.BytesIO(fixed.card)) as pdf:
        yield pdf


def test_structure(document: Any) -> None:
    """6.7: tagged, with a language, a title and a tree whose every figure has words; 6.1.3: an identifier."""
    root = document.Root
    assert bool(root.MarkInfo.Marked)
    assert str(root.Lang) == "en"
    with document.open_metadata() as meta:
        assert meta.pdfa_status == "3A"
        assert meta["dc:title"]
    assert len(document.trailer.ID) == 2
    found = []

    def walk(node: Any) -> None:
        if isinstance(node, pikepdf.Dictionary):
            if node.get("/S") is not None:
                found.append((str(node.S), node.get("/Alt")))
            kids = node.get("/K")
            for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
                walk(kid)

    walk(root.StructTreeRoot)
    kinds = {kind for kind, _ in found}
    assert {"/H1", "/H2", "/P", "/Table", "/TR", "/TD", "/Figure"} <= kinds
    assert all(str(alt) for kind, alt in found if kind == "/Figure")


def test_fonts_are_embedded_and_say_their_letters(document: Any) -> None:
    """6.2.11: every font program is in the file, with a map to Unicode."""
    for page in document.pages:
        for font in page.Resources.Font.values():
            descriptor = font.DescendantFonts[0].FontDescriptor
            assert "/FontFile2" in descriptor or "/FontFile3" in descriptor
            assert len(font.ToUnicode.read_bytes()) > 100


def test_nothing_runs_and_nothing_is_fetched(document: Any) -> None:
    """6.6: no JavaScript, no launch, no forms; 6.1.3: not encrypted."""
    assert not document.is_encrypted
    assert "/OpenAction" not in document.Root
    assert "/AcroForm" not in document.Root
    assert not any(isinstance(o, pikepdf.Dictionary) and "/JS" in o for o in document.objects)


def test_attachments_are_sources(document: Any, fixed: SimpleNamespace) -> None:
    """6.8: each attached file has its relationship, media type and date, and stands in /AF."""
    files = {str(f.UF): f for f in document.Root.AF}
    assert set(files) == {"fixed.recipe.yaml", "fixed.garden.yaml"}
    for name, file in files.items():
        assert str(file.AFRelationship) == "/Source"
        stream = file.EF.F
        assert str(stream.Subtype) == "/application/yaml"
        assert "/ModDate" in stream.Params
        assert stream.read_bytes() == (DATA / name).read_bytes()


def logo(width: int = 60, height: int = 20) -> bytes:
    from PIL import Image

    out = io.BytesIO()
    Image.new("RGB", (width, height), (10, 90, 40)).save(out, "PNG")
    return out.getvalue()


@pytest.mark.slow
def test_client_date_logo_score_and_cautions(fixed: SimpleNamespace, text_of: Any) -> None:
    """The options of a practice: its logo and client on the front, no score, cautions in short."""
    full = text_of(fixed.card)
    card = press_card(
        fixed.season, fixed.score, client="Ms Example", day="2027-02-22", logo=logo(), show_score=False, cautions="short",
        year=2027, units="us", attach=False,
    )  # fmt: skip
    front, back = text_of(card)
    assert "for Ms Example · Feb 22, 2027" in front
    assert "What to do, in order, 2027" in front
    assert "Apr 10" in front
    assert "Score 70" in full[1]
    assert "Score" not in back
    assert "a slow cooker is not hot enough" in full[1]
    assert "a slow cooker is not hot enough" not in back
    assert "no slow cooker" in back
    with pikepdf.open(io.BytesIO(card)) as pdf:
        kinds = [str(x.Subtype) for x in pdf.pages[0].Resources.XObject.values()]
        assert kinds.count("/Image") == 1


def test_what_is_no_logo_is_refused(fixed: SimpleNamespace) -> None:
    for data in (b"GIF89a", b"<svg/>", logo() + bytes(MAX_LOGO_BYTES), b"\x89PNG\r\n\x1a\n" + bytes(50)):
        with pytest.raises(UsageError, match="logo"):
            press_card(fixed.season, logo=data)
    with pytest.raises(UsageError, match="full or short"):
        press_card(fixed.season, cautions="none")
