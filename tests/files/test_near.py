"""Near misses."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from looping import each

from mixcraft.files.near import did_you_mean, meant, or_list

KEYS = ["name", "crop", "cultivar", "establish", "count", "density", "seed_rate", "place", "start", "end", "harvest"]
CROPS = ["radish", "tomato", "runner bean", "dwarf french bean", "leek", "beetroot", "strawberry", "chives", "cress"]


@each(
    ("word", "choices", "first"),
    [
        ("establsh", KEYS, "establish"),
        ("hrvest", KEYS, "harvest"),
        ("satrt", KEYS, "start"),  # two letters swapped
        ("corp", KEYS, "crop"),
        ("Density", KEYS, "density"),
        ("seed rate", KEYS, "seed_rate"),
        ("seed-rate", KEYS, "seed_rate"),
        ("counts", KEYS, "count"),
        ("tomatoes", CROPS, "tomato"),
        ("Radishes", CROPS, "radish"),
        ("leeks", CROPS, "leek"),
        ("strawberries", CROPS, "strawberry"),
        ("french bean", CROPS, "dwarf french bean"),
        ("betroot", CROPS, "beetroot"),
        ("räddish", CROPS, "radish"),
        ("chive", CROPS, "chives"),
    ],
)
def test_the_nearest_comes_first(word: str, choices: list[str], first: str) -> None:
    assert did_you_mean(word, choices)[:1] == [first]


@each("word", ["", "   ", "xyzzy", "q", "wheelbarrow", "7", "-", "x" * 10_000])
def test_nothing_near_is_an_empty_list(word: str) -> None:
    assert did_you_mean(word, KEYS) == []


def test_both_beans_are_offered() -> None:
    assert set(did_you_mean("bean", CROPS)) == {"runner bean", "dwarf french bean"}


def test_far_choices_do_not_follow_a_near_one() -> None:
    names = ["mixcraft-recipe/1", "mixcraft-garden/1", "mixcraft-crop/1"]
    assert did_you_mean("mixcraft-recpe/1", names) == ["mixcraft-recipe/1"]


@given(st.text(max_size=20), st.lists(st.text(max_size=20), max_size=8), st.integers(1, 4))
def test_answers_are_choices_without_repeats(word: str, choices: list[str], n: int) -> None:
    near = did_you_mean(word, choices, n)
    assert len(near) == len(set(near)) <= n
    assert set(near) <= set(choices)


@given(st.text(st.characters(categories=["L"]), min_size=1, max_size=20))
def test_a_word_is_nearest_to_itself(word: str) -> None:
    assert did_you_mean(word, ["something else", word], 1) in ([word], [])
    if word.isascii():
        assert did_you_mean(word, ["something else", word], 1) == [word]


def test_sentence() -> None:
    assert meant("corp", KEYS) == "did you mean `crop`?"
    assert meant("zzz", KEYS) == ""
    assert or_list([]) == ""
    assert or_list(["a"]) == "a"
    assert or_list(["a", "b", "c"]) == "a, b or c"
