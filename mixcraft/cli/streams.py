"""Standard streams: closed, full, in a small encoding, or a terminal that obeys what is written to it.

Names come from files of strangers and from the command line; what a terminal would take for an order, or what turns the
direction of a line round, is written as an escape of JSON (``\\u001b``), so that JSON stays JSON. What an encoding lacks is
written the same way.
"""

from __future__ import annotations

import codecs
import contextlib
import io
import os
import signal
import sys
from collections.abc import Iterator
from typing import Any, NoReturn, TextIO

ESCAPED = {
    *range(0x09), *range(0x0B, 0x20), *range(0x7F, 0xA0), 0x061C, 0x200E, 0x200F, 0x2028, 0x2029,
    *range(0x202A, 0x202F), *range(0x2066, 0x206A),
}  # fmt: skip
"""C0 and C1 controls but for tab and line feed, direction marks and line separators (Unicode Standard Annex 9, section 2)."""
_VISIBLE = {code: f"\\u{code:04x}" for code in ESCAPED}
STOPPED = 128


def visible(text: str) -> str:
    """`text` with controls and direction marks as escapes; a carriage return in front is a progress line's own."""
    front = "\r" if text.startswith("\r") else ""
    return front + text[len(front) :].translate(_VISIBLE)


class Guarded(io.TextIOBase):
    """A stream that shows what would act. `lossy`: what cannot be written is lost without a word, as messages on errors are."""

    def __init__(self, stream: TextIO | None, lossy: bool = False) -> None:
        self._stream = stream if stream is not None else io.StringIO()
        self._lossy = lossy

    def write(self, text: str) -> int:
        """Write `text`; raises OSError where the stream is full and not lossy."""
        with self._losing():
            self._stream.write(visible(text))
        return len(text)

    def as_it_is(self, text: str) -> None:
        """Write a text of our own with the colours in it; what comes from others went through `visible` before."""
        with self._losing():
            self._stream.write(text)

    def flush(self) -> None:
        """Hand on what was written."""
        with self._losing():
            self._stream.flush()

    def _losing(self) -> contextlib.AbstractContextManager[Any]:
        return contextlib.suppress(OSError, ValueError) if self._lossy else contextlib.nullcontext()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)

    def isatty(self) -> bool:
        """Whether a person reads it."""
        return self._stream.isatty()

    def fileno(self) -> int:
        """The descriptor below."""
        return self._stream.fileno()

    def writable(self) -> bool:
        """Always."""
        return True


@contextlib.contextmanager
def guarded() -> Iterator[None]:
    """Standard output and error guarded, for one command."""
    before = sys.stdout, sys.stderr
    sys.stdout, sys.stderr = Guarded(before[0]), Guarded(before[1], lossy=True)
    try:
        yield
    finally:
        sys.stdout, sys.stderr = before


def below(stream: TextIO) -> TextIO:
    """The stream under a guarded one, for orders of our own to a terminal beside which nothing of others is written."""
    return stream._stream if isinstance(stream, Guarded) else stream


def escape_error(error: UnicodeError) -> tuple[str, int]:
    """What an encoding lacks as escapes of JSON, in pairs beyond the basic plane: an error handler of `codecs`."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    units = error.object[error.start : error.end].encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{int.from_bytes(units[i : i + 2]):04x}" for i in range(0, len(units), 2)), error.end


def prepare() -> None:
    """Ready the streams of this process: none closed, a full encoding for files and pipes, tidy ends.

    Files and pipes get UTF-8, the encoding of all our files, unless ``PYTHONIOENCODING`` asks for another; a terminal keeps its
    own. A polite signal to stop ends the command as an interrupt does, so that no half-written file is left.
    """
    with contextlib.suppress(OSError):
        while (handle := os.open(os.devnull, os.O_RDWR)) <= 2:
            continue  # a closed standard stream would give its number to the next file that is opened
        os.close(handle)
    codecs.register_error("mixcraft", escape_error)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            asked = os.environ.get("PYTHONIOENCODING")
            stream.reconfigure(encoding=None if asked or stream.isatty() else "utf-8", errors="mixcraft")
    for name in ("SIGTERM", "SIGHUP"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), _stop)


def _stop(number: int, _: object) -> NoReturn:
    raise SystemExit(STOPPED + number)


def finish() -> None:
    """Write what is left; what cannot be written any more goes nowhere, without a word at the very end."""
    for stream in (sys.stdout, sys.stderr):
        if stream is None:
            continue
        try:
            stream.flush()
        except (OSError, ValueError):
            with contextlib.suppress(OSError, ValueError):
                os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
