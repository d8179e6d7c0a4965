"""Constants as data."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from mixcraft.files import Constant, FileFaults, load_constants
from mixcraft.files import constants as constants_of

GOOD = """\
format: mixcraft-constants/1
solar_constant: {value: 0.0820, unit: MJ/(m2 min), source: fao56, at: Eq. 21, meaning: solar constant}
declination: {value: [0.409, 1.39], unit: rad, source: fao56, at: Eq. 24, quality: published}
table: {value: [[1, 2], [3, 4]], unit: "1", source: memory, at: "-", quality: memory}
take: {value: 0.5, unit: "1", range: [0.3, 0.6], source: memory, at: "-", quality: memory}
"""


def write(folder: Path, text: str) -> Path:
    path = folder / "constants.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def test_those_of_a_package_are_kept_as_they_are_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """From the second time on they come from a file that is kept, and a changed number makes it anew."""
    read, real = [], constants_of._read
    monkeypatch.setattr(constants_of, "PACKAGE", tmp_path)
    monkeypatch.setattr(constants_of, "folders", lambda beside: iter([beside / "kept"]))
    monkeypatch.setattr(constants_of, "_read", lambda path: read.append(path) or real(path))
    path = write(tmp_path, GOOD)
    found = [constants_of._load.__wrapped__(str(path)) for _ in range(3)]
    assert found[0] == found[1] == found[2] == real(str(path))
    assert len(read) == 1
    write(tmp_path, GOOD.replace("0.0820", "0.0821"))
    assert constants_of._load.__wrapped__(str(path))["solar_constant"].value == 0.0821
    assert len(read) == 2


def test_records_become_constants(tmp_path: Path) -> None:
    constants = load_constants(write(tmp_path, GOOD))
    assert list(constants) == ["solar_constant", "declination", "table", "take"]
    assert constants["solar_constant"] == Constant(
        "solar_constant", 0.082, "MJ/(m2 min)", "fao56", "Eq. 21", None, "published", "solar constant"
    )
    assert constants["declination"].value == (0.409, 1.39)
    assert constants["table"].value == ((1, 2), (3, 4))
    assert constants["take"].range == (0.3, 0.6)


def test_constants_are_kept_and_cannot_be_changed(tmp_path: Path) -> None:
    path = write(tmp_path, GOOD)
    constants = load_constants(path)
    assert load_constants(str(path)) is constants
    with pytest.raises(TypeError):
        constants["take"] = constants["table"]  # type: ignore[index]
    with pytest.raises(dataclasses.FrozenInstanceError):
        constants["take"].value = 1  # type: ignore[misc]


@pytest.mark.parametrize(
    ("record", "words"),
    [
        ("{unit: m, source: s, at: p}", "no `value`"),
        ("{value: 1, source: s, at: p}", "no `unit`"),
        ("{value: 1, unit: m, at: p}", "no `source`"),
        ("{value: 1, unit: m, source: s}", "no `at`"),
        ("{value: 1, unit: m, source: '', at: p}", "no `source`"),
        ("{value: a, unit: m, source: s, at: p}", "not a number"),
        ("{value: true, unit: m, source: s, at: p}", "not a number"),
        ("{value: [], unit: m, source: s, at: p}", "not a number"),
        ("{value: 1, unit: m, source: s, at: p, range: [2, 1]}", "range"),
        ("{value: 1, unit: m, source: s, at: p, range: 2}", "range"),
        ("{value: 3, unit: m, source: s, at: p, range: [1, 2]}", "outside its range, 1 to 2"),
        ("{value: [1, 3], unit: m, source: s, at: p, range: [1, 2]}", "outside its range, 1 to 2"),
        ("{value: 1, unit: m, source: s, at: p, quality: guess}", "quality"),
        ("{value: 1, unit: m, source: s, at: p, sorce: t}", "`sorce` is not part"),
        ("12", "is a record"),
    ],
)
def test_a_record_that_is_not_whole_is_a_fault_in_its_place(tmp_path: Path, record: str, words: str) -> None:
    with pytest.raises(FileFaults) as caught:
        load_constants(write(tmp_path, f"first: {{value: 1, unit: m, source: s, at: p}}\nbad: {record}\n"))
    (fault,) = caught.value.faults
    assert words in fault.message
    assert fault.line == 2
    assert fault.repair


def test_the_values_of_a_list_of_records_are_refused(tmp_path: Path) -> None:
    with pytest.raises(FileFaults, match="constants are written as"):
        load_constants(write(tmp_path, "- 1\n"))
