"""Every name of every crop finds it: ids, English names with their plurals, botanical names, and four other languages.

Expected names are ordinary words of English (both sides of the Atlantic), German, French, Spanish and Italian, given from memory.
"""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Iterator

import pytest
import yaml
from looping import each

from mixcraft.crops import UnknownCrop, all_crops, crop_ids, find_crop_id, load_crop
from mixcraft.crops.library import DATA, GENERIC, INDEX, AmbiguousCrop, build_index, plain_name

LANGUAGES = ("en", "de", "fr", "es", "it")
AT_LEAST = 140
CROPS = all_crops()


def owners() -> dict[str, set[str]]:
    """Folded names and the crops that list them (ids and botanical names too)."""
    found: dict[str, set[str]] = {}
    for crop in CROPS:
        words = {crop.id, crop.botanical, *(word for words in crop.names.values() for word in words)}
        for word in words:
            found.setdefault(plain_name(word), set()).add(crop.id)
    return found


OWNERS = owners()
GENERAL = {plain_name(word): crop for word, crop in yaml.safe_load(GENERIC.read_text("utf-8")).items()}
SHARED = {word: crops for word, crops in OWNERS.items() if len(crops) > 1}


def accepted(word: str) -> set[str]:
    """Crops that a name may lead to: the one that a general word stands for, else those that list it."""
    plain = plain_name(word)
    return {GENERAL[plain]} if plain in GENERAL else OWNERS[plain]


def found_id(word: str, wanted: set[str]) -> str:
    """The crop that a name finds; for one that asks back, one of those asked about that is wanted."""
    try:
        return find_crop_id(word)
    except AmbiguousCrop as error:
        return next((key for key in map(find_crop_id, error.suggestions) if key in wanted), "")


def plurals(name: str) -> Iterator[str]:
    """Regular English plurals of a name's last word."""
    if name.endswith("y") and name[-2:-1] not in "aeiou":
        yield name[:-1] + "ies"
    elif name.endswith(("s", "x", "z", "ch", "sh")):
        yield name + "es"
    elif name.endswith("o"):
        yield from (name + "s", name + "es")
    elif name.endswith("f"):
        yield from (name + "s", name[:-1] + "ves")
    else:
        yield name + "s"


@each("crop_id", crop_ids())
def test_all_names_of_a_crop_find_it(crop_id: str) -> None:
    """Its own crop, or for a name that several crops list one of these; an id and a usual name are never shared."""
    crop = load_crop(crop_id)
    assert find_crop_id(crop.id) == crop.id
    assert find_crop_id(crop.name) == crop.id
    assert find_crop_id(crop.botanical) in OWNERS[plain_name(crop.botanical)]
    for language in LANGUAGES:
        assert crop.names[language], (crop.id, language)
        for name in crop.names[language]:
            for way in (name, name.upper(), name.replace(" ", "-"), "  " + name.replace(" ", "  ") + " "):
                assert found_id(way, accepted(name)) in accepted(name), (name, language)


@each("crop_id", crop_ids())
def test_english_plurals_find_the_crop(crop_id: str) -> None:
    for name in load_crop(crop_id).names["en"]:
        for plural in plurals(name):
            assert found_id(plural, accepted(name)) in accepted(name), plural


@each("crop_id", crop_ids())
def test_accents_may_be_left_out(crop_id: str) -> None:
    for names in load_crop(crop_id).names.values():
        for name in names:
            plain = "".join(c for c in unicodedata.normalize("NFKD", name) if not unicodedata.combining(c))
            assert found_id(plain, accepted(name)) in accepted(name), plain


def test_few_names_are_shared() -> None:
    """Botanical names of species with several crops aside, one name in fifty at most, and of the English ones two."""
    botanical = {plain_name(crop.botanical) for crop in CROPS}
    common = {word: crops for word, crops in SHARED.items() if word not in botanical}
    print(*(f"{word}: {', '.join(sorted(crops))} -> {found_id(word, crops)}" for word, crops in sorted(SHARED.items())), sep="\n")
    assert len(common) <= 0.02 * len(OWNERS)
    english = {plain_name(word) for crop in CROPS for word in crop.names["en"]}
    assert set(common) & english <= {"fennel", "sweet fennel", "ciboule"}
    for word, crops in SHARED.items():
        assert found_id(word, crops) in crops, word


def test_general_words_stand_for_crops_of_the_library() -> None:
    assert len(GENERAL) >= 20
    for word, crop in GENERAL.items():
        assert find_crop_id(word) == crop
        assert crop in crop_ids()


SPECIES = {
    "Lactuca sativa": "lettuce", "Solanum lycopersicum": "tomato", "Solanum tuberosum": "potato", "Zea mays": "sweet corn",
    "Cucumis sativus": "cucumber", "Fragaria x ananassa": "strawberry", "Capsicum annuum": "pepper",
    "Cichorium intybus": "radicchio", "Cichorium endivia": "endive", "Daucus carota subsp. sativus": "carrot",
    "Pisum sativum": "pea", "Phaseolus vulgaris": "climbing bean", "Brassica oleracea Capitata Group": "cabbage",
    "Brassica oleracea Acephala Group": "kale", "Beta vulgaris subsp. cicla": "chard",
}  # fmt: skip
"""Botanical names of several crops, and the plain word for the usual one (usage of the trade, from memory)."""


@each("botanical", SPECIES)
def test_a_species_means_its_usual_crop(botanical: str) -> None:
    assert find_crop_id(botanical) == find_crop_id(SPECIES[botanical])


@each(
    ("name", "crop_id"),
    [
        ("zucchini", "courgette"), ("zucchinis", "courgette"), ("courgettes", "courgette"), ("aubergine", "aubergine"),
        ("eggplant", "aubergine"), ("eggplants", "aubergine"), ("arugula", "rocket"), ("rocket", "rocket"), ("beet", "beetroot"),
        ("beets", "beetroot"), ("swede", "swede"), ("rutabaga", "swede"), ("scallion", "onion-salad"),
        ("scallions", "onion-salad"), ("spring onions", "onion-salad"), ("green onion", "onion-salad"),
        ("capsicum", "pepper-sweet"),
        ("bell peppers", "pepper-sweet"), ("sweet corn", "sweet-corn"), ("sweetcorn", "sweet-corn"), ("sweet-corn", "sweet-corn"),
        ("maize", "sweet-corn"),
        ("chili", "chilli"), ("cilantro", "coriander"), ("fava beans", "broad-bean"), ("string beans", "bean-bush"),
        ("pole beans", "bean-climbing"), ("Swiss chard", "chard"), ("silverbeet", "chard"), ("bok choy", "pak-choi"),
        ("napa cabbage", "chinese-cabbage"), ("daikon", "radish-winter"), ("mooli", "radish-winter"), ("celery root", "celeriac"),
        ("lamb's lettuce", "corn-salad"), ("lambs lettuce", "corn-salad"), ("mâche", "corn-salad"), ("romaine", "lettuce-cos"),
        ("iceberg", "lettuce-crisphead"), ("snow peas", "pea-mangetout"), ("edamame", "soybean"),
        ("sunchoke", "jerusalem-artichoke"),
        ("cavolo nero", "kale-tuscan"), ("calabrese", "broccoli"), ("cantaloupe", "melon"), ("garbanzo", "chickpea"),
        ("groundnuts", "peanut"), ("lucerne", "alfalfa"), ("tomatoes", "tomato-cordon"), ("potatoes", "potato-maincrop"),
        ("Brussels sprouts", "brussels-sprouts"), ("brussels-sprouts", "brussels-sprouts"), ("Physalis", "cape-gooseberry"),
        ("marrow", "courgette"),
        ("ladies' fingers", "okra"),
        ("honeydew", "melon"),
        ("sugar snap", "pea-sugar-snap"),
    ],
)  # fmt: skip
def test_words_of_both_sides_of_the_ocean(name: str, crop_id: str) -> None:
    assert find_crop_id(name) == crop_id


@each(
    ("name", "crop_id"),
    [
        ("Möhre", "carrot-maincrop"), ("mohre", "carrot-maincrop"), ("Rote Bete", "beetroot"), ("Feldsalat", "corn-salad"),
        ("Zwiebel", "onion"), ("Gurke", "cucumber"), ("Mangold", "chard"), ("Topinambur", "jerusalem-artichoke"),
        ("épinard", "spinach"), ("epinard", "spinach"), ("poireau", "leek"), ("radis", "radish"),
        ("betterave", "beetroot"),
        ("pomme de terre", "potato"), ("zanahoria", "carrot-maincrop"), ("zanahorias", "carrot-maincrop"), ("cebolla", "onion"),
        ("pepino", "cucumber"), ("ajo", "garlic"), ("carota", "carrot-maincrop"), ("cipolla", "onion"),
        ("finocchio", "florence-fennel"),
        ("melanzana", "aubergine"), ("pomodoro", "tomato"), ("tomate", "tomato"), ("aglio", "garlic"),
    ],
)  # fmt: skip
def test_words_of_other_languages(name: str, crop_id: str) -> None:
    """A bare `tomato` or `potato` means any crop of that species."""
    found = find_crop_id(name)
    assert found == crop_id or (crop_id in ("tomato", "potato") and found.startswith(crop_id))


@each(
    ("slip", "word"),
    [
        ("carot", "carrot"), ("tomatoe", "tomato"), ("lettuse", "lettuce"), ("cucmber", "cucumber"), ("spinich", "spinach"),
        ("potatoe", "potato"), ("radich", "radish"), ("onoin", "onion"), ("cabage", "cabbage"), ("aubergene", "aubergine"),
        ("corgette", "courgette"), ("zuchini", "zucchini"), ("cauliflour", "cauliflower"), ("parsnipp", "parsnip"),
        ("beatroot", "beetroot"), ("bassil", "basil"), ("gralic", "garlic"), ("brocolli", "broccoli"), ("rhubard", "rhubarb"),
    ],
)  # fmt: skip
def test_a_slip_of_the_pen_is_told_what_was_meant(slip: str, word: str) -> None:
    """The right word is among the (three at most) suggestions, and each of them finds a crop."""
    with pytest.raises(UnknownCrop) as caught:
        find_crop_id(slip)
    assert word in caught.value.suggestions
    assert len(caught.value.suggestions) <= 3
    for suggestion in caught.value.suggestions:
        assert find_crop_id(suggestion) in crop_ids()


def test_the_written_index_is_a_fresh_one() -> None:
    """Not only what `index()` returns: the bytes on disk are what `python -m mixcraft.crops` would write now."""
    fresh = build_index(sorted(DATA.glob("*.yaml")))
    assert len(fresh) == len(CROPS) >= AT_LEAST
    assert INDEX.read_text("utf-8") == json.dumps(fresh, ensure_ascii=False, indent=0, sort_keys=True) + "\n"


def test_usual_names_are_unlike() -> None:
    """No two crops share a usual name in English, folded."""
    names = [plain_name(crop.name) for crop in CROPS]
    assert sorted(names) == sorted(set(names))
