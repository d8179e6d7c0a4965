"""Every key of a file format, read from its JSON Schema: what it means, its unit or words, what is taken when it is left out, an
example."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from mixcraft.files import load_schema
from mixcraft.files.edit import flow_text
from mixcraft.files.units import dimension


@dataclass(frozen=True, slots=True)
class Key:
    """One key: its name, whether it is needed, what it means, the values it takes, what holds when it is left out, and a line of
    example; `kinds` are the ways of writing it, each with its keys, `inner` the keys under it."""

    name: str
    needed: bool
    meaning: str
    takes: str
    left_out: str
    example: str
    inner: tuple[Key, ...] = ()
    kinds: tuple[Kind, ...] = ()


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of an entry, with the keys it has."""

    name: str
    meaning: str
    keys: tuple[Key, ...] = field(default=())


def keys_of(kind: str) -> tuple[Key, ...]:
    """The keys of a kind of file: recipe, garden or brief."""
    return _keys(load_schema(kind), load_schema(kind))


def found_keys(kind: str, name: str) -> tuple[Key, ...]:
    """The keys of a kind of file that are called so, wherever they stand; nothing where there is none."""
    return tuple(key for key in _all(keys_of(kind)) if key.name == name.casefold())


def key_names(kind: str) -> tuple[str, ...]:
    """The names of all keys of a kind of file."""
    return tuple(dict.fromkeys(key.name for key in _all(keys_of(kind))))


def _all(keys: tuple[Key, ...]) -> Iterator[Key]:
    for key in keys:
        yield key
        yield from _all(key.inner)
        for kind in key.kinds:
            yield from _all(kind.keys)


def _keys(node: dict[str, Any], whole: dict[str, Any]) -> tuple[Key, ...]:
    needed = node.get("required", ())
    return tuple(_key(name, name in needed, rule, whole) for name, rule in node.get("properties", {}).items() if name != "kind")


def _key(name: str, needed: bool, rule: dict[str, Any], whole: dict[str, Any]) -> Key:
    node = _resolved(rule, whole)
    inside = _resolved(node["items"], whole) if isinstance(node.get("items"), dict) else node
    branches = [branch for branch in inside.get("oneOf", ()) if "properties" in branch]
    kinds = tuple(Kind(_kind_of(branch), branch.get("description", ""), _keys(branch, whole)) for branch in branches)
    one_kind = _keys(inside, whole) if not kinds else ()
    if "kind" in inside.get("properties", {}) and not kinds:
        one_kind = (_key("kind", "kind" in inside.get("required", ("kind",)), inside["properties"]["kind"], whole), *one_kind)
    example = node["examples"][0] if node.get("examples") else _first_word(node)
    line = f"{name}: {flow_text(example)}" if example is not None else ""
    left_out = "" if needed else str(node.get("x-left-out", node.get("default", "")))
    return Key(name, needed, node.get("description", ""), _takes(node), left_out, line, one_kind, kinds)


def _first_word(node: dict[str, Any]) -> Any:
    """An example of what has only words, or only texts that are read."""
    if "enum" in node:
        return node["enum"][0]
    worded = [branch for branch in node.get("oneOf", ()) if "examples" in branch]
    return worded[0]["examples"][0] if worded else node.get("const")


def _kind_of(branch: dict[str, Any]) -> str:
    rule = branch["properties"].get("kind", {})
    return str(rule.get("const") or rule.get("enum", [""])[0])


def _resolved(node: dict[str, Any], whole: dict[str, Any]) -> dict[str, Any]:
    """A part of a schema, followed through references into this schema or another."""
    while "$ref" in node:
        name, _, pointer = node["$ref"].partition("#")
        target: Any = load_schema(name.removesuffix(".schema.json")) if name else whole
        for part in pointer.strip("/").split("/"):
            target = target[part]
        node = {**target, **{key: value for key, value in node.items() if key != "$ref"}}
    return node


def _takes(node: dict[str, Any]) -> str:
    """The values of a key in a few words: a quantity with its bounds, words, a number with its bounds."""
    if "x-dimension" in node:
        low, high = node.get("x-minimum"), node.get("x-maximum")
        bounds = f", {low} to {high}" if low and high else f", {low} or more" if low else f", up to {high}" if high else ""
        return dimension(node["x-dimension"]).noun + bounds
    if "enum" in node:
        means = node.get("x-means", {})
        plain = [str(word) for word in node["enum"] if word not in means]
        return ", ".join(plain) + (f"; also {', '.join(means)}" if means else "")
    worded = [branch for branch in node.get("oneOf", ()) if "x-means" in branch or "x-reads" in branch]
    if worded:
        texts = worded[0].get("examples") or list(worded[0].get("x-means", ()))
        return f"in words: {', '.join(map(str, texts))}"
    if node.get("type") in ("integer", "number"):
        low, high = node.get("minimum"), node.get("maximum")
        what = "a whole number" if node["type"] == "integer" else "a number"
        return f"{what}, {low} to {high}" if None not in (low, high) else what
    return "a list" if node.get("type") == "array" else ""
