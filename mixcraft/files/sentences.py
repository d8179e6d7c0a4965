"""From validation errors to faults: plain sentences, each at its place in the file."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from jsonschema.exceptions import ValidationError

from mixcraft.files.document import Document
from mixcraft.files.faults import Fault, PathTuple, path_text, shorten
from mixcraft.files.keywords import RepairHint, Why, is_type
from mixcraft.files.near import did_you_mean, meant, or_list
from mixcraft.files.units import dimension

SHOWN_LIST = 300  # characters of a list of allowed words

_TYPE_WORDS = {
    "object": "keys with values",
    "array": "a list",
    "string": "a text",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "true or false",
    "null": "nothing",
}
_STYLE_WORDS = {
    "list": "a list",
    "flow list": "a list",
    "mapping": "keys with values",
    "flow mapping": "keys with values",
    "block": "a text",
}
# keywords whose general repair gives way to the schema's own
_BOUNDS = ("minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum", "multipleOf")
_SIZES = ("minLength", "maxLength", "minItems", "maxItems")
_OWN_REPAIR = frozenset(("type", "pattern", "format", "not", *_BOUNDS, *_SIZES))


@dataclass(frozen=True)
class Wrong:
    """One validation error: the keyword of `schema` that `value` does not satisfy, and its limit."""

    document: Document
    path: PathTuple
    keyword: str
    limit: Any
    value: Any
    schema: dict[str, Any]
    hint: str

    @property
    def subject(self) -> str:
        """What a sentence is about: the key, or the item of a list."""
        if not self.path:
            return "the file"
        last = self.path[-1]
        if isinstance(last, str):
            return f"`{last}`"
        parent = path_text(self.path[:-1])
        return f"item {last + 1} of `{parent}`" if parent else f"item {last + 1}"

    @property
    def found(self) -> str:
        """The value as it is written in the file, or its type if it is a list or mapping."""
        return written(self.document, self.path)

    def fault(
        self,
        message: str,
        rule: str,
        *,
        repair: str,
        allowed: str = "",
        found: str | None = None,
        path: PathTuple | None = None,
        at_key: bool = False,
    ) -> Fault:
        """A fault at the path (or another); what is found is the value there unless it is given."""
        return self.document.fault(
            self.path if path is None else path,
            message,
            rule=rule,
            found=shorten(self.found if found is None else found),
            allowed=shorten(allowed, SHOWN_LIST),
            repair=self.hint if self.hint and self.keyword in _OWN_REPAIR else repair,
            at_key=at_key,
        )


def faults_of(errors: Iterable[ValidationError], document: Document, at: PathTuple) -> list[Fault]:
    """Turn validation errors into faults of a document. at: where in it the checked part stands."""
    given = list(errors)
    quantities = {
        tuple(error.absolute_path) for error in given if isinstance(error.cause, Why) and error.cause.rule == "quantity"
    }
    faults: list[Fault] = []
    for error in given:
        if error.validator == "type" and tuple(error.absolute_path) in quantities:
            continue  # a number without its unit is said once
        path = (*at, *error.absolute_path)
        if isinstance(error.cause, Why):
            faults.append(_explained(error.cause, document, path))
        else:
            wrong = _wrong(error, document, path)
            faults += _SENTENCES.get(wrong.keyword, _other)(wrong)
    return faults


def describe(schema: dict[str, Any]) -> str:
    """Say in a few words what a schema allows, such as "a length such as `30 cm`"."""
    if "const" in schema:
        return f"`{schema['const']}`"
    if "enum" in schema:
        means = schema.get("x-means", {})
        return or_list([f"`{option}`" for option in schema["enum"] if option not in means or len(means) == len(schema["enum"])])
    if "x-dimension" in schema:
        wanted = dimension(schema["x-dimension"])
        return f"{wanted.noun} such as `{wanted.example}`"
    types = schema.get("type", [])
    words = [_TYPE_WORDS[name] for name in ([types] if isinstance(types, str) else types)]
    return or_list(words) or "another value"


def written(document: Document, path: PathTuple) -> str:
    """A value as it is written in the file, or its type if it is a list or mapping."""
    spot = document.spot(path)
    if spot.style in ("plain", "quoted") and spot.end > spot.start:
        return shorten(" ".join(document.text[spot.start : spot.end].split()))
    return _STYLE_WORDS.get(spot.style, "nothing")


def _wrong(error: ValidationError, document: Document, path: PathTuple) -> Wrong:
    schema: dict[str, Any] = error.schema if isinstance(error.schema, dict) else {}
    hint = error.cause.repair if isinstance(error.cause, RepairHint) else schema.get("x-repair", "")
    keyword = str(error.validator) if error.validator else ""
    return Wrong(document, path, keyword, error.validator_value, error.instance, schema, hint)


def _explained(why: Why, document: Document, path: PathTuple) -> Fault:
    """The fault of an error that carries its own words."""
    repair = why.repair
    if why.key is not None and _is_cut_by_comma(document, path, why.key):
        repair = "write numbers with a point: a comma ends a value inside { }"
    no_value = why.rule in ("missing-key", "one-of-keys")
    return document.fault(
        path if why.key is None else (*path, why.key),
        why.message,
        rule=why.rule,
        found=shorten(why.found or ("" if no_value else written(document, path))),
        allowed=shorten(why.allowed, SHOWN_LIST),
        repair=repair,
        at_key=why.key is not None,
    )


def _is_cut_by_comma(document: Document, path: PathTuple, key: str) -> bool:
    """True if the key is what a decimal comma left over, as in ``{width: 1,2 m}``."""
    return document.spot(path).style == "flow mapping" and key[:1].isdigit()


# One sentence for each keyword -----------------------------------------------------------------


def _type(wrong: Wrong) -> list[Fault]:
    types = [wrong.limit] if isinstance(wrong.limit, str) else list(wrong.limit)
    allowed = describe({"type": types} if "enum" in wrong.schema else {**wrong.schema, "type": types})
    verb = "hold" if types == ["object"] else "be"
    message = f"{wrong.subject} must {verb} {allowed}"
    if wrong.value is None:
        message = f"{wrong.subject} has no value"
    return [wrong.fault(message, "type", allowed=allowed, repair=_type_repair(wrong, types))]


def _type_repair(wrong: Wrong, types: list[str]) -> str:
    value = wrong.value
    key = f"{wrong.path[-1]}: " if wrong.path and isinstance(wrong.path[-1], str) else ""
    if value is None:
        return "write a value after it, or remove the key"
    if "string" in types and isinstance(value, (int, float)):
        return f"put it in quotes: `{key}{_as_text(value, wrong.schema)}`"
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


def _as_text(value: float, schema: dict[str, Any]) -> str:
    """A number or truth value as the quoted text it should have been, with its unit if it has one."""
    if isinstance(value, bool):
        return f'"{str(value).lower()}"'
    if "x-dimension" in schema and value - value == 0:
        from mixcraft.files.quantity import format_quantity

        return f'"{format_quantity(value, schema["x-dimension"])}"'
    return f'"{value}"'


def _enum(wrong: Wrong) -> list[Fault]:
    options = [wrong.limit] if wrong.keyword == "const" else list(wrong.limit)
    everyday = [word for word in options if word in wrong.schema.get("x-means", {})]
    options = [word for word in options if word not in everyday] or options
    words = ["true" if o is True else "false" if o is False else str(o) for o in options]
    must = "one of the words that are known here" if len(words) > 1 else f"`{words[0]}`"
    few = or_list([f"`{word}`" for word in words]) if len(words) <= 4 else "one of the allowed words"
    near = meant(wrong.value, [*words, *everyday]) if isinstance(wrong.value, str) else ""
    message = f"{wrong.subject} must be {must}"
    also = ", or keys with values" if everyday and not set(words) - set(everyday) else ""
    return [wrong.fault(message, "choice", allowed=", ".join(words) + also, repair=near or f"write {few}")]


def _required(wrong: Wrong) -> list[Fault]:
    faults = []
    for key in wrong.limit:
        if key in wrong.value or _is_misspelt(key, wrong.value, wrong.schema):
            continue
        rule = wrong.schema.get("properties", {}).get(key)
        rule = rule if isinstance(rule, dict) else {}
        about = " with one of the allowed words" if "enum" in rule else ""
        about = f" ({shorten(rule['description'], 80)})" if "description" in rule else about
        allowed = describe(rule) if any(word in rule for word in ("const", "enum", "x-dimension")) else ""
        where = f" of {wrong.subject}" if wrong.path else ""
        message = f"the key `{key}`{where} is missing"
        repair = rule.get("x-repair") or f"add `{key}:`{about}"
        faults.append(wrong.fault(message, "missing-key", found="", allowed=allowed, repair=repair))
    return faults


def _is_misspelt(key: str, instance: dict[str, Any], schema: dict[str, Any]) -> bool:
    """True if a missing key is there under a near name, and that name is reported as not known."""
    if False not in (schema.get("additionalProperties"), schema.get("unevaluatedProperties")):
        return False
    rules = schema.get("properties", {})
    missing = [name for name in rules if name not in instance]
    return any(did_you_mean(name, missing, 1) == [key] for name in instance if name not in rules)


def _dependent(wrong: Wrong) -> list[Fault]:
    return [
        wrong.fault(
            f"`{key}` needs `{other}` beside it",
            "missing-key",
            path=(*wrong.path, key),
            at_key=True,
            found="",
            repair=f"add `{other}:`, or remove `{key}`",
        )
        for key, needed in wrong.limit.items()
        if key in wrong.value
        for other in needed
        if other not in wrong.value
    ]


def _pattern(wrong: Wrong) -> list[Fault]:
    is_key = wrong.value in wrong.document.spot(wrong.path).keys  # the pattern of a key, not of a value
    examples = [f"`{example}`" for example in wrong.schema.get("examples", [])]
    allowed = ", ".join(examples) or wrong.schema.get("description", "") or f"the form {wrong.limit}"
    subject = f"the key `{shorten(wrong.value)}`" if is_key else wrong.subject
    return [
        wrong.fault(
            f"{subject} is not written as it should be",
            "pattern",
            path=(*wrong.path, wrong.value) if is_key else wrong.path,
            at_key=is_key,
            found=wrong.value if is_key else wrong.found,
            allowed=allowed,
            repair=f"write it like {examples[0]}" if examples else "write it in the allowed form",
        )
    ]


def _bounds(wrong: Wrong) -> list[Fault]:
    low, high = wrong.schema.get("minimum"), wrong.schema.get("maximum")
    above, below = wrong.schema.get("exclusiveMinimum"), wrong.schema.get("exclusiveMaximum")
    if low is not None and high is not None:
        allowed = f"from {low} to {high}"
    else:
        parts = [f"{low} or more"] if low is not None else []
        parts += [f"more than {above}"] if above is not None else []
        parts += [f"{high} or less"] if high is not None else []
        parts += [f"less than {below}"] if below is not None else []
        allowed = " and ".join(parts)
    size = "small" if wrong.keyword in ("minimum", "exclusiveMinimum") else "large"
    repair = f"write a number {allowed}" if allowed.startswith("from") else f"write {allowed}"
    return [wrong.fault(f"{wrong.subject} is too {size}", "bounds", allowed=allowed, repair=repair)]


def _multiple(wrong: Wrong) -> list[Fault]:
    allowed = f"a multiple of {wrong.limit}"
    return [wrong.fault(f"{wrong.subject} is not {allowed}", "bounds", allowed=allowed, repair=f"write {allowed}")]


def _length(wrong: Wrong) -> list[Fault]:
    limit = wrong.limit
    if wrong.keyword == "maxLength":
        message, allowed = f"{wrong.subject} is too long", f"up to {limit} characters"
        repair = f"shorten it by {len(wrong.value) - limit} characters"
    else:
        message = f"{wrong.subject} is {'too short' if wrong.value else 'empty'}"
        allowed = f"at least {limit} characters" if limit > 1 else "at least one character"
        repair = "write a text, or remove the key"
    return [wrong.fault(message, "length", allowed=allowed, repair=repair)]


def _items(wrong: Wrong) -> list[Fault]:
    limit, count = wrong.limit, len(wrong.value)
    one, many = ("entry", "entries") if isinstance(wrong.value, dict) else ("item", "items")
    least = wrong.schema.get("minItems", wrong.schema.get("minProperties"))
    most = wrong.schema.get("maxItems", wrong.schema.get("maxProperties"))
    too_few = wrong.keyword.startswith("min")
    allowed = f"exactly {limit}" if least == most else f"at least {limit}" if too_few else f"up to {limit}"
    message = f"{wrong.subject} has too {'few' if too_few else 'many'} {many}"
    if not count:
        message = f"{wrong.subject} is empty"
    change = abs(limit - count)
    repair = f"{'add' if too_few else 'remove'} {change} {one if change == 1 else many}"
    first_extra = isinstance(wrong.value, list) and not too_few
    path = (*wrong.path, limit) if first_extra else wrong.path
    return [wrong.fault(message, "items", path=path, found=f"{count} {one if count == 1 else many}",
                        allowed=allowed, repair=repair)]  # fmt: skip


def _unique(wrong: Wrong) -> list[Fault]:
    faults = []
    for number, item in enumerate(wrong.value):
        first = wrong.value.index(item)
        if first < number:
            path = (*wrong.path, number)
            message = f"item {number + 1} of {wrong.subject} repeats item {first + 1}"
            found = written(wrong.document, path)
            faults.append(wrong.fault(message, "unique", path=path, found=found, repair="remove one of the two"))
    return faults


def _date(wrong: Wrong) -> list[Fault]:
    message = f"{wrong.subject} is not a date of the calendar"
    return [wrong.fault(message, "pattern", allowed="a date as year-month-day", repair="write it like `2025-04-15`")]


def _other(wrong: Wrong) -> list[Fault]:
    """A keyword without a sentence of its own; a key that is not allowed here (a false schema) too."""
    if wrong.keyword == "not" and wrong.limit == {} and wrong.path:
        return [wrong.fault(f"{wrong.subject} is not used here", "unknown-key", at_key=True,
                            found=str(wrong.path[-1]), repair="remove it")]  # fmt: skip
    about = wrong.schema.get("description", "")
    repair = wrong.hint or "compare it with the description of the format"
    return [wrong.fault(f"{wrong.subject} does not fit here", wrong.keyword or "value", allowed=about, repair=repair)]


_SENTENCES: dict[str, Callable[[Wrong], list[Fault]]] = {
    "type": _type,
    "enum": _enum,
    "const": _enum,
    "required": _required,
    "dependentRequired": _dependent,
    "pattern": _pattern,
    "minimum": _bounds,
    "maximum": _bounds,
    "exclusiveMinimum": _bounds,
    "exclusiveMaximum": _bounds,
    "multipleOf": _multiple,
    "minLength": _length,
    "maxLength": _length,
    "minItems": _items,
    "maxItems": _items,
    "minProperties": _items,
    "maxProperties": _items,
    "uniqueItems": _unique,
    "format": _date,
}
