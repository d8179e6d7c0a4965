"""Rules live on the recipe: what is refused in a file is refused in memory, with the same words, and by the plan too."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from typing import Any

import pytest

from mixcraft.crops import all_crops, load_crop
from mixcraft.crops.model import Crop
from mixcraft.files import Fault, FileFaults, parse_document
from mixcraft.files.frozen import FrozenMap
from mixcraft.recipe.limits import crop_limits, limits
from mixcraft.recipe.model import (
    After,
    AtAge,
    AtEvent,
    AtTrellis,
    AutumnFrost,
    Border,
    Count,
    CoverUse,
    Density,
    HarvestUse,
    OnDate,
    OnDay,
    Planting,
    Points,
    Rows,
    SeedRate,
    Span,
    SpringFrost,
    Strip,
    Thinning,
    Usual,
    WarmSoil,
    Zone,
)
from mixcraft.recipe.plan import plan
from mixcraft.recipe.reading import read_recipe
from mixcraft.recipe.rules import faults_of
from mixcraft.recipe.stands import plants_of

from ..house.sources import ROOT
from ..strategies import bed, garden, planned, planting, recipe

NAN, INF = float("nan"), float("inf")
HALF = Span(0.5, share=True)


def strange(crop: str = "radish", /, **more: Any) -> Planting:
    """A planting with some fields replaced, whatever they hold."""
    return replace(planting(crop), **more)


def with_range(crop: Crop, high: float) -> Crop:
    """A crop of a recipe's own whose density is said to range up to `high`."""
    record = replace(crop.records["spacing.density"], value=high, high=high, source="recipe")
    return replace(crop, records=FrozenMap({**crop.records, "spacing.density": record}))


def item(path: str, rule: str, **more: Any) -> Any:
    crop = more.pop("of", "radish")
    return pytest.param(strange(crop, **more), path, rule, id=f"{path} {next(iter(more.values()))!r}"[:70])


BROKEN = [
    item("density", "number.bounds", amount=Density(-5.0)), item("density", "number.kind", amount=Density(NAN)),
    item("density", "number.kind", amount=Density(INF)), item("density", "number.bounds", amount=Density(0.0)),
    item("density", "amount.absurd", amount=Density(9e6)), item("count", "number.kind", amount=Count(2.5)),  # type: ignore[arg-type]
    item("count", "number.bounds", amount=Count(0)), item("count", "number.kind", amount=Count(True)),
    item("seed_rate", "number.kind", amount=SeedRate(NAN)), item("seed_rate", "number.bounds", amount=SeedRate(1e9)),
    item("density", "kind.unknown", amount=12.0), item("establish", "word.unknown", establish="thrown"),
    item("establish", "establish.way", establish="tuber"), item("end", "kind.unknown", end="whenever"),
    item("start", "kind.unknown", start=AtAge(30.0)), item("place", "kind.unknown", where="anywhere"),
    item("start.on", "date.unreadable", start=OnDate("02-30")), item("start.on", "date.unreadable", start=OnDate("4-5")),
    item("start.hemisphere", "word.unknown", start=OnDate("04-05", "east")),
    item("start.at_least", "number.kind", start=WarmSoil(NAN)),
    item("start.not_before", "date.unreadable", start=WarmSoil(9.0, "13-01")),
    item("start.weeks", "number.bounds", start=SpringFrost(400.0)), item("start.weeks", "number.kind", start=SpringFrost(NAN)),
    item("start.planting", "after.unknown", start=After("nobody", "start")),
    item("start.planting", "after.circle", start=After("radish", "start")),
    item("end.time", "number.bounds", end=AtAge(-3.0)), item("end.weeks", "number.kind", end=AutumnFrost(INF)),
    item("end.on", "date.unreadable", end=OnDate("31-12")), item("end", "end.order", end=OnDate("04-15")),
    item("thin.sown", "number.kind", thin=Thinning(NAN, AtEvent())),
    item("thin.sown", "amount.absurd", thin=Thinning(1e9, AtEvent())),
    item("thin.at", "moment.unreadable", thin=Thinning(50.0, AtEvent("birthday"))),
    item("cover[0].kind", "word.unknown", covers=(CoverUse("blanket", AtEvent(), AtEvent("start", 7.0)),)),
    item("cover[0].off", "number.bounds", covers=(CoverUse("fleece", AtEvent(), AtEvent("start", 1e9)),)),
    item("cover[0].off", "moment.order", covers=(CoverUse("fleece", AtEvent("start", 7.0), AtEvent()),)),
    item("cover[6]", "cover.many", covers=(CoverUse("fleece", AtEvent(), AtEvent("start", 7.0)),) * 7),
    item("harvest[0].method", "word.unknown", harvest=(HarvestUse("root", "bite"),)),
    item("harvest[0].part", "harvest.part", harvest=(HarvestUse("petals"),)),
    item("harvest[0].every", "number.kind", harvest=(HarvestUse("root", every_days=NAN),)),
    item("harvest[0].cuts", "number.bounds", harvest=(HarvestUse("root", cuts=99),)),
    item("harvest[0].from", "date.unreadable", harvest=(HarvestUse("root", start=OnDay("00-00")),)),
    item("support.kind", "word.unknown", support="ladder"), item("support.height", "number.bounds", support_height_m=90.0),
    item("depth", "number.kind", depth_m=NAN), item("depth", "number.bounds", depth_m=9.0),
    item("place", "number.kind", where=Strip((Span(NAN), HALF))),
    item("place.y", "number.bounds", where=Zone((Span(0.0), HALF), (Span(-1.0), HALF))),
    item("place.along", "word.unknown", where=Rows("diagonal", (HALF,))),
    item("place.at", "place.some", where=Rows("length", ())),
    item("place.at", "place.some", where=Points(()), amount=Usual()),
    item("place.edge", "word.unknown", where=AtTrellis("up")), item("place.depth", "number.kind", where=Border("north", NAN)),
    item("count", "amount.points", where=Points(((HALF, HALF),)), amount=Count(3)),
    item("name", "text.character", name="ra\x1b[31mdish"), item("name", "text.character", name="rad\u202eish"),
    item("name", "text.character", name="two\nlines"), item("name", "text.long", name="r" * 61),
    item("name", "text.empty", name=" "), item("note", "text.character", note="\x07"),
    item("seed_rate", "amount.seedless", of="sweet-potato", establish="plant", amount=SeedRate(2.0)),
    item("establish", "establish.way", of="sweet-potato", establish="drills"),
    item("establish", "establish.way", of="sweet-potato", establish="module"),
    item("overrides.canopy.height", "override.bounds", crop=load_crop("radish").with_values({"canopy.height": NAN}, "recipe")),
    item("overrides.seed.per_gram", "override.bounds", crop=load_crop("radish").with_values({"seed.per_gram": 1e300}, "recipe")),
    item("overrides.development.t_base", "override.order",
         crop=load_crop("radish").with_values({"development.t_base": 20.0}, "recipe")),
    item("overrides.development.light_use.all_from", "override.order", of="broad-bean",
         crop=load_crop("broad-bean").with_values({"development.light_use.all_from": 26.0}, "recipe")),
    item("overrides.spacing.density", "override.bounds", crop=with_range(load_crop("radish"), 1e300)),
]  # fmt: skip


@pytest.mark.parametrize(("broken", "path", "rule"), BROKEN)
def test_a_recipe_in_memory_is_refused(broken: Planting, path: str, rule: str) -> None:
    """By the rules, and by the plan with the same fault; each says where, and how to mend it."""
    made = recipe(broken)
    found = faults_of(made)
    assert [(f.path, f.rule) for f in found] == [(f"plantings[0].{path}", rule)], found
    assert found[0].repair or found[0].allowed
    assert f"plantings[0].{path}" in str(FileFaults(found))
    with pytest.raises(FileFaults) as caught:
        plan(made, garden(), "bed")
    assert list(caught.value.faults) == found


def test_every_usual_planting_of_the_library_is_accepted() -> None:
    for crop in all_crops():
        assert faults_of(recipe(planting(crop.id, establish=crop.establish[0]))) == [], crop.id


HEAD = "format: mixcraft-recipe/1\nname: test\nbed: {length: 2 m, width: 1 m}\nplantings:\n"
USUAL = {
    "crop": "radish", "establish": "broadcast", "density": "40 plants/m2", "place": "{kind: whole}",
    "start": "{kind: date, on: 04-15}",
}  # fmt: skip


def text_of(**lines: str) -> str:
    rows = [f"{key}: {value}" for key, value in {**USUAL, **lines}.items() if value]
    return HEAD + "  - " + "\n    ".join(rows) + "\n"


def refused(text: str) -> tuple[Fault, ...]:
    with pytest.raises(FileFaults) as caught:
        read_recipe(parse_document(text, "file.yaml"))
    return caught.value.faults


SAME = [
    ({"density": "9000000 plants/m2"}, strange(amount=Density(9e6))),
    ({"start": "{kind: after, planting: nobody, event: start}"}, strange(start=After("nobody", "start"))),
    ({"end": "{kind: date, on: 04-15}"}, strange(end=OnDate("04-15"))),
    ({"crop": "sweet potato", "establish": "plant", "density": "", "seed_rate": "2 g/m2"},
     strange("sweet-potato", establish="plant", amount=SeedRate(2.0))),
    ({"overrides": "{seed.per_gram: 0}"}, strange(crop=load_crop("radish").with_values({"seed.per_gram": 0.0}, "recipe"))),
    ({"harvest": "[{part: petals}]"}, strange(harvest=(HarvestUse("petals"),))),
]  # fmt: skip


@pytest.mark.parametrize(("lines", "made"), SAME)
def test_a_file_adds_line_and_column_only(lines: dict[str, str], made: Planting) -> None:
    (in_file,), (in_memory,) = refused(text_of(**lines)), faults_of(recipe(made))
    assert in_file.line > 4
    assert in_memory.line == 0
    assert (in_file.path, in_file.rule, in_file.allowed, in_file.repair) == (
        in_memory.path, in_memory.rule, in_memory.allowed, in_memory.repair,
    )  # fmt: skip
    assert in_memory.message == f"{in_memory.path}: {in_file.message}"


@pytest.mark.parametrize(
    "lines",
    [
        {"overrides": "{canopy.height: nan1}"}, {"overrides": "{canopy.k: .nan}"}, {"overrides": "{canopy.k: .inf}"},
        {"overrides": "{canopy.height: 900 m}"}, {"overrides": "{seed.per_gram: 1e300}"},
        {"thin": "{sown: 1e300 plants/m2, at: emergence + 3 weeks}"}, {"name": '"a\\e[31m"'}, {"name": '"a\\u202eb"'},
        {"cultivar": '"\\u2066"'}, {"note": "a\u202eb"},
    ],
    ids=lambda lines: repr(lines)[:60],
)  # fmt: skip
def test_hostile_values_are_refused_with_line_and_repair(lines: dict[str, str]) -> None:
    for fault in refused(text_of(**lines)):
        assert fault.line > 4
        assert fault.repair


def test_a_range_of_a_crop_of_the_recipe_keeps_the_bounds_of_its_field() -> None:
    text = (ROOT / "mixcraft" / "crops" / "data" / "radish.yaml").read_text("utf-8")
    lines = [line for line in text.splitlines() if not line.startswith(("format:", "id:"))]
    crops = "crops:\n  my radish:\n" + "".join(f"    {line}\n" for line in lines)
    start = next(i for i, line in enumerate(crops.splitlines()) if " density: " in line)
    rows = crops.splitlines()
    for broken in ("[1e-9, 3000]", "[100, 1e300]", "[.nan, 300]"):
        head, tail = rows[start].split("range: ", 1)
        made = [*rows[:start], f"{head}range: {broken}{tail[tail.index(']') + 1 :]}", *rows[start + 1 :]]
        found = refused(text_of(crop="my radish") + "\n".join(made) + "\n")
        assert any("density" in f.path and f.line > 10 for f in found), found


def test_no_amount_means_the_usual_density() -> None:
    """Of a stand for cutting young where the crop is cut and sown thickly, else of the crop."""
    for crop, way, key in (
        ("radish", "drills", "spacing.density"), ("lettuce-baby-leaf", "broadcast", "spacing.cutting_density"),
        ("lettuce-cos", "module", "spacing.density"),
    ):  # fmt: skip
        usual = planned(planting(crop, establish=way, amount=Usual())).plantings[0]
        assert usual.stand.plants == pytest.approx(2.0 * load_crop(crop)[key]), crop  # type: ignore[index]
        made = read_recipe(parse_document(text_of(crop=crop, establish=way, density=""), "file.yaml"))
        assert made.plantings[0].amount == Usual()
        assert plants_of(made.plantings[0], made, bed(), 2.0) == pytest.approx(usual.stand.plants)


CIRCLE = """
from dataclasses import replace
from mixcraft.files import FileFaults
from mixcraft.recipe.model import After
from tests.strategies import garden, planting, recipe
from mixcraft.recipe.plan import plan
a = replace(planting("radish", "a"), start=After("b", "start"))
b = replace(planting("radish", "b"), start=After("a", "start"))
try:
    plan(recipe(a, b), garden(), "bed")
except FileFaults as error:
    print(sorted({f.rule for f in error.faults}))
"""


def test_a_circle_ends_without_assertions_too() -> None:
    found = subprocess.run(
        [sys.executable, "-O", "-c", CIRCLE], capture_output=True, text=True, cwd=ROOT, timeout=120, check=True
    )  # fmt: skip
    assert found.stdout.strip() == "['after.circle']"


def test_an_end_before_the_start_is_refused_where_the_place_decides() -> None:
    late = strange(start=SpringFrost(20.0), end=AutumnFrost(-20.0))
    with pytest.raises(FileFaults) as caught:
        planned(late)
    (fault,) = caught.value.faults
    assert (fault.rule, fault.path) == ("end.before_start", "plantings[0].end")
    assert "but starts on" in fault.message


def test_limits_are_those_of_the_schema() -> None:
    assert limits("plantings", "count") == (1.0, 100000.0, (), None, "")
    assert limits("plantings", "density").low == 0.01
    assert limits("plantings", "start:frost", "weeks")[:2] == (-26.0, 40.0)
    assert limits("plantings", "depth").high == 0.5
    assert "module" in limits("plantings", "establish").words
    assert crop_limits("canopy.k")[:2] == (0.2, 1.2)


@pytest.mark.parametrize("wrong", ["radish", None, 5])
def test_what_is_no_crop_is_told(wrong: object) -> None:
    one = replace(planting("rocket"), crop=wrong)  # type: ignore[arg-type]
    (fault,) = faults_of(recipe(planting("radish"), one))
    assert fault.path == "plantings[1].crop"
    assert "find_crop(" in fault.repair
