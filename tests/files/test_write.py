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

from mixcraft.files import UsageError, write_atomically

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


@POSIX
def test_a_killed_process_leaves_the_old_or_the_new_file(tmp_path: Path) -> None:
    """The process kills itself at the worst moment: all is written, nothing has taken its place."""
    path = tmp_path / "bed.yaml"
    path.write_text("old")
    program = (
        "import os, signal; from mixcraft.files import write_atomically\n"
        "os.replace = lambda *a: os.kill(os.getpid(), signal.SIGKILL)\n"
        f"write_atomically({str(path)!r}, 'new' * 100000)"
    )
    root = Path(__file__).parents[2]
    done = subprocess.run([sys.executable, "-c", program], cwd=root, check=False, timeout=600)
    assert done.returncode == -signal.SIGKILL
    assert path.read_text() == "old"
