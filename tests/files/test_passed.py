"""Documents that have passed their schema are known again, and nothing else is."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from ledgers import kept_apart

from mixcraft.files import check_schema, passed
from mixcraft.files import schema as checking
from mixcraft.files.load import parse_document

DEMO = Path(__file__).parents[2] / "recipes_demo"
GARDEN = (DEMO / "kiln-lane.garden.yaml").read_text("utf-8")


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder of the test's own."""
    with kept_apart(passed.LEDGER, tmp_path, monkeypatch, 20) as own:
        yield own


@pytest.fixture
def checked(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Kinds of documents that a validator was asked for."""
    asked: list[str] = []
    real = checking._validator
    monkeypatch.setattr(checking, "_validator", lambda kind: asked.append(kind) or real(kind))
    return asked


def faults(text: str, kind: str = "garden") -> int:
    return len(check_schema(parse_document(text, "a.yaml"), kind))


def test_what_has_passed_is_not_checked_again(checked: list[str]) -> None:
    assert [faults(GARDEN) for _ in range(3)] == [0, 0, 0]
    assert checked == ["garden"]


def test_comments_do_not_matter_and_values_do(checked: list[str]) -> None:
    faults(GARDEN)
    assert faults(f"# seen from the gate\n{GARDEN}") == 0
    assert len(checked) == 1
    wrong = re.sub(r"length: .*", "length: far", GARDEN, count=1)
    assert wrong != GARDEN
    assert faults(wrong) > 0
    assert len(checked) == 2


def test_another_kind_or_type_is_checked(checked: list[str]) -> None:
    """The same text as a recipe; and 1, 1.0, true and "1" are four values."""
    faults(GARDEN)
    assert faults(GARDEN, "recipe") > 0
    assert checked == ["garden", "recipe"]
    assert len({passed.digest({"a": value}, "garden", b"") for value in (1, 1.0, True, "1", None)}) == 5


def test_what_has_faults_never_passes(checked: list[str], folder: Path) -> None:
    wrong = f"{GARDEN}\nno such key: 1\n"
    assert faults(wrong) == faults(wrong) > 0
    assert checked == ["garden", "garden"]
    assert not (folder / passed.FILE).exists()


def test_other_schemas_or_checks_check_all_anew(checked: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    faults(GARDEN)
    monkeypatch.setattr(checking, "_all_schemas", lambda: b"newer")
    faults(GARDEN)
    monkeypatch.setattr(passed.keeping, "reader", lambda: b"other")
    faults(GARDEN)
    assert len(checked) == 3


@pytest.mark.parametrize("harm", [b"", b"\xff\x00", b"garbled"])
def test_a_damaged_file_only_costs_a_check(harm: bytes, folder: Path, checked: list[str]) -> None:
    faults(GARDEN)
    (folder / passed.FILE).write_bytes(harm)
    passed.LEDGER.forget()
    assert faults(GARDEN) == faults(GARDEN) == 0
    assert len(checked) == 2


def test_the_newest_are_kept_and_a_process_writes_a_few_times(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(passed.LEDGER, "most", 2)
    for mark in "abca":
        passed.passes(mark)
    assert list(passed.LEDGER.read()) == ["c", "a"]
    monkeypatch.setattr(passed.LEDGER, "writes", 0)
    passed.passes("d")
    assert list(passed.LEDGER.read()) == ["c", "a"]
    assert passed.passed_before("d")
