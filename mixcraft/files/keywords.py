"""The validator: JSON Schema draft 2020-12 by jsonschema, with keywords that can explain themselves.

What is accepted is what the standard accepts, plus the annotation keywords `x-dimension` (with `x-minimum`,
`x-maximum`, and `x-unit`: the unit a bare number most likely has) that checks quantities, `x-reads` (texts read by
`everyday.READERS`), and `x-repair`. Where the
standard keyword would only say "not valid under any of the given schemas", the functions here find the branch
that was meant and report its faults.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

from jsonschema import Draft202012Validator, FormatChecker
from jsonschema.exceptions import ValidationError
from jsonschema.validators import extend
from referencing import Registry, Resource
from referencing.jsonschema import DRAFT202012

from mixcraft.files.everyday import READERS, Unread
from mixcraft.files.faults import shorten
from mixcraft.files.near import meant, or_list
from mixcraft.files.quantity import QuantityError, parse_quantity
from mixcraft.files.units import dimension

Schema = dict[str, Any] | bool
Errors = Iterator[ValidationError]
Resolve = Callable[[Schema], dict[str, Any]]

NO_SCHEMA: dict[str, Any] = {}
_JSON_TYPES = Draft202012Validator.TYPE_CHECKER


@dataclass
class Why(Exception):  # noqa: N818 - a cause, never raised
    """Plain words for a validation error, carried as its cause. key: the key to point at, if any."""

    rule: str
    message: str
    found: str = ""
    allowed: str = ""
    repair: str = ""
    key: str | None = None


@dataclass
class RepairHint(Exception):  # noqa: N818 - a cause, never raised
    """The `x-repair` beside a `$ref`, for an error of the schema that is referred to."""

    repair: str


def make_validator(schema: Schema, urn: str, load: Callable[[str], dict[str, Any]]) -> Any:
    """Return a validator for a schema whose references are absolute; `load` gives a schema by its URN."""

    def retrieve(uri: str) -> Resource[Any]:
        return DRAFT202012.create_resource(load(uri))

    def resolve(node: Schema) -> dict[str, Any]:
        seen = 0
        while isinstance(node, dict) and "$ref" in node and seen < 20:
            base, _, pointer = node["$ref"].partition("#")
            target = schema if base == urn else load(base)
            rest = {key: value for key, value in node.items() if key != "$ref"}
            node = _pointed(target, pointer)
            node = {**node, **rest} if isinstance(node, dict) and rest else node
            seen += 1
        return node if isinstance(node, dict) else NO_SCHEMA

    registry: Registry[Any] = Registry(retrieve=retrieve)  # type: ignore[call-arg]
    registry = registry.with_resource(urn, DRAFT202012.create_resource(schema))
    keywords = {
        "oneOf": partial(_branches, resolve, True),
        "anyOf": partial(_branches, resolve, False),
        "additionalProperties": _additional,
        "unevaluatedProperties": partial(_unevaluated, resolve),
        "x-dimension": _quantity,
        "x-reads": _read,
        "pattern": _pattern,
        "$ref": _reference,
    }
    finite = _JSON_TYPES.redefine("number", _is_finite).redefine("integer", _is_whole)
    checker = FormatChecker(["date"])
    made = extend(  # type: ignore[no-untyped-call]
        Draft202012Validator, validators=keywords, type_checker=finite
    )
    return made(schema, registry=registry, format_checker=checker)


def _pointed(target: Schema, pointer: str) -> Schema:
    node: Any = target
    for part in pointer.strip("/").split("/") if pointer.strip("/") else []:
        name = part.replace("~1", "/").replace("~0", "~")
        node = node[int(name)] if isinstance(node, list) else node[name]
    found: Schema = node
    return found


def _is_finite(_checker: Any, value: Any) -> bool:
    """A number in the sense of JSON: infinity and not-a-number are none."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return False
    return isinstance(value, int) or value - value == 0


def _is_whole(checker: Any, value: Any) -> bool:
    return _is_finite(checker, value) and (isinstance(value, int) or value.is_integer())


def is_type(value: Any, name: str) -> bool:
    """True if a value is of a JSON Schema type."""
    if name == "number":
        return _is_finite(None, value)
    if name == "integer":
        return _is_whole(None, value)
    return bool(_JSON_TYPES.is_type(value, name))


# Words, quantities and references ---------------------------------------------------------------------


def _quantity(validator: Any, name: str, instance: Any, schema: dict[str, Any]) -> Errors:
    """`x-dimension`: a text (or number) is a quantity of that dimension, within x-minimum and x-maximum."""
    if isinstance(instance, bool) or not isinstance(instance, (str, int, float)):
        return
    wanted = dimension(name)
    try:
        value = parse_quantity(instance, name)
    except QuantityError as error:
        text = str(instance).strip()
        is_bare = "x-unit" in schema and text.replace(".", "", 1).isdigit()
        repair = f"did you mean `{text} {schema['x-unit']}`?" if is_bare else error.repair
        allowed = f"{wanted.noun} such as `{wanted.example}`"
        why = Why("quantity", error.message, allowed=allowed, repair=repair)
        yield ValidationError(error.message, cause=why)
        return
    low, high = schema.get("x-minimum"), schema.get("x-maximum")
    if low is not None and value < parse_quantity(low, name):
        yield _out_of_bounds(f"`{instance}` is too small", low, high)
    elif high is not None and value > parse_quantity(high, name):
        yield _out_of_bounds(f"`{instance}` is too large", low, high)


def _read(validator: Any, name: str, instance: Any, schema: dict[str, Any]) -> Errors:
    """`x-reads`: a text is understood by the reader of that name."""
    if isinstance(instance, str):
        try:
            READERS[name](instance)
        except Unread as error:
            allowed = ", ".join(f"`{example}`" for example in schema.get("examples", ()))
            yield ValidationError(error.message, cause=Why("words", error.message, allowed=allowed, repair=error.repair))


def _pattern(validator: Any, pattern: str, instance: Any, schema: dict[str, Any]) -> Errors:
    """`pattern`, unless a reader says more clearly what is wrong."""
    if "x-reads" not in schema:
        yield from Draft202012Validator.VALIDATORS["pattern"](validator, pattern, instance, schema)


def _out_of_bounds(message: str, low: str | None, high: str | None) -> ValidationError:
    allowed = f"from {low} to {high}" if low and high else f"{low} or more" if low else f"up to {high}"
    return ValidationError(
        message,
        cause=Why("quantity-bounds", message, allowed=allowed, repair="check the unit and the number"),
    )


def _reference(validator: Any, reference: str, instance: Any, schema: dict[str, Any]) -> Errors:
    """`$ref`, keeping an `x-repair` that stands beside it."""
    for error in Draft202012Validator.VALIDATORS["$ref"](validator, reference, instance, schema):
        if "x-repair" in schema and error.cause is None and not error.path:
            error.cause = RepairHint(schema["x-repair"])
        yield error


# Keys ------------------------------------------------------------------------------------------


def _additional(validator: Any, allowed: Schema, instance: Any, schema: dict[str, Any]) -> Errors:
    """`additionalProperties`: false names each unknown key with what is near; else as the standard says."""
    if not isinstance(instance, dict):
        return
    if allowed is not False:
        yield from Draft202012Validator.VALIDATORS["additionalProperties"](validator, allowed, instance, schema)
        return
    names = list(schema.get("properties", {}))
    patterns = list(schema.get("patternProperties", {}))
    for key in instance:
        if key not in names and not any(re.search(pattern, key) for pattern in patterns):
            yield unknown_key(key, names, instance, schema)


def unknown_key(key: str, names: list[str], instance: Mapping[str, Any], schema: dict[str, Any]) -> ValidationError:
    """The error for one key that is not known."""
    missing = [name for name in names if name not in instance]
    rule = schema.get("properties", {}).get("kind", {})
    shown = shorten(key)
    message = f"the key `{shown}` is not known here"
    if key in names:
        message = f"the key `{shown}` is not used here"
    elif isinstance(rule, dict) and "const" in rule:
        message = f"the key `{shown}` is not used with `kind: {rule['const']}`"
    few = or_list([f"`{name}`" for name in missing]) if len(missing) <= 4 else "one of the allowed keys"
    other = f"remove it, or use {few}" if missing else "remove it"
    repair = meant(key, missing) or schema.get("x-repair", "") or other
    return ValidationError(message, cause=Why("unknown-key", message, key, ", ".join(names), repair, key=key))


def _unevaluated(resolve: Resolve, validator: Any, allowed: Schema, instance: Any, schema: dict[str, Any]) -> Errors:
    """`unevaluatedProperties`: false names each key that no branch in force knows."""
    if not isinstance(instance, dict):
        return
    if allowed is not False:
        yield from Draft202012Validator.VALIDATORS["unevaluatedProperties"](validator, allowed, instance, schema)
        return
    names = list(dict.fromkeys(_known(resolve, validator, schema, instance)))
    if "*" in names:
        return
    patterns = [name[1:] for name in names if name.startswith("~")]
    plain = [name for name in names if not name.startswith("~")]
    for key in instance:
        if key not in plain and not any(re.search(pattern, key) for pattern in patterns):
            yield unknown_key(key, plain, instance, schema)


def _known(resolve: Resolve, validator: Any, schema: Schema, instance: dict[str, Any]) -> Iterator[str]:
    """Keys known to the parts of a schema in force; patterns start with ~, and * stands for all keys."""
    node = resolve(schema)
    yield from node.get("properties", {})
    yield from (f"~{pattern}" for pattern in node.get("patternProperties", {}))
    if node.get("additionalProperties", False) is not False:
        yield "*"
    parts = list(node.get("allOf", ()))
    if "if" in node:
        holds = validator.evolve(schema=node["if"]).is_valid(instance)
        parts += [node["if"]] if holds else []
        parts += [node[word] for word in ("then" if holds else "else",) if word in node]
    for word in ("oneOf", "anyOf"):
        branches = node.get(word, [])
        picked = pick_by_constant([resolve(branch) for branch in branches], instance)
        parts += branches if picked is None else [branches[picked]]
    parts += [part for key, part in node.get("dependentSchemas", {}).items() if key in instance]
    for part in parts:
        yield from _known(resolve, validator, part, instance)


# Branches --------------------------------------------------------------------------------------


def constant_key(branches: list[dict[str, Any]]) -> str | None:
    """The key by whose constant the branches differ (`kind` first), if there is one."""
    if len(branches) < 2:
        return None
    keys: list[str] = sorted(branches[0].get("properties", {}), key=lambda name: name != "kind")
    for key in keys:
        values = [_constants(branch, key) for branch in branches]
        flat = [repr(value) for options in values for value in options]
        if all(values) and len(set(flat)) == len(flat):
            return key
    return None


def pick_by_constant(branches: list[dict[str, Any]], instance: Any) -> int | None:
    """The number of the branch whose constant the instance carries."""
    key = constant_key(branches)
    if key is None or not isinstance(instance, dict) or key not in instance:
        return None
    matching = [number for number, branch in enumerate(branches) if instance[key] in _constants(branch, key)]
    return matching[0] if len(matching) == 1 else None


def _constants(branch: dict[str, Any], key: str) -> list[Any]:
    rule = branch.get("properties", {}).get(key, {})
    return [] if not isinstance(rule, dict) else [rule["const"]] if "const" in rule else list(rule.get("enum", []))


def _branches(
    resolve: Resolve,
    only_one: bool,
    validator: Any,
    value: list[Schema],
    instance: Any,
    schema: dict[str, Any],
) -> Errors:
    """`oneOf` and `anyOf`: report the faults of the branch that was meant."""
    if not _type_fits(instance, {"type": schema.get("type")}):
        return  # said once, by the keyword `type` beside it
    worded = [isinstance(node, dict) and ("x-means" in node or "x-reads" in node) for node in map(resolve, value)]
    if any(worded) and not all(worded):
        value = [branch for branch, words in zip(value, worded, strict=True) if words == isinstance(instance, str)]
        if isinstance(instance, str):
            yield from validator.descend(instance, value[0])
            return
    nodes = [resolve(branch) for branch in value]
    picked = pick_by_constant(nodes, instance)
    if picked is not None:
        yield from validator.descend(instance, value[picked], schema_path=picked)
        return
    valid = [number for number, branch in enumerate(value) if validator.evolve(schema=branch).is_valid(instance)]
    if len(valid) == 1 or (valid and not only_one):
        return
    yield from _explain(validator, value, nodes, instance, schema, len(valid))


def _explain(
    validator: Any,
    value: list[Schema],
    nodes: list[dict[str, Any]],
    instance: Any,
    schema: dict[str, Any],
    valid: int,
) -> Errors:
    key = constant_key(nodes)
    if key is not None and isinstance(instance, dict):
        yield from _no_such_kind(key, nodes, instance, schema)
        return
    asked = [node.get("required", []) for node in nodes]
    if isinstance(instance, dict) and all(asked) and not any("properties" in node for node in nodes):
        yield _one_of_keys(asked, instance, schema)
        return
    if valid:
        why = Why(
            "one-form",
            "this can be read in more than one way",
            repair=schema.get("x-repair", "say which one is meant"),
        )
        yield ValidationError(why.message, cause=why)
        return
    fitting = [number for number, node in enumerate(nodes) if _type_fits(instance, node)]
    if not fitting and all(node.get("type") == nodes[0].get("type") for node in nodes):
        fitting = [0]
    errors = {number: list(validator.descend(instance, value[number], schema_path=number)) for number in fitting}
    nested = {number: found for number, found in errors.items() if all(error.path for error in found)}
    if isinstance(instance, str) and len(fitting) > 1:
        starts = instance.lstrip("+-−. ")[:1].isdigit()
        fitting = [n for n in fitting if ("x-dimension" in nodes[n]) == starts] or fitting
    if len(fitting) == 1:
        yield from errors[fitting[0]]
    elif nested:
        yield from min(nested.values(), key=len)
    else:
        yield _none_fits([nodes[number] for number in fitting] or nodes, instance, schema)


def _no_such_kind(key: str, nodes: list[dict[str, Any]], instance: dict[str, Any], schema: dict[str, Any]) -> Errors:
    """The constant that tells the branches apart is missing or not known; said once, not per branch."""
    options = [str(option) for node in nodes for option in _constants(node, key)]
    allowed = ", ".join(options)
    if key not in instance:
        if key not in schema.get("required", []):
            why = Why(
                "missing-key",
                f"the key `{key}` is missing",
                allowed=allowed,
                repair=f"add `{key}: {options[0]}` or another",
            )
            yield ValidationError(why.message, cause=why)
        return
    rule = schema.get("properties", {}).get(key, {})
    if "enum" in rule or "const" in rule:
        return
    given = instance[key]
    repair = meant(str(given), options) or "write one of the allowed words"
    why = Why("choice", f"`{key}` is not one of the words that are known here", allowed=allowed, repair=repair)
    yield ValidationError(why.message, cause=why, path=[key])


def _one_of_keys(asked: list[list[str]], instance: dict[str, Any], schema: dict[str, Any]) -> ValidationError:
    """Branches that only ask for keys: too many, or none, of them are given."""
    words = [" with ".join(f"`{name}`" for name in names) for names in asked]
    given = [word for names, word in zip(asked, words, strict=True) if all(name in instance for name in names)]
    repair = schema.get("x-repair", "")
    if given:
        message = f"only one of {or_list(words)} may be given"
        why = Why("one-of-keys", message, ", ".join(given), repair=repair or "keep one of them")
    else:
        why = Why("one-of-keys", f"one of {or_list(words)} is needed", repair=repair or f"add {or_list(words)}")
    return ValidationError(why.message, cause=why)


def _type_fits(instance: Any, node: dict[str, Any]) -> bool:
    types = node.get("type")
    if types is None:
        options = [node["const"]] if "const" in node else node.get("enum")
        return options is None or any(type(option) is type(instance) for option in options)
    return any(is_type(instance, name) for name in ([types] if isinstance(types, str) else types))


def _none_fits(nodes: list[dict[str, Any]], instance: Any, schema: dict[str, Any]) -> ValidationError:
    from mixcraft.files.sentences import describe

    options = [option for node in nodes for option in node.get("enum", [node["const"]] if "const" in node else [])]
    near = meant(str(instance), [str(option) for option in options]) if isinstance(instance, str) else ""
    allowed = or_list(list(dict.fromkeys(describe(node) for node in nodes)))
    repair = near or schema.get("x-repair", "") or f"write {allowed}"
    return ValidationError("no form fits", cause=Why("no-form", "this is not in a form that is known here", "", allowed, repair))
