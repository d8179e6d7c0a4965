"""From one recipe to another as changes of a file's text that keep the user's comments, order and way of writing.

Two recipes are compared field by field; only what differs is written, in the place where the file has it.  The result is read
again: if it is not exactly the recipe that was asked for, larger pieces are written anew.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from mixcraft.crops.mapping import crop_to_mapping
from mixcraft.crops.model import Crop
from mixcraft.files import REMOVE, Document, FileFaults, edit_document, parse_document
from mixcraft.files.edit import Change
from mixcraft.files.faults import PathTuple

from .model import After, Planting, Recipe
from .reading import read_recipe
from .reading_words import name_as_written
from .writing import (
    again_data,
    amount_data,
    canonical_text,
    cover_data,
    crop_data,
    end_data,
    harvest_data,
    own_crops,
    planting_data,
    quantity_text,
    serves_data,
    start_data,
    support_data,
    thinning_data,
    where_data,
)


def recipe_text(recipe: Recipe) -> str:
    """The text of a recipe file that reads as `recipe`: the text that it was read from, edited; a new one if there is none."""
    document = recipe.document
    if document is None:
        return canonical_text(recipe)
    old = read_recipe(document)
    if old == recipe:
        return document.text
    for changes in _ways(old, recipe, document):
        text = _edited(document.text, changes)
        if text is not None and _reads_as(text, recipe):
            return text
    return canonical_text(recipe)


def changes_between(old: Recipe, new: Recipe) -> tuple[Change, ...]:
    """Changes of the text of `old` (see `recipe_text`) that make it read as `new`; see `edit_document` for their form."""
    document = document_of(old)
    for changes in _ways(read_recipe(document), new, document):
        text = _edited(document.text, changes)
        if text is not None and _reads_as(text, new):
            return tuple(changes)
    data = parse_document(canonical_text(new), "new").data
    return tuple(((key,), value) for key, value in data.items())


def document_of(recipe: Recipe) -> Document:
    """The document that a recipe was read from, if it still says the same; else one written from it."""
    text = recipe_text(recipe)
    kept = recipe.document
    return kept if kept is not None and kept.text == text else parse_document(text, recipe.file or recipe.name)


def _ways(old: Recipe, new: Recipe, document: Document) -> Iterator[list[Change]]:
    """The changes as small as can be; then with the plantings that differ written anew."""
    yield list(_Comparison(old, new, document).changes(whole=False))
    yield list(_Comparison(old, new, document).changes(whole=True))


def _edited(text: str, changes: Sequence[Change]) -> str | None:
    try:
        return edit_document(text, changes)
    except (KeyError, FileFaults):
        return None


def _reads_as(text: str, recipe: Recipe) -> bool:
    try:
        return read_recipe(parse_document(text, "text")) == recipe
    except FileFaults:
        return False


@dataclass(frozen=True)
class _Comparison:
    """Two recipes and the document that the first was read from."""

    old: Recipe
    new: Recipe
    document: Document

    def changes(self, *, whole: bool) -> Iterator[Change]:
        """Changes in an order in which every path is right when its turn comes: inside, then away, then at the end."""
        stays = self._stays()
        own = self._own()
        yield from self._head()
        for i, planting in stays:
            if planting != self.old.plantings[i]:
                yield from self._planting(i, planting, own, whole=whole)
        yield from self._clear_names(stays)
        kept = {i for i, _ in stays}
        for i in reversed(range(len(self.old.plantings))):
            if i not in kept:
                yield ("plantings", i), REMOVE
        taken = {id(planting) for _, planting in stays}
        added = [p for p in self.new.plantings if id(p) not in taken]
        for n, planting in enumerate(added):
            yield ("plantings", len(kept) + n), {"name": planting.name, **planting_data(planting, own)}
        yield from self._crops(own)

    def _stays(self) -> list[tuple[int, Planting]]:
        """Plantings of the new recipe that the file has, with their place in it, in the order of the file."""
        found: dict[int, Planting] = {}
        names = [p.name for p in self.old.plantings]
        for planting in self.new.plantings:
            by_path = planting.path[1] if len(planting.path) == 2 else None
            i = names.index(planting.name) if planting.name in names else by_path
            if isinstance(i, int) and i < len(names) and i not in found and (not found or i > max(found)):
                found[i] = planting
        return list(found.items())

    def _entry(self, i: int) -> dict[str, Any]:
        entry = self.document.data["plantings"][i]
        return entry if isinstance(entry, dict) else {}

    def _head(self) -> Iterator[Change]:
        for key in ("name", "author", "licence", "about"):
            before, after = getattr(self.old, key), getattr(self.new, key)
            if before != after:
                yield (key,), after or REMOVE
        if self.old.serves != self.new.serves:
            yield ("serves",), serves_data(self.new.serves) if self.new.serves else REMOVE
        for key, attribute in (("length", "length_m"), ("width", "width_m")):
            if getattr(self.old, attribute) != getattr(self.new, attribute):
                yield ("bed", key), quantity_text(getattr(self.new, attribute), "length")

    def _planting(self, i: int, planting: Planting, own: dict[Crop, str], *, whole: bool) -> Iterator[Change]:
        path: PathTuple = ("plantings", i)
        if whole:
            yield path, {"name": planting.name, **planting_data(planting, own)}
            return
        before, after = fields_of(self.old.plantings[i], own), fields_of(planting, own)
        if planting.name != self.old.plantings[i].name:
            yield (*path, "name"), planting.name
        differing = [key for key in before.keys() | after.keys() if before.get(key) != after.get(key)]
        order = [*before, *(key for key in after if key not in before)]
        for key in sorted(differing, key=order.index):
            yield from _differences((*path, key), before.get(key), after.get(key), self._entry(i).get(key))

    def _clear_names(self, stays: list[tuple[int, Planting]]) -> Iterator[Change]:
        """Names written out where leaving them to be guessed would no longer give the same ones."""
        if len(stays) == len(self.old.plantings) == len(self.new.plantings):
            crops = [p.crop.name for p in self.old.plantings] == [p.crop.name for _, p in stays]
            if crops and [p.name for p in self.old.plantings] == [p.name for _, p in stays]:
                return
        for i, planting in stays:
            entry = self._entry(i)
            repeats = sum(p.crop.name == planting.crop.name for p in (*self.old.plantings, *self.new.plantings))
            guessed = repeats > 2 or planting.name != name_as_written(str(entry.get("crop", "")), planting.crop)
            if "name" not in entry and guessed and planting.name == self.old.plantings[i].name:
                yield ("plantings", i, "name"), planting.name
            start, written = planting.start, entry.get("start")
            if not isinstance(start, After) or start != self.old.plantings[i].start:
                continue
            if isinstance(written, dict) and written.get("planting") != start.planting:
                yield ("plantings", i, "start", "planting"), start.planting

    def _own(self) -> dict[Crop, str]:
        """Crops of the recipe's own with the names that they have, or are to have, in the file."""
        named: dict[Crop, str] = {}
        for i, planting in enumerate(self.old.plantings):
            word, known = self._entry(i).get("crop"), {str(k).casefold() for k in self._written_crops()}
            if isinstance(word, str) and word.casefold() in known and not self._entry(i).get("overrides"):
                named[planting.crop] = word
        for crop, key in own_crops(self.new).items():
            if crop not in named:
                taken = {word.casefold() for word in (*named.values(), *map(str, self._written_crops()))}
                number, word = 1, key
                while word.casefold() in taken:
                    number += 1
                    word = f"{key} {number}"
                named[crop] = word
        return named

    def _written_crops(self) -> dict[str, Any]:
        return dict(self.document.data.get("crops") or {})

    def _crops(self, own: dict[Crop, str]) -> Iterator[Change]:
        written = {str(key).casefold() for key in self._written_crops()}
        fresh = {key: crop_to_mapping(crop) for crop, key in own.items() if key.casefold() not in written}
        if fresh and not written:
            yield ("crops",), fresh
        elif fresh:
            for key, value in fresh.items():
                yield ("crops", key), value


def fields_of(planting: Planting, own: dict[Crop, str]) -> dict[str, Any]:
    """A planting's keys as they are written, each with its data."""
    data = {**crop_data(planting.crop, own), "cultivar": planting.cultivar, "establish": planting.establish}
    data |= amount_data(planting.amount) | thinning_data(planting.thin)
    data |= {"place": where_data(planting.where), "start": start_data(planting.start), **end_data(planting.end)}
    data |= again_data(planting.again)
    data |= {"cover": [cover_data(use) for use in planting.covers], **support_data(planting)}
    data |= {"harvest": [harvest_data(use) for use in planting.harvest], "note": planting.note}
    data |= {} if planting.depth_m is None else {"depth": quantity_text(planting.depth_m, "length")}
    data |= {} if planting.years is None else {"years": planting.years}
    return {key: value for key, value in data.items() if value or value == 0}


def _differences(path: PathTuple, before: Any, after: Any, written: Any) -> Iterator[Change]:
    """Changes from `before` to `after` at a path where the file has `written`, which says what `before` says."""
    if after is None:
        if written is not None:
            yield path, REMOVE
        return
    if isinstance(after, dict) and isinstance(before, dict) and isinstance(written, dict) and _same_kind(before, after):
        for key in dict.fromkeys((*before, *after)):
            if before.get(key) != after.get(key):
                yield from _differences((*path, key), before.get(key), after.get(key), written.get(key))
    elif isinstance(after, list) and _same_length(before, after, written):
        for n, item in enumerate(after):
            if n >= len(before):
                yield (*path, n), item
            elif before[n] != item:
                yield from _differences((*path, n), before[n], item, written[n])
    else:
        yield path, after


def _same_kind(before: dict[str, Any], after: dict[str, Any]) -> bool:
    return bool(before.get("kind") == after.get("kind"))


def _same_length(before: Any, after: list[Any], written: Any) -> bool:
    """Whether a list stands in the file as it was, and goes on as it was if it grows."""
    if not (isinstance(before, list) and isinstance(written, list)):
        return False
    return len(before) == len(written) and (len(after) == len(before) or after[: len(before)] == before != [])


def without_document(recipe: Recipe) -> Recipe:
    """The recipe as if it had been made in memory."""
    return replace(recipe, document=None, plantings=tuple(replace(p, path=()) for p in recipe.plantings))
