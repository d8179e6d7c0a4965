"""Cards to test: a fixed bed whose words do not move with the library, mixtures of several sizes, and a season without
growth, so that what is tested here is the printing alone.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import MISSING, fields
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pypdf
import pytest

from mixcraft.crops.development import NEVER
from mixcraft.files.facts import Facts
from mixcraft.recipe.plan import Plan, plan
from mixcraft.recipe.reading import load_garden, load_recipe
from mixcraft.scoring.model import CropYield, Gap, PartScore, Score, StripWeek
from mixcraft.season.result import Band, Season

DATA = Path(__file__).parent / "data"
KG_A_DAY = 0.1


def quiet_season(settled: Plan, years: int = 2) -> Season:
    """A season in which every planting stands from its start to its end and every harvest gives 100 g a day of its window."""
    days, p, h = settled.days, len(settled.plantings), len(settled.harvests)
    leaf = np.zeros((days, years, p))
    picked = np.zeros((days, years, h))
    for planned in settled.plantings:
        leaf[planned.start : planned.end, :, planned.index] = 1.0
    for i, harvest in enumerate(settled.harvests):
        planned = settled.plantings[harvest.planting]
        first = planned.first_harvest if 0 <= planned.first_harvest < NEVER else planned.start + 30
        last = first if harvest.method == "once" else min(first + 20, days - 1)
        picked[first : last + 1, :, i] = KG_A_DAY
    zero, never = np.zeros((days, years, p)), np.full((years, p), NEVER)
    windows = np.full((years, h), NEVER)
    return Season(
        plan=settled, weather=settled.almanac.weather, leaf_m2=leaf, height_m=zero, absorbed_mj=zero, alone_mj=zero,
        takers=np.zeros((days, p, p)), growth_g=zero, lone_growth_g=zero, picked_kg=picked, lone_kg=picked,
        sole_kg=picked, small_kg=np.zeros_like(picked), nitrogen=np.zeros((years, p, 3)), water=zero,
        held_back=np.zeros((years, p, 3)), lone_held_back=np.zeros((years, p, 3)),
        emergence=never, death=never, opens=windows, closes=windows, light_model="none",
    )  # fmt: skip


def hand_score(season: Season) -> Score:
    """A score made by hand: 70 overall, one gap, the amounts of the quiet season."""
    start = season.plan.start
    strip = tuple(
        StripWeek(start + np.timedelta64(7 * w, "D"), Band(0.2, 0.4, 0.6), 1.0 if w % 3 else 0.0, (), 4 <= w <= 20)
        for w in range(-(-season.days // 7))
    )
    yields = []
    for i, harvest in enumerate(season.harvests):
        days = np.nonzero(season.picked_kg[:, 0, i])[0]
        total = float(season.picked_kg[:, 0, i].sum())
        first, last = (season.plan.date(int(d)) for d in (days[0], days[-1]))
        name = season.plan.plantings[harvest.planting].name
        yields.append(CropYield(name, harvest.part.name, harvest.method, Band(0.5 * total, total, 1.5 * total), first, last))
    names = ("canopy", "continuity", "roots", "families", "timing", "yield")
    parts = tuple(PartScore(name, 60.0 + i, 1.0, Facts(), Facts(), ()) for i, name in enumerate(names))
    gap = Gap(start + np.timedelta64(42, "D"), start + np.timedelta64(55, "D"), 2)
    said: dict[str, Any] = {
        "season": season, "overall": 70.0, "parts": parts, "strip": strip, "gaps": (gap,), "yields": tuple(yields),
    }  # fmt: skip
    unused = {f.name: () for f in fields(Score) if f.default is MISSING and f.default_factory is MISSING}
    return Score(**(unused | said))


def pages_text(pdf: bytes) -> list[str]:
    """Text of the pages, blanks and breaks made single blanks."""
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    return [" ".join(page.extract_text().replace("\u00a0", " ").split()) for page in reader.pages]


@pytest.fixture(scope="session")
def quiet() -> Callable[[Plan], Season]:
    """`quiet_season`."""
    return quiet_season


@pytest.fixture(scope="session")
def by_hand() -> Callable[[Season], Score]:
    """`hand_score`."""
    return hand_score


@pytest.fixture(scope="session")
def text_of() -> Callable[[bytes], list[str]]:
    """`pages_text`."""
    return pages_text


@pytest.fixture(scope="session")
def fixed() -> SimpleNamespace:
    """The fixed bed: plan, season, score, the recipe's path and its card."""
    from mixcraft.press import press_card

    recipe = DATA / "fixed.recipe.yaml"
    settled = plan(load_recipe(recipe), load_garden(DATA / "fixed.garden.yaml"), "test bed")
    season = quiet_season(settled)
    score = hand_score(season)
    return SimpleNamespace(plan=settled, season=season, score=score, path=recipe, card=press_card(season, score))


MIXTURE = (
    "{crop: pea, name: tall pea, establish: stations, count: 30, place: {kind: trellis, edge: north}}",
    "{crop: radish, establish: broadcast, density: 30 plants/m2, place: {kind: whole}, harvest: [{part: root, method: pull}]}",
    "{crop: spinach, establish: drills, density: 40 plants/m2, place: {kind: strip, from: 0.5 m, to: 1 m}}",
    "{crop: loose-leaf lettuce, establish: module, count: 12, place: {kind: strip, from: 1 m, to: 1.8 m}}",
    "{crop: maincrop carrot, establish: drills, density: 100 plants/m2, place: {kind: strip, from: 1.8 m, to: 2.4 m}}",
    "{crop: beetroot, establish: stations, density: 20 plants/m2, place: {kind: strip, from: 2.4 m, to: 3 m}}",
    "{crop: onion, establish: set, density: 25 plants/m2, place: {kind: strip, from: 3 m, to: 3.5 m}}",
    "{crop: kale, establish: module, count: 4, place: {kind: row, along: length, at: [0.6 m]}}",
    "{crop: basil, establish: module, place: {kind: points, at: [[0.7 m, 0.2 m], [1.2 m, 1.1 m], [1.6 m, 0.1 m]]}}",
    "{crop: calendula, establish: stations, count: 5, place: {kind: edge, edge: east, depth: 20 cm}}",
    "{crop: climbing bean, establish: module, count: 8, place: {kind: trellis, edge: south}}",
    "{crop: rocket, establish: drills, density: 80 plants/m2, place: {kind: strip, from: 3.5 m, to: 3.8 m}}",
)


def mixture_text(count: int) -> str:
    """A recipe of `count` plantings, the twelve above and then again later in the year."""
    lines = [
        "format: mixcraft-recipe/1", f"name: A mixture of {count} for the press", "author: mixcraft tests",
        "licence: CC0-1.0", "bed: {length: 4 m, width: 1.2 m}", "plantings:",
    ]  # fmt: skip
    for i in range(count):
        line = MIXTURE[i % len(MIXTURE)]
        again = i // len(MIXTURE)
        start = f"start: {{kind: date, on: {('04', '07')[again]}-{1 + i % 28:02d}}}"
        name = "" if again == 0 or "name:" in line else f"name: later planting {i + 1}, "
        line = line.replace("name: tall pea", "name: late pea") if again else line
        lines.append("  - {" + name + line[1:-1] + ", " + start + "}")
    return "\n".join(lines) + "\n"


@pytest.fixture(scope="session")
def mixture(tmp_path_factory: pytest.TempPathFactory) -> Callable[[int], Season]:
    """A quiet season of a mixture of so many plantings in a bed with a trellis at either end and a wall."""
    folder = tmp_path_factory.mktemp("mixtures")
    garden = folder / "yard.garden.yaml"
    garden.write_text(
        "format: mixcraft-garden/1\nname: Test Yard\nplace: {kind: reference, name: Oxford}\nbeds:\n"
        "  - name: long bed\n    length: 4 m\n    width: 1.2 m\n    heading: 0 deg\n"
        "    trellises: [{edge: north, height: 2 m}, {edge: south, height: 2 m}]\n"
        "    obstacles: [{side: west, distance: 1 m, height: 1.8 m}]\n",
        "utf-8",
    )
    made: dict[int, Season] = {}

    def season(count: int) -> Season:
        if count not in made:
            path = folder / f"mixture-{count}.recipe.yaml"
            path.write_text(mixture_text(count), "utf-8")
            made[count] = quiet_season(plan(load_recipe(path), load_garden(garden), "long bed"))
        return made[count]

    return season
