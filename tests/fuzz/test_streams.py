"""Standard streams as people have them: closed, full, gone, in another encoding; and names that a terminal would obey."""

from __future__ import annotations

import io
import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mixcraft.cli import main
from mixcraft.cli.streams import ESCAPED, Guarded, escape_error, visible

POSIX = pytest.mark.skipif(os.name != "posix", reason="descriptors are closed by a shell")
PROGRAM = f'"{sys.executable}" -c "from mixcraft.cli import entry; entry()"'
TRACEBACK = "Traceback"


def shell(command: str, folder: Path, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """A command line given to the shell, `@` standing for the program."""
    kept = {key: value for key, value in os.environ.items() if key not in ("PYTHONIOENCODING", "PYTHONUTF8", "LC_ALL")}
    line = ["/bin/sh", "-c", command.replace("@", PROGRAM)]
    return subprocess.run(line, cwd=folder, env={**kept, **environment}, capture_output=True, check=False, timeout=600)


@POSIX
@pytest.mark.parametrize(
    ("streams", "good", "bad"),
    [
        (">&- 2>&- <&-", 0, 2), (">/dev/full", 2, 2),
        *(pytest.param(*case, marks=pytest.mark.slow)
          for case in ((">&-", 0, 2), ("2>&-", 0, 2), ("2>/dev/full", 0, 2), (">/dev/full 2>&1", 2, 2))),
    ],
)  # fmt: skip
def test_streams_that_are_closed_or_full(streams: str, good: int, bad: int, demo: Path) -> None:
    """The exit status says what happened, whether or not anything can be written; there is no traceback anywhere."""
    if "full" in streams and not os.path.exists("/dev/full"):
        pytest.skip("needs /dev/full")
    for arguments, code in (("check salad-and-roots.recipe.yaml", good), ("check none.yaml", bad)):
        done = shell(f"@ {arguments} {streams}", demo)
        assert done.returncode == code, (arguments, done)
        assert TRACEBACK.encode() not in done.stdout + done.stderr


@POSIX
def test_a_reader_that_has_seen_enough(demo: Path) -> None:
    done = shell("{ @ crops; echo status $? >&2; } | head -1", demo)
    assert done.stdout.count(b"\n") == 1
    assert done.stderr in (b"status 0\n", b"status 120\n")
    assert TRACEBACK.encode() not in done.stderr


JAPANESE, ESCAPES = "畑の台所 🌱", r"\u7551\u306e\u53f0\u6240 \ud83c\udf31"


@pytest.fixture
def japanese(demo: Path, tmp_path: Path) -> Path:
    """The demonstration recipe under a Japanese name, and the garden."""
    text = (demo / "salad-and-roots.recipe.yaml").read_text("utf-8")
    (tmp_path / "r.yaml").write_text(text.replace("name: Salad and roots, sown once", f"name: {JAPANESE}", 1), "utf-8")
    (tmp_path / "g.yaml").write_bytes((demo / "kiln-lane.garden.yaml").read_bytes())
    return tmp_path


@POSIX
@pytest.mark.parametrize(
    "environment",
    [
        {"LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"},
        *(pytest.param(more, marks=pytest.mark.slow) for more in ({"PYTHONIOENCODING": "cp1252"}, {})),
    ],
)
def test_names_of_any_script_in_any_encoding(environment: dict[str, str], japanese: Path) -> None:
    """Pipes get UTF-8; where the user asks for less, what it lacks is escaped; JSON stays JSON that says the same."""
    score = "@ score r.yaml -g g.yaml -b 'long bed' --years 1 --no-repairs"
    done = shell(score, japanese, **environment)
    assert (done.returncode, done.stderr) == (0, b"")
    encoding = environment.get("PYTHONIOENCODING", "utf-8")
    assert (JAPANESE if encoding == "utf-8" else ESCAPES) in done.stdout.decode(encoding)
    if encoding != "utf-8":
        done = shell(f"{score} --json", japanese, **environment)
        assert (done.returncode, done.stderr) == (0, b"")
        assert json.loads(done.stdout.decode(encoding))["recipe"] == JAPANESE


@given(st.text())
def test_what_a_terminal_would_obey_is_shown(text: str) -> None:
    shown = visible("." + text)
    assert not ESCAPED & {ord(c) for c in shown}
    assert json.loads(json.dumps("." + text, ensure_ascii=False).translate({c: f"\\u{c:04x}" for c in ESCAPED})) == "." + text


def test_orders_in_the_name_of_a_file_do_not_reach_the_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "\x1b[2Jgone\u202e.yaml"]) == 2
    out, err = capsys.readouterr()
    assert not {"\x1b", "\u202e"} & set(out + err)
    assert r"1b[2Jgone\u202e.yaml" in err
    assert main(["card", "r.yaml", "-g", "g.yaml", "-o", "\x1b[2J.svg"]) == 2
    assert capsys.readouterr().err == "mixcraft: \\u001b[2J.svg: write a file ending in .pdf\n"


def test_progress_may_go_back_to_the_start_of_its_line() -> None:
    stream = io.StringIO()
    Guarded(stream).write("\r50 %\rnot so")
    assert stream.getvalue() == "\r50 %\\u000dnot so"


def test_what_cannot_be_decoded_is_not_encoded_either() -> None:
    assert escape_error(UnicodeEncodeError("ascii", "aé🌱", 1, 3, "x")) == (r"\u00e9\ud83c\udf31", 3)
    assert escape_error(UnicodeEncodeError("utf-8", "\udcff", 0, 1, "x")) == (r"\udcff", 1)
    with pytest.raises(UnicodeDecodeError):
        escape_error(UnicodeDecodeError("ascii", b"\xff", 0, 1, "x"))


@POSIX
def test_a_polite_stop_leaves_no_half_written_file(demo: Path, tmp_path: Path) -> None:
    """The process stops itself while a card is written, by the signal that `kill` and a shutdown send."""
    program = (
        "import os, signal; os.fsync = lambda *_: os.kill(os.getpid(), signal.SIGTERM)\nfrom mixcraft.cli import entry; entry()"
    )
    done = subprocess.run(
        [sys.executable, "-c", program, "new", "recipe", "-o", str(tmp_path / "new.yaml")], check=False, timeout=600, cwd=demo
    )
    assert done.returncode == 128 + signal.SIGTERM
    assert list(tmp_path.iterdir()) == []


@POSIX
@pytest.mark.parametrize("command", ["score", "card", "light", "graph"])
def test_a_weather_file_that_is_none(command: str, demo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Devices without end, pipes that nobody writes to, folders and sparse files of a terabyte are refused unread."""
    os.mkfifo(tmp_path / "pipe.csv")
    (tmp_path / "folder.csv").mkdir()
    (tmp_path / "zero.csv").symlink_to("/dev/zero")
    (tmp_path / "zero.epw").symlink_to("/dev/zero")
    with (tmp_path / "large.csv").open("wb") as handle:
        handle.truncate(10**12)
    arguments = [command, str(demo / "salad-and-roots.recipe.yaml"), "-g", str(demo / "kiln-lane.garden.yaml"), "-b", "long bed"]
    output = ["-o", str(tmp_path / "out.pdf")] if command == "card" else []
    for name, said in (
        ("pipe.csv", "not an ordinary file"), ("folder.csv", "a folder"), ("zero.csv", "not an ordinary file"),
        ("zero.epw", "not an ordinary file"), ("large.csv", "1000000 MB, allowed are 50 MB"),
    ):  # fmt: skip
        assert main([*arguments, *output, "--weather", str(tmp_path / name)]) == 2, name
        err = capsys.readouterr().err
        assert f"the weather file {'has' if 'MB' in said else 'is'} {said}" in err, name
    assert not (tmp_path / "out.pdf").exists()


@pytest.mark.parametrize(("command", "ending"), [("card", ".pdf"), ("graph", ".json"), ("light", ".svg")])
def test_an_output_that_is_an_input_is_refused_before_anything_is_done(
    command: str, ending: str, demo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    recipe, garden = tmp_path / f"recipe{ending}", tmp_path / f"garden{ending}"
    recipe.write_bytes((demo / "salad-and-roots.recipe.yaml").read_bytes())
    garden.write_bytes((demo / "kiln-lane.garden.yaml").read_bytes())
    (tmp_path / f"other{ending}").symlink_to(recipe)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    for output in (recipe, garden, tmp_path / f"other{ending}"):
        assert main([command, str(recipe), "-g", str(garden), "-b", "long bed", "-o", str(output)]) == 2
        assert "it is the file that is read; name another" in capsys.readouterr().err
    for output in (tmp_path / ("x" * 300 + ending), tmp_path / "nowhere" / f"a{ending}"):
        assert main([command, str(recipe), "-g", str(garden), "-b", "long bed", "-o", str(output)]) == 2
        assert capsys.readouterr().err.startswith("mixcraft: cannot write ")
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before
