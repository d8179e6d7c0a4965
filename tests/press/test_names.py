"""The words of the recipe stay on card and calendar, and the botanical name of each crop stands there once."""

from __future__ import annotations

from datetime import UTC, datetime

import pypdf
import pytest
from fontTools.ttLib import TTFont
from strategies import bed, grown, planting

from mixcraft.files import resource
from mixcraft.press import press_card
from mixcraft.press.calendar_file import calendar_bytes
from mixcraft.season.result import Season

WORDS = {
    "coriander": ("cilantro", "Coriandrum sativum"), "pepper-sweet": ("capsicum", "Capsicum annuum"),
    "chard": ("silverbeet", "Beta vulgaris subsp. vulgaris Cicla"), "chilli": ("jalapeno", "Capsicum annuum"),
}  # fmt: skip


@pytest.fixture(scope="module")
def season() -> Season:
    ways = {crop: "module" if crop != "coriander" else "drills" for crop in WORDS}
    made = [planting(crop, name=word, establish=ways[crop], count=4) for crop, (word, _) in WORDS.items()]
    return grown(*made, one=bed(6.0, 1.2), years=1)


@pytest.mark.slow
@pytest.mark.parametrize("language", ["en", "de", "fr", "nl", "es"])
def test_botanical_names_stand_once(season: Season, language: str) -> None:
    from io import BytesIO

    pages = pypdf.PdfReader(BytesIO(press_card(season, language=language))).pages
    said = " ".join(" ".join(page.extract_text().split()) for page in pages)
    for planted in season.plan.plantings:
        assert said.count(planted.planting.crop.botanical) == 1
    if language == "en":
        assert all(word.capitalize() in said for word, _ in WORDS.values())


def test_the_calendar_has_them_too(season: Season) -> None:
    text = calendar_bytes([(season, None)], 2027, datetime(2027, 1, 1, tzinfo=UTC)).decode().replace("\r\n ", "")
    assert text.count("Coriandrum sativum (cilantro)") == 1
    assert "Capsicum annuum (capsicum\\, jalapeno)" in text


def test_every_face_has_the_spaces_of_a_sentence() -> None:
    """What follows a name is set in the name's own face: without a space of its own it would show a box there."""
    faces = [path for path in resource("templates", "fonts").iterdir() if path.suffix in (".ttf", ".otf")]
    assert faces
    for face in faces:
        assert {ord(" "), 0xA0} <= set(TTFont(face).getBestCmap()), face.name
