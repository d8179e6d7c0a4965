"""Compiled code and where it is kept: nothing about a cache, or about the compiler, stops a season."""

from __future__ import annotations

import ctypes
import json
import os
import pickle
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from cases import case

from mixcraft.files.keeping import keep_in, kept_in
from mixcraft.season import compiled
from mixcraft.season.compiled import COMPILED, Kernel, kept
from mixcraft.season.grow import grow
from mixcraft.season.kernel_harvest import smallest
from mixcraft.season.native import NotLoadedError, flattened, loaded

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


NOTICE = "compiled code can be kept nowhere"
TWO_SMALL = """
import sys
from pathlib import Path
from mixcraft.season import compiled
compiled.folders = lambda: iter([Path(sys.argv[1])])
from mixcraft.season.kernel_harvest import smallest
for _ in range(2):
    kernel = compiled.kept("kernel_harvest")(smallest)
    print(kernel(0.5, 0.1), kernel.made)
"""


@needs_compiler
def test_nowhere_to_keep_code_is_no_hindrance(tmp_path: Path) -> None:
    """A read-only home and installation, and no room for temporary files: compiled for the process, with one notice for all
    that is compiled, here two small kernels; `-m bench` does it with all of a season, which takes forty seconds."""
    (tmp_path / "file").write_text("")
    command = [sys.executable, "-c", TWO_SMALL, str(tmp_path / "file")]
    ran = subprocess.run(command, cwd=TESTS, capture_output=True, text=True, check=True)
    assert [[float(word) for word in line.split()] for line in ran.stdout.splitlines()] == [[pytest.approx(0.475), 1.0]] * 2
    assert ran.stderr.count(NOTICE) == 1


@needs_compiler
@pytest.mark.bench
def test_a_season_grows_where_no_code_can_be_kept(tmp_path: Path) -> None:
    nowhere = tmp_path / "file"
    nowhere.write_text("")
    found, said = run(nowhere)
    assert found[1] > 0.0
    assert said.count(NOTICE) == 1


def small() -> Kernel:
    """A kernel that compiles in a second."""
    made = kept("kernel_harvest")(smallest)
    assert isinstance(made, Kernel)
    return made


@needs_compiler
def test_code_is_kept_and_taken_up(folder: Path) -> None:
    kernel = small()
    assert not compiled.is_kept(kernel)
    assert kernel(0.5, 0.1) == pytest.approx(0.475)
    assert kernel.made == 1
    assert len(list(folder.glob("*.code"))) == 1
    again = small()
    assert compiled.is_kept(again)
    assert again(0.1, 0.1) == pytest.approx(0.091)
    assert again.made == 0


@needs_compiler
@pytest.mark.parametrize("harm", ["garbled", "cut short", "empty", "locked", "other"])
def test_a_damaged_file_is_made_anew(folder: Path, harm: str) -> None:
    small()(0.5, 0.1)
    (file,) = folder.glob("*.code")
    whole = file.read_bytes()
    if harm == "locked":
        file.unlink()
        file.mkdir()
    elif harm == "other":
        keep_in([folder], file.name, b"no pickle")
    else:
        file.write_bytes({"garbled": whole[:-1] + bytes([whole[-1] ^ 1]), "cut short": whole[:-9], "empty": b""}[harm])
    again = small()
    assert again(0.5, 0.1) == pytest.approx(0.475)
    assert again.made == 1
    if harm != "locked":
        third = small()
        assert third(0.5, 0.1) == pytest.approx(0.475)
        assert third.made == 0


@needs_compiler
def test_other_sources_are_other_code(folder: Path) -> None:
    for sources in (("kernel_harvest",), ("kernel_harvest", "tables")):
        kept(*sources)(smallest)(0.5, 0.1)
    assert len(list(folder.glob("*.code"))) == 2


@needs_compiler
def test_code_that_calls_what_is_nowhere_is_not_loaded(folder: Path) -> None:
    """The system would end the process for it."""
    small()(0.5, 0.1)
    (file,) = folder.glob("*.code")
    (data,) = kept_in([folder], file.name)
    code = replace(pickle.loads(data), symbols=("nowhere_to_be_found",))
    with pytest.raises(NotLoadedError, match="nowhere_to_be_found"):
        loaded(code, [ctypes.c_double, ctypes.c_double])
    keep_in([folder], file.name, pickle.dumps(code))
    again = small()
    assert again(0.5, 0.1) == pytest.approx(0.475)
    assert again.made == 1


@needs_compiler
def test_a_machine_that_cannot_load_code_lets_numba_call_it(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> object:
        raise OSError("no memory that may be run")

    monkeypatch.setattr(compiled, "loaded", refuse)
    assert small()(0.5, 0.1) == pytest.approx(0.475)


@needs_compiler
def test_arrays_numbers_and_tuples_are_laid_out_flat() -> None:
    """In any layout of the array, each kind by code of its own; what is none of these is refused."""
    table = np.arange(6.0).reshape(2, 3)
    flat, kinds = flattened(((2, True), table[:, ::2], 0.5))
    assert flat == [2, True, 0, 0, 4, 8, table.ctypes.data, 2, 2, 24, 16, 0.5]
    assert kinds[-1] == "float"
    assert len({flattened((one,))[1] for one in (table, table.T, table[:, ::2], table[:1, :1], table.astype(int))}) == 4
    with pytest.raises(TypeError, match="takes no str"):
        flattened(("text",))


@needs_compiler
def test_a_season_needs_no_compiler_once_compiled() -> None:
    """In a second process numba is not even imported, which takes longer than the season."""
    program = PROGRAM.format(hide=False, folders=[]) + 'print("numba" in sys.modules)'
    grow(case("alone"), 1, 5, voxels=False)
    ran = subprocess.run([sys.executable, "-c", program], cwd=TESTS, capture_output=True, text=True, check=True)
    assert ran.stdout.splitlines()[-1] == "False"


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="no owners of files here")
def test_a_folder_that_others_can_write_to_is_not_trusted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    mine = tmp_path / "mixcraft"
    assert mine in compiled.folders()
    assert mine.stat().st_mode & 0o077 == 0
    mine.chmod(0o777)
    assert mine not in compiled.folders()
