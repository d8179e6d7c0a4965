"""From validation errors to faults: plain sentences, each at its place in the file."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable
from typing import Any

from jsonschema.exceptions import ValidationError

from mixcraft.files.faults import Fault, PathTuple, path_text, shorten
from mixcraft.files.keywords import RepairHint, Why, is_type
from mixcraft.files.load import Document
from mixcraft.files.near import did_you_mean, meant, or_list
from mixcraft.files.units import dimension

SHOWN_LIST = 300  # characters of a list of allowed words

_TYPE_WORDS = {
    "object": "keys with values", "array": "a list", "string": "a text", "number": "a number",
    "integer": "a whole number", "boolean": "true or false", "null": "nothing",
}  # fmt: skip


def faults_of(errors: Iterable[ValidationError], document: Document, at: PathTuple) -> list[Fault]:
    """Turn validation errors into faults of a document. at: where in it the checked part stands."""
    found = list(errors)
    quantities = {_key(error) for error in found if isinstance(error.cause, Why) and error.cause.rule == "quantity"}
    faults = []
    for error in found:
        if error.validator == "type" and _key(error) in quantities:
            continue  # a number without its unit is said once
        faults += _faults(error, document, at + tuple(error.absolute_path))
    return faults


def describe(schema: dict[str, Any]) -> str:
    """Say in a few words what a schema allows, such as ``a length such as `30 cm```."""
    if "const" in schema:
        return f"`{schema['const']}`"
    if "enum" in schema:
        return or_list([f"`{option}`" for option in schema["enum"]])
    if "x-dimension" in schema:
        wanted = dimension(schema["x-dimension"])
        return f"{wanted.noun} such as `{wanted.example}`"
    types = schema.get("type", [])
    words = [_TYPE_WORDS[name] for name in ([types] if isinstance(types, str) else types)]
    return or_list(words) or "another value"


def _key(error: ValidationError) -> tuple[Any, ...]:
    return tuple(error.absolute_path)


def _faults(error: ValidationError, document: Document, path: PathTuple) -> list[Fault]:
    cause = error.cause
    if isinstance(cause, Why):
        at_key = cause.key is not None
        place = (*path, cause.key) if cause.key is not None else path
        if cause.rule == "unknown-key" and _is_cut_by_comma(document, path, str(cause.key)):
            cause = dataclasses.replace(cause, repair="write numbers with a point: a comma ends a value inside { }")
        found = cause.found or ("" if cause.rule in ("missing-key", "one-of-keys") else _found(document, path))
        return [document.fault(
            place, cause.message, rule=cause.rule, found=shorten(found), allowed=shorten(cause.allowed, SHOWN_LIST),
            repair=cause.repair, at_key=at_key,
        )]  # fmt: skip
    say = _SENTENCES.get(str(error.validator), _other)
    return [_hinted(fault, error) for fault in say(error, document, path)]


def _is_cut_by_comma(document: Document, path: PathTuple, key: str) -> bool:
    """True if the key is what a decimal comma left over, as in ``{width: 1,2 m}``."""
    return document.spot(path).style == "flow mapping" and key[:1].isdigit() and not document.spot((*path, key)).parts


def _hinted(fault: Fault, error: ValidationError) -> Fault:
    """Put the schema's own `x-repair` in place of the general one."""
    schema = error.schema if isinstance(error.schema, dict) else {}
    hint = error.cause.repair if isinstance(error.cause, RepairHint) else schema.get("x-repair", "")
    own = error.validator in ("pattern", "format", "minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum",
                              "multipleOf", "minLength", "maxLength", "type", "minItems", "maxItems", "not")  # fmt: skip
    return dataclasses.replace(fault, repair=hint) if hint and (own or not fault.repair) else fault


def _subject(path: PathTuple) -> str:
    """What a sentence is about: the key, or the item of a list."""
    if not path:
        return "the file"
    if isinstance(path[-1], int):
        return f"item {path[-1] + 1} of `{path_text(path[:-1])}`" if len(path) > 1 else f"item {path[-1] + 1}"
    return f"`{path[-1]}`"


def _found(document: Document, path: PathTuple) -> str:
    """The value as it is written in the file, or its type if it is a list or mapping."""
    spot = document.spot(path)
    if spot.style in ("plain", "quoted") and spot.end > spot.start:
        return shorten(" ".join(document.text[spot.start : spot.end].split()))
    return {"list": "a list", "flow list": "a list", "mapping": "keys with values", "flow mapping": "keys with values",
            "block": "a text"}.get(spot.style, "nothing")  # fmt: skip


def _type(error: ValidationError, document: Document, path: PathTuple) -> list[Fault]:
    schema = error.schema if isinstance(error.schema, dict) else {}
    types = [error.validator_value] if isinstance(error.validator_value, str) else list(error.validator_value)
    allowed = describe({**schema, "type": types}) if "enum" not in schema else describe({"type": types})
    value = error.instance
    repair = _type_repair(value, types, schema, path)
    verb = "hold" if types == ["object"] else "be"
    message = f"{_subject(path)} has no value" if value is None else f"{_subject(path)} must {verb} {allowed}"
    return [document.fault(path, message, rule="type", found=_found(document, path), allowed=allowed, repair=repair)]


def _type_repair(value: Any, types: list[str], schema: dict[str, Any], path: PathTuple) -> str:
    key = f"{path[-1]}: " if path and isinstance(path[-1], str) else ""
    if value is None:
        return "write a value after it, or remove the key"
    if "string" in types and isinstance(value, (int, float)):
        if "x-dimension" in schema and not isinstance(value, bool):
            from mixcraft.files.quantity import format_quantity

            return f"write `{key}{format_quantity(value, schema['x-dimension'])}`"
        shown = str(value).lower() if isinstance(value, bool) else str(value)
        return f'put it in quotes: `{key}"{shown}"`'
    if "boolean" in types and isinstance(value, str):
        return "write true or false"
    if "integer" in types and isinstance(value, float):
        return "write a whole number"
    if ("number" in types or "integer" in types) and isinstance(value, str):
        return "write the number alone, without unit and without quotes"
    if "array" in types and is_type(value, "string"):
        return f"write it as a list: `{key}[{shorten(value, 30)}]`"
    if "array" in types and isinstance(value, dict):
        return "start each item of the list with `- `"
    if "object" in types:
        return "write `key: value` lines, indented, under it"
    return f"write {describe({'type': types})}"


def _enum(error: ValidationError, document: Document, path: PathTuple) -> list[Fault]:
    options = [error.validator_value] if error.validator == "const" else list(error.validator_value)
    words = ["true" if o is True else "false" if o is False else str(o) for o in options]
    value = error.instance
    found = _found(document, path)
    repair = meant(str(value), words) if isinstance(value, str) else ""
    many = "one of the words that are known here" if len(words) > 1 else f"`{words[0]}`"
    return [document.fault(
        path, f"{_subject(path)} must be {many}", rule="choice", found=found,
        allowed=shorten(", ".join(words), SHOWN_LIST), repair=repair or f"write {_few(words)}",
    )]  # fmt: skip


def _few(words: list[str]) -> str:
    return or_list([f"`{word}`" for word in words]) if len(words) <= 4 else "one of the allowed words"


def _required(error: ValidationError, document: Document, path: PathTuple) -> list[Fault]:
    schema = error.schema if isinstance(error.schema, dict) else {}
    rules = schema.get("properties", {})
    faults = []
    for key in error.validator_value:
        if key in error.instance:
            continue
        rule = rules.get(key)
        rule = rule if isinstance(rule, dict) else {}
        if _is_misspelt(key, error.instance, schema):
            continue
        about = f" ({shorten(rule['description'], 80)})" if "description" in rule else ""
        repair = rule.get("x-repair") or f"add `{key}:`{about}"
        allowed = describe(rule) if any(word in rule for word in ("const", "enum", "x-dimension")) else ""
        where = f" of {_subject(path)}" if path else ""
        faults.append(document.fault(
            path, f"the key `{key}`{where} is missing", rule="missing-key", allowed=shorten(allowed, SHOWN_LIST), repair=repair
        ))  # fmt: skip
    return faults


def _is_misspelt(key: str, instance: dict[str, Any], schema: dict[str, Any]) -> bool:
    """True if a missing key is there under a near name, and that name is reported as not known."""
    if False not in (schema.get("additionalProperties"), schema.get("unevaluatedProperties")):
        return False
    rules = schema.get("properties", {})
    missing = [name for name in rules if name not in instance]
    return any(did_you_mean(name, missing, 1) == [key] for name in instance if name not in rules)


def _dependent(error: ValidationError, document: Document, path: PathTuple) -> list[Fault]:
    faults = []
    for key, needed in error.validator_value.items():
        if key not in error.instance:
            continue
        for other in needed:
            if other not in error.instance:
                faults.append(document.fault(
                    (*path, key), f"`{key}` needs `{other}` beside it", rule="missing-key", at_key=True,
                    repair=f"add `{other}:`, or remove `{key}`",
                ))  # fmt: skip
    return faults


def _pattern(error: ValidationError, document: Document, path: PathTuple) -> list[Fault]:
    schema = error.schema if isinstance(error.schema, dict) else {}
    at_key = False
    place = path
    if document.spot(path).keys and isinstance(error.instance, str) and error.instance in document.spot(path).keys:
        place, at_key = (*path, error.instance), True  # the pattern of a key, not of a value
    examples = [f"`{example}`" for example in schema.get("examples", [])]
    allowed = ", ".join(examples) or schema.get("description", "") or f"a text of the form {error.validator_value}"
    subject = f"the key `{shorten(error.instance)}`" if at_key else _subject(path)
    found = error.instance if at_key else _found(document, path)
    return [document.fault(place, f"{subject} is not written as it should be", rule="pattern", found=shorten(found),
                           allowed=allowed, repair=f"write it like {examples[0]}" if examples else "write it in the allowed form",
                           at_key=at_key)]  # fmt: skip


def _bounds(error: ValidationError, document: Document, path: PathTuple) -> list[Fault]:
    schema = error.schema if isinstance(error.schema, dict) else {}
    low, high = schema.get("minimum"), schema.get("maximum")
    above, below = schema.get("exclusiveMinimum"), schema.get("exclusiveMaximum")
    if low is not None and high is not None:
        allowed = f"from {low} to {high}"
    else:
        parts = [f"{low} or more"] if low is not None else [f"more than {above}"] if above is not None else []
        parts += [f"{high} or less"] if high is not None else [f"less than {below}"] if below is not None else []
        allowed = " and ".join(parts)
    small = error.validator in ("minimum", "exclusiveMinimum")
    return [document.fault(path, f"{_subject(path)} is too {'small' if small else 'large'}", rule="bounds",
                           found=_found(document, path), allowed=allowed, repair=f"write a number that is {allowed}"
                           if not allowed.startswith("from") else f"write a number {allowed}")]  # fmt: skip


def _length(error: ValidationError, document: Document, path: PathTuple) -> list[Fault]:
    limit = error.validator_value
    if error.validator == "minLength":
        message, allowed = (f"{_subject(path)} is empty", "at least one character") if limit == 1 else (
            f"{_subject(path)} is too short", f"at least {limit} characters")  # fmt: skip
        repair = "write a text, or remove the key"
    else:
        message, allowed = f"{_subject(path)} is too long", f"up to {limit} characters"
        repair = f"shorten it by {len(error.instance) - limit} characters"
    return [document.fault(path, message, rule="length", found=_found(document, path), allowed=allowed, repair=repair)]


def _items(error: ValidationError, document: Document, path: PathTuple) -> list[Fault]:
    limit, count = error.validator_value, len(error.instance)
    schema = error.schema if isinstance(error.schema, dict) else {}
    least, most = schema.get("minItems", schema.get("minProperties")), schema.get("maxItems", schema.get("maxProperties"))
    noun = "entries" if isinstance(error.instance, dict) else "items"
    few = str(error.validator).startswith("min")
    allowed = f"exactly {least}" if least == most else f"at least {limit}" if few else f"up to {limit}"
    message = f"{_subject(path)} has too {'few' if few else 'many'} {noun}" if count else f"{_subject(path)} is empty"
    change = abs(limit - count)
    repair = f"{'add' if few else 'remove'} {change} {noun if change > 1 else 'entry' if noun == 'entries' else 'item'}"
    place = (*path, limit) if not few and isinstance(error.instance, list) else path
    return [document.fault(place, message, rule="items", found=str(count), allowed=allowed, repair=repair)]


def _unique(error: ValidationError, document: Document, path: PathTuple) -> list[Fault]:
    faults = []
    for number, item in enumerate(error.instance):
        first = error.instance.index(item)
        if first < number:
            faults.append(document.fault(
                (*path, number), f"{_subject((*path, number))} repeats item {first + 1}", rule="unique",
                found=_found(document, (*path, number)), repair="remove one of the two",
            ))  # fmt: skip
    return faults


def _date(error: ValidationError, document: Document, path: PathTuple) -> list[Fault]:
    return [document.fault(path, f"{_subject(path)} is not a date of the calendar", rule="pattern", found=_found(document, path),
                           allowed="a date as year-month-day", repair="write it like `2025-04-15`")]  # fmt: skip


def _other(error: ValidationError, document: Document, path: PathTuple) -> list[Fault]:
    """A keyword without a sentence of its own; a false schema (a key that is not allowed here) too."""
    if error.validator is None and path:
        return [document.fault(path, f"{_subject(path)} is not used here", rule="unknown-key", at_key=True,
                               found=str(path[-1]), repair="remove it")]  # fmt: skip
    schema = error.schema if isinstance(error.schema, dict) else {}
    about = schema.get("description", "")
    return [document.fault(path, f"{_subject(path)} does not fit here", rule=str(error.validator or "value"),
                           found=_found(document, path), allowed=shorten(about, SHOWN_LIST),
                           repair="compare it with the format's description")]  # fmt: skip


_SENTENCES: dict[str, Callable[[ValidationError, Document, PathTuple], list[Fault]]] = {
    "type": _type, "enum": _enum, "const": _enum, "required": _required, "dependentRequired": _dependent,
    "pattern": _pattern, "minimum": _bounds, "maximum": _bounds, "exclusiveMinimum": _bounds,
    "exclusiveMaximum": _bounds, "minLength": _length, "maxLength": _length, "minItems": _items,
    "maxItems": _items, "minProperties": _items, "maxProperties": _items, "uniqueItems": _unique, "format": _date,
}  # fmt: skip
