"""From a file to text: what is no YAML text of a sane size is refused here, before it costs anything."""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path
from typing import NoReturn

from mixcraft.files.document import LINE_END
from mixcraft.files.faults import Fault, FileFaults

MAX_BYTES = 2_000_000  # of one file

_NOT_PRINTABLE = re.compile(  # what YAML 1.2.2 [1] c-printable leaves out
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\ufffe\uffff]"
)

_UNSEEN = re.compile(  # control characters and those that turn the direction of writing (Unicode bidi class controls)
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]"
)


def unseen_character(text: str) -> str:
    """The first control, escape or direction character of a text, as ``U+202E``; nothing if there is none.

    Such characters are invisible, and they make a terminal or a printed page show something else than what is written.
    """
    found = _UNSEEN.search(text)
    return f"U+{ord(found.group()):04X}" if found else ""


def read_text(path: Path, name: str) -> str:
    """Read a file as text. Raises FileFaults if it is missing, no file, too large, or not UTF-8."""
    return _decode(_read_bytes(path, name), name)


def _file_fault(name: str, rule: str, message: str, repair: str, **more: str) -> NoReturn:
    raise FileFaults(Fault(name, 0, 0, "", rule, message, repair=repair, **more)) from None


def _read_bytes(path: Path, name: str) -> bytes:
    """Read at most MAX_BYTES of a regular file, whose size is looked at before it is opened."""
    try:
        status = os.stat(path)
    except FileNotFoundError:
        _file_fault(name, "missing-file", "there is no such file", _near_file(path))
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        _file_fault(name, "unreadable", f"the file cannot be read ({reason})", "check the name and its folder")
    if stat.S_ISDIR(status.st_mode):
        _file_fault(name, "not-a-file", "this is a folder, not a file", _inside_folder(path))
    if not stat.S_ISREG(status.st_mode):
        _file_fault(name, "not-a-file", "this is not an ordinary file", "save the text as a .yaml file first")
    if status.st_size > MAX_BYTES:
        _too_large(name, status.st_size)
    return _read_bounded(path, name)


def _read_bounded(path: Path, name: str) -> bytes:
    """Read a file that may have grown since it was looked at."""
    try:
        with open(path, "rb") as stream:
            data = stream.read(MAX_BYTES + 1)
    except OSError as error:
        said = f"the file cannot be read ({error.strerror})"
        _file_fault(name, "unreadable", said, "check who may read the file")
    if len(data) > MAX_BYTES:
        _too_large(name, len(data))
    return data


def _too_large(name: str, size: int) -> NoReturn:
    _file_fault(
        name,
        "too-large",
        "the file is too large for a mixcraft file",
        "check that this is the right file; split it if it is",
        found=f"{size / 1e6:.1f} MB",
        allowed=f"up to {MAX_BYTES / 1e6:.0f} MB",
    )


def _near_file(path: Path) -> str:
    """A repair for a missing file: a near name in the same folder, if there is one."""
    from mixcraft.files.near import meant

    try:
        names = [entry.name for entry in os.scandir(path.parent) if entry.name.endswith((".yaml", ".yml"))]
    except OSError:
        return f"there is no folder `{path.parent}` either; check the name"
    return meant(path.name, names) or "check the name and the folder you are in"


def _inside_folder(path: Path) -> str:
    try:
        names = sorted(entry.name for entry in os.scandir(path) if entry.name.endswith((".yaml", ".yml")))
    except OSError:
        names = []
    return f"name a file in it, such as `{path / names[0]}`" if names else "name a .yaml file"


_KINDS_OF_FILE = (
    (b"%PDF", "a PDF"),
    (b"PK\x03\x04", "a zip or office file"),
    (b"\x89PNG", "an image"),
    (b"\xff\xd8\xff", "an image"),
    (b"\x1f\x8b", "a compressed file"),
)


def _decode(data: bytes, name: str) -> str:
    """Decode UTF-8 (a byte order mark is allowed), or say what else the file seems to be."""
    for start, kind in _KINDS_OF_FILE:
        if data.startswith(start):
            _file_fault(name, "not-text", f"this is {kind}, not a YAML text", "name the .yaml file")
    if data.startswith((b"\xff\xfe", b"\xfe\xff")) or (data[:4].count(0) in (2, 3) and len(data) >= 4):
        _file_fault(name, "encoding", "the text is saved as UTF-16 or UTF-32", "save it again as UTF-8")
    if b"\0" in data:
        _file_fault(name, "not-text", "this is not a text file", "name the .yaml file")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        _not_utf8(data, error.start, name)


def _not_utf8(data: bytes, at: int, name: str) -> NoReturn:
    """One fault at the first byte that is not UTF-8."""
    before = data[:at].decode("utf-8")
    lines = LINE_END.split(before)
    source = LINE_END.split(data[at - len(lines[-1].encode()) :][:400].decode("cp1252", errors="replace"))[0]
    _spot_fault(
        name, lines, "encoding", "the text is not UTF-8 from here on", f"byte 0x{data[at]:02X}",
        "save the file again as UTF-8", source,
    )  # fmt: skip


def _spot_fault(name: str, lines: list[str], rule: str, message: str, found: str, repair: str, source: str) -> NoReturn:
    """One fault at the end of `lines`, the lines of the text before it."""
    fault = Fault(
        name, len(lines), len(lines[-1]) + 1, "", rule, message, found=found, repair=repair, source_line=source
    )  # fmt: skip
    raise FileFaults(fault) from None


def check_text(text: str, name: str) -> None:
    """Refuse a text that is too long, empty, or holds characters that YAML does not allow."""
    if len(text) > MAX_BYTES:
        _too_large(name, len(text))
    bad = _NOT_PRINTABLE.search(text) or _UNSEEN.search(text)
    if bad:
        _bad_character(text, bad.start(), name)
    if not text.strip():
        _file_fault(name, "empty", "the file is empty", "write something into it, or name another file")


def _bad_character(text: str, at: int, name: str) -> NoReturn:
    lines = LINE_END.split(text[:at])
    if text[at] == "\0" or sum(1 for _ in _NOT_PRINTABLE.finditer(text[:2000])) > 20:
        _file_fault(name, "not-text", "this is not a text file", "name the .yaml file")
    rest = LINE_END.split(text[at : at + 400])[0]
    _spot_fault(
        name, lines, "character", "a control character (or one of direction) stands here", f"U+{ord(text[at]):04X}",
        "delete the character (it may be invisible)", lines[-1] + rest,
    )  # fmt: skip
