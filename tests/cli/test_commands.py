"""Every command on the demonstration garden: exit codes, what is printed, what is written."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import jsonschema
import networkx as nx
import pytest
import yaml

from mixcraft import __version__
from mixcraft.cli import demo as demo_module
from mixcraft.cli.demo import BEDS
from mixcraft.crops import crop_ids, load_crop
from mixcraft.place import reference_places

from .conftest import Run

FEW = ("--years", "4")


def inputs(demo: Path, name: str = "salad-and-roots") -> tuple[Path, str, Path, str, str]:
    return demo / f"{name}.recipe.yaml", "--garden", demo / "kiln-lane.garden.yaml", "--bed", BEDS[name]


def test_the_demo_beds_name_every_demo_recipe(demo: Path) -> None:
    assert {p.name.removesuffix(".recipe.yaml") for p in demo.glob("*.recipe.yaml")} == set(BEDS)


def test_check(run: Run, demo: Path) -> None:
    files = sorted(demo.glob("*.yaml"))
    found = run("check", *files)
    assert (found.code, found.err) == (0, "")
    lines = found.out.splitlines()
    assert len(lines) == len(files)
    assert all(": good (" in line for line in lines)
    assert any("garden, 3 beds at Oxford" in line for line in lines)


def test_check_of_a_crop_file(run: Run, root: Path) -> None:
    assert run("check", root / "mixcraft" / "crops" / "data" / "radish.yaml").code == 0


@pytest.mark.parametrize("name", sorted(BEDS))
def test_score(run: Run, demo: Path, name: str) -> None:
    found = run("score", *inputs(demo, name), *FEW, "--no-repairs")
    assert (found.code, found.err) == (0, "")
    assert re.search(r"^Overall +\d+ ", found.out, re.MULTILINE)
    for part in ("canopy", "continuity", "roots", "families", "timing", "yield"):
        assert re.search(rf"^  {part} +\d+ ", found.out, re.MULTILINE), part
    assert "Picked in a season" in found.out
    assert "Cautions" in found.out
    assert re.search(r"\bnan\b", found.out) is None
    assert max(len(line) for line in found.out.splitlines()) <= 100
    assert len(found.out.splitlines()) <= SCREEN
    for word in ENGINEERS:
        assert word not in found.out
    whole = run("score", *inputs(demo, name), *FEW, "--no-repairs", "--all").out
    assert "Expected harvest, kg (80 % of years)" in whole
    assert "(land equivalent ratio, " in " ".join(whole.split())


SCREEN = 57
"""Lines of a score: what a window of a laptop shows."""
ENGINEERS = ("voxel", "effective number", "mol PAR", "niche", "layers")


def test_score_in_us_units(run: Run, demo: Path) -> None:
    """No metric unit is left, dates have the month first, and the numbers are those of the metric screen."""
    args = ("score", *inputs(demo), *FEW, "--no-repairs")
    metric, us = run(*args).out, run(*args, "--units", "us").out
    assert re.search(r"\d kg\b", metric)
    assert not re.search(r"\d\s?(kg|g|cm|m|mm|C|litres)\b", us)
    assert re.search(r"first sowing [A-Z][a-z]{2} \d+", us)
    kg = float(re.search(r"  all +([\d.]+) kg", metric)[1])  # type: ignore[index]
    pounds = float(re.search(r"  all +([\d.]+) lb", us)[1])  # type: ignore[index]
    assert pounds == pytest.approx(kg / 0.45359237, rel=0.08)  # both are rounded to two figures


def test_cautions_name_plants_and_heed_the_measured_lead(run: Run, demo: Path, tmp_path: Path) -> None:
    text = (demo / "kiln-lane.garden.yaml").read_text("utf-8")
    tested = tmp_path / "g.yaml"
    tested.write_text(text.replace("    soil: sandy loam", "    soil: sandy loam\n    soil_lead: 250"), "utf-8")
    args = ("-b", "trellis bed", *FEW, "--no-repairs", "--all")
    found = " ".join(run("score", demo / "what-not-to-do.recipe.yaml", "-g", tested, *args).out.split())
    assert "tested at 250 mg/kg lead" in found
    assert "Beans: Raw or half-cooked beans" in found
    assert "Anchor" in found or "trellis" in found.split("Cautions")[1].lower()
    radish = tmp_path / "r.yaml"
    radish.write_text(HARVESTS.split("  - {crop: onion")[0], "utf-8")
    assert "weight and wind" not in run("score", radish, "-g", tested, "-b", "trellis bed", *FEW, "--no-repairs").out


def test_the_good_plan_beats_the_bad_one(run: Run, demo: Path) -> None:
    def overall(name: str) -> float:
        data = json.loads(run("score", *inputs(demo, name), *FEW, "--no-repairs", "--json").out)
        return float(data["overall"])

    assert overall("trellis-summer") > overall("what-not-to-do") + 10.0


def test_score_offers_repairs_and_says_what_they_gain(run: Run, demo: Path) -> None:
    found = run("score", *inputs(demo, "what-not-to-do"), *FEW)
    assert found.code == 0
    assert "Repair: " in found.out
    assert "Conflicts, worst first" in found.out
    assert "Repair: " not in run("score", *inputs(demo, "what-not-to-do"), *FEW, "--no-repairs").out


@pytest.mark.slow
def test_apply_writes_the_repair_that_was_promised(run: Run, demo: Path, tmp_path: Path) -> None:
    """`--apply N` writes the recipe with repair N, comments kept; scored again it has the overall score that was said."""
    args, target = inputs(demo, "what-not-to-do"), tmp_path / "mended.recipe.yaml"
    said = json.loads(run("score", *args, *FEW, "--json").out)["reasons"]
    number, repair = next((n, r["repair"]) for n, r in enumerate(said, 1) if r["repair"])
    shown = run("score", *args, *FEW, "--all").out
    for edit in repair["lines"]:
        for line in edit["added"]:
            assert f" + {line}" in shown
    done = run("score", *args, *FEW, "--apply", number, "-o", target)
    assert (done.code, done.err) == (0, "")
    text = target.read_text("utf-8")
    assert all(line in text.splitlines() for edit in repair["lines"] for line in edit["added"])
    assert "# What not to do" in text or text.startswith("#")
    again = json.loads(run("score", target, *args[1:], *FEW, "--no-repairs", "--json").out)
    assert again["overall"] == pytest.approx(repair["overall_after"], abs=0.06)


@pytest.mark.parametrize(
    ("more", "said"),
    [(("--apply", "1"), "go together"), (("-o", "x.yaml"), "go together"), (("--apply", "0", "-o", "x.yaml"), "from 1 up"),
     (("--apply", "900", "-o", "x.yaml"), "has no repair; there are repairs for"),
     (("--apply", "1", "-o", "x.pdf"), "ending in .yaml"),
     (("--apply", "1", "-o", "x.yaml", "--no-repairs"), "leave --no-repairs out")],
)  # fmt: skip
def test_apply_says_what_is_wrong(
    run: Run, demo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, more: tuple[str, ...], said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    found = run("score", *inputs(demo, "what-not-to-do"), *FEW, *more)
    assert found.code == 2
    assert said in found.err
    assert list(tmp_path.iterdir()) == []


def score_schema(root: Path) -> dict[str, Any]:
    schema: dict[str, Any] = json.loads((root / "schemas" / "score.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    return schema


@pytest.mark.parametrize("name", sorted(BEDS))
def test_score_json_keeps_its_schema(run: Run, demo: Path, root: Path, name: str) -> None:
    args = [*inputs(demo, name), *FEW, "--json"]
    found = run("score", *args, *([] if name == "what-not-to-do" else ["--no-repairs"]))
    assert (found.code, found.err) == (0, "")
    data = json.loads(found.out, parse_constant=lambda word: pytest.fail(f"{word} is not JSON"))
    validator = jsonschema.Draft202012Validator(score_schema(root))
    assert [e.message for e in validator.iter_errors(data)] == []
    assert data["engine"] == __version__
    assert [p["name"] for p in data["parts"]] == ["canopy", "continuity", "roots", "families", "timing", "yield"]
    names = [p.get("name") or p["crop"] for p in yaml.safe_load((demo / f"{name}.recipe.yaml").read_text("utf-8"))["plantings"]]
    assert len(data["growth_kept"]) == len(names)


def test_the_score_schema_is_described_throughout(root: Path) -> None:
    def walk(node: Any, path: str) -> list[str]:
        found = []
        if isinstance(node, dict):
            for key, value in (node.get("properties") or {}).items():
                if not value.get("description"):
                    found.append(f"{path}/{key}")
            for key, value in node.items():
                found += walk(value, f"{path}/{key}")
        return found

    assert walk(score_schema(root), "") == []


def test_score_is_the_same_twice(run: Run, demo: Path) -> None:
    args = ("score", *inputs(demo), *FEW, "--json", "--no-repairs")
    assert run(*args).out == run(*args).out
    assert run(*args, "--seed", "3").out != run(*args, "--seed", "4").out


def test_fail_under(run: Run, demo: Path) -> None:
    args = ("score", *inputs(demo), *FEW, "--no-repairs")
    assert run(*args, "--fail-under", "101").code == 1
    assert run(*args, "--fail-under", "0").code == 0
    overall = json.loads(run(*args, "--json").out)["overall"]
    assert run(*args, "--fail-under", str(overall + 0.1)).code == 1
    assert run(*args, "--fail-under", str(overall - 0.1)).code == 0


def test_all_reasons(run: Run, demo: Path) -> None:
    args = ("score", *inputs(demo, "what-not-to-do"), *FEW, "--no-repairs")
    few, every = run(*args).out, run(*args, "--all").out
    reasons = json.loads(run(*args, "--json").out)["reasons"]
    assert len(re.findall(r"^ *\d+\. ", every, re.MULTILINE)) == len(reasons)
    assert len(re.findall(r"^ *\d+\. ", few, re.MULTILINE)) == min(5, len(reasons))
    if len(reasons) > 5:
        assert f"and {len(reasons) - 5} smaller" in few


def test_graph_as_sentences(run: Run, demo: Path) -> None:
    """The strongest twenty under headings, as sentences; all of them if asked for."""
    args = ("graph", *inputs(demo, "what-not-to-do"), *FEW)
    found, every = run(*args), run(*args, "--all")
    assert (found.code, found.err) == (0, "")
    assert re.search(r"^  \*+ +Of the light of .+, \d+ % goes to .+ (from|in) ", found.out, re.MULTILINE)
    told = [len(re.findall(r"^  \*+ ", text, re.MULTILINE)) for text in (found.out, every.out)]
    assert told[0] <= 20 <= max(told[1], 20)
    assert {line for line in every.out.splitlines() if line[:1].isalpha()} <= {
        "Light", "Roots in the same soil", "Pests and diseases in common", "One after the other", "Something to climb on",
        "Nitrogen", "Ground kept covered", "Pollinators",
    }  # fmt: skip


def test_pictures_of_the_bed(run: Run, demo: Path, tmp_path: Path) -> None:
    """The graph and the months are drawn as SVG that any reader parses, with every planting named."""
    from xml.etree import ElementTree

    for command, more in (("graph", ()), ("show", ("--units", "us"))):
        target = tmp_path / f"{command}.svg"
        assert run(command, *inputs(demo, "what-not-to-do"), *FEW, *more, "-o", target).code == 0
        text = " ".join(node.text or "" for node in ElementTree.parse(target).iter() if node.text)
        for name in ("beans", "lettuce", "sweet corn", "beetroot", "cabbage", "kohlrabi"):
            assert name in text, (command, name)
    assert re.search(r">\d\sft", (tmp_path / "show.svg").read_text("utf-8"))
    months = re.findall(r">(March|April|May|June|July|August|September|October)<", (tmp_path / "show.svg").read_text("utf-8"))
    assert len(months) >= 6


HARVESTS = """\
format: mixcraft-recipe/1
name: far apart
bed: {length: 2 m, width: 1 m}
plantings:
  - {crop: radish, establish: broadcast, density: 40 plants/m2, place: {kind: whole}, start: {kind: date, on: 04-15}}
  - {crop: onion, establish: drills, density: 40 plants/m2, place: {kind: whole}, start: {kind: date, on: 09-01}}
"""


def test_weeks_of_no_harvest_and_harvests_of_no_week(run: Run, tmp_path: Path) -> None:
    """Idle weeks outside the wanted window are one line, and a crop lifted once is named though its week moves."""
    (tmp_path / "r.yaml").write_text(HARVESTS, "utf-8")
    (tmp_path / "g.yaml").write_text(
        "format: mixcraft-garden/1\nname: g\nplace: {kind: reference, name: Oxford}\n"
        "beds: [{name: bed, length: 2 m, width: 1 m}]\nplate: {from: 05-15, until: 07-15}\n", "utf-8",
    )  # fmt: skip
    found = run("score", tmp_path / "r.yaml", "-g", tmp_path / "g.yaml", "--no-repairs", "--json")
    data = json.loads(found.out)
    onion = next(item for item in data["harvest"] if item["planting"] == "onion")
    assert onion["kg"]["middle"] > 1.0
    assert onion["first"]["low"] < onion["first"]["high"]
    weeks = run("score", tmp_path / "r.yaml", "-g", tmp_path / "g.yaml", "--no-repairs", "--all").out.split("Harvest by week")[1]
    weeks = weeks.split("Expected harvest")[0]
    named = any("onion" in week["plantings"] for week in data["weeks"])
    assert ("In a different week every year: onion (bulb, " in weeks) != named
    unwanted = [line for line in weeks.splitlines() if re.search(r"0\.00 kg +0 %", line) and not line.startswith(" !")]
    assert len(unwanted) <= 2, weeks


def test_where_the_wanted_weeks_begin_and_what_is_too_little_to_weigh(run: Run, tmp_path: Path) -> None:
    """A household that wants to pick from 1 May, a bed first sown on 15 April: weeks before anything is ready are a gap."""
    (tmp_path / "r.yaml").write_text(
        HARVESTS.split("  - ")[0] + "  - {crop: carrot, establish: drills, density: 120 plants/m2, place: {kind: whole}, "
        "start: {kind: date, on: 04-15}, thin: {sown: 300 plants/m2, at: emergence + 3 weeks}, "
        "harvest: [{part: root, method: pull}, {part: baby carrots, method: thin}]}\n", "utf-8",
    )  # fmt: skip
    garden = (
        "format: mixcraft-garden/1\nname: g\nplace: {kind: reference, name: Oxford}\n"
        "beds: [{name: bed, length: 2 m, width: 1 m}]\nplate: {from: 05-01, until: 10-15}\n"
    )
    (tmp_path / "g.yaml").write_text(garden, "utf-8")
    command = ("score", tmp_path / "r.yaml", "-g", tmp_path / "g.yaml", *FEW, "--no-repairs", "--all")
    found = run(*command).out
    gap = next(line for line in found.splitlines() if "Gap of" in line)
    assert re.search(r": (28 Apr|29 Apr|30 Apr|[1-4] May) to ", gap), gap
    thinned = next(line for line in found.splitlines() if "baby carrots" in line)
    assert ("0.00  (0.00 to 0.00)" in thinned) == ("too little to weigh, about " in thinned)


def test_graph_files(run: Run, demo: Path, tmp_path: Path) -> None:
    for name in ("graph.json", "graph.graphml"):
        found = run("graph", *inputs(demo, "trellis-summer"), *FEW, "-o", tmp_path / name)
        assert found.code == 0
    data = json.loads((tmp_path / "graph.json").read_text("utf-8"))
    made = nx.node_link_graph(data, edges="edges")
    read = nx.read_graphml(tmp_path / "graph.graphml", force_multigraph=True)
    assert made.number_of_edges() == read.number_of_edges() > 0
    assert f"8 plantings, {made.number_of_edges()} interactions" in found.out
    assert set(made.nodes) == set(read.nodes)
    for _, values in made.nodes(data=True):
        assert values["layer"]
        assert values["family"].endswith("aceae")


@pytest.mark.slow
def test_light(run: Run, demo: Path, tmp_path: Path) -> None:
    found = run("light", *inputs(demo, "trellis-summer"), *FEW)
    assert (found.code, found.err) == (0, "")
    assert "share of the open sky" in found.out
    assert "Direct sun on a clear day, hours" in found.out
    assert re.search(r"\bnan\b", found.out) is None
    assert "mol" not in found.out
    picture = tmp_path / "light.svg"
    assert run("light", *inputs(demo, "trellis-summer"), *FEW, "-o", picture).code == 0
    assert picture.read_text("utf-8").lstrip().startswith("<")
    assert "on the right the north end" in picture.read_text("utf-8")


ICC = pytest.mark.filterwarnings("ignore:unclosed file .*sRGB2014.icc:ResourceWarning")
"""WeasyPrint leaves its own colour profile open."""


@ICC
def test_card(run: Run, demo: Path, tmp_path: Path) -> None:
    target = tmp_path / "card.pdf"
    found = run("card", *inputs(demo), *FEW, "-o", target)
    assert (found.code, found.err) == (0, "")
    assert target.read_bytes().startswith(b"%PDF-")
    assert "card of 'Salad and roots, sown once'" in found.out
    assert [p.name for p in tmp_path.iterdir()] == ["card.pdf"]


def test_crops(run: Run) -> None:
    listed = run("crops")
    assert listed.code == 0
    assert f"{len(crop_ids())} crops" in listed.out
    for name in ("carrot", "Daucus carota subsp. sativus", "Möhre", "spring onions"):
        assert run("crops", *name.split()).code == 0
    shown = run("crops", "carrot", "--sources").out
    assert "canopy.k" in shown
    assert "harrington_minges_1954" in shown


@pytest.mark.parametrize("name", ["tomato", "cilantro", "climbing bean", "garlic", "asparagus", "potato"])
def test_a_crop_is_a_page_that_a_grower_reads(run: Run, name: str) -> None:
    """When, how far, how deep, how long, how much, with what caution; the name as it was asked for, the botanical name once."""
    page = run("crops", *name.split()).out
    heads = [line[2:13].strip() for line in page.splitlines() if line[2:3].strip() and line.startswith("  ")]
    for head in ("when", "how", "how far", "how deep", "how big", "how long", "picked", "how much"):
        assert head in heads, head
    assert page.lower().startswith(name)
    assert len(page.splitlines()) <= 45
    assert "canopy." not in page
    us = run("crops", *name.split(), "--units", "us").out
    assert not re.search(r"\d\s?(kg|cm|m|C|kg/m2)\b", us)


def test_crops_are_found_by_everyday_traits_and_names(run: Run) -> None:
    found = {words: run("crops", "--find", words).out for words in ("climbing", "winter, leaf", "quick, root", "dry bean")}
    assert "runner-bean" in found["climbing"]
    assert "radish" not in found["climbing"]
    assert "corn-salad" in found["winter, leaf"]
    assert "lettuce-cos" not in found["winter, leaf"]
    assert "radish" in found["quick, root"]
    assert "bean-bush" in found["dry bean"]
    assert "pumpkin" in run("crops", "--find", "acorn squash").out
    assert "turnip" in run("crops", "--find", "turnip greens").out
    missed = run("crops", "--find", "clmbing")
    assert (missed.code, "did you mean climbing?" in missed.err) == (2, True)


@pytest.mark.parametrize("kind", ["recipe", "garden", "brief"])
def test_keys(run: Run, root: Path, kind: str) -> None:
    """Every key of the schema with its meaning, and an example or the words that it takes."""
    listed = run("keys", kind)
    assert listed.code == 0
    schema = json.loads((root / "schemas" / f"{kind}.schema.json").read_text("utf-8"))
    for key in schema["properties"]:
        assert re.search(rf"^[* ] {key}\b", listed.out, re.MULTILINE), key
    assert max(len(line) for line in listed.out.splitlines()) <= 100
    assert listed.out.count("example: ") > 10


def test_one_key(run: Run) -> None:
    found = run("keys", "recipe", "spacing")
    assert "distance between plants" in found.out
    assert "left out: the crop's usual distance" in found.out
    missed = run("keys", "recipe", "spacin")
    assert (missed.code, "did you mean spacing?" in missed.err) == (2, True)


def test_unknown_crop(run: Run) -> None:
    found = run("crops", "carot")
    assert found.code == 2
    assert "did you mean " in found.err
    assert "carrot" in found.err.split("did you mean ")[1]
    assert len(found.err.splitlines()) == 1


def test_places(run: Run) -> None:
    listed = run("places")
    assert listed.code == 0
    assert len(listed.out.splitlines()) >= len(reference_places())
    shown = run("places", "Oxford")
    assert re.search(r"last of spring, in air +before \d+ \w+ +\d+ Apr +after \d+ \w+", shown.out)
    assert "first of autumn, on the ground" in shown.out
    missed = run("places", "Oxfrod")
    assert missed.code == 2
    assert "did you mean Oxford" in missed.err
    assert "Wellington" in run("places", "New Zealand").out


def test_places_near_a_spot(run: Run) -> None:
    for words in (["44.9 N 93.2 W"], ["44.9", "N", "93.2", "W"], ["44.9,-93.2"], ["44°54'N", "93°12'W"]):
        near = run("places", "--near", *words)
        assert near.code == 0
        assert near.out.splitlines()[1].split() == ["Minneapolis,", "MN", "United", "States", "3", "km"]
        assert "normals of Minneapolis, MN (United States), 3 km away" in " ".join(near.out.split())
    high = run("places", "--near", "44.9 N 93.2 W 500 m").out
    assert "m lower; temperatures lowered by 1.4 C for it" in " ".join(high.split())
    refused = run("places", "--near", "Minnesota")
    assert refused.code == 2
    assert "write it like 44.9 N 93.2 W" in refused.err


def test_places_of_a_garden_file(run: Run, tmp_path: Path) -> None:
    text = "format: mixcraft-garden/1\nname: g\nbeds:\n  - {name: b, length: 2 m, width: 1 m}\nplace:\n  kind: coordinates\n"
    (tmp_path / "g.yaml").write_text(text + "  latitude: 12 S\n  longitude: 77 W\n  elevation: 150 m\n", "utf-8")
    shown = run("places", str(tmp_path / "g.yaml"))
    assert shown.code == 0
    assert "normals of Lima (Peru)" in shown.out
    assert run("places", str(tmp_path / "none.yaml")).code == 2


@pytest.mark.parametrize("kind", ["recipe", "garden", "crop"])
def test_new_files_are_good_as_they_stand(run: Run, tmp_path: Path, kind: str) -> None:
    target = tmp_path / f"my.{kind}.yaml"
    assert run("new", kind, "-o", target).code == 0
    assert run("check", target).code == 0
    assert run("new", kind).out == target.read_text("utf-8")
    before = target.read_bytes()
    again = run("new", kind, "-o", target)
    assert again.code == 2
    assert "is there already" in again.err
    assert target.read_bytes() == before


def test_a_new_recipe_grows_in_a_new_garden(run: Run, tmp_path: Path) -> None:
    for kind in ("recipe", "garden"):
        run("new", kind, "-o", tmp_path / f"{kind}.yaml")
    found = run("score", tmp_path / "recipe.yaml", "-g", tmp_path / "garden.yaml", *FEW, "--no-repairs")
    if found.code == 2:  # the first garden has several beds
        bed = yaml.safe_load((tmp_path / "garden.yaml").read_text("utf-8"))["beds"][0]["name"]
        found = run("score", tmp_path / "recipe.yaml", "-g", tmp_path / "garden.yaml", "-b", bed, *FEW, "--no-repairs")
    assert found.code == 0, found.err


@pytest.mark.parametrize("kind", ["recipe", "garden", "crop"])
def test_schema(run: Run, root: Path, kind: str) -> None:
    found = run("schema", kind)
    assert found.out == (root / "schemas" / f"{kind}.schema.json").read_text("utf-8")


@ICC
def test_demo(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The demonstration checks, scores and prints every demo recipe; one recipe is enough to see each step."""
    monkeypatch.setattr(demo_module, "BEDS", {"salad-and-roots": "long bed"})
    found = run("demo", "-o", tmp_path / "out")
    assert (found.code, found.err) == (0, "")
    assert (tmp_path / "out" / "salad-and-roots.pdf").read_bytes().startswith(b"%PDF-")
    assert "Overall" in found.out


def test_version_and_help(run: Run) -> None:
    assert run("--version").out.strip() == f"mixcraft {__version__}"
    assert run("--help").code == 0
    assert run("score", "--help").code == 0
    nothing = run()
    assert nothing.code == 2
    assert "usage: mixcraft" in nothing.err


def real(*args: object, cwd: Path) -> subprocess.CompletedProcess[str]:
    """`mixcraft` in a process of its own."""
    code = "from mixcraft.cli import main; import sys; sys.exit(main())"
    env = {k: v for k, v in os.environ.items() if k != "PYTHONWARNINGS"}
    return subprocess.run(
        [sys.executable, "-W", "error", "-c", code, *map(str, args)], capture_output=True, text=True, cwd=cwd, env=env,
        timeout=600, check=False,
    )  # fmt: skip


def test_a_real_run(root: Path, demo: Path, run: Run) -> None:
    args = ("score", *inputs(demo), *FEW, "--no-repairs", "--json")
    found = real(*args, cwd=root)
    assert (found.returncode, found.stderr) == (0, "")
    load_crop.cache_clear()  # crop files may have been edited since this process read them
    assert json.loads(found.stdout) == json.loads(run(*args).out)


def test_a_real_run_that_fails(root: Path, demo: Path, tmp_path: Path) -> None:
    found = real("score", tmp_path / "none.yaml", "-g", demo / "kiln-lane.garden.yaml", cwd=root)
    assert found.returncode == 2
    assert found.stdout == ""
    assert "none.yaml" in found.stderr
    assert "Traceback" not in found.stderr


def test_amounts_of_several_crops_are_given_though_one_gives_nothing(run: Run) -> None:
    """What gives nothing at the place is told beside them; alone, it is an error."""
    some = run("amounts", "--at", "Reykjavik", "tomato,lettuce")
    assert some.code == 0
    assert some.out.startswith("Loose-leaf lettuce, 1 portion of 85 g a week")
    assert some.err == "mixcraft: tomato gives nothing in time at Reykjavik, from any start\n"
    none = run("amounts", "--at", "Reykjavik", "tomato")
    assert none.code == 2
    assert none.err == some.err
