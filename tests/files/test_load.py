"""Reading: positions, bounds, and files that are no YAML text."""

from __future__ import annotations

import json
import os
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from mixcraft.files import Document, Fault, FileFaults, load_document, parse_document
from mixcraft.files.load import LINE_END, MAX_BYTES, MAX_DEPTH, MAX_NODES
from mixcraft.files.text import unseen_character

TEXT = """\
# a comment
name: Spring bed
plantings:
  - crop: radish      # quick
    place: {kind: strip, from: 10 %}
  - crop:
    "start": [1, 2]
note: |
  two
  lines
"""


def faults_of(text: str) -> FileFaults:
    with pytest.raises(FileFaults) as caught:
        parse_document(text, "bed.yaml")
    return caught.value


def load_faults(path: Path) -> FileFaults:
    with pytest.raises(FileFaults) as caught:
        load_document(path)
    return caught.value


def outcome(action: Callable[[], Document]) -> tuple[Fault, ...]:
    """The faults of a reading, none if it goes well; any other exception passes through."""
    try:
        action()
    except FileFaults as faults:
        return faults.faults
    return ()


# Positions


def test_data_and_places() -> None:
    document = parse_document(TEXT, "bed.yaml")
    assert document.data == {
        "name": "Spring bed",
        "plantings": [
            {"crop": "radish", "place": {"kind": "strip", "from": "10 %"}},
            {"crop": None, "start": [1, 2]},
        ],
        "note": "two\nlines\n",
    }
    assert document.mark(("name",)) == (2, 7)
    assert document.key_mark(("name",)) == (2, 1)
    assert document.mark(("plantings", 0)) == (4, 5)
    assert document.mark(("plantings", 0, "place", "from")) == (5, 32)
    assert document.key_mark(("plantings", 0, "place", "from")) == (5, 26)
    assert document.mark(("plantings", 1, "start", 1)) == (7, 18)
    assert document.key_mark(("plantings", 1, "start")) == (7, 5)
    assert document.key_mark(("plantings", 1)) == (6, 5)


def test_a_missing_value_is_marked_at_its_key_and_a_missing_key_at_its_parent() -> None:
    document = parse_document(TEXT, "bed.yaml")
    assert document.mark(("plantings", 1, "crop")) == (6, 5)
    assert document.mark(("plantings", 1, "spacing", "in_row")) == document.mark(("plantings", 1))
    assert document.key_mark(("plantings", 7, "x")) == document.mark(("plantings",))
    assert document.mark(()) == (2, 1)


def test_a_fault_carries_its_line() -> None:
    document = parse_document(TEXT, "bed.yaml")
    fault = document.fault(("plantings", 0, "crop"), "no such crop", rule="crop", found="radish", repair="mend it")
    assert (fault.line, fault.column, fault.path) == (4, 11, "plantings[0].crop")
    assert fault.source_line == "  - crop: radish      # quick"
    assert str(FileFaults(fault)) == (
        "bed.yaml:4:11: no such crop\n    - crop: radish      # quick\n            ^^^^^^\n  found: radish\n  repair: mend it"
    )


words = st.text("abcxyzäß ", min_size=1, max_size=8).map(str.strip).filter(bool)
trees: st.SearchStrategy[Any] = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**12), 10**12) | st.floats(allow_nan=False) | st.text(max_size=12),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(words, inner, max_size=4),
    max_leaves=12,
)


def unseen_in(tree: Any) -> bool:
    """Whether a text of a tree holds a character that is refused."""
    if isinstance(tree, dict):
        return any(unseen_in(value) for value in tree.values())
    return any(map(unseen_in, tree)) if isinstance(tree, list) else isinstance(tree, str) and bool(unseen_character(tree))


@given(trees.filter(lambda tree: tree is not None))
def test_json_is_read_as_json_reads_it(tree: Any) -> None:
    """YAML 1.2 takes in JSON (YAML 1.2.2, section 1.2): the answer of Python's json is the outside value."""
    text = json.dumps(tree)
    if "Infinity" in text or "\\ud" in text or unseen_in(tree):
        return  # no JSON numbers; halves of surrogate pairs are no YAML, control and direction characters are refused
    assert parse_document(text, "t").data == json.loads(text)


@given(st.dictionaries(words, trees, min_size=1, max_size=4), st.booleans())
def test_every_mark_points_at_its_value(tree: dict[str, Any], flow: bool) -> None:
    """What stands at the mark of a value, read alone, is that value."""
    if unseen_in(tree):
        return
    document = parse_document(yaml.safe_dump(tree, allow_unicode=True, default_flow_style=flow, width=10_000), "t")
    lines = LINE_END.split(document.text)

    def check(node: Any, path: tuple[str | int, ...]) -> None:
        items = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
        for key, value in items:
            check(value, (*path, key))
            line, column = document.key_mark((*path, key))
            if isinstance(key, str):
                assert key in lines[line - 1][column - 1 :][: len(key) + 2]
        spot = document.spot(path)
        if spot.style in ("plain", "quoted") and path:
            text = document.text[spot.start : spot.end]
            assert parse_document(f"{{k: {text}}}" if flow else f"k: {text}", "t").data == {"k": node}

    check(document.data, ())


def test_line_ends_of_all_systems_count_alike() -> None:
    marks = {parse_document(TEXT.replace("\n", end), "t").mark(("note",)) for end in ("\n", "\r\n", "\r")}
    assert marks == {(8, 7)}


def test_a_byte_order_mark_is_passed_over(tmp_path: Path) -> None:
    path = tmp_path / "bed.yaml"
    path.write_bytes(b"\xef\xbb\xbfname: x\n")
    assert load_document(path).mark(("name",)) == (1, 7)


def test_aliases_share_and_keep_the_place_of_the_anchor() -> None:
    document = parse_document("a: &first {x: 1}\nb: *first\n", "t")
    assert document.data == {"a": {"x": 1}, "b": {"x": 1}}
    assert document.mark(("b", "x")) == (1, 15)


def test_keys_are_texts_as_written() -> None:
    assert parse_document("1: a\ntrue: b\n~: c\n2.50: d\n", "t").data == {"1": "a", "true": "b", "~": "c", "2.50": "d"}


def test_a_document_cannot_be_assigned_to() -> None:
    document = parse_document("a: 1", "t")
    with pytest.raises(AttributeError):
        document.name = "other"  # type: ignore[misc]
    assert isinstance(document, Document)


# Bounds


def alias_bomb(levels: int = 30, width: int = 9) -> str:
    lines = ["a0: &a0 [" + ", ".join(["x"] * width) + "]"]
    lines += [f"a{i}: &a{i} [" + ", ".join([f"*a{i - 1}"] * width) + "]" for i in range(1, levels)]
    return "\n".join(lines)


def measured(action: Callable[[], Document]) -> tuple[tuple[Fault, ...], float, int]:
    """The faults of an action, its processor time [s], and, in a second run, its peak of memory [bytes]."""
    begun = time.process_time()
    faults = outcome(action)
    elapsed = time.process_time() - begun
    tracemalloc.start()
    outcome(action)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return faults, elapsed, peak


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        (alias_bomb(), "too-many-values"),
        ("a: &a [" + "x, " * 1000 + "]\nb: [" + "*a, " * 1000 + "]", "too-many-values"),
        pytest.param("[" + "1," * (MAX_NODES + 10) + "]", "too-many-values", marks=pytest.mark.slow),
        ("[" * 100_000, "too-deep"),
        ("{a: " * 100_000, "too-deep"),
        ("- " * 100_000, "too-deep"),
        ("a: &a [[[1]]]\n" + "b: " + "[" * (MAX_DEPTH - 2) + "*a" + "]" * (MAX_DEPTH - 2), "too-deep"),
        ("a: &a [*a]", "alias"),
        ("x" * (MAX_BYTES + 1), "too-large"),
    ],
    ids="alias-bomb wide-aliases many-values deep-lists deep-maps deep-dashes deep-alias circle long".split(),  # noqa: SIM905
)
def test_bombs_end_fast_in_little_memory(text: str, rule: str) -> None:
    faults, elapsed, peak = measured(lambda: parse_document(text, "bomb.yaml"))
    assert [fault.rule for fault in faults] == [rule]
    assert faults[0].repair
    assert peak < 150e6
    assert elapsed < 4  # 200,000 values take the longest


def test_an_alias_bomb_ends_within_a_second() -> None:
    begun = time.process_time()
    faults_of(alias_bomb())
    assert time.process_time() - begun < 1


def test_depth_and_aliases_within_bounds_are_read() -> None:
    deep = "[" * MAX_DEPTH + "1" + "]" * MAX_DEPTH
    assert json.dumps(parse_document(deep, "t").data) == deep
    data = parse_document(alias_bomb(levels=5, width=9), "t").data
    assert len(data["a4"]) == 9


def test_a_hundred_megabytes_are_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "big.yaml"
    with path.open("wb") as stream:
        stream.truncate(100_000_000)
    faults, elapsed, peak = measured(lambda: load_document(path))
    assert [fault.rule for fault in faults] == ["too-large"]
    assert faults[0].found == "100.0 MB"
    assert elapsed < 1
    assert peak < 1e6


# Files that are no YAML text


@pytest.mark.skipif(not os.path.exists("/dev/zero"), reason="needs a device file")
def test_a_device_is_refused() -> None:
    assert [fault.rule for fault in load_faults(Path("/dev/zero")).faults] == ["not-a-file"]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
def test_a_pipe_is_refused_without_waiting(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert [fault.rule for fault in load_faults(tmp_path / "pipe").faults] == ["not-a-file"]


def test_a_folder_is_refused_and_its_files_offered(tmp_path: Path) -> None:
    (tmp_path / "bed.yaml").write_text("a: 1")
    (fault,) = load_faults(tmp_path).faults
    assert fault.rule == "not-a-file"
    assert "bed.yaml" in fault.repair


def test_a_missing_file_is_named_with_its_neighbour(tmp_path: Path) -> None:
    (tmp_path / "spring.yaml").write_text("a: 1")
    (fault,) = load_faults(tmp_path / "sprng.yaml").faults
    assert (fault.rule, fault.repair) == ("missing-file", "did you mean `spring.yaml`?")
    (fault,) = load_faults(tmp_path / "nowhere" / "bed.yaml").faults
    assert "no folder" in fault.repair


@pytest.mark.parametrize(
    ("content", "rule", "words"),
    [
        (b"", "empty", "empty"),
        (b" \n\n", "empty", "empty"),
        (b"# only\n# comments\n", "empty", "only comments"),
        (b"---\n", "empty", "empty"),
        (b"null\n", "empty", "empty"),
        (b"a: 1\n---\nb: 2\n", "several-documents", "second document"),
        ("name: Müller\n".encode("latin-1"), "encoding", "not UTF-8"),
        ("name: x\n".encode("utf-16"), "encoding", "UTF-16"),
        ("name: x\n".encode("utf-16-le"), "encoding", "UTF-16"),
        ("name: x\n".encode("utf-16-be"), "encoding", "UTF-16"),
        ("name: x\n".encode("utf-32"), "encoding", "UTF-16"),
        (b"%PDF-1.7\n", "not-text", "a PDF"),
        (b"PK\x03\x04rest", "not-text", "a zip or office file"),
        (b"\x89PNG\r\n", "not-text", "an image"),
        (b"\x7fELF\x02\x01\x01" + bytes(50), "not-text", "not a text file"),
        (b"name: a\x00b\n", "not-text", "not a text file"),
        (b"name: a\x07b\n", "character", "control character"),
        ("name: a\ufffeb\n".encode(), "character", "control character"),
    ],
)
def test_what_is_no_yaml_text_is_one_clear_fault(tmp_path: Path, content: bytes, rule: str, words: str) -> None:
    path = tmp_path / "bed.yaml"
    path.write_bytes(content)
    (fault,) = load_faults(path).faults
    assert fault.rule == rule
    assert words in fault.message
    assert fault.repair


def test_a_wrong_byte_is_shown_in_its_line(tmp_path: Path) -> None:
    path = tmp_path / "bed.yaml"
    path.write_bytes(b"a: 1\nname: M\xfcller\n")
    (fault,) = load_faults(path).faults
    assert (fault.line, fault.column, fault.source_line) == (2, 8, "name: Müller")


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused_with_a_repair(tmp_path_factory: pytest.TempPathFactory, content: bytes) -> None:
    path = tmp_path_factory.getbasetemp() / "any.yaml"
    path.write_bytes(content)
    for fault in outcome(lambda: load_document(path)):
        assert fault.message
        assert fault.repair


@given(st.text(st.sampled_from("ab1: -[]{}\"'#&*!|>%@`,?\n\t\\~<=."), max_size=60))
def test_any_text_of_yaml_signs_is_read_or_refused_with_a_repair(text: str) -> None:
    for fault in outcome(lambda: parse_document(text, "t")):
        assert fault.message
        assert fault.repair
        assert fault.line <= len(LINE_END.split(text))


def test_all_faults_of_the_reading_come_together() -> None:
    found = faults_of("a: 1\na: 2\nb: !x 1\n? [k]\n: 1\n<<: {}\n").faults
    assert [(fault.rule, fault.line) for fault in found] == [
        ("duplicate-key", 2), ("tag", 3), ("key", 4), ("key", 6),
    ]  # fmt: skip


def test_a_fault_after_a_syntax_error_does_not_hide_one_before_it() -> None:
    found = faults_of("a: 1\na: 2\nb: [1\n").faults
    assert [fault.rule for fault in found] == ["duplicate-key", "syntax"]
