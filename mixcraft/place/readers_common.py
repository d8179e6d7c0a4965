"""What the readers of weather files share: text from a file, faults, and cutting a series into seasons."""

from __future__ import annotations

import os
import stat

import numpy as np

from mixcraft.files.faults import Fault, FileFaults
from mixcraft.place.series import DateArray, IntArray, date_range

MAX_BYTES = 50_000_000
MAX_FAULTS = 200


def read_lines(path: str | os.PathLike[str]) -> list[str]:
    """Lines of a text file without their ends; its kind and size are looked at before it is opened.

    Raises ``FileFaults`` if it is no ordinary file, too large, or cannot be read as text.
    """
    name = os.fspath(path)
    try:
        status = os.stat(path)
        if not stat.S_ISREG(status.st_mode):
            kind = "a folder" if stat.S_ISDIR(status.st_mode) else "not an ordinary file"
            raise file_fault(name, 0, "not-a-file", f"the weather file is {kind}", "name a .csv or .epw file on the disk")
        with open(path, "rb") as stream:
            data = stream.read(MAX_BYTES + 1) if status.st_size <= MAX_BYTES else b""
        if max(status.st_size, len(data)) > MAX_BYTES:
            megabytes = f"{status.st_size / 1e6:.0f} MB"
            said = f"the weather file has {megabytes}, allowed are {MAX_BYTES // 10**6} MB"
            raise file_fault(name, 0, "too-large", said, "cut it into years")
        return data.decode("utf-8-sig").splitlines()
    except UnicodeDecodeError as error:
        raise file_fault(name, 0, "encoding", f"byte {error.start + 1} is not UTF-8 text", "save the file as UTF-8") from None
    except (OSError, ValueError) as error:
        said = getattr(error, "strerror", None) or str(error)
        raise file_fault(
            name, 0, "unreadable", f"the weather file cannot be read ({said})", "check the name and its folder"
        ) from None


def fault(
    name: str,
    line: int,
    rule: str,
    message: str,
    repair: str,
    *,
    found: str = "",
    allowed: str = "",
    text: str = "",
    column: int = 1,
) -> Fault:
    """A fault of a weather file at a line (1-based, 0 for the whole file) whose ``text`` is given for the caret."""
    return Fault(
        name,
        line,
        column if line else 0,
        "",
        rule,
        message,
        found=found,
        allowed=allowed,
        repair=repair,
        source_line=text,
    )


def file_fault(name: str, line: int, rule: str, message: str, repair: str, found: str = "") -> FileFaults:
    """One fault, ready to be raised."""
    return FileFaults(fault(name, line, rule, message, repair, found=found))


def season_rows(dates: DateArray, start: np.datetime64, n_days: int) -> IntArray:
    """Indices (Y, n_days) into consecutive ``dates`` of every season that the series covers in full.

    A season begins on the month and day of ``start``; 29 February begins on 1 March where there is none.
    """
    offset = (start - start.astype("datetime64[M]").astype("datetime64[D]")).astype(np.int64)
    month = start.astype("datetime64[M]").astype(np.int64) % 12
    years = np.unique(dates.astype("datetime64[Y]"))
    first = years.astype("datetime64[M]") + month
    starts = first.astype("datetime64[D]") + offset
    rows = (starts - dates[0]).astype(np.int64)
    rows = rows[(rows >= 0) & (rows + n_days <= dates.size)]
    return np.asarray(rows[:, np.newaxis] + np.arange(n_days))


def season_dates(start: np.datetime64, n_days: int) -> DateArray:
    """The dates (n_days,) that stand for a season of every year."""
    return date_range(start, n_days)
