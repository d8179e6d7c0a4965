"""README and DEVELOPERS say what is true: every Python snippet and every mixcraft command in them runs."""

from __future__ import annotations

import re
import shlex
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from mixcraft.cli import main
from mixcraft.cli.main import build_parser
from mixcraft.files import parse_document
from mixcraft.recipe.reading import read_recipe

from .sources import ROOT

DOCUMENTS = ("README.md", "DEVELOPERS.md")
FENCE = re.compile(r"^```(\w*)\n(.*?)^```", re.MULTILINE | re.DOTALL)


def fenced(name: str, *languages: str) -> list[str]:
    """Blocks of a document that are marked as one of these languages."""
    found = FENCE.findall((ROOT / name).read_text("utf-8"))
    return [text for language, text in found if language in languages]


def commands(name: str) -> Iterator[list[str]]:
    """The words after `mixcraft` of every command line of a document, in order; a transcript marks them with `$`."""
    for block in fenced(name, "sh", "text", "console"):
        for line in block.splitlines():
            words = shlex.split(line.removeprefix("$ "), comments=True) if "mixcraft" in line.split("#")[0] else []
            if words[:1] == ["mixcraft"]:
                yield words[1:]
    prose = FENCE.sub("", (ROOT / name).read_text("utf-8"))
    for inline in re.findall(r"`mixcraft ([^`.]+(?:\.[^`.]+)*)`", prose):
        yield shlex.split(inline)


@pytest.fixture
def copy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with what the documents name, as the working folder."""
    shutil.copytree(ROOT / "recipes_demo", tmp_path / "recipes_demo")
    (tmp_path / "mixcraft" / "crops" / "data").mkdir(parents=True)
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("name", DOCUMENTS)
def test_commands_of_the_documents_are_understood(name: str) -> None:
    """Without running them: every option and word is one that the command line knows."""
    parser = build_parser()
    for words in commands(name):
        assert parser.parse_args(words).command == words[0]


SHORTER = {"design": ["--time", "2s", "--years", "4"]}
"""What shortens a command that takes long; `-m bench` runs it as it is printed."""
FEW_CROPS, FEW_PLACES = "at_hand: [radish, lettuce, spinach, beetroot, bush bean]\n", 2
"""What a new brief asks for, and rows of the demonstration's places, where commands are to be short."""


@pytest.mark.parametrize("name", [pytest.param("README.md", marks=pytest.mark.slow), "DEVELOPERS.md"])
def test_commands_of_the_documents_run(name: str, copy: Path, capsys: pytest.CaptureFixture[str]) -> None:
    places = copy / "recipes_demo" / "places.csv"
    places.write_text("".join(places.read_text("utf-8").splitlines(keepends=True)[: FEW_PLACES + 1]), "utf-8")
    for words in commands(name):
        all_run([words + SHORTER.get(words[0], [])], capsys)
        if words[:2] == ["new", "brief"]:
            with (copy / words[-1]).open("a", encoding="utf-8") as brief:
                brief.write(FEW_CROPS)
    assert len(list(commands(name))) >= 2, "the document shows no commands"


@pytest.mark.bench
def test_commands_of_the_readme_run_as_they_are_printed(copy: Path, capsys: pytest.CaptureFixture[str]) -> None:
    all_run(list(commands("README.md")), capsys)


def all_run(asked: list[list[str]], capsys: pytest.CaptureFixture[str]) -> None:
    """Run the commands of a document, one after the other."""
    for words in asked:
        assert main(words) == 0, f"{words}: {capsys.readouterr().err}"


def test_python_of_the_documents_runs(copy: Path) -> None:
    snippets = [(name, text) for name in DOCUMENTS for text in fenced(name, "python")]
    assert snippets
    for name, text in snippets:
        exec(compile(text, name, "exec"), {"__name__": "snippet"})


def test_recipes_of_the_documents_are_good() -> None:
    recipes = [(name, text) for name in DOCUMENTS for text in fenced(name, "yaml") if "mixcraft-recipe/" in text]
    assert recipes
    for name, text in recipes:
        assert read_recipe(parse_document(text, name)).plantings
