"""Crops are kept as they were read, and nothing about a file that holds one stops or changes what is read."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from mixcraft.crops import kept, load_crop
from mixcraft.crops.kept import kept_crop
from mixcraft.crops.library import DATA
from mixcraft.crops.model import Crop, crop_from_mapping


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(kept, "folders", lambda: iter([tmp_path]))
    return tmp_path


class Reader:
    """Reads crop files and counts them."""

    def __init__(self) -> None:
        self.times = 0

    def __call__(self, data: bytes) -> Crop:
        self.times += 1
        return crop_from_mapping(yaml.safe_load(data))


def test_a_crop_is_read_once(folder: Path) -> None:
    read, file = Reader(), DATA / "spinach.yaml"
    crops = [kept_crop(file, read) for _ in range(3)]
    assert read.times == 1
    assert crops[0] == crops[1] == crops[2] == load_crop("spinach")
    assert repr(crops[0]) == repr(crops[2])


def test_a_changed_file_is_read_anew(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    read, file = Reader(), tmp_path / "spinach.yaml"
    text = (DATA / "spinach.yaml").read_text("utf-8")
    for more in ("", "\n# changed\n"):
        file.write_text(text + more, "utf-8")
        kept_crop(file, read)
    assert read.times == 2
    monkeypatch.setattr(kept, "_reader", lambda: b"another")
    kept_crop(file, read)
    assert read.times == 3


@pytest.mark.parametrize("harm", ["garbled", "empty", "locked", "other"])
def test_a_damaged_file_is_made_anew(folder: Path, harm: str) -> None:
    read, file = Reader(), DATA / "spinach.yaml"
    kept_crop(file, read)
    (held,) = folder.iterdir()
    whole = held.read_bytes()
    if harm == "locked":
        held.unlink()
        held.mkdir()
    elif harm == "other":
        kept.keeping.keep_in([folder], held.name, b"no pickle")
    else:
        held.write_bytes({"garbled": whole[:-1] + bytes([whole[-1] ^ 1]), "empty": b""}[harm])
    assert kept_crop(file, read) == load_crop("spinach")
    assert read.times == 2


def test_nowhere_to_keep_it_is_no_hindrance(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setattr(kept, "folders", lambda: iter([tmp_path / "file"]))
    assert kept_crop(DATA / "spinach.yaml", Reader()) == load_crop("spinach")
