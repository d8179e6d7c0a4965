"""A corpus of broken files, each with the message that was approved for it.

To approve changed messages, run the tests with MIXCRAFT_APPROVE=1 and read the difference before committing.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest
import yaml

from mixcraft.files import FileFaults, check_schema, kind_of, parse_document

BROKEN = Path(__file__).with_name("broken")
FILES = sorted(BROKEN.glob("*.yaml"))


def message_for(path: Path) -> str:
    """What the user is told about a file: reading, kind, then the schema."""
    try:
        document = parse_document(path.read_text(encoding="utf-8"), path.name)
        kind, _ = kind_of(document)
        faults = check_schema(document, kind)
    except FileFaults as found:
        return str(found)
    return str(FileFaults(faults))


@pytest.mark.parametrize("path", FILES, ids=[path.stem for path in FILES])
def test_message_is_the_approved_one(path: Path) -> None:
    expected = path.with_suffix(".expected")
    message = message_for(path) + "\n"
    if os.environ.get("MIXCRAFT_APPROVE"):
        expected.write_text(message, encoding="utf-8")
    assert message == expected.read_text(encoding="utf-8")


@pytest.mark.parametrize("path", FILES, ids=[path.stem for path in FILES])
def test_every_message_has_a_place_and_a_repair_and_no_jargon(path: Path) -> None:
    message = message_for(path)
    assert message.startswith(f"{path.name}:")
    for block in message.split("\n\n"):
        assert "repair: " in block
    for jargon in ("schema", "property", "instance", "oneOf", "is not of type", "$ref", "scalar", "token", "None"):
        assert jargon not in message


@pytest.mark.parametrize("path", FILES, ids=[path.stem for path in FILES])
def test_the_python_parser_gives_the_same_rules_on_the_same_lines(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where PyYAML has no C parser, the faults are the same (columns may differ by a sign)."""

    def rules() -> list[tuple[str, int]]:
        try:
            document = parse_document(path.read_text(encoding="utf-8"), path.name)
            faults = check_schema(document, kind_of(document)[0])
        except FileFaults as found:
            faults = list(found.faults)
        return [(fault.rule, fault.line) for fault in faults]

    with_c = rules()
    monkeypatch.delattr(yaml, "CSafeLoader")
    assert rules() == with_c


def test_no_approved_message_is_left_without_its_file() -> None:
    assert {path.stem for path in BROKEN.glob("*.expected")} == {path.stem for path in FILES}
