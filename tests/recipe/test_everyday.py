"""Everyday words in recipes and gardens: read as what they stand for, kept as written, asked back where they mean two things."""

from __future__ import annotations

from dataclasses import replace

import pytest
from looping import each

from mixcraft.files import FileFaults, load_schema, parse_document
from mixcraft.files.everyday import READERS, Unread, end_rule, feeding, month_day, sides, start_rule, until_rule, watering
from mixcraft.recipe.edits import recipe_text
from mixcraft.recipe.model import (
    AtTrellis,
    AutumnFrost,
    Count,
    Density,
    OnDate,
    Recipe,
    Rows,
    Span,
    SpringFrost,
    WarmSoil,
    WholeBed,
)
from mixcraft.recipe.moments import AtEvent, OnDay, parse_moment
from mixcraft.recipe.reading import read_garden, read_recipe

HEAD = "format: mixcraft-recipe/1\nname: test\nbed: 4 x 8 ft  # as the boards are sold\nplantings:\n"


def recipe(text: str) -> Recipe:
    return read_recipe(parse_document(HEAD + text, "t.yaml"))


def one(line: str, crop: str = "carrot", start: str = "04-15") -> str:
    return f"  - crop: {crop}\n    start: {start}\n    {line}\n"


@each(
    ("text", "meant"),
    [
        ("04-15", "04-15"), ("April 15", "04-15"), ("15 April", "04-15"), ("Apr 15", "04-15"), ("15. Apr.", "04-15"),
        ("April 15th", "04-15"), ("the 15th of April", None), ("15th of April", "04-15"), ("Sept 3", "09-03"),
        ("mid-April", "04-15"), ("early May", "05-05"), ("late in June", "06-25"), ("end of February", "02-28"),
        ("start of March", "03-01"), ("13/4", None), ("4/5", None), ("February 29", None), ("April 31", None), ("spring", None),
        ("Aprl 15", None), ("", None),
    ],
)  # fmt: skip
def test_days_of_the_year(text: str, meant: str | None) -> None:
    if meant is None:
        with pytest.raises(Unread) as caught:
            month_day(text)
        assert caught.value.repair
    else:
        assert month_day(text) == meant


def test_a_date_with_two_meanings_asks_back() -> None:
    with pytest.raises(Unread) as caught:
        month_day("4/5")
    assert "April 5 or May 4" in caught.value.repair
    with pytest.raises(Unread) as plain:
        month_day("13/4")
    assert plain.value.repair == "write April 13"


@each(
    ("text", "meant"),
    [
        ("April 15", OnDate("04-15")), ("2 weeks before last frost", SpringFrost(-2.0)), ("last frost", SpringFrost(0.0)),
        ("a week after the last spring frost", SpringFrost(1.0)), ("10 days after last frost", SpringFrost(10.0 / 7.0)),
        ("8 weeks before first fall frost", AutumnFrost(-8.0)), ("soil 10 C", WarmSoil(10.0)),
        ("when the soil is 50 F", WarmSoil(10.0)),
    ],
)  # fmt: skip
def test_starts_in_words(text: str, meant: object) -> None:
    assert recipe(one("establish: seed\n    place: whole", start=text)).plantings[0].start == meant


def test_ends_and_successions_in_words() -> None:
    assert end_rule("90 days") == {"kind": "age", "time": "90 days"}
    assert end_rule("first frost") == {"kind": "autumn-frost", "weeks": 0}
    assert end_rule("October 15") == {"kind": "date", "on": "10-15"}
    assert until_rule("4 times") == {"kind": "times", "times": 4}
    assert until_rule("8 weeks before first frost") == {"kind": "autumn-frost", "weeks": -8}
    assert start_rule("mid-May") == {"kind": "date", "on": "05-15"}


def test_ways_of_the_garden_in_words() -> None:
    assert watering("drip") == {"kind": "watered"}
    assert watering("Rain only") == {"kind": "rain"}
    assert watering("1 in a week") == {"kind": "weekly", "amount": "1 in"}
    assert feeding("2 in of compost") == {"kind": "compost", "amount": "2 in"}
    assert sides("4 x 8 ft") == {"length": "8 ft", "width": "4 ft"}
    text = """\
format: mixcraft-garden/1
name: test
place: {kind: reference, name: Oxford}
beds:
  - {name: a, length: 8 ft, width: 4 ft, soil: raised bed mix, watering: {kind: drip}, feeding: 1 in of compost,
     history: [{years_ago: 1, crops: [beans]}]}
plate: {from: May 15, until: end of October}
"""
    garden = read_garden(parse_document(text, "g.yaml"))
    bed = garden.beds[0]
    assert (bed.soil, bed.watering.kind, bed.feeding.kind) == ("loam", "watered", "compost")
    assert bed.feeding.litres_m2 == pytest.approx(25.4)
    assert (garden.plate.start, garden.plate.until) == ("05-15", "10-31")


def test_a_place_in_words() -> None:
    head = "format: mixcraft-garden/1\nname: test\nbeds: [{name: a, length: 2 m, width: 1 m}]\nplace: "
    assert read_garden(parse_document(head + "Oxford", "g.yaml")).place.name == "Oxford"
    spot = read_garden(parse_document(head + "44.9 N 93.2 W 853 ft", "g.yaml")).place
    assert (spot.latitude_deg, spot.longitude_deg) == (44.9, -93.2)
    assert spot.elevation_m == pytest.approx(260.0, abs=0.1)
    with pytest.raises(FileFaults) as caught:
        read_garden(parse_document(head + "Oxfrod", "g.yaml"))
    assert "did you mean Oxford" in str(caught.value)
    assert "g.yaml:4:8" in str(caught.value)


def test_moments_in_words() -> None:
    assert parse_moment("April 15") == OnDay("04-15")
    assert parse_moment("planting") == AtEvent("start")
    assert parse_moment("3 weeks after planting") == AtEvent("start", 21.0)
    assert parse_moment("1 week before the first picking") == AtEvent("first harvest", -7.0)
    assert parse_moment("flowering + 2 weeks") == AtEvent("flower", 14.0)


def test_seed_is_sown_as_place_and_crop_ask() -> None:
    """Carrots come in drills first; what is drawn plant by plant is sown at stations, a bean in a row too."""
    lines = {
        "place: whole": "drills", "place: {kind: row, rows: 3}": "drills",
        "place: {kind: points, at: [[1 ft, 1 ft]]}": "stations",
    }  # fmt: skip
    for place, way in lines.items():
        assert recipe(one(f"establish: seed\n    {place}")).plantings[0].establish == way
    assert recipe(one("establish: transplant\n    place: whole", "leek")).plantings[0].establish == "module"


def test_rows_by_number_and_by_distance() -> None:
    """Three rows over 4 ft stand 16 in apart, 8 in from the edges; 10 in apart, four fit, in the middle."""
    by_number = recipe(one("establish: seed\n    place: {kind: rows, rows: 3}")).plantings[0].where
    assert isinstance(by_number, Rows)
    assert [s.value for s in by_number.at] == pytest.approx([8 * 0.0254, 24 * 0.0254, 40 * 0.0254], abs=1e-4)
    apart = recipe(one("establish: seed\n    place: {kind: row, apart: 10 in}")).plantings[0].where
    assert isinstance(apart, Rows)
    assert [s.value for s in apart.at] == pytest.approx([i * 0.0254 for i in (9, 19, 29, 39)], abs=1e-4)


def test_rows_run_from_one_place_to_another_with_a_distance_in_the_row() -> None:
    """From 1 ft to 6 ft at 2 in, two rows: 60 plants."""
    line = "establish: seed\n    spacing: 2 in\n    place: {kind: row, rows: 2, from: 1 ft, to: 6 ft}"
    planting = recipe(one(line)).plantings[0]
    assert planting.amount == Count(60)
    assert isinstance(planting.where, Rows)
    assert planting.where.ends == (Span(0.3048), Span(1.8288))
    square = recipe(one("establish: module\n    spacing: 12 in\n    place: whole", "lettuce")).plantings[0]
    assert isinstance(square.amount, Density)
    assert square.amount.per_m2 == pytest.approx(0.3048**-2)
    assert square.where == WholeBed()


def test_places_in_a_word() -> None:
    trellis = recipe(one("establish: seed\n    place: north trellis", "cucumber")).plantings[0].where
    assert trellis == AtTrellis("north")


@each(
    ("lines", "words"),
    [
        ("establish: seed\n    place: {kind: row}", "nothing says where the rows lie"),
        ("establish: seed\n    place: {kind: row, at: [1 ft], rows: 2}", "`rows` has no use"),
        ("establish: seed\n    place: {kind: row, rows: 9, apart: 10 in}", "do not fit across"),
        ("establish: seed\n    place: {kind: row, rows: 2, from: 6 ft, to: 1 ft}", "end before they begin"),
        ("establish: seed\n    count: 3\n    spacing: 1 ft\n    place: whole", "more than one amount"),
    ],
)
def test_rows_that_cannot_be(lines: str, words: str) -> None:
    with pytest.raises(FileFaults) as caught:
        recipe(one(lines))
    assert words in str(caught.value)
    assert "repair:" in str(caught.value)


@each(
    ("name", "choices"),
    [
        ("amaranth", ("leaf amaranth", "grain amaranth")), ("beans", ("bush bean", "climbing bean")),
        ("fennel", ("Florence fennel", "herb fennel")), ("squash", ("courgette", "winter squash")),
    ],
)  # fmt: skip
def test_words_that_mean_two_things_ask_back(name: str, choices: tuple[str, ...]) -> None:
    with pytest.raises(FileFaults) as caught:
        recipe(one("establish: seed\n    place: whole", name))
    assert all(choice in str(caught.value) for choice in choices)


def test_near_names_do_not_jump_to_another_crop() -> None:
    """Sungold is a cherry tomato, and no slip for mangold."""
    with pytest.raises(FileFaults) as caught:
        recipe(one("establish: seed\n    place: whole", "sungold"))
    assert "mangold" not in str(caught.value)
    assert "cherry tomato" in str(caught.value)


def test_the_client_s_word_is_the_name_of_the_planting() -> None:
    """Cilantro stays cilantro; an identifier or a botanical name gives way to the usual one; turnip greens are picked as such."""
    names = {"cilantro": "cilantro", "silverbeet": "silverbeet", "Coriandrum sativum": "coriander", "onion-salad": "spring onion"}
    for word, name in names.items():
        assert recipe(one("establish: seed\n    place: whole", word)).plantings[0].name == name
    greens = recipe(one("establish: seed\n    place: whole", "turnip greens")).plantings[0]
    assert (greens.crop.id, greens.harvest[0].part) == ("turnip", "turnip tops")


def test_what_is_written_in_words_stays_so_when_something_else_changes() -> None:
    text = one("establish: seed\n    place: whole\n    spacing: 2 in", "cilantro") + one(
        "establish: plugs\n    place: {kind: row, rows: 2}\n    spacing: 1 ft", "leek", "April 15"
    )
    read = recipe(text)
    assert recipe_text(read) == HEAD + text
    changed = replace(read, plantings=(replace(read.plantings[0], start=SpringFrost(-2.0)), read.plantings[1]))
    assert recipe_text(changed) == HEAD + text.replace("start: 04-15", "start:\n      kind: frost\n      weeks: -2")
    fewer = replace(read, plantings=(replace(read.plantings[0], amount=Count(7)), read.plantings[1]))
    assert read_recipe(parse_document(recipe_text(fewer), "t.yaml")) == fewer
    assert "establish: plugs" in recipe_text(fewer)


def test_every_word_of_the_schemas_stands_for_something_of_the_schemas() -> None:
    """What a word means is allowed where the word is."""

    def walk(node: object) -> None:
        if isinstance(node, list):
            for item in node:
                walk(item)
        if not isinstance(node, dict):
            return
        if "x-means" in node:
            assert set(node["x-means"]) <= set(node["enum"])
            plain = [value for value in node["x-means"].values() if isinstance(value, str)]
            assert set(plain) <= set(node["enum"])
        if "x-reads" in node:
            assert node["x-reads"] in READERS
            for example in node["examples"]:
                assert READERS[node["x-reads"]](example)
        for value in node.values():
            walk(value)

    for kind in ("recipe", "garden", "brief"):
        walk(load_schema(kind))
