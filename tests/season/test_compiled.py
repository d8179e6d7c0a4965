"""Compiled code and where it is kept: nothing about a cache, or about the compiler, stops a season."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from mixcraft.season import compiled
from mixcraft.season.compiled import COMPILED, kept
from mixcraft.season.kernel_leaf import shared_height

needs_compiler = pytest.mark.skipif(not COMPILED, reason="numba is not installed here")
PROGRAM = """
import json, sys
if {hide}:
    sys.modules["numba"] = None
from pathlib import Path
from mixcraft.season import compiled
if {folders!r}:
    compiled.folders = lambda: iter([Path(folder) for folder in {folders!r}])
from cases import case
from mixcraft.season.grow import grow
season = grow(case("alone"), 1, 5, voxels=False)
print(json.dumps([compiled.COMPILED, season.picked_kg.sum(), season.growth_g.sum()]))
"""
TESTS = Path(__file__).parents[1]


def run(*folders: Path, hide: bool = False) -> tuple[list[float], str]:
    """A season in a process of its own, whose compiled code lies in these folders if any are given; what it said besides."""
    program = PROGRAM.format(hide=hide, folders=[str(folder) for folder in folders])
    ran = subprocess.run([sys.executable, "-c", program], cwd=TESTS, capture_output=True, text=True, check=True)
    return json.loads(ran.stdout), ran.stderr


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(compiled, "folders", lambda: iter([tmp_path]))
    return tmp_path


def test_without_numba_the_season_is_the_same() -> None:
    """The kernels as Python runs them."""
    hidden, said = run(hide=True)
    assert hidden[0] is False
    assert said == ""
    assert hidden[1:] == pytest.approx(run()[0][1:], rel=1e-9)


@needs_compiler
@pytest.mark.slow
def test_nowhere_to_keep_code_is_no_hindrance(tmp_path: Path) -> None:
    """A read-only home and installation, and no room for temporary files: compiled for the process, with one notice."""
    nowhere = tmp_path / "file"
    nowhere.write_text("")
    found, said = run(nowhere)
    assert found[1] > 0.0
    assert said.count("compiled code can be kept nowhere") == 1


@needs_compiler
def test_code_is_kept_and_taken_up(folder: Path) -> None:
    kernel = kept("kernel_leaf")(shared_height.py_func)
    assert not compiled.is_kept(kernel)
    assert kernel(0.5, 0.1) == pytest.approx(0.2)
    assert len(list(folder.glob("*.code"))) == 1
    again = kept("kernel_leaf")(shared_height.py_func)
    assert compiled.is_kept(again)
    assert again(0.1, 0.1) == pytest.approx(1.0)
    assert sum(again.stats.cache_hits.values()) == 1


@needs_compiler
@pytest.mark.parametrize("harm", ["garbled", "cut short", "empty", "locked"])
def test_a_damaged_file_is_made_anew(folder: Path, harm: str) -> None:
    kept("kernel_leaf")(shared_height.py_func)(0.5, 0.1)
    (file,) = folder.glob("*.code")
    whole = file.read_bytes()
    if harm == "locked":
        file.unlink()
        file.mkdir()
    else:
        file.write_bytes({"garbled": whole[:-1] + bytes([whole[-1] ^ 1]), "cut short": whole[:-9], "empty": b""}[harm])
    again = kept("kernel_leaf")(shared_height.py_func)
    assert again(0.5, 0.1)
    assert sum(again.stats.cache_hits.values()) == 0
    if harm != "locked":
        assert sum(kept("kernel_leaf")(shared_height.py_func).stats.cache_hits.values()) == 0
        assert file.read_bytes() != b""


@needs_compiler
def test_other_sources_are_other_code(folder: Path) -> None:
    for sources in (("kernel_leaf",), ("kernel_leaf", "tables")):
        kept(*sources)(shared_height.py_func)(0.5, 0.1)
    assert len(list(folder.glob("*.code"))) == 2


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="no owners of files here")
def test_a_folder_that_others_can_write_to_is_not_trusted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    mine = tmp_path / "mixcraft"
    assert mine in compiled.folders()
    assert mine.stat().st_mode & 0o077 == 0
    mine.chmod(0o777)
    assert mine not in compiled.folders()
