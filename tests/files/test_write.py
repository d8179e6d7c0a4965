"""Writing whole or not at all."""

from __future__ import annotations

import os
import signal
import stat
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from mixcraft.files import UsageError, check_output, write_atomically

POSIX = pytest.mark.skipif(os.name != "posix", reason="needs POSIX permissions and links")


def names(folder: Path) -> list[str]:
    return sorted(os.listdir(folder))


def test_writes_text_and_bytes(tmp_path: Path) -> None:
    write_atomically(tmp_path / "new.yaml", "name: Müller\r\n")
    assert (tmp_path / "new.yaml").read_bytes() == "name: Müller\r\n".encode()
    write_atomically(str(tmp_path / "new.yaml"), b"\x00\xff")
    assert (tmp_path / "new.yaml").read_bytes() == b"\x00\xff"
    assert names(tmp_path) == ["new.yaml"]


@pytest.mark.parametrize("step", ["os.fsync", "os.replace", "os.chmod", "os.fdopen"])
@pytest.mark.parametrize("error", [OSError(28, "No space left on device"), KeyboardInterrupt()])
def test_a_fault_at_any_step_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, error: BaseException
) -> None:
    path = tmp_path / "bed.yaml"
    path.write_text("old")

    def fail(*_: Any, **__: Any) -> None:
        raise error

    with monkeypatch.context() as patch:
        patch.setattr(step, fail)
        with pytest.raises(UsageError if isinstance(error, OSError) else KeyboardInterrupt) as caught:
            write_atomically(path, "new")
    if isinstance(error, OSError):
        assert "no space left on device; the file is as it was" in str(caught.value)
    assert path.read_text() == "old"
    assert names(tmp_path) == ["bed.yaml"]


def test_text_that_cannot_be_encoded_leaves_the_old_file(tmp_path: Path) -> None:
    path = tmp_path / "bed.yaml"
    path.write_text("old")
    with pytest.raises(UnicodeEncodeError):
        write_atomically(path, "\ud800")
    assert path.read_text() == "old"


def test_what_cannot_be_written_is_one_clear_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "folder").mkdir()
    with pytest.raises(UsageError, match="it is a folder; name a file"):
        write_atomically(tmp_path / "folder", "x")
    with pytest.raises(UsageError, match="there is no folder nowhere; make it first"):
        write_atomically(tmp_path / "nowhere" / "bed.yaml", "x")
    (tmp_path / "bed.yaml").write_text("old")
    with pytest.raises(UsageError, match=r"there is no folder bed\.yaml"):
        write_atomically(tmp_path / "bed.yaml" / "inner.yaml", "x")
    monkeypatch.setattr(os, "access", lambda *_: False)
    with pytest.raises(UsageError, match="write-protected") as caught:
        write_atomically(tmp_path / "bed.yaml", "x")
    assert "\n" not in str(caught.value)
    assert (tmp_path / "bed.yaml").read_text() == "old"


@pytest.mark.skipif(not os.path.exists("/dev/null"), reason="needs a device file")
def test_a_device_is_not_replaced() -> None:
    with pytest.raises(UsageError, match="not an ordinary file"):
        write_atomically("/dev/null", "x")


@POSIX
def test_permissions_are_kept_and_links_followed(tmp_path: Path) -> None:
    real = tmp_path / "real.yaml"
    real.write_text("old")
    real.chmod(0o640)
    (tmp_path / "link.yaml").symlink_to(real)
    write_atomically(tmp_path / "link.yaml", "new")
    assert (tmp_path / "link.yaml").is_symlink()
    assert real.read_text() == "new"
    assert stat.S_IMODE(real.stat().st_mode) == 0o640


@POSIX
def test_a_new_file_has_the_usual_permissions(tmp_path: Path) -> None:
    write_atomically(tmp_path / "new.yaml", "x")
    (tmp_path / "other.yaml").write_text("x")
    assert (tmp_path / "new.yaml").stat().st_mode == (tmp_path / "other.yaml").stat().st_mode


STAGES = ("tempfile.mkstemp", "os.fdopen", "os.fsync", "os.chmod", "os.replace", "write._sync_folder")
"""What is called on the way, in order; a process is killed before and after each."""
NEW = "new" * 100_000


def kill_at(path: Path, stage: str, after: bool) -> None:
    """A process that kills itself at a stage of writing a file."""
    module, name = stage.split(".")
    program = (
        "import os, signal, tempfile; from mixcraft.files import write\n"
        f"real = {module}.{name}\n"
        "def deadly(*a, **k):\n"
        f"    if {after}: real(*a, **k)\n"
        "    os.kill(os.getpid(), signal.SIGKILL)\n"
        f"{module}.{name} = deadly\n"
        f"write.write_atomically({str(path)!r}, 'new' * 100_000)"
    )
    done = subprocess.run([sys.executable, "-c", program], cwd=Path(__file__).parents[2], check=False, timeout=600)
    assert done.returncode == -signal.SIGKILL


@POSIX
@pytest.mark.parametrize("after", [False, True])
@pytest.mark.parametrize("stage", STAGES)
def test_a_killed_process_leaves_the_old_or_the_new_file_and_nothing_for_ever(tmp_path: Path, stage: str, after: bool) -> None:
    path = tmp_path / "bed.yaml"
    path.write_text("old")
    kill_at(path, stage, after)
    replaced = (stage, after) in {("os.replace", True), ("write._sync_folder", False), ("write._sync_folder", True)}
    assert path.read_text() == (NEW if replaced else "old")
    left = [name for name in names(tmp_path) if name != "bed.yaml"]
    assert len(left) <= 1
    write_atomically(tmp_path / "other.yaml", "x")
    assert set(left) <= set(names(tmp_path)), "a young file may be one that somebody is writing"
    for name in left:
        os.utime(tmp_path / name, (0, 0))
    write_atomically(tmp_path / "other.yaml", "x")
    assert names(tmp_path) == ["bed.yaml", "other.yaml"]


@POSIX
def test_what_others_write_is_not_swept(tmp_path: Path) -> None:
    """Files of other names, folders, and a file that a living process holds, however old."""
    import fcntl

    ours = tmp_path / ".mixcraft-abc.part"
    for name in (".mixcraft-abc.part", ".other.part", "notes.part", ".mixcraft-abc.partial"):
        (tmp_path / name).write_text("half")
        os.utime(tmp_path / name, (0, 0))
    (tmp_path / ".mixcraft-folder.part").mkdir()
    os.utime(tmp_path / ".mixcraft-folder.part", (0, 0))
    before = names(tmp_path)
    with open(ours, "rb") as stream:
        fcntl.flock(stream.fileno(), fcntl.LOCK_EX)
        write_atomically(tmp_path / "bed.yaml", "x")
        assert names(tmp_path) == sorted([*before, "bed.yaml"])
    write_atomically(tmp_path / "bed.yaml", "x")
    assert names(tmp_path) == sorted([*(name for name in before if name != ours.name), "bed.yaml"])


@POSIX
def test_an_output_that_is_read_is_refused_under_any_name(tmp_path: Path) -> None:
    read = tmp_path / "bed.yaml"
    read.write_text("old")
    (tmp_path / "link.yaml").symlink_to(read)
    os.link(read, tmp_path / "hard.yaml")
    (tmp_path / "folder").mkdir()
    for name in ("bed.yaml", "link.yaml", "hard.yaml", "folder/../bed.yaml"):
        with pytest.raises(UsageError, match="it is the file that is read; name another"):
            check_output(tmp_path / name, [None, tmp_path / "none.yaml", read])
    assert check_output(tmp_path / "card.pdf", [read]) == Path(os.path.realpath(tmp_path / "card.pdf"))
    assert names(tmp_path) == ["bed.yaml", "folder", "hard.yaml", "link.yaml"]


@pytest.mark.parametrize("name", ["x" * 300, "x" * 5000, "bed\0.yaml", "a" * 300 + "/bed.yaml"])
def test_names_that_no_file_can_have_are_one_clear_line(tmp_path: Path, name: str) -> None:
    with pytest.raises(UsageError, match="cannot write") as caught:
        write_atomically(f"{tmp_path}/{name}", "x")
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 200 + len(str(tmp_path))
    assert names(tmp_path) == []
