"""Faults: their order and their rendering."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mixcraft.files import Fault, FileFaults, render_fault
from mixcraft.files.faults import SHOWN_FAULTS, SHOWN_WIDTH, path_text, printable, shorten

FAULT = Fault("bed.yaml", 3, 9, "plantings[0].crop", "crop", "no such crop", "radsh", "a crop", "mend", "  crop: radsh")


def test_rendering() -> None:
    assert render_fault(FAULT) == (
        "bed.yaml:3:9: no such crop\n    crop: radsh\n          ^^^^^\n  found: radsh\n  allowed: a crop\n  repair: mend"
    )


def test_a_fault_without_a_place_shows_only_the_file() -> None:
    assert render_fault(Fault("bed.yaml", 0, 0, "", "missing-file", "there is no such file", repair="look")) == (
        "bed.yaml: there is no such file\n  repair: look"
    )


def test_tabs_and_wide_characters_keep_the_caret_in_place() -> None:
    tab = dataclasses.replace(FAULT, source_line="\tcrop: radsh", column=8)
    assert render_fault(tab).splitlines()[2] == "  \t      ^^^^^"
    wide = dataclasses.replace(FAULT, source_line="名前: radsh", column=5)
    assert render_fault(wide).splitlines()[2] == "  " + " " * 6 + "^^^^^"
    combining = dataclasses.replace(FAULT, source_line="cre\u0301me: radsh", column=9)
    assert render_fault(combining).splitlines()[2] == "  " + " " * 7 + "^^^^^"


@given(st.integers(1, 5000))
def test_a_long_line_is_cut_around_the_caret(column: int) -> None:
    line = "".join(chr(97 + i % 26) for i in range(5000))
    _, shown, caret, *_ = render_fault(dataclasses.replace(FAULT, source_line=line, column=column)).splitlines()
    assert len(shown) <= SHOWN_WIDTH + 4
    assert shown[caret.index("^")] == line[column - 1]


def test_nothing_can_disturb_the_terminal() -> None:
    bad = "\x1b[2J\x07\u202e\r"
    rendered = render_fault(Fault(f"{bad}.yaml", 1, 1, "", "x", bad, bad, bad, bad, bad + "text"))
    assert all(character.isprintable() or character == "\n" for character in rendered)
    assert printable("naïve – 名") == "naïve – 名"


def test_faults_are_sorted_and_not_repeated() -> None:
    later = dataclasses.replace(FAULT, line=10)
    other = dataclasses.replace(FAULT, file="a.yaml", line=99)
    assert FileFaults([later, FAULT, other, FAULT]).faults == (other, FAULT, later)
    assert FileFaults(FAULT).faults == (FAULT,)


def test_a_long_list_is_counted_at_the_end() -> None:
    many = [dataclasses.replace(FAULT, line=n, rule=f"rule {n}") for n in range(1, SHOWN_FAULTS + 4)]
    text = str(FileFaults(many))
    assert text.count("no such crop") == SHOWN_FAULTS
    assert text.endswith("and 3 more faults; mend these first")


def test_a_fault_cannot_be_changed() -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        FAULT.line = 1  # type: ignore[misc]


def test_paths_and_shortening() -> None:
    assert path_text(("plantings", 2, "place", "at", 0)) == "plantings[2].place.at[0]"
    assert path_text(()) == ""
    assert shorten("x" * 100, 10) == "x" * 9 + "…"


def test_faults_of_one_cause_are_one_message_with_a_count() -> None:
    """43 points outside a bed are one slip; another slip among them is told apart."""
    many = [
        dataclasses.replace(FAULT, line=n, rule="layout.fit", path=f"plantings[0].at[{n}]", message=f"({n} m, 1 m) lies outside")
        for n in range(1, 44)
    ]
    text = str(FileFaults([*many, FAULT]))
    assert text.count("lies outside") == 1
    assert "the same 42 more times, on lines 2, 3, 4, 5, 6, 7, 8, 9 ..." in text
    assert text.count(FAULT.message) == 1
