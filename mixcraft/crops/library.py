"""The crop library: one file per crop under ``data/``, found by any common or botanical name.

An index (``data/index.json``, rebuilt by ``python -m mixcraft.crops``) keeps the names, so that a recipe of ten crops
reads ten files and no more.  Files missing from the index are read anyway, so a contributor's new crop is found at once.
"""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Iterable, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from mixcraft.files.near import did_you_mean, or_list

from .kept import kept_crop
from .model import Crop, crop_from_mapping

DATA = Path(__file__).parent / "data"
INDEX = DATA / "index.json"
GENERIC = Path(__file__).with_name("generic.yaml")
EVERYDAY = Path(__file__).with_name("everyday.yaml")
_Loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class UnknownCrop(LookupError):  # noqa: N818 - reads as what it says, like UnknownPlace
    """No crop goes by that name; `suggestions` are names that come near."""

    def __init__(self, name: str, suggestions: tuple[str, ...]) -> None:
        self.name, self.suggestions = name, suggestions
        hint = f"did you mean {' or '.join(suggestions)}?" if suggestions else "`mixcraft crops` lists those there are."
        super().__init__(f"no crop called {name!r}: {hint}")


class AmbiguousCrop(UnknownCrop):
    """A name that growers give to several crops; `suggestions` are names of the crops that may be meant."""

    def __init__(self, name: str, suggestions: tuple[str, ...]) -> None:
        super().__init__(name, suggestions)
        self.args = (f"{name!r} may be {or_list(list(suggestions))}: which one is meant?",)


def plain_name(name: str) -> str:
    """`name` folded for look-up: lower case, no accents, hyphens as blanks, single blanks."""
    folded = unicodedata.normalize("NFKD", name.casefold())
    letters = "".join(c for c in folded if not unicodedata.combining(c))
    return " ".join(letters.replace("-", " ").replace("_", " ").replace("'", "").split())


def singular_forms(word: str) -> tuple[str, ...]:
    """`word` and what it may be the regular plural of."""
    forms = [word]
    if word.endswith("ies"):
        forms.append(word[:-3] + "y")
    if word.endswith("ves"):
        forms += [word[:-3] + "f", word[:-3] + "fe"]
    if word.endswith("es"):
        forms.append(word[:-2])
    if word.endswith("s"):
        forms.append(word[:-1])
    return tuple(forms)


def _entry(data: Mapping[str, Any]) -> dict[str, Any]:
    words = [data["id"], data["botanical"]]
    for language in data["names"].values():
        words += language
    return {"name": data["names"]["en"][0], "words": sorted({plain_name(w) for w in words}), "kinds": data["kinds"]}


def build_index(paths: Iterable[Path]) -> dict[str, dict[str, Any]]:
    """Index entries of crop files: id to usual name, all folded names and kinds."""
    found = {}
    for path in sorted(paths):
        data = yaml.load(path.read_bytes(), Loader=_Loader)
        found[path.stem] = _entry(data)
    return found


@lru_cache(maxsize=1)
def index() -> Mapping[str, dict[str, Any]]:
    """The index of the library by crop id."""
    known: dict[str, dict[str, Any]] = json.loads(INDEX.read_text("utf-8")) if INDEX.exists() else {}
    present = {path.stem: path for path in DATA.glob("*.yaml")}
    entries = {key: value for key, value in known.items() if key in present}
    entries.update(build_index(path for key, path in present.items() if key not in entries))
    return dict(sorted(entries.items()))


@lru_cache(maxsize=1)
def _by_word() -> Mapping[str, tuple[str, ...]]:
    words: dict[str, tuple[str, ...]] = {}
    for key, entry in index().items():
        for word in entry["words"]:
            words[word] = (*words.get(word, ()), key)
    return words


@lru_cache(maxsize=1)
def _generic() -> Mapping[str, str]:
    found: dict[str, str] = yaml.load(GENERIC.read_bytes(), Loader=_Loader)
    return {plain_name(word): key for word, key in found.items() if key in index()}


@lru_cache(maxsize=1)
def _everyday() -> Mapping[str, Any]:
    """Words that ask back, and names that mean a part of a crop."""
    found: dict[str, Any] = yaml.load(EVERYDAY.read_bytes(), Loader=_Loader)
    return {
        "asks": {plain_name(word): [key for key in keys if key in index()] for word, keys in found["asks"].items()},
        "parts": {plain_name(word): entry for word, entry in found["parts"].items() if entry["crop"] in index()},
        "cultivars": {plain_name(word): key for word, key in found["cultivars"].items() if key in index()},
    }


def find_part(name: str) -> str:
    """The edible part that a name of a crop means ("turnip greens": tops); nothing where it means the crop."""
    word = plain_name(name)
    forms = singular_forms(word)
    return next((str(_everyday()["parts"][form]["part"]) for form in forms if form in _everyday()["parts"]), "")


def crop_ids() -> tuple[str, ...]:
    """All crop ids, sorted."""
    return tuple(index())


def find_crop_id(name: str) -> str:
    """The id of the crop that `name` means: an id, a common name in any language, a plural or a botanical name.

    A name that several crops share (a species with several groups) means the one whose id or usual name it is, else
    the first that lists it earliest.  Raises `AmbiguousCrop` for a word that growers give to several crops, else `UnknownCrop`
    with near names.
    """
    word = plain_name(name)
    words, everyday = _by_word(), _everyday()
    for form in singular_forms(word):
        if form in everyday["asks"]:
            raise AmbiguousCrop(name, tuple(index()[key]["name"] for key in everyday["asks"][form]))
        if form.replace(" ", "-") in index():
            return form.replace(" ", "-")
        if form in _generic():
            return _generic()[form]
        if form in everyday["parts"]:
            return str(everyday["parts"][form]["crop"])
        if form in words:
            return min(words[form], key=lambda key: (plain_name(index()[key]["name"]) != form, _rank(key, form), key))
    if word in everyday["cultivars"]:
        raise UnknownCrop(name, (f"{index()[everyday['cultivars'][word]]['name']} (with `cultivar: {name}`)",))
    raise UnknownCrop(name, tuple(did_you_mean(word, [*words, *_generic()], names=True)))


def _rank(key: str, word: str) -> int:
    listed = [plain_name(n) for names in load_crop(key).names.values() for n in names]
    return listed.index(word) if word in listed else len(listed)


@lru_cache(maxsize=512)
def load_crop(crop_id: str) -> Crop:
    """The library's crop with this id."""
    return kept_crop(DATA / f"{crop_id}.yaml", lambda data: crop_from_mapping(yaml.load(data, Loader=_Loader)))


def find_crop(name: str) -> Crop:
    """The crop that `name` means; see `find_crop_id`."""
    return load_crop(find_crop_id(name))


def all_crops() -> tuple[Crop, ...]:
    """Every crop of the library, by id."""
    return tuple(load_crop(key) for key in crop_ids())
