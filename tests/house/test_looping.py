"""The loop over cases says which of them fail, tries all, and does not pass without any."""

from __future__ import annotations

import pytest
from looping import each


def test_all_cases_are_tried_and_the_failing_ones_named() -> None:
    tried: list[str] = []

    @each("crop", ["leek", "kale", "chard"])
    def check(crop: str) -> None:
        tried.append(crop)
        assert crop.startswith("k"), "not a k"

    with pytest.raises(AssertionError) as caught:
        check()
    assert tried == ["leek", "kale", "chard"]
    text = str(caught.value)
    assert text.startswith("2 of 3 do not hold\nleek: not a k")
    assert "chard: not a k" in text
    assert "kale:" not in text


def test_several_arguments_names_and_other_errors() -> None:
    @each(("a", "b"), [(1, 2), (2, 0)], ids=lambda a, b: f"{a} over {b}")
    def check(a: int, b: int) -> None:
        assert a / b < 1.0

    with pytest.raises(AssertionError, match="1 of 2 do not hold\n2 over 0: ZeroDivisionError: division by zero"):
        check()


def test_no_case_is_no_pass() -> None:
    @each("crop", [])
    def check(crop: str) -> None:
        """Never called."""

    with pytest.raises(AssertionError, match="no case to try"):
        check()


def test_fail_is_a_failure_and_a_misspelt_argument_too() -> None:
    @each("crop", ["leek"])
    def check(crop: str) -> None:
        pytest.fail("too tall")

    with pytest.raises(AssertionError, match="leek: Failed: too tall"):
        check()
    with pytest.raises(AssertionError, match="does not take"):
        each("corp", ["leek"])(lambda crop: None)


@each("number", [1, 2])
def test_fixtures_are_shared(number: int, tmp_path: object) -> None:
    """A looped test takes fixtures as any other."""
    assert number
    assert tmp_path
