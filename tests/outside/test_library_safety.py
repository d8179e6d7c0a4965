"""Poisonous and harmful parts: the crops that carry the danger carry the caution whose text says it.

Sources, row by row with how they were read, in data/library_safety.csv: US FDA Bad Bug Book (bean lectin; from memory, and
since read as quoted) and a summary citing it; Hartzler B (2015) Iowa State University Extension (sap of the parsnip
family); Ostertag et al. (furocoumarins of parsnip); BfR and extension advice (cucurbitacins, rhubarb leaves, nightshade
greens); EFSA CONTAM 2020 and JECFA (potato glycoalkaloids); US EPA 2024 (lead in soil); a herb society's and Colorado
State's lists of edible flowers. What to do is asked of the words of the text, since a caution that only names a
danger helps nobody. Dangers without a row name the source of their text, or say "common practice, no source".
"""

from __future__ import annotations

import re

import yaml
from library_tables import Row, crop, of, rows
from looping import each

from mixcraft.crops import Crop, all_crops
from mixcraft.crops.cautions import FILE, caution_texts, cautions


def part_codes(one: Crop, *parts: str) -> set[str]:
    """Codes of the crop and of the parts named, or of all parts."""
    named = [part for part in one.parts if not parts or part.name in parts]
    return {*one.cautions, *(code for part in named for code in part.cautions)}


def said(one: Crop) -> str:
    """All caution texts of a crop, in small letters."""
    return " ".join(caution_texts(sorted(part_codes(one)))).casefold()


def rows_on(item: str, quantity: str = "") -> tuple[Row, ...]:
    found = tuple(r for r in rows("safety") if r.item == item and r.quantity.startswith(quantity))
    assert found, (item, quantity)
    return found


FDA = "US FDA Bad Bug Book, phytohaemagglutinin; rows 'red kidney bean'"
HARTZLER = "Hartzler 2015, Iowa State University Extension; rows 'parsnip', 'Apiaceae', 'phytophotodermatitis'"
ALLERGENS = "list of 14 major allergens of the food information law (Rochdale Borough Council)"
DANGERS = {
    "raw-beans": (("bean-bush", "bean-climbing", "runner-bean"), ("raw", "cook", "soak", "boil"), FDA),
    "cyanogenic-beans": (
        ("lima-bean", "hyacinth-bean"), ("raw", "boil"), "OSU Extension, named in the caution; hyacinth bean from memory",
    ),
    "favism": (("broad-bean", "field-bean"), ("g6pd",), "American Academy of Clinical Toxicology 2017, named in the caution"),
    "cook-broad-beans": (("broad-bean",), ("cook", "soak", "boil"), "US FDA Bad Bug Book; row 'broad bean'"),
    "green-potato": (
        ("potato-early", "potato-maincrop"), ("green", "sprout", "earth"), "EFSA 2020; row 'potato foliage, berries ...'",
    ),
    "solanine-greens": (
        (
            "potato-early", "potato-maincrop", "tomato-bush", "tomato-cherry", "tomato-cordon", "aubergine", "pepper-sweet",
            "chilli",
        ),
        ("leaves", "poison"), "rows 'tomato foliage' and 'potato foliage ...'; pepper and aubergine from memory",
    ),
    "rhubarb-leaves": (("rhubarb",), ("leaf", "poison", "stalks"), "row 'rhubarb leaf blade'"),
    "asparagus-berries": (("asparagus",), ("berries", "poison"), "row 'asparagus berries'"),
    "parsnip-sap": (("parsnip",), ("sap", "sun", "gloves"), HARTZLER),
    "photosensitive": (
        ("carrot-early", "carrot-maincrop", "celery", "celeriac", "dill", "parsley", "fennel-herb", "florence-fennel"),
        ("sap", "sun"), HARTZLER,
    ),
    "cucurbit-bitter": (
        ("courgette", "summer-squash-patty-pan", "winter-squash", "butternut", "pumpkin", "cucumber", "gherkin", "luffa"),
        ("bitter", "throw"), "BfR and extension advice; row 'squash, zucchini, cucumber, gourd'",
    ),
    "physalis-unripe": (
        ("cape-gooseberry", "ground-cherry", "tomatillo"), ("unripe",), "Poisonous Plants of North Carolina, Physalis spp.",
    ),
    "comfrey-alkaloids": (("comfrey", "borage"), ("liver",), "US FDA 2001 letter on comfrey; borage from memory"),
    "water-plant-parasites": (("watercress", "water-spinach"), ("raw", "drinking water"), "Centre for Food Safety, Hong Kong"),
    "nut-legume-allergy": (("peanut", "soybean"), ("allerg",), ALLERGENS),
    "food-allergy-celery": (("celery", "celeriac"), ("allerg",), ALLERGENS),
    "mustard-allergen": (("mustard-leaf",), ("allerg",), ALLERGENS),
    "hot-capsaicin": (("chilli",), ("eyes", "gloves"), "common practice, no source"),
    "saponin-wash": (("quinoa",), ("rinse",), "common practice, no source"),
    "mould-toxins": (("peanut",), ("mould",), "advice of the US FDA, as repeated by Pennsylvania State University"),
    "allium-pets": (("onion", "garlic", "leek", "shallot", "chives", "onion-salad"), ("dogs", "cats"), "VCA Hospitals"),
    "sweet-pea-lookalike": (("pea-dwarf", "pea-tall", "pea-mangetout", "pea-sugar-snap"), ("poison",), "row 'sweet pea'"),
    "not-for-eating": (("comfrey", "cosmos", "yarrow"), ("not food",), "common practice, no source"),
    "seeds-toxic": (("winter-vetch",), ("seeds",), "Colorado State University, Guide to Poisonous Plants"),
    "umbellifer-lookalikes": (
        ("parsley", "chervil", "dill", "coriander", "caraway", "fennel-herb", "parsnip", "lovage", "skirret", "sweet-cicely"),
        ("hemlock",), "common practice, no source",
    ),
}  # fmt: skip
"""Code, crops that must carry it, words that its text must hold, and the source of the danger."""


@each(("code", "name"), [(code, name) for code, (crops, _, _) in DANGERS.items() for name in crops])
def test_a_crop_carries_the_caution(code: str, name: str) -> None:
    assert code in part_codes(crop(name)), DANGERS[code][2]


@each("code", DANGERS)
def test_the_text_says_what_to_do(code: str) -> None:
    text = str(cautions()[code]["text"]).casefold()
    assert {word for word in DANGERS[code][1] if word not in text} == set()


def number_before(text: str, unit: str) -> set[float]:
    return {float(value) for value in re.findall(rf"(\d+) {unit}", text)}


@each("name", ["bean-bush", "bean-climbing", "runner-bean"])
def test_times_of_soaking_and_boiling_are_those_of_the_fda(name: str) -> None:
    """Soak 5 h at least; of the printed 10 and 30 minutes at the boil the longer; no slow cooker."""
    text = said(crop(name))
    assert number_before(text, "hours") == {max(r.low for r in rows_on("red kidney bean", "soak at least"))}
    boil = max(r.high for q in ("boil in fresh water", "boil at least") for r in rows_on("red kidney bean", q))
    assert number_before(text, "minutes") == {boil}
    assert rows_on("red kidney bean", "slow cooker")[0].text == "true"
    assert "slow cooker" in text


def test_raw_beans_are_said_where_the_pods_are_picked() -> None:
    """The caution stands on the part that is eaten as well, so that it reaches the harvest line of a card."""
    found = [one for one in all_crops() if "raw-beans" in one.cautions]
    assert len(found) >= 8
    for one in found:
        assert "raw-beans" in one.main_part.cautions, one.id


def test_broad_beans_hold_less_of_the_lectin() -> None:
    """FDA: 5 to 10 % of what red kidney beans hold, so that theirs is a lesser caution than that of kidney beans."""
    assert rows_on("broad bean", "toxin relative to red kidney bean")[0].low <= 0.1
    assert "a tenth" in str(cautions()["cook-broad-beans"]["text"])
    assert cautions()["cook-broad-beans"]["rank"] > cautions()["raw-beans"]["rank"]
    assert "cook-broad-beans" in crop("broad-bean").main_part.cautions


def test_every_phaseolus_is_never_raw() -> None:
    found = [one for one in all_crops() if one.botanical.startswith("Phaseolus")]
    assert len(found) >= 4
    for one in found:
        assert "raw-beans" in part_codes(one), one.id


def test_every_nightshade_warns_of_its_greens() -> None:
    found = [one for one in all_crops() if one.family == "Solanaceae"]
    assert len(found) >= 10
    for one in found:
        assert "solanine-greens" in part_codes(one), one.id


def test_potato_berries_are_named() -> None:
    assert rows_on("potato foliage, berries, green or sprouted tubers")[0].text == "no"
    assert "berries" in said(crop("potato-maincrop")) or "fruit" in said(crop("potato-maincrop"))


BITTER = {"melon", "watermelon", "bitter-melon"}
"""Sweet kinds bred without cucurbitacins, and one that is bitter by nature and cooked so; not in the rows."""


def test_every_cucurbit_with_a_row_says_taste_first() -> None:
    for one in all_crops():
        if one.family == "Cucurbitaceae" and one.id not in BITTER:
            assert "cucurbit-bitter" in one.main_part.cautions, one.id


def test_umbellifers_warn_of_sap_or_of_lookalikes() -> None:
    """Many members of the family hold furocoumarins, most less than parsnip (Hartzler 2015)."""
    found = [one for one in all_crops() if one.family == "Apiaceae"]
    assert len(found) >= 12
    for one in found:
        assert part_codes(one) & {"parsnip-sap", "photosensitive", "umbellifer-lookalikes"}, one.id
    assert {r.text for r in rows_on("parsnip", "highest concentration")} == {"leaves"}
    assert "leaves" in str(cautions()["parsnip-sap"]["text"])


def test_every_onion_is_kept_from_pets() -> None:
    for one in all_crops():
        if one.botanical.startswith("Allium"):
            assert "allium-pets" in part_codes(one), one.id


def test_lead_is_said_with_the_roots() -> None:
    """EPA 2024: 200 ppm, 100 with several sources; leaves and roots hold most (University of Connecticut)."""
    entry = cautions()["soil-roots"]
    for quantity in ("residential screening level", "residential screening level, multiple lead sources"):
        (row,) = of("safety", quantity)
        assert f"{row.low:g} ppm" in entry["at"], row.quantity
    words = str(entry["text"]).casefold()
    assert "root" in rows_on("soil lead", "plant parts")[0].text
    assert "leafy" in rows_on("soil lead", "plant parts")[0].text
    assert "roots and leaves" in words
    assert "tested" in words
    for name in ("carrot-maincrop", "beetroot", "radish", "parsnip", "turnip", "swede", "celeriac", "salsify", "scorzonera"):
        assert "soil-roots" in part_codes(crop(name)), name


EDIBLE = {name for r in of("safety", "flower edible") if r.text == "yes" for name in r.crops}
NOT_EDIBLE = {name for r in of("safety", "flower edible") if r.text == "no" for name in r.crops}
FLOWERS = ("flowers", "male flowers", "petals", "flower spikes")


def test_flowers_that_are_eaten_are_on_the_lists_or_marked() -> None:
    """Flowers of the lists are food in the library; none of those that are not food is picked to be eaten."""
    picked = {one.id for one in all_crops() if any(part.name in FLOWERS for part in one.parts)}
    assert len(EDIBLE & picked) >= 18
    assert NOT_EDIBLE
    assert NOT_EDIBLE & picked == set()


def test_flowers_for_eating_are_unsprayed_petals() -> None:
    """The rule of edible flowers: petals only, never from florists or roadsides."""
    (rule,) = rows_on("edible flowers")
    text = str(cautions()["unsprayed-flowers"]["text"]).casefold()
    for word in ("petals", "florist", "roadside"):
        assert word in rule.quantity
        assert word in text
    for one in all_crops():
        for part in one.parts:
            if part.name in FLOWERS and "not-for-eating" not in part_codes(one, part.name):
                assert "unsprayed-flowers" in part.cautions, (one.id, part.name)


def test_daisies_with_flowers_for_eating_warn_of_allergy() -> None:
    """Flowers of the daisy family set off people allergic to ragweed or chamomile (Denisow-Pietrzyk et al. 2019)."""
    lacking = [
        one.id
        for one in all_crops()
        if one.family == "Asteraceae" and one.kinds[0] in ("flower", "insectary")
        and not part_codes(one) & {"daisy-allergy", "daisy-family-allergy"}
    ]  # fmt: skip
    assert lacking == []


def test_a_published_caution_names_a_work_of_the_bibliography() -> None:
    """Two of three texts are published, and so are most of those that can poison or injure seriously."""
    known = yaml.safe_load((FILE.parent / "bibliography.yaml").read_text("utf-8"))
    published = {code for code, entry in cautions().items() if entry["quality"] == "published"}
    for code in published:
        assert cautions()[code]["source"] in known, code
        assert len(str(cautions()[code]["at"])) > 3, code
    assert len(published) >= 2 / 3 * len(cautions())
    grave = {code for code, entry in cautions().items() if entry["rank"] == 1}
    assert len(published & grave) >= 0.8 * len(grave)
    assert [code for code, entry in cautions().items() if entry["quality"] == "memory"] == []


def test_what_can_poison_comes_first() -> None:
    """Cautions of rank 1 are those that can poison or injure seriously; no crop is only pleasant about them."""
    grave = {code for code, entry in cautions().items() if entry["rank"] == 1}
    assert {"raw-beans", "green-potato", "rhubarb-leaves", "parsnip-sap", "cucurbit-bitter", "solanine-greens", "favism"} <= grave
    for code in grave:
        assert cautions()[code]["quality"] in ("published", "memory", "common practice"), code
        assert len(str(cautions()[code]["text"]).split()) >= 10, code


def test_texts_send_people_to_those_who_know() -> None:
    """Where a doctor, a vet, a laboratory or a builder is needed, the text says so."""
    who = {
        "favism": "doctor", "parsnip-sap": "doctor", "allium-pets": "vet", "soil-roots": "laboratory", "trellis-load": "builder",
        "medicine-interaction": "pharmacist", "invasive": "local rules",
    }  # fmt: skip
    for code, word in who.items():
        assert word in str(cautions()[code]["text"]), code
