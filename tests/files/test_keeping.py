"""What is kept between runs: a damaged file is told of once and made anew, an unwritable home is told of once and gone round."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from mixcraft.files import keeping, units


@pytest.fixture(autouse=True)
def fresh() -> None:
    keeping.say_once.cache_clear()


def test_a_damaged_file_is_told_of_once(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    assert keeping.keep_in([tmp_path], "a.code", b"what was dear to make")
    assert list(keeping.kept_in([tmp_path], "a.code")) == [b"what was dear to make"]
    (tmp_path / "a.code").write_bytes((tmp_path / "a.code").read_bytes()[:-3])
    assert list(keeping.kept_in([tmp_path], "a.code")) == []
    assert list(keeping.kept_in([tmp_path], "a.code")) == []
    assert [record.message for record in caplog.records] == [f"mixcraft: what was kept in {tmp_path} is damaged; it is made anew"]


def test_a_home_that_cannot_be_written_is_told_of_once(tmp_path: Path) -> None:
    """As the installed command runs it; the answer is the same as with a home."""
    code = "import sys; sys.argv = ['mixcraft', 'crops', 'radish']; from mixcraft.cli import entry; entry()"
    (tmp_path / "file").write_text("")
    env = {**os.environ, "HOME": str(tmp_path / "file" / "home"), "TMPDIR": str(tmp_path)}
    env.pop("XDG_CACHE_HOME", None)
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=env, timeout=300, check=True)
    assert ran.stderr.count("mixcraft: your cache folder cannot be written; ") == 1
    assert len(ran.stderr.splitlines()) == 1
    env["HOME"] = str(tmp_path)
    usual = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=env, timeout=300, check=True)
    assert (usual.stderr, usual.stdout) == ("", ran.stdout)


def test_units_are_kept_as_they_were_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """They are read once for all processes, and again when what reads them is another, or when the file is damaged."""
    reads: list[int] = []
    read = units._read
    monkeypatch.setattr(units, "_read", lambda: reads.append(1) or read())
    monkeypatch.setattr(keeping, "folders", lambda beside: [tmp_path])

    def table() -> units.Table:
        units.table.cache_clear()
        return units.table()

    first = table()
    assert table() == first == read()
    assert table().token.pattern == first.token.pattern
    assert len(reads) == 1
    (tmp_path / "units.pickle").write_bytes(b"garbled")
    assert table() == first
    assert len(reads) == 2
    monkeypatch.setattr(keeping, "reader", lambda: b"another")
    assert table() == first
    assert len(reads) == 3
