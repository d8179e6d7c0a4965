"""Reading recipes and gardens: each rule fires where it should, once, with a repair that is worth typing.

In the texts below ``# HERE`` marks the line at which the fault must point.
"""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import mixcraft.recipe.plan
import mixcraft.recipe.reading
import mixcraft.recipe.stands
from mixcraft.files import Fault, FileFaults, parse_document
from mixcraft.recipe.model import PARTS, Garden, Recipe
from mixcraft.recipe.plan import plan
from mixcraft.recipe.reading import read_garden, read_recipe

HEAD = """\
format: mixcraft-recipe/1
name: test
bed: {length: 2 m, width: 1 m}
plantings:
"""
PLACE = """\
    place: {kind: whole}
    start: {kind: date, on: 04-15}
"""
RADISH = f"""\
  - crop: radish
    establish: broadcast
    density: 40 plants/m2
{PLACE}"""
GARDEN_HEAD = """\
format: mixcraft-garden/1
name: test
"""
OXFORD = "place: {kind: reference, name: Oxford}\n"
BED = "beds:\n  - {name: bed, length: 2 m, width: 1 m}\n"
YEAR = "[8, 9, 11, 14, 17, 20, 22, 22, 19, 15, 11, 8]"


def planting(**lines: str) -> str:
    """A planting of radish with lines changed, left out (empty) or added; each value is the text after the key."""
    usual = {
        "crop": "radish", "establish": "broadcast", "density": "40 plants/m2", "place": "{kind: whole}",
        "start": "{kind: date, on: 04-15}",
    }  # fmt: skip
    usual.update(lines)
    rows = [f"{key}: {value}" for key, value in usual.items() if value]
    return "  - " + "\n    ".join(rows) + "\n"


RECIPES = {
    "crop.unknown": (HEAD + planting(crop="radsh  # HERE"), "did you mean radish"),
    "crop.unknown (nothing near)": (HEAD + planting(crop="xyzzy  # HERE"), "`mixcraft crops` lists"),
    "override.unknown": (
        HEAD + planting() + "    overrides:\n      canopy.hight: 20 cm  # HERE\n", "did you mean canopy.height?",
    ),
    "override.unit": (
        HEAD + planting() + "    overrides:\n      canopy.height: 20 C  # HERE\n", "write the number with its unit",
    ),
    "override.bounds": (
        HEAD + planting() + "    overrides:\n      seed.per_gram: 0  # HERE\n", "mend the number or leave it out",
    ),
    "amount.one (two)": (
        HEAD + planting(count="5").replace("crop: radish", "crop: radish  # HERE"), "keep one, for example",
    ),
    "amount.points": (
        HEAD + planting(density="", count="4  # HERE", place="{kind: points, at: [[50 cm, 50 cm]]}"), "delete count",
    ),
    "amount.seedless": (
        HEAD + planting(crop="garlic", establish="clove", density="", seed_rate="5 g/m2  # HERE"), "a count or a density",
    ),
    "amount.absurd": (HEAD + planting(density="9000000 plants/m2  # HERE"), "write `density: "),
    "establish.way": (HEAD + planting(establish="tuber  # HERE"), "write `establish: "),
    "establish.way (no seed)": (HEAD + planting(crop="garlic", establish="drills  # HERE"), "write `establish: clove`"),
    "harvest.part": (
        HEAD + planting(crop="carrot") + "    harvest:\n      - {part: rot, method: pull}  # HERE\n", "did you mean root?",
    ),
    "harvest.method": (
        HEAD + planting(crop="carrot") + "    harvest:\n      - {part: root, method: leaf}  # HERE\n", "write `method: pull`",
    ),
    "span.unreadable": (
        HEAD + planting(place="{kind: strip, from: here, to: 50 %}  # HERE"), 'a length such as "30 cm"',
    ),
    "moment.unreadable": (
        HEAD + planting() + "    cover:\n      - {kind: fleece, on: start, off: soon}  # HERE\n", "emergence + 3 weeks",
    ),
    "moment.order": (
        HEAD + planting() + "    cover:\n      - {kind: fleece, on: start, off: start - 3 weeks}  # HERE\n", '"start + 3 weeks"',
    ),
    "moment.order (harvest)": (
        HEAD + planting() + "    harvest:\n      - {part: root, from: emergence + 5 weeks, until: emergence + 4 weeks}  # HERE\n",
        '"emergence + 8 weeks"',
    ),
    "words": (HEAD + planting(start="{kind: date, on: 02-30}  # HERE"), "from 1 to 28"),
    "planting.name_twice": (
        HEAD + planting(name="red") + planting(name="red  # HERE"), "call one of them 'red' and the other 'red again'",
    ),
    "after.unknown": (
        HEAD + planting() + planting(name="b", start="{kind: after, planting: radis, event: start}  # HERE"),
        "did you mean radish?",
    ),
    "after.circle": (
        HEAD + planting(name="a", start="{kind: after, planting: a, event: start}  # HERE"), "a start of its own",
    ),
    "format.other": ("format: mixcraft-garden/1  # HERE\nname: x\n" + OXFORD + BED, "whose format is mixcraft-recipe/1"),
}  # fmt: skip

GARDENS = {
    "format.other": (HEAD.replace("recipe/1", "recipe/1  # HERE") + RADISH, "whose format is mixcraft-garden/1"),
    "place.unknown": (
        GARDEN_HEAD + "place: {kind: reference, name: Oxfrd}  # HERE\n" + BED, "`mixcraft places` lists them",
    ),
    "place.normals": (
        GARDEN_HEAD + "place:\n  kind: normals\n  name: here\n  latitude: 50\n"
        + f"  tmax: {YEAR}\n  tmin: [9, 1, 2, 4, 7, 10, 12, 12, 9, 7, 4, 1]  # HERE\n"
        + "  rain: [50, 50, 50, 50, 50, 50, 50, 50, 50, 50, 50, 50]\n" + BED,
        "swap the two values",
    ),
    "bed.name_twice": (
        GARDEN_HEAD + OXFORD + "beds:\n  - {name: a, length: 2 m, width: 1 m}\n  - {name: A, length: 2 m, width: 1 m}  # HERE\n",
        "its own name",
    ),
    "bed.size": (GARDEN_HEAD + OXFORD + "beds:\n  - {name: a, length: 2 m, width: 100 m}  # HERE\n", "check the unit"),
    "plate.window": (GARDEN_HEAD + OXFORD + BED + "plate: {from: 05-01}  # HERE\n", "such as `until: 10-31`"),
    "words": (GARDEN_HEAD + OXFORD + BED + "plate: {from: 02-30, until: 10-31}  # HERE\n", "from 1 to 28"),
    "crop.unknown": (
        GARDEN_HEAD + OXFORD + "beds:\n  - name: a\n    length: 2 m\n    width: 1 m\n    history:\n"
        "      - {years_ago: 1, crops: [radish, potatoe]}  # HERE\n", "mean",
    ),
}  # fmt: skip

PLANS = {
    "end.before_start": (
        HEAD + planting(start="{kind: frost, weeks: 20}", end="{kind: autumn-frost, weeks: -20}  # HERE"),
        "a later end",
    ),
    "layout.fit": (HEAD + planting(count="5000  # HERE", density=""), "plant at most"),
    "start.never": (HEAD + planting(start="{kind: soil, at_least: 40 C}  # HERE"), "ask for at most"),
}


def only_fault(action: object, text: str) -> Fault:
    with pytest.raises(FileFaults) as caught:
        action(parse_document(text, "file.yaml"))  # type: ignore[operator]
    faults = caught.value.faults
    assert len(faults) == 1, [f.message for f in faults]
    return faults[0]


def check(found: Fault, rule: str, text: str, repair: str) -> None:
    line = 1 + next(i for i, row in enumerate(text.splitlines()) if "# HERE" in row)
    assert found.rule == rule.split(" (")[0]
    assert found.line == line, found
    assert found.column >= 1
    assert found.file == "file.yaml"
    assert repair in found.repair
    assert found.message
    assert not found.message.endswith(".")
    assert found.source_line == text.splitlines()[line - 1]


@pytest.mark.parametrize("rule", sorted(RECIPES))
def test_rules_of_recipes(rule: str) -> None:
    text, repair = RECIPES[rule]
    check(only_fault(read_recipe, text), rule, text, repair)


@pytest.mark.parametrize("rule", sorted(GARDENS))
def test_rules_of_gardens(rule: str) -> None:
    text, repair = GARDENS[rule]
    check(only_fault(read_garden, text), rule, text, repair)


def a_garden() -> Garden:
    return read_garden(parse_document(GARDEN_HEAD + OXFORD + BED, "garden.yaml"))


def a_recipe(text: str) -> Recipe:
    return read_recipe(parse_document(text, "file.yaml"))


@pytest.mark.parametrize("rule", sorted(PLANS))
def test_rules_of_plans(rule: str) -> None:
    text, repair = PLANS[rule]
    found = only_fault(lambda document: plan(read_recipe(document), a_garden(), "bed"), text)
    check(found, rule, text, repair)


def test_every_rule_in_the_code_has_its_case() -> None:
    """Rule names are read off the source, so that a new rule without a case here is noticed."""
    names = set()
    for module in (mixcraft.recipe.reading, mixcraft.recipe.plan, mixcraft.recipe.stands):
        for node in ast.walk(ast.parse(Path(module.__file__).read_text("utf-8"))):
            if isinstance(node, ast.Call):
                words = [*node.args, *(k.value for k in node.keywords if k.arg == "rule")]
                names |= {
                    w.value for w in words
                    if isinstance(w, ast.Constant) and isinstance(w.value, str)
                    and w.value.replace("_", "").replace(".", "", 1).isalpha() and w.value.count(".") == 1
                    and w.value.split(".")[0] not in ("canopy", "root", "seed", "spacing", "harvest", "development", "frost")
                }  # fmt: skip
    names |= {"harvest.part", "harvest.method"}
    covered = {rule.split(" (")[0] for rule in (*RECIPES, *GARDENS, *PLANS)}
    assert names <= covered, names - covered
    assert len(covered) >= 20


def test_a_longer_circle() -> None:
    text = (
        HEAD + planting(name="a", start="{kind: after, planting: c, event: start}")
        + planting(name="b", start="{kind: after, planting: a, event: start}")
        + planting(name="c", start="{kind: after, planting: b, event: start}")
    )  # fmt: skip
    with pytest.raises(FileFaults) as caught:
        a_recipe(text)
    assert [f.rule for f in caught.value.faults] == ["after.circle"] * 3
    assert "a waits for c waits for b waits for a" in caught.value.faults[0].message


def test_waiting_for_a_planting_in_a_circle_is_no_endless_loop() -> None:
    """d waits for a, which waits in a circle of its own: the circle is refused, and reading ends."""
    text = (
        HEAD + planting(name="d", start="{kind: after, planting: a, event: start}")
        + planting(name="a", start="{kind: after, planting: b, event: start}")
        + planting(name="b", start="{kind: after, planting: a, event: start}")
    )  # fmt: skip
    with pytest.raises(FileFaults) as caught:
        a_recipe(text)
    assert {f.rule for f in caught.value.faults} == {"after.circle"}


def test_all_faults_at_once_in_the_order_of_the_file() -> None:
    text = HEAD + planting(crop="radsh") + planting(establish="tuber") + planting(count="5", name="both")
    with pytest.raises(FileFaults) as caught:
        a_recipe(text)
    assert [f.rule for f in caught.value.faults] == ["crop.unknown", "establish.way", "amount.one"]
    assert [f.line for f in caught.value.faults] == sorted(f.line for f in caught.value.faults)


def test_waiting_for_a_planting_by_a_name_of_its_crop() -> None:
    """Whoever waits for "lettuce" or "Lettuce" means ``crop: loose-leaf lettuce``, if there is but one."""
    lettuce = planting(crop="loose-leaf lettuce", establish="module", density="", count="8")
    for said in ("lettuce", "loose-leaf lettuce", "Loose-Leaf Lettuce"):
        waiting = planting(name="b", start=f"{{kind: after, planting: {said}, event: end}}")
        assert a_recipe(HEAD + lettuce + waiting).plantings[1].start.planting == "loose-leaf lettuce"
    twice = lettuce + lettuce + planting(name="b", start="{kind: after, planting: lettuce, event: end}  # HERE")
    check(only_fault(read_recipe, HEAD + twice), "after.unknown", HEAD + twice, "did you mean loose-leaf lettuce?")


def test_repeats_get_numbers() -> None:
    found = a_recipe(HEAD + planting() + planting() + planting())
    assert [p.name for p in found.plantings] == ["radish", "radish 2", "radish 3"]


def test_a_numbered_repeat_does_not_take_a_given_name() -> None:
    """A planting called `radish 2` by its author keeps its name, and no other gets it."""
    found = a_recipe(HEAD + planting() + planting(name="radish 2") + planting())
    assert len({p.name for p in found.plantings}) == 3


def test_overrides_reach_the_crop() -> None:
    text = HEAD + planting() + "    overrides:\n      canopy.height: 25 cm\n      canopy.k: 0.5\n      seed.depth: 2 cm\n"
    crop = a_recipe(text).plantings[0].crop
    assert crop["canopy.height"] == pytest.approx(0.25)
    assert crop["canopy.k"] == 0.5
    assert crop["seed.depth"] == pytest.approx(2.0)
    assert crop.records["canopy.height"].source == "recipe"


def test_days_to_harvest_move_ripeness() -> None:
    text = HEAD + planting() + "    overrides:\n      development.days_to_harvest: 50 days\n"
    slow, usual = a_recipe(text).plantings[0].crop, a_recipe(HEAD + planting()).plantings[0].crop
    share = 50.0 / usual["development.days_to_harvest"]
    assert slow["development.ready"] == pytest.approx(usual["development.ready"] * share)


def test_a_crop_given_inside_the_recipe(root: Path) -> None:
    """A self-contained recipe: the library's radish under a name that the library lacks."""
    import yaml

    data = yaml.safe_load((root / "mixcraft" / "crops" / "data" / "radish.yaml").read_text("utf-8"))
    data = {k: v for k, v in data.items() if k not in ("format", "id")}
    data["names"] = {"en": ["moon root"]}
    own = yaml.safe_dump({"crops": {"moon root": data}}, allow_unicode=True)
    found = a_recipe(HEAD.replace("plantings:\n", "") + own + "plantings:\n" + planting(crop="Moon Root"))
    crop = found.plantings[0].crop
    assert (crop.name, crop.origin, crop.id) == ("moon root", "recipe", "moon-root")
    assert plan(found, a_garden(), "bed").plantings[0].stand.plants == pytest.approx(80.0)


def test_a_faulty_crop_inside_the_recipe_points_into_the_file(root: Path) -> None:
    import yaml

    data = yaml.safe_load((root / "mixcraft" / "crops" / "data" / "radish.yaml").read_text("utf-8"))
    data = {k: v for k, v in data.items() if k not in ("format", "id")}
    data["form"] = "wobbly"
    own = yaml.safe_dump({"crops": {"moon root": data}}, allow_unicode=True, sort_keys=False)
    text = HEAD.replace("plantings:\n", "") + own + "plantings:\n" + planting(crop="radish")
    with pytest.raises(FileFaults) as caught:
        a_recipe(text)
    (fault,) = caught.value.faults
    assert text.splitlines()[fault.line - 1].strip() == "form: wobbly"


def test_a_garden_is_read_in_full() -> None:
    text = (
        GARDEN_HEAD
        + OXFORD
        + """\
beds:
  - name: one
    length: 10 ft
    width: 120 cm
    heading: 450 deg
    trellises: [{edge: north, height: 2 m}]
    obstacles: [{side: west, distance: 1 m, height: 6 ft, opacity: 50 %}]
    soil: clay
    watering: {kind: weekly, amount: 20 mm}
    soil_lead: 150
    history:
      - {years_ago: 1, crops: [potato, kale]}
      - {years_ago: 2, crops: [leek]}
    plate: {from: 06-01, until: 09-30, weekly: 2 lb, people: 4}
weights: {canopy: 2}
"""
    )
    garden = read_garden(parse_document(text, "garden.yaml"))
    bed = garden.bed("ONE")
    assert bed.length_m == pytest.approx(3.048)
    assert bed.heading_deg == pytest.approx(90.0)
    assert bed.trellises[0].height_m == 2.0
    assert (bed.obstacles[0].side, bed.obstacles[0].opacity) == ("west", 0.5)
    assert bed.obstacles[0].height_m == pytest.approx(1.8288)
    assert (bed.soil, bed.watering.kind, bed.watering.mm_per_week) == ("clay", "weekly", 20.0)
    assert bed.soil_lead_mg_kg == 150
    assert bed.history == ((1, ("potato-early",)), (1, ("kale",)), (2, ("leek",))) or len(bed.history) == 3
    assert bed.plate is not None
    assert bed.plate.weekly_kg == pytest.approx(0.90718474)
    assert garden.weights == {"canopy": 2}
    with pytest.raises(KeyError):
        garden.bed("two")


def test_weights_that_weigh_nothing_are_refused() -> None:
    """With every part at 0 there would be no score; one above 0, or a part left out, is enough."""
    beds = "beds: [{name: one, length: 2 m, width: 1 m}]\n"
    none = ", ".join(f"{part}: 0" for part in PARTS)
    text = GARDEN_HEAD + OXFORD + beds + f"weights: {{{none}}}\n"
    with pytest.raises(FileFaults, match="no part score has any weight") as caught:
        read_garden(parse_document(text, "garden.yaml"))
    assert text.splitlines()[caught.value.faults[0].line - 1].startswith("weights")
    some = text.replace("canopy: 0", "canopy: 1")
    assert read_garden(parse_document(some, "garden.yaml")).weights["canopy"] == 1
