"""What a card carries comes out byte for byte, and a PDF of a stranger costs bounded time and memory."""

from __future__ import annotations

import io
import zlib
from pathlib import Path
from types import SimpleNamespace

import pypdf
import pytest

from mixcraft.files import UsageError
from mixcraft.files.text import MAX_BYTES
from mixcraft.press import press_card, unpacking
from mixcraft.press.unpacking import attached, is_garden
from mixcraft.recipe.plan import plan
from mixcraft.recipe.reading import load_garden, load_recipe

DATA = Path(__file__).parent / "data"


def test_recipe_and_garden_come_back_byte_for_byte(fixed: SimpleNamespace, tmp_path: Path) -> None:
    (tmp_path / "card.pdf").write_bytes(fixed.card)
    found = attached(tmp_path / "card.pdf")
    assert found == {
        "fixed.recipe.yaml": fixed.path.read_bytes(), "fixed.garden.yaml": (DATA / "fixed.garden.yaml").read_bytes(),
    }  # fmt: skip
    assert [is_garden(data) for data in found.values()] == [False, True]


@pytest.mark.slow
def test_marks_and_line_ends_of_other_systems_come_back(fixed: SimpleNamespace, tmp_path: Path, quiet: object) -> None:
    """A byte order mark and CRLF, as an editor on Windows writes them."""
    odd = b"\xef\xbb\xbf" + fixed.path.read_bytes().replace(b"\n", b"\r\n")
    (tmp_path / "odd.recipe.yaml").write_bytes(odd)
    season = quiet(plan(load_recipe(tmp_path / "odd.recipe.yaml"), load_garden(DATA / "fixed.garden.yaml"), "test bed"))  # type: ignore[operator]
    (tmp_path / "card.pdf").write_bytes(press_card(season))
    assert attached(tmp_path / "card.pdf")["odd.recipe.yaml"] == odd


def test_files_without_an_ending_come_back(fixed: SimpleNamespace, tmp_path: Path, quiet: object) -> None:
    """A recipe may be kept in a file of any name; what is attached has the ending of its kind."""
    (tmp_path / "spring").write_bytes(fixed.path.read_bytes())
    (tmp_path / "home").write_bytes((DATA / "fixed.garden.yaml").read_bytes())
    season = quiet(plan(load_recipe(tmp_path / "spring"), load_garden(tmp_path / "home"), "test bed"))  # type: ignore[operator]
    (tmp_path / "card.pdf").write_bytes(press_card(season))
    found = attached(tmp_path / "card.pdf")
    assert found == {
        "spring.recipe.yaml": (tmp_path / "spring").read_bytes(), "home.garden.yaml": (tmp_path / "home").read_bytes(),
    }  # fmt: skip


def pdf_with(path: Path, name: str, data: bytes) -> Path:
    writer = pypdf.PdfWriter()
    writer.add_blank_page(100, 100)
    writer.add_attachment(name, data)
    out = io.BytesIO()
    writer.write(out)
    path.write_bytes(out.getvalue())
    return path


def test_names_do_not_lead_out_of_the_folder(tmp_path: Path) -> None:
    found = attached(pdf_with(tmp_path / "a.pdf", "../../etc/evil.yaml", b"x: 1\n"))
    assert list(found) == ["evil.yaml"]


def test_a_bomb_is_not_unpacked(tmp_path: Path) -> None:
    """A stream of zeros that unpacks to a gigabyte is cut at the size of a recipe file, and refused."""
    path = pdf_with(tmp_path / "b.pdf", "bomb.yaml", b"")
    reader = pypdf.PdfReader(path)
    writer = pypdf.PdfWriter(clone_from=reader)
    names = writer._root_object["/Names"]["/EmbeddedFiles"]["/Names"]
    stream = names[1].get_object()["/EF"]["/F"].get_object()
    stream._data = zlib.compress(bytes(100 * MAX_BYTES), 9)
    stream[pypdf.generic.NameObject("/Filter")] = pypdf.generic.NameObject("/FlateDecode")
    writer.write(tmp_path / "c.pdf")
    with pytest.raises(UsageError, match="no recipe is attached"):
        attached(tmp_path / "c.pdf")


@pytest.mark.parametrize("data", [b"", b"%PDF-1.7\n%%EOF", b"no pdf", b"%PDF-1.7\n" + b"1 0 obj<</A 1 0 R>>endobj " * 2000])
def test_what_is_no_pdf_is_refused(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "a.pdf").write_bytes(data)
    with pytest.raises(UsageError, match=r"nothing was written|no recipe"):
        attached(tmp_path / "a.pdf")


def test_a_slow_file_is_left(tmp_path: Path, fixed: SimpleNamespace, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(unpacking, "MAX_SECONDS", 0.01)
    (tmp_path / "a.pdf").write_bytes(fixed.card)
    with pytest.raises(UsageError, match="within"):
        attached(tmp_path / "a.pdf")


def test_missing_and_huge_files_are_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(UsageError, match="there is no such file"):
        attached(tmp_path / "none.pdf")
    monkeypatch.setattr(unpacking, "MAX_PDF_BYTES", 10)
    (tmp_path / "a.pdf").write_bytes(b"%PDF-1.7 long enough")
    with pytest.raises(UsageError, match="at most"):
        attached(tmp_path / "a.pdf")
