"""A file of an older version is read as one of the newest, with its comments, its order and its lines; a newer one is refused."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest

from mixcraft.files import FileFaults, migrate, parse_document
from mixcraft.files.edit import REMOVE, Change
from mixcraft.files.migrate import STEPS, up_to_date
from mixcraft.files.schema import kinds, newest_version

OLD = """\
# my first bed
format: mixcraft-recipe/1
title: Spring   # what we call it
thick: true
plantings:
  - {crop: radish, wide: 5 cm}  # early
  - crop: lettuce
    wide: 25 cm
"""
NEW = """\
# my first bed
format: mixcraft-recipe/3
title: Spring   # what we call it
plantings:
  - {crop: radish, wide: 5 cm, unit: cm}  # early
  - crop: lettuce
    wide: 25 cm
    unit: cm
"""


def no_thick(data: Any) -> Sequence[Change]:
    """Version 2 of our invention knows no `thick`."""
    return [(("thick",), REMOVE)] if "thick" in data else []


def with_units(data: Any) -> Sequence[Change]:
    """Version 3 of our invention wants a unit in every planting."""
    return [(("plantings", n, "unit"), "cm") for n in range(len(data["plantings"]))]


@pytest.fixture
def third(monkeypatch: pytest.MonkeyPatch) -> None:
    """A world in which recipes are in their third version."""
    for module in (migrate, __import__("mixcraft.files.schema", fromlist=["schema"])):
        monkeypatch.setattr(module, "newest_version", lambda kind: 3 if kind == "recipe" else 1)
    monkeypatch.setattr(migrate, "STEPS", {("recipe", 1): no_thick, ("recipe", 2): with_units})


@pytest.mark.usefixtures("third")
def test_an_older_version_is_brought_to_the_newest_in_its_own_text() -> None:
    found = up_to_date(parse_document(OLD, "old.yaml"))
    assert found.text == NEW
    assert found.data["plantings"][0] == {"crop": "radish", "wide": "5 cm", "unit": "cm"}
    assert (found.name, found.mark(("title",))) == ("old.yaml", (3, 8))


@pytest.mark.usefixtures("third")
def test_a_version_in_between_takes_the_steps_that_are_left() -> None:
    found = up_to_date(parse_document(OLD.replace("recipe/1", "recipe/2"), "old.yaml"))
    assert found.data["thick"] is True
    assert found.data["format"] == "mixcraft-recipe/3"


@pytest.mark.usefixtures("third")
def test_a_mark_of_byte_order_stays() -> None:
    assert up_to_date(parse_document("\ufeff" + OLD, "old.yaml")).source == b"\xef\xbb\xbf" + NEW.encode()


@pytest.mark.usefixtures("third")
def test_a_newer_version_is_refused_with_advice() -> None:
    with pytest.raises(FileFaults, match="newer version than this mixcraft understands \\(3\\)") as caught:
        up_to_date(parse_document(OLD.replace("recipe/1", "recipe/4"), "new.yaml"))
    assert "install a newer mixcraft" in str(caught.value)


def test_what_is_of_the_newest_version_is_left_as_it_is() -> None:
    document = parse_document(OLD, "old.yaml")
    assert up_to_date(document) is document


def test_every_older_version_of_every_format_has_its_step() -> None:
    """Who raises the version of a format without saying what becomes of the older files fails here."""
    assert {(kind, old) for kind in kinds() for old in range(1, newest_version(kind))} == set(STEPS)
