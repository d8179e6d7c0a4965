"""When the voxel model is asked in a season, and what it says of a bed without leaves."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from strategies import bed, planned, planting, trellis_bed

from mixcraft.files.shelf import Shelf
from mixcraft.recipe.layout import Grid, Stand
from mixcraft.recipe.model import AtTrellis, OnDate
from mixcraft.recipe.plan import Plan
from mixcraft.season import sharing
from mixcraft.season.directions import day_directions
from mixcraft.season.grow import grow, normal_year, scout
from mixcraft.season.light_voxels import Spreader, voxel_alone, voxel_light
from mixcraft.season.march import march
from mixcraft.season.march_arrays import march_numpy
from mixcraft.season.sharing import EVERY_DAYS, apart_light

MIDSUMMER = 172
STEP = 1e-4
BETWEEN_ASKINGS = 0.02
"""Twice what the growth of plantings of five beds differed at most on the mean, asked every fortnight instead of every day."""


@pytest.mark.parametrize("plantings", [0, 2])
@pytest.mark.parametrize("kernel", [march, march_numpy])
def test_a_bed_without_leaves_lets_all_light_through(kernel: object, plantings: int) -> None:
    grid = Grid(8, 5, 0.1, 0.1)
    shares = np.full((plantings, 40), 1.0 / 40.0)
    nothing = np.zeros(plantings)
    state = (grid, shares, nothing, nothing, np.full(plantings, 0.6), day_directions(50.0, MIDSUMMER, 0.4, bed(0.8, 0.5)))
    found = voxel_light(*state, kernel=kernel)  # type: ignore[arg-type]
    assert found.ground == pytest.approx(np.ones((8, 5)))
    assert not found.absorbed.any()
    assert not found.taken.any()
    assert not voxel_alone(*state, kernel=kernel).any()  # type: ignore[arg-type]


def peas_and_carrots(day: int = 1, peas: float = 60.0) -> Plan:
    """Tall peas on the sunny trellis, and carrots sown on a day of June."""
    one = replace(trellis_bed(heading_deg=90.0, edge="south"), name="bed")
    tall = planting(
        "pea-tall", "peas", AtTrellis(edge="south"), OnDate("03-20"), establish="module",
        density_per_m2=peas,
    )  # fmt: skip
    return planned(tall, planting("carrot-maincrop", "carrots", start=OnDate(f"06-{day:02d}")), one=one)


@pytest.mark.parametrize("day", range(1, 22, 4))
def test_seedlings_do_not_wait_for_the_next_asking(day: int) -> None:
    """Carrots that come up behind tall peas, between two askings, have at once the light found at the next."""
    plan = peas_and_carrots(day)
    up = int(plan.plantings[1].clock.emergence[0])
    found = scout(plan)
    asked = int(found.asked.days[np.searchsorted(found.asked.days, up)])
    assert asked - up < EVERY_DAYS
    assert (found.factor[up:asked, 1] == found.factor[asked, 1]).all()
    assert found.factor[up, 1] != 1.0


def test_askings_are_on_days_of_the_calendar() -> None:
    """Not on days that depend on what is sown when, and how much of it."""
    for day in (1, 4, 9):
        plan = peas_and_carrots(day, 50.0 + day)
        assert {int(plan.date(int(d)).astype(int)) % EVERY_DAYS for d in scout(plan).asked.days} == {0}


def test_a_little_more_of_a_planting_changes_the_light_a_little() -> None:
    """No asking is moved by a day or left out for a plant more."""
    few, more = (scout(peas_and_carrots(peas=density)) for density in (60.0, 60.0 * (1.0 + STEP)))
    assert np.array_equal(few.asked.days, more.asked.days)
    assert np.abs(more.factor / few.factor - 1.0).max() < 20.0 * STEP
    assert np.abs(more.takers - few.takers).max() < 20.0 * STEP


def test_light_between_askings_is_that_of_asking_every_day(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same season, asked every day: what each planting makes differs by little, and its light on few days by more."""
    plan = peas_and_carrots()
    some = grow(plan, 1, 5)
    monkeypatch.setattr(sharing, "EVERY_DAYS", 1)
    daily = grow(plan, 1, 5)
    assert some.growth_g.sum(axis=0) == pytest.approx(daily.growth_g.sum(axis=0), rel=BETWEEN_ASKINGS)
    assert some.lone_growth_g.sum(axis=0) == pytest.approx(daily.lone_growth_g.sum(axis=0), rel=BETWEEN_ASKINGS)


def test_what_stands_without_the_others_is_asked_for_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """A few peas more change what is said of the peas without the others, and nothing else that is said of plants alone."""
    asked: list[int] = []
    real = sharing.voxel_alone
    monkeypatch.setattr(sharing, "voxel_alone", lambda *args, **more: asked.append(len(args[2])) or real(*args, **more))
    keep = Shelf()
    first, second = (apart_light(*normal_year(peas_and_carrots(peas=peas), keep)) for peas in (60.0, 50.0))
    assert set(asked) == {4, 1}
    assert np.array_equal(first[:, 1:], second[:, 1:])
    assert not np.array_equal(first[:, 0], second[:, 0])
    afresh = apart_light(*normal_year(peas_and_carrots(peas=50.0), Shelf()))
    assert second == pytest.approx(afresh, rel=1e-9)


def test_a_seedling_between_large_cells_belongs_to_the_nearest_alike() -> None:
    """Cells of half a metre: a seedling in the middle of the first cell is in that one; one where four meet is 35 cm from the
    middle of each, further than any of them reaches (25 cm and its own 5 cm), and stands in each with a quarter of its leaf."""
    grid = Grid(4, 2, 0.5, 0.5)
    stand = Stand(np.ones((4, 2)), 2.0, 2.0, positions=np.array([[0.25, 0.25], [1.0, 0.5]]))
    two = replace(planned(planting("kale")).plantings[0], stand=stand)
    shares = Spreader(two, grid).shares(0.0).reshape(4, 2)
    assert shares == pytest.approx(np.array([[0.5, 0.0], [0.125, 0.125], [0.125, 0.125], [0.0, 0.0]]))
