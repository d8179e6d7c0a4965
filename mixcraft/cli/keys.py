"""`mixcraft keys`: every key of a recipe, a garden or a brief, with meaning, values, default and example."""

from __future__ import annotations

import textwrap
from argparse import Namespace
from collections.abc import Iterator

from mixcraft.files import UsageError, did_you_mean, load_schema
from mixcraft.files.key_list import Key, found_keys, key_names, keys_of

NAME, STEP = 14, 2


def keys(args: Namespace) -> int:
    """Print the keys of a kind of file, or those called so."""
    if args.key is None:
        print(keys_text(args.kind))
        return 0
    found = found_keys(args.kind, args.key)
    if not found:
        near = did_you_mean(args.key, key_names(args.kind))
        hint = f"did you mean {near[0]}?" if near else f"`mixcraft keys {args.kind}` lists them"
        raise UsageError(f"a {args.kind} has no key called {args.key!r}: {hint}")
    print("\n".join(line for key in found for line in _lines(key, 0)))
    return 0


def keys_text(kind: str) -> str:
    """All keys of a kind of file."""
    about = load_schema(kind)["description"]
    head = [f"{kind}: {about}", "* = needed; a key without * may be left out", ""]
    return "\n".join([*head, *(line for key in keys_of(kind) for line in _lines(key, 0))])


def _lines(key: Key, depth: int) -> Iterator[str]:
    from .screen import width

    indent = STEP * depth
    mark = "* " if key.needed else "  "
    label = f"{' ' * indent}{mark}{key.name}"
    rest = " " * (indent + 2 + NAME)
    said = [key.meaning, key.takes] if key.takes else [key.meaning]
    yield textwrap.fill("; ".join(said), width(), initial_indent=f"{label:{len(rest) - 1}s} ", subsequent_indent=rest)
    more = [f"left out: {key.left_out}"] if key.left_out else []
    more += [f"example: {key.example}"] if key.example else []
    if more:
        yield textwrap.fill("; ".join(more), width(), initial_indent=rest, subsequent_indent=rest, break_on_hyphens=False)
    for inner in key.inner:
        yield from _lines(inner, depth + 1)
    for kind in key.kinds:
        about = f"{' ' * (indent + STEP)}  kind: {kind.name}  {kind.meaning}"
        yield textwrap.fill(about, width(), subsequent_indent=" " * (indent + 8))
        for inner in kind.keys:
            yield from _lines(inner, depth + 3)
