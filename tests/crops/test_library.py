"""Finding crops by any of their names, the crop model, and words about the library."""

from __future__ import annotations

import math

import pytest
from looping import each

from mixcraft.crops import QUALITIES, UnknownCrop, all_crops, crop_ids, find_crop, find_crop_id, load_crop
from mixcraft.crops.cautions import caution_texts, cautions
from mixcraft.crops.coverage import all_traits, coverage, find_by_traits, traits
from mixcraft.crops.library import DATA, AmbiguousCrop, build_index, index, plain_name, singular_forms


@each(
    ("given", "plain"),
    [
        ("Möhre", "mohre"), ("corn-salad", "corn salad"), ("  Spring   ONION ", "spring onion"),
        ("lamb's lettuce", "lambs lettuce"),
    ],
)  # fmt: skip
def test_plain_names(given: str, plain: str) -> None:
    assert plain_name(given) == plain


def test_plurals() -> None:
    assert "radish" in singular_forms("radishes")
    assert "berry" in singular_forms("berries")
    assert "leaf" in singular_forms("leaves")
    assert "carrot" in singular_forms("carrots")


@each(
    ("name", "crop_id"),
    [
        ("carrot", "carrot-maincrop"), ("carrots", "carrot-maincrop"), ("Möhre", "carrot-maincrop"),
        ("tomato", "tomato-cordon"), ("Zucchini", "courgette"), ("courgettes", "courgette"), ("haricots verts", None),
        ("lettuce-cos", "lettuce-cos"), ("cos lettuce", "lettuce-cos"), ("Phaseolus coccineus", "runner-bean"),
        ("beetroot", "beetroot"), ("spinach beet", "beet-leaf"),
    ],
)  # fmt: skip
def test_find_by_name(name: str, crop_id: str | None) -> None:
    if crop_id is None:
        with pytest.raises(UnknownCrop):
            find_crop(name)
    else:
        assert find_crop_id(name) == crop_id


def test_every_id_and_usual_name_finds_its_crop() -> None:
    for crop_id in crop_ids():
        assert find_crop_id(crop_id) == crop_id
        assert find_crop(load_crop(crop_id).name).id == crop_id, crop_id


def test_every_name_in_every_language_finds_a_crop_that_has_it() -> None:
    words = {(word, crop.id) for crop in all_crops() for names in crop.names.values() for word in names}
    lost = []
    for word, crop_id in sorted(words):
        try:
            found = load_crop(find_crop_id(word))
        except AmbiguousCrop as error:
            lost += [(word, crop_id, "")] if crop_id not in map(find_crop_id, error.suggestions) else []
            continue
        own = {plain_name(w) for names in found.names.values() for w in names} | {plain_name(found.id)}
        if not own & {plain_name(form) for form in singular_forms(plain_name(word))} and plain_name(word) not in own:
            lost.append((word, crop_id, found.id))
    # a name that stands for a whole group (generic.yaml) may lead to the group's usual crop
    assert len(lost) <= 0.02 * len(words), lost


def test_unknown_names_come_with_near_ones() -> None:
    with pytest.raises(UnknownCrop) as caught:
        find_crop("tomatoe plant")
    assert "tomatoe plant" in str(caught.value)
    with pytest.raises(UnknownCrop) as near:
        find_crop("beatroot")
    assert "beetroot" in near.value.suggestions
    with pytest.raises(UnknownCrop) as nothing:
        find_crop("qqqqqqqq")
    assert nothing.value.suggestions == ()
    assert "mixcraft crops" in str(nothing.value)


def test_the_index_is_that_of_the_files() -> None:
    """`python -m mixcraft.crops` rebuilds it; a stale index hides new names."""
    assert dict(index()) == dict(sorted(build_index(DATA.glob("*.yaml")).items()))


def test_every_file_is_its_crop() -> None:
    for path in DATA.glob("*.yaml"):
        assert load_crop(path.stem).id == path.stem


def test_values_and_records() -> None:
    crop = load_crop("radish")
    assert crop["canopy.k"] == crop.records["canopy.k"].value
    assert crop.number("no.such", 3.0) == 3.0
    with pytest.raises(KeyError):
        crop["no.such"]
    assert crop.main_part.role == "main"
    with pytest.raises(KeyError):
        crop.main_part.number("no_such")
    assert crop.main_part.number("no_such", 2.0) == 2.0


def test_parts_by_any_number() -> None:
    spinach, kale = load_crop("spinach"), load_crop("kale")
    for crop, name in ((spinach, "leaf"), (spinach, "Leaves"), (kale, "leaves"), (kale, "leaf")):
        assert crop.part(name) is not None, (crop.id, name)
    assert load_crop("carrot-maincrop").part("roots") is load_crop("carrot-maincrop").part("root")
    assert spinach.part("ears") is None


def test_own_values_keep_units_and_lose_ranges() -> None:
    crop = load_crop("radish")
    tall = crop.with_values({"canopy.height": 0.6}, "recipe")
    record = tall.records["canopy.height"]
    assert (record.value, record.unit, record.source) == (0.6, crop.records["canopy.height"].unit, "recipe")
    assert (record.low, record.high) == (None, None)
    assert crop["canopy.height"] != 0.6  # the library's crop is untouched
    with pytest.raises(KeyError):
        crop.with_values({"no.such": 1.0}, "recipe")


def test_numbers_are_finite_and_ranges_hold_them() -> None:
    for crop in all_crops():
        for name, record in crop.records.items():
            assert math.isfinite(record.value), (crop.id, name)
            assert record.quality in QUALITIES
            assert record.source
            if record.low is not None and record.high is not None:
                assert record.low <= record.value <= record.high, (crop.id, name)


def test_each_crop_has_one_main_part_and_known_windows() -> None:
    events = {"start", "emergence", "organ_start", "ready", "first harvest", "flower", "bolt", "rest", "end", "frost"}
    for crop in all_crops():
        assert [p.role for p in crop.parts].count("main") == 1, crop.id
        for part in crop.parts:
            assert part.opens in events, (crop.id, part.name)
            assert part.closes in events, (crop.id, part.name)
            assert part.methods
            assert 0.0 < part.number("dry_matter") < 1.0


def test_every_caution_has_its_text() -> None:
    codes = {c for crop in all_crops() for c in (*crop.cautions, *(c for part in crop.parts for c in part.cautions))}
    assert codes
    assert codes - set(cautions()) == set()


def test_caution_texts_come_once_and_none_is_lost() -> None:
    known = sorted(cautions())[:2]
    texts = caution_texts([known[0], known[1], known[0], "some-new-danger"])
    assert len(texts) == 3
    assert texts[2] == "some new danger"


def test_raw_beans_and_rhubarb_leaves_are_warned_of() -> None:
    for name in ("runner bean", "climbing bean", "bush bean", "rhubarb", "potato"):
        crop = find_crop(name)
        codes = [*crop.cautions, *(c for part in crop.parts for c in part.cautions)]
        assert codes, name


def test_traits_find_crops() -> None:
    crops = all_crops()
    found = find_by_traits(crops, ["low", "shade-bearing", "leaf"])
    assert found
    for crop in found:
        assert {"low", "shade-bearing", "leaf"} <= traits(crop)
    assert {c.id for c in find_by_traits(crops, ["leaf", "low"])} >= {c.id for c in found}
    assert find_by_traits(crops, ["no such trait"]) == ()
    assert {"bean-climbing", "runner-bean"} <= {c.id for c in find_by_traits(crops, ["climber", "nitrogen fixing"])}
    assert "tall" in all_traits(crops)


def test_coverage_counts_every_record() -> None:
    crops = all_crops()[:5]
    counted = coverage(crops)
    assert counted.crops == 5
    records = sum(len(c.records) + sum(len(p.records) for p in c.parts) + (c.emergence_table is not None) for c in crops)
    assert sum(counted.totals.values()) == records
