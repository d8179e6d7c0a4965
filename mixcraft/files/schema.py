"""The JSON Schemas of the file formats, and checking a document against one.

All faults of a document are reported at once, in plain words, each at its place in the file. jsonschema
(draft 2020-12) does the checking and is imported only when a document is checked.
"""

from __future__ import annotations

import json
import re
from dataclasses import replace
from functools import lru_cache
from itertools import islice
from pathlib import Path
from typing import Any

from mixcraft.files import passed
from mixcraft.files.document import Document
from mixcraft.files.faults import Fault, FileFaults, PathTuple, shorten, sort_faults
from mixcraft.files.keeping import digest_of
from mixcraft.files.near import did_you_mean, meant

_PACKAGE = Path(__file__).resolve().parents[1]
_SUFFIX = ".schema.json"
_FORMAT = re.compile(r"mixcraft-(?P<kind>[a-z][a-z0-9-]*?)/(?P<version>[0-9]{1,6})", re.ASCII)
MAX_FAULTS = 500  # of one check; a file with more is the wrong file

PRINTED = {"score"}  # kinds that mixcraft prints and never reads

_URN = "urn:mixcraft:schema:"


def resource(folder: str, name: str) -> Path:
    """Return the path of a file that comes with mixcraft, such as ``resource("templates", "card.html")``.

    It is looked for in the installed package (``mixcraft/_templates``), else in the top-level folder
    of the repository (``templates``). Raises FileNotFoundError if it is in neither.
    """
    for base in (_PACKAGE / f"_{folder}", _PACKAGE.parent / folder):
        path = (base / name).resolve()
        if path.is_relative_to(base.resolve()) and path.exists():
            return path
    raise FileNotFoundError(f"mixcraft has no {folder}/{name}")


def kinds() -> tuple[str, ...]:
    """The kinds of file that people write and there is a schema for, in alphabetical order."""
    found = {
        path.name.removesuffix(_SUFFIX)
        for base in (_PACKAGE / "_schemas", _PACKAGE.parent / "schemas")
        for path in base.glob(f"*{_SUFFIX}")
    }
    return tuple(sorted(found - PRINTED))


def schema_text(kind: str) -> str:
    """Return the JSON Schema of a kind of file as text. Raises FileNotFoundError for an unknown kind."""
    return resource("schemas", kind + _SUFFIX).read_text(encoding="utf-8")


@lru_cache(maxsize=32)
def load_schema(kind: str) -> dict[str, Any]:
    """Return the JSON Schema of a kind of file; not to be changed. Raises FileNotFoundError."""
    schema: dict[str, Any] = json.loads(schema_text(kind))
    return schema


@lru_cache(maxsize=32)
def newest_version(kind: str) -> int:
    """The newest version of a kind of file that is understood. Raises FileNotFoundError."""
    schema = load_schema(kind)
    rule = schema.get("properties", {}).get("format", {})
    names = rule.get("enum") or [rule.get("const", "")]
    versions = [int(found["version"]) for name in names if (found := _FORMAT.fullmatch(name))]
    return max(versions, default=int(schema.get("x-version", 1)))


def kind_of(document: Document) -> tuple[str, int]:
    """Return kind and version of a document from its line ``format: mixcraft-recipe/1``.

    Raises FileFaults if the line is missing or not understood, or the version is newer than this mixcraft.
    """
    data = document.data
    names = [f"mixcraft-{kind}/{newest_version(kind)}" for kind in kinds()]
    if not isinstance(data, dict) or "format" not in data:
        raise FileFaults(_no_format(document, ", ".join(names)))
    given = data["format"]
    found = _FORMAT.fullmatch(given) if isinstance(given, str) else None
    path, shown = ("format",), shorten(str(given))
    if not found or found["kind"] not in kinds():
        said = "this kind of file is not known"
        repair = meant(str(given), names) or f"write `format: {_guess(data)}`"
        raise FileFaults(document.fault(path, said, rule="format", found=shown, allowed=", ".join(names), repair=repair))
    kind, version = found["kind"], int(found["version"])
    newest = newest_version(kind)
    if not 1 <= version <= newest:
        said = "there is no such version"
        repair = f"write `format: mixcraft-{kind}/{newest}`"
        if version:
            said = f"this file is of a newer version than this mixcraft understands ({newest})"
            repair = "install a newer mixcraft, or ask for the file in the older version"
        allowed = f"mixcraft-{kind}/{newest}" + (" or older" if newest > 1 else "")
        raise FileFaults(document.fault(path, said, rule="format-version", found=shown, allowed=allowed, repair=repair))
    return kind, version


def _no_format(document: Document, allowed: str) -> Fault:
    """The fault of a document without a `format` line."""
    data = document.data
    if not isinstance(data, dict):
        said = "the file must hold keys and values, such as `name: Spring bed`"
        repair = "start the file with a line such as `format: mixcraft-recipe/1`"
        return document.fault((), said, rule="format", repair=repair)
    wrong = did_you_mean("format", data, 1)
    return document.fault(
        tuple(wrong),
        "no line says what kind of file this is",
        rule="format",
        found=wrong[0] if wrong else "",
        allowed=allowed,
        repair=f"write `format` for `{wrong[0]}`" if wrong else f"add the line `format: {_guess(data)}` at the top",
        at_key=True,
    )


def check_schema(document: Document, kind: str, *, at: PathTuple = (), data: Any = None) -> list[Fault]:
    """Check a document against the schema of a kind of file; return all faults, sorted by place.

    at: where in the document the checked part stands. data: the checked part, if it is not simply what
    stands there (a crop given inside a recipe has its `format` line added first).
    Raises FileNotFoundError if there is no schema of that kind.
    """
    if data is None:
        data = document.data
        for part in at:
            data = data[part]
    mark = passed.digest(data, kind, _all_schemas())
    if passed.passed_before(mark):
        return []
    faults = _sorted_faults(_validator(kind), data, document, at)
    if not faults:
        passed.passes(mark)
    return faults


@lru_cache(maxsize=1)
def _all_schemas() -> bytes:
    """Digest of all schemas: one may refer to another."""
    return digest_of(resource("schemas", f"recipe{_SUFFIX}").parent, f"*{_SUFFIX}")


def plain_document(document: Document, kind: str) -> Document:
    """A document that passed its check, with everyday words of its data replaced by what they stand for (`files.everyday`)."""
    from mixcraft.files.everyday import plain_data

    return replace(document, data=plain_data(document.data, _prepared(_URN + kind), _resolved))


def _resolved(node: Any) -> dict[str, Any]:
    """A part of a prepared schema, followed through its reference."""
    while isinstance(node, dict) and "$ref" in node:
        urn, _, pointer = node["$ref"].partition("#")
        target: Any = _prepared(urn)
        for part in pointer.strip("/").split("/"):
            target = target[part]
        node = {**target, **{key: value for key, value in node.items() if key != "$ref"}}
    return node if isinstance(node, dict) else {}


def check_against(document: Document, schema: dict[str, Any]) -> list[Fault]:
    """Check a document against a schema that is no file format of mixcraft, as check_schema does."""
    from mixcraft.files.keywords import make_validator

    validator = make_validator(_absolute(schema, f"{_URN}own"), f"{_URN}own", _prepared)
    return _sorted_faults(validator, document.data, document, ())


def _sorted_faults(validator: Any, data: Any, document: Document, at: PathTuple) -> list[Fault]:
    from mixcraft.files.sentences import faults_of

    errors = islice(validator.iter_errors(data), MAX_FAULTS)
    return list(sort_faults(faults_of(errors, document, at)))


@lru_cache(maxsize=32)
def _validator(kind: str) -> Any:
    from mixcraft.files.keywords import make_validator

    return make_validator(_prepared(_URN + kind), _URN + kind, _prepared)


@lru_cache(maxsize=32)
def _prepared(urn: str) -> dict[str, Any]:
    """A schema with every reference made absolute, so that it means the same wherever it is used."""
    prepared: dict[str, Any] = _absolute(load_schema(urn.removeprefix(_URN)), urn)
    return prepared


def _absolute(node: Any, urn: str) -> Any:
    if isinstance(node, list):
        return [_absolute(item, urn) for item in node]
    if not isinstance(node, dict):
        return node
    made = {key: _absolute(value, urn) for key, value in node.items() if key != "$id"}
    for word in ("properties", "patternProperties"):
        if isinstance(made.get(word), dict):  # a false schema would lose its path in jsonschema; {"not": {}} does not
            made[word] = {key: {"not": {}} if rule is False else rule for key, rule in made[word].items()}
    if isinstance(made.get("$ref"), str):
        made["$ref"] = _absolute_reference(made["$ref"], urn)
    return made


def _absolute_reference(reference: str, urn: str) -> str:
    """``#/$defs/x``, ``crop.schema.json#/$defs/x`` and ``urn:mixcraft:schema:crop:1`` become one form."""
    base, _, pointer = reference.partition("#")
    if base.endswith(_SUFFIX):
        urn = _URN + base.rsplit("/", 1)[-1].removesuffix(_SUFFIX)
    elif base.startswith(_URN):
        urn = _URN + base.removeprefix(_URN).split(":")[0]
    return f"{urn}#{pointer}"


def _guess(data: dict[str, Any]) -> str:
    """The kind of file that the keys look like, most keys in common first."""
    known = kinds() or ("recipe",)
    shared = {kind: len(set(data) & set(load_schema(kind).get("properties", {}))) for kind in known}
    best = max(known, key=lambda kind: (shared[kind], kind == "recipe"))
    return f"mixcraft-{best}/{newest_version(best)}"
