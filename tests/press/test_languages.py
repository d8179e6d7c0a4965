"""Cards in five languages: every sentence of card, book and calendar has its translation with the same fields, dates are those of
the Common Locale Data Repository, names in other scripts are set in bundled fonts."""

from __future__ import annotations

import io
import string
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from types import SimpleNamespace

import icalendar
import numpy as np
import pypdf
import pytest
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po
from strategies import grown, planting

from mixcraft import words
from mixcraft.crops import all_crops
from mixcraft.crops.cautions import cautions
from mixcraft.files import UsageError
from mixcraft.press import press_card
from mixcraft.press.calendar_file import calendar_bytes
from mixcraft.recipe.model import OnDate
from mixcraft.words.catalogue import LOCALE, catalogue, languages
from mixcraft.words.crop_names import crop_name, in_language
from mixcraft.words.dates import day_words, ends_next_year, short_day, whole_day
from mixcraft.words.notes import plan_notes

OTHERS = ("de", "es", "fr", "nl")
PACKAGE = Path(words.__file__).parents[1]
PRINTED = {
    "amounts.py", "book.py", "card.py", "care.py", "climate.py", "notes.py", "parts_of_crops.py", "places.py", "plain.py",
    "steps.py", "cautions.py", "picking.py", "plan_words.py", "provenance.py",
}  # fmt: skip
"""What speaks on cards, books and calendars; the words of the command line stay English."""
BY_THE_REPOSITORY = {"January", "early {month}", "mid-{month}", "late {month}", "in {when}", "from {first} to {last}"}


KEYWORDS = {"N_": None, "gettext": None, "ngettext": (1, 2)}


def fields(text: str) -> set[str]:
    return {field for _, field, _, _ in string.Formatter().parse(text) if field}


def printed() -> set[str | tuple[str, ...]]:
    """Every text that a card, a book or a calendar may print."""
    found: set[str | tuple[str, ...]] = set()
    for folder in ("words", "press"):
        for name, _, text, _, _ in extract_from_dir(str(PACKAGE / folder), keywords=KEYWORDS):
            if name in PRINTED:
                found.add(text)
    for record in cautions().values():
        found |= {" ".join(str(record[key]).split()) for key in ("title", "short")}
    months = {m for m in found if isinstance(m, str) and m in words.plain.MONTHS}
    return found - months - BY_THE_REPOSITORY


def test_there_are_five_languages() -> None:
    assert languages() == ("en", *OTHERS)


@pytest.mark.parametrize("language", OTHERS)
def test_every_printed_text_is_translated_with_its_fields(language: str) -> None:
    with (LOCALE / f"{language}.po").open("rb") as file:
        messages = read_po(file, locale=language)
    missing = []
    for text in printed():
        found = messages.get(text if isinstance(text, str) else text[0])
        if found is None or not all(found.string if isinstance(found.string, tuple) else [found.string]):
            missing.append(text)
            continue
        said = found.string if isinstance(found.string, tuple) else (found.string,)
        allowed = fields(text) if isinstance(text, str) else fields(text[1])
        assert all(fields(s) <= allowed for s in said), text
        assert fields(said[-1]) == allowed, text
    assert missing == []


def test_days_are_those_of_each_language() -> None:
    """CLDR's own forms, and Apr 14 in the United States."""
    day = date(2027, 4, 14)
    said = {language: day_words(day, catalogue(language)) for language in ("en", "en_US", *OTHERS)}
    assert said == {
        "en": "14 April", "en_US": "Apr 14", "de": "14. April", "es": "14 de abril", "fr": "14 avril", "nl": "14 april",
    }  # fmt: skip
    assert whole_day(day, catalogue("de")) == "14. April 2027"
    assert short_day(date(2027, 2, 22), catalogue("en_US")).replace("\u00a0", " ") == "Feb 22"


def test_every_crop_has_a_name_in_every_language() -> None:
    """No crop of the library is printed by its English name for want of another, but for names that are the same."""
    for language in OTHERS:
        t = catalogue(language)
        assert all(crop_name(crop, t) for crop in all_crops())
        lacking = [c.id for c in all_crops() if not c.names.get(language) and crop_name(c, t) == c.name]
        assert len(lacking) < 25, lacking  # such as aubergine and broccoli in Dutch


@pytest.mark.parametrize(
    ("language", "heading", "sow", "number"),
    [("de", "Was zu tun ist, der Reihe nach", "säen", "1,5"),
     pytest.param("fr", "À faire, dans l’ordre", "semer", "1,5", marks=pytest.mark.slow),
     pytest.param("nl", "Wat te doen, op volgorde", "zaaien", "1,5", marks=pytest.mark.slow),
     pytest.param("es", "Qué hacer, por orden", "sembrar", "1,5", marks=pytest.mark.slow)],
)  # fmt: skip
def test_a_card_in_each_language(
    language: str, heading: str, sow: str, number: str, fixed: SimpleNamespace, text_of: Callable[[bytes], list[str]]
) -> None:
    card = press_card(fixed.season, fixed.score, language=language, year=2027)
    text = " ".join(text_of(card))
    assert heading in text
    assert sow in text.casefold()
    assert number in text
    for english in ("What to do", "Harvest", "Cautions", "in the ground", "Sow ", "Last air frost", "weather years", " deep"):
        assert english not in text
    assert pypdf.PdfReader(io.BytesIO(card)).trailer["/Root"]["/Lang"] == language


def test_a_calendar_in_german(fixed: SimpleNamespace) -> None:
    from datetime import UTC, datetime

    data = calendar_bytes([(fixed.season, fixed.score)], 2027, datetime(2027, 1, 1, tzinfo=UTC), "metric", catalogue("de"), "de")
    said = [str(e["summary"]) for e in icalendar.Calendar.from_ical(data).walk("VEVENT")]
    assert any("säen" in s for s in said)
    assert not any("Sow" in s for s in said)


def test_an_unknown_language_is_named(fixed: SimpleNamespace) -> None:
    with pytest.raises(UsageError, match="there is en, de, es, fr, nl"):
        press_card(fixed.season, language="xx")


@pytest.mark.parametrize(("name", "font"), [("حديقة البيت", "NotoSansArabic"), ("家庭菜園の人参", "NotoSansCJK")])
def test_names_in_other_scripts_are_set_in_bundled_fonts(name: str, font: str, fixed: SimpleNamespace) -> None:
    """The bundled font of the script is in the file, cut down to what is written, and no other than bundled ones."""
    plan = replace(fixed.plan, recipe=replace(fixed.plan.recipe, name=name))
    card = press_card(replace(fixed.season, plan=plan), attach=False)
    reader = pypdf.PdfReader(io.BytesIO(card))
    fonts = {f.get_object()["/BaseFont"] for page in reader.pages for f in page["/Resources"]["/Font"].values()}
    assert any("Arabic" in str(f) if "Arabic" in font else "Japanese" in str(f) or "CJK" in str(f) for f in fonts), fonts
    if "CJK" in font:  # pypdf tells joined letters of Arabic only in part
        text = reader.pages[0].extract_text()
        assert all(letter in text for letter in name)


def test_notes_call_plantings_as_the_rest_of_the_card_does() -> None:
    """A note about rhubarb on a German card is about Rhabarber; a planting with a name of its own keeps it."""
    beds = {"rhubarb": "Rhabarber", "by the gate": "by the gate"}
    for name, said in beds.items():
        season = grown(
            replace(planting("rhubarb", establish="crown", count=1, start=OnDate("03-01")), name=name, years=4), years=1
        )
        t = catalogue("de")
        notes = plan_notes(in_language(season, t).plan, "metric", t)
        assert f"{said}: vor 4 Jahren gepflanzt, steht schon im Beet." in notes


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        ("2027-06-25", "2028-06-05", True),  # chard, until it runs to seed
        ("2027-06-25", "2028-07-05", True),
        ("2027-10-25", "2028-03-05", False),  # corn salad of one winter
        ("2027-03-01", "2027-12-20", False),
    ],
)
def test_a_span_says_its_year_where_months_alone_mislead(first: str, last: str, said: bool) -> None:
    assert ends_next_year(np.datetime64(first), np.datetime64(last)) is said
