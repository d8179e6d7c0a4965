"""The system libraries that the card is drawn with: all are looked for, and one that lacks is named, by command and set-up."""

from __future__ import annotations

import importlib.util
import os
import re
import stat
import subprocess
import sys
from importlib.machinery import ModuleSpec
from pathlib import Path

import pytest

from mixcraft.cli import main
from mixcraft.press import card, libraries
from mixcraft.press.libraries import LIBRARIES, advice

OPTIONAL_UNWARNED = {"harfbuzz-vector"}
"""Opened if it is there, and not missed by WeasyPrint when it is not."""


def test_each_library_that_weasyprint_opens_is_looked_for() -> None:
    spec = importlib.util.find_spec("weasyprint")
    assert spec is not None
    assert spec.origin is not None
    source = (Path(spec.origin).parent / "text" / "ffi.py").read_text(encoding="utf-8")
    opened = re.findall(r"= _dlopen\(\s*ffi,((?:\s*'[^']+',?)+)(\s*allow_fail=True)?", source)
    assert len(opened) >= 6
    for names, optional in opened:
        files = set(re.findall(r"'([^']+)'", names))
        ours = [library for library in LIBRARIES if library.file in files]
        if not ours:
            assert files & OPTIONAL_UNWARNED, f"WeasyPrint opens {sorted(files)}, which the set-up does not look for"
            continue
        assert ours[0].name in files, f"{ours[0].name} is not a name that WeasyPrint knows: {sorted(files)}"
        assert ours[0].needed is not bool(optional), ours[0].name


def test_advice_names_what_lacks_and_nothing_else() -> None:
    text = advice([library for library in LIBRARIES if library.name == "harfbuzz-subset"])
    assert "harfbuzz-subset cannot be opened" in text
    assert "apt-get install libharfbuzz-subset0;" in text
    assert "dnf install harfbuzz;" in text
    assert "brew install pango" in text
    assert "fontconfig" not in text


@pytest.mark.parametrize(("lacks", "code"), [((), 0), (("harfbuzz-subset",), 1), (("pango-1.0", "harfbuzz-subset"), 2)])
def test_status_says_whether_a_card_can_be_printed(
    lacks: tuple[str, ...], code: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(libraries, "missing", lambda: tuple(library for library in LIBRARIES if library.name in lacks))
    assert libraries.main(["--debian"]) == code
    assert capsys.readouterr().out.split() == [library.debian for library in LIBRARIES if library.name in lacks]


class NoPango:
    """An importer on a machine where WeasyPrint's own import ends as it does without Pango."""

    def find_spec(self, name: str, path: object = None, target: object = None) -> ModuleSpec | None:
        if name == "weasyprint":
            print("-----\nWeasyPrint could not import some external libraries.\n-----")
            raise OSError("cannot load library 'libpango-1.0-0'")
        return None


def test_card_without_pango_is_one_clear_message(
    root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.delitem(sys.modules, "weasyprint", raising=False)
    monkeypatch.setattr(sys, "meta_path", [NoPango(), *sys.meta_path])
    monkeypatch.setattr(card, "missing", lambda: tuple(library for library in LIBRARIES if library.name == "pango-1.0"))
    demo = root / "recipes_demo"
    arguments = ["card", str(demo / "salad-and-roots.recipe.yaml"), "-g", str(demo / "kiln-lane.garden.yaml"), "-b", "long bed"]
    assert main([*arguments, "--years", "1", "-o", str(tmp_path / "card.pdf")]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("mixcraft: the card is drawn with system libraries, and pango-1.0 cannot be opened; install: Debian")
    assert err.count("\n") == 1
    assert not list(tmp_path.iterdir())


def _script(path: Path, text: str) -> None:
    path.write_text("#!/bin/sh\n" + text, encoding="utf-8")
    path.chmod(path.stat().st_mode | stat.S_IXUSR)


@pytest.mark.parametrize("user", ["0", "1000"])
@pytest.mark.skipif(os.name != "posix", reason="the set-up is a shell script")
def test_set_up_installs_what_lacks_or_names_it(user: str, root: Path, tmp_path: Path) -> None:
    """On a machine where renewing the lists of packages fails, and where only harfbuzz-subset is missing."""
    (tmp_path / ".ci").mkdir()
    (tmp_path / ".ci" / "setup").write_bytes((root / ".ci" / "setup").read_bytes())
    commands, venv, log = tmp_path / "commands", tmp_path / ".venv" / "bin", tmp_path / "log"
    commands.mkdir()
    venv.mkdir(parents=True)
    _script(commands / "id", f"echo {user}\n")
    _script(commands / "apt-get", f'echo "$@" >> {log}\n[ "$1" != update ]\n')
    _script(commands / "python3", "exit 0\n")
    _script(
        venv / "python",
        f'[ ! -f {log} ] || exit 0\ncase "$*" in *--debian) echo libharfbuzz-subset0 ;; *libraries) echo it lacks ;; esac\n',
    )
    path = {"PATH": f"{commands}:/usr/bin:/bin"}
    run = subprocess.run(["/bin/sh", ".ci/setup"], cwd=tmp_path, env=path, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stderr
    assert "mixcraft is in .venv/bin/mixcraft" in run.stdout
    if user == "0":
        asked = log.read_text(encoding="utf-8").splitlines()
        assert asked[0].startswith("update")
        assert asked[1].startswith("install")
        assert asked[1].endswith(" libharfbuzz-subset0")
        assert "it lacks" not in run.stderr
    else:
        assert not log.exists()
        assert "it lacks" in run.stderr


def test_no_compiler_is_asked_for_a_library() -> None:
    """Python looks for a library by running a compiler and a linker for every spelling that WeasyPrint tries."""
    asked = (
        "import sys; sys.addaudithook(lambda what, _: what == 'subprocess.Popen' and sys.exit('a program was started'));"
        "from mixcraft.press.card import _weasyprint; _weasyprint()"
    )
    run = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True)
    assert run.returncode == 0, run.stderr
