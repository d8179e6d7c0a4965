"""What must not stand in any tracked file: paths of machines, hosts of registries, talk about how the work was organised."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from .sources import ROOT, tracked

# one letter of each is put in brackets, so that a pattern does not find itself
FORBIDDEN = {
    "a path of a machine": r"(?<![\w.])/(wor[k]|hom[e]|roo[t]|User[s])/|/op[t]/mc|[/]tmp/(brie[f]|bash_[j]obs)|C:[\\]User[s]",
    "a host of a registry": (
        r"pypi\.[o]rg/simple|pythonhosted\.[o]rg|registry\.npm[j]s|proxy\.gola[n]g|deb\.debian\.[o]rg"
    ),
    "talk about the work": (
        r"\bsub-?agen[t]s?\b|\bfounde[r]s?\b|\bAI assistan[t]\b|\bclaud[e]\b|\banthropi[c]\b|\bseed documen[t]\b"
    ),
}  # fmt: skip
BINARY = {".ttf", ".otf", ".woff2", ".png", ".pdf", ".ico"}


def texts() -> list[tuple[Path, str]]:
    found = []
    for path in tracked():
        if path.suffix in BINARY:
            continue
        try:
            found.append((path, path.read_text("utf-8")))
        except UnicodeDecodeError:
            pytest.fail(f"{path.relative_to(ROOT)} is neither a known binary file nor UTF-8")
    return found


@pytest.mark.parametrize("what", sorted(FORBIDDEN))
def test_no_tracked_file_holds(what: str) -> None:
    pattern = re.compile(FORBIDDEN[what], re.IGNORECASE)
    found = [
        f"{path.relative_to(ROOT)}:{text.count(chr(10), 0, match.start()) + 1}: {match.group()}"
        for path, text in texts() for match in pattern.finditer(text)
    ]  # fmt: skip
    assert found == []


@pytest.mark.parametrize(
    ("what", "text"),
    [("a path of a machine", "see /work" + "/main/x"), ("a host of a registry", "https://pypi." + "org/simple/numpy"),
     ("talk about the work", "as the found" + "er said")],
)  # fmt: skip
def test_the_patterns_find_what_they_are_for(what: str, text: str) -> None:
    assert re.search(FORBIDDEN[what], text, re.IGNORECASE)


def test_file_names_are_plain() -> None:
    """Names that every system can hold: no blanks, no capitals but in the customary files, nothing longer than eighty."""
    customary = {"README.md", "DEVELOPERS.md", "LICENSE"}
    for path in tracked():
        name = str(path.relative_to(ROOT))
        assert len(name) <= 110, name
        assert re.fullmatch(r"[A-Za-z0-9._/\-]+", name), name
        if path.suffix in (".py", ".yaml", ".json", ".csv"):
            assert path.name == path.name.lower() or path.name in customary, name


def test_text_ends_with_a_line_end_and_has_no_carriage_returns() -> None:
    for path, text in texts():
        if path.suffix in (".py", ".md", ".toml", ".json") and text:
            assert text.endswith("\n"), path
            assert "\r" not in text, path
