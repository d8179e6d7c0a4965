"""At each limit of what is read the work is done, one beyond it is refused with the limit in the message."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from strategies import bed, planned, planting

from mixcraft.cli.main import main
from mixcraft.files import FileFaults, UsageError, load_document
from mixcraft.files.build import MAX_DEPTH, MAX_NODES
from mixcraft.files.schema import MAX_FAULTS
from mixcraft.files.text import MAX_BYTES
from mixcraft.recipe.layout import MOST_CELLS, MOST_PLANTED_CELLS
from mixcraft.recipe.model import Count, Points
from mixcraft.recipe.plan import SEASON_DAYS_MAX, plan
from mixcraft.recipe.reading import load_garden, load_recipe
from mixcraft.scoring import score
from mixcraft.season.grow import MOST_PLANTING_YEARS, grow

HEAD = "format: mixcraft-recipe/1\nname: {name}\nbed: {{length: 25 m, width: 20 m}}\nplantings:\n"
CROPS = ("radish", "carrot-maincrop", "kale", "bean-bush", "lettuce-loose-leaf", "onion-salad")


def recipe_file(folder: Path, plantings: int = 1, name: str = "Limit", **more: str) -> Path:
    """A recipe of so many plantings, each of 200 plants over the whole bed."""
    text = HEAD.format(name=name) + "".join(
        f"  - {{crop: {CROPS[i % len(CROPS)]}, name: {more.get('planting', 'p')}{i}, establish: stations, "
        f"count: {more.get('count', '200')}, start: {{kind: date, on: 0{4 + i % 4}-15}}, place: {{kind: whole}}}}\n"
        for i in range(plantings)
    )
    path = folder / "limit.recipe.yaml"
    said = "".join(f"{key}: {value}\n" for key, value in more.items() if key not in ("planting", "count"))
    path.write_text(said + text, "utf-8")
    return path


def garden_file(folder: Path, length: str = "25 m", width: str = "20 m", name: str = "bed") -> Path:
    """A garden with one bed."""
    path = folder / "limit.garden.yaml"
    path.write_text(
        f"format: mixcraft-garden/1\nname: Limit\nplace: {{kind: reference, name: Oxford}}\n"
        f"beds:\n  - {{name: {name}, length: {length}, width: {width}}}\n", "utf-8",
    )  # fmt: skip
    return path


def refusal(path: Path) -> str:
    """What is said of a file that is refused."""
    with pytest.raises(FileFaults) as caught:
        load_garden(path) if "garden" in path.name else load_recipe(path)
    assert len(caught.value.faults) == 1
    return str(caught.value)


@pytest.mark.slow
def test_sixty_plantings_on_five_hundred_square_metres(tmp_path: Path) -> None:
    """By layered light; `-m bench` does it by voxels, which takes twenty seconds and reaches no other limit."""
    at_the_limit(tmp_path, voxels=False)


@pytest.mark.bench
def test_sixty_plantings_on_five_hundred_square_metres_by_voxels(tmp_path: Path) -> None:
    at_the_limit(tmp_path, voxels=True)


def at_the_limit(tmp_path: Path, *, voxels: bool) -> None:
    """Grow and score the most plantings on the largest bed."""
    recipe, garden = load_recipe(recipe_file(tmp_path, 60)), load_garden(garden_file(tmp_path))
    settled = plan(recipe, garden, "bed")
    cells = settled.grid.nx * settled.grid.ny
    assert cells <= MOST_CELLS
    assert 60 * cells <= MOST_PLANTED_CELLS
    assert settled.days <= SEASON_DAYS_MAX
    assert 0.0 <= score(grow(settled, years=1, voxels=voxels)).overall <= 100.0


def test_one_planting_too_many(tmp_path: Path) -> None:
    assert len(load_recipe(recipe_file(tmp_path, 60)).plantings) == 60
    assert "60" in refusal(recipe_file(tmp_path, 61))


def test_years_are_bounded_by_plantings() -> None:
    """Refused before any weather is made, with the years that would do."""
    two = planned(planting("radish"), planting("rocket"))
    with pytest.raises(UsageError, match=f"give up to {MOST_PLANTING_YEARS // 2} years"):
        grow(two, MOST_PLANTING_YEARS // 2 + 1)


@pytest.mark.slow
def test_a_thousand_years() -> None:
    season = grow(planned(planting("radish")), 1000, voxels=False)
    assert season.years == 1000
    assert 0.0 <= score(season).overall <= 100.0


@pytest.mark.parametrize(("key", "most"), [("author", 200), ("licence", 100), ("about", 2000)])
def test_texts_of_a_recipe(key: str, most: int, tmp_path: Path) -> None:
    assert getattr(load_recipe(recipe_file(tmp_path, **{key: "x" * most})), key) == "x" * most
    for letters in (most + 1, 20_000):
        said = refusal(recipe_file(tmp_path, **{key: "x" * letters}))
        assert key in said
        assert str(most) in said


def test_names(tmp_path: Path) -> None:
    assert load_recipe(recipe_file(tmp_path, name="x" * 80)).name == "x" * 80
    assert "80" in refusal(recipe_file(tmp_path, name="x" * 81))
    assert load_recipe(recipe_file(tmp_path, planting="x" * 59)).plantings[0].name == "x" * 59 + "0"
    assert "60" in refusal(recipe_file(tmp_path, planting="x" * 60))
    assert load_garden(garden_file(tmp_path, name="x" * 120)).beds[0].name == "x" * 120
    assert "120" in refusal(garden_file(tmp_path, name="x" * 121))


@pytest.mark.parametrize(
    ("length", "width", "refused"),
    [
        ("60 m", "8.3 m", ""), ("60 m", "8.4 m", "500 m2"), ("60.1 m", "1 m", "60 m"), ("0.2 m", "0.2 m", ""),
        ("0.19 m", "1 m", "0.2"),
    ],
)  # fmt: skip
def test_sides_and_area_of_a_bed(length: str, width: str, refused: str, tmp_path: Path) -> None:
    path = garden_file(tmp_path, length, width)
    if refused:
        assert refused in refusal(path)
    else:
        assert load_garden(path).beds[0].area_m2 <= 500.0


def test_many_plants_have_no_places_of_their_own() -> None:
    """A hundred thousand plants of one planting are an even stand."""
    one = planting("garden-cress", establish="broadcast", amount=Count(100_000))
    settled = planned(replace(one), one=bed(10.0, 2.0))
    assert settled.plantings[0].stand.positions is None
    assert settled.plantings[0].stand.plants == 100_000


@pytest.mark.slow
def test_size_depth_and_number_of_values(tmp_path: Path) -> None:
    path = tmp_path / "limit.yaml"
    path.write_text("a: 1\n" + "#" * (MAX_BYTES - 6) + "\n", "utf-8")
    assert load_document(str(path)).data == {"a": 1}
    for text, said in (
        ("a: 1\n" + "#" * (MAX_BYTES - 5) + "\n", "2 MB"),
        ("[" * (MAX_DEPTH + 1) + "]" * (MAX_DEPTH + 1), str(MAX_DEPTH)),
        ("- 1\n" * (MAX_NODES + 1), str(MAX_NODES)),
    ):
        path.write_text(text, "utf-8")
        with pytest.raises(FileFaults, match=said):
            load_document(str(path))
    path.write_text("[" * MAX_DEPTH + "]" * MAX_DEPTH, "utf-8")
    assert load_document(str(path)).data


def test_a_hundred_beds(tmp_path: Path) -> None:
    def beds(count: int) -> Path:
        path = garden_file(tmp_path)
        head = path.read_text("utf-8").split("beds:")[0]
        path.write_text(
            head + "beds:\n" + "".join(f"  - {{name: b{n}, length: 2 m, width: 1 m}}\n" for n in range(count)), "utf-8"
        )
        return path

    assert len(load_garden(beds(100)).beds) == 100
    assert "100" in refusal(beds(101))


def test_four_hundred_drawn_points(tmp_path: Path) -> None:
    def points(count: int) -> Path:
        at = ", ".join(f"[{5 + 20 * (n % 100)} cm, {10 + 20 * (n // 100)} cm]" for n in range(count))
        path = tmp_path / "limit.recipe.yaml"
        path.write_text(
            HEAD.format(name="Limit")
            + "  - {crop: radish, establish: stations, start: {kind: date, on: 04-15}, "
            + f"place: {{kind: points, at: [{at}]}}}}\n",
            "utf-8",
        )
        return path

    where = load_recipe(points(400)).plantings[0].where
    assert isinstance(where, Points)
    assert len(where.at) == 400
    assert "400" in refusal(points(401))


def test_five_hundred_faults_are_looked_for(tmp_path: Path) -> None:
    """A file with more is the wrong file: the rest is not told."""
    path = tmp_path / "limit.recipe.yaml"
    path.write_text(HEAD.format(name="Limit") + "".join(f"  - {{wrong{n}: 1}}\n" for n in range(900)), "utf-8")
    with pytest.raises(FileFaults) as caught:
        load_recipe(path)
    assert 1 <= len(caught.value.faults) <= MAX_FAULTS
    assert len(str(caught.value)) < 100_000


def test_a_thousand_and_one_years_are_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = [str(recipe_file(tmp_path)), "-g", str(garden_file(tmp_path))]
    assert main(["score", *files, "--years", "1001"]) == 2
    assert "from 1 to 1000" in capsys.readouterr().err
